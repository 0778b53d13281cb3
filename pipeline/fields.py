"""The kinds of value a file may hold: pydantic types that read what ``source`` gives.

Bare words reach a field as they were written (``Plain``); here the field decides what they are. Every
refusal is a custom error whose type is a problem's code and whose context holds its facts.
"""

import math
import re
from collections.abc import Callable, Iterator
from datetime import date
from decimal import Decimal
from functools import lru_cache
from typing import Annotated, Final, Literal, get_args

import yaml
from pydantic import BaseModel, BeforeValidator, ConfigDict, ValidationError, WithJsonSchema
from pydantic.fields import FieldInfo
from pydantic_core import ErrorDetails, PydanticCustomError

from pipeline.problems import Finding, Path, nearest
from pipeline.source import Plain, describe, is_closed
from pipeline.units import Length, UnitError, parse_length

MOST_CHARACTERS: Final = 4000
LONGEST_ADDRESS: Final = 400
"""Of letters of four bytes, a square code holds so many."""
_UNSEEN: Final = r"\x00-\x1f\x7f-\x9f\u00ad\u061c\u200b-\u200f\u202a-\u202e\u2060-\u206f\ufeff"
ADDRESS_SHAPE: Final = rf"https?://[^\s<>\x22\x27\\/?#@{_UNSEEN}]+([/?#][^\s<>\x22\x27\\{_UNSEEN}]*)?"
"""Of a page on the web: a host without a name or password before it, and nothing that cannot be seen."""

WHOLE: Final = re.compile(r"[-+]?[0-9]{1,15}")
_NUMBER: Final = re.compile(r"[-+]?([0-9]+(\.[0-9]*)?|\.[0-9]+)([eE][-+]?[0-9]{1,3})?")
_DIGITS: Final = r"[0-9]{1,9}(\.[0-9]{1,9})?"
_NOT_NOTHING: Final = "(?=[0.]*[1-9])"


def length_schema(*, percent: bool = False, zero: bool = False) -> dict[str, object]:
    """JSON Schema of a length as text; editors show its message where a text is none."""
    units = "mm|cm|m|in|%" if percent else "mm|cm|m|in"
    known = "mm, cm, m, in or %" if percent else "mm, cm, m or in"
    return {
        "type": "string",
        "pattern": f"^ *{'' if zero else _NOT_NOTHING}{_DIGITS} *({units}) *$",
        "patternErrorMessage": f"a length is a number and its unit ({known}): 12 mm",
    }


_LENGTH_SCHEMA: Final = length_schema()
_DISTANCE_SCHEMA: Final = length_schema(percent=True)


def refuse(code: str, **facts: object) -> PydanticCustomError:
    """The error that carries a problem's code and facts through pydantic."""
    return PydanticCustomError(code, "see problems.RULES", facts)


class Record(BaseModel):
    """A mapping with known keys only; frozen, unknown keys refused."""

    model_config = ConfigDict(
        extra="forbid", frozen=True, validate_by_name=False, validate_by_alias=True, defer_build=True
    )


def _text(value: object) -> str:
    if not isinstance(value, str):
        raise refuse("not-text", found=describe(value))
    text = str(value)
    if not text.strip():
        raise refuse("text-empty")
    if len(text) > MOST_CHARACTERS:
        raise refuse("text-too-long", length=len(text), most=MOST_CHARACTERS)
    if not is_closed(text):
        raise refuse("direction-open", text=text)
    return text


def _whole(value: object) -> int:
    if not isinstance(value, Plain) or not WHOLE.fullmatch(value):
        raise refuse("not-whole", found=describe(value))
    return int(value)


def _number(value: object) -> float:
    if not isinstance(value, Plain) or not _NUMBER.fullmatch(value) or abs(float(value)) > 1e12:
        raise refuse("not-a-number", found=describe(value))
    return float(value)


def _flag(value: object) -> bool:
    if not isinstance(value, Plain) or value not in {"true", "false"}:
        raise refuse("not-true-or-false", found=describe(value))
    return value == "true"


def _date(value: object) -> date:
    text = _text(value)
    try:
        if not re.fullmatch(r"\d{4}-\d{2}-\d{2}", text):
            raise refuse("not-a-date", written=text)
        return date.fromisoformat(text)
    except ValueError as error:
        raise refuse("not-a-date", written=text) from error


def _length(value: object) -> Length:
    if not isinstance(value, str):
        raise refuse("length-unreadable", written=describe(value).strip("`"))
    try:
        return parse_length(value)
    except UnitError as error:
        raise refuse(error.code, **error.facts) from error


def _positive(value: object) -> Length:
    length = _length(value)
    if length.value <= 0:
        raise refuse("length-zero", written=str(value))
    return length


def _mm(value: object) -> float:
    length = _length(value)
    if length.unit == "%":
        raise refuse("percent-not-here", written=str(value))
    return length.mm(0)


def millimetres_of(value: object) -> float | None:
    """A value as written in millimetres, or None where it is no length in mm."""
    try:
        return _mm(value)
    except PydanticCustomError:
        return None


def _positive_mm(value: object) -> float:
    _positive(value)
    return _mm(value)


def _distance(value: object) -> Length | str:
    return "tight" if value == "tight" else _positive(value)


def shaped(pattern: str, expected: str, hint: str = "") -> Callable[[object], str]:
    """A reader of text that has the shape of a regular expression, ``expected`` in words."""
    shape = re.compile(pattern)

    def read(value: object) -> str:
        text = _text(value)
        if not shape.fullmatch(text):
            raise refuse("text-shape", written=text, expected=expected, hint=hint)
        return text

    return read


def choice(*words: str) -> BeforeValidator:
    """The mark of a field that takes one of ``words``."""

    def read(value: object) -> str:
        if not isinstance(value, str) or value not in words:
            written = value if isinstance(value, str) else describe(value).strip("`")
            raise refuse("not-one-of", written=written, expected=", ".join(words), hint=nearest(written, words))
        return str(value)

    return BeforeValidator(read, json_schema_input_type=Literal[words])


def _colour(value: object) -> str:
    text = _text(value)
    if not re.fullmatch(r"#[0-9a-fA-F]{6}", text):
        raise refuse("not-a-colour", written=text)
    return text.lower()


def _address(value: object) -> str:
    text = _text(value)
    if not re.fullmatch(ADDRESS_SHAPE, text) or len(text) > LONGEST_ADDRESS:
        raise refuse("not-an-address", written=text, most=LONGEST_ADDRESS)
    return text


def _amount(value: object) -> Decimal:
    text = _text(value)
    if not re.fullmatch(r"[0-9]{1,7}(\.[0-9]{1,3})?", text):
        raise refuse("text-shape", written=text, expected="an amount", hint='write "6.50"')
    return Decimal(text)


def _schema(pattern: str, expected: str, **more: object) -> WithJsonSchema:
    """JSON Schema of text that has a shape; ``expected`` is what editors say where it has not."""
    return WithJsonSchema({"type": "string", "pattern": pattern, "patternErrorMessage": expected} | more)


_BARE: Final = {"type": ["string", "number", "boolean"]}
"""A bare word in a place for text is taken as written: ``title: 1904``."""


ID_SHAPE: Final = r"[a-z0-9]+(-[a-z0-9]+)*"
TAG_SHAPE: Final = r"[a-z]{2,3}(-[A-Z][a-z]{3})?(-([A-Z]{2}|[0-9]{3}))?"

Text = Annotated[str, BeforeValidator(_text), WithJsonSchema(_BARE | {"maxLength": MOST_CHARACTERS, "pattern": r"\S"})]
Whole = Annotated[int, BeforeValidator(_whole)]
Number = Annotated[float, BeforeValidator(_number)]
Flag = Annotated[bool, BeforeValidator(_flag)]
Day = Annotated[
    date,
    BeforeValidator(_date),
    _schema("^[0-9]{4}-[0-9]{2}-[0-9]{2}$", "a date is year-month-day: 2026-03-14", format="date"),
]
Colour = Annotated[
    str,
    BeforeValidator(_colour),
    _schema("^#[0-9a-fA-F]{6}$", 'a colour is six digits in quotes: "#1b4f72"', format="color-hex"),
]
Address = Annotated[
    str,
    BeforeValidator(_address),
    _schema(f"^{ADDRESS_SHAPE}$", "a web address begins with https://", maxLength=LONGEST_ADDRESS),
]
Amount = Annotated[
    Decimal,
    BeforeValidator(_amount),
    _schema(r"^[0-9]{1,7}(\.[0-9]{1,3})?$", 'an amount is a number: "6.50"', type=["string", "number"], minimum=0),
]
Id = Annotated[
    str,
    BeforeValidator(shaped(ID_SHAPE, "an id", "small letters a to z (no accents), digits and single hyphens")),
    _schema(f"^{ID_SHAPE}$", "an id is small letters, digits and single hyphens", type=["string", "integer"]),
]
Tag = Annotated[
    str,
    BeforeValidator(shaped(TAG_SHAPE, "a language tag", "en, es, pt-BR, zh-Hans")),
    _schema(f"^{TAG_SHAPE}$", "a language tag is like en, es, pt-BR, zh-Hans"),
]
Letter = Annotated[
    str,
    BeforeValidator(shaped("[A-Z]", "one capital letter", "call threads A, B, C")),
    _schema("^[A-Z]$", "a thread is called by one capital letter"),
]
Millimetres = Annotated[float, BeforeValidator(_positive_mm), WithJsonSchema(_LENGTH_SCHEMA)]
"""A length above zero."""
MillimetresOrNone = Annotated[float, BeforeValidator(_mm), WithJsonSchema(length_schema(zero=True))]
"""A length that may be zero."""
Distance = Annotated[Length, BeforeValidator(_positive), WithJsonSchema(_DISTANCE_SCHEMA)]
DistanceOrTight = Annotated[
    Length | str, BeforeValidator(_distance), WithJsonSchema({"anyOf": [_DISTANCE_SCHEMA, {"const": "tight"}]})
]


def findings_of(error: ValidationError, tree: object, model: type[BaseModel]) -> Iterator[Finding]:
    """Pydantic's errors as findings: one for each, with its path in the file."""
    yield from missing_values(tree)
    empty = set(empty_values(tree))
    for details in error.errors():
        if _path_in(tree, details["loc"])[0] not in empty and not _only_seems_short(details):
            yield _finding(details, tree, model)


def _only_seems_short(details: ErrorDetails) -> bool:
    """Pydantic counts the sound items alone; those that are not have a finding of their own."""
    return details["type"] == "too_short" and len(details["input"]) >= details["ctx"]["min_length"]


def missing_values(tree: object) -> Iterator[Finding]:
    """Every value that was left empty; a model would take those of keys that may be left out."""
    for path in empty_values(tree):
        yield Finding("value-missing", path, {"after": f"{path[-1]}:" if isinstance(path[-1], str) else "-"})


def empty_values(tree: object, path: Path = ()) -> Iterator[Path]:
    """The paths of all values that were left empty."""
    if tree is None:
        yield path
    elif isinstance(tree, dict):
        for key, value in tree.items():
            yield from empty_values(value, (*path, key))
    elif isinstance(tree, list):
        for index, value in enumerate(tree):
            yield from empty_values(value, (*path, index))


_PLAIN_CODES: Final = {
    "greater_than_equal": ("number-too-small", {"ge": "least"}),
    "greater_than": ("number-too-small", {"gt": "least"}),
    "less_than_equal": ("number-too-large", {"le": "most"}),
    "too_short": ("list-too-short", {"min_length": "least", "actual_length": "length"}),
    "too_long": ("list-too-long", {"max_length": "most", "actual_length": "length"}),
}


def _finding(details: ErrorDetails, tree: object, model: type[BaseModel]) -> Finding:
    path, rest = _path_in(tree, details["loc"])
    kind, found = details["type"], details["input"]
    facts: dict[str, object] = dict(details.get("ctx", {}))
    alike = tuple(0 if isinstance(step, int) else step for step in path)  # the same for every item of a list
    if kind == "missing":
        return Finding("key-missing", path, {"key": rest[-1], "hint": f"add `{rest[-1]}:`"}, on_key=True)
    if kind == "extra_forbidden":
        return Finding("key-unknown", path, {"key": path[-1], "hint": _home(model, tree, path, alike)}, on_key=True)
    if kind in _PLAIN_CODES:
        code, names = _PLAIN_CODES[kind]
        return Finding(
            code, path, {"value": describe(found).strip("`")} | {names.get(k, k): v for k, v in facts.items()}
        )
    if kind in {"model_type", "model_attributes_type", "dict_type"}:
        return Finding("not-a-mapping", path, {"found": describe(found), "hint": _shown(model, alike, dict)})
    if kind in {"tuple_type", "list_type"}:
        return Finding("not-a-list", path, {"found": describe(found), "hint": _shown(model, alike, list)})
    return Finding(kind, path, facts, on_key="[key]" in rest)


def _path_in(tree: object, location: tuple[int | str, ...]) -> tuple[Path, tuple[int | str, ...]]:
    """The part of pydantic's location that exists in the tree, and the rest (tags of unions, a missing key)."""
    path: list[str | int] = []
    rest: list[str | int] = []
    for step in location:
        inside = (isinstance(tree, dict) and step in tree) or (
            isinstance(tree, list) and isinstance(step, int) and step < len(tree)
        )
        if inside:
            path.append(step)
            tree = tree[step]  # type: ignore[index]
        else:
            rest.append(step)
    return tuple(path), tuple(rest)


def flow(value: object) -> str:
    """A value as YAML on one line.

    >>> flow({"edition": 2, "text": "Round 3 was drawn too far left."})
    '{edition: 2, text: Round 3 was drawn too far left.}'
    """
    text = yaml.safe_dump(value, default_flow_style=True, sort_keys=False, allow_unicode=True, width=math.inf)
    return str(text).removesuffix("...\n").strip()


@lru_cache(maxsize=256)
def _shown(model: type[BaseModel], path: Path, kind: type) -> str:
    """How to write what stands at a path; kept, for a file may have thousands of items that are wrong alike."""
    if isinstance(example := _example(model, path), kind):
        return f"write `{flow(example)}`, or the like"
    return "write `{name: value}`" if kind is dict else "begin each item with `- `"


def _example(model: type[BaseModel], path: Path) -> object:
    """What the manual gives as an example of what stands at ``path``; None where it gives none."""
    models, found = {model}, None
    for step in path:
        fields = _called(step, models)
        if fields:
            found = next((field.examples[0] for field in fields if field.examples), None)
            models = _models_of(fields)
        elif isinstance(found, list | dict) and found:
            found = found[0] if isinstance(found, list) else next(iter(found.values()))
    return found


@lru_cache(maxsize=1024)
def _known_keys(model: type[BaseModel], path: Path) -> frozenset[str]:
    """The keys that may stand in the mapping at ``path``."""
    models = {model}
    for step in path:
        models = _models_of(_called(step, models)) or models
    return frozenset(field.alias or name for each in models for name, field in each.model_fields.items())


def _home(model: type[BaseModel], tree: object, path: Path, alike: Path) -> str:
    """What to do about an unknown key: it may belong to one beside it, which is the usual slip of indentation."""
    *above, key = path
    beside = tree
    for step in above:
        beside = beside[step]  # type: ignore[index]  # the tree has it, or pydantic had not found the key there
    known = sorted(_known_keys(model, alike[:-1]))
    around = beside if isinstance(beside, dict) else {}
    for neighbour in (name for name in known if name in around):
        if key in _known_keys(model, (*alike[:-1], neighbour)):
            braces = "" if isinstance(around[neighbour], list) else f", or write `{neighbour}: {{{key}: …}}`"
            return f"`{key}` belongs to `{neighbour}`: indent it further than that{braces}"
    return nearest(str(key), known)


def _called(step: str | int, models: set[type[BaseModel]]) -> list[FieldInfo]:
    """The fields of models that stand under a key."""
    return [field for each in models for name, field in each.model_fields.items() if (field.alias or name) == step]


def _models_of(fields: list[FieldInfo]) -> set[type[BaseModel]]:
    return {found for field in fields for found in models_in(field.annotation)}


def models_in(annotation: object) -> Iterator[type[BaseModel]]:
    """The models that stand anywhere in the type of a field."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        yield annotation
    for inner in get_args(annotation):
        yield from models_in(inner)
