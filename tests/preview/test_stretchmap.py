"""The stretch map shows what each round asks of each ray, in the lace's own geometry."""

import math
import re
from collections.abc import Callable
from typing import Any
from xml.etree import ElementTree as ET

import pytest

from pipeline.craft.assembly import Lace
from pipeline.preview.stretchmap import REACH, kind_of, most_asked, stretch_map

Place = Callable[[dict[str, Any]], Lace]
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture
def strained(place_tree: Place, example: dict[str, Any]) -> Lace:
    """A lace whose first knots ask little of two rays in three, and whose second more than some of them have."""
    example["rounds"] = [
        {"knot": {"rays": [4, {"pass": 2}]}, "at": "12 mm"},
        {"knot": {"rays": 8, "shift": 3}, "at": "14 mm"},
    ]
    return place_tree(example)


def read(svg: str) -> ET.Element:
    """A map as XML."""
    return ET.fromstring(svg)  # noqa: S314


def rays(svg: str) -> dict[int, ET.Element]:
    """The drawing of every ray by its number, from 1."""
    found = {}
    for group in read(svg).iter(f"{SVG}g"):
        title = group.find(f"{SVG}title")
        assert title is not None
        found[int(re.findall(r"\d+", title.text or "")[0])] = group
    return found


def test_every_ray_runs_through_its_locks_to_its_pin(strained: Lace) -> None:
    """From the centre, as the round left it: a hundred units are the radius."""
    for number in (1, 2):
        after = strained.rounds[number - 1].rays
        scale = REACH / strained.loom.radius
        for ray, group in rays(stretch_map(strained, number, "a round")).items():
            way = [*after[ray - 1].locks, after[ray - 1].pin]
            drawn = " ".join(each.get("d", "") for each in group.findall(f"{SVG}path"))
            points = [complex(float(x), float(y)) for x, y in re.findall(r"(-?[\d.]+) (-?[\d.]+)", drawn)]
            for place in way:
                at = complex(place.imag, -place.real) * scale
                assert min(abs(point - at) for point in points) < 0.1


def test_a_ray_says_its_budget_and_wears_its_class(strained: Lace) -> None:
    """Round by round; 0 is the most that any round asks."""
    kinds = set()
    for number in range(len(strained.rounds) + 1):
        asked = strained.rounds[number - 1].budgets if number else most_asked(strained)
        for ray, group in rays(stretch_map(strained, number, "a round")).items():
            title = group.find(f"{SVG}title")
            assert title is not None
            assert title.text == f"Ray {ray}: {asked[ray - 1]:.2f}"
            assert group.get("class") == f"ray {kind_of(asked[ray - 1])}"
            kinds.add(kind_of(asked[ray - 1]))
    assert kinds == {"free", "b1", "b3", "b4", "over", "beyond"}


def test_warnings_and_errors_have_marks_of_their_own(strained: Lace) -> None:
    """A wedge over 1, a cross over 2, a core in the stroke of those over 2 alone: nobody needs to see colours."""
    root = read(stretch_map(strained, 0, "all"))
    marks = {path.get("class"): path.get("d") for path in root.iter(f"{SVG}path") if "mark" in path.get("class", "")}
    assert set(marks) == {"mark over", "mark beyond"}
    assert marks["mark over"] != marks["mark beyond"]
    cored = [group.get("class") for group in root.iter(f"{SVG}g") if any(p.get("class") == "core" for p in group)]
    assert set(cored) == {"ray beyond"}


def test_the_largest_budgets_are_labelled_and_no_label_stands_on_another(strained: Lace) -> None:
    """As many as there is room for; those that matter most come first."""
    root = read(stretch_map(strained, 0, "all"))
    labels = [(text.text, text.get("transform", "")) for text in root.iter(f"{SVG}text")]
    assert f"{max(most_asked(strained)):.2f}" in {text for text, _ in labels}
    places = [tuple(map(float, re.findall(r"-?[\d.]+", turned)[:2])) for _, turned in labels]
    apart = min(math.dist(a, b) for number, a in enumerate(places) for b in places[:number])
    assert apart > 3.8
    left, top, width, height = map(float, (root.get("viewBox") or "").split())
    assert all(left < x < left + width and top < y < top + height for x, y in places)


def test_its_name_is_text(strained: Lace) -> None:
    """Names of stitches come from files."""
    svg = stretch_map(strained, 1, '"><script>alert(1)</script>')
    assert "<script" not in svg
    assert (read(svg).get("aria-label") or "").startswith('"><script>')


@pytest.mark.parametrize("number", [-1, 3])
def test_a_round_that_is_not_there_is_an_error(strained: Lace, number: int) -> None:
    """There are two."""
    with pytest.raises(IndexError):
        stretch_map(strained, number, "no round")


@pytest.mark.parametrize("shape", [
    {"shape": "square", "side": "80 mm", "pins": 24}, {"shape": "half-circle", "diameter": "80 mm", "pins": 24},
    {"shape": "oval", "width": "90 mm", "height": "60 mm", "pins": 24},
])  # fmt: skip
def test_every_shape_of_loom_has_a_map(place_tree: Place, example: dict[str, Any], shape: dict[str, Any]) -> None:
    """Its drawing reads as XML, with all rays."""
    lace = place_tree({**example, "loom": shape})
    assert len(rays(stretch_map(lace, 0, "all"))) == 48


def test_a_lace_without_rounds_has_a_map(place_tree: Place, example: dict[str, Any]) -> None:
    """Of the rays as they are laid: nothing is asked of them."""
    example["rounds"] = [{"knot": {"rays": 7}, "at": "15 mm"}]
    lace = place_tree(example)
    assert lace.rounds == ()
    assert {group.get("class") for group in rays(stretch_map(lace, 0, "all")).values()} == {"ray free"}
