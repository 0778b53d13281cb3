"""A logo is drawn as it is, or refused with a reason; nothing in it is run or fetched."""

import contextlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.drawing.ink import box_of
from pipeline.drawing.logo import HEIGHT_MM, LogoUnusable, logo
from pipeline.drawing.operators import picture_operators
from pipeline.drawing.picture import INK, Area

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 100 50">'


def drawn(body: str) -> bytes:
    """An SVG file."""
    return f"{HEAD}{body}</svg>".encode()


def test_shapes_keep_their_proportions_and_colours() -> None:
    """By hand: 100 × 50 become 24 × 12 mm; y points down in SVG and up on paper."""
    found = logo(
        drawn('<g fill="#1b4f72"><rect x="0" y="0" width="100" height="10"/><rect x="0" y="40" width="10" height="10" '
              'fill="#a00"/></g><path d="M50 20 L60 20 L60 30 Z"/>')
    )  # fmt: skip
    assert (found.width, found.height) == pytest.approx((24.0, HEIGHT_MM))
    assert [item.colour for item in found.items if isinstance(item, Area)] == ["#1b4f72", "#aa0000", INK]
    assert box_of(found.items[0]) == pytest.approx((0.0, 9.6, 24.0, 12.0))
    assert box_of(found.items[1]) == pytest.approx((0.0, 0.0, 2.4, 2.4))


def test_holes_that_run_the_other_way_round_are_drawn() -> None:
    """The rule that fills areas here may be named."""
    holed = '<path d="M0 0 H9 V9 H0 Z M3 3 V6 H6 V3 Z" fill-rule="nonzero"/>'
    plain = holed.replace(' fill-rule="nonzero"', "")
    assert picture_operators(logo(drawn(holed))) == picture_operators(logo(drawn(plain)))


@pytest.mark.parametrize(
    "body",
    [
        "<script>alert(1)</script>", '<image href="https://example.org/a.png"/>', '<use href="#a"/>',
        "<text>Quay</text>", "<style>rect { fill: red }</style>", '<foreignObject width="9" height="9"/>',
        '<rect width="9" height="9" onclick="x()"/>', '<rect width="9" height="9" style="fill: red"/>',
        '<g transform="rotate(9)"><rect width="9" height="9"/></g>', '<rect width="9" height="9" fill="url(#a)"/>',
        '<rect width="9" height="9" fill="red"/>', '<rect width="nine" height="9"/>', '<path d="M0 0 L"/>',
        '<path d="M1e400 0 L1 1 L2 2 Z"/>', '<rect width="9" height="9" fill="none"/>', "",
        '<path d="M0 0 H9 V9 H0 Z M3 3 H6 V6 H3 Z" fill-rule="evenodd"/>',
        '<g fill-rule="evenodd"><path d="M0 0 H9 V9 H0 Z M3 3 H6 V6 H3 Z"/></g>',
        '<svg x="9" y="9"><rect width="9" height="9"/></svg>', '<g><svg viewBox="0 0 1 1"><rect width="9" height="9"/></svg></g>',
        '<rect width="900" height="1"/>', '<path d="M0 0 L9 0 L9 0 Z"/>', '<a href="javascript:x"><rect/></a>',
    ],
)  # fmt: skip
def test_what_cannot_be_printed_is_refused(body: str) -> None:
    """Scripts, outside pictures, letters, styles, transforms, other colours, broken shapes, other holes, nothing at all."""
    with pytest.raises(LogoUnusable) as refused:
        logo(drawn(body))
    assert refused.value.reason
    assert refused.value.hint


@pytest.mark.parametrize(
    "data",
    [
        b"", b"no drawing", b"<html/>", b"\x00\xff", HEAD.encode(),
        b'<!DOCTYPE svg [<!ENTITY a "b">]><svg>&a;</svg>',
        b'<?xml version="1.0"?><!doctype svg SYSTEM "file:///etc/hostname"><svg/>',
        drawn('<path d="M0 0 L9 9 L0 9 Z"/>' * 10_000),
    ],
)  # fmt: skip
def test_what_is_no_plain_drawing_is_refused(data: bytes) -> None:
    """Other files, cut off ones, entities and outside declarations, hundreds of kilobytes."""
    with pytest.raises(LogoUnusable):
        logo(data)


@given(st.binary(max_size=200))
def test_any_bytes_are_drawn_or_refused(data: bytes) -> None:
    """Never anything else is raised; what is drawn has the height of a logo."""
    with contextlib.suppress(LogoUnusable):
        assert logo(data).height == HEIGHT_MM
