"""Gathering messages."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from pipeline.craft.check import Checked
from pipeline.language.extraction import Entry, free_tools, pattern_entries, program_entries, symbol_entries
from pipeline.symbols import SymbolSet

CheckText = Callable[..., Checked]

PROGRAM = """\
def words(speech, count):
    speech.pgettext("facts", "Loom")
    speech.npgettext("facts", "{count} ray", "{count} rays", count)
    # Translators: {place} is a town.
    speech.pgettext("furniture", "Made in {place}")
    # A comment for programmers.
    speech.pgettext("furniture", "Edition")
    print("No message")
"""


@pytest.fixture
def package(tmp_path: Path) -> Path:
    """A program with four messages."""
    (tmp_path / "words.py").write_text(PROGRAM, encoding="utf-8")
    return tmp_path


def test_messages_of_a_program_are_found(package: Path) -> None:
    """Context, plural, a translators' comment, and where; other strings and comments are left alone."""
    assert sorted(program_entries(package), key=lambda entry: entry.text) == [
        Entry("furniture", "Edition", None, "", "pipeline/words.py"),
        Entry("facts", "Loom", None, "", "pipeline/words.py"),
        Entry("furniture", "Made in {place}", None, "{place} is a town.", "pipeline/words.py"),
        Entry("facts", "{count} ray", "{count} rays", "", "pipeline/words.py"),
    ]


def test_every_text_of_every_symbol_is_a_message(symbols: SymbolSet) -> None:
    """Name, what to do, short form and sentences; what a glyph shows helps the translator."""
    entries = list(symbol_entries(symbols))
    texts = {(entry.context, entry.text) for entry in entries}
    for symbol_id, symbol in {**symbols.stitches, **symbols.signs}.items():
        assert (f"{symbol_id}: name", symbol.texts.name) in texts
        assert (f"{symbol_id}: do", symbol.texts.do) in texts
        if symbol.texts.short:
            assert (f"{symbol_id}: short", symbol.texts.short) in texts
        for sentence in symbol.texts.step:
            assert (f"{symbol_id}: step", sentence.text or sentence.one) in texts
    knot = next(entry for entry in entries if entry.context == "knot: name")
    assert symbols.stitches["knot"].shows in knot.comment


def test_every_text_of_a_pattern_is_a_message(
    check_text: CheckText, symbols: SymbolSet, example: dict[str, Any]
) -> None:
    """Whatever a reader may see of it: written here by hand, field by field."""
    example |= {
        "summary": "One sentence.",
        "corrections": [{"edition": 1, "text": "A correction."}],
        "holding_thread": {"fibre": "cotton", "tex": 30, "colour": "#999999", "colour_name": "pale grey"},
        "photos": [{"file": "photos/a.jpg", "alt": "A wheel.", "place": "title"}],
        "links": [{"url": "https://example.org/a", "label": "On line"}],
        "tools": ["scissors", "a spoon"],
    }
    example["rounds"][1]["note"] = "A note."
    pattern = check_text(example).pattern
    assert pattern is not None
    entries = [*pattern_entries(pattern), *free_tools(pattern, symbols)]
    assert {entry.context for entry in entries} == {"trial"}
    assert {entry.text for entry in entries} == {
        "Trial", "One sentence.", "blue", "pale grey", "A note.", "A correction.", "A wheel.", "On line", "a spoon",
    }  # fmt: skip
