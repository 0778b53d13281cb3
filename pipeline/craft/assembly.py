"""Work all rounds of a pattern, from the centre outward: ``place`` makes the ``Lace``.

Rounds that cannot be computed (their counts do not divide, or they do not lie between their rays' locks and
the rim) are left out; the others keep their numbers and go on from the last computed one.
"""

import itertools
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

from pipeline.craft.counts import Counts, counts
from pipeline.craft.fillings import Band, weave, wrap
from pipeline.craft.loom import Loom, loom_of
from pipeline.craft.mat import Mat, mat_of
from pipeline.craft.rules import (
    LEAVES_OUT,
    band_findings,
    count_findings,
    distance_findings,
    loom_findings,
    rib_findings,
    stretch_findings,
    worked_findings,
)
from pipeline.craft.stitches import Site, Tying, Worked, darn, edge_radius, rib, tie, tight_radius, weave_rows
from pipeline.craft.stretch import Demand, Give, Ray, lock, lock_between
from pipeline.craft.thread import Thread, thread_of
from pipeline.craft.web import Web, lay
from pipeline.pattern import pins_step
from pipeline.pattern_model import Pattern
from pipeline.problems import Finding
from pipeline.records import Round
from pipeline.symbol_model import Stitch
from pipeline.symbols import SymbolSet
from pipeline.units import Length


@dataclass(frozen=True, slots=True)
class LaceRound:
    """A computed round; lengths in mm."""

    number: int
    stitch: Stitch
    outline: str
    """Of a woven filling: bar, leaf or point; empty for others."""
    counts: Counts
    crossings: int
    """Bundles a row of a weave crosses all the way round, or stitches of a rib; 0 for others."""
    worked: Worked
    backward: bool
    """Begun at the last ray: every second row of a half-circle."""
    threads: tuple[str, ...]
    """The letter of each row's thread."""
    carry: float
    rays: tuple[Ray, ...]
    """All rays of the loom as they are after this round."""
    demands: tuple[Demand, ...]
    """What this round asked of every ray."""
    budgets: tuple[float, ...]
    """The same as a share of what each could give; 0 for those it does not take."""

    @property
    def thread(self) -> str:
        """The letter of the first row's thread."""
        return self.threads[0]

    @property
    def symbol(self) -> str:
        """The id of the symbol that stands for it."""
        return self.stitch.shown({"as": self.outline})

    @property
    def radius(self) -> float:
        """Level of the first row."""
        return self.worked.row_radii[0]

    @property
    def outer(self) -> float:
        """Level of the last row, or of the outermost group: the next ``gap`` counts from it."""
        return self.worked.outer

    @property
    def in_rows(self) -> bool:
        """Whether it is a weave, worked in rows over and under."""
        return self.stitch.behaviour == "weave"

    @property
    def tied(self) -> bool:
        """Whether its groups are knotted."""
        return self.stitch.behaviour in {"gather", "edge"}

    @property
    def rows(self) -> int:
        """How many rows."""
        return len(self.worked.row_radii) if self.in_rows else 1

    @property
    def phase_shift(self) -> bool:
        """Whether each new row must begin by passing the same side of two neighbouring bundles."""
        darned = self.in_rows and not self.counts.back and not self.counts.there_and_back
        return darned and self.crossings % 2 == 0

    @property
    def knots(self) -> int:
        """Knots tied: one to a group, and one that closes the round."""
        return len(self.worked.nodes) + self.worked.closed if self.tied else 0

    @property
    def row_nets(self) -> tuple[float, ...]:
        """Thread of each row, the first with the way from the round before."""
        return (self.worked.row_nets[0] + self.carry, *self.worked.row_nets[1:])

    @property
    def net(self) -> float:
        """Thread it takes, with the way from the round before."""
        return self.worked.net + self.carry

    @property
    def budget(self) -> float:
        """The largest share of its give that any ray is asked for."""
        return max(self.budgets)

    @property
    def end(self) -> complex:
        """Where the thread goes on from."""
        return self.worked.end


@dataclass(frozen=True, slots=True)
class ThreadTotal:
    """What a thread comes to: mm, whole working lengths (the web apart), grams, balls."""

    net: float
    total: float
    working_lengths: int
    grams: float
    measured: float | None
    balls: int | None
    """Balls or skeins of the stated put-up; None where none is stated."""


@dataclass(frozen=True, slots=True)
class Lace:
    """A pattern computed."""

    loom: Loom
    threads: Mapping[str, Thread]
    web: Web
    web_thread: str
    rounds: tuple[LaceRound, ...]
    totals: Mapping[str, ThreadTotal]
    mat: Mat | None
    findings: tuple[Finding, ...]

    def bare_rays(self) -> tuple[Ray, ...]:
        """All rays as they are laid, before the first round."""
        return bare(self.loom)

    def rays_before(self, number: int) -> tuple[Ray, ...]:
        """All rays as they are before the round at this index."""
        return self.rounds[number - 1].rays if number else self.bare_rays()


@dataclass(slots=True)
class _Work:
    """The work in progress."""

    rays: list[Ray]
    rounds: list[LaceRound] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)

    @property
    def outer(self) -> float:
        return self.rounds[-1].outer if self.rounds else 0.0


CENTRE: Final = 0j


def bare(loom: Loom) -> tuple[Ray, ...]:
    """All rays as they are laid: both legs of a pin run straight from the centre."""
    return tuple(Ray(loom.point(loom.pin_of(ray))) for ray in range(loom.rays))


def place(pattern: Pattern, symbols: SymbolSet) -> Lace:
    """Compute the lace of a pattern."""
    loom = loom_of(pattern.loom)
    threads = {letter: thread_of(spec) for letter, spec in pattern.threads.items()}
    web_thread = threads[pattern.web_thread]
    holding = thread_of(pattern.holding_thread) if pattern.holding_thread else web_thread
    tails = pattern.tails.start + pattern.tails.finish
    web = lay(loom, web_mm=web_thread.thickness, holding_mm=holding.thickness, tails_mm=tails)
    work = _Work(list(bare(loom)), findings=list(loom_findings(loom)))
    setting = _Setting(pattern, loom, threads)
    for index, entry in enumerate(pattern.rounds):
        _work_round(work, _Task(setting, index, entry, symbols.stitches[entry.stitch]))
    totals = {letter: _total(letter, pattern, threads, web, work.rounds) for letter in threads}
    mat = mat_of(pattern.assembly, loom) if pattern.assembly else None
    return Lace(loom, threads, web, pattern.web_thread, tuple(work.rounds), totals, mat, tuple(work.findings))


@dataclass(frozen=True, slots=True)
class _Setting:
    """What is the same for every round."""

    pattern: Pattern
    loom: Loom
    threads: Mapping[str, Thread]

    @property
    def web_mm(self) -> float:
        return self.threads[self.pattern.web_thread].thickness

    @property
    def give(self) -> Give:
        give = self.pattern.give
        fibre = self.threads[self.pattern.web_thread].fibre_pct if give.fibre_pct is None else give.fibre_pct
        return Give(give.pin, (fibre + give.slack_pct) / 100)


@dataclass(frozen=True, slots=True)
class _Task:
    """A round to be worked."""

    setting: _Setting
    index: int
    entry: Round
    stitch: Stitch

    @property
    def counts(self) -> Counts:
        loom = self.setting.loom
        return counts(self.stitch, self.entry, loom.rays, turned=not loom.shape.closed)

    @property
    def letters(self) -> tuple[str, ...]:
        rows = (self.entry.rows or self.stitch.rows.default) if self.stitch.rows else 1
        return self.entry.threads(rows, self.setting.pattern.web_thread)

    @property
    def threads_mm(self) -> tuple[float, ...]:
        return tuple(self.setting.threads[letter].thickness for letter in self.letters)

    @property
    def place_path(self) -> tuple[str | int, ...]:
        for key in ("at", "gap"):
            if getattr(self.entry, key) is not None:
                return ("rounds", self.index, key)
        return ("rounds", self.index, self.entry.stitch)

    def mm(self, length: Length) -> float:
        return length.mm(self.setting.loom.radius)


def _work_round(work: _Work, task: _Task) -> None:
    setting, counted, step = task.setting, task.counts, pins_step(task.setting.pattern)
    found = list(count_findings(counted, task.stitch, task.entry, setting.loom.rays, task.index, pins_step=step))
    work.findings += found
    if any(finding.code in LEAVES_OUT for finding in found):
        return
    site = Site(setting.loom, tuple(work.rays), setting.web_mm)
    levels = _levels(work, task, site, counted)
    misplaced = list(_misplaced(task, site, counted, levels))
    work.findings += misplaced
    if misplaced:
        return
    before = work.outer if work.rounds else None
    done = _done(work, task, site, counted, levels)
    work.rounds.append(done)
    thread_mm, path = task.threads_mm[0], task.place_path
    work.findings += worked_findings(done.worked, task.stitch, site, path, before=before, thread_mm=thread_mm)
    if counted.back:
        work.findings += rib_findings(site, counted, done.worked, thread_mm, path)
    work.findings += stretch_findings(done.budget, ("rounds", task.index))


def _lock(work: _Work, site: Site, worked: Worked, give: Give) -> tuple[Demand, ...]:
    """Lock the rays a round takes; what it asks of every ray, at the lock that asks most."""
    demands = [Demand()] * len(work.rays)
    for number, points in worked.locks:
        ray = work.rays[number]
        below, above = ray.around(site.shape, site.shape.level(points[0]))
        asked: list[Demand] = []
        if above == ray.pin:
            for point in points:
                ray, demand = lock(ray, point)
                asked.append(demand)
        else:
            ray, demand = lock_between(ray, below, points)
            asked.append(demand)
        work.rays[number] = ray
        demands[number] = max(asked, key=lambda demand: demand.budget(give))
    return tuple(demands)


@dataclass(frozen=True, slots=True)
class _Levels:
    """Where a round lies: the levels of its rows, or of its groups in turn; the band of a filling."""

    rows: tuple[float, ...]
    band: Band | None = None


def _levels(work: _Work, task: _Task, site: Site, counted: Counts) -> _Levels:
    """Where a round lies, from the centre outward."""
    entry, kind = task.entry, task.stitch.behaviour
    if kind == "edge":
        return _Levels((edge_radius(site.loom, entry.parameters.get("inset")),))
    if kind == "gather":
        return _Levels(_distances(work, task))
    if kind in {"coil", "block"}:
        assert entry.to is not None  # noqa: S101
        inner = _distances(work, task)[0]
        return _Levels((inner,), Band(inner, task.mm(entry.to)))
    tight = entry.at in {None, "tight"} and entry.gap is None
    first = tight_radius(site, counted, task.threads_mm[0]) if tight else _distances(work, task)[0]
    return _Levels(tuple(row.level for row in weave_rows(first, task.threads_mm)))


def _distances(work: _Work, task: _Task) -> tuple[float, ...]:
    """Levels as written; ``gap`` counts from the outermost of the round before."""
    base, written = (work.outer, task.entry.gap) if task.entry.at is None else (0.0, task.entry.at)
    lengths = written if isinstance(written, tuple) else (written,)
    return tuple(base + task.mm(length) for length in lengths if isinstance(length, Length))


def _misplaced(task: _Task, site: Site, counted: Counts, levels: _Levels) -> Iterator[Finding]:
    if levels.band:
        return band_findings(site, counted, levels.band, task.index, task.place_path)
    held = max(site.shape.level(site.rays[ray].lock) for ray in counted.taken(len(site.rays)))
    return distance_findings(levels.rows, held, site.shape.shortest, task.place_path)


def _done(work: _Work, task: _Task, site: Site, counted: Counts, levels: _Levels) -> LaceRound:
    """The round worked, its rays locked."""
    backward = not site.shape.closed and sum(done.rows for done in work.rounds) % 2 == 1
    worked = _worked(work, task, site, counted, levels, backward=backward)
    start = work.rounds[-1].end if work.rounds else CENTRE
    give = task.setting.give
    demands = _lock(work, site, worked, give)
    return LaceRound(
        number=task.index + 1,
        stitch=task.stitch,
        outline=task.entry.parameters.get("as", ""),
        counts=counted,
        crossings=counted.crossings(site.loom.rays) if task.stitch.behaviour == "weave" else 0,
        worked=worked,
        backward=backward,
        threads=task.letters,
        carry=abs(worked.nodes[0].point - start) if worked.nodes else 0.0,
        rays=tuple(work.rays),
        demands=demands,
        budgets=tuple(demand.budget(give) for demand in demands),
    )


def _worked(work: _Work, task: _Task, site: Site, counted: Counts, levels: _Levels, *, backward: bool) -> Worked:
    told, thread_mm = task.entry.parameters, task.threads_mm[0]
    if task.stitch.behaviour == "weave":
        rows = weave_rows(levels.rows[0], task.threads_mm)
        if task.stitch.back:
            return rib(site, counted, rows, backward=backward)
        return darn(site, counted, rows, even=not work.rounds and not counted.part, backward=backward)
    if levels.band and task.stitch.behaviour == "block":
        return weave(site, counted, levels.band, thread_mm, told["as"], backward=backward)
    if levels.band:
        return wrap(site, counted, levels.band, thread_mm, backward=backward)
    loop = task.mm(told["height"]) if told.get("height") else 0.0
    tying = Tying(levels.rows, thread_mm, task.stitch.take_up, task.entry.close, loop, backward)
    return tie(site, counted, tying)


def _runs(rounds: Sequence[LaceRound]) -> Iterator[tuple[str, float]]:
    """Consecutive rows in one thread: its letter and their net length."""
    rows = [(letter, net) for done in rounds for letter, net in zip(done.threads, done.row_nets, strict=False)]
    for letter, run in itertools.groupby(rows, key=lambda row: row[0]):
        yield letter, math.fsum(net for _, net in run)


def working_lengths(net: float, pattern: Pattern) -> int:
    """The fewest working lengths that hold a run with its tails, when each further one costs a join."""
    tails, rejoin = pattern.tails.start + pattern.tails.finish, pattern.tails.rejoin
    return max(1, math.ceil((net + tails - rejoin) / (pattern.working_length - rejoin) - 1e-12))


def _total(
    letter: str, pattern: Pattern, threads: Mapping[str, Thread], web: Web, rounds: Sequence[LaceRound]
) -> ThreadTotal:
    tails, rejoin = pattern.tails.start + pattern.tails.finish, pattern.tails.rejoin
    nets = [net for run_letter, net in _runs(rounds) if run_letter == letter]
    lengths = [working_lengths(net, pattern) for net in nets]
    net, total = math.fsum(nets), math.fsum(n + tails + (k - 1) * rejoin for n, k in zip(nets, lengths, strict=True))
    if letter == pattern.web_thread:
        net, total = net + web.net, total + web.cut
    grams = total / 1e6 * threads[letter].tex
    put_up = pattern.threads[letter].metres
    balls = math.ceil(total / 1000 / put_up - 1e-12) if put_up else None
    return ThreadTotal(net, total, sum(lengths), grams, pattern.measured.get(letter), balls)
