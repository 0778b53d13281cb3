"""Threads on paper: rays, ring threads, hitches and darned rows of a lace."""

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
from pipeline.craft.check import Checked
from pipeline.drawing.outline import vertices_of
from pipeline.drawing.strands import darned_rows, hitch_length, hitches, ring, row_pitch, start_angle, strands

CheckText = Callable[..., Checked]
Make = Callable[..., Lace]


@pytest.fixture
def make(check_text: CheckText, example: dict[str, Any]) -> Make:
    """A lace on 24 pins of an 80 mm loom with these rounds."""

    def run(*rounds: dict[str, Any], pins: int = 24) -> Lace:
        loom = {"shape": "circle", "diameter": "80 mm", "pins": pins}
        lace = check_text(example | {"rounds": list(rounds), "loom": loom}).lace
        assert lace is not None
        return lace

    return run


def strokes(path: Path) -> list[NDArray[np.float64]]:
    """A compound path's pieces, as points along them."""
    starts = [*np.flatnonzero(np.asarray(path.codes) == Path.MOVETO), len(vertices_of(path))]
    return [vertices_of(path)[a:b] for a, b in itertools.pairwise(starts)]


def test_a_ray_passed_over_is_drawn_on_to_where_it_is_next_taken(make: Make) -> None:
    """Of 48 rays groups of 4 leave 2 in 6 free: 32 are drawn to the first ring, and all 48 to the second."""
    lace = make({"knot": {"rays": [4, {"pass": 2}]}, "at": "15 mm"}, {"knot": {"rays": 6}, "gap": "9 mm"})
    laid = strands(lace, 1.0)
    first, second = ([ray for ray, _ in laid.between(number)] for number in (0, 1))
    assert first == [ray for ray in range(48) if ray % 6 < 4]
    assert second == list(range(48))
    free = {ray: vertices_of(path)[0] for ray, path in laid.between(1)}
    assert all(math.hypot(*free[ray]) > 14 for ray in first)
    assert all(math.hypot(*free[ray]) < 8 for ray in second if ray not in first)


def test_every_ray_ends_at_its_own_pin(make: Make) -> None:
    """Rays 2a and 2a + 1 end at pin a, at 2πa/n clockwise from the top of a circle of 40 mm."""
    laid = strands(make({"knot": {"rays": 4}, "at": "15 mm"}), 1.0)
    ends = {ray: vertices_of(path)[-1] for ray, path in laid.outward(0)}
    for ray in range(48):
        angle = 2 * math.pi * (ray // 2) / 24
        assert ends[ray] == pytest.approx([40 * math.sin(angle), 40 * math.cos(angle)], abs=1e-6)


def test_rays_of_a_group_can_be_counted(make: Make) -> None:
    """Between two nodes that share them, rays run apart: four rays, four middles, 0.2 mm at least from each other."""
    lace = make({"knot": {"rays": 4}, "at": "12 mm"}, {"knot": {"rays": 4}, "gap": "9 mm"})
    laid = strands(lace, 1.0)
    middles = [
        np.array([0.125, 0.375, 0.375, 0.125]) @ vertices_of(path)
        for ray, path in laid.between(1)
        if ray < 4 and len(vertices_of(path)) == 4
    ]
    assert len(middles) == 4
    assert min(math.dist(a, b) for a, b in itertools.combinations(middles, 2)) > 0.2


def test_rays_in_a_crowded_centre_stop_by_powers_of_two(make: Make) -> None:
    """Look section 3: every second ray stops first, again half of the others at half that radius; ray 0 goes through."""
    laid = strands(make({"knot": {"rays": 4}, "at": "30 mm"}), 1.0)
    starts = {ray: math.hypot(*vertices_of(path)[0]) for ray, path in laid.between(0)}
    odd, twos, fours = ([starts[ray] for ray in range(1, 48) if ray % (2 * step) == step] for step in (1, 2, 4))
    assert starts[0] == pytest.approx(0.0)
    assert min(odd) > max(twos) > max(fours) > 0
    assert odd == pytest.approx([2 * twos[0]] * len(odd))
    # 0.45 mm from ray to ray all round: 48 × 0.45 / 2π = 3.44 mm.
    assert odd[0] == pytest.approx(48 * 0.45 / (2 * math.pi), abs=0.01)


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
    done = make({"knot": {"rays": 4}, "at": "15 mm"}).rounds[0]
    pieces = strokes(hitches(done, 3.0))
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
    near = strokes(darned_rows(lace, lace.rounds[0], 1.0))
    far = strokes(darned_rows(lace, lace.rounds[0], 1.0, far_side=True))
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
    near = strokes(darned_rows(lace, lace.rounds[0], 1.0))
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
        done = make({"knot": {"rays": 4, "shift": shift}, "at": "15 mm"}).rounds[0]
        first = cmath.phase(done.worked.nodes[0].point)
        assert math.degrees(first - start_angle(done)) % 360 == pytest.approx(15.0, abs=0.1)
