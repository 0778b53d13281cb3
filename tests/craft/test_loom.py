"""The loom: where its pins stand and which rays run to them."""

import math
from typing import Any

import pytest

from pipeline.craft.loom import Loom, loom_of
from pipeline.records import LoomSpec


def loom(shape: str, pins: int, **measures: float) -> Loom:
    size: dict[str, Any] = {"diameter": None, "width": None, "height": None, "side": None} | measures
    return loom_of(LoomSpec.model_construct(shape=shape, pins=pins, hold="notch", **size))


def test_pins_go_round_clockwise_from_the_top() -> None:
    """Twelve pins of a clock of 80 mm: pin 3 stands at three o'clock, to the right, pin 6 below."""
    clock = loom("circle", 12, diameter=80.0)
    assert (clock.pins, clock.rays, clock.radius, clock.hold) == (12, 24, 40, "notch")
    assert [clock.point(pin) for pin in (0, 3, 6)] == pytest.approx([40, 40j, -40])
    assert [clock.angle(pin) for pin in (0, 1, 3)] == pytest.approx([0, math.radians(30), math.radians(90)])
    assert clock.pin_spacing == pytest.approx(2 * math.pi * 40 / 12)


def test_every_pin_has_two_rays() -> None:
    """Rays 2a and 2a + 1 run to pin a, and ray 24 of 24 is ray 0 again."""
    clock = loom("circle", 12, diameter=80.0)
    assert [clock.pin_of(ray) for ray in range(5)] == [0, 0, 1, 1, 2]
    assert [clock.pin_of(ray) for ray in (22, 23, 24, 25)] == [11, 11, 0, 0]


def test_the_radius_is_the_shortest_ray() -> None:
    """From the middle of a frame of 100 by 60 mm the rim is 30 mm away, and of an oval as wide too."""
    assert loom("rectangle", 32, width=100.0, height=60.0).radius == 30
    assert loom("oval", 32, width=100.0, height=60.0).radius == 30


def test_every_shape_has_its_own_rim() -> None:
    """All pins of an oval of 100 by 60 mm on x²/50² + y²/30² = 1, of frames on a side, of a half-circle on the upper half."""
    for place in loom("oval", 32, width=100.0, height=60.0).places:
        assert (place.imag / 50) ** 2 + (place.real / 30) ** 2 == pytest.approx(1)
    for frame, up, across in (
        (loom("rectangle", 32, width=100.0, height=60.0), 30, 50),
        (loom("square", 32, side=80.0), 40, 40),
    ):
        for place in frame.places:
            assert max(abs(place.real) / up, abs(place.imag) / across) == pytest.approx(1)
    half = loom("half-circle", 9, diameter=80.0)
    assert [abs(place) for place in half.places] == pytest.approx([40] * 9)
    assert [half.places[pin] for pin in (0, 4, 8)] == pytest.approx([-40j, 40, 40j])
