"""Numbers that nobody works with: refused where they stand, before anything is reckoned with them."""

import time
from pathlib import Path
from typing import Any

import pytest
import yaml

from pipeline.craft.check import Checked
from pipeline.files import check_file
from pipeline.language.catalogue import load_catalogues
from pipeline.language.locales import LocaleInfo
from pipeline.pattern_model import Pattern
from pipeline.problems import render
from tests.hostile.conftest import Run, Write

DIGITS = "9" * 10_000
PLACES = ("diameter: 80 mm", "pins: 24", "tex: 40", "rays: 4", "level: 1", "number: 1", "spokeleaf: 1")
"""Keys of the small pattern and their values, as they are written."""
ABSURD = (
    "1e308", "1e308 mm", "-1e308", "1000000000", DIGITS, f"{DIGITS} mm", f"{DIGITS}.5", f"1e{DIGITS}", ".inf", "-.inf",
    ".nan", "NaN", "Infinity", "0x7fffffff", "1_000_000", "-1", "١٢", "²", "1e999 mm", "999999999 m", "0." + "0" * 5000 + "1",
)  # fmt: skip


def changed(file: Path, before: str, after: str) -> tuple[Checked, int]:
    """The pattern with other words in it, checked, and their line."""
    text = file.read_text(encoding="utf-8")
    head, _, rest = text.partition(before)
    assert rest
    file.write_text(head + after + rest, encoding="utf-8")
    return check_file(file), (head + after).count("\n") + 1


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("value", ABSURD, ids=lambda value: value[:14])
def test_an_absurd_number_is_refused_where_it_stands(write: Write, place: str, value: str) -> None:
    """In the line of the value, with words that can be read; nothing is computed with it."""
    found, line = changed(write(), place, f"{place.partition(':')[0]}: {value}")
    assert found.lace is None
    errors = [problem for problem in found.problems if problem.span.line == line]
    assert errors
    assert all(len(render(problem)) < 12_000 for problem in errors)


@pytest.mark.parametrize("rows", ["1000000000", DIGITS, "501", "-1", "0", "1e9"])
def test_rows_are_bounded(write: Write, rows: str) -> None:
    """More than a piece can have are refused at their line."""
    found, line = changed(write(), "darn: {}", f"darn: {{}}\n  rows: {rows}")
    assert found.lace is None
    assert [problem.span.line for problem in found.problems] == [line]


LISTS: dict[str, Any] = {
    "rounds": {"knot": {"rays": 4}, "at": "15 mm"},
    "photos": {"file": "a.jpg", "alt": "a"},
    "links": {"url": "https://a.example", "label": "a"},
    "corrections": {"edition": 1, "text": "a"},
    "tools": "a",
    "tags": "a",
}


@pytest.mark.parametrize("name", LISTS)
def test_a_huge_list_is_refused_as_a_whole(write: Write, name: str) -> None:
    """Before any of its photographs is opened or any of its square codes drawn; a long one that is not huge is taken."""
    most = next(m.max_length for m in Pattern.model_fields[name].metadata if getattr(m, "max_length", None))
    found = check_file(write(**{name: [LISTS[name]] * (most + 1)}))
    assert [(p.code, p.path) for p in found.problems if p.code == "list-too-long"] == [("list-too-long", name)]
    if name != "rounds":
        fewer = check_file(write(**{name: [LISTS[name]] * most}))
        assert "list-too-long" not in {problem.code for problem in fewer.problems}


@pytest.mark.parametrize(
    "other",
    [
        {"assembly": {"layout": "grid", "columns": 1000, "rows": 1000, "joins": 1}},
        {"assembly": {"layout": "hex", "columns": 1000, "rows": 1000, "joins": 1}},
        {"sizes": [{"name": f"S{n}", "loom": {"diameter": "600 mm", "pins": 1000}} for n in range(300)]},
        {"loom": {"shape": "circle", "diameter": "900 mm", "pins": 1000},
         "rounds": [{"darn": {}}, *({"knot": {"rays": 4}, "at": f"{20 + n} mm"} for n in range(400))]},
    ],
    ids=["mat", "hex", "sizes", "rounds"],
)  # fmt: skip
def test_more_work_than_somebody_waits_for_is_refused(write: Write, other: dict[str, Any]) -> None:
    """A million wheels, three hundred sizes, four hundred rounds of two thousand rays: each number is allowed alone."""
    began = time.process_time()
    found = check_file(write(**other))
    assert found.lace is None
    assert [problem for problem in found.problems if problem.path]
    assert time.process_time() - began < 3


@pytest.mark.parametrize("option", [("--pins", DIGITS), ("--diameter", "1e308 mm"), ("--diameter", f"{DIGITS} mm"),
                                    ("--pins", "-1"), ("--diameter", "nan mm")])  # fmt: skip
def test_an_absurd_option_is_wrong_use(write: Write, run: Run, option: tuple[str, str]) -> None:
    """Exit code 2, and no file is written."""
    file = write()
    assert run("adapt", file, *option).exit_code == 2
    assert [each.name for each in file.parent.iterdir()] == ["trial.yaml"]


@pytest.mark.parametrize("count", [f"A={DIGITS}tex", "A=1e308tex", "A=0tex", "A=-1ne", "A=nan", "A=", f"{DIGITS}=1tex"])
def test_an_absurd_thread_is_wrong_use(write: Write, run: Run, count: str) -> None:
    """Exit code 2, whatever is written after its letter, or instead of it."""
    assert run("check", write(), "--thread", count).exit_code == 2


def test_an_edition_of_ten_thousand_digits_is_none(shop: Path) -> None:
    """In a translator's comment, where programs look for a number: it is a comment like others."""
    file = shop / "es" / "LC_MESSAGES" / "patterns.po"
    file.parent.mkdir(parents=True)
    file.write_text(
        f'msgid ""\nmsgstr ""\n\n# edition: {DIGITS}\nmsgctxt "trial"\nmsgid "Trial"\nmsgstr "Prueba"\n',
        encoding="utf-8",
    )
    found = load_catalogues([shop], LocaleInfo("es", "draft"), "patterns")
    assert (found.editions, found.pgettext("trial", "Trial")) == ({}, "Prueba")


def test_a_symbol_s_numbers_are_bounded_too(shop: Path, write: Write, run: Run) -> None:
    """A glyph that reaches beyond its box by kilometres, a stroke without width: at their lines."""
    symbol = yaml.safe_load((Path(__file__).parents[2] / "symbols" / "knot.yaml").read_text(encoding="utf-8"))
    symbol["stitch"] = "own-tie"
    symbol["glyph"][0]["width"] = 1e300
    (shop / "symbols").mkdir()
    (shop / "symbols" / "own-tie.yaml").write_text(yaml.safe_dump(symbol, sort_keys=False, allow_unicode=True))
    said = run("check", write()).output
    assert "own-tie.yaml" in said
    assert "error[not-a-number]" in said
