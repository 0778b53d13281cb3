"""Hints that were tried: what is proposed really helps."""

import re
from collections.abc import Callable
from typing import Any

import pytest

from pipeline.craft.check import Checked
from pipeline.problems import Severity

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
