"""The parts a pattern file is written of: loom, threads, rounds, and what stands beside them.

Records only; ``pattern`` puts them together, knows the rules about them and makes a model of a round from the
stitches there are. Lengths in ``%`` stay lengths until the loom is known. What a field says of itself, with an example
as it would be written, is what editors show (``schema``); it adds the units of lengths by itself.
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
CURRENCIES: Final = (
    "EUR", "USD", "GBP", "JPY", "CHF", "SEK", "DKK", "NOK", "PLN", "UAH", "BRL", "PYG", "INR", "ILS", "CNY", "CAD",
    "AUD", "NZD", "MXN", "ARS", "EGP", "SAR", "CZK", "HUF",
)  # fmt: skip
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

    number: Annotated[Whole, Field(ge=1, le=9999)] = Field(
        description="Counted from 1; one more each time the published pattern is changed.", examples=[1]
    )
    date: Day = Field(description="When it was published: year-month-day.", examples=["2026-03-14"])


class Correction(Record):
    """What an edition put right."""

    edition: Annotated[Whole, Field(ge=1, le=9999)] = Field(
        description="The number of the edition that put it right.", examples=[2]
    )
    text: Text = Field(
        description="What was wrong and is right now, printed on the leaflet.",
        examples=["Round 3 was drawn one ray too far left."],
    )


class Measures(Record):
    """How large a loom is: the lengths its shape asks for (``MEASURES``)."""

    diameter: Millimetres | None = Field(None, description="Of a circle or a half-circle.", examples=["84 mm"])
    width: Millimetres | None = Field(None, description="Of an oval or a rectangle.", examples=["104 mm"])
    height: Millimetres | None = Field(None, description="Of an oval or a rectangle.", examples=["76 mm"])
    side: Millimetres | None = Field(None, description="Of a square.", examples=["84 mm"])

    @property
    def size(self) -> tuple[float, ...]:
        """The lengths that are given, in mm."""
        return tuple(mm for mm in (self.diameter, self.width, self.height, self.side) if mm is not None)


class LoomSpec(Measures):
    """The loom: its shape, its size, its pins."""

    shape: Annotated[str, choice(*MEASURES)] = Field(
        description="Its outline. A circle or half-circle is as large as its diameter, a square as its side, an oval "
        "or rectangle as its width and height.",
        examples=["circle"],
    )
    pins: Annotated[Whole, Field(ge=FEWEST_PINS, le=MOST_PINS)] = Field(
        description="Pins, notches or loops round the rim, by number; each carries two rays. An even number lets every "
        "thread cross the centre.",
        examples=[60],
    )
    hold: Annotated[str, choice("pin", "notch", "thread")] = Field(
        "thread",
        description="What holds the web at the rim: a pin, a notch, or a loop of holding thread.",
        examples=["pin"],
    )


class Ring(Measures):
    """A ring of holes, notches or pins in a loom."""

    holes: Annotated[Whole, Field(ge=FEWEST_PINS, le=MOST_PINS)] = Field(
        description="How many holes, notches or pins it has.", examples=[48]
    )
    web: Flag = Field(
        default=False, description="Whether it carries the web; exactly one ring of a loom does.", examples=[True]
    )


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

    fibre: Annotated[str, choice(*FIBRES)] = Field(description="What it is made of.", examples=["cotton"])
    tex: Annotated[Number, Field(gt=0, le=10_000)] | None = Field(
        None, description="Its thickness in tex: grams of 1000 metres.", examples=[83.3]
    )
    metres: Annotated[Number, Field(gt=0, le=1_000_000)] | None = Field(
        None, description="Its thickness by the ball: metres on it, with `grams`.", examples=[120]
    )
    grams: Annotated[Number, Field(gt=0, le=100_000)] | None = Field(
        None, description="Its thickness by the ball: what it weighs in grams, with `metres`.", examples=[10]
    )
    ne: Annotated[Number, Field(gt=0, le=10_000)] | None = Field(
        None, description="Its thickness as English cotton count: hanks of 840 yards in a pound.", examples=[10]
    )
    nm: Annotated[Number, Field(gt=0, le=10_000)] | None = Field(
        None, description="Its thickness as metric count: metres in a gram.", examples=[16]
    )
    denier: Annotated[Number, Field(gt=0, le=100_000)] | None = Field(
        None, description="Its thickness in denier: grams of 9000 metres.", examples=[540]
    )
    specific_volume: Annotated[Number, Field(ge=0.2, le=10)] | None = Field(
        None,
        description="How much room it takes, in cubic centimetres for a gram; without it that of its fibre.",
        examples=[1.1],
    )
    colour: Colour = Field(
        description="Its colour in pictures: # and six digits, red, green, blue. Keep the quotes: what follows ` #` "
        "without them is a comment.",
        examples=["#1b4f72"],
    )
    colour_name: Text = Field(
        description="What the colour is called, in the file's language.", examples=["harbour blue"]
    )

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

    thread: Letter = Field(description="Its letter in `threads`.", examples=["A"])


class Finish(Record):
    """What is done with the worked lace."""

    stiffen: Annotated[str, choice("never", "optional", "always")] = Field(
        "never", description="Whether it is stiffened.", examples=["optional"]
    )


class Tails(Record):
    """Ends left over: at the start and finish of a run, and where a new length joins."""

    start: MillimetresOrNone = Field(150.0, description="Left over where a thread begins.", examples=["150 mm"])
    finish: MillimetresOrNone = Field(150.0, description="Left over where it ends.", examples=["150 mm"])
    rejoin: MillimetresOrNone = Field(
        100.0, description="Used up where the next working length joins the last.", examples=["100 mm"]
    )


class Give(Record):
    """The extra length a ray can find; common practice, no source: a sample calibrates it."""

    pin: MillimetresOrNone = Field(1.5, description="What it can draw in at its pin.", examples=["1.5 mm"])
    fibre_pct: Annotated[Number, Field(ge=0, le=50)] | None = Field(
        None,
        description="What its fibre can stretch, in percent of its length; without it cotton 3, linen 1.5, others 5.",
        examples=[3],
    )
    slack_pct: Annotated[Number, Field(ge=0, le=50)] = Field(
        2.0, description="How loosely it was laid, in percent of its length.", examples=[2]
    )


class Photo(Record):
    """A photograph of the piece, with the words that stand for it."""

    file: Text = Field(
        description="JPEG, PNG, TIFF or WebP, named from this file's folder.", examples=["photos/harbour.jpg"]
    )
    alt: Text = Field(
        description="What is to be seen, for those who cannot see it.", examples=["The finished wheel on dark cloth"]
    )
    place: Annotated[str, choice("title", "steps", "finishing")] = Field(
        "title", description="Where on the leaflet it stands; one may stand at the title.", examples=["steps"]
    )


class Link(Record):
    """An address printed on the leaflet."""

    url: Address = Field(
        description="The address, printed in full and as a square code.", examples=["https://example.org/harbour"]
    )
    label: Text = Field(description="What is to be found there.", examples=["Corrections"])


class SizeLoom(Measures):
    """The loom of another size; its shape is the pattern's."""

    pins: Annotated[Whole, Field(ge=FEWEST_PINS, le=MOST_PINS)] = Field(
        description="Its pins, by number.", examples=[42]
    )


class Size(Record):
    """The same pattern on another loom."""

    name: Text = Field(description="What the size is called.", examples=["S"])
    loom: SizeLoom = Field(description="How large its loom is.", examples=[{"diameter": "60 mm", "pins": 42}])


class Assembly(Record):
    """How finished wheels are joined."""

    layout: Annotated[str, choice("grid", "hex", "strip")] = Field(
        description="How they lie: in a grid, each among six others, or in a strip. Pins divide by 4, 6 and 4.",
        examples=["hex"],
    )
    columns: Annotated[Whole, Field(ge=1, le=1000)] = Field(description="Wheels in a row.", examples=[5])
    rows: Annotated[Whole, Field(ge=1, le=1000)] = Field(description="Rows of wheels.", examples=[4])
    joins: Annotated[Whole, Field(ge=1, le=MOST_PINS)] = Field(
        description="Pins tied together where two wheels meet.", examples=[3]
    )


class Price(Record):
    """What the leaflet costs."""

    amount: Amount = Field(description="How much, with a point; in quotes it keeps its zeros.", examples=["6.50"])
    currency: Annotated[str, choice(*CURRENCIES)] = Field(
        description="The currency, by its three letters (ISO 4217).", examples=["EUR"]
    )


class Passed(Record):
    """Rays passed over untied, in a list of group sizes."""

    passed: Annotated[Whole, Field(ge=1, le=MOST_RAYS)] = Field(
        alias="pass", description="How many rays are passed over untied.", examples=[2]
    )


class Part(Record):
    """A fan: worked over ``rays`` rays from ray ``from``, and again every ``every`` rays."""

    start: Annotated[Whole, Field(ge=0, le=MOST_RAYS - 1)] = Field(
        0, alias="from", description="The ray it begins at, counted from 0, clockwise from the top.", examples=[0]
    )
    rays: Annotated[Whole, Field(ge=1, le=MOST_RAYS)] = Field(description="How many rays it takes.", examples=[12])
    every: Annotated[Whole, Field(ge=1, le=MOST_RAYS)] = Field(
        description="After how many rays the next one begins; it divides all rays, twice the pins.", examples=[20]
    )


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

    at: At | None = Field(
        None,
        description="How far from the centre it lies; a list is taken by the groups in turn. `tight`, for darns and "
        "ribs: as close to the centre as the threads let it.",
        examples=["15 mm", "35%", "tight", ["15 mm", "17 mm"]],
    )
    gap: Gap | None = Field(
        None,
        description="How far from the round before it lies, instead of `at`; a list is taken by the groups in turn.",
        examples=["8 mm", ["5 mm", "8 mm"]],
    )
    to: Distance | None = Field(
        None, description="How far from the centre a filling reaches.", examples=["34 mm", "70%"]
    )
    rows: Annotated[Whole, Field(ge=1, le=500)] | None = Field(
        None, description="How many rows a darn or rib has; without it a darn has 2, a rib 1.", examples=[3]
    )
    thread: Letters | None = Field(
        None,
        description="Its thread's letter; a list is taken by the rows in turn. Without it that of the web.",
        examples=["A", ["A", "B"]],
    )
    note: Text | None = Field(None, description="A sentence beside its step.", examples=["Keep these loose."])
    close: Flag = Field(
        default=True,
        description="Whether a closing knot ends it; false goes on in a spiral.",
        examples=[False],
    )
    part: Part | None = Field(
        None, description="Works fans to and fro instead of the whole round.", examples=[{"rays": 12, "every": 20}]
    )

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
