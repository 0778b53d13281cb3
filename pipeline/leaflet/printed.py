"""Compose the printed catalogue: from patterns as they are told to every text on its pages, in one locale."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date
from typing import Final

from pipeline.drawing.gallery import own
from pipeline.language.speech import Speech
from pipeline.leaflet.compose import level_text, lifelike, strip_ids, translation_notices, whole_line
from pipeline.leaflet.content import Fact, Shown
from pipeline.leaflet.entries import Entry, Group, Index, Mention, Printed, PrintedHeadings, View
from pipeline.leaflet.facts import facts, loom_measures, loom_size, shape_names
from pipeline.leaflet.imprint import imprint, photographs
from pipeline.leaflet.steps import Told
from pipeline.publisher import Publisher

FACTS: Final = ("glyph-loom", "glyph-pin", "glyph-thread", "glyph-lift")
"""The facts of a leaflet that an entry tells, by their glyphs; a thread's length stands with the thread."""
VIEWS: Final = (6, 3, 1)
"""How many pictures a cover may have."""


def catalogue_order(told: Told) -> tuple[object, ...]:
    """In what order patterns are listed: by their numbers, counted as people count, then by id."""
    parts = re.split(r"(\d+)", told.pattern.sku or "")
    counted = tuple(int(part) if place % 2 else part for place, part in enumerate(parts))
    return not told.pattern.sku, counted, told.pattern.id


def compose_printed(
    patterns: Sequence[Told], publisher: Publisher | None, shown: Sequence[str], issued: date
) -> Printed:
    """The catalogue of at least one pattern, all told in one locale.

    ``shown`` are the ids of pictures a page may lack: a logo, photographs as ``own`` names them.
    """
    told = sorted(patterns, key=catalogue_order)
    speech = told[0].speech
    entries = tuple(compose_entry(each, shown) for each in told)
    return Printed(
        lang=speech.locale.tag,
        direction=speech.locale.direction,
        title=speech.pgettext("printed catalogue", "Catalogue"),
        issued=speech.day(issued),
        iso_issued=issued.isoformat(),
        publisher=publisher.publisher if publisher else "",
        headings=_headings(speech),
        views=tuple(_views(told, entries)),
        entries=entries,
        indexes=tuple(_indexes(told)),
        key=tuple(_key(told)),
        notices=tuple(translation_notices(speech)),
        imprint=imprint(speech, publisher, shown),
    )


def compose_entry(told: Told, shown: Sequence[str]) -> Entry:
    """A pattern's entry: with its photograph, if it is among what can be shown."""
    pattern, speech = told.pattern, told.speech
    title, summary = told.phrase(pattern.title), told.phrase(pattern.summary) if pattern.summary else None
    photo = photographs(told).title
    photographed = photo is not None and own(photo.id, pattern.id) in shown
    view = photo if photo and photographed else lifelike(told)
    alts = [told.phrase(each.alt) for each in pattern.photos if photographed and each.place == "title"][:1]
    colours = (told.phrase(thread.colour_name) for thread in pattern.threads.values())
    texts = (title, summary, *alts, *colours)
    return Entry(
        id=pattern.id,
        title=title,
        summary=summary,
        view=Shown(own(view.id, pattern.id), view.alt),
        view_lang=alts[0].lang if alts else None,
        photographed=photographed,
        level=_leaves(told),
        facts=tuple(_facts(told)),
        whole=tuple(whole_line(told)),
        sku=speech.isolated(pattern.sku) if pattern.sku else "",
        price=speech.price(pattern.price.amount, pattern.price.currency) if pattern.price else "",
        untranslated=sum(bool(text and text.lang) for text in texts),
    )


def _leaves(told: Told) -> Shown:
    return Shown(f"level-{told.pattern.level}", level_text(told))


def _facts(told: Told) -> Iterator[Fact]:
    """What an entry tells at a glance."""
    found = tuple(facts(told))
    lengths = iter([fact.value for fact in found if fact.glyph.id == "glyph-length"])
    for fact in found:
        if fact.glyph.id == "glyph-thread" and fact.swatch:
            fibre, colour, *_ = fact.detail
            swatch = replace(fact.swatch, id=own(fact.swatch.id, told.pattern.id))
            yield replace(fact, detail=(fibre, colour, next(lengths)), swatch=swatch)
        elif fact.glyph.id in FACTS:
            yield fact


def _headings(speech: Speech) -> PrintedHeadings:
    return PrintedHeadings(
        contents=speech.pgettext("printed catalogue", "Contents"),
        price=speech.pgettext("printed catalogue", "Price"),
        # Translators: heads the column of page numbers.
        page=speech.pgettext("printed catalogue", "Page"),
        key=speech.pgettext("headings", "Key to the signs"),
        terms=speech.pgettext("headings", "What you may do"),
    )


def _views(told: Sequence[Told], entries: Sequence[Entry]) -> Iterator[View]:
    """A handful of pictures: of each shape and each stitch the first that has it, then from the front."""
    kinds = [(each.pattern.loom.shape, each.lace.rounds[0].symbol if each.lace.rounds else "") for each in told]
    first = [place for place, kind in enumerate(kinds) if kind not in kinds[:place]]
    others = [place for place in range(len(told)) if place not in first]
    count = next(most for most in VIEWS if most <= len(told))
    for place in sorted([*first, *others][:count]):
        title = entries[place].title
        yield View(Shown(own("portrait", entries[place].id), title.text), title.lang)


def _indexes(told: Sequence[Told]) -> Iterator[Index]:
    speech = told[0].speech
    yield Index("by-shape", speech.pgettext("printed catalogue", "By shape"), tuple(_by_shape(told)))
    yield Index("by-size", speech.pgettext("printed catalogue", "By size"), (_by_size(told),))
    yield Index("by-level", speech.pgettext("printed catalogue", "By level"), tuple(_by_level(told)))
    yield Index("by-technique", speech.pgettext("printed catalogue", "By technique"), tuple(_by_technique(told)))


def _mention(told: Told, detail: str = "") -> Mention:
    return Mention(told.pattern.id, told.phrase(told.pattern.title), detail)


def _group(head: str, mark: Shown | None, told: Sequence[Told]) -> Group:
    return Group(head, mark, tuple(map(_mention, told)))


def _by_shape(told: Sequence[Told]) -> Iterator[Group]:
    for shape, name in shape_names(told[0].speech).items():
        those = [each for each in told if each.pattern.loom.shape == shape]
        if those:
            yield _group(name, None, those)


def _by_size(told: Sequence[Told]) -> Group:
    """All of them, the smallest first."""
    ordered = sorted(
        told, key=lambda each: (sorted(loom_measures(each.lace.loom), reverse=True), catalogue_order(each))
    )
    return Group("", None, tuple(_mention(each, loom_size(each, each.lace.loom, 0)) for each in ordered))


def _by_level(told: Sequence[Told]) -> Iterator[Group]:
    for level in sorted({each.pattern.level for each in told}):
        those = [each for each in told if each.pattern.level == level]
        yield _group(level_text(those[0]), _leaves(those[0]), those)


def _by_technique(told: Sequence[Told]) -> Iterator[Group]:
    """By every stitch a pattern is worked with, in the order in which the catalogue first meets them."""
    for symbol_id in dict.fromkeys(stitch for each in told for stitch in _stitches(each)):
        those = [each for each in told if symbol_id in _stitches(each)]
        glyph = those[0].glyph(symbol_id)
        yield _group(glyph.alt, glyph, those)


def _stitches(told: Told) -> tuple[str, ...]:
    return tuple(dict.fromkeys(done.symbol for done in told.lace.rounds))


def _key(told: Sequence[Told]) -> Iterator[Shown]:
    """Every glyph of the lines, in the order in which they are met."""
    met: dict[str, Shown] = {}
    for each in told:
        for symbol_id in strip_ids(each):
            met.setdefault(symbol_id, each.glyph(symbol_id))
    # What is done last with each piece stands last.
    last = ("cut", "lift")
    yield from sorted(met.values(), key=lambda glyph: glyph.id.removeprefix("glyph-") in last)
