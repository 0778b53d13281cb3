"""The fan of the lace that a step shows: which part of the wheel, how large, and where on paper.

The start of the new round is on the left and the centre below; a row that goes back starts on the right. Most
fans are equally wide; a part of a round, or a wide group of a filling, is shown whole in a wider and lower one.
"""

import cmath
import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from matplotlib.path import Path

from pipeline.craft.assembly import Lace, LaceRound
from pipeline.drawing.outline import arc, moved, vertices_of
from pipeline.drawing.picture import INK, Layer, Placed
from pipeline.drawing.working import goes_back, seen, start_place

BEFORE: Final = math.radians(11)
AFTER: Final = math.radians(55)
WIDEST: Final = math.radians(170)
ROOM: Final = math.radians(8)
"""Beside a group or part that is shown whole."""
FOOT_MM: Final = 3.6


@dataclass(frozen=True, slots=True)
class StepLayout:
    """Size of a step picture on paper, mm."""

    width: float
    height: float


@dataclass(frozen=True, slots=True)
class View:
    """From where to where a step shows the lace, and how far out on paper."""

    first: float
    last: float
    behind: float
    """How much of it lies behind the start of the round."""
    radius_mm: float


def view(lace: Lace, done: LaceRound, layout: StepLayout) -> View:
    """What a step shows of the lace."""
    back = goes_back(done)
    start = cmath.phase(start_place(lace, done, 1.0)[0])
    group, part = seen(lace, done)
    behind = max(BEFORE, group + ROOM if group else 0.0)
    before = min(max(BEFORE + AFTER - behind, part + ROOM), WIDEST - behind)
    first, last = (start - before, start + behind) if back else (start - behind, start + before)
    high = layout.height - FOOT_MM - 1.0
    wide = math.sin((BEFORE + AFTER) / 2) / math.sin((behind + before) / 2)
    return View(first, last, behind, high * min(1.0, wide))


def step_scale(lace: Lace, done: LaceRound, layout: StepLayout) -> float:
    """The new round stands at a little over half the height, an edge near the top; so the lace seems to grow."""
    shown = view(lace, done, layout)
    reach = min(1.42 * done.outer + 3.2, 1.06 * lace.loom.radius) * _longest(lace, shown)
    return shown.radius_mm / reach


def _longest(lace: Lace, shown: View) -> float:
    """How much longer than on the shortest ray a distance is in the direction where it is longest."""
    angles = (shown.first + (shown.last - shown.first) * step / 16 for step in range(17))
    return max(1.0 / lace.loom.shape.level(cmath.rect(1.0, angle)) for angle in angles)


@dataclass(frozen=True, slots=True)
class Fan:
    """The part of the wheel a step shows: its foot on paper, scale, and the turn that sets it upright."""

    lace: Lace
    done: LaceRound
    view: View
    x: float
    y: float
    scale: float

    @property
    def turn(self) -> float:
        """Clockwise turn of the wheel."""
        return -(self.view.first + self.view.last) / 2

    def at(self, place: complex, beyond_mm: float = 0.0) -> tuple[float, float]:
        """Paper coordinates of a place of the wheel, and so far straight out of it on paper."""
        out = self.lace.loom.shape.outward(place) * beyond_mm if beyond_mm else 0j
        turned = (place * self.scale + out) * cmath.rect(1.0, self.turn)
        return self.x + turned.imag, self.y + turned.real

    def sector(self, cut: float = 0.0) -> Path:
        """The fan, or what is left of it when so much is cut off behind the start."""
        first, last = self.view.first, self.view.last
        first, last = (first, last - cut) if goes_back(self.done) else (first + cut, last)
        rim = arc(self.view.radius_mm, first + self.turn, last + self.turn)
        vertices = np.concatenate([vertices_of(rim), np.zeros((2, 2))])
        codes = [*np.asarray(rim.codes), Path.LINETO, Path.CLOSEPOLY]
        return moved(Path(vertices, codes), x=self.x, y=self.y)

    def place(self, layer: Layer, width: float, cap: str = "butt") -> Placed:
        """A layer in this fan."""
        return Placed(layer, width, self.scale, self.x, self.y, self.turn, INK, cap)

    def moved(self, path: Path) -> Path:
        """A path in mm of lace about the centre, in this fan."""
        return moved(path, scale=self.scale, turn=self.turn, x=self.x, y=self.y)


def fan_of(lace: Lace, done: LaceRound, layout: StepLayout) -> Fan:
    """The fan of a round, its foot low in the picture and room for the measure on its right."""
    shown = view(lace, done, layout)
    high = layout.height - FOOT_MM - 1.0
    foot = 2.0 + math.sin((BEFORE + AFTER) / 2) * (high + 1.0)
    return Fan(lace, done, shown, foot, FOOT_MM + (high - shown.radius_mm) / 2, step_scale(lace, done, layout))
