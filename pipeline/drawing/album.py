"""All pictures of a leaflet, drawn once for every language it appears in."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from pipeline.craft.assembly import Lace
from pipeline.drawing.chart import ChartLayout, chart, spared, wheel_scale
from pipeline.drawing.fan import StepLayout
from pipeline.drawing.glyphs import glyph, glyph_items, panel
from pipeline.drawing.mat import mat
from pipeline.drawing.mirror import mirrored
from pipeline.drawing.picture import QUIET_GLYPH, Figures, Item, Picture
from pipeline.drawing.portrait import portrait
from pipeline.drawing.sector import LEAST_PT, sector
from pipeline.drawing.steps import laying, steps
from pipeline.drawing.swatch import swatch
from pipeline.drawing.truesize import TrueSizeLayout
from pipeline.drawing.whole import whole
from pipeline.notation import Line
from pipeline.symbols import SymbolSet

STRIP_MM = 6.0
STRIP_PITCH_MM = 8.0
MAT_SHARE = 0.75
"""Of the text's width: how high the picture of a mat may be."""


@dataclass(frozen=True, slots=True)
class AlbumLayout:
    """Sizes of a leaflet's pictures on paper, mm."""

    chart: ChartLayout
    step: StepLayout
    portrait_width: float
    portrait_height: float
    sector_height: float
    """Below a round wheel; below one that is lower it is as much higher."""
    truesize: TrueSizeLayout
    enlarged: float = 1.0
    """How many times as large the pictures stand on the page, those at true size and the portrait apart."""
    step_enlarged: float = 1.0
    """The same of steps."""
    least_pt: float = LEAST_PT
    """No figure is drawn smaller."""
    thread_mm: float = 11.5
    """Height of a thread's facts."""
    plain: bool = False
    """Whether ink is saved."""

    def portrait_size(self, threads: int) -> tuple[float, float]:
        """Each thread after the first takes room for its facts below the portrait."""
        return self.portrait_width, max(38.0, self.portrait_height - self.thread_mm * (threads - 1))


def draw(  # noqa: PLR0913
    lace: Lace,
    lines: tuple[Line, ...],
    symbols: SymbolSet,
    *,
    figures: Figures,
    colours: Mapping[str, str],
    layout: AlbumLayout,
    left_handed: bool = False,
) -> tuple[Picture, ...]:
    """How wheels are joined, the threads, the portrait, the sector, the laying, every step and the chart.

    ``colours`` by thread letter.
    """
    shown = (*joining(lace, figures, layout), *front(lace, colours, layout))
    return (
        *(map(mirrored, shown) if left_handed else shown),
        *inner(lace, lines, symbols, figures=figures, layout=layout, left_handed=left_handed),
    )


def joining(lace: Lace, figures: Figures, layout: AlbumLayout) -> tuple[Picture, ...]:
    """How wheels are joined, where they are."""
    width = layout.chart.width
    return (mat(lace, figures, width=width, height=MAT_SHARE * width),) if lace.mat else ()


def front(lace: Lace, colours: Mapping[str, str], layout: AlbumLayout) -> tuple[Picture, ...]:
    """What a title page shows of a lace: its threads and the portrait."""
    width, height = layout.portrait_size(len(lace.threads))
    return (
        *(swatch(letter, thread, colours[letter]) for letter, thread in lace.threads.items()),
        portrait(lace, colours, width=width, height=height, plain=layout.plain),
    )


def inner(
    lace: Lace,
    lines: tuple[Line, ...],
    symbols: SymbolSet,
    *,
    figures: Figures,
    layout: AlbumLayout,
    left_handed: bool = False,
) -> Iterator[Picture]:
    """The sector, the laying, every step, and the chart, each drawn when it is asked for."""
    drawn = whole(lace, wheel_scale(lace, layout.chart))
    handed = mirrored if left_handed else _as_it_is
    width, height = layout.chart.width, layout.sector_height + spared(lace, lines, layout.chart)
    yield handed(sector(lace, drawn, figures, width=width, height=height, least_pt=layout.least_pt))
    yield handed(laying(lace, figures, layout.step))
    yield from map(handed, steps(lace, lines, figures, layout.step))
    yield from chart(lace, lines, symbols, figures, layout.chart, drawn=drawn, left_handed=left_handed)


def _as_it_is(picture: Picture) -> Picture:
    return picture


def glyphs(symbol_ids: Iterable[str], symbols: SymbolSet) -> tuple[Picture, ...]:
    """The glyph of every symbol named."""
    return tuple(glyph(symbol_id, symbols.symbol(symbol_id)) for symbol_id in sorted(set(symbol_ids)))


def panels(symbol_ids: Iterable[str], symbols: SymbolSet, *, left_handed: bool = False) -> tuple[Picture, ...]:
    """The panels of every symbol named."""
    return tuple(
        mirrored(panel(symbol_id, number, drawn)) if left_handed else panel(symbol_id, number, drawn)
        for symbol_id in sorted(set(symbol_ids))
        for number, drawn in enumerate(symbols.symbol(symbol_id).panels, 1)
    )


def strip(symbol_ids: Sequence[str], symbols: SymbolSet) -> Picture:
    """The whole lace in one row of glyphs, for the foot of a page; long ones are told by their first sixteen."""
    shown = symbol_ids[:16]
    items: list[Item] = []
    for place, symbol_id in enumerate(shown):
        items += glyph_items(symbols.symbol(symbol_id), size=STRIP_MM, x=place * STRIP_PITCH_MM, colour=QUIET_GLYPH)
    return Picture("strip", len(shown) * STRIP_PITCH_MM, STRIP_MM, tuple(items))
