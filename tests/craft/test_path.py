"""The working order: one path a round, as long as the thread it is reckoned at."""

import itertools
import math
import random
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from pipeline.craft.assembly import Lace
from pipeline.craft.path import drawn_mm, taken_up_mm, working_path
from pipeline.files import check_file
from tests.test_notation import random_pattern

PlaceTree = Callable[[dict[str, Any]], Lace]
DEMOS = sorted(file for file in (Path(__file__).parents[2] / "patterns").glob("*.yaml") if file.stem != "publisher")


@pytest.mark.parametrize("demo", DEMOS, ids=lambda file: file.stem)
def test_drawn_length_and_take_ups_are_the_net_length(demo: Path) -> None:
    """For every round of every demo."""
    lace = check_file(demo).lace
    assert lace is not None
    for number, done in enumerate(lace.rounds):
        moves = working_path(lace, number)
        assert drawn_mm(moves) + taken_up_mm(moves) == pytest.approx(done.net, abs=1e-6)


def test_the_path_of_random_rounds_adds_up(place_tree: PlaceTree, example: dict[str, Any]) -> None:
    """The same for whatever a round can say, on looms of every shape."""
    chance = random.Random(11)  # noqa: S311
    for _ in range(60):
        lace = place_tree(random_pattern(chance, example))
        for number, done in enumerate(lace.rounds):
            moves = working_path(lace, number)
            assert drawn_mm(moves) + taken_up_mm(moves) == pytest.approx(done.net, abs=1e-6)


def test_a_knot_round_goes_from_node_to_node_and_back(place_tree: PlaceTree, example: dict[str, Any]) -> None:
    """Twelve groups: twelve knots in clockwise order, and one more at the first."""
    example["rounds"] = [{"knot": {"rays": 4}, "at": "15 mm"}]
    lace = place_tree(example)
    begin, *knots = working_path(lace, 0)
    assert begin.to == 0
    assert [move.does for move in knots] == ["knot"] * 13
    assert knots[-1].to == knots[0].to
    turns = [math.remainder(_angle(b.to) - _angle(a.to), math.tau) for a, b in itertools.pairwise(knots)]
    assert turns == pytest.approx([math.tau / 12] * 12)


def _angle(place: complex) -> float:
    return math.atan2(place.imag, place.real)


def test_rows_lie_opposite_to_one_another(place_tree: PlaceTree, example: dict[str, Any]) -> None:
    """Where a row passes over a bundle the next passes under it, whatever makes that so."""
    weaves: list[dict[str, Any]] = [
        {"darn": {"over": 2, "under": 2}, "rows": 3},
        {"darn": {"over": 1, "under": 1, "parity": "half-ray"}, "rows": 3},
        {"darn": {"over": 1, "under": 1, "parity": "pair-once"}, "rows": 3},
        {"darn": {"over": 2, "under": 2}, "rows": 3, "part": {"rays": 12, "every": 16}},
    ]
    for entry in weaves:
        lace = place_tree(example | {"rounds": [entry]})
        passed: dict[tuple[int, ...], dict[int, str]] = {}
        for move in working_path(lace, 0):
            passed.setdefault(move.rays, {})[move.row] = move.does
        for rows in passed.values():
            assert [rows[row] for row in range(3)] in (["over", "under", "over"], ["under", "over", "under"])


def test_rows_of_a_half_circle_go_there_and_back(place_tree: PlaceTree, example: dict[str, Any]) -> None:
    """The second row begins where the first one ended."""
    example["loom"] = {"shape": "half-circle", "diameter": "80 mm", "pins": 24}
    example["rounds"] = [{"knot": {"rays": 4}, "at": "15 mm"}, {"knot": {"rays": 4}, "gap": "8 mm"}]
    lace = place_tree(example)
    first, second = (working_path(lace, number) for number in range(2))
    assert [move.rays for move in second[1:]] == [move.rays for move in reversed(first[1:])]
    assert second[0].to == first[-1].to


def test_loops_stand_outward_between_knots(place_tree: PlaceTree, example: dict[str, Any]) -> None:
    """A picot's tip lies further out than its knots, by its height on a small arc."""
    example["rounds"] = [{"edge-picots": {"height": "3 mm", "inset": "6 mm"}}]
    lace = place_tree(example)
    moves = working_path(lace, 0)
    tips = [abs(move.to) for move in moves if move.does == "loop"]
    middle = 34 * math.cos(math.pi / 24)
    assert len(tips) == 24
    assert tips == pytest.approx([middle + 3] * 24)
