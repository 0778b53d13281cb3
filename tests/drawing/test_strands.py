"""Rays on paper: where they run, how those of a group stay apart."""

import itertools
import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from pipeline.craft.assembly import Lace
from pipeline.drawing.outline import vertices_of
from pipeline.drawing.strands import strands

PlaceTree = Callable[[dict[str, Any]], Lace]
Make = Callable[..., Lace]


@pytest.fixture
def make(place_tree: PlaceTree, example: dict[str, Any]) -> Make:
    """A lace on 24 pins of an 80 mm loom with these rounds."""

    def run(*rounds: dict[str, Any], pins: int = 24) -> Lace:
        loom = {"shape": "circle", "diameter": "80 mm", "pins": pins}
        return place_tree(example | {"rounds": list(rounds), "loom": loom})

    return run


def test_a_ray_passed_over_is_drawn_on_to_where_it_is_next_taken(make: Make) -> None:
    """Of 48 rays groups of 4 leave 2 in 6 free: 32 are drawn to the first ring, and all 48 to the second."""
    lace = make({"knot": {"rays": [4, {"pass": 2}]}, "at": "15 mm"}, {"knot": {"rays": 6}, "gap": "9 mm"})
    laid = strands(lace, 1.0)
    first, second = ([strand.ray for strand in laid.between(number)] for number in (0, 1))
    assert first == [ray for ray in range(48) if ray % 6 < 4]
    assert second == list(range(48))
    free = {strand.ray: vertices_of(strand.path)[0] for strand in laid.between(1)}
    assert all(math.hypot(*free[ray]) > 14 for ray in first)
    assert all(math.hypot(*free[ray]) < 8 for ray in second if ray not in first)


def test_every_ray_ends_at_its_own_pin(make: Make) -> None:
    """Rays 2a and 2a + 1 end at pin a, at 2πa/n clockwise from the top of a circle of 40 mm."""
    laid = strands(make({"knot": {"rays": 4}, "at": "15 mm"}), 1.0)
    ends = {ray: vertices_of(path)[-1] for ray, path in laid.outward(0)}
    for ray in range(48):
        angle = 2 * math.pi * (ray // 2) / 24
        assert ends[ray] == pytest.approx([40 * math.sin(angle), 40 * math.cos(angle)], abs=1e-6)


def test_rays_of_a_group_can_be_counted(make: Make) -> None:
    """Between two nodes that share them, rays run apart: four rays, four middles, 0.2 mm at least from each other."""
    lace = make({"knot": {"rays": 4}, "at": "12 mm"}, {"knot": {"rays": 4}, "gap": "9 mm"})
    laid = strands(lace, 1.0)
    middles = [
        np.array([0.125, 0.375, 0.375, 0.125]) @ vertices_of(strand.path)
        for strand in laid.between(1)
        if strand.ray < 4 and len(vertices_of(strand.path)) == 4
    ]
    assert len(middles) == 4
    assert min(math.dist(a, b) for a, b in itertools.combinations(middles, 2)) > 0.2


def test_rays_in_a_crowded_centre_stop_by_powers_of_two(make: Make) -> None:
    """Look section 3: every second ray stops first, again half of the others at half that radius; ray 0 goes through."""
    laid = strands(make({"knot": {"rays": 4}, "at": "30 mm"}), 1.0)
    starts = {strand.ray: math.hypot(*vertices_of(strand.path)[0]) for strand in laid.between(0)}
    odd, twos, fours = ([starts[ray] for ray in range(1, 48) if ray % (2 * step) == step] for step in (1, 2, 4))
    assert starts[0] == pytest.approx(0.0)
    assert min(odd) > max(twos) > max(fours) > 0
    assert odd == pytest.approx([2 * twos[0]] * len(odd))
    # 0.45 mm from ray to ray all round: 48 × 0.45 / 2π = 3.44 mm.
    assert odd[0] == pytest.approx(48 * 0.45 / (2 * math.pi), abs=0.01)


def test_a_band_between_two_knots_is_drawn_where_it_lies(make: Make) -> None:
    """Rays bound between two rounds of knots run through the cord: stops from the centre outward, in order."""
    lace = make(
        {"knot": {"rays": 4}, "at": "12 mm"},
        {"knot": {"rays": 4}, "at": "28 mm"},
        {"wrap": {"rays": 4}, "at": "16 mm", "to": "24 mm"},
    )
    for trail in strands(lace, 1.0).trails:
        levels = [abs(stop.place) for stop in trail]
        assert levels == pytest.approx([0, 12, 16, 24, 28], abs=0.02)
        assert [stop.round for stop in trail] == [-1, 0, 2, 2, 1]


def test_what_a_band_holds_once_more_is_drawn_until_then(make: Make) -> None:
    """Half of the groups of 4 are bound between two rounds of knots: their 24 rays run straight there only before."""
    lace = make(
        {"knot": {"rays": 4}, "at": "12 mm"},
        {"knot": {"rays": 4}, "at": "28 mm"},
        {"wrap": {"rays": [4, {"pass": 4}]}, "at": "16 mm", "to": "24 mm"},
    )
    laid = strands(lace, 1.0)
    assert {strand.ray for strand in laid.between(1) if strand.until == 2} == {ray for ray in range(48) if ray % 8 < 4}
    assert {strand.ray for strand in laid.between(1) if not strand.until} == {ray for ray in range(48) if ray % 8 > 3}
    assert len([strand for strand in laid.between(2) if not strand.until]) == 3 * 24


def test_the_whole_is_every_ray_from_the_centre_to_its_pin(make: Make) -> None:
    """Two rounds of 48 rays: three pieces each, the last one to the pin."""
    lace = make({"knot": {"rays": 4}, "at": "12 mm"}, {"knot": {"rays": 4, "shift": 2}, "gap": "9 mm"})
    assert len(list(strands(lace, 1.0).whole())) == 3 * 48
