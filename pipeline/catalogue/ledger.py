"""The ledger of a workspace's catalogue: of every leaflet what it was made from and what came of it.

One SQLite file; an entry is there wholly or not at all, whenever a run is stopped. What it says of a leaflet counts
only as long as the file it speaks of is as it was left.
"""

import hashlib
import json
import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import Self

from pipeline.catalogue.used import Asked

SCHEME = 1
"""Of the entries; another one is begun anew."""
_TABLES = """
create table if not exists leaflets (
    name text primary key, inputs text, hash text, catalogues text, said text, asked text,
    size integer, changed integer, bytes text
);
create table if not exists files (path text primary key, size integer, changed integer, bytes text);
"""


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
        self._open(file)

    def _open(self, file: Path) -> None:
        try:
            self._base = sqlite3.connect(file, isolation_level=None, timeout=30)
            self._base.execute("pragma journal_mode=wal")
            self._base.execute("pragma synchronous=normal")
            (scheme,) = self._base.execute("pragma user_version").fetchone()
            if scheme != SCHEME:
                self._base.executescript("drop table if exists leaflets; drop table if exists files;")
            self._base.executescript(_TABLES + f"pragma user_version={SCHEME};")
        except sqlite3.DatabaseError:  # damaged: what it said is found out again
            self._base.close()
            for each in file.parent.glob(f"{file.name}*"):
                each.unlink()
            self._open(file)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._base.close()

    def kept(self) -> dict[str, Kept]:
        """Every entry, by the name of its leaflet."""
        rows = self._base.execute("select name, inputs, hash, catalogues, said, size, changed, bytes from leaflets")
        return {name: Kept(inputs.split("\n"), *rest) for name, inputs, *rest in rows}

    def asked(self, name: str) -> list[Asked]:
        """The texts of an entry."""
        (asked,) = self._base.execute("select asked from leaflets where name = ?", (name,)).fetchone()
        return [tuple(each) for each in json.loads(asked)]

    def put(self, name: str, entry: Entry, file: Path) -> None:
        """Enter a leaflet that was made."""
        stat = file.stat()
        row = (
            name, "\n".join(entry.inputs), entry.hash, entry.catalogues, entry.said,
            json.dumps(entry.asked, ensure_ascii=False), stat.st_size, stat.st_mtime_ns, read_hash(file),
        )  # fmt: skip
        self._base.execute("insert or replace into leaflets values (?, ?, ?, ?, ?, ?, ?, ?, ?)", row)

    def still(self, name: str, catalogues: str) -> None:
        """Other catalogues say the same to a leaflet."""
        self._base.execute("update leaflets set catalogues = ? where name = ?", (catalogues, name))

    def touched(self, name: str, file: Path) -> None:
        """A leaflet's file is the same at another time."""
        self._base.execute("update leaflets set changed = ? where name = ?", (file.stat().st_mtime_ns, name))

    def hash_of(self, file: Path) -> str:
        """The hash of a file's bytes, read only where its size or time is another; empty where there is none."""
        try:
            stat = file.stat()
        except OSError:
            return ""
        seen = (stat.st_size, stat.st_mtime_ns)
        row = self._base.execute("select size, changed, bytes from files where path = ?", (str(file),)).fetchone()
        if row and row[:2] == seen:
            return str(row[2])
        found = read_hash(file)
        self._base.execute("insert or replace into files values (?, ?, ?, ?)", (str(file), *seen, found))
        return found


def read_hash(file: Path) -> str:
    """The hash of a file's bytes; empty where there is none."""
    try:
        with file.open("rb") as data:
            return hashlib.file_digest(data, "sha256").hexdigest()
    except OSError:
        return ""
