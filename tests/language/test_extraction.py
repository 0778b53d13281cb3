"""Gathering messages, and merging them into catalogues without losing work."""

import io
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from babel.messages.catalog import Catalog
from babel.messages.pofile import read_po

from pipeline.craft.check import Checked
from pipeline.language.extraction import (
    Entry,
    free_tools,
    merge,
    pattern_entries,
    po_bytes,
    program_entries,
    symbol_entries,
    template,
)
from pipeline.language.locales import LocaleInfo
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


def read(data: bytes) -> Catalog:
    """A catalogue out of bytes."""
    return read_po(io.BytesIO(data), abort_invalid=True)


def test_a_template_keeps_context_plural_comment_and_place() -> None:
    """One message with two places and two comments is one entry with both; another context is another entry."""
    pot = read(
        po_bytes(
            template(
                [
                    Entry("facts", "{count} ray", "{count} rays", "Of the loom.", "b.py"),
                    Entry("facts", "{count} ray", "{count} rays", "In the web.", "a.py"),
                    Entry("key", "{count} ray", None, "", "c.py"),
                ]
            )
        )
    )
    first, second = [message for message in pot if message.id]
    assert (first.context, first.id) == ("facts", ("{count} ray", "{count} rays"))
    assert list(first.auto_comments) == ["In the web.", "Of the loom."]
    assert [place for place, _ in first.locations] == ["a.py", "b.py"]
    assert (second.context, second.id) == ("key", "{count} ray")


def test_a_template_does_not_depend_on_order_or_clock() -> None:
    """The same messages give the same bytes, whichever came first."""
    entries = [Entry("a", "One", None, "x", "1"), Entry("b", "Two", None, "", "2"), Entry("a", "Two", None, "", "1")]
    assert po_bytes(template(entries)) == po_bytes(template(reversed(entries)))


SPANISH = """\
msgid ""
msgstr ""
"Content-Type: text/plain; charset=utf-8\\n"
"Plural-Forms: nplurals=2; plural=(n != 1);\\n"

# Checked with a dictionary.
msgctxt "facts"
msgid "Loom"
msgstr "Telar"

msgctxt "facts"
msgid "Gone"
msgstr "Ido"
"""


def test_merging_keeps_work_and_guesses_nothing(tmp_path: Path) -> None:
    """A translation and its comment stay, a new message is empty (no look-alike is taken), an old one is set aside."""
    file = tmp_path / "spokeleaf.po"
    file.write_text(SPANISH, encoding="utf-8")
    pot = template([Entry("facts", "Loom", None, "", "a"), Entry("facts", "Looms", None, "", "a")])
    merged = merge(pot, file, LocaleInfo("es", "draft"))
    data = po_bytes(merged)
    found = {str(message.id): message for message in read(data) if message.id}
    assert set(found) == {"Loom", "Looms"}
    assert found["Loom"].string == "Telar"
    assert list(found["Loom"].user_comments) == ["Checked with a dictionary."]
    assert found["Looms"].string == ""
    assert not any(message.fuzzy for message in found.values())
    assert b'#~ msgid "Gone"' in data


def test_merging_twice_changes_nothing(tmp_path: Path) -> None:
    """What was written and read again is written the same."""
    file = tmp_path / "spokeleaf.po"
    file.write_text(SPANISH, encoding="utf-8")
    pot = template([Entry("facts", "Loom", None, "c", "a"), Entry("x", "{n} y", "{n} ys", "", "a")])
    first = po_bytes(merge(pot, file, LocaleInfo("es", "draft")))
    file.write_bytes(first)
    assert po_bytes(merge(pot, file, LocaleInfo("es", "draft"))) == first


@pytest.mark.parametrize(("tag", "forms"), [("ar", 6), ("ja", 1), ("es", 2), ("ru", 3), ("pl", 3)])
def test_a_new_catalogue_has_the_language_s_plural_forms(tmp_path: Path, tag: str, forms: int) -> None:
    """GNU gettext manual, plural forms: six in Arabic, one in Japanese, two in Spanish, three in Russian and Polish."""
    pot = template([Entry("facts", "{count} ray", "{count} rays", "", "a")])
    catalog = merge(pot, tmp_path / "none.po", LocaleInfo(tag, "draft"))
    data = po_bytes(catalog).decode()
    assert f"nplurals={forms};" in data
    assert data.count("msgstr[") == forms
    assert f"Language: {tag}" in data


def test_a_new_arabic_catalogue_counts_as_gettext_does(tmp_path: Path) -> None:
    """GNU gettext manual: the fifth form is for 11 to 99, the sixth for 100 to 102."""
    catalog = merge(template([]), tmp_path / "none.po", LocaleInfo("ar", "draft"))
    assert "n%100>=11 ? 4 : 5" in catalog.plural_forms
