"""The pattern as written: its model, its JSON Schema, and the rules that need no geometry.

``parse`` turns a ``Source`` into a ``Pattern``. Which stitches there are and what they take is data
(``symbols/``): it comes in as ``StitchForm``s, and a model of a round is made from them. Nothing is computed
here; lengths in ``%`` stay lengths until the loom is known.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Annotated, Any, Final, Literal

from pydantic import ConfigDict, Discriminator, Field, Tag, ValidationError, create_model

from pipeline.fields import (
    WHOLE,
    Address,
    Amount,
    Colour,
    Day,
    Distance,
    DistanceOrTight,
    Id,
    Letter,
    Millimetres,
    MillimetresOrNone,
    Number,
    Record,
    Text,
    Whole,
    choice,
    findings_of,
    missing_values,
)
from pipeline.fields import Tag as LanguageTag
from pipeline.problems import RULES, Finding, Path, Severity, nearest
from pipeline.source import Plain, Source
from pipeline.units import tex_from_denier, tex_from_ne, tex_from_nm, tex_from_put_up

FEWEST_PINS: Final = 6
MOST_PINS: Final = 1000
RESERVED: Final = ("at", "gap", "to", "rows", "thread", "note", "close", "part")
"""Keys of a round that no stitch may be called."""

FIBRES: Final = ("cotton", "linen", "silk", "wool", "polyester", "viscose")


class ParameterForm(Record):
    """What a stitch may be told under one key."""

    kind: Annotated[str, choice("count", "shift", "sizes", "length")]
    default: Whole | None = None
    least: Whole = 0
    most: Whole = 2 * MOST_PINS
    required: bool = False
    about: Text


@dataclass(frozen=True, slots=True)
class StitchForm:
    """What a round with this stitch may say."""

    id: str
    about: str
    distance: Literal["required", "optional", "none"]
    tight: bool
    rows: int | None
    """How many rows where the round says nothing; None: always one."""
    parameters: tuple[tuple[str, ParameterForm], ...]


class Edition(Record):
    """Which published version this is."""

    number: Annotated[Whole, Field(ge=1, le=9999)]
    date: Day


class Correction(Record):
    """What an edition put right."""

    edition: Annotated[Whole, Field(ge=1, le=9999)]
    text: Text


class LoomSpec(Record):
    """The loom: a circle of pins."""

    shape: Annotated[str, choice("circle")]
    diameter: Millimetres
    pins: Annotated[Whole, Field(ge=FEWEST_PINS, le=MOST_PINS)]
    hold: Annotated[str, choice("pin", "notch", "thread")] = "thread"


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


class SizeLoom(Record):
    """The loom of another size."""

    diameter: Millimetres
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

    passed: Annotated[Whole, Field(ge=1, le=2 * MOST_PINS)] = Field(alias="pass")


def _size_kind(value: object) -> str:
    return "<list>" if isinstance(value, list) else "<one>"


def _item_kind(value: object) -> str:
    return "<pass>" if isinstance(value, dict) else "<size>"


GroupSize = Annotated[Whole, Field(ge=1, le=2 * MOST_PINS)]
SizeItem = Annotated[Annotated[GroupSize, Tag("<size>")] | Annotated[Passed, Tag("<pass>")], Discriminator(_item_kind)]
SizeList = Annotated[tuple[SizeItem, ...], Field(min_length=1, max_length=200)]
Sizes = Annotated[Annotated[GroupSize, Tag("<one>")] | Annotated[SizeList, Tag("<list>")], Discriminator(_size_kind)]
"""A group size, or a list of sizes and passed rays taken in turn."""


class Round(Record):
    """One round as written; the fields of its stitch are added by ``round_model``."""

    at: DistanceOrTight | None = None
    gap: Distance | None = None
    rows: Annotated[Whole, Field(ge=1, le=500)] | None = None
    thread: Letter | None = None
    note: Text | None = None

    @property
    def stitch(self) -> str:
        """The id of its stitch."""
        return next(name for name, value in self._stitches() if value is not None)

    @property
    def parameters(self) -> Mapping[str, Any]:
        """What the stitch was told, defaults filled in."""
        record = next((value for _, value in self._stitches() if value is not None), None)
        return {name: getattr(record, name) for name in type(record).model_fields} if record else {}

    def _stitches(self) -> Iterator[tuple[str, Record | None]]:
        for name, field in type(self).model_fields.items():
            if name not in Round.model_fields:
                yield field.alias or name, getattr(self, name)


class Pattern(Record):
    """A whole pattern file."""

    model_config = ConfigDict(title="Wheel-lace pattern")

    spokeleaf: Whole = Field(description="Format version; always 1 and always the first key.", examples=[1])
    id: Id = Field(
        description="The pattern's name for programs; the file is called <id>.yaml.", examples=["harbour-wheel"]
    )
    title: Text = Field(description="The pattern's name for people.")
    language: LanguageTag = Field(description="The language of the texts in this file.", examples=["en", "pt-BR"])
    summary: Text | None = Field(None, description="What it is, in one sentence.")
    level: Annotated[Whole, Field(ge=1, le=5)] = Field(description="1 first piece … 5 needs long practice.")
    edition: Edition
    corrections: tuple[Correction, ...] = ()
    loom: LoomSpec
    threads: Annotated[dict[Letter, ThreadSpec], Field(min_length=1, max_length=26)]
    rounds: Annotated[tuple[Round, ...], Field(min_length=1, max_length=500)]
    web: Web | None = None
    holding_thread: ThreadSpec | None = None
    finish: Finish = Finish()
    tools: tuple[Text, ...] = ("blunt-needle", "scissors")
    working_length: Millimetres = 1500.0
    tails: Tails = Tails()
    give: Give = Give()
    measured: dict[Letter, Millimetres] = Field(default_factory=dict, description="Thread a sample really took.")
    accepts: dict[str, Text] = Field(
        default_factory=dict, description="Warnings the designer answers for, with the reason."
    )
    photos: tuple[Photo, ...] = ()
    links: tuple[Link, ...] = ()
    sizes: tuple[Size, ...] = ()
    assembly: Assembly | None = None
    sku: Text | None = None
    price: Price | None = None
    tags: tuple[Text, ...] = ()

    @property
    def web_thread(self) -> str:
        """The letter of the web's thread: the first, where nothing is said."""
        return self.web.thread if self.web else next(iter(self.threads))


@dataclass(frozen=True, slots=True)
class Parsed:
    """What could be made of a source: the whole pattern, or the parts that are sound by themselves."""

    pattern: Pattern | None
    findings: tuple[Finding, ...]
    id: str | None
    pins: int | None
    rounds: tuple[Round | None, ...]


_RECORDS: Final[Mapping[str, Any]] = {"count": Whole, "shift": Whole, "sizes": Sizes, "length": Distance}


def parse(source: Source, forms: tuple[StitchForm, ...]) -> Parsed:
    """Read the pattern in a source and every finding about what is written in it."""
    model = pattern_model(forms)
    findings = list(_kind(source))
    pattern = None
    try:
        pattern = model.model_validate(source.tree)
        findings += missing_values(source.tree)
    except ValidationError as error:
        findings += findings_of(error, source.tree, model)
    round_findings = list(_round_rules(source.tree, forms)) + list(_thread_rules(source.tree))
    findings += [finding for finding in round_findings if finding not in findings]
    if pattern:
        findings += _whole_rules(pattern)
    if source.problems or any(RULES[f.code].severity is Severity.ERROR and f.code not in HARMLESS for f in findings):
        pattern = None
    rounds = pattern.rounds if pattern else tuple(_sound_rounds(source.tree, forms, findings))
    return Parsed(pattern, tuple(findings), _known_id(source.tree), _known_pins(source.tree), rounds)


HARMLESS: Final = frozenset({"distance-not-here", "rows-not-here", "code-unknown", "error-not-acceptable"})
"""Errors that leave no doubt what would be computed without the slip."""


@lru_cache(maxsize=8)
def pattern_model(forms: tuple[StitchForm, ...]) -> type[Pattern]:
    """The model of a pattern whose rounds may use these stitches."""
    rounds: Any = tuple[round_model(forms), ...]  # type: ignore[misc]
    limited = Annotated[rounds, Field(min_length=1, max_length=500)]
    return create_model("Pattern", __base__=Pattern, rounds=(limited, ...))


@lru_cache(maxsize=8)
def round_model(forms: tuple[StitchForm, ...]) -> type[Round]:
    """The model of a round that may use these stitches."""
    fields: dict[str, Any] = {}
    for form in forms:
        record = _stitch_model(form)
        fields[form.id.replace("-", "_")] = (record | None, Field(None, alias=form.id, description=form.about))
    return create_model("Round", __base__=Round, **fields)


def schema(forms: tuple[StitchForm, ...]) -> dict[str, Any]:
    """The JSON Schema of a pattern file (draft 2020-12)."""
    made: dict[str, Any] = _limits_named(pattern_model(forms).model_json_schema(by_alias=True))
    return made


_LIMITS: Final = {"ge": "minimum", "le": "maximum", "gt": "exclusiveMinimum", "lt": "exclusiveMaximum"}


def _limits_named(made: Any) -> Any:
    """Pydantic leaves limits after a validator under names of its own, which JSON Schema does not know."""
    if isinstance(made, dict):
        return {
            _LIMITS.get(key, key) if isinstance(value, int | float) else key: _limits_named(value)
            for key, value in made.items()
        }
    return [_limits_named(value) for value in made] if isinstance(made, list) else made


def _stitch_model(form: StitchForm) -> type[Record]:
    fields: dict[str, Any] = {}
    for name, parameter in form.parameters:
        kind = _RECORDS[parameter.kind]
        if parameter.kind in {"count", "shift"}:
            kind = Annotated[kind, Field(ge=parameter.least, le=parameter.most)]
        default = ... if parameter.required else parameter.default
        fields[name] = (kind if default is not None else kind | None, Field(default, description=parameter.about))
    return create_model(form.id.title().replace("-", ""), __base__=Record, __doc__=form.about, **fields)


def _kind(source: Source) -> Iterator[Finding]:
    first = next(iter(source.tree), "")
    if first != "spokeleaf":
        yield Finding("kind-unknown", (first,), {"key": first}, on_key=True)
    version = source.tree.get("spokeleaf")
    if isinstance(version, Plain) and WHOLE.fullmatch(version) and int(version) != 1:
        yield Finding("other-version", ("spokeleaf",), {"found": version})


def _round_rules(tree: Mapping[str, object], forms: tuple[StitchForm, ...]) -> Iterator[Finding]:
    """What the keys of a round say together; values need not be sound for it."""
    by_id = {form.id: form for form in forms}
    rounds = tree.get("rounds")
    for index, entry in enumerate(rounds if isinstance(rounds, list) else []):
        if isinstance(entry, dict):
            path: Path = ("rounds", index)
            named = [key for key in entry if key in by_id]
            if not named and set(entry) <= set(RESERVED):  # else it is an unknown key, which is said elsewhere
                yield Finding("stitch-missing", path, {"stitches": ", ".join(sorted(by_id))})
            if len(named) > 1:
                yield Finding("stitch-twice", (*path, named[1]), {"stitches": ", ".join(named)}, on_key=True)
            elif named:
                yield from _distance_rules(entry, by_id[named[0]], path)


def _distance_rules(entry: Mapping[str, object], form: StitchForm, path: Path) -> Iterator[Finding]:
    given = [key for key in ("at", "gap") if key in entry]
    if form.distance == "none":
        for key in given:
            yield Finding("distance-not-here", (*path, key), {"stitch": form.id, "key": key}, on_key=True)
    elif len(given) > 1:
        yield Finding("distance-twice", (*path, "gap"), on_key=True)
    elif form.distance == "required" and not given:
        yield Finding("distance-missing", (*path, form.id), {"stitch": form.id}, on_key=True)
    if entry.get("at") == "tight" and not form.tight and form.distance != "none":
        yield Finding("tight-not-here", (*path, "at"), {"stitch": form.id})
    if form.rows is None and "rows" in entry:
        yield Finding("rows-not-here", (*path, "rows"), {"stitch": form.id}, on_key=True)


def _thread_rules(tree: Mapping[str, object]) -> Iterator[Finding]:
    """Threads named must be there; a thread's thickness is given once."""
    threads = tree.get("threads")
    known = list(threads) if isinstance(threads, dict) else []
    if isinstance(threads, dict):
        for letter, entry in threads.items():
            yield from _weight_rules(entry, ("threads", letter))
    yield from _weight_rules(tree.get("holding_thread"), ("holding_thread",))
    for path, letter in _letters(tree):
        if known and letter not in known:
            yield Finding(
                "thread-unknown", path, {"thread": letter, "hint": nearest(letter, known)}, on_key=path[0] == "measured"
            )


def _letters(tree: Mapping[str, object]) -> Iterator[tuple[Path, str]]:
    """Every place that names a thread."""
    web, measured, rounds = tree.get("web"), tree.get("measured"), tree.get("rounds")
    if isinstance(web, dict) and isinstance(web.get("thread"), str):
        yield ("web", "thread"), web["thread"]
    for letter in measured if isinstance(measured, dict) else ():
        yield ("measured", letter), letter
    for index, entry in enumerate(rounds if isinstance(rounds, list) else []):
        if isinstance(entry, dict) and isinstance(entry.get("thread"), str):
            yield ("rounds", index, "thread"), entry["thread"]


def _weight_rules(entry: object, path: Path) -> Iterator[Finding]:
    if not isinstance(entry, dict):
        return
    ball = [key for key in ("metres", "grams") if key in entry]
    given = [key for key in ("tex", "ne", "nm", "denier") if key in entry]
    if len(ball) == 1:
        other = "grams" if ball == ["metres"] else "metres"
        yield Finding("put-up-half", (*path, ball[0]), {"key": ball[0], "other": other}, on_key=True)
    times = len(given) + bool(ball)
    if times == 0:
        yield Finding("thread-weight-missing", path)
    elif times > 1:
        keys = ", ".join(given + ball)
        yield Finding("thread-weight-twice", (*path, (given + ball)[-1]), {"times": times, "keys": keys}, on_key=True)


def _whole_rules(pattern: Pattern) -> Iterator[Finding]:
    """Rules over a sound pattern."""
    ends = max(pattern.tails.rejoin, 0.0)
    if pattern.working_length <= ends:
        facts = {"length": f"{pattern.working_length:g}", "ends": f"{ends:g}"}
        yield Finding("working-length-too-short", ("working_length",), facts)
    used = {pattern.web_thread} | {entry.thread or pattern.web_thread for entry in pattern.rounds}
    for letter in pattern.threads:
        if letter not in used:
            yield Finding("thread-unused", ("threads", letter), {"thread": letter}, on_key=True)
    for index, entry in enumerate(pattern.rounds):
        for name, value in entry.parameters.items():
            if isinstance(value, tuple) and all(isinstance(item, Passed) for item in value):
                yield Finding("only-passed", ("rounds", index, entry.stitch, name))
    warnings = [code for code, rule in RULES.items() if rule.severity is Severity.WARNING]
    for code in pattern.accepts:
        if code not in RULES:
            yield Finding(
                "code-unknown", ("accepts", code), {"found": code, "hint": nearest(code, warnings)}, on_key=True
            )
        elif RULES[code].severity is Severity.ERROR:
            yield Finding("error-not-acceptable", ("accepts", code), {"found": code}, on_key=True)


def _sound_rounds(
    tree: Mapping[str, object], forms: tuple[StitchForm, ...], findings: list[Finding]
) -> Iterator[Round | None]:
    """Each round that is sound by itself, so that its counts can be checked beside other errors."""
    rounds = tree.get("rounds")
    broken = {finding.path[1] for finding in findings if finding.path[:1] == ("rounds",) and len(finding.path) > 1}
    for index, entry in enumerate(rounds if isinstance(rounds, list) else []):
        yield None if index in broken else round_model(forms).model_validate(entry)


def _known_id(tree: Mapping[str, object]) -> str | None:
    found = tree.get("id")
    return str(found) if isinstance(found, str) else None


def _known_pins(tree: Mapping[str, object]) -> int | None:
    loom = tree.get("loom")
    pins = loom.get("pins") if isinstance(loom, dict) else None
    if isinstance(pins, Plain) and WHOLE.fullmatch(pins) and FEWEST_PINS <= int(pins) <= MOST_PINS:
        return int(pins)
    return None
