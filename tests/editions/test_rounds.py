"""Rounds of two editions are matched by what they say, and told from one another as they are printed."""

import random
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from pipeline.craft.check import Checked
from pipeline.editions.comparing import side
from pipeline.editions.rounds import Printed, matched

CheckText = Callable[..., Checked]

KNOT = Printed(0, "", None, "knot", "6", 20, "", "", 1, 0, "9 mm", "", "", "close", "A")
FOURS = replace(KNOT, group="4", repeats=30)
DARN = replace(KNOT, stitch="darn", group="2", repeats=60, rows=3, distance="8 mm", closing="")
WRAP = replace(KNOT, stitch="wrap", reach="4 mm", closing="")


def numbered(*rounds: Printed) -> list[Printed]:
    """The rounds with their numbers."""
    return [replace(entry, number=number) for number, entry in enumerate(rounds, 1)]


def pairing(old: list[Printed], new: list[Printed]) -> list[tuple[str, int | None, int | None]]:
    """What became of every round: kind, old and new number."""
    return [(m.kind, m.was.number if m.was else None, m.now.number if m.now else None) for m in matched(old, new)]


def test_a_round_added_among_equal_ones_leaves_them_the_same() -> None:
    """Three equal knots with a fourth kind put after the first: one added, three the same."""
    found = pairing(numbered(KNOT, KNOT, KNOT), numbered(KNOT, FOURS, KNOT, KNOT))
    assert found == [("same", 1, 1), ("added", None, 2), ("same", 2, 3), ("same", 3, 4)]


def test_a_round_taken_out_leaves_the_others_the_same() -> None:
    """The first of three goes; the others are the same under other numbers."""
    found = pairing(numbered(DARN, KNOT, FOURS), numbered(KNOT, FOURS))
    assert found == [("gone", 1, None), ("same", 2, 1), ("same", 3, 2)]


@pytest.mark.parametrize(
    "values", [{"group": "4", "repeats": 30}, {"distance": "8 mm"}, {"closing": "spiral"}, {"thread": "B"}], ids=str
)
def test_a_round_that_is_akin_is_changed(values: dict[str, Any]) -> None:
    """The same stitch with another size, distance, ending or thread is the same round, changed."""
    assert pairing(numbered(DARN, KNOT), numbered(DARN, replace(KNOT, **values))) == [("same", 1, 1), ("changed", 2, 2)]


def test_a_round_of_another_stitch_in_its_place_is_changed() -> None:
    """Where nothing else could have become of it, a round was given another stitch."""
    assert pairing(numbered(KNOT, DARN), numbered(KNOT, WRAP)) == [("same", 1, 1), ("changed", 2, 2)]


def test_a_round_that_is_elsewhere_has_moved() -> None:
    """Also where its distance is another now, and where something else took its place."""
    nearer = replace(WRAP, distance="3 mm")
    assert pairing(numbered(WRAP, KNOT), numbered(KNOT, WRAP)) == [("same", 2, 1), ("moved", 1, 2)]
    found = pairing(numbered(WRAP, KNOT), numbered(DARN, KNOT, nearer))
    assert found == [("added", None, 1), ("same", 2, 2), ("moved", 1, 3)]


def test_a_note_does_not_make_a_round_another() -> None:
    """What stands beside a round is a text; the work is the same."""
    assert pairing(numbered(KNOT), numbered(replace(KNOT, note="Loosely."))) == [("same", 1, 1)]


def test_every_round_is_matched_once() -> None:
    """In 200 random pairs every old and every new number occurs exactly once, and equal editions are the same."""
    chance = random.Random(7)  # noqa: S311
    kinds = [KNOT, FOURS, DARN, WRAP, replace(KNOT, distance="5 mm"), replace(WRAP, group="3", repeats=40)]
    for _ in range(200):
        old, new = (numbered(*chance.choices(kinds, k=chance.randint(1, 9))) for _ in range(2))
        found = pairing(old, new)
        assert sorted(was for _, was, _ in found if was) == [entry.number for entry in old]
        assert sorted(now for _, _, now in found if now) == [entry.number for entry in new]
        assert {kind for kind, *_ in pairing(old, old)} == {"same"}


def test_a_round_is_what_its_line_prints(check_text: CheckText, example: dict[str, Any]) -> None:
    """By hand: 48 rays in groups of four and two passed over are 8 times; 15 mm lie 15 mm from the centre."""
    example["rounds"] = [
        {"knot": {"rays": [4, {"pass": 2}], "shift": 1}, "at": "15 mm", "close": False, "note": "Loosely."},
        {"wrap": {"rays": 4}, "gap": "2 mm", "to": "20 mm"},
        {"darn": {"over": 1, "under": 1, "parity": "pair-once"}, "gap": "2 mm", "thread": ["A", "B"], "rows": 4},
        {"edge-picots": {"height": "3 mm"}},
    ]
    example["threads"]["B"] = example["threads"]["A"]
    checked = check_text(example)
    knot, wrap, darn, edge = side(checked).rounds
    assert knot.facts == ("knot", "4 (2)", 8, "", "", 1, 1, "15 mm", "", "", "spiral", "A")
    assert knot.note == "Loosely."
    assert (wrap.distance, wrap.reach, wrap.loop, wrap.closing) == ("2 mm", "3 mm", "", "")
    assert (darn.parity, darn.rows, darn.thread) == ("pair-once", 4, "A B")
    assert (edge.stitch, edge.reach, edge.loop, edge.closing) == ("edge-picots", "", "3 mm", "close")
