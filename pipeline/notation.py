"""The notation line: everything a round says, in glyphs and Western digits, the same in every locale.

``number glyph group × times [rows n] [shift n] distance [close] [thread]``, in this order; what does not apply is
left out. ``write`` makes the tokens of all rounds of a lace, ``read`` makes rounds of tokens again: the distance is
always from the round before, in tenths of a millimetre that add up, so nothing is lost but what a tenth hides.
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from pipeline.craft.assembly import Lace, LaceRound
from pipeline.craft.stitches import Counts, Item
from pipeline.symbols import SymbolSet
from pipeline.units import rounded, tenths

ROWS, SHIFT, GAP, CLOSE = "rows", "shift", "gap", "close"
"""Ids of the signs that stand in a line."""

TIMES: Final = "×"


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
    """The notation of one round."""

    number: int
    tokens: tuple[Token, ...]
    distance: int
    """From the round before (from the centre for the first), in tenths of a millimetre."""
    radius: int
    """Of the first row, in tenths of a millimetre."""

    @property
    def spelled(self) -> str:
        """The line as plain text, ids for glyphs: for alt texts and tests."""
        return " ".join(f"[{token.id}]" if isinstance(token, Sign) else token.text for token in self.tokens)


@dataclass(frozen=True, slots=True)
class ReadRound:
    """A round as a reader makes it out; ``radius`` in tenths of a millimetre, of its first row."""

    number: int
    stitch: str
    items: tuple[Item, ...]
    over: int
    under: int
    times: int
    rows: int
    shift: int
    radius: int
    closed: bool
    thread: str | None


def write(lace: Lace) -> tuple[Line, ...]:
    """The lines of all rounds."""
    lines: list[Line] = []
    reached = 0
    for done in lace.rounds:
        radius = tenths(done.radius)
        distance = radius - reached
        tokens = tuple(_tokens(done, lace, distance))
        lines.append(Line(done.number, tokens, distance, radius))
        reached = outermost(radius, len(done.worked.row_radii), lace.threads[done.thread].thickness)
    return tuple(lines)


def outermost(radius: int, rows: int, thread_mm: float) -> int:
    """Where the last row lies, in tenths, from the printed first radius and thickness (to 0.01 mm).

    >>> outermost(86, 3, 0.3416)
    93
    """
    return tenths(radius / 10 + (rows - 1) * float(rounded(thread_mm, 2)))


def distance_text(distance: int) -> str:
    """A distance as printed in a line: whole millimetres without a point.

    >>> distance_text(57), distance_text(90)
    ('5.7 mm', '9 mm')
    """
    return f"{distance / 10:.1f}".removesuffix(".0") + " mm"


def count_text(counts: Counts, rays: int) -> tuple[str, int]:
    """Group and times: together they are all rays of the loom.

    >>> count_text(Counts((Item(4), Item(2, tied=False))), 96)
    ('4 (2)', 16)
    >>> count_text(Counts(over=2, under=2), 30)
    ('2', 15)
    """
    if counts.items:
        items = " ".join(str(item.size) if item.tied else f"({item.size})" for item in counts.items)
        return items, rays // counts.period
    if counts.over == counts.under and rays % (2 * counts.over):
        return str(counts.over), rays // counts.over
    return f"{counts.over}+{counts.under}", rays // (counts.over + counts.under)


def _tokens(done: LaceRound, lace: Lace, distance: int) -> Iterator[Token]:
    group, times = count_text(done.counts, lace.loom.rays)
    yield Figure(str(done.number), "number")
    yield Sign(done.stitch.stitch)
    yield Figure(group, "group")
    yield Figure(f"{TIMES} {times}", "times")
    if done.stitch.rows:
        yield from (Sign(ROWS), Figure(str(len(done.worked.row_radii))))
    if done.counts.shift and not done.stitch.edge:
        yield from (Sign(SHIFT), Figure(str(done.counts.shift)))
    yield from (Sign(GAP), Figure(distance_text(distance)))
    if done.worked.nodes:
        yield Sign(CLOSE)
    if len(lace.threads) > 1:
        yield Figure(done.thread, "thread")


def read(
    lines: Sequence[Sequence[Token]], symbols: SymbolSet, thicknesses: Mapping[str, float]
) -> tuple[ReadRound, ...]:
    """Read lines back, from glyph ids and figures alone; ``thicknesses`` in mm, as the facts print them."""
    rounds: list[ReadRound] = []
    reached = 0
    for tokens in lines:
        found = _read_line(tokens, symbols, reached)
        rounds.append(found)
        thread_mm = thicknesses[found.thread or next(iter(thicknesses))]
        reached = outermost(found.radius, found.rows, thread_mm)
    return tuple(rounds)


def _read_line(tokens: Sequence[Token], symbols: SymbolSet, reached: int) -> ReadRound:
    figures = [token.text for token in tokens if isinstance(token, Figure)]
    signed = {
        token.id: after.text
        for token, after in zip(tokens, (*tokens[1:], Figure("")), strict=True)
        if isinstance(token, Sign) and isinstance(after, Figure)
    }
    signs = [token.id for token in tokens if isinstance(token, Sign)]
    stitch = symbols.stitches[signs[0]]
    group, times = figures[1], int(figures[2].removeprefix(TIMES))
    darned = stitch.behaviour == "weave"
    over, _, under = group.partition("+")
    items = tuple(Item(int(word.strip("()")), not word.startswith("(")) for word in group.split()) if not darned else ()
    distance = int(rounded(float(re.sub(r" mm$", "", signed[GAP])) * 10, 0))
    return ReadRound(
        number=int(figures[0]),
        stitch=signs[0],
        items=items,
        over=int(over) if darned else 0,
        under=int(under or over) if darned else 0,
        times=times,
        rows=int(signed.get(ROWS, "1")),
        shift=stitch.edge.shift if stitch.edge else int(signed.get(SHIFT, "0")),
        radius=reached + distance,
        closed=CLOSE in signs,
        thread=next((token.text for token in tokens if isinstance(token, Figure) and token.role == "thread"), None),
    )
