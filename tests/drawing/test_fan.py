"""The part of the wheel a step shows: the start on the left, the first group or part whole, in its place on paper."""

import cmath
import math
from collections.abc import Callable
from typing import Any

import pytest

from pipeline.craft.assembly import Lace
from pipeline.drawing.fan import StepLayout, fan_of, step_scale, view
from pipeline.drawing.outline import vertices_of
from pipeline.drawing.working import start_place

PlaceTree = Callable[[dict[str, Any]], Lace]
Make = Callable[..., Lace]
LAYOUT = StepLayout(74.0, 50.0)


@pytest.fixture
def make(place_tree: PlaceTree, example: dict[str, Any]) -> Make:
    """A lace on 24 pins of an 80 mm loom with these rounds."""

    def run(*rounds: dict[str, Any], shape: str = "circle") -> Lace:
        loom = {"shape": shape, "diameter": "80 mm", "pins": 24}
        return place_tree(example | {"rounds": list(rounds), "loom": loom})

    return run


def test_a_fan_opens_from_11_degrees_before_the_start_to_55_after(make: Make) -> None:
    """Look section 4; a row that goes back is the mirror of it."""
    lace = make({"knot": {"rays": 4}, "at": "12 mm"}, {"knot": {"rays": 4}, "at": "20 mm"}, shape="half-circle")
    there, back = lace.rounds
    for done, behind, before in ((there, -11, 55), (back, 11, -55)):
        start = cmath.phase(start_place(lace, done, 1.0)[0])
        shown = view(lace, done, LAYOUT)
        ends = sorted(math.degrees(angle - start) for angle in (shown.first, shown.last))
        assert ends == pytest.approx(sorted((behind, before)))


def test_the_first_group_of_a_filling_is_shown_whole(make: Make) -> None:
    """A woven group of 6 rays on 48 is 22.5 degrees wide between pins, and 8 degrees are left beside it."""
    lace = make({"weave": {"rays": [6, {"pass": 6}]}, "at": "15 mm", "to": "30 mm"})
    done = lace.rounds[0]
    shown = view(lace, done, LAYOUT)
    rays = [cmath.phase(done.rays[ray].meets(lace.loom.shape, 30.0)) for ray in done.worked.nodes[0].rays]
    assert shown.first <= min(rays) - math.radians(8) + 1e-9
    assert shown.last >= max(rays)


@pytest.mark.parametrize("rays", [8, 16, 20])
def test_a_part_is_shown_whole(make: Make, rays: int) -> None:
    """Parts of up to 150 degrees: all their rays lie in the fan, which is lower the wider it is."""
    lace = make({"darn": {}, "at": "20 mm", "part": {"rays": rays, "every": 24}})
    done = lace.rounds[0]
    shown = view(lace, done, LAYOUT)
    start = cmath.phase(start_place(lace, done, 1.0)[0])
    turns = [
        math.remainder(cmath.phase(done.rays[ray].meets(lace.loom.shape, done.outer)) - start, math.tau)
        for ray in range(rays)
    ]
    assert shown.first - start <= min(turns)
    assert shown.last - start >= max(turns)
    assert shown.radius_mm * math.sin((shown.last - shown.first) / 2) <= 45.4 * math.sin(math.radians(33)) + 1e-9


@pytest.mark.parametrize("shape", ["circle", "half-circle"])
def test_a_fan_stands_in_its_picture(make: Make, shape: str) -> None:
    """Upright above its foot, with room for a measure on its right."""
    lace = make({"darn": {}, "at": "20 mm", "part": {"rays": 16, "every": 24}}, shape=shape)
    points = vertices_of(fan_of(lace, lace.rounds[0], LAYOUT).sector())
    assert points.min() >= 1.0
    assert points[:, 0].max() <= LAYOUT.width - 18
    assert points[:, 1].max() <= LAYOUT.height


def test_the_scale_is_that_of_the_longest_direction_seen(make: Make, place_tree: PlaceTree) -> None:
    """In the corner of a square a round lies √2 times as far out, so the square is drawn that much smaller."""
    rounds = [{"knot": {"rays": 4}, "at": "15 mm"}]
    circle = make(*rounds)
    tree = {"loom": {"shape": "square", "side": "80 mm", "pins": 24}, "rounds": rounds}
    square = place_tree(_example_with(tree))
    ratio = step_scale(circle, circle.rounds[0], LAYOUT) / step_scale(square, square.rounds[0], LAYOUT)
    assert 1.35 <= ratio <= math.sqrt(2) + 1e-9


def _example_with(tree: dict[str, Any]) -> dict[str, Any]:
    return {
        "spokeleaf": 1, "id": "trial", "title": "Trial", "language": "en", "level": 1,
        "edition": {"number": 1, "date": "2026-03-14"},
        "threads": {"A": {"fibre": "cotton", "tex": 40, "colour": "#1b4f72", "colour_name": "blue"}},
    } | tree  # fmt: skip
