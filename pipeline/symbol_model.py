"""A stitch or a sign as written, as a model: its glyph and panels, parameters, take-up and texts.

A stitch says how it behaves, what it takes, how much thread it uses and what it is called; both kinds have a glyph:
paths in a box of 24 by 24, y downward, the centre of the lace below and the rim above (``drawing.glyphs`` draws them).
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Any, Final, Literal

from pydantic import BeforeValidator, Field
from typing_extensions import override

from pipeline.fields import Flag, Id, Number, Record, Text, Whole, choice, refuse
from pipeline.pattern_model import MOST_ROWS, ParameterForm, StitchForm
from pipeline.records import MOST_RAYS

BOX: Final = 24.0
PANEL_WIDTH: Final = 32.0
"""A panel is as high as a glyph's box and so wide."""
STROKES: Final[Mapping[str, float]] = {"ray": 1.3, "work": 2.4, "solid": 0.0}
"""Stroke of each role in box units: the web is thin, the working thread thick, a solid is filled."""

PANEL_STROKES: Final[Mapping[str, float]] = {
    "ray": 0.8, "work": 1.5, "solid": 0.0, "needle": 1.1, "way": 0.9, "quiet": 0.6,
}  # fmt: skip
"""The same for the drawings that show how a thing is done, where there is a needle, an arrow, and what stands by."""

_COMMANDS: Final = {"M": 2, "L": 2, "C": 6, "Z": 0}


def _outline(value: object) -> str:
    """An SVG path of absolute M, L, C and Z: https://www.w3.org/TR/SVG2/paths.html."""
    text = value if isinstance(value, str) else ""
    pieces = re.findall(r"([MLCZ])([^MLCZ]*)", text)
    whole = "".join(letter + numbers for letter, numbers in pieces) == text.strip()
    if not pieces or not whole or pieces[0][0] != "M":
        raise refuse("text-shape", written=text[:30], expected="a path of M, L, C and Z", hint="begin with M")
    for letter, numbers in pieces:
        found = re.findall(r"[-+]?(?:\d+\.?\d*|\.\d+)", numbers)
        per = _COMMANDS[letter]
        if re.sub(r"[-+.\d\s,]", "", numbers) or (len(found) % per or not found if per else found):
            raise refuse(
                "text-shape",
                written=letter + numbers[:30],
                expected="a path of M, L, C and Z",
                hint="count the numbers",
            )
    return text.strip()


_ROLE: Final[Any] = Field(description="What it draws, which says how thick it is.", examples=["work"])
_WIDTH: Final[Any] = Field(
    None, description="Another thickness, in units of the box, which is 24 high.", examples=[1.5]
)
_CAP: Final[Any] = Field(
    "butt",
    description="`butt` where a thread dives under or leaves the picture, `round` where it ends.",
    examples=["round"],
)
_PATH: Final[Any] = Field(
    description="The path: absolute M, L, C and Z as in SVG, x to the right, y downward, in a box 24 high.",
    examples=["M4 22 L20 2"],
)


class Stroke(Record):
    """One path of a glyph."""

    role: Annotated[str, choice("ray", "work", "solid")] = _ROLE
    width: Annotated[Number, Field(gt=0, le=8)] | None = _WIDTH
    cap: Annotated[str, choice("butt", "round")] = _CAP
    d: Annotated[str, BeforeValidator(_outline)] = _PATH

    @property
    def stroke(self) -> float:
        """Width in box units; 0 for a solid."""
        return self.width or STROKES[self.role]


class PanelStroke(Record):
    """One path of a panel. ``way`` is an arrow: it has a head at its end."""

    role: Annotated[str, choice(*PANEL_STROKES)] = _ROLE
    width: Annotated[Number, Field(gt=0, le=8)] | None = _WIDTH
    cap: Annotated[str, choice("butt", "round")] = _CAP
    d: Annotated[str, BeforeValidator(_outline)] = _PATH

    @property
    def stroke(self) -> float:
        """Width in box units; 0 for a solid."""
        return self.width or PANEL_STROKES[self.role]


_SHOWS: Final[Any] = Field(
    description="What is to be seen, for those who cannot see it.",
    examples=["Two rays crossed over one another and held by a hitch."],
)


class Panel(Record):
    """A small drawing of one moment of the work, in a box like a glyph's, wider by ``PANEL_WIDTH``."""

    shows: Text = _SHOWS
    strokes: Annotated[tuple[PanelStroke, ...], Field(min_length=1, max_length=80)] = Field(
        description="Its paths, the lowest first.", examples=[[{"role": "ray", "d": "M10 22 L22 2"}]]
    )


class Sentence(Record):
    """A sentence of a step; it is said where all facts in its braces (and ``when``) are there."""

    text: Text | None = Field(
        None, description="A sentence without a number of its own.", examples=["Take rays in turn: {sizes}."]
    )
    one: Text | None = Field(None, description="The sentence for one.", examples=["Tie {groups} knot."])
    other: Text | None = Field(None, description="The sentence for more.", examples=["Tie {groups} knots."])
    count: Text | None = Field(
        None, description="The fact that decides between `one` and `other`.", examples=["groups"]
    )
    when: Text | None = Field(None, description="The fact that must be there for it to be said.", examples=["passes"])


class Texts(Record):
    """What a symbol is called and what is done; English, translated by catalogue with the id as context."""

    name: Text = Field(description="What it is called.", examples=["Star tie"])
    short: Text | None = Field(None, description="Its short form.", examples=["xt"])
    do: Text = Field(
        description="What is done, in one sentence of the key.", examples=["Cross the rays of a group and bind them."]
    )
    do_left: Text | None = Field(
        None,
        description="The same for left-handed work, where it tells of left and right or of the way round.",
        examples=["Lead the thread to the left."],
    )
    step: tuple[Sentence, ...] = Field(
        (),
        description="Sentences of a step; each is said where all facts in its braces are there.",
        examples=[[{"count": "groups", "one": "Make {groups} tie.", "other": "Make {groups} ties."}]],
    )


class TakeUp(Record):
    """Thread a knot takes: so many turns round its bundle, and so many thicknesses of itself beside them."""

    turns: Number = Field(0.0, description="Turns round its bundle.", examples=[2])
    thicknesses: Number = Field(0.0, description="Thicknesses of the thread beside them.", examples=[4])


class EdgeForm(Record):
    """Which rays an edge takes: groups of ``rays`` counted from ray ``shift``."""

    rays: Annotated[Whole, Field(ge=1, le=MOST_RAYS)] = Field(description="Rays to a knot.", examples=[2])
    shift: Annotated[Whole, Field(ge=0, le=MOST_RAYS)] = Field(
        description="The ray its knots are counted from.", examples=[1]
    )


class Rows(Record):
    """A stitch worked in rows, and how many where nothing is said."""

    default: Annotated[Whole, Field(ge=1, le=MOST_ROWS)] = Field(
        description="Rows, where nothing is said.", examples=[2]
    )


class Symbol(Record):
    """What stitches and signs share."""

    shows: Text = _SHOWS
    replaces: Flag = Field(
        default=False,
        description="Whether it takes the place of the shipped symbol of the same id.",
        examples=[True],
    )
    glyph: Annotated[tuple[Stroke, ...], Field(min_length=1, max_length=40)] = Field(
        description="The drawing that stands for it, in a box of 24 by 24: the lace's centre below, the rim above.",
        examples=[[{"role": "ray", "d": "M4 22 L20 2"}, {"role": "work", "d": "M2.4 12 L21.6 12"}]],
    )
    panels: Annotated[tuple[Panel, ...], Field(max_length=4)] = Field(
        (),
        description="How it is worked, in two to four moments, each drawn in a box of 32 by 24.",
        examples=[[{"shows": "Two rays.", "strokes": [{"role": "ray", "d": "M10 22 L22 2"}]}]],
    )
    texts: Texts = Field(
        description="What it is called and what is done, in English.",
        examples=[{"name": "Star tie", "do": "Cross the rays of a group and bind them."}],
    )

    @property
    def id(self) -> str:
        """Its id."""
        raise NotImplementedError


@dataclass(frozen=True, slots=True)
class Behaviour:
    """Which keys a round with a stitch of this kind understands beside ``note``, and which may be lists."""

    takes: frozenset[str]
    lists: frozenset[str]


BEHAVIOURS: Final[Mapping[str, Behaviour]] = {
    "gather": Behaviour(frozenset({"close", "part"}), frozenset({"at", "gap"})),
    "edge": Behaviour(frozenset({"close"}), frozenset()),
    "weave": Behaviour(frozenset({"rows", "part"}), frozenset({"thread"})),
    "coil": Behaviour(frozenset({"to"}), frozenset()),
    "block": Behaviour(frozenset({"to"}), frozenset()),
}
"""*gather* ties groups of rays, *edge* ties them at the rim, *weave* runs over and under rays all the way round,
*coil* binds a group from one radius to another, *block* weaves to and fro over a group between two radii."""


class Stitch(Symbol):
    """A stitch; how it behaves is one of ``BEHAVIOURS``."""

    stitch: Id = Field(description="Its name in patterns; the file is called <id>.yaml.", examples=["star-tie"])
    behaviour: Annotated[Literal["gather", "edge", "weave", "coil", "block"], choice(*BEHAVIOURS)] = Field(
        description="`gather` ties groups of rays, `edge` ties them at the rim, `weave` runs over and under, round and "
        "round, `coil` binds a group, `block` weaves to and fro over a group.",
        examples=["gather"],
    )
    distance: Annotated[Literal["required", "optional", "none"], choice("required", "optional", "none")] = Field(
        description="Whether a round must say how far out it lies, may, or cannot.", examples=["required"]
    )
    tight: Flag = Field(
        default=False, description="Whether it may lie as close to the centre as the threads let it.", examples=[True]
    )
    back: Flag = Field(
        default=False,
        description="A weave that goes back over some rays before it goes on under more: a back stitch.",
        examples=[True],
    )
    rows: Rows | None = Field(None, description="Of a weave: its rows.", examples=[{"default": 2}])
    edge: EdgeForm | None = Field(
        None, description="Of an edge: which rays its knots take.", examples=[{"rays": 2, "shift": 1}]
    )
    take_up: TakeUp = Field(TakeUp(), description="Thread each knot takes.", examples=[{"turns": 2, "thicknesses": 4}])
    parameters: dict[str, ParameterForm] = Field(
        {},
        description="What a round may tell it, by name.",
        examples=[{"rays": {"kind": "sizes", "default": 4, "about": "Rays to a tie."}}],
    )
    shown_by: dict[str, dict[str, Id]] = Field(
        {},
        description="Signs that stand for it where a choice was made: parameter, choice, sign.",
        examples=[{"as": {"leaf": "weave-leaf"}}],
    )

    @property
    def form(self) -> StitchForm:
        """What a round with this stitch may say."""
        kind = BEHAVIOURS[self.behaviour]
        takes = kind.takes - ({"part"} if self.back else set()) - (set() if self.rows else {"rows"})
        parameters = tuple(self.parameters.items())
        return StitchForm(
            self.stitch, self.texts.do, self.distance, self.tight, takes, kind.lists, self.back, parameters
        )

    def shown(self, told: Mapping[str, object]) -> str:
        """The id of the symbol that stands for it in a round that was told this."""
        for parameter, signs in self.shown_by.items():
            if (sign := signs.get(str(told.get(parameter)))) is not None:
                return sign
        return self.stitch

    @property
    @override
    def id(self) -> str:
        return self.stitch


class Sign(Symbol):
    """A sign: an action, a tool or a fact that is no stitch."""

    sign: Id = Field(description="Its name; the file is called <id>.yaml.", examples=["scissors"])

    @property
    @override
    def id(self) -> str:
        return self.sign
