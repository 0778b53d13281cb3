"""The publisher's logo: the filled shapes of an SVG file, or a picture made ready for print.

A drawing stays a drawing: paths, rectangles, circles, ellipses and polygons, each in its own plain colour. What could
fetch, run or hide something, and what only a browser can draw, is refused: it would be printed wrong.
"""

import math
import re
from collections.abc import Iterator
from typing import Final
from xml.etree import ElementTree as ET

from fontTools.svgLib.path.parser import parse_path
from fontTools.svgLib.path.shapes import PathBuilder
from matplotlib.path import Path

from pipeline.drawing.outline import PathPen, joined, moved, vertices_of
from pipeline.drawing.picture import INK, Area, Picture

HEIGHT_MM: Final = 12.0
BOX_MM: Final = (60.0, HEIGHT_MM)
"""Room for one that is a picture."""
MOST_BYTES: Final = 200_000
LONGEST: Final = 12.0
"""Times its height a logo may be wide, or the other way round."""
DRAWN: Final = frozenset({"path", "rect", "circle", "ellipse", "polygon"})
HOLDERS: Final = frozenset({"svg", "g", "title", "desc", "metadata"})
_ALLOWED: Final = frozenset({
    "d", "x", "y", "width", "height", "rx", "ry", "cx", "cy", "r", "points", "fill", "id", "class", "viewBox",
    "version", "role", "aria-label", "fill-rule",
})  # fmt: skip


class LogoUnusable(Exception):
    """A logo that cannot be drawn: why, and what to do."""

    def __init__(self, reason: str, hint: str) -> None:
        super().__init__(reason)
        self.reason, self.hint = reason, hint


def logo(svg: bytes) -> Picture:
    """The drawing, ``HEIGHT_MM`` high. Raises ``LogoUnusable``."""
    root = _root(svg)
    try:
        shapes = list(_shapes(root))
    except RecursionError:
        raise LogoUnusable("groups stand too deep in one another", "take groups apart") from None
    if not shapes:
        raise LogoUnusable("nothing in it is filled", "draw it as filled shapes")
    box = joined(path for path, _ in shapes).get_extents()
    if not 1 / LONGEST < box.width / (box.height or math.inf) < LONGEST:
        raise LogoUnusable("it is no wider or higher than a line", "draw it as filled shapes")
    scale = HEIGHT_MM / float(box.height)
    items = tuple(Area(_upright(path, scale, float(box.x0), float(box.y1)), colour) for path, colour in shapes)
    return Picture("logo", float(box.width) * scale, HEIGHT_MM, items)


def _upright(path: Path, scale: float, left: float, foot: float) -> Path:
    """From the drawing's box, whose y points down, into the picture's."""
    turned = Path(vertices_of(path) * (1.0, -1.0), path.codes)
    return moved(turned, scale=scale, x=-left * scale, y=foot * scale)


def _root(svg: bytes) -> ET.Element:
    if len(svg) > MOST_BYTES:
        raise LogoUnusable(f"it has {len(svg)} bytes", f"a logo needs fewer than {MOST_BYTES}")
    try:
        root = ET.fromstring(svg, ET.XMLParser(target=_Builder()))  # noqa: S314 - it declares no entities
    except (ET.ParseError, LookupError, ValueError) as error:
        raise LogoUnusable(f"it is not SVG: {error}", "save it as plain SVG") from None
    if _tag(root) != "svg":
        raise LogoUnusable(f"it begins with <{_tag(root)}>", "save it as plain SVG")
    return root


class _Builder(ET.TreeBuilder):
    """Builds what was read; in whatever letters a document type is written, it goes no further."""

    def doctype(self, *_: object) -> None:
        """Refuse what declares entities, or could."""
        raise LogoUnusable("it declares a document type or entities", "save it as plain SVG")


def _tag(element: ET.Element) -> str:
    return str(element.tag).rpartition("}")[2]


def _shapes(element: ET.Element, fill: str = INK) -> Iterator[tuple[Path, str]]:
    """Every filled shape with its colour, in the order it is drawn."""
    _refuse(element)
    fill = _fill(element, fill)
    if _tag(element) in DRAWN and fill != "none":
        yield _outline(element), fill
    if _tag(element) in {"svg", "g"}:
        for child in element:
            if _tag(child) == "svg":
                raise LogoUnusable("an <svg> stands inside it", "take its shapes out, drawn where they are seen")
            yield from _shapes(child, fill)


def _refuse(element: ET.Element) -> None:
    """What would be printed wrong."""
    tag = _tag(element)
    if tag not in DRAWN | HOLDERS:
        raise LogoUnusable(f"<{tag}> is not drawn", "turn letters, lines and effects into filled shapes")
    if tag in HOLDERS - {"svg", "g"}:
        return
    for name in element.attrib:
        short = name.rpartition("}")[2]
        if short == "transform":
            raise LogoUnusable("a transform stands in it", "save it with all transforms applied")
        if short == "fill-rule" and element.attrib[name] != "nonzero":
            raise LogoUnusable("its holes need evenodd", "make holes run the other way round")
        if short not in _ALLOWED:
            raise LogoUnusable(f"`{short}` is not understood", "save it as plain SVG with filled shapes")


def _fill(element: ET.Element, before: str) -> str:
    found = element.get("fill", before).strip().lower()
    if found in {"none", "currentcolor"}:
        return "none" if found == "none" else INK
    if found == "black":
        return "#000000"
    short = re.fullmatch(r"#([0-9a-f])([0-9a-f])([0-9a-f])", found)
    if short:
        return "#" + "".join(2 * digit for digit in short.groups())
    if not re.fullmatch(r"#[0-9a-f]{6}", found):
        raise LogoUnusable(f"the colour `{found}` is not understood", "write colours like #1b4f72")
    return found


def _outline(element: ET.Element) -> Path:
    builder, pen = PathBuilder(), PathPen()
    try:
        builder.add_path_from_element(element)
        for path in builder.paths:
            parse_path(path, pen)
    except (ArithmeticError, ValueError, IndexError, KeyError, TypeError) as error:
        raise LogoUnusable(f"a shape cannot be read: {error}", "save it as plain SVG") from None
    return pen.path
