"""Scripts in ``build/``: each says what it does, is checked like the package, and does what it says."""

import os
import runpy
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from pipeline.language.catalogue import load_catalogues
from pipeline.language.locales import load_locales

ROOT = Path(__file__).resolve().parent.parent
SCRIPTS = sorted(file for file in (ROOT / "build").iterdir() if file.is_file() and os.access(file, os.X_OK))
IN_PYTHON = [file for file in SCRIPTS if "python" in file.read_text(encoding="utf-8").partition("\n")[0]]


def names_in(script: str) -> dict[str, Any]:
    """What a script defines."""
    return runpy.run_path(str(ROOT / "build" / script))


@pytest.mark.parametrize("script", SCRIPTS, ids=lambda script: script.name)
def test_help_says_what_a_script_does_how_long_it_takes_and_what_it_leaves(script: Path, tmp_path: Path) -> None:
    """``--help`` tells that and does nothing else."""
    interpreter = [sys.executable] if script in IN_PYTHON else []
    done = subprocess.run(
        [*interpreter, str(script), "--help"], capture_output=True, text=True, check=False, cwd=tmp_path, timeout=60
    )
    assert done.returncode == 0, done.stderr
    assert not done.stderr
    assert "Takes " in done.stdout
    assert "Leaves " in done.stdout


@pytest.mark.parametrize("script", SCRIPTS, ids=lambda script: script.name)
def test_every_script_is_named_where_people_and_checkers_look(script: Path) -> None:
    """DEVELOPERS.md or README.md says what it is for; ``build/test`` formats, lints and types those in Python."""
    manuals = "".join((ROOT / name).read_text(encoding="utf-8") for name in ("DEVELOPERS.md", "README.md"))
    assert f"build/{script.name}`" in manuals or f"build/{script.name} " in manuals
    (checked,) = (
        line.split("'")[1].split()
        for line in (ROOT / "build" / "test").read_text(encoding="utf-8").splitlines()
        if line.startswith("scripts=")
    )
    assert (f"build/{script.name}" in checked) == (script in IN_PYTHON)


def test_a_message_that_is_changed_is_one_that_leaflets_read(tmp_path: Path) -> None:
    """``bench-shop`` writes it to the folder of the locale, which has an underscore where its tag has a hyphen."""
    names_in("bench-shop")["say_otherwise"](tmp_path, "zh-Hans", "spokeleaf", "fibres", "linen")
    locale = load_locales((ROOT / "locales",))["zh-Hans"]
    texts = load_catalogues((ROOT / "locales", tmp_path / "locales"), locale, "spokeleaf")
    assert texts.pgettext("fibres", "linen") == "said otherwise"


def test_every_leaflet_is_looked_at_once(tmp_path: Path) -> None:
    """``look`` passes over the copies that a site has."""
    own, printed = tmp_path / "low-sun" / "low-sun.de.a4.pdf", tmp_path / "catalogue.de.a4.pdf"
    for file in (own, printed, tmp_path / "site" / "leaflets" / own.name):
        file.parent.mkdir(parents=True, exist_ok=True)
        file.touch()
    assert names_in("look")["leaflets_in"](tmp_path) == [printed, own]


@pytest.mark.parametrize(
    ("one", "two", "found"),
    [
        ({"a": b"1", ".ledger": b"1"}, {"a": b"1", ".ledger": b"2"}, None),
        ({"a": b"1", "b/c": b"1"}, {"a": b"1", "b/c": b"2"}, "b/c: the bytes differ"),
        ({"a": b"1", "b/c": b"1"}, {"a": b"1"}, "b/c: only in"),
        ({}, {"a": b"1"}, "a: only in"),
    ],
)
def test_a_byte_that_differs_is_found(
    one: dict[str, bytes], two: dict[str, bytes], found: str | None, tmp_path: Path
) -> None:
    """``reproduce`` names the first file that is another, or that only one has; what is hidden counts for nothing."""
    names = names_in("reproduce")
    shops = []
    for folder, files in ((tmp_path / "one", one), (tmp_path / "two", two)):
        for name, data in files.items():
            file = folder / "build" / "out" / name
            file.parent.mkdir(parents=True, exist_ok=True)
            file.write_bytes(data)
        shops.append(names["Shop"](folder, ROOT, 1, 0o022, {}))
    told = names["difference"](*shops)
    assert told is None if found is None else told.startswith(found)
