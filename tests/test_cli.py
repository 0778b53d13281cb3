"""The command line of ``check``."""

import json
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import click
import pytest
from click.testing import CliRunner, Result

from pipeline import cli, files

CASES = Path(__file__).parent / "cases"
GOOD = CASES / "good" / "harbour-wheel.yaml"
ERROR = CASES / "check" / "level-six.yaml"
WARNING = CASES / "check" / "odd-pins.yaml"
NOTE = CASES / "check" / "accepted-warning.yaml"


def check(*arguments: str | Path) -> Result:
    return CliRunner().invoke(cli.main, ["check", *map(str, arguments)])


@pytest.mark.parametrize(
    ("file", "loose", "strict"),
    [(GOOD, 0, 0), (NOTE, 0, 0), (WARNING, 0, 1), (ERROR, 1, 1)],
    ids=lambda v: str(v)[-20:],
)
def test_exit_codes(file: Path, loose: int, strict: int) -> None:
    """Errors fail, warnings fail with --strict alone, notes and accepted warnings never."""
    assert check(file).exit_code == loose
    assert check(file, "--strict").exit_code == strict


def test_one_bad_file_among_good_ones_fails() -> None:
    """The exit code is that of the worst file."""
    assert check(GOOD, ERROR, GOOD).exit_code == 1


@pytest.mark.parametrize("arguments", [[], ["--frob", str(GOOD)]])
def test_wrong_use_is_two(arguments: list[str]) -> None:
    """No file, or an option nobody knows, is wrong use."""
    assert check(*arguments).exit_code == 2


def test_json_is_a_list_in_the_order_given() -> None:
    """One object a file, in the order of the arguments, missing files among them."""
    result = check("--json", ERROR, "gone.yaml", GOOD)
    found = json.loads(result.output)
    assert [one.get("pattern") for one in found] == ["level-six", None, "harbour-wheel"]
    assert [one["ok"] for one in found] == [False, False, True]


def test_json_of_a_file_with_errors_keeps_what_is_known() -> None:
    """A file that is not sound has its pattern and counts beside its problems, and no figures."""
    (found,) = json.loads(check("--json", ERROR).output)
    assert {key: found[key] for key in ("pattern", "ok", "pins", "rays")} == {
        "pattern": "level-six",
        "ok": False,
        "pins": 24,
        "rays": 48,
    }


def test_an_accepted_warning_is_a_note_with_its_reason() -> None:
    """What the designer answers for is still told, as a note."""
    (found,) = json.loads(check("--json", NOTE).output)
    (problem,) = found["problems"]
    assert (problem["code"], problem["severity"]) == ("odd-pins", "note")
    assert "worked as a sample" in problem["message"]


def test_the_module_runs_like_the_command() -> None:
    """``python -m pipeline`` is the command."""
    done = subprocess.run(
        [sys.executable, "-m", "pipeline", "check", str(WARNING), "--strict"],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 1
    assert f"{WARNING}:" in done.stdout
    assert "warning[odd-pins]" in done.stdout
    assert done.stderr == ""


def test_a_bug_of_ours_says_so(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    """What nobody foresaw gives the traceback, the words "bug in pipeline", and exit code 3."""

    def fall(*_: Any) -> None:
        raise KeyError("nobody foresaw this")

    monkeypatch.setattr(files, "check_file", fall)
    monkeypatch.setattr(sys, "argv", ["spokeleaf", "check", str(GOOD)])
    with pytest.raises(SystemExit) as caught:
        cli.run()
    said = capsys.readouterr().err
    assert caught.value.code == 3
    assert "Traceback" in said
    assert "nobody foresaw this" in said
    assert "bug in pipeline" in said


def test_a_workspace_with_a_broken_symbol_is_told(tmp_path: Path) -> None:
    """A symbol file of the workspace that cannot be used is a problem of the file that needs it."""
    (tmp_path / "patterns").mkdir()
    (tmp_path / "symbols").mkdir()
    (tmp_path / "symbols" / "ring.yaml").write_text("stitch: ring\n", encoding="utf-8")
    file = tmp_path / "patterns" / "harbour-wheel.yaml"
    file.write_bytes(GOOD.read_bytes())
    result = check("--json", file)
    (found,) = json.loads(result.output)
    assert result.exit_code == 1
    assert {Path(problem["file"]).name for problem in found["problems"]} == {"ring.yaml"}
    assert "key-missing" in {problem["code"] for problem in found["problems"]}


def _commands(group: click.Group, before: tuple[str, ...] = ()) -> Iterator[tuple[str, ...]]:
    for name, later in group.commands.items():
        command = later.command if isinstance(later, cli.Later) else later
        if isinstance(command, click.Group):
            yield from _commands(command, (*before, name))
        else:
            yield (*before, name)


@pytest.mark.parametrize("command", tuple(_commands(cli.main)), ids=" ".join)
def test_every_command_shows_examples_line_by_line(command: tuple[str, ...]) -> None:
    """Its help has a line that could be typed, and no sign of how the text was written."""
    said = CliRunner().invoke(cli.main, [*command, "--help"]).output
    assert "\\b" not in said
    assert any(line.strip().startswith(f"spokeleaf {' '.join(command)}") for line in said.splitlines()[1:]), said
