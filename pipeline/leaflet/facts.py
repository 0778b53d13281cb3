"""What a leaflet says at a glance: facts of the title page, what to have at hand, cautions."""

from collections.abc import Iterator

from pipeline.craft.loom import Loom
from pipeline.language.speech import Phrase, Speech
from pipeline.leaflet.content import Caution, Fact, Shown
from pipeline.leaflet.steps import Told
from pipeline.records import NamedLoom


def facts(told: Told) -> Iterator[Fact]:
    """The facts at a glance."""
    speech, lace, pattern = told.speech, told.lace, told.pattern
    size, measured = loom_size(told, lace.loom), _measured(told)
    yield Fact(told.glyph("loom"), speech.pgettext("facts", "Loom"), Phrase(size), (Phrase(measured),))
    rays = speech.npgettext("facts", "{count} ray", "{count} rays", lace.loom.rays)
    yield Fact(
        told.glyph("pin"), speech.pgettext("facts", "Pins"), Phrase(speech.number(lace.loom.pins)),
        (Phrase(speech.fill(rays, count=lace.loom.rays)),),
    )  # fmt: skip
    for letter in lace.threads:
        yield _thread_fact(told, letter)
        yield _length_fact(told, letter)
    finished = (Phrase(speech.pgettext("facts", "about, a little less off the loom")),)
    size = loom_size(told, lace.loom, 0)
    yield Fact(told.glyph("lift"), speech.pgettext("facts", "Finished size"), Phrase(size), finished)
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
        _swatch(told, letter),
    )


def _swatch(told: Told, letter: str) -> Shown:
    """What a thread looks like; its colour's name stands for it."""
    return Shown(f"swatch-{letter}", told.phrase(told.pattern.threads[letter].colour_name).text)


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


def materials(told: Told) -> Iterator[Fact]:
    """What to have at hand."""
    speech, pattern = told.speech, told.pattern
    yield _loom_need(told)
    for letter in pattern.threads:
        yield _thread_need(told, letter)
    if pattern.loom.hold == "thread":
        yield _holding_thread(told)
    for tool in pattern.tools:
        known = tool in told.symbols.signs
        phrase = Phrase(told.name(tool)) if known else told.phrase(tool)
        detail = (Phrase(told.do(tool)),) if known else ()
        yield Fact(
            told.glyph(tool) if known else told.glyph("tick"), speech.pgettext("materials", "Tool"), phrase, detail
        )


def _loom_need(told: Told) -> Fact:
    speech, loom = told.speech, told.pattern.loom
    words = speech.npgettext(
        "materials", "{size} ({measures}), with {count} pin", "{size} ({measures}), with {count} pins", loom.pins
    )
    size = loom_size(told, told.lace.loom)
    value = Phrase(speech.fill(words, size=size, measures=_measured(told), count=loom.pins))
    details = [Phrase(_hold(told))]
    if isinstance(loom, NamedLoom):
        details.insert(0, told.phrase(loom.name))
        if loom.thickness:
            thick = speech.pgettext("facts", "{thickness} thick")
            details.append(Phrase(speech.fill(thick, thickness=speech.mm(loom.thickness))))
    return Fact(told.glyph("loom"), speech.pgettext("facts", "Loom"), value, tuple(details))


def loom_measures(loom: Loom) -> tuple[float, float]:
    """Width and height of a loom, mm."""
    up, across, down = loom.shape.bounds
    return 2 * across, up + down


def loom_size(told: Told, loom: Loom, places: int = 1) -> str:
    """How large a loom is: one length, or width and height."""
    width, height = loom_measures(loom)
    if abs(width - height) < 1e-9:
        return told.speech.mm(width, places)
    return told.speech.area(width, height, places)


def shape_names(speech: Speech) -> dict[str, str]:
    """What shapes of looms are called."""
    return {
        "circle": speech.pgettext("shapes", "Circle"),
        "oval": speech.pgettext("shapes", "Oval"),
        "square": speech.pgettext("shapes", "Square"),
        "rectangle": speech.pgettext("shapes", "Rectangle"),
        "half-circle": speech.pgettext("shapes", "Half-circle"),
    }


def _measured(told: Told) -> str:
    """The loom's shape, and what its size means."""
    speech = told.speech
    return {
        "circle": speech.pgettext("facts", "round, diameter"),
        "oval": speech.pgettext("facts", "oval, width and height"),
        "square": speech.pgettext("facts", "square, side"),
        "rectangle": speech.pgettext("facts", "rectangle, width and height"),
        "half-circle": speech.pgettext("facts", "half-circle, width and height"),
    }[told.pattern.loom.shape]


def _hold(told: Told) -> str:
    speech = told.speech
    return {
        "thread": speech.pgettext("materials", "Each pin is a loop of the holding thread."),
        "pin": speech.pgettext("materials", "The pins stand upright at the rim."),
        "notch": speech.pgettext("materials", "Each pin is a notch cut into the rim."),
    }[told.pattern.loom.hold]


def _thread_need(told: Told, letter: str) -> Fact:
    speech, spec, total = told.speech, told.pattern.threads[letter], told.lace.totals[letter]
    label = speech.fill(speech.pgettext("facts", "Thread {thread}"), thread=letter)
    details: list[Phrase] = []
    if letter == told.lace.web_thread:
        web = speech.pgettext("materials", "For the web: {length} in one piece, both tails included.")
        details.append(Phrase(speech.fill(web, length=speech.metres(told.lace.web.cut))))
    if total.working_lengths:
        words = speech.npgettext(
            "materials", "For the rounds: {count} length of {length}.", "For the rounds: {count} lengths of {length}.",
            total.working_lengths,
        )  # fmt: skip
        working = speech.metres(told.pattern.working_length)
        details.append(Phrase(speech.fill(words, count=total.working_lengths, length=working)))
    if total.balls and spec.metres:
        words = speech.npgettext(
            "materials", "In all {count} ball or skein of {length}.", "In all {count} balls or skeins of {length}.",
            total.balls,
        )  # fmt: skip
        details.append(Phrase(speech.fill(words, count=total.balls, length=speech.metres(spec.metres * 1000))))
    return Fact(told.glyph("thread"), label, told.phrase(spec.colour_name), tuple(details), _swatch(told, letter))


def _holding_thread(told: Told) -> Fact:
    speech, spec = told.speech, told.pattern.holding_thread
    label = speech.pgettext("materials", "Holding thread")
    detail = (Phrase(speech.pgettext("materials", "Smooth and strong; it is cut away at the end.")),)
    if spec is None:
        like = speech.fill(speech.pgettext("materials", "like thread {thread}"), thread=told.lace.web_thread)
        return Fact(told.glyph("pin"), label, Phrase(like), detail)
    return Fact(told.glyph("pin"), label, told.phrase(spec.colour_name), (Phrase(_fibre(told, spec.fibre)), *detail))


def cautions(told: Told) -> Iterator[Caution]:
    """The cautions that hold from the beginning; others stand before the step they belong to."""
    speech = told.speech
    yield told.caution(
        "sharp",
        speech.pgettext(
            "cautions", "Needle and scissors are sharp: work in good light and put them away when you pause."
        ),
    )
    if told.pattern.loom.hold == "pin":
        yield told.caution(
            "pin",
            speech.pgettext("cautions", "Pins stand up round the rim: keep face and hands clear of their points."),
        )
    yield told.caution(
        "small-parts",
        speech.pgettext(
            "cautions", "Pins, needles and thread ends are small: keep them away from children and animals."
        ),
    )
    yield Caution(
        told.glyph("rest"),
        speech.pgettext("cautions", "Rest hands, neck and eyes often, and stop when something hurts."),
    )


def care(told: Told) -> str:
    """Where general care ends."""
    return told.speech.pgettext(
        "cautions",
        "This is general care. The labels of your products and the rules where you live come first; "
        "ask a professional where you are unsure.",
    )
