"""The ledger of a workspace's catalogue: of every leaflet what it was made from and what came of it.

One SQLite file; an entry is there wholly or not at all, whenever a run is stopped. What it says of a leaflet counts
only as long as the file it speaks of is as it was left. Where the ledger itself is damaged, whenever that shows, it is
begun anew: what it said is found out again. An entry that cannot be one counts as none. Where it is sound and cannot
be used, as on a full disk, that is an ``OSError``.
"""

import errno
import hashlib
import json
import re
import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import Any, Final, Self

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
_DAMAGE = (sqlite3.DatabaseError, UnicodeDecodeError)
"""What is raised where a file is damaged: SQLite's words for it may quote what is no text."""
_SURROGATE: Final = re.compile("[\ud800-\udfff]")
"""What stands in names of files for bytes that are no text."""
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
    bytes: str
    """The hash of the leaflet that was made."""


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
        with refusals(file):
            try:
                self._begin()
            except _DAMAGE as error:
                self._begin_anew(error)

    def _begin(self) -> None:
        self._base = sqlite3.connect(self._file, isolation_level=None, timeout=30)
        self._base.execute("pragma journal_mode=wal")
        self._base.execute("pragma synchronous=normal")
        (scheme,) = self._base.execute("pragma user_version").fetchone()
        if scheme != SCHEME:
            self._base.executescript("drop table if exists leaflets; drop table if exists files;")
        self._base.executescript(_TABLES + f"pragma user_version={SCHEME};")

    def _begin_anew(self, error: Exception) -> None:
        """Without what it said; where it is not damaged, but the machine refuses it, it stays as it is."""
        if is_refused(error):
            raise error
        self._base.close()
        for each in self._file.parent.glob(f"{self._file.name}*"):
            each.unlink()
        self._begin()

    def _rows(self, statement: str, *values: object) -> list[tuple[Any, ...]]:
        """What a statement finds; damage shows in the part of a file that is read, long after it was opened."""
        bound = tuple(map(_bound, values))
        with refusals(self._file):
            try:
                rows = self._base.execute(statement, bound).fetchall()
            except _DAMAGE as error:
                self._begin_anew(error)
                rows = self._base.execute(statement, bound).fetchall()
        return [tuple(map(_told, row)) for row in rows]

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
        """Enter a leaflet that was made, unless somebody took it away since, or put another in its place."""
        try:
            stat = file.stat()
        except OSError:
            return
        if entry.bytes != read_hash(file):
            return
        row = (
            name, "\n".join(entry.inputs), entry.hash, entry.catalogues, entry.said,
            json.dumps(entry.asked, ensure_ascii=False), stat.st_size, stat.st_mtime_ns, entry.bytes,
        )  # fmt: skip
        self._rows("insert or replace into leaflets values (?, ?, ?, ?, ?, ?, ?, ?, ?)", *row)

    def still(self, name: str, catalogues: str) -> None:
        """Other catalogues say the same to a leaflet."""
        self._rows("update leaflets set catalogues = ? where name = ?", catalogues, name)

    def touched(self, name: str, file: Path) -> None:
        """A leaflet's file is the same at another time."""
        with suppress(FileNotFoundError):
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


def _bound(value: object) -> object:
    """A value as SQLite takes it: names of files that are no text are bytes there."""
    if isinstance(value, str) and _SURROGATE.search(value):
        return value.encode("utf-8", "surrogateescape")
    return value


def _told(value: object) -> object:
    """What was bound, as it was."""
    return value.decode("utf-8", "surrogateescape") if isinstance(value, bytes) else value


_REFUSED: Final = frozenset({
    sqlite3.SQLITE_PERM, sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED, sqlite3.SQLITE_NOMEM, sqlite3.SQLITE_READONLY,
    sqlite3.SQLITE_IOERR, sqlite3.SQLITE_FULL, sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_AUTH, sqlite3.SQLITE_NOLFS,
})  # fmt: skip
"""Errors that are no damage (https://www.sqlite.org/rescode.html): the machine refuses, or another program is at it."""


def is_refused(error: Exception) -> bool:
    """Whether a file of SQLite may well be sound, and only cannot be used now."""
    return getattr(error, "sqlite_errorcode", 0) & 0xFF in _REFUSED


@contextmanager
def refusals(file: Path) -> Iterator[None]:
    """What SQLite says of a file that cannot be used now is an ``OSError``, as it is of any other file."""
    try:
        yield
    except sqlite3.Error as error:
        if not is_refused(error):
            raise
        raise OSError(errno.EIO, str(error), str(file)) from error


def read_hash(file: Path) -> str:
    """The hash of a file's bytes; empty where there is none."""
    try:
        if not (file.is_file() and stays_inside(file)):
            return ""
        with file.open("rb") as data:
            return hashlib.file_digest(data, "sha256").hexdigest()
    except OSError:
        return ""
