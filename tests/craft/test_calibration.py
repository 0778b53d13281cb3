"""A sample calibrates the model: what it implies makes its tightest ray just reach."""

import math
from collections.abc import Callable
from typing import Any

import pytest

from pipeline.craft.calibration import calibrate
from pipeline.craft.check import Checked

CheckText = Callable[..., Checked]


@pytest.mark.parametrize("part", ["pin", "slack_pct"])
def test_the_implied_give_is_just_enough(check_text: CheckText, example: dict[str, Any], part: str) -> None:
    """With the give that calibrate reports, the largest budget of the lace is 1."""
    example["rounds"] += [{"knot": {"rays": 4, "shift": 2}, "gap": "8 mm"}]
    example["give"] = {"pin": "0.3 mm", "fibre_pct": 1, "slack_pct": 0.5}
    checked = check_text(example)
    assert checked.pattern
    assert checked.lace
    found = calibrate(checked.pattern, checked.lace)
    assert found.pin_mm is not None
    assert found.slack_pct is not None
    example["give"][part] = f"{found.pin_mm:.9f} mm" if part == "pin" else found.slack_pct
    lace = check_text(example).lace
    assert lace
    assert max(done.budget for done in lace.rounds) == pytest.approx(1.0, abs=1e-6)


def test_the_ratio_is_measured_over_estimated(check_text: CheckText, example: dict[str, Any]) -> None:
    """A sample that took as much as a tenth more than the estimate has a ratio of 1.1."""
    plain = check_text(example).lace
    assert plain
    example["measured"] = {"A": f"{plain.totals['A'].total * 1.1:.6f} mm"}
    checked = check_text(example)
    assert checked.pattern
    assert checked.lace
    assert calibrate(checked.pattern, checked.lace).ratios == {"A": pytest.approx(1.1)}


def test_without_a_round_that_asks_there_is_nothing_to_imply(check_text: CheckText, example: dict[str, Any]) -> None:
    """A rib takes rays where their free lines are, and asks for nothing."""
    example["rounds"] = [{"rib": {}, "at": "12 mm"}]
    checked = check_text(example)
    assert checked.pattern
    assert checked.lace
    assert calibrate(checked.pattern, checked.lace).pin_mm is None


@pytest.mark.parametrize(
    ("give", "pin", "slack"),
    [
        ({"pin": "9 mm", "fibre_pct": 3, "slack_pct": 2}, 0.0, 0.0),
        ({"pin": "0.1 mm", "fibre_pct": 50, "slack_pct": 2}, 0.0, 0.0),
    ],
)
def test_where_other_allowances_are_enough_none_is_implied(
    check_text: CheckText, example: dict[str, Any], give: dict[str, Any], pin: float, slack: float
) -> None:
    """Much give at the pin leaves no slack to imply; a fibre that gives enough leaves neither."""
    example["rounds"] = [{"knot": {"rays": 4}, "at": "10 mm"}]
    checked = check_text(example | {"give": give})
    assert checked.pattern
    assert checked.lace
    found = calibrate(checked.pattern, checked.lace)
    assert (found.pin_mm, found.slack_pct) == (pin, slack)


def test_the_fibre_s_own_stretch_counts_where_none_is_written(check_text: CheckText, example: dict[str, Any]) -> None:
    """One round of knots of six rays at 20 mm on cotton, worked by hand.

    The outer rays of three pins are drawn aside by a pin's angle, 15°: by the cosine rule their outer part becomes
    √(40² + 20² − 1600·cos 15°), so each asks for that and 20 mm less 40 mm, on 40 mm of free length.
    """
    example["rounds"] = [{"knot": {"rays": 6}, "at": "20 mm"}]
    example["give"] = {"pin": "0.1 mm", "slack_pct": 0.25}
    checked = check_text(example)
    assert checked.pattern
    assert checked.lace
    asked = 20 + math.sqrt(40**2 + 20**2 - 1600 * math.cos(math.radians(15))) - 40
    found = calibrate(checked.pattern, checked.lace)
    assert found.pin_mm == pytest.approx(asked - 0.0325 * 40)
    assert found.slack_pct == pytest.approx((asked - 0.1) / 40 * 100 - 3)


def test_a_sample_that_asks_for_nothing_still_says_what_it_took(check_text: CheckText, example: dict[str, Any]) -> None:
    """The ratio of a measured thread needs no ray that was drawn aside."""
    example["rounds"] = [{"rib": {}, "at": "12 mm"}]
    plain = check_text(example).lace
    assert plain
    example["measured"] = {"A": f"{plain.totals['A'].total * 2:.6f} mm"}
    checked = check_text(example)
    assert checked.pattern
    assert checked.lace
    found = calibrate(checked.pattern, checked.lace)
    assert found.ratios == {"A": pytest.approx(2)}
    assert (found.pin_mm, found.slack_pct) == (None, None)


def test_a_thread_that_is_not_used_has_no_ratio(check_text: CheckText, example: dict[str, Any]) -> None:
    """It is measured, but the pattern asks for none of it, which is a warning and no more."""
    example["threads"]["B"] = dict(example["threads"]["A"])
    example["measured"] = {"A": "7 m", "B": "2 m"}
    checked = check_text(example)
    assert checked.ok
    assert checked.pattern
    assert checked.lace
    assert set(calibrate(checked.pattern, checked.lace).ratios) == {"A"}
