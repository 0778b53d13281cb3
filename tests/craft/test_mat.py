"""Mats: which wheels touch, which pins meet, how large the whole is."""

import itertools
import math
from collections import Counter
from collections.abc import Callable
from typing import Any

import pytest
import shapely  # type: ignore[import-untyped]
from hypothesis import example, given, settings
from hypothesis import strategies as st
from scipy.spatial import cKDTree  # type: ignore[import-untyped]

from pipeline.craft.check import Checked
from pipeline.craft.loom import Loom
from pipeline.craft.mat import Mat, mat_of
from pipeline.craft.shapes import Circle
from pipeline.pattern import MAT_PINS, most_joins
from pipeline.records import Assembly

CheckText = Callable[..., Checked]
LAYOUTS = st.sampled_from(["grid", "hex", "strip"])
COUNT = st.integers(1, 7)
RADIUS = 30.0


def loom(pins: int, radius: float = RADIUS) -> Loom:
    shape = Circle(radius)
    return Loom(shape, tuple(shape.rim(pins, pin) for pin in range(pins)), "pin")


def mat(layout: str, columns: int, rows: int, joins: int = 1, pins: int = 24) -> Mat:
    assembly = Assembly.model_construct(layout=layout, columns=columns, rows=rows, joins=joins)
    return mat_of(assembly, loom(pins))


def right_up(place: complex) -> tuple[float, float]:
    return place.imag, place.real


@given(layout=LAYOUTS, columns=COUNT, rows=COUNT)
def test_wheels_that_touch_are_joined_and_no_others(layout: str, columns: int, rows: int) -> None:
    """Pairs of wheels two radii apart, as a k-d tree finds them, are the pairs that are joined; none is nearer.

    Source: SciPy, ``cKDTree.query_pairs``.
    """
    found = mat(layout, columns, rows)
    tree = cKDTree([right_up(centre) for centre in found.centres])
    assert tree.query_pairs(2 * RADIUS * (1 - 1e-9)) == set()
    touching = tree.query_pairs(2 * RADIUS * (1 + 1e-9))
    assert {(min(j.wheel, j.other), max(j.wheel, j.other)) for j in found.joins} == touching
    assert len(found.joins) == len(touching)


@example(layout="hex", columns=2, rows=2, eighths=25)
@given(layout=LAYOUTS, columns=COUNT, rows=COUNT, eighths=st.integers(8, 960))
def test_wheels_of_every_size_are_joined_alike(layout: str, columns: int, rows: int, eighths: int) -> None:
    """The same pins of the same wheels meet, whatever their diameter is: here in eighths of an inch."""
    assembly = Assembly.model_construct(layout=layout, columns=columns, rows=rows, joins=1)
    found = mat_of(assembly, loom(24, eighths * 25.4 / 16))
    assert found.joins == mat(layout, columns, rows).joins


@given(columns=COUNT, rows=COUNT, joins=st.integers(1, 4))
def test_joins_are_as_many_as_sides_that_meet(columns: int, rows: int, joins: int) -> None:
    """Counted by hand: across and down in a grid; in a hex mat also to both neighbours of the next column but one end.

    A hex column stands half a wheel beside the next, so that its wheels touch 2·rows − 1 of them.
    """
    assert len(mat("grid", columns, rows, joins).joins) == joins * ((columns - 1) * rows + columns * (rows - 1))
    assert len(mat("hex", columns, rows, joins).joins) == joins * (
        columns * (rows - 1) + (columns - 1) * (2 * rows - 1)
    )
    assert len(mat("strip", columns, rows, joins).joins) == joins * (columns - 1)


@settings(max_examples=60)
@given(layout=LAYOUTS, times=st.integers(2, 20), columns=st.integers(2, 4), rows=st.integers(2, 4))
def test_pins_that_meet_stand_at_one_place(layout: str, times: int, columns: int, rows: int) -> None:
    """With one join at a side its two pins coincide in space, to a billionth of a millimetre.

    For every number of pins that a pattern may have in this layout.
    """
    pins = MAT_PINS[layout] * max(times, math.ceil(6 / MAT_PINS[layout]))
    found = mat(layout, columns, rows, pins=pins)
    ring = loom(pins)
    for join in found.joins:
        one = found.centres[join.wheel] + ring.point(join.pin)
        other = found.centres[join.other] + ring.point(join.other_pin)
        assert abs(one - other) <= 1e-9


@settings(max_examples=60)
@given(layout=LAYOUTS, times=st.integers(2, 9), columns=st.integers(2, 4), rows=st.integers(2, 3), data=st.data())
def test_pins_beside_the_place_of_meeting_face_one_another(
    layout: str, times: int, columns: int, rows: int, data: st.DataObject
) -> None:
    """Further joins at a side tie pins that are mirror images in the line where the wheels touch."""
    pins = 12 * times
    joins = data.draw(st.integers(1, most_joins(pins // MAT_PINS[layout])))
    found = mat(layout, columns, rows, joins, pins)
    ring = loom(pins)
    for join in found.joins:
        a, b = found.centres[join.wheel], found.centres[join.other]
        one, other = a + ring.point(join.pin), b + ring.point(join.other_pin)
        along = (b - a) / abs(b - a)
        middle = (a + b) / 2
        mirrored = middle - along**2 * (one - middle).conjugate()
        assert abs(mirrored - other) <= 1e-9


@settings(max_examples=60)
@given(layout=LAYOUTS, times=st.integers(2, 9), data=st.data())
def test_no_pin_is_joined_twice(layout: str, times: int, data: st.DataObject) -> None:
    """Up to the most joins that a pattern may ask for, every pin of every wheel meets at most one other."""
    pins = 12 * times
    found = mat(layout, 3, 3, data.draw(st.integers(1, most_joins(pins // MAT_PINS[layout]))), pins)
    used: Counter[tuple[int, int]] = Counter()
    for join in found.joins:
        used[join.wheel, join.pin] += 1
        used[join.other, join.other_pin] += 1
    assert set(used.values()) == {1}


def test_eighteen_joins_fit_on_fifty_four_loops() -> None:
    """A wheel amid a hex mat with three joins a side is tied at eighteen of its fifty-four loops, a third of them.

    Source: bellaonline.com, article 182808: a web with 54 rim loops takes 18 joins. (There they stand at every third
    loop, each on a ring of its own; here in threes about the six places where wheels touch.)
    """
    found = mat("hex", 3, 3, 3, 54)
    ties = Counter(wheel for join in found.joins for wheel in (join.wheel, join.other))
    assert max(ties.values()) == 18
    pins = {join.pin for join in found.joins if join.wheel == 4} | {j.other_pin for j in found.joins if j.other == 4}
    assert (ties[4], len(pins)) == (18, 18)


@settings(max_examples=40)
@given(layout=LAYOUTS, columns=COUNT, rows=COUNT)
def test_the_finished_size_is_that_of_all_wheels_together(layout: str, columns: int, rows: int) -> None:
    """The box round the union of all circles, by Shapely (its circles touch their axes)."""
    found = mat(layout, columns, rows)
    circles = [shapely.Point(right_up(centre)).buffer(RADIUS, quad_segs=8) for centre in found.centres]
    left, low, right, high = shapely.unary_union(circles).bounds
    assert [found.width, found.height] == pytest.approx([right - left, high - low])


@pytest.mark.parametrize(("layout", "wheels"), [("grid", 20), ("hex", 20), ("strip", 5)])
def test_figures_of_a_mat_are_its_wheels(
    check_text: CheckText, example: dict[str, Any], layout: str, wheels: int
) -> None:
    """Thread and weight of a mat are those of one wheel so many times; a strip has one row, whatever is written."""
    example["assembly"] = {"layout": layout, "columns": 5, "rows": 4, "joins": 3}
    found = check_text(example).as_json()
    thread = found["threads"]["A"]
    assert found["mat"]["wheels"] == wheels
    assert found["mat"]["total_mm"]["A"] == pytest.approx(wheels * thread["total_mm"], abs=1e-4)
    assert found["mat"]["grams"]["A"] == pytest.approx(wheels * thread["grams"], abs=1e-4)


def test_a_hex_mat_by_hand() -> None:
    """Two columns of two wheels of radius 30: the second column stands 51.96 mm to the right and 30 mm lower."""
    found = mat("hex", 2, 2)
    assert found.layout == "hex"
    assert [right_up(centre) for centre in found.centres] == [
        pytest.approx(place, abs=1e-2) for place in ((0, 0), (0, -60), (51.96, -30), (51.96, -90))
    ]
    assert [found.width, found.height] == pytest.approx([111.96, 150], abs=1e-2)
    assert all(a != b for a, b in itertools.combinations(found.centres, 2))
