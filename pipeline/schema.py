"""JSON Schemas of the files of a workspace, made from the models that read them, for editors.

A schema sees one file and no geometry: keys, kinds of value, limits, and which keys go together. What it says is what
is written: lengths are text with a unit, a value may be left out and is never null, defaults stand as they would in
the file. Draft 2020-12, with nothing in it that editors of draft 7 do not know (https://json-schema.org/).
"""

import json
from collections.abc import Iterator, Mapping
from pathlib import PurePosixPath
from typing import Any, Final

from pydantic import TypeAdapter

from pipeline.looms import LoomFile
from pipeline.pattern_model import StitchForm, pattern_model
from pipeline.problems import RULES, Severity
from pipeline.publisher import Publisher
from pipeline.records import MEASURES
from pipeline.symbol_model import Sign, Stitch
from pipeline.symbols import SymbolSet

KINDS: Final = ("pattern", "publisher", "loom", "symbol")
"""Kinds of file that have a schema; a symbol is a stitch or a sign."""
FOLDER: Final = "schema"
"""Where schemas lie in a workspace: beside its patterns."""
FOR_EDITORS: Final = "# yaml-language-server: $schema="
"""How the first line of a file begins that names its schema to editors."""

Schema = dict[str, Any]


def schema(kind: str, symbols: SymbolSet) -> Schema:
    """The JSON Schema of a kind of file; that of a pattern knows the stitches there are."""
    model: Any = {"publisher": Publisher, "loom": LoomFile, "symbol": Stitch | Sign}.get(kind)
    title = {"publisher": "Publisher", "loom": "Loom", "symbol": "Stitch or sign"}.get(kind, "Wheel-lace pattern")
    made: Schema = TypeAdapter(model or pattern_model(symbols.forms)).json_schema(by_alias=True)
    defs = made.pop("$defs", {})
    written = _written(made, defs)
    if kind == "pattern":
        written["properties"]["spokeleaf"]["const"] = 1
        written["properties"]["accepts"] = _accepts(written["properties"]["accepts"])
    parts = {name: _written(part, defs) | _together(name, symbols) for name, part in sorted(defs.items())}
    return {"title": title, **written, "$defs": parts} if parts else {"title": title, **written}


def schema_text(kind: str, symbols: SymbolSet) -> str:
    """A schema as it is written to a file."""
    return json.dumps(schema(kind, symbols), ensure_ascii=False, indent=1) + "\n"


def schema_files(symbols: SymbolSet) -> Mapping[PurePosixPath, str]:
    """Every schema by the name of its file, from the folder of patterns."""
    return {PurePosixPath(FOLDER) / f"{kind}.schema.json": schema_text(kind, symbols) for kind in KINDS}


def line_for_editors(kind: str, up: int = 0) -> str:
    """The first line of a file that names its schema; the file lies ``up`` folders below those of patterns.

    >>> line_for_editors("pattern")
    '# yaml-language-server: $schema=schema/pattern.schema.json'
    """
    return f"{FOR_EDITORS}{'../' * up}{FOLDER}/{kind}.schema.json"


_LIMITS: Final = {"ge": "minimum", "le": "maximum", "gt": "exclusiveMinimum", "lt": "exclusiveMaximum"}
"""Pydantic leaves limits after a validator under names of its own, which JSON Schema does not know."""
_BY_NAME: Final = ("properties", "patternProperties")
_ONE: Final = ("items", "additionalProperties")
_ONE_OF_SOME: Final = ("anyOf", "oneOf")


def _written(part: Schema, defs: Mapping[str, Schema]) -> Schema:
    """A part of a schema as files are written."""
    made = _inside({_LIMITS.get(key, key): value for key, value in part.items() if key != "title"}, defs)
    for key in _ONE_OF_SOME:
        if len(made.get(key, ())) == 1:
            made = made.pop(key)[0] | made
    if "patternProperties" in made:
        made["additionalProperties"] = False
    default = made.pop("default", None)
    if default is not None:
        made["default"] = _default(default, made, defs)
    if "description" in made and (unit := _unit(made)):
        made["description"] += f" {unit}"
    return made


def _inside(part: Schema, defs: Mapping[str, Schema]) -> Schema:
    """A part with what stands in it as files are written: nothing is null there."""
    by_name = {
        key: {name: _written(inner, defs) for name, inner in part[key].items()} for key in _BY_NAME if key in part
    }
    one = {key: _written(part[key], defs) for key in _ONE if isinstance(part.get(key), dict)}
    some = {key: [_written(inner, defs) for inner in part[key] if inner != {"type": "null"}] for key in _ONE_OF_SOME
            if key in part}  # fmt: skip
    return part | by_name | one | some


def _default(value: Any, part: Schema, defs: Mapping[str, Schema]) -> Any:
    """A default as it would be written: lengths with their unit, nothing where nothing is said."""
    named = defs.get(str(part.get("$ref", "")).rpartition("/")[2], part)
    if isinstance(value, dict):
        inner = named.get("properties", {})
        return {key: _default(item, inner[key], defs) for key, item in value.items() if item is not None}
    if isinstance(value, float):
        return f"{value:g} mm" if "mm|" in str(part.get("pattern")) else int(value) if value.is_integer() else value
    return list(value) if isinstance(value, list | tuple) else value


def _unit(part: Schema) -> str:
    """In which units a length is written, where a part takes one."""
    patterns = set(_patterns(part))
    if any("|%)" in pattern for pattern in patterns):
        return "In mm, cm, m or in, or % of the loom's (shortest) radius."
    return "In mm, cm, m or in." if any("mm|" in pattern for pattern in patterns) else ""


def _patterns(part: Schema) -> Iterator[str]:
    if "pattern" in part:
        yield part["pattern"]
    inner = [*part.get("patternProperties", {}).values(), *(item for key in _ONE_OF_SOME for item in part.get(key, ()))]
    for item in [*inner, *([part["items"]] if isinstance(part.get("items"), dict) else [])]:
        yield from _patterns(item)


def _accepts(part: Schema) -> Schema:
    """The warnings that may be accepted, each with what it says."""
    value = part.pop("additionalProperties")
    warnings = {code: rule for code, rule in RULES.items() if rule.severity is Severity.WARNING}
    told = {code: {"description": _told(rule.message), "examples": ["worked as a sample"]} for code, rule in
            sorted(warnings.items())}  # fmt: skip
    return part | {"properties": {code: value | words for code, words in told.items()}, "additionalProperties": False}


def _told(message: str) -> str:
    """The words of a warning, something in place of each of its facts.

    >>> _told("{pins} pins: none has an opposite")
    '… pins: none has an opposite'
    """
    return message.format_map(_Anything())


class _Anything(dict[str, str]):
    def __missing__(self, _key: str) -> str:
        return "…"


def _together(name: str, symbols: SymbolSet) -> Schema:
    """Which keys of a part go together."""
    if name == "LoomSpec":
        return {"allOf": [_measured(shape, keys) for shape, keys in MEASURES.items()]}
    if name == "ThreadSpec":
        ways = [_needs(key) for key in ("tex", "metres", "ne", "nm", "denier")]
        return {"oneOf": ways, "allOf": [{"if": _needs("grams"), "then": _needs("metres")},
                                         {"if": _needs("metres"), "then": _needs("grams")}]}  # fmt: skip
    if name == "Round":
        rules = [{"if": _needs(form.id), "then": _goes_with(form)} for form in symbols.forms]
        return {"oneOf": [_needs(form.id) for form in symbols.forms], "allOf": rules}
    return {}


def _needs(*keys: str) -> Schema:
    return {"required": list(keys)}


def _without(*keys: str) -> Schema:
    return {"properties": dict.fromkeys(keys, False)}


def _measured(shape: str, keys: tuple[str, ...]) -> Schema:
    """The lengths that a loom of some shape has, and no others."""
    others = {key for each in MEASURES.values() for key in each} - set(keys)
    is_it = {"properties": {"shape": {"const": shape}}, "required": ["shape"]}
    return {"if": is_it, "then": _needs(*keys) | _without(*sorted(others))}


def _goes_with(form: StitchForm) -> Schema:
    """What else a round with some stitch says."""
    unknown = {"rows", "to", "close", "part"} - form.takes
    if form.distance == "none":
        return _without(*sorted(unknown | {"at", "gap"}))
    made = _without(*sorted(unknown))
    if form.distance == "required":
        made["oneOf"] = [_needs("at"), _needs("gap")]
    else:
        made["not"] = _needs("at", "gap")
    return made | (_needs("to") if "to" in form.takes else {})
