"""Values are changed in place; comments, order and spaces stay."""

import pytest

from pipeline.rewrite import rewrite
from pipeline.source import read

TEXT = """\
spokeleaf: 1   # format
loom: {shape: circle,  pins: 24}  # a small one
measured:
  A: 3 m
rounds:
  - darn: {}   # plain
  - knot: {rays: [4, {pass: 2}]}
    at: 15 mm
tags: [x]
"""


def test_only_what_is_named_changes() -> None:
    """Two values, one of them deep in a list; every other character stays."""
    source = read("x.yaml", TEXT.encode())
    found = rewrite(source, {("loom", "pins"): "30", ("rounds", 1, "knot", "rays", 1, "pass"): "3"})
    assert found == TEXT.replace("pins: 24", "pins: 30").replace("pass: 2", "pass: 3")


def test_a_value_not_written_yet_is_put_into_its_mapping() -> None:
    """Into an empty one, a filled one in braces, and one in lines."""
    source = read("x.yaml", TEXT.encode())
    values = {("rounds", 0, "darn", "over"): "3", ("loom", "hold"): "pin", ("rounds", 1, "gap"): "5 mm"}
    found = rewrite(source, values)
    assert "darn: {over: 3}   # plain" in found
    assert "loom: {hold: pin, shape: circle,  pins: 24}  # a small one" in found
    assert "  - gap: 5 mm\n    knot: {rays" in found
    assert read("x.yaml", found.encode()).problems == ()


def test_a_key_of_the_top_level_is_left_out_with_its_lines() -> None:
    """What was measured on one loom says nothing of another."""
    source = read("x.yaml", TEXT.encode())
    assert rewrite(source, {}, drop=("measured", "sizes")) == TEXT.replace("measured:\n  A: 3 m\n", "")
    assert rewrite(source, {}, drop=("tags",)) == TEXT.replace("tags: [x]\n", "")


def test_a_value_written_once_and_used_twice_changes_once() -> None:
    """An alias stands for the value it names; both have the same place."""
    source = read("x.yaml", b"a: &n 4\nb: *n\n")
    assert rewrite(source, {("a",): "5", ("b",): "5"}) == "a: &n 5\nb: *n\n"


def test_remarks_before_the_next_key_stay_when_a_key_is_left_out() -> None:
    """They are about what comes after them; those inside go with it, and so do those after the last key's value."""
    inside = "measured:\n  A: 3 m\n# of the first sample\n  B: 2 m\n"
    text = f"spokeleaf: 1\n{inside}\n# from the centre\nrounds:\n  - darn: {{}}\n# the end\n"
    source = read("x.yaml", text.encode())
    assert rewrite(source, {}, drop=("measured",)) == text.replace(inside, "")
    assert rewrite(source, {}, drop=("rounds",)) == text.replace("rounds:\n  - darn: {}\n", "")


@pytest.mark.parametrize("end", ["\r\n", "\r", "\n"])
def test_lines_end_as_they_did(end: str) -> None:
    """A file comes back with the ends of its own system, also where a line is new or one is left out."""
    text = "a: 1\nb: {c: 2}\nd:\n  e: 3\nf: 4".replace("\n", end)
    source = read("x.yaml", text.encode())
    found = rewrite(source, {("a",): "5", ("b", "g"): "6", ("d", "h"): "7"}, drop=("f",))
    assert found == "a: 5\nb: {g: 6, c: 2}\nd:\n  h: 7\n  e: 3\n".replace("\n", end)


@pytest.mark.parametrize("end", ["\x85", "\u2028", "\u2029"])
def test_a_line_end_that_nobody_sees_leads_no_edit_astray(end: str) -> None:
    """It stands in a remark: the value that is named changes, and the remark stays as it is."""
    text = f"a: 1  # one{end}# two\nb: 2\nc: 3\n"
    source = read("x.yaml", text.encode())
    assert rewrite(source, {("b",): "5"}) == text.replace("b: 2", "b: 5")
