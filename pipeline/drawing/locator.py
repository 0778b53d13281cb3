"""The locator of a step: the whole loom small, its start mark, and where from there the round begins."""

import cmath
import math
from collections.abc import Iterator
from typing import Final

from pipeline.craft.assembly import Lace, LaceRound
from pipeline.drawing.lettering import at, written
from pipeline.drawing.marks import rim, start_mark, start_place_of, wedge
from pipeline.drawing.outline import circle, polyline
from pipeline.drawing.picture import ACCENT, SECONDARY, Area, Figures, Item, Line, Placed
from pipeline.drawing.working import rays_from_mark, start_place

RADIUS_MM: Final = 3.6
"""Of the loom, from the centre to its nearest pins."""
LOW_MM: Final = 0.5
WEDGE_MM: Final = (2.2, 1.9)
NEAR: Final = math.radians(14)
"""Nearer to the mark than this no way is drawn from it."""


def locator(lace: Lace, done: LaceRound, figures: Figures) -> Iterator[Item]:
    """The locator in the lower left corner; nothing where rows are worked to and fro between two ends."""
    shape = lace.loom.shape
    if not shape.closed:
        return
    up, across, down = shape.bounds
    scale = RADIUS_MM / max(across, (up + down) / 2)
    x, y = LOW_MM + across * scale + 1.0, LOW_MM + down * scale

    def at_rim(angle: float, beyond: float = 0.0) -> tuple[float, float]:
        place = shape.toward(cmath.rect(1.0, angle), shape.shortest)
        place = place * scale + shape.outward(place) * beyond
        return x + place.imag, y + place.real

    yield Placed(rim(shape), 0.25, scale, x, y, colour=SECONDARY, cap="round")
    yield Area(circle(0.35, x, y), SECONDARY)
    mark = cmath.phase(start_place_of(lace.loom))
    yield start_mark(*at_rim(mark, 0.3), mark, 2.0)
    start = cmath.phase(start_place(lace, done, 1.0)[0])
    way = (start - mark) % math.tau
    count = rays_from_mark(done)
    if count and way > NEAR:
        yield Line(polyline([at_rim(mark + way * step / 24, -1.3) for step in range(25)]), 0.45, ACCENT, "butt")
    inside = at_rim(start + 0.2, -1.3)
    yield from wedge(*inside, start + math.pi / 2, *WEDGE_MM)
    if count:
        words = written(str(count), size_pt=8, font=figures.bold)
        yield at(words, x + across * scale + 1.0, y - 1.0)
