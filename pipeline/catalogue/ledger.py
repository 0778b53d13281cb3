"""The ledger of a workspace's catalogue: of every leaflet what it was made from and what came of it.

One SQLite file; an entry is there wholly or not at all, whenever a run is stopped. What it says of a leaflet counts
only as long as the file it speaks of is as it was left. Where the ledger itself is damaged, whenever that shows, it is
begun anew: what it said is found out again. An entry that cannot be one counts as none.
"""

import hashlib
import json
import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from pipeline.catalogue.used import Asked
from pipeline.workspace import stays_inside

SCHEME = 1
"""Of the entries; another one is begun anew."""
_TABLES = """
create table if not exists leaflets (
    name text primary key, inputs text, hash text, catalogues text, said text, asked text,
    size integer, changed integer, bytes text
);
create table if not exists files (path text primary key, size integer, changed integer, bytes text);
"""
_KINDS = (str, str, str, str, str, int, int, str)
_ASKED_KINDS = ((str, str, str), (str, str, str, str, int))
"""Of the values of an entry, and of a text that was asked for: the kinds they have unless they are damaged."""


@dataclass(frozen=True, slots=True)
class Entry:
    """What a leaflet was made from: names of files and their hash together, catalogues, texts, and their answers."""

    inputs: Sequence[str]
    hash: str
    catalogues: str
    asked: Sequence[Asked]
    said: str


@dataclass(frozen=True, slots=True)
class Kept:
    """An entry as it is looked at first: without its texts."""

    inputs: Sequence[str]
    hash: str
    catalogues: str
    said: str
    size: int
    changed: int
    bytes: str


class Ledger:
    """The file, open."""

    def __init__(self, file: Path) -> None:
        file.parent.mkdir(parents=True, exist_ok=True)
        self._file = file
        self._base = sqlite3.connect(file, isolation_level=None, timeout=30)
        try:
            self._begin()
        except sqlite3.DatabaseError:
            self._begin_anew()

    def _begin(self) -> None:
        self._base.execute("pragma journal_mode=wal")
        self._base.execute("pragma synchronous=normal")
        (scheme,) = self._base.execute("pragma user_version").fetchone()
        if scheme != SCHEME:
            self._base.executescript("drop table if exists leaflets; drop table if exists files;")
        self._base.executescript(_TABLES + f"pragma user_version={SCHEME};")

    def _begin_anew(self) -> None:
        self._base.close()
        for each in self._file.parent.glob(f"{self._file.name}*"):
            each.unlink()
        self._base = sqlite3.connect(self._file, isolation_level=None, timeout=30)
        self._begin()

    def _rows(self, statement: str, *values: object) -> list[tuple[Any, ...]]:
        """What a statement finds; damage shows in the part of a file that is read, long after it was opened."""
        try:
            return self._base.execute(statement, values).fetchall()
        except sqlite3.DatabaseError:
            self._begin_anew()
            return self._base.execute(statement, values).fetchall()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._base.close()

    def kept(self) -> dict[str, Kept]:
        """Every entry, by the name of its leaflet."""
        rows = self._rows("select name, inputs, hash, catalogues, said, size, changed, bytes from leaflets")
        sound = (row for row in rows if tuple(map(type, row)) == _KINDS)
        return {name: Kept(inputs.split("\n"), *rest) for name, inputs, *rest in sound}

    def asked(self, name: str) -> list[Asked]:
        """The texts of an entry; none where they cannot be made out, so that they say something else than they did."""
        try:
            ((asked,),) = self._rows("select asked from leaflets where name = ?", name)
            return [tuple(each) for each in json.loads(asked) if tuple(map(type, each)) in _ASKED_KINDS]
        except (ValueError, TypeError, RecursionError):
            return []

    def put(self, name: str, entry: Entry, file: Path) -> None:
        """Enter a leaflet that was made."""
        stat = file.stat()
        row = (
            name, "\n".join(entry.inputs), entry.hash, entry.catalogues, entry.said,
            json.dumps(entry.asked, ensure_ascii=False), stat.st_size, stat.st_mtime_ns, read_hash(file),
        )  # fmt: skip
        self._rows("insert or replace into leaflets values (?, ?, ?, ?, ?, ?, ?, ?, ?)", *row)

    def still(self, name: str, catalogues: str) -> None:
        """Other catalogues say the same to a leaflet."""
        self._rows("update leaflets set catalogues = ? where name = ?", catalogues, name)

    def touched(self, name: str, file: Path) -> None:
        """A leaflet's file is the same at another time."""
        self._rows("update leaflets set changed = ? where name = ?", file.stat().st_mtime_ns, name)

    def hash_of(self, file: Path) -> str:
        """The hash of a file's bytes, read only where its size or time is another; empty where there is none."""
        try:
            stat = file.stat()
        except OSError:
            return ""
        seen = (stat.st_size, stat.st_mtime_ns)
        for *before, known in self._rows("select size, changed, bytes from files where path = ?", str(file)):
            if tuple(before) == seen and isinstance(known, str):
                return known
        found = read_hash(file)
        self._rows("insert or replace into files values (?, ?, ?, ?)", str(file), *seen, found)
        return found


def read_hash(file: Path) -> str:
    """The hash of a file's bytes; empty where there is none."""
    try:
        if not (file.is_file() and stays_inside(file)):
            return ""
        with file.open("rb") as data:
            return hashlib.file_digest(data, "sha256").hexdigest()
    except OSError:
        return ""
