"""The wordless edition: no words on its pages, and its rounds can be read off them."""

import random
import re
from collections.abc import Callable
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pypdfium2 as pdfium
import pytest
from click.testing import CliRunner

from pipeline import cli
from pipeline.craft.assembly import Lace
from pipeline.files import check_file
from pipeline.language.locales import load_locales
from pipeline.language.speech import load_speech
from pipeline.leaflet.compose import compose
from pipeline.leaflet.markup import render
from pipeline.leaflet.steps import Told
from pipeline.leaflet.wordless import UNITS, wordless
from pipeline.notation import Figure, Sign, Token, read, write
from pipeline.symbols import SymbolSet
from pipeline.units import rounded
from pipeline.workspace import shipped
from tests.test_notation import as_read, random_pattern

PlaceTree = Callable[[dict[str, Any]], Lace]
DEMOS = sorted(file for file in (shipped("symbols").parent / "patterns").glob("*.yaml") if file.stem != "publisher")


@pytest.mark.parametrize("demo", DEMOS[:3], ids=lambda file: file.stem)
def test_there_are_no_words_on_its_pages(demo: Path, tmp_path: Path) -> None:
    """All text of the PDF: the title taken out, no letters are left but units and threads' letters."""
    result = CliRunner().invoke(cli.main, ["leaflet", str(demo), "--wordless", "--out", str(tmp_path)])
    assert result.exit_code == 0, result.output
    pattern = check_file(demo).pattern
    assert pattern
    pages = pdfium.PdfDocument(tmp_path / f"{demo.stem}.wordless.a4.pdf")
    text = " ".join(page.get_textpage().get_text_range() for page in pages).replace(pattern.title, "")
    words = set(re.findall(r"[^\W\d_]+", text))
    assert words <= {*UNITS, *pattern.threads}
    assert "mm" in words


class Decoder(HTMLParser):
    """Reads glyph ids and figures of the notation lines, and nothing else."""

    def __init__(self) -> None:
        super().__init__()
        self.lines: list[list[Token]] = []
        self.inside = False
        self.role = ""
        self.number = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        told = dict(attrs)
        kind = told.get("class") or ""
        if tag == "h3":
            self.role = "number"
        elif tag == "p" and kind == "line":
            self.inside = True
            self.lines.append([Figure(self.number, "number")])
        elif self.inside and tag == "img":
            self.lines[-1].append(Sign(str(told["src"]).removeprefix("stamp:glyph-")))
        elif self.inside and tag == "span":
            self.role = kind if kind != "pair" else ""

    def handle_endtag(self, tag: str) -> None:
        self.role = ""
        self.inside = self.inside and tag != "p"

    def handle_data(self, data: str) -> None:
        if self.role == "number":
            self.number = data
        elif self.inside and self.role:
            self.lines[-1].append(Figure(data, self.role))


def test_its_rounds_are_read_off_its_pages(symbols: SymbolSet, place_tree: PlaceTree, example: dict[str, Any]) -> None:
    """A thousand random patterns: glyph ids and numerals of the wordless pages give every round again."""
    chance = random.Random(20261125)  # noqa: S311
    locale = load_locales([shipped("locales")])["en"]
    speech = load_speech([shipped("locales")], locale)
    pattern = check_file(DEMOS[0]).pattern
    assert pattern
    rounds = 0
    for _ in range(1000):
        tree = random_pattern(chance, example)
        lace = place_tree(tree)
        entries = tuple(pattern.rounds[0] for _ in tree["rounds"])
        threads = {letter: next(iter(pattern.threads.values())) for letter in lace.threads}
        told = Told(
            pattern.model_copy(update={"rounds": entries, "threads": threads, "sizes": (), "assembly": None}),
            lace, write(lace), symbols, speech,
        )  # fmt: skip
        decoder = Decoder()
        decoder.feed(render(wordless(compose(told, None, ["chart"]), 1)))
        thicknesses = {name: float(rounded(thread.thickness, 2)) for name, thread in lace.threads.items()}
        found = read(decoder.lines, symbols, thicknesses)
        expected = tuple(as_read(done, len(lace.threads)) for done in lace.rounds)
        assert [(one.stitch, one.items, one.times, one.radii, one.threads, one.part) for one in found] == [
            (one.stitch, one.items, one.times, one.radii, one.threads, one.part) for one in expected
        ]
        rounds += len(found)
    assert rounds > 1500


def test_either_words_or_none(tmp_path: Path) -> None:
    """A locale and no words at once, or neither, is wrong use."""
    for options in (["--wordless", "--locale", "en"], []):
        assert CliRunner().invoke(cli.main, ["leaflet", str(DEMOS[0]), *options, "--out", str(tmp_path)]).exit_code == 2
