"""A small site of two demos in four languages, and one whose texts are hostile."""

import copy
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from pipeline.catalogue.make import Shelf, Subject, subject_of
from pipeline.catalogue.site import make_site
from pipeline.craft.check import Checked
from pipeline.files import check_file
from pipeline.language.locales import load_locales
from pipeline.language.speech import Speech, load_speech
from pipeline.publisher import Publisher
from pipeline.symbols import SymbolSet
from pipeline.workspace import shipped

PATTERNS = Path(__file__).resolve().parents[2] / "patterns"
PUBLISHER = Publisher(publisher="Trial Press", contact="trial@example.org", address="https://example.org/trial")
TAGS = ("en", "ar", "ja", "pt-BR")
FILES = {("night-heron", "en"): [("a4", "pdf/night heron.en.a4.pdf"), ("letter", "pdf/night-heron.en.letter.pdf")]}
HOSTILE = (
    """</style></script><script>alert(1)</script>"'><img src=x onerror=alert(2)> & {{ 7 * 7 }} javascript:alert(3)"""
)

Site = dict[str, bytes]


@pytest.fixture(scope="session")
def speeches() -> list[Speech]:
    """Four languages."""
    locales = load_locales([shipped("locales")])
    return [load_speech([shipped("locales")], locales[tag]) for tag in TAGS]


@pytest.fixture(scope="session")
def subjects(symbols: SymbolSet) -> list[Subject]:
    """Two demos."""
    shelf = Shelf(symbols, PUBLISHER, (shipped("locales"),), ())
    return [subject_of(check_file(PATTERNS / f"{demo}.yaml"), shelf) for demo in ("low-sun", "night-heron")]


@pytest.fixture(scope="session")
def site(subjects: list[Subject], speeches: list[Speech]) -> Site:
    """The site of two demos, at an address of its own."""
    return dict(make_site(subjects, speeches, FILES, "https://example.org/lace/"))


@pytest.fixture(scope="session")
def hostile_subject(symbols: SymbolSet, check_text: Callable[..., Checked]) -> Subject:
    """A pattern and a publisher that say nothing but markup, formulas and quotes."""
    tree: dict[str, Any] = copy.deepcopy({
        "spokeleaf": 1, "id": "trial", "title": f"=Title {HOSTILE}", "language": "en", "level": 1,
        "edition": {"number": 1, "date": "2026-03-14"}, "summary": f"+Summary {HOSTILE}", "sku": f"@Sku {HOSTILE}",
        "loom": {"shape": "circle", "diameter": "80 mm", "pins": 24}, "tools": [f"Tool {HOSTILE}"],
        "tags": [f"-Tag {HOSTILE}"], "price": {"amount": "6.50", "currency": "EUR"},
        "threads": {"A": {"fibre": "cotton", "tex": 40, "colour": "#1b4f72", "colour_name": f"Colour {HOSTILE}"}},
        "rounds": [{"darn": {}}, {"knot": {"rays": 4}, "at": "15 mm", "note": f"Note {HOSTILE}"}],
        "links": [{"url": "https://example.org/?a=1&copy=2", "label": f"Label {HOSTILE}"}],
        "corrections": [{"edition": 1, "text": f"Text {HOSTILE}"}],
        "sizes": [{"name": f"Size {HOSTILE}", "loom": {"diameter": "60 mm", "pins": 24}}],
    })  # fmt: skip
    checked = check_text(tree)
    assert checked.ok, checked.problems
    publisher = Publisher(
        publisher=f"Publisher {HOSTILE}", contact="javascript:alert(4)", licence=f"Licence {HOSTILE}",
        copyright=f"Copyright {HOSTILE}",
    )  # fmt: skip
    return subject_of(checked, Shelf(symbols, publisher, (shipped("locales"),), ()))


@pytest.fixture(scope="session")
def hostile_site(hostile_subject: Subject, speeches: list[Speech]) -> Site:
    """Its site; a file to have has a hostile name, too."""
    files = {("trial", "en"): [(f"a4 {HOSTILE}", f"pdf/{HOSTILE}.pdf"), ("a5", "javascript:alert(5)")]}
    return dict(make_site([hostile_subject], speeches[:2], files, "https://example.org/lace"))
