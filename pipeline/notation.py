"""The notation line: everything a round says, in glyphs and Western digits, the same in every locale.

``number glyph group × times [parity] [part] [rows n] [shift n] distance [to] [close] [threads]``, in this order; what
does not apply is left out. ``write`` makes the tokens of all rounds of a lace, ``read`` makes rounds of tokens again:
distances are always from the round before, in tenths of a millimetre that add up, so nothing is lost but what a tenth
hides. A part is ``(from) rays (rest) × times``: rays in brackets are passed over, as in lists of group sizes. What
follows ``to`` is how far a filling reaches from where it begins, or how far loops of thread stand out.
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from pipeline.craft.assembly import Lace, LaceRound
from pipeline.craft.counts import Counts, Item
from pipeline.pattern_model import MOST_ROWS
from pipeline.records import Part
from pipeline.symbols import SymbolSet
from pipeline.units import rounded, tenths

ROWS, SHIFT, GAP, TO, CLOSE, SPIRAL, TURN, PART = "rows", "shift", "gap", "to", "close", "spiral", "turn-back", "part"
"""Ids of the signs that stand in a line."""

PARITY_SIGNS: Final = frozenset({"half-ray", "pair-once"})
"""Ways out of an even count that have a sign of their own in the line."""

TIMES, MINUS = "×", "\u2013"
"""The faces of figures have no minus sign; the dash of a number's width stands for it."""


@dataclass(frozen=True, slots=True)
class Sign:
    """A glyph in a line, by the id of its symbol."""

    id: str


@dataclass(frozen=True, slots=True)
class Figure:
    """Figures in a line; ``role``: number, group (bold), times, value, or thread (a letter in a ring)."""

    text: str
    role: str = "value"


Token = Sign | Figure


@dataclass(frozen=True, slots=True)
class Line:
    """The notation of one round; distances and radii in tenths of a millimetre."""

    number: int
    tokens: tuple[Token, ...]
    distances: tuple[int, ...]
    """From the round before (from the centre for the first), for its groups in turn."""
    radii: tuple[int, ...]
    """The same from the centre; of the first row."""
    reach: int
    """How far out it ends."""

    @property
    def distance(self) -> int:
        """The first of its distances."""
        return self.distances[0]

    @property
    def radius(self) -> int:
        """The first of its radii."""
        return self.radii[0]

    @property
    def spelled(self) -> str:
        """The line as plain text, ids for glyphs: for alt texts and tests."""
        return " ".join(f"[{token.id}]" if isinstance(token, Sign) else token.text for token in self.tokens)


@dataclass(frozen=True, slots=True)
class ReadRound:
    """A round as a reader makes it out; ``radii`` in tenths of a millimetre, of its first row."""

    number: int
    stitch: str
    outline: str
    items: tuple[Item, ...]
    over: int
    under: int
    parity: str
    part: Part | None
    times: int
    rows: int
    shift: int
    radii: tuple[int, ...]
    reach: int
    """How far out it ends, tenths of a millimetre."""
    loop: int
    """How far loops of thread stand out, tenths of a millimetre."""
    closed: bool
    threads: tuple[str, ...]


def write(lace: Lace) -> tuple[Line, ...]:
    """The lines of all rounds."""
    lines: list[Line] = []
    reached = 0
    for done in lace.rounds:
        radii = tuple(tenths(level) for level in (done.worked.row_radii[:1] if done.in_rows else done.worked.row_radii))
        reach = max(radii)
        if done.in_rows:
            reach = outermost(radii[0], [lace.threads[letter].thickness for letter in done.threads])
        elif not done.tied:
            reach = tenths(done.outer)
        distances = tuple(radius - reached for radius in radii)
        tokens = tuple(_tokens(done, lace, distances, reach - radii[0]))
        lines.append(Line(done.number, tokens, distances, radii, reach))
        reached = reach
    return tuple(lines)


def outermost(radius: int, rows_mm: Sequence[float]) -> int:
    """Where the last row lies, in tenths, from the printed first radius and the rows' thicknesses (to 0.01 mm).

    >>> outermost(86, [0.3416] * 3)
    93
    """
    return tenths(radius / 10 + sum(float(rounded(thread_mm, 2)) for thread_mm in rows_mm[1:]))


def distance_text(*distances: int) -> str:
    """Distances as printed in a line: whole millimetres without a point, the unit once.

    >>> distance_text(57), distance_text(90), distance_text(-90), distance_text(57, 90)
    ('5.7 mm', '9 mm', '–9 mm', '5.7 9 mm')
    """
    words = (f"{distance / 10:.1f}".removesuffix(".0").replace("-", MINUS) for distance in distances)
    return " ".join(words) + " mm"


def count_text(counts: Counts, rays: int) -> tuple[str, int]:
    """Group and times: together they are all rays of the loom, or of a part; a rib apart.

    >>> count_text(Counts((Item(4), Item(2, tied=False))), 96)
    ('4 (2)', 16)
    >>> count_text(Counts(over=2, under=2), 30)
    ('2', 15)
    """
    worked = counts.part.rays if counts.part else rays
    if counts.turned and not counts.part:
        worked = counts.stretches(rays)[0][1]
    if counts.items:
        items = " ".join(str(item.size) if item.tied else f"({item.size})" for item in counts.items)
        return items, worked // counts.period
    if counts.back:
        return f"{counts.over}+{counts.under}", worked // counts.period
    if counts.over == counts.under and worked % (2 * counts.over):
        return str(counts.over), worked // counts.over
    return f"{counts.over}+{counts.under}", worked // (counts.over + counts.under)


def part_text(part: Part, rays: int) -> str:
    """A part: rays passed over at first, worked, passed over before the next; and how many there are.

    >>> part_text(Part.model_construct(start=2, rays=12, every=20), 80)
    '(2) 12 (8) × 4'
    """
    return f"({part.start}) {part.rays} ({part.every - part.rays}) {TIMES} {rays // part.every}"


def _tokens(done: LaceRound, lace: Lace, distances: tuple[int, ...], reach: int) -> Iterator[Token]:
    counts, rays = done.counts, lace.loom.rays
    group, times = count_text(counts, rays)
    yield Figure(str(done.number), "number")
    yield Sign(done.symbol)
    yield Figure(group, "group")
    yield Figure(f"{TIMES} {times}", "times")
    if counts.parity in PARITY_SIGNS:
        yield Sign(counts.parity)
    if counts.part:
        yield from (Sign(PART), Figure(part_text(counts.part, rays)))
    if done.stitch.rows:
        yield from (Sign(ROWS), Figure(str(done.rows)))
    if counts.shift and not done.stitch.edge:
        yield from (Sign(SHIFT), Figure(str(counts.shift)))
    yield from (Sign(GAP), Figure(distance_text(*distances)))
    if done.worked.loop_mm:
        yield from (Sign(TO), Figure(distance_text(tenths(done.worked.loop_mm))))
    elif not done.in_rows and not done.tied:
        yield from (Sign(TO), Figure(distance_text(reach)))
    yield from _ending(done)
    if len(lace.threads) > 1:
        yield from (Figure(letter, "thread") for letter in turn_of(done.threads))


def _ending(done: LaceRound) -> Iterator[Sign]:
    if done.counts.turned and not done.counts.part and (done.tied or done.rows > 1):
        yield Sign(TURN)
    elif done.worked.closed:
        yield Sign(CLOSE)
    elif done.tied and not done.counts.there_and_back:
        yield Sign(SPIRAL)


def turn_of(letters: Sequence[str]) -> tuple[str, ...]:
    """The shortest run of letters that repeats to give them all.

    >>> turn_of("ABABA")
    ('A', 'B')
    """
    sizes = range(1, len(letters) + 1)
    size = next(n for n in sizes if all(letter == letters[place % n] for place, letter in enumerate(letters)))
    return tuple(letters[:size])


def read(
    lines: Sequence[Sequence[Token]], symbols: SymbolSet, thicknesses: Mapping[str, float]
) -> tuple[ReadRound, ...]:
    """Read lines back, from glyph ids and figures alone; ``thicknesses`` in mm, as the facts print them.

    Raises ``ValueError`` for a line that no round has.
    """
    rounds: list[ReadRound] = []
    reached = 0
    for number, tokens in enumerate(lines, 1):
        try:
            found = _read_line(tokens, symbols, thicknesses, reached)
        except (ArithmeticError, LookupError, ValueError) as error:
            raise ValueError(f"line {number} is that of no round") from error
        rounds.append(found)
        reached = found.reach
    return tuple(rounds)


def _read_line(
    tokens: Sequence[Token], symbols: SymbolSet, thicknesses: Mapping[str, float], reached: int
) -> ReadRound:
    figures = [token.text for token in tokens if isinstance(token, Figure)]
    signs = [token.id for token in tokens if isinstance(token, Sign)]
    signed = _signed(tokens)
    stitch, choice = symbols.meant(signs[0])
    group = figures[1]
    weave = stitch.behaviour == "weave"
    over, _, under = group.partition("+")
    radii = tuple(reached + distance for distance in _distances(signed[GAP]))
    beyond = _distances(signed[TO])[0] if TO in signed else 0
    rows = _read_rows(signed.get(ROWS, "1"))
    threads = tuple(token.text for token in tokens if isinstance(token, Figure) and token.role == "thread")
    reach = _woven_reach(radii[0], rows, threads, thicknesses) if weave else max(radii) + (0 if stitch.edge else beyond)
    return ReadRound(
        int(figures[0]), stitch.stitch,
        outline=choice.get("as", "bar" if stitch.behaviour == "block" else ""),
        items=() if weave else _items(group),
        over=int(over) if weave else 0, under=int(under or over) if weave else 0,
        parity=next((sign for sign in signs if sign in PARITY_SIGNS), "skip"),
        part=_read_part(signed[PART]) if PART in signed else None,
        times=int(figures[2].removeprefix(TIMES)), rows=rows,
        shift=stitch.edge.shift if stitch.edge else int(signed.get(SHIFT, "0")),
        radii=radii, reach=reach, loop=beyond if stitch.edge else 0,
        closed=CLOSE in signs, threads=threads,
    )  # fmt: skip


def _signed(tokens: Sequence[Token]) -> Mapping[str, str]:
    """The figures that follow each sign; none follow the last."""
    pairs = zip(tokens, (*tokens[1:], Figure("")), strict=True)
    return {sign.id: after.text for sign, after in pairs if isinstance(sign, Sign) and isinstance(after, Figure)}


def _woven_reach(first: int, rows: int, threads: tuple[str, ...], thicknesses: Mapping[str, float]) -> int:
    letters = threads or (next(iter(thicknesses)),)
    return outermost(first, [thicknesses[letters[row % len(letters)]] for row in range(rows)])


def _read_rows(text: str) -> int:
    if not 1 <= int(text) <= MOST_ROWS:
        raise ValueError(f"{text} rows")
    return int(text)


def _items(text: str) -> tuple[Item, ...]:
    return tuple(Item(int(word.strip("()")), not word.startswith("(")) for word in text.split())


def _distances(text: str) -> tuple[int, ...]:
    words = re.sub(r" mm$", "", text).replace(MINUS, "-").split()
    return tuple(int(rounded(float(word) * 10, 0)) for word in words)


def _read_part(text: str) -> Part:
    start, rays, rest, _, _ = text.split()
    count = int(rays)
    return Part.model_construct(start=int(start.strip("()")), rays=count, every=count + int(rest.strip("()")))
