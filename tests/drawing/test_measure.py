"""Measures beside a fan: as long as they say, one after the other, or side by side where the way leads inward."""

import math
from collections.abc import Callable, Sequence
from typing import Any

import pytest

from pipeline.craft.assembly import Lace
from pipeline.drawing.fan import StepLayout, fan_of
from pipeline.drawing.measure import measures
from pipeline.drawing.outline import vertices_of
from pipeline.drawing.picture import Area, Figures, Line, Words
from pipeline.language.fonts import find_fonts
from pipeline.notation import write

PlaceTree = Callable[[dict[str, Any]], Lace]
Measured = Callable[..., tuple[list[str], list[float], list[tuple[float, float]]]]
FILES = find_fonts("Latn", ()).files
FIGURES = Figures(FILES[0].path, FILES[1].path)
LAYOUT = StepLayout(74.0, 50.0)


@pytest.fixture
def measured(place_tree: PlaceTree, example: dict[str, Any]) -> Measured:
    """What stands beside the last of these rounds: words, lengths in mm of lace, tips of arrows."""

    def run(*rounds: dict[str, Any]) -> tuple[list[str], list[float], list[tuple[float, float]]]:
        lace = place_tree(example | {"rounds": list(rounds)})
        fan = fan_of(lace, lace.rounds[-1], LAYOUT)
        items = list(measures(fan, write(lace)[-1], FIGURES, LAYOUT.width))
        said = [item.text for item in items if isinstance(item, Words)]
        lines = [math.dist(*vertices_of(item.path)) for item in items if isinstance(item, Line)]
        heads = [
            vertices_of(item.path) for item in items if isinstance(item, Area) and len(vertices_of(item.path)) == 4
        ]
        return said, [length / fan.scale for length in lines if abs(length - 2.6) > 1e-6], [tip(head) for head in heads]

    return run


def tip(head: Any) -> tuple[float, float]:
    """Where an arrow points: from the middle of its base to its tip."""
    base = (head[1] + head[2]) / 2
    return tuple(head[0] - base)


def outward(tips: Sequence[tuple[float, float]]) -> list[bool]:
    """Whether arrows point up."""
    return [y > 0 for _, y in tips]


def test_a_filling_says_where_it_begins_and_how_far_it_goes(measured: Measured) -> None:
    """6 mm out from the round before, 14 mm long: two arrows outward, each as long as it says."""
    said, lengths, tips = measured(
        {"knot": {"rays": 4}, "at": "12 mm"}, {"weave": {"rays": 4}, "gap": "6 mm", "to": "32 mm"}
    )
    assert said == ["6 mm", "14 mm"]
    assert lengths == pytest.approx([6, 14], abs=0.01)
    assert outward(tips) == [True, True]


def test_the_way_back_into_a_band_points_inward(measured: Measured) -> None:
    """From 28 mm back to 16 mm, and 6 mm out again: an arrow each way."""
    said, lengths, tips = measured(
        {"knot": {"rays": 4}, "at": "12 mm"},
        {"knot": {"rays": 4}, "at": "28 mm"},
        {"wrap": {"rays": 4}, "at": "16 mm", "to": "22 mm"},
    )
    assert said == ["–12 mm", "6 mm"]
    assert lengths == pytest.approx([12, 6], abs=0.01)
    assert outward(tips) == [False, True]


def test_a_wavy_round_marks_all_its_distances(measured: Measured) -> None:
    """5 and 8 mm out: one arrow to the farther, and a bar at the nearer."""
    said, lengths, tips = measured({"knot": {"rays": 4}, "at": "12 mm"}, {"knot": {"rays": 4}, "gap": ["5 mm", "8 mm"]})
    assert said == ["5 8 mm"]
    assert lengths == pytest.approx([8], abs=0.01)
    assert outward(tips) == [True]


def test_many_distances_take_two_lines(measured: Measured) -> None:
    """None is left out where they are too long for one."""
    gaps = [f"{3.1 + step} mm" for step in range(6)]
    said, _, _ = measured({"knot": {"rays": 4}, "at": "12 mm"}, {"knot": {"rays": 4}, "gap": gaps})
    assert said[-2:] == ["3.1 4.1 5.1", "6.1 7.1 8.1 mm"]


def test_loops_of_thread_have_their_own_measure(measured: Measured) -> None:
    """Picots that stand out 3 mm say so beyond the distance of their knots."""
    said, lengths, _ = measured(
        {"knot": {"rays": 4}, "at": "25 mm"}, {"edge-picots": {"height": "3 mm", "inset": "6 mm"}}
    )
    assert said == ["9 mm", "3 mm"]
    assert lengths == pytest.approx([9, 3], abs=0.01)
