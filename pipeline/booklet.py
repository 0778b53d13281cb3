"""A booklet: the pages of a leaflet two by two on sheets twice as large, printed on both sides, folded and stapled.

Pages keep their size, so what is at true size stays so. A booklet is for the printer: it has neither tags nor links;
the leaflet it is made from has both.
"""

import io
from collections.abc import Iterator
from typing import Final

import pikepdf

SIDES: Final = 4
"""Pages on a folded sheet."""


def order(pages: int, *, right_to_left: bool = False) -> Iterator[tuple[int | None, int | None]]:
    """What stands on the left and on the right of every side, sheet by sheet, front and back; pages from 0.

    >>> list(order(6))
    [(None, 0), (1, None), (5, 2), (3, 4)]
    """
    filled = pages + -pages % SIDES
    places = [page if page < pages else None for page in range(filled)]
    for side in range(filled // 2):
        outer, inner = places[filled - 1 - side], places[side]
        left_is_outer = (side % 2 == 0) is not right_to_left
        yield (outer, inner) if left_is_outer else (inner, outer)


def impose(pdf: bytes, *, right_to_left: bool = False) -> bytes:
    """The pages of a PDF, all of one size, as a booklet. The same bytes give the same bytes."""
    with pikepdf.open(io.BytesIO(pdf)) as leaflet, pikepdf.new() as booklet:
        wide, high = (float(length) for length in leaflet.pages[0].mediabox[2:])
        forms = [booklet.copy_foreign(page.as_form_xobject()) for page in leaflet.pages]
        for left, right in order(len(forms), right_to_left=right_to_left):
            booklet.add_blank_page(page_size=(2 * wide, high))
            side = booklet.pages[-1]
            for place, number in ((0.0, left), (wide, right)):
                if number is not None:
                    name = pikepdf.Name(f"/Page{number}")
                    side.add_resource(forms[number], pikepdf.Name.XObject, name)
                    side.contents_add(f"q 1 0 0 1 {place:.4f} 0 cm {name} Do Q".encode())
        booklet.docinfo["/Title"] = leaflet.docinfo.get("/Title", "")
        booklet.Root.ViewerPreferences = pikepdf.Dictionary(
            PrintScaling=pikepdf.Name("/None"), Duplex=pikepdf.Name.DuplexFlipShortEdge
        )
        made = io.BytesIO()
        booklet.save(made, deterministic_id=True, object_stream_mode=pikepdf.ObjectStreamMode.generate)
        return made.getvalue()
