"""What each ray can still give: locks, stretch, budget.

A ray is held at its last lock and at its pin. A stitch that draws it aside to a new lock asks it for length; what
it can give comes from its pin, its fibre and its slack. The model is a plain one, and its allowances are common
practice without a source: a sample calibrates them.
"""

import math
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Give:
    """Allowances: mm at the pin, and a share of a ray's free length."""

    pin_mm: float
    share: float


@dataclass(frozen=True, slots=True)
class Ray:
    """A ray: its pin, its last lock, how far it is stretched (1: not at all), and what its last lock asked of it."""

    pin: complex
    lock: complex = 0j
    stretch: float = 1.0


def meets(ray: Ray, radius: float) -> complex:
    """Where the free line, from lock to pin, meets a round of this radius going outward."""
    along = ray.pin - ray.lock
    a = abs(along) ** 2
    b = (ray.lock.real * along.real + ray.lock.imag * along.imag) / a
    c = (abs(ray.lock) ** 2 - radius**2) / a
    share = -b + math.sqrt(max(0.0, b * b - c))
    return ray.lock + share * along


def lock(ray: Ray, at: complex, give: Give) -> tuple[Ray, float]:
    """The ray locked at a new point, and the budget: the share of its give that this asks for.

    ``free`` and ``path`` are the lengths from lock to pin, straight and by way of the new point; the natural
    length is the free one without the stretch it has already.
    """
    free = abs(ray.pin - ray.lock)
    path = abs(at - ray.lock) + abs(ray.pin - at)
    natural = free / ray.stretch
    budget = (path - natural) / (give.pin_mm + give.share * natural)
    return Ray(ray.pin, at, ray.stretch * path / free), budget
