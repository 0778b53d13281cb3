"""Hints that were tried: what is proposed really helps."""

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import yaml

from pipeline.craft.check import Checked, check
from pipeline.problems import Severity
from pipeline.symbols import load
from pipeline.workspace import shipped

CheckText = Callable[..., Checked]

DARN: dict[str, Any] = {"darn": {}, "rows": 2}
CASES: dict[str, list[dict[str, Any]]] = {
    "rays-do-not-divide": [DARN, {"knot": {"rays": 7}, "at": "15 mm"}],
    "thread-cannot-reach": [DARN, {"knot": {"rays": 6}, "at": "15 mm"}, {"knot": {"rays": 6, "shift": 3}, "at": "19 mm"},
                            {"knot": {"rays": 12, "shift": 3}, "at": "24 mm"}],
    "knots-crowded": [DARN, {"knot": {"rays": 1}, "at": "3.4 mm"}],
    "rounds-crowded": [DARN, {"knot": {"rays": 4}, "gap": "0.1 mm"}],
    "inside-jam-limit": [{"darn": {}, "at": "1 mm"}],
    "ribs-crowded": [{"rib": {}, "at": "3 mm"}],
    "round-not-outward": [DARN, {"knot": {"rays": 4}, "at": "15 mm"}, {"knot": {"rays": 4}, "at": "14.8 mm"}],
    "round-outside-loom": [DARN, {"knot": {"rays": 4}, "at": "41 mm"}],
}  # fmt: skip


def proposals(hint: str) -> list[str]:
    """The values a hint offers, as they would be written."""
    return re.findall(r"`([^`]+)`", hint.partition("tried and good: ")[2])


@pytest.mark.parametrize("code", CASES)
def test_every_proposal_makes_its_problem_go(check_text: CheckText, example: dict[str, Any], code: str) -> None:
    """Write the proposed value into the file: the problem is gone, and no new error or warning has come."""
    example["rounds"] = CASES[code]
    before = check_text(example)
    problem = next(problem for problem in before.problems if problem.code == code)
    offered = proposals(problem.hint)
    assert offered, problem.hint
    index = int(problem.path[len("rounds[")])
    for words in offered:
        changed = apply(example, index, words)
        after = check_text(changed)
        heavy = [p.code for p in after.problems if p.severity is not Severity.NOTE]
        earlier = [p.code for p in before.problems if p.severity is not Severity.NOTE]
        assert code not in heavy or heavy.count(code) < earlier.count(code)
        assert len(heavy) < len(earlier)


def apply(tree: dict[str, Any], index: int, words: str) -> dict[str, Any]:
    """The pattern with the words of a proposal written into it."""
    told = dict(pair.split(": ") for pair in words.split(", "))
    if "pins" in told:
        return tree | {"loom": tree["loom"] | {"pins": int(told["pins"])}}
    entry = dict(tree["rounds"][index])
    stitch = next(key for key in entry if key in {"knot", "darn", "rib", "wrap", "weave"})
    for key, value in told.items():
        if key in {"at", "gap"}:
            entry = {name: old for name, old in entry.items() if name not in {"at", "gap"}} | {key: value}
        else:
            entry[stitch] = entry[stitch] | {key: int(value)}
    rounds = [*tree["rounds"]]
    rounds[index] = entry
    return tree | {"rounds": rounds}


def test_what_cannot_be_helped_is_not_promised(check_text: CheckText, example: dict[str, Any]) -> None:
    """Two knots at one node: no distance and no size near makes that work, so nothing is offered."""
    example["rounds"] = [{"knot": {"rays": 24}, "at": "15 mm"}]
    (problem,) = [p for p in check_text(example).problems if p.code == "too-few-groups"]
    assert "tried" not in problem.hint


ROUND = {"shape": "circle", "diameter": "80 mm", "pins": 24}
OFFERED: list[tuple[dict[str, Any], list[dict[str, Any]], list[str]]] = [
    # 48 rays: 6 and 8 stand one beside 7, 4 and 6 one beside 5.
    (ROUND, [{"knot": {"rays": 7}, "at": "15 mm"}], ["rays: 6", "rays: 8"]),
    (ROUND, [{"darn": {"over": 5, "under": 5}, "at": "9 mm"}], ["over: 4, under: 4", "over: 6, under: 6"]),
    # Of a part only its own rays count: 9 divide by 3; by 1 too, but then the two legs of a pin are tied at one place.
    (ROUND, [{"knot": {"rays": 2}, "at": "15 mm", "part": {"rays": 9, "every": 16}}], ["rays: 3"]),
    # Nor do sizes that divide all 48 but not the 15 of a part; after a darn both legs of a pin can be tied apart.
    (ROUND, [{"knot": {"rays": 2}, "at": "15 mm", "part": {"rays": 15, "every": 16}}], ["rays: 3", "rays: 5"]),
    (
        ROUND,
        [{"darn": {}, "at": "9 mm"}, {"knot": {"rays": 2}, "at": "15 mm", "part": {"rays": 5, "every": 16}}],
        ["rays: 1"],
    ),
    # 212 rays divide by 4 and 53; what lies between is not tried, so there is time for sizes far off.
    (ROUND | {"pins": 106}, [{"knot": {"rays": 25}, "at": "15 mm"}], ["rays: 4", "rays: 2"]),
    # Lists have no other size; 2p divides by 5 for 20, 30 and 40 pins, of which 4 divide 20 and 40.
    (ROUND, [{"knot": {"rays": [2, 3]}, "at": "15 mm"}], ["pins: 20", "pins: 30"]),
    (
        {"shape": "square", "side": "80 mm", "pins": 24},
        [{"knot": {"rays": [2, 3]}, "at": "15 mm"}],
        ["pins: 20", "pins: 40"],
    ),
    # No loom has fewer than 6: 3 divide 2p for 6 and 12 pins, 8 for 4, 8 and 12.
    (ROUND | {"pins": 8}, [{"knot": {"rays": [1, 2]}, "at": "15 mm"}], ["pins: 6", "pins: 12"]),
    (ROUND | {"pins": 6}, [{"knot": {"rays": [2, 2, 2, 2]}, "at": "15 mm"}], ["pins: 8", "pins: 12"]),
    # 14 pins would do for 7, but nobody asked for more than twice as many as there are.
    (ROUND | {"pins": 6}, [{"knot": {"rays": [3, 4]}, "at": "15 mm"}], []),
    # By half a millimetre and more, further out and further in, to a tenth of a millimetre.
    (ROUND, [{"knot": {"rays": 2}, "at": "40.04 mm"}], ["at: 39.5 mm", "at: 39 mm"]),
    (ROUND, [{"knot": {"rays": 2}, "at": "102%"}], ["at: 39.8 mm", "at: 39.3 mm"]),
    (ROUND, [{"knot": {"rays": 2}, "at": "43.5 mm"}], ["at: 39.5 mm", "at: 37.5 mm"]),
    (ROUND, [{"knot": {"rays": 2}, "at": "45.5 mm"}], ["at: 39.5 mm", "at: 37.5 mm"]),
    (ROUND, [{"knot": {"rays": 2}, "at": "47.5 mm"}], ["at: 39.5 mm"]),
    (
        ROUND,
        [{"knot": {"rays": 2}, "at": "15 mm"}, {"knot": {"rays": 2}, "gap": "26 mm"}],
        ["gap: 24.5 mm", "gap: 24 mm"],
    ),
    (
        ROUND,
        [{"knot": {"rays": 4}, "at": "15 mm"}, {"knot": {"rays": 4}, "gap": "0.1 mm"}],
        ["gap: 0.6 mm", "gap: 1.1 mm"],
    ),
    # Over 2 and under 2 are tight at 24·(d + b(2))/2π = 2.38 mm, d = 0.2367: half a millimetre out and one are tried.
    (ROUND, [{"knot": {"rays": 4}, "at": "2.3 mm"}, {"darn": {}}], ["at: 2.9 mm", "at: 3.4 mm"]),
    (ROUND, [{"darn": {}, "at": "1 mm"}], ["at: 2.4 mm", "at: tight"]),
    (ROUND, [{"darn": {}, "gap": "1 mm"}], ["at: 2.4 mm", "at: tight"]),
    # Distances in turn are not moved one by one.
    (ROUND, [{"knot": {"rays": 2}, "at": ["41 mm", "20 mm"]}], []),
    (ROUND, [{"knot": {"rays": 4}, "at": "15 mm"}, {"knot": {"rays": 4}, "at": ["15.1 mm", "17 mm"]}], []),
    (ROUND, [{"knot": {"rays": 4}, "at": "15 mm"}, {"knot": {"rays": 4}, "gap": ["0.1 mm", "2 mm"]}], []),
    # Tight at 2.38 mm fans stand 0.25 mm from the knots between them; at 2.4 mm that is less than a thread, 0.2367.
    (
        ROUND,
        [
            {"knot": {"rays": 4}, "at": "2.63 mm", "part": {"from": 12, "rays": 4, "every": 16}},
            {"darn": {}, "at": "1 mm", "rows": 1, "part": {"rays": 12, "every": 16}},
        ],
        ["at: tight"],
    ),
]


@pytest.mark.parametrize(("loom", "rounds", "offered"), OFFERED, ids=lambda value: str(value)[:40])
def test_the_nearest_values_that_help_are_offered(
    check_text: CheckText,
    example: dict[str, Any],
    loom: dict[str, Any],
    rounds: list[dict[str, Any]],
    offered: list[str],
) -> None:
    """Two at the most, nearest first, as they would be written; by hand."""
    checked = check_text(example | {"loom": loom, "rounds": rounds})
    (problem,) = [p for p in checked.problems if p.severity is not Severity.NOTE and p.path.startswith("rounds[")]
    assert proposals(problem.hint) == offered


def test_four_findings_of_a_file_are_advised_on(check_text: CheckText, example: dict[str, Any]) -> None:
    """Values are tried for the first four, and the rest are told without."""
    example["rounds"] = [{"knot": {"rays": 7}, "at": f"{10 + 2 * step} mm"} for step in range(6)]
    hints = [problem.hint for problem in check_text(example).problems]
    assert [bool(proposals(hint)) for hint in hints] == [True] * 4 + [False] * 2


def test_a_shift_can_help(check_text: CheckText, example: dict[str, Any]) -> None:
    """Knots of four from ray 1 on draw legs of three pins together; from ray 0 or 2 on those of two.

    By the cosine rule at 33 of 40 mm: a pin's angle aside, 15°, asks 4.79 mm, half of it 1.46; there are 1 + 3 % · 40.
    """
    example["rounds"] = [{"knot": {"rays": 4, "shift": 1}, "at": "33 mm"}]
    example["give"] = {"pin": "1 mm", "slack_pct": 0}
    (problem,) = [p for p in check_text(example).problems if p.code.startswith("thread-")]
    assert proposals(problem.hint) == ["shift: 0", "shift: 2"]


def test_a_stitch_of_ones_own_is_helped_whatever_it_is_called(tmp_path: Path, example: dict[str, Any]) -> None:
    """``star-tie`` has a hyphen, which no shipped stitch with sizes has."""
    text = (shipped("symbols") / "knot.yaml").read_text(encoding="utf-8").replace("stitch: knot", "stitch: star-tie")
    (tmp_path / "star-tie.yaml").write_text(text, encoding="utf-8")
    symbols = load([shipped("symbols"), tmp_path], shipped_signs=False)
    data = yaml.safe_dump(example | {"rounds": [{"star-tie": {"rays": 7}, "at": "15 mm"}]}, sort_keys=False)
    (problem,) = check("trial.yaml", data.encode(), "trial", symbols, {}).problems
    assert problem.hint.endswith("tried and good: `rays: 6` or `rays: 8`")


def test_what_helps_a_round_may_help_another_and_may_not_make_it_worse(
    check_text: CheckText, example: dict[str, Any]
) -> None:
    """A round that was short and could not reach then is no help; one that could not reach and is only short then is."""
    example["give"] = {"pin": "1 mm", "slack_pct": 0}
    example["rounds"] = [{"knot": {"rays": 8}, "at": "20 mm"}, {"knot": {"rays": 8}, "gap": "2 mm"}]
    assert strained(check_text(example)) == ["thread-short", "thread-short"]
    assert strained(check_text(apply(example, 0, "rays: 6"))) == ["", "thread-cannot-reach"]
    assert proposals(check_text(example).problems[0].hint) == ["at: 17 mm", "at: 16 mm"]
    example["give"]["pin"] = "3 mm"
    example["rounds"] = [{"knot": {"rays": 8}, "at": "30 mm"}, {"knot": {"rays": 4, "shift": 2}, "gap": "4 mm"}]
    assert strained(check_text(example)) == ["thread-short", "thread-cannot-reach"]
    assert strained(check_text(apply(example, 0, "rays: 4"))) == ["", "thread-short"]
    assert proposals(check_text(example).problems[0].hint) == ["rays: 6", "rays: 4"]


def strained(checked: Checked) -> list[str]:
    """What is said of the thread of the first and the second round."""
    said = {problem.path: problem.code for problem in checked.problems if problem.code.startswith("thread-")}
    return [said.get(f"rounds[{index}]", "") for index in range(2)]


def test_a_value_that_helps_against_something_else_is_not_offered(
    check_text: CheckText, example: dict[str, Any]
) -> None:
    """Fans between fans, a tenth of a millimetre further out, on legs of three pins: too crowded, and they do not reach.

    Half a millimetre more room is offered for the first, another shift for the second.
    """
    example["give"] = {"pin": "1 mm", "slack_pct": 0}
    example["rounds"] = [
        {"knot": {"rays": 4}, "at": "33 mm", "part": {"rays": 4, "every": 16}},
        {"knot": {"rays": 4, "shift": 1}, "gap": "0.1 mm", "part": {"from": 8, "rays": 4, "every": 16}},
    ]
    offered = {problem.code: proposals(problem.hint) for problem in check_text(example).problems}
    assert offered["rounds-crowded"] == ["gap: 0.6 mm", "gap: 1.1 mm"]
    assert offered["thread-cannot-reach"] == ["shift: 0", "shift: 2"]


def test_no_round_is_tried_at_the_centre(check_text: CheckText, example: dict[str, Any]) -> None:
    """Cords from 6.01 mm ask too much; six millimetres further in would be no distance, to a tenth."""
    example["rounds"] = [
        {"wrap": {"rays": [2, {"pass": 3}, 7], "shift": 11}, "gap": "6.01 mm", "to": "36 mm"},
        {"edge-loops": {}},
    ]
    (problem, *_) = check_text(example).problems
    assert problem.code in {"thread-short", "thread-cannot-reach"}
    assert problem.path.startswith("rounds[0]")


def test_pins_that_are_offered_fit_the_mat(check_text: CheckText, example: dict[str, Any]) -> None:
    """Of a hex mat six divide the pins, and every place where wheels meet has room for its joins.

    16 rays at a time fit 24 and 48 pins, but five joins in a row want more than the four pins that 24 have at a place.
    """
    example["rounds"] = [{"knot": {"rays": [2, 5]}, "at": "15 mm"}]
    example["loom"]["pins"] = 36
    example["assembly"] = {"layout": "hex", "columns": 2, "rows": 2, "joins": 1}
    assert offered_pins(check_text(example)) == [42]
    example["rounds"] = [{"knot": {"rays": [5, 11]}, "at": "5 mm"}]
    assert offered_pins(check_text(example)) == [24, 48]
    example["assembly"]["joins"] = 3
    assert offered_pins(check_text(example)) == [24, 48]
    example["assembly"]["joins"] = 5
    assert offered_pins(check_text(example)) == [48, 72]


def offered_pins(checked: Checked) -> list[int]:
    """Of the first problem."""
    words = proposals(checked.problems[0].hint)
    return [int(word.removeprefix("pins: ")) for word in words if word.startswith("pins: ")]


def test_the_eight_nearest_other_numbers_of_pins_are_tried(check_text: CheckText, example: dict[str, Any]) -> None:
    """27 divide 2 · 108 and twice no number between: of 100 pins 108 are the eighth, of 118 the ninth to be tried.

    The number there is, and odd numbers, are not tried.
    """
    example["rounds"] = [{"knot": {"rays": [13, 14]}, "at": "15 mm"}]
    for pins, offered in ((100, [108]), (118, [])):
        example["loom"] = {"shape": "circle", "diameter": "120 mm", "pins": pins}
        assert offered_pins(check_text(example)) == offered


def test_an_edge_has_no_distance_to_try(check_text: CheckText, example: dict[str, Any]) -> None:
    """Of a large pattern few values are tried: none for an edge that is crowded, so the round after it still gets its own.

    Two rounds of 2,000 rays leave 60,000 / 4,000 = 15 tries; distances of the edge would be 16.
    """
    example["loom"] = {"shape": "circle", "diameter": "300 mm", "pins": 1000}
    example["rounds"] = [{"edge-loops": {"inset": "30 mm"}}, {"knot": {"rays": 7}, "gap": "20 mm"}]
    crowded, divided = (p for p in check_text(example).problems if p.severity is not Severity.NOTE)
    assert crowded.code == "knots-close"
    assert crowded.path.startswith("rounds[0]")
    assert proposals(crowded.hint) == []
    assert divided.code == "rays-do-not-divide"
    assert proposals(divided.hint)
