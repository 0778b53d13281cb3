"""How finished wheels are joined into a mat, and the pattern in all its sizes."""

from collections.abc import Iterator

from pipeline.craft.assembly import Lace
from pipeline.language.speech import NO_BREAK, Phrase
from pipeline.leaflet.content import MatPart, Shown, SizeTable
from pipeline.leaflet.facts import loom_size
from pipeline.leaflet.steps import Told
from pipeline.notation import count_text, distance_text, write


def mat_part(told: Told) -> MatPart | None:
    """The mat, where the pattern is joined to one."""
    speech, mat = told.speech, told.lace.mat
    if mat is None:
        return None
    alt = speech.pgettext("pictures", "The layout of the mat, and two wheels with the pins at which they meet")
    wheels = speech.npgettext("joining", "Make {count} wheel.", "Make {count} wheels.", len(mat.centres))
    meeting = speech.pgettext(
        "joining", "Join neighbours where their loops meet: {joins} loops at each place, as the picture shows."
    )
    joins = speech.npgettext("joining", "{count} join in all.", "{count} joins in all.", len(mat.joins))
    size = speech.pgettext("joining", "The mat measures about {size}.")
    every = [speech.fill(_thread_words(told), thread=letter, length=speech.metres(total.total * len(mat.centres)),
                         grams=speech.grams(total.grams * len(mat.centres)))
             for letter, total in told.lace.totals.items()]  # fmt: skip
    return MatPart(
        Shown("mat", alt),
        (
            speech.fill(wheels, count=len(mat.centres)),
            speech.fill(meeting, joins=told.pattern.assembly.joins if told.pattern.assembly else 0),
            speech.fill(joins, count=len(mat.joins)),
            speech.fill(size, size=speech.area(mat.width, mat.height, 0)),
            *every,
        ),
    )


def _thread_words(told: Told) -> str:
    # Translators: thread for the whole mat.
    return told.speech.pgettext("joining", "Thread {thread} for all wheels: {length}, {grams}.")


def size_table(told: Told) -> SizeTable | None:
    """One table with this size and all others: loom, pins, thread, and each round's groups and distance."""
    if not told.sizes:
        return None
    speech = told.speech
    this = Phrase(speech.pgettext("sizes", "This leaflet"))
    laces = (told.lace, *(lace for _, lace in told.sizes))
    rows = (*_loom_rows(told, laces), *_round_rows(told, laces))
    return SizeTable((this, *(told.phrase(name) for name, _ in told.sizes)), rows)


def _loom_rows(told: Told, laces: tuple[Lace, ...]) -> Iterator[tuple[Shown, str, tuple[str, ...]]]:
    speech = told.speech
    looms = tuple(loom_size(told, lace.loom) for lace in laces)
    yield told.glyph("loom"), speech.pgettext("facts", "Loom"), looms
    yield told.glyph("pin"), speech.pgettext("facts", "Pins"), tuple(speech.number(lace.loom.pins) for lace in laces)
    for letter in told.lace.totals:
        label = speech.fill(speech.pgettext("facts", "Length of {thread}"), thread=letter)
        yield told.glyph("length"), label, tuple(speech.metres(lace.totals[letter].total) for lace in laces)


def _round_rows(told: Told, laces: tuple[Lace, ...]) -> Iterator[tuple[Shown, str, tuple[str, ...]]]:
    """Each round in figures, as its notation line has them."""
    lines = [{line.number: line for line in write(lace)} for lace in laces]
    rounds = [{done.number: done for done in lace.rounds} for lace in laces]
    for done in told.lace.rounds:
        values = []
        for lace, line, by_number in zip(laces, lines, rounds, strict=True):
            other = by_number[done.number]
            group, times = count_text(other.counts, lace.loom.rays)
            parts = (f"{group} × {times},", distance_text(*line[done.number].distances))
            values.append(told.speech.left_to_right(" ".join(part.replace(" ", NO_BREAK) for part in parts)))
        yield told.glyph(done.symbol), told.speech.number(done.number), tuple(values)
