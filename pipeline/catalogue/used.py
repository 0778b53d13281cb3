"""What a leaflet was made from: files by their hash, texts as they were looked up.

A leaflet depends on no more than it used: a text that stands in other leaflets, or a stitch that other patterns
work, may change without it. Files are called by what they are (``symbol:knot``), not by where they lie: a workspace
may lay its own over what is shipped.
"""

import ctypes
import hashlib
import html
import json
import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field, replace
from functools import cache
from importlib.metadata import version
from pathlib import Path
from typing import Final

from typing_extensions import override

from pipeline.language.catalogue import Catalogues
from pipeline.language.locales import LocaleInfo
from pipeline.language.speech import PATTERNS, PROGRAM, Speech
from pipeline.workspace import Workspace

Asked = tuple[str | int, ...]
"""A look-up: domain, context and text; of a plural its other text and the number too."""

LIBRARIES: Final = (
    "weasyprint", "pydyf", "fonttools", "tinycss2", "tinyhtml5", "cssselect2", "pyphen", "pillow", "babel", "jinja2",
    "matplotlib", "numpy", "segno",
)  # fmt: skip
"""Whose release may change a byte of a leaflet; a test compares them with what the program requires."""
_FILLED: Final = re.compile(r"\{\w+\}")
_LOADED: Final = (("libpango-1.0.so.0", "pango_version_string"), ("libharfbuzz.so.0", "hb_version_string"))


@dataclass(frozen=True, slots=True)
class Listening(Catalogues):
    """Catalogues that note what they are asked."""

    domain: str = ""
    asked: dict[Asked, None] = field(default_factory=dict)

    @override
    def pgettext(self, context: str, message: str) -> str:
        self.asked[self.domain, context, message] = None
        return Catalogues.pgettext(self, context, message)

    @override
    def npgettext(self, context: str, one: str, other: str, count: int) -> str:
        self.asked[self.domain, context, one, other, count] = None
        return Catalogues.npgettext(self, context, one, other, count)

    @override
    def has(self, context: str, message: str) -> bool:
        self.asked[self.domain, context, message] = None
        return Catalogues.has(self, context, message)


def listening(speech: Speech) -> tuple[Speech, dict[Asked, None]]:
    """The same speech, and what it will have been asked."""
    asked: dict[Asked, None] = {}

    def with_ears(catalogues: Catalogues, domain: str) -> Listening:
        return Listening(catalogues.translations, catalogues.translated, catalogues.editions, domain, asked)

    ears = (with_ears(speech.program, PROGRAM), with_ears(speech.patterns, PATTERNS))
    return replace(speech, program=ears[0], patterns=ears[1]), asked


def shown(speech: Speech, asked: Iterable[Asked], markup: str) -> Iterator[Asked]:
    """Of the texts that were looked up, those that stand on the pages: all their words between what was filled in."""
    text = html.unescape(markup)
    for each in asked:
        answer = str(_answer(speech, each)[-1])
        if all(piece in text for piece in _FILLED.split(answer)):
            yield each


def said(speech: Speech, asked: Iterable[Asked], pattern_id: str) -> str:
    """A hash of all answers, and of the edition the pattern's translation was made from."""
    answers = [speech.patterns.editions.get(pattern_id), *(_answer(speech, each) for each in asked)]
    return hashlib.sha256(json.dumps(answers, ensure_ascii=False).encode()).hexdigest()


def _answer(speech: Speech, asked: Asked) -> list[str | bool]:
    domain, context, *texts = asked
    catalogues = speech.program if domain == PROGRAM else speech.patterns
    if len(texts) == 1:
        message = str(texts[0])
        return [catalogues.has(str(context), message), catalogues.pgettext(str(context), message)]
    one, other, count = texts
    return [catalogues.npgettext(str(context), str(one), str(other), int(count))]


@dataclass(frozen=True, slots=True)
class Inputs:
    """The files of a workspace by what they are called here, and their hashes as far as they were asked for."""

    workspace: Workspace
    hash_of: Callable[[Path], str]
    """The hash of a file's bytes; empty where there is none."""
    known: dict[str, str] = field(default_factory=dict)

    def hash(self, name: str) -> str:
        """The hash of what is called so; empty where there is no such thing."""
        if name not in self.known:
            self.known[name] = self._hash(*name.split(":", 1))
        return self.known[name]

    def look_round(self, locales: Iterable[LocaleInfo]) -> dict[str, str]:
        """The hashes of all that leaflets may be made from, before it is read: what changes is found the next time."""
        patterns = (self.workspace.root or Path()) / "patterns"
        for file in sorted(patterns.rglob("*")):
            self.hash(f"file:patterns/{file.relative_to(patterns).as_posix()}")
        for layer in self.workspace.layers("symbols"):
            for file in layer.glob("*.yaml"):
                self.hash(f"symbol:{file.stem}")
        for folder in {folder for locale in locales for folder in locale.fallbacks}:
            self.hash(f"locale:{folder}")
        return self.known

    def together(self, names: Iterable[str]) -> str:
        """One hash of many."""
        lines = "\n".join(f"{name} {self.hash(name)}" for name in names)
        return hashlib.sha256(lines.encode(errors="surrogateescape")).hexdigest()  # names of files may be no text

    def _hash(self, kind: str, rest: str = "") -> str:
        match kind:
            case "program":
                return program()
            case "symbol":
                return self._top("symbols", f"{rest}.yaml")
            case "locale":
                return self._top("locales", f"{rest}/locale.yaml")
            case "texts":
                layers = [layer / rest for layer in self.workspace.layers("locales")]
                return "".join(self.hash_of(layer) for layer in layers)
            case "faces":
                own = self.workspace.root / "fonts" if self.workspace.root else None
                return " ".join(sorted(file.name for file in own.glob("*.ttf"))) if own and own.is_dir() else ""
            case _:
                return self.hash_of((self.workspace.root or Path()) / rest)

    def _top(self, kind: str, name: str) -> str:
        """The hash of the file on top of all layers."""
        found = [self.hash_of(layer / name) for layer in self.workspace.layers(kind)]
        return next((each for each in reversed(found) if each), "")


def texts_of(locale: LocaleInfo) -> tuple[str, ...]:
    """The names of a locale's catalogues, its parent's with them."""
    domains = (PROGRAM, PATTERNS)
    return tuple(f"texts:{folder}/LC_MESSAGES/{domain}.po" for folder in locale.fallbacks for domain in domains)


@cache
def program() -> str:
    """A hash of the program itself, of the libraries whose release shows on a page, and of what shapes letters."""
    package = Path(__file__).resolve().parents[1]
    digest = hashlib.sha256()
    for file in sorted(package.rglob("*")):
        if file.suffix in {".py", ".html", ".css", ".js", ".conf"}:
            digest.update(f"{file.relative_to(package)}\n".encode() + file.read_bytes())
    digest.update(json.dumps([[name, version(name)] for name in LIBRARIES] + [_loaded()]).encode())
    return digest.hexdigest()


def _loaded() -> list[str]:
    """Releases of the libraries of the system."""
    found = []
    for library, function in _LOADED:
        try:
            call = getattr(ctypes.CDLL(library), function)
        except (OSError, AttributeError):
            found.append("")
            continue
        call.restype = ctypes.c_char_p
        found.append(call().decode())
    return found
