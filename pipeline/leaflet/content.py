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


@dataclass(frozen=True, slots=True)
class Caution:
    """A caution with its sign."""

    glyph: Shown
    text: str


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
    true_size: str


@dataclass(frozen=True, slots=True)
class KeyHeads:
    """The heads of the key's columns."""

    glyph: str
    short: str
    name: str
    do: str


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


@dataclass(frozen=True, slots=True)
class Leaflet:
    """A whole leaflet in one locale."""

    lang: str
    direction: str
    id: str
    title: Phrase
    summary: Phrase | None
    publisher: str
    contact: tuple[str, ...]
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
