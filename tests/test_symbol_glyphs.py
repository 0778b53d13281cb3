"""Glyphs as drawings: inside their box, described, and told from one another on a bad copy."""

import io
import re
from collections.abc import Iterator, Mapping

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image

from pipeline.drawing.export import export
from pipeline.drawing.glyphs import GLYPH_MM, glyph, glyph_items, panel_items
from pipeline.drawing.legibility import COPY_MM, copied, legibility_findings
from pipeline.drawing.outline import svg
from pipeline.drawing.picture import Area, Line, Picture
from pipeline.symbol_model import BOX, PANEL_WIDTH, Stroke, Symbol
from pipeline.symbols import SymbolSet


@pytest.fixture(scope="module")
def every(symbols: SymbolSet) -> Mapping[str, Symbol]:
    """All stitches and signs by id."""
    return {**symbols.stitches, **symbols.signs}


def drawn(symbol: Symbol) -> tuple[Line | Area, ...]:
    """A glyph 5 mm wide."""
    return tuple(item for item in glyph_items(symbol, size=COPY_MM) if isinstance(item, Line | Area))


@pytest.fixture(scope="module")
def copies(every: Mapping[str, Symbol]) -> dict[str, NDArray[np.bool_]]:
    """Every glyph as a bad copy."""
    return {symbol_id: copied(symbol) for symbol_id, symbol in every.items()}


def test_every_glyph_can_be_read_on_a_bad_copy(every: Mapping[str, Symbol]) -> None:
    """Design section 6: told from every other at 5 mm on a photocopy, and no stroke thinner than 0.25 mm."""
    assert list(legibility_findings(every)) == []


def planted(symbol: Symbol, strokes: tuple[Stroke, ...]) -> Symbol:
    """The same symbol with other strokes."""
    return symbol.model_copy(update={"glyph": strokes})


def test_a_mirrored_knot_is_found(every: Mapping[str, Symbol]) -> None:
    """A twin that differs in nothing but the slant of its hitch."""
    mirrored = tuple(
        stroke.model_copy(
            update={"d": re.sub(r"([\d.]+) ([\d.]+)", lambda p: f"{24 - float(p[1]):g} {p[2]}", stroke.d)}
        )
        for stroke in every["knot"].glyph
    )
    twins = {"knot": every["knot"], "tonk": planted(every["knot"], mirrored)}
    assert [(symbol_id, finding.code) for symbol_id, finding in legibility_findings(twins)] == [
        ("tonk", "glyphs-alike")
    ]


@pytest.mark.parametrize("symbol_id", ["darn", "knot", "rib", "weave", "edge-loops", "gap", "cut"])
def test_a_glyph_that_lacks_one_short_stroke_is_found(every: Mapping[str, Symbol], symbol_id: str) -> None:
    """Its shortest stroke left out, a glyph is still taken for itself."""
    strokes = every[symbol_id].glyph
    shortest = min(strokes, key=lambda stroke: float(np.hypot(*svg(stroke.d).get_extents().size)))
    twins = {
        symbol_id: every[symbol_id],
        "twin": planted(every[symbol_id], tuple(stroke for stroke in strokes if stroke is not shortest)),
    }
    assert [finding.code for _, finding in legibility_findings(twins)] == ["glyphs-alike"]


def test_a_thin_stroke_is_found(every: Mapping[str, Symbol]) -> None:
    """1.2 units of 24 are 0.25 mm at 5 mm; 1.1 are too thin."""
    thin = tuple(stroke.model_copy(update={"width": 1.1}) for stroke in every["gap"].glyph if stroke.role == "ray")
    assert {finding.code for _, finding in legibility_findings({"gap": planted(every["gap"], thin)})} == {"stroke-thin"}


def test_every_glyph_has_ink_that_survives_copying(copies: dict[str, NDArray[np.bool_]]) -> None:
    """Between a thirtieth and a half of the box is black: neither lost nor clotted (the limits are guesses)."""
    share = {symbol_id: float(copy[2:-2, 2:-2].mean()) for symbol_id, copy in copies.items()}
    assert {symbol_id: round(found, 2) for symbol_id, found in share.items() if not 1 / 30 < found < 1 / 2} == {}


def edges(symbol: Symbol) -> Iterator[tuple[str, float]]:
    """How much ink stands on each side of the box, when the glyph is drawn with room around it."""
    room = 4.0
    items = tuple(glyph_items(symbol, size=BOX, x=room, y=room))
    side = BOX + 2 * room
    image = Image.open(io.BytesIO(export(Picture("t", side, side, items), "png", dpi=127, ground="#ffffff")))
    dark = np.asarray(image.convert("L")) < 128
    margin = int(room * 5) - 1
    yield "top", float(dark[:margin].sum())
    yield "foot", float(dark[-margin:].sum())
    yield "left", float(dark[:, :margin].sum())
    yield "right", float(dark[:, -margin:].sum())


def test_all_ink_is_inside_the_box(every: Mapping[str, Symbol]) -> None:
    """Drawn in pixels, strokes and their ends included, with 4 units of room: the room stays white."""
    for symbol_id, symbol in every.items():
        assert dict(edges(symbol)) == {"top": 0, "foot": 0, "left": 0, "right": 0}, symbol_id


def test_a_glyph_is_one_colour_whatever_it_is(every: Mapping[str, Symbol]) -> None:
    """Look section 1: nothing is told by colour, and breaks are cut, not covered with white."""
    for symbol_id, symbol in every.items():
        colours = {
            item.colour for item in glyph_items(symbol, size=10.0, colour="#123456") if isinstance(item, Line | Area)
        }
        assert colours == {"#123456"}, symbol_id


def test_every_symbol_says_what_it_shows(every: Mapping[str, Symbol]) -> None:
    """A description for those who do not see it, no two the same; names and short forms are told apart too."""
    assert len({symbol.shows for symbol in every.values()}) == len(every)
    assert len({symbol.texts.name for symbol in every.values()}) == len(every)
    shorts = [symbol.texts.short for symbol in every.values() if symbol.texts.short]
    assert len(set(shorts)) == len(shorts)
    assert all(symbol.texts.do.endswith((".", ":")) for symbol in every.values())


def test_a_glyph_keeps_its_proportions_at_any_size(every: Mapping[str, Symbol]) -> None:
    """A glyph 10 mm square has strokes 10/24 of those in the box: 1.3 units are 0.54 mm; a picture of one is a square too."""
    stroke = next(stroke for stroke in every["knot"].glyph if stroke.role == "ray")
    assert stroke.width is None
    picture = glyph("knot", every["knot"])
    assert picture.width == picture.height == GLYPH_MM
    for line, size in ((next(glyph_items(every["knot"], size=10.0)), 10.0), (picture.items[0], GLYPH_MM)):
        assert isinstance(line, Line)
        assert line.width == pytest.approx(0.54 * size / 10.0, abs=0.005)


UNWORKED = {
    "bent-needle", "blunt-needle", "caution", "label", "leaf", "leaf-filled", "length", "loom", "rest", "scissors", "sharp",
    "small-parts", "thread", "tick",
}  # fmt: skip
"""Signs for things, facts and cautions, which are not worked."""


def test_everything_that_is_worked_is_shown_in_two_to_four_moments(every: Mapping[str, Symbol]) -> None:
    """Every stitch, and every sign for something done; each moment is told in words for those who do not see it."""
    for symbol_id, symbol in every.items():
        assert (symbol_id in UNWORKED) == (not symbol.panels), symbol_id
        assert symbol.panels == () or 2 <= len(symbol.panels) <= 4, symbol_id
        told = [panel.shows for panel in symbol.panels]
        assert len(set(told)) == len(told), symbol_id


def test_panels_stay_inside_their_box(every: Mapping[str, Symbol]) -> None:
    """Strokes, their ends and the heads of arrows included; and the moments of one symbol are not the same drawing."""
    for symbol_id, symbol in every.items():
        drawn = [tuple(stroke.d for stroke in panel.strokes) for panel in symbol.panels]
        assert len(set(drawn)) == len(drawn), symbol_id
        for number, moment in enumerate(symbol.panels):
            items = tuple(panel_items(moment, height=BOX, x=4.0, y=4.0))
            picture = Picture("t", PANEL_WIDTH + 8.0, BOX + 8.0, items)
            image = Image.open(io.BytesIO(export(picture, "png", dpi=127, ground="#ffffff"))).convert("L")
            dark = np.asarray(image) < 128
            inside = dark[19:-19, 19:-19].sum()
            assert inside > 100, (symbol_id, number)
            assert dark.sum() == inside, (symbol_id, number)
