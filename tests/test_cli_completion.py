"""What shells complete: commands, options, locales, papers, pattern files; and the scripts that ask for it."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from click.shell_completion import BashComplete, FishComplete, ShellComplete, ZshComplete

from pipeline import cli
from pipeline.workspace import shipped

ROOT = Path(__file__).resolve().parent.parent
SHELLS = {"bash": BashComplete, "zsh": ZshComplete, "fish": FishComplete}


def completed(*words: str) -> list[str]:
    """What may stand for the last of the words, the others being typed."""
    *typed, begun = words
    shell = ShellComplete(cli.main, {}, "spokeleaf", "_SPOKELEAF_COMPLETE")
    return [item.value for item in shell.get_completions(typed, begun) if item.type == "plain"]


@pytest.fixture
def workspace(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A workspace with two patterns, a publisher, a loom and a locale of its own, around the current folder."""
    for name, text in {
        "patterns/harbour-wheel.yaml": "spokeleaf: 1\n",
        "patterns/quay-wheel.yaml": "spokeleaf: 1\n",
        "patterns/publisher.yaml": "publisher: Thistledown Quay\n",
        "patterns/looms/card.yaml": "loom: card\n",
        "locales/es_MX/locale.yaml": "locale: es-MX\nstatus: draft\n",
        "locales/notes/README.md": "no locale\n",
    }.items():
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_text(text, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_commands_are_completed_with_what_they_do() -> None:
    """By their beginning; the line of each is that of the list of commands."""
    assert completed("ch") == ["check", "chart"]
    assert completed("locale", "") == ["add", "check", "list", "update"]
    shell = ShellComplete(cli.main, {}, "spokeleaf", "_SPOKELEAF_COMPLETE")
    assert [item.help for item in shell.get_completions([], "compa")] == [cli.main.commands["compare"].short_help]


def test_options_and_choices_are_completed() -> None:
    """Those of the command, and those of all; papers, measures, pictures."""
    assert completed("leaflet", "--left") == ["--left-handed"]
    assert completed("schema", "--qu") == ["--quiet"]
    assert completed("leaflet", "--paper", "") == ["a4", "a5", "letter", "common"]
    assert completed("leaflet", "--units", "m") == ["metric"]
    assert completed("chart", "--picture", "s") == ["sector", "steps"]


def test_locales_are_completed(workspace: Path) -> None:
    """Those shipped and the workspace's own, by their tags; a folder without settings is none."""
    known = {file.parent.name.replace("_", "-") for file in shipped("locales").glob("*/locale.yaml")}
    assert set(completed("leaflet", "--locale", "")) == known | {"es-MX"}
    assert completed("leaflet", "--locale", "es") == ["es", "es-MX", "es-PY"]
    assert completed("locale", "check", "fi", "pt") == ["pt-BR"]
    assert workspace.is_dir()


@pytest.mark.parametrize("command", [["check"], ["leaflet"], ["chart"], ["compare"], ["compare", "x"], ["calibrate"]])
def test_pattern_files_are_completed(workspace: Path, command: list[str]) -> None:
    """From the workspace's folder by their whole names; neither publisher nor looms."""
    both = ["patterns/harbour-wheel.yaml", "patterns/quay-wheel.yaml"]
    assert completed(*command, "") == completed(*command, "pat") == completed(*command, "patterns/") == both
    assert completed(*command, "patterns/q") == both[1:]
    assert completed(*command, f"{workspace}/patterns/q") == [f"{workspace}/patterns/quay-wheel.yaml"]


def test_other_files_are_left_to_the_shell(workspace: Path) -> None:
    """Where no pattern begins so, it completes whatever lies there."""
    shell = ShellComplete(cli.main, {}, "spokeleaf", "_SPOKELEAF_COMPLETE")
    for begun in ("loc", "patterns/looms/", "nowhere/x"):
        assert [(item.type, item.value) for item in shell.get_completions(["check"], begun)] == [("file", begun)]
    assert workspace.is_dir()


@pytest.mark.parametrize("name", SHELLS)
def test_every_shell_has_its_script(name: str) -> None:
    """As README.md asks for it: it names the program and what to ask it."""
    surroundings = os.environ | {"_SPOKELEAF_COMPLETE": f"{name}_source", "PYTHONPATH": str(ROOT)}
    done = subprocess.run(
        [sys.executable, "-m", "pipeline"], env=surroundings, capture_output=True, text=True, check=True
    )
    assert f"_SPOKELEAF_COMPLETE={name}_complete" in done.stdout
    assert done.stderr == ""
    assert f"_SPOKELEAF_COMPLETE={name}_source spokeleaf" in (ROOT / "README.md").read_text(encoding="utf-8")


@pytest.mark.skipif(shutil.which("bash") is None, reason="no bash")
def test_bash_completes(workspace: Path) -> None:
    """The shell itself, with its script loaded, at a command and at a file."""
    (workspace / "bin").mkdir()
    program = workspace / "bin" / "spokeleaf"
    program.write_text(f'#!/bin/sh\nexec "{sys.executable}" -m pipeline "$@"\n', encoding="utf-8")
    program.chmod(0o755)
    script = (
        'eval "$(_SPOKELEAF_COMPLETE=bash_source spokeleaf)"\n'
        'COMP_WORDS=(spokeleaf compa) COMP_CWORD=1; _spokeleaf_completion spokeleaf; echo "${COMPREPLY[@]}"\n'
        'COMPREPLY=() COMP_WORDS=(spokeleaf check patterns/h) COMP_CWORD=2; _spokeleaf_completion spokeleaf; echo "${COMPREPLY[@]}"\n'
    )
    path = f"{program.parent}{os.pathsep}{os.environ['PATH']}"
    surroundings = os.environ | {"PATH": path, "PYTHONPATH": str(ROOT)}
    done = subprocess.run(["bash", "-c", script], env=surroundings, capture_output=True, text=True, check=False)
    assert done.stdout.splitlines() == ["compare", "patterns/harbour-wheel.yaml"], done.stderr
