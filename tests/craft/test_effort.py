"""A pattern that would take too long is known before it is reckoned."""

from collections.abc import Callable
from typing import Any

import pytest
import yaml

from pipeline.craft import advice, fillings
from pipeline.craft.assembly import Lace
from pipeline.craft.check import Checked
from pipeline.craft.effort import MOST_EFFORT, ROW_EFFORT, effort, effort_findings
from pipeline.craft.thread import thickness
from pipeline.pattern import parse
from pipeline.source import read
from pipeline.symbols import SymbolSet

CheckText = Callable[..., Checked]
PlaceTree = Callable[[dict[str, Any]], Lace]
KNOT = {"knot": {"rays": 4}, "at": "15 mm"}
LOOMS = [(1000, 1), (1000, 2), (1000, 3), (500, 1), (500, 2), (500, 3), (500, 4)]


def test_a_round_of_knots_counts_its_rays(check_text: CheckText, example: dict[str, Any]) -> None:
    """Two rounds on 24 pins are 96 rays."""
    pattern = check_text(example).pattern
    assert pattern
    assert effort(pattern) == 2 * 48


def test_a_filling_counts_its_rows(check_text: CheckText, example: dict[str, Any]) -> None:
    """Ten millimetres at a pitch of one thickness, beside the round itself."""
    example["rounds"] = [KNOT, {"weave": {"rays": 4}, "at": "18 mm", "to": "28 mm"}]
    pattern = check_text(example).pattern
    assert pattern
    rows = int(10 / thickness(40, 1.10))
    assert effort(pattern) == round(48 * (2 + ROW_EFFORT * rows))


@pytest.mark.parametrize(
    ("place", "to", "rows"),
    [
        ({"gap": "3 mm"}, "28 mm", 118),
        ({"at": "18 mm"}, "70%", 42),
        ({"at": "20%"}, "28 mm", 84),
        ({"at": "28 mm"}, "18 mm", 0),
    ],
)
def test_a_filling_is_as_long_as_its_way_out(
    check_text: CheckText, example: dict[str, Any], place: dict[str, str], to: str, rows: int
) -> None:
    """Cotton of 40 tex is 0.2367 mm thick: 28 mm are 118 rows, 10 mm 42, 20 mm 84; the wrong way round it has none.

    What counts from the round before is taken to begin at the centre, for where that round ends is not known yet.
    """
    example["rounds"] = [{"weave": {"rays": 4}, "to": to} | place]
    pattern = check_text(example).pattern
    assert pattern
    assert effort(pattern) == round(48 + 48 * 0.4 * rows)


def test_what_is_too_long_says_how_much_would_do(symbols: SymbolSet, example: dict[str, Any]) -> None:
    """Rounds of 2000 rays on a loom, on three like it and on four of half as many pins are 12 000 rays each.

    80 000 are the most: six rounds are 72 000, seven are 84 000, and six of them would do.
    """
    loom = {"diameter": "1 m", "pins": 1000}
    example["loom"] = loom | {"shape": "circle"}
    example["sizes"] = [{"name": f"S{pins}-{n}", "loom": loom | {"pins": pins}} for pins, n in LOOMS]
    found = []
    for rounds in (6, 7):
        example["rounds"] = [{"knot": {"rays": 4}, "gap": "40 mm"} for _ in range(rounds)]
        parsed = parse(read("trial.yaml", yaml.safe_dump(example, sort_keys=False).encode()), symbols.forms, {})
        assert parsed.pattern
        found.append([(finding.path, finding.facts) for finding in effort_findings(parsed.pattern)])
    assert found == [[], [(("rounds",), {"rounds": 7, "looms": 8, "most": 6})]]


@pytest.mark.parametrize(("sizes", "known"), [(8, True), (7, False)])
def test_sizes_count_as_the_pattern_does(
    symbols: SymbolSet, example: dict[str, Any], sizes: int, *, known: bool
) -> None:
    """Five rounds on a thousand pins: in eight looms as much as may be, in nine too much, said at the rounds."""
    loom = {"diameter": "1 m", "pins": 1000}
    example["loom"] = loom | {"shape": "circle"}
    example["rounds"] = [{"knot": {"rays": 4}, "gap": "80 mm"} for _ in range(5)]
    example["sizes"] = [{"name": f"S{number}", "loom": loom} for number in range(sizes)]
    parsed = parse(read("trial.yaml", yaml.safe_dump(example, sort_keys=False).encode()), symbols.forms, {})
    assert parsed.pattern
    assert [finding.code for finding in effort_findings(parsed.pattern)] == ["pattern-too-long"] * known
    assert ((1 + sizes) * 5 * 2000 > MOST_EFFORT) == known


@pytest.mark.parametrize("outline", ["bar", "leaf", "point"])
def test_few_rows_stand_for_very_many(
    place_tree: PlaceTree, example: dict[str, Any], monkeypatch: pytest.MonkeyPatch, outline: str
) -> None:
    """Seventy rows and more, reckoned one by one or sixteen for all: the same thread to a hundredth."""
    example["rounds"] = [KNOT, {"weave": {"rays": 4, "as": outline}, "at": "18 mm", "to": "38 mm"}]
    whole = place_tree(example).rounds[1].net
    monkeypatch.setattr(fillings, "MOST_PLACES", 16 * 48)
    few = place_tree(example).rounds[1].net
    assert few != whole
    assert few == pytest.approx(whole, rel=0.01)


def test_hints_are_tried_only_as_long_as_somebody_waits(
    check_text: CheckText, example: dict[str, Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The same slip with the time for one try, and with none: the first finds what helps, the other says no more."""
    example["rounds"].append({"knot": {"rays": 4}, "gap": "0.1 mm"})
    for most, helped in ((3 * 48, True), (3 * 48 - 1, False)):
        monkeypatch.setattr(advice, "MOST_RECKONED", most)
        (problem,) = [problem for problem in check_text(example).problems if problem.code == "rounds-crowded"]
        assert ("tried and good" in problem.hint) == helped
