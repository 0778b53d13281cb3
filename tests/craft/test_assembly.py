"""All rounds together: what follows from what, and what it comes to."""

import math
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.craft.assembly import working_lengths
from pipeline.craft.check import Checked
from pipeline.pattern import Pattern
from pipeline.records import Tails

CheckText = Callable[..., Checked]


def rounds(check_text: CheckText, tree: dict[str, Any]) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = check_text(tree).as_json()["rounds"]
    return found


def test_a_gap_counts_from_the_last_row_of_a_darn(check_text: CheckText, example: dict[str, Any]) -> None:
    """Three rows lie two thicknesses beyond the first; the next round's gap counts from there."""
    example["rounds"] = [{"darn": {}, "at": "10 mm", "rows": 3}, {"knot": {"rays": 4}, "gap": "5 mm"}]
    d = math.sqrt(4 * 1.10 * 40 / (1000 * math.pi))
    assert [facts["radius_mm"] for facts in rounds(check_text, example)] == pytest.approx([10, 10 + 2 * d + 5])


def test_a_first_gap_counts_from_the_centre(check_text: CheckText, example: dict[str, Any]) -> None:
    """The first round's distance is one from the centre, ``at`` or ``gap``."""
    example["rounds"] = [{"knot": {"rays": 4}, "gap": "12 mm"}]
    by_gap = rounds(check_text, example)
    example["rounds"] = [{"knot": {"rays": 4}, "at": "12 mm"}]
    assert by_gap == rounds(check_text, example)


def test_per_cent_are_of_the_radius(check_text: CheckText, example: dict[str, Any]) -> None:
    """30 % of a loom of 80 mm across are 12 mm, as distance and as inset."""
    example["rounds"] = [{"knot": {"rays": 4}, "at": "30%"}, {"edge-loops": {"inset": "10%"}}]
    assert [facts["radius_mm"] for facts in rounds(check_text, example)] == pytest.approx([12, 36])


@pytest.mark.parametrize("left_out", [{"knot": {"rays": 7}, "at": "15 mm"}, {"knot": {"rays": 4}, "at": "41 mm"}])
def test_a_round_left_out_leaves_the_others_as_if_it_were_not_there(
    check_text: CheckText, example: dict[str, Any], left_out: dict[str, Any]
) -> None:
    """Counts that do not divide, or a place outside: the others keep their numbers, gap and carry skip it."""
    tail = [{"knot": {"rays": 4}, "gap": "6 mm"}, {"edge-arches": {}}]
    example["rounds"] = [{"darn": {}}, *tail]
    without = rounds(check_text, example)
    example["rounds"] = [{"darn": {}}, left_out, *tail]
    checked = check_text(example)
    assert not checked.ok
    found = checked.as_json()["rounds"]
    assert [facts["round"] for facts in found] == [1, 3, 4]
    assert [facts | {"round": 0} for facts in found] == [facts | {"round": 0} for facts in without]


def test_a_darn_after_a_first_round_left_out_is_the_first(check_text: CheckText, example: dict[str, Any]) -> None:
    """Where nothing has been worked yet, a darn spreads the rays evenly, whatever its number."""
    example["rounds"] = [{"darn": {}}]
    (alone,) = rounds(check_text, example)
    example["rounds"] = [{"knot": {"rays": 7}, "at": "9 mm"}, {"darn": {}}]
    assert rounds(check_text, example) == [alone | {"round": 2}]


@pytest.mark.parametrize("wrong", [{"rays": 4, "shift": 48}, {"rays": [4, {"pass": 20}]}, {"rays": [17, 10, 10, 11]}])
def test_every_other_error_leaves_its_round_in(
    check_text: CheckText, example: dict[str, Any], wrong: dict[str, Any]
) -> None:
    """A shift too large, too few groups or too wide ones are errors, and the round is still computed."""
    example["rounds"] = [{"darn": {}}, {"knot": wrong, "at": "15 mm"}]
    checked = check_text(example)
    assert not checked.ok
    assert [facts["round"] for facts in checked.as_json()["rounds"]] == [1, 2]


def test_a_shift_is_reported_as_written(check_text: CheckText, example: dict[str, Any]) -> None:
    """A shift of two whole groups ties the same groups, but another one is first, and the number stays."""
    example["rounds"] = [{"darn": {}}, {"knot": {"rays": 4, "shift": 9}, "at": "15 mm"}]
    nine = rounds(check_text, example)[1]
    example["rounds"][1]["knot"]["shift"] = 1
    one = rounds(check_text, example)[1]
    assert (nine["shift"], one["shift"]) == (9, 1)
    assert nine["budget"] == pytest.approx(one["budget"])
    assert nine["net_mm"] != pytest.approx(one["net_mm"], rel=1e-4)  # the way to the first knot is another


def test_the_way_to_a_round_counts_where_the_thread_changes_too(check_text: CheckText, example: dict[str, Any]) -> None:
    """A round in another thread as thick takes as much as in the same thread, carry included."""
    example["rounds"].append({"knot": {"rays": 4, "shift": 2}, "gap": "5 mm"})
    same = rounds(check_text, example)
    example["threads"]["B"] = dict(example["threads"]["A"])
    example["rounds"][2]["thread"] = "B"
    assert [facts["net_mm"] for facts in rounds(check_text, example)] == [facts["net_mm"] for facts in same]


def test_rays_passed_over_keep_their_last_lock(check_text: CheckText, example: dict[str, Any]) -> None:
    """A ray that a round does not take is neither locked nor asked for anything."""
    example["rounds"][1]["knot"]["rays"] = [3, {"pass": 1}]
    lace = check_text(example).lace
    assert lace is not None
    first, second = lace.rounds
    passed = range(3, 48, 4)
    assert all(second.rays[ray] == first.rays[ray] for ray in passed)
    assert all(second.budgets[ray] == 0 for ray in passed)
    assert all(abs(second.rays[ray].lock) == pytest.approx(15) for ray in range(48) if ray not in passed)


@given(
    net=st.floats(0, 50_000),
    length=st.floats(101, 5000),
    start=st.floats(0, 300),
    rejoin=st.floats(0, 100),
)
def test_working_lengths_are_the_fewest_that_are_enough(net: float, length: float, start: float, rejoin: float) -> None:
    """So many lengths are enough with their joins, and one fewer is not."""
    told: dict[str, Any] = {"tails": Tails.model_construct(start=start, finish=150.0, rejoin=rejoin)}
    count = working_lengths(net, Pattern.model_construct(working_length=length, **told))
    hair = 1e-6
    assert net + start + 150 + (count - 1) * rejoin <= count * length + hair
    assert count == 1 or net + start + 150 + (count - 2) * rejoin > (count - 1) * length - hair


def test_runs_are_counted_one_by_one(check_text: CheckText, example: dict[str, Any]) -> None:
    """A B A are three runs: thread A pays tails twice beside the web's, and each run has its own working lengths."""
    example["threads"]["B"] = dict(example["threads"]["A"])
    example["rounds"] = [
        {"darn": {}},
        {"knot": {"rays": 4}, "gap": "6 mm", "thread": "B"},
        {"edge-loops": {}},
    ]
    found = check_text(example).as_json()
    first, second, third = (facts["net_mm"] for facts in found["rounds"])
    a, b = found["threads"]["A"], found["threads"]["B"]
    assert a["net_mm"] == pytest.approx(found["lay"]["net_mm"] + first + third)
    assert a["total_mm"] == pytest.approx(found["lay"]["cut_mm"] + first + third + 600)
    assert b["total_mm"] == pytest.approx(second + 300)
    assert (a["working_lengths"], b["working_lengths"]) == (2, 1)
    assert a["grams"] == pytest.approx(a["total_mm"] * 40 / 1e6, abs=1e-6)


def test_a_measured_thread_is_told_beside_the_estimate(check_text: CheckText, example: dict[str, Any]) -> None:
    """``measured`` is in the figures and a note says how far the estimate was; it is no warning."""
    estimate = check_text(example).as_json()["threads"]["A"]["total_mm"]
    example["measured"] = {"A": f"{estimate / 1.1:.3f} mm"}
    checked = check_text(example)
    assert checked.clean
    (problem,) = checked.problems
    assert (problem.code, problem.path) == ("measured-thread", "measured.A")
    assert "+10 %" in problem.message
    assert checked.as_json()["threads"]["A"]["measured_mm"] == pytest.approx(estimate / 1.1, abs=0.001)
