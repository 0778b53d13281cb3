"""Files to check, each with its claim in the first line and its expected problems marked in it.

A broken file has problems. ``<code>-not.yaml`` is its sound neighbour: it comes as near to that problem as it can and
does not have it. Files in ``workspace/patterns`` are checked with the looms that stand beside them.
Photographs that cases name lie in ``check/photos``; the broken ones among them are meant.
``# expect: code [column N]`` stands directly above the line it is about (several may be stacked). A file that cannot
carry comments has ``<name>.expect`` beside it, with ``code line column`` in each line.
"""

import json
import re
from collections import Counter
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

import pytest
from click.testing import CliRunner

from pipeline.cli import main
from pipeline.problems import RULES, Severity

HERE = Path(__file__).parent / "cases"
ALL = sorted([*(HERE / "check").glob("*.yaml"), *(HERE / "workspace" / "patterns").glob("*.yaml")])
NEAR = [file for file in ALL if file.stem.removesuffix("-not") in RULES and file.stem.endswith("-not")]
BROKEN = [file for file in ALL if file not in NEAR]
NO_FILE = {
    "file-missing": "there is no file",
    "nothing-matches": "there is no file",
    "ending-not-yaml": "said of a file that is named; see test_cli_manners",
    "passed-over": "said by leaflet, of a file among others",
    "file-unreadable": "a folder, made by a test below",
    "file-too-large": "two megabytes, made by a test below",
    "glyphs-alike": "said of a workspace by symbols --check",
    "symbol-not-file-name": "said of a workspace with such a symbol",
    "id-taken": "said by catalogue, of two patterns",
    "stroke-thin": "said of a workspace by symbols --check",
    "script-without-font": "said by commands that print",
    "character-without-font": "said by commands that print",
    "text-untranslated": "said by commands that print",
    "output-exists": "said by commands that write",
    "locale-begun": "said by `locale add`",
    "output-unwritable": "said by commands that write",
    **dict.fromkeys(
        (
            "locale-folder",
            "checked-by-nobody",
            "locale-unknown",
            "catalogue-unreadable",
            "plural-rule",
            "translation-missing",
            "translation-fuzzy",
            "plural-forms",
            "plural-form-missing",
            "placeholder-lost",
            "placeholder-unknown",
            "placeholder-broken",
            "text-markup",
            "number-in-text",
            "glossary-word",
            "glossary-not",
            "logo-unusable",
            "worker-died",
            "memory-short",
            "leaflet-failed",
            "leaflet-differs",
            "another-run",
            "no-cluster",
            "short-form-twice",
            "short-form-name",
            "short-form-stitch",
            "text-overflows",
        ),
        "said of a locale by locale check; see test_checking and test_cli_locale",
    ),
    "symbol-shipped": "said of a workspace, not of a file; see test_symbols",
}
"""Codes that no file in the folder of cases can have, with the reason."""
EXPECT = re.compile(r"\s*# expect: ([a-z0-9-]+)(?: column (\d+))?")


class Expected(NamedTuple):
    """A problem that is expected; without a column any will do."""

    code: str
    line: int
    column: int | None


def expected_of(file: Path) -> list[Expected]:
    """What the comments in the file, or the file beside it, expect."""
    beside = file.with_suffix(".expect")
    if beside.exists():
        words = [line.split() for line in beside.read_text(encoding="utf-8").splitlines()]
        return [Expected(code, int(line), int(column)) for code, line, column in words]
    found: list[Expected] = []
    waiting: list[tuple[str, int | None]] = []
    for number, line in enumerate(file.read_text(encoding="utf-8").split("\n"), 1):
        match = EXPECT.fullmatch(line)
        if match:
            waiting.append((match[1], int(match[2]) if match[2] else None))
        else:
            found += [Expected(code, number, column) for code, column in waiting]
            waiting = []
    assert not waiting, "an expectation stands above nothing"
    return found


@cache
def check_json(*arguments: str) -> tuple[int, list[dict[str, Any]]]:
    """Exit code and objects of ``check --json``."""
    result = CliRunner().invoke(main, ["check", "--json", *arguments])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result.exit_code, json.loads(result.output)


@pytest.mark.parametrize("file", ALL, ids=lambda file: file.stem)
def test_a_file_has_exactly_its_expected_problems(file: Path) -> None:
    """Every expected problem stands at its line and column, no other stands anywhere, and errors give exit code 1."""
    expected = expected_of(file)
    code, (found,) = check_json(str(file))
    said = [(problem["code"], problem["line"], problem["column"]) for problem in found["problems"]]
    assert Counter(e[:2] for e in expected) == Counter(s[:2] for s in said)
    for want in expected:
        assert want.column is None or (want.code, want.line, want.column) in said
    errors = any(RULES[want.code].severity is Severity.ERROR for want in expected)
    assert (code, found["ok"]) == ((1, False) if errors else (0, True))


@pytest.mark.parametrize("file", BROKEN, ids=lambda file: file.stem)
def test_the_object_of_a_broken_file_is_whole(file: Path) -> None:
    """Whatever is wrong, the object says ``ok`` and its problems have known codes, the file, and places from 1:1."""
    _, (found,) = check_json(str(file))
    assert isinstance(found["ok"], bool)
    assert found["problems"]
    for problem in found["problems"]:
        assert problem["code"] in RULES
        assert problem["severity"] in {"error", "warning", "note"}
        assert problem["file"] == str(file)
        assert min(problem["line"], problem["column"]) >= 1
        assert problem["message"]
        assert isinstance(problem["path"], str)
        assert isinstance(problem["hint"], str)


@pytest.mark.parametrize("file", BROKEN, ids=lambda file: file.stem)
def test_a_broken_file_is_told_in_words(file: Path) -> None:
    """Without ``--json`` every expected problem is printed as file:line:column, severity and code."""
    result = CliRunner().invoke(main, ["check", str(file)])
    for code, line, _ in expected_of(file):
        assert re.search(
            rf"^{re.escape(str(file))}:{line}:\d+: (error|warning|note)\[{code}\]: ", result.output, re.MULTILINE
        )
    assert "Traceback" not in result.output


def test_every_case_opens_with_its_claim_and_every_broken_one_expects_something() -> None:
    """The cases are many, each has its claim in the first line, and no broken one is without an expectation."""
    assert len(BROKEN) >= 40
    for file in ALL:
        assert file in NEAR or expected_of(file), file.stem
        if not file.with_suffix(".expect").exists():
            assert file.read_text(encoding="utf-8").startswith("# "), file.stem


@pytest.mark.parametrize("code", sorted(set(RULES) - set(NO_FILE)))
def test_every_code_has_a_file_that_meets_it_and_one_that_just_does_not(code: str) -> None:
    """What a file can be told has a file that is told it, and a near one that is not."""
    assert any(code == want.code for file in BROKEN for want in expected_of(file))
    (near,) = [file for file in NEAR if file.stem == f"{code}-not"]
    _, (found,) = check_json(str(near))
    assert code not in {problem["code"] for problem in found["problems"]}


def test_no_code_is_left_out_for_nothing() -> None:
    """Every code said to have no file is a code, and no file has it."""
    assert set(NO_FILE) <= set(RULES)
    assert not {want.code for file in ALL for want in expected_of(file)} & set(NO_FILE)


def test_a_loom_of_the_workspace_is_the_loom_written_out(tmp_path: Path) -> None:
    """The figures on a loom that is named are those on the same loom written out: the ring that carries the web."""
    named = HERE / "workspace" / "patterns" / "loom-unknown-not.yaml"
    written = tmp_path / named.name
    text = named.read_text(encoding="utf-8")
    assert "loom: round-card\n" in text
    out = "loom: {shape: circle, diameter: 80 mm, pins: 24, hold: notch}\n"
    written.write_text(text.replace("loom: round-card\n", out), encoding="utf-8")
    assert check_json(str(named)) == check_json(str(written))


def test_a_huge_file_is_refused_unread(tmp_path: Path) -> None:
    """A file of two megabytes is one problem at 1:1, and so is one of a megabyte and a byte; a megabyte is read."""
    file = tmp_path / "huge.yaml"
    for size, refused in ((2 << 20, True), ((1 << 20) + 1, True), (1 << 20, False)):
        file.write_text("spokeleaf: 1\n#".ljust(size, "-"), encoding="utf-8")
        check_json.cache_clear()
        code, (found,) = check_json(str(file))
        assert code == 1
        places = [(p["code"], p["line"], p["column"]) for p in found["problems"]]
        assert (places == [("file-too-large", 1, 1)]) == refused


@pytest.mark.parametrize(("name", "problem"), [("missing.yaml", "file-missing"), ("", "file-unreadable")])
def test_a_file_that_cannot_be_read_is_a_problem(tmp_path: Path, name: str, problem: str) -> None:
    """A missing file and a folder are problems at 1:1 with exit code 1, not wrong use."""
    code, (found,) = check_json(str(tmp_path / name))
    assert code == 1
    assert found["ok"] is False
    assert [(p["code"], p["line"], p["column"]) for p in found["problems"]] == [(problem, 1, 1)]


@pytest.mark.parametrize("file", sorted((HERE / "good").glob("*.yaml")), ids=lambda file: file.stem)
def test_a_good_file_has_no_problems(file: Path) -> None:
    """The sound files are good, even strictly."""
    code, (found,) = check_json(str(file), "--strict")
    assert (code, found["ok"], found["problems"]) == (0, True, [])
