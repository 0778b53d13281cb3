"""The parts a pattern file is written of: loom, threads, rounds, and what stands beside them.

Records only; ``pattern`` puts them together, knows the rules about them and makes a model of a round from the
stitches there are. Lengths in ``%`` stay lengths until the loom is known.
"""

from collections.abc import Iterator, Mapping
from typing import Annotated, Any, Final

from pydantic import BeforeValidator, Discriminator, Field, Tag, ValidationInfo

from pipeline.fields import (
    Address,
    Amount,
    Colour,
    Day,
    Distance,
    DistanceOrTight,
    Flag,
    Id,
    Letter,
    Millimetres,
    MillimetresOrNone,
    Number,
    Record,
    Text,
    Whole,
    choice,
    refuse,
)
from pipeline.problems import nearest
from pipeline.units import tex_from_denier, tex_from_ne, tex_from_nm, tex_from_put_up

FEWEST_PINS: Final = 6
MOST_PINS: Final = 1000
MOST_RAYS: Final = 2 * MOST_PINS
FIBRES: Final = ("cotton", "linen", "silk", "wool", "polyester", "viscose")

MEASURES: Final[Mapping[str, tuple[str, ...]]] = {
    "circle": ("diameter",),
    "oval": ("width", "height"),
    "square": ("side",),
    "rectangle": ("width", "height"),
    "half-circle": ("diameter",),
}
"""Shapes of looms, and the lengths that say how large each is."""


class Edition(Record):
    """Which published version this is."""

    number: Annotated[Whole, Field(ge=1, le=9999)]
    date: Day


class Correction(Record):
    """What an edition put right."""

    edition: Annotated[Whole, Field(ge=1, le=9999)]
    text: Text


class Measures(Record):
    """How large a loom is: the lengths its shape asks for (``MEASURES``)."""

    diameter: Millimetres | None = None
    width: Millimetres | None = None
    height: Millimetres | None = None
    side: Millimetres | None = None

    @property
    def size(self) -> tuple[float, ...]:
        """The lengths that are given, in mm."""
        return tuple(mm for mm in (self.diameter, self.width, self.height, self.side) if mm is not None)


class LoomSpec(Measures):
    """The loom: its shape, its size, its pins."""

    shape: Annotated[str, choice(*MEASURES)]
    pins: Annotated[Whole, Field(ge=FEWEST_PINS, le=MOST_PINS)]
    hold: Annotated[str, choice("pin", "notch", "thread")] = "thread"


class Ring(Measures):
    """A ring of holes, notches or pins in a loom."""

    holes: Annotated[Whole, Field(ge=FEWEST_PINS, le=MOST_PINS)]
    web: Flag = False
    """Whether it carries the web."""


class NamedLoom(LoomSpec):
    """A loom that has a file of its own: its outermost facts, and the ring that carries the web as its pins."""

    name: Text
    thickness: Millimetres | None = None
    rings: tuple[Ring, ...] = ()


def _loom(value: object, info: ValidationInfo) -> object:
    """A loom is written out, or it is the name of a loom file."""
    if not isinstance(value, str):
        return value
    known: Mapping[str, NamedLoom | None] = (info.context or {}).get("looms", {})
    if value not in known:
        hint = nearest(value, known) if known else f"write patterns/looms/{value}.yaml, or the loom's shape and size"
        raise refuse("loom-unknown", loom=str(value), hint=hint)
    if known[value] is None:
        raise refuse("loom-broken", loom=str(value))
    return known[value]


LoomOrName = Annotated[LoomSpec, BeforeValidator(_loom, json_schema_input_type=LoomSpec | Id)]
"""A loom written out, or the name of a file in ``patterns/looms/``."""


class ThreadSpec(Record):
    """A thread: what it is made of, how thick it is, what it looks like."""

    fibre: Annotated[str, choice(*FIBRES)]
    tex: Annotated[Number, Field(gt=0, le=10_000)] | None = None
    metres: Annotated[Number, Field(gt=0, le=1_000_000)] | None = None
    grams: Annotated[Number, Field(gt=0, le=100_000)] | None = None
    ne: Annotated[Number, Field(gt=0, le=10_000)] | None = None
    nm: Annotated[Number, Field(gt=0, le=10_000)] | None = None
    denier: Annotated[Number, Field(gt=0, le=100_000)] | None = None
    specific_volume: Annotated[Number, Field(ge=0.2, le=10)] | None = None
    colour: Colour
    colour_name: Text

    @property
    def linear_density_tex(self) -> float:
        """Grams of a kilometre, from whichever count was given."""
        if self.tex is not None:
            return self.tex
        if self.ne is not None:
            return tex_from_ne(self.ne)
        if self.nm is not None:
            return tex_from_nm(self.nm)
        if self.denier is not None:
            return tex_from_denier(self.denier)
        assert self.grams is not None  # noqa: S101
        assert self.metres is not None  # noqa: S101
        return tex_from_put_up(self.grams, self.metres)


class Web(Record):
    """The web: which thread it is laid with."""

    thread: Letter


class Finish(Record):
    """What is done with the worked lace."""

    stiffen: Annotated[str, choice("never", "optional", "always")] = "never"


class Tails(Record):
    """Ends left over: at the start and finish of a run, and where a new length joins."""

    start: MillimetresOrNone = 150.0
    finish: MillimetresOrNone = 150.0
    rejoin: MillimetresOrNone = 100.0


class Give(Record):
    """The extra length a ray can find; common practice, no source: a sample calibrates it."""

    pin: MillimetresOrNone = 1.5
    fibre_pct: Annotated[Number, Field(ge=0, le=50)] | None = None
    slack_pct: Annotated[Number, Field(ge=0, le=50)] = 2.0


class Photo(Record):
    """A photograph of the piece, with the words that stand for it."""

    file: Text
    alt: Text
    place: Annotated[str, choice("title", "steps", "finishing")] = "title"


class Link(Record):
    """An address printed on the leaflet."""

    url: Address
    label: Text


class SizeLoom(Measures):
    """The loom of another size; its shape is the pattern's."""

    pins: Annotated[Whole, Field(ge=FEWEST_PINS, le=MOST_PINS)]


class Size(Record):
    """The same pattern on another loom."""

    name: Text
    loom: SizeLoom


class Assembly(Record):
    """How finished wheels are joined."""

    layout: Annotated[str, choice("grid", "hex", "strip")]
    columns: Annotated[Whole, Field(ge=1, le=1000)]
    rows: Annotated[Whole, Field(ge=1, le=1000)]
    joins: Annotated[Whole, Field(ge=1, le=MOST_PINS)]


class Price(Record):
    """What the leaflet costs."""

    amount: Amount
    currency: Annotated[
        str,
        choice(
            "EUR",
            "USD",
            "GBP",
            "JPY",
            "CHF",
            "SEK",
            "DKK",
            "NOK",
            "PLN",
            "UAH",
            "BRL",
            "PYG",
            "INR",
            "ILS",
            "CNY",
            "CAD",
            "AUD",
            "NZD",
            "MXN",
            "ARS",
            "EGP",
            "SAR",
            "CZK",
            "HUF",
        ),
    ]


class Passed(Record):
    """Rays passed over untied, in a list of group sizes."""

    passed: Annotated[Whole, Field(ge=1, le=MOST_RAYS)] = Field(alias="pass")


class Part(Record):
    """A fan: worked over ``rays`` rays from ray ``from``, and again every ``every`` rays."""

    start: Annotated[Whole, Field(ge=0, le=MOST_RAYS - 1)] = Field(0, alias="from")
    rays: Annotated[Whole, Field(ge=1, le=MOST_RAYS)]
    every: Annotated[Whole, Field(ge=1, le=MOST_RAYS)]


def _kind(value: object) -> str:
    return "<list>" if isinstance(value, list) else "<one>"


def _item_kind(value: object) -> str:
    return "<pass>" if isinstance(value, dict) else "<size>"


GroupSize = Annotated[Whole, Field(ge=1, le=MOST_RAYS)]
SizeItem = Annotated[Annotated[GroupSize, Tag("<size>")] | Annotated[Passed, Tag("<pass>")], Discriminator(_item_kind)]
SizeList = Annotated[tuple[SizeItem, ...], Field(min_length=1, max_length=200)]
Sizes = Annotated[Annotated[GroupSize, Tag("<one>")] | Annotated[SizeList, Tag("<list>")], Discriminator(_kind)]
"""A group size, or a list of sizes and passed rays taken in turn."""

DistanceList = Annotated[tuple[Distance, ...], Field(min_length=1, max_length=200)]
At = Annotated[Annotated[DistanceOrTight, Tag("<one>")] | Annotated[DistanceList, Tag("<list>")], Discriminator(_kind)]
Gap = Annotated[Annotated[Distance, Tag("<one>")] | Annotated[DistanceList, Tag("<list>")], Discriminator(_kind)]
"""A distance, or a list of distances that the groups take in turn."""

LetterList = Annotated[tuple[Letter, ...], Field(min_length=1, max_length=26)]
Letters = Annotated[Annotated[Letter, Tag("<one>")] | Annotated[LetterList, Tag("<list>")], Discriminator(_kind)]
"""A thread, or threads that the rows take in turn."""


class Round(Record):
    """One round as written; the fields of its stitch are added by ``round_model``."""

    at: At | None = None
    gap: Gap | None = None
    to: Distance | None = None
    rows: Annotated[Whole, Field(ge=1, le=500)] | None = None
    thread: Letters | None = None
    note: Text | None = None
    close: Flag = True
    part: Part | None = None

    @property
    def stitch(self) -> str:
        """The id of its stitch."""
        return next(name for name, value in self._stitches() if value is not None)

    @property
    def parameters(self) -> Mapping[str, Any]:
        """What the stitch was told, defaults filled in."""
        record = next((value for _, value in self._stitches() if value is not None), None)
        if record is None:
            return {}
        return {field.alias or name: getattr(record, name) for name, field in type(record).model_fields.items()}

    def threads(self, rows: int, web: str) -> tuple[str, ...]:
        """The letter of each row's thread; ``web`` is the letter where the round names none."""
        named = self.thread if isinstance(self.thread, tuple) else (self.thread or web,)
        return tuple(named[row % len(named)] for row in range(rows))

    def _stitches(self) -> Iterator[tuple[str, Record | None]]:
        for name, field in type(self).model_fields.items():
            if name not in Round.model_fields:
                yield field.alias or name, getattr(self, name)
