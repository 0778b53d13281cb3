"""Catalogues made and merged without losing work."""

import io
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest
from babel.messages.catalog import Catalog
from babel.messages.pofile import read_po

from pipeline.language.catalogue import edition_notes, load_catalogues, read_catalog
from pipeline.language.extraction import TITLE, Entry
from pipeline.language.locales import LocaleInfo
from pipeline.language.merging import Help, merge, po_bytes, template

SPANISH_LOCALE = LocaleInfo("es", "draft")
Merge = Callable[..., Catalog]


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
    """A translation and its comment stay, a new message is empty (nothing that only resembles it is taken), an old one is set aside."""
    file = tmp_path / "spokeleaf.po"
    file.write_text(SPANISH, encoding="utf-8")
    pot = template([Entry("facts", "Loom", None, "", "a"), Entry("facts", "Looms", None, "", "a")])
    merged = merge(pot, file, SPANISH_LOCALE)
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
    first = po_bytes(merge(pot, file, SPANISH_LOCALE))
    file.write_bytes(first)
    assert po_bytes(merge(pot, file, SPANISH_LOCALE)) == first


@pytest.mark.parametrize(("tag", "forms"), [("ar", 6), ("ja", 1), ("es", 2), ("ru", 3), ("pl", 3)])
def test_a_new_catalogue_has_the_language_s_plural_forms(tmp_path: Path, tag: str, forms: int) -> None:
    """GNU gettext manual, plural forms: six in Arabic, one in Japanese, two in Spanish, three in Russian and Polish."""
    pot = template([Entry("facts", "{count} ray", "{count} rays", "", "a")])
    catalog = merge(pot, tmp_path / "none.po", LocaleInfo(tag, "draft"))
    data = po_bytes(catalog).decode()
    assert f"nplurals={forms};" in data
    assert data.count("msgstr[") == forms
    assert f"Language: {tag}" in data


NOTES = [
    Entry("wheel", "Wheel", None, TITLE, "patterns/wheel.yaml"),
    Entry("wheel", "Keep these loose.", None, "Note of round 2.", "patterns/wheel.yaml"),
    Entry("wheel", "blue", None, "Name of a thread's colour.", "patterns/wheel.yaml"),
]


@pytest.fixture
def again(tmp_path: Path) -> Merge:
    """Merges messages into the same file of a Spanish workspace, and reads what was written."""
    file = tmp_path / "es" / "LC_MESSAGES" / "patterns.po"
    file.parent.mkdir(parents=True)

    def run(entries: list[Entry], edition: int = 1, texts: dict[str, str] | None = None) -> Catalog:
        catalog = merge(template(entries), file, SPANISH_LOCALE, Help({"wheel": edition}))
        for english, text in (texts or {}).items():
            message = catalog.get(english, "wheel")
            assert message is not None
            message.string = text
            message.flags.discard("fuzzy")
        file.write_bytes(po_bytes(catalog))
        assert subprocess.run(["msgfmt", "-c", "-o", "/dev/null", file], check=False).returncode == 0
        return read_catalog(file, "es")

    return run


def changed(text: str, comment: str) -> list[Entry]:
    """The same messages, the one of this role with another text."""
    return [Entry(e.context, text, None, e.comment, e.place) if e.comment == comment else e for e in NOTES]


WHOLE = {"Wheel": "Rueda", "Keep these loose.": "Flojos.", "blue": "azul"}


def test_a_text_that_changed_keeps_its_translation_to_be_looked_at(again: Merge, tmp_path: Path) -> None:
    """The note of the same round, reworded: fuzzy, with the text it was made from; leaflets do not print it."""
    again(NOTES, texts=WHOLE)
    catalog = again(changed("Tie them all quite loosely, please.", "Note of round 2."))
    note = catalog.get("Tie them all quite loosely, please.", "wheel")
    assert note is not None
    assert (note.string, note.fuzzy, list(note.previous_id)) == ("Flojos.", True, ["Keep these loose."])
    shown = load_catalogues([tmp_path], SPANISH_LOCALE, "patterns")
    assert shown.has("wheel", "Wheel")
    assert not shown.has("wheel", "Tie them all quite loosely, please.")
    twice = again(changed("Tie them all quite loosely, please.", "Note of round 2."))
    assert po_bytes(twice) == po_bytes(catalog)


def test_a_translation_is_stale_in_a_file_of_any_system(again: Merge, tmp_path: Path) -> None:
    """Saved with the line ends of another system, all that were stale still have the text they were made from."""
    again(NOTES, texts=WHOLE)
    entries = [Entry(e.context, f"{e.text} Anew.", None, e.comment, e.place) for e in NOTES]
    catalog = again(entries)
    before = {str(message.id): list(message.previous_id) for message in catalog if message.id}
    assert before == {f"{e.text} Anew.": [e.text] for e in NOTES}
    file = tmp_path / "es" / "LC_MESSAGES" / "patterns.po"
    unix = file.read_bytes()
    assert b"# |" not in unix
    file.write_bytes(unix.replace(b"\n", b"\r\n"))
    again(entries)
    assert file.read_bytes() == unix


def test_another_colour_is_not_taken_for_the_old_one(again: Merge) -> None:
    """What has nothing in common with what is gone begins empty."""
    again(NOTES, texts=WHOLE)
    catalog = again(changed("moss", "Name of a thread's colour."))
    assert not (catalog.get("moss", "wheel") or pytest.fail("lost")).string


def test_what_comes_back_has_its_translation_again(again: Merge) -> None:
    """A note that is taken out and put in again a release later needs no work."""
    again(NOTES, texts=WHOLE)
    again(NOTES[:1])
    note = again(NOTES).get("Keep these loose.", "wheel")
    assert note is not None
    assert (note.string, note.fuzzy) == ("Flojos.", False)


def test_the_edition_of_a_whole_translation_is_noted(again: Merge) -> None:
    """Beside the title; it stays while something is behind, and rises when all is done again."""
    assert edition_notes(again(NOTES)) == {}
    assert edition_notes(again(NOTES, texts=WHOLE)) == {}
    assert edition_notes(again(NOTES)) == {"wheel": 1}
    later = changed("Keep all these loose.", "Note of round 2.")
    assert edition_notes(again(later, 2)) == {"wheel": 1}
    again(later, 2, {"Keep all these loose.": "Flojos."})
    assert edition_notes(again(later, 2)) == {"wheel": 2}


def test_one_becomes_many_and_many_one(tmp_path: Path) -> None:
    """A message that gets a plural offers its text for every form; one that loses it keeps the first."""
    file = tmp_path / "spokeleaf.po"
    file.write_text(SPANISH, encoding="utf-8")
    plural = merge(template([Entry("facts", "Loom", "Looms", "", "a")]), file, SPANISH_LOCALE)
    found = plural.get("Loom", "facts")
    assert found is not None
    assert list(found.string or ()) == ["Telar", "Telar"]
    file.write_bytes(po_bytes(plural))
    single = merge(template([Entry("facts", "Loom", None, "", "a")]), file, SPANISH_LOCALE).get("Loom", "facts")
    assert single is not None
    assert single.string == "Telar"


def test_who_changed_it_when_stays(tmp_path: Path) -> None:
    """The editor's own head lines are left alone: translator and date of the last change."""
    file = tmp_path / "spokeleaf.po"
    head = '"PO-Revision-Date: 2026-05-04 12:00+0200\\n"\n"Last-Translator: A. Maker <a@example.org>\\n"\n'
    file.write_text(SPANISH.replace('"Plural', head + '"Plural', 1), encoding="utf-8")
    data = po_bytes(merge(template([]), file, SPANISH_LOCALE)).decode()
    assert "PO-Revision-Date: 2026-05-04 12:00+0200" in data
    assert "Last-Translator: A. Maker <a@example.org>" in data


def test_the_glossary_stands_beside_a_message(tmp_path: Path) -> None:
    """As a comment of the catalogue, where the text names something."""
    told = Help({}, lambda text: ["Glossary: loom: bastidor"] if "Loom" in text else [])
    pot = template([Entry("facts", "Loom", None, "Of lace.", "a"), Entry("facts", "Pins", None, "", "a")])
    catalog = merge(pot, tmp_path / "none.po", SPANISH_LOCALE, told)
    comments = {str(message.id): list(message.auto_comments) for message in catalog if message.id}
    assert comments == {"Loom": ["Of lace.", "Glossary: loom: bastidor"], "Pins": []}
