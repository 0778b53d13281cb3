"""A thread as it looks: its colour, eight times enlarged, and a line beside it in its true thickness."""

import itertools
import math
from typing import Final

from matplotlib.path import Path

from pipeline.craft.thread import Thread
from pipeline.drawing.outline import moved, polyline, rectangle
from pipeline.drawing.picture import INK, LINEN, Area, Line, Picture
from pipeline.drawing.portrait import shade, tint

WIDTH_MM, HEIGHT_MM = 16.0, 5.5
LARGER: Final = 8.0
MOST_MM: Final = 3.2
"""An enlarged thread is drawn no thicker than this."""


def swatch(letter: str, thread: Thread, colour: str) -> Picture:
    """A thread's swatch."""
    thick = min(thread.thickness * LARGER, MOST_MM)
    wave = _wave()
    items = (
        Area(rectangle(0, 0, WIDTH_MM, HEIGHT_MM, corner=0.6), LINEN),
        Line(wave, thick, shade(colour, 0.5), "butt"),
        Line(wave, thick * 0.78, colour, "butt"),
        Line(moved(wave, y=thick * 0.16), thick * 0.2, tint(colour, 0.45), "butt"),
        Line(polyline([(11.6, 3.4), (15.2, 3.4)]), thread.thickness, shade(colour, 0.9), "butt"),
        Line(polyline([(11.6, 1.0), (15.2, 1.0)]), 0.15, INK, "butt"),
    )
    return Picture(f"swatch-{letter}", WIDTH_MM, HEIGHT_MM, items)


def _wave() -> Path:
    """A sine, told by a cubic for each eighth of its period: nearer than a printer could show."""
    turns = [step * math.pi / 4 for step in range(18)]
    points = [complex(1.7 + 0.56 * turn, 3.4 + 0.35 * math.sin(turn)) for turn in turns]
    slopes = [complex(0.56, 0.35 * math.cos(turn)) * math.pi / 12 for turn in turns]
    ends = itertools.pairwise(zip(points, slopes, strict=True))
    curve = [place for (a, out), (b, back) in ends for place in (a + out, b - back, b)]
    codes = [Path.MOVETO, *([Path.CURVE4] * len(curve))]
    return Path([(place.real, place.imag) for place in (points[0], *curve)], codes)
