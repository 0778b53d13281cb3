"""The notation reference: how a line is read, and every stitch and sign, written from ``symbols/``.

Markdown, in English, for those who write patterns; leaflets have their key. What a round looks like in a line is not
told but worked out: small patterns are placed and written as any other.
"""

from collections.abc import Iterator, Mapping
from typing import Any, Final

from pipeline.craft.assembly import place
from pipeline.fields import flow
from pipeline.notation import write
from pipeline.pattern import parse
from pipeline.pattern_model import ParameterForm
from pipeline.schema import schema
from pipeline.source import read
from pipeline.symbol_model import Sign, Stitch
from pipeline.symbols import SymbolSet

HEAD: Final = """\
# Stitches, signs, notation

Written from the files beside it: `spokeleaf symbols --reference > symbols/README.md`.

## How a line is read

Every round is one line, the same in every language, from left to right: **number · glyph · group × times · parity ·
part · rows · shift · distance · to · close · thread**. What does not apply is left out. Numbers in bold are sizes of
groups; numbers in brackets are rays that are passed over. A distance is always the one from the round before, of the
first round from the centre. A letter in a ring is the thread, where there is more than one.

| in the pattern | the line (glyphs by their ids) |
| --- | --- |
"""

EXAMPLES: Final = (
    "{darn: {over: 2, under: 2}, rows: 3, at: 12 mm}",
    "{darn: {over: 3, under: 1}, rows: 2, at: 12 mm}",
    "{darn: {over: 2, under: 2, parity: pair-once}, rows: 2, at: 12 mm}",
    "{knot: {rays: 6}, at: 15 mm}",
    "{knot: {rays: 6, shift: 3}, at: 15 mm}",
    "{knot: {rays: [4, {pass: 2}]}, at: 15 mm}",
    "{knot: {rays: 6}, at: [14 mm, 17 mm]}",
    "{knot: {rays: 6}, at: 15 mm, close: false}",
    "{knot: {rays: 3}, at: 15 mm, part: {from: 0, rays: 12, every: 20}}",
    "{rib: {over: 1, under: 2}, rows: 3, at: 15 mm}",
    "{wrap: {rays: 4}, at: 12 mm, to: 30 mm}",
    "{weave: {rays: 5, as: leaf}, at: 12 mm, to: 30 mm}",
    "{edge-loops: {}}",
    "{edge-arches: {inset: 4 mm}}",
    "{edge-picots: {height: 3 mm}}",
)
"""Rounds that are worked first and alone, on a wheel of 60 pins and 84 mm."""

SIGNS: Final = """\
## Signs

| id | name | short | what it shows |
| --- | --- | --- | --- |
"""

BEHAVIOURS: Final[Mapping[str, str]] = {
    "gather": "ties groups of rays",
    "edge": "ties groups of rays at the rim",
    "weave": "runs over and under rays, row upon row",
    "coil": "binds a group from one distance to another",
    "block": "weaves to and fro over a group from one distance to another",
}
DISTANCES: Final[Mapping[str, str]] = {
    "required": "needs `at` or `gap`",
    "optional": "may have `at` or `gap`",
    "none": "lies at the rim; no `at`, no `gap`",
}


def reference(symbols: SymbolSet) -> str:
    """The reference as one text of Markdown; of a stitch that a workspace brought there is no example."""
    rows = "".join(f"| `{text[1:-1]}` | {_line(text, symbols)} |\n" for text in EXAMPLES)
    stitches = "\n".join(_stitch(stitch) for stitch in symbols.stitches.values())
    signs = "".join(_sign(sign) for sign in symbols.signs.values())
    return f"{HEAD}{rows}\n## Stitches\n\n{stitches}\n{SIGNS}{signs}"


def _line(text: str, symbols: SymbolSet) -> str:
    """What a round looks like in a line."""
    written = (
        "spokeleaf: 1\nid: one\ntitle: One\nlanguage: en\nlevel: 1\nedition: {number: 1, date: 2026-03-14}\n"
        "loom: {shape: circle, diameter: 84 mm, pins: 60}\n"
        'threads: {A: {fibre: cotton, tex: 20, colour: "#1b4f72", colour_name: blue}}\n'
        f"rounds:\n  - {text}\n"
    )
    pattern = parse(read("one.yaml", written.encode()), symbols.forms, {}).pattern
    assert pattern is not None  # noqa: S101
    (line,) = write(place(pattern, symbols))
    return line.spelled


def _stitch(stitch: Stitch) -> str:
    texts = stitch.texts
    lines = [
        f"### {texts.name}: `{stitch.stitch}`, short form {texts.short}\n\n",
        f"{stitch.shows}\n\n{texts.do}\n\n",
        f"It {BEHAVIOURS[stitch.behaviour]}, and {DISTANCES[stitch.distance]}. ",
        " ".join(_beside(stitch)),
        "\n\n",
    ]
    if stitch.parameters:
        lines.append("| key | what it is | default | what it says |\n| --- | --- | --- | --- |\n")
        lines += [_parameter(name, form) for name, form in stitch.parameters.items()]
    return "".join(lines)


def _beside(stitch: Stitch) -> Iterator[str]:
    """What else a round with it may say, and the thread it takes."""
    form = stitch.form
    if form.takes:
        yield f"Beside it may stand {_listed(sorted(form.takes))}."
    if form.lists:
        yield f"A list is understood by {_listed(sorted(form.lists))}."
    if stitch.behaviour in {"gather", "edge"}:
        turns, thicknesses = stitch.take_up.turns, stitch.take_up.thicknesses
        yield f"Each knot takes {turns:g} × π(b + d) + {thicknesses:g} d of thread: d its thickness, b the bundle's."


def _listed(keys: list[str]) -> str:
    return ", ".join(f"`{key}`" for key in keys)


def _parameter(name: str, form: ParameterForm) -> str:
    if form.kind == "choice":
        kind, default = " or ".join(f"`{choice}`" for choice in form.choices), f"`{form.choices[0]}`"
    else:
        kind, default = KINDS[form.kind], "required" if form.required else _default(form.default)
    return f"| `{name}` | {kind} | {default} | {form.about} |\n"


KINDS: Final[Mapping[str, str]] = {
    "count": "a number of rays",
    "shift": "a number of rays",
    "sizes": "a size, or a list of sizes",
    "length": "a length",
}


def _default(value: Any) -> str:
    return "" if value is None else f"`{value}`"


def _sign(sign: Sign) -> str:
    return f"| `{sign.sign}` | {sign.texts.name} | {sign.texts.short or ''} | {sign.shows} |\n"


KEYS_HEAD: Final = """\
# Every key of a pattern

Written from the model that reads patterns: `spokeleaf schema --table > patterns/README.md`. What has to be there
is said; all else may be left out. Keys of stitches stand in [../symbols/README.md](../symbols/README.md).

"""
PARTS: Final[Mapping[str, str]] = {
    "LoomSpec": "`loom`",
    "ThreadSpec": "A thread in `threads`",
    "Round": "A round in `rounds`",
    "Part": "`part` of a round",
    "Edition": "`edition`",
    "Correction": "One of `corrections`",
    "Web": "`web`",
    "Finish": "`finish`",
    "Tails": "`tails`",
    "Give": "`give`",
    "Photo": "One of `photos`",
    "Link": "One of `links`",
    "Size": "One of `sizes`",
    "SizeLoom": "`loom` of a size",
    "Assembly": "`assembly`",
    "Price": "`price`",
}
"""Parts of a pattern that have keys of their own, by the names of their models."""


def keys(symbols: SymbolSet) -> str:
    """Every key of a pattern file as one text of Markdown: what it says, its default, an example."""
    whole = schema("pattern", symbols)
    parts = [_keys("A pattern", whole), *(_keys(title, whole["$defs"][name]) for name, title in PARTS.items())]
    return KEYS_HEAD + "\n".join(parts)


def _keys(title: str, part: Mapping[str, Any]) -> str:
    required = set(part.get("required", ()))
    lines = [f"## {title}", "", "| key | what it says | where nothing is said | example |", "| --- | --- | --- | --- |"]
    for key, told in part["properties"].items():
        if "$ref" in told and "examples" not in told:
            continue  # a stitch, which has its own reference
        default = told.get("default")
        where = "has to be there" if key in required else "" if default in (None, [], {}) else _flow(default)
        example = _flow(told["examples"][0]) if told.get("examples") else ""
        says = f"{told.get('description', '')}{_words(told.get('enum', []))}"
        lines.append(f"| `{key}` | {says} | {where} | {example} |".replace("\n", " "))
    return "\n".join(lines) + "\n"


def _words(allowed: list[str]) -> str:
    """The words that a key may be told, where it may not be told others."""
    return f" One of {_listed(allowed)}." if allowed else ""


def _flow(value: Any) -> str:
    """A value as it may stand in a pattern, on one line."""
    return f"`{flow(value)}`"
