"""The ledger: whatever becomes of its file, it works, and what it cannot say any more it does not say."""

import hashlib
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from pipeline.catalogue.ledger import Entry, Ledger

LEAFLET = b"leaflet"
DIGEST = hashlib.sha256(LEAFLET).hexdigest()
ENTRY = Entry(("symbol:knot", "program"), "1", "2", (("patterns", "trial", "Knot"),), "3", DIGEST)
COUNT = 60


@pytest.fixture
def leaflet(tmp_path: Path) -> Path:
    """A leaflet that was made."""
    file = tmp_path / "leaflet.pdf"
    file.write_bytes(LEAFLET)
    return file


@pytest.fixture
def written(tmp_path: Path, leaflet: Path) -> Path:
    """A ledger of many entries, closed."""
    file = tmp_path / "ledger"
    with Ledger(file) as ledger:
        for number in range(COUNT):
            ledger.put(f"{number}.pdf", ENTRY, leaflet)
    return file


def works(ledger: Ledger, leaflet: Path) -> None:
    """An entry can be made and read back, and a file's hash be asked for."""
    ledger.put("new.pdf", ENTRY, leaflet)
    assert ledger.kept()["new.pdf"].inputs == list(ENTRY.inputs)
    assert ledger.asked("new.pdf") == list(ENTRY.asked)
    assert ledger.hash_of(leaflet) == ledger.kept()["new.pdf"].bytes


def test_what_was_entered_is_there(written: Path, leaflet: Path) -> None:
    """Every entry, after the file was closed."""
    with Ledger(written) as ledger:
        assert len(ledger.kept()) == COUNT
        works(ledger, leaflet)


def test_a_leaflet_that_was_replaced_meanwhile_is_not_entered(written: Path, leaflet: Path) -> None:
    """Another stands in its place when it is to be entered: no entry, so that it is made again."""
    leaflet.write_bytes(b"somebody else's")
    with Ledger(written) as ledger:
        ledger.put("new.pdf", ENTRY, leaflet)
        assert "new.pdf" not in ledger.kept()


def test_damage_that_shows_after_it_was_opened_begins_it_anew(written: Path, leaflet: Path) -> None:
    """The head is whole, a page of entries is not: none is kept, and it works."""
    data = bytearray(written.read_bytes())
    size = 4096
    for start in range(size, len(data), size):
        data[start : start + 64] = b"\xff" * 64
    written.write_bytes(bytes(data))
    with Ledger(written) as ledger:
        assert ledger.kept() == {}
        works(ledger, leaflet)


@pytest.mark.parametrize("column", ["inputs", "hash", "said", "size", "bytes"])
def test_an_entry_of_other_kinds_of_value_counts_as_none(written: Path, leaflet: Path, column: str) -> None:
    """A value that is nothing: that entry is not kept, all others are."""
    with closing(sqlite3.connect(written, isolation_level=None)) as base:
        base.execute(f"update leaflets set {column} = null where name = '7.pdf'")  # noqa: S608
    with Ledger(written) as ledger:
        assert set(ledger.kept()) == {f"{number}.pdf" for number in range(COUNT)} - {"7.pdf"}
        works(ledger, leaflet)


@pytest.mark.parametrize("asked", [None, "", "[", "1", "[1]", '[["patterns", "trial"]]', '[["a", "b", 1]]', "[" * 9000])
def test_texts_that_cannot_be_made_out_are_none(written: Path, asked: str | None) -> None:
    """Nothing, no JSON, or other things than texts: what was asked is not known."""
    with closing(sqlite3.connect(written, isolation_level=None)) as base:
        base.execute("update leaflets set asked = ? where name = '7.pdf'", (asked,))
    with Ledger(written) as ledger:
        assert ledger.asked("7.pdf") == []
        assert ledger.asked("8.pdf") == list(ENTRY.asked)


def test_a_table_of_another_shape_begins_it_anew(written: Path, leaflet: Path) -> None:
    """The right scheme, and none of its columns."""
    with closing(sqlite3.connect(written, isolation_level=None)) as base:
        base.executescript("drop table leaflets; create table leaflets (name text);")
    with Ledger(written) as ledger:
        assert ledger.kept() == {}
        works(ledger, leaflet)


def test_a_schema_that_is_no_text_begins_it_anew(written: Path, leaflet: Path) -> None:
    """The statement that made a table has a byte of no text in it, which SQLite quotes when it complains."""
    data = written.read_bytes()
    assert data.count(b"CREATE TABLE leaflets (") == 1
    written.write_bytes(data.replace(b"CREATE TABLE leaflets (", b"CREATE TABLE leaflets \xff"))
    with Ledger(written) as ledger:
        assert ledger.kept() == {}
        works(ledger, leaflet)
