"""What editors are told: every key explained, every example good, and one mind with the reader about slips."""

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import jsonschema
import pytest
import yaml
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st
from pydantic import BaseModel, TypeAdapter
from pydantic.fields import FieldInfo

from pipeline.cli import main
from pipeline.fields import Record, models_in
from pipeline.files import symbols_of
from pipeline.looms import LoomFile
from pipeline.looms import load as load_looms
from pipeline.pattern_model import pattern_model
from pipeline.problems import RULES, Severity
from pipeline.publisher import Publisher
from pipeline.schema import FOR_EDITORS, KINDS, line_for_editors, schema, schema_text
from pipeline.source import Plain, Unreadable, read
from pipeline.symbol_model import Sign, Stitch
from pipeline.units import UnitError, parse_length
from pipeline.workspace import Workspace

ROOT = Path(__file__).resolve().parent.parent
CASES = Path(__file__).parent / "cases"
SYMBOLS = symbols_of(Workspace(None))
SCHEMAS = {kind: schema(kind, SYMBOLS) for kind in KINDS}
MODELS: dict[str, tuple[type[BaseModel], ...]] = {
    "pattern": (pattern_model(SYMBOLS.forms),),
    "publisher": (Publisher,),
    "loom": (LoomFile,),
    "symbol": (Stitch, Sign),
}
FILES = sorted(
    file
    for folder in ("patterns", "patterns/looms", "symbols", "tests/cases/good", "tests/cases/check")
    for file in (ROOT / folder).glob("*.yaml")
) + sorted((CASES / "workspace").rglob("*.yaml"))
KIND_OF_KEY = {"publisher": "publisher", "loom": "loom", "stitch": "symbol", "sign": "symbol"}

UNSEEN = {
    "accepted-for-nothing", "band-reversed", "choices-missing", "colour-pale", "direction-open", "distances-do-not-divide", "edge-far-in",
    "edge-rays", "group-too-narrow", "group-too-wide", "half-ray-not-here", "id-not-file-name", "inside-jam-limit", "joins-overlap",
    "key-twice", "kind-unknown", "knots-close", "knots-crowded", "length-absurd", "list-not-here", "loom-absurd",
    "loom-broken", "loom-unknown", "mat-of-circles", "mat-pins-do-not-divide", "mat-too-large", "measured-thread", "nothing-tied",
    "odd-pins", "only-passed", "parameter-missing", "parity-not-needed", "part-does-not-divide", "part-past-end",
    "part-too-wide", "pattern-too-long", "photo-coarse", "photo-format", "photo-missing", "photo-outside", "photo-title-twice",
    "photo-too-large", "photo-unreadable", "pins-not-on-sides", "rays-do-not-divide", "rib-not-forward",
    "ribs-crowded", "round-not-outward", "round-outside-loom", "rounds-crowded", "rows-flattened", "shift-too-large",
    "size-fails", "size-strained", "symbol-reserved", "symbol-shipped", "tag-refused", "terms-contrary",
    "thread-absurd", "thread-cannot-reach", "thread-short", "thread-unknown", "thread-unused", "tight-not-here", "too-few-groups",
    "web-ring-missing", "working-length-too-short", "alias-unknown", "second-document",
}  # fmt: skip
"""Codes that need geometry, other files, or two places of a file at once: no schema sees them."""


def as_json(tree: object) -> Any:
    """A tree as a reader of YAML 1.2 (core schema, what editors have) hands it to a schema."""
    if isinstance(tree, dict):
        return {key: as_json(value) for key, value in tree.items()}
    if isinstance(tree, list):
        return [as_json(value) for value in tree]
    return bare(tree) if isinstance(tree, Plain) else tree


def bare(word: str) -> Any:
    """What a word without quotes is in the core schema: https://yaml.org/spec/1.2.2/#103-core-schema."""
    if word in {"null", "Null", "NULL"}:
        return None
    if word in {"true", "True", "TRUE", "false", "False", "FALSE"}:
        return word.lower() == "true"
    if re.fullmatch(r"[-+]?[0-9]+", word) and len(word) < 400:
        return int(word)
    number = re.fullmatch(r"[-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)([eE][-+]?[0-9]+)?", word)
    return float(word) if number and abs(float(word)) < float("inf") else str(word)


def kind_of(tree: dict[str, object]) -> str:
    """Which schema a file has."""
    return KIND_OF_KEY.get(next(iter(tree), ""), "pattern")


def properties(part: Any, path: str = "") -> Iterator[tuple[str, dict[str, Any]]]:
    """Every property that is said what it is, wherever in a schema; not the names in rules about keys together."""
    if isinstance(part, dict):
        for name, inner in part.get("properties", {}).items():
            yield f"{path}.{name}", inner
            yield from properties(inner, f"{path}.{name}")
        for key, inner in part.items():
            if key in {"$defs", "patternProperties"}:
                for name, each in inner.items():
                    yield from properties(each, f"{path}.{name}")
            elif key not in {"properties", "if", "then", "not", "examples", "default"}:
                yield from properties(inner, path)
    if isinstance(part, list):
        for each in part:
            yield from properties(each, path)


ALL_PROPERTIES = [(kind, name, inner) for kind in KINDS for name, inner in properties(SCHEMAS[kind])]


def validator_of(kind: str) -> jsonschema.Draft202012Validator:
    """A validator of whole files, which looks at formats too, as editors do."""
    return jsonschema.Draft202012Validator(SCHEMAS[kind], format_checker=jsonschema.Draft202012Validator.FORMAT_CHECKER)


def within(kind: str, part: dict[str, Any]) -> jsonschema.Draft202012Validator:
    """A validator of a part, with what it refers to."""
    return jsonschema.Draft202012Validator({**part, "$defs": SCHEMAS[kind].get("$defs", {})})


def fields() -> Iterator[tuple[str, FieldInfo]]:
    """Every field of every model of every kind of file."""
    for kind in KINDS:
        waiting, seen = list(MODELS[kind]), set[type[BaseModel]]()
        while waiting:
            model = waiting.pop()
            if model in seen or not issubclass(model, Record):
                continue
            seen.add(model)
            for name, field in model.model_fields.items():
                yield f"{kind}.{model.__name__}.{field.alias or name}", field
                waiting += models_in(field.annotation)


ALL_FIELDS = dict(fields())


def read_value(value: object) -> Any:
    """A value as our own reader has it when it stands in a file as it stands in JSON."""
    text = yaml.safe_dump({"it": value}, allow_unicode=True)
    return read("example.yaml", text.encode()).tree["it"]


@pytest.mark.parametrize("kind", KINDS)
def test_a_schema_is_one(kind: str) -> None:
    """It keeps the rules of JSON Schema, nothing in it may be null, and no title repeats a key."""
    jsonschema.Draft202012Validator.check_schema(SCHEMAS[kind])
    text = schema_text(kind, SYMBOLS)
    assert json.loads(text) == SCHEMAS[kind]
    assert "null" not in text
    assert text.count('"title": "') == 1 + ('"title": "Harbour' in text)


@pytest.mark.parametrize(
    ("kind", "name", "part"), ALL_PROPERTIES, ids=lambda value: value if isinstance(value, str) else ""
)
def test_every_property_says_what_it_is(kind: str, name: str, part: dict[str, Any]) -> None:
    """It has a description, examples that are good by it, and a default that is, if it has one."""
    assert len(part.get("description", "")) > 8, name
    assert part["examples"], name
    for written in [*part["examples"], *([part["default"]] if "default" in part else [])]:
        assert [error.message for error in within(kind, part).iter_errors(written)] == []


@pytest.mark.parametrize(
    ("kind", "name", "part"), ALL_PROPERTIES, ids=lambda value: value if isinstance(value, str) else ""
)
def test_every_length_says_its_units(kind: str, name: str, part: dict[str, Any]) -> None:
    """Where a length is wanted, its units are named; where none is, they are not."""
    assert kind
    assert ("mm|" in json.dumps({**part, "description": "", "properties": {}})) == (
        "In mm, cm" in part["description"]
    ), name


@pytest.mark.parametrize("name", ALL_FIELDS)
def test_every_example_is_read_by_our_own_reader(name: str) -> None:
    """Each is what may be written there, and so is each default; a default reads as the model has it."""
    field = ALL_FIELDS[name]
    kind, model, key = name.split(".")
    defs = SCHEMAS[kind].get("$defs", {})
    part = (defs.get(model) or SCHEMAS[kind])["properties"][key]
    reader: TypeAdapter[Any] = TypeAdapter(field.rebuild_annotation())
    context = {"looms": load_looms(ROOT / "patterns" / "looms")}
    for example in field.examples or []:
        reader.validate_python(read_value(example), context=context)
    if field.is_required() or field.default is None:
        assert "default" not in part
    else:
        assert reader.validate_python(read_value(part["default"])) == field.default


@pytest.mark.parametrize("file", FILES, ids=lambda file: f"{file.parent.name}/{file.stem}")
def test_schema_and_reader_agree(file: Path) -> None:
    """What is sound is valid; of what is not, a schema refuses all that can be seen without geometry or other files."""
    try:
        source = read(str(file), file.read_bytes())
    except Unreadable:
        return
    tree = source.tree
    said = json.loads(CliRunner().invoke(main, ["check", "--json", str(file)]).output)[0]["problems"]
    codes = {problem["code"] for problem in said if RULES[problem["code"]].severity is Severity.ERROR}
    valid = validator_of(kind_of(tree)).is_valid(as_json(tree))
    if codes <= UNSEEN:
        assert valid
    else:
        assert not valid, codes


def test_every_unseen_code_is_a_code() -> None:
    """No name stands there for nothing."""
    assert set(RULES) >= UNSEEN


@given(st.one_of(
    st.from_regex(r"[0-9]{0,3}([.,][0-9]{0,3})? ?(mm|cm|m|in|%|km|)", fullmatch=True), st.text(max_size=8)
))  # fmt: skip
def test_the_shape_of_a_length_is_what_the_reader_takes(text: str) -> None:
    """A text has the shape of a distance exactly if the reader makes a length above zero of it."""
    try:
        good = parse_length(text).value > 0
    except UnitError as error:
        good = error.code == "length-absurd"
    shape = SCHEMAS["pattern"]["$defs"]["Round"]["properties"]["to"]["pattern"]
    assert bool(re.search(shape, text)) == good


@pytest.mark.parametrize(
    "change",
    [
        {"accepts": {"odd-pin": "x"}},
        {"accepts": {"rays-do-not-divide": "x"}},
        {"spokeleaf": 2},
        {"summary": None},
        {"loom": {"shape": "square", "diameter": "80 mm", "pins": 24}},
        {"threads": {"AB": {"fibre": "cotton", "tex": 40, "colour": "#1b4f72", "colour_name": "blue"}}},
        {"threads": {"A": {"fibre": "cotton", "grams": 40, "colour": "#1b4f72", "colour_name": "blue"}}},
        {"threads": {"A": {"fibre": "cotton", "colour": "#1b4f72", "colour_name": "blue"}}},
        {"rounds": [{"darn": {}, "knot": {"rays": 4}}]},
        {"rounds": [{"at": "3 mm"}]},
        {"rounds": [{"knot": {"rays": 4}}]},
        {"rounds": [{"knot": {"rays": 4}, "at": "9 mm", "gap": "9 mm"}]},
        {"rounds": [{"edge-loops": {}, "at": "9 mm"}]},
        {"rounds": [{"wrap": {"rays": 4}, "at": "9 mm"}]},
    ],
    ids=lambda change: json.dumps(change)[:50],
)
def test_keys_that_go_together_are_seen(example: dict[str, Any], change: dict[str, Any]) -> None:
    """A slip of keys that belong together is refused by the schema and by the reader."""
    validator = validator_of("pattern")
    assert validator.is_valid(example)
    assert not validator.is_valid(example | change)


@pytest.mark.parametrize("file", sorted((ROOT / "patterns").glob("*.yaml")), ids=lambda file: file.stem)
def test_a_demo_names_its_schema(file: Path) -> None:
    """The first line leads an editor from the file to the schema it is valid by."""
    first = file.read_text(encoding="utf-8").splitlines()[0]
    if file.stem == "publisher":
        return
    assert first.startswith(FOR_EDITORS)
    named = (file.parent / first.removeprefix(FOR_EDITORS)).resolve()
    assert named == ROOT / "pipeline" / "pattern.schema.json"
    assert json.loads(named.read_text(encoding="utf-8")) == SCHEMAS["pattern"]


def test_a_line_for_editors_leads_to_the_folder_of_schemas() -> None:
    """From patterns straight down, from looms up first."""
    assert line_for_editors("loom", 1) == FOR_EDITORS + "../schema/loom.schema.json"


def test_the_command_prints_and_writes(tmp_path: Path) -> None:
    """Printed, one kind; written, all kinds or one; over what is there, for that is what is out of date."""
    printed = CliRunner().invoke(main, ["schema", "--of", "loom"])
    assert (printed.exit_code, printed.output) == (0, schema_text("loom", SYMBOLS))
    folder = tmp_path / "schema"
    for _ in range(2):
        written = CliRunner().invoke(main, ["schema", "--out", str(folder)])
        assert written.exit_code == 0
        assert {file.name for file in folder.iterdir()} == {f"{kind}.schema.json" for kind in KINDS}
    assert (folder / "pattern.schema.json").read_text(encoding="utf-8") == schema_text("pattern", SYMBOLS)
    CliRunner().invoke(main, ["schema", "--of", "symbol", "--out", str(tmp_path / "one")])
    assert [file.name for file in (tmp_path / "one").iterdir()] == ["symbol.schema.json"]


def test_a_stitch_of_the_workspace_is_known(tmp_path: Path) -> None:
    """The schema that a workspace gets has the stitches the workspace brings."""
    for name in ("patterns", "symbols"):
        (tmp_path / name).mkdir()
    own = (ROOT / "symbols" / "knot.yaml").read_text(encoding="utf-8").replace("stitch: knot\n", "stitch: quay-tie\n")
    (tmp_path / "symbols" / "quay-tie.yaml").write_text(own, encoding="utf-8")
    result = CliRunner().invoke(main, ["schema", "--out", str(tmp_path / "patterns" / "schema")])
    assert result.exit_code == 0, result.output
    made = json.loads((tmp_path / "patterns" / "schema" / "pattern.schema.json").read_text(encoding="utf-8"))
    assert "quay-tie" in made["$defs"]["Round"]["properties"]
    assert "quay-tie" not in SCHEMAS["pattern"]["$defs"]["Round"]["properties"]


@pytest.mark.parametrize("more", [["--of", "loom"], ["--out", "schema"]])
def test_a_table_is_of_patterns_and_is_printed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, more: list[str]
) -> None:
    """Another kind of file, or a folder to write to, is wrong use: exit 2, nothing printed or written."""
    monkeypatch.chdir(tmp_path)
    result = CliRunner().invoke(main, ["schema", "--table", *more])
    assert result.exit_code == 2
    assert result.stdout == ""
    assert list(tmp_path.iterdir()) == []


def test_a_schema_that_cannot_be_written_is_told(tmp_path: Path) -> None:
    """Where a file stands in the way of the folder it is a problem, exit 1, and nothing is said to be written."""
    (tmp_path / "schema").write_text("in the way", encoding="utf-8")
    result = CliRunner().invoke(main, ["schema", "--out", str(tmp_path / "schema" / "deeper")])
    assert result.exit_code == 1
    assert "output-unwritable" in result.output
