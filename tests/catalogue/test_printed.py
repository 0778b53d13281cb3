"""The printed catalogue: right pages, right prices, every pattern where it belongs, each picture its own."""

import io
import itertools
import json
import re
import subprocess
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property
from pathlib import Path
from typing import Any

import numpy as np
import pikepdf
import pypdfium2 as pdfium
import pytest
from babel.numbers import format_currency
from PIL import Image

from pipeline.catalogue.make import Shelf, Subject, subject_of
from pipeline.catalogue.printed import Gallery, Printing, composed, gallery_of, make_printed
from pipeline.drawing.gallery import apart, own, views
from pipeline.drawing.outline import polyline
from pipeline.drawing.picture import Clipped, Layer, Line, Picture, Placed
from pipeline.files import check_file
from pipeline.language.habits import native, western
from pipeline.language.locales import LocaleInfo, load_locales
from pipeline.language.speech import load_speech
from pipeline.leaflet.entries import Printed
from pipeline.leaflet.markup import render_printed
from pipeline.publisher import Publisher
from pipeline.records import Photo
from pipeline.symbols import SymbolSet
from pipeline.workspace import shipped
from tests.listening import Leaflet, below

ROOT = Path(__file__).resolve().parent.parent.parent
DEMOS = sorted(file for file in (ROOT / "patterns").glob("*.yaml") if file.stem != "publisher")
PAPERS = {"en": "a4", "de": "letter", "ar": "a4", "ja": "a5"}
"""Catalogues by locale: scripts, directions and papers that differ."""
DAY = date(2026, 3, 14)
CHECKER = ROOT / ".venv-outloud" / "bin" / "outloud"
ALLOWED = {
    "LNK-010": "the publisher's contact is printed as it was written",
    "ORD-001": "blocks are painted in the order of CSS 2.2, appendix E; who listens follows the tree",
    "PAG-001": "numbers and prices of the first entries of pages stand in one place and look alike",
}
"""Warnings of the independent checker that may stand, each with the reason."""


def info(tag: str) -> LocaleInfo:
    """A shipped locale."""
    return load_locales([shipped("locales")])[tag]


@pytest.fixture(scope="module")
def shelf(symbols: SymbolSet) -> Shelf:
    """What the demos are made with, a publisher with terms among it."""
    publisher = Publisher(publisher="Example Press", contact="hello@press.example", terms=("sell-pieces", "no-copies"))
    return Shelf(symbols, publisher, (shipped("locales"),), ())


@pytest.fixture(scope="module")
def subjects(shelf: Shelf) -> list[Subject]:
    """All demos."""
    return [subject_of(check_file(file), shelf) for file in DEMOS]


@pytest.fixture(scope="module")
def gallery(subjects: list[Subject], shelf: Shelf) -> Gallery:
    """Their pictures."""
    return gallery_of(subjects, shelf)


@dataclass(frozen=True)
class Made:
    """A catalogue: what was to be printed, and the PDF."""

    printed: Printed
    data: bytes

    @cached_property
    def leaflet(self) -> Leaflet:
        """The PDF, listened to."""
        return Leaflet(render_printed(self.printed), self.data)

    @cached_property
    def pages(self) -> list[str]:
        """The text of every page, as letters stand in its tags, without white space."""
        texts = [""] * len(self.leaflet.pdf.pages)
        for index, page in enumerate(self.leaflet.painted):
            texts[index] = "".join(each.text for each in page if not each.artifact)
        return texts

    def text_of(self, element: Any) -> str:
        """What an element says, with its own place on a page."""
        said = []
        for part in (element, *below(element)):
            for kid in part.get("/K", []):
                if isinstance(kid, int):
                    index = self.leaflet.page_of[part.Pg.objgen]
                    said += [each.text for each in self.leaflet.painted[index] if each.number == kid]
        return "".join(said)

    def headings(self, level: str) -> list[tuple[str, int]]:
        """Headings of a level with the number of the page each stands on."""
        found = [element for element in self.leaflet.elements if level == element.S]
        return [(self.text_of(each), self.page_under(each)) for each in found]

    def page_under(self, element: Any) -> int:
        """The number of the page on which an element begins."""
        parts = [element, *below(element)]
        return (
            min(self.leaflet.page_of[part.Pg.objgen] for part in parts if any(isinstance(k, int) for k in part.K)) + 1
        )


@pytest.fixture(scope="module")
def made(subjects: list[Subject], shelf: Shelf, gallery: Gallery) -> Mapping[str, Made]:
    """Catalogues in four locales, made as a command makes them."""
    found = {}
    for tag, paper in PAPERS.items():
        printing = Printing(DAY, paper)
        ((name, data, problems),) = make_printed(subjects, shelf, [info(tag)], printing)
        assert name == f"catalogue.{tag}.{paper}.pdf"
        assert data is not None, problems
        printed = composed(subjects, load_speech(shelf.catalogues, info(tag)), printing, gallery)
        found[tag] = Made(printed, data)
    return found


@pytest.fixture(params=PAPERS)
def catalogue(made: Mapping[str, Made], request: pytest.FixtureRequest) -> Made:
    """One catalogue after the other."""
    return made[request.param]


def letters(text: str) -> str:
    """The letters of a text in no order: what runs from right to left is painted from left to right."""
    return "".join(sorted(re.sub("[\\s\u2010\u200e\u200f\u2066-\u2069]", "", text)))


def entry_pages(catalogue: Made) -> dict[str, int]:
    """By pattern, the page on which its entry stands: that of the heading with its title, after the contents."""
    headings = {letters(text): page for text, page in catalogue.headings("/H2")}
    return {entry.id: headings[letters(entry.title.text)] for entry in catalogue.printed.entries}


def test_contents_name_the_pages_of_the_entries(catalogue: Made) -> None:
    """Each row of the contents ends with the number of the page on which its entry or index stands, read from the PDF."""
    where = {letters(text): page for text, page in catalogue.headings("/H2")}
    table = next(element for element in catalogue.leaflet.elements if element.S == "/Table")
    rows = [row for row in below(table) if row.S == "/TR"][1:]
    assert len(rows) == len(catalogue.printed.entries) + len(catalogue.printed.indexes) + 1
    for row in rows:
        title, number = catalogue.text_of(row.K[0]), catalogue.text_of(row.K[-1])
        assert int(western(number)) == where[letters(title)], title


def test_indexes_name_the_pages_of_the_entries(catalogue: Made) -> None:
    """Every item of an index ends with the page of its pattern's entry, and there is an item for every mention."""
    pages = entry_pages(catalogue)
    mentions = [each for index in catalogue.printed.indexes for group in index.groups for each in group.mentions]
    items = [element for element in catalogue.leaflet.elements if element.S == "/LI"][: len(mentions)]
    assert len(items) == len(mentions) > 30
    for item, mention in zip(items, mentions, strict=True):
        said = catalogue.text_of(item)
        number = re.search(r"\d+$", said)
        assert number, said
        assert int(western(number[0])) == pages[mention.entry]
        assert letters(said[: number.start()]) == letters(mention.detail + mention.title.text)


def test_entries_stand_on_different_pages(catalogue: Made) -> None:
    """The pages that are compared differ, entries are in the order of their numbers, and the first comes after the cover."""
    pages = list(entry_pages(catalogue).values())
    assert pages == sorted(pages)
    assert len(set(pages)) > 2
    assert pages[0] > 1
    assert [entry.sku[-5:].strip("\u2068\u2069") for entry in catalogue.printed.entries] == sorted(
        entry.sku[-5:].strip("\u2068\u2069") for entry in catalogue.printed.entries
    )


def test_every_pattern_stands_once_in_every_group_it_belongs_to(catalogue: Made, subjects: list[Subject]) -> None:
    """By shape, size and level once; by technique once under each of its stitches, and under no other."""
    by_shape, by_size, by_level, by_technique = catalogue.printed.indexes
    ids = sorted(subject.pattern.id for subject in subjects)
    for index in (by_shape, by_size, by_level):
        assert sorted(each.entry for group in index.groups for each in group.mentions) == ids
    wanted = Counter((s.pattern.id, f"glyph-{done}") for s in subjects for done in {d.symbol for d in s.lace.rounds})
    found = Counter(
        (each.entry, group.mark.id) for group in by_technique.groups for each in group.mentions if group.mark
    )
    assert found == wanted
    levels = {each.entry: group.mark.id for group in by_level.groups for each in group.mentions if group.mark}
    assert levels == {subject.pattern.id: f"level-{subject.pattern.level}" for subject in subjects}
    shapes = {subject.pattern.id: subject.pattern.loom.shape for subject in subjects}
    assert all(len({shapes[each.entry] for each in group.mentions}) == 1 for group in by_shape.groups)
    assert len(by_shape.groups) == len(set(shapes.values()))
    widths = {s.pattern.id: max(2 * s.lace.loom.shape.bounds[1], 0) for s in subjects}
    across = [widths[each.entry] for each in by_size.groups[0].mentions]
    assert across == sorted(across)


@pytest.mark.parametrize("tag", PAPERS)
def test_prices_are_those_of_the_cldr(made: Mapping[str, Made], subjects: list[Subject], tag: str) -> None:
    """Each entry has its pattern's price as Babel writes it for the locale, and the PDF prints it."""
    catalogue = made[tag]
    prices = {subject.pattern.id: subject.pattern.price for subject in subjects}
    printed = "".join(catalogue.pages)
    for entry in catalogue.printed.entries:
        price = prices[entry.id]
        assert price is not None
        written = format_currency(price.amount, price.currency, locale=tag, numbering_system="default")
        assert entry.price.strip("\u2068\u2069") == written
        figures = re.sub(r"[^\d.,]", "", written)
        assert printed.count(figures) >= 2


def test_prices_have_the_digits_of_the_locale(shelf: Shelf, subjects: list[Subject], gallery: Gallery) -> None:
    """Where a locale has its own digits, prices, years, pins and pages have them; a currency has the places it has."""
    locale = replace(info("ar"), own_digits="arab")
    pattern = subjects[0].pattern
    price = pattern.price
    assert price is not None
    yen = price.model_copy(update={"amount": price.amount * 200, "currency": "JPY"})
    dear = replace(subjects[0], pattern=pattern.model_copy(update={"price": yen}))
    entry = composed([dear], load_speech(shelf.catalogues, locale), Printing(DAY, "a4"), gallery).entries[0]
    written = format_currency(yen.amount, "JPY", locale="ar", numbering_system="arab")
    assert entry.price.strip("\u2068\u2069") == native(written, "arab")
    assert native("1", "arab") in entry.price
    assert not re.search("[0-9]", entry.price)
    ((_, data, _),) = make_printed([dear], shelf, [locale], Printing(DAY, "a4"))
    assert data is not None
    text = "".join(page.get_textpage().get_text_range() for page in pdfium.PdfDocument(data))
    assert native("2026", "arab")[::-1] in text or native("2026", "arab") in text


def test_a_pattern_without_price_number_or_summary_has_an_entry(
    shelf: Shelf, subjects: list[Subject], gallery: Gallery
) -> None:
    """What a pattern leaves out is left out, and it stands after those with numbers."""
    bare = subjects[0].pattern.model_copy(update={"price": None, "sku": None, "summary": None})
    several = [replace(subjects[0], pattern=bare), *subjects[1:]]
    printed = composed(several, load_speech(shelf.catalogues, info("en")), Printing(DAY), gallery)
    assert (printed.entries[-1].id, printed.entries[-1].price, printed.entries[-1].sku) == (bare.id, "", "")
    assert "None" not in render_printed(printed)


def test_numbers_are_ordered_as_people_count(shelf: Shelf, subjects: list[Subject], gallery: Gallery) -> None:
    """XX-9 stands before XX-10."""
    numbers = ("XX-10", "XX-9", "XX-100")
    several = [
        replace(subject, pattern=subject.pattern.model_copy(update={"sku": sku}))
        for subject, sku in zip(subjects, numbers, strict=False)
    ]
    printed = composed(several, load_speech(shelf.catalogues, info("en")), Printing(DAY), gallery)
    assert [entry.sku for entry in printed.entries] == ["XX-9", "XX-10", "XX-100"]


def test_what_is_not_translated_says_its_language(shelf: Shelf, subjects: list[Subject]) -> None:
    """A pattern that no catalogue knows is in English in an Arabic catalogue, marked as such, and there is a note of it."""
    strange = replace(subjects[0], pattern=subjects[0].pattern.model_copy(update={"id": "unknown-lace", "sku": "AA-1"}))
    ((_, data, problems),) = make_printed([strange, subjects[1]], shelf, [info("ar")], Printing(DAY, "a4"))
    assert data is not None
    assert [problem.code for problem in problems] == ["text-untranslated"]
    pdf = pikepdf.open(io.BytesIO(data))
    elements = list(below(pdf.Root.StructTreeRoot))
    kinds = {str(element.S) for element in elements if str(element.get("/Lang", "")) == "en"}
    assert {"/H2", "/Figure", "/TH"} <= kinds


def test_layers_of_two_patterns_never_share_an_id(subjects: list[Subject]) -> None:
    """Every picture of every pattern, and every layer in it, has an id that no other pattern's has."""
    owners: dict[str, set[str]] = {}
    for subject in subjects:
        for picture in views(subject.pattern.id, subject.lace, subject.pattern.colours):
            layers = {item.layer.id for item in picture.items if isinstance(item, Placed)}
            for name in {picture.id, *layers}:
                owners.setdefault(name, set()).add(subject.pattern.id)
    assert len(owners) > 5 * len(subjects)
    assert all(len(those) == 1 for those in owners.values())


def test_layers_inside_a_frame_are_told_apart_too() -> None:
    """What is cut to a frame is renamed like everything else, and nothing else is changed."""
    dash = Placed(Layer("dash", polyline([(0, 0), (0, 3)])), 1.0, 1.0, 0.0, 0.0)
    rule = Line(polyline([(0, 0), (1, 1)]), 0.5)
    picture = Picture("p", 5.0, 5.0, (Clipped(polyline([(0, 0), (4, 0), (4, 4)], closed=True), (dash, rule)),))
    frame = apart(picture, "lace").items[0]
    assert isinstance(frame, Clipped)
    placed, same = frame.items
    assert isinstance(placed, Placed)
    assert placed.layer.id == "lace.dash"
    assert same is rule


def figures_of(page: pdfium.PdfPage, boxes: Sequence[Sequence[float]], side: int = 120) -> list[np.ndarray[Any, Any]]:
    """What stands in boxes of a page (pt from its foot), as grey pictures of one size."""
    scale = 3.0
    whole = page.render(scale=scale).to_pil().convert("L")
    height = page.get_height()
    return [
        np.asarray(
            whole.crop(tuple(round(x * scale) for x in (b[0], height - b[3], b[2], height - b[1]))).resize(
                (side, side)
            ),
            dtype=float,
        )
        for b in boxes
    ]


def test_every_view_looks_like_its_own_pattern(made: Mapping[str, Made], subjects: list[Subject], shelf: Shelf) -> None:
    """The view in an entry is that of a document which holds no other pattern, and unlike that of all others."""
    catalogue = made["en"]
    alt = catalogue.printed.entries[0].view.alt
    shown = [e for e in catalogue.leaflet.elements if e.S == "/Figure" and str(e.Alt) == alt]
    assert len(shown) == len(subjects)
    document = pdfium.PdfDocument(catalogue.data)
    pages = [catalogue.leaflet.page_of[e.Pg.objgen] for e in shown]
    together = [
        figures_of(document[page], [[float(x) for x in e.A.BBox]])[0] for page, e in zip(pages, shown, strict=True)
    ]
    by_id = {subject.pattern.id: subject for subject in subjects}
    alone = []
    for entry in catalogue.printed.entries:
        ((_, data, _),) = make_printed([by_id[entry.id]], shelf, [info("en")], Printing(DAY, "a4"))
        assert data is not None
        single = Leaflet("", data)
        figure = next(e for e in single.elements if e.S == "/Figure" and str(e.Alt) == alt)
        page = pdfium.PdfDocument(data)[single.page_of[figure.Pg.objgen]]
        alone.append(figures_of(page, [[float(x) for x in figure.A.BBox]])[0])
    apart_by = np.array([[np.abs(a - b).mean() for b in alone] for a in together])
    assert list(apart_by.argmin(axis=1)) == list(range(len(subjects)))
    assert apart_by.diagonal().max() < 6.0 < apart_by[~np.eye(len(subjects), dtype=bool)].min()


def test_the_same_patterns_give_the_same_bytes(made: Mapping[str, Made], subjects: list[Subject], shelf: Shelf) -> None:
    """Made again, from patterns in another order, after others: the same bytes; another day gives others."""
    ((_, again, _),) = make_printed(subjects[::-1], shelf, [info("en")], Printing(DAY, "a4"))
    ((_, later, _),) = make_printed(subjects, shelf, [info("en")], Printing(DAY.replace(year=2027), "a4"))
    assert again == made["en"].data
    assert later != again


def test_qpdf_finds_nothing(catalogue: Made, tmp_path: Path) -> None:
    """Qpdf --check is clean."""
    file = tmp_path / "catalogue.pdf"
    file.write_bytes(catalogue.data)
    done = subprocess.run(["qpdf", "--check", file], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr


def test_every_picture_has_words_and_says_where_it_is(catalogue: Made) -> None:
    """ISO 14289-1, 7.3: /Alt on every figure, and its /BBox inside its page."""
    figures = [element for element in catalogue.leaflet.elements if element.S == "/Figure"]
    assert len(figures) > 100
    for figure in figures:
        assert str(figure.Alt).strip()
        page = catalogue.leaflet.pdf.pages[catalogue.leaflet.page_of[figure.Pg.objgen]]
        left, bottom, right, top = map(float, page.MediaBox)
        box = [float(each) for each in figure.A.BBox]
        assert left <= box[0] < box[2] <= right
        assert bottom <= box[1] < box[3] <= top


def test_heads_of_the_contents_say_of_which_cells(catalogue: Made) -> None:
    """ISO 14289-1, 7.5: titles head their rows, price and page their columns, and a page number names both."""
    (table,) = [element for element in catalogue.leaflet.elements if element.S == "/Table"]
    heads = {str(cell.ID): str(cell.A.Scope) for cell in below(table) if cell.S == "/TH"}
    assert Counter(heads.values())["/Row"] == len(catalogue.printed.entries) + len(catalogue.printed.indexes) + 1
    for row in [row for row in below(table) if row.S == "/TR"][1:]:
        assert [heads[str(name)] for name in row.K[-1].A.Headers] == ["/Row", "/Column"]


def test_no_level_of_headings_is_skipped(catalogue: Made) -> None:
    """ISO 14289-1, 7.4.2: one H1, first; none is more than one below that before it."""
    levels = [int(str(e.S)[2:]) for e in catalogue.leaflet.elements if re.fullmatch("/H[1-6]", str(e.S))]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert 3 in levels
    assert all(after <= before + 1 for before, after in itertools.pairwise(levels))


def test_all_that_is_painted_is_told_or_left_out(catalogue: Made) -> None:
    """ISO 14289-1, 7.1: what is painted is content of the tree or an artifact."""
    assert catalogue.leaflet.pdf
    for page in catalogue.leaflet.painted:
        assert page
        assert [each for each in page if each.number is None and not each.artifact] == []


def test_the_foot_has_publisher_and_page_on_all_pages_but_the_cover(catalogue: Made) -> None:
    """Running feet are artifacts; the cover has none."""
    assert catalogue.leaflet.pdf
    total = len(catalogue.leaflet.painted)
    for number, page in enumerate(catalogue.leaflet.painted, 1):
        foot = "".join(each.text for each in page if each.artifact == "/Pagination/Footer")
        assert (f"{number}/{total}" in re.sub("[\\s\u2066-\u2069]", "", foot)) == (number > 1)
        assert ("ExamplePress" in re.sub(r"\s", "", foot)) == (number > 1)


def test_no_page_is_nearly_empty(catalogue: Made) -> None:
    """What is printed reaches down a third of every page, and no two lines of it apart by more than half."""
    for page in pdfium.PdfDocument(catalogue.data):
        grey = page.render(scale=0.5).to_numpy().min(axis=2)
        rows = np.flatnonzero((grey < 200).any(axis=1)) / len(grey)
        body = rows[rows < 0.88]
        assert body.max() > 0.33


def test_an_independent_checker_finds_no_error(
    made: Mapping[str, Made], tmp_path_factory: pytest.TempPathFactory
) -> None:
    """The rules of ISO 14289-1 and more, as outloud reads them: no error, and of warnings only those that may stand."""
    if not CHECKER.exists():
        pytest.fail("the checker of PDFs is not there: run build/setup, which makes .venv-outloud")
    folder = tmp_path_factory.mktemp("checked")
    files = [folder / f"{tag}.pdf" for tag in made]
    for file, each in zip(files, made.values(), strict=True):
        file.write_bytes(each.data)
    report = folder / "report.json"
    subprocess.run(
        [CHECKER, "--fail-on", "never", "--quiet", "--json", report, *files], check=True, stdout=subprocess.DEVNULL
    )
    results = json.loads(report.read_text(encoding="utf-8"))["results"]
    assert len(results) == len(files)
    for result in results:
        assert result["error"] is None
        found = {(each["severity"], each["rule"]) for each in result["findings"]}
        assert {rule for _, rule in found} <= set(ALLOWED), found
        assert {severity for severity, _ in found} <= {"warning"}


def test_the_file_stays_small(catalogue: Made) -> None:
    """Below 60 KiB a pattern, fonts with it, and without a pixel."""
    assert len(catalogue.data) < 60 * 1024 * len(catalogue.printed.entries)
    kinds = {str(o.get("/Subtype", "")) for o in catalogue.leaflet.pdf.objects if isinstance(o, pikepdf.Stream)}
    assert "/Image" not in kinds


def test_the_date_is_the_one_given(shelf: Shelf, subjects: list[Subject], gallery: Gallery) -> None:
    """The day stands on the cover as the locale writes it, and for programs as ISO 8601 does."""
    found = {
        tag: composed(subjects, load_speech(shelf.catalogues, info(tag)), Printing(DAY), gallery)
        for tag in ("en", "ja")
    }
    assert {tag: printed.issued for tag, printed in found.items()} == {"en": "March 14, 2026", "ja": "2026年3月14日"}
    assert {printed.iso_issued for printed in found.values()} == {"2026-03-14"}


def test_a_photograph_of_the_title_stands_in_its_entry(shelf: Shelf, subjects: list[Subject]) -> None:
    """It takes the place of the drawing, small, with its own words; the cover keeps the drawing; other photographs stay out."""
    kinds = {"photo-1": "steps", "photo-2": "title", "photo-3": "title"}
    photos = tuple(Photo(file="x.jpg", alt=f"Words of {name}", place=place) for name, place in kinds.items())
    noise = Image.fromarray(np.random.default_rng(1).integers(0, 255, (1400, 2000, 3), dtype=np.uint8))
    file = io.BytesIO()
    noise.save(file, "JPEG", quality=30)
    pattern = subjects[0].pattern.model_copy(update={"photos": photos})
    taken = replace(subjects[0], pattern=pattern, photos=dict.fromkeys(kinds, file.getvalue()))
    ((_, data, _),) = make_printed([taken, subjects[1]], shelf, [info("en")], Printing(DAY, "a4"))
    assert data is not None
    pdf = pikepdf.open(io.BytesIO(data))
    images = [o for o in pdf.objects if isinstance(o, pikepdf.Stream) and o.get("/Subtype") == "/Image"]
    assert [max(int(each.Width), int(each.Height)) < 600 for each in images] == [True]
    words = [str(e.Alt) for e in below(pdf.Root.StructTreeRoot) if e.S == "/Figure"]
    assert words.count("Words of photo-2") == 1
    assert not {"Words of photo-1", "Words of photo-3"} & set(words)
    assert words.count("The finished lace, seen from its right side") == 1


@pytest.mark.parametrize(("count", "shown"), [(1, 1), (2, 1), (3, 3), (5, 3), (6, 6), (9, 6)])
def test_a_cover_shows_a_handful(
    shelf: Shelf, subjects: list[Subject], gallery: Gallery, count: int, shown: int
) -> None:
    """One, three or six views, as there are patterns; each shape among the six."""
    printed = composed(subjects[:count], load_speech(shelf.catalogues, info("en")), Printing(DAY), gallery)
    assert len({view.picture.id for view in printed.views}) == len(printed.views) == shown
    if shown == 6:
        by_id = {own("portrait", s.pattern.id): s.pattern.loom.shape for s in subjects}
        assert {by_id[view.picture.id] for view in printed.views} == {
            by_id[own("portrait", s.pattern.id)] for s in subjects[:count]
        }
