"""What each ray can still give: locks, stretch, budget.

A ray is held at its last lock and at its pin. A stitch that draws it aside to a new lock asks it for length; what
it can give comes from its pin, its fibre and its slack. The model is a plain one, and its allowances are common
practice without a source: a sample calibrates them.
"""

import itertools
import math
from dataclasses import dataclass, field, replace
from typing import Final, Optional

from pipeline.craft.shapes import Shape

SAME_MM: Final = 1e-9
"""Lengths nearer than this are the same."""
LEAST_GIVE_MM: Final = 1e-6
"""What a ray can give whatever a pattern says of it: where it were nothing, no demand would have a share of it."""


@dataclass(frozen=True, slots=True)
class Give:
    """Allowances: mm at the pin, and a share of a ray's free length."""

    pin_mm: float
    share: float


@dataclass(frozen=True, slots=True)
class Demand:
    """What a lock asks of a ray beyond the natural length of its free part; mm."""

    mm: float = 0.0
    natural: float = 0.0

    def budget(self, give: Give) -> float:
        """The share of the ray's give that this asks for."""
        return self.mm / max(give.pin_mm + give.share * self.natural, LEAST_GIVE_MM)


@dataclass(frozen=True, slots=True)
class Ray:
    """A ray: its pin, its last lock, how far it is stretched (1: not at all), and the ray as it was before."""

    pin: complex
    lock: complex = 0j
    stretch: float = 1.0
    before: Optional["Ray"] = field(default=None, compare=False, repr=False)

    @property
    def locks(self) -> tuple[complex, ...]:
        """Every lock from the centre outward."""
        found = [self.lock]
        ray = self
        while ray.before is not None:
            ray = ray.before
            found.append(ray.lock)
        return tuple(reversed(found))

    def meets(self, shape: Shape, level: float) -> complex:
        """Where the ray crosses a round: on its free line, or between two locks."""
        return shape.meets(*self.around(shape, level), level)

    def around(self, shape: Shape, level: float) -> tuple[complex, complex]:
        """The lock below a round and the next one above it, or the pin."""
        ray, above = self, self.pin
        while ray.before is not None and shape.level(ray.lock) > level + SAME_MM:
            ray, above = ray.before, ray.lock
        return ray.lock, above


def lock(ray: Ray, at: complex) -> tuple[Ray, Demand]:
    """The ray locked at a new point, and what that asks of it.

    ``free`` and ``path`` are the lengths from lock to pin, straight and by way of the new point; the natural
    length is the free one without the stretch it has already.
    """
    free = abs(ray.pin - ray.lock)
    path = abs(at - ray.lock) + abs(ray.pin - at)
    natural = free / ray.stretch
    return Ray(ray.pin, at, ray.stretch * path / free, ray), Demand(path - natural, natural)


def lock_between(ray: Ray, below: complex, at: tuple[complex, ...]) -> tuple[Ray, Demand]:
    """The ray held at points between its lock ``below`` and the next one; what lies outside stays as it is."""
    inner = ray.before
    assert inner is not None, "a band between two locks lies below the last one"  # noqa: S101
    if inner.lock != below:
        changed, demand = lock_between(inner, below, at)
        return replace(ray, before=changed), demand
    free = abs(ray.lock - below)
    path = math.fsum(abs(b - a) for a, b in itertools.pairwise((below, *at, ray.lock)))
    for point in at:
        inner = Ray(inner.pin, point, inner.stretch, inner)
    return replace(ray, before=inner), Demand(path - free / ray.stretch, free / ray.stretch)
