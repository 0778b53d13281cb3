"""A picture as a file of its own: SVG, PDF or PNG, by matplotlib's own canvases."""

import io
from collections.abc import Iterator, Sequence
from typing import Final

import matplotlib as mpl
from matplotlib.artist import Artist
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.backends.backend_pdf import FigureCanvasPdf
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure
from matplotlib.patches import PathPatch
from matplotlib.path import Path

from pipeline.drawing.ink import path_of
from pipeline.drawing.outline import MM_PER_PT
from pipeline.drawing.picture import Area, Clipped, Item, Line, Picture, Words

CANVASES: Final = {"svg": FigureCanvasSVG, "pdf": FigureCanvasPdf, "png": FigureCanvasAgg}
_NO_DATES: Final = {
    "svg": {"Date": None, "Creator": None},
    "pdf": {"CreationDate": None, "ModDate": None, "Creator": None, "Producer": None},
    "png": {"Software": None},
}


def export(picture: Picture, file_format: str, *, dpi: float = 200, ground: str = "none") -> bytes:
    """The bytes of a file, ``svg``, ``pdf`` or ``png``; the same picture gives the same bytes."""
    figure = Figure(figsize=(picture.width / 25.4, picture.height / 25.4), dpi=dpi, facecolor=ground)
    CANVASES[file_format](figure)
    axes = figure.add_axes((0, 0, 1, 1), xlim=(0, picture.width), ylim=(0, picture.height))
    axes.set_axis_off()
    for order, (item, clip) in enumerate(_flat(picture.items)):
        artist = _artist(item)
        artist.set_zorder(order)
        axes.add_artist(artist)
        if clip:
            artist.set_clip_on(True)
            artist.set_clip_path(clip, axes.transData)
    buffer = io.BytesIO()
    with mpl.rc_context({"svg.hashsalt": picture.id, "path.simplify": False}):
        figure.savefig(buffer, format=file_format, facecolor=ground, metadata=_NO_DATES[file_format])
    return buffer.getvalue()


def _flat(items: Sequence[Item], clip: Path | None = None) -> Iterator[tuple[Line | Area, Path | None]]:
    """Every item as a path, and what it is clipped to; what is clipped holds nothing that is clipped once more."""
    for item in items:
        if isinstance(item, Clipped):
            yield from _flat(item.items, item.path)
        elif isinstance(item, Area | Words):
            yield Area(path_of(item), item.colour), clip
        else:
            yield Line(path_of(item), item.width, item.colour, item.cap), clip


def _artist(item: Line | Area) -> Artist:
    if isinstance(item, Area):
        return PathPatch(item.path, facecolor=item.colour, edgecolor="none", linewidth=0, clip_on=False)
    return PathPatch(
        item.path, facecolor="none", edgecolor=item.colour, linewidth=item.width / MM_PER_PT, capstyle=item.cap,
        joinstyle="round", clip_on=False,
    )  # fmt: skip
