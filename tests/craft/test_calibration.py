"""A sample calibrates the model: what it implies makes its tightest ray just reach."""

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
