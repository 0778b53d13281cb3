"""The loom at true size: a mm of paper is a mm of loom."""

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from click.testing import CliRunner
from numpy.typing import NDArray

from pipeline import cli
from pipeline.catalogue.make import figures_of
from pipeline.craft.check import Checked
from pipeline.drawing.export import export
from pipeline.drawing.ink import path_of
from pipeline.drawing.outline import point, vertices_of
from pipeline.drawing.picture import Picture, Placed, Words
from pipeline.drawing.template import template
from pipeline.files import check_file
from pipeline.language.fonts import find_fonts

CheckText = Callable[..., Checked]
FIGURES = figures_of(find_fonts("Latn", ()))
LOOMS = [
    {"shape": "circle", "diameter": "80 mm", "pins": 24},
    {"shape": "oval", "width": "90 mm", "height": "60 mm", "pins": 24},
    {"shape": "square", "side": "80 mm", "pins": 24},
    {"shape": "rectangle", "width": "90 mm", "height": "60 mm", "pins": 24},
    {"shape": "half-circle", "diameter": "80 mm", "pins": 24},
]


@pytest.mark.parametrize("loom", LOOMS, ids=lambda loom: loom["shape"])
def test_pins_stand_where_the_loom_has_them(
    check_text: CheckText, example: dict[str, Any], loom: dict[str, Any]
) -> None:
    """The marks' centres, less the place of the loom's centre, are the pins of the craft model to 0.01 mm."""
    checked = check_text(example | {"loom": loom})
    assert checked.lace
    assert checked.pattern
    picture = template(checked.lace, checked.pattern.loom, FIGURES)
    centres = hole_centres(picture)
    assert len(centres) == 24
    up, across, down = checked.lace.loom.shape.bounds
    middle = np.array((picture.width / 2, down + 9.0))
    wanted = np.array([point(place) for place in checked.lace.loom.places])
    assert np.abs(centres - middle - wanted).max() < 0.01
    assert picture.height == pytest.approx(up + down + 18.0)
    assert picture.width == pytest.approx(2 * across + 18.0)


def hole_centres(picture: Picture) -> NDArray[np.float64]:
    """The middle of every hole, each a circle 1.2 mm across."""
    holes = [
        vertices_of(path_of(item)) for item in picture.items if isinstance(item, Placed) and item.layer.id == "hole"
    ]
    centres = np.array([hole[:-1:3].mean(axis=0) for hole in holes])
    for hole, centre in zip(holes, centres, strict=True):
        assert np.hypot(*(hole[::3] - centre).T) == pytest.approx(0.6)
    return centres


def test_a_file_says_its_size_in_millimetres(check_text: CheckText, example: dict[str, Any]) -> None:
    """The SVG of an 80 mm loom with 9 mm around it is 98 mm wide: 277.8 pt of 1/72 in."""
    checked = check_text(example)
    assert checked.lace
    assert checked.pattern
    svg = export(template(checked.lace, checked.pattern.loom, FIGURES), "svg").decode()
    width = re.search(r'width="([\d.]+)pt"', svg)
    assert width
    assert float(width[1]) == pytest.approx(98 / 25.4 * 72, abs=0.01)


def test_a_named_loom_shows_all_its_rings() -> None:
    """The card of the demo mat has 48 holes that carry the web and 48 outside them."""
    checked = check_file(Path(__file__).parents[2] / "patterns" / "drift-ice.yaml")
    assert checked.lace
    assert checked.pattern
    loom = checked.lace.loom
    picture = template(checked.lace, checked.pattern.loom, FIGURES)
    out = np.hypot(*(hole_centres(picture) - (picture.width / 2, picture.height / 2)).T)
    assert len(out) == 96
    assert np.isclose(out, loom.radius).sum() == (out > loom.radius + 1.0).sum() == 48


def test_pins_that_no_number_has_room_beside_are_numbered_at_the_ends(
    check_text: CheckText, example: dict[str, Any]
) -> None:
    """A thousand pins a hundredth of a mm apart, in figures of large print: the first and the last alone."""
    checked = check_text(example | {"loom": {"shape": "circle", "diameter": "2 mm", "pins": 1000}})
    assert checked.lace
    assert checked.pattern
    picture = template(checked.lace, checked.pattern.loom, FIGURES, 14.0)
    assert [item.text for item in picture.items if isinstance(item, Words)] == ["1", "1000"]


@pytest.mark.parametrize("kind", ["chart", "steps", "laying", "portrait", "template"])
def test_every_picture_can_be_had_as_a_file(kind: str, tmp_path: Path) -> None:
    """One file or more for each kind of picture; an unknown kind is wrong use."""
    demo = str(Path(__file__).parents[2] / "patterns" / "first-frost.yaml")
    result = CliRunner().invoke(cli.main, ["chart", demo, "--picture", kind, "--out", str(tmp_path)])
    assert result.exit_code == 0, result.output
    assert len(list(tmp_path.glob("*.svg"))) == (4 if kind == "steps" else 1)
    assert CliRunner().invoke(cli.main, ["chart", demo, "--picture", "poster"]).exit_code == 2
