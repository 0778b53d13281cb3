"""The fan of the lace that a step shows: which part of the wheel, how large, and where on paper.

The start of the new round is on the left and the centre below; a row that goes back starts on the right. Most
fans are equally wide; a part of a round, or a wide group of a filling, is shown whole in a wider and lower one.
"""

import cmath
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from matplotlib.path import Path

from pipeline.craft.assembly import Lace, LaceRound
from pipeline.drawing.outline import Flags, Points
from pipeline.drawing.slice import Slice
from pipeline.drawing.working import goes_back, seen, start_place

BEFORE: Final = math.radians(11)
AFTER: Final = math.radians(55)
WIDEST: Final = math.radians(170)
ROOM: Final = math.radians(8)
"""Beside a group or part that is shown whole."""
BESIDE: Final = math.radians(3)
"""So far beside what a step shows, its layers still reach."""
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


def seen_in(views: Sequence[View], near: float) -> Callable[[Points], Flags]:
    """Which points of the lace may be seen in one of these views; those nearer to the centre than ``near`` are."""
    middles = np.array([(shown.first + shown.last) / 2 for shown in views])
    halves = np.array([(shown.last - shown.first) / 2 + BESIDE for shown in views])

    def flags(points: Points) -> Flags:
        angles = np.arctan2(points[:, 0], points[:, 1])[:, np.newaxis]
        aside = np.abs((angles - middles + math.pi) % math.tau - math.pi)
        found: Flags = (aside <= halves).any(axis=1) | (np.hypot(points[:, 0], points[:, 1]) < near)
        return found

    return flags


@dataclass(frozen=True, slots=True)
class Fan(Slice):
    """The slice that a step shows."""

    done: LaceRound
    view: View

    def sector(self, cut: float = 0.0) -> Path:
        """The fan, or what is left of it when so much is cut off behind the start."""
        first, last = (self.first, self.last - cut) if goes_back(self.done) else (self.first + cut, self.last)
        return self.edge(first, last, self.view.radius_mm)


def fan_of(lace: Lace, done: LaceRound, layout: StepLayout) -> Fan:
    """The fan of a round, its foot low in the picture and room for the measure on its right."""
    shown = view(lace, done, layout)
    high = layout.height - FOOT_MM - 1.0
    foot = 2.0 + math.sin((BEFORE + AFTER) / 2) * (high + 1.0)
    base = FOOT_MM + (high - shown.radius_mm) / 2
    return Fan(lace, shown.first, shown.last, foot, base, step_scale(lace, done, layout), done, shown)
