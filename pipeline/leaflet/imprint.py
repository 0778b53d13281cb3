"""Who publishes the leaflet, what its readers may do, and the photographs that came with the pattern."""

from collections.abc import Iterator, Sequence
from typing import Final

from pipeline.language.speech import Speech
from pipeline.leaflet.content import Imprint, Photographs, Shown
from pipeline.leaflet.steps import Told
from pipeline.publisher import Publisher

LOGOS: Final = ("logo", "photo-logo")
"""A logo that is a drawing, and one that is a picture."""


def imprint(speech: Speech, publisher: Publisher | None, shown: Sequence[str]) -> Imprint:
    """The publisher's lines and terms; nothing where there is no publisher."""
    if publisher is None:
        return Imprint(None, (), ())
    logo = next((Shown(name, publisher.publisher) for name in LOGOS if name in shown), None)
    lines = tuple(speech.isolated(text) for text in _lines(publisher))
    return Imprint(logo, lines, tuple(_term(speech, term, publisher) for term in publisher.terms))


def _lines(publisher: Publisher) -> Iterator[str]:
    lines = (publisher.publisher, publisher.contact, publisher.address, publisher.copyright, publisher.licence)
    return (line for line in lines if line)


def _term(speech: Speech, term: str, publisher: Publisher) -> str:
    """What readers may do, by the id of a term."""
    words = {
        "sell-pieces": speech.pgettext("terms", "You may sell what you make from this pattern."),
        "keep-pieces": speech.pgettext(
            "terms", "What you make from this pattern is for you or for a gift; please do not sell it."
        ),
        "copy-for-self": speech.pgettext("terms", "You may copy these pages for your own use."),
        "copy-for-class": speech.pgettext("terms", "You may copy these pages for the people you teach."),
        "share-whole": speech.pgettext(
            "terms", "You may pass this leaflet on as long as it stays whole and unchanged."
        ),
        "no-copies": speech.pgettext("terms", "Please do not copy, sell or publish these pages."),
        # Translators: {publisher} is the name of the designer or shop.
        "name-publisher": speech.pgettext("terms", "Where you show or sell what you made, please name {publisher}."),
    }[term]
    return speech.fill(words, publisher=publisher.publisher) if term == "name-publisher" else words


def photographs(told: Told) -> Photographs:
    """The photographs by place; they are called by their number in the pattern, from 1."""
    shown = [
        (photo.place, Shown(f"photo-{number}", told.phrase(photo.alt).text))
        for number, photo in enumerate(told.pattern.photos, 1)
    ]
    title = next((photo for place, photo in shown if place == "title"), None)
    steps, finishing = (tuple(photo for at, photo in shown if at == place) for place in ("steps", "finishing"))
    return Photographs(title, steps, finishing)
