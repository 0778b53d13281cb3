"""The whole lace as layers, drawn once and placed in the chart and, enlarged, in the sector."""

from collections import defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from matplotlib.path import Path

from pipeline.craft.assembly import Lace
from pipeline.drawing.outline import joined
from pipeline.drawing.picture import Layer, Placed
from pipeline.drawing.strands import strands, thinned_radius
from pipeline.drawing.working import hitch_length, hitches, working_thread

Place = Callable[[Layer, float, str], Placed]
"""Puts a layer into a picture: the layer, its stroke's width in mm on paper, its cap."""


@dataclass(frozen=True, slots=True)
class Whole:
    """All rays from the centre to their pins, and the work of all rounds, at the scale of the chart."""

    rays: Layer
    tied: Layer
    """The thread of rounds that are tied, from knot to knot."""
    woven: Layer
    """The thread of all others."""
    hitches: tuple[tuple[float, Layer], ...]
    """Hitches with the width they are drawn in, mm on paper."""
    thinned: float
    """Inside this radius, mm of lace, not every ray is drawn."""

    def placed(self, place: Place, *, ray_mm: float, ring_mm: float, larger: float = 1.0) -> Iterator[Placed]:
        """Everything in a picture; hitches so many times as wide as in the chart."""
        yield place(self.rays, ray_mm, "butt")
        yield place(self.woven, ring_mm, "butt")
        yield place(self.tied, ring_mm, "round")
        for hitch_mm, layer in self.hitches:
            yield place(layer, hitch_mm * larger, "round")


def whole(lace: Lace, scale: float) -> Whole:
    """Draw a lace for pictures in which a mm of it is about ``scale`` mm of paper."""
    threads: dict[bool, list[Path]] = {True: [], False: []}
    for number, done in enumerate(lace.rounds):
        threads[done.tied].append(working_thread(lace, number, scale))
    return Whole(
        Layer("whole-rays", joined(strands(lace, scale).whole())),
        Layer("whole-tied", joined(threads[True])),
        Layer("whole-woven", joined(threads[False])),
        tuple(_hitches(lace, scale)),
        thinned_radius(lace, scale),
    )


def _hitches(lace: Lace, scale: float) -> Iterator[tuple[float, Layer]]:
    """Hitches of the same width as one layer."""
    found: dict[float, list[Path]] = defaultdict(list)
    for done in lace.rounds:
        if done.tied:
            length = hitch_length(done, scale)
            wide = round(min(max(0.36 * length * scale, 0.55), 1.0), 2)
            found[wide].append(hitches(lace, done, length))
    for number, wide in enumerate(sorted(found)):
        yield wide, Layer(f"whole-hitches-{number}", joined(found[wide]))
