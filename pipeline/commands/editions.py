"""The command about two editions of a pattern: what changed, in words, and the note that tells buyers of it.

The note takes the place of ``edition`` and ``corrections`` in the new file: it keeps what corrections that has and adds
a sentence for each change of the work.
"""

import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import click

from pipeline.commands.completing import complete_patterns
from pipeline.commands.desk import ERRORS, GOOD, checked, not_patterns, symbols_in
from pipeline.commands.voice import say, say_json, show
from pipeline.workspace import workspace_of

if TYPE_CHECKING:
    from pipeline.editions.wording import Wording
    from pipeline.symbols import SymbolSet

TITLES: Final = {"results": "what follows", "other": "other keys"}
"""Groups that are not called by their own name."""


@click.command("compare")
@click.argument("old", type=click.Path(path_type=Path), metavar="OLD", shell_complete=complete_patterns)
@click.argument("new", type=click.Path(path_type=Path), metavar="NEW", shell_complete=complete_patterns)
@click.option("--json", "data", is_flag=True, help="Print the same as JSON.")
def compare_command(old: Path, new: Path, *, data: bool) -> None:
    r"""Say what changed between two editions of a pattern, and draft the note that tells buyers of it.

    One of the two may be `-`, what is piped in: an edition out of a version control system.

    \b
    spokeleaf compare sold/harbour-wheel.yaml patterns/harbour-wheel.yaml
    spokeleaf compare --json - patterns/quay-wheel.yaml < sold/quay-wheel.yaml
    """
    from pipeline.editions.comparing import compare  # noqa: PLC0415
    from pipeline.editions.wording import Wording  # noqa: PLC0415
    from pipeline.problems import as_json as problem_json  # noqa: PLC0415

    both = [checked(file) for file in (old, new)]
    # What keeps a file from being compared: its errors, or that it is no pattern.
    problems = [problem for one in both for problem in (not_patterns([one]) if one.ok else one.problems)]
    if problems:
        if data:
            say_json({"ok": False, "problems": [problem_json(problem) for problem in problems]})
        else:
            show(problems)
        sys.exit(ERRORS)
    wording = Wording(compare(*both), _symbols(old, new))
    if data:
        say_json(data_of(wording))
    else:
        for line in report(wording):
            say(line)
    sys.exit(GOOD)


def _symbols(old: Path, new: Path) -> "SymbolSet":
    """The symbols of both workspaces; the old edition may have stitches that the new one's workspace has not."""
    from pipeline.symbols import SymbolSet  # noqa: PLC0415

    was, now = (symbols_in(workspace_of(file)) for file in (old, new))
    return SymbolSet({**was.stitches, **now.stitches}, {**was.signs, **now.signs})


@dataclass(frozen=True, slots=True)
class Note:
    """A correction note: the edition, and all corrections, each with its edition."""

    edition: int
    date: str
    corrections: tuple[tuple[int, str], ...]

    @property
    def yaml(self) -> str:
        """As it is pasted into the pattern file."""
        from pipeline.editions.wording import quoted  # noqa: PLC0415

        entries = (f"  - {{edition: {edition}, text: {quoted(text)}}}" for edition, text in self.corrections)
        head = f"edition: {{number: {self.edition}, date: {self.date}}}"
        return "\n".join((head, "corrections:", *entries))


def note_of(wording: "Wording") -> Note | None:
    """The note for the new edition; None where nothing changed that changes the work."""
    comparison = wording.comparison
    if not comparison.work:
        return None
    number, pattern = comparison.next_edition, comparison.new.pattern
    kept = [(entry.edition, entry.text) for entry in pattern.corrections]
    told = [(number, wording.sentence(change)) for change in comparison.work]
    return Note(number, pattern.edition.date.isoformat(), tuple(dict.fromkeys((*kept, *told))))


def data_of(wording: "Wording") -> dict[str, Any]:
    """The comparison as data.

    ``ok`` is true (of files with errors there are only ``ok``, false, and ``problems``, as those of ``check``);
    ``old`` and ``new``: ``file``, ``pattern``, ``edition``, ``date``; ``same_id``; ``rounds``: how many are ``same``,
    ``changed``, ``moved``, ``added``, ``gone``; ``changes``: a list of ``group`` (one of ``comparing.GROUPS``),
    ``about``, ``what``, ``was``, ``now`` (null where there is nothing), ``old_round``, ``new_round`` (from 1; null
    where it is about no round), ``work`` (whether buyers must be told), ``text`` (its line); ``to_be_raised``: whether
    the edition's number has to go up; ``note``: null, or ``edition``, ``date``, ``corrections`` (each ``edition`` and
    ``text``), ``yaml``.
    """
    from pipeline.editions.comparing import as_json  # noqa: PLC0415

    found, note = as_json(wording.comparison), note_of(wording)
    for entry, change in zip(found["changes"], wording.comparison.changes, strict=True):
        entry["text"] = wording.line(change)
    return {"ok": True} | found | {"note": _note_json(note) if note else None}


def _note_json(note: Note) -> dict[str, Any]:
    corrections = [{"edition": edition, "text": text} for edition, text in note.corrections]
    return {"edition": note.edition, "date": note.date, "corrections": corrections, "yaml": note.yaml}


def report(wording: "Wording") -> Iterator[str]:
    """The comparison as the command line prints it."""
    from pipeline.editions.comparing import GROUPS  # noqa: PLC0415

    comparison = wording.comparison
    for word, one in (("old", comparison.old), ("new", comparison.new)):
        yield f"{word}: {one.file}: {one.pattern.id}, edition {one.edition.number} of {one.edition.date.isoformat()}"
    if not comparison.same_id:
        yield "note: the ids differ; the two are compared as editions of one pattern"
    if comparison.new.edition.number < comparison.old.edition.number:
        yield "note: the new edition has the lower number; is the older file named first?"
    if not comparison.changes:
        yield "no difference"
        if comparison.rewritten:
            yield "note: the files are written differently, but a leaflet says the same"
        return
    yield "rounds: {same} the same, {changed} changed, {moved} moved, {added} added, {gone} gone".format(
        **comparison.counts
    )
    for group in GROUPS:
        lines = [wording.line(change) for change in comparison.changes if change.group == group]
        if lines:
            yield from ("", TITLES.get(group, group), *(f"  {line}" for line in lines))
    yield ""
    yield from _noted(wording)


def _noted(wording: "Wording") -> Iterator[str]:
    """The note, and what is to be done with it."""
    comparison, note = wording.comparison, note_of(wording)
    old, new = comparison.old, comparison.new
    if note is None:
        yield "correction note: none needed, the work is the same"
        return
    if comparison.to_be_raised:
        yield (
            f"the work changed, but the new edition, {new.edition.number}, is not higher than the old one, "
            f"{old.edition.number}: raise it to {note.edition}, as the note does"
        )
    if not new.pattern.language.startswith("en"):
        yield f"the texts of the pattern are in `{new.pattern.language}`: translate the sentences of the note"
    if any(edition == note.edition for edition, _ in note.corrections[: len(new.pattern.corrections)]):
        yield f"corrections of edition {note.edition} that are in the file stand first: leave out what says it twice"
    yield f"correction note, in place of `edition` and `corrections` in {new.file}:"
    yield ""
    yield note.yaml
