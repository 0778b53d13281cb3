"""The loom: its outline and where its pins are."""

import cmath
from dataclasses import dataclass

from pipeline.craft.shapes import Shape, shape_of
from pipeline.records import LoomSpec


@dataclass(frozen=True, slots=True)
class Loom:
    """An outline with pins. Pin 0 is at the top (at the left end of a half-circle), the others follow clockwise."""

    shape: Shape
    places: tuple[complex, ...]
    """Where each pin stands."""
    hold: str

    @property
    def pins(self) -> int:
        """How many pins."""
        return len(self.places)

    @property
    def rays(self) -> int:
        """Two to a pin: 2a and 2a + 1 are the left and right leg of its loop, seen from the centre."""
        return 2 * self.pins

    @property
    def radius(self) -> float:
        """From the centre to the nearest place of the rim, mm."""
        return self.shape.shortest

    @property
    def pin_spacing(self) -> float:
        """Distance of neighbouring pins along the rim, mm."""
        return self.shape.spacing(self.pins)

    def angle(self, pin: int) -> float:
        """Direction of a pin."""
        return cmath.phase(self.places[pin])

    def point(self, pin: int) -> complex:
        """Place of a pin."""
        return self.places[pin]

    def pin_of(self, ray: int) -> int:
        """The pin a ray runs to."""
        return ray // 2 % self.pins


def loom_of(spec: LoomSpec) -> Loom:
    """The loom of a pattern's entry."""
    shape = shape_of(spec)
    return Loom(shape, tuple(shape.rim(spec.pins, pin) for pin in range(spec.pins)), spec.hold)
