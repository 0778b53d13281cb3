"""Catalogues that are damaged, or written in another way than usual: told of at their place, or read."""

from pathlib import Path

import pytest

from pipeline.language.catalogue import BrokenCatalogue, english_of, load_catalogues, read_catalog
from pipeline.language.locales import LocaleInfo

DE = LocaleInfo("de", "draft")
HEAD = 'msgid ""\nmsgstr ""\n"Language: de\\n"\n"Content-Type: text/plain; charset={charset}\\n"\n"Plural-Forms: {rule}\\n"\n'
ENTRIES = '\nmsgctxt "facts"\nmsgid "{count} round"\nmsgid_plural "{count} rounds"\nmsgstr[0] "{count} Fläche"\nmsgstr[1] "{count} Flächen"\n'
USUAL = "nplurals=2; plural=(n != 1);"


@pytest.fixture
def place(tmp_path: Path) -> Path:
    """Where the German catalogue of patterns lies."""
    file = tmp_path / "de" / "LC_MESSAGES" / "patterns.po"
    file.parent.mkdir(parents=True)
    return file


def text(charset: str = "utf-8", rule: str = USUAL) -> str:
    return HEAD.format(charset=charset, rule=rule) + ENTRIES


def test_a_catalogue_in_another_encoding_speaks(place: Path, tmp_path: Path) -> None:
    """Latin-1, as its head says: the same words."""
    place.write_bytes(text("latin-1").encode("latin-1"))
    texts = load_catalogues([tmp_path], DE, "patterns")
    assert texts.npgettext("facts", "{count} round", "{count} rounds", 2) == "{count} Flächen"


@pytest.mark.parametrize("charset", ["nonsense", "base64", "idna", ""])
def test_an_encoding_that_is_none_is_told(place: Path, charset: str) -> None:
    """A name nobody knows, and names of what is no encoding of text."""
    place.write_text(text(charset), encoding="utf-8")
    with pytest.raises(BrokenCatalogue) as caught:
        read_catalog(place, "de")
    (problem,) = caught.value.problems
    assert problem.code == "catalogue-unreadable"
    assert problem.message.strip()


@pytest.mark.parametrize(
    "rule", ["nplurals=2; plural=n/0;", "nplurals=2; plural=n%0;", f"nplurals=2; plural={'(' * 300}n;"]
)
def test_plurals_that_cannot_be_chosen_are_told_where_they_stand(place: Path, tmp_path: Path, rule: str) -> None:
    """A division by nothing, and brackets without end: the line of the rule; the catalogue can still be brought up."""
    place.write_text(text(rule=rule), encoding="utf-8")
    assert len(read_catalog(place, "de")) == 1
    with pytest.raises(BrokenCatalogue) as caught:
        load_catalogues([tmp_path], DE, "patterns")
    (problem,) = caught.value.problems
    assert (problem.code, problem.span.line, problem.file) == ("plural-rule", 5, str(place))


@pytest.mark.parametrize("sign", ["\0", "\u2028"])
@pytest.mark.parametrize("where", ["facts", "round", "rounds", "Fläche"])
def test_a_character_that_cannot_be_printed_is_told_wherever_it_stands(place: Path, where: str, sign: str) -> None:
    """In a context, in a text or in its plural, in a translation: the catalogue is read no further.

    One that ends a line in print ends none of the file.
    """
    place.write_text(text().replace(f'{where}"', f'{where}{sign}"', 1), encoding="utf-8")
    with pytest.raises(BrokenCatalogue) as caught:
        read_catalog(place, "de")
    assert [(problem.code, problem.span.line > 5) for problem in caught.value.problems] == [("control-character", True)]


STALE = """
# Of a maker.
#, fuzzy
#| msgctxt "facts"
#| msgid ""
#| "The old "
#| "loom"
msgctxt "facts"
msgid "Loom"
msgstr "Rahmen"

#, fuzzy
#| msgid "{count} pin"
#| msgid_plural "{count} pins"
msgctxt "facts"
msgid "{count} nail"
msgid_plural "{count} nails"
msgstr[0] "{count} Stift"
msgstr[1] "{count} Stifte"
"""


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r", " \t\n"])
def test_a_stale_translation_keeps_the_text_it_was_made_from(place: Path, end: str) -> None:
    """However lines end, as editors of three systems end them: each has its own, and none is a translator's comment."""
    place.write_bytes((text() + STALE).replace("\n", end).encode())
    catalog = read_catalog(place, "de")
    found = {english_of(m): (list(m.previous_id), list(m.user_comments)) for m in catalog if m.fuzzy and m.id}
    assert found == {
        "Loom": (["The old loom"], ["Of a maker."]),
        "{count} nail": (["{count} pin", "{count} pins"], []),
    }


@pytest.mark.parametrize("sign", ["\x0b", "\x0c", "\x1c", "\x85", "\u2028", "\u2029"])
def test_lines_are_counted_as_editors_count_them(place: Path, sign: str) -> None:
    """What ends a line elsewhere than in files stands in a comment: the message after it has its line."""
    place.write_text(text().replace("\nmsgctxt", f"\n# One.{sign}Two.\nmsgctxt"), encoding="utf-8", newline="")
    (message,) = (message for message in read_catalog(place, "de") if message.id)
    assert message.lineno == place.read_text(encoding="utf-8").split("\n").index('msgid "{count} round"') + 1


def test_what_nothing_asks_for_any_more_may_say_what_it_was_made_from(place: Path) -> None:
    """``#~|``, as GNU gettext's msgmerge writes it: the entry is kept, and the one after it is read."""
    former = '\n#~| msgid "The old sun"\n#~ msgid "The sun"\n#~ msgstr "Die Sonne"\n'
    place.write_text(text() + former + '\nmsgid "The moon"\nmsgstr "Der Mond"\n', encoding="utf-8")
    catalog = read_catalog(place, "de")
    assert [message.string for message in catalog if message.id == "The moon"] == ["Der Mond"]
    assert [message.string for message in catalog.obsolete.values()] == ["Die Sonne"]
