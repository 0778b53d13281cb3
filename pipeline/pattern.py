"""A pattern is read from its source: its model, and the rules that need no geometry.

``parse`` turns a ``Source`` into a ``Pattern`` and every finding about what is written in it.
"""

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Final

from pydantic import ValidationError

from pipeline.fields import (
    WHOLE,
    findings_of,
    millimetres_of,
    missing_values,
)
from pipeline.pattern_model import MOST_ROWS, RESERVED, Pattern, StitchForm, pattern_model, round_model
from pipeline.problems import RULES, Finding, Path, Severity, nearest
from pipeline.records import (
    FEWEST_PINS,
    MEASURES,
    MOST_PINS,
    Assembly,
    LoomSpec,
    NamedLoom,
    Passed,
    Round,
)
from pipeline.source import Plain, Source


@dataclass(frozen=True, slots=True)
class Parsed:
    """What could be made of a source: the whole pattern, or the parts that are sound by themselves."""

    pattern: Pattern | None
    findings: tuple[Finding, ...]
    id: str | None
    pins: int | None
    turned: bool
    """Whether the loom is a half-circle, whose rounds are worked there and back."""
    pins_step: int
    """What its pins must divide by, as ``pins_step`` says it, as far as is known."""
    rounds: tuple[Round | None, ...]


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
    return Parsed(pattern, tuple(findings), known_id, pins, turned, _known_step(source.tree, looms), rounds)


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
    ends = pattern.tails.rejoin
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


def pins_step(pattern: Pattern) -> int:
    """What its pins must divide by: two, so that each has an opposite, and what its shape and its mat ask for."""
    return _step(pattern.loom.shape, pattern.assembly.layout if pattern.assembly else "")


def _step(shape: str, layout: str) -> int:
    return math.lcm(2, SIDE_PINS.get(shape, 1), MAT_PINS.get(layout, 1))


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
    if any(finding.path == ("rounds",) for finding in findings):
        return  # a list that is too long was not read to its end
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


def _known_step(tree: Mapping[str, object], looms: Looms) -> int:
    assembly = tree.get("assembly")
    layout = assembly.get("layout") if isinstance(assembly, dict) else None
    return _step(_known_shape(tree, looms) or "", layout if isinstance(layout, str) else "")


def _known_pins(tree: Mapping[str, object], looms: Looms) -> int | None:
    loom = tree.get("loom")
    named = looms.get(loom) if isinstance(loom, str) else None
    if named:
        return named.pins
    pins = loom.get("pins") if isinstance(loom, dict) else None
    if isinstance(pins, Plain) and WHOLE.fullmatch(pins) and FEWEST_PINS <= int(pins) <= MOST_PINS:
        return int(pins)
    return None
