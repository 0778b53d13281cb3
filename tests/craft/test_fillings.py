"""Fillings of a band: cords and woven bars, leaves and points, against integrals and hand arithmetic."""

import cmath
import itertools
import math
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad  # type: ignore[import-untyped]

from pipeline.craft.assembly import Lace
from pipeline.craft.counts import Counts, Item
from pipeline.craft.fillings import Band, block, coil, narrowed, natural, outlined, row_shares, weave, wrap
from pipeline.craft.loom import Loom
from pipeline.craft.path import working_path
from pipeline.craft.shapes import Box, Circle, HalfCircle
from pipeline.craft.stitches import Site
from pipeline.craft.stretch import Ray

PlaceTree = Callable[[dict[str, Any]], Lace]
WEB = 0.4


def peirce(spacing: float, height: float) -> float:
    """Thread of a crossing over straight bundles; Peirce 1937, J. Text. Inst. 28, T45; flat where they jam."""
    if spacing <= height:
        return height * math.pi / 2
    angle = math.asin(height / spacing)
    return spacing * math.cos(angle) + height * angle


def parallel(*across: float) -> Site:
    """Rays that stand upright side by side, held 10 mm from the middle of a square of 80 mm."""
    box = Box(40.0, 40.0)
    rays = [Ray(complex(40, place), complex(10, place)) for place in across]
    return Site(Loom(box, tuple(ray.pin for ray in rays), "pin"), rays, WEB)


def fan(count: int, turn: float) -> Site:
    """Rays that run outward from the centre of a circle of radius 40, so far apart; all held 5 mm out."""
    circle = Circle(40.0)
    pins = [complex(math.cos(k * turn), math.sin(k * turn)) for k in range(count)]
    return Site(Loom(circle, tuple(40 * pin for pin in pins), "pin"), [Ray(40 * pin, 5 * pin) for pin in pins], WEB)


# Cords


@given(length=st.floats(0.5, 40), bundle=st.floats(0.2, 3), thread=st.floats(0.1, 1))
def test_a_cord_takes_the_length_of_a_helix(length: float, bundle: float, thread: float) -> None:
    """The thread's middle winds at (b + d)/2 from the cord's, one thickness on with every turn: its arc length.

    Source: arc length of a curve by quadrature (SciPy ``quad``) over the helix as a point moving outward.
    """
    radius, turns = (bundle + thread) / 2, length / thread

    def speed(share: float) -> float:
        angle = math.tau * turns * share
        sideways = (-radius * math.sin(angle) * math.tau * turns, radius * math.cos(angle) * math.tau * turns)
        return math.hypot(*sideways, length)

    assert coil(length, bundle, thread) == pytest.approx(quad(speed, 0, 1)[0], rel=1e-9)


def test_a_round_of_cords_by_hand(place_tree: PlaceTree, example: dict[str, Any]) -> None:
    """Twelve cords of four rays from 15 to 20 mm: their coils, and straight ways from each end to the next beginning."""
    example["rounds"] = [{"wrap": {"rays": 4}, "at": "15 mm", "to": "20 mm"}]
    (done,) = place_tree(example).rounds
    d = math.sqrt(4 * 1.10 * 40 / (1000 * math.pi))
    b = d * math.sqrt(4 / 0.75)
    cord = 5 / d * math.sqrt((math.pi * (b + d)) ** 2 + d**2)
    way = math.sqrt(15**2 + 20**2 - 2 * 15 * 20 * math.cos(math.tau / 12))
    assert done.net == pytest.approx(15 + 12 * cord + 11 * way)
    assert (done.worked.closed, done.knots, len(done.worked.nodes)) == (False, 0, 12)


def test_a_cord_keeps_its_group_together(place_tree: PlaceTree, example: dict[str, Any]) -> None:
    """All rays of a group are held at the same two places, one above the other in the direction from the centre."""
    example["rounds"] = [{"wrap": {"rays": [4, {"pass": 4}]}, "at": "15 mm", "to": "20 mm"}]
    (done,) = place_tree(example).rounds
    for node in done.worked.nodes:
        held = {done.rays[ray].locks for ray in node.rays}
        ((_, inner, outer),) = held
        assert [abs(inner), abs(outer)] == pytest.approx([15, 20])
        assert (outer / inner).imag == pytest.approx(0, abs=1e-12)
    free = set(range(48)) - {ray for node in done.worked.nodes for ray in node.rays}
    assert len(free) == 24
    assert all(done.rays[ray].locks == (0j,) for ray in free)


# Woven fillings


def test_a_bar_by_hand() -> None:
    """Three upright rays 1 mm apart, a band of 10 mm, a thread of 0.5 mm, rays of 0.4 mm: 86.02 mm.

    Twenty rows. D = 0.9, sin θ = 0.9, θ = 1.11977, cos θ = 0.43589: a crossing takes 0.43589 + 0.9 · 1.11977 = 1.44368; two
    of them and half a turn of π · 0.9/2 = 1.41372 are 4.30108 a row.
    """
    assert block(parallel(-1, 0, 1), (0, 1, 2), Band(10, 20), 0.5, "bar") == pytest.approx(86.0216, abs=1e-3)


@settings(max_examples=25)
@given(
    outline=st.sampled_from(["bar", "leaf", "point"]),
    count=st.integers(2, 7),
    turn=st.floats(0.03, 0.15),
    inner=st.floats(8, 12),
    length=st.floats(15, 22),
    thread=st.floats(0.15, 0.35),
)
def test_a_woven_filling_takes_the_thread_of_its_outline(
    outline: str, count: int, turn: float, inner: float, length: float, thread: float
) -> None:
    """Whole rows, as many as lie nearest to the band's length in threads; all of them an integral of its outline, to 0.5 %.

    Source: SciPy ``quad`` over the outline: rays fan out in proportion to the radius; a bar has all of their width, a
    leaf a half wave of it, a point its share; nowhere do they stand nearer than side by side.
    """
    rays = tuple(range(count))
    band = Band(inner, inner + length)

    def row(share: float) -> float:
        natural = 2 * (inner + share * length) * math.sin(turn / 2)
        part = {"bar": 1.0, "leaf": math.sin(math.pi * share), "point": share}[outline]
        spacing = max(natural * part, min(natural, WEB))
        return (count - 1) * peirce(spacing, thread + WEB) + math.pi * (thread + WEB) / 2

    whole, _ = quad(row, 0, 1, limit=400)
    # The middle of the group goes outward a little slower than its rays: by the mean cosine of their turns.
    slower = math.fsum(math.cos((k - (count - 1) / 2) * turn) for k in range(count)) / count
    rows = length * slower / thread
    found = block(fan(count, turn), rays, band, thread, outline)
    nearest = [number for number in (math.floor(rows), math.ceil(rows)) if abs(number - rows) < 0.52]
    assert any(found == pytest.approx(whole * number, rel=0.005) for number in nearest)
    assert found / len(row_shares(fan(count, turn), rays, band, thread)) == pytest.approx(whole, rel=0.005)


@pytest.mark.parametrize(("outline", "widths"), [("bar", (4, 4, 4)), ("leaf", (1.6, 4, 1.6)), ("point", (1.6, 2, 4))])
def test_an_outline_has_its_width(outline: str, widths: tuple[float, float, float]) -> None:
    """Five upright rays 1 mm apart, at the beginning, the middle and the end; tips are as wide as five rays of 0.4 mm."""
    site = parallel(-2, -1, 0, 1, 2)
    for share, width in zip((0, 0.5, 1), widths, strict=True):
        places = outlined(site, tuple(range(5)), Band(15, 25), share, outline)
        assert abs(places[-1] - places[0]) == pytest.approx(width)
        assert [place.real for place in places] == pytest.approx([15 + 10 * share] * 5)


@pytest.mark.parametrize(
    ("outline", "held"),
    [("bar", [(15, 4), (25, 4)]), ("leaf", [(15, 1.6), (20, 4), (25, 1.6)]), ("point", [(15, 1.6), (25, 4)])],
)
def test_rays_are_held_where_their_outline_has_them(outline: str, held: list[tuple[float, float]]) -> None:
    """A bar and a point hold their rays at both ends, a leaf at its widest too."""
    worked = weave(parallel(-2, -1, 0, 1, 2), Counts((Item(5),)), Band(15, 25), 0.3, outline, backward=False)
    locks = dict(worked.locks)
    assert set(locks) == set(range(5))
    assert [(at.real, 2 * at.imag) for at in locks[4]] == [pytest.approx(place) for place in held]
    assert [at.imag for at in locks[2]] == pytest.approx([0] * len(held))
    assert [worked.nodes[0].point, worked.nodes[0].outer] == pytest.approx([15, 25])


def test_a_leaf_opens_where_a_pin_s_two_rays_share_their_way(place_tree: PlaceTree, example: dict[str, Any]) -> None:
    """Grown from a knot, a leaf is wider at its middle than at its tips: at least as wide as its outermost rays stand.

    The two legs of a pin run on from one node to one pin, so they touch; those of other pins stand apart. Source of the
    outline: Dillmont, Encyclopedia of Needlework, 1886, fig. 713: a woven leaf over five threads, pointed at its tips.
    """
    example["loom"] |= {"pins": 60, "diameter": "120 mm"}
    example["rounds"] = [
        {"knot": {"rays": 5}, "at": "12 mm"},
        {"weave": {"rays": [5, {"pass": 5}], "as": "leaf"}, "at": "13 mm", "to": "34 mm"},
    ]
    lace = place_tree(example)
    knots, leaves = lace.rounds
    group = leaves.worked.nodes[0].rays
    tip, middle, other_tip = zip(*(leaves.rays[ray].locks[2:] for ray in group), strict=True)
    shape = lace.loom.shape
    free = [knots.rays[ray].meets(shape, (13 + 34) / 2) for ray in group]
    wide = {
        name: abs(places[-1] - places[0]) for name, places in (("tip", tip), ("middle", middle), ("end", other_tip))
    }
    assert wide["middle"] > wide["tip"]
    assert wide["middle"] > wide["end"]
    assert wide["middle"] >= abs(free[-1] - free[0]) - 1e-9


def test_a_leaf_over_five_divides_them_into_two_and_three(place_tree: PlaceTree, example: dict[str, Any]) -> None:
    """Each row passes over three of the five and under two, or over two and under three, by turns.

    Source: Dillmont, Encyclopedia of Needlework, 1886, fig. 713: darning over five threads divided 2 + 3.
    """
    example["loom"]["pins"] = 30
    example["rounds"] = [{"darn": {}}, {"weave": {"rays": 5, "as": "leaf"}, "at": "15 mm", "to": "30 mm"}]
    lace = place_tree(example)
    rows: dict[int, list[str]] = {}
    for move in itertools.takewhile(lambda move: move.does != "turn", working_path(lace, 1)[2:]):
        rows.setdefault(move.row, []).append(move.does)
    assert len(rows) > 20
    assert [row.count("over") for row in rows.values()] == [3 - number % 2 for number in rows]


@pytest.mark.parametrize("size", [2, 3, 4, 5, 6])
def test_every_ray_of_a_woven_group_is_passed_over_and_under_by_turns(
    place_tree: PlaceTree, example: dict[str, Any], size: int
) -> None:
    """Darning to and fro: where a row passes over a ray the next passes under it, whatever the number of rays.

    Source: Dillmont, Encyclopedia of Needlework, 1886, darning stitch: alternate threads, reversed in the next row.
    """
    example["loom"]["pins"] = 30
    example["rounds"] = [{"darn": {}}, {"weave": {"rays": size}, "at": "15 mm", "to": "25 mm"}]
    lace = place_tree(example)
    passed: dict[int, list[str]] = {}
    for move in itertools.takewhile(lambda move: move.does != "turn", working_path(lace, 1)[2:]):
        passed.setdefault(move.rays[0], []).append(move.does)
    assert len(passed) == size
    for sides in passed.values():
        assert all(a != b for a, b in itertools.pairwise(sides))


# Between two locks


@pytest.mark.parametrize(
    "filling",
    [
        {"wrap": {"rays": [4, {"pass": 4}]}},
        {"weave": {"rays": [4, {"pass": 4}], "as": "bar"}},
        {"weave": {"rays": [4, {"pass": 4}], "as": "leaf"}},
    ],
)
def test_a_filling_between_two_rounds_leaves_what_is_outside_as_it_was(
    place_tree: PlaceTree, example: dict[str, Any], filling: dict[str, Any]
) -> None:
    """With and without it: the rays outside the outer round, and every later round, are the same but for the carry."""
    before = [{"darn": {}}, {"knot": {"rays": 4}, "at": "12 mm"}, {"knot": {"rays": 4, "shift": 2}, "at": "22 mm"}]
    after = [{"knot": {"rays": 4}, "at": "30 mm"}, {"edge-loops": {}}]
    without = place_tree(example | {"rounds": before + after})
    found = place_tree(example | {"rounds": [*before, filling | {"at": "14 mm", "to": "19 mm"}, *after]})
    filled = found.rounds[3]
    assert len(found.rounds) == 6
    for mine, theirs in zip(filled.rays, without.rounds[2].rays, strict=True):
        assert (mine.pin, mine.lock, mine.stretch) == (theirs.pin, theirs.lock, theirs.stretch)
    inside = {ray for node in filled.worked.nodes for ray in node.rays}
    for ray in range(48):
        levels = [abs(lock) for lock in filled.rays[ray].locks]
        assert levels == sorted(levels)
        assert any(14 - 1 <= level <= 19 + 1 for level in levels) == (ray in inside)
    for mine_round, their_round in zip(found.rounds[4:], without.rounds[3:], strict=True):
        assert mine_round.worked.net == pytest.approx(their_round.worked.net, rel=1e-12)
        assert mine_round.budgets == pytest.approx(their_round.budgets, rel=1e-12)


def test_a_cord_on_a_free_line_asks_for_nothing(place_tree: PlaceTree, example: dict[str, Any]) -> None:
    """Between two rounds of the same groups the rays run straight from knot to knot, and so does the cord."""
    example["rounds"] = [
        {"knot": {"rays": 4}, "at": "12 mm"}, {"knot": {"rays": 4}, "at": "22 mm"},
        {"wrap": {"rays": 4}, "at": "14 mm", "to": "19 mm"},
    ]  # fmt: skip
    lace = place_tree(example)
    between = lace.rounds[2]
    # The rays are stretched already, so what a lock adds is nothing, though their natural length is less.
    for ray, demand in enumerate(between.demands):
        stretched = demand.natural * lace.rounds[1].rays[ray].stretch
        assert demand.natural + demand.mm == pytest.approx(10)
        assert stretched == pytest.approx(10)


def test_a_filling_of_a_half_circle_goes_back_where_the_row_before_ended() -> None:
    """After one row from left to right the cords are made from right to left, with the same thread."""
    rays = tuple(Ray(cmath.rect(40.0, math.pi * (ray // 2 / 11 - 0.5))) for ray in range(24))
    loom = Loom(HalfCircle(40.0), tuple(cmath.rect(40.0, math.pi * (pin / 11 - 0.5)) for pin in range(12)), "pin")
    site, counted = Site(loom, rays, 0.3), Counts((Item(4),), turned=True)
    there, back = (wrap(site, counted, Band(15, 25), 0.3, backward=backward) for backward in (False, True))
    assert [node.rays for node in back.nodes] == [node.rays for node in reversed(there.nodes)]
    assert back.net == pytest.approx(there.net)
    assert there.nodes[0].point.imag < 0 < back.nodes[0].point.imag


# Rays side by side


def test_rays_that_share_their_way_lie_side_by_side() -> None:
    """Two of three rays run from one node to one pin: a ray's thickness, 0.4 mm, apart, about where they run."""
    site = parallel(0, 0, 3)
    assert natural(site, (0, 1, 2), 20) == pytest.approx([20 - 0.2j, 20 + 0.2j, 20 + 3j])
    assert natural(parallel(1, 2, 2, 2), (0, 1, 2, 3), 20) == pytest.approx(
        [20 + 1j, *(20 + 2j + 1j * (20 + 2j) / abs(20 + 2j) * aside for aside in (-0.4, 0, 0.4))]
    )
    assert natural(parallel(0, 1), (0, 1), 20) == pytest.approx([20, 20 + 1j])


def test_what_is_drawn_together_ends_side_by_side() -> None:
    """Three places 2 mm apart: wholly open as they are, at half their width 1 mm apart, at none 0.4 mm; never wider."""
    places = [20 - 2j, 20 + 0j, 20 + 2j]
    for wide, apart in ((1.0, 2.0), (0.5, 1.0), (0.2, 0.4), (0.1, 0.4), (0.0, 0.4)):
        assert narrowed(places, wide, 0.4) == pytest.approx([20 - 1j * apart, 20, 20 + 1j * apart])
    near = [20 - 0.1j, 20 + 0.1j]
    assert narrowed(near, 0.5, 0.4) == near
    assert narrowed([20 + 0j, 20 + 0.5j], 0.1, 0.5) == [20 + 0j, 20 + 0.5j]


def test_a_filling_of_a_thousand_rows_takes_so_many_times_one() -> None:
    """Upright rays 1 mm apart over 25 mm, a thread of 0.02 mm: 1250 rows that are all alike, by hand as above.

    D = 0.42, sin θ = 0.42: two crossings of cos θ + 0.42·θ and half a turn of π·0.42/2 a row.
    """
    theta = math.asin(0.42)
    row = 2 * (math.cos(theta) + 0.42 * theta) + math.pi * 0.42 / 2
    site, band = parallel(-1, 0, 1), Band(12, 37)
    assert len(row_shares(site, (0, 1, 2), band, 0.02)) == 1250
    assert block(site, (0, 1, 2), band, 0.02, "bar") == pytest.approx(1250 * row)
    assert row_shares(site, (0, 1, 2), Band(12, 13), 0.25) == [0.125, 0.375, 0.625, 0.875]
    assert row_shares(site, (0, 1, 2), Band(12, 12.01), 0.25) == [0.5]


def test_a_round_of_bars_goes_from_end_to_beginning() -> None:
    """Two bars of two upright rays: their rows, and the way from the outer middle of one to the inner of the next."""
    site = parallel(-2, -1, 1, 2)
    worked = weave(site, Counts((Item(2),)), Band(15, 25), 0.5, "bar", backward=False)
    first, second = worked.nodes
    assert [first.point, first.outer, second.point, second.outer] == pytest.approx(
        [15 - 1.5j, 25 - 1.5j, 15 + 1.5j, 25 + 1.5j]
    )
    rows = 20 * (peirce(1.0, 0.9) + math.pi * 0.9 / 2)
    assert worked.net == pytest.approx(2 * rows + math.hypot(10, 3))
    assert (worked.row_radii, worked.outer) == ((15,), 25)
    assert worked.end == pytest.approx(25 + 1.5j)
    assert (worked.closed, worked.jam_radius, worked.loop_mm, len(worked.fans)) == (False, 0, 0, 1)
