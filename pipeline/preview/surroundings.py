"""What leaflets of a workspace are made with, read once, and read anew when its files change.

Where a file is broken, what was read before stays, and its problems are told beside it.
"""

import errno
from collections.abc import Iterable, Mapping
from pathlib import Path

from pipeline.catalogue.make import Shelf
from pipeline.catalogue.shelf import BrokenShelf, load_shelf
from pipeline.files import forget_symbols
from pipeline.language.fonts import font_files
from pipeline.language.locales import BrokenLocale, LocaleInfo, load_locales
from pipeline.language.speech import Speech, load_speech
from pipeline.photos import ready
from pipeline.problems import Problem
from pipeline.source import unreadable
from pipeline.symbols import Broken
from pipeline.workspace import Workspace, patterns_in, shipped


class Surroundings:
    """A workspace beside the pattern that is looked at; it must have a folder ``patterns``."""

    def __init__(self, workspace: Workspace) -> None:
        assert workspace.root is not None  # noqa: S101
        self.workspace, self.root = workspace, workspace.root
        self.problems: tuple[Problem, ...] = ()
        """What is wrong with files that every leaflet is made with."""
        self._shelf: Shelf | None = None
        self._shelf_is_new = self._locales_are_new = False
        self._locales: Mapping[str, LocaleInfo] = {}
        self._locale_problems: tuple[Problem, ...] = ()
        self._shelf_problems: tuple[Problem, ...] = ()
        self._speeches: dict[str, Speech] = {}
        self._photos: dict[tuple[bytes, tuple[float, float]], bytes] = {}

    @property
    def patterns(self) -> tuple[str, ...]:
        """Stems of the files that are patterns, also of those that cannot be read; none that leads elsewhere."""
        return tuple(file.stem for file in patterns_in(self.root) if self._is_inside(file))

    def file(self, pattern: str) -> Path:
        """The file of a pattern."""
        return self.root / "patterns" / f"{pattern}.yaml"

    def _is_inside(self, file: Path) -> bool:
        try:
            return file.resolve().is_relative_to(self.root.resolve())
        except (OSError, RuntimeError):
            return False

    def concerns(self, file: Path, pattern: str) -> bool:
        """Whether a change of a file can change what is seen of a pattern."""
        return not self._is_pattern(file) or file == self.file(pattern)

    def _is_pattern(self, file: Path) -> bool:
        """Whether it stands where patterns do; photographs and logos may stand beside them."""
        return file.parent == self.root / "patterns" and file.suffix == ".yaml" and file.name != "publisher.yaml"

    def forget(self, files: Iterable[Path]) -> None:
        """Read anew what these files say; a change of patterns alone leaves all else as it is."""
        others = [file for file in files if not self._is_pattern(file)]
        folders = {file.relative_to(self.root).parts[0] for file in others if file.is_relative_to(self.root)}
        if "locales" in folders:
            self._locales_are_new = False
            self._speeches.clear()
        if "symbols" in folders:
            forget_symbols()
        if "fonts" in folders:
            font_files.cache_clear()
        if others:
            self._shelf_is_new = False

    @property
    def locales(self) -> Mapping[str, LocaleInfo]:
        """Every locale, by tag."""
        if not self._locales_are_new:
            try:
                self._locales, self._locale_problems = load_locales(self.workspace.layers("locales")), ()
            except BrokenLocale as error:
                self._locale_problems = error.problems
            except OSError as error:
                self._locale_problems = (unreadable(str(error.filename or self.root / "locales"), error),)
            self._locales = self._locales or load_locales((shipped("locales"),))
            self._locales_are_new = True
        return self._locales

    def shelf(self) -> Shelf | None:
        """Symbols, publisher, catalogues, fonts; None where there never was one without problems."""
        if not self._shelf_is_new:
            try:
                self._shelf, self._shelf_problems = load_shelf(self.workspace), ()
            except (BrokenShelf, Broken) as error:
                self._shelf_problems = error.problems
            self._shelf_is_new = True
        known = self.locales
        self.problems = (*self._shelf_problems, *(self._locale_problems if known else ()))
        return self._shelf

    def speech(self, tag: str) -> Speech:
        """A locale, ready to speak. Raises ``BrokenCatalogue``, and ``OSError`` where it is gone."""
        if tag not in self._speeches:
            if tag not in self.locales:
                file = self.root / "locales" / tag / "locale.yaml"
                raise FileNotFoundError(errno.ENOENT, "the locale is gone", str(file))
            self._speeches[tag] = load_speech(self.workspace.layers("locales"), self.locales[tag])
        return self._speeches[tag]

    def photo(self, data: bytes, box_mm: tuple[float, float]) -> bytes:
        """A photograph made ready for print, once."""
        if (data, box_mm) not in self._photos:
            self._photos = dict([*self._photos.items(), ((data, box_mm), ready(data, box_mm))][-8:])
        return self._photos[data, box_mm]
