"""Glyphs: a symbol's paths, from its box of 24 units into a picture."""

from collections.abc import Iterator

from matplotlib.path import Path
from matplotlib.transforms import Affine2D

from pipeline.drawing.outline import svg
from pipeline.drawing.picture import INK, Area, Item, Line, Picture
from pipeline.symbols import BOX, Symbol


def glyph_items(symbol: Symbol, *, size: float, x: float = 0.0, y: float = 0.0, colour: str = INK) -> Iterator[Item]:
    """A symbol's glyph ``size`` mm wide with its lower left at ``x``, ``y``."""
    unit = size / BOX
    upright = Affine2D().scale(unit, -unit).translate(x, y + size)
    for stroke in symbol.glyph:
        path: Path = upright.transform_path(svg(stroke.d))
        if stroke.role == "solid":
            yield Area(path, colour)
        else:
            yield Line(path, stroke.stroke * unit, colour, stroke.cap)


def glyph(symbol_id: str, symbol: Symbol, *, colour: str = INK, suffix: str = "") -> Picture:
    """A symbol's glyph as a picture of its own, 10 mm square."""
    return Picture(f"glyph-{symbol_id}{suffix}", 10.0, 10.0, tuple(glyph_items(symbol, size=10.0, colour=colour)))
