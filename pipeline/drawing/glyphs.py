"""Glyphs and panels: a symbol's paths, from its box of 24 units into a picture."""

import math
from collections.abc import Iterator

from matplotlib.path import Path
from matplotlib.transforms import Affine2D

from pipeline.drawing.outline import moved, polyline, svg, vertices_of
from pipeline.drawing.picture import ACCENT, INK, SECONDARY, Area, Item, Line, Picture
from pipeline.symbol_model import BOX, PANEL_WIDTH, Panel, Symbol

PANEL_MM = 5.0
"""Height of a panel in its picture; it is enlarged on the page, and its grid with it."""
GLYPH_MM = 5.0
"""Width and height of a glyph in its picture."""
HEAD = 2.6
"""Length of an arrow's head, box units."""
COLOURS = {"way": ACCENT, "quiet": SECONDARY}


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
    """A symbol's glyph as a picture of its own, ``GLYPH_MM`` square."""
    items = tuple(glyph_items(symbol, size=GLYPH_MM, colour=colour))
    return Picture(f"glyph-{symbol_id}{suffix}", GLYPH_MM, GLYPH_MM, items)


def panel_items(panel: Panel, *, height: float, x: float = 0.0, y: float = 0.0) -> Iterator[Item]:
    """A panel ``height`` mm high with its lower left at ``x``, ``y``."""
    unit = height / BOX
    upright = Affine2D().scale(unit, -unit).translate(x, y + height)
    for stroke in panel.strokes:
        path: Path = upright.transform_path(svg(stroke.d))
        colour = COLOURS.get(stroke.role, INK)
        if stroke.role == "solid":
            yield Area(path, colour)
            continue
        yield Line(path, stroke.stroke * unit, colour, stroke.cap)
        if stroke.role == "way":
            yield _head(path, HEAD * unit, colour)


def _head(path: Path, size: float, colour: str) -> Area:
    """A solid head whose tip is a little beyond a path's end, turned the way the path ends."""
    (ax, ay), (bx, by) = vertices_of(path)[-2:]
    turn = math.atan2(bx - ax, by - ay)
    shape = polyline([(0, 0.55 * size), (0.42 * size, -0.45 * size), (-0.42 * size, -0.45 * size)], closed=True)
    return Area(moved(shape, x=float(bx), y=float(by), turn=turn), colour)


def panel(symbol_id: str, number: int, drawn: Panel) -> Picture:
    """A panel as a picture of its own."""
    name, items = f"panel-{symbol_id}-{number}", tuple(panel_items(drawn, height=PANEL_MM))
    return Picture(name, PANEL_MM * PANEL_WIDTH / BOX, PANEL_MM, items)
