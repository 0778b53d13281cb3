"""Whether glyphs can be told from one another on a poor photocopy, and a specimen of them all.

A glyph is drawn at 5 mm and 150 dpi, blurred, and everything from 0.42 of full ink on is black. Two copies are alike
where their ink overlaps too much: intersection over union, the best over shifts of two pixels. A mirrored knot
reaches 0.71, a glyph that lacks one short stroke 0.83 and more; the limit lies below both.
"""

import io
import itertools
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Final

import numpy as np
from matplotlib.path import Path
from numpy.typing import NDArray
from PIL import Image, ImageFilter

from pipeline.drawing.export import export
from pipeline.drawing.glyphs import glyph_items
from pipeline.drawing.lettering import at, written
from pipeline.drawing.outline import joined, rectangle
from pipeline.drawing.picture import INK, PAPER, SECONDARY, Area, Figures, Item, Line, Picture
from pipeline.problems import Finding
from pipeline.symbol_model import BOX, Symbol

COPY_MM, COPY_DPI = 5.0, 150
BLUR_PX, INK_SHARE, SHIFT_PX = 0.7, 0.42, 2
ALIKE: Final = 0.55
THINNEST_MM: Final = 0.25
SIZES_MM: Final = (4.0, 5.0, 6.4, 8.0, 10.0, 14.0, 20.0)
ROW_MM, PER_SHEET = 23.0, 11

Copy = NDArray[np.bool_]
"""Black pixels of a copied glyph."""


def photocopy(items: Sequence[Item]) -> Copy:
    """Items of a glyph 5 mm wide, as a poor copy shows them; with a margin to shift them in."""
    picture = Picture("copy", COPY_MM, COPY_MM, tuple(items))
    image = Image.open(io.BytesIO(export(picture, "png", dpi=COPY_DPI, ground="#ffffff"))).convert("L")
    blurred = image.filter(ImageFilter.GaussianBlur(BLUR_PX))
    return np.pad(1 - np.asarray(blurred, dtype=float) / 255 > INK_SHARE, SHIFT_PX)


def copied(symbol: Symbol) -> Copy:
    """A symbol's glyph as a poor copy."""
    return photocopy(tuple(glyph_items(symbol, size=COPY_MM)))


def overlap(a: Copy, b: Copy) -> float:
    """Intersection over union of the ink, the best over all shifts."""
    steps = range(-SHIFT_PX, SHIFT_PX + 1)
    shifted = (np.roll(b, shift, axis=(0, 1)) for shift in itertools.product(steps, steps))
    return max(float((a & other).sum() / (a | other).sum()) for other in shifted)


def legibility_findings(
    symbols: Mapping[str, Symbol], move_on: Callable[[], None] = lambda: None
) -> Iterator[tuple[str, Finding]]:
    """What is wrong with glyphs, each with the id of the symbol it is about; ``move_on`` is called at every copy."""
    copies: dict[str, Copy] = {}
    for symbol_id, symbol in sorted(symbols.items()):
        copies[symbol_id] = copied(symbol)
        move_on()
    for a, b in itertools.combinations(copies, 2):
        found = overlap(copies[a], copies[b])
        if found > ALIKE:
            yield b, Finding("glyphs-alike", ("glyph",), {"one": a, "other": b, "overlap": f"{found:.2f}"}, on_key=True)
    for symbol_id, symbol in sorted(symbols.items()):
        for place, stroke in enumerate(symbol.glyph):
            wide = stroke.stroke * COPY_MM / BOX
            if stroke.role != "solid" and wide < THINNEST_MM - 1e-9:
                facts = {"width": f"{wide:.2f}", "least": f"{THINNEST_MM:g}"}
                yield symbol_id, Finding("stroke-thin", ("glyph", place), facts)


def specimen(symbols: Mapping[str, Symbol], figures: Figures) -> tuple[Picture, ...]:
    """Sheets with every glyph in all sizes, white on black, and as a poor copy enlarged."""
    rows = [symbols[symbol_id] for symbol_id in sorted(symbols)]
    sheets = [rows[first : first + PER_SHEET] for first in range(0, len(rows), PER_SHEET)]
    return tuple(
        Picture(f"specimen-{number}", 190.0, PER_SHEET * ROW_MM + 6.0, tuple(_sheet(sheet, figures)))
        for number, sheet in enumerate(sheets, 1)
    )


def _sheet(symbols: Sequence[Symbol], figures: Figures) -> Iterator[Item]:
    top = PER_SHEET * ROW_MM
    for place, size in enumerate(SIZES_MM):
        words = written(f"{size:g}", size_pt=7, font=figures.regular, colour=SECONDARY)
        yield at(words, _across(place), top + 2.0)
    for row, symbol in enumerate(symbols):
        yield from _row(symbol, top - (row + 1) * ROW_MM + 1.5)


def _across(place: int) -> float:
    """Where a size begins on its row."""
    return 4.0 + sum(SIZES_MM[:place]) + 5.0 * place


def _row(symbol: Symbol, y: float) -> Iterator[Item]:
    for place, size in enumerate(SIZES_MM):
        yield from glyph_items(symbol, size=size, x=_across(place), y=y)
    yield Area(rectangle(112.0, y, 20.0, 20.0), INK)
    yield from glyph_items(symbol, size=18.0, x=113.0, y=y + 1.0, colour=PAPER)
    yield Area(_enlarged(copied(symbol), 20.0, 140.0, y))
    yield Line(rectangle(140.0, y, 20.0, 20.0), 0.1, SECONDARY)


def _enlarged(copy: Copy, size: float, x: float, y: float) -> Path:
    """A copy's black pixels as squares."""
    pixel = size / len(copy)
    rows, columns = np.nonzero(copy)
    squares = (
        rectangle(x + float(column) * pixel, y + size - float(row + 1) * pixel, pixel, pixel)
        for row, column in zip(rows, columns, strict=True)
    )
    return joined(squares)
