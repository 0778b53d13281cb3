"""Fonts: which files write which script, and where they are.

Static TrueType files only, from a workspace's ``fonts/`` or from packages, one family name a file: so nothing
is taken from elsewhere on the machine, and what cannot be written is known before a page is made.
"""

import logging
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Final

from babel import Locale
from fontTools.ttLib import TTFont

from pipeline.language.locales import LocaleInfo
from pipeline.problems import Problem, Unusable
from pipeline.source import failed
from pipeline.workspace import stays_inside

# What it tells of shows in what a font can write.
logging.getLogger("fontTools").setLevel(logging.CRITICAL)

PLACES: Final = (Path("/usr/share/fonts"), Path("/usr/local/share/fonts"))


@dataclass(frozen=True, slots=True)
class Face:
    """A font file by name, with the family a style sheet calls it by, and the package that holds it."""

    family: str
    file: str
    package: str
    weight: int = 400
    ranges: tuple[tuple[int, int], ...] = ()
    """First and last of the code points it is for; all it has where there are none."""

    @property
    def unicode_range(self) -> str:
        """The same as a style sheet says it."""
        return ", ".join(f"U+{first:X}-{last:X}" for first, last in self.ranges)

    def is_for(self, character: str) -> bool:
        """Whether it may write a character."""
        return not self.ranges or any(first <= ord(character) <= last for first, last in self.ranges)


_NOTO: Final = "fonts-noto-core"
_LATIN: Final = (
    Face("Leaf Sans", "NotoSans-Regular.ttf", _NOTO),
    Face("Leaf Sans", "NotoSans-Bold.ttf", _NOTO, 700),
)
TITLE: Final = Face("Leaf Display", "NotoSerifDisplay-Regular.ttf", _NOTO)

_MARKS: Final = ((0x2014, 0x2014), (0x2018, 0x201D), (0x2026, 0x2026), (0x3000, 0x303F), (0xFF00, 0xFFEF))
"""Punctuation of Chinese: the light face of its signs sets it in the middle of a square, as is usual in Taiwan only."""

FACES: Final[Mapping[str, Sequence[Face]]] = {
    "Latn": (*_LATIN, TITLE),
    "Cyrl": (*_LATIN, TITLE),
    "Grek": (*_LATIN, TITLE),
    "Arab": (
        *_LATIN,
        Face("Leaf Arab", "NotoSansArabic-Regular.ttf", _NOTO),
        Face("Leaf Arab", "NotoSansArabic-Bold.ttf", _NOTO, 700),
    ),
    "Hebr": (
        *_LATIN,
        Face("Leaf Hebr", "NotoSansHebrew-Regular.ttf", _NOTO),
        Face("Leaf Hebr", "NotoSansHebrew-Bold.ttf", _NOTO, 700),
    ),
    "Deva": (
        *_LATIN,
        Face("Leaf Deva", "NotoSansDevanagari-Regular.ttf", _NOTO),
        Face("Leaf Deva", "NotoSansDevanagari-Bold.ttf", _NOTO, 700),
    ),
    "Hans": (
        *_LATIN,
        Face("Leaf Marks", "LXGWWenKai-Regular.ttf", "fonts-lxgw-wenkai", ranges=_MARKS),
        Face("Leaf Hans", "DroidSansFallbackFull.ttf", "fonts-droid-fallback"),
    ),
    "Jpan": (*_LATIN, Face("Leaf Jpan", "ipaexg.ttf", "fonts-ipaexfont-gothic")),
}
"""The faces of each script, Latin first: it writes the figures. A script without a bold face has larger headings."""


@dataclass(frozen=True, slots=True)
class FontFile:
    """A face and its file."""

    face: Face
    path: Path


@dataclass(frozen=True, slots=True)
class Fonts:
    """The fonts of one script, or of several, all found."""

    files: tuple[FontFile, ...]

    @property
    def families(self) -> tuple[str, ...]:
        """Families for running text, first choice first."""
        return tuple(dict.fromkeys(file.face.family for file in self.files if file.face is not TITLE))

    @property
    def has_title_face(self) -> bool:
        """Whether titles have a face of their own."""
        return any(file.face is TITLE for file in self.files)

    @property
    def has_bold(self) -> bool:
        """Whether the script's own family has a bold face."""
        return any(file.face.weight == 700 and file.face.family == self.families[-1] for file in self.files)

    def missing(self, text: str) -> str:
        """The characters of a text that no file can write."""
        known = [(file.face, covered(file.path)) for file in self.files]
        wanted = set(text) - _UNSEEN
        return "".join(sorted(c for c in wanted if not any(ord(c) in has and face.is_for(c) for face, has in known)))


_UNSEEN: Final = frozenset("\n\r\t\u200b\u200c\u200d\u200e\u200f\u202c\u202e\u2066\u2067\u2068\u2069\ufeff\u00ad")
"""Characters that have no shape."""


def named(characters: str) -> str:
    """Characters with their code points, as problems name them.

    >>> named("aé")
    'a (U+0061) é (U+00E9)'
    """
    return " ".join(f"{character} (U+{ord(character):04X})" for character in characters)


class FontsMissing(Unusable):
    """A script has no font here; ``packages`` hold the files."""

    def __init__(self, script: str, packages: Sequence[str]) -> None:
        self.script, self.packages = script, tuple(packages)
        super().__init__((self.problem("fonts"),))

    def problem(self, file: str) -> Problem:
        """The same, told of the file that needs the script."""
        package = " and ".join(self.packages) or "a static TrueType font into fonts/"
        return failed(file, "script-without-font", script=self.script, package=package)


def fonts_of(locale: LocaleInfo, folders: Iterable[Path]) -> Fonts:
    """The fonts of a locale: those its file names, else those of its script. Raises ``FontsMissing``."""
    own = tuple(
        Face("Leaf Own", font.file, font.package or font.file, 700 if font.bold else 400) for font in locale.fonts
    )
    return find_fonts(locale.script, folders, (*_LATIN, *own) if own else ())


def faces_of(script: str) -> Sequence[Face]:
    """The faces of a script; where it is not in the table, those that its name in the Noto family would have."""
    if script in FACES:
        return FACES[script]
    name = Locale("en").scripts.get(script, script).replace(" ", "")
    regular = Face("Leaf Own", f"NotoSans{name}-Regular.ttf", _NOTO)
    return (*_LATIN, regular, Face("Leaf Own", f"NotoSans{name}-Bold.ttf", _NOTO, 700))


def find_fonts(script: str, folders: Iterable[Path], faces: Sequence[Face] = ()) -> Fonts:
    """The fonts of a script, in these folders before the machine's. Raises ``FontsMissing``, also for damaged ones."""
    faces = faces or faces_of(script)
    files = font_files((*folders, *PLACES))
    lacking = sorted({face.package for face in faces if face.file not in files or not covered(files[face.file])})
    if lacking:
        raise FontsMissing(script, lacking if script in FACES or faces[-1].package != _NOTO else ())
    return Fonts(tuple(FontFile(face, files[face.file]) for face in faces))


def fonts_of_all(locales: Iterable[LocaleInfo], folders: Iterable[Path]) -> Fonts:
    """The fonts of several locales together, for a page in many languages. Raises ``FontsMissing``."""
    places = tuple(folders)
    files = dict.fromkeys(file for locale in locales for file in fonts_of(locale, places).files)
    return Fonts(tuple(files))


@lru_cache(maxsize=8)
def font_files(folders: tuple[Path, ...]) -> Mapping[str, Path]:
    """Every TrueType file below these folders by name; the first found counts."""
    files: dict[str, Path] = {}
    for folder in folders:
        for path in sorted(folder.rglob("*.ttf")) if folder.is_dir() else ():
            if folder in PLACES or _may_be_used(path):
                files.setdefault(path.name, path)
    return files


def _may_be_used(path: Path) -> bool:
    """Whether a font of a workspace lies in it, or among the fonts of the machine."""
    return path.is_file() and (stays_inside(path) or any(path.resolve().is_relative_to(place) for place in PLACES))


@lru_cache(maxsize=64)
def covered(path: Path) -> frozenset[int]:
    """The code points a font file can write; none where it is damaged."""
    try:
        with path.open("rb") as data, TTFont(data, lazy=True) as font:
            return frozenset(font.getBestCmap() or ())
    except Exception:  # noqa: BLE001
        # The library raises whatever it stumbles over; a damaged file is all that can be said of it.
        return frozenset()
