"""Logos and photographs that would run, fetch, hide or blow up: refused where they are named, or nothing but a picture."""

import io
import struct
import time
import zlib
from pathlib import Path

import pytest
from PIL import Image, PngImagePlugin

from pipeline.catalogue.shelf import BrokenShelf, load_shelf
from pipeline.drawing.export import export
from pipeline.drawing.logo import LogoUnusable, logo
from pipeline.files import check_file
from pipeline.photos import BOXES_MM, ready
from pipeline.workspace import Workspace
from tests.hostile.conftest import Write

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" viewBox="0 0 100 50">'
SHAPE = '<path fill="#1b4f72" d="M0 10 L15 0 L30 10 Z"/>'
LAUGHS = (
    '<!DOCTYPE svg [<!ENTITY a0 "ha">'
    + "".join(f'<!ENTITY a{i} "{f"&a{i - 1};" * 10}">' for i in range(1, 9))
    + "]><svg><title>&a8;</title></svg>"
)
OUTSIDE = '<!DOCTYPE svg [<!ENTITY a SYSTEM "file:///etc/hostname">]><svg><title>&a;</title></svg>'
PARAMETER = '<!DOCTYPE svg [<!ENTITY % a SYSTEM "https://evil.example/a.dtd"> %a;]><svg/>'
HARMFUL = {
    "script": "<script>alert(1)</script>",
    "script of another prefix": '<s:script xmlns:s="http://www.w3.org/2000/svg">alert(1)</s:script>',
    "script by address": '<script href="https://evil.example/a.js"/>',
    "handler": '<rect width="9" height="9" onload="alert(1)"/>',
    "handler of the whole": '<g onclick="alert(1)"><rect width="9" height="9"/></g>',
    "animation": '<rect width="9" height="9"><set attributeName="href" to="javascript:alert(1)"/></rect><animate/>',
    "link": '<a href="javascript:alert(1)"><rect width="9" height="9"/></a>',
    "picture": '<image href="https://evil.example/a.png" width="9" height="9"/>',
    "file": '<image xlink:href="file:///etc/hostname" width="9" height="9"/>',
    "use": '<use href="https://evil.example/a.svg#b"/>',
    "use of data": '<use href="data:image/svg+xml;base64,PHN2Zy8+#a"/>',
    "address of a shape": '<rect width="9" height="9" xlink:href="https://evil.example"/>',
    "fill by address": '<rect width="9" height="9" fill="url(https://evil.example/a.svg#b)"/>',
    "style": "<style>@import url(https://evil.example/a.css); rect { fill: url(#a) }</style>",
    "style of a shape": '<rect width="9" height="9" style="background: url(https://evil.example)"/>',
    "foreign": '<foreignObject width="9" height="9"><iframe xmlns="http://www.w3.org/1999/xhtml" src="//evil.example"/></foreignObject>',
    "mask": '<rect width="9" height="9" mask="url(#a)"/>',
    "filter": '<filter id="a"><feImage href="https://evil.example/a.png"/></filter>',
    "text": "<text>Quay</text>",
    "base": '<g xml:base="https://evil.example/"><rect width="9" height="9"/></g>',
}


def drawn(body: str) -> bytes:
    """An SVG file with a shape, and this."""
    return f"{HEAD}{SHAPE}{body}</svg>".encode()


@pytest.mark.parametrize("name", HARMFUL)
def test_what_runs_or_fetches_is_refused(name: str) -> None:
    """Beside a sound shape, so that it is that which is refused."""
    logo(drawn(""))
    with pytest.raises(LogoUnusable):
        logo(drawn(HARMFUL[name]))


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16", "utf-16-le", "utf-16-be"])
@pytest.mark.parametrize("text", [LAUGHS, OUTSIDE, PARAMETER], ids=["laughs", "outside", "parameter"])
def test_a_document_type_is_refused_in_whatever_letters(text: str, encoding: str) -> None:
    """No entity is written out or fetched, also where no byte looks like a declaration."""
    began = time.process_time()
    mark = "\ufeff" if encoding.startswith("utf-16-") else ""
    with pytest.raises(LogoUnusable) as refused:
        logo(f'{mark}<?xml version="1.0" encoding="{encoding[:6]}"?>{text}'.encode(encoding))
    assert refused.value.reason == "it declares a document type or entities"
    assert time.process_time() - began < 1


@pytest.mark.parametrize("name", ["rot13", "hex", "zlib", "idna", "utf-7", "undefined", "no such", "punycode"])
def test_an_encoding_that_is_none_is_refused(name: str) -> None:
    """A codec of the language that is none of text, one of many bytes, one that nobody knows."""
    with pytest.raises(LogoUnusable, match="it is not SVG"):
        logo(f'<?xml version="1.0" encoding="{name}"?>{HEAD}{SHAPE}</svg>'.encode())


@pytest.mark.parametrize(
    "body",
    [
        "<g>" * 20_000 + SHAPE + "</g>" * 20_000, '<path d="M0 0' + "A1e308 1e-308 0 0 1 9 9" * 3000 + 'Z"/>',
        '<circle r="inf"/>', '<rect width="nan" height="9"/>', '<rect x="-1e308" width="1e308" height="9"/><rect x="1e308" width="1e308" height="9"/>',
        '<path d="' + "1" * 190_000 + '"/>', '<polygon points="' + " " * 190_000 + '"/>',
        '<path d="M0 0 L' + "9" * 190_000 + ' 9 Z"/>', "<rect " + " ".join(f'a{n}=""' for n in range(20_000)) + "/>",
    ],
    ids=["deep", "arcs", "endless", "no number", "far", "digits", "spaces", "long", "attributes"],
)  # fmt: skip
def test_what_blows_up_is_refused_soon(body: str) -> None:
    """Depth, arcs through nothing, numbers without end, much of everything."""
    began = time.process_time()
    with pytest.raises(LogoUnusable):
        logo(drawn(body))
    assert time.process_time() - began < 2


def test_what_stands_beside_the_shapes_is_not_in_the_drawing() -> None:
    """Titles, descriptions and metadata may say anything: what is drawn has shapes and nothing else."""
    words = "<metadata><script>alert(1)</script><a href='javascript:x'/></metadata><title>&lt;script&gt;</title>"
    made = export(logo(drawn(words)), "svg").decode()
    assert "alert" not in made
    assert "javascript" not in made
    assert made.count("<script") == 0
    assert export(logo(drawn(words)), "svg") == export(logo(drawn("")), "svg")


@pytest.mark.parametrize(
    ("name", "data", "code"),
    [
        ("logo.svg", b"\x89PNG\r\n\x1a\n", "logo-unusable"), ("logo.svg", b"<html><script/></html>", "logo-unusable"),
        ("logo.svg", b"\x1f\x8b\x08\x00" + b"\x00" * 20, "logo-unusable"), ("logo.svg", b"", "logo-unusable"),
        ("logo.png", f"{HEAD}{SHAPE}</svg>".encode(), "photo-unreadable"), ("logo.PDF", b"%PDF-1.7", "photo-unreadable"),
        ("logo.eps", b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 9 9\n", "photo-format"),
        ("https://evil.example/logo.svg", None, "photo-missing"), ("file:///etc/hostname", None, "photo-missing"),
        ("data:image/svg+xml,<svg/>", None, "photo-missing"), ("../../secret/secret.yaml", None, "photo-outside"),
        ("/etc/hostname", None, "photo-outside"), ("\\\\server\\share\\logo.svg", None, "photo-outside"),
        ("C:logo.svg", None, "photo-outside"), ("logo.svg\u200b", None, "photo-missing"),
    ],
)  # fmt: skip
def test_a_logo_is_what_it_is_called_and_where_it_may_be(shop: Path, name: str, data: bytes | None, code: str) -> None:
    """Another kind of file, an address, a path: told at its name; nothing is fetched, no other program is asked."""
    (shop / "patterns" / "publisher.yaml").write_text(f"publisher: Quay\nlogo: '{name}'\n", encoding="utf-8")
    if data is not None:
        (shop / "patterns" / name).write_bytes(data)
    with pytest.raises(BrokenShelf) as caught:
        load_shelf(Workspace(shop))
    assert [(problem.code, problem.span.line) for problem in caught.value.problems] == [(code, 2)]


def png(*chunks: tuple[bytes, bytes], end: bool = True) -> bytes:
    """A PNG file of these chunks."""
    made = [
        struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data)) for kind, data in chunks
    ]
    return b"\x89PNG\r\n\x1a\n" + b"".join(made) + (struct.pack(">I", 0) + b"IEND\xaeB`\x82" if end else b"")


def header(width: int, height: int) -> tuple[bytes, bytes]:
    """Grey of a byte."""
    return b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)


BOMB = zlib.compress(b"\x00" * 300_000_000, 9)
"""Three hundred megabytes, three hundred thousand bytes long."""
LINES = zlib.compress(b"\x00" * (65 * 64))


@pytest.mark.parametrize(
    ("data", "code"),
    [
        (png(header(50_000, 50_000), (b"IDAT", BOMB)), "photo-too-large"),
        (png(header(2**31 - 1, 2**31 - 1), (b"IDAT", LINES)), "photo-too-large"),
        (png(header(0, 64), (b"IDAT", LINES)), "photo-unreadable"),
        (png(header(64, 64), (b"IDAT", LINES), (b"zTXt", b"a\0\0" + BOMB)), "photo-unreadable"),
        (png(header(64, 64), (b"iCCP", b"a\0\0" + BOMB), (b"IDAT", LINES)), "photo-unreadable"),
        (png(header(64, 64), (b"IDAT", BOMB)), "photo-coarse"),
        (png(header(64, 64), (b"IDAT", LINES), end=False), "photo-unreadable"),
        (png((b"IDAT", LINES), header(64, 64)), "photo-unreadable"),
        (png(header(64, 64)), "photo-unreadable"),
        (b"II*\x00" + b"\xff" * 4, "photo-unreadable"), (b"RIFF\xff\xff\xff\xffWEBPVP8X", "photo-unreadable"),
        (b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 9 9\nquit\n", "photo-format"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "photo-unreadable"),
    ],
    ids=["vast", "vaster", "flat", "text", "profile", "more than is said", "no end", "order", "nothing", "tiff", "webp",
         "postscript", "svg"],
)  # fmt: skip
def test_a_picture_that_swells_or_lies_is_refused_or_small(write: Write, data: bytes, code: str) -> None:
    """Told at its name, soon; what is no more than coarse is a small JPEG of nothing but its pixels."""
    began = time.process_time()
    file = write(photos=[{"file": "a.png", "alt": "a"}])
    file.with_name("a.png").write_bytes(data)
    found = check_file(file)
    assert [(problem.code, problem.path) for problem in found.problems] == [(code, "photos[0].file")]
    if found.ok:
        made = ready(data, BOXES_MM["title"])
        assert len(made) < 2000
        assert Image.open(io.BytesIO(made)).size == (64, 64)
    assert time.process_time() - began < 2


@pytest.mark.parametrize("ending", ["png", "jpg", "svg", "exe", "yaml", ""])
def test_a_photograph_is_known_by_what_is_in_it(write: Write, ending: str) -> None:
    """Whatever its name ends in; what is made of it is a JPEG that says nothing of the file."""
    more = PngImagePlugin.PngInfo()
    more.add_text("Comment", "<script>alert(1)</script>")
    held = io.BytesIO()
    Image.new("RGB", (1100, 800), "#1b4f72").save(held, "PNG", pnginfo=more)
    file = write(photos=[{"file": f"a.{ending}", "alt": "a"}])
    file.with_name(f"a.{ending}").write_bytes(held.getvalue() + b"<script>alert(1)</script>")
    assert check_file(file).problems == ()
    made = ready(file.with_name(f"a.{ending}").read_bytes(), BOXES_MM["title"])
    assert made.startswith(b"\xff\xd8\xff")
    assert b"script" not in made
