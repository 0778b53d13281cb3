"""Outlines of looms, against SciPy's elliptic integrals and Shapely's intersections."""

import cmath
import itertools
import math

import pytest
import shapely  # type: ignore[import-untyped]
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.special import ellipe, ellipeinc  # type: ignore[import-untyped]
from shapely import affinity

from pipeline.craft.shapes import Box, Circle, HalfCircle, Oval, Shape, shape_of
from pipeline.records import LoomSpec

HALF = st.floats(15, 150)
PINS = st.integers(3, 100).map(lambda half: 2 * half)
SHAPES = st.one_of(
    st.builds(Circle, HALF), st.builds(Oval, HALF, HALF), st.builds(Box, HALF, HALF), st.builds(HalfCircle, HALF)
)


ROUND = shapely.Polygon([(math.sin(math.tau * k / 3200), math.cos(math.tau * k / 3200)) for k in range(3200)])
"""A circle of radius 1, nowhere further than 1e-6 from its polygon."""
HALF_ROUND = shapely.Polygon([(math.sin(math.pi * k / 1600), math.cos(math.pi * k / 1600)) for k in range(-800, 801)])


def outline(shape: Shape, level: float | None = None) -> shapely.Polygon:
    """The shape, or its round at a level, as a polygon."""
    share = (level or shape.shortest) / shape.shortest
    up, across, down = (share * reach for reach in shape.bounds)
    if isinstance(shape, Box):
        return shapely.box(-across, -down, across, up)
    return affinity.scale(ROUND if shape.closed else HALF_ROUND, across, up, origin=(0, 0))


def pair(place: complex) -> tuple[float, float]:
    """Right and up, as a map has them."""
    return place.imag, place.real


# Ovals


@settings(max_examples=40)
@given(up=HALF, across=HALF)
def test_an_oval_is_as_long_as_the_elliptic_integral(up: float, across: float) -> None:
    """The rim is 4·b·E(m) long, m = 1 − a²/b², to a billionth.

    Source: the complete elliptic integral of the second kind, DLMF 19.2.8, as SciPy computes it (``ellipe``).
    """
    assert Oval(up, across).perimeter == pytest.approx(4 * across * ellipe(1 - (up / across) ** 2), rel=1e-9)


@settings(max_examples=40)
@given(up=HALF, across=HALF, pins=st.integers(6, 200), data=st.data())
def test_pins_of_an_oval_lie_evenly_along_the_rim(up: float, across: float, pins: int, data: st.DataObject) -> None:
    """From the top to pin k the rim is k/n of its whole length, to a billionth of it.

    Source: the incomplete elliptic integral of the second kind, DLMF 19.2.5, as SciPy computes it (``ellipeinc``).
    """
    oval = Oval(up, across)
    pin = data.draw(st.integers(0, pins - 1))
    place = oval.rim(pins, pin)
    assert (place.real / up) ** 2 + (place.imag / across) ** 2 == pytest.approx(1, rel=1e-9)
    parameter = math.atan2(place.imag / across, place.real / up) % math.tau
    arc = across * ellipeinc(parameter, 1 - (up / across) ** 2)
    whole = 4 * across * ellipe(1 - (up / across) ** 2)
    away = arc - whole * pin / pins
    assert min(abs(away), abs(away - whole)) <= 1e-9 * whole


@settings(max_examples=40)
@given(radius=HALF, pins=st.integers(6, 200), level=st.floats(0.05, 0.95))
def test_an_oval_with_equal_axes_is_a_circle(radius: float, pins: int, level: float) -> None:
    """Its pins, rounds and spread are those of the circle."""
    oval, circle = Oval(radius, radius), Circle(radius)
    for pin in range(pins):
        assert oval.rim(pins, pin) == pytest.approx(circle.rim(pins, pin), abs=1e-9 * radius)
    assert oval.perimeter == pytest.approx(circle.perimeter, rel=1e-12)
    assert oval.spread(pins, level * radius) == pytest.approx(circle.spread(pins, level * radius), abs=1e-9 * radius)


# Sides


@settings(max_examples=40)
@given(up=HALF, across=HALF, half=st.integers(4, 100))
def test_every_corner_of_a_rectangle_carries_a_pin(up: float, across: float, half: int) -> None:
    """All four corners are pins, every pin lies on the rim, and along a side pins stand evenly."""
    box = Box(up, across)
    places = [box.rim(2 * half, pin) for pin in range(2 * half)]
    for corner in (complex(a * up, b * across) for a, b in itertools.product((1, -1), repeat=2)):
        assert min(abs(place - corner) for place in places) <= 1e-9 * (up + across)
    ring = shapely.box(-across, -up, across, up).exterior
    assert all(ring.distance(shapely.Point(pair(place))) <= 1e-9 * (up + across) for place in places)
    steps = {"across": [], "up": []}  # type: dict[str, list[float]]
    for a, b in itertools.pairwise([*places, places[0]]):
        steps["across" if abs(b.real - a.real) < abs(b.imag - a.imag) else "up"].append(abs(b - a))
    for found, side in ((steps["across"], across), (steps["up"], up)):
        assert found == pytest.approx([4 * side / len(found)] * len(found))


@settings(max_examples=40)
@given(up=HALF, across=HALF, half=st.integers(4, 100))
def test_sides_of_a_rectangle_share_the_pins_as_evenly_as_whole_numbers_allow(
    up: float, across: float, half: int
) -> None:
    """With one space more or fewer on a pair of sides, that pair would have become the closer or the wider set one."""
    wide, high = Box(up, across).intervals(2 * half)
    assert wide + high == half
    assert min(wide, high) >= 1
    if high > 1:
        assert across / (wide + 1) <= up / (high - 1) * (1 + 1e-12)
    if wide > 1:
        assert up / (high + 1) <= across / (wide - 1) * (1 + 1e-12)


def test_every_side_of_a_narrow_rectangle_has_a_space_at_least() -> None:
    """A frame ten times as long as it is wide: of four spaces to half the rim its short sides would get none."""
    assert Box(15.0, 150.0).intervals(8) == (3, 1)
    assert Box(150.0, 15.0).intervals(8) == (1, 3)


@settings(max_examples=40)
@given(half=HALF, quarter=st.integers(2, 60))
def test_pins_of_a_square_stand_evenly_all_round(half: float, quarter: int) -> None:
    """Eight half sides shared by n pins: by hand, no corner needed to say so."""
    square = Box(half, half)
    places = [square.rim(4 * quarter, pin) for pin in range(4 * quarter)]
    chords = [abs(b - a) for a, b in itertools.pairwise([*places, places[0]])]
    assert chords == pytest.approx([8 * half / (4 * quarter)] * len(places))
    assert square.spacing(4 * quarter) == pytest.approx(chords[0])


@settings(max_examples=40)
@given(up=HALF, across=HALF, half=st.integers(4, 100))
def test_pin_0_of_a_rectangle_stands_at_the_middle_of_the_top_or_next_to_it(
    up: float, across: float, half: int
) -> None:
    """It lies on the top side, less than a space to the right of its middle."""
    box = Box(up, across)
    first = box.rim(2 * half, 0)
    wide, _ = box.intervals(2 * half)
    assert first.real == pytest.approx(up)
    assert -1e-9 <= first.imag < 2 * across / wide


# What all shapes share


@settings(max_examples=40)
@given(shape=SHAPES, pins=PINS)
def test_pins_follow_one_another_clockwise(shape: Shape, pins: int) -> None:
    """Every step turns a little clockwise about the centre; on a closed rim they turn once in all."""
    places = [shape.rim(pins, pin) for pin in range(pins)]
    if shape.closed:
        places.append(places[0])
    turns = [cmath.phase(b / a) for a, b in itertools.pairwise(places)]
    assert min(turns) > 0
    assert math.fsum(turns) == pytest.approx(math.tau if shape.closed else math.pi)


@settings(max_examples=40)
@given(shape=SHAPES.filter(lambda shape: shape.closed), pins=PINS, data=st.data())
def test_opposite_pins_lie_on_a_line_through_the_centre(shape: Shape, pins: int, data: st.DataObject) -> None:
    """Pin a + n/2 is pin a turned half round, so a strand between them passes the centre, on every closed loom.

    Source: efi-handarbeiten.npage.de/sonnenspitzen.html: the pins must divide by two, since they are opposite pins.
    """
    assume(not isinstance(shape, Box) or pins >= 8)
    pin = data.draw(st.integers(0, pins // 2 - 1))
    a, b = shape.rim(pins, pin), shape.rim(pins, pin + pins // 2)
    assert a == pytest.approx(-b, abs=1e-9 * abs(a))
    assert shapely.LineString([pair(a), pair(b)]).distance(shapely.Point(0, 0)) <= 1e-9 * abs(a)


@settings(max_examples=40)
@given(shape=SHAPES, start=st.floats(0, 0.9), turn=st.floats(-3, 3), position=st.floats(0, 1), share=st.floats(0.1, 1))
def test_a_line_leaves_a_round_where_shapely_says(
    shape: Shape, start: float, turn: float, position: float, share: float
) -> None:
    """From any place inside a round to any place of the rim: the crossing of the line and the round's outline.

    Source: Shapely (GEOS), ``intersection``; curves are polygons of 3,200 corners there, so 1e-5 of the size is asked.
    """
    pins = 100
    outer = shape.rim(pins, position * (pins - (0 if shape.closed else 1)))
    level = share * shape.shortest
    inner = shape.toward(cmath.rect(1, turn), start * level)
    if not shape.closed:
        assume(inner.real >= 0)
        assume((outer.real + inner.real) > 0.01 * level)
    met = shape.meets(inner, outer, level)
    size = max(shape.bounds)
    ring = outline(shape, level).exterior
    line = shapely.LineString([pair(inner), pair(inner + (outer - inner) * 1.001)])
    crossing = line.intersection(ring)
    assert not crossing.is_empty
    assert crossing.distance(shapely.Point(pair(met))) <= 1e-5 * size
    assert shape.level(met) == pytest.approx(level, rel=1e-9)


@settings(max_examples=40)
@given(shape=SHAPES, share=st.floats(0.01, 1), position=st.floats(0, 1), pins=PINS)
def test_rounds_are_copies_of_the_rim_on_a_smaller_scale(
    shape: Shape, share: float, position: float, pins: int
) -> None:
    """In every direction a round lies at the same share of the way to the rim, and it is so much shorter."""
    place = shape.rim(pins, position * (pins - 1))
    level = share * shape.shortest
    assert shape.toward(place, level) == pytest.approx(place * share, abs=1e-9)
    assert shape.toward(place * 0.37, level) == pytest.approx(place * share, abs=1e-9)
    assert shape.level(place * share) == pytest.approx(level)
    assert shape.length(level) == pytest.approx(shape.perimeter * share)


@settings(max_examples=40)
@given(shape=SHAPES)
def test_perimeter_bounds_and_shortest_ray_are_those_of_the_outline(shape: Shape) -> None:
    """By Shapely: length of the outline, its box, the distance of the centre from it.

    Of a half-circle the straight side carries no pins and does not count.
    """
    polygon = outline(shape)
    up, across, down = shape.bounds
    straight = 0.0 if shape.closed else 2 * shape.shortest
    assert polygon.exterior.length - straight == pytest.approx(shape.perimeter, rel=1e-5)
    assert polygon.bounds == pytest.approx((-across, -down, across, up), rel=1e-5, abs=1e-9)
    if shape.closed:
        assert polygon.exterior.distance(shapely.Point(0, 0)) == pytest.approx(shape.shortest, rel=1e-5)


@settings(max_examples=40)
@given(shape=SHAPES.filter(lambda shape: not isinstance(shape, Box)), pins=PINS, share=st.floats(0.05, 1))
def test_spread_rays_stand_evenly_along_their_round(shape: Shape, pins: int, share: float) -> None:
    """Two to a pin, all steps along the outline alike: by Shapely's length to each place."""
    level = share * shape.shortest
    ring = outline(shape, level).exterior
    spread = shape.spread(pins, level)
    at = sorted(ring.project(shapely.Point(pair(place))) for place in spread)
    steps = [b - a for a, b in itertools.pairwise(at)]
    wanted = shape.length(level) / (2 * pins)
    inner = steps if shape.closed else [step for step in steps if step < 1.5 * wanted]
    assert len(spread) == 2 * pins
    assert inner == pytest.approx([wanted] * len(inner), rel=0.02)
    assert len(inner) >= 2 * pins - 2


@settings(max_examples=40)
@given(up=HALF, across=HALF, half=st.integers(4, 60), share=st.floats(0.05, 1))
def test_spread_rays_of_a_rectangle_stand_a_quarter_space_beside_their_pins(
    up: float, across: float, half: int, share: float
) -> None:
    """Round no corner and within a side: the two rays of a pin lie half a space apart, the pin's place between them."""
    box = Box(up, across)
    spread = box.spread(2 * half, share * box.shortest)
    assert len(spread) == 4 * half
    for pin in range(2 * half):
        a, b = spread[2 * pin], spread[2 * pin + 1]
        place = box.rim(2 * half, pin) * share
        ring = shapely.box(-across * share, -up * share, across * share, up * share).exterior
        assert max(ring.distance(shapely.Point(pair(ray))) for ray in (a, b)) <= 1e-9 * (up + across)
        if abs(abs(place.imag) - across * share) > 1e-6 or abs(abs(place.real) - up * share) > 1e-6:
            assert (a + b) / 2 == pytest.approx(place, abs=1e-9 * (up + across))


@settings(max_examples=40)
@given(radius=HALF, pins=st.integers(6, 100))
def test_pins_of_a_half_circle_go_from_end_to_end(radius: float, pins: int) -> None:
    """From the left end over the top to the right end, evenly: n − 1 spaces over π·R."""
    half = HalfCircle(radius)
    places = [half.rim(pins, pin) for pin in range(pins)]
    assert [places[0], places[-1]] == pytest.approx([-1j * radius, 1j * radius], abs=1e-9 * radius)
    assert min(place.real for place in places) >= -1e-9 * radius
    turns = [cmath.phase(b / a) for a, b in itertools.pairwise(places)]
    assert turns == pytest.approx([math.pi / (pins - 1)] * (pins - 1))
    assert half.spacing(pins) == pytest.approx(math.pi * radius / (pins - 1))


def test_spread_rays_of_a_half_circle_leave_half_a_step_free_at_either_end() -> None:
    """Twelve rays of six pins share the half round in steps of 15°, from 7.5° above the left end; by hand."""
    angles = [math.degrees(cmath.phase(place)) for place in HalfCircle(40.0).spread(6, 10.0)]
    assert angles == pytest.approx([-82.5 + 15 * ray for ray in range(12)])


@pytest.mark.parametrize(
    ("measures", "bounds"),
    [
        ({"shape": "circle", "diameter": 80.0}, (40, 40, 40)),
        ({"shape": "half-circle", "diameter": 80.0}, (40, 40, 0)),
        ({"shape": "oval", "width": 90.0, "height": 60.0}, (30, 45, 30)),
        ({"shape": "rectangle", "width": 90.0, "height": 60.0}, (30, 45, 30)),
        ({"shape": "square", "side": 80.0}, (40, 40, 40)),
    ],
)
def test_a_loom_is_as_large_as_it_is_written(
    measures: dict[str, str | float], bounds: tuple[float, float, float]
) -> None:
    """Width goes from side to side, height from top to bottom; what is written is whole, the model counts halves."""
    spec = LoomSpec.model_construct(**{"pins": 24, "hold": "pin"} | measures)  # type: ignore[arg-type]
    shape = shape_of(spec)
    assert shape.bounds == bounds
    assert shape.shortest == min(bounds[0], bounds[1])
    kinds = {"circle": Circle, "half-circle": HalfCircle, "oval": Oval}
    assert type(shape) is kinds.get(str(measures["shape"]), Box)


def test_straight_out_of_an_oval_is_square_to_its_rim() -> None:
    """On x²/a² + y²/b² = 1 the direction (x/a², y/b²), by the gradient; on a circle that of the place itself."""
    up, across = 30.0, 50.0
    for turn in (0.0, 0.4, 1.1, 2.0, 3.5, 5.0):
        place = complex(up * math.cos(turn), across * math.sin(turn))
        wanted = complex(place.real / up**2, place.imag / across**2)
        assert Oval(up, across).outward(place) == pytest.approx(wanted / abs(wanted), abs=1e-6)
        assert Circle(40.0).outward(place) == pytest.approx(place / abs(place), abs=1e-6)


def test_straight_out_of_a_frame_is_square_to_its_sides_and_slanting_at_corners() -> None:
    """Up, right, down and left; at the corner between the top and the right side half of each."""
    box = Box(30.0, 50.0)
    places = [30 + 10j, -20 + 50j, -30 - 40j, 5 - 50j]
    assert [box.outward(place) for place in places] == pytest.approx([1, 1j, -1, -1j], abs=1e-6)
    slanting = box.outward(30 + 50j)
    assert abs(slanting) == pytest.approx(1)
    assert min(slanting.real, slanting.imag) > 0.4
