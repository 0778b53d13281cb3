"""Step pictures: what is new is loud, how far out is measured, and every round is drawn once."""

import itertools
import math
from collections.abc import Callable, Iterator, Sequence
from typing import Any

import numpy as np
import pytest
import shapely  # type: ignore[import-untyped]
from matplotlib.path import Path

from pipeline.craft.assembly import Lace
from pipeline.craft.check import Checked
from pipeline.drawing.fan import StepLayout, fan_of, step_scale
from pipeline.drawing.ink import path_of
from pipeline.drawing.outline import vertices_of
from pipeline.drawing.picture import Clipped, Figures, Item, Line, Picture, Placed, Words
from pipeline.drawing.steps import laying, round_layers, steps
from pipeline.language.fonts import find_fonts
from pipeline.notation import write

CheckText = Callable[..., Checked]
PlaceTree = Callable[[dict[str, Any]], Lace]
FILES = find_fonts("Latn", ()).files
FIGURES = Figures(FILES[0].path, FILES[1].path)
LAYOUT = StepLayout(74.0, 50.0)
LOOM = {"rim", "laying-pins"}
"""Layers of the bare loom: the laying shows it whole, and so does the locator of every step."""
LOOMS = [
    {"shape": "circle", "diameter": "80 mm", "pins": 48},
    {"shape": "oval", "width": "110 mm", "height": "80 mm", "pins": 48},
    {"shape": "rectangle", "width": "120 mm", "height": "80 mm", "pins": 48},
    {"shape": "half-circle", "diameter": "120 mm", "pins": 48},
]


@pytest.fixture
def lace(check_text: CheckText, example: dict[str, Any]) -> Lace:
    """A darn, three rounds of knots and an edge on 24 pins."""
    example["rounds"] = [
        {"darn": {}, "at": "6 mm", "rows": 2},
        {"knot": {"rays": 4}, "at": "14 mm"},
        {"knot": {"rays": 4, "shift": 2}, "gap": "7.4 mm"},
        {"knot": {"rays": 6, "shift": 5}, "gap": "6 mm"},
        {"edge-arches": {}},
    ]
    found = check_text(example).lace
    assert found is not None
    return found


def placed(items: Sequence[Item]) -> Iterator[Placed]:
    """Every layer in a picture, also in what is clipped."""
    for item in items:
        if isinstance(item, Placed):
            yield item
        elif isinstance(item, Clipped):
            yield from placed(item.items)


def shown(items: Sequence[Item]) -> Iterator[Path]:
    """Paths that bound what is seen: of clipped items only the frame they are cut to."""
    for item in items:
        if isinstance(item, Placed) and item.layer.id not in LOOM:
            pytest.fail("a layer of the whole wheel must be clipped to the fan")
        yield path_of(item)


@pytest.mark.parametrize("layout", [LAYOUT, StepLayout(57.0, 43.0)], ids=["large", "small"])
def test_nothing_is_seen_outside_the_frame(lace: Lace, layout: StepLayout) -> None:
    """Neither of a step nor of the laying; the wheel itself is cut to the fan."""
    pictures = [*steps(lace, write(lace), FIGURES, layout), laying(lace, FIGURES, layout)]
    assert len(pictures) == 6
    for picture in pictures:
        corners = np.concatenate([box.get_points() for box in (path.get_extents() for path in shown(picture.items))])
        assert corners.min() >= -0.05, picture.id
        assert (corners.max(axis=0) <= (picture.width + 0.05, picture.height + 0.05)).all(), picture.id


def test_five_rounds_are_drawn_five_times_in_all_steps_together(lace: Lace) -> None:
    """Look section 4: N steps cost N drawings; rays, thread and hitches of a round are the same objects in each step.

    Beside them the loom's outline, in the locator, is the same drawing in each.
    """
    pictures = steps(lace, write(lace), FIGURES, LAYOUT)
    used = {item.layer.id: item.layer for picture in pictures for item in placed(picture.items)}
    for picture in pictures:
        for item in placed(picture.items):
            if item.layer.id == "rim":
                assert np.array_equal(vertices_of(item.layer.path), vertices_of(used["rim"].path))
            else:
                assert item.layer is used[item.layer.id]
    threads = [name for name in used if name.endswith("-thread")]
    assert sorted(threads) == [f"r{number}-thread" for number in range(1, 6)]
    assert len(round_layers(lace, LAYOUT)) == 5


def test_the_new_round_is_loud_and_the_earlier_ones_quiet(lace: Lace) -> None:
    """Look section 4: earlier ring threads 0.20 mm, new ones 0.60 mm, on paper, whatever the scale; later ones not at all."""
    for number, picture in enumerate(steps(lace, write(lace), FIGURES, LAYOUT), 1):
        widths: dict[str, set[float]] = {}
        for item in placed(picture.items):
            widths.setdefault(item.layer.id, set()).add(item.width)
        rings = {name: max(found) for name, found in widths.items() if name.endswith("-thread")}
        assert set(rings) == {f"r{done}-thread" for done in range(1, number + 1)}
        assert rings[f"r{number}-thread"] >= 0.60
        assert all(rings[f"r{done}-thread"] <= 0.20 for done in range(1, number))


def test_the_lace_grows_from_step_to_step(lace: Lace) -> None:
    """Look section 4: a new round stands at 0.55 to 0.65 of the height, an edge at about 0.85; so scales fall."""
    scales = [step_scale(lace, done, LAYOUT) for done in lace.rounds]
    assert all(b <= a for a, b in itertools.pairwise(scales))
    heights = [scale * done.outer / LAYOUT.height for scale, done in zip(scales, lace.rounds, strict=True)]
    assert all(0.4 <= height <= 0.66 for height in heights[:2])
    # 35 of 40 mm, as far in as an edge lies by itself.
    assert 0.7 <= heights[-1] <= 0.9


def test_the_measure_is_as_long_as_it_says(lace: Lace) -> None:
    """The picture says the distance of the notation line, and its measure is that long on paper, to 0.05 mm."""
    lines = write(lace)
    pictures: tuple[Picture, ...] = steps(lace, lines, FIGURES, LAYOUT)
    said = [item.text for each in pictures for item in each.items if isinstance(item, Words) and " mm" in item.text]
    assert said[0] == "6 mm"
    assert said[2] == "7.4 mm"
    assert all(f"[gap] {words}" in line.spelled for words, line in zip(said, lines, strict=True))
    for picture, line, done in zip(pictures, lines, lace.rounds, strict=True):
        wanted = line.distance / 10 * step_scale(lace, done, LAYOUT)
        lengths = [
            math.dist(*vertices_of(item.path))
            for item in picture.items
            if isinstance(item, Line) and item.width == 0.35 and len(vertices_of(item.path)) == 2
        ]
        assert len(lengths) == 3
        assert lengths == pytest.approx([2.6, 2.6, wanted], abs=0.05)


@pytest.mark.parametrize("loom", LOOMS, ids=lambda loom: loom["shape"])
def test_every_pin_that_a_fan_reaches_has_its_tick(
    place_tree: PlaceTree, example: dict[str, Any], loom: dict[str, Any]
) -> None:
    """Also on a straight side, where a tick leans into the fan; of those that are not seen one at most on either side."""
    rounds = [
        {"knot": {"rays": 4}, "at": "24 mm"},
        {"weave": {"rays": [6, {"pass": 6}], "as": "leaf"}, "at": "26 mm", "to": "32 mm"},
        {"edge-picots": {"height": "2 mm", "inset": "4 mm"}},
    ]
    lace = place_tree(example | {"loom": loom, "rounds": rounds})
    for picture, done in zip(steps(lace, write(lace), FIGURES, LAYOUT), lace.rounds, strict=True):
        fan, frame = fan_of(lace, done, LAYOUT), picture.items[0]
        assert isinstance(frame, Clipped)
        lines = [item for item in frame.items if isinstance(item, Line)]
        drawn = [ticks for line in lines for ticks in vertices_of(line.path).reshape(-1, 2, 2)]
        seen = shapely.Polygon(frame.path.to_polygons()[0]).buffer(0)
        reaching = [
            ends
            for ends in (np.array([fan.at(place, 0.3), fan.at(place, 1.3)]) for place in lace.loom.places)
            if shapely.LineString(ends).buffer(0.15, cap_style="flat").intersects(seen)
        ]
        assert all(any(np.allclose(ends, other) for other in drawn) for ends in reaching)
        assert len(drawn) <= len(reaching) + 2


def test_the_laying_shows_the_first_five_pins(lace: Lace) -> None:
    """Design section 5: pins 0, n/2, 1, n/2 + 1, 2 of 24, which readers know as 1, 13, 2, 14, 3."""
    picture = laying(lace, FIGURES, LAYOUT)
    assert [item.text for item in picture.items if isinstance(item, Words)] == ["1", "13", "2", "14", "3"]
