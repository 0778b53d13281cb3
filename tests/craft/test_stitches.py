"""One round: counts, knots, darning."""

import cmath
import itertools
import math
from collections.abc import Callable
from typing import Any

import pytest
import shapely  # type: ignore[import-untyped]
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.craft.assembly import Lace
from pipeline.craft.check import Checked
from pipeline.craft.counts import Counts, Item
from pipeline.craft.loom import Loom
from pipeline.craft.shapes import Box, Circle
from pipeline.craft.stitches import Site, crimp_height, crossing, edge_radius, jam_radius, knot, node_point
from pipeline.craft.stretch import Ray
from pipeline.symbol_model import TakeUp
from pipeline.units import Length

CheckText = Callable[..., Checked]
PlaceTree = Callable[[dict[str, Any]], Lace]


def loom(pins: int) -> Loom:
    shape = Circle(40.0)
    return Loom(shape, tuple(shape.rim(pins, pin) for pin in range(pins)), "pin")


@given(ratio=st.floats(1.0, 50.0), height=st.floats(0.1, 3.0))
def test_a_crossing_satisfies_both_equations_of_peirce(ratio: float, height: float) -> None:
    """Spacing and crimp height of the crossing come back from its length, with h = D as the bundles stay straight.

    Source: Peirce 1937: p = (l − Dθ)·cos θ + D·sin θ and h = (l − Dθ)·sin θ + D·(1 − cos θ). Straight bundles have no
    crimp of their own, so all of h₁ + h₂ = D is the working thread's; then sin θ = D/p.
    """
    p, D = ratio * height, height  # noqa: N806  (the letters of the paper)
    length = crossing(p, D)
    theta = math.asin(D / p)
    straight = length - D * theta
    assert straight * math.cos(theta) + D * math.sin(theta) == pytest.approx(p, rel=1e-12)
    assert straight * math.sin(theta) + D * (1 - math.cos(theta)) == pytest.approx(D, rel=1e-12)


def test_at_the_jam_the_crimp_is_half_pi_less_one() -> None:
    """P = D: the thread runs a quarter turn over and a quarter turn under, c = l/p − 1 = π/2 − 1.

    Source: Peirce's equations at θ = 90°, where no straight part is left.
    """
    assert crossing(1.0, 1.0) / 1.0 - 1 == pytest.approx(math.pi / 2 - 1, rel=1e-12)


def test_at_twice_the_jam_the_crimp_is_an_eighth() -> None:
    """P = 2D: θ = 30°, l = 2.2556 D and c = 0.1278, by a table of sines: 2·cos 30° + π/6 = 1.7321 + 0.5236."""
    assert crossing(2.0, 1.0) == pytest.approx(2.2556, abs=1e-4)
    assert crossing(2.0, 1.0) / 2 - 1 == pytest.approx(0.1278, abs=1e-4)


def test_peirce_s_rule_of_four_thirds_is_near() -> None:
    """H = 4/3·p·√c, the usual approximation, errs by less than seven per cent from the jam to twice its spacing.

    Source: the approximation as given at business.vsnl.com/balasubramanian/YarnCloth.html.
    """
    for p in (1.0, 1.2, 1.5, 2.0):
        crimp = crossing(p, 1.0) / p - 1
        assert 4 / 3 * p * math.sqrt(crimp) == pytest.approx(1.0, rel=0.07)


def test_the_rule_of_four_thirds_errs_as_far_as_it_is_known_to() -> None:
    """H = 4/3·p·√c goes from 0.7 % too much at the jam to 5.7 % too little where the bundles stand far apart.

    Source: the exact equations for straight bundles by hand: at the jam 4/3·√(π/2 − 1); far apart l − p tends to
    D²/2p, so 4/3·p·√c to 4/3·√(1/2).
    """
    found = [4 / 3 * p * math.sqrt(crossing(p, 1.0) / p - 1) for p in (1 + step / 20 for step in range(981))]
    assert found[0] - 1 == pytest.approx(0.007, abs=5e-4)
    assert found[-1] - 1 == pytest.approx(-0.057, abs=5e-4)
    assert found[0] == pytest.approx(4 / 3 * math.sqrt(math.pi / 2 - 1))
    assert all(a > b for a, b in itertools.pairwise(found))


@settings(max_examples=40)
@given(ratio=st.floats(1.0, 30.0), height=st.floats(0.1, 3.0))
def test_a_crossing_is_as_long_as_its_drawn_path(ratio: float, height: float) -> None:
    """Draw the thread's middle from above one bundle to below the next and measure the drawing.

    It turns by θ about each bundle at D/2, half of both thicknesses, and runs straight between.
    Source: the figure of Peirce 1937 for straight bundles; Shapely, length of a line of many corners.
    """
    spacing = ratio * height
    turns = [math.asin(1 / ratio) * step / 400 for step in range(401)]
    left = [(height / 2 * math.sin(turn), height / 2 * math.cos(turn)) for turn in turns]
    right = [(spacing - x, -y) for x, y in reversed(left)]
    assert shapely.LineString([*left, *right]).length == pytest.approx(crossing(spacing, height), rel=1e-5)


@given(ratio=st.floats(0.1, 0.999))
def test_inside_the_jam_the_length_stays(ratio: float) -> None:
    """Bundles that press closer are still gone round by a quarter turn each way: D·π/2."""
    assert crossing(ratio, 1.0) == pytest.approx(math.pi / 2)


@given(bundles=st.integers(6, 200), height=st.floats(0.2, 3))
def test_bundles_jam_where_their_heights_fill_the_circle(bundles: int, height: float) -> None:
    """At the jam radius the circle is as long as all crimp heights together."""
    assert 2 * math.pi * jam_radius(Circle(40), bundles, height) == pytest.approx(bundles * height)


def test_the_crimp_height_is_the_thread_and_half_the_bundles() -> None:
    """D = d + (b(over) + b(under))/2, for unequal bundles too."""
    assert crimp_height(Counts(over=1, under=1), 0.3, 0.4) == pytest.approx(0.7)
    four = 0.4 * math.sqrt(4 / 0.75)
    assert crimp_height(Counts(over=1, under=4), 0.3, 0.4) == pytest.approx(0.3 + (0.4 + four) / 2)


@given(size=st.integers(1, 8), groups=st.integers(3, 20), shift=st.integers(0, 200))
def test_equal_groups_take_every_ray_once(size: int, groups: int, shift: int) -> None:
    """The groups share out all rays, each of neighbours, the first from ray ``shift``."""
    rays = size * groups
    (found,) = Counts((Item(size),), shift).groups(rays)
    assert sorted(ray for group in found for ray in group) == list(range(rays))
    assert all((b - a) % rays == 1 % rays for group in found for a, b in itertools.pairwise(group))
    assert found[0][0] == shift % rays


def test_a_list_is_taken_in_turn_and_passes_rays_over() -> None:
    """2, pass 1, 3 over twelve rays from ray 1: groups at 1–2 and 4–6, then 7–8 and 10–0; 3 and 9 are left."""
    counted = Counts((Item(2), Item(1, tied=False), Item(3)), 1)
    assert counted.groups(12) == (((1, 2), (4, 5, 6), (7, 8), (10, 11, 0)),)
    assert sorted(counted.taken(12)) == [0, 1, 2, 4, 5, 6, 7, 8, 10, 11]
    assert counted.period == 6


def test_a_knot_is_a_turn_and_three_thicknesses() -> None:
    """One turn round the bundle along the thread's middle, and three thicknesses beside it (derived, no source)."""
    assert knot(0.8, 0.3, TakeUp.model_construct(turns=1.0, thicknesses=3.0)) == pytest.approx(math.pi * 1.1 + 0.9)


@given(angle=st.floats(-3, 3), spread=st.floats(0.01, 1.0), radius=st.floats(1, 39))
def test_a_node_of_two_rays_lies_half_way(angle: float, spread: float, radius: float) -> None:
    """Two rays from the centre meet half way between, on the round."""
    rays = [Ray(cmath.rect(40, angle - spread)), Ray(cmath.rect(40, angle + spread))]
    assert node_point(Site(loom(12), rays, 0.3), (0, 1), radius) == pytest.approx(cmath.rect(radius, angle))


def test_an_edge_lies_a_pin_s_spacing_inside_but_not_too_far() -> None:
    """2πR/n inside the rim, R/8 at the most, and where ``inset`` says it otherwise."""
    assert edge_radius(loom(100), None) == pytest.approx(40 - 2 * math.pi * 40 / 100)
    assert edge_radius(loom(24), None) == pytest.approx(35)
    assert edge_radius(loom(24), Length(10, "%")) == pytest.approx(36)


# The handbooks' rule of odd and even: a spiral of over and under goes on by itself over an odd number of threads, since
# each row then passes over what the last one passed under; over an even number it would repeat itself.
# Sources: inaminuteago.com, "wheel woven"; embroidery.rocksea.org, "woven spider wheel"; Dillmont, Encyclopedia of
# Needlework, 1886, fig. 754: of eight rays the wheel is made over seven.
@pytest.mark.parametrize(
    ("pins", "over", "under"),
    [
        (24, 2, 2),
        (25, 2, 2),
        (24, 1, 1),
        (9, 2, 2),
        (24, 3, 3),
        (27, 6, 6),
        (24, 3, 1),
        (15, 4, 2),
        (12, 8, 8),
        (24, 16, 16),
    ],
)
def test_a_spiral_opposes_itself_by_the_handbooks_rule(
    check_text: CheckText, example: dict[str, Any], pins: int, over: int, under: int
) -> None:
    """Walk two rows over the bundles, over and under by turns: where the second repeats the first, a shift is told."""
    example["loom"]["pins"] = pins
    example["rounds"] = [{"darn": {"over": over, "under": under}, "at": "20 mm"}]
    (facts,) = check_text(example).as_json()["rounds"]
    rays = 2 * pins
    bundles = rays // over if over == under else 2 * rays // (over + under)
    passes = ["over" if step % 2 == 0 else "under" for step in range(2 * bundles)]
    repeats = passes[:bundles] == passes[bundles:]
    assert facts["phase_shift"] == repeats


def test_the_first_darn_spreads_the_rays_evenly(check_text: CheckText, example: dict[str, Any]) -> None:
    """After a first darn ray k lies at (k − ½)·π/n, so all neighbours are as far apart as the two legs of a pin."""
    lace = check_text(example).lace
    assert lace is not None
    angles = [cmath.phase(ray.lock * cmath.rect(1, 0.5 * math.pi / 24)) % (2 * math.pi) for ray in lace.rounds[0].rays]
    wanted = [ray * math.pi / 24 for ray in range(48)]
    assert [cmath.rect(1, angle) for angle in angles] == pytest.approx([cmath.rect(1, angle) for angle in wanted])


def test_a_later_darn_leaves_the_rays_where_they_run(check_text: CheckText, example: dict[str, Any]) -> None:
    """After a knot the free lines decide, so a darn draws nothing aside and asks for no more than the knot left."""
    example["rounds"] = [{"knot": {"rays": 4}, "at": "12 mm"}, {"darn": {}, "gap": "3 mm"}]
    first, second = check_text(example).as_json()["rounds"]
    assert second["stretch_pct"] == pytest.approx(first["stretch_pct"], abs=1e-5)


def test_a_rib_by_hand(place_tree: PlaceTree, example: dict[str, Any]) -> None:
    """Two rows over 2 and under 4 at 15 mm: 24 stitches of the spacing and a turn about two rays, π(b + d); no carry."""
    example["rounds"] = [{"rib": {"over": 2, "under": 4}, "at": "15 mm", "rows": 2}]
    (done,) = place_tree(example).rounds
    d = math.sqrt(4 * 1.10 * 40 / (1000 * math.pi))
    turn = math.pi * (d * math.sqrt(2 / 0.75) + d)
    assert done.row_nets == pytest.approx([2 * math.pi * radius + 24 * turn for radius in (15, 15 + d)])
    assert done.worked.row_radii == pytest.approx([15, 15 + d])
    assert done.outer == pytest.approx(15 + d)
    assert done.end == pytest.approx(done.rays[0].lock)
    assert all(abs(ray.lock) == pytest.approx(15 + d) for ray in done.rays)


def test_a_tight_rib_has_just_room(place_tree: PlaceTree, example: dict[str, Any]) -> None:
    """48 stitches stand b + d apart where the first row lies as near to the centre as it can, and nothing is wrong."""
    example["rounds"] = [{"rib": {}, "at": "tight"}]
    lace = place_tree(example)
    (done,) = lace.rounds
    assert lace.findings == ()
    d = math.sqrt(4 * 1.10 * 40 / (1000 * math.pi))
    assert done.radius == pytest.approx(48 * 2 * d / (2 * math.pi))
    assert done.worked.jam_radius == pytest.approx(done.radius)


def test_rows_of_a_part_turn_round_their_last_bundle(place_tree: PlaceTree, example: dict[str, Any]) -> None:
    """Three parts of eight rays of 48, two rows at 20 mm: half the round each, and half a turn where each part turns.

    Source of the crossing: Peirce 1937, p. as below; half a turn of the thread about a bundle of two is π(b + d)/2.
    The thread goes from where a part's last row ends, where it began, straight to the next part's first ray.
    """
    example["rounds"] = [{"darn": {}, "at": "20 mm", "rows": 2, "part": {"rays": 8, "every": 16}}]
    lace = place_tree(example)
    (done,) = lace.rounds
    d = math.sqrt(4 * 1.10 * 40 / (1000 * math.pi))
    b = d * math.sqrt(2 / 0.75)

    def row(radius: float) -> float:
        spacing, height = 2 * math.pi * radius / 24, d + b
        theta = math.asin(height / spacing)
        return 12 * (spacing * math.cos(theta) + height * theta)

    first, second = done.worked.row_nets
    ways = 2 * abs(done.rays[16].lock - done.rays[0].lock)
    assert first == pytest.approx(row(20))
    assert second == pytest.approx(row(20 + d) + 3 * math.pi * (b + d) / 2 + ways)
    assert done.end == done.rays[32].lock
    assert [ray for ray, _ in done.worked.locks] == [*range(8), *range(16, 24), *range(32, 40)]


def test_an_odd_number_of_rows_of_a_part_ends_at_its_last_ray(place_tree: PlaceTree, example: dict[str, Any]) -> None:
    """One row: from ray 0 to ray 7, then straight to ray 16."""
    example["rounds"] = [{"darn": {}, "at": "20 mm", "rows": 1, "part": {"rays": 8, "every": 16}}]
    (done,) = place_tree(example).rounds
    d = math.sqrt(4 * 1.10 * 40 / (1000 * math.pi))
    spacing, height = 2 * math.pi * 20 / 24, d + d * math.sqrt(2 / 0.75)
    theta = math.asin(height / spacing)
    ways = abs(done.rays[16].lock - done.rays[7].lock) + abs(done.rays[32].lock - done.rays[23].lock)
    assert done.worked.net == pytest.approx(12 * (spacing * math.cos(theta) + height * theta) + ways)
    assert done.end == done.rays[39].lock


def test_rows_of_a_half_circle_go_on_from_where_they_ended(place_tree: PlaceTree, example: dict[str, Any]) -> None:
    """Three rows end at the last ray; two more of another darn end there again; three after one of knots end at the first."""
    darns = [{"darn": {}, "at": "12 mm", "rows": 3}, {"darn": {}, "at": "20 mm", "rows": 2}]
    example |= {"loom": {"shape": "half-circle", "diameter": "80 mm", "pins": 24}, "rounds": darns}
    first, second = place_tree(example).rounds
    assert first.end == first.rays[47].lock
    assert (second.backward, second.end) == (True, second.rays[47].lock)
    example["rounds"] = [{"knot": {"rays": 2}, "at": "12 mm"}, {"darn": {}, "at": "20 mm", "rows": 3}]
    _, third = place_tree(example).rounds
    assert (third.backward, third.end) == (True, third.rays[0].lock)


def test_picots_take_two_straight_legs_from_knot_to_knot(place_tree: PlaceTree, example: dict[str, Any]) -> None:
    """24 loops 3 mm high over chords of 34 mm radius, 25 knots about two rays, from the centre to the first."""
    example["rounds"] = [{"edge-picots": {"height": "3 mm", "inset": "6 mm"}}]
    (done,) = place_tree(example).rounds
    d = math.sqrt(4 * 1.10 * 40 / (1000 * math.pi))
    leg = math.hypot(34 * math.sin(math.pi / 24), 3)
    assert done.net == pytest.approx(34 + 24 * 2 * leg + 25 * (math.pi * (d * math.sqrt(2 / 0.75) + d) + 3 * d))
    assert (done.worked.closed, done.knots, done.worked.loop_mm) == (True, 25, 3)


def test_knots_of_parts_go_straight_from_one_part_to_the_next(place_tree: PlaceTree, example: dict[str, Any]) -> None:
    """Two knots of two rays in each of three parts, at 20 mm: one chord in a part, one way between two, none closed."""
    example["rounds"] = [{"knot": {"rays": 2}, "at": "20 mm", "part": {"rays": 4, "every": 16}}]
    (done,) = place_tree(example).rounds
    d = math.sqrt(4 * 1.10 * 40 / (1000 * math.pi))
    chord, way = (2 * 20 * math.sin(pins * math.pi / 24) for pins in (1, 7))
    tied = math.pi * (d * math.sqrt(2 / 0.75) + d) + 3 * d
    assert done.net == pytest.approx(20 + 3 * chord + 2 * way + 6 * tied)
    assert (done.worked.closed, done.knots, done.end) == (False, 6, done.worked.nodes[-1].point)


def test_parts_of_a_half_circle_are_tied_from_the_last_where_a_row_goes_back(
    place_tree: PlaceTree, example: dict[str, Any]
) -> None:
    """After one row of knots three parts of two knots each are worked from the right end to the left."""
    part = {"knot": {"rays": 2}, "at": "20 mm", "part": {"rays": 4, "every": 16}}
    example["loom"] = {"shape": "half-circle", "diameter": "80 mm", "pins": 24}
    _, there = place_tree(
        example | {"rounds": [{"knot": {"rays": 2}, "at": "12 mm", "part": part["part"]}, part]}
    ).rounds
    assert [node.rays for node in there.worked.nodes] == [(34, 35), (32, 33), (18, 19), (16, 17), (2, 3), (0, 1)]
    assert there.end == there.worked.nodes[-1].point


def test_a_rib_of_parts_and_of_rows_that_go_back(place_tree: PlaceTree, example: dict[str, Any]) -> None:
    """Half of the rays take half of the round's stitches; on a half-circle a rib after one row ends at the first ray."""
    example["rounds"] = [{"rib": {}, "at": "15 mm", "rows": 1, "part": {"rays": 8, "every": 16}}]
    (done,) = place_tree(example).rounds
    d = math.sqrt(4 * 1.10 * 40 / (1000 * math.pi))
    ways = 2 * abs(done.rays[16].lock - done.rays[7].lock)
    assert done.worked.net == pytest.approx((2 * math.pi * 15 + 48 * math.pi * 2 * d) / 2 + ways)
    example["loom"] = {"shape": "half-circle", "diameter": "80 mm", "pins": 24}
    _, back = place_tree(
        example | {"rounds": [{"knot": {"rays": 2}, "at": "12 mm"}, {"rib": {}, "at": "15 mm", "rows": 1}]}
    ).rounds
    assert (back.backward, back.end) == (True, back.rays[0].lock)
    assert back.worked.net == pytest.approx(math.pi * 15 + 48 * math.pi * 2 * d)


def test_a_knot_ends_where_it_begins(place_tree: PlaceTree, example: dict[str, Any]) -> None:
    """A node is one place, on its round; only fillings have another end."""
    _, done = place_tree(example).rounds
    assert all(node.outer == node.point for node in done.worked.nodes)
    assert done.outer == 15


def test_every_ray_of_a_group_counts_as_much_whatever_its_length() -> None:
    """To the middle of a side of a square and to its corner, √2 as far: the node lies half-way in angle, at 22.5°."""
    box = Box(40.0, 40.0)
    pins = (40 + 0j, 40 + 40j)
    site = Site(Loom(box, pins, "pin"), [Ray(pin) for pin in pins], 0.3)
    assert node_point(site, (0, 1), 20) == pytest.approx(20 + 20j * math.tan(math.radians(22.5)))


@pytest.mark.parametrize("rows", [1, 2, 3])
def test_after_a_darn_the_thread_is_where_ray_0_is_held(
    place_tree: PlaceTree, example: dict[str, Any], rows: int
) -> None:
    """Once round and again, each row ends where it began (design section 5): the next way is counted from there."""
    example["rounds"][0] = {"darn": {}, "rows": rows}
    darn, knots = place_tree(example).rounds
    assert darn.end == darn.rays[0].lock != darn.rays[1].lock
    assert knots.carry == pytest.approx(abs(knots.worked.nodes[0].point - darn.rays[0].lock))


def test_parts_of_a_row_that_goes_back_are_darned_from_the_last(place_tree: PlaceTree, example: dict[str, Any]) -> None:
    """Rays 39 to 32, then 23 to 16, then 7 to 0, with a straight way between two parts."""
    rounds = [
        {"knot": {"rays": 2}, "at": "12 mm"},
        {"darn": {}, "at": "20 mm", "rows": 1, "part": {"rays": 8, "every": 16}},
    ]
    example |= {"loom": {"shape": "half-circle", "diameter": "80 mm", "pins": 24}, "rounds": rounds}
    _, done = place_tree(example).rounds
    d = math.sqrt(4 * 1.10 * 40 / (1000 * math.pi))
    spacing, height = math.pi * 20 / 24, d + d * math.sqrt(2 / 0.75)
    theta = math.asin(height / spacing)
    ways = abs(done.rays[23].lock - done.rays[32].lock) + abs(done.rays[7].lock - done.rays[16].lock)
    assert done.worked.net == pytest.approx(12 * (spacing * math.cos(theta) + height * theta) + ways)
    assert done.end == done.rays[0].lock
