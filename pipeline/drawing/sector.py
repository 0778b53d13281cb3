"""The sector: one repeat of the whole lace enlarged, with every ray drawn, and numbered from the start.

The repeat is the least number of rays after which all rounds begin again, as far as a quarter of the wheel holds it.
"""

import cmath
import math
from collections.abc import Iterator
from typing import Final

from pipeline.craft.assembly import Lace, LaceRound
from pipeline.drawing.lettering import centred, written
from pipeline.drawing.marks import BROKEN_MM, dashes
from pipeline.drawing.outline import circle, joined, polyline
from pipeline.drawing.picture import (
    ACCENT,
    INK,
    PAPER,
    SECONDARY,
    Area,
    Clipped,
    Figures,
    Item,
    Line,
    Picture,
    Placed,
)
from pipeline.drawing.slice import Slice
from pipeline.drawing.whole import Whole

WIDEST: Final = math.radians(84)
FEWEST: Final = 12
"""Rays that are shown at least: short repeats are shown several times."""
FRAME_MM: Final = 2.0
"""Beyond the longest ray, of the frame's arc."""
CLEAR_MM: Final = 2.2
"""From the frame's arc to the middle of a number beyond it."""
ROOM_MM: Final = 9.0
"""Beyond the rim, for numbers."""
RAY_MM, RING_MM = 0.16, 0.5
DISC_MM: Final = 0.21
"""Radius of the disc behind the first number, for every point of its size: round the figure, and off its neighbour."""
LEAST_PT: Final = 4.5
"""Of figures, where nothing else is asked for."""


def repeat_of(lace: Lace) -> int:
    """Rays after which every round begins again; all rays where no smaller number does it."""
    return math.gcd(math.lcm(*(_period(done) for done in lace.rounds)), lace.loom.rays) if lace.rounds else 2


def _period(done: LaceRound) -> int:
    counts = done.counts
    if counts.part:
        return counts.part.every
    if counts.items:
        return counts.period * len(done.worked.row_radii)
    return counts.over + counts.under if not counts.back else counts.period


def sector(
    lace: Lace, drawn: Whole, figures: Figures, *, width: float, height: float, least_pt: float = LEAST_PT
) -> Picture:
    """One repeat or a few, with a ray of the next on either side; figures are no smaller than ``least_pt``."""
    loom = lace.loom
    step = 2 * math.pi / loom.rays if loom.shape.closed else math.pi / loom.rays
    repeat = repeat_of(lace)
    shown = max(2, min(repeat * math.ceil(FEWEST / repeat), int(WIDEST / step) - 2))
    first = cmath.phase(loom.point(0)) - (1.0 if loom.shape.closed else 0.5) * step
    between = (first - 0.5 * step, first + (shown + 0.5) * step)
    half = (between[1] - between[0]) / 2
    reach = max(abs(loom.point(ray // 2)) for ray in range(shown))
    scale = min((height - ROOM_MM - 3.0) / reach, (width / 2 - ROOM_MM) / (reach * math.sin(half)))
    view = Slice(lace, *between, width / 2, (height - ROOM_MM - reach * scale) / 2, scale)
    edge = view.edge(*between, reach * scale + FRAME_MM)
    work = tuple(drawn.placed(view.place, ray_mm=RAY_MM, ring_mm=RING_MM, larger=1.3))
    frame = Line(edge, 0.15, SECONDARY, "butt")
    broken = Placed(
        dashes(closed=loom.shape.closed), BROKEN_MM, drawn.thinned * view.scale, view.x, view.y, view.turn, SECONDARY
    )
    numbers = _numbers(lace, view, figures, shown, frame_mm=reach * scale + FRAME_MM, least_pt=least_pt)
    items = (Clipped(edge, (*work, broken)), frame, *numbers)
    return Picture("sector", width, height, items)


def _numbers(
    lace: Lace, view: Slice, figures: Figures, shown: int, *, frame_mm: float, least_pt: float
) -> Iterator[Item]:
    """Rays by number from 1, all or as many as there is room for, beside the loops of their pins; the pins as ticks.

    Where the rim is no circle, a number that would stand on the arc of the frame stands beyond it.
    """
    loom = lace.loom
    pins = [loom.point(pin) for pin in range((shown + 1) // 2)]
    yield Line(joined(polyline([view.at(pin, 2.2), view.at(pin, 3.4)]) for pin in pins), 0.3, INK, "butt")
    aside = min(1.9, 0.24 * loom.pin_spacing * view.scale)
    size = min(max(6.5, least_pt), max(least_pt, 2.6 * aside))
    every = math.ceil(least_pt / max(2.6 * aside, LEAST_PT))
    for ray in range(0, shown, every):
        pin = loom.point(ray // 2)
        along = 1j * loom.shape.outward(pin) * (aside if ray % 2 else -aside) / view.scale
        x, y = view.at(pin + along, 5.2)
        out = math.hypot(x - view.x, y - view.y)
        if abs(out - frame_mm) < CLEAR_MM:
            x, y = (middle + (end - middle) * (frame_mm + CLEAR_MM) / out for middle, end in ((view.x, x), (view.y, y)))
        if ray == 0:
            yield Area(circle(DISC_MM * size, x, y), ACCENT)
        colour = PAPER if ray == 0 else SECONDARY
        yield centred(written(str(ray + 1), size_pt=size, font=figures.regular, colour=colour), x, y)
