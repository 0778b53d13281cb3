"""Harm done on purpose to what a run stands on: room on the disk, rights, files, streams."""

import ctypes
import os
import resource
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Final

from click.testing import CliRunner, Result

from pipeline import cli

ROOT: Final = Path(__file__).resolve().parents[1]
QUICK: Final = ("--locale", "en", "--paper", "a5")
"""The smallest leaflets."""
_OVERRIDES: Final = 1 << 1 | 1 << 2 | 1 << 3
"""What lets a superuser read, search and change whatever its owner has closed (capabilities(7))."""


def run(*arguments: str | Path) -> Result:
    """The command, in this process; what it falls over is raised."""
    return CliRunner().invoke(cli.main, [*map(str, arguments)], catch_exceptions=False)


def apart(*arguments: str | Path, **more: Any) -> "subprocess.CompletedProcess[str]":
    """The command, in a process of its own."""
    surroundings = os.environ | {"PYTHONPATH": str(ROOT)} | more.pop("env", {})
    streams = {"stdin": subprocess.DEVNULL, "stdout": subprocess.PIPE, "stderr": subprocess.PIPE} | more
    command = [*streams.pop("before", ()), sys.executable, "-m", "pipeline", *map(str, arguments)]
    return subprocess.run(command, env=surroundings, text=True, errors="replace", check=False, timeout=120, **streams)


def catalogue(*more: str | Path) -> Result:
    """The catalogue of the current folder, in this process."""
    return run("catalogue", *QUICK, "--jobs", "1", *more)


def there(folder: Path) -> dict[str, bytes]:
    """Every file below a folder, by name: also what is hidden."""
    return {str(file.relative_to(folder)): file.read_bytes() for file in sorted(folder.rglob("*")) if file.is_file()}


def leaflets(folder: Path = Path("build/out")) -> dict[str, bytes]:
    """Every leaflet of a catalogue, by name."""
    return {file.name: file.read_bytes() for file in sorted(folder.glob("*/*.pdf"))}


def unfinished(folder: Path = Path()) -> list[Path]:
    """Whatever was begun and not finished."""
    return [file for file in folder.rglob(".*.????????") if file.is_file()]


@contextmanager
def little_room(most: int) -> Iterator[None]:
    """No file grows beyond so many bytes: it is refused as on a full disk (setrlimit(2))."""
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (most, before[1]))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)


@contextmanager
def no_more_rights(*closed: Path) -> Iterator[None]:
    """What is closed may not even be looked at, also where tests are run by a superuser (capset(2))."""
    modes = {place: place.stat().st_mode for place in closed}
    for place in closed:
        place.chmod(0)
    try:
        with _no_overrides():
            yield
    finally:
        for place, mode in modes.items():
            place.chmod(mode)


@contextmanager
def _no_overrides() -> Iterator[None]:
    libc = ctypes.CDLL(None, use_errno=True)
    head = (ctypes.c_uint32 * 2)(0x20080522, 0)
    sets = (ctypes.c_uint32 * 6)()
    assert libc.capget(head, sets) == 0
    effective = sets[0]
    sets[0] = effective & ~_OVERRIDES
    assert libc.capset(head, sets) == 0
    try:
        yield
    finally:
        sets[0] = effective
        assert libc.capset(head, sets) == 0
