"""What a leaflet shows, page by page: plain frozen data, already translated and formatted."""

from dataclasses import dataclass

from pipeline.language.speech import Phrase


@dataclass(frozen=True, slots=True)
class Shown:
    """A picture on a page: its id and the words that stand for it."""

    id: str
    alt: str


@dataclass(frozen=True, slots=True)
class Fact:
    """A fact or a thing to have: a glyph, what it is, its value (bold), the rest (small)."""

    glyph: Shown
    label: str
    value: Phrase
    detail: tuple[Phrase, ...] = ()
    swatch: Shown | None = None
    """What a thread looks like."""


@dataclass(frozen=True, slots=True)
class Caution:
    """A caution with its sign; ``warning`` stands before it where somebody can get hurt."""

    glyph: Shown
    text: str
    warning: Shown | None = None


@dataclass(frozen=True, slots=True)
class LineItem:
    """One item of a notation line: a glyph, or figures with their role."""

    glyph: Shown | None
    text: str
    role: str


@dataclass(frozen=True, slots=True)
class Step:
    """A step: a number or a glyph, a picture, the notation line, sentences, the designer's note."""

    number: str
    glyph: Shown | None
    picture: Shown | None
    line: tuple[LineItem, ...]
    sentences: tuple[str, ...]
    beside: Shown | None = None
    """A sign that must be seen beside the sentences."""
    note: Phrase | None = None
    panels: tuple[Shown, ...] = ()
    """How it is done, moment by moment."""
    cautions: tuple[Caution, ...] = ()
    """What to know before it is begun."""


@dataclass(frozen=True, slots=True)
class KeyRow:
    """A row of the key: glyph, short form, name, what to do."""

    glyph: Shown
    short: str
    name: str
    do: str
    panels: tuple[Shown, ...] = ()
    """How it is worked, moment by moment."""


@dataclass(frozen=True, slots=True)
class Place:
    """One glyph of the whole lace in a line, with its figures."""

    glyph: Shown
    group: str
    times: str


@dataclass(frozen=True, slots=True)
class Headings:
    """The headings of the parts."""

    materials: str
    cautions: str
    chart: str
    steps: str
    finishing: str
    mat: str
    sizes: str
    key: str
    corrections: str
    links: str
    terms: str
    true_size: str


@dataclass(frozen=True, slots=True)
class KeyHeads:
    """The heads of the key's columns."""

    glyph: str
    short: str
    name: str
    do: str


@dataclass(frozen=True, slots=True)
class TickWords:
    """On a screen: how many steps are done, and what clears all ticks."""

    done: str
    clear: str


@dataclass(frozen=True, slots=True)
class MatPart:
    """How finished wheels are joined."""

    picture: Shown
    sentences: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SizeTable:
    """The pattern in all its sizes: one column a size, this one first."""

    heads: tuple[Phrase, ...]
    rows: tuple[tuple[Shown, str, tuple[str, ...]], ...]
    """Glyph, label, one value a size."""


@dataclass(frozen=True, slots=True)
class LinkPart:
    """An address: what is there, where, and as a square code."""

    label: Phrase
    url: str
    code: Shown


@dataclass(frozen=True, slots=True)
class TrueSizePart:
    """The loom at true size, page by page."""

    pictures: tuple[Shown, ...]
    sentences: tuple[str, ...]
    joining: tuple[str, ...] = ()
    """How several pages become one."""
    cautions: tuple[Caution, ...] = ()


@dataclass(frozen=True, slots=True)
class Imprint:
    """Who publishes the leaflet, and what its readers may do."""

    logo: Shown | None
    lines: tuple[str, ...]
    """Name, contact, copyright and licence as they were written."""
    terms: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Photographs:
    """Photographs by place, with the words that stand for them."""

    title: Shown | None = None
    steps: tuple[Shown, ...] = ()
    finishing: tuple[Shown, ...] = ()


@dataclass(frozen=True, slots=True)
class Leaflet:
    """A whole leaflet in one locale."""

    lang: str
    direction: str
    id: str
    title: Phrase
    summary: Phrase | None
    learning: str
    publisher: str
    imprint: Imprint
    photographs: Photographs
    sku: str
    edition: str
    date: str
    iso_date: str
    foot: str
    level: tuple[Shown, ...]
    level_text: str
    notices: tuple[str, ...]
    portrait: Shown
    facts: tuple[Fact, ...]
    whole: tuple[Place, ...]
    headings: Headings
    materials: tuple[Fact, ...]
    cautions: tuple[Caution, ...]
    care: str
    charts: tuple[Shown, ...]
    chart_hints: tuple[str, ...]
    steps: tuple[Step, ...]
    step_hint: str
    ticks: TickWords
    finishing: tuple[Step, ...]
    mat: MatPart | None
    sizes: SizeTable | None
    true_size: TrueSizePart
    key_heads: KeyHeads
    key_hint: str
    key: tuple[KeyRow, ...]
    corrections: tuple[tuple[str, Phrase], ...]
    links: tuple[LinkPart, ...]
    untranslated: int
    """Texts of the pattern that stand in its own language."""
