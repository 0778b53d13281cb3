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
    furniture: tuple[float, float] = (8.0, 11.0)
    """Type of head and foot."""

    @property
    def text_width(self) -> float:
        """Between the side margins."""
        return self.width - 2 * self.side

    @property
    def small(self) -> bool:
        """Whether there is room for one column of words beside a picture only."""
        return self.width < SMALL_MM

    @property
    def large(self) -> bool:
        """Whether it is printed large."""
        return self.text[0] >= LARGE_PT

    @property
    def chart_width(self) -> float:
        """Of charts, on the page."""
        return self.album.chart.width * self.album.enlarged

    @property
    def step_size(self) -> tuple[float, float]:
        """Of a step's picture, on the page."""
        larger = self.album.step_enlarged
        return self.album.step.width * larger, self.album.step.height * larger


SMALL_MM: Final = 160.0
LARGE_PT: Final = 18.0
ENLARGED: Final = 2.13
STEP_ENLARGED: Final = 1.78
"""Pictures of large print: their smallest figures come out at 14 pt."""
LARGE: Final = "-large"
"""Ends the name of a paper's large print."""

_WIDE: Final = AlbumLayout(
    ChartLayout(58.0, 174.0), StepLayout(74.0, 50.0), 174.0, 116.0, 53.0, TrueSizeLayout(174.0, 210.0)
)
_SHORT: Final = replace(_WIDE, portrait_height=100.0, sector_height=39.0, truesize=TrueSizeLayout(174.0, 196.0))
_SMALL: Final = AlbumLayout(
    ChartLayout(50.0, 124.0), StepLayout(54.0, 40.0), 124.0, 42.0, 42.0, TrueSizeLayout(124.0, 168.0)
)
_LARGE: Final = AlbumLayout(
    ChartLayout(30.0, 79.8), StepLayout(74.0, 42.0), 170.0, 128.0, 45.0, TrueSizeLayout(170.0, 184.0, 14.0),
    enlarged=ENLARGED, step_enlarged=STEP_ENLARGED, least_pt=14.0 / ENLARGED, thread_mm=0.0,
)  # fmt: skip
_LARGE_SHORT: Final = replace(_LARGE, portrait_height=112.0, truesize=TrueSizeLayout(170.0, 166.0, 14.0))
_WIDE_TYPE: Final = ((40.0, 46.0), (17.0, 22.0), (14.0, 20.0), (11.0, 16.0), (9.0, 12.0))
_SMALL_TYPE: Final = ((28.0, 33.0), (14.0, 18.0), (12.0, 17.0), (10.0, 14.5), (9.0, 12.0))
_LARGE_TYPE: Final = ((44.0, 50.0), (26.0, 32.0), (24.0, 34.0), (18.0, 26.0), (16.0, 22.0))

PAPERS: Final[Mapping[str, Paper]] = {
    "a4": Paper(210.0, 297.0, 16.0, 18.0, 20.0, *_WIDE_TYPE, 56.0, 12.0, _WIDE),
    "letter": Paper(215.9, 279.4, 14.0, 20.95, 17.0, *_WIDE_TYPE, 56.0, 12.0, _SHORT),
    "common": Paper(210.0, 279.4, 14.0, 18.0, 17.0, *_WIDE_TYPE, 56.0, 12.0, _SHORT),
    "a5": Paper(148.0, 210.0, 12.0, 12.0, 15.0, *_SMALL_TYPE, 54.5, 10.0, _SMALL),
    "a4-large": Paper(210.0, 297.0, 18.0, 20.0, 22.0, *_LARGE_TYPE, 0.0, 20.0, _LARGE, furniture=(14.0, 18.0)),
    "letter-large": Paper(
        215.9, 279.4, 16.0, 22.95, 20.0, *_LARGE_TYPE, 0.0, 20.0, _LARGE_SHORT, furniture=(14.0, 18.0)
    ),
    "common-large": Paper(
        210.0, 279.4, 16.0, 20.0, 20.0, *_LARGE_TYPE, 0.0, 20.0, _LARGE_SHORT, furniture=(14.0, 18.0)
    ),
}
"""By name. ``common`` is the area that A4 and Letter share, for leaflets that may be printed on either."""


def thrifty(paper: Paper) -> Paper:
    """The same paper with pictures that save ink."""
    return replace(paper, album=replace(paper.album, plain=True))
