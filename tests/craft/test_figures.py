"""The object of ``check --json``."""

import json
import math
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
    assert (found["ok"], found["rounds"]) == (False, [])
    assert found["stretch"] == {"max_pct": 0, "max_budget": 0, "round": None}
    assert found["lay"]["net_mm"] > 0
    assert found["threads"]["A"]["total_mm"] == found["lay"]["cut_mm"]


def test_a_mat_comes_to_its_wheels(check_text: CheckText, example: dict[str, Any]) -> None:
    """Three columns of two wheels of 80 mm, the middle one half a wheel lower, by hand.

    Columns stand √3·40 mm apart. Two wheels touch in each column and three pairs between two columns: nine joins of three.
    """
    alone = check_text(example).as_json()
    assert "mat" not in alone
    example["assembly"] = {"layout": "hex", "columns": 3, "rows": 2, "joins": 3}
    mat = check_text(example).as_json()["mat"]
    thread = alone["threads"]["A"]
    assert mat.pop("width_mm") == pytest.approx(2 * math.sqrt(3) * 40 + 80, abs=1e-6)
    assert mat.pop("height_mm") == pytest.approx(200, abs=1e-6)
    assert mat.pop("total_mm") == {"A": pytest.approx(6 * thread["total_mm"], abs=1e-5)}
    assert mat.pop("grams") == {"A": pytest.approx(6 * thread["grams"], abs=1e-5)}
    assert mat == {"layout": "hex", "wheels": 6, "joins": 27}


def test_a_thread_is_told_in_every_count(check_text: CheckText, example: dict[str, Any]) -> None:
    """40 tex are 360 denier, Nm 25 and Ne 590.541/40; balls of 5 m are so many as the total wants, begun ones whole."""
    example["threads"]["A"] = {"fibre": "cotton", "metres": 5, "grams": 0.2, "colour": "#1b4f72", "colour_name": "blue"}
    thread = check_text(example).as_json()["threads"]["A"]
    assert (thread["tex"], thread["denier"], thread["nm"]) == (40, 360, 25)
    assert thread["ne"] == pytest.approx(590.541 / 40, abs=1e-6)
    assert thread["balls"] == math.ceil(thread["total_mm"] / 5000)
    assert thread["thickness_mm"] == pytest.approx(math.sqrt(4 * 1.10 * 40 / (1000 * math.pi)), abs=1e-6)


def test_a_round_is_told_whole(check_text: CheckText, example: dict[str, Any]) -> None:
    """A darn in two threads, then an open round of knots: outer level, letters of all rows, whether it is closed."""
    example["threads"]["B"] = dict(example["threads"]["A"])
    example["rounds"] = [
        {"darn": {}, "at": "10 mm", "rows": 3, "thread": ["A", "B", "A"]},
        {"knot": {"rays": 4, "shift": 2}, "at": ["16 mm", "15 mm"], "close": False, "thread": "B"},
    ]
    darn, knot = check_text(example).as_json()["rounds"]
    assert (darn["threads"], darn["thread"], darn["rows"], darn["closed"]) == (["A", "B", "A"], "A", 3, False)
    assert darn["outer_mm"] == pytest.approx(10 + 2 * math.sqrt(4 * 1.10 * 40 / (1000 * math.pi)), abs=1e-6)
    assert (knot["threads"], knot["thread"], knot["closed"], knot["shift"]) == (["B"], "B", False, 2)
    assert (knot["groups"], knot["knots"], knot["radius_mm"], knot["outer_mm"]) == (12, 12, 16, 16)
    assert knot["rows"] == 1


def test_figures_have_six_places(check_text: CheckText, example: dict[str, Any]) -> None:
    """A length is rounded to a millionth of a mm, no coarser."""
    checked = check_text(example)
    assert checked.lace
    net = checked.lace.rounds[1].net
    assert abs(checked.as_json()["rounds"][1]["net_mm"] - net) <= 5e-7
    assert checked.as_json()["rounds"][1]["net_mm"] == float(f"{net:.6f}")
