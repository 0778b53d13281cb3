"""What is drawn: a picture is a size and a list of few kinds of item, already placed. Frozen."""

from dataclasses import dataclass, field
from pathlib import Path as FilePath
from typing import Final

from matplotlib.path import Path

INK: Final = "#1a1f26"
ACCENT: Final = "#9c2f21"
SECONDARY: Final = "#4a5058"
QUIET_GLYPH: Final = "#8e949a"
RULE: Final = "#cfc8ba"
LINEN: Final = "#e9e4da"
PAPER: Final = "#ffffff"


@dataclass(frozen=True, slots=True)
class Line:
    """A stroked path; ``width`` in mm."""

    path: Path
    width: float
    colour: str = INK
    cap: str = "round"


@dataclass(frozen=True, slots=True)
class Area:
    """A filled path."""

    path: Path
    colour: str = INK


@dataclass(frozen=True, slots=True)
class Words:
    """Figures on a baseline that starts at ``x``, ``y``; ``size`` in mm. They stay readable in a mirrored picture."""

    text: str
    size: float
    font: FilePath
    x: float
    y: float
    colour: str = INK


@dataclass(frozen=True, slots=True)
class Layer:
    """A path that is drawn once and placed many times; it has neither colour nor width of its own."""

    id: str
    path: Path = field(compare=False)
    filled: bool = False


@dataclass(frozen=True, slots=True)
class Placed:
    """A layer stroked in a picture: scaled, turned clockwise (radians), then moved; ``width`` in mm on paper."""

    layer: Layer
    width: float
    scale: float
    x: float
    y: float
    turn: float = 0.0
    colour: str = INK
    cap: str = "butt"
    flip: bool = False
    """Mirrored left to right after it is turned."""


@dataclass(frozen=True, slots=True)
class Clipped:
    """Items of which only what lies inside ``path`` is seen."""

    path: Path
    items: tuple["Item", ...]


Item = Line | Area | Words | Placed | Clipped


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture in mm, origin at the lower left, y upward; ``id`` is unique among the pictures of a leaflet."""

    id: str
    width: float
    height: float
    items: tuple[Item, ...]


@dataclass(frozen=True, slots=True)
class Figures:
    """The fonts that write figures in pictures."""

    regular: FilePath
    bold: FilePath
