"""Tags: what WeasyPrint leaves undone in the structure of a document, put right.

Like ``typeset``, it knows WeasyPrint and nothing but. The standard is ISO 14289-1 (PDF/UA-1) on ISO 32000-1. Two
functions of WeasyPrint are replaced when this module is imported: the one that draws a box in its own layer, as what
stands in a margin has to be an artifact before it is drawn, and the one that makes the elements of a box, as only
there a box and its element are known together. All else is done by ``put_right``, on the finished document. Nothing
here changes what is seen.

Import it where ``typeset`` does: WeasyPrint must not be loaded before it is told where its fonts are.
"""

from collections.abc import Iterator
from typing import Any, Final

import pydyf
from weasyprint import draw
from weasyprint.formatting_structure import boxes
from weasyprint.pdf import tags

SCOPES: Final = {"row": "/Row", "rowgroup": "/Row"}
"""What a head in a table stands above or beside, by HTML's word; WeasyPrint takes all others for those of columns."""

CELLS: Final = frozenset({"/TH", "/TD"})
"""Elements that stay when they are empty: their rows would lack them."""

TABLE: Final = frozenset({"table", "thead", "tbody", "tfoot", "tr", "td"})
HEADINGS: Final = {f"/H{level}": level for level in range(1, 7)}
ONCE: Final = frozenset({"/P", *HEADINGS})
"""Elements that do not stand in their like."""

TEXT: Final = frozenset({"/P", "/Span", "/LBody", "/TH", "/TD", *HEADINGS})
"""Elements that may hold text themselves."""

PT: Final = 0.75
"""Of one CSS px."""

PRINT: Final = 4
"""The flag of an annotation that is printed as it is shown (ISO 32000-1, 12.5.3)."""

LETTERS: Final = b"/CIDInit /ProcSet findresource begin"
"""The first line of a list of the letters that glyphs stand for."""

WORD_JOINER: Final = b"<2060>"
"""What a glyph stands for that is one of several of a letter, all but the first: something, and nothing that is seen or
said. Each has to stand for something (ISO 14289-1, 7.21.7)."""

_draw_context = draw.draw_stacking_context
_elements = tags._build_box_tree  # noqa: SLF001


def _draw(stream: Any, context: Any) -> None:
    """Draw a box in its layer; what stands in a margin as an artifact of pagination (ISO 32000-1, 14.8.2.2)."""
    if not isinstance(context.box, boxes.MarginBox):
        _draw_context(stream, context)
        return
    kind = "/Header" if context.box.at_keyword.startswith("@top") else "/Footer"
    properties = pydyf.Dictionary({"Type": "/Pagination", "Subtype": kind})
    # Without a place to note them, what is drawn inside gets no marks of its own: artifacts hold no tagged content.
    noted, stream._tags = stream._tags, None  # noqa: SLF001
    stream.begin_marked_content("Artifact", properties)
    _draw_context(stream, context)
    stream.end_marked_content()
    stream._tags = noted  # noqa: SLF001


class _Objects:
    """A PDF to which the elements of bare texts are not added: half of a leaflet's, and most need none."""

    def __init__(self, pdf: Any) -> None:
        self.pdf, self.objects, self.page_references = pdf, pdf.objects, pdf.page_references
        self.bare: dict[bytes, Any] = {}
        """Elements of texts that wait to be folded into their parents, by reference."""

    def add_object(self, added: Any) -> None:
        """Add an object, or keep the element of a text back, under a number that no object has."""
        if added.get("S") == "/Span" and added["K"] and isinstance(added["K"][0], int):
            added.number = -1 - len(self.bare)
            self.bare[added.reference] = added
        else:
            self.pdf.add_object(added)

    def fold(self, element: Any, nums: dict[int, Any]) -> None:
        """Give an element the texts that wait for it, as they are where it may hold them; ``nums``: whose a text is."""
        for index, kid in enumerate(element["K"]):
            text = self.bare.pop(kid, None)
            if text is None:
                continue
            (number,) = text["K"]
            if element["S"] in TEXT:
                element["K"][index], nums[number] = number, element.reference
            else:
                self.pdf.add_object(text)
                element["K"][index] = nums[number] = text.reference


def _tagged(box: Any, parent: Any, pdf: Any, page: int, nums: dict[int, Any], *where: Any) -> Iterator[Any]:
    """The elements of a box, which say what its HTML says; those that hold nothing are left out."""
    pdf = pdf if isinstance(pdf, _Objects) else _Objects(pdf)
    if isinstance(box, boxes.MarginBox):
        return
    if box.element_tag == "table":
        _prepare(box)
    for element in _elements(box, parent, pdf, page, nums, *where):
        # The elements of a page, of html and of body are those of what is in them.
        if box.element is not None and box.element_tag not in {"html", "body"}:
            _describe(element, box.element, parent)
        pdf.fold(element, nums)
        if element["K"] or element["S"] in CELLS or pdf.objects[-1] is not element:
            yield element
        else:
            pdf.objects.pop()


def _describe(element: Any, written: Any, parent: Any) -> None:
    """Tell an element its language (ISO 14289-1, 7.2) and, if it is the head of cells, of which (7.5).

    A box without an element of its own has that of the box it is in: a paragraph is said once.
    """
    if element["S"] in ONCE and element["S"] == parent["S"]:
        element["S"] = "/NonStruct"
        return
    if lang := written.get("lang"):
        element["Lang"] = pydyf.String(lang)
    if element["S"] == "/TH":
        element["A"]["Scope"] = SCOPES.get(written.get("scope"), "/Column")


def _prepare(table: Any) -> None:
    """Heads that say nothing are cells. Without heads there are no columns to tell of: all are blocks in turn (7.5)."""
    within = list(table.descendants())
    heads = [box for box in within if box.element_tag == "th"]
    for head in heads:
        if not any(isinstance(box, boxes.TextBox | boxes.ReplacedBox) for box in head.descendants()):
            head.element_tag = "td"
    if any(head.element_tag == "th" for head in heads):
        return
    for box in within:
        if box.element_tag in TABLE:
            box.element_tag = "div"


draw.draw_stacking_context = _draw
tags._build_box_tree = _tagged  # noqa: SLF001


def put_right(document: Any, pdf: Any) -> None:
    """Finish a document: where figures are, how deep headings, what links do on paper, what glyphs stand for."""
    heights = {reference: page.height * PT for reference, page in zip(pdf.page_references, document.pages, strict=True)}
    above: list[int] = []
    for found in pdf.objects:
        if isinstance(found, pydyf.Stream) and found.stream[:1] == [LETTERS]:
            found.stream = [line.replace(b"<>", WORD_JOINER) for line in found.stream]
        if not isinstance(found, pydyf.Dictionary):
            continue
        kind = found.get("S")
        if kind == "/Figure":
            found["A"]["BBox"] = _on_page(found["A"]["BBox"], heights[found["Pg"]])
        elif kind in HEADINGS:
            found["S"] = f"/H{_level(HEADINGS[kind], above)}"
        elif found.get("Subtype") == "/Link":
            found["F"] = PRINT


def _on_page(box: Any, height: float) -> pydyf.Array:
    """A box in px from the top of a page as one in pt from its foot (ISO 32000-1, 14.8.5.4.3)."""
    left, top, right, bottom = (each * PT for each in box)
    return pydyf.Array(round(each, 2) for each in (left, height - bottom, right, height - top))


def _level(written: int, above: list[int]) -> int:
    """The level of a heading, none skipped (ISO 14289-1, 7.4.2); ``above`` are those it stands under, as written.

    >>> above = []
    >>> [_level(written, above) for written in (1, 3, 3, 2, 3)]
    [1, 2, 2, 2, 3]
    """
    while above and above[-1] >= written:
        above.pop()
    above.append(written)
    return len(above)
