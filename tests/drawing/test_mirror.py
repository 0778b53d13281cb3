"""Pictures for left-handed work: mirrored, with figures that can be read."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pypdfium2 as pdfium
import pytest
from click.testing import CliRunner
from numpy.typing import NDArray
from PIL import Image, ImageChops

from pipeline import cli
from pipeline.catalogue.make import figures_of
from pipeline.craft.assembly import Lace
from pipeline.drawing.album import draw
from pipeline.drawing.export import export
from pipeline.drawing.lettering import outline
from pipeline.drawing.mirror import mirrored
from pipeline.drawing.outline import rectangle, vertices_of
from pipeline.drawing.picture import Area, Clipped, Layer, Line, Picture, Placed, Words
from pipeline.language.fonts import find_fonts
from pipeline.leaflet.papers import PAPERS
from pipeline.notation import write
from pipeline.symbols import SymbolSet

PlaceTree = Callable[[dict[str, Any]], Lace]
FIGURES = figures_of(find_fonts("Latn", ()))
ROOT = Path(__file__).parents[2]


def pixels(picture: Picture) -> NDArray[np.uint8]:
    import io  # noqa: PLC0415

    return np.asarray(Image.open(io.BytesIO(export(picture, "png", dpi=127, ground="#ffffff"))).convert("L"))


def test_every_kind_of_item_is_mirrored() -> None:
    """A picture of lines, areas, layers and clipped items, turned over in pixels, is its mirror."""
    bent = rectangle(1.0, 2.0, 3.0, 1.0)
    layer = Layer("one", rectangle(0.0, 0.0, 2.0, 0.5))
    picture = Picture("trial", 20.0, 10.0, (
        Line(bent, 0.4), Area(rectangle(6.0, 1.0, 2.0, 5.0)), Placed(layer, 0.4, 2.0, 12.0, 3.0, 0.5),
        Clipped(rectangle(14.0, 6.0, 4.0, 2.0), (Area(rectangle(15.0, 5.0, 5.0, 2.0)),)),
    ))  # fmt: skip
    difference = pixels(picture)[:, ::-1].astype(int) - pixels(mirrored(picture)).astype(int)
    assert (np.abs(difference) > 128).mean() < 0.01
    assert (np.abs(pixels(picture).astype(int) - pixels(mirrored(picture)).astype(int)) > 128).mean() > 0.03


def test_twice_mirrored_is_the_same() -> None:
    """Every place comes back to where it was."""
    layer = Layer("one", rectangle(0.0, 0.0, 2.0, 0.5))
    items = (Line(rectangle(1.0, 2.0, 3.0, 1.0), 0.4), Placed(layer, 0.4, 2.0, 12.0, 3.0, 0.5))
    again = mirrored(mirrored(Picture("trial", 20.0, 10.0, items)))
    line, placed = again.items
    assert isinstance(line, Line)
    assert isinstance(placed, Placed)
    assert vertices_of(line.path) == pytest.approx(vertices_of(items[0].path))  # type: ignore[arg-type]
    assert (placed.x, placed.flip) == (12.0, False)


def test_figures_stay_upright_and_move_to_the_other_side() -> None:
    """Words keep their shape; they end as far from the right edge as they began from the left."""
    words = Words("12", 3.0, find_fonts("Latn", ()).files[0].path, 2.0, 3.0)
    (found,) = mirrored(Picture("trial", 20.0, 10.0, (words,))).items
    assert isinstance(found, Words)
    moved = vertices_of(outline(found)) - vertices_of(outline(words))
    assert np.ptp(moved, axis=0) == pytest.approx((0.0, 0.0))
    assert outline(found).get_extents().x1 == pytest.approx(20.0 - outline(words).get_extents().x0)


def test_a_left_handed_album_is_the_mirror_of_the_other(
    place_tree: PlaceTree, symbols: SymbolSet, example: dict[str, Any]
) -> None:
    """Steps, laying and sector turned over; the ladder beside the chart is left as it is."""
    example["rounds"] += [{"knot": {"rays": 4, "shift": 2}, "gap": "8 mm"}, {"edge-arches": {}}]
    lace = place_tree(example)
    lines, layout = write(lace), PAPERS["a5"].album

    def album(*, left: bool) -> dict[str, Picture]:
        drawn = draw(lace, lines, symbols, figures=FIGURES, colours={"A": "#112233"}, layout=layout, left_handed=left)
        return {picture.id: picture for picture in drawn}

    right, left = album(left=False), album(left=True)
    assert set(right) == set(left)
    for name in ("step-2", "step-3", "laying", "sector", "portrait"):
        turned = Image.fromarray(pixels(right[name])[:, ::-1])
        other = Image.fromarray(pixels(left[name]))
        share = (np.asarray(ImageChops.difference(turned, other)) > 128).mean()
        assert share < 0.02, name  # figures differ, and nothing else
    assert (pixels(right["ladder"]) == pixels(left["ladder"])).all()


def test_the_words_for_direction_are_mirrored(tmp_path: Path) -> None:
    """Anticlockwise where the other leaflet says clockwise, left and right changed over, notation the same."""
    demo = str(ROOT / "patterns" / "tide-table.yaml")
    texts = {}
    for name, options in (("a4", []), ("a4.left-handed", ["--left-handed"])):
        result = CliRunner().invoke(cli.main, ["leaflet", demo, "--locale", "en", "--out", str(tmp_path), *options])
        assert result.exit_code == 0, result.output
        pages = pdfium.PdfDocument(tmp_path / f"tide-table.en.{name}.pdf")
        texts[name] = " ".join(" ".join(page.get_textpage().get_text_range().split()) for page in pages)
    right, left = texts["a4"], texts["a4.left-handed"]
    assert " clockwise" in right
    assert "anticlockwise" not in right
    assert "anticlockwise" in left
    assert " clockwise" not in left
    assert "Knot the right ray of every pin to the left ray of the next." in right
    assert "Knot the left ray of every pin to the right ray of the next." in left
