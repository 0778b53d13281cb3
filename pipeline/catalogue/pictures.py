"""Pictures kept from run to run: they are free of language, and drawn once for all leaflets of a pattern.

Each set is a file named by the hash of what it was drawn from; it begins with the hash of its own bytes, so that a
damaged one is seen, and drawn anew.
"""

import hashlib
import json
import zlib
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pipeline.drawing.operators import Operators
from pipeline.files import write_whole


@dataclass(frozen=True, slots=True)
class Pictures:
    """The folder they are kept in."""

    folder: Path

    def load(self, key: str) -> tuple[Operators, ...] | None:
        """A set, or None where there is none that is whole."""
        try:
            data = self._file(key).read_bytes()
        except OSError:
            return None
        head, body = data[:32], data[32:]
        if hashlib.sha256(body).digest() != head:
            return None
        try:
            return tuple(map(_operators, json.loads(zlib.decompress(body))))
        except (zlib.error, ValueError, TypeError, RecursionError):
            return None

    def save(self, key: str, drawn: Iterable[Operators]) -> None:
        """Keep a set; where that cannot be, it is drawn anew the next time."""
        body = zlib.compress(json.dumps([_plain(each) for each in drawn], separators=(",", ":")).encode(), 6)
        write_whole(hashlib.sha256(body).digest() + body, self._file(key))

    def _file(self, key: str) -> Path:
        return self.folder / key[:2] / key[2:]


def _plain(drawn: Operators) -> list[Any]:
    layers = [_plain(layer) for layer in drawn.layers]
    return [drawn.id, drawn.width, drawn.height, drawn.content.decode("ascii"), drawn.reach, layers]


def _operators(plain: list[Any]) -> Operators:
    name, width, height, content, reach, layers = plain
    return Operators(name, width, height, content.encode("ascii"), reach, tuple(map(_operators, layers)))
