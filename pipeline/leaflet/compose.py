"""Compose the leaflet: from a pattern and its lace to every text and figure on its pages, in one locale."""

from collections.abc import Iterator, Sequence

from pipeline.language.speech import Phrase
from pipeline.leaflet.content import Caution, Fact, Headings, KeyHeads, KeyRow, Leaflet, Place, Shown
from pipeline.leaflet.steps import Told, finishing_signs, finishing_steps, in_opposition, laying_step, round_step
from pipeline.notation import Sign, count_text
from pipeline.publisher import Publisher

LEVELS = 5


def compose(told: Told, publisher: Publisher | None, charts: Sequence[str]) -> Leaflet:
    """The leaflet; ``charts`` are the ids of the pictures that show the whole."""
    pattern, speech = told.pattern, told.speech
    title = told.phrase(pattern.title)
    rounds = told.lace.rounds
    edition = speech.fill(speech.pgettext("furniture", "Edition {number}"), number=pattern.edition.number)
    day = speech.day(pattern.edition.date)
    return Leaflet(
        lang=speech.locale.tag,
        direction=speech.locale.direction,
        id=pattern.id,
        title=title,
        summary=told.phrase(pattern.summary) if pattern.summary else None,
        publisher=publisher.publisher if publisher else "",
        contact=tuple(speech.isolated(text) for text in _contact(publisher)),
        sku=pattern.sku or "",
        edition=edition,
        date=day,
        iso_date=pattern.edition.date.isoformat(),
        foot=f"{speech.isolated(title.text)} · {edition} · {day}",
        level=tuple(_level(told)),
        level_text=_level_text(told),
        draft=_draft(told),
        portrait=Shown("portrait", speech.pgettext("pictures", "The finished lace, seen from its right side")),
        facts=tuple(_facts(told)),
        whole=tuple(_whole(told)),
        headings=_headings(told),
        materials=tuple(_materials(told)),
        cautions=tuple(_cautions(told)),
        care=_care(told),
        charts=tuple(Shown(chart, _chart_alt(told, chart)) for chart in charts),
        chart_hints=_chart_hints(told),
        steps=(
            laying_step(told),
            *(
                round_step(told, done, line, before)
                for done, line, before in zip(rounds, told.lines, (None, *rounds), strict=False)
            ),
        ),
        step_hint=speech.pgettext("steps", "Tick each box when the step is done."),
        finishing=tuple(finishing_steps(told)),
        key_heads=KeyHeads(
            glyph=speech.pgettext("key", "Sign"),
            short=speech.pgettext("key", "Short form"),
            name=speech.pgettext("key", "Name"),
            do=speech.pgettext("key", "What to do"),
        ),
        key_hint=speech.pgettext("key", "In every sign the centre of the lace lies below and the rim above."),
        key=tuple(_key_row(told, symbol_id) for symbol_id in key_ids(told)),
        corrections=tuple((_edition(told, entry.edition), told.phrase(entry.text)) for entry in pattern.corrections),
        links=tuple((told.phrase(link.label), link.url) for link in pattern.links),
        untranslated=sum(phrase.lang is not None for phrase in _phrases(told)),
    )


def glyph_ids(told: Told) -> tuple[str, ...]:
    """Every symbol whose glyph stands on some page."""
    facts = [fact.glyph for fact in (*_facts(told), *_materials(told))]
    cautions = [caution.glyph for caution in _cautions(told)]
    shown = [*facts, *cautions, *_level(told)]
    return tuple(sorted({*key_ids(told), *(glyph.id.removeprefix("glyph-") for glyph in shown), "tick"}))


def key_ids(told: Told) -> tuple[str, ...]:
    """Symbols on the key page: stitches in the order they are met, then signs."""
    stitches = dict.fromkeys(done.stitch.stitch for done in told.lace.rounds)
    in_lines = dict.fromkeys(
        token.id
        for line in told.lines
        for token in line.tokens
        if isinstance(token, Sign) and token.id in told.symbols.signs
    )
    passes = ("pass",) if any(not item.tied for done in told.lace.rounds for item in done.counts.items) else ()
    opposition = ("opposition",) if any(in_opposition(done) for done in told.lace.rounds) else ()
    threads = ("thread",) if len(told.lace.threads) > 1 else ()
    return (
        "lay", *stitches, *opposition, "start", "direction", *sorted(in_lines), *passes, *threads,
        *finishing_signs(told.pattern),
    )  # fmt: skip


def strip_ids(told: Told) -> tuple[str, ...]:
    """The whole lace in one row: laying, rounds, off the loom."""
    last = "cut" if told.pattern.loom.hold == "thread" else "lift"
    return ("lay", *(done.stitch.stitch for done in told.lace.rounds), last)


def _contact(publisher: Publisher | None) -> Iterator[str]:
    for text in (publisher.contact, publisher.address, publisher.copyright) if publisher else ():
        if text:
            yield text


def _level(told: Told) -> Iterator[Shown]:
    text = _level_text(told)
    for mark in range(1, LEVELS + 1):
        reached = mark <= told.pattern.level
        yield Shown("glyph-leaf-filled" if reached else "glyph-leaf", text)


def _level_text(told: Told) -> str:
    message = told.speech.pgettext("title page", "Level {level} of {levels}")
    return told.speech.fill(message, level=told.pattern.level, levels=LEVELS)


def _draft(told: Told) -> str | None:
    if told.speech.locale.status != "draft":
        return None
    return told.speech.pgettext(
        "title page",
        "This translation is a draft: no maker who speaks the language has checked it yet. Signs and figures decide.",
    )


def _facts(told: Told) -> Iterator[Fact]:
    """The facts at a glance."""
    speech, lace, pattern = told.speech, told.lace, told.pattern
    yield Fact(
        told.glyph("loom"), speech.pgettext("facts", "Loom"), Phrase(speech.mm(2 * lace.loom.radius)),
        (Phrase(speech.pgettext("facts", "round, diameter")),),
    )  # fmt: skip
    rays = speech.npgettext("facts", "{count} ray", "{count} rays", lace.loom.rays)
    yield Fact(
        told.glyph("pin"), speech.pgettext("facts", "Pins"), Phrase(speech.number(lace.loom.pins)),
        (Phrase(speech.fill(rays, count=lace.loom.rays)),),
    )  # fmt: skip
    for letter in lace.threads:
        yield _thread_fact(told, letter)
        yield _length_fact(told, letter)
    yield Fact(
        told.glyph("lift"), speech.pgettext("facts", "Finished size"), Phrase(speech.mm(2 * lace.loom.radius, 0)),
        (Phrase(speech.pgettext("facts", "about, a little less off the loom")),),
    )  # fmt: skip
    yield Fact(
        told.glyph("stiffen"), speech.pgettext("facts", "Stiffener"), Phrase(_stiffener(told, pattern.finish.stiffen))
    )


def _stiffener(told: Told, stiffen: str) -> str:
    speech = told.speech
    if stiffen == "never":
        return speech.pgettext("facts", "not needed")
    if stiffen == "optional":
        return speech.pgettext("facts", "if you like")
    return speech.pgettext("facts", "needed")


def _thread_fact(told: Told, letter: str) -> Fact:
    speech, thread = told.speech, told.lace.threads[letter]
    spec = told.pattern.threads[letter]
    label = speech.fill(speech.pgettext("facts", "Thread {thread}"), thread=letter)
    tex = Phrase(speech.left_to_right(f"{speech.number(round(thread.tex, 1))} tex"))
    thick = speech.fill(speech.pgettext("facts", "{thickness} thick"), thickness=speech.thickness(thread.thickness))
    return Fact(
        told.glyph("thread"),
        label,
        tex,
        (Phrase(_fibre(told, spec.fibre)), told.phrase(spec.colour_name), Phrase(thick)),
    )


def _fibre(told: Told, fibre: str) -> str:
    speech = told.speech
    return {
        "cotton": speech.pgettext("fibres", "cotton"),
        "linen": speech.pgettext("fibres", "linen"),
        "silk": speech.pgettext("fibres", "silk"),
        "wool": speech.pgettext("fibres", "wool"),
        "polyester": speech.pgettext("fibres", "polyester"),
        "viscose": speech.pgettext("fibres", "viscose"),
    }[fibre]


def _length_fact(told: Told, letter: str) -> Fact:
    speech, total = told.speech, told.lace.totals[letter]
    label = speech.fill(speech.pgettext("facts", "Length of {thread}"), thread=letter)
    length = total.total if total.measured is None else total.measured
    grams = total.grams * length / total.total if total.total else 0.0
    source = (
        speech.pgettext("facts", "estimated")
        if total.measured is None
        else speech.pgettext("facts", "measured on a sample")
    )
    return Fact(
        told.glyph("length"), label, Phrase(speech.metres(length)), (Phrase(speech.grams(grams)), Phrase(source))
    )


def _materials(told: Told) -> Iterator[Fact]:
    """What to have at hand."""
    speech, pattern = told.speech, told.pattern
    pins = speech.npgettext(
        "materials", "round, {diameter}, with {count} pin", "round, {diameter}, with {count} pins", told.lace.loom.pins
    )
    loom = speech.fill(pins, diameter=speech.mm(2 * told.lace.loom.radius), count=told.lace.loom.pins)
    yield Fact(told.glyph("loom"), speech.pgettext("facts", "Loom"), Phrase(loom), (Phrase(_hold(told)),))
    for letter, spec in pattern.threads.items():
        yield Fact(*_thread_need(told, letter, spec.colour_name))
    if pattern.loom.hold == "thread":
        yield _holding_thread(told)
    for tool in pattern.tools:
        known = tool in told.symbols.signs
        phrase = Phrase(told.name(tool)) if known else told.phrase(tool)
        detail = (Phrase(told.do(tool)),) if known else ()
        yield Fact(
            told.glyph(tool) if known else told.glyph("tick"), speech.pgettext("materials", "Tool"), phrase, detail
        )


def _hold(told: Told) -> str:
    speech = told.speech
    return {
        "thread": speech.pgettext("materials", "Each pin is a loop of the holding thread."),
        "pin": speech.pgettext("materials", "Each pin is a pin set upright at the rim."),
        "notch": speech.pgettext("materials", "Each pin is a notch cut into the rim."),
    }[told.pattern.loom.hold]


def _thread_need(told: Told, letter: str, colour_name: str) -> tuple[Shown, str, Phrase, tuple[Phrase, ...]]:
    speech, total = told.speech, told.lace.totals[letter]
    label = speech.fill(speech.pgettext("facts", "Thread {thread}"), thread=letter)
    details: list[Phrase] = []
    if letter == told.lace.web_thread:
        web = speech.pgettext("materials", "For the web: {length} in one piece, both tails with it.")
        details.append(Phrase(speech.fill(web, length=speech.metres(told.lace.web.cut))))
    if total.working_lengths:
        words = speech.npgettext(
            "materials", "For the rounds: {count} length of {length}.", "For the rounds: {count} lengths of {length}.",
            total.working_lengths,
        )  # fmt: skip
        working = speech.metres(told.pattern.working_length)
        details.append(Phrase(speech.fill(words, count=total.working_lengths, length=working)))
    return told.glyph("thread"), label, told.phrase(colour_name), tuple(details)


def _holding_thread(told: Told) -> Fact:
    speech, spec = told.speech, told.pattern.holding_thread
    label = speech.pgettext("materials", "Holding thread")
    detail = (Phrase(speech.pgettext("materials", "Smooth and strong; it is cut away at the end.")),)
    if spec is None:
        like = speech.fill(speech.pgettext("materials", "like thread {thread}"), thread=told.lace.web_thread)
        return Fact(told.glyph("pin"), label, Phrase(like), detail)
    return Fact(told.glyph("pin"), label, told.phrase(spec.colour_name), (Phrase(_fibre(told, spec.fibre)), *detail))


def _cautions(told: Told) -> Iterator[Caution]:
    speech = told.speech
    yield Caution(
        told.glyph("sharp"),
        speech.pgettext(
            "cautions", "Needle and scissors are sharp: work in good light and put them away when you pause."
        ),
    )
    if told.pattern.loom.hold == "thread":
        yield Caution(
            told.glyph("cut"),
            speech.pgettext(
                "cautions", "When you cut the holding thread, cut from the back and away from your fingers."
            ),
        )
    if told.pattern.finish.stiffen != "never":
        yield Caution(
            told.glyph("label"),
            speech.pgettext(
                "cautions", "Stiffener: follow the label of the product, let air in, keep it off skin and eyes."
            ),
        )
    yield Caution(
        told.glyph("small-parts"),
        speech.pgettext(
            "cautions", "Pins, needles and thread ends are small: keep them away from children and animals."
        ),
    )
    yield Caution(
        told.glyph("rest"),
        speech.pgettext("cautions", "Rest hands, neck and eyes often, and stop when something hurts."),
    )


def _care(told: Told) -> str:
    return told.speech.pgettext(
        "cautions",
        "This is general care. The labels of your products and the rules where you live come first; "
        "ask a professional where you are unsure.",
    )


def _headings(told: Told) -> Headings:
    speech = told.speech
    return Headings(
        materials=speech.pgettext("headings", "What you need"),
        cautions=speech.pgettext("headings", "Take care"),
        chart=speech.pgettext("headings", "Chart"),
        steps=speech.pgettext("headings", "Step by step"),
        finishing=speech.pgettext("headings", "Finishing"),
        key=speech.pgettext("headings", "Key to the signs"),
        corrections=speech.pgettext("headings", "Corrections"),
        links=speech.pgettext("headings", "On the web"),
    )


def _chart_alt(told: Told, chart: str) -> str:
    speech, lace = told.speech, told.lace
    stitches = speech.listed(told.name(done.stitch.stitch) for done in lace.rounds)
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


def _chart_hints(told: Told) -> tuple[str, ...]:
    speech = told.speech
    return (
        speech.pgettext("chart", "The chart shows the side that faces you while you work."),
        speech.pgettext("chart", "Each round begins at its wedge and goes clockwise, the way of the arrow."),
        speech.pgettext("chart", "Thin lines are the web, thick lines the working thread."),
        speech.pgettext("chart", "Figures beside the ladder are millimetres from the round before."),
    )


def _whole(told: Told) -> Iterator[Place]:
    yield Place(told.glyph("lay"), str(told.lace.loom.pins), "")
    for done in told.lace.rounds:
        group, times = count_text(done.counts, told.lace.loom.rays)
        yield Place(told.glyph(done.stitch.stitch), group, f"× {times}")
    yield Place(told.glyph(strip_ids(told)[-1]), "", "")


def _key_row(told: Told, symbol_id: str) -> KeyRow:
    texts = told.symbols.symbol(symbol_id).texts
    short = told.speech.pgettext(f"{symbol_id}: short", texts.short) if texts.short else ""
    return KeyRow(told.glyph(symbol_id), short, told.name(symbol_id), told.do(symbol_id))


def _edition(told: Told, number: int) -> str:
    return told.speech.fill(told.speech.pgettext("furniture", "Edition {number}"), number=number)


def _phrases(told: Told) -> Iterator[Phrase]:
    """Every text of the pattern that is printed."""
    pattern = told.pattern
    texts = [pattern.title, pattern.summary, *(spec.colour_name for spec in pattern.threads.values())]
    texts += [entry.note for entry in pattern.rounds] + [entry.text for entry in pattern.corrections]
    texts += [link.label for link in pattern.links] + [tool for tool in pattern.tools if tool not in told.symbols.signs]
    return (told.phrase(text) for text in texts if text)
