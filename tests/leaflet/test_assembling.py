"""The table of sizes: figures that read alike in every direction of script."""

from pathlib import Path

import pytest

from pipeline.catalogue.make import Shelf, subject_of
from pipeline.files import check_file
from pipeline.language.locales import load_locales
from pipeline.language.speech import LEFT_TO_RIGHT, POP, load_speech
from pipeline.leaflet.assembling import size_table
from pipeline.leaflet.content import SizeTable
from pipeline.leaflet.steps import Told
from pipeline.publisher import Publisher
from pipeline.symbols import SymbolSet
from pipeline.workspace import shipped

DEMO = Path(__file__).resolve().parent.parent.parent / "patterns" / "drift-ice.yaml"


def table(symbols: SymbolSet, tag: str) -> SizeTable:
    """The table of the demo that comes in three sizes."""
    shelf = Shelf(symbols, Publisher(publisher="Trial Press"), (shipped("locales"),), ())
    subject = subject_of(check_file(DEMO), shelf)
    speech = load_speech(shelf.catalogues, load_locales(shelf.catalogues)[tag])
    found = size_table(Told(subject.pattern, subject.lace, subject.lines, symbols, speech, subject.sizes))
    assert found is not None
    return found


@pytest.mark.parametrize("tag", ["ar", "he"])
def test_a_round_in_every_size_is_one_run_from_left_to_right(symbols: SymbolSet, tag: str) -> None:
    """Unicode UAX #9: in two isolates the distance would stand left of the groups, and their comma outside."""
    rounds = [row[2] for row in table(symbols, tag).rows[-4:]]
    assert rounds == [
        tuple(f"{LEFT_TO_RIGHT}{value}{POP}" for value in row[2]) for row in table(symbols, "en").rows[-4:]
    ]
    assert rounds[1][0] == f"{LEFT_TO_RIGHT}4\u00a0×\u00a024, 5.1\u00a0mm{POP}"
