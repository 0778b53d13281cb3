"""The same pattern on another loom: counts re-fitted to the nearest that divide, distances scaled.

``adapt`` makes the changes that are needed, as paths and texts of the pattern file; ``amended`` is the pattern with
them. Nothing is guessed beyond that: what comes out is checked like any other pattern.
"""

import itertools
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

from pipeline.craft.assembly import Lace, place
from pipeline.craft.counts import Counts, counts
from pipeline.craft.rules import FEWEST_GROUPS
from pipeline.craft.shapes import shape_of
from pipeline.pattern_model import Pattern
from pipeline.problems import Path
from pipeline.records import LoomSpec, Measures, NamedLoom, Part, Passed, Round, Size
from pipeline.symbol_model import Stitch
from pipeline.symbols import SymbolSet
from pipeline.units import Length, rounded

MOST_SIZES: Final = 4
NEAR: Final = 4
"""How far from what they were group sizes are tried together, and of how many kinds."""

PLACES: Final = {"mm": 1, "cm": 2, "m": 4, "in": 3}
"""Decimal places a scaled length keeps in its own unit: a tenth of a millimetre, or nearly."""


@dataclass(frozen=True, slots=True)
class Change:
    """A value of the pattern file and what it becomes, as they are written."""

    path: Path
    was: str
    now: str


@dataclass(frozen=True, slots=True)
class Fitting:
    """From one loom to another."""

    rays: int
    new_rays: int
    scale: float
    sizes: Mapping[int, int]
    """What each size of the pattern's groups becomes, so that groups of equal size stay equal; empty where no such
    choice divides the rays, and every round is fitted by itself."""


def fitting(pattern: Pattern, new: LoomSpec, symbols: SymbolSet) -> Fitting:
    """How the looms differ; lengths are scaled by their shortest rays."""
    rays, new_rays = 2 * pattern.loom.pins, 2 * new.pins
    grouped = [
        (counted, distances_in_turn(entry))
        for entry in pattern.rounds
        for stitch in (symbols.stitches[entry.stitch],)
        for counted in (_counted(stitch, entry, rays),)
        if counted.items and not stitch.edge and not counted.part
    ]
    scale = shape_of(new).shortest / shape_of(pattern.loom).shortest
    return Fitting(rays, new_rays, scale, common_sizes(grouped, new_rays))


def _counted(stitch: Stitch, entry: Round, rays: int) -> Counts:
    """How a round divides the rays; whether it turns is not asked, for that changes none of the numbers."""
    return counts(stitch, entry, rays, turned=False)


def distances_in_turn(entry: Round) -> int:
    """How many distances the groups of a round take in turn."""
    written = entry.at if entry.at is not None else entry.gap
    return len(written) if isinstance(written, tuple) else 1


def common_sizes(grouped: Sequence[tuple[Counts, int]], rays: int) -> Mapping[int, int]:
    """New sizes for all group sizes together, as near as they can be with every round dividing the rays."""
    sizes = sorted({item.size for counted, _ in grouped for item in counted.items})
    if len(sizes) > MOST_SIZES:
        return {}
    near = [range(max(1, size - NEAR), size + NEAR + 1) for size in sizes]
    choices = (dict(zip(sizes, chosen, strict=True)) for chosen in itertools.product(*near))
    found = [new for new in choices if all(_divides(counted, distances, new, rays) for counted, distances in grouped)]
    return min(found, key=lambda new: (sum(abs(new[size] - size) for size in sizes), *new.values()), default={})


def _divides(counted: Counts, distances: int, new: Mapping[int, int], rays: int) -> bool:
    period = sum(new[item.size] for item in counted.items)
    turns, left = divmod(rays, period)
    groups = turns * sum(item.tied for item in counted.items)
    return not left and groups % distances == 0 and groups >= FEWEST_GROUPS


def other_loom(loom: LoomSpec, pins: int | None, measures: Mapping[str, float]) -> LoomSpec:
    """The loom with other pins or other measures; what is not said stays."""
    known = {name: getattr(loom, name) for name in (*Measures.model_fields, "shape", "hold")}
    return LoomSpec.model_construct(**(known | dict(measures)), pins=pins or loom.pins)


def adapt(pattern: Pattern, loom: LoomSpec, symbols: SymbolSet) -> tuple[Change, ...]:
    """Every change that puts a pattern on another loom of its shape."""
    fit = fitting(pattern, loom, symbols)
    changes = list(_loom_changes(pattern.loom, loom))
    for index, entry in enumerate(pattern.rounds):
        found = _round_changes(entry, symbols.stitches[entry.stitch], fit)
        changes += (replace(change, path=("rounds", index, *change.path)) for change in found)
    return tuple(change for change in changes if change.was != change.now)


def _loom_changes(old: LoomSpec, new: LoomSpec) -> Iterator[Change]:
    if isinstance(old, NamedLoom):
        sizes = [f"{name}: {_mm(getattr(new, name))}" for name in Measures.model_fields if getattr(new, name)]
        words = ", ".join([f"shape: {new.shape}", *sizes, f"pins: {new.pins}", f"hold: {new.hold}"])
        yield Change(("loom",), "", f"{{{words}}}")
        return
    for name in Measures.model_fields:
        was, now = getattr(old, name), getattr(new, name)
        if was is not None:
            yield Change(("loom", name), _mm(was), _mm(now))
    yield Change(("loom", "pins"), str(old.pins), str(new.pins))


def _mm(value: float) -> str:
    return f"{rounded(value, 2).normalize():f} mm"


def _round_changes(entry: Round, stitch: Stitch, fit: Fitting) -> Iterator[Change]:
    """What each value of a round becomes, or stays; paths begin at the round."""
    counted = _counted(stitch, entry, fit.rays)
    own = (stitch.stitch,)
    rays = fit.new_rays
    if counted.part:
        part = fitted_part(counted.part, counted.period, fit)
        written = entry.part
        assert written is not None  # noqa: S101
        for key, was, now in (("from", written.start, part.start), ("rays", written.rays, part.rays),
                              ("every", written.every, part.every)):  # fmt: skip
            yield Change(("part", key), str(was), str(now))
        rays = part.rays
    if stitch.behaviour == "weave":
        yield from _weave_changes(counted, rays, own)
    elif not stitch.edge:
        yield from _group_changes(entry, counted, rays, fit, own)
    for key in ("at", "gap", "to"):
        yield from _length_changes(getattr(entry, key), fit.scale, (key,))
    for name, value in entry.parameters.items():
        if isinstance(value, Length):
            yield from _length_changes(value, fit.scale, (*own, name))


def _weave_changes(counted: Counts, rays: int, path: Path) -> Iterator[Change]:
    over, under = fitted_weave(counted, rays)
    yield Change((*path, "over"), str(counted.over), str(over))
    yield Change((*path, "under"), str(counted.under), str(under))


def _group_changes(entry: Round, counted: Counts, rays: int, fit: Fitting, path: Path) -> Iterator[Change]:
    together = fit.sizes and not counted.part
    sizes = tuple(fit.sizes[item.size] for item in counted.items) if together else fitted_sizes(counted, rays)
    if isinstance(entry.parameters["rays"], tuple):
        for place, (item, size) in enumerate(zip(entry.parameters["rays"], sizes, strict=True)):
            if isinstance(item, Passed):
                yield Change((*path, "rays", place, "pass"), str(item.passed), str(size))
            else:
                yield Change((*path, "rays", place), str(item), str(size))
    else:
        yield Change((*path, "rays"), str(counted.items[0].size), str(sizes[0]))
    shift = round(counted.shift * sum(sizes) / counted.period)
    yield Change((*path, "shift"), str(counted.shift), str(shift))


def fitted_sizes(counted: Counts, rays: int) -> tuple[int, ...]:
    """Group sizes whose sum divides the rays, each as near to what it was as that allows."""
    sizes = [item.size for item in counted.items]
    if len(sizes) > rays:
        return tuple(sizes)  # which cannot fit; checking says so
    period = nearest_divisor(counted.period, rays, least=len(sizes))
    wanted = [size * period / counted.period for size in sizes]
    fitted = [max(1, math.floor(size)) for size in wanted]
    places = range(len(sizes))
    while sum(fitted) < period:
        fitted[max(places, key=lambda place: wanted[place] - fitted[place])] += 1
    while sum(fitted) > period:
        fitted[max(places, key=lambda place: (fitted[place] > 1, fitted[place] - wanted[place]))] -= 1
    return tuple(fitted)


def fitted_weave(counted: Counts, rays: int) -> tuple[int, int]:
    """Over and under that fit the rays, as near to what they were as that allows; a rib goes forward."""
    near = range(1, max(counted.over, counted.under) + 4)
    pairs = [
        (over, under)
        for over, under in itertools.product(near, near)
        if (under > over if counted.back else (over == under) == (counted.over == counted.under))
        and rays % Counts(over=over, under=under, back=counted.back).period == 0
    ]
    return min(pairs, key=lambda pair: abs(pair[0] - counted.over) + abs(pair[1] - counted.under), default=(1, 1))


def fitted_part(part: Part, period: int, fit: Fitting) -> Part:
    """A part that repeats as often as it did where that can be, over as much of the wheel."""
    parts = max(1, fit.rays // part.every)
    every = fit.new_rays // parts if fit.new_rays % parts == 0 else nearest_divisor(part.every, fit.new_rays)
    rays = max(period, round(part.rays * every / part.every / period) * period)
    return Part.model_construct(
        start=round(part.start * every / part.every), rays=min(rays, every // period * period or every), every=every
    )


def nearest_divisor(wanted: int, number: int, *, least: int = 1) -> int:
    """The divisor of a number that is nearest to another; the smaller of two.

    >>> nearest_divisor(7, 120)
    6
    """
    divisors = [size for size in range(least, number + 1) if number % size == 0]
    return min(divisors, key=lambda size: (abs(size - wanted), size))


def _length_changes(value: object, scale: float, path: Path) -> Iterator[Change]:
    if isinstance(value, tuple):
        for place, length in enumerate(value):
            yield from _length_changes(length, scale, (*path, place))
    elif isinstance(value, Length):
        yield Change(path, spelled(value), spelled(scaled(value, scale)))


def scaled(length: Length, scale: float) -> Length:
    """A length so many times as long, to a tenth of a millimetre and never none; ``%`` scales by itself."""
    if length.unit == "%":
        return length
    places = PLACES[length.unit]
    return Length(max(float(rounded(length.value * scale, places)), 10.0**-places), length.unit)


def spelled(length: Length) -> str:
    """A length as it is written in a pattern.

    >>> spelled(Length(12.0, "mm"))
    '12 mm'
    """
    unit = length.unit if length.unit == "%" else f" {length.unit}"
    return f"{length.value:g}{unit}"


def amended(pattern: Pattern, loom: LoomSpec, symbols: SymbolSet) -> Pattern:
    """The pattern with those changes, on the other loom; what was measured on this one is left behind."""
    fit = fitting(pattern, loom, symbols)
    rounds = tuple(_amended_round(entry, symbols.stitches[entry.stitch], fit) for entry in pattern.rounds)
    return pattern.model_copy(update={"loom": loom, "rounds": rounds, "measured": {}, "assembly": None, "sizes": ()})


def sized(pattern: Pattern, symbols: SymbolSet) -> Iterator[tuple[Size, Lace]]:
    """The pattern in each of its other sizes."""
    for size in pattern.sizes:
        measures = {name: getattr(size.loom, name) for name in Measures.model_fields}
        loom = other_loom(pattern.loom, size.loom.pins, measures)
        yield size, place(amended(pattern, loom, symbols), symbols)


def _amended_round(entry: Round, stitch: Stitch, fit: Fitting) -> Round:
    changes = {change.path: change.now for change in _round_changes(entry, stitch, fit)}
    update: dict[str, Any] = {}
    for key in ("at", "gap", "to"):
        update[key] = _rescaled(getattr(entry, key), fit.scale)
    if entry.part:
        part = {key: int(changes["part", key]) for key in ("from", "rays", "every")}
        update["part"] = Part.model_construct(start=part["from"], rays=part["rays"], every=part["every"])
    name = stitch.stitch.replace("-", "_")
    record = getattr(entry, name)
    update[name] = record.model_copy(update=dict(_amended_parameters(record, stitch.stitch, changes, fit)))
    return entry.model_copy(update=update)


def _amended_parameters(
    record: Any, stitch: str, changes: Mapping[Path, str], fit: Fitting
) -> Iterator[tuple[str, object]]:
    for name in type(record).model_fields:
        value = getattr(record, name)
        if isinstance(value, Length):
            yield name, scaled(value, fit.scale)
        elif isinstance(value, tuple) and name == "rays":  # lists of a stitch's own are no groups of rays
            yield name, tuple(_amended_item(item, (stitch, name, place), changes) for place, item in enumerate(value))
        elif (stitch, name) in changes:
            yield name, int(changes[stitch, name])


def _amended_item(item: object, path: Path, changes: Mapping[Path, str]) -> object:
    if isinstance(item, Passed):
        return Passed.model_construct(passed=int(changes[(*path, "pass")]))
    return int(changes[path])


def _rescaled(value: object, scale: float) -> object:
    if isinstance(value, tuple):
        return tuple(_rescaled(length, scale) for length in value)
    return scaled(value, scale) if isinstance(value, Length) else value
