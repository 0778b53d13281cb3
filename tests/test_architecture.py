"""How the package is built: who may import whom, what is heavy, how large things are."""

import ast
import itertools
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
PACKAGE = ROOT / "pipeline"
MODULES = sorted(PACKAGE.rglob("*.py"))
GOOD = Path(__file__).parent / "cases" / "good" / "harbour-wheel.yaml"

ORDER = (
    "problems", "units", "source", "rewrite", "workspace", "fields", "records", "pattern_model", "pattern", "looms", "symbol_model", "symbols", "publisher", "schema", "photos",
    "craft", "files", "starting", "notation", "reference", "editions", "drawing", "language", "leaflet", "tagging", "typeset", "booklet", "catalogue", "preview", "doctor", "options", "commands", "cli", "__main__",
)  # fmt: skip
CRAFT_ORDER = (
    "thread", "shapes", "loom", "mat", "counts", "web", "stretch", "stitches", "fillings", "effort", "rules", "assembly", "path",
    "figures", "calibration", "adapt", "advice", "check",
)  # fmt: skip
HEAVY = ("matplotlib", "babel", "weasyprint", "numpy", "jinja2", "fontTools", "pydyf", "PIL", "pikepdf")

LONG_MODULES = {
    "problems.py": "one table of every code with its words",
}
"""Modules that may have more than 400 lines, with the reason."""

LONG_FUNCTIONS = {
    "leaflet/compose.py:compose": "one call that fills a record, a line or two for each of its fields",
}
"""Functions that may have more than 40 lines, with the reason."""


def name_of(file: Path) -> tuple[str, ...]:
    """Dotted name inside the package, in parts."""
    return file.relative_to(PACKAGE).with_suffix("").parts


def imports_of(file: Path) -> Iterator[str]:
    """Every module a file imports, wherever in it."""
    for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{file.name}: imports are written whole"
            module = str(node.module)
            yield module
            yield from (f"{module}.{alias.name}" for alias in node.names if module.startswith("pipeline"))


def inside(module: str) -> tuple[str, ...]:
    """Parts below ``pipeline``, or none for a module of others."""
    parts = tuple(module.split("."))
    return parts[1:] if parts[0] == "pipeline" else ()


@pytest.mark.parametrize("file", MODULES, ids=lambda file: "/".join(name_of(file)))
def test_a_module_imports_only_what_stands_above_it(file: Path) -> None:
    """The order of design section 7; a package counts as one, and language knows nothing of drawing."""
    own = name_of(file)[0]
    if own == "__init__":
        assert not any(inside(module) for module in imports_of(file))
        return
    assert own in ORDER, f"{own} has no place in the order"
    for module in imports_of(file):
        part = inside(module)[:1]
        if part and part[0] != own:
            assert ORDER.index(part[0]) < ORDER.index(own), module
        assert not (own == "language" and part == ("drawing",)), module


@pytest.mark.parametrize("file", sorted((PACKAGE / "craft").glob("*.py")), ids=lambda file: file.stem)
def test_a_module_of_the_craft_imports_only_what_stands_above_it(file: Path) -> None:
    """Inside the craft the same law holds, from thread to check."""
    for module in imports_of(file):
        part = inside(module)
        if part[:1] == ("craft",) and len(part) > 1:
            assert file.stem != "__init__"
            assert CRAFT_ORDER.index(part[1]) < CRAFT_ORDER.index(file.stem), module


def test_no_two_modules_import_each_other() -> None:
    """Also inside the packages there is no circle of two."""
    files = {".".join(("pipeline", *name_of(file))).removesuffix(".__init__"): file for file in MODULES}
    known = {name: set(imports_of(file)) & set(files) for name, file in files.items()}
    circles = [(a, b) for a, b in itertools.combinations(known, 2) if a in known[b] and b in known[a]]
    assert circles == []


@pytest.mark.parametrize("file", MODULES, ids=lambda file: "/".join(name_of(file)))
def test_only_typeset_knows_the_typesetter(file: Path) -> None:
    """WeasyPrint and pydyf are imported by ``typeset`` alone, and by ``tagging``, which is imported by it alone."""
    known = {module.split(".")[0] for module in imports_of(file)} & {"weasyprint", "pydyf"}
    assert not known or name_of(file)[0] in {"typeset", "tagging"}
    assert "pipeline.tagging" not in imports_of(file) or name_of(file)[0] == "typeset"


@pytest.mark.parametrize("arguments", [["check", str(GOOD)], ["check", "--json", str(GOOD)], ["--help"]])
def test_checking_loads_nothing_heavy(arguments: list[str]) -> None:
    """A fresh process that checks a file, or says how it is used, never loads what draws, translates or typesets."""
    script = (
        "import sys\nfrom pipeline.cli import main\n"
        "try:\n    main(sys.argv[1:])\nexcept SystemExit:\n    pass\n"
        f"print('HEAVY', [name for name in {HEAVY!r} if name in sys.modules])\n"
    )
    done = subprocess.run([sys.executable, "-c", script, *arguments], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "HEAVY []"


def test_the_top_level_holds_only_what_the_design_names() -> None:
    """Design section 3 fixes the top level of the repository."""
    top = {path.name for path in ROOT.iterdir()}
    named = {
        "README.md",
        "DEVELOPERS.md",
        "pyproject.toml",
        "pipeline",
        "symbols",
        "locales",
        "patterns",
        "tests",
        "build",
    }
    assert {name for name in top if not name.startswith(".")} <= named
    assert "pipeline" in top


@pytest.mark.parametrize("file", MODULES, ids=lambda file: "/".join(name_of(file)))
def test_modules_and_functions_stay_small(file: Path) -> None:
    """No module has more than 400 lines, tables apart, and no function more than 40."""
    text = file.read_text(encoding="utf-8")
    lines = len(text.splitlines())
    assert lines <= 400 or "/".join(file.relative_to(PACKAGE).parts) in LONG_MODULES, f"{lines} lines"
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            assert node.end_lineno is not None
            place = f"{'/'.join(file.relative_to(PACKAGE).parts)}:{node.name}"
            assert node.end_lineno - node.lineno < 40 or place in LONG_FUNCTIONS, place


def test_no_exception_from_the_limit_is_kept_for_nothing() -> None:
    """Every module and function that may be long is long."""
    for name in LONG_MODULES:
        assert len((PACKAGE / name).read_text(encoding="utf-8").splitlines()) > 400, name
    for place in LONG_FUNCTIONS:
        name, _, function = place.partition(":")
        tree = ast.parse((PACKAGE / name).read_text(encoding="utf-8"))
        found = [node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef) and node.name == function]
        assert [(node.end_lineno or 0) - node.lineno >= 40 for node in found] == [True], place
