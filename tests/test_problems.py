"""Problems: words, order, printing."""

import re
import string
from collections.abc import Callable

import pytest

from pipeline.problems import (
    RULES,
    Finding,
    Problem,
    Severity,
    Span,
    accepted,
    as_json,
    in_order,
    nearest,
    place,
    render,
    spell,
    without_echoes,
)


def problem(code: str = "level", line: int = 1, column: int = 1, **facts: object) -> Problem:
    return place(Finding(code, ("level",), facts), "x.yaml", Span(line, column, 3), "level: six")


def test_the_example_of_the_style_guide_prints_as_it_stands_there(golden: Callable[[str, str], None]) -> None:
    """Place, fact, line with a mark, hint: the layout agreed on, letter by letter."""
    facts = {
        "group": "7",
        "rays": 96,
        "hint": "96 rays divide into groups of 2, 3, 4, 6, 8 or 12; with 112 rays (56 pins) groups of 7 fit",
    }
    finding = Finding("rays-do-not-divide", ("rounds", 2, "knot", "rays"), facts)
    found = place(finding, "patterns/demo.yaml", Span(21, 18, 1), "  - knot: {rays: 7}")
    golden("problems/render", render(found) + "\n")


def test_a_message_is_a_fact_and_starts_small() -> None:
    """No message ends in a full stop, begs, or begins with a capital, unless it begins with what was written."""
    for code, rule in RULES.items():
        assert re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", code)
        for text in (rule.message, rule.hint):
            assert not text.endswith("."), code
            assert "please" not in text.lower(), code
            assert "invalid" not in text.lower(), code
            assert not text[:1].isupper(), code


def test_every_message_can_be_filled() -> None:
    """The placeholders of every rule are plain names, so facts given by name fill them."""
    for rule in RULES.values():
        for text in (rule.message, rule.hint):
            names = {name for _, name, _, _ in string.Formatter().parse(text) if name is not None}
            assert all(name.isidentifier() for name in names)
            plain = text.replace("{{", "").replace("}}", "")  # braces that are to be printed
            assert "{" not in plain.format(**dict.fromkeys(names, 1))


def test_a_path_is_spelled_as_people_write_it() -> None:
    """Keys have points between them, positions stand in brackets and count from 0."""
    assert spell(("rounds", 2, "knot", "rays")) == "rounds[2].knot.rays"
    assert spell(()) == ""


@pytest.mark.parametrize(
    ("word", "hint"),
    [("knott", "did you mean `knot`?"), ("dran", "did you mean `darn`?"), ("zzz", "known here: darn, knot")],
)
def test_the_nearest_word_is_offered(word: str, hint: str) -> None:
    """A near word is named, else all words are, if they are few."""
    assert nearest(word, ["knot", "darn"]) == hint
    assert nearest("zzz", map(str, range(41))) == ""


def test_a_key_that_is_misspelt_beside_is_not_missing_too() -> None:
    """Only where the hint names it: in the same mapping, and no other key."""

    def missing(key: str, *path: str) -> Finding:
        return Finding("key-missing", path, {"key": key, "hint": ""}, on_key=True)

    unknown = Finding("key-unknown", ("loom", "diamter"), {"key": "diamter", "hint": nearest("diamter", ["diameter"])})
    others = [missing("diameter"), missing("pins", "loom"), unknown]
    assert without_echoes([missing("diameter", "loom"), *others]) == others


def test_a_file_is_not_to_be_called_by_an_id_that_is_none() -> None:
    """What is wrong with the id is said, and no more; an id that is one is told from the file's name."""
    name = Finding("id-not-file-name", ("id",), {"id": "Größe"})
    shape = Finding("text-shape", ("id",), {"written": "Größe", "expected": "an id", "hint": ""})
    assert without_echoes([shape, name]) == [shape]
    assert without_echoes([name]) == [name]


def test_problems_are_sorted_by_place_and_none_is_dropped() -> None:
    """Order is line, column, weight; two of the same stay two."""
    late = problem("file-empty", 9, 1)
    note = problem("rows-flattened", 2, 5, radius=1, jam=2)
    error = problem("file-empty", 2, 5)
    assert in_order([late, note, error, error]) == (error, error, note, late)


def test_only_a_warning_can_be_accepted() -> None:
    """An accepted warning becomes a note that gives the reason; an error stays one."""
    warning = problem("odd-pins", pins=25, fewer=24, more=26)
    answered = accepted(warning, "worked as a sample")
    assert answered.severity is Severity.NOTE
    assert answered.message.startswith(warning.message)
    assert "worked as a sample" in answered.message
    error = problem("file-empty")
    assert accepted(error, "so be it") == error


def test_json_has_the_fields_of_the_design() -> None:
    """The object of a problem has the eight fields of design section 8, and no others."""
    found = as_json(problem("file-empty", 3, 7))
    assert found == {
        "code": "file-empty",
        "severity": "error",
        "file": "x.yaml",
        "line": 3,
        "column": 7,
        "path": "level",
        "message": RULES["file-empty"].message,
        "hint": RULES["file-empty"].hint,
    }


def test_the_mark_stands_under_its_word() -> None:
    """Wide characters take two places and a tab stays one, so that mark and word begin alike on a terminal."""
    text = "title: 糸 x: bad"
    found = place(Finding("file-empty"), "x.yaml", Span(1, text.index("bad") + 1, 3), text)
    shown, mark = render(found).split("\n")[1:3]
    assert len(mark) - len(mark.lstrip(" |")) >= 0
    assert mark.index("^") == shown.index("bad") + 1  # one wide character before it
    assert mark.count("^") == 3
    tabbed = place(Finding("file-empty"), "x.yaml", Span(1, 4, 1), "a:\tb")
    assert render(tabbed).split("\n")[2].endswith("  \t^")


def test_a_long_line_is_cut_round_its_place() -> None:
    """Of a line of a thousand characters the part with the mark is shown."""
    text = "x" * 500 + "HERE" + "y" * 496
    shown, mark = render(place(Finding("file-empty"), "x.yaml", Span(1, 501, 4), text)).split("\n")[1:3]
    assert len(shown) < 140
    assert mark.index("^") == shown.index("HERE")
