"""Fit a starting point to another loom and another thread: the first of many tries that is without any finding.

What is tried: all groups larger or smaller together, so that they divide the rays; rounds nearer to the centre or to
the rim; fewer darned rows. Between the darned centre and the edge, which go where thread and pins let them, every round
keeps its share of the way. Each try is worked through by ``place``; nothing is taken on trust.
"""

import itertools
import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Final

import yaml

from pipeline.craft.adapt import spelled
from pipeline.craft.assembly import place
from pipeline.pattern import parse
from pipeline.pattern_model import Pattern
from pipeline.problems import Path
from pipeline.records import Passed, Round
from pipeline.rewrite import rewrite
from pipeline.source import Source, read
from pipeline.starting.points import Start
from pipeline.starting.wish import FEWEST, LARGEST_MM, MOST, SMALLEST_MM, Wish
from pipeline.symbols import SymbolSet
from pipeline.units import Length, rounded

BENDS: Final = (1.0, 0.8, 1.25, 0.65, 1.5, 0.5)
"""Powers of every round's share of the way: below 1 rounds lie further out, above 1 further in."""
MOST_TRIES: Final = 72
COMMENTS_AT: Final = 30
"""Where comments beside short values stand."""

Values = Mapping[Path, str]


def fit(start: Start, wish: Wish, symbols: SymbolSet) -> str | None:
    """The text of a pattern file without a problem, or None where no try is."""
    source = read(f"{wish.id}.yaml", _asked(start, wish).encode())
    for values in itertools.islice(_tries(start, source, symbols), MOST_TRIES):
        text = rewrite(source, values)
        if _sound(read(source.file, text.encode()), symbols):
            return text
    return None


def helps(start: Start, wish: Wish, symbols: SymbolSet) -> tuple[str, ...]:
    """What else could be asked for where nothing fits, tried and good: one answer changed, or else the start's own."""
    offers = (_other_pins(start, wish), _other_sizes(wish), _other_threads(wish))
    found = ((words for words, other in offer if fit(start, other, symbols) is not None) for offer in offers)
    return tuple(words for words in (next(offer, None) for offer in found) if words) or (_its_own(start),)


def scalar(text: str) -> str:
    """A text as it stands in a file, quoted where it must be.

    >>> scalar("Sea Foam"), scalar("1904"), scalar("Sea: Foam")
    ('Sea Foam', "'1904'", "'Sea: Foam'")
    """
    written = yaml.safe_dump([text], default_flow_style=True, allow_unicode=True, width=10**6)
    return str(written).strip()[1:-1]


def _asked(start: Start, wish: Wish) -> str:
    """The starting point with what is asked for, its rounds as they were."""
    values: dict[Path, str] = {
        ("id",): wish.id, ("title",): scalar(wish.title), ("language",): wish.language,
        ("edition", "date"): wish.day.isoformat(), ("loom", "pins"): str(wish.pins),
    }  # fmt: skip
    values |= {("loom", name): spelled(length) for name, length in wish.measures.items()}
    weight = ", ".join(f"{key}: {number}" for key, number in wish.weight.items())
    colour = f'colour: "{wish.colour}", colour_name: {scalar(wish.colour_name)}'
    row = start.source.keys["threads", "A"].line - 1
    lines = rewrite(start.source, values).split("\n")
    lines[row] = f"  A: {{fibre: {wish.fibre}, {weight}, {colour}}}"
    return "\n".join(re.sub(r"^((?:id|language): \S+) +# ", _in_column, line) for line in lines)


def _in_column(found: re.Match[str]) -> str:
    return found[1].ljust(COMMENTS_AT - 1) + " # "


def _sound(source: Source, symbols: SymbolSet) -> bool:
    """Whether nothing is found in a source."""
    parsed = parse(source, symbols.forms, {})
    if source.problems or parsed.findings or parsed.pattern is None:
        return False
    return not place(parsed.pattern, symbols).findings


@dataclass(frozen=True, slots=True)
class _Way:
    """From the last darned row to the edge: levels in mm."""

    centre: float
    edge: float


def _tries(start: Start, source: Source, symbols: SymbolSet) -> Iterator[Values]:
    """Other values for the rounds, those that change least first."""
    pattern = parse(source, symbols.forms, {}).pattern
    if pattern is None:
        return
    base, rows = _base(start.pattern), start.pattern.rounds[0].rows or 1
    ways = {fewer: _way(pattern, rows - fewer, symbols) for fewer in range(rows)}
    sizes = [size for size in range(2, pattern.loom.pins) if 2 * pattern.loom.pins % size == 0]
    plans = sorted(
        itertools.product(sizes, range(len(BENDS)), (fewer for fewer, way in ways.items() if way)),
        key=lambda plan: (abs(math.log2(plan[0] / base)) * 2 + plan[1] * 0.5 + plan[2] * 0.7, plan),
    )
    old = _Way(start.lace.rounds[0].outer, start.lace.rounds[-1].radius)
    for size, bend, fewer in plans:
        way = ways[fewer]
        if way:
            values: dict[Path, str] = {("rounds", 0, "rows"): str(rows - fewer)}
            yield values | dict(_changed(start, size / base, _Map(old, way, BENDS[bend])))


def _base(pattern: Pattern) -> int:
    """The size of its first groups, of which all counts are multiples."""
    return next(size for entry in pattern.rounds if isinstance(size := entry.parameters.get("rays"), int))


def _way(pattern: Pattern, rows: int, symbols: SymbolSet) -> _Way | None:
    """Where centre and edge lie with so many darned rows; None where they leave no room or have faults of their own."""
    first, last = pattern.rounds[0].model_copy(update={"rows": rows}), pattern.rounds[-1]
    lace = place(pattern.model_copy(update={"rounds": (first, last)}), symbols)
    if lace.findings or len(lace.rounds) < 2:
        return None
    return _Way(lace.rounds[0].outer, lace.rounds[1].radius)


@dataclass(frozen=True, slots=True)
class _Map:
    """From levels between one centre and edge to those between another."""

    old: _Way
    new: _Way
    bend: float

    def __call__(self, level: float) -> float:
        share = (level - self.old.centre) / (self.old.edge - self.old.centre)
        return self.new.centre + math.copysign(abs(share) ** self.bend, share) * (self.new.edge - self.new.centre)


def _changed(start: Start, times: float, mapped: _Map) -> Iterator[tuple[Path, str]]:
    """The counts and distances of all rounds but the darned centre."""
    for index, entry in enumerate(start.pattern.rounds):
        path: Path = ("rounds", index)
        if index:
            yield from _counts(entry, (*path, entry.stitch), times)
            yield from _distances(entry, path, start.lace.rounds[index - 1].outer, mapped)


def _counts(entry: Round, path: Path, times: float) -> Iterator[tuple[Path, str]]:
    rays, shift = entry.parameters.get("rays"), entry.parameters.get("shift")
    if isinstance(rays, tuple):
        for place_, item in enumerate(rays):
            passed = isinstance(item, Passed)
            inner = (*path, "rays", place_, "pass") if passed else (*path, "rays", place_)
            yield inner, str(round((item.passed if passed else item) * times))
    elif rays is not None:
        yield (*path, "rays"), str(round(rays * times))
    if shift:
        yield (*path, "shift"), str(math.floor(shift * times))


def _distances(entry: Round, path: Path, before: float, mapped: _Map) -> Iterator[tuple[Path, str]]:
    """Every distance it says, from the centre or from the round before it."""
    for key, begin in (("at", 0.0), ("gap", before), ("to", 0.0)):
        written = getattr(entry, key)
        for place_, length in enumerate(written if isinstance(written, tuple) else (written,)):
            if isinstance(length, Length):
                level = mapped(begin + length.mm(0)) - (mapped(before) if key == "gap" else 0.0)
                inner = (*path, key, place_) if isinstance(written, tuple) else (*path, key)
                yield inner, _spelled(level)
    height = entry.parameters.get("height")
    if isinstance(height, Length):
        share = (mapped.new.edge - mapped.new.centre) / (mapped.old.edge - mapped.old.centre)
        yield (*path, entry.stitch, "height"), _spelled(height.mm(0) * share)


def _spelled(mm: float) -> str:
    """A distance in halves of a millimetre, a short one in tenths."""
    value = rounded(mm * 2, 0) / 2 if mm >= 4 else max(rounded(mm, 1), rounded(0.1, 1))
    return f"{float(value):g} mm"


def _its_own(start: Start) -> str:
    """What a starting point is sound with as it stands."""
    loom, tex = start.pattern.loom, start.pattern.threads["A"].linear_density_tex
    size = " by ".join(f"{length:g} mm" for length in loom.size)
    return f"{size} with {loom.pins} pins in a thread of {tex:g} tex"


_Offers = Iterator[tuple[str, Wish]]


def _other_pins(start: Start, wish: Wish) -> _Offers:
    for times in (0.75, 1.35, 0.5, 2.0, 0.3):
        pins = round(wish.pins * times / start.pins_divide_by) * start.pins_divide_by
        if FEWEST <= pins <= MOST:
            yield f"{pins} pins", replace(wish, pins=pins)


def _other_sizes(wish: Wish) -> _Offers:
    for times in (1.25, 0.75, 1.6, 0.5, 2.5):
        sizes = {name: Length(float(rounded(length.mm(0) * times, 0)), "mm") for name, length in wish.measures.items()}
        if all(SMALLEST_MM <= length.value <= LARGEST_MM for length in sizes.values()):
            yield " by ".join(map(spelled, sizes.values())), replace(wish, measures=sizes)


def _other_threads(wish: Wish) -> _Offers:
    for tex in (83.3, 50, 30, 20, 10):
        yield f"a thread of {tex:g} tex", replace(wish, weight={"tex": f"{tex:g}"})
