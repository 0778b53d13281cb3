"""The publisher's file: what may stand in it, what of it is printed, and what is refused."""

import io
from collections.abc import Callable
from pathlib import Path
from xml.etree import ElementTree as ET

import pikepdf
import pypdfium2 as pdfium
import pytest
from click.testing import CliRunner, Result
from PIL import Image

from pipeline.cli import main
from pipeline.publisher import TERMS, contrast, parse
from pipeline.source import read

GOOD = """publisher: Thistledown Quay
contact: hello@thistledown-quay.example
copyright: © 2026 Thistledown Quay
licence: CC BY 4.0
logo: quay.svg
colours: {accent: "#1b4f72"}
terms: [sell-pieces, share-whole, name-publisher]
attach_source: true
"""
LOGO = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 30 10"><path fill="#1b4f72" d="M0 10 L15 0 L30 10 Z"/></svg>'
)
PATTERN = (Path(__file__).parent / "cases" / "good" / "harbour-wheel.yaml").read_text(encoding="utf-8")
Desk = Callable[..., Result]


@pytest.fixture
def desk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Desk:
    """A workspace with a pattern, a publisher and a logo; runs a command in it."""
    (tmp_path / "patterns").mkdir()
    (tmp_path / "patterns" / "harbour-wheel.yaml").write_text(PATTERN, encoding="utf-8")
    (tmp_path / "patterns" / "quay.svg").write_text(LOGO, encoding="utf-8")
    (tmp_path / "patterns" / "publisher.yaml").write_text(GOOD, encoding="utf-8")
    monkeypatch.chdir(tmp_path)

    def run(publisher: str = GOOD, *arguments: str) -> Result:
        Path("patterns/publisher.yaml").write_text(publisher, encoding="utf-8")
        command = arguments or ("leaflet", "patterns/harbour-wheel.yaml", "--locale", "en", "--out", "out")
        return CliRunner().invoke(main, list(command))

    return run


def leaflet() -> bytes:
    """The leaflet that was made."""
    return Path("out/harbour-wheel.en.a4.pdf").read_bytes()


def problems(text: str) -> list[tuple[str, int, int]]:
    """Codes and places of what is wrong with a publisher's file."""
    found = parse(read("publisher.yaml", text.encode()))[1]
    return [(problem.code, problem.span.line, problem.span.column) for problem in found]


def test_everything_a_publisher_says_is_printed(desk: Desk) -> None:
    """Name, contact, copyright, licence and every term stand in the leaflet's text; the logo stands for the name."""
    assert desk().exit_code == 0
    document = pdfium.PdfDocument(leaflet())
    text = " ".join(" ".join(page.get_textpage().get_text_range().split()) for page in document)
    for words in ("hello@thistledown-quay.example", "© 2026 Thistledown Quay", "CC BY 4.0", "What you may do",
                  "You may sell what you make from this pattern.", "please name Thistledown Quay."):  # fmt: skip
        assert words in text
    assert "Please do not copy" not in text


def test_every_term_has_words(desk: Desk) -> None:
    """Each id of the set is a sentence of its own in the leaflet."""
    seen = set()
    for term in TERMS:
        assert desk(f"publisher: Quay\nterms: [{term}]\n").exit_code == 0
        document = pdfium.PdfDocument(leaflet())
        text = " ".join(" ".join(page.get_textpage().get_text_range().split()) for page in document)
        seen.add(text.split("What you may do")[1].split("Quay")[0].strip())
    assert len(seen) == len(TERMS)


def test_a_logo_may_be_a_picture(desk: Desk) -> None:
    """A PNG is made ready as photographs are; the PDF has one image."""
    Image.new("RGBA", (300, 100), (20, 80, 120, 255)).save("patterns/quay.png")
    assert desk(GOOD.replace("quay.svg", "quay.png")).exit_code == 0
    with pikepdf.open(io.BytesIO(leaflet())) as pdf:
        images = [o for o in pdf.objects if isinstance(o, pikepdf.Stream) and o.get("/Subtype") == "/Image"]
    assert len(images) == 1


@pytest.mark.parametrize(
    ("name", "data", "code"),
    [
        ("gone.svg", None, "photo-missing"), ("../quay.svg", None, "photo-outside"), ("bad.svg", "<svg/>", "logo-unusable"),
        ("bad.svg", "<svg><script/></svg>", "logo-unusable"), ("bad.png", "no picture", "photo-unreadable"),
    ],
)  # fmt: skip
def test_a_logo_that_cannot_be_used_is_told_where_it_is_named(
    desk: Desk, name: str, data: str | None, code: str
) -> None:
    """Missing, outside the folder, not a drawing, with a script, not a picture: line 5, column 7, exit 1, no leaflet."""
    if data is not None:
        Path("patterns", name).write_text(data, encoding="utf-8")
    done = desk(GOOD.replace("quay.svg", name))
    assert done.exit_code == 1
    assert f"publisher.yaml:5:7: error[{code}]" in done.output
    assert "Traceback" not in done.output
    assert not Path("out").exists()


@pytest.mark.parametrize("name", ["gone.svg", "gone.png"])
def test_a_missing_logo_is_looked_for_beside_its_file(desk: Desk, name: str) -> None:
    """The hint speaks of the publisher's file and its line, not of photographs, whatever pictures stand there."""
    Image.new("RGB", (30, 30)).save("patterns/wheel.jpg")
    said = " ".join(desk(GOOD.replace("quay.svg", name)).output.split())
    assert "hint: put the file beside publisher.yaml, or delete the line" in said
    assert "wheel.jpg" not in said


@pytest.mark.parametrize("key", ["contact", "address", "copyright", "licence", "logo"])
def test_a_line_without_a_value_is_told(key: str) -> None:
    """What may be left out is left out with its key."""
    assert problems(f"publisher: Quay\n{key}:\n") == [("value-missing", 2, len(key) + 2)]


def test_two_things_wrong_are_both_told() -> None:
    """A colour too pale, terms that contradict one another, each at its place."""
    text = 'publisher: Quay\ncolours: {accent: "#ffcc00"}\nterms: [no-copies, name-publisher, share-whole]\n'
    assert problems(text) == [("colour-pale", 2, 19), ("terms-contrary", 3, 36)]


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("publisher: Quay\nterms: [sell-everything]\n", "not-one-of"), ("publisher: Quay\nlogos: a.svg\n", "key-unknown"),
        ("publisher: Quay\nattach_source: maybe\n", "not-true-or-false"), ("contact: x\n", "key-missing"),
        ("publisher: Quay\ncolours: {accent: blue}\n", "not-a-colour"),
    ],
)  # fmt: skip
def test_what_is_not_understood_is_told(text: str, code: str) -> None:
    """An unknown term, an unknown key, neither true nor false, no name, no colour."""
    assert code in {found[0] for found in problems(text)}


def test_contrast_is_the_standard_s() -> None:
    """WCAG 2.2: #767676 is the lightest grey with 4.5 to 1 on white (common practice, no source)."""
    assert contrast("#767676") >= 4.5 > contrast("#777777")


def test_the_accent_stands_on_the_page(desk: Desk) -> None:
    """The rule beside a term has the publisher's colour; without it ours."""
    colours = []
    for text in (GOOD, GOOD.replace('colours: {accent: "#1b4f72"}\n', "")):
        assert desk(text).exit_code == 0
        with pikepdf.open(io.BytesIO(leaflet())) as pdf:
            content = b"".join(page.Contents.read_bytes() for page in pdf.pages)
        colours.append(b"0.105882 0.309804 0.447059 rg" in content)
    assert colours == [True, False]


def test_the_pattern_is_attached_only_where_it_is_given_away(desk: Desk) -> None:
    """Its bytes as they are, under its name; the PDF has the same bytes twice."""
    assert desk().exit_code == 0
    first = leaflet()
    with pikepdf.open(io.BytesIO(first)) as pdf:
        (name,) = pdf.attachments
        assert name == "harbour-wheel.yaml"
        assert pdf.attachments[name].get_file().read_bytes().decode() == PATTERN
    assert desk().exit_code == 0
    assert leaflet() == first
    assert desk(GOOD.replace("attach_source: true", "attach_source: false")).exit_code == 0
    with pikepdf.open(io.BytesIO(leaflet())) as pdf:
        assert not pdf.attachments


def test_programs_are_told_edition_versions_and_rights(desk: Desk) -> None:
    """XMP, ISO 16684-1: one RDF; identifier, version and all versions with comments, publisher, rights, terms."""
    assert desk().exit_code == 0
    with pikepdf.open(io.BytesIO(leaflet())) as pdf:
        packet = ET.fromstring(pdf.Root.Metadata.read_bytes())  # noqa: S314 - of our own making
    spaces = {
        "rdf": "http://www.w3.org/1999/02/22-rdf-syntax-ns#", "dc": "http://purl.org/dc/elements/1.1/",
        "mm": "http://ns.adobe.com/xap/1.0/mm/", "ver": "http://ns.adobe.com/xap/1.0/sType/Version#",
        "rights": "http://ns.adobe.com/xap/1.0/rights/", "ua": "http://www.aiim.org/pdfua/ns/id/",
    }  # fmt: skip
    assert len(packet.findall("rdf:RDF", spaces)) == 1

    def texts(path: str) -> list[str | None]:
        return [found.text for found in packet.findall(f".//{path}", spaces)]

    assert texts("dc:identifier") == ["harbour-wheel"]
    assert texts("mm:VersionID") == ["2"]
    assert texts("ver:version") == ["2"]
    assert texts("ver:comments") == ["Round 3 was drawn one ray too far left."]
    assert texts("dc:publisher//rdf:li") == ["Thistledown Quay"]
    assert texts("dc:rights//rdf:li") == ["© 2026 Thistledown Quay CC BY 4.0"]
    assert "You may sell" in str(texts("rights:UsageTerms//rdf:li")[0])
    assert b'pdfuaid:part="1"' in ET.tostring(packet) or packet.findall(".//*[@{http://www.aiim.org/pdfua/ns/id/}part]")
