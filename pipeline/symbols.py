"""Stitches and signs as data: one YAML file each, below ``symbols/``.

``load`` reads the shipped folder and lays a workspace's own over it. A stitch says how it behaves, what it
takes, how much thread it uses and what it is called; both kinds have a glyph: paths in a box of 24 by 24,
y downward, the centre of the lace below and the rim above (``drawing.glyphs`` draws them).
"""

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any, Final, Literal

from pydantic import BeforeValidator, Field, ValidationError
from typing_extensions import override

from pipeline.fields import Flag, Id, Number, Record, Text, Whole, choice, findings_of, missing_values, refuse
from pipeline.pattern import MOST_ROWS, RESERVED, ParameterForm, StitchForm
from pipeline.problems import Finding, Problem, nearest
from pipeline.records import MOST_RAYS, Round
from pipeline.source import LARGEST_BYTES, Source, Unreadable, read, unreadable
from pipeline.workspace import contents

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


class Parameter(ParameterForm):
    """A parameter as written in a symbol file."""

    required: Flag = Field(default=False, description="Whether it must be said.", examples=[True])


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
    parameters: dict[str, Parameter] = Field(
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
        takes = kind.takes - {"part"} if self.back else kind.takes
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


@dataclass(frozen=True, slots=True)
class SymbolSet:
    """All symbols of a workspace, by id."""

    stitches: Mapping[str, Stitch]
    signs: Mapping[str, Sign]
    own: frozenset[str] = frozenset()
    """Ids of those that a workspace brought."""
    sign_ids: frozenset[str] = frozenset()
    """Ids of all signs, also of those that were passed over."""

    @property
    def forms(self) -> tuple[StitchForm, ...]:
        """What rounds may say."""
        return tuple(stitch.form for stitch in self.stitches.values())

    def symbol(self, symbol_id: str) -> Symbol:
        """The stitch or sign of this id."""
        return self.stitches.get(symbol_id) or self.signs[symbol_id]

    @property
    def everything(self) -> Mapping[str, Symbol]:
        """Stitches and signs together."""
        return {**self.stitches, **self.signs}

    def meant(self, symbol_id: str) -> tuple[Stitch, Mapping[str, str]]:
        """The stitch a glyph stands for in a notation line, and the choice it shows. Raises ``KeyError``."""
        if symbol_id in self.stitches:
            return self.stitches[symbol_id], {}
        meanings: dict[str, tuple[Stitch, Mapping[str, str]]] = {
            sign: (stitch, {parameter: word})
            for stitch in self.stitches.values()
            for parameter, signs in stitch.shown_by.items()
            for word, sign in signs.items()
        }
        return meanings[symbol_id]


class Broken(Exception):
    """Some symbol files cannot be used; ``problems`` says which and why."""

    def __init__(self, problems: tuple[Problem, ...]) -> None:
        super().__init__(problems[0].message)
        self.problems = problems


def load(folders: Iterable[Path], *, shipped_signs: bool = True) -> SymbolSet:
    """Read all symbol files of these folders: the shipped first, then a workspace's own. Raises ``Broken``.

    Patterns are checked without the shipped signs, which are many and known to be sound. No stitch replaces a sign: the
    two could not be told apart in a line of notation.
    """
    found: dict[str, Stitch | Sign] = {}
    known: set[str] = set()
    own: set[str] = set()
    problems: list[Problem] = []
    for layer, folder in enumerate(folders):
        for file in sorted(folder.glob("*.yaml")):
            try:
                data = contents(file, LARGEST_BYTES)
            except OSError as error:
                problems.append(unreadable(str(file), error))
                continue
            if not layer and not shipped_signs and data.startswith(b"sign:"):
                known.add(file.stem)
                continue
            try:
                source = read(str(file), data)
                symbol = parse(source)
            except (Unreadable, Broken) as error:
                problems += error.problems
                continue
            other_kind = isinstance(symbol, Stitch) and (symbol.id in known or isinstance(found.get(symbol.id), Sign))
            if other_kind or (symbol.id in known | set(found) and not symbol.replaces):
                problems += source.locate([Finding("symbol-shipped", (_kind_of(symbol),), {"id": symbol.id})])
            found[symbol.id] = symbol
            own |= {symbol.id} if layer else set()
    if problems:
        raise Broken(tuple(problems))
    stitches = {symbol_id: symbol for symbol_id, symbol in sorted(found.items()) if isinstance(symbol, Stitch)}
    signs = {symbol_id: symbol for symbol_id, symbol in sorted(found.items()) if isinstance(symbol, Sign)}
    return SymbolSet(stitches, signs, frozenset(own), frozenset(known | set(signs)))


def parse(source: Source) -> Stitch | Sign:
    """The symbol in a source. Raises ``Broken``."""
    model: type[Stitch] | type[Sign] = Stitch if next(iter(source.tree), "") == "stitch" else Sign
    findings: list[Finding] = []
    symbol: Stitch | Sign | None = None
    try:
        symbol = model.model_validate(source.tree)
        findings += missing_values(source.tree)
        findings += _symbol_rules(symbol)
    except ValidationError as error:
        findings += findings_of(error, source.tree, model)
    if source.problems or findings or symbol is None:
        raise Broken(source.problems + source.locate(findings))
    return symbol


NEEDED: Final[Mapping[str, Mapping[str, str]]] = {
    "gather": {"rays": "sizes", "shift": "shift"},
    "edge": {},
    "weave": {"over": "count", "under": "count"},
    "coil": {"rays": "sizes", "shift": "shift"},
    "block": {"rays": "sizes", "shift": "shift", "as": "choice"},
}
"""Parameters that a stitch of each behaviour must have, and of which kind."""


def _symbol_rules(symbol: Stitch | Sign) -> Iterator[Finding]:
    """What pydantic cannot say: reserved ids, and what each behaviour needs."""
    if isinstance(symbol, Sign):
        return
    if symbol.id in RESERVED or hasattr(Round, symbol.id.replace("-", "_")):
        yield Finding("symbol-reserved", ("stitch",), {"id": symbol.id})
    for name, parameter in symbol.parameters.items():
        yield from _parameter_rules(name, parameter)
    yield from _needs(symbol)
    if (symbol.behaviour == "edge") != (symbol.edge is not None):
        yield Finding("edge-rays", ("behaviour",))
    outlines = symbol.parameters["as"].choices if symbol.behaviour == "block" and "as" in symbol.parameters else ()
    for word in outlines:
        if word not in OUTLINE_WORDS:
            facts = {"written": word, "expected": ", ".join(OUTLINE_WORDS), "hint": nearest(word, OUTLINE_WORDS)}
            yield Finding("not-one-of", ("parameters", "as", "choices", outlines.index(word)), facts)


def _needs(symbol: Stitch) -> Iterator[Finding]:
    """What a stitch of its behaviour cannot be worked without."""
    if symbol.behaviour in {"gather", "coil", "block"} and symbol.distance != "required":
        facts = {"written": symbol.distance, "expected": "required", "hint": "a round of it must say where it lies"}
        yield Finding("not-one-of", ("distance",), facts)
    for name, behaviours in BELONG.items():
        if name in symbol.parameters and symbol.behaviour not in behaviours:
            facts = {"key": name, "hint": f"it belongs to a stitch that behaves as {' or '.join(behaviours)}"}
            yield Finding("key-unknown", ("parameters", name), facts, on_key=True)
    may_have = {name: kind for name, kind in MAY_HAVE.items() if name in symbol.parameters}
    for name, kind in {**may_have, **NEEDED[symbol.behaviour]}.items():
        if name not in symbol.parameters or symbol.parameters[name].kind != kind:
            facts = {"behaviour": symbol.behaviour, "name": name, "kind": kind}
            yield Finding("parameter-missing", ("parameters",), facts)
            continue
        parameter, path = symbol.parameters[name], ("parameters", name)
        if kind in _LEAST and not parameter.required and parameter.default is None:
            yield Finding(
                "key-missing", path, {"key": "default", "hint": "add `default:` or `required: true`"}, on_key=True
            )
        if kind == "count" and parameter.least < 1:
            yield Finding("number-too-small", (*path, "least"), {"value": parameter.least, "least": 1})


MAY_HAVE: Final[Mapping[str, str]] = {"inset": "length", "height": "length", "parity": "choice", "as": "choice"}
"""Parameters that mean something where they stand, and of which kind they are then."""
BELONG: Final[Mapping[str, tuple[str, ...]]] = {
    **dict.fromkeys(("rays", "shift"), ("gather", "coil", "block")),
    **dict.fromkeys(("over", "under", "parity"), ("weave",)),
    **dict.fromkeys(("inset", "height"), ("edge",)),
    "as": ("block",),
}
"""Parameters that the craft model knows by name, and how stitches behave that may have them."""
_LEAST: Final = {"count": 1, "sizes": 1, "shift": 0}
"""The smallest numbers of rays that a parameter of each kind can stand for."""


def _parameter_rules(name: str, parameter: Parameter) -> Iterator[Finding]:
    """A name that programs can call it by, and values that it may have."""
    path = ("parameters", name)
    if not re.fullmatch(PARAMETER_SHAPE, name) or hasattr(Record, name):
        facts = {"written": name, "expected": "the name of a parameter", "hint": "call it by another small word"}
        yield Finding("text-shape", path, facts, on_key=True)
    if parameter.kind == "choice" and not parameter.choices:
        yield Finding("choices-missing", path)
    default = parameter.default
    if default is None:
        return
    if parameter.kind not in _LEAST:
        facts = {"key": "default", "hint": f"a {parameter.kind} has none; delete it"}
        yield Finding("key-unknown", (*path, "default"), facts, on_key=True)
    elif default < (least := max(_LEAST[parameter.kind], parameter.least)):
        yield Finding("number-too-small", (*path, "default"), {"value": default, "least": least})
    elif default > parameter.most:
        yield Finding("number-too-large", (*path, "default"), {"value": default, "most": parameter.most})


PARAMETER_SHAPE: Final = r"[a-z][a-z0-9]{0,29}"
OUTLINE_WORDS: Final = ("bar", "leaf", "point")
"""Outlines that a woven filling can have."""


def _kind_of(symbol: Stitch | Sign) -> str:
    return "stitch" if isinstance(symbol, Stitch) else "sign"
