"""A run over a workspace: what is stale is made, and what came of it is told.

What makes leaflets is imported only when there are some to make: a run that finds nothing stale is over at once.
"""

import io
import sqlite3
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from functools import cached_property, partial
from pathlib import Path
from typing import TYPE_CHECKING, Final

from rich.console import Console
from rich.table import Table

from pipeline.catalogue.batch import Desk, Order, Outcome, Task, orders, sample
from pipeline.catalogue.ledger import Ledger, is_refused, refusals
from pipeline.catalogue.used import Inputs
from pipeline.commands.desk import shelf_of
from pipeline.commands.showing import Showing
from pipeline.commands.voice import Styled, doing, progress, say
from pipeline.files import clear_unfinished, leading_out
from pipeline.language.locales import LocaleInfo
from pipeline.language.speech import load_speech
from pipeline.problems import Problem, Severity, Unusable, render
from pipeline.source import failed
from pipeline.workspace import Workspace

if TYPE_CHECKING:
    from pipeline.catalogue.make import Shelf
    from pipeline.catalogue.workshop import Workshop

SAMPLE: Final = 12
"""Leaflets that are made again to be compared."""


@contextmanager
def alone(folder: Path) -> Iterator[Path]:
    """No other run works in a folder meanwhile; what one left half-written when it was stopped is cleared away.

    Raises ``Unusable`` or ``OSError`` where the folder cannot be used.
    """
    if astray := leading_out(folder / ".run"):
        raise Unusable(astray)
    place = folder.resolve()
    place.mkdir(parents=True, exist_ok=True)
    for link in [file for file in place.glob(".*") if file.is_symlink()]:
        link.unlink()  # none of ours, and what it leads to would be taken for what a run keeps
    lock = _locked(place / ".run")
    if lock is None:
        raise Unusable((failed(str(place), "another-run", folder=place),))
    clear_unfinished(place)
    try:
        yield place
    finally:
        lock.close()


def _locked(file: Path) -> sqlite3.Connection | None:
    """A lock that ends with the process that holds it, however that ends; None where another holds it."""
    with refusals(file):
        lock = sqlite3.connect(file, timeout=0, isolation_level=None)
        try:
            lock.execute("begin exclusive")
        except sqlite3.DatabaseError as error:
            lock.close()
            if error.sqlite_errorcode == sqlite3.SQLITE_BUSY:
                return None
            if is_refused(error):
                raise
            file.unlink()  # it is damaged, so nobody holds it
            return _locked(file)
        return lock


class Run:
    """One run over a workspace."""

    def __init__(
        self,
        workspace: Workspace,
        locales: dict[str, LocaleInfo],
        place: Path,
        files: Sequence[Path],
        papers: Sequence[str],
    ) -> None:
        self.workspace, self.locales, self.place, self.files, self.papers = workspace, locales, place, files, papers
        wanted = [(locale.tag, paper) for locale in locales.values() for paper in papers or (locale.paper,)]
        self.tasks = [Task(file, tag, paper) for file in files for tag, paper in wanted]
        self.counts = Counter[str]()
        self.by_locale = {what: Counter[str]() for what in ("made", "up to date", "failed")}
        self._known: dict[str, str] = {}
        self._failed: set[Task] = set()

    @cached_property
    def shelf(self) -> "Shelf":
        """What leaflets are made with; read only when some are made."""
        return shelf_of(self.workspace)

    def make(self, jobs: int | None, cluster: str | None) -> None:
        """Make what is stale, in so many processes or on other machines."""
        with Ledger(self.place / ".ledger") as ledger:
            load = partial(load_speech, self.workspace.layers("locales"))
            desk = Desk(self.place, ledger, Inputs(self.workspace, ledger.hash_of), self.locales, load)
            stale = desk.stale(self.tasks)
            self.counts["up to date"] = len(self.tasks) - len(stale)
            self.by_locale["up to date"].update(task.tag for task in set(self.tasks) - set(stale))
            if stale:
                self._known = desk.inputs.look_round(self.locales.values())
                self._work(desk, stale, self._outcomes(orders(stale), jobs, cluster))

    def show(self, base: str | None, *, printed: bool, site: bool) -> None:
        """Make what shows the whole catalogue: a catalogue to print, a site that will stand at the address ``base``."""
        if printed or site:
            showing = Showing(self.shelf, self.locales, self.place, self.files)
            self._fail(showing.clashes())
            self._fail(showing.print(self.papers) if printed else ())
            self._fail(showing.build_site(self.tasks, base) if site else ())

    def _fail(self, problems: Iterable[Problem]) -> None:
        """What else could not be made, and why."""
        for problem in problems:
            if problem.severity is Severity.ERROR:
                self.counts["failed"] += 1
                say(_line(problem), err=True)

    def is_good(self) -> bool:
        """Whether everything is there; says what there is, for each locale and in all."""
        if len(self.locales) > 1:
            say(Styled(_table(self.by_locale, list(self.locales))))
        say(", ".join(f"{name} {count:,}" for name, count in self.counts.items()) + f": {self.place}")
        return not self.counts["failed"] and not self.counts["different"]

    def _work(self, desk: Desk, stale: Sequence[Task], outcomes: Iterator[Outcome]) -> None:
        """Make leaflets, and say which could not be made and why, a line each."""
        self.counts["made"] = self.counts["failed"] = 0
        said: set[str] = set()
        with doing(f"making {len(stale):,} leaflets"), progress("leaflets", len(stale)) as move_on:
            for outcome in outcomes:
                move_on()
                self._note(desk, outcome, said)

    def _outcomes(self, orders: Sequence[Order], jobs: int | None, cluster: str | None) -> Iterator[Outcome]:
        """Made on other machines, in many processes, or here."""
        make = self._workshop_maker()
        if cluster:
            yield from _of_cluster(make, cluster, orders)
            return
        from pipeline.catalogue.workers import cores, in_workers  # noqa: PLC0415

        jobs = min(jobs or cores(), len(orders))
        if jobs > 1:
            yield from in_workers(make, jobs, orders)
            return
        shop = make()
        for order in orders:
            yield from shop.fulfil(order)

    def _note(self, desk: Desk, outcome: Outcome, said: set[str]) -> None:
        what = "made" if outcome.made else "failed"
        self.counts[what] += 1
        self.by_locale[what][outcome.task.tag] += 1
        if outcome.made:
            desk.enter(outcome)
            return
        self._failed.add(outcome.task)
        for line in map(_line, outcome.problems):
            if line not in said:
                said.add(line)
                say(line, err=True)

    def _workshop_maker(self) -> "partial[Workshop]":
        from pipeline.catalogue.workshop import workshop_of  # noqa: PLC0415

        return partial(workshop_of, self.shelf, self.workspace, self.locales, self.place, self._known)

    def verify(self) -> None:
        """Make some leaflets again, with nothing that is kept, and compare; those that could not be made are old."""
        there = [task for task in self.tasks if task not in self._failed and (self.place / task.name).is_file()]
        tasks = sample(there, SAMPLE)
        shop = self._workshop_maker()()
        self.counts["compared"], self.counts["different"] = len(tasks), 0
        for task in tasks:
            if shop.bytes_of(task) != (self.place / task.name).read_bytes():
                self.counts["different"] += 1
                say(_line(failed(str(task.file), "leaflet-differs", place=self.place / task.name)), err=True)


def _of_cluster(make: "partial[Workshop]", address: str, orders: Sequence[Order]) -> Iterator[Outcome]:
    from pipeline.catalogue.cluster import NoCluster, in_cluster  # noqa: PLC0415

    try:
        yield from in_cluster(make, address, orders)
    except NoCluster as error:
        raise Unusable((failed(address, "no-cluster", reason=error.reason, hint=error.hint),)) from error


def _table(counts: Mapping[str, Counter[str]], tags: Sequence[str]) -> str:
    """How many leaflets of each locale there are, in columns."""
    table = Table(box=None, pad_edge=False)
    table.add_column("locale")
    for what in counts:
        table.add_column(what, justify="right")
    for tag in tags:
        table.add_row(tag, *(f"{each[tag]:,}" for each in counts.values()))
    page = io.StringIO()
    Console(file=page, width=80).print(table)
    return "\n".join(line.rstrip() for line in page.getvalue().splitlines())


def _line(problem: Problem) -> str:
    return render(problem).partition("\n")[0]
