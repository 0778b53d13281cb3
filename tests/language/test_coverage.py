"""How far a locale has come: what is done, what is to be looked at again, and what has changed since."""

from pathlib import Path

import pytest
from babel.messages.catalog import Catalog

from pipeline.language.catalogue import BrokenCatalogue
from pipeline.language.coverage import Coverage, coverage
from pipeline.language.extraction import TITLE, Entry
from pipeline.language.locales import LocaleInfo
from pipeline.language.merging import Help, merge, po_bytes, template

SPANISH = LocaleInfo("es", "draft")
WANTED = template(
    [
        Entry("frost", "Frost", None, TITLE, "patterns/frost.yaml"),
        Entry("frost", "Keep these loose.", None, "Note of round 2.", "patterns/frost.yaml"),
        Entry("heron", "Heron", None, TITLE, "patterns/heron.yaml"),
        Entry("heron", "{count} wheel", "{count} wheels", "", "patterns/heron.yaml"),
    ]
)
WHOLE: dict[str, str | tuple[str, ...]] = {
    "Frost": "Escarcha",
    "Keep these loose.": "Flojos.",
    "Heron": "Garza",
    "{count} wheel": ("{count} r.",) * 2,
}


def written(file: Path, texts: dict[str, str | tuple[str, ...]], fuzzy: str = "", edition: int = 1) -> Coverage:
    """A catalogue with these translations, counted."""
    catalog = merge(WANTED, file, SPANISH, Help({"frost": edition, "heron": 1}))
    for message in catalog:
        if message.id:
            english = message.id if isinstance(message.id, str) else message.id[0]
            message.string = texts.get(english, "" if isinstance(message.id, str) else ("", ""))
            message.flags.discard("fuzzy")
            if english == fuzzy:
                message.flags.add("fuzzy")
    file.write_bytes(po_bytes(catalog))
    file.write_bytes(po_bytes(merge(WANTED, file, SPANISH, Help({"frost": edition, "heron": 1}))))
    return coverage("patterns", WANTED, file, SPANISH)


def test_without_a_file_nothing_is_done(tmp_path: Path) -> None:
    """All messages are wanted; nobody has changed anything."""
    assert coverage("patterns", WANTED, tmp_path / "none.po", SPANISH) == Coverage("patterns", 4, 0, 0)


def test_what_is_whole_is_a_hundred_per_cent(tmp_path: Path) -> None:
    """All four, a plural with both forms among them, and no pattern is behind."""
    found = written(tmp_path / "a.po", WHOLE)
    assert found == Coverage("patterns", 4, 4, 0)
    assert found.percent == 100


def test_what_is_empty_half_or_fuzzy_is_not_done(tmp_path: Path) -> None:
    """One text missing, a plural with one of its forms, one to be looked at again, which is counted apart."""
    texts = {**WHOLE, "Frost": "", "{count} wheel": ("{count} r.", "")}
    found = written(tmp_path / "a.po", texts, fuzzy="Heron")
    assert (found.messages, found.done, found.fuzzy, found.percent) == (4, 1, 1, 25)


@pytest.mark.parametrize(("messages", "done", "percent"), [(0, 0, 100), (3, 2, 66), (300, 299, 99), (1, 1, 100)])
def test_per_cent_are_rounded_down(messages: int, done: int, percent: int) -> None:
    """A hundred only where nothing is left; where nothing is wanted, all is done."""
    assert Coverage("patterns", messages, done, 0).percent == percent


def test_a_pattern_that_was_whole_and_changed_is_behind(tmp_path: Path) -> None:
    """The one with the text that is lacking now; one that never was whole is incomplete, not behind."""
    file = tmp_path / "a.po"
    assert written(file, {**WHOLE, "Heron": ""}).behind == ()
    assert written(file, {**WHOLE, "Heron": "", "Keep these loose.": ""}, edition=2).behind == ("frost",)
    assert written(file, {**WHOLE, "Heron": ""}, fuzzy="Keep these loose.", edition=2).behind == ("frost",)
    assert written(file, WHOLE, edition=2).behind == ()


@pytest.mark.parametrize(
    ("date", "changed"),
    [
        ("2026-05-04 23:30+0200", "2026-05-04"),
        ("2026-01-01 09:00+0000", "2026-01-01"),
        ("YEAR-MO-DA HO:MI+ZONE", None),
        ("2026-01-01 00:00+0000", None),
    ],
)
def test_the_last_change_is_the_editor_s(tmp_path: Path, date: str, changed: str | None) -> None:
    """PO-Revision-Date as an editor writes it; what an update writes, or gettext before any, is nobody's change."""
    file = tmp_path / "a.po"
    assert written(file, WHOLE).changed is None
    head = b"PO-Revision-Date: 2026-01-01 00:00+0000"
    assert file.read_bytes().count(head) == 1
    file.write_bytes(file.read_bytes().replace(head, f"PO-Revision-Date: {date}".encode()))
    assert coverage("patterns", WANTED, file, SPANISH).changed == changed


def test_messages_that_are_not_wanted_do_not_count(tmp_path: Path) -> None:
    """A text that is gone from the patterns, still in the catalogue or laid aside at its end."""
    file = tmp_path / "a.po"
    written(file, WHOLE)
    fewer = template([Entry("frost", "Frost", None, TITLE, "patterns/frost.yaml")])
    assert coverage("patterns", fewer, file, SPANISH) == Coverage("patterns", 1, 1, 0)
    file.write_bytes(po_bytes(merge(fewer, file, SPANISH)))
    assert b"#~ msgid" in file.read_bytes()
    assert coverage("patterns", fewer, file, SPANISH) == Coverage("patterns", 1, 1, 0)
    found = coverage("patterns", WANTED, file, SPANISH)
    assert (found.messages, found.done) == (4, 1)


def test_a_damaged_catalogue_is_told(tmp_path: Path) -> None:
    """Not counted as empty: the problem has its line."""
    file = tmp_path / "a.po"
    file.write_text('msgid ""\nmsgstr ""\n\nmsgctxt "frost"\nmsgid "Frost\nmsgstr "Escarcha"\n', encoding="utf-8")
    with pytest.raises(BrokenCatalogue) as caught:
        coverage("patterns", WANTED, file, SPANISH)
    assert [(p.code, p.span.line) for p in caught.value.problems] == [("catalogue-unreadable", 5)]


def test_a_control_character_in_a_translation_is_told(tmp_path: Path) -> None:
    """No page could hold it."""
    file = tmp_path / "a.po"
    file.write_text('msgid ""\nmsgstr ""\n\nmsgctxt "frost"\nmsgid "Frost"\nmsgstr "Escar\acha"\n', encoding="utf-8")
    with pytest.raises(BrokenCatalogue) as caught:
        coverage("patterns", WANTED, file, SPANISH)
    assert [(p.code, p.span.line) for p in caught.value.problems] == [("control-character", 5)]


def test_a_catalogue_wants_nothing_where_nothing_is_wanted(tmp_path: Path) -> None:
    """The source locale: no message, all done."""
    assert coverage("patterns", Catalog(), tmp_path / "none.po", LocaleInfo("en", "source")).percent == 100
