"""What a printed catalogue shows: plain frozen data, already translated and formatted.

A ``Printed`` has a cover, its contents, an ``Entry`` a pattern, an ``Index`` for every way to look for one, and a last
page. Pages are not known here: whatever names an entry is a link to it, and the style writes the page's number.
"""

from dataclasses import dataclass

from pipeline.language.speech import Phrase
from pipeline.leaflet.content import Fact, Imprint, Place, Shown


@dataclass(frozen=True, slots=True)
class Entry:
    """A pattern in the catalogue."""

    id: str
    title: Phrase
    summary: Phrase | None
    view: Shown
    """The finished piece as a drawing; or, where ``photographed``, as a photograph."""
    view_lang: str | None
    """The language of the words that stand for it, where that is not the page's own."""
    photographed: bool
    level: Shown
    facts: tuple[Fact, ...]
    whole: tuple[Place, ...]
    sku: str
    price: str
    untranslated: int
    """Texts of the pattern that stand in its own language."""


@dataclass(frozen=True, slots=True)
class View:
    """A picture of the cover: a piece, whose title stands for it."""

    picture: Shown
    lang: str | None


@dataclass(frozen=True, slots=True)
class Mention:
    """An entry in an index; ``detail`` stands before its title."""

    entry: str
    title: Phrase
    detail: str = ""


@dataclass(frozen=True, slots=True)
class Group:
    """Entries of an index that have something in common: what, with its picture; nothing if they are all."""

    head: str
    mark: Shown | None
    mentions: tuple[Mention, ...]


@dataclass(frozen=True, slots=True)
class Index:
    """A way to look for a pattern."""

    id: str
    heading: str
    groups: tuple[Group, ...]


@dataclass(frozen=True, slots=True)
class PrintedHeadings:
    """The headings of the parts, and of the columns of the contents."""

    contents: str
    price: str
    page: str
    key: str
    terms: str


@dataclass(frozen=True, slots=True)
class Printed:
    """A whole printed catalogue in one locale."""

    lang: str
    direction: str
    title: str
    issued: str
    iso_issued: str
    publisher: str
    headings: PrintedHeadings
    views: tuple[View, ...]
    entries: tuple[Entry, ...]
    indexes: tuple[Index, ...]
    key: tuple[Shown, ...]
    """The glyphs of the lines; the words that stand for them are their names."""
    notices: tuple[str, ...]
    imprint: Imprint
