"""The object of ``check --json``."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from pipeline.craft.check import Checked

CheckText = Callable[..., Checked]
GOOD = Path(__file__).parents[1] / "cases" / "good" / "harbour-wheel.yaml"

# Design section 8: the true figures for the first example of section 4.
PRINTED = """
{"pattern": "harbour-wheel", "ok": true, "pins": 60, "rays": 120,
  "lay": {"net_mm": 5101.045, "cut_mm": 5401.045},
  "rounds": [
   {"round": 1, "stitch": "darn", "radius_mm": 8.588, "rows": 3, "groups": 0, "knots": 0, "shift": 0, "phase_shift": true,
    "thread": "A", "net_mm": 255.781, "stretch_pct": 0.010, "budget": 0.001},
   {"round": 2, "stitch": "knot", "radius_mm": 15.0, "rows": 1, "groups": 20, "knots": 21, "shift": 0, "phase_shift": false,
    "thread": "A", "net_mm": 207.583, "stretch_pct": 1.010, "budget": 0.105},
   {"round": 3, "stitch": "knot", "radius_mm": 24.0, "rows": 1, "groups": 20, "knots": 21, "shift": 3, "phase_shift": false,
    "thread": "A", "net_mm": 267.446, "stretch_pct": 4.307, "budget": 0.408},
   {"round": 4, "stitch": "edge-loops", "radius_mm": 37.602, "rows": 1, "groups": 60, "knots": 61, "shift": 0,
    "phase_shift": false, "thread": "A", "net_mm": 486.824, "stretch_pct": 4.960, "budget": 0.371}],
  "threads": {"A": {"net_mm": 6318.679, "total_mm": 7018.679, "grams": 0.585, "working_lengths": 2, "measured_mm": null}},
  "stretch": {"max_pct": 4.960, "max_budget": 0.408, "round": 3},
  "problems": []}
"""


def same(printed: Any, found: Any, where: str) -> None:
    """Every printed figure is the found one to its three decimals; the rest is equal."""
    if isinstance(printed, dict):
        for key, value in printed.items():
            same(value, found[key], f"{where}.{key}")
    elif isinstance(printed, list):
        assert len(printed) == len(found), where
        for index, value in enumerate(printed):
            same(value, found[index], f"{where}[{index}]")
    elif isinstance(printed, float):
        assert abs(found - printed) <= 0.0005 + 1e-9, where
    else:
        assert (type(printed), printed) == (type(found), found), where


@pytest.fixture
def harbour(check_text: CheckText) -> dict[str, Any]:
    found: dict[str, Any] = check_text(GOOD.read_text(encoding="utf-8"), "harbour-wheel").as_json()
    return found


def test_the_first_example_has_the_printed_figures(harbour: dict[str, Any]) -> None:
    """All figures of design section 8, to the printed digit."""
    same(json.loads(PRINTED), harbour, "harbour-wheel")
    assert harbour["lay"]["order"][:4] == [0, 30, 1, 31]
    assert len(harbour["lay"]["order"]) == 60


def test_the_parts_add_up(harbour: dict[str, Any]) -> None:
    """Net of the thread is laying and rounds; the total is the web's cut and one run with its tails and one join."""
    rounds = sum(facts["net_mm"] for facts in harbour["rounds"])
    thread = harbour["threads"]["A"]
    assert thread["net_mm"] == pytest.approx(harbour["lay"]["net_mm"] + rounds, abs=1e-5)
    assert thread["total_mm"] == pytest.approx(harbour["lay"]["cut_mm"] + rounds + 300 + 100, abs=1e-5)
    assert thread["grams"] == pytest.approx(thread["total_mm"] / 1e6 * 83.3, abs=1e-6)


def test_numbers_are_plain_and_no_coarser_than_a_thousandth(harbour: dict[str, Any]) -> None:
    """Plain JSON numbers: a length that is no whole number shows more than two decimals."""
    assert json.loads(json.dumps(harbour, allow_nan=False)) == harbour
    lengths = [harbour["lay"]["net_mm"], *(facts["net_mm"] for facts in harbour["rounds"])]
    assert all(isinstance(length, float) and length != round(length, 2) for length in lengths)


def test_a_pattern_that_computes_nothing_has_no_tightest_round(check_text: CheckText, example: dict[str, Any]) -> None:
    """With every round left out the stretch names no round, and the web is still told."""
    example["rounds"] = [{"knot": {"rays": 7}, "at": "15 mm"}]
    found = check_text(example).as_json()
    assert (found["ok"], found["rounds"], found["stretch"]["round"]) == (False, [], None)
    assert found["lay"]["net_mm"] > 0
    assert found["threads"]["A"]["total_mm"] == found["lay"]["cut_mm"]
