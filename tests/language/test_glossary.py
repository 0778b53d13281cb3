"""A locale's glossary: what each thing is called, and slips in its file."""

from pathlib import Path

import pytest
import yaml

from pipeline.language.glossary import (
    FILE,
    Glossary,
    Term,
    load_english,
    load_glossary,
    new_glossary,
    things_in,
)
from pipeline.language.locales import BrokenLocale, LocaleInfo, load_locales
from pipeline.workspace import shipped

FOLDER = shipped("locales")
LOCALES = load_locales([FOLDER])
ENGLISH = load_english([FOLDER])
WHOLE = sorted(set(LOCALES) - {"en", "es-PY"})
SPANISH = LocaleInfo("es", "draft")


def put(folder: Path, name: str, text: str) -> None:
    """A glossary in a folder of locales."""
    (folder / name).mkdir(parents=True, exist_ok=True)
    (folder / name / FILE).write_text(text, encoding="utf-8")


def test_english_says_what_things_there_are() -> None:
    """Each has what is meant and whole words by which a text is seen to name it."""
    assert {"ray", "pin", "web", "round", "knot", "start mark"} <= set(ENGLISH.terms)
    assert all(term.about and term.forms for term in ENGLISH.terms.values())


@pytest.mark.parametrize("tag", WHOLE)
def test_every_locale_has_a_word_for_every_thing(tag: str) -> None:
    """Each with its source, and none that its own glossary rules out; no thing that English has not."""
    glossary = load_glossary([FOLDER], LOCALES[tag])
    assert set(glossary.terms) == set(ENGLISH.terms)
    assert [thing for thing, term in glossary.terms.items() if not term.term or not term.source] == []
    for thing, term in glossary.terms.items():
        assert not any((term.term or "").casefold().startswith(word.casefold()) for word in term.never), thing
    assert len(glossary.stitch_names) > 2


@pytest.mark.parametrize(
    ("text", "things"),
    [
        ("Tie {count} knots on the rays.", {"ray", "knot"}),
        ("Cut the holding thread.", {"thread", "holding thread"}),
        ("Arrays of {ray} and x-ray pictures", set()),
        ("RAYS", {"ray"}),
        ("round, diameter", set()),
        ("Each round begins at the start mark.", {"round", "start mark"}),
    ],
)
def test_a_text_names_things_by_whole_words(text: str, things: set[str]) -> None:
    """Not by parts of words, not by words in braces; capitals or small letters; `round` only where it is a thing."""
    assert set(things_in(ENGLISH, text)) == things


def test_a_region_has_its_own_words_over_its_language_s(tmp_path: Path) -> None:
    """Thing by thing; names of stitches add up."""
    put(tmp_path, "es", "glossary: es\nterms:\n  ray: {term: rayo}\n  pin: {term: alfiler}\nstitch_names: [punto]\n")
    put(tmp_path, "es_PY", "glossary: es-PY\nterms:\n  ray: {term: hilo}\nstitch_names: [filigrana]\n")
    regional = load_glossary([tmp_path], LocaleInfo("es-PY", "draft"))
    assert [regional.called(thing) for thing in ("ray", "pin", "web")] == ["hilo", "alfiler", None]
    assert regional.stitch_names == {"punto", "filigrana"}
    assert load_glossary([tmp_path], SPANISH).called("ray") == "rayo"


def test_a_workspace_s_glossary_lies_over_the_shipped_one(tmp_path: Path) -> None:
    """A word of a designer's own; what it leaves out is the shipped one."""
    put(tmp_path, "es", "glossary: es\nterms:\n  ray: {term: radio}\n")
    own, shipped_one = load_glossary([FOLDER, tmp_path], SPANISH), load_glossary([FOLDER], SPANISH)
    assert own.called("ray") == "radio" != shipped_one.called("ray")
    assert own.called("pin") == shipped_one.called("pin") is not None


def test_a_word_stands_for_its_forms_where_none_are_given() -> None:
    """What shows in a text that it uses the word; without a word nothing does."""
    assert [term.stems for term in (Term(term="rayo"), Term(term="rayo", forms=("ray", "radi")), Term())] == [
        ("rayo",),
        ("ray", "radi"),
        (),
    ]


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("glossary: es\nterms:\n  ray: {trem: rayo}\n", [("key-unknown", 3, 9)]),
        ("glossary: es\nterms:\n  ray: rayo\n", [("not-a-mapping", 3, 8)]),
        ("glossary: es\nterms:\n  ray: {term: 3, not: [x, '']}\n", [("text-empty", 3, 27)]),
        ("terms: {}\n", [("key-missing", 1, 1)]),
        ("glossary: Spanish\nstitch_names: punto\n", [("text-shape", 1, 11), ("not-a-list", 2, 15)]),
        ("glossary: es\nterms: {ray: {term: rayo}\n", [("yaml-syntax", 3, 1)]),
        ("glossary: es\nterms:\n  ray: {term: a}\n  ray: {term: b}\n", [("key-twice", 4, 3)]),
    ],
)
def test_a_slip_is_told_where_it_is(tmp_path: Path, text: str, found: list[tuple[str, int, int]]) -> None:
    """An unknown key, a word without its braces, an empty text, no tag, two slips at once, broken YAML, a thing twice."""
    put(tmp_path, "es", text)
    with pytest.raises(BrokenLocale) as caught:
        load_glossary([tmp_path], SPANISH)
    assert [(p.code, p.span.line, p.span.column) for p in caught.value.problems] == found
    assert {Path(problem.file) for problem in caught.value.problems} == {tmp_path / "es" / FILE}


def test_a_new_glossary_asks_for_everything_and_can_be_read(tmp_path: Path) -> None:
    """All things with what is meant, none with a word yet: so nothing is found wrong with it before it is filled."""
    text = new_glossary(ENGLISH, "fi")
    put(tmp_path, "fi", text)
    glossary = load_glossary([tmp_path], LocaleInfo("fi", "draft"))
    assert {thing: term.about for thing, term in glossary.terms.items()} == {
        thing: term.about for thing, term in ENGLISH.terms.items()
    }
    assert not any(term.stems or term.never for term in glossary.terms.values())
    assert glossary.stitch_names == frozenset()
    assert yaml.safe_load(text)["glossary"] == "fi"


def test_what_is_meant_may_be_written_with_any_sign_or_not_at_all(tmp_path: Path) -> None:
    """Quotes and backslashes come back as they were; a thing whose meaning nobody wrote down has none."""
    meant = {"ray": Term(about='the "spoke" \\ a thread, über\nall'), "pin": Term()}
    put(tmp_path, "fi", new_glossary(Glossary(meant, frozenset()), "fi"))
    assert load_glossary([tmp_path], LocaleInfo("fi", "draft")).terms == meant


def test_no_glossary_is_no_slip(tmp_path: Path) -> None:
    """A locale without one has no words, and nothing to be measured by."""
    assert load_glossary([tmp_path], SPANISH) == Glossary({}, frozenset())
