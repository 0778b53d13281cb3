"""Demos ready to be told, composed once for every locale."""

from collections.abc import Callable
from functools import cache
from pathlib import Path

import pytest

from pipeline.craft.check import Checked
from pipeline.files import check_file
from pipeline.language.locales import load_locales
from pipeline.language.speech import Speech, load_speech
from pipeline.leaflet.compose import compose
from pipeline.leaflet.content import Leaflet
from pipeline.leaflet.steps import Told
from pipeline.notation import write
from pipeline.publisher import Publisher
from pipeline.symbols import SymbolSet
from pipeline.workspace import shipped

PATTERNS = Path(__file__).resolve().parent.parent.parent / "patterns"
PUBLISHER = Publisher(publisher="Trial Press", contact="trial@example.org", address="https://example.org")

Tell = Callable[[str, Speech], Told]
Compose = Callable[[str, str], Leaflet]


@pytest.fixture(scope="session")
def tell(symbols: SymbolSet) -> Tell:
    """A demo and a speech, ready to be composed."""

    @cache
    def checked(demo: str) -> Checked:
        return check_file(PATTERNS / f"{demo}.yaml")

    def run(demo: str, speech: Speech) -> Told:
        found = checked(demo)
        assert found.pattern is not None
        assert found.lace is not None
        return Told(found.pattern, found.lace, write(found.lace), symbols, speech)

    return run


@pytest.fixture(scope="session")
def composed(tell: Tell) -> Compose:
    """The leaflet of a demo in a locale, on paper with a ladder of its own."""
    folder = shipped("locales")
    locales = load_locales([folder])

    @cache
    def run(demo: str, tag: str) -> Leaflet:
        return compose(tell(demo, load_speech([folder], locales[tag])), PUBLISHER, ("chart", "ladder"))

    return run
