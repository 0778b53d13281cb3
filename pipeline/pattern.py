"""The pattern as written: its model, and the rules that need no geometry.

``parse`` turns a ``Source`` into a ``Pattern``. Which stitches there are and what they take is data
(``symbols/``): it comes in as ``StitchForm``s, and a model of a round is made from them. Nothing is computed
here; lengths in ``%`` stay lengths until the loom is known.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Annotated, Any, Final, Literal

from pydantic import ConfigDict, Field, ValidationError, create_model

from pipeline.fields import (
    WHOLE,
    Distance,
    Id,
    Letter,
    Millimetres,
    Record,
    Text,
    Whole,
    choice,
    findings_of,
    millimetres_of,
    missing_values,
)
from pipeline.fields import Tag as LanguageTag
from pipeline.problems import RULES, Finding, Path, Severity, nearest
from pipeline.records import (
    FEWEST_PINS,
    MEASURES,
    MOST_PINS,
    MOST_RAYS,
    Assembly,
    Correction,
    Edition,
    Finish,
    Give,
    Link,
    LoomOrName,
    LoomSpec,
    NamedLoom,
    Passed,
    Photo,
    Price,
    Round,
    Size,
    Sizes,
    Tails,
    ThreadSpec,
    Web,
)
from pipeline.source import Plain, Source

RESERVED: Final = ("at", "gap", "to", "rows", "thread", "note", "close", "part")
"""Keys of a round that no stitch may be called."""


class ParameterForm(Record):
    """What a stitch may be told under one key."""

    kind: Annotated[str, choice("count", "shift", "sizes", "length", "choice")] = Field(
        description="What it is: a number of rays, a shift, sizes of groups, a length, or one of some words.",
        examples=["sizes"],
    )
    default: Whole | None = Field(None, description="What holds where nothing is said.", examples=[4])
    least: Whole = Field(0, description="The smallest number it may be.", examples=[1])
    most: Whole = Field(MOST_RAYS, description="The largest number it may be.", examples=[12])
    choices: tuple[Text, ...] = Field(
        (),
        description="The words of a choice; the first is taken where nothing is said.",
        examples=[["bar", "leaf"]],
    )
    required: bool = False
    about: Text = Field(description="What it says, for the manual and for editors.", examples=["Rays to a tie."])


@dataclass(frozen=True, slots=True)
class StitchForm:
    """What a round with this stitch may say."""

    id: str
    about: str
    distance: Literal["required", "optional", "none"]
    tight: bool
    takes: frozenset[str]
    """Which of ``to``, ``rows``, ``close``, ``part`` it understands."""
    lists: frozenset[str]
    """Which of ``at``, ``gap``, ``thread`` may be lists."""
    back: bool
    """Whether it goes back before it goes on, so that ``under`` must be more than ``over``."""
    parameters: tuple[tuple[str, ParameterForm], ...]


_ROUNDS: Final[Any] = Field(
    description="The work, round by round from the centre outward; each has exactly one stitch.",
    examples=[[{"darn": {}, "rows": 3}, {"knot": {"rays": 6}, "at": "15 mm"}, {"edge-loops": {}}]],
)


class Pattern(Record):
    """A whole pattern file."""

    model_config = ConfigDict(title="Wheel-lace pattern")

    spokeleaf: Whole = Field(description="Format version; always 1 and always the first key.", examples=[1])
    id: Id = Field(
        description="The pattern's name for programs; the file is called <id>.yaml.", examples=["harbour-wheel"]
    )
    title: Text = Field(description="The pattern's name for people.", examples=["Harbour Wheel"])
    language: LanguageTag = Field(description="The language of the texts in this file.", examples=["en", "pt-BR"])
    summary: Text | None = Field(
        None,
        description="What it is, in one sentence under the title.",
        examples=["A darned centre and two rings of knots."],
    )
    level: Annotated[Whole, Field(ge=1, le=5)] = Field(
        description="1 first piece … 5 needs long practice.", examples=[1]
    )
    edition: Edition = Field(
        description="Which published version this is, and of which day.",
        examples=[{"number": 1, "date": "2026-03-14"}],
    )
    corrections: Annotated[tuple[Correction, ...], Field(max_length=200)] = Field(
        (),
        description="What each edition put right; printed on the leaflet.",
        examples=[[{"edition": 2, "text": "Round 3 was drawn one ray too far left."}]],
    )
    loom: LoomOrName = Field(
        description="The loom it is made on, or the name of a file in looms/.",
        examples=[{"shape": "circle", "diameter": "84 mm", "pins": 60}, "quay-card"],
    )
    threads: Annotated[dict[Letter, ThreadSpec], Field(min_length=1, max_length=26)] = Field(
        description="Its threads, each under a capital letter that rounds name it by.",
        examples=[{"A": {"fibre": "cotton", "tex": 83.3, "colour": "#1b4f72", "colour_name": "harbour blue"}}],
    )
    rounds: Annotated[tuple[Round, ...], Field(min_length=1, max_length=500)] = _ROUNDS
    web: Web | None = Field(
        None, description="Which thread the web is laid with; without it the first.", examples=[{"thread": "B"}]
    )
    holding_thread: ThreadSpec | None = Field(
        None,
        description="The thread of the loops that hold the web at the rim; without it the web's.",
        examples=[{"fibre": "cotton", "tex": 50, "colour": "#999999", "colour_name": "grey"}],
    )
    finish: Finish = Field(
        Finish(), description="What is done with the piece when it is off the loom.", examples=[{"stiffen": "optional"}]
    )
    tools: Annotated[tuple[Text, ...], Field(max_length=40)] = Field(
        ("blunt-needle", "scissors"),
        description="What is needed: ids of symbols, which are shown and translated, or words of your own.",
        examples=[["blunt-needle", "bent-needle", "scissors"]],
    )
    working_length: Millimetres = Field(
        1500.0, description="How long a thread is cut to work with.", examples=["1500 mm", "60 in"]
    )
    tails: Tails = Field(
        Tails(), description="Ends of thread left over.", examples=[{"start": "200 mm", "rejoin": "80 mm"}]
    )
    give: Give = Field(
        Give(),
        description="The extra length a ray can find. The values are common practice, no measurement: work a sample "
        "and let `spokeleaf calibrate` read it.",
        examples=[{"pin": "2 mm", "slack_pct": 3}],
    )
    measured: dict[Letter, Millimetres] = Field(
        {}, description="Thread a sample really took, by its letter.", examples=[{"A": "7.4 m"}]
    )
    accepts: dict[str, Text] = Field(
        {},
        description="Warnings the designer answers for, with the reason.",
        examples=[{"odd-pins": "worked as a sample, March 2026"}],
    )
    photos: Annotated[tuple[Photo, ...], Field(max_length=40)] = Field(
        (),
        description="Photographs of the piece.",
        examples=[[{"file": "photos/harbour.jpg", "alt": "The finished wheel on dark cloth"}]],
    )
    links: Annotated[tuple[Link, ...], Field(max_length=20)] = Field(
        (),
        description="Addresses printed on the leaflet, also as square codes.",
        examples=[[{"url": "https://example.org/harbour", "label": "Corrections"}]],
    )
    sizes: tuple[Size, ...] = Field(
        (),
        description="The same pattern on other looms, all in one table of the leaflet.",
        examples=[[{"name": "S", "loom": {"diameter": "60 mm", "pins": 42}}]],
    )
    assembly: Assembly | None = Field(
        None,
        description="How finished wheels are joined into a mat.",
        examples=[{"layout": "hex", "columns": 5, "rows": 4, "joins": 3}],
    )
    sku: Text | None = Field(None, description="Its number in your shop.", examples=["HW-01"])
    price: Price | None = Field(
        None, description="What the leaflet costs.", examples=[{"amount": "6.50", "currency": "EUR"}]
    )
    tags: Annotated[tuple[Text, ...], Field(max_length=100)] = Field(
        (), description="Words to find it by in a catalogue.", examples=[["beginner"]]
    )

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
    turned: bool
    """Whether the loom is a half-circle, whose rounds are worked there and back."""
    rounds: tuple[Round | None, ...]


_RECORDS: Final[Mapping[str, Any]] = {"count": Whole, "shift": Whole, "sizes": Sizes, "length": Distance}

Looms = Mapping[str, NamedLoom | None]
"""Looms that have files of their own, by id; None where the file has errors."""


def parse(source: Source, forms: tuple[StitchForm, ...], looms: Looms) -> Parsed:
    """Read the pattern in a source and every finding about what is written in it."""
    model = pattern_model(forms)
    findings = list(_kind(source))
    pattern = None
    try:
        pattern = model.model_validate(source.tree, context={"looms": looms})
        findings += missing_values(source.tree)
    except ValidationError as error:
        findings += findings_of(error, source.tree, model)
    written = [*_round_rules(source.tree, forms), *_thread_rules(source.tree), *_loom_rules(source.tree, looms)]
    said = {repr(finding) for finding in findings}
    findings += [finding for finding in written if repr(finding) not in said]
    if pattern:
        findings += _whole_rules(pattern)
    if source.problems or any(RULES[f.code].severity is Severity.ERROR and f.code not in HARMLESS for f in findings):
        pattern = None
    rounds = pattern.rounds if pattern else tuple(_sound_rounds(source.tree, forms, findings))
    turned = _known_shape(source.tree, looms) == "half-circle"
    known_id, pins = _known_id(source.tree), _known_pins(source.tree, looms)
    return Parsed(pattern, tuple(findings), known_id, pins, turned, rounds)


MOST_ROWS: Final = 500
LEAST_TEX, MOST_TEX = 0.01, 10_000.0
"""A tenth of the finest filament, and a rope."""
MOST_JOINED: Final = 30_000
"""Pins that wheels of a mat are joined at, were each joined at one place."""
LARGEST_LOOM_MM: Final = 3000.0
"""Larger than anything a person can reach across."""
SIDE_PINS: Final = {"square": 4, "rectangle": 2}
"""What the pins of a loom with sides must divide by."""
MAT_PINS: Final = {"grid": 4, "hex": 6, "strip": 4}
"""What the pins of a wheel must divide by, so that pins of neighbours meet: the places where it can be joined."""

HARMLESS: Final = frozenset(
    {"distance-not-here", "rows-not-here", "key-not-here", "code-unknown", "error-not-acceptable"}
)
"""Errors that leave no doubt what would be computed without the slip."""


@lru_cache(maxsize=8)
def pattern_model(forms: tuple[StitchForm, ...]) -> type[Pattern]:
    """The model of a pattern whose rounds may use these stitches."""
    rounds: Any = tuple[round_model(forms), ...]  # type: ignore[misc]
    limited = Annotated[rounds, Field(min_length=1, max_length=500)]
    return create_model("Pattern", __base__=Pattern, rounds=(limited, _ROUNDS))


@lru_cache(maxsize=8)
def round_model(forms: tuple[StitchForm, ...]) -> type[Round]:
    """The model of a round that may use these stitches."""
    fields: dict[str, Any] = {}
    for form in forms:
        record = _stitch_model(form)
        about = Field(None, alias=form.id, description=form.about, examples=[dict(_told_of(form))])
        fields[form.id.replace("-", "_")] = (record | None, about)
    return create_model("Round", __base__=Round, **fields)


def _stitch_model(form: StitchForm) -> type[Record]:
    fields: dict[str, Any] = {}
    for name, parameter in form.parameters:
        if parameter.kind == "choice":
            word: Any = Annotated[str, choice(*parameter.choices)]
            first, last = parameter.choices[0], parameter.choices[-1]
            fields[f"{name}_"] = (word, Field(first, alias=name, description=parameter.about, examples=[last]))
            continue
        kind = _RECORDS[parameter.kind]
        if parameter.kind in {"count", "shift"}:
            kind = Annotated[kind, Field(ge=parameter.least, le=parameter.most)]
        default: Any = ... if parameter.required else parameter.default
        about: Any = Field(default, description=parameter.about, examples=_examples_of(parameter))
        fields[name] = (kind if default is not None else kind | None, about)
    return create_model(form.id.title().replace("-", ""), __base__=Record, __doc__=form.about, **fields)


def _examples_of(parameter: ParameterForm) -> list[Any]:
    """What a parameter may be told, as it would be written."""
    if parameter.kind == "sizes":
        return [6, [4, {"pass": 2}]]
    return ["5 mm"] if parameter.kind == "length" else [max(parameter.least, parameter.default or 0)]


def _told_of(form: StitchForm) -> Iterator[tuple[str, Any]]:
    """A stitch that is told what it must be told, and its counts."""
    for name, parameter in form.parameters:
        if parameter.required or parameter.kind == "count":
            yield name, _examples_of(parameter)[0]


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
                yield from _key_rules(entry, by_id[named[0]], path)


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


def _key_rules(entry: Mapping[str, object], form: StitchForm, path: Path) -> Iterator[Finding]:
    """Keys that only some stitches understand, and lists where one value is wanted."""
    if "to" in form.takes and "to" not in entry:
        yield Finding("band-missing", (*path, form.id), {"stitch": form.id}, on_key=True)
    for key in ("rows", "to", "close", "part"):
        if key in entry and key not in form.takes:
            code = "rows-not-here" if key == "rows" else "key-not-here"
            yield Finding(code, (*path, key), {"stitch": form.id, "key": key}, on_key=True)
    wanted = {"thread"} if form.distance == "none" else {"at", "gap", "thread"}
    for key in sorted(wanted - form.lists):
        if isinstance(entry.get(key), list):
            yield Finding("list-not-here", (*path, key), {"stitch": form.id, "key": key})


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
        named = entry.get("thread") if isinstance(entry, dict) else None
        if isinstance(named, str):
            yield ("rounds", index, "thread"), named
        for place, letter in enumerate(named if isinstance(named, list) else []):
            if isinstance(letter, str):
                yield ("rounds", index, "thread", place), letter


def _loom_rules(tree: Mapping[str, object], looms: Looms) -> Iterator[Finding]:
    """A loom, and that of every size, has the measures of its shape and no others."""
    loom, sizes, shape = tree.get("loom"), tree.get("sizes"), _known_shape(tree, looms)
    if shape is None:
        return
    if isinstance(loom, dict):
        yield from measure_findings(loom, shape, ("loom",))
    for index, size in enumerate(sizes if isinstance(sizes, list) else []):
        if isinstance(size, dict) and isinstance(size.get("loom"), dict):
            yield from measure_findings(size["loom"], shape, ("sizes", index, "loom"))


def measure_findings(entry: Mapping[str, object], shape: str, path: Path) -> Iterator[Finding]:
    """Whether a mapping gives the lengths that ``shape`` asks for."""
    wanted = MEASURES[shape]
    for key in wanted:
        if key not in entry:
            yield Finding("key-missing", path, {"key": key, "hint": f"add `{key}:`"}, on_key=True)
    for key in wanted:
        length = millimetres_of(entry.get(key))
        if length is not None and length > LARGEST_LOOM_MM:
            yield Finding("loom-absurd", (*path, key), {"written": entry[key], "most": f"{LARGEST_LOOM_MM / 1000:g} m"})
    for key in sorted({key for keys in MEASURES.values() for key in keys}):
        if key in entry and key not in wanted:
            facts = {"shape": shape, "key": key, "wanted": " and ".join(f"`{name}`" for name in wanted)}
            yield Finding("measure-not-here", (*path, key), facts, on_key=True)


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
    used = {pattern.web_thread} | {
        letter for entry in pattern.rounds for letter in entry.threads(entry.rows or MOST_ROWS, pattern.web_thread)
    }
    for letter in pattern.threads:
        if letter not in used:
            yield Finding("thread-unused", ("threads", letter), {"thread": letter}, on_key=True)
    yield from _thickness_rules(pattern)
    shape = pattern.loom.shape
    yield from pin_findings(shape, pattern.loom.pins, ("loom", "pins"))
    for index, size in enumerate(pattern.sizes):
        yield from pin_findings(shape, size.loom.pins, ("sizes", index, "loom", "pins"))
    if pattern.assembly:
        yield from _mat_rules(pattern.assembly, pattern.loom)
    for index, entry in enumerate(pattern.rounds):
        yield from _entry_rules(entry, ("rounds", index))
    warnings = [code for code, rule in RULES.items() if rule.severity is Severity.WARNING]
    for code in pattern.accepts:
        if code not in RULES:
            yield Finding(
                "code-unknown", ("accepts", code), {"found": code, "hint": nearest(code, warnings)}, on_key=True
            )
        elif RULES[code].severity is Severity.ERROR:
            yield Finding("error-not-acceptable", ("accepts", code), {"found": code}, on_key=True)


def _thickness_rules(pattern: Pattern) -> Iterator[Finding]:
    """Threads are no thinner or thicker than threads can be, however that is written."""
    held = {("holding_thread",): pattern.holding_thread} if pattern.holding_thread else {}
    for path, spec in ({("threads", letter): spec for letter, spec in pattern.threads.items()} | held).items():
        counts = [key for key in ("tex", "ne", "nm", "denier") if getattr(spec, key) is not None]
        if not counts and None in {spec.metres, spec.grams}:
            continue  # which is said elsewhere
        tex = spec.linear_density_tex
        if not LEAST_TEX <= tex <= MOST_TEX:
            facts = {"tex": f"{tex:g}", "least": f"{LEAST_TEX:g}", "most": f"{MOST_TEX:g}"}
            yield Finding("thread-absurd", (*path, (*counts, "grams")[0]), facts)


def _entry_rules(entry: Round, path: Path) -> Iterator[Finding]:
    """Rules over one sound round."""
    for name, value in entry.parameters.items():
        if isinstance(value, tuple) and all(isinstance(item, Passed) for item in value):
            yield Finding("only-passed", (*path, entry.stitch, name))
    if entry.part and entry.part.rays > entry.part.every:
        facts = {"rays": entry.part.rays, "every": entry.part.every}
        yield Finding("part-too-wide", (*path, "part", "rays"), facts)
    told = entry.parameters
    if told.get("parity") == "half-ray" and (path[1] != 0 or (told["over"], told["under"]) != (1, 1)):
        yield Finding("half-ray-not-here", (*path, entry.stitch, "parity"))


def pin_findings(shape: str, pins: int, path: Path) -> Iterator[Finding]:
    """Whether pins fit the sides of a loom: every corner carries one, and the sides share them evenly."""
    divisor = SIDE_PINS.get(shape, 1)
    if pins % divisor:
        fewer = pins - pins % divisor
        facts = {"shape": shape, "pins": pins, "divisor": divisor, "fewer": fewer, "more": fewer + divisor}
        yield Finding("pins-not-on-sides", path, facts)


def most_joins(pins: int) -> int:
    """The most joins at a place whose share of the rim has so many pins: an even number lies off its middle.

    >>> most_joins(5), most_joins(4)
    (5, 3)
    """
    return pins if pins % 2 else max(1, pins - 1)


def _mat_rules(assembly: Assembly, loom: LoomSpec) -> Iterator[Finding]:
    """Wheels of a mat meet at pins that divide the rim evenly, and no pin joins twice."""
    divisor = MAT_PINS[assembly.layout]
    wheels = assembly.columns * (1 if assembly.layout == "strip" else assembly.rows)
    if wheels * assembly.joins > MOST_JOINED:
        size = {"wheels": wheels, "joins": assembly.joins, "most": MOST_JOINED}
        yield Finding("mat-too-large", ("assembly", "columns"), size)
    if loom.shape != "circle":
        yield Finding("mat-of-circles", ("assembly",), {"shape": loom.shape}, on_key=True)
    elif loom.pins % divisor:
        facts = {"layout": assembly.layout, "divisor": divisor, "pins": loom.pins}
        yield Finding("mat-pins-do-not-divide", ("assembly", "layout"), facts)
    elif assembly.joins > (most := most_joins(loom.pins // divisor)):
        facts = {"joins": assembly.joins, "most": most}
        yield Finding("joins-overlap", ("assembly", "joins"), facts)


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


def _known_shape(tree: Mapping[str, object], looms: Looms) -> str | None:
    loom = tree.get("loom")
    named = looms.get(loom) if isinstance(loom, str) else None
    shape = named.shape if named else loom.get("shape") if isinstance(loom, dict) else None
    return shape if isinstance(shape, str) and shape in MEASURES else None


def _known_pins(tree: Mapping[str, object], looms: Looms) -> int | None:
    loom = tree.get("loom")
    named = looms.get(loom) if isinstance(loom, str) else None
    if named:
        return named.pins
    pins = loom.get("pins") if isinstance(loom, dict) else None
    if isinstance(pins, Plain) and WHOLE.fullmatch(pins) and FEWEST_PINS <= int(pins) <= MOST_PINS:
        return int(pins)
    return None
