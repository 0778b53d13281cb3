"""The loom: where its pins are."""

import cmath
import math
from dataclasses import dataclass

from pipeline.pattern import LoomSpec


@dataclass(frozen=True, slots=True)
class Loom:
    """A circle of ``pins`` with ``radius`` in mm. Pin 0 is at the top, the others follow clockwise."""

    radius: float
    pins: int
    hold: str

    @property
    def rays(self) -> int:
        """Two to a pin: 2a and 2a + 1 are the left and right leg of its loop, seen from the centre."""
        return 2 * self.pins

    @property
    def pin_spacing(self) -> float:
        """Distance of neighbouring pins along the rim, mm."""
        return 2 * math.pi * self.radius / self.pins

    def angle(self, pin: int) -> float:
        """Direction of a pin."""
        return 2 * math.pi * pin / self.pins

    def point(self, pin: int) -> complex:
        """Place of a pin."""
        return cmath.rect(self.radius, self.angle(pin))

    def pin_of(self, ray: int) -> int:
        """The pin a ray runs to."""
        return ray // 2 % self.pins


def loom_of(spec: LoomSpec) -> Loom:
    """The loom of a pattern's entry."""
    return Loom(spec.diameter / 2, spec.pins, spec.hold)
