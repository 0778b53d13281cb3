"""What the pages of a site show beside its leaflets, in one locale: words, cards of the gallery, choices, the player.

Takes a pattern as it is told and its ``Leaflet``; gives plain frozen data, already translated and formatted.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from pipeline.drawing.player import ThreadWay
from pipeline.language.speech import Phrase, Speech
from pipeline.leaflet.compose import LEVELS
from pipeline.leaflet.content import Leaflet, Shown
from pipeline.leaflet.facts import loom_measures, loom_size, shape_names
from pipeline.leaflet.steps import Told

BANDS_MM: Final = (40, 60, 80, 100, 150, 200, 300, 500, 1000, 2000)
"""Sizes that the gallery can be asked for: at most so much."""


@dataclass(frozen=True, slots=True)
class SiteWords:
    """What stands on pages of the site in its own words."""

    patterns: str
    language: str
    search: str
    every: str
    nothing: str
    download: str
    follow: str
    play: str
    pause: str
    back: str
    onward: str


@dataclass(frozen=True, slots=True)
class Card:
    """A pattern in the gallery."""

    id: str
    title: Phrase
    summary: Phrase | None
    level: tuple[Shown, ...]
    level_text: str
    reached: int
    """The level as a number."""
    portrait: Shown
    size: str
    width_mm: float
    """The larger of width and height."""
    shape: str
    stitches: tuple[tuple[str, str], ...]
    """Id and name of every stitch, from the centre outward."""
    price: str
    more: str
    """What it can be found by beside what is written on the card."""


@dataclass(frozen=True, slots=True)
class Choice:
    """A way to choose patterns: its name in the page, its label, values with their words."""

    name: str
    label: str
    values: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class WayTexts:
    """What the player says: the name of every part, and how much thread is used at every stop."""

    parts: tuple[str, ...]
    used: tuple[str, ...]


def site_words(speech: Speech) -> SiteWords:
    """The words of a site."""
    return SiteWords(
        # Translators: the heading of all patterns, and the link that leads back to them.
        patterns=speech.pgettext("site", "Patterns"),
        language=speech.pgettext("site", "Language"),
        search=speech.pgettext("site", "Search"),
        # Translators: the first entry of a list to choose from; it stands for any level, any size and so on.
        every=speech.pgettext("site", "All"),
        nothing=speech.pgettext("site", "Nothing matches."),
        download=speech.pgettext("site", "Download"),
        # Translators: heading of a picture in which the working thread is drawn from its beginning to its end.
        follow=speech.pgettext("site", "Follow the thread"),
        play=speech.pgettext("site", "Play"),
        pause=speech.pgettext("site", "Pause"),
        back=speech.pgettext("site", "Previous round"),
        onward=speech.pgettext("site", "Next round"),
    )


def found_texts(speech: Speech, most: int) -> tuple[str, ...]:
    """What is said of how many patterns were found: nothing, one, two … up to ``most``."""
    counted = (speech.npgettext("site", "{count} pattern", "{count} patterns", count) for count in range(1, most + 1))
    texts = (speech.fill(message, count=count) for count, message in enumerate(counted, 1))
    return (site_words(speech).nothing, *texts)


def card(told: Told, leaflet: Leaflet) -> Card:
    """A pattern's card."""
    pattern, speech = told.pattern, told.speech
    stitches = {done.symbol: told.name(done.symbol) for done in told.lace.rounds}
    price = pattern.price
    return Card(
        id=pattern.id,
        title=leaflet.title,
        summary=leaflet.summary,
        level=leaflet.level,
        level_text=leaflet.level_text,
        reached=pattern.level,
        portrait=leaflet.portrait,
        size=loom_size(told, told.lace.loom, 0),
        width_mm=max(loom_measures(told.lace.loom)),
        shape=pattern.loom.shape,
        stitches=tuple(stitches.items()),
        price=speech.price(price.amount, price.currency) if price else "",
        more=" ".join((pattern.id, pattern.sku or "", *pattern.tags)),
    )


def choices(speech: Speech, cards: Sequence[Card]) -> Iterator[Choice]:
    """Ways to choose among cards; none where there is nothing to choose."""
    shapes, names = shape_names(speech), dict(stitch for each in cards for stitch in each.stitches)
    level = speech.pgettext("title page", "Level {level} of {levels}")
    bands = [
        band for band in BANDS_MM
        if any(each.width_mm <= band for each in cards) and any(each.width_mm > band for each in cards)
    ]  # fmt: skip
    found = (
        Choice("shape", speech.pgettext("site", "Shape"), tuple(
            (shape, name) for shape, name in shapes.items() if any(each.shape == shape for each in cards)
        )),
        Choice("level", speech.pgettext("site", "Level"), tuple(
            (str(number), speech.fill(level, level=number, levels=LEVELS))
            for number in sorted({each.reached for each in cards})
        )),
        Choice("stitch", speech.pgettext("site", "Technique"), tuple(sorted(names.items()))),
        Choice("size", speech.pgettext("site", "Size"), tuple(
            (str(band), speech.left_to_right(f"≤ {speech.mm(band, 0)}")) for band in bands
        )),
    )  # fmt: skip
    return (choice for choice in found if len(choice.values) > 1 or (choice.values and choice.name == "size"))


def way_texts(told: Told, way: ThreadWay) -> WayTexts:
    """The player's texts."""
    speech = told.speech
    # Translators: {length} is a length of thread.
    used = speech.pgettext("site", "Thread used so far: {length}")
    parts = (told.name("lay"), *(f"{done.number} · {told.counted(done)}" for done in told.lace.rounds))
    return WayTexts(parts, tuple(speech.fill(used, length=_length(speech, stop.thread_mm)) for stop in way.stops))


def _length(speech: Speech, length_mm: float) -> str:
    """A length of thread: of less than a metre in mm, else in metres."""
    return speech.mm(length_mm, 0) if length_mm < 1000 else speech.metres(length_mm)
