"""Hints that solve the problem: concrete values that were tried on the whole pattern before they are offered.

For each finding about a round there is a list of things to try, nearest first; each is worked through by ``place``,
and is good if the finding is gone and no new error or warning has come.
"""

import itertools
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Final

from pipeline.craft.adapt import other_loom, spelled
from pipeline.craft.assembly import Lace, LaceRound, place
from pipeline.craft.effort import effort
from pipeline.pattern import MAT_PINS, most_joins, pins_step
from pipeline.pattern_model import Pattern
from pipeline.problems import RULES, Finding, Severity
from pipeline.records import FEWEST_PINS, MOST_PINS
from pipeline.symbols import SymbolSet
from pipeline.units import Length, rounded

MOST_TRIES: Final = 24
MOST_OFFERS: Final = 2
MOST_ADVISED: Final = 4
"""How many values are tried for a finding, how many are offered, and how many findings of a file are advised on."""
MOST_RECKONED: Final = 60_000
"""Rays of rounds that are reckoned for all values tried; large patterns get fewer hints, but get them soon."""


@dataclass(frozen=True, slots=True)
class _Try:
    """Something to try, in the words of the pattern file."""

    words: str
    pattern: Pattern


def advise(pattern: Pattern, lace: Lace, symbols: SymbolSet) -> tuple[Finding, ...]:
    """The lace's findings, those that can be helped with a proposal that was tried."""
    advised: list[Finding] = []
    left = MOST_ADVISED
    spare = iter(range(MOST_RECKONED // effort(pattern)))
    for finding in lace.findings:
        tries = _TRIES.get(finding.code) if left else None
        if tries is None or finding.path[:1] != ("rounds",):
            advised.append(finding)
            continue
        left -= 1
        index = int(finding.path[1])
        few = (tried for tried, _ in zip(tries(pattern, lace, index), spare, strict=False))
        good = _good(lace, symbols, finding, few)
        words = " or ".join(f"`{words}`" for words in itertools.islice(good, MOST_OFFERS))
        advised.append(replace(finding, proposal=words))
    return tuple(advised)


def _good(lace: Lace, symbols: SymbolSet, finding: Finding, tries: Iterator[_Try]) -> Iterator[str]:
    before = _weighty(lace)
    for tried in itertools.islice(tries, MOST_TRIES):
        after = _weighty(place(tried.pattern, symbols))
        if not after[_key(finding)] and not after - before:
            yield tried.words


def _weighty(lace: Lace) -> Counter[tuple[object, ...]]:
    """Errors and warnings by round: what they weigh. Rays that cannot reach are a worse case of rays that are short."""
    return Counter({
        _key(finding): 2 if finding.code == "thread-cannot-reach" else 1
        for finding in lace.findings
        if RULES[finding.code].severity is not Severity.NOTE
    })  # fmt: skip


def _key(finding: Finding) -> tuple[object, ...]:
    code = "thread-reach" if finding.code in {"thread-short", "thread-cannot-reach"} else finding.code
    return code, finding.path[:2]


def _changed(pattern: Pattern, index: int, words: str, **update: object) -> _Try:
    rounds = list(pattern.rounds)
    rounds[index] = rounds[index].model_copy(update=update)
    return _Try(words, pattern.model_copy(update={"rounds": tuple(rounds)}))


def _told(pattern: Pattern, index: int, name: str, value: object) -> _Try:
    """A round whose stitch was told something else."""
    entry = pattern.rounds[index]
    record = entry.stitch.replace("-", "_")
    told = getattr(entry, record).model_copy(update={name: value})
    return _changed(pattern, index, f"{name}: {value}", **{record: told})


def _other_sizes(pattern: Pattern, lace: Lace, index: int) -> Iterator[_Try]:
    """One size for all groups, or one for over and under, the nearest that divides first."""
    entry = pattern.rounds[index]
    rays = entry.part.rays if entry.part else lace.loom.rays
    told = entry.parameters
    key = "rays" if "rays" in told else "over"
    size = told.get(key)
    if not isinstance(size, int):
        return
    for near in _nearest([n for n in range(1, rays // 3 + 1) if rays % n == 0 and n != size], size):
        if key == "rays":
            yield _told(pattern, index, key, near)
        elif told["over"] == told["under"]:
            both = _told(pattern, index, "over", near).pattern
            yield _Try(f"over: {near}, under: {near}", _told(both, index, "under", near).pattern)


def _other_pins(pattern: Pattern, lace: Lace, _index: int) -> Iterator[_Try]:
    """The nearest that the sides of the loom and the wheels of a mat can share."""
    present, step, mat = lace.loom.pins, pins_step(pattern), pattern.assembly
    pins = [
        number
        for number in range(step, min(MOST_PINS, 2 * present) + 1, step)
        if number >= FEWEST_PINS
        and number != present
        and (not mat or mat.joins <= most_joins(number // MAT_PINS[mat.layout]))
    ]
    for number in _nearest(pins, present)[:8]:
        loom = other_loom(pattern.loom, number, {})
        yield _Try(f"pins: {number}", pattern.model_copy(update={"loom": loom}))


def _other_shifts(pattern: Pattern, _lace: Lace, index: int) -> Iterator[_Try]:
    told = pattern.rounds[index].parameters
    size, shift = told.get("rays"), told.get("shift")
    if isinstance(size, int) and isinstance(shift, int):
        for near in _nearest([n for n in range(size) if n != shift], shift)[:4]:
            yield _told(pattern, index, "shift", near)


def _other_distances(pattern: Pattern, lace: Lace, index: int) -> Iterator[_Try]:
    """Further out and further in, by half a millimetre and more."""
    entry = pattern.rounds[index]
    done = _round(lace, index)
    if done and done.stitch.edge:
        return
    key, written = ("at", entry.at) if entry.gap is None else ("gap", entry.gap)
    if isinstance(written, tuple):
        return  # groups take distances in turn: none of them is moved alone
    if isinstance(written, Length):
        current = written.mm(lace.loom.radius)
    elif done:
        current = done.radius
    else:
        return
    for step in (0.5, 1, 1.5, 2, 3, 4, 6, 8):
        for mm in (current + step, current - step):
            length = Length(float(rounded(mm, 1)), "mm")
            if length.value > 0:
                yield _changed(pattern, index, f"{key}: {spelled(length)}", **{key: length})


def _outside_jam(pattern: Pattern, lace: Lace, index: int) -> Iterator[_Try]:
    """Where the bundles have room for round threads."""
    done = _round(lace, index)
    if done is not None:
        length = Length(float(rounded(done.worked.jam_radius + 0.05, 1)), "mm")
        yield _changed(pattern, index, f"at: {spelled(length)}", at=length, gap=None)
        yield _changed(pattern, index, "at: tight", at="tight", gap=None)


def _round(lace: Lace, index: int) -> LaceRound | None:
    return next((done for done in lace.rounds if done.number == index + 1), None)


def _nearest(numbers: list[int], wanted: int) -> list[int]:
    return sorted(numbers, key=lambda number: (abs(number - wanted), number))


_Tries = Callable[[Pattern, Lace, int], Iterator[_Try]]


def _first_of(*kinds: _Tries) -> _Tries:
    """Things to try of several kinds, one of each in turn."""

    def tries(pattern: Pattern, lace: Lace, index: int) -> Iterator[_Try]:
        rows = itertools.zip_longest(*(kind(pattern, lace, index) for kind in kinds))
        return (tried for row in rows for tried in row if tried is not None)

    return tries


_REACH: Final = _first_of(_other_distances, _other_shifts, _other_sizes)
_ROOM: Final = _first_of(_other_distances, _other_sizes)
_TRIES: Final[Mapping[str, _Tries]] = {
    "rays-do-not-divide": _first_of(_other_sizes, _other_pins),
    "thread-short": _REACH,
    "thread-cannot-reach": _REACH,
    "knots-close": _ROOM,
    "knots-crowded": _ROOM,
    "rounds-crowded": _other_distances,
    "ribs-crowded": _other_distances,
    "inside-jam-limit": _outside_jam,
    "round-not-outward": _other_distances,
    "round-outside-loom": _other_distances,
}
