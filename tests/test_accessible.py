"""What a leaflet tells those who listen to it: tags, languages, places, order. ISO 14289-1:2014 (PDF/UA-1), ISO 32000-1.

What a claim rests on is asked twice: by an independent checker, which stands in an environment of its own, and by our
own assertions. Clauses are given from memory.
"""

import itertools
import json
import re
import subprocess
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pikepdf
import pytest
from click.testing import CliRunner

from pipeline.cli import main
from pipeline.drawing.outline import polyline
from pipeline.drawing.picture import Line, Picture
from pipeline.language.fonts import find_fonts
from pipeline.leaflet.papers import PAPERS
from pipeline.typeset import press, stamps, typeset_markup
from tests.listening import UNSEEN, Leaflet, below, letters_of, said_by

ROOT = Path(__file__).resolve().parent.parent
CHECKER = ROOT / ".venv-outloud" / "bin" / "outloud"
HARBOUR = ROOT / "tests" / "cases" / "good" / "harbour-wheel.yaml"
MORE = 'links: [{url: "https://example.org/harbour", label: Corrections}]\nsizes: [{name: S, loom: {diameter: 70 mm, pins: 48}}]\n'

KINDS: Mapping[str, tuple[str, ...]] = {
    "en": ("first-frost", "--locale", "en", "--paper", "a4"),
    "ar": ("first-frost", "--locale", "ar", "--paper", "a4"),
    "ja": ("first-frost", "--locale", "ja", "--paper", "a4"),
    "hi": ("first-frost", "--locale", "hi", "--paper", "a4"),
    "a5": ("first-frost", "--locale", "en", "--paper", "a5"),
    "left-handed": ("low-sun", "--locale", "en", "--left-handed", "--paper", "a4"),
    "wordless": ("low-sun", "--wordless", "--paper", "a4"),
    "mat": ("drift-ice", "--locale", "es", "--paper", "a4"),
    "wordless-mat": ("drift-ice", "--wordless", "--paper", "a4"),
    "untranslated": ("harbour-wheel", "--locale", "es", "--paper", "a4"),
}
"""Leaflets that differ in script, direction, paper, hand, words, sizes, assembly, languages and links."""

ALLOWED = {
    "FIG-012": "words without spaces, and figures with their isolates, count as no language in Arabic, Hindi and Japanese",
    "HDG-010": "a step is headed by its number, which is all a wordless reader has too",
    "LNK-010": "the publisher's contact is printed as it was written",
    "ORD-001": "blocks are painted in the order of CSS 2.2, appendix E; who listens follows the tree (ISO 32000-1, 14.8.2.3)",
    "TXT-004": "of several glyphs of one letter all but the first stand for a word joiner; the text is said beside them",
}
"""Warnings of the checker that may stand, each with the reason."""

ONLY = {"FIG-012": {"ar", "hi", "ja"}, "TXT-004": {"hi"}}
"""In which leaflets, if not in all."""


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Mapping[str, Leaflet]:
    """The leaflets, made as a user makes them."""
    folder = tmp_path_factory.mktemp("accessible")
    (folder / HARBOUR.name).write_text(HARBOUR.read_text(encoding="utf-8") + MORE, encoding="utf-8")
    pages: list[tuple[str, bytes]] = []

    def noted(markup: str, *how: Any) -> bytes:
        pages.append((markup, typeset_markup(markup, *how)))
        return pages[-1][1]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("pipeline.catalogue.make.typeset_markup", noted)
        for name, *options in KINDS.values():
            file = folder / HARBOUR.name if name == HARBOUR.stem else ROOT / "patterns" / f"{name}.yaml"
            done = CliRunner().invoke(main, ["leaflet", str(file), *options, "--out", str(folder / "out")])
            assert done.exit_code == 0, done.output
    return {kind: Leaflet(*each) for kind, each in zip(KINDS, pages, strict=True)}


@pytest.fixture(scope="module")
def findings(made: Mapping[str, Leaflet], tmp_path_factory: pytest.TempPathFactory) -> Mapping[str, Any]:
    """What the checker says of every leaflet."""
    if not CHECKER.exists():
        pytest.fail("the checker of PDFs is not there: run build/setup, which makes .venv-outloud")
    folder = tmp_path_factory.mktemp("checked")
    files = [folder / f"{kind}.pdf" for kind in made]
    for file, leaflet in zip(files, made.values(), strict=True):
        file.write_bytes(leaflet.data)
    report = folder / "report.json"
    subprocess.run(
        [CHECKER, "--fail-on", "never", "--quiet", "--json", report, *files], check=True, stdout=subprocess.DEVNULL
    )
    results = json.loads(report.read_text(encoding="utf-8"))["results"]
    return {Path(result["path"]).stem: result for result in results}


@pytest.fixture(params=KINDS)
def leaflet(made: Mapping[str, Leaflet], request: pytest.FixtureRequest) -> Leaflet:
    """One leaflet after the other."""
    return made[request.param]


@pytest.mark.parametrize("kind", KINDS)
def test_an_independent_checker_finds_no_error(findings: Mapping[str, Any], kind: str) -> None:
    """The rules of ISO 14289-1 and more, as outloud reads them: no error, and of warnings only those that may stand."""
    result = findings[kind]
    assert result["error"] is None
    states = [rule["status"] for rule in result["rules"]]
    assert "crashed" not in states
    assert states.count("ran") > 40
    errors = [found for found in result["findings"] if found["severity"] == "error"]
    assert errors == []
    allowed = [rule for rule in ALLOWED if kind in ONLY.get(rule, KINDS)]
    assert [found for found in result["findings"] if found["rule"] not in allowed] == []


def test_no_warning_is_allowed_for_nothing(findings: Mapping[str, Any]) -> None:
    """Every warning that may stand does, in some leaflet."""
    assert {found["rule"] for result in findings.values() for found in result["findings"]} == set(ALLOWED)


def test_the_document_says_what_it_is(leaflet: Leaflet) -> None:
    """ISO 14289-1, clause 5 and 7.1, 7.2: part 1 in the XMP, tagged, a tree, a language, a title that is shown."""
    root = leaflet.pdf.Root
    assert str(root.Lang) == re.search('<html lang="([^"]+)"', leaflet.markup)[1]  # type: ignore[index]
    assert root.MarkInfo.Marked is True
    assert not root.MarkInfo.get("/Suspects", False)
    assert root.StructTreeRoot.K[0].S == "/Document"
    assert root.ViewerPreferences.DisplayDocTitle is True
    title = str(leaflet.pdf.docinfo["/Title"])
    assert title
    with leaflet.pdf.open_metadata() as metadata:
        assert metadata["pdfuaid:part"] == "1"
        assert metadata["dc:title"] == title


def test_every_picture_has_words_and_says_where_it_is(leaflet: Leaflet) -> None:
    """ISO 14289-1, 7.3: /Alt on every figure; ISO 32000-1, 14.8.5.4.3: its /BBox on its page, just where it is drawn."""
    figures = [element for element in leaflet.elements if element.S == "/Figure"]
    assert len(figures) > 20
    for figure in figures:
        assert str(figure.Alt).strip()
        index = leaflet.page_of[figure.Pg.objgen]
        box = [float(each) for each in figure.A.BBox]
        left, bottom, right, top = map(float, leaflet.pdf.pages[index].MediaBox)
        assert left <= box[0] < box[2] <= right
        assert bottom <= box[1] < box[3] <= top
        assert leaflet.places[index, int(figure.K[0])] == pytest.approx(box, abs=0.02)


def test_every_head_of_a_table_says_of_which_cells(leaflet: Leaflet) -> None:
    """ISO 14289-1, 7.5: /Scope on every head; cells name heads that there are; a table without heads is none."""
    tables = [element for element in leaflet.elements if element.S == "/Table"]
    cells = [element for table in tables for element in below(table)]
    heads = [cell for cell in cells if cell.S == "/TH"]
    assert all(cell.A.O == "/Table" for cell in cells if cell.S in {"/TH", "/TD"})
    assert {str(head.A.Scope) for head in heads} <= {"/Column", "/Row"}
    ids = [str(head.ID) for head in heads]
    assert len(set(ids)) == len(ids)
    for table in tables:
        named = [str(name) for cell in below(table) if cell.S == "/TD" for name in cell.A.Headers]
        assert named
        assert set(named) <= {str(head.ID) for head in below(table) if head.S == "/TH"}


def test_a_table_of_sizes_has_heads_of_both_kinds(made: Mapping[str, Leaflet]) -> None:
    """ISO 14289-1, 7.5: columns are headed by sizes, rows by what is measured; a value names one of each."""
    leaflet = made["mat"]
    heads = {str(cell.ID): str(cell.A.Scope) for cell in leaflet.elements if cell.S == "/TH"}
    sizes = next(table for table in leaflet.elements if table.S == "/Table" and scopes(table) == {"/Column", "/Row"})
    rows = [row for row in below(sizes) if row.S == "/TR"][1:]
    assert len(rows) > 2
    for row in rows:
        sign, _, *values = row.K
        assert len(values) == 3
        assert [heads[str(name)] for name in sign.A.Headers] == ["/Row"]
        for cell in values:
            assert [heads[str(name)] for name in cell.A.Headers] == ["/Row", "/Column"]
    assert len({tuple(map(str, cell.A.Headers)) for row in rows for cell in row.K[2:]}) == 3 * len(rows)


def scopes(table: Any) -> set[str]:
    """Of what the heads of a table are heads."""
    return {str(cell.A.Scope) for cell in below(table) if cell.S == "/TH"}


def test_all_that_is_painted_is_told_or_left_out(leaflet: Leaflet) -> None:
    """ISO 14289-1, 7.1: what is painted is content of the tree, once, or an artifact; ISO 32000-1, 14.7.4.4: both ways."""
    told = [(leaflet.page_of[e.Pg.objgen], k) for e in leaflet.elements for k in e.K if isinstance(k, int)]
    assert leaflet.pdf
    assert len(set(told)) == len(told)
    for page in leaflet.painted:
        assert [each for each in page if each.number is None and not each.artifact] == []
    painted = {(index, e.number) for index, page in enumerate(leaflet.painted) for e in page if e.number is not None}
    assert painted
    assert painted <= set(told)
    nums = leaflet.pdf.Root.StructTreeRoot.ParentTree.Nums
    parents = {int(nums[at]): nums[at + 1] for at in range(0, len(nums), 2)}
    for element in leaflet.elements:
        for number in (kid for kid in element.K if isinstance(kid, int)):
            assert parents[int(element.Pg.StructParents)][number].objgen == element.objgen


def test_forms_hold_no_text_and_no_tags(leaflet: Leaflet) -> None:
    """ISO 14289-1, 7.20: a picture that is stamped more than once holds nothing that would be tagged twice."""
    forms = [o for o in leaflet.pdf.objects if isinstance(o, pikepdf.Stream) and o.get("/Subtype") == "/Form"]
    used = {str(each.operator) for form in forms for each in pikepdf.parse_content_stream(form)}
    assert used
    assert not used & {"BDC", "BMC", "EMC", "BT", "Tj", "TJ"}


def test_what_stands_in_margins_is_an_artifact(leaflet: Leaflet) -> None:
    """ISO 14289-1, 7.8: the running head and foot of every page, its number and the strip of glyphs are pagination."""
    assert leaflet.pdf
    pages = len(leaflet.painted)
    for number, page in enumerate(leaflet.painted, 1):
        feet = [each for each in page if each.artifact == "/Pagination/Footer"]
        text = UNSEEN.sub("", "".join(each.text for each in feet))
        assert f"{number}/{pages}" in text
        assert any(each.operator not in {"Tj", "TJ"} for each in feet)
        assert {each.artifact for each in page if each.text} <= {"", "/Pagination/Header", "/Pagination/Footer"}


def test_the_tree_is_read_in_the_order_of_the_document(leaflet: Leaflet, request: pytest.FixtureRequest) -> None:
    """ISO 32000-1, 14.8.2.3: every text and the words of every picture, each in its language, as the markup has them.

    What runs from right to left is painted from left to right: of it only the letters are compared.
    """
    kind = request.node.callspec.params["leaflet"]
    told, said = leaflet.tokens(), said_by(leaflet, "a5" if kind == "a5" else "a4")
    if kind == "ar":
        told, said = ([(lang, letters(text)) for lang, text in each] for each in (told, said))
    assert len(said) > 40
    assert told == said


def letters(text: str) -> str:
    """The letters of a text in no order; brackets look the other way in what runs from right to left."""
    return text if text.startswith("[") else "".join(sorted(text.replace(")", "(")))


def test_what_is_not_translated_says_its_language(made: Mapping[str, Leaflet]) -> None:
    """ISO 14289-1, 7.2: a pattern in English in a Spanish leaflet: its title, its notes and its links are in English."""
    leaflet = made["untranslated"]
    assert str(leaflet.pdf.Root.Lang) == "es"
    heading = next(element for element in leaflet.elements if element.S == "/H1")
    assert str(heading.Lang) == "en"
    english = "".join(text for lang, text in leaflet.tokens() if lang == "en")
    for text in ("HarbourWheel", "Keeptheseloose.", "Corrections", "Round3wasdrawnoneraytoofarleft."):
        assert text in english
    assert {str(e.Lang) for e in leaflet.elements if "/Lang" in e} == {"en"}


def test_no_level_of_headings_is_skipped(leaflet: Leaflet) -> None:
    """ISO 14289-1, 7.4.2: the first heading is H1, and none is more than one below that before it."""
    levels = [int(str(element.S)[2:]) for element in leaflet.elements if re.fullmatch("/H[1-6]", str(element.S))]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert len(levels) > 4
    assert all(after <= before + 1 for before, after in itertools.pairwise(levels))


def test_fonts_are_embedded_and_tell_their_letters(leaflet: Leaflet) -> None:
    """ISO 14289-1, 7.21.4.1 and 7.21.7: every font is in the file and maps to Unicode."""
    fonts = [font for page in leaflet.pdf.pages for font in page.Resources.Font.values()]
    assert fonts
    for font in fonts:
        assert "/ToUnicode" in font
        assert all(letters_of(font).values())
        assert "/FontFile2" in font.DescendantFonts[0].FontDescriptor


def test_links_say_where_they_lead(made: Mapping[str, Leaflet]) -> None:
    """ISO 14289-1, 7.18.1 and 7.18.5: in the tree as links, with words for them; 12.5.3 of ISO 32000-1: printed."""
    leaflet = made["untranslated"]
    links = [element for element in leaflet.elements if element.S == "/Link"]
    found = [kid.Obj for link in links for kid in link.K if not isinstance(kid, int) and kid.Type == "/OBJR"]
    annotations = [(page, note) for page in leaflet.pdf.pages for note in page.get("/Annots", [])]
    assert sorted(each.objgen for each in found) == sorted(note.objgen for _, note in annotations)
    assert annotations
    for page, note in annotations:
        assert page.Tabs == "/S"
        assert str(note.Contents) == "https://example.org/harbour"
        assert int(note.F) == 4


BODY = """<html lang="en"><head><title>Small</title></head><body><h1>Small</h1><h4>Four</h4><h4>Five</h4><h2>Two</h2>
<p>before <span class="tick"></span><span style="display: block">between</span> after</p>
<div class="nothing"><p></p></div>
<ul><li>first</li><li>second <img src="stamp:square" alt="A square"/></li></ul>
<table><tr><td>north</td><td></td></tr><tr><td>south</td><td>east</td></tr></table>
<table><tbody><tr><th></th><th>many</th></tr><tr><th scope="row">length</th><td>3</td></tr></tbody></table></body></html>"""


@pytest.fixture(scope="module")
def small() -> Leaflet:
    """A page of what leaflets have and what they may come to have, on A5."""
    return Leaflet(BODY, typeset_small())


def typeset_small() -> bytes:
    """That page, with a picture of its own."""
    square = Picture("square", 10.0, 10.0, (Line(polyline([(1, 1), (9, 1), (9, 9), (1, 9)], closed=True), 0.5),))
    pictures = stamps([square, Picture("strip", 8.0, 6.0, ())])
    return typeset_markup(BODY, pictures, press(find_fonts("Latn", ()), PAPERS["a5"], "ltr"))


def outline(element: Any) -> Any:
    """The kinds of an element and of those in it, without what only holds a text."""
    inside = [outline(kid) for kid in element.K if not isinstance(kid, int)]
    inside = [each for each in inside if each not in {"Span", "NonStruct"}]
    name = str(element.S)[1:]
    return (name, *inside) if inside else name


def test_a_structure_has_no_holes(small: Leaflet) -> None:
    """No element without content but cells; no paragraph in itself; blocks for a table without heads; H4 under H1 is H2."""
    kinds = [outline(element) for element in small.pdf.Root.StructTreeRoot.K[0].K]
    item = ("LI", "Lbl", "LBody")
    assert kinds[:4] == ["H1", "H2", "H2", "H2"]
    assert kinds[4] == "P"
    assert kinds[5] == ("L", item, ("LI", "Lbl", ("LBody", "Figure")))
    assert "TD" not in str(kinds[6])
    assert kinds[7] == ("Table", ("TBody", ("TR", "TD", "TH"), ("TR", "TH", "TD")))
    assert kinds[8:] == []
    assert [(lang, text.replace("•", "")) for lang, text in small.tokens()] == said_by(small, "a5")


def test_what_is_put_right_is_put_right_every_time(small: Leaflet) -> None:
    """The same markup gives the same bytes."""
    assert typeset_small() == small.data
