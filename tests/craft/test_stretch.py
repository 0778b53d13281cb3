"""What each ray can still give."""

import cmath
import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from pipeline.craft.shapes import Circle
from pipeline.craft.stretch import Give, Ray, lock

ANGLE = st.floats(-math.pi, math.pi)
NEAR = st.floats(1, 19)
GIVE = Give(1.5, 0.05)
LOOM = Circle(40.0)


@given(near=NEAR, turn=st.floats(-0.8, 0.8), radius=st.floats(20, 39), angle=ANGLE)
def test_a_free_line_meets_a_round_on_both(near: float, turn: float, radius: float, angle: float) -> None:
    """The meeting lies on the round and on the straight line from lock to pin, beyond the lock."""
    ray = Ray(cmath.rect(40, angle), cmath.rect(near, angle + turn))
    met = ray.meets(LOOM, radius)
    assert abs(met) == pytest.approx(radius)
    way, whole = met - ray.lock, ray.pin - ray.lock
    assert abs(way) + abs(ray.pin - met) == pytest.approx(abs(whole))
    assert (way / whole).real > 0


@given(radius=st.floats(1, 39), angle=ANGLE)
def test_from_the_centre_a_ray_points_at_its_pin(radius: float, angle: float) -> None:
    """Before anything is locked the free line is the radius to the pin."""
    assert Ray(cmath.rect(40, angle)).meets(LOOM, radius) == pytest.approx(cmath.rect(radius, angle))


@given(radius=st.floats(1, 39), angle=ANGLE)
def test_a_lock_on_the_free_line_asks_for_nothing(radius: float, angle: float) -> None:
    """Nothing is drawn aside, so budget and stretch stay as they were."""
    ray = Ray(cmath.rect(40, angle))
    held, demand = lock(ray, ray.meets(LOOM, radius))
    assert demand.budget(GIVE) == pytest.approx(0, abs=1e-9)
    assert held.stretch == pytest.approx(1)


def test_a_lock_aside_asks_for_the_two_sides_of_the_triangle() -> None:
    """A ray of 40 mm drawn 9 mm aside at 12 mm from the centre: sides 15 and √(28² + 9²), allowance 1.5 + 5 % of 40.

    Worked by hand with Pythagoras: the path is 15 + 29.4109 = 44.4109, the demand 4.4109, the give 3.5.
    """
    held, demand = lock(Ray(40 + 0j), 12 + 9j)
    assert demand.budget(GIVE) == pytest.approx(4.4109 / 3.5, rel=1e-5)
    assert held.stretch == pytest.approx(44.4109 / 40, rel=1e-6)
    assert held.lock == 12 + 9j


@given(near=NEAR, aside=st.floats(0.01, 0.5), far=st.floats(20, 39), further=st.floats(-0.5, 0.5))
def test_rays_only_get_tighter(near: float, aside: float, far: float, further: float) -> None:
    """A stretch never falls from lock to lock, and the second lock counts the natural length of what is left."""
    first, _ = lock(Ray(40 + 0j), cmath.rect(near, aside))
    second, demand = lock(first, cmath.rect(far, further))
    assert second.stretch >= first.stretch >= 1
    free = abs(first.pin - first.lock)
    assume(free > 1)
    natural = free / first.stretch
    path = abs(second.lock - first.lock) + abs(second.pin - second.lock)
    assert demand.budget(GIVE) * (1.5 + 0.05 * natural) == pytest.approx(path - natural)
    assert second.stretch == pytest.approx(path / natural)


@given(pin=st.floats(0.1, 5), share=st.floats(0.001, 0.2), more=st.floats(1.01, 3))
def test_more_give_means_less_budget(pin: float, share: float, more: float) -> None:
    """Either allowance made larger makes the same lock cost a smaller share."""
    _, demand = lock(Ray(40 + 0j), 12 + 9j)
    asked = demand.budget(Give(pin, share))
    assert demand.budget(Give(pin * more, share)) < asked
    assert demand.budget(Give(pin, share * more)) < asked
