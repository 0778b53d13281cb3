"""All rounds together: what follows from what, and what it comes to."""

import math
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.craft.assembly import Lace, working_lengths
from pipeline.craft.check import Checked
from pipeline.pattern_model import Pattern
from pipeline.records import Tails

CheckText = Callable[..., Checked]
PlaceTree = Callable[[dict[str, Any]], Lace]


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


def test_what_just_fits_wants_no_further_length() -> None:
    """1500 mm less two tails of 150 hold 1200 mm to the hair; two lengths, joined by 100 mm, hold 2600 mm, three 4000."""
    told: dict[str, Any] = {"tails": Tails.model_construct(start=150.0, finish=150.0, rejoin=100.0)}
    pattern = Pattern.model_construct(working_length=1500.0, **told)
    found = [working_lengths(net, pattern) for net in (0.0, 1200.0, 1200.01, 2600.0, 2600.01, 4000.0)]
    assert found == [1, 1, 2, 2, 3, 3]


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


# What the whole is made of, by hand


R = 40.0


def thick(tex: float, volume: float = 1.10) -> float:
    return math.sqrt(4 * volume * tex / (1000 * math.pi))


def test_the_web_may_be_laid_in_another_thread_over_holding_thread(
    place_tree: PlaceTree, example: dict[str, Any]
) -> None:
    """24 pins of 40 mm: 12 diameters, 11 chords beside them, half a ray at either end, half a turn round each pin."""
    example["threads"]["B"] = {"fibre": "linen", "tex": 60, "colour": "#1b4f72", "colour_name": "blue"}
    example["holding_thread"] = {"fibre": "silk", "tex": 90, "colour": "#999999", "colour_name": "grey"}
    example["web"] = {"thread": "B"}
    example["tails"] = {"start": "100 mm", "finish": "70 mm"}
    lace = place_tree(example)
    half_turns = 24 * math.pi * (thick(60, 1.11) + thick(90, 1.24)) / 2
    net = 2 * R + 12 * 2 * R + 11 * 2 * R * math.cos(math.pi / 24) + half_turns
    assert lace.web_thread == "B"
    assert lace.web.net == pytest.approx(net)
    assert lace.web.cut == pytest.approx(net + 170)
    assert lace.totals["B"].net == pytest.approx(net + math.fsum(done.net for done in lace.rounds))
    assert lace.totals["A"].net == 0
    assert [done.thread for done in lace.rounds] == ["B", "B"]


def test_rows_in_two_threads_are_runs_of_their_own(place_tree: PlaceTree, example: dict[str, Any]) -> None:
    """A, B, B and then knots in B: the last two rows and the knots are one run, the first row another.

    Each has its two tails of 150 mm; 500 mm lengths joined by 100 mm are as many as hold it.
    """
    example["threads"]["B"] = {"fibre": "cotton", "tex": 40, "colour": "#1b4f72", "colour_name": "blue"}
    example["working_length"] = "500 mm"
    example["rounds"] = [
        {"darn": {}, "at": "10 mm", "rows": 3, "thread": ["A", "B", "B"]},
        {"knot": {"rays": 4}, "at": "20 mm", "thread": "B"},
    ]
    lace = place_tree(example)
    darn, knots = lace.rounds
    a, b = lace.totals["A"], lace.totals["B"]
    run = darn.row_nets[1] + darn.row_nets[2] + knots.net
    lengths = next(k for k in range(1, 9) if run + 300 + (k - 1) * 100 <= k * 500)
    assert darn.net == pytest.approx(math.fsum(darn.row_nets))
    first = darn.row_nets[0]
    assert [a.net, a.total] == pytest.approx([lace.web.net + first, lace.web.cut + first + 300])
    assert [b.net, b.total] == pytest.approx([run, run + 300 + (lengths - 1) * 100])
    assert (a.working_lengths, b.working_lengths) == (1, lengths)
    assert b.grams == pytest.approx(b.total / 1e6 * 40)
    assert (b.balls, b.measured) == (None, None)


@pytest.mark.parametrize(
    ("fibre", "written", "per_cent"),
    [
        ("cotton", None, 3.0),
        ("linen", None, 1.5),
        ("silk", None, 5.0),
        ("wool", None, 5.0),
        ("silk", 2, 2.0),
        ("cotton", 0, 0.0),
    ],
)
def test_a_budget_is_what_is_asked_of_pin_fibre_and_slack(
    place_tree: PlaceTree, example: dict[str, Any], fibre: str, written: float | None, per_cent: float
) -> None:
    """Knots of six rays at 20 mm draw their outer rays aside by a pin's angle of 15°, on 40 mm of free length.

    The give is 1 mm at the pin and the fibre's per cent and 4 of the length (design section 5).
    """
    example["threads"]["A"]["fibre"] = fibre
    example["give"] = {"pin": "1 mm", "slack_pct": 4} | ({} if written is None else {"fibre_pct": written})
    example["rounds"] = [{"knot": {"rays": 6}, "at": "20 mm"}]
    (done,) = place_tree(example).rounds
    asked = 20 + math.sqrt(R**2 + 20**2 - 2 * R * 20 * math.cos(math.radians(15))) - R
    assert done.budget == pytest.approx(asked / (1 + (per_cent + 4) / 100 * R))
    assert [done.budgets[0], done.budgets[5]] == pytest.approx([done.budget] * 2)
    assert done.budgets[2] == pytest.approx(0, abs=1e-12)
    assert done.demands[0].mm == pytest.approx(asked)
    assert max(ray.stretch for ray in done.rays) == pytest.approx((R + asked) / R)


def test_a_round_knows_what_it_is(place_tree: PlaceTree, example: dict[str, Any]) -> None:
    """Darn, rib, knots, cords, leaves and an edge: rows, knots, bundles, phase, symbol, by the design's words."""
    example["loom"] |= {"pins": 30}
    example["rounds"] = [
        {"darn": {"over": 5, "under": 5}, "rows": 3}, {"rib": {"over": 1, "under": 3}, "gap": "1 mm", "rows": 2},
        {"knot": {"rays": 5}, "at": "14 mm"}, {"wrap": {"rays": 5}, "at": "15 mm", "to": "18 mm"},
        {"weave": {"rays": 5, "as": "leaf"}, "at": "20 mm", "to": "30 mm"}, {"edge-arches": {}},
    ]  # fmt: skip
    found = place_tree(example).rounds
    assert [done.number for done in found] == [1, 2, 3, 4, 5, 6]
    assert [done.in_rows for done in found] == [True, True, False, False, False, False]
    assert [done.tied for done in found] == [False, False, True, False, False, True]
    assert [done.rows for done in found] == [3, 2, 1, 1, 1, 1]
    assert [done.crossings for done in found] == [12, 30, 0, 0, 0, 0]
    assert [done.phase_shift for done in found] == [True, False, False, False, False, False]
    assert [done.knots for done in found] == [0, 0, 13, 0, 0, 31]
    assert [done.outline for done in found] == ["", "", "", "", "leaf", ""]
    assert [done.symbol for done in found[:4]] == ["darn", "rib", "knot", "wrap"]
    assert found[4].symbol == "weave-leaf"
    assert [done.outer for done in found[3:5]] == [18, 30]
    assert [done.radius for done in found[2:5]] == [14, 15, 20]
    assert found[5].radius == pytest.approx(R - R / 8)


def test_what_goes_on_where(place_tree: PlaceTree, example: dict[str, Any]) -> None:
    """A gap counts from a filling's end; the way to a round is straight from where the thread was, and a darn has none."""
    example["rounds"] = [
        {"knot": {"rays": 4}, "at": "10 mm"}, {"wrap": {"rays": 4}, "gap": "2 mm", "to": "18 mm"},
        {"knot": {"rays": 4, "shift": 2}, "gap": ["5 mm", "6 mm"]}, {"darn": {}, "gap": "2 mm"},
    ]  # fmt: skip
    lace = place_tree(example)
    first, cords, second, darn = lace.rounds
    assert [cords.radius, *second.worked.row_radii, second.outer, darn.radius] == pytest.approx([12, 23, 24, 24, 26])
    assert [abs(node.point) for node in second.worked.nodes[:2]] == pytest.approx([23, 24])
    assert first.carry == pytest.approx(10)
    assert cords.carry == pytest.approx(2)
    assert second.carry == pytest.approx(abs(second.worked.nodes[0].point - cords.end))
    assert abs(cords.end) == pytest.approx(18)
    assert darn.carry == 0
    assert lace.rays_before(0) == lace.bare_rays()
    assert lace.rays_before(2) == cords.rays
    assert {ray.lock for ray in lace.bare_rays()} == {0j}
    assert [ray.pin for ray in lace.bare_rays()[:4]] == [lace.loom.point(pin) for pin in (0, 0, 1, 1)]


def test_rows_of_a_half_circle_alternate_over_all_rounds(place_tree: PlaceTree, example: dict[str, Any]) -> None:
    """Two rows of a darn come back to the left end: knots begin there; after these one comes from the right."""
    example["loom"] = {"shape": "half-circle", "diameter": "80 mm", "pins": 24}
    example["rounds"] = [
        {"darn": {}, "at": "10 mm", "rows": 2}, {"knot": {"rays": 4}, "at": "15 mm"}, {"knot": {"rays": 4}, "at": "20 mm"},
        {"darn": {}, "at": "25 mm", "rows": 3}, {"knot": {"rays": 4}, "at": "30 mm"},
    ]  # fmt: skip
    found = place_tree(example).rounds
    assert [done.backward for done in found] == [False, False, True, False, True]
    assert found[1].worked.nodes[0].rays == (0, 1, 2, 3)
    assert found[2].worked.nodes[0].rays == (44, 45, 46, 47)
    assert found[1].end == found[1].worked.nodes[-1].point
    assert found[2].carry == pytest.approx(abs(found[2].worked.nodes[0].point - found[1].end))


def test_a_ray_held_twice_by_a_round_is_told_by_the_lock_that_asks_most(
    place_tree: PlaceTree, example: dict[str, Any]
) -> None:
    """A cord of six rays is made at 15 and at 25 mm: the outer rays are drawn together once, at its inner end.

    By the cosine rule √(40² + 15² − 1200·cos 15°) + 15 − 40 there; up the cord nothing more is asked than its own way:
    10 mm and from 25 mm at its pin's angle to the pin, less what is left of the ray's natural length.
    """
    example["rounds"] = [{"wrap": {"rays": 6}, "at": "15 mm", "to": "25 mm"}]
    (done,) = place_tree(example).rounds

    def far(level: float) -> float:
        return math.sqrt(R**2 + level**2 - 2 * R * level * math.cos(math.radians(15)))

    first = 15 + far(15) - R
    natural = far(15) / ((15 + far(15)) / R)
    second = 10 + far(25) - natural
    give = 1.5 + 0.05 * R, 1.5 + 0.05 * natural
    assert done.budgets[0] == pytest.approx(max(first / give[0], second / give[1]))
    assert done.demands[0].mm == pytest.approx(second)
    assert done.demands[0].natural == pytest.approx(natural)


def test_balls_are_bought_whole(place_tree: PlaceTree, example: dict[str, Any]) -> None:
    """As many balls of 2 m as the thread's total begins."""
    example["threads"]["A"] = {
        "fibre": "cotton",
        "metres": 2,
        "grams": 0.08,
        "colour": "#1b4f72",
        "colour_name": "blue",
    }
    total = place_tree(example).totals["A"]
    assert total.balls == math.ceil(total.total / 2000)
    assert total.grams == pytest.approx(total.total / 1000 * 0.04)


@pytest.mark.parametrize(("share", "balls"), [(1, 1), (0.5, 2), (0.9995, 2), (0.4995, 3), (1.0005, 1)])
def test_a_ball_that_just_lasts_is_enough(
    place_tree: PlaceTree, example: dict[str, Any], share: float, balls: int
) -> None:
    """Balls that hold just what is wanted, half of it, a little less or more; 25 m of 40 tex weigh a gram."""
    wanted = place_tree(example).totals["A"]
    metres = wanted.total / 1000 * share
    colour = {"colour": "#1b4f72", "colour_name": "blue"}
    example["threads"]["A"] = {"fibre": "cotton", "metres": metres, "grams": metres / 25} | colour
    total = place_tree(example).totals["A"]
    assert (wanted.balls, total.balls) == (None, balls)
    assert [total.total, total.grams * 25_000] == pytest.approx([wanted.total] * 2, rel=1e-9)


@pytest.mark.parametrize(
    "entry", [{"knot": {"rays": 4}, "at": "20 mm"}, *({stitch: {"rays": 4}, "at": "20 mm", "to": "25 mm"} for stitch in ("wrap", "weave"))],
    ids=lambda entry: next(iter(entry)),
)  # fmt: skip
def test_every_kind_of_row_goes_back_on_a_half_circle(
    place_tree: PlaceTree, example: dict[str, Any], entry: dict[str, Any]
) -> None:
    """After one row of knots the next begins with the last group of the twelve."""
    example["loom"] = {"shape": "half-circle", "diameter": "80 mm", "pins": 24}
    _, back = place_tree(example | {"rounds": [{"knot": {"rays": 4}, "at": "15 mm"}, entry]}).rounds
    assert [node.rays[0] for node in back.worked.nodes] == list(range(44, -1, -4))


@pytest.mark.parametrize("entry", [{"wrap": {"rays": 2}}, {"weave": {"rays": 2}}], ids=lambda entry: next(iter(entry)))
def test_fillings_of_parts_go_back_from_the_last_part(
    place_tree: PlaceTree, example: dict[str, Any], entry: dict[str, Any]
) -> None:
    """Three parts of two groups on a half-circle, after one row of knots: the last group of the last part is the first."""
    example["loom"] = {"shape": "half-circle", "diameter": "80 mm", "pins": 24}
    parts = entry | {"at": "20 mm", "to": "25 mm", "part": {"rays": 4, "every": 16}}
    _, back = place_tree(example | {"rounds": [{"knot": {"rays": 2}, "at": "15 mm"}, parts]}).rounds
    assert [node.rays for node in back.worked.nodes] == [(34, 35), (32, 33), (18, 19), (16, 17), (2, 3), (0, 1)]
