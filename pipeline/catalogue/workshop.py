"""The workshop: where orders are fulfilled, in one process; it stays warm from order to order.

Loaded once a process: symbols, publisher, catalogues, fonts and styles. What it gives back is small: the leaflets
themselves are written to disk, whole or not at all.
"""

import gc
import hashlib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

from pipeline.catalogue.batch import Order, Outcome, Task
from pipeline.catalogue.ledger import read_hash
from pipeline.catalogue.make import Making, Shelf, Subject, figures_of, made_of, subject_of
from pipeline.catalogue.pictures import Pictures
from pipeline.catalogue.used import Inputs, listening, said, shown
from pipeline.files import check_file, write_whole
from pipeline.language.fonts import find_fonts, fonts_of
from pipeline.language.locales import LocaleInfo
from pipeline.language.speech import Speech, load_speech
from pipeline.leaflet.compose import glyph_ids, key_ids
from pipeline.leaflet.papers import Paper
from pipeline.leaflet.steps import Told
from pipeline.problems import Problem, Severity, Unusable
from pipeline.source import failed, unreadable
from pipeline.typeset import stamps_of
from pipeline.workspace import Workspace

LEAFLETS_A_SWEEP: Final = 4
"""What is left of so many leaflets may lie about."""


@dataclass(slots=True)
class Workshop:
    """A workspace's shelf, its locales, and where what is made goes."""

    shelf: Shelf
    inputs: Inputs
    locales: dict[str, LocaleInfo]
    out: Path
    pictures: Pictures
    speeches: dict[str, Speech] = field(default_factory=dict)

    def fulfil(self, order: Order) -> Iterator[Outcome]:
        """Make the leaflets of an order."""
        yield from _swept(self._leaflets(order))

    def _leaflets(self, order: Order) -> Iterator[Outcome]:
        checked = check_file(order.file)
        if not checked.ok or checked.lace is None:
            yield from (Outcome(task, problems=_errors(checked.problems)) for task in order.tasks)
            return
        subject: Subject | None = None
        for task in order.tasks:
            try:
                subject = subject or subject_of(checked, self.shelf)
                yield self._made(subject, task)
            except Unusable as error:
                yield Outcome(task, problems=error.problems)
            except MemoryError:
                subject = None
                yield Outcome(task, problems=(failed(checked.file, "memory-short"),))
            except OSError as error:  # a file that is gone since it was looked at, or cannot be read any more
                yield Outcome(task, problems=(unreadable(str(error.filename or checked.file), error),))
            except Exception as error:  # noqa: BLE001 - one leaflet that cannot be made stops none of the others
                reason = f"{type(error).__name__}: {error}"
                yield Outcome(task, problems=(failed(checked.file, "leaflet-failed", reason=reason),))

    def _made(self, subject: Subject, task: Task) -> Outcome:
        speech, asked = listening(self._speech(task.tag))
        making = Making(task.paper)
        told = subject.told(speech)
        drawn_from = (*self._of_pattern(subject, told), f"sheet:{task.paper}")
        used = (*drawn_from[:-1], *self._of_locale(speech.locale))
        together = self.inputs.together(used)
        key, sheet = self.inputs.together(drawn_from), making.sheet(speech.locale)
        is_kept = self._take(subject, sheet, key)
        made = made_of(subject, speech, making)
        if made.pdf is None:
            return Outcome(task, problems=made.problems)
        if not is_kept:
            self.pictures.save(key, (stamp.operators for stamp in subject.stamped[sheet, False].values()))
        problems = write_whole(made.pdf, self.out / task.name)
        if problems:
            return Outcome(task, problems=problems)
        texts = tuple(shown(speech, tuple(asked), made.markup))
        digest = hashlib.sha256(made.pdf).hexdigest()
        return Outcome(task, used, together, texts, said(speech, texts, subject.pattern.id), digest)

    def bytes_of(self, task: Task) -> bytes | None:
        """A leaflet as it would be made now, whatever is kept; none where there are problems."""
        checked = check_file(task.file)
        if not checked.ok or checked.lace is None:
            return None
        return made_of(subject_of(checked, self.shelf), self._speech(task.tag), Making(task.paper)).pdf

    def _speech(self, tag: str) -> Speech:
        if tag not in self.speeches:
            self.speeches[tag] = load_speech(self.shelf.catalogues, self.locales[tag])
        return self.speeches[tag]

    def _take(self, subject: Subject, sheet: Paper, key: str) -> bool:
        """Whether a pattern's pictures are there, drawn before for another leaflet or by an earlier run."""
        if (sheet, False) in subject.stamped:
            return True
        drawn = self.pictures.load(key)
        if drawn is None:
            return False
        subject.stamped[sheet, False] = stamps_of(drawn)
        return True

    def _of_pattern(self, subject: Subject, told: Told) -> tuple[str, ...]:
        """What a pattern's leaflets are made from in any language; files are named from the workspace's folder."""
        pattern, publisher = subject.pattern, self.shelf.publisher
        loom = subject.checked.source.tree.get("loom") if subject.checked.source else None
        files = [Path(subject.checked.file).name, *(photo.file for photo in pattern.photos), "publisher.yaml"]
        files += [f"looms/{loom}.yaml"] if isinstance(loom, str) else []
        files += [publisher.logo] if publisher and publisher.logo else []
        symbols = sorted({*glyph_ids(told), *key_ids(told), *(done.stitch.stitch for done in told.lace.rounds)})
        named = (*(f"file:patterns/{file}" for file in files), *(f"symbol:{each}" for each in symbols))
        figures = figures_of(find_fonts("Latn", self.shelf.fonts))
        return ("program", "faces", f"file:{figures.regular}", f"file:{figures.bold}", *named)

    def _of_locale(self, locale: LocaleInfo) -> tuple[str, ...]:
        fonts = fonts_of(locale, self.shelf.fonts)
        folders = tuple(f"locale:{folder}" for folder in locale.fallbacks)
        return (*folders, *(f"file:{file.path}" for file in fonts.files))


def workshop_of(
    shelf: Shelf, workspace: Workspace, locales: dict[str, LocaleInfo], out: Path, known: dict[str, str] | None = None
) -> Workshop:
    """A workshop for a workspace, with hashes of inputs that are known; pictures are kept beside what is made."""
    return Workshop(shelf, Inputs(workspace, read_hash, known or {}), locales, out, Pictures(out / ".pictures"))


def settle() -> None:
    """In a process that only makes leaflets: what is there by now stays, no sweep need go through it again."""
    gc.collect()
    gc.freeze()


def _swept(outcomes: Iterable[Outcome]) -> Iterator[Outcome]:
    """Outcomes as they come; garbage is collected between them. Amid layouts, it would take a sixth of their time."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        for number, outcome in enumerate(outcomes, 1):
            yield outcome
            if number % LEAFLETS_A_SWEEP == 0:
                gc.collect()
    finally:
        if was_on:
            gc.enable()


def _errors(problems: tuple[Problem, ...]) -> tuple[Problem, ...]:
    return tuple(problem for problem in problems if problem.severity is Severity.ERROR)
