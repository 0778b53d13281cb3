"""The geometry of every picture of some demos, pinned as text; a few small pictures guard the look."""

import io
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from pipeline.catalogue.make import figures_of
from pipeline.drawing.album import draw
from pipeline.drawing.export import export
from pipeline.drawing.ink import path_of
from pipeline.drawing.outline import vertices_of
from pipeline.drawing.picture import Area, Clipped, Item, Line, Picture, Placed, Words
from pipeline.files import check_file, symbols_of
from pipeline.language.fonts import find_fonts
from pipeline.leaflet.papers import PAPERS
from pipeline.notation import write
from pipeline.workspace import Workspace

Golden = Callable[[str, str], None]
PATTERNS = Path(__file__).parents[2] / "patterns"
SMALL = Path(__file__).parents[1] / "golden" / "look"


def album(demo: str) -> tuple[Picture, ...]:
    """All pictures of a demo on A4."""
    checked = check_file(PATTERNS / f"{demo}.yaml")
    assert checked.lace
    assert checked.pattern
    figures = figures_of(find_fonts("Latn", ()))
    symbols = symbols_of(Workspace(None))
    layout = PAPERS["a4"].album
    colours = checked.pattern.colours
    return draw(checked.lace, write(checked.lace), symbols, figures=figures, colours=colours, layout=layout)


def dump(picture: Picture) -> str:
    """A picture in words: every item's kind, stroke, colour, number of points, and where it lies, to 0.1 mm."""
    lines = [f"{picture.id} {picture.width:.1f} x {picture.height:.1f}"]
    return "\n".join([*lines, *_items(picture.items, "  ")]) + "\n"


def _items(items: tuple[Item, ...], indent: str) -> Iterator[str]:
    for item in items:
        if isinstance(item, Clipped):
            yield f"{indent}clipped {_where(item)}"
            yield from _items(item.items, indent + "  ")
        elif isinstance(item, Placed):
            yield (
                f"{indent}layer {item.layer.id} {item.width:.2f} {item.colour} {item.cap} scale {item.scale:.2f}"
                f" at {item.x:.1f} {item.y:.1f} turn {item.turn:.2f} {_where(item)}"
            )
        elif isinstance(item, Line):
            yield f"{indent}line {item.width:.2f} {item.colour} {item.cap} {_where(item)}"
        elif isinstance(item, Words):
            yield f"{indent}words {item.text} {item.size:.2f} {item.font.stem} {item.colour} at {item.x:.1f} {item.y:.1f}"
        elif isinstance(item, Area):
            yield f"{indent}area {item.colour} {_where(item)}"


def _where(item: Line | Area | Clipped | Placed) -> str:
    points = vertices_of(path_of(item))
    if not len(points):
        return "of nothing"
    (left, low), (right, high) = points.min(axis=0), points.max(axis=0)
    return f"{len(points)} points {left:.1f} {low:.1f} to {right:.1f} {high:.1f}"


@pytest.mark.parametrize("demo", ["first-frost", "mussel-shell", "window-frost", "low-sun", "willow-walk", "drift-ice"])
def test_the_geometry_of_every_picture_is_what_it_was(demo: str, golden: Golden) -> None:
    """A change of any picture is seen in the text, and is meant (``--update`` writes it anew)."""
    golden(f"drawing/{demo}", "\n".join(dump(picture) for picture in album(demo)))


@pytest.mark.parametrize(
    ("demo", "name"), [("willow-walk", "portrait"), ("low-sun", "chart"), ("first-frost", "step-3")]
)
def test_the_look_is_what_it_was(demo: str, name: str, request: pytest.FixtureRequest) -> None:
    """Small and grey, within what another renderer would differ by: a thirtieth of full contrast on average."""
    picture = next(picture for picture in album(demo) if picture.id == name)
    drawn = Image.open(io.BytesIO(export(picture, "png", dpi=24, ground="#ffffff"))).convert("L")
    file = SMALL / f"{demo}.{name}.png"
    if request.config.getoption("--update"):
        file.parent.mkdir(parents=True, exist_ok=True)
        drawn.save(file, optimize=True)
    kept = Image.open(file)
    assert kept.size == drawn.size
    difference = np.abs(np.asarray(kept, dtype=float) - np.asarray(drawn, dtype=float)).mean() / 255
    assert difference < 1 / 30
