"""Files in and out: check one from disk with what its workspace has, write one whole or not at all.

The only module beside the command line and ``photos`` that reads and writes files of a workspace; what is read once
(symbols) is kept for the run.
"""

import re
import tempfile
from collections.abc import Mapping
from functools import partial
from pathlib import Path
from typing import Final

from pipeline.craft.check import Checked, check
from pipeline.looms import load as load_looms
from pipeline.pattern import Looms
from pipeline.photos import photo_findings
from pipeline.problems import Problem
from pipeline.source import failed
from pipeline.symbols import Broken, SymbolSet, load
from pipeline.workspace import Workspace, workspace_of


def check_file(file: Path, tex: Mapping[str, float] | None = None) -> Checked:
    """Read a file from disk and check it with the symbols and looms of its workspace, and with its photographs."""
    try:
        data = file.read_bytes()
    except FileNotFoundError:
        return _unread(file, failed(str(file), "file-missing"))
    except OSError as error:
        return _unread(file, failed(str(file), "file-unreadable", reason=error.strerror or "unknown"))
    try:
        symbols = symbols_of(workspace_of(file), shipped_signs=False)
    except Broken as error:
        return _unread(file, *error.problems)
    looms, photos = looms_of(workspace_of(file)), partial(photo_findings, folder=file.parent)
    return check(str(file), data, file.stem, symbols, looms, tex, photos=photos)


def looms_of(workspace: Workspace) -> Looms:
    """The looms of a workspace that have files of their own."""
    return load_looms(workspace.looms) if workspace.looms else {}


_UNFINISHED: Final = re.compile(r"\..+\.[a-z0-9_]{8}")
"""Names of files that ``write_whole`` has not finished."""
_LOADED: Final[dict[tuple[tuple[Path, ...], bool], SymbolSet]] = {}


def symbols_of(workspace: Workspace, *, shipped_signs: bool = True) -> SymbolSet:
    """The symbols of a workspace, read once. Raises ``Broken``."""
    key = (workspace.layers("symbols"), shipped_signs)
    if key not in _LOADED:
        _LOADED[key] = load(key[0], shipped_signs=shipped_signs)
    return _LOADED[key]


def write_whole(data: bytes, place: Path) -> tuple[Problem, ...]:
    """Write a file whole or not at all; a problem where that cannot be."""
    try:
        place.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.NamedTemporaryFile(dir=place.parent, prefix=f".{place.name}.", delete=False) as file:
            file.write(data)
        Path(file.name).chmod(0o644)
        Path(file.name).replace(place)
    except OSError as error:
        return (failed(str(place), "output-unwritable", place=place, reason=error.strerror or "unknown"),)
    return ()


def clear_unfinished(folder: Path) -> None:
    """Take away what ``write_whole`` was stopped over, anywhere below a folder that nobody writes to now."""
    for file in folder.rglob(".*"):
        if _UNFINISHED.fullmatch(file.name) and file.is_file():
            file.unlink(missing_ok=True)


def _unread(file: Path, *problems: Problem) -> Checked:
    return Checked(str(file), None, None, None, None, None, problems)
