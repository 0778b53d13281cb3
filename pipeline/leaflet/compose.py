"""Compose the leaflet: from a pattern and its lace to every text and figure on its pages, in one locale."""

from collections.abc import Iterator, Sequence
from typing import Final

from pipeline.craft.shapes import Circle, HalfCircle
from pipeline.language.extraction import symbol_entries
from pipeline.language.speech import Phrase, Speech
from pipeline.leaflet.assembling import mat_part, size_table
from pipeline.leaflet.content import (
    Caution,
    Headings,
    KeyHeads,
    KeyRow,
    Leaflet,
    LinkPart,
    Place,
    Shown,
    TickWords,
    TrueSizePart,
)
from pipeline.leaflet.facts import care, cautions, facts, materials
from pipeline.leaflet.imprint import imprint, photographs
from pipeline.leaflet.steps import Told, finishing_signs, finishing_steps, laying_step, parity_sign, round_step
from pipeline.notation import Sign, count_text
from pipeline.publisher import Publisher
from pipeline.records import NamedLoom

LEVELS = 5
CHARTS: Final = ("chart", "ladder", "sector")
"""Pictures that show the whole, in their order."""
WARNED: Final = ("caution", "sharp", "label")
"""Signs of cautions that stand before a step."""


def compose(told: Told, publisher: Publisher | None, shown: Sequence[str]) -> Leaflet:
    """The leaflet; ``shown`` are the ids of all pictures there are: charts, pages of the loom, a logo."""
    pattern, speech = told.pattern, told.speech
    title = told.phrase(pattern.title)
    rounds = told.lace.rounds
    charts = [chart for chart in CHARTS if chart in shown]
    edition = _edition(told, pattern.edition.number)
    day = speech.day(pattern.edition.date)
    return Leaflet(
        lang=speech.locale.tag,
        direction=speech.locale.direction,
        id=pattern.id,
        title=title,
        summary=told.phrase(pattern.summary) if pattern.summary else None,
        learning=_learning(told),
        publisher=publisher.publisher if publisher else "",
        imprint=imprint(speech, publisher, shown),
        photographs=photographs(told),
        sku=pattern.sku or "",
        edition=edition,
        date=day,
        iso_date=pattern.edition.date.isoformat(),
        foot=f"{speech.isolated(title.text)} · {edition} · {speech.short_day(pattern.edition.date)}",
        level=tuple(_level(told)),
        level_text=level_text(told),
        notices=tuple(_notices(told)),
        portrait=lifelike(told),
        facts=tuple(facts(told)),
        whole=tuple(whole_line(told)),
        headings=_headings(told),
        materials=tuple(materials(told)),
        cautions=tuple(cautions(told)),
        care=care(told),
        charts=tuple(Shown(chart, _chart_alt(told, chart)) for chart in charts),
        chart_hints=tuple(_chart_hints(told)),
        steps=(
            laying_step(told),
            *(
                round_step(told, done, line, before)
                for done, line, before in zip(rounds, told.lines, (None, *rounds), strict=False)
            ),
        ),
        step_hint=speech.pgettext("steps", "Tick each box when the step is done."),
        ticks=TickWords(speech.pgettext("on screen", "Steps done"), speech.pgettext("on screen", "Clear all ticks")),
        finishing=tuple(finishing_steps(told)),
        mat=mat_part(told),
        sizes=size_table(told),
        true_size=_true_size(told, sum(name.startswith("truesize-") for name in shown)),
        key_heads=KeyHeads(
            glyph=speech.pgettext("key", "Sign"),
            short=speech.pgettext("key", "Short form"),
            name=speech.pgettext("key", "Name"),
            do=speech.pgettext("key", "What to do"),
        ),
        key_hint=speech.pgettext("key", "In every sign the centre of the lace lies below and the rim above."),
        key=tuple(_key_row(told, symbol_id) for symbol_id in key_ids(told)),
        corrections=tuple((_edition(told, entry.edition), told.phrase(entry.text)) for entry in pattern.corrections),
        links=tuple(_links(told)),
        untranslated=sum(phrase.lang is not None for phrase in _phrases(told)) + _own_untranslated(told),
    )


def glyph_ids(told: Told) -> tuple[str, ...]:
    """Every symbol whose glyph stands on some page."""
    shown = [fact.glyph for fact in (*facts(told), *materials(told))]
    shown += [*(caution.glyph for caution in cautions(told)), *_level(told), *map(told.glyph, WARNED)]
    return tuple(sorted({*key_ids(told), *(glyph.id.removeprefix("glyph-") for glyph in shown), "tick"}))


def key_ids(told: Told) -> tuple[str, ...]:
    """Symbols on the key page: stitches in the order they are met, then signs."""
    stitches = dict.fromkeys(done.symbol for done in told.lace.rounds)
    in_lines = dict.fromkeys(
        token.id for line in told.lines for token in line.tokens if isinstance(token, Sign) and token.id not in stitches
    )
    passes = ("pass",) if any(not item.tied for done in told.lace.rounds for item in done.counts.items) else ()
    opposition = ("opposition",) if any(parity_sign(done) == "opposition" for done in told.lace.rounds) else ()
    threads = ("thread",) if len(told.lace.threads) > 1 else ()
    return (
        "lay", *stitches, *opposition, "start", "direction", *sorted(in_lines), *passes, *threads,
        *finishing_signs(told.pattern),
    )  # fmt: skip


def strip_ids(told: Told) -> tuple[str, ...]:
    """The whole lace in one row: laying, rounds, off the loom."""
    last = "cut" if told.pattern.loom.hold == "thread" else "lift"
    return ("lay", *(done.symbol for done in told.lace.rounds), last)


def lifelike(told: Told) -> Shown:
    """The finished lace."""
    return Shown("portrait", told.speech.pgettext("pictures", "The finished lace, seen from its right side"))


def _learning(told: Told) -> str:
    """What working the piece teaches."""
    stitches = dict.fromkeys(told.name(done.symbol) for done in told.lace.rounds)
    words = told.speech.pgettext("title page", "You will learn: {stitches}")
    return told.speech.fill(words, stitches=told.speech.listed(stitches))


def _level(told: Told) -> Iterator[Shown]:
    text = level_text(told)
    for mark in range(1, LEVELS + 1):
        reached = mark <= told.pattern.level
        yield Shown("glyph-leaf-filled" if reached else "glyph-leaf", text)


def level_text(told: Told) -> str:
    """How much practice the pattern asks for."""
    message = told.speech.pgettext("title page", "Level {level} of {levels}")
    return told.speech.fill(message, level=told.pattern.level, levels=LEVELS)


def _notices(told: Told) -> Iterator[str]:
    """What a reader should know of the translation."""
    speech = told.speech
    yield from translation_notices(speech)
    edition = speech.patterns.editions.get(told.pattern.id, told.pattern.edition.number)
    if edition < told.pattern.edition.number and any(phrase.lang for phrase in _phrases(told)):
        words = speech.pgettext(
            "title page",
            # Translators: {number} is an older edition than the one the leaflet prints.
            "The translation was made from edition {number}; what has changed since then is shown as it was written.",
        )
        yield speech.fill(words, number=edition)


def translation_notices(speech: Speech) -> Iterator[str]:
    """Whether somebody has checked the translation."""
    locale = speech.locale
    if locale.status == "draft":
        yield speech.pgettext(
            "title page",
            "This translation is a draft: no maker who speaks the language has checked it yet. "
            "Signs and figures decide.",
        )
    if locale.checked_by:
        # Translators: {name} is a person.
        words = speech.pgettext("title page", "The translation was checked by {name}.")
        yield speech.fill(words, name=locale.checked_by)


def _headings(told: Told) -> Headings:
    speech = told.speech
    return Headings(
        materials=speech.pgettext("headings", "What you need"),
        cautions=speech.pgettext("headings", "Take care"),
        chart=speech.pgettext("headings", "Chart"),
        steps=speech.pgettext("headings", "Step by step"),
        finishing=speech.pgettext("headings", "Finishing"),
        mat=speech.pgettext("headings", "Joining"),
        sizes=speech.pgettext("headings", "Sizes"),
        key=speech.pgettext("headings", "Key to the signs"),
        corrections=speech.pgettext("headings", "Corrections"),
        links=speech.pgettext("headings", "On the web"),
        terms=speech.pgettext("headings", "What you may do"),
        true_size=speech.pgettext("headings", "Loom at true size"),
    )


def _chart_alt(told: Told, chart: str) -> str:
    speech, lace = told.speech, told.lace
    stitches = speech.listed(told.counted(done) for done in lace.rounds)
    if chart == "sector":
        return speech.pgettext("pictures", "One repeat enlarged, its rays numbered from the start")
    if chart == "ladder":
        return speech.fill(
            speech.pgettext("pictures", "The rounds from the centre to the rim: {stitches}"), stitches=stitches
        )
    message = speech.npgettext(
        "pictures",
        # Translators: stands for the chart; {stitches} is a list of stitches from the centre outward.
        "Chart of the whole wheel with {count} round, from the centre outward: {stitches}",
        "Chart of the whole wheel with {count} rounds, from the centre outward: {stitches}",
        len(lace.rounds),
    )
    return speech.fill(message, count=len(lace.rounds), stitches=stitches)


def _chart_hints(told: Told) -> Iterator[str]:
    speech, shape = told.speech, told.lace.loom.shape
    yield speech.pgettext("chart", "The chart shows the side that faces you while you work.")
    yield speech.pgettext("chart", "Each round begins at its wedge and goes the way of the arrow.")
    if shape.closed:
        yield speech.pgettext("chart", "Pins and rays are counted from the start mark outside the rim.")
    yield speech.pgettext("chart", "Thin lines are the web, thick lines the working thread.")
    yield speech.pgettext("chart", "Inside the broken line fewer rays are drawn than there are.")
    yield speech.pgettext("chart", "Figures beside the ladder are millimetres from the round before.")
    if not isinstance(shape, Circle | HalfCircle):
        yield speech.pgettext(
            # Translators: on ovals, squares and rectangles.
            "chart",
            "Distances are those on the shortest ray; on longer rays they are longer in proportion.",
        )
    yield speech.pgettext("chart", "The sector shows one repeat or a few; its rays are numbered from the start.")


def _links(told: Told) -> Iterator[LinkPart]:
    """Addresses in print and as square codes."""
    for number, link in enumerate(told.pattern.links, 1):
        label = told.phrase(link.label)
        yield LinkPart(label, link.url, Shown(f"code-{number}", f"{label.text}: {link.url}"))


def _true_size(told: Told, tiles: int) -> TrueSizePart:
    """The loom at true size."""
    speech = told.speech
    alt = speech.pgettext(
        # Translators: stands for a drawing of the loom on one of several pages.
        "pictures",
        "The loom at true size with its pins and a guide for every round, page {number} of {count}",
    )
    sentences = [
        speech.pgettext("true size", "Print this page at 100 %, not fitted to the paper."),
        speech.pgettext(
            "true size",
            "Measure before you begin: the square is 50 mm wide, the rulers are 100 mm and 4 inches long.",
        ),
    ]
    pictures = (
        Shown(f"truesize-{number}", speech.fill(alt, number=number, count=tiles)) for number in range(1, tiles + 1)
    )
    if tiles == 1:
        return TrueSizePart(tuple(pictures), tuple(sentences))
    words = speech.pgettext(
        "true size", "Lay the broken red lines of neighbouring pages on one another and glue them together."
    )
    return TrueSizePart(tuple(pictures), tuple(sentences), (words,), tuple(_glue(told)))


def _glue(told: Told) -> Iterator[Caution]:
    """What to know before pages are glued together."""
    words = told.speech.pgettext(
        "cautions", "Glue: follow the label of the product, let air in, keep it off skin and eyes."
    )
    yield told.caution("label", words)


def whole_line(told: Told) -> Iterator[Place]:
    """The whole lace in one line: the glyph of everything that is done, with its figures."""
    yield Place(told.glyph("lay"), str(told.lace.loom.pins), "")
    for done in told.lace.rounds:
        group, times = count_text(done.counts, told.lace.loom.rays)
        yield Place(told.glyph(done.symbol), group, f"× {times}")
    yield Place(told.glyph(strip_ids(told)[-1]), "", "")


def _key_row(told: Told, symbol_id: str) -> KeyRow:
    symbol, speech, name = told.symbols.symbol(symbol_id), told.speech, told.name(symbol_id)
    short = speech.pgettext(f"{symbol_id}: short", symbol.texts.short) if symbol.texts.short else ""
    panels = told.panels(symbol_id) if symbol_id not in finishing_signs(told.pattern) else ()
    return KeyRow(told.glyph(symbol_id), short, name, told.do(symbol_id), panels)


def _edition(told: Told, number: int) -> str:
    return told.speech.fill(told.speech.pgettext("furniture", "Edition {number}"), number=number)


def _phrases(told: Told) -> Iterator[Phrase]:
    """Every text of the pattern that is printed."""
    pattern = told.pattern
    texts = [pattern.title, pattern.summary, *(spec.colour_name for spec in pattern.threads.values())]
    texts += [entry.note for entry in pattern.rounds] + [entry.text for entry in pattern.corrections]
    texts += [pattern.loom.name] if isinstance(pattern.loom, NamedLoom) else []
    texts += [size.name for size in pattern.sizes] + [photo.alt for photo in pattern.photos]
    texts += [link.label for link in pattern.links] + [tool for tool in pattern.tools if tool not in told.symbols.signs]
    return (told.phrase(text) for text in texts if text)


def _own_untranslated(told: Told) -> int:
    """How many texts of the workspace's own symbols pages have in English, for want of a translation.

    Sentences count whether or not a round of this pattern needs them: they are translated together.
    """
    if told.speech.locale.status == "source" or not told.symbols.own:
        return 0
    return sum(not told.speech.program.has(context, text) for context, text in set(_own_texts(told)))


def _own_texts(told: Told) -> Iterator[tuple[str, str]]:
    """Context and text of the workspace's own symbols on the pages; of those the key has not, what is shown there."""
    explained, tools = key_ids(told), told.pattern.tools
    for entry in symbol_entries(told.symbols, told.symbols.own.intersection(glyph_ids(told))):
        symbol_id, _, kind = entry.context.partition(": ")
        if symbol_id in explained or kind == "name" or (kind == "do" and symbol_id in tools):
            yield entry.context, entry.text
