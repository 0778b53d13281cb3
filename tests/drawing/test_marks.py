"""Marks that stand in several pictures: the loom's outline and pins are where the craft model has them."""

import numpy as np
import pytest
from matplotlib.path import Path

from pipeline.craft.loom import Loom
from pipeline.craft.shapes import Box, Circle, HalfCircle, Oval, Shape
from pipeline.drawing.marks import pin_ticks, rim
from pipeline.drawing.outline import vertices_of

SHAPES: list[Shape] = [Circle(36.0), HalfCircle(62.0), Oval(40.0, 55.0), Box(42.0, 42.0), Box(40.0, 60.0)]
shapes = pytest.mark.parametrize("shape", SHAPES, ids=lambda shape: f"{type(shape).__name__}-{shape.bounds[0]:.0f}")


def along(path: Path) -> list[complex]:
    """Places along a path, eleven on every segment."""
    points, places = [complex(y, x) for x, y in vertices_of(path)], []
    shares = np.linspace(0.0, 1.0, 11)
    for place, code in enumerate(np.asarray(path.codes)):
        if code in {Path.LINETO, Path.CLOSEPOLY}:
            places += [points[place - 1] * (1 - t) + points[place] * t for t in shares]
        elif code == Path.CURVE4 and (place - 1) % 3 == 0:
            a, b, c, d = points[place - 1 : place + 3]
            places += [a * (1 - t) ** 3 + 3 * b * (1 - t) ** 2 * t + 3 * c * (1 - t) * t**2 + d * t**3 for t in shares]
    return places


@shapes
def test_an_outline_lies_on_the_rim(shape: Shape) -> None:
    """Every place of it, to 0.01 mm; and every place between two pins is near it: all round, or over the half."""
    places = np.array(along(rim(shape).path))
    levels = np.array([shape.level(place) for place in places])
    assert levels == pytest.approx(shape.shortest, abs=0.01)
    wanted = [shape.rim(48, step / 4) for step in range(48 * 4 if shape.closed else 47 * 4 + 1)]
    furthest = max(np.abs(places - place).min() for place in wanted)
    assert furthest < max(np.abs(np.diff(places))) / 2 + 0.01
    assert shape.closed == (abs(places[-1] - places[0]) < 1e-9)


@shapes
def test_a_tick_leads_straight_out_from_every_pin(shape: Shape) -> None:
    """From 0.5 mm beyond the pin, 2 mm long, in the direction that leads out of the outline there."""
    loom = Loom(shape, tuple(shape.rim(24, pin) for pin in range(24)), "pin")
    ticks = [(complex(a[1], a[0]), complex(b[1], b[0])) for a, b in
             vertices_of(pin_ticks("ticks", loom, 0.5, 2.0).path).reshape(-1, 2, 2)]  # fmt: skip
    assert len(ticks) == 24
    for (start, end), pin in zip(ticks, loom.places, strict=True):
        assert abs(start - pin) == pytest.approx(0.5)
        assert abs(end - start) == pytest.approx(2.0)
        assert (end - start) / 2.0 == pytest.approx(shape.outward(pin), abs=1e-6)
