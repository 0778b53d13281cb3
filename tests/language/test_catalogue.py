"""Catalogues that are damaged, or written in another way than usual: told of at their place, or read."""

from pathlib import Path

import pytest

from pipeline.language.catalogue import BrokenCatalogue, load_catalogues, read_catalog
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


@pytest.mark.parametrize("where", ["facts", "round", "rounds", "Fläche"])
def test_a_character_that_cannot_be_printed_is_told_wherever_it_stands(place: Path, where: str) -> None:
    """In a context, in a text or in its plural, in a translation: the catalogue is read no further."""
    place.write_text(text().replace(f'{where}"', f'{where}\0"', 1), encoding="utf-8")
    with pytest.raises(BrokenCatalogue) as caught:
        read_catalog(place, "de")
    assert [(problem.code, problem.span.line > 5) for problem in caught.value.problems] == [("control-character", True)]
