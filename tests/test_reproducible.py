"""The same input gives the same bytes, whatever surrounds it."""

import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent


def leaflet(folder: Path, **surroundings: str) -> bytes:
    """One leaflet, made by a process of its own in ``folder``."""
    command = [
        sys.executable,
        "-m",
        "pipeline",
        "leaflet",
        str(ROOT / "patterns" / "first-frost.yaml"),
        "--locale",
        "en",
    ]
    environment = os.environ | {"PYTHONPATH": str(ROOT)} | surroundings
    subprocess.run([*command, "--out", str(folder)], cwd=folder, env=environment, check=True, capture_output=True)
    return (folder / "first-frost.en.a4.pdf").read_bytes()


def test_two_processes_give_equal_bytes(tmp_path: Path) -> None:
    """Other hash seed, time zone, locale of the machine and folder: the same leaflet."""
    one, two = tmp_path / "one", tmp_path / "another place"
    one.mkdir()
    two.mkdir()
    first = leaflet(one, PYTHONHASHSEED="1", TZ="Pacific/Auckland", LANG="C")
    second = leaflet(two, PYTHONHASHSEED="2", TZ="America/Asuncion", LANG="ar_EG.UTF-8")
    assert first == second
