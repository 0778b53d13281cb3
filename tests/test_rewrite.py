"""Values are changed in place; comments, order and spaces stay."""

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
