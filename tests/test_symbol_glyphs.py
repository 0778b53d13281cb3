"""Glyphs as drawings: inside their box, described, and told from one another on a bad copy."""

import io
import itertools
from collections.abc import Iterator, Mapping

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image, ImageFilter

from pipeline.drawing.export import export
from pipeline.drawing.glyphs import glyph, glyph_items
from pipeline.drawing.picture import Area, Line, Picture
from pipeline.symbols import BOX, Symbol, SymbolSet

COPY_MM, COPY_DPI = 5.0, 150
ALIKE = 0.55
"""Look section 2: overlap of two copies; a mirrored knot gives 0.71, a glyph without one short stroke 0.83 and more."""


@pytest.fixture(scope="module")
def every(symbols: SymbolSet) -> Mapping[str, Symbol]:
    """All stitches and signs by id."""
    return {**symbols.stitches, **symbols.signs}


def photocopy(items: tuple[Line | Area, ...]) -> NDArray[np.bool_]:
    """Look section 2: 5 mm at 150 dpi, blurred by 0.7 px, everything from 0.42 of full ink on is black."""
    picture = Picture("copy", COPY_MM, COPY_MM, items)
    image = Image.open(io.BytesIO(export(picture, "png", dpi=COPY_DPI, ground="#ffffff"))).convert("L")
    blurred = image.filter(ImageFilter.GaussianBlur(0.7))
    return np.pad(1 - np.asarray(blurred, dtype=float) / 255 > 0.42, 2)


def drawn(symbol: Symbol) -> tuple[Line | Area, ...]:
    """A glyph 5 mm wide."""
    return tuple(item for item in glyph_items(symbol, size=COPY_MM) if isinstance(item, Line | Area))


def overlap(a: NDArray[np.bool_], b: NDArray[np.bool_]) -> float:
    """Intersection over union of the ink, the best over shifts of 2 px."""
    shifts = itertools.product(range(-2, 3), repeat=2)
    moved = (np.roll(b, shift, axis=(0, 1)) for shift in shifts)
    return max(float((a & other).sum() / (a | other).sum()) for other in moved)


@pytest.fixture(scope="module")
def copies(every: Mapping[str, Symbol]) -> dict[str, NDArray[np.bool_]]:
    """Every glyph as a bad copy."""
    return {symbol_id: photocopy(drawn(symbol)) for symbol_id, symbol in every.items()}


def test_no_two_glyphs_look_alike_on_a_bad_copy(copies: dict[str, NDArray[np.bool_]]) -> None:
    """Design section 6: every glyph is told from every other at 5 mm on a photocopy."""
    alike = {
        (a, b): round(found, 2)
        for a, b in itertools.combinations(sorted(copies), 2)
        if (found := overlap(copies[a], copies[b])) >= ALIKE
    }
    assert alike == {}


def test_the_measure_sees_what_is_alike(every: Mapping[str, Symbol], copies: dict[str, NDArray[np.bool_]]) -> None:
    """A mirrored knot, and a darn without its shortest stroke, are over the limit: so the limit can fail."""
    assert overlap(copies["knot"], copies["knot"][:, ::-1]) > ALIKE
    darn = drawn(every["darn"])
    shortest = min(darn, key=lambda item: float(np.hypot(*item.path.get_extents().size)))
    without = photocopy(tuple(item for item in darn if item is not shortest))
    assert overlap(copies["darn"], without) > ALIKE


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
    """A picture of a glyph is 10 mm square; its strokes are 10/24 of those in the box: 1.3 units are 0.54 mm."""
    picture = glyph("gap", every["gap"])
    assert (picture.width, picture.height) == (10.0, 10.0)
    stroke = next(stroke for stroke in every["knot"].glyph if stroke.role == "ray")
    line = next(iter(glyph_items(every["knot"], size=10.0)))
    assert isinstance(line, Line)
    assert line.width == pytest.approx(0.54, abs=0.005)
    assert stroke.width is None
