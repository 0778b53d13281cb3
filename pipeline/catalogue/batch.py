"""All leaflets of a workspace: which are to be made anew, and making them.

What is up to date is told by the ledger, without reading a pattern. The rest is made in orders, a pattern in a few
languages each, so that its pictures are drawn once. A pattern with errors stops none of the others.
"""

from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

from pipeline.catalogue.ledger import Entry, Kept, Ledger
from pipeline.catalogue.used import Asked, Inputs, said, texts_of
from pipeline.language.catalogue import BrokenCatalogue
from pipeline.language.locales import LocaleInfo
from pipeline.language.speech import Speech
from pipeline.problems import Problem

AT_ONCE: Final = 9
"""Languages of an order: with more, the last worker would be waited for."""


@dataclass(frozen=True, slots=True)
class Task:
    """One leaflet that is to be there: a pattern's file, a locale, a paper, and its name."""

    file: Path
    tag: str
    paper: str

    @property
    def name(self) -> str:
        """Its file's name below the folder of all."""
        return f"{self.file.stem}/{self.file.stem}.{self.tag}.{self.paper}.pdf"


@dataclass(frozen=True, slots=True)
class Order:
    """Leaflets of one pattern."""

    file: Path
    tasks: tuple[Task, ...]


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came of a task: what it used, or the problems for which there is no leaflet."""

    task: Task
    inputs: tuple[str, ...] = ()
    hash: str = ""
    """Of its inputs, taken before it was made: what changes meanwhile is found by the next run."""
    asked: tuple[Asked, ...] = ()
    said: str = ""
    bytes: str = ""
    """The hash of the leaflet."""
    problems: tuple[Problem, ...] = ()

    @property
    def made(self) -> bool:
        """Whether there is a leaflet."""
        return bool(self.inputs)


@dataclass(slots=True)
class Desk:
    """What is known of a workspace while its catalogue is made."""

    out: Path
    ledger: Ledger
    inputs: Inputs
    locales: Mapping[str, LocaleInfo]
    load: Callable[[LocaleInfo], Speech]
    kept: dict[str, Kept] = field(default_factory=dict)
    speeches: dict[str, Speech | None] = field(default_factory=dict)

    def stale(self, tasks: Sequence[Task]) -> list[Task]:
        """The tasks whose leaflets are not there as they would be made now."""
        self.kept = self.ledger.kept()
        for tag in {task.tag for task in tasks}:
            self.catalogues(tag)  # before anybody reads them: a text that changes afterwards is found the next time
        return [task for task in tasks if not self._is_good(task)]

    def _is_good(self, task: Task) -> bool:
        kept = self.kept.get(task.name)
        return (
            kept is not None
            and self._is_there(task, kept)
            and self.inputs.together(kept.inputs) == kept.hash
            and self._says_the_same(task, kept)
        )

    def _is_there(self, task: Task, kept: Kept) -> bool:
        """Whether a leaflet's file is the one that was made."""
        place = self.out / task.name
        try:
            stat = place.stat()
        except OSError:
            return False
        if stat.st_size != kept.size:
            return False
        if stat.st_mtime_ns != kept.changed:
            if self.ledger.hash_of(place) != kept.bytes:
                return False
            self.ledger.touched(task.name, place)
        return True

    def _says_the_same(self, task: Task, kept: Kept) -> bool:
        """Whether the texts a leaflet shows are what they were, whatever else its catalogues say now."""
        catalogues = self.catalogues(task.tag)
        if catalogues == kept.catalogues:
            return True
        speech = self._speech(task.tag)
        if speech is None or said(speech, self.ledger.asked(task.name), task.file.stem) != kept.said:
            return False
        self.ledger.still(task.name, catalogues)
        return True

    def catalogues(self, tag: str) -> str:
        """One hash of all catalogues of a locale."""
        return self.inputs.together(texts_of(self.locales[tag]))

    def _speech(self, tag: str) -> Speech | None:
        if tag not in self.speeches:
            try:
                self.speeches[tag] = self.load(self.locales[tag])
            except BrokenCatalogue:
                self.speeches[tag] = None
        return self.speeches[tag]

    def enter(self, outcome: Outcome) -> None:
        """Note in the ledger what a leaflet was made from."""
        task = outcome.task
        catalogues = self.catalogues(task.tag)
        entry = Entry(outcome.inputs, outcome.hash, catalogues, outcome.asked, outcome.said, outcome.bytes)
        self.ledger.put(task.name, entry, self.out / task.name)


def orders(tasks: Sequence[Task]) -> list[Order]:
    """Tasks by pattern, in pieces that many workers can share."""
    by_file: dict[Path, list[Task]] = defaultdict(list)
    for task in tasks:
        by_file[task.file].append(task)
    return [
        Order(file, tuple(wanted[start : start + AT_ONCE]))
        for file, wanted in by_file.items()
        for start in range(0, len(wanted), AT_ONCE)
    ]


def sample(tasks: Sequence[Task], count: int) -> list[Task]:
    """Some of many, spread evenly."""
    count = min(count, len(tasks))
    return [tasks[number * len(tasks) // count] for number in range(count)]
