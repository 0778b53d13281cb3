"""Work all rounds of a pattern, from the centre outward: ``place`` makes the ``Lace``.

Rounds that cannot be computed (their counts do not divide, or they do not lie between their rays' locks and
the rim) are left out; the others keep their numbers and go on from the last computed one.
"""

import itertools
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

from pipeline.craft.loom import Loom, loom_of
from pipeline.craft.rules import count_findings, distance_findings, stretch_findings, worked_findings
from pipeline.craft.stitches import Counts, Worked, counts, crimp_height, edge_radius, gather, jam_radius, weave
from pipeline.craft.stretch import Give, Ray, lock
from pipeline.craft.thread import Thread, thread_of
from pipeline.craft.web import Web, lay
from pipeline.pattern import Pattern, Round
from pipeline.problems import Finding
from pipeline.symbols import Stitch, SymbolSet
from pipeline.units import Length


@dataclass(frozen=True, slots=True)
class LaceRound:
    """A computed round; lengths in mm."""

    number: int
    stitch: Stitch
    counts: Counts
    bundles: int
    worked: Worked
    thread: str
    carry: float
    rays: tuple[Ray, ...]
    """All rays of the loom as they are after this round."""
    budgets: tuple[float, ...]
    """What this round asked of every ray; 0 for those it does not take."""

    @property
    def radius(self) -> float:
        """Of the first row."""
        return self.worked.row_radii[0]

    @property
    def outer(self) -> float:
        """Radius of the last row: the next ``gap`` counts from it."""
        return self.worked.row_radii[-1]

    @property
    def phase_shift(self) -> bool:
        """Whether each new row must begin by passing the same side of two neighbouring bundles."""
        return self.bundles > 0 and self.bundles % 2 == 0

    @property
    def knots(self) -> int:
        """Knots tied: one to a group, and one that closes the round."""
        return len(self.worked.nodes) + 1 if self.worked.nodes else 0

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
        """Where the thread goes on from: the first node, or a darn's lock of ray 0."""
        return self.worked.nodes[0].point if self.worked.nodes else self.rays[0].lock


@dataclass(frozen=True, slots=True)
class ThreadTotal:
    """What a thread comes to: mm, whole working lengths (the web apart), grams."""

    net: float
    total: float
    working_lengths: int
    grams: float
    measured: float | None


@dataclass(frozen=True, slots=True)
class Lace:
    """A pattern computed."""

    loom: Loom
    threads: Mapping[str, Thread]
    web: Web
    web_thread: str
    rounds: tuple[LaceRound, ...]
    totals: Mapping[str, ThreadTotal]
    findings: tuple[Finding, ...]


@dataclass(slots=True)
class _Work:
    """The work in progress."""

    rays: list[Ray]
    rounds: list[LaceRound] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)


CENTRE: Final = 0j


def place(pattern: Pattern, symbols: SymbolSet) -> Lace:
    """Compute the lace of a pattern."""
    loom = loom_of(pattern.loom)
    threads = {letter: thread_of(spec) for letter, spec in pattern.threads.items()}
    web_thread = threads[pattern.web_thread]
    holding = thread_of(pattern.holding_thread) if pattern.holding_thread else web_thread
    tails = pattern.tails.start + pattern.tails.finish
    web = lay(loom, web_mm=web_thread.thickness, holding_mm=holding.thickness, tails_mm=tails)
    work = _Work([Ray(loom.point(loom.pin_of(ray))) for ray in range(loom.rays)])
    if loom.pins % 2:
        facts = {"pins": loom.pins, "fewer": loom.pins - 1, "more": loom.pins + 1}
        work.findings.append(Finding("odd-pins", ("loom", "pins"), facts))
    for index, entry in enumerate(pattern.rounds):
        _work_round(work, _Setting(pattern, loom, threads), index, symbols.stitches[entry.stitch])
    totals = {letter: _total(letter, pattern, threads, web, work.rounds) for letter in threads}
    return Lace(loom, threads, web, pattern.web_thread, tuple(work.rounds), totals, tuple(work.findings))


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


def _work_round(work: _Work, setting: _Setting, index: int, stitch: Stitch) -> None:
    entry = setting.pattern.rounds[index]
    counted = counts(stitch, entry)
    undivided = list(count_findings(counted, stitch, entry, setting.loom.rays, index))
    work.findings += undivided
    if any(finding.code == "rays-do-not-divide" for finding in undivided):
        return
    letter = entry.thread or setting.pattern.web_thread
    thread_mm = setting.threads[letter].thickness
    path = _place_path(entry, index)
    radii = _row_radii(work, setting, entry, stitch, counted, thread_mm)
    held = max((abs(work.rays[ray].lock) for ray in counted.taken(setting.loom.rays)), default=0.0)
    misplaced = list(distance_findings(radii, held, setting.loom.radius, path))
    work.findings += misplaced
    if misplaced:
        return
    worked = _worked(work, setting, stitch, counted, radii, thread_mm)
    before = work.rounds[-1] if work.rounds else None
    start = before.end if before else CENTRE
    carry = abs(worked.nodes[0].point - start) if worked.nodes else 0.0
    budgets = [0.0] * len(work.rays)
    for ray, point in worked.locks:
        work.rays[ray], budgets[ray] = lock(work.rays[ray], point, setting.give)
    bundles = 0 if worked.nodes else counted.bundles(setting.loom.rays)
    done = LaceRound(index + 1, stitch, counted, bundles, worked, letter, carry, tuple(work.rays), tuple(budgets))
    work.rounds.append(done)
    outer = before.outer if before else None
    work.findings += worked_findings(
        worked, stitch, setting.loom, path, before=outer, thread_mm=thread_mm, web_mm=setting.web_mm
    )
    work.findings += stretch_findings(done.budget, ("rounds", index))


def _row_radii(
    work: _Work, setting: _Setting, entry: Round, stitch: Stitch, counted: Counts, thread_mm: float
) -> tuple[float, ...]:
    """Where the rows of a round lie, from the centre outward."""
    if stitch.behaviour == "edge":
        return (edge_radius(setting.loom, entry.parameters.get("inset")),)
    if stitch.behaviour == "gather":
        return (_radius(work, entry, setting.loom),)
    rows = entry.rows or (stitch.rows.default if stitch.rows else 1)
    tight = entry.at in {None, "tight"} and entry.gap is None
    height = crimp_height(counted, thread_mm, setting.web_mm)
    first = jam_radius(counted.bundles(setting.loom.rays), height) if tight else _radius(work, entry, setting.loom)
    return tuple(first + row * thread_mm for row in range(rows))


def _worked(
    work: _Work, setting: _Setting, stitch: Stitch, counted: Counts, radii: tuple[float, ...], thread_mm: float
) -> Worked:
    if stitch.behaviour == "weave":
        height = crimp_height(counted, thread_mm, setting.web_mm)
        return weave(work.rays, counted, radii=radii, height=height, even=not work.rounds)
    return gather(work.rays, counted, stitch.take_up, radius=radii[0], thread_mm=thread_mm, web_mm=setting.web_mm)


def _radius(work: _Work, entry: Round, loom: Loom) -> float:
    if isinstance(entry.at, Length):
        return entry.at.mm(loom.radius)
    assert entry.gap is not None  # noqa: S101
    return (work.rounds[-1].outer if work.rounds else 0.0) + entry.gap.mm(loom.radius)


def _place_path(entry: Round, index: int) -> tuple[str | int, ...]:
    for key in ("at", "gap"):
        if getattr(entry, key) is not None:
            return ("rounds", index, key)
    return ("rounds", index, entry.stitch)


def _runs(rounds: Sequence[LaceRound]) -> Iterator[tuple[str, float]]:
    """Consecutive rounds in one thread: its letter and their net length."""
    for letter, run in itertools.groupby(rounds, key=lambda done: done.thread):
        yield letter, math.fsum(done.net for done in run)


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
    return ThreadTotal(net, total, sum(lengths), total / 1e6 * threads[letter].tex, pattern.measured.get(letter))
