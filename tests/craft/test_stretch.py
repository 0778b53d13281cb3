"""What each ray can still give."""

import cmath
import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from pipeline.craft.shapes import Circle
from pipeline.craft.stretch import Demand, Give, Ray, lock, lock_between

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


def test_what_is_asked_comes_out_of_the_pin_and_the_free_length() -> None:
    """Demand 2 mm on 40 mm: of 1.5 + 5 % of 40 = 3.5 mm; nothing asked is no budget, even where nothing is given."""
    assert Demand(2.0, 40.0).budget(GIVE) == pytest.approx(2 / 3.5)
    assert Demand(0.0, 40.0).budget(Give(0.0, 0.0)) == 0
    assert Demand().budget(GIVE) == 0


def test_a_ray_held_twice_knows_all_its_locks() -> None:
    """From the centre outward; a round between them meets the line between them, one outside the line to the pin."""
    ray, _ = lock(lock(Ray(40 + 0j), 10 + 5j)[0], 30 + 0j)
    assert ray.locks == (0j, 10 + 5j, 30 + 0j)
    assert ray.around(LOOM, 5) == (0j, 10 + 5j)
    assert ray.around(LOOM, 20) == (10 + 5j, 30 + 0j)
    assert ray.around(LOOM, 35) == (30 + 0j, 40 + 0j)
    assert ray.around(LOOM, 30) == (30 + 0j, 40 + 0j)
    met = ray.meets(LOOM, 20)
    assert abs(met) == pytest.approx(20)
    assert ((met - (10 + 5j)) / (20 - 5j)).imag == pytest.approx(0, abs=1e-12)


def test_a_lock_between_two_others_asks_of_what_lies_between_them() -> None:
    """Held at 10 and 30 mm, drawn 5 mm aside at 20 mm: two sides of √125 in place of 20 mm; all outside stays.

    Worked by hand with Pythagoras: the demand is 2·√125 − 20 = 2.3607 on a natural length of 20 mm.
    """
    ray, _ = lock(lock(Ray(40 + 0j), 10 + 0j)[0], 30 + 0j)
    held, demand = lock_between(ray, 10 + 0j, (20 + 5j,))
    assert held.locks == (0j, 10 + 0j, 20 + 5j, 30 + 0j)
    assert (held.pin, held.lock, held.stretch) == (ray.pin, ray.lock, ray.stretch)
    assert [demand.mm, demand.natural] == pytest.approx([2 * math.sqrt(125) - 20, 20])
    inner = held.before
    assert inner is not None
    assert (inner.pin, inner.stretch, inner.lock) == (40 + 0j, 1.0, 20 + 5j)


def test_a_lock_further_in_leaves_both_locks_outside_it() -> None:
    """Between the centre and the first of two locks; then a second band between the same two, below the first."""
    ray, _ = lock(lock(Ray(40 + 0j), 20 + 0j)[0], 30 + 0j)
    once, demand = lock_between(ray, 0j, (12 + 0j, 16 + 0j))
    assert once.locks == (0j, 12 + 0j, 16 + 0j, 20 + 0j, 30 + 0j)
    assert [demand.mm, demand.natural] == pytest.approx([0, 20])
    twice, demand = lock_between(once, 0j, (4 + 3j,))
    assert twice.locks == (0j, 4 + 3j, 12 + 0j, 16 + 0j, 20 + 0j, 30 + 0j)
    assert [demand.mm, demand.natural] == pytest.approx([5 + math.sqrt(73) - 12, 12])
    assert twice.around(LOOM, 8) == (4 + 3j, 12 + 0j)


def test_a_stretched_ray_has_less_natural_length_between_its_locks() -> None:
    """Stretched by 44.4109/40 and then further: the length between its locks is divided by what it is stretched."""
    first, _ = lock(Ray(40 + 0j), 12 + 9j)
    second, _ = lock(first, 30 + 0j)
    between = abs(30 - (12 + 9j))
    assert second.stretch == pytest.approx(44.4109 / 40 * (between + 10) / abs(40 - (12 + 9j)), rel=1e-6)
    _, demand = lock_between(second, 12 + 9j, (21 + 4.5j,))
    assert demand.natural == pytest.approx(between / second.stretch)
    assert demand.mm == pytest.approx(between - between / second.stretch)
