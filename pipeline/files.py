"""Files in and out: check one from disk with what its workspace has, write one whole or not at all.

Other modules read files of their own kind (``symbols``, ``looms``, ``photos``); what is read once (symbols) is kept for
the run.
"""

import errno
import glob
import re
import tempfile
from collections.abc import Mapping
from contextlib import ExitStack, suppress
from functools import partial
from pathlib import Path
from typing import Final

from pipeline.craft.check import Checked, check
from pipeline.looms import load as load_looms
from pipeline.pattern import Looms
from pipeline.photos import photo_findings
from pipeline.problems import Problem, closest, did_you_mean
from pipeline.source import LARGEST_BYTES, failed, unreadable
from pipeline.symbols import Broken, SymbolSet, load
from pipeline.workspace import LEADS_OUT, Workspace, contents, is_folder, stays_inside, workspace_of


def check_file(file: Path, tex: Mapping[str, float] | None = None, *, advised: bool = True) -> Checked:
    """Read a file from disk and check it with the symbols and looms of its workspace, and with its photographs."""
    try:
        data = contents(file, LARGEST_BYTES)
    except OSError as error:
        return _unread(str(file), _unreadable(file, error))
    return check_text(data, file, tex, advised=advised)


def check_text(data: bytes, file: Path, tex: Mapping[str, float] | None = None, *, advised: bool = True) -> Checked:
    """Check bytes as if they were a file's."""
    return _checked(data, str(file), workspace_of(file), file.parent, file.stem, tex, advised=advised)


def check_input(data: bytes, tex: Mapping[str, float] | None = None) -> Checked:
    """Check bytes that have no file as if they lay among the patterns of the workspace around the current folder."""
    workspace = workspace_of(Path("any.yaml"))
    folder = workspace.root / "patterns" if workspace.root else Path()
    return _checked(data, "<stdin>", workspace, folder, None, tex)


def _checked(  # noqa: PLR0913
    data: bytes,
    name: str,
    workspace: Workspace,
    folder: Path,
    stem: str | None,
    tex: Mapping[str, float] | None,
    *,
    advised: bool = True,
) -> Checked:
    try:
        symbols, looms = symbols_of(workspace, shipped_signs=False), looms_of(workspace)
    except Broken as error:
        return _unread(name, *error.problems)
    except OSError as error:
        return _unread(name, unreadable(str(error.filename or name), error))
    photos = partial(photo_findings, folder=folder)
    return check(name, data, stem, symbols, looms, tex, photos=photos, advised=advised)


def _unreadable(file: Path, error: OSError) -> Problem:
    """Why a file cannot be read."""
    if is_folder(file):
        return failed(str(file), "file-unreadable", reason="it is a folder without patterns")
    if glob.has_magic(str(file)) and isinstance(error, FileNotFoundError):
        return failed(str(file), "nothing-matches")
    if isinstance(error, FileNotFoundError):
        return failed(str(file), "file-missing", hint=_meant(file))
    return unreadable(str(file), error)


def _meant(file: Path) -> str:
    """What to do about a file that is not there: its folder may have one of nearly that name."""
    # Endings are left out: two names that share one are not alike for that.
    near = closest(file.stem, sorted(each.stem for each in file.parent.glob("*.yaml")))
    return did_you_mean(f"{near}.yaml") if near else "check the name and the folder"


def looms_of(workspace: Workspace) -> Looms:
    """The looms of a workspace that have files of their own."""
    return load_looms(workspace.looms) if workspace.looms else {}


def forget_symbols() -> None:
    """Have symbols read anew: those of a workspace were changed while the program runs."""
    _LOADED.clear()


_UNFINISHED: Final = re.compile(r"\..+\.[a-z0-9_]{8}")
"""Names of files that ``write_whole`` has not finished."""
_NO_LINKS: Final = (errno.EPERM, errno.ENOTSUP, errno.EOPNOTSUPP, errno.ENOSYS, errno.EMLINK)
"""What systems of files say that have no second name for a file, like those of memory sticks."""
_LOADED: Final[dict[tuple[tuple[Path, ...], bool], SymbolSet]] = {}


def symbols_of(workspace: Workspace, *, shipped_signs: bool = True) -> SymbolSet:
    """The symbols of a workspace, read once. Raises ``Broken``."""
    key = (workspace.layers("symbols"), shipped_signs)
    if key not in _LOADED:
        _LOADED[key] = load(key[0], shipped_signs=shipped_signs)
    return _LOADED[key]


def write_whole(data: bytes, place: Path) -> tuple[Problem, ...]:
    """Write a file whole or not at all; a problem where that cannot be."""
    if astray := leading_out(place):
        return astray
    unfinished: Path | None = None
    try:
        place.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.NamedTemporaryFile(dir=place.parent, prefix=f".{place.name}.", delete=False) as file:
            unfinished = Path(file.name)
            file.write(data)
        _open_to_all(unfinished)
        unfinished.replace(place)
    except OSError as error:
        return _unwritable(place, error)
    finally:
        # Still there where the disk is full or the run was stopped from the keyboard.
        if unfinished:
            _take_away(unfinished)
    return ()


def _unwritable(place: Path, error: OSError) -> tuple[Problem, ...]:
    return (failed(str(place), "output-unwritable", place=place, reason=error.strerror or "unknown"),)


def _open_to_all(file: Path) -> None:
    """Let everybody read a file, where there is somebody to be kept out: memory sticks have no rights to be given."""
    with suppress(OSError):
        file.chmod(0o644)


def leading_out(place: Path) -> tuple[Problem, ...]:
    """A problem where the folder of what is to be written lies outside of its workspace; what is there is replaced."""
    if stays_inside(place.with_name(f".{place.name}.")):
        return ()
    return (failed(str(place), "output-unwritable", place=place, reason=LEADS_OUT),)


def write_new(data: bytes, place: Path) -> tuple[Problem, ...]:
    """Write a file whole that is not there yet; a problem where it is, or where it cannot be."""
    if astray := leading_out(place):
        return astray
    try:
        with tempfile.NamedTemporaryFile(dir=place.parent, prefix=f".{place.name}.") as file:
            file.write(data)
            file.flush()
            _open_to_all(Path(file.name))
            # A link is refused where the name is taken, also by a file that came a moment ago.
            place.hardlink_to(file.name)
    except OSError as error:
        if isinstance(error, FileExistsError) or place.exists():
            return (failed(str(place), "output-exists", place=place),)
        return write_whole(data, place) if error.errno in _NO_LINKS else _unwritable(place, error)
    return ()


def write_all_new(files: Mapping[Path, bytes]) -> tuple[Problem, ...]:
    """Write files that are not there yet, with the folders they need: all of them, or none and why."""
    with ExitStack() as undo:  # also where the run is stopped from the keyboard
        for place, data in files.items():
            problems = _make_folders(place.parent, undo) or write_new(data, place)
            if problems:
                return problems
            undo.callback(_take_away, place)
        undo.pop_all()
    return ()


def _make_folders(folder: Path, undo: ExitStack) -> tuple[Problem, ...]:
    """Make a folder and those above it that are missing; each can be undone."""
    try:
        for each in reversed([folder, *folder.parents]):
            if not each.is_dir():
                each.mkdir()
                undo.callback(_take_away, each)
    except OSError as error:
        return _unwritable(folder, error)
    return ()


def clear_unfinished(folder: Path) -> None:
    """Take away what ``write_whole`` was stopped over, anywhere below a folder that nobody writes to now."""
    for file in folder.rglob(".*"):
        if _UNFINISHED.fullmatch(file.name) and file.is_file():
            _take_away(file)


def _take_away(place: Path) -> None:
    """Remove a file or an empty folder, where that can be; what must stay hinders nobody."""
    with suppress(OSError):
        place.rmdir() if place.is_dir() else place.unlink()


def _unread(name: str, *problems: Problem) -> Checked:
    return Checked(name, None, None, None, None, None, problems)
