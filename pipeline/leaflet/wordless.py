"""The wordless edition: signs, figures and pictures, and no text but the title and the edition.

Words that stand for pictures stay, for readers who listen; they are not on the page.
"""

import re
from dataclasses import replace
from typing import Final

from pipeline.language.speech import Phrase
from pipeline.leaflet.content import (
    Caution,
    Fact,
    Headings,
    Imprint,
    KeyHeads,
    KeyRow,
    Leaflet,
    MatPart,
    SizeTable,
    Step,
    TickWords,
)

NO_LANGUAGE: Final = "zxx"
"""BCP 47 for text without a language."""

UNITS: Final = ("mm", "m", "g", "tex")
_FIGURES: Final = re.compile(rf"\d[\d.,]*(?:\s×\s\d[\d.,]*)?\s(?:{'|'.join(UNITS)})\b")
"""A figure with its unit, or two of them multiplied."""

_SEVERAL: Final = re.compile(rf"\b(\d+)\s[^\d.,]+\s({_FIGURES.pattern})")
"""So many pieces of a length, in words."""

_THREAD: Final = re.compile(r"\b[A-Z]\b")
"""A thread's letter in a label."""

_PLAIN: Final = re.compile(r"[\d\s.,×+()–-]*")


def wordless(leaflet: Leaflet, number: int) -> Leaflet:
    """The same leaflet without words; ``number`` is that of its edition."""
    edition = str(number)
    return replace(
        _hushed(leaflet),
        lang=NO_LANGUAGE,
        imprint=Imprint(leaflet.imprint.logo, (), ()),
        edition=edition,
        date=leaflet.iso_date,
        foot=f"{leaflet.title.text} · {edition} · {leaflet.iso_date}",
        facts=tuple(fact for fact in map(_fact, leaflet.facts) if fact.value.text or fact.detail),
        materials=tuple(map(_fact, leaflet.materials)),
        cautions=tuple(map(_caution, leaflet.cautions)),
        steps=tuple(map(_step, leaflet.steps)),
        finishing=tuple(map(_step, leaflet.finishing)),
        mat=MatPart(leaflet.mat.picture, ()) if leaflet.mat else None,
        sizes=_sizes(leaflet.sizes) if leaflet.sizes else None,
        true_size=replace(
            leaflet.true_size, sentences=(), joining=(), cautions=tuple(map(_caution, leaflet.true_size.cautions))
        ),
        key=tuple(KeyRow(row.glyph, "", "", "", row.panels) for row in leaflet.key if row.panels),
    )


def _hushed(leaflet: Leaflet) -> Leaflet:
    """The leaflet without what is words and nothing else."""
    return replace(
        leaflet,
        summary=None,
        learning="",
        publisher="",
        sku="",
        level_text="",
        notices=(),
        headings=Headings(*[""] * len(Headings.__dataclass_fields__)),
        care="",
        chart_hints=(),
        step_hint="",
        ticks=TickWords("", ""),
        key_heads=KeyHeads("", "", "", ""),
        key_hint="",
        corrections=(),
        links=(),
    )


def figures_in(text: str) -> str:
    """What of a text can be read in any language: figures with their units.

    >>> figures_in("0.42 mm thick"), figures_in("about, a little less"), figures_in("48")
    ('0.42 mm', '', '48')
    >>> figures_in("For the rounds: 7 lengths of 1.5 m.")
    '7 × 1.5 m'
    """
    text = _SEVERAL.sub(r"\1 × \2", text)
    return text if _PLAIN.fullmatch(text) else " · ".join(_FIGURES.findall(text))


def _fact(fact: Fact) -> Fact:
    details = (Phrase(found) for detail in fact.detail if (found := figures_in(detail.text)))
    letter = _THREAD.search(fact.label)
    value = Phrase(figures_in(fact.value.text))
    return Fact(fact.glyph, letter[0] if letter else "", value, tuple(details), fact.swatch)


def _step(step: Step) -> Step:
    return replace(step, sentences=(), note=None, cautions=tuple(map(_caution, step.cautions)))


def _caution(caution: Caution) -> Caution:
    return replace(caution, text="")


def _sizes(table: SizeTable) -> SizeTable:
    heads = tuple(Phrase("") for _ in table.heads)
    return SizeTable(heads, tuple((glyph, figures_in(label), values) for glyph, label, values in table.rows))
