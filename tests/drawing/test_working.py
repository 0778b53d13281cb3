"""The working thread on paper: rings and loops, darned rows, ridges, cords, woven blocks."""

import cmath
import itertools
import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from matplotlib.path import Path
from numpy.typing import NDArray

from pipeline.craft.assembly import Lace
from pipeline.craft.fillings import Band
from pipeline.craft.stitches import Site
from pipeline.drawing.outline import vertices_of
from pipeline.drawing.working import (
    blocks,
    cords,
    courses,
    goes_back,
    hitch_length,
    hitches,
    ring,
    row_pitch,
    spread_places,
    start_place,
    weave,
    working_thread,
)

PlaceTree = Callable[[dict[str, Any]], Lace]
Make = Callable[..., Lace]


@pytest.fixture
def make(place_tree: PlaceTree, example: dict[str, Any]) -> Make:
    """A lace on 24 pins of an 80 mm loom with these rounds."""

    def run(*rounds: dict[str, Any], pins: int = 24, shape: str = "circle") -> Lace:
        loom = {"shape": shape, "diameter": "80 mm", "pins": pins}
        return place_tree(example | {"rounds": list(rounds), "loom": loom})

    return run


def strokes(path: Path) -> list[NDArray[np.float64]]:
    """A compound path's pieces, as points along them."""
    starts = [*np.flatnonzero(np.asarray(path.codes) == Path.MOVETO), len(vertices_of(path))]
    return [vertices_of(path)[a:b] for a, b in itertools.pairwise(starts)]


def test_a_ring_goes_from_node_to_node_and_closes(make: Make) -> None:
    """Twelve groups of 4: thirteen corners at 15 mm, the last on the first, clockwise."""
    corners = vertices_of(ring(make({"knot": {"rays": 4}, "at": "15 mm"}).rounds[0]))
    assert len(corners) == 13
    assert corners[0] == pytest.approx(corners[-1])
    assert np.hypot(*corners.T) == pytest.approx(15.0)
    turns = np.diff(np.unwrap(np.arctan2(corners[:, 0], corners[:, 1])))
    assert (turns > 0).all()
    assert turns.sum() == pytest.approx(2 * math.pi)


def test_every_node_has_a_hitch_that_rises_to_the_right(make: Make) -> None:
    """Look section 2: a stroke across the node, 14 degrees from level with the rim above, its right end further out."""
    lace = make({"knot": {"rays": 4}, "at": "15 mm"})
    done = lace.rounds[0]
    pieces = strokes(hitches(lace, done, 3.0))
    assert len(pieces) == 12
    for stroke, node in zip(pieces, done.worked.nodes, strict=True):
        ends = [complex(y, x) / (node.point / abs(node.point)) for x, y in stroke]
        left, right = sorted(ends, key=lambda end: end.imag)
        middle, along = (left + right) / 2, right - left
        assert middle == pytest.approx(15.0)
        assert abs(along) == pytest.approx(3.0)
        assert math.degrees(math.atan2(along.real, along.imag)) == pytest.approx(14.0)


@pytest.mark.parametrize(("scale", "length"), [(1.0, 3.11), (0.2, 1.3 / 0.2), (3.0, 3.4 / 3)])
def test_a_hitch_is_long_enough_to_see_and_short_enough_to_tell(make: Make, scale: float, length: float) -> None:
    """Look section 3: 0.4 × the nodes' spacing (2·15·sin 15° = 7.76 mm), between 1.3 and 3.4 mm on paper."""
    done = make({"knot": {"rays": 4}, "at": "15 mm"}).rounds[0]
    assert hitch_length(done, scale) == pytest.approx(length, abs=0.01)


@pytest.mark.parametrize(
    ("darn", "pins", "bundles"),
    [({"over": 2, "under": 2}, 24, 24), ({"over": 2, "under": 2}, 27, 27), ({"over": 1, "under": 1}, 12, 24)],
)
@pytest.mark.parametrize("rows", [1, 2, 5])
def test_each_crossing_is_over_on_one_side_only(
    make: Make, darn: dict[str, int], pins: int, bundles: int, rows: int
) -> None:
    """Bundles × rows crossings, each drawn on the near side or on the far side, never on both, never on neither."""
    lace = make({"darn": darn, "at": "20 mm", "rows": rows}, pins=pins)
    near = strokes(weave(lace, lace.rounds[0], 1.0))
    far = strokes(weave(lace, lace.rounds[0], 1.0, far_side=True))
    assert len(near) + len(far) == bundles * rows
    places = {(round(float(np.hypot(*stroke[0])), 3), round(middle_of(stroke), 3)) for stroke in [*near, *far]}
    assert len(places) == bundles * rows


def middle_of(stroke: NDArray[np.float64]) -> float:
    """The direction of a stroke's middle, a whole turn taken off."""
    (x0, y0), (x1, y1) = stroke[0], stroke[-1]
    return cmath.phase(complex(y0 + y1, x0 + x1)) % (2 * math.pi)


def test_rows_of_a_darn_lie_opposite_to_each_other(make: Make) -> None:
    """What passes over in one row passes under in the next, bundle by bundle, for an even number of bundles."""
    lace = make({"darn": {"over": 2, "under": 2}, "at": "20 mm", "rows": 3})
    near = strokes(weave(lace, lace.rounds[0], 1.0))
    radii = sorted({round(float(np.hypot(*stroke[0])), 3) for stroke in near})
    rows = [
        {
            round(middle_of(stroke) / (2 * math.pi) * 24 + 0.25) % 24
            for stroke in near
            if abs(np.hypot(*stroke[0]) - radius) < 0.01
        }
        for radius in radii
    ]
    assert [len(row) for row in rows] == [12, 12, 12]
    assert rows[0] == rows[2]
    assert rows[0].isdisjoint(rows[1])


def test_rows_are_drawn_far_enough_apart_to_print() -> None:
    """Look section 3: at least 1.1 mm on paper, else the thread's own thickness."""
    assert row_pitch(0.3, 2.0) == pytest.approx(0.55)
    assert row_pitch(0.8, 2.0) == pytest.approx(0.8)


def test_a_round_starts_between_its_last_knot_and_its_first(make: Make) -> None:
    """Groups of 4 rays on 48 stand 30 degrees apart: the start is 15 degrees before the first node, also shifted."""
    for shift in (0, 2, 7):
        lace = make({"knot": {"rays": 4, "shift": shift}, "at": "15 mm"})
        first = cmath.phase(lace.rounds[0].worked.nodes[0].point)
        place, heading = start_place(lace, lace.rounds[0], 1.0)
        assert math.degrees(first - cmath.phase(place)) % 360 == pytest.approx(15.0, abs=0.1)
        assert math.degrees(heading - cmath.phase(place)) % 360 == pytest.approx(90.0, abs=0.1)


@pytest.mark.parametrize("shift", range(0, 24, 5))
def test_a_last_knot_opposite_the_first_puts_no_start_at_the_centre(make: Make, shift: int) -> None:
    """The thread between them crosses the centre: the round starts beside its first group, half of its 60 degrees off."""
    lace = make({"knot": {"rays": [4, {"pass": 4}, 4, 4, {"pass": 8}], "shift": shift}, "at": "15 mm"}, pins=12)
    nodes = [node.point for node in lace.rounds[0].worked.nodes]
    assert nodes[0] == pytest.approx(-nodes[-1])
    place, heading = start_place(lace, lace.rounds[0], 1.0)
    assert 15 < abs(place) < 18
    assert 20 < math.degrees(cmath.phase(nodes[0] / place)) < 30
    assert cmath.rect(1.0, heading) == pytest.approx(1j * nodes[0] / abs(nodes[0]))


def test_a_row_that_goes_back_starts_at_the_other_end(make: Make) -> None:
    """On a half-circle the first row heads clockwise from the left end, the second against it from the right end."""
    lace = make(
        {"knot": {"rays": 4}, "at": "15 mm"}, {"knot": {"rays": 4}, "gap": "8 mm"}, shape="half-circle"
    )  # fmt: skip
    (left, there), (right, back) = (start_place(lace, done, 1.0) for done in lace.rounds)
    assert left.imag < 0 < right.imag
    assert math.sin(there - cmath.phase(left)) > 0 > math.sin(back - cmath.phase(right))


def test_a_spiral_and_a_half_circle_stay_open(make: Make) -> None:
    """They end at their twelfth node; a closed round comes back to its first."""
    closed = make({"knot": {"rays": 4}, "at": "15 mm"})
    spiral = make({"knot": {"rays": 4}, "at": "15 mm", "close": False})
    half = make({"knot": {"rays": 4}, "at": "15 mm"}, shape="half-circle")
    assert [len(vertices_of(ring(lace.rounds[0]))) for lace in (closed, spiral, half)] == [13, 12, 12]


def test_loops_stand_out_as_far_as_they_are_told(make: Make) -> None:
    """A picot of 3 mm between knots on 34 mm: the middle of the leg lies 3 mm beyond the chord's middle."""
    lace = make({"edge-picots": {"height": "3 mm", "inset": "6 mm"}})
    points = vertices_of(ring(lace.rounds[0]))
    assert len(points) == 1 + 3 * 24
    for start in range(0, 72, 3):
        x, y = np.array([0.125, 0.375, 0.375, 0.125]) @ points[start : start + 4]
        assert math.hypot(x, y) == pytest.approx(34 * math.cos(math.pi / 24) + 3, abs=1e-6)


def test_a_part_is_darned_over_its_rays_only(make: Make) -> None:
    """Three parts of 8 rays in 16, two rows over bundles of 2: 12 pieces lie on top, and each part turns once."""
    lace = make({"darn": {}, "at": "20 mm", "part": {"rays": 8, "every": 16}})
    pieces = strokes(weave(lace, lace.rounds[0], 1.0))
    assert len(pieces) == 3 * (2 + 2) + 3
    begun = [(math.degrees(middle_of(piece)) + 20) % 360 for piece in pieces]
    assert {int(angle // 120) for angle in begun} == {0, 1, 2}
    assert max(angle % 120 for angle in begun) < 90


def test_ridges_lean_against_the_way(make: Make) -> None:
    """One stroke for every ray a rib goes back over, its left end further out."""
    lace = make({"rib": {}, "at": "15 mm", "rows": 1})
    pieces = strokes(weave(lace, lace.rounds[0], 1.0))
    assert len(pieces) == 48
    for stroke in pieces:
        turned = math.remainder(_direction(stroke[0]) - _direction(stroke[-1]), math.tau)
        assert (np.hypot(*stroke[-1]) - np.hypot(*stroke[0])) * turned > 0


def _direction(point: NDArray[np.float64]) -> float:
    return math.atan2(point[0], point[1])


def test_rows_turn_closely_at_the_ends_of_a_part(make: Make) -> None:
    """Beside a part of 8 rays all is free for 8 more: the last piece ends half-way to where its neighbour bundle lies."""
    lace = make({"darn": {}, "at": "20 mm", "part": {"rays": 8, "every": 16}})
    pieces = strokes(weave(lace, lace.rounds[0], 1.0))
    ends = [math.degrees(_direction(point)) for piece in pieces for point in (piece[0], piece[-1])]
    rays = [math.degrees(cmath.phase(ray.meets(lace.loom.shape, 20.0))) for ray in lace.rounds[0].rays]
    aside = (rays[2] - rays[1]) / 2
    assert all(min(abs(math.remainder(end - ray, 360)) for ray in rays[:8] + rays[16:24] + rays[32:40]) < aside + 0.1
               for end in ends)  # fmt: skip


@pytest.mark.parametrize(("shape", "turn"), [("circle", 2 * math.pi), ("half-circle", math.pi)])
def test_a_course_is_a_row_as_it_runs(make: Make, shape: str, turn: float) -> None:
    """Without breaks: all the way round, or from end to end."""
    lace = make({"darn": {}, "at": "20 mm", "rows": 2}, shape=shape)
    path = courses(lace, lace.rounds[0], 1e6, (1,))
    (piece,) = strokes(path)
    angles = np.unwrap(np.arctan2(piece[::3, 0], piece[::3, 1]))
    assert angles[-1] - angles[0] == pytest.approx(turn, rel=0.06)
    assert np.hypot(*piece[0]) == pytest.approx(lace.rounds[0].outer)


def test_hitches_of_a_square_slant_against_its_side(place_tree: PlaceTree, example: dict[str, Any]) -> None:
    """14 degrees from the side they lie on, wherever on it."""
    loom = {"shape": "square", "side": "80 mm", "pins": 24}
    lace = place_tree(example | {"loom": loom, "rounds": [{"knot": {"rays": 2}, "at": "20 mm"}]})
    done = lace.rounds[0]
    on_top = [
        stroke
        for stroke, node in zip(strokes(hitches(lace, done, 3.0)), done.worked.nodes, strict=True)
        if abs(node.point.real - 20.0) < 1e-6 and abs(node.point.imag) < 19.9
    ]
    assert len(on_top) > 3
    for stroke in on_top:
        (x0, y0), (x1, y1) = sorted(stroke.tolist())
        assert math.degrees(math.atan2(y1 - y0, x1 - x0)) == pytest.approx(14.0, abs=0.01)


def test_the_way_of_a_filling_is_that_of_its_groups(make: Make) -> None:
    """On a half-circle a round goes back where its second group lies left of its first."""
    lace = make(
        {"knot": {"rays": 4}, "at": "12 mm"}, {"knot": {"rays": 4}, "at": "16 mm"},
        {"wrap": {"rays": 4}, "at": "18 mm", "to": "24 mm"}, shape="half-circle",
    )  # fmt: skip
    for done in lace.rounds:
        first, second = done.worked.nodes[:2]
        assert goes_back(done) == (cmath.phase(second.point) < cmath.phase(first.point))
    assert [goes_back(done) for done in lace.rounds[:2]] == [False, True]


def test_a_cord_lies_close_along_its_group(make: Make) -> None:
    """Turns from 15 to 25 mm, none beyond, at least 0.75 mm apart on paper."""
    lace = make({"wrap": {"rays": [4, {"pass": 4}]}, "at": "15 mm", "to": "25 mm"})
    turns = strokes(cords(lace, lace.rounds[0], 2.0))
    levels = [float(np.hypot(*(stroke[0] + stroke[-1]) / 2)) for stroke in turns]
    assert min(levels) > 15
    assert max(levels) < 25
    assert len(turns) == 6 * round(10 / (0.75 / 2))


@pytest.mark.parametrize(("outline", "widest"), [("bar", 1.0), ("leaf", 0.6), ("point", 1.0)])
def test_a_woven_block_has_its_outline(make: Make, outline: str, widest: float) -> None:
    """A bar is as wide as its rays, a point too at its outer end; sin(πt)·(15 + 16t) is largest at 0.6 for a leaf."""
    lace = make({"weave": {"rays": [6, {"pass": 6}], "as": outline}, "at": "15 mm", "to": "31 mm"})
    site = Site(lace.loom, lace.rays_before(0), lace.threads["A"].thickness)
    group = lace.rounds[0].worked.nodes[0].rays
    wide = []
    for step in range(21):
        places = spread_places(site, group, Band(15.0, 31.0), step / 20, outline, 0.3)
        wide.append(abs(places[-1] - places[0]))
    assert wide.index(max(wide)) / 20 == pytest.approx(widest, abs=0.05)
    assert (wide[0] < 1.5) == (outline != "bar")


def test_every_crossing_of_a_block_is_seen_from_one_side(make: Make) -> None:
    """Four blocks of six rays, 16 mm long in rows of 0.95 mm: each ray in each row lies over on one side."""
    lace = make({"weave": {"rays": [6, {"pass": 6}]}, "at": "15 mm", "to": "31 mm"})
    near, far = (strokes(blocks(lace, 0, 1.0, far_side=side)) for side in (False, True))
    node = lace.rounds[0].worked.nodes[0]
    rows = round(abs(node.outer - node.point) / 0.95)
    assert len(near) + len(far) == 4 * 6 * rows
    assert abs(len(near) - len(far)) <= 4 * 2


def test_every_stitch_has_a_working_thread(make: Make) -> None:
    """None is forgotten."""
    rounds: list[dict[str, Any]] = [
        {"darn": {}}, {"rib": {}, "at": "12 mm"}, {"knot": {"rays": 4}, "at": "15 mm"},
        {"wrap": {"rays": 4}, "at": "17 mm", "to": "21 mm"}, {"weave": {"rays": 4}, "at": "23 mm", "to": "30 mm"},
        {"edge-loops": {}},
    ]  # fmt: skip
    lace = make(*rounds)
    assert len(lace.rounds) == 6
    assert all(len(vertices_of(working_thread(lace, number, 1.0))) > 12 for number in range(6))
