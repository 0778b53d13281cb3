"""Starting points: small patterns with comments, in the folder beside this module and so in every installation.

Each is sound as it stands. Its first comment says what it is; the counts of its groups are multiples of its first
knot's, so that ``fitting`` can change them all at once.
"""

from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Final

from pipeline.craft.assembly import Lace, place
from pipeline.pattern import parse, pins_step
from pipeline.pattern_model import Pattern
from pipeline.records import MEASURES
from pipeline.source import Source, read
from pipeline.starting.wish import FEWEST, MOST
from pipeline.symbols import SymbolSet

NAMES: Final = ("first-wheel", "half-circle", "square", "oval", "fillings", "mat")
"""In the order in which they are listed, the plainest first."""
_FOLDER: Final = Path(__file__).parent / "starts"


@dataclass(frozen=True, slots=True)
class Start:
    """A starting point: as it stands, and worked on its own loom."""

    name: str
    about: str
    """What it is, in a line."""
    source: Source
    pattern: Pattern
    lace: Lace

    @property
    def measures(self) -> tuple[str, ...]:
        """The lengths that say how large its loom is."""
        return MEASURES[self.pattern.loom.shape]

    @property
    def pins_divide_by(self) -> int:
        """What its pins must divide by, as its shape and its mat ask."""
        return pins_step(self.pattern)

    def usual_pins(self, times: float) -> int:
        """Pins for a loom so many times as large: about as close together."""
        pins = round(self.pattern.loom.pins * times / self.pins_divide_by) * self.pins_divide_by
        least = -(-FEWEST // self.pins_divide_by) * self.pins_divide_by
        return min(max(pins, least), MOST // self.pins_divide_by * self.pins_divide_by)


def start_text(name: str) -> str:
    """A starting point as it is shipped."""
    return (_FOLDER / f"{name}.yaml").read_text(encoding="utf-8")


@lru_cache(maxsize=len(NAMES))
def _about(name: str) -> str:
    return start_text(name).splitlines()[1].removeprefix("# ")


def listed() -> tuple[tuple[str, str], ...]:
    """Every starting point's name and what it is."""
    return tuple((name, _about(name)) for name in NAMES)


def load(name: str, symbols: SymbolSet) -> Start:
    """One of ``NAMES``."""
    source = read(f"{name}.yaml", start_text(name).encode())
    pattern = parse(source, symbols.forms, {}).pattern
    assert pattern is not None, name  # noqa: S101
    return Start(name, _about(name), source, pattern, place(pattern, symbols))
