"""A pattern on another loom: counts divide, distances are scaled, the file and the model change alike."""

import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.craft.adapt import (
    Fitting,
    adapt,
    amended,
    common_sizes,
    fitted_part,
    fitted_sizes,
    fitted_weave,
    nearest_divisor,
    other_loom,
    scaled,
    sized,
)
from pipeline.craft.assembly import place
from pipeline.craft.check import Checked, check
from pipeline.craft.counts import Counts, Item
from pipeline.files import check_file
from pipeline.records import LoomSpec, Measures, Part
from pipeline.rewrite import rewrite
from pipeline.symbols import SymbolSet
from pipeline.units import Length

CheckText = Callable[..., Checked]
DEMOS = sorted(file for file in (Path(__file__).parents[2] / "patterns").glob("*.yaml") if file.stem != "publisher")


@pytest.mark.parametrize("demo", DEMOS, ids=lambda file: file.stem)
@pytest.mark.parametrize("pins", [36, 44, 72])
def test_the_changed_file_and_the_changed_model_are_the_same_pattern(demo: Path, pins: int, symbols: SymbolSet) -> None:
    """The text with its changes, read anew, gives the figures of the model with its changes; every count divides."""
    checked = check_file(demo)
    assert checked.pattern
    assert checked.source
    measures = {name: value * 0.9 for name in Measures.model_fields if (value := getattr(checked.pattern.loom, name))}
    loom = other_loom(checked.pattern.loom, pins, measures)
    changes = adapt(checked.pattern, loom, symbols)
    text = rewrite(checked.source, {change.path: change.now for change in changes}, drop=("sizes", "assembly"))
    again = check(demo.name, text.encode(), demo.stem, symbols, {})
    assert again.lace, [problem.message for problem in again.problems]
    model = place(amended(checked.pattern, loom, symbols), symbols)
    assert [done.net for done in again.lace.rounds] == pytest.approx([done.net for done in model.rounds], abs=1e-6)
    assert not {"rays-do-not-divide", "part-does-not-divide"} & {finding.code for finding in model.findings}


def test_the_same_loom_changes_nothing(symbols: SymbolSet, check_text: CheckText, example: dict[str, Any]) -> None:
    """No pins, no size: no change."""
    checked = check_text(example)
    assert checked.pattern
    assert adapt(checked.pattern, other_loom(checked.pattern.loom, None, {}), symbols) == ()


def test_distances_are_scaled_and_percentages_stay(
    symbols: SymbolSet, check_text: CheckText, example: dict[str, Any]
) -> None:
    """Half the diameter: 15 mm become 7.5 mm, 0.8 cm 0.4 cm, and 60 % of the radius stay as they are."""
    example["rounds"] = [
        {"knot": {"rays": 4}, "at": "15 mm"}, {"knot": {"rays": 4}, "gap": "0.8 cm"}, {"knot": {"rays": 4}, "at": "60%"},
    ]  # fmt: skip
    checked = check_text(example)
    assert checked.pattern
    changes = adapt(checked.pattern, other_loom(checked.pattern.loom, None, {"diameter": 40.0}), symbols)
    assert [(change.was, change.now) for change in changes] == [
        ("80 mm", "40 mm"), ("15 mm", "7.5 mm"), ("0.8 cm", "0.4 cm"),
    ]  # fmt: skip


@given(
    sizes=st.lists(st.tuples(st.integers(1, 9), st.booleans()), min_size=1, max_size=5),
    rays=st.integers(20, 400),
)
def test_fitted_sizes_divide_and_stay_as_near_as_they_can(sizes: list[tuple[int, bool]], rays: int) -> None:
    """Their sum is the divisor nearest to the old sum; every size moves by its share, rounded up or down."""
    counted = Counts(tuple(Item(size, tied) for size, tied in sizes))
    fitted = fitted_sizes(counted, rays)
    period = sum(fitted)
    divisors = [n for n in range(len(sizes), rays + 1) if rays % n == 0]
    assert period == min(divisors, key=lambda n: (abs(n - counted.period), n))
    assert all(size >= 1 for size in fitted)
    if period >= counted.period:
        shares = [size * period / counted.period for size, _ in sizes]
        assert all(math.floor(share) <= size <= math.ceil(share) for share, size in zip(shares, fitted, strict=True))


def test_groups_need_a_ray_each() -> None:
    """Four groups of 2 rays become four of one ray where there are four, and stay as they are where there are three."""
    counted = Counts((Item(2),) * 4)
    assert fitted_sizes(counted, 4) == (1, 1, 1, 1)
    assert fitted_sizes(counted, 3) == (2, 2, 2, 2)


SHARED: list[tuple[tuple[int, ...], int, tuple[int, ...]]] = [
    # 5/6, 10/6 and 15/6 rays of 5: at least 1, and of 1, 1, 2 the second lacks most.
    ((1, 2, 3), 5, (1, 2, 2)),
    # 39/11, 52/11 and 52/11 of 13: 3, 4 and 4, and the two that lack most have one more.
    ((3, 4, 4), 13, (3, 5, 5)),
    # Three are more than 2 rays, the nearest divisor of 14; of 7 each has 7/3. Of equal ones the first is given more.
    ((1, 1, 1), 14, (3, 2, 2)),
    ((1, 1, 1, 1), 7, (2, 2, 2, 1)),
    # Half a ray each is one: what that takes is taken from the others, ray by ray, until they are down at 1.
    ((1, 1, 10), 6, (1, 1, 4)),
    ((1, 1, 1, 1, 8), 6, (1, 1, 1, 1, 2)),
    ((1, 1, 1, 3), 4, (1, 1, 1, 1)),
    # Of 2.5 and 2, both 2, the one that lacks nothing gives; of equal ones the first.
    ((1, 1, 1, 5, 4), 6, (1, 1, 1, 2, 1)),
    ((1, 1, 4, 4), 5, (1, 1, 1, 2)),
]


@pytest.mark.parametrize(("sizes", "rays", "wanted"), SHARED)
def test_rays_are_shared_out_by_largest_remainder(sizes: tuple[int, ...], rays: int, wanted: tuple[int, ...]) -> None:
    """By hand: every group has the whole rays of its share, but one at least; who lacks most is given the next."""
    assert fitted_sizes(Counts(tuple(Item(size) for size in sizes)), rays) == wanted


TOGETHER: list[tuple[list[tuple[tuple[int, ...], int]], int, dict[int, int]]] = [
    # 39 is 3 × 13, 9 is 3 × 3: four rays more or less are tried, not five.
    ([((9,), 1)], 39, {9: 13}),
    ([((8,), 1)], 39, {}),
    ([((7,), 1)], 9, {7: 3}),
    ([((8,), 1)], 9, {}),
    ([((1,), 1)], 7, {1: 1}),
    # Four kinds of sizes are fitted together, not five.
    ([((2, 3, 4, 5), 1)], 42, {2: 2, 3: 3, 4: 4, 5: 5}),
    ([((1, 2, 3, 4, 5), 1)], 45, {}),
    # Two groups twice are four, enough, and as many as there are distances; 2 and 2 may stay.
    ([((2, 2), 4)], 8, {2: 2}),
    # 3 divides 36, 3 + 4 does not: 2 + 4 and 3 + 3 do and are as near; smaller ones come first.
    ([((3,), 1), ((4, 3), 1)], 36, {3: 2, 4: 4}),
    ([], 36, {}),
]


@pytest.mark.parametrize(("rounds", "rays", "wanted"), TOGETHER)
def test_sizes_that_rounds_share_change_together(
    rounds: list[tuple[tuple[int, ...], int]], rays: int, wanted: dict[int, int]
) -> None:
    """By hand: of all choices within four rays the nearest that gives every round three groups and its distances."""
    grouped = [(Counts(tuple(Item(size) for size in sizes)), distances) for sizes, distances in rounds]
    assert common_sizes(grouped, rays) == wanted


def test_a_weave_that_nothing_fits_goes_over_one_and_under_one() -> None:
    """Over 1 and under 2 on 22 rays: 11 is 5 and 6, too far off to be tried. A rib of 2 and 2 goes forward from then."""
    assert fitted_weave(Counts(over=1, under=2), 22) == (1, 1)
    assert fitted_weave(Counts(over=2, under=2, back=True), 24) == (1, 2)


def test_a_part_that_cannot_repeat_as_often_takes_the_nearest_divisor() -> None:
    """Six parts of 48 rays do not divide 50: 10 is nearer to 8 than 5. Four of 44 have 11 rays, two groups of 4 in each."""
    for part, rays, wanted in (((4, 4, 8), 50, (5, 4, 10)), ((0, 12, 12), 44, (0, 8, 11))):
        start, taken, every = part
        written = Part.model_construct(start=start, rays=taken, every=every)
        fitted = fitted_part(written, 4, Fitting(48, rays, 1.0, {}))
        assert (fitted.start, fitted.rays, fitted.every) == wanted


def test_of_two_divisors_as_near_the_smaller_is_taken() -> None:
    """By hand: 5 and 7 are no divisors of 24, 4 and 6 are as near to 5; 1 divides all."""
    assert nearest_divisor(5, 24) == 4
    assert nearest_divisor(7, 24) == 6
    assert nearest_divisor(1, 7) == 1


def test_groups_of_equal_size_stay_equal(symbols: SymbolSet, check_text: CheckText, example: dict[str, Any]) -> None:
    """Leaves stand over the knots they grow from: five stay five together, or become six together."""
    example["loom"]["pins"] = 60
    example["rounds"] = [
        {"knot": {"rays": 5}, "at": "15 mm"}, {"weave": {"rays": [5, {"pass": 5}], "as": "leaf"}, "gap": "1 mm", "to": "25 mm"},
    ]  # fmt: skip
    checked = check_text(example)
    assert checked.pattern
    found = amended(checked.pattern, other_loom(checked.pattern.loom, 54, {}), symbols)
    assert found.rounds[0].parameters["rays"] == 6
    weave = found.rounds[1].parameters["rays"]
    assert (weave[0], weave[1].passed) == (6, 6)


def test_no_distance_is_scaled_to_nothing(check_text: CheckText, example: dict[str, Any]) -> None:
    """0.06 mm from the centre become 0.1 mm, the least that is written, on a loom half as large; not 0 mm."""
    example["rounds"] = [{"wrap": {"rays": 6}, "at": "0.06 mm", "to": "30 mm"}]
    example["sizes"] = [{"name": "S", "loom": {"diameter": "40 mm", "pins": 24}}]
    assert check_text(example).pattern
    assert scaled(Length(0.06, "mm"), 0.5) == Length(0.1, "mm")
    assert scaled(Length(0.001, "in"), 0.1) == Length(0.001, "in")


SMALLER = {"shape": "circle", "diameter": "40 mm", "pins": 30}
"""Half as large as the example's loom, and 60 rays in place of 48."""
BY_HAND: list[tuple[dict[str, Any], dict[tuple[str | int, ...], tuple[str, str]]]] = [
    # 8 divides no 60; 6 and 10 are as near, and the smaller is taken. A shift of half a group stays one.
    (
        {"knot": {"rays": 8, "shift": 4}, "at": "15 mm"},
        {("knot", "rays"): ("8", "6"), ("knot", "shift"): ("4", "3"), ("at",): ("15 mm", "7.5 mm")},
    ),
    # Of 6 and 10 only 10 leaves a number of groups that three distances divide.
    (
        {"knot": {"rays": [8, {"pass": 8}], "shift": 8}, "gap": ["16 mm", "18 mm", "17 mm"]},
        {
            ("knot", "rays", 0): ("8", "10"), ("knot", "rays", 1, "pass"): ("8", "10"), ("knot", "shift"): ("8", "10"),
            ("gap", 0): ("16 mm", "8 mm"), ("gap", 1): ("18 mm", "9 mm"), ("gap", 2): ("17 mm", "8.5 mm"),
        },
    ),
    # Per cent scale by themselves; a band's end is a distance like others.
    ({"wrap": {"rays": 4}, "at": "40%", "to": "25 mm"}, {("to",): ("25 mm", "12.5 mm")}),
    (
        {"edge-picots": {"height": "3 mm", "inset": "4 mm"}},
        {("edge-picots", "height"): ("3 mm", "1.5 mm"), ("edge-picots", "inset"): ("4 mm", "2 mm")},
    ),
    # 16 divides no 60: over 15 and under 15 are nearest, 14 with 14 or 16 divide nothing.
    (
        {"darn": {"over": 16, "under": 16}, "at": "1 cm"},
        {("darn", "over"): ("16", "15"), ("darn", "under"): ("16", "15"), ("at",): ("1 cm", "0.5 cm")},
    ),
    # 13 + 3 and 5 + 3 divide 48. Of 60 divide sums of 15 and 10, 6 …: one less under, or two more over.
    (
        {"darn": {"over": 13, "under": 3}, "at": "1 cm"},
        {("darn", "over"): ("13", "12"), ("at",): ("1 cm", "0.5 cm")},
    ),
    # A rib goes 8 rays on; 6 and 10 are as near, and less over and under comes first.
    ({"rib": {"over": 1, "under": 9}, "at": "1 in"}, {("rib", "under"): ("9", "7"), ("at",): ("1 in", "0.5 in")}),
    # Three parts stay three: 20 rays each in place of 16, of which 10 in place of 8, from 5 in place of 4.
    (
        {"knot": {"rays": 2}, "at": "10 mm", "part": {"from": 4, "rays": 8, "every": 16}},
        {
            ("part", "from"): ("4", "5"), ("part", "rays"): ("8", "10"), ("part", "every"): ("16", "20"),
            ("at",): ("10 mm", "5 mm"),
        },
    ),
    # In a part of 12 rays in place of 9 knots of 3 still fit: 9·20/16 = 11.25, the nearest whole groups are 12 rays.
    (
        {"knot": {"rays": 3}, "at": "10 mm", "part": {"rays": 9, "every": 16}},
        {("part", "rays"): ("9", "12"), ("part", "every"): ("16", "20"), ("at",): ("10 mm", "5 mm")},
    ),
    # Sixteen parts of 3 rays cannot stay sixteen in 60: every 3 again, which makes twenty.
    ({"knot": {"rays": 3}, "at": "10 mm", "part": {"rays": 3, "every": 3}}, {("at",): ("10 mm", "5 mm")}),
]  # fmt: skip


@pytest.mark.parametrize(("entry", "wanted"), BY_HAND, ids=lambda value: str(value)[:30])
def test_every_change_of_a_round_by_hand(
    symbols: SymbolSet,
    check_text: CheckText,
    example: dict[str, Any],
    entry: dict[str, Any],
    wanted: dict[tuple[str | int, ...], tuple[str, str]],
) -> None:
    """From 24 pins and 80 mm to 30 pins and 40 mm: what is not told is not changed; the model has the same values."""
    checked, small = (check_text(example | {"rounds": [entry], "loom": loom}) for loom in (example["loom"], SMALLER))
    assert checked.pattern
    assert small.pattern
    loom = other_loom(checked.pattern.loom, 30, {"diameter": 40.0})
    changes = {change.path: (change.was, change.now) for change in adapt(checked.pattern, loom, symbols)}
    assert changes == {
        ("loom", "diameter"): ("80 mm", "40 mm"), ("loom", "pins"): ("24", "30"),
        **{("rounds", 0, *path): words for path, words in wanted.items()},
    }  # fmt: skip
    agree(checked, loom, symbols)


def agree(checked: Checked, loom: LoomSpec, symbols: SymbolSet) -> None:
    """The file with its changes written has the rounds of the pattern with its changes made."""
    assert checked.pattern
    assert checked.source
    changes = {change.path: change.now for change in adapt(checked.pattern, loom, symbols)}
    again = check("trial.yaml", rewrite(checked.source, changes, drop=("sizes",)).encode(), "trial", symbols, {})
    assert again.pattern
    assert again.pattern.rounds == amended(checked.pattern, loom, symbols).rounds


def test_measures_are_written_to_a_hundredth(
    symbols: SymbolSet, check_text: CheckText, example: dict[str, Any]
) -> None:
    """40.126 mm is written as 40.13 mm, 120 as 120 and not as 1.2E+2; what is not said of the loom stays."""
    example["loom"] = {"shape": "oval", "width": "80 mm", "height": "100 mm", "pins": 24, "hold": "notch"}
    checked = check_text(example)
    assert checked.pattern
    loom = other_loom(checked.pattern.loom, None, {"width": 40.126, "height": 120.0})
    assert (loom.shape, loom.hold, loom.pins, loom.diameter) == ("oval", "notch", 24, None)
    changes = [change for change in adapt(checked.pattern, loom, symbols) if change.path[0] == "loom"]
    assert [(change.path[1], change.was, change.now) for change in changes] == [
        ("width", "80 mm", "40.13 mm"), ("height", "100 mm", "120 mm"),
    ]  # fmt: skip


def test_a_loom_of_a_file_is_written_out(symbols: SymbolSet) -> None:
    """A pattern on a loom that has a name gets a loom written out: shape, size, pins and what holds the web."""
    file = Path(__file__).parents[1] / "cases" / "workspace" / "patterns" / "loom-unknown-not.yaml"
    checked = check_file(file)
    assert checked.pattern
    loom = other_loom(checked.pattern.loom, 30, {"diameter": 60.0})
    first = adapt(checked.pattern, loom, symbols)[0]
    assert (first.path, first.was) == (("loom",), "")
    assert first.now == "{shape: circle, diameter: 60 mm, pins: 30, hold: notch}"


def test_groups_that_stand_in_turn_at_distances_still_divide_them(
    symbols: SymbolSet, check_text: CheckText, example: dict[str, Any]
) -> None:
    """Twelve groups at two distances; on 20 pins 40/4 = 10 still do, on 18 pins 36/4 = 9 do not and 36/3 = 12 do."""
    example["rounds"] = [{"knot": {"rays": 4}, "at": ["15 mm", "17 mm"]}]
    checked = check_text(example)
    assert checked.pattern
    for pins, size in ((20, 4), (18, 3)):
        found = amended(checked.pattern, other_loom(checked.pattern.loom, pins, {}), symbols)
        assert found.rounds[0].parameters["rays"] == size


def test_another_size_leaves_behind_what_was_measured_on_this_one(
    symbols: SymbolSet, check_text: CheckText, example: dict[str, Any]
) -> None:
    """Measured thread, mat and other sizes are this loom's own; the loom is the size's, its hold the pattern's."""
    example["measured"] = {"A": "7 m"}
    example["assembly"] = {"layout": "grid", "columns": 2, "rows": 2, "joins": 1}
    example["sizes"] = [
        {"name": "S", "loom": {"diameter": "60 mm", "pins": 18}},
        {"name": "L", "loom": {"diameter": "90 mm", "pins": 24}},
    ]
    example["loom"]["hold"] = "pin"
    checked = check_text(example)
    assert checked.pattern
    (small, lace), (large, wide) = sized(checked.pattern, symbols)
    assert (small.name, lace.loom.pins, lace.loom.radius, lace.loom.hold) == ("S", 18, 30, "pin")
    assert (large.name, wide.loom.pins, wide.loom.radius) == ("L", 24, 45)
    assert (lace.mat, lace.totals["A"].measured) == (None, None)
    found = amended(checked.pattern, other_loom(checked.pattern.loom, 18, {}), symbols)
    assert (found.measured, found.assembly, found.sizes, found.loom.pins) == ({}, None, (), 18)


def test_groups_that_fit_no_new_number_of_rays_are_fitted_by_themselves(
    symbols: SymbolSet, check_text: CheckText, example: dict[str, Any]
) -> None:
    """Sixteen of 48 rays on 7 pins: of 12 to 20 none divides 14 three times, so the nearest divisor is taken, 14.

    Two groups of 3 and 1 at four distances are left as they are on 20 pins: 40 rays make ten times two groups.
    """
    for rays, at, pins, wanted in ((16, "15 mm", 7, 14), ([3, 1], ["15 mm", "16 mm", "17 mm", "18 mm"], 20, (3, 1))):
        checked = check_text(example | {"rounds": [{"knot": {"rays": rays}, "at": at}]})
        assert checked.pattern
        found = amended(checked.pattern, other_loom(checked.pattern.loom, pins, {}), symbols)
        assert found.rounds[0].parameters["rays"] == wanted


CANNOT_FIT: list[dict[str, Any]] = [
    {"knot": {"rays": 2}, "at": "15 mm", "part": {"rays": 4, "every": 100}},
    {"knot": {"rays": [1] * 13}, "at": "15 mm"},
    {"knot": {"rays": [1, 1, 1, 1]}, "at": "15 mm", "part": {"rays": 4, "every": 4}},
    {"knot": {"rays": [1, 1, 1, 1]}, "at": "15 mm", "part": {"rays": 2, "every": 2}},
]
"""Parts further apart than there are rays; more groups than there are rays on six pins, or in a part."""


@pytest.mark.parametrize("entry", CANNOT_FIT, ids=str)
def test_counts_that_fit_no_rays_at_all_are_told(
    symbols: SymbolSet, check_text: CheckText, example: dict[str, Any], entry: dict[str, Any]
) -> None:
    """On the pattern's own loom, in a size of six pins, or on both, as errors; the file and the model still agree."""
    example |= {"rounds": [entry], "sizes": [{"name": "S", "loom": {"diameter": "40 mm", "pins": 6}}]}
    checked = check_text(example)
    assert not checked.ok
    assert checked.pattern
    agree(checked, other_loom(checked.pattern.loom, 6, {"diameter": 40.0}), symbols)


def test_parts_further_apart_than_there_are_rays_become_one(
    symbols: SymbolSet, check_text: CheckText, example: dict[str, Any]
) -> None:
    """Every 100 of 48 rays is no whole part: on 60 rays it comes once, with as large a share of them, 4 of 100."""
    example["rounds"] = [{"knot": {"rays": 2}, "at": "15 mm", "part": {"from": 10, "rays": 40, "every": 100}}]
    checked = check_text(example)
    assert checked.pattern
    part = amended(checked.pattern, other_loom(checked.pattern.loom, 30, {}), symbols).rounds[0].part
    assert part
    assert (part.start, part.rays, part.every) == (6, 24, 60)
