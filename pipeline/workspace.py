"""Where things lie: the workspace of a file, and the data shipped with the program.

A workspace is any folder with ``patterns/`` in it. Its own ``symbols/``, ``locales/`` and ``fonts/`` are laid
over the shipped ones, which stand inside the package in a wheel and beside it in a checkout. It may come from a
stranger: what its links lead out to is neither read nor written.
"""

import errno
import re
from dataclasses import dataclass
from pathlib import Path
from typing import Final

_PACKAGE = Path(__file__).resolve().parent
_FIRST_KEY: Final = re.compile(rb"^(\w+)\s*:", re.MULTILINE)
_OTHER_KINDS: Final = (b"publisher", b"loom", b"stitch", b"sign")
"""How files of a workspace begin that are no patterns."""
LEADS_OUT: Final = "a link leads out of the workspace"
"""Why a file is not read or written."""


@dataclass(frozen=True, slots=True)
class Workspace:
    """A folder of patterns; ``root`` is None for a file that stands outside any."""

    root: Path | None

    def layers(self, name: str) -> tuple[Path, ...]:
        """The folders called ``name``, shipped first, the workspace's own last (it lies on top). Raises ``OSError``."""
        own = folder_of(self.root / name) if self.root else None
        found = [shipped(name)]
        if own and own.resolve() != found[0].resolve():
            found.append(own)
        return tuple(found)

    @property
    def looms(self) -> Path | None:
        """The folder of looms that have files of their own, where there is one. Raises ``OSError``."""
        return folder_of(self.root / "patterns" / "looms") if self.root else None

    @property
    def publisher_file(self) -> Path | None:
        """The publisher's file, where there is one."""
        file = self.root / "patterns" / "publisher.yaml" if self.root else None
        return file if file and file.is_file() else None


def workspace_of(file: Path) -> Workspace:
    """The nearest folder above ``file`` that has ``patterns/``; a link belongs to where it stands.

    Raises ``OSError`` where the current folder, from which a file is named, is gone.
    """
    try:
        place = file.absolute()
    except FileNotFoundError as error:
        raise FileNotFoundError(errno.ENOENT, "the current folder is gone", ".") from error
    if ".." in place.parts:
        place = place.parent.resolve() / place.name
    for folder in place.parents:
        if is_folder(folder / "patterns"):
            return Workspace(folder)
    return Workspace(None)


def is_folder(place: Path) -> bool:
    """Whether a place is a folder as far as can be seen; what lies in a folder that is closed to us cannot."""
    try:
        return place.is_dir()
    except OSError:
        return False


def folder_of(place: Path) -> Path | None:
    """A folder, or None where there is none. Raises ``OSError`` where it cannot be read: globs find nothing there."""
    if not place.is_dir():
        return None
    next(place.iterdir(), None)
    return place


def stays_inside(file: Path) -> bool:
    """Whether a file of a workspace lies in it, whatever links lead there; outside of any, every file does."""
    root = workspace_of(file).root
    try:
        return root is None or file.resolve().is_relative_to(root.resolve())
    except (OSError, RuntimeError):  # links in a circle; opening it says so
        return True


def contents(file: Path, most: int) -> bytes:
    """The bytes of a file, at most one more than ``most``.

    Raises ``OSError``; of a workspace's file also where it lies outside or is none, like a pipe, which may never end.
    """
    if not file.is_relative_to(_SHIPPED):
        if not stays_inside(file):
            raise OSError(errno.EPERM, LEADS_OUT)
        if file.exists() and not (file.is_file() or file.is_dir()) and workspace_of(file).root:
            raise OSError(errno.EPERM, "it is no file")
    with file.open("rb") as opened:
        return opened.read(most + 1)


def patterns_in(folder: Path) -> list[Path]:
    """The patterns of a workspace, or of a folder without those in folders below: no looms, no publisher.

    What cannot be read as anything may be meant as a pattern. Raises ``OSError`` where the folder cannot be read.
    """
    inner = folder_of(folder / "patterns") or folder_of(folder) or folder
    return [file for file in sorted(inner.glob("*.yaml")) if _may_be_pattern(file)]


def _may_be_pattern(file: Path) -> bool:
    try:
        key = _FIRST_KEY.search(contents(file, 4096))
    except OSError:
        return True
    return key is None or key[1] not in _OTHER_KINDS


def shipped(name: str) -> Path:
    """The folder of shipped data called ``name``: ``symbols`` or ``locales``."""
    inside = _PACKAGE / "shipped" / name
    return inside if inside.is_dir() else _PACKAGE.parent / name


_SHIPPED: Final = shipped("symbols").parent
