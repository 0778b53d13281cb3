"""The command that builds a whole catalogue, again and again."""

import re
import sqlite3
import sys
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Final

import click

from pipeline.commands.desk import ERRORS, FOLDER, GOOD, locales_of, shelf_of, show
from pipeline.problems import Problem, render
from pipeline.source import failed
from pipeline.workspace import Workspace

if TYPE_CHECKING:
    from pipeline.catalogue.batch import Desk, Outcome, Task
    from pipeline.catalogue.workshop import Workshop
    from pipeline.language.locales import LocaleInfo

PAPERS: Final = ("a4", "a5", "letter", "common")
SAMPLE: Final = 12
"""Leaflets that --verify makes again."""
_FIRST_KEY: Final = re.compile(rb"^(\w+)\s*:", re.MULTILINE)


@click.command("catalogue")
@click.argument("folder", type=FOLDER, default=".")
@click.option("--locale", "tags", multiple=True, metavar="TAG", help="Only these locales; may be repeated.")
@click.option("--paper", "papers", multiple=True, type=click.Choice(PAPERS), help="Papers, instead of each locale's.")
@click.option("--jobs", type=click.IntRange(1, 256), help="Processes to work in; as many as there are processors.")
@click.option("--verify", is_flag=True, help="Make some leaflets again and compare them, byte for byte.")
@click.option(
    "--out", type=click.Path(path_type=Path, file_okay=False), help="Folder to write to, instead of build/out."
)
def catalogue_command(
    folder: Path, *, tags: Sequence[str], papers: Sequence[str], jobs: int | None, verify: bool, out: Path | None
) -> None:
    r"""Make the leaflets of all patterns of a workspace in all its locales; only what changed is made anew.

    \b
    spokeleaf catalogue
    spokeleaf catalogue shop --locale en --locale ar --paper a4 --paper letter --jobs 4
    """
    workspace = Workspace(folder.resolve())
    files = list(_patterns(workspace))
    if not files:
        raise click.UsageError(f"there are no patterns in {folder / 'patterns'}")
    locales = locales_of(workspace, tags)
    place = (out or folder / "build" / "out").resolve()
    with _alone(place):
        run = _Run(workspace, locales, place, jobs)
        sys.exit(GOOD if run.make(_tasks(files, locales.values(), papers), verify=verify) else ERRORS)


def _patterns(workspace: Workspace) -> Iterator[Path]:
    """The files of a workspace that are patterns, or that cannot be read as anything."""
    assert workspace.root is not None  # noqa: S101
    for file in sorted((workspace.root / "patterns").glob("*.yaml")):
        key = _FIRST_KEY.search(file.read_bytes()[:4096])
        if key is None or key[1] not in {b"publisher", b"loom", b"stitch", b"sign"}:
            yield file


def _tasks(files: Iterable[Path], locales: "Iterable[LocaleInfo]", papers: Sequence[str]) -> "list[Task]":
    from pipeline.catalogue.batch import Task  # noqa: PLC0415

    wanted = [(locale.tag, paper) for locale in locales for paper in papers or (locale.paper,)]
    return [Task(file, tag, paper) for file in files for tag, paper in wanted]


@contextmanager
def _alone(place: Path) -> Iterator[None]:
    """No other run works in a folder meanwhile; what one left half-written when it was stopped is cleared away."""
    place.mkdir(parents=True, exist_ok=True)
    lock = sqlite3.connect(place / ".run", timeout=0, isolation_level=None)
    try:
        lock.execute("begin exclusive")
    except sqlite3.OperationalError:
        show((failed(str(place), "another-run", folder=place),))
        sys.exit(ERRORS)
    for left in place.glob("*/.*.pdf.*"):
        left.unlink()
    try:
        yield
    finally:
        lock.close()


class _Run:
    """One run over a workspace."""

    def __init__(self, workspace: Workspace, locales: "dict[str, LocaleInfo]", place: Path, jobs: int | None) -> None:
        self.workspace, self.locales, self.place, self.jobs = workspace, locales, place, jobs
        self.counts = Counter[str]()

    def make(self, tasks: "Sequence[Task]", *, verify: bool) -> bool:
        """Make what is stale; whether every leaflet is there."""
        from pipeline.catalogue.batch import Desk, sample  # noqa: PLC0415
        from pipeline.catalogue.ledger import Ledger  # noqa: PLC0415
        from pipeline.catalogue.used import Inputs  # noqa: PLC0415
        from pipeline.language.speech import load_speech  # noqa: PLC0415

        with Ledger(self.place / ".ledger") as ledger:
            load = partial(load_speech, self.workspace.layers("locales"))
            desk = Desk(self.place, ledger, Inputs(self.workspace, ledger.hash_of), self.locales, load)
            stale = desk.stale(tasks)
            self.counts["up to date"] = len(tasks) - len(stale)
            if stale:
                self._work(desk, stale)
        if verify:
            self._verify(sample([task for task in tasks if (self.place / task.name).is_file()], SAMPLE))
        click.echo(", ".join(f"{name} {count:,}" for name, count in self.counts.items()) + f": {self.place}")
        return not self.counts["failed"] and not self.counts["different"]

    def _work(self, desk: "Desk", stale: "Sequence[Task]") -> None:
        """Make leaflets, and say which could not be made and why, a line each."""
        from pipeline.catalogue.batch import orders  # noqa: PLC0415
        from pipeline.catalogue.workers import cores, in_workers  # noqa: PLC0415

        self.counts["made"] = self.counts["failed"] = 0
        jobs, wanted = self.jobs or cores(), orders(stale)
        outcomes = (
            in_workers(self._workshop_maker(), min(jobs, len(wanted)), wanted)
            if jobs > 1 and len(wanted) > 1
            else (outcome for shop in (self._workshop_maker()(),) for order in wanted for outcome in shop.fulfil(order))
        )
        said: set[str] = set()
        with click.progressbar(
            length=len(stale), label="leaflets", file=sys.stderr, hidden=not sys.stderr.isatty()
        ) as bar:
            for outcome in outcomes:
                bar.update(1)
                self._note(desk, outcome, said)

    def _note(self, desk: "Desk", outcome: "Outcome", said: set[str]) -> None:
        self.counts["made" if outcome.made else "failed"] += 1
        if outcome.made:
            desk.enter(outcome)
            return
        for line in map(_line, outcome.problems):
            if line not in said:
                said.add(line)
                click.echo(line)

    def _workshop_maker(self) -> "partial[Workshop]":
        from pipeline.catalogue.workshop import workshop_of  # noqa: PLC0415

        return partial(workshop_of, shelf_of(self.workspace), self.workspace, self.locales, self.place)

    def _verify(self, tasks: "Sequence[Task]") -> None:
        """Make some leaflets again, with nothing that is kept, and compare."""
        shop = self._workshop_maker()()
        self.counts["compared"], self.counts["different"] = len(tasks), 0
        for task in tasks:
            if shop.bytes_of(task) != (self.place / task.name).read_bytes():
                self.counts["different"] += 1
                click.echo(_line(failed(str(task.file), "leaflet-differs", place=self.place / task.name)))


def _line(problem: Problem) -> str:
    return render(problem).partition("\n")[0]
