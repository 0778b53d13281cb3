"""Sound files to begin with, reader by reader: the demos, the cases, what is shipped, and small files made here."""

import io
import sqlite3
import tempfile
from collections.abc import Callable, Iterator, Mapping
from contextlib import closing
from functools import cache
from pathlib import Path

from fontTools.subset import Subsetter
from fontTools.ttLib import TTFont
from PIL import Image, ImageCms

from pipeline.catalogue.ledger import Entry, Ledger, read_hash
from pipeline.catalogue.pictures import Pictures
from pipeline.drawing.operators import Operators
from pipeline.files import check_file
from pipeline.language.fonts import find_fonts
from pipeline.notation import Sign, Token, write

ROOT = Path(__file__).resolve().parents[2]
CASES = ROOT / "tests" / "cases"
LARGEST = 30_000
"""Bytes of a seed: what is small is soon read, and soon changed where it matters."""


def _bytes_of(*patterns: str) -> Iterator[bytes]:
    for pattern in patterns:
        for file in sorted(ROOT.glob(pattern)):
            data = file.read_bytes()
            if len(data) <= LARGEST:
                yield data


def _demos() -> Iterator[Path]:
    yield from (file for file in sorted((ROOT / "patterns").glob("*.yaml")) if file.stem != "publisher")


def _publishers() -> Iterator[bytes]:
    yield from _bytes_of("patterns/publisher.yaml")
    yield b'publisher: Quay\naddress: https://quay.example\nlicence: CC BY 4.0\ncolours: {accent: "#1b4f72"}\n'
    yield b"publisher: Quay\nterms: [sell-pieces, share-whole]\nattach_source: true\n"


def _logos() -> Iterator[bytes]:
    yield from _bytes_of("patterns/*.svg")
    yield (
        b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 30 10"><title>Quay</title><g fill="#1b4f72">'
        b'<path d="M0 10 L15 0 A5 5 0 0 1 30 10 Z"/><rect x="1" y="1" width="9" height="5" rx="1"/>'
        b'<circle cx="5" cy="5" r="3" fill="#fff"/><ellipse cx="9" cy="4" rx="3" ry="2"/>'
        b'<polygon points="0,0 4,0 4,4"/></g></svg>'
    )


def _photos() -> Iterator[bytes]:
    yield from _bytes_of("tests/cases/check/photos/*")
    exif = Image.Exif()
    exif[0x0112] = 6
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    for kind, modes in (
        ("PNG", ("1", "L", "LA", "P", "RGB", "RGBA", "I;16")),
        ("JPEG", ("L", "RGB", "CMYK")),
        ("TIFF", ("1", "L", "RGB", "CMYK", "LAB", "I;16", "F")),
        ("WEBP", ("RGB", "RGBA")),
    ):
        for mode in modes:
            made = io.BytesIO()
            Image.linear_gradient("L").resize((24, 16)).convert("RGB").convert(
                mode if mode not in {"LAB", "I;16", "F"} else "L"
            ).convert(mode if mode != "LAB" else "L").save(made, kind, exif=exif, icc_profile=profile)
            yield made.getvalue()


def _catalogues() -> Iterator[bytes]:
    for data in _bytes_of("locales/*/LC_MESSAGES/patterns.po"):
        yield b"\n\n".join(data.split(b"\n\n")[:4]) + b"\n"
    for data in (file.read_bytes() for file in sorted(ROOT.glob("locales/*/LC_MESSAGES/spokeleaf.po"))):
        head, *entries = data.split(b"\n\n")
        plural = [entry for entry in entries if b"msgid_plural" in entry]
        yield b"\n\n".join([head, *entries[:3], *plural[:2]]) + b"\n"


def _fonts() -> Iterator[bytes]:
    for text in ("Knot", ""):
        with TTFont(find_fonts("Latn", ()).files[0].path) as font:
            subsetter = Subsetter()
            subsetter.populate(text=text)
            subsetter.subset(font)
            made = io.BytesIO()
            font.save(made)
        yield made.getvalue()


def _notations() -> Iterator[bytes]:
    for file in _demos():
        lace = check_file(file).lace
        assert lace
        yield "\n".join("\t".join(map(_spelled, line.tokens)) for line in write(lace)).encode()


def _spelled(token: Token) -> str:
    return f"[{token.id}]" if isinstance(token, Sign) else f"{token.role}:{token.text}"


def _ledgers() -> Iterator[bytes]:
    """One of many entries and one of none; as they stand when a run has ended."""
    with tempfile.TemporaryDirectory() as name:
        for count in (0, 40):
            file, leaflet = Path(name) / f"{count}", Path(name) / "leaflet.pdf"
            leaflet.write_bytes(b"leaflet")
            digest = read_hash(leaflet)
            with Ledger(file) as ledger:
                for number in range(count):
                    asked = tuple(("patterns", "first-frost", f"Text {each}") for each in range(number))
                    ledger.put(f"first-frost.{number}.a4.pdf", Entry(("a", "b"), "c", "d", asked, "e", digest), leaflet)
                ledger.hash_of(leaflet)
            with closing(sqlite3.connect(file)) as base:
                base.execute("pragma journal_mode=delete")
            yield file.read_bytes()


def _pictures() -> Iterator[bytes]:
    with tempfile.TemporaryDirectory() as name:
        layer = Operators("layer", 10.0, 5.0, b"0 0 m 1 1 l S", 1.0, ())
        Pictures(Path(name)).save("abcdef", [Operators("chart", 10.0, 5.0, b"q Q", 1.0, (layer,))])
        yield (Path(name) / "ab" / "cdef").read_bytes()


_SEEDS: Mapping[str, Callable[[], Iterator[bytes]]] = {
    "pattern": lambda: _bytes_of("patterns/*.yaml", "tests/cases/*/*.yaml", "pipeline/starting/starts/*.yaml"),
    "symbol": lambda: _bytes_of("symbols/*.yaml", "tests/cases/check/*symbol*.yaml"),
    "loom": lambda: _bytes_of("patterns/looms/*.yaml", "tests/cases/workspace/patterns/looms/*.yaml"),
    "publisher": _publishers,
    "logo": _logos,
    "photo": _photos,
    "locale": lambda: _bytes_of("locales/*/locale.yaml"),
    "glossary": lambda: _bytes_of("locales/*/glossary.yaml"),
    "catalogue": _catalogues,
    "font": _fonts,
    "notation": _notations,
    "length": lambda: iter([b"12 mm", b"0.5 in", b"35%", b"1.2cm", b"60tex", b"Nm 50", b"180 denier"]),
    "query": lambda: iter([b"pattern=low-sun&locale=de&paper=a5", b"pins=60&diameter=84.5&thread-A=0.3"]),
    "ledger": _ledgers,
    "pictures": _pictures,
}


@cache
def seeds(reader: str) -> tuple[bytes, ...]:
    """The seeds of a reader, the same every time."""
    return tuple(_SEEDS[reader]())
