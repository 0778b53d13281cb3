"""Outlines of looms, and the rounds that are scaled copies of them.

A point's *level* says on which round it lies: the distance of that round from the centre measured on the shortest
ray, mm. Points are complex: the real part points up, the imaginary part to the right; angles run clockwise from
the top. Positions on the rim are counted in pins from pin 0, so that 2.5 lies half-way from pin 2 to pin 3.
"""

import bisect
import cmath
import math
from abc import ABC, abstractmethod
from dataclasses import dataclass, field
from typing import Final

from typing_extensions import override

from pipeline.records import LoomSpec

STEPS: Final = 64
"""Pieces of a quarter of an oval that are integrated one by one."""

_GAUSS: Final = (
    (-0.9061798459386640, 0.2369268850561891), (-0.5384693101056831, 0.4786286704993665),
    (0.0, 0.5688888888888889), (0.5384693101056831, 0.4786286704993665), (0.9061798459386640, 0.2369268850561891),
)  # fmt: skip
"""Nodes and weights of Gauss-Legendre quadrature with five points (DLMF section 3.5)."""


class Shape(ABC):
    """An outline round the centre."""

    closed = True
    """Whether rounds go all the way round; a half-circle is worked there and back."""

    @property
    @abstractmethod
    def shortest(self) -> float:
        """From the centre to the nearest place of the rim, mm."""

    @property
    @abstractmethod
    def perimeter(self) -> float:
        """Length of the rim that carries pins, mm."""

    @property
    @abstractmethod
    def bounds(self) -> tuple[float, float, float]:
        """How far the outline reaches up, to either side and down from the centre, mm."""

    @abstractmethod
    def level(self, place: complex) -> float:
        """On which round a point lies, mm on the shortest ray."""

    @abstractmethod
    def meets(self, inner: complex, outer: complex, level: float) -> complex:
        """Where the line from ``inner`` towards ``outer`` leaves the round at this level."""

    @abstractmethod
    def rim(self, pins: int, position: float) -> complex:
        """A place of the rim, counted in pins from pin 0."""

    def toward(self, direction: complex, level: float) -> complex:
        """The place of a round in a direction."""
        return direction * (level / self.level(direction))

    def outward(self, place: complex) -> complex:
        """The direction that leads straight out of the outline at a place; slanting at a corner."""
        step = self.shortest * 1e-6
        up = self.level(place + step) - self.level(place - step)
        right = self.level(place + 1j * step) - self.level(place - 1j * step)
        return complex(up, right) / abs(complex(up, right))

    def length(self, level: float) -> float:
        """Length of a round, mm."""
        return self.perimeter * level / self.shortest

    def spacing(self, pins: int) -> float:
        """Distance of neighbouring pins along the rim, mm."""
        return self.perimeter / pins

    def spread(self, pins: int, level: float) -> tuple[complex, ...]:
        """All rays spread evenly on a round: each pin's pair a quarter of the spacing to either side of it."""
        share = level / self.shortest
        return tuple(self.rim(pins, (ray - 0.5) / 2) * share for ray in range(2 * pins))


@dataclass(frozen=True)
class Circle(Shape):
    """A circle."""

    radius: float

    @property
    @override
    def shortest(self) -> float:
        return self.radius

    @property
    @override
    def perimeter(self) -> float:
        return 2 * math.pi * self.radius

    @property
    @override
    def bounds(self) -> tuple[float, float, float]:
        return self.radius, self.radius, self.radius

    @override
    def level(self, place: complex) -> float:
        return abs(place)

    @override
    def meets(self, inner: complex, outer: complex, level: float) -> complex:
        return inner + _leaving(inner, outer - inner, level) * (outer - inner)

    @override
    def rim(self, pins: int, position: float) -> complex:
        return cmath.rect(self.radius, 2 * math.pi * position / pins)


class HalfCircle(Circle):
    """The upper half of a circle about a hold at the middle of its straight side; pins from left to right."""

    closed = False

    @property
    @override
    def perimeter(self) -> float:
        return math.pi * self.radius

    @property
    @override
    def bounds(self) -> tuple[float, float, float]:
        return self.radius, self.radius, 0.0

    @override
    def rim(self, pins: int, position: float) -> complex:
        return cmath.rect(self.radius, math.pi * (position / (pins - 1) - 0.5))

    @override
    def spacing(self, pins: int) -> float:
        return self.perimeter / (pins - 1)

    @override
    def spread(self, pins: int, level: float) -> tuple[complex, ...]:
        """All rays spread evenly over the half round, half a spacing free at either end."""
        rays = 2 * pins
        return tuple(cmath.rect(level, math.pi * ((ray + 0.5) / rays - 0.5)) for ray in range(rays))


@dataclass(frozen=True)
class Upright(Shape):
    """An outline that is its own mirror image in both axes, reaching ``up`` and ``across`` from the centre, mm."""

    up: float
    across: float

    @property
    @override
    def shortest(self) -> float:
        return min(self.up, self.across)

    @property
    @override
    def bounds(self) -> tuple[float, float, float]:
        return self.up, self.across, self.up


@dataclass(frozen=True)
class Oval(Upright):
    """An ellipse with half axes ``up`` and ``across``; pins lie evenly by arc length."""

    _arcs: list[float] = field(init=False, repr=False, compare=False)
    """Length of the rim from the top to each of ``STEPS`` equal steps of the parameter in a quarter."""

    def __post_init__(self) -> None:
        arcs = [0.0]
        width = math.pi / 2 / STEPS
        for step in range(STEPS):
            arcs.append(arcs[-1] + self._arc(step * width, (step + 1) * width))
        object.__setattr__(self, "_arcs", arcs)

    @property
    @override
    def perimeter(self) -> float:
        return 4 * self._arcs[-1]

    @override
    def level(self, place: complex) -> float:
        return abs(self._round(place)) * self.shortest

    @override
    def meets(self, inner: complex, outer: complex, level: float) -> complex:
        start, along = self._round(inner), self._round(outer) - self._round(inner)
        return inner + _leaving(start, along, level / self.shortest) * (outer - inner)

    @override
    def rim(self, pins: int, position: float) -> complex:
        quarters, share = divmod(4 * position / pins, 1.0)
        turned = int(quarters) % 4
        arc = self._arcs[-1] * (share if turned % 2 == 0 else 1 - share)
        angle = self._angle(arc)
        up, across = self.up * math.cos(angle), self.across * math.sin(angle)
        return complex(up if turned in {0, 3} else -up, across if turned in {0, 1} else -across)

    def _round(self, place: complex) -> complex:
        """The same point where the oval is a circle of radius 1."""
        return complex(place.real / self.up, place.imag / self.across)

    def _speed(self, angle: float) -> float:
        return math.hypot(self.up * math.sin(angle), self.across * math.cos(angle))

    def _arc(self, start: float, end: float) -> float:
        """Length of the rim between two parameters, by quadrature."""
        middle, half = (start + end) / 2, (end - start) / 2
        return half * math.fsum(weight * self._speed(middle + half * node) for node, weight in _GAUSS)

    def _angle(self, arc: float) -> float:
        """The parameter in the first quarter at which the rim has this length, by Newton's method."""
        step = max(0, bisect.bisect_left(self._arcs, arc) - 1)
        start = step * math.pi / 2 / STEPS
        wanted = arc - self._arcs[step]
        angle = start + wanted / self._speed(start)
        for _ in range(4):
            angle -= (self._arc(start, angle) - wanted) / self._speed(angle)
        return angle


@dataclass(frozen=True)
class Box(Upright):
    """A square or rectangle with half sides ``up`` and ``across``; every corner carries a pin."""

    @property
    @override
    def perimeter(self) -> float:
        return 4 * (self.up + self.across)

    @override
    def level(self, place: complex) -> float:
        return max(abs(place.real) / self.up, abs(place.imag) / self.across) * self.shortest

    @override
    def meets(self, inner: complex, outer: complex, level: float) -> complex:
        along = outer - inner
        share = level / self.shortest
        sides = ((inner.real, along.real, self.up * share), (inner.imag, along.imag, self.across * share))
        leaving = [(math.copysign(half, speed) - at) / speed for at, speed, half in sides if speed]
        return inner + min(leaving) * along

    @override
    def rim(self, pins: int, position: float) -> complex:
        """Pin 0 stands at the middle of the top side, or next to it clockwise where no pin is there."""
        across, up = self.intervals(pins)
        place = (math.ceil(across / 2) + position) % pins
        corners = (complex(self.up, -self.across), complex(self.up, self.across),
                   complex(-self.up, self.across), complex(-self.up, -self.across))  # fmt: skip
        for number, count in enumerate((across, up, across, up)):
            if place <= count:
                start, end = corners[number], corners[(number + 1) % 4]
                return start + (end - start) * place / count
            place -= count
        raise AssertionError("a position lies on one of the sides")

    def intervals(self, pins: int) -> tuple[int, int]:
        """Spaces between pins along a horizontal and along an upright side, as even as whole numbers allow."""
        half = pins // 2
        across = min(max(1, round(half * self.across / (self.up + self.across))), half - 1)
        return across, half - across


def shape_of(spec: LoomSpec) -> Shape:
    """The outline of a pattern's loom."""
    size = [length / 2 for length in spec.size]
    match spec.shape:
        case "circle":
            return Circle(*size)
        case "half-circle":
            return HalfCircle(*size)
        case "oval":
            return Oval(up=size[1], across=size[0])
        case "square":
            return Box(size[0], size[0])
        case _:
            return Box(up=size[1], across=size[0])


def _leaving(start: complex, along: complex, radius: float) -> float:
    """The share of ``along`` at which a line leaves a circle about the centre."""
    a = abs(along) ** 2
    b = (start.real * along.real + start.imag * along.imag) / a
    c = (abs(start) ** 2 - radius**2) / a
    return -b + math.sqrt(max(0.0, b * b - c))
