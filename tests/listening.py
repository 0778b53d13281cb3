"""Listens to a leaflet: what its PDF tells by tags, languages and places, and what its markup says.

From the page streams and the structure tree of ISO 32000-1, 14.6 to 14.8; clauses are given from memory. On the way it
asserts what has to hold for every mark.
"""

import io
import itertools
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from html.parser import HTMLParser
from typing import Any

import pikepdf

PAINTS = {"S", "s", "f", "F", "f*", "B", "B*", "b", "b*", "Tj", "TJ", "'", '"', "Do", "sh", "INLINE IMAGE"}
"""Operators that paint (ISO 32000-1, annex A)."""

UNSEEN = re.compile("[\\s\u00ad\u2010\u2066-\u2069]")
"""What lines break at, and isolates: no text."""

Token = tuple[str, str]
"""A language, and in it a text or, in brackets, the words for a picture."""


@dataclass(frozen=True, slots=True)
class Painted:
    """One thing that is painted, and what it stands in: the number of a tagged sequence, an artifact, or nothing."""

    operator: str
    number: int | None
    artifact: str
    text: str


Mark = tuple[int | None, str, str]
"""What is painted stands in: the number of a tagged sequence, a kind of artifact, a text that is said instead."""

NOWHERE: Mark = (None, "", "")


class State:
    """What is in force at a place in the content of a page."""

    def __init__(self, page: pikepdf.Page) -> None:
        self.page = page
        self.marks = [NOWHERE]
        self.above: list[pikepdf.Matrix] = []
        self.matrix = pikepdf.Matrix()
        self.letters: Mapping[int, str] = {}
        self.box = pikepdf.Rectangle(0, 0, 0, 0)

    def follow(self, operator: str, operands: Any) -> None:
        """Take one operator in."""
        match operator:
            case "BMC" | "BDC":
                self.marks.append(entered(self.marks[-1], operands))
            case "EMC":
                self.marks.pop()
            case "q":
                self.above.append(self.matrix)
            case "Q":
                self.matrix = self.above.pop()
            case "cm":
                self.matrix = pikepdf.Matrix(*map(float, operands)) @ self.matrix
            case "Tf":
                self.letters = letters_of(self.page.Resources.Font[operands[0]])
            case "re":
                x, y, width, height = map(float, operands)
                self.box = pikepdf.Rectangle(x, y, x + width, y + height)
            case "Do":
                # A picture made of pixels fills the unit square (8.9.5.1).
                box = self.page.Resources.XObject[operands[0]].get("/BBox", [0, 0, 1, 1])
                self.box = pikepdf.Rectangle(*map(float, box))


@dataclass(frozen=True)
class Leaflet:
    """A leaflet as markup and as PDF."""

    markup: str
    data: bytes
    painted: list[list[Painted]] = field(default_factory=list)
    """By page."""
    places: dict[tuple[int, int], tuple[float, ...]] = field(default_factory=dict)
    """By page and number of the sequence: where its first picture stands, in pt from the lower left."""

    @cached_property
    def pdf(self) -> pikepdf.Pdf:
        """The file; pages are read as they are painted."""
        pdf = pikepdf.open(io.BytesIO(self.data))
        for index, page in enumerate(pdf.pages):
            self.painted.append(list(self._read(index, page)))
        return pdf

    @cached_property
    def elements(self) -> list[Any]:
        """Every structure element, in reading order."""
        return list(below(self.pdf.Root.StructTreeRoot))

    @cached_property
    def page_of(self) -> dict[Any, int]:
        """The index of a page, by its object."""
        return {page.objgen: index for index, page in enumerate(self.pdf.pages)}

    def _read(self, index: int, page: pikepdf.Page) -> Iterator[Painted]:
        """What a page paints, in that order."""
        state = State(page)
        for each in pikepdf.parse_content_stream(page):
            operator, operands = str(each.operator), each.operands
            state.follow(operator, operands)
            number, artifact, instead = state.marks[-1]
            if operator in {"Do", "W"} and number is not None:
                found = state.matrix.transform(state.box)
                self.places.setdefault((index, number), (found.llx, found.lly, found.urx, found.ury))
            if operator == "BDC" and instead:
                yield Painted(operator, number, artifact, instead)
            if operator in PAINTS:
                is_text = operator in {"Tj", "TJ"} and not instead
                text = "".join(shown(operands, state.letters)) if is_text else ""
                yield Painted(operator, number, artifact, text)
        assert state.marks == [NOWHERE]

    def tokens(self) -> list[Token]:
        """What is read to a listener."""
        texts: dict[tuple[int, int], str] = {}
        assert self.pdf
        for index, page in enumerate(self.painted):
            for each in page:
                if each.number is not None:
                    texts[index, each.number] = texts.get((index, each.number), "") + each.text
        return merged(self._said(self.pdf.Root.StructTreeRoot.K[0], str(self.pdf.Root.Lang), texts, set()))

    def _said(self, element: Any, lang: str, texts: Mapping[tuple[int, int], str], heads: set[str]) -> Iterator[Token]:
        lang = str(element.get("/Lang", lang))
        said: list[Token] = [(lang, f"[{element.Alt}]")] if element.S == "/Figure" else []
        for kid in element.get("/K", []) if element.S != "/Figure" else []:
            if isinstance(kid, int):
                said.append((lang, texts.get((self.page_of[element.Pg.objgen], kid), "")))
            elif "/S" in kid:
                said.extend(self._said(kid, lang, texts, heads))
        # The heads of a table are said again on every page it goes on to.
        if element.S == "/THead" and str(said) in heads:
            return
        if element.S == "/THead":
            heads.add(str(said))
        yield from said


def entered(outside: Mark, operands: Any) -> Mark:
    """What a mark means inside another: neither is an artifact tagged, nor is content tagged twice (ISO 14289-1, 7.1)."""
    properties = operands[1] if len(operands) > 1 else {}
    if operands[0] == "/Artifact":
        assert outside == NOWHERE
        return None, f"{properties.get('/Type', '')}{properties.get('/Subtype', '')}" or "plain", ""
    if "/MCID" in properties:
        assert outside == NOWHERE
        return int(properties["/MCID"]), "", ""
    return outside[0], outside[1], str(properties.get("/ActualText", outside[2]))


def letters_of(font: Any) -> dict[int, str]:
    """The text of every glyph of a font (ISO 32000-1, 9.10.3); our fonts are two-byte and list glyph by glyph."""
    pairs = re.findall(rb"<([0-9a-f]{4})> <([0-9a-f]+)>\n", font.ToUnicode.read_bytes())
    return {int(code, 16): bytes.fromhex(text.decode()).decode("utf-16-be") for code, text in pairs}


def shown(operands: Any, letters: Mapping[int, str]) -> Iterator[str]:
    """The letters of a text that is shown."""
    for part in operands[0] if isinstance(operands[0], pikepdf.Array) else operands:
        if isinstance(part, pikepdf.String):
            data = bytes(part)
            yield from (letters[int.from_bytes(data[at : at + 2], "big")] for at in range(0, len(data), 2))


def below(node: Any) -> Iterator[Any]:
    """Every structure element below a node."""
    for kid in node.get("/K", []):
        if isinstance(kid, pikepdf.Dictionary) and "/S" in kid:
            yield kid
            yield from below(kid)


def merged(tokens: Iterable[Token]) -> list[Token]:
    """Without what is not seen; texts of one language that follow each other as one, and so pictures."""
    seen = ((lang, UNSEEN.sub("", text)) for lang, text in tokens)
    groups = itertools.groupby((token for token in seen if token[1]), key=lambda token: (token[0], token[1][0] == "["))
    return [(lang, text) for (lang, _), group in groups for text in ("".join(text for _, text in group),)]


class Markup(HTMLParser):
    """What markup says, in its order."""

    def __init__(self, paper: str) -> None:
        super().__init__()
        self.hidden = [{"one", "dot"}, *([{"two", "swatch"}] if paper == "a5" else [])]
        self.open: list[tuple[str, str, frozenset[str]]] = [("", "", frozenset())]
        self.found: list[Token] = []

    @property
    def is_quiet(self) -> bool:
        """Whether what comes is not in the flow of the page: its head, its margins, what its style hides."""
        quiet = any(tag in {"title", "style"} for tag, _, _ in self.open)
        classes = self.open[-1][2]
        return quiet or any(name.startswith("running-") for name in classes) or any(h <= classes for h in self.hidden)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Go in."""
        said = dict(attrs)
        _, lang, around = self.open[-1]
        self.open.append((tag, said.get("lang") or lang, around | set((said.get("class") or "").split())))
        if tag == "img" and not self.is_quiet:
            self.found.append((self.open[-1][1], f"[{said['alt']}]"))
        if tag in {"img", "br", "meta"}:
            self.open.pop()

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """By the way."""
        self.handle_starttag(tag, attrs)

    def handle_endtag(self, _tag: str) -> None:
        """Go out."""
        self.open.pop()

    def handle_data(self, data: str) -> None:
        """Hear a text."""
        if not self.is_quiet:
            self.found.append((self.open[-1][1], data))


def said_by(leaflet: Leaflet, paper: str) -> list[Token]:
    """What the markup of a leaflet says."""
    markup = Markup(paper)
    markup.feed(leaflet.markup)
    return merged(markup.found)
