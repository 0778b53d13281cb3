"""What stands on the pages: all of it, in the locale's own words, and the same figure wherever it is said."""

import gettext
import re
from collections.abc import Callable, Iterator
from dataclasses import fields, is_dataclass
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

import pypdfium2 as pdfium
import pytest

from pipeline.catalogue.make import figures_of
from pipeline.drawing.album import draw, glyphs, panels, strip
from pipeline.drawing.picture import Figures
from pipeline.drawing.truesize import true_size_pages
from pipeline.language.catalogue import Catalogues, load_catalogues
from pipeline.language.extraction import free_tools, pattern_entries, program_entries, symbol_entries
from pipeline.language.fonts import find_fonts
from pipeline.language.locales import LocaleInfo
from pipeline.language.speech import Speech
from pipeline.leaflet.compose import compose, glyph_ids, key_ids, strip_ids
from pipeline.leaflet.content import Fact, Leaflet
from pipeline.leaflet.papers import PAPERS
from pipeline.leaflet.steps import Told
from pipeline.symbols import SymbolSet
from pipeline.typeset import press, stamps, typeset
from pipeline.workspace import shipped

Tell = Callable[[str, Speech], Told]
Compose = Callable[[str, str], Leaflet]

DEMOS = ("first-frost", "night-heron", "tide-table")
TAGS = ("en", "es", "ar", "ja")
EVERY = [(demo, tag) for demo in DEMOS for tag in TAGS]

AS_IT_IS = {"lang", "direction", "id", "publisher", "lines", "sku", "iso_date", "role", "number"}
"""Fields that are no words of a language: tags, ids, the publisher's own name and addresses."""
UNITS = {"tex", "mm", "TQ"}


def bare(text: str) -> str:
    """A text without isolates, with plain spaces."""
    return re.sub("[\u2066-\u2069]", "", text).replace("\u00a0", " ").replace("\u202f", " ")


def texts(node: Any, path: str = "") -> Iterator[tuple[str, str]]:
    """Every text of a leaflet that people read, with where it stands."""
    if isinstance(node, str):
        yield path, bare(node)
    elif isinstance(node, tuple):
        for place, entry in enumerate(node):
            yield from texts(entry, f"{path}[{place}]")
    elif is_dataclass(node):
        for field in fields(node):
            if field.name not in AS_IT_IS:
                yield from texts(getattr(node, field.name), f"{path}.{field.name}")


@pytest.mark.parametrize("demo", DEMOS)
@pytest.mark.parametrize("tag", ["ar", "ja"])
def test_no_word_of_another_language_is_left(composed: Compose, demo: str, tag: str) -> None:
    """In Arabic and Japanese every word is the locale's: no Latin word but a unit, in no field of the leaflet."""
    foreign = {path: text for path, text in texts(composed(demo, tag)) if set(re.findall("[A-Za-z]{2,}", text)) - UNITS}
    assert foreign == {}


@pytest.mark.parametrize("demo", DEMOS)
def test_spanish_is_not_english(composed: Compose, demo: str) -> None:
    """A text of three words or more never stands in both languages alike."""
    english, spanish = dict(texts(composed(demo, "en"))), dict(texts(composed(demo, "es")))
    assert set(english) == set(spanish) - {".notices[0]"}
    alike = {
        path: text for path, text in english.items() if len(re.findall("[a-z]{2,}", text)) > 2 and spanish[path] == text
    }
    assert alike == {}
    assert len(english) > 100


@pytest.mark.parametrize(("demo", "tag"), EVERY)
def test_nothing_is_empty_or_left_unfilled(composed: Compose, demo: str, tag: str) -> None:
    """No brace is left, no text is empty but those that may be, and no pattern text is missing a translation."""
    leaflet = composed(demo, tag)
    may_be_empty = re.compile(
        r"\.(line\[\d+\]\.text|whole\[\d+\]\.(group|times)|key\[\d+\]\.short|steps\[0\]\.number)$"
    )
    for path, text in texts(leaflet):
        assert "{" not in text, path
        assert "}" not in text, path
        assert text.strip() or may_be_empty.search(path), path
    assert leaflet.untranslated == 0


@pytest.mark.parametrize(("demo", "tag"), EVERY)
def test_only_drafts_say_that_they_are(composed: Compose, demo: str, tag: str) -> None:
    """The source has no such notice; each draft has it in its own words, before anything is worked."""
    notices = composed(demo, tag).notices
    assert len(notices) == (tag != "en")
    assert not any("draft" in notice for notice in notices)


THICKNESSES = {
    ("first-frost", "A"): (1.10, 1000 * 10 / 120),
    ("night-heron", "A"): (1.10, 62.0),
    ("night-heron", "B"): (1.24, 540 / 9),
    ("tide-table", "A"): (1.11, 1000 / 16),
    ("tide-table", "B"): (1.10, 590.541 / 10),
}
"""Specific volume (design section 5) and tex, by hand from what each demo says of its threads."""


@pytest.mark.parametrize(("tag", "point"), [("en", "."), ("es", ","), ("ar", "."), ("ja", ".")])
def test_facts_print_every_thickness_to_a_hundredth(composed: Compose, tag: str, point: str) -> None:
    """Design section 5: d = √(4·v·tex/(1000·π)) mm; two places, also where the last is nought (0.30)."""
    seen = set()
    for (demo, letter), (volume, tex) in THICKNESSES.items():
        exact = Decimal(4 * volume * tex / 3141.592653589793) ** Decimal("0.5")
        wanted = str(exact.quantize(Decimal("0.01"), rounding=ROUND_HALF_UP)).replace(".", point)
        fact = next(fact for fact in composed(demo, tag).facts if letter in fact.label and "tex" in fact.value.text)
        assert any(wanted in bare(detail.text) for detail in fact.detail), (demo, letter)
        seen.add(wanted)
    assert f"0{point}30" in seen


@pytest.mark.parametrize(("demo", "tag"), EVERY)
def test_sentence_and_line_say_the_same_distance(composed: Compose, demo: str, tag: str) -> None:
    """Look section 8: one figure, said twice here and once in the picture (see the step pictures' own test)."""
    worked = [step for step in composed(demo, tag).steps if step.number]
    assert len(worked) >= 4
    for step in worked:
        place = next(place for place, item in enumerate(step.line) if item.glyph and item.glyph.id == "glyph-gap")
        value = step.line[place + 1].text.removesuffix(" mm")
        assert re.fullmatch(r"\d+(\.\d)?", value)
        local = value.replace(".", ",") if tag == "es" else value
        unit = "مم" if tag == "ar" else "mm"
        assert any(re.search(rf"(?<![\d.,]){re.escape(local)} ?{unit}", bare(text)) for text in step.sentences), step


@pytest.mark.parametrize("demo", DEMOS)
def test_sentence_and_line_say_the_same_counts(composed: Compose, demo: str) -> None:
    """Whatever number stands in the line of a round (rows, shift, size of its groups) stands in its sentences."""
    for step in composed(demo, "en").steps:
        figures = [item.text for item in step.line if not item.glyph and item.role in {"group", "value"}]
        said = re.findall(r"\d+(?:\.\d+)?", " ".join(bare(text) for text in step.sentences))
        edge = any(item.glyph and item.glyph.id.startswith("glyph-edge") for item in step.line)
        for number in re.findall(r"\d+(?:\.\d+)?", " ".join(figures)):
            # What an edge takes is its nature: "the two legs of a pin".
            assert number in said or (edge and number == "2"), (step.number, number)


@pytest.mark.parametrize("demo", DEMOS)
def test_a_round_is_told_as_the_pattern_has_it(composed: Compose, demo: str) -> None:
    """Steps are numbered as the rounds, laying before and finishing after; notes stand at their round."""
    leaflet = composed(demo, "en")
    notes = {"first-frost": "2", "night-heron": "3", "tide-table": "2"}
    numbers = [step.number for step in leaflet.steps]
    assert numbers == ["", *(str(number) for number in range(1, len(numbers)))]
    assert [step.number for step in leaflet.steps if step.note] == [notes[demo]]
    assert leaflet.steps[0].glyph is not None
    assert leaflet.steps[0].glyph.id == "glyph-lay"
    assert all(not step.number and step.glyph for step in leaflet.finishing)


@pytest.mark.parametrize(("demo", "tag"), EVERY)
def test_cautions_are_those_the_piece_needs(composed: Compose, demo: str, tag: str) -> None:
    """Sharp things, small parts and rest always, and upright pins; before a step what is cut or stiffened in it.

    The sign of warning stands where somebody can get hurt, and not beside the advice to rest.
    """
    leaflet = composed(demo, tag)
    signs = [caution.glyph.id.removeprefix("glyph-") for caution in leaflet.cautions]
    upright = ["pin"] if demo == "night-heron" else []
    assert signs == ["sharp", *upright, "small-parts", "rest"]
    before = {step.glyph.id: [c.glyph.id for c in step.cautions] for step in leaflet.finishing if step.cautions}
    wanted = {
        "first-frost": {"glyph-cut": ["glyph-sharp"]},
        "night-heron": {},
        "tide-table": {"glyph-stiffen": ["glyph-label"], "glyph-cut": ["glyph-sharp"]},
    }
    assert before == wanted[demo]
    warned = [caution.warning is not None for caution in leaflet.cautions]
    assert warned == [True] * (len(warned) - 1) + [False]
    assert all(caution.warning for step in leaflet.finishing for caution in step.cautions)


def test_care_yields_to_labels_and_rules(composed: Compose) -> None:
    """The notice is general: labels and local rules come first, and a professional where one is unsure."""
    care = composed("night-heron", "en").care
    for word in ("general", "labels", "rules", "first", "professional"):
        assert word in care
    others = {composed("night-heron", tag).care for tag in TAGS}
    assert len(others) == 4


@pytest.mark.parametrize(("demo", "level"), [("first-frost", 1), ("tide-table", 2), ("night-heron", 3)])
def test_five_marks_say_the_level(composed: Compose, demo: str, level: int) -> None:
    """As many filled as the level, then empty ones."""
    marks = [mark.id for mark in composed(demo, "ja").level]
    assert marks == ["glyph-leaf-filled"] * level + ["glyph-leaf"] * (5 - level)


@pytest.mark.parametrize("demo", DEMOS)
def test_every_glyph_of_a_line_is_in_the_key(composed: Compose, demo: str) -> None:
    """Whoever meets a sign in a line or in the whole-lace row finds it on the key page, once."""
    leaflet = composed(demo, "en")
    keyed = [row.glyph.id for row in leaflet.key]
    met = {item.glyph.id for step in leaflet.steps for item in step.line if item.glyph}
    met |= {place.glyph.id for place in leaflet.whole}
    assert len(set(keyed)) == len(keyed)
    assert met <= set(keyed)


def test_the_whole_lace_adds_up(composed: Compose) -> None:
    """Night Heron by hand: each group times its repeats is all 120 rays of 60 pins."""
    whole = [(place.group, place.times) for place in composed("night-heron", "en").whole]
    assert whole == [
        ("60", ""), ("2+2", "× 30"), ("6", "× 20"), ("3+3", "× 20"), ("5 3 4", "× 10"), ("4", "× 30"), ("2", "× 60"), ("", ""),
    ]  # fmt: skip


def fact(leaflet: Leaflet, label: str) -> Fact:
    """The fact with this label."""
    return next(entry for entry in leaflet.facts if entry.label == label)


def test_facts_say_loom_and_pins(composed: Compose) -> None:
    """Tide Table, by hand: 88 mm, 48 pins, 96 rays; Ne 10 is 59.1 tex."""
    leaflet = composed("tide-table", "en")
    assert fact(leaflet, "Loom").value.text == "88\u00a0mm"
    assert fact(leaflet, "Pins").value.text == "48"
    assert [detail.text for detail in fact(leaflet, "Pins").detail] == ["96 rays"]
    assert fact(leaflet, "Thread B").value.text == "59.1 tex"
    assert [detail.text for detail in fact(leaflet, "Thread B").detail][:2] == ["cotton", "deep water"]


def test_laying_names_the_opposite_pin(composed: Compose) -> None:
    """36 pins: pin 1 is opposite to pin 19."""
    sentences = " ".join(composed("first-frost", "en").steps[0].sentences)
    assert "pin 19" in sentences
    assert "pin 1," in sentences


def test_arabic_isolates_what_is_filled_in(composed: Compose) -> None:
    """Unicode UAX #9: every isolate that is opened is closed, and figures with a unit stand in one."""
    for path, text in raw_texts(composed("tide-table", "ar")):
        depth = 0
        for character in text:
            depth += (character in "\u2066\u2067\u2068") - (character == "\u2069")
            assert 0 <= depth <= 3, path
        assert depth == 0, path
        assert not re.search(r"(?<![\u2068\u2066\d.,])\d[\d.,]* مم(?!\u2069)", text), path


class Accents(gettext.NullTranslations):
    """A made-up language: every known message longer, in brackets, with an accent on each vowel."""

    VOWELS = str.maketrans("aeiouAEIOU", "áéíóúÁÉÍÓÚ")

    def __init__(self, known: frozenset[tuple[str | None, str]]) -> None:
        super().__init__()
        self.known = known

    def pgettext(self, context: str, message: str) -> str:
        """A message in this language; one that no extractor has found stays as it is."""
        if (context, message) not in self.known:
            return message
        pieces = re.split(r"(\{\w+\})", message)
        accented = "".join(piece if piece.startswith("{") else piece.translate(self.VOWELS) for piece in pieces)
        return f"[{accented}{' ~' * (len(message) // 5)}]"

    def npgettext(self, context: str, msgid1: str, msgid2: str, n: int) -> str:
        """As English counts."""
        if (context, msgid1) not in self.known:
            return msgid1 if n == 1 else msgid2
        self.known |= {(context, msgid2)}
        return self.pgettext(context, msgid1 if n == 1 else msgid2)


def accented(tell: Tell, symbols: SymbolSet, demo: str) -> Told:
    """A demo to be told in the made-up language; what it knows is what extraction finds."""
    package = shipped("symbols").parent / "pipeline"
    locale = LocaleInfo("en", "draft")
    plain = tell(demo, Speech(locale, load_catalogues([], locale, "a"), load_catalogues([], locale, "b")))
    program = frozenset((e.context, e.text) for e in [*program_entries(package), *symbol_entries(symbols)])
    own = frozenset((e.context, e.text) for e in [*pattern_entries(plain.pattern), *free_tools(plain.pattern, symbols)])
    speech = Speech(locale, Catalogues(Accents(program), program), Catalogues(Accents(own), own))
    return tell(demo, speech)


@pytest.mark.parametrize("demo", DEMOS)
def test_every_word_on_the_page_can_be_translated(tell: Tell, symbols: SymbolSet, demo: str) -> None:
    """In a made-up language of accents no word keeps a plain vowel, units, dates and the "and" of lists apart."""
    told = accented(tell, symbols, demo)
    leaflet = compose(told, None, ("chart", "ladder"))
    days = f"{leaflet.date} {told.speech.short_day(told.pattern.edition.date)}"
    by_rule = {"tex", "and", *re.findall("[A-Za-z]+", days)}
    plain = {
        path: words
        for path, text in texts(leaflet)
        if (words := set(re.findall("[A-Za-z]*[aeiouAEIOU][A-Za-z]+", text)) - by_rule)
    }
    assert plain == {}
    assert leaflet.untranslated == 0
    assert leaflet.notices


def test_a_longer_language_still_makes_a_leaflet(tell: Tell, symbols: SymbolSet) -> None:
    """Texts two fifths longer, on the smallest paper: it is typeset without a complaint, on as many pages or more."""
    told = accented(tell, symbols, "tide-table")
    leaflet, paper, fonts = compose(told, None, ("chart", "ladder")), PAPERS["a5"], find_fonts("Latn", ())
    album = draw(
        told.lace, told.lines, symbols,
        figures=Figures(fonts.files[0].path, fonts.files[1].path),
        colours={"A": "#b9975b", "B": "#2f6f73"},
        layout=paper.album,
    )  # fmt: skip
    sheets = true_size_pages(told.lace, told.pattern.loom, figures_of(fonts), paper.album.truesize)
    small = (
        *sheets,
        *glyphs(glyph_ids(told), symbols),
        strip(strip_ids(told), symbols),
        *panels(key_ids(told), symbols),
    )
    pictures = stamps([*album, *small])
    data = typeset(leaflet, pictures, press(fonts, paper, "ltr"))
    document = pdfium.PdfDocument(data)
    text = "".join(document[number].get_textpage().get_text_range() for number in range(len(document)))
    assert len(document) >= 6
    assert "Stép by stép" in text
    assert "Tídé Táblé" in text


def raw_texts(node: Any, path: str = "") -> Iterator[tuple[str, str]]:
    """Every text with its isolates."""
    if isinstance(node, str):
        yield path, node
    elif isinstance(node, tuple):
        for place, entry in enumerate(node):
            yield from raw_texts(entry, f"{path}[{place}]")
    elif is_dataclass(node):
        for field in fields(node):
            yield from raw_texts(getattr(node, field.name), f"{path}.{field.name}")
