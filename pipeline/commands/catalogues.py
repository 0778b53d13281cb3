"""The command that builds a whole catalogue, again and again."""

import re
import sys
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from functools import cached_property, partial
from pathlib import Path
from typing import TYPE_CHECKING, Final

import click

from pipeline.commands.desk import ERRORS, FOLDER, GOOD, locales_of, shelf_of, show
from pipeline.commands.showing import Showing
from pipeline.files import clear_unfinished
from pipeline.problems import Problem, Severity, render
from pipeline.source import failed
from pipeline.workspace import Workspace

if TYPE_CHECKING:
    from pipeline.catalogue.batch import Desk, Order, Outcome, Task
    from pipeline.catalogue.make import Shelf
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
@click.option("--cluster", metavar="ADDRESS", help="Work on the machines of a Dask scheduler: tcp://10.0.0.1:8786")
@click.option("--printed", is_flag=True, help="Also a catalogue to print, in every locale.")
@click.option("--site", is_flag=True, help="Also a site of plain files with gallery, leaflets and feeds.")
@click.option("--base", metavar="ADDRESS", help="Where the site will stand, for its map: https://example.org/lace/")
@click.option("--verify", is_flag=True, help="Make some leaflets again and compare them, byte for byte.")
@click.option(
    "--out", type=click.Path(path_type=Path, file_okay=False), help="Folder to write to, instead of build/out."
)
def catalogue_command(  # noqa: PLR0913
    folder: Path,
    *,
    tags: Sequence[str],
    papers: Sequence[str],
    jobs: int | None,
    cluster: str | None,
    printed: bool,
    site: bool,
    base: str | None,
    verify: bool,
    out: Path | None,
) -> None:
    r"""Make the leaflets of all patterns of a workspace in all its locales; only what changed is made anew.

    \b
    spokeleaf catalogue
    spokeleaf catalogue shop --locale en --locale ar --paper a4 --paper letter --jobs 4
    spokeleaf catalogue --printed --site --base https://example.org/lace/
    """
    if base and not (site and re.match(r"https?://[^/]", base)):
        raise click.UsageError("--base is the address of a --site: https://example.org/lace/")
    workspace = Workspace(folder.resolve())
    files = list(_patterns(workspace))
    if not files:
        raise click.UsageError(f"there are no patterns in {folder / 'patterns'}")
    locales = locales_of(workspace, tags)
    place = (out or folder / "build" / "out").resolve()
    with _alone(place):
        run = _Run(workspace, locales, place, jobs, cluster)
        tasks = _tasks(files, locales.values(), papers)
        run.make(tasks)
        if printed or site:
            shown = Showing(run.shelf, locales, place, files)
            problems = (*(shown.print(papers) if printed else ()), *(shown.build_site(tasks, base) if site else ()))
            run.fail(problems)
        if verify:
            run.verify(tasks)
        sys.exit(GOOD if run.is_good() else ERRORS)


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
    import sqlite3  # noqa: PLC0415

    place.mkdir(parents=True, exist_ok=True)
    lock = sqlite3.connect(place / ".run", timeout=0, isolation_level=None)
    try:
        lock.execute("begin exclusive")
    except sqlite3.OperationalError:
        show((failed(str(place), "another-run", folder=place),))
        sys.exit(ERRORS)
    clear_unfinished(place)
    try:
        yield
    finally:
        lock.close()


class _Run:
    """One run over a workspace."""

    def __init__(
        self, workspace: Workspace, locales: "dict[str, LocaleInfo]", place: Path, jobs: int | None, cluster: str | None
    ) -> None:
        self.workspace, self.locales, self.place, self.jobs, self.cluster = workspace, locales, place, jobs, cluster
        self.counts = Counter[str]()

    @cached_property
    def shelf(self) -> "Shelf":
        """What leaflets are made with; read only when some are made."""
        return shelf_of(self.workspace)

    def make(self, tasks: "Sequence[Task]") -> None:
        """Make what is stale."""
        from pipeline.catalogue.batch import Desk  # noqa: PLC0415
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

    def fail(self, problems: Iterable[Problem]) -> None:
        """What else could not be made, and why."""
        for problem in problems:
            if problem.severity is Severity.ERROR:
                self.counts["failed"] += 1
                click.echo(_line(problem))

    def is_good(self) -> bool:
        """Whether everything is there; says what there is."""
        click.echo(", ".join(f"{name} {count:,}" for name, count in self.counts.items()) + f": {self.place}")
        return not self.counts["failed"] and not self.counts["different"]

    def _work(self, desk: "Desk", stale: "Sequence[Task]") -> None:
        """Make leaflets, and say which could not be made and why, a line each."""
        from pipeline.catalogue.batch import orders  # noqa: PLC0415

        self.counts["made"] = self.counts["failed"] = 0
        outcomes = self._outcomes(orders(stale))
        said: set[str] = set()
        with click.progressbar(
            length=len(stale), label="leaflets", file=sys.stderr, hidden=not sys.stderr.isatty()
        ) as bar:
            for outcome in outcomes:
                bar.update(1)
                self._note(desk, outcome, said)

    def _outcomes(self, orders: "Sequence[Order]") -> "Iterator[Outcome]":
        """Made on other machines, in many processes, or here."""
        make = self._workshop_maker()
        if self.cluster:
            yield from _of_cluster(make, self.cluster, orders)
            return
        from pipeline.catalogue.workers import cores, in_workers  # noqa: PLC0415

        jobs = min(self.jobs or cores(), len(orders))
        if jobs > 1:
            yield from in_workers(make, jobs, orders)
            return
        shop = make()
        for order in orders:
            yield from shop.fulfil(order)

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

        return partial(workshop_of, self.shelf, self.workspace, self.locales, self.place)

    def verify(self, all_tasks: "Sequence[Task]") -> None:
        """Make some leaflets again, with nothing that is kept, and compare."""
        from pipeline.catalogue.batch import sample  # noqa: PLC0415

        tasks = sample([task for task in all_tasks if (self.place / task.name).is_file()], SAMPLE)
        shop = self._workshop_maker()()
        self.counts["compared"], self.counts["different"] = len(tasks), 0
        for task in tasks:
            if shop.bytes_of(task) != (self.place / task.name).read_bytes():
                self.counts["different"] += 1
                click.echo(_line(failed(str(task.file), "leaflet-differs", place=self.place / task.name)))


def _of_cluster(make: "partial[Workshop]", address: str, orders: "Sequence[Order]") -> "Iterator[Outcome]":
    from pipeline.catalogue.cluster import NoCluster, in_cluster  # noqa: PLC0415

    try:
        yield from in_cluster(make, address, orders)
    except NoCluster as error:
        show((failed(address, "no-cluster", reason=error.reason, hint=error.hint),))
        sys.exit(ERRORS)


def _line(problem: Problem) -> str:
    return render(problem).partition("\n")[0]
