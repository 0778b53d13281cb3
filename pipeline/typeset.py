"""Typeset: from markup and pictures to PDF bytes. With ``tagging``, the only module that knows WeasyPrint.

Pictures enter as stamps: vector form XObjects, drawn once and placed by name (``<img src="stamp:chart">``).
Nothing is fetched: fonts come from a table, pictures from memory, everything else is refused. Whatever WeasyPrint
complains about is a bug of ours and stops the run. PDF/UA-1: ISO 14289-1.
"""

import hashlib
import html
import io
import logging
import os
import re
import warnings
import zlib
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime
from functools import cached_property, lru_cache
from pathlib import Path
from typing import Any, Final
from xml.etree import ElementTree as ET

from cssselect2 import ElementWrapper
from fontTools.ttLib import TTFont

from pipeline.drawing.operators import Operators, picture_operators
from pipeline.drawing.picture import ACCENT, Picture
from pipeline.language.fonts import Fonts
from pipeline.language.habits import COUNTERS
from pipeline.leaflet.content import Leaflet
from pipeline.leaflet.markup import render, style
from pipeline.leaflet.papers import Paper

# Read by Fontconfig when it is first loaded: no font of this machine can slip in.
os.environ["FONTCONFIG_FILE"] = str(Path(__file__).parent / "leaflet" / "fonts.conf")

with warnings.catch_warnings():
    # It says so when it is imported: no font of the machine is there, and that is meant.
    warnings.filterwarnings("ignore", message="No fonts configured")
    import pydyf
    from weasyprint import CSS, HTML, UA_STYLESHEET, Attachment, draw
    from weasyprint.formatting_structure import boxes
    from weasyprint.text.fonts import FontConfiguration
    from weasyprint.urls import FatalURLFetchingError, URLFetcher, URLFetcherResponse

    from pipeline.tagging import put_right

VARIANT: Final = "pdf/ua-1"
_END: Final = b"</rdf:RDF>"
FEW: Final = 2
"""Places in which a picture is written out; in more it is stamped."""

_SHAPED: Final = re.compile("[\u0900-\u0dff\u0e00-\u0fff\u1000-\u109f\u1780-\u17ff]")
"""Letters whose glyphs stand in another order or number than they do. Those that run from right to left are not among
them: readers of PDF put their glyphs into order by themselves, and would turn round what is in order already."""
_draw_text = draw.draw_text


def _say_text(stream: Any, textbox: Any, *how: Any) -> None:
    """Draw a text, and where its glyphs do not tell it, write beside them what it is (ISO 32000-1, 14.9.4)."""
    if not _SHAPED.search(textbox.text):
        _draw_text(stream, textbox, *how)
        return
    text = "".join(character for character in textbox.text if character not in "\u2066\u2067\u2068\u2069")
    stream.begin_marked_content("Span", pydyf.Dictionary({"ActualText": pydyf.String(text)}))
    _draw_text(stream, textbox, *how)
    stream.end_marked_content()


draw.draw_text = _say_text

_NOTES: Final = {"footnote-call", "footnote-marker", "note-call", "note-marker", "note-callback"}


def _forget_notes() -> None:
    """Leaflets have no footnotes: styles for those of every element would take a tenth of the time of a layout."""
    selectors = UA_STYLESHEET.matcher.other_selectors
    selectors[:] = [entry for entry in selectors if entry[3] not in _NOTES]


_forget_notes()


class CharactersMissing(Exception):
    """Characters that no font of the locale can write."""

    def __init__(self, characters: str) -> None:
        super().__init__(characters)
        self.characters = characters


class Complaint(AssertionError):
    """WeasyPrint complained about our markup or style."""


class _Form:
    """A form XObject: what is drawn once and stamped by name."""

    def __init__(self, operators: Operators) -> None:
        self.id = operators.id
        self.content = operators.content
        self.layers = tuple(map(_Form, operators.layers))
        reach = operators.reach
        drawn = [0, 0, round(operators.width, 3), round(operators.height, 3)]
        self.box = [-reach, -reach, reach, reach] if reach else drawn

    @cached_property
    def compressed(self) -> bytes:
        """What it draws, made small; a picture that is written out never needs it."""
        return zlib.compress(self.content, 9)

    def named(self, stream: Any) -> str:
        """Its name in a page, which is told of its layers as well."""
        for layer in self.layers:
            layer.named(stream)
        return str(stream.add_image(self, False, 1))  # noqa: FBT003

    def get_x_object(self, _interpolate: object, _ratio: object) -> pydyf.Stream:
        """The PDF object."""
        extra = {"Subtype": "/Form", "Filter": "/FlateDecode", "BBox": pydyf.Array(self.box)}
        if self.layers:
            names = {f"i{layer.id}0": None for layer in self.layers}
            extra["Resources"] = pydyf.Dictionary({"XObject": pydyf.Dictionary(names), "Font": None})
        return pydyf.Stream([self.compressed], pydyf.Dictionary(extra))


class _Stamp:
    """A picture as a form, in the shape WeasyPrint's images have."""

    def __init__(self, form: _Form, operators: Operators) -> None:
        self.form, self.operators = form, operators
        self.width, self.height = operators.width, operators.height

    def get_intrinsic_size(self, _resolution: float, _font_size: float) -> tuple[float, float, float]:
        """Width and height in CSS px, and their ratio."""
        return self.width / 0.75, self.height / 0.75, self.width / self.height

    def draw(self, stream: Any, width: float, height: float, _style: object) -> None:
        """Put it into a page, ``width`` by ``height`` CSS px."""
        stream.transform(width / self.width, 0, 0, -height / self.height, 0, height)
        self.stamp(stream)

    def stamp(self, stream: Any) -> None:
        """By its name."""
        stream.draw_x_object(self.form.named(stream))


class _Written(_Stamp):
    """A picture that stands in few places: written into the page, an object of its own would weigh more."""

    def stamp(self, stream: Any) -> None:
        """Its operators, cut to its box as a form is."""
        for layer in self.form.layers:
            layer.named(stream)
        stream.rectangle(0, 0, self.width, self.height)
        stream.clip()
        stream.end()
        stream.stream.append(self.operators.content)


class _Page(HTML):  # type: ignore[misc]
    """Markup of our own templates: well-formed, so that it is read as XML, in a tenth of the time HTML would take."""

    def __init__(self, markup: str, fetcher: URLFetcher) -> None:
        self.base_url, self.url_fetcher, self.media_type = "leaflet:", fetcher, "print"
        self.etree_element = ET.fromstring(markup)  # noqa: S314 - it is ours, without a document type
        self.wrapper_element = ElementWrapper.from_html_root(self.etree_element)


class _Fetcher(URLFetcher):  # type: ignore[misc]
    """Serves the fonts of one script by file name, a leaflet's photographs by theirs, and nothing else."""

    def __init__(self, fonts: Fonts, photos: Mapping[str, bytes] | None = None) -> None:
        super().__init__()
        self.files = {file.path.name: file.path for file in fonts.files}
        self.photos = photos or {}

    def fetch(self, url: str, headers: object = None) -> URLFetcherResponse:  # noqa: ARG002
        """A font's bytes, or a photograph's."""
        scheme, _, name = url.partition(":")
        if scheme == "photo" and name in self.photos:
            return URLFetcherResponse(url, self.photos[name], {"Content-Type": "image/jpeg"})
        path = self.files.get(name)
        if scheme != "font" or path is None:
            raise FatalURLFetchingError(f"a leaflet asked for {url}")
        return URLFetcherResponse(url, path.read_bytes(), {"Content-Type": "font/ttf"})


@dataclass(frozen=True, slots=True)
class Press:
    """What stays warm from leaflet to leaflet: fonts and style of one script, direction and paper."""

    fonts: Fonts
    fetcher: _Fetcher
    configuration: FontConfiguration
    sheets: tuple[CSS, ...]


def set_up(
    fonts: Fonts,
    paper: Paper,
    direction: str,
    digits: str = "latn",
    accent: str = ACCENT,
    *,
    template: str = "leaflet.css",
) -> Press:
    """A new press for pages with the style of a template; never share one between threads. Raises ``OSError``."""
    for file in fonts.files:
        file.path.open("rb").close()  # one that is gone since it was found is no fault of the style
    fetcher, configuration = _Fetcher(fonts), FontConfiguration()
    with _Listening():
        counter = COUNTERS.get(digits, "decimal")
        text = style(paper, fonts, direction, counter, accent, template=template)
        sheet = CSS(string=text, font_config=configuration, url_fetcher=fetcher, base_url="leaflet:")
    return Press(fonts, fetcher, configuration, (sheet,))


press = lru_cache(maxsize=32)(set_up)
"""The press of a process with one thread."""


def stamps(
    pictures: Iterable[Picture], numbers: dict[str, str] | None = None, *, in_full: bool = False
) -> Mapping[str, Any]:
    """Pictures ready to be placed by name; ``numbers`` and ``in_full`` as in ``picture_operators``."""
    shared: dict[str, str] = {} if numbers is None else numbers
    forms: dict[str, Operators] = {}
    return stamps_of(picture_operators(picture, shared, forms=forms, in_full=in_full) for picture in pictures)


def stamps_of(drawn: Iterable[Operators]) -> Mapping[str, Any]:
    """Pictures that are operators already, ready to be placed by name."""
    return {f"stamp:{each.id}": _Stamp(_Form(each), each) for each in drawn}


def _placed(stamped: Mapping[str, Any], markup: str) -> dict[str, Any]:
    """The stamps of a document, those that stand in few places as what is written there."""
    uses = Counter(re.findall(r'src="(stamp:[^"]+)"', markup))
    return {
        name: _Written(stamp.form, stamp.operators) if 0 < uses[name] <= FEW else stamp
        for name, stamp in stamped.items()
    }


@dataclass(frozen=True, slots=True)
class Enclosed:
    """What goes into a PDF beside its pages."""

    photos: Mapping[str, bytes] = field(default_factory=dict)
    """JPEG by id."""
    xmp: bytes = b""
    """An ``rdf:Description``."""
    source: tuple[str, bytes, date] | None = None
    """A file to attach: its name, what is in it, its date."""


def typeset(leaflet: Leaflet, stamped: Mapping[str, Any], ready: Press, enclosed: Enclosed = Enclosed()) -> bytes:
    """The leaflet as PDF bytes; the same input gives the same bytes. Raises ``CharactersMissing``."""
    return typeset_markup(render(leaflet), stamped, ready, enclosed)


def typeset_markup(markup: str, stamped: Mapping[str, Any], ready: Press, enclosed: Enclosed = Enclosed()) -> bytes:
    """Any page of ours as PDF bytes. Raises ``CharactersMissing``."""
    with _Listening():
        document = _laid_out(markup, stamped, ready, enclosed.photos)
        _enclose(document.metadata, enclosed)
        identifier = hashlib.sha256(markup.encode()).digest()[:16]
        return bytes(document.write_pdf(finisher=_finish, pdf_variant=VARIANT, pdf_identifier=identifier))


def draft(
    markup: str, stamped: Mapping[str, Any], ready: Press, photos: Mapping[str, bytes], *, rules: str = ""
) -> bytes:
    """Pages to be looked at and thrown away: without tags, metadata, compression. Raises ``CharactersMissing``.

    ``rules``: of style, over those of the press.
    """
    with _Listening():
        own = CSS(string=rules, font_config=ready.configuration, url_fetcher=ready.fetcher, base_url="leaflet:")
        document = _laid_out(markup, stamped, replace(ready, sheets=(*ready.sheets, own)), photos)
        return bytes(document.write_pdf(uncompressed_pdf=True))


def _enclose(metadata: Any, enclosed: Enclosed) -> None:
    """Add to the metadata of a document what goes into its PDF beside its pages."""
    if enclosed.xmp:
        generate = metadata.generate_rdf_metadata

        def generated(*how: Any) -> bytes:
            head, _, foot = bytes(generate(*how)).rpartition(_END)
            return head + enclosed.xmp + _END + foot

        metadata.generate_rdf_metadata = generated
    if enclosed.source:
        name, data, day = enclosed.source
        made = datetime(day.year, day.month, day.day, tzinfo=UTC)
        metadata.attachments.append(Attachment(file_obj=io.BytesIO(data), name=name, created=made, modified=made))


def _finish(document: object, pdf: Any) -> None:
    """Put tags right, and ask printers not to fit pages to their paper (ISO 32000-1, 12.2): some are at true size."""
    put_right(document, pdf)
    pdf.catalog.setdefault("ViewerPreferences", pydyf.Dictionary())["PrintScaling"] = "/None"
    for embedded in pdf.objects:
        if isinstance(embedded, pydyf.Stream) and "Length1" in embedded.extra:
            lean = _lean(*embedded.stream)
            embedded.stream, embedded.extra["Length1"] = [lean], len(lean)


_NEEDED: Final = {"cvt ", "fpgm", "glyf", "head", "hhea", "hmtx", "loca", "maxp", "prep"}


def _lean(data: bytes) -> bytes:
    """A TrueType font with no more than a PDF asks of one whose glyphs are named by number (ISO 32000-1, 9.9)."""
    lean = io.BytesIO()
    with TTFont(io.BytesIO(data), lazy=True, recalcTimestamp=False) as font:
        for tag in set(font.reader.keys()) - _NEEDED:
            del font[tag]
        font.save(lean, reorderTables=None)
    return lean.getvalue()


def _laid_out(markup: str, stamped: Mapping[str, Any], ready: Press, photos: Mapping[str, bytes] | None) -> Any:
    """The pages."""
    missing = ready.fonts.missing(html.unescape(re.sub(r"<[^>]+>", "", markup)))
    if missing:
        raise CharactersMissing(missing)
    fetcher = _Fetcher(ready.fonts, photos) if photos else ready.fetcher
    return _Page(markup, fetcher).render(
        font_config=ready.configuration, stylesheets=ready.sheets, cache=_placed(stamped, markup)
    )


def overflows(
    leaflet: Leaflet, stamped: Mapping[str, Any], ready: Press, photos: Mapping[str, bytes] | None = None
) -> tuple[str, ...]:
    """Lines of text that reach out of the place they stand in, page by page. Raises ``CharactersMissing``."""
    with _Listening():
        document = _laid_out(render(leaflet), stamped, ready, photos)
    found = (text for page in document.pages for text in _overflowing(page._page_box, page._page_box))  # noqa: SLF001
    return tuple(dict.fromkeys(found))


SLACK_PX: Final = 1.0
UNSEEN: Final = " \u00a0\u2066\u2067\u2068\u2069"


def _overflowing(box: Any, holder: Any, margin: Any = None) -> Iterator[str]:
    """Of a box's texts, those that are wider than what holds them, or in a ``margin`` of a page higher."""
    if isinstance(box, boxes.TextBox):
        left, right = holder.content_box_x(), holder.content_box_x() + holder.width
        wide = box.position_x < left - SLACK_PX or box.position_x + box.width > right + SLACK_PX
        if box.text.strip(UNSEEN) and (wide or _below(box, margin)):
            yield str(box.text)
        return
    inside = box if isinstance(box, boxes.BlockContainerBox) and isinstance(box.width, int | float) else holder
    for child in getattr(box, "children", ()):
        yield from _overflowing(child, inside, box if isinstance(box, boxes.MarginBox) else margin)


def _below(box: Any, margin: Any) -> bool:
    """Whether a text in the margin of a page goes on in a second line: printers may not reach so low."""
    if margin is None:
        return False
    return bool(box.position_y + box.height > margin.content_box_y() + margin.height + box.height / 2)


class _Listening(logging.Handler):
    """Turns what WeasyPrint logs into an error of ours."""

    def __init__(self) -> None:
        super().__init__(logging.WARNING)
        self.heard: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        """Keep a complaint."""
        self.heard.append(record.getMessage())

    def __enter__(self) -> "_Listening":
        """Begin to listen."""
        logging.getLogger("weasyprint").addHandler(self)
        return self

    def __exit__(self, kind: type[BaseException] | None, *_: object) -> None:
        """Stop, and speak up."""
        logging.getLogger("weasyprint").removeHandler(self)
        if self.heard and kind is None:
            raise Complaint("; ".join(self.heard))
