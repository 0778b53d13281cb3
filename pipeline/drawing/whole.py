"""The whole lace as layers, drawn once and placed in the chart and, enlarged, in the sector."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from pipeline.craft.assembly import Lace, LaceRound
from pipeline.drawing.outline import joined
from pipeline.drawing.picture import Layer, Placed
from pipeline.drawing.strands import strands, thinned_radius
from pipeline.drawing.working import hitch_length, hitches, working_thread

Place = Callable[[Layer, float, str], Placed]
"""Puts a layer into a picture: the layer, its stroke's width in mm on paper, its cap."""


@dataclass(frozen=True, slots=True)
class WholeRound:
    """A round's thread, and its hitches with the width they are drawn in; mm on paper at the scale of the chart."""

    done: LaceRound
    thread: Layer
    hitch: Layer | None
    hitch_mm: float


@dataclass(frozen=True, slots=True)
class Whole:
    """All rays from the centre to their pins, and every round."""

    rays: Layer
    rounds: tuple[WholeRound, ...]
    thinned: float
    """Inside this radius, mm of lace, not every ray is drawn."""

    def placed(self, place: Place, *, ray_mm: float, ring_mm: float, larger: float = 1.0) -> Iterator[Placed]:
        """Everything in a picture; hitches so many times as wide as in the chart."""
        yield place(self.rays, ray_mm, "butt")
        for each in self.rounds:
            yield place(each.thread, ring_mm, "round" if each.hitch else "butt")
            if each.hitch:
                yield place(each.hitch, each.hitch_mm * larger, "round")


def whole(lace: Lace, scale: float) -> Whole:
    """Draw a lace for pictures in which a mm of it is about ``scale`` mm of paper."""
    rounds = tuple(_round(lace, number, scale) for number in range(len(lace.rounds)))
    return Whole(Layer("whole-rays", joined(strands(lace, scale).whole())), rounds, thinned_radius(lace, scale))


def _round(lace: Lace, number: int, scale: float) -> WholeRound:
    done = lace.rounds[number]
    thread = Layer(f"whole-{done.number}-thread", working_thread(lace, number, scale))
    if not done.tied:
        return WholeRound(done, thread, None, 0.0)
    length = hitch_length(done, scale)
    hitch = Layer(f"whole-{done.number}-hitch", hitches(lace, done, length))
    return WholeRound(done, thread, hitch, min(max(0.36 * length * scale, 0.55), 1.0))
