"""Where things lie: the workspace of a file, and the data shipped with the program.

A workspace is any folder with ``patterns/`` in it. Its own ``symbols/``, ``locales/`` and ``fonts/`` are laid
over the shipped ones, which stand inside the package in a wheel and beside it in a checkout.
"""

from dataclasses import dataclass
from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent


@dataclass(frozen=True, slots=True)
class Workspace:
    """A folder of patterns; ``root`` is None for a file that stands outside any."""

    root: Path | None

    def layers(self, name: str) -> tuple[Path, ...]:
        """The folders called ``name``, shipped first, the workspace's own last (it lies on top)."""
        own = self.root / name if self.root else None
        found = [shipped(name)]
        if own and own.is_dir() and own.resolve() != found[0].resolve():
            found.append(own)
        return tuple(found)

    @property
    def looms(self) -> Path | None:
        """The folder of looms that have files of their own, where there is one."""
        folder = self.root / "patterns" / "looms" if self.root else None
        return folder if folder and folder.is_dir() else None

    @property
    def publisher_file(self) -> Path | None:
        """The publisher's file, where there is one."""
        file = self.root / "patterns" / "publisher.yaml" if self.root else None
        return file if file and file.is_file() else None


def workspace_of(file: Path) -> Workspace:
    """The nearest folder above ``file`` that has ``patterns/``."""
    for folder in file.resolve().parents:
        if (folder / "patterns").is_dir():
            return Workspace(folder)
    return Workspace(None)


def shipped(name: str) -> Path:
    """The folder of shipped data called ``name``: ``symbols`` or ``locales``."""
    inside = _PACKAGE / "shipped" / name
    return inside if inside.is_dir() else _PACKAGE.parent / name
