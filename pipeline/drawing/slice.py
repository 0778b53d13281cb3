"""A slice of the lace on paper, its middle upright and its point below: what fans and the sector show."""

import cmath
from dataclasses import dataclass

import numpy as np
from matplotlib.path import Path

from pipeline.craft.assembly import Lace
from pipeline.drawing.outline import arc, moved, vertices_of
from pipeline.drawing.picture import INK, Layer, Placed


@dataclass(frozen=True, slots=True)
class Slice:
    """Where a slice lies: its angles in the lace, the place of the centre on paper, mm of paper to a mm of lace."""

    lace: Lace
    first: float
    last: float
    x: float
    y: float
    scale: float

    @property
    def turn(self) -> float:
        """Clockwise turn of the wheel."""
        return -(self.first + self.last) / 2

    def at(self, place: complex, beyond_mm: float = 0.0) -> tuple[float, float]:
        """Paper coordinates of a place of the wheel, and so far straight out of it on paper."""
        out = self.lace.loom.shape.outward(place) * beyond_mm if beyond_mm else 0j
        turned = (place * self.scale + out) * cmath.rect(1.0, self.turn)
        return self.x + turned.imag, self.y + turned.real

    def place(self, layer: Layer, width: float, cap: str = "butt") -> Placed:
        """A layer of the lace."""
        return Placed(layer, width, self.scale, self.x, self.y, self.turn, INK, cap)

    def moved(self, path: Path) -> Path:
        """A path in mm of lace about the centre, on paper."""
        return moved(path, scale=self.scale, turn=self.turn, x=self.x, y=self.y)

    def edge(self, first: float, last: float, radius_mm: float) -> Path:
        """The outline of what lies between two angles, so far out on paper."""
        rim = arc(radius_mm, first + self.turn, last + self.turn)
        vertices = np.concatenate([vertices_of(rim), np.zeros((2, 2))])
        return moved(Path(vertices, [*np.asarray(rim.codes), Path.LINETO, Path.CLOSEPOLY]), x=self.x, y=self.y)
