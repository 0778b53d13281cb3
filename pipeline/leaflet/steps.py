"""The steps in words: laying, every round, finishing. One action a sentence, every sentence a whole message."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from pipeline.craft.assembly import Lace, LaceRound
from pipeline.drawing.working import goes_back
from pipeline.language.extraction import sentence_texts
from pipeline.language.speech import Phrase, Speech
from pipeline.leaflet.content import Caution, LineItem, Shown, Step
from pipeline.notation import PARITY_SIGNS, Line, Sign, count_text, turn_of
from pipeline.pattern_model import Pattern
from pipeline.symbol_model import Sentence, Stitch
from pipeline.symbols import SymbolSet


@dataclass(frozen=True, slots=True)
class Told:
    """What a leaflet is told from."""

    pattern: Pattern
    lace: Lace
    lines: tuple[Line, ...]
    symbols: SymbolSet
    speech: Speech
    sizes: tuple[tuple[str, Lace], ...] = ()
    """The pattern in its other sizes."""
    left_handed: bool = False
    """Worked the other way round: pictures are mirrored, and so are the words for direction."""

    def phrase(self, text: str) -> Phrase:
        """A text of the pattern."""
        return self.speech.phrase(self.pattern.id, text, self.pattern.language)

    def name(self, symbol_id: str) -> str:
        """What a symbol is called."""
        return self.speech.pgettext(f"{symbol_id}: name", self.symbols.symbol(symbol_id).texts.name)

    def glyph(self, symbol_id: str) -> Shown:
        """A symbol's glyph; its name stands for it."""
        return Shown(f"glyph-{symbol_id}", self.name(symbol_id))

    def caution(self, symbol_id: str, text: str) -> Caution:
        """What can hurt somebody, with its sign and the sign of warning."""
        return Caution(self.glyph(symbol_id), text, self.glyph("caution"))

    def panels(self, symbol_id: str) -> tuple[Shown, ...]:
        """The drawings that show how a symbol is worked."""
        name, count = self.name(symbol_id), len(self.symbols.symbol(symbol_id).panels)
        # Translators: stands for one of several small drawings that show how a stitch called {name} is worked.
        alt = self.speech.pgettext("pictures", "{name}, drawing {number} of {count}")
        return tuple(
            Shown(f"panel-{symbol_id}-{number}", self.speech.fill(alt, name=name, number=number, count=count))
            for number in range(1, count + 1)
        )

    def counted(self, done: LaceRound) -> str:
        """A round's stitch with its group size and repeats, as they stand in its line."""
        group, times = count_text(done.counts, self.lace.loom.rays)
        return f"{self.name(done.symbol)} {self.speech.left_to_right(f'{group} × {times}')}"

    def do(self, symbol_id: str) -> str:
        """What a symbol says to do."""
        texts = self.symbols.symbol(symbol_id).texts
        return self.speech.pgettext(f"{symbol_id}: do", (texts.do_left if self.left_handed else None) or texts.do)


def laying_step(told: Told) -> Step:
    """Laying the web."""
    speech = told.speech
    cut = speech.fill(
        speech.pgettext("steps", "Cut {length} of thread {thread} in one piece for the web."),
        length=speech.metres(told.lace.web.cut), thread=told.lace.web_thread,
    )  # fmt: skip
    beside = speech.pgettext("steps", "Lay each thread beside the one before, and keep all equally tight.")
    centre = speech.pgettext("steps", "Bring the end back to the centre and fasten it there.")
    alt = speech.pgettext("pictures", "The first threads of the web, laid to and fro across the loom")
    return Step("", told.glyph("lay"), Shown("laying", alt), (), (cut, _way(told), _counted(told), beside, centre))


def _way(told: Told) -> str:
    """In which order the pins are reached."""
    speech, loom = told.speech, told.lace.loom
    if not loom.shape.closed:
        return speech.pgettext(
            "steps",
            # Translators: on a half-circle.
            "Lead the thread from the hold in the middle of the straight side out round pin 1 and back round the hold, "
            "out round pin 2, and so on, until every pin holds a loop.",
        )
    if loom.pins % 2:
        words = speech.pgettext(
            "steps",
            # Translators: {step} is a number of pins.
            "Lead the thread from the centre round pin 1, then always {step} pins further on, "
            "until every pin holds a loop.",
        )
        return speech.fill(words, step=(loom.pins - 1) // 2)
    words = speech.pgettext(
        "steps",
        # Translators: {opposite} is the pin opposite to pin 1.
        "Lead the thread from the centre round pin 1, straight across and round pin {opposite}, "
        "back and round pin 2, and so on, until every pin holds a loop.",
    )
    return speech.fill(words, opposite=loom.pins // 2 + 1)


def _counted(told: Told) -> str:
    """Which way round pins are counted."""
    if told.left_handed:
        return told.speech.pgettext("steps", "Pins are counted anticlockwise, as in the picture.")
    return told.speech.pgettext("steps", "Pins are counted clockwise, as in the picture.")


def round_step(told: Told, done: LaceRound, line: Line, before: LaceRound | None) -> Step:
    """A round."""
    entry = told.pattern.rounds[done.number - 1]
    sentences = (
        *_thread_sentences(told, done, before),
        *_place_sentences(told, done, line, before),
        *_part_sentences(told, done),
        *stitch_sentences(told, done),
        *_closing_sentences(told, done),
    )
    alt = told.speech.fill(
        # Translators: stands for a picture; {name} is a stitch.
        told.speech.pgettext(
            "pictures", "Step {number}, {name}: where it begins, which way it goes, which rays it takes"
        ),
        number=line.number, name=told.counted(done),
    )  # fmt: skip
    items = tuple(line_items(told, line))
    beside = told.glyph(sign) if (sign := parity_sign(done)) else None
    note = told.phrase(entry.note) if entry.note else None
    return Step(str(line.number), None, Shown(f"step-{line.number}", alt), items, sentences, beside, note)


def in_opposition(done: LaceRound) -> bool:
    """Whether the leaflet must show how a new row is begun."""
    return done.phase_shift and done.rows > 1


def parity_sign(done: LaceRound) -> str | None:
    """The sign for how rows of an even number of bundles come to lie opposite one another, where that is needed."""
    if done.counts.parity in PARITY_SIGNS:
        return done.counts.parity
    return "opposition" if in_opposition(done) else None


def line_items(told: Told, line: Line) -> Iterator[LineItem]:
    """The notation line; the round's number stands at the step's head."""
    for place, token in enumerate(line.tokens[1:]):
        if isinstance(token, Sign):
            yield LineItem(told.glyph(token.id), "", "stitch" if place == 0 else "sign")
        else:
            yield LineItem(None, token.text, token.role)


def finishing_steps(told: Told) -> Iterator[Step]:
    """Stiffening, lifting off, ends."""
    for symbol_id in finishing_signs(told.pattern):
        sentences = tuple(_finishing_sentences(told, symbol_id))
        panels, warned = told.panels(symbol_id), tuple(_finishing_cautions(told, symbol_id))
        yield Step("", told.glyph(symbol_id), None, (), sentences, panels=panels, cautions=warned)


def _finishing_cautions(told: Told, symbol_id: str) -> Iterator[Caution]:
    """What to know before something is cut or stiffened."""
    speech = told.speech
    if symbol_id == "cut":
        yield told.caution(
            "sharp",
            speech.pgettext(
                "cautions", "When you cut the holding thread, cut from the back and away from your fingers."
            ),
        )
    if symbol_id == "stiffen":
        yield told.caution(
            "label",
            speech.pgettext(
                "cautions", "Stiffener: follow the label of the product, let air in, keep it off skin and eyes."
            ),
        )


def finishing_signs(pattern: Pattern) -> tuple[str, ...]:
    """What is done after the last round, in order: stiffener goes on while the lace is still on the loom."""
    stiffen = () if pattern.finish.stiffen == "never" else ("stiffen",)
    if pattern.loom.hold == "thread":
        return (*stiffen, "turn", "cut", "lift", "tails")
    return (*stiffen, "lift", "tails")


def _finishing_sentences(told: Told, symbol_id: str) -> Iterator[str]:
    speech = told.speech
    if symbol_id == "stiffen":
        if told.pattern.finish.stiffen == "optional":
            yield speech.pgettext("finishing", "If you like, stiffen the lace.")
        yield speech.pgettext(
            "finishing", "Brush the stiffener on thinly while the lace is on the loom; follow its label."
        )
        yield speech.pgettext("finishing", "Keep it off the rim, and let it dry.")
    elif symbol_id == "lift" and told.pattern.loom.hold == "pin":
        yield speech.pgettext("finishing", "Draw out the pins and lift the lace off.")
    elif symbol_id == "lift" and told.pattern.loom.hold == "notch":
        yield speech.pgettext("finishing", "Lift the loops off the notches one after another.")
    else:
        yield told.do(symbol_id)
        if symbol_id == "lift":
            yield speech.pgettext("finishing", "Pick out what is left of the holding thread.")


def _thread_sentences(told: Told, done: LaceRound, before: LaceRound | None) -> Iterator[str]:
    """Which thread, where there is a choice and it changes; each new one begins and ends with a tail."""
    speech, letters = told.speech, turn_of(done.threads)
    if len(told.lace.threads) == 1:
        return
    # The round before, if its thread is still in hand: rows in turn have tails of their own.
    one = before if before and len(set(before.threads)) == 1 else None
    if one and one.thread != done.threads[0]:
        words = speech.pgettext("steps", "Fasten off thread {thread}; leave a tail of {tail}.")
        tail = speech.mm(told.pattern.tails.finish, 0)
        yield speech.fill(words, thread=one.thread, tail=tail)
    if len(letters) > 1:
        words = speech.pgettext("steps", "Work the rows in turn in threads {threads}, each with tails of its own.")
        yield speech.fill(words, threads=speech.listed(letters))
    elif one is None or one.thread != done.thread:
        colour = told.phrase(told.pattern.threads[done.thread].colour_name)
        words = speech.pgettext("steps", "Take thread {thread} ({colour}).")
        yield speech.fill(words, thread=done.thread, colour=colour.text)


def _place_sentences(told: Told, done: LaceRound, line: Line, before: LaceRound | None) -> Iterator[str]:
    """How far out, and from which ray on."""
    speech = told.speech
    yield _distance_sentence(told, done, line)
    if not done.in_rows and not done.tied:
        words = speech.pgettext("steps", "Work outward from there over a length of {length}.")
        yield speech.fill(words, length=speech.mm((line.reach - line.radius) / 10))
    if not told.lace.loom.shape.closed:
        if free := _free_at_start(done):
            yield speech.fill(_left_free(speech, free), count=free)
    elif not done.counts.part and (count := done.counts.shift):
        yield speech.fill(_from_mark(told, count), count=count)
    elif before and before.counts.shift:
        yield speech.pgettext("steps", "Begin at the start mark again.")


def _free_at_start(done: LaceRound) -> int:
    """Rays that a row worked to and fro leaves free where it begins."""
    if done.counts.part or not done.worked.nodes:
        return 0
    first = done.worked.nodes[0].rays
    return len(done.rays) - 1 - max(first) if goes_back(done) else min(first)


def _from_mark(told: Told, count: int) -> str:
    if told.left_handed:
        return told.speech.npgettext(
            "steps",
            "Begin {count} ray anticlockwise from the start mark.",
            "Begin {count} rays anticlockwise from the start mark.",
            count,
        )
    return told.speech.npgettext(
        "steps",
        # Translators: the start mark stands at the rim, just before pin 1; {count} rays lie between it and the start.
        "Begin {count} ray clockwise from the start mark.",
        "Begin {count} rays clockwise from the start mark.",
        count,
    )


def _left_free(speech: Speech, count: int) -> str:
    return speech.npgettext(
        "steps", "Leave {count} ray free at the beginning.", "Leave {count} rays free at the beginning.", count
    )


def _distance_sentence(told: Told, done: LaceRound, line: Line) -> str:
    speech = told.speech
    distance = speech.mm(abs(line.distance) / 10)
    if len(line.distances) > 1:
        words = speech.pgettext("steps", "Set the groups further out in turn: {distances}.")
        return speech.fill(words, distances=speech.listed(speech.mm(each / 10) for each in line.distances))
    if done is told.lace.rounds[0]:
        words = speech.pgettext("steps", "Work at a distance of {distance} from the centre.")
    elif line.distance >= 0:
        words = speech.pgettext("steps", "Go {distance} further out.")
    else:
        words = speech.pgettext("steps", "Go {distance} back towards the centre.")
    return speech.fill(words, distance=distance)


def _part_sentences(told: Told, done: LaceRound) -> Iterator[str]:
    """Which rays a part takes, and how often it comes."""
    part, speech = done.counts.part, told.speech
    if part is None:
        return
    if part.start:
        yield speech.fill(_left_free(speech, part.start), count=part.start)
    count, rest = told.lace.loom.rays // part.every, part.every - part.rays
    words = speech.npgettext(
        "steps",
        "Work to and fro over {rays} rays only, once.",
        "Work to and fro over {rays} rays only, leave {rest} free, and do the same again: {count} times in all.",
        count,
    )
    yield speech.fill(words, rays=part.rays, rest=rest, count=count)


def _closing_sentences(told: Told, done: LaceRound) -> Iterator[str]:
    speech = told.speech
    if done.counts.parity in PARITY_SIGNS:
        yield told.do(done.counts.parity)
    if done.worked.closed:
        yield speech.pgettext("steps", "Close the round with one more knot beside the first.")
    elif done.tied and not done.counts.there_and_back:
        yield speech.pgettext("steps", "Do not close the round; the next one goes on from its last knot.")
    elif done.counts.turned and not done.counts.part and done is not told.lace.rounds[-1]:
        yield speech.pgettext("steps", "At the end turn back: the next row goes the other way.")


def stitch_sentences(told: Told, done: LaceRound) -> Iterator[str]:
    """The sentences of a stitch for which all facts are there."""
    facts = _facts(told, done)
    if done.symbol != done.stitch.stitch:
        yield told.do(done.symbol)
    for sentence in done.stitch.texts.step:
        if _applies(sentence, facts):
            yield _sentence(told.speech, done.stitch, sentence, facts)


def _sentence(speech: Speech, stitch: Stitch, sentence: Sentence, facts: Mapping[str, int | str | bool]) -> str:
    text, plural = sentence_texts(sentence)
    context = f"{stitch.stitch}: step"
    if plural is None or sentence.count is None:
        message = speech.pgettext(context, text)
    else:
        message = speech.npgettext(context, text, plural, int(facts[sentence.count]))
    values = {name: value for name, value in facts.items() if not isinstance(value, bool)}
    return speech.fill(message, **values)


def _applies(sentence: Sentence, facts: Mapping[str, int | str | bool]) -> bool:
    needed = {name for text in (sentence.text, sentence.one, sentence.other) if text for name in _names(text)}
    if sentence.count and not isinstance(facts.get(sentence.count), int):
        return False
    return needed <= set(facts) and (sentence.when is None or bool(facts.get(sentence.when)))


def _names(text: str) -> Iterator[str]:
    for piece in text.split("{")[1:]:
        yield piece.split("}")[0]


def _facts(told: Told, done: LaceRound) -> dict[str, int | str | bool]:
    """What a stitch's sentences may say of a round."""
    counts = done.counts
    facts: dict[str, int | str | bool] = {
        "opposition": in_opposition(done),
        "passes": any(not i.tied for i in counts.items),
        "whole": not counts.there_and_back,
        "left-handed": told.left_handed,
        "right-handed": not told.left_handed,
        "there-and-back": counts.there_and_back,
    }
    if done.stitch.rows:
        facts["rows"] = done.rows
    if done.worked.loop_mm:
        facts["height"] = told.speech.mm(done.worked.loop_mm)
    if counts.over:
        facts |= {"over": counts.over, "under": counts.under}
    if done.worked.nodes:
        facts["groups"] = len(done.worked.nodes)
    if len(counts.items) == 1:
        facts["size"] = counts.items[0].size
    elif counts.items:
        number = told.speech.number
        facts["sizes"] = told.speech.listed(number(i.size) if i.tied else f"({number(i.size)})" for i in counts.items)
    return facts
