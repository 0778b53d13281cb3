"""The same input gives the same bytes, whatever surrounds it."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent


def leaflet(folder: Path, *options: str, **surroundings: str) -> bytes:
    """One leaflet, made by a process of its own in ``folder``."""
    command = [
        sys.executable,
        "-m",
        "pipeline",
        "leaflet",
        str(ROOT / "patterns" / "first-frost.yaml"),
        "--locale",
        "en",
        *options,
    ]
    environment = os.environ | {"PYTHONPATH": str(ROOT)} | surroundings
    subprocess.run([*command, "--out", str(folder)], cwd=folder, env=environment, check=True, capture_output=True)
    (made,) = folder.iterdir()
    return made.read_bytes()


@pytest.mark.parametrize("options", [(), ("--html",)], ids=["pdf", "html"])
def test_two_processes_give_equal_bytes(tmp_path: Path, options: tuple[str, ...]) -> None:
    """Other hash seed, time zone, locale of the machine and folder: the same leaflet, on paper and for screens."""
    one, two = tmp_path / "one", tmp_path / "another place"
    one.mkdir()
    two.mkdir()
    first = leaflet(one, *options, PYTHONHASHSEED="1", TZ="Pacific/Auckland", LANG="C")
    second = leaflet(two, *options, PYTHONHASHSEED="2", TZ="America/Asuncion", LANG="ar_EG.UTF-8")
    assert first == second
