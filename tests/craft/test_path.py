"""The working order: one path a round, as long as the thread it is reckoned at."""

import itertools
import math
import random
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import pytest

from pipeline.craft.assembly import Lace
from pipeline.craft.path import Move, drawn_mm, taken_up_mm, working_path
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
    assert (begin.to, begin.does) == (0, "begin")
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


def test_loops_stand_outward_whichever_way_a_round_goes(place_tree: PlaceTree, example: dict[str, Any]) -> None:
    """The second round of a half-circle goes back: the tips of its loops lie outside its knots, too."""
    example["loom"] = {"shape": "half-circle", "diameter": "80 mm", "pins": 24}
    example["rounds"] = [{"knot": {"rays": 4}, "at": "15 mm"}, {"edge-picots": {"height": "3 mm", "inset": "6 mm"}}]
    lace = place_tree(example)
    assert lace.rounds[1].backward
    assert min(abs(move.to) for move in working_path(lace, 1) if move.does == "loop") > 34


def turns_of(moves: Sequence[Move]) -> list[list[Move]]:
    """The moves of every row, in the order they are made."""
    return [list(row) for _, row in itertools.groupby(moves, key=lambda move: move.row)]


def test_rows_of_a_wheel_all_go_clockwise_and_begin_over(place_tree: PlaceTree, example: dict[str, Any]) -> None:
    """24 bundles of two: the first row passes over the first, the second under it, both from ray 0 on."""
    lace = place_tree(example | {"rounds": [{"darn": {}, "at": "12 mm", "rows": 2}]})
    first, second = turns_of(working_path(lace, 0))
    d = math.sqrt(4 * 1.10 * 40 / (1000 * math.pi))
    for row, number, radius in ((first, 0, 12.0), (second, 1, 12 + d)):
        assert [move.rays for move in row] == [(2 * k, 2 * k + 1) for k in range(24)]
        assert [move.does for move in row] == [("over", "under")[(k + number) % 2] for k in range(24)]
        assert [abs(move.to) for move in row] == pytest.approx([radius] * 24)
        assert [_angle(move.to) for move in row[:6]] == pytest.approx([k * math.tau / 24 for k in range(6)])
    shares = {move.take_up for row in (first, second) for move in row}
    assert len(shares) == 1


def test_an_odd_spiral_goes_on_by_turns(place_tree: PlaceTree, example: dict[str, Any]) -> None:
    """Three bundles of sixteen rays: over, under, over, and the next row begins under; nothing is shifted."""
    lace = place_tree(example | {"rounds": [{"darn": {"over": 16, "under": 16}, "at": "12 mm", "rows": 2}]})
    assert [move.does for move in working_path(lace, 0)] == ["over", "under", "over", "under", "over", "under"]


def test_rows_of_a_half_circle_turn_at_its_ends(place_tree: PlaceTree, example: dict[str, Any]) -> None:
    """Five rows go there and back and end there; the next darn begins where they ended, at the last bundle."""
    darns: list[dict[str, Any]] = [{"darn": {}, "at": "12 mm", "rows": 5}, {"darn": {}, "at": "20 mm", "rows": 2}]
    lace = place_tree(example | {"loom": {"shape": "half-circle", "diameter": "80 mm", "pins": 24}, "rounds": darns})
    there = [(2 * k, 2 * k + 1) for k in range(24)]
    found = [[[move.rays for move in row] for row in turns_of(working_path(lace, number))] for number in range(2)]
    assert found == [[there, there[::-1], there, there[::-1], there], [there[::-1], there]]
    assert lace.rounds[1].backward


@pytest.mark.parametrize("first", [0, 1, 7])
def test_rows_of_a_part_turn_at_its_ends(place_tree: PlaceTree, example: dict[str, Any], first: int) -> None:
    """Three parts of six rays: each is darned there and back before the next one is begun."""
    entry = {"darn": {}, "at": "12 mm", "rows": 2, "part": {"from": first, "rays": 6, "every": 16}}
    lace = place_tree(example | {"rounds": [entry]})
    wanted = [
        rays for start in (first, first + 16, first + 32)
        for rays in [(start + k, start + k + 1) for k in (0, 2, 4)] + [(start + k, start + k + 1) for k in (4, 2, 0)]
    ]  # fmt: skip
    assert [move.rays for move in working_path(lace, 0)] == wanted


def test_a_rib_goes_back_over_its_rays_one_stitch_after_another(place_tree: PlaceTree, example: dict[str, Any]) -> None:
    """Back over 2, forward under 4: 24 stitches, each over two rays, two rays on from the one before."""
    lace = place_tree(example | {"rounds": [{"rib": {"over": 2, "under": 4}, "at": "15 mm"}]})
    moves = [move for move in working_path(lace, 0) if move.row == 0]
    assert [move.rays for move in moves] == [(2 * k, (2 * k + 1) % 48) for k in range(24)]
    assert {move.does for move in moves} == {"back"}


def test_cords_are_reached_coiled_and_left_for_the_next(place_tree: PlaceTree, example: dict[str, Any]) -> None:
    """Go to its inner end, coil to its outer one; what the coil takes beside its length by the helix of the design."""
    lace = place_tree(example | {"rounds": [{"wrap": {"rays": [4, {"pass": 12}]}, "at": "15 mm", "to": "20 mm"}]})
    begin, *moves = working_path(lace, 0)
    assert (begin.to, begin.does) == (0, "begin")
    assert [move.does for move in moves] == ["go", "coil"] * 3
    assert [abs(move.to) for move in moves] == pytest.approx([15, 20] * 3)
    groups = [(0, 1, 2, 3), (16, 17, 18, 19), (32, 33, 34, 35)]
    assert [move.rays for move in moves] == [group for group in groups for _ in ("go", "coil")]
    d = math.sqrt(4 * 1.10 * 40 / (1000 * math.pi))
    coil = 5 / d * math.hypot(math.pi * (d * math.sqrt(4 / 0.75) + d), d)
    assert [move.take_up for move in moves] == pytest.approx([0, coil - 5] * 3)


def test_a_bar_is_woven_to_and_fro(place_tree: PlaceTree, example: dict[str, Any]) -> None:
    """Rows a thread apart go there and back over the rays of the group, the first from its first; then to its end."""
    lace = place_tree(example | {"rounds": [{"weave": {"rays": [3, {"pass": 13}]}, "at": "15 mm", "to": "18 mm"}]})
    begin, go, *moves = working_path(lace, 0)[: 2 + 3 * 13 + 1]
    assert (begin.does, go.does, go.rays, moves[-1].does, moves[-1].rays) == (
        "begin",
        "go",
        (0, 1, 2),
        "turn",
        (0, 1, 2),
    )
    rows = turns_of(moves[:-1])
    assert len(rows) == round(3 / math.sqrt(4 * 1.10 * 40 / (1000 * math.pi)))
    for number, row in enumerate(rows):
        assert [move.rays for move in row] == [(0,), (1,), (2,)][:: (-1) ** number]
    assert [move.does for move in rows[0]] == ["over", "under", "over"]
    assert [move.does for move in rows[1]] == ["under", "over", "under"]


def test_a_bar_is_woven_where_its_rays_lie_and_takes_what_it_is_reckoned_at(
    place_tree: PlaceTree, example: dict[str, Any]
) -> None:
    """Over knots at 15 mm six rays go straight from their knot to three pins, and rows cross them on that way.

    The knot stands before the second pin; two rays of one pin lie side by side, each half a thread off their line. What
    moves take beside their way, all of a group alike, makes it the net length.
    """
    bar = {"weave": {"rays": [6, {"pass": 10}]}, "at": "17 mm", "to": "25 mm"}
    knots = {"knot": {"rays": [6, {"pass": 10}]}, "at": "15 mm"}
    lace = place_tree(example | {"rounds": [knots, bar]})
    moves = working_path(lace, 1)
    assert drawn_mm(moves) + taken_up_mm(moves) == pytest.approx(lace.rounds[1].net, abs=1e-9)
    group = [move for move in moves if move.rays and set(move.rays) <= set(range(6)) and move.does != "go"]
    assert group[-1].does == "turn"
    assert len({move.take_up for move in group}) == 1
    assert group[0].take_up > 0
    knot = 15 * _direction(1)
    for move in group[:-1]:
        pin = 40 * _direction(move.rays[0] // 2)
        across = ((move.to - knot) * (pin - knot).conjugate()).imag / abs(pin - knot)
        assert abs(across) <= 0.5 * math.sqrt(4 * 1.10 * 40 / (1000 * math.pi)) + 0.01
        assert 17 < abs(move.to) < 25.1


def _direction(pin: float) -> complex:
    """From the centre to a pin of 24: up is real, right imaginary."""
    return complex(math.cos(pin * math.tau / 24), math.sin(pin * math.tau / 24))


def test_an_open_round_ties_each_group_once(place_tree: PlaceTree, example: dict[str, Any]) -> None:
    """Left open it has no knot more than groups; each takes a knot's thread, and it begins where the last round ended."""
    example["rounds"] = [{"knot": {"rays": 4}, "at": "15 mm"}, {"knot": {"rays": 4}, "at": "20 mm", "close": False}]
    lace = place_tree(example)
    begin, *knots = working_path(lace, 1)
    assert begin.to == lace.rounds[0].end
    assert [move.rays for move in knots] == [tuple(range(4 * k, 4 * k + 4)) for k in range(12)]
    d = math.sqrt(4 * 1.10 * 40 / (1000 * math.pi))
    assert [move.take_up for move in knots] == pytest.approx([math.pi * (d * math.sqrt(4 / 0.75) + d) + 3 * d] * 12)
