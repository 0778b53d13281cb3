"""Papers: sizes, margins and type of each, and the pictures that fit on it.

Sizes: ISO 216 (A4, A5) and US Letter, 8.5 by 11 in. Lengths in mm, type in pt.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final

from pipeline.drawing.album import AlbumLayout
from pipeline.drawing.chart import ChartLayout
from pipeline.drawing.fan import StepLayout
from pipeline.drawing.truesize import TrueSizeLayout


@dataclass(frozen=True, slots=True)
class Paper:
    """A paper and its typography: type as size/line in pt."""

    name: str
    width: float
    height: float
    top: float
    side: float
    foot: float
    title: tuple[float, float]
    heading: tuple[float, float]
    notation: tuple[float, float]
    text: tuple[float, float]
    label: tuple[float, float]
    step_height: float
    number_width: float
    album: AlbumLayout

    @property
    def text_width(self) -> float:
        """Between the side margins."""
        return self.width - 2 * self.side


_LARGE: Final = AlbumLayout(
    ChartLayout(58.0, 174.0), StepLayout(74.0, 50.0), 174.0, 116.0, 53.0, TrueSizeLayout(174.0, 210.0)
)
_SHORT: Final = replace(_LARGE, portrait_height=100.0, sector_height=39.0, truesize=TrueSizeLayout(174.0, 196.0))
_SMALL: Final = AlbumLayout(
    ChartLayout(50.0, 124.0), StepLayout(62.0, 43.0), 124.0, 46.0, 54.0, TrueSizeLayout(124.0, 168.0)
)
_LARGE_TYPE: Final = ((40.0, 46.0), (17.0, 22.0), (14.0, 20.0), (11.0, 16.0), (9.0, 12.0))
_SMALL_TYPE: Final = ((28.0, 33.0), (14.0, 18.0), (12.0, 17.0), (10.0, 14.5), (9.0, 12.0))

PAPERS: Final[Mapping[str, Paper]] = {
    "a4": Paper("a4", 210.0, 297.0, 16.0, 18.0, 20.0, *_LARGE_TYPE, 56.0, 12.0, _LARGE),
    "letter": Paper("letter", 215.9, 279.4, 14.0, 20.95, 17.0, *_LARGE_TYPE, 56.0, 12.0, _SHORT),
    "a5": Paper("a5", 148.0, 210.0, 12.0, 12.0, 15.0, *_SMALL_TYPE, 55.0, 10.0, _SMALL),
}
