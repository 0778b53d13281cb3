"""What a leaflet says of itself to programs: its edition and all before it, who may do what (XMP, ISO 16684-1).

Only properties of the standard's own schemas: Dublin Core, media management and rights management.
"""

from collections.abc import Iterator
from typing import Final
from xml.etree.ElementTree import Element, SubElement, register_namespace, tostring

from pipeline.leaflet.content import Leaflet
from pipeline.pattern_model import Pattern
from pipeline.publisher import Publisher

_SCHEMAS: Final = {
    "rdf": "http://www.w3.org/1999/02/22-rdf-syntax-ns#",
    "dc": "http://purl.org/dc/elements/1.1/",
    "xmpMM": "http://ns.adobe.com/xap/1.0/mm/",
    "stVer": "http://ns.adobe.com/xap/1.0/sType/Version#",
    "xmpRights": "http://ns.adobe.com/xap/1.0/rights/",
}
for _prefix, _uri in _SCHEMAS.items():
    register_namespace(_prefix, _uri)


def metadata(pattern: Pattern, leaflet: Leaflet, publisher: Publisher | None) -> bytes:
    """An ``rdf:Description``: identifier, edition, versions with what each put right, publisher and rights."""
    about = Element(_name("rdf:Description"), {_name("rdf:about"): ""})
    _text(about, "dc:identifier", pattern.id)
    _list(about, "dc:language", "rdf:Bag", [leaflet.lang])
    _text(about, "xmpMM:VersionID", str(pattern.edition.number))
    _versions(about, pattern)
    if publisher:
        _list(about, "dc:publisher", "rdf:Bag", [publisher.publisher])
        rights = " ".join(filter(None, [publisher.copyright, publisher.licence]))
        _alternatives(about, "dc:rights", rights)
        _alternatives(about, "xmpRights:UsageTerms", " ".join(leaflet.imprint.terms))
    return bytes(tostring(about, encoding="utf-8"))


def _name(short: str) -> str:
    prefix, _, name = short.partition(":")
    return f"{{{_SCHEMAS[prefix]}}}{name}"


def _text(parent: Element, name: str, text: str) -> None:
    SubElement(parent, _name(name)).text = text


def _list(parent: Element, name: str, kind: str, texts: list[str]) -> None:
    holder = SubElement(SubElement(parent, _name(name)), _name(kind))
    for text in texts:
        _text(holder, "rdf:li", text)


def _alternatives(parent: Element, name: str, text: str) -> None:
    """A text by language, of which there is one."""
    if text:
        _list(parent, name, "rdf:Alt", [text])
        parent[-1][0][0].set("{http://www.w3.org/XML/1998/namespace}lang", "x-default")


def _versions(parent: Element, pattern: Pattern) -> None:
    """Every edition that put something right, and the one at hand with its date; the newest last."""
    holder = SubElement(SubElement(parent, _name("xmpMM:Versions")), _name("rdf:Seq"))
    for number, date, comments in _editions(pattern):
        version = SubElement(holder, _name("rdf:li"), {_name("rdf:parseType"): "Resource"})
        _text(version, "stVer:version", str(number))
        if date:
            _text(version, "stVer:modifyDate", date)
        if comments:
            _text(version, "stVer:comments", comments)


def _editions(pattern: Pattern) -> Iterator[tuple[int, str, str]]:
    this = pattern.edition
    for number in sorted({this.number, *(entry.edition for entry in pattern.corrections)}):
        comments = " ".join(entry.text for entry in pattern.corrections if entry.edition == number)
        yield number, this.date.isoformat() if number == this.number else "", comments
