"""What repeats round a centre is told once, and nothing is lost by it."""

import math
from pathlib import Path as FilePath

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from matplotlib.path import Path
from numpy.typing import NDArray
from scipy.sparse import csr_array  # type: ignore[import-untyped]
from scipy.sparse.csgraph import maximum_bipartite_matching  # type: ignore[import-untyped]
from scipy.spatial import cKDTree  # type: ignore[import-untyped]

from pipeline.craft.shapes import Box, Circle, HalfCircle, Oval, Shape
from pipeline.drawing.marks import dashes, rim
from pipeline.drawing.outline import arc, joined, moved, polyline, rectangle, vertices_of
from pipeline.drawing.repeats import Repeated, by_turns, length
from pipeline.drawing.strands import strands
from pipeline.drawing.working import working_thread
from pipeline.files import check_file

PATTERNS = FilePath(__file__).parents[2] / "patterns"
SHAPES: list[Shape] = [Circle(36.0), HalfCircle(62.0), Oval(40.0, 55.0), Box(42.0, 42.0), Box(40.0, 60.0)]
NEAR_MM = 0.01


def test_of_nothing_nothing_is_told() -> None:
    """A layer may be empty."""
    assert by_turns(joined([])) == ()


def segments(path: Path) -> NDArray[np.float64]:
    """Every segment that is drawn, one a row: its ends with its handles between; of a straight one the ends twice."""
    found, points, codes = [], vertices_of(path), np.asarray(path.codes)
    place = start = 0
    while place < len(codes):
        match codes[place]:
            case Path.MOVETO:
                start = place
            case Path.CURVE4:
                found.append(points[place - 1 : place + 3])
            case kind:
                end = points[start if kind == Path.CLOSEPOLY else place]
                found.append(np.stack([points[place - 1], points[place - 1], end, end]))
        place += 3 if codes[place] == Path.CURVE4 else 1
    return np.array(found).reshape(-1, 8)


def drawn_out(told: tuple[Repeated, ...]) -> Path:
    """All turns of all parts."""
    return joined(moved(each.part, turn=turn * each.turn) for each in told for turn in range(each.times))


def assert_the_same_is_drawn(path: Path) -> None:
    """A path told by turns has a segment for each of its own, at the same place, and no other."""
    again, wanted = segments(drawn_out(by_turns(path))), segments(path)
    assert len(again) == len(wanted)
    near = cKDTree(again).query_ball_point(wanted, NEAR_MM)
    pairs = [(row, column) for row, columns in enumerate(near) for column in columns]
    rows, columns = zip(*pairs, strict=True)
    graph = csr_array((np.ones(len(pairs)), (rows, columns)), shape=(len(wanted), len(again)))
    assert (maximum_bipartite_matching(graph) >= 0).all()


@pytest.mark.parametrize("demo", ["first-frost", "low-sun", "mussel-shell", "two-lamps", "willow-walk", "window-frost"])
def test_drawn_out_again_a_lace_is_what_it_was(demo: str) -> None:
    """Rays and every round of wheels, an oval, a half-circle, a square: no segment more, none less, none elsewhere."""
    lace = check_file(PATTERNS / f"{demo}.yaml").lace
    assert lace
    paths = [joined(strands(lace, 1.0).whole()), *(working_thread(lace, at, 1.0) for at in range(len(lace.rounds)))]
    for path in paths:
        assert_the_same_is_drawn(path)
        assert length(by_turns(path)) <= len(path)


@pytest.mark.parametrize("shape", SHAPES, ids=lambda shape: f"{type(shape).__name__}-{shape.bounds[0]:.0f}")
def test_drawn_out_again_an_outline_is_whole(shape: Shape) -> None:
    """The last side of a box too, which its path closes without a line of its own."""
    assert_the_same_is_drawn(rim(shape).path)


@pytest.mark.parametrize("closed", [True, False])
def test_a_broken_circle_is_one_dash(*, closed: bool) -> None:
    """All its dashes, round a wheel or over a half-circle, are told by one."""
    path = dashes(closed=closed).path
    (told,) = by_turns(path)
    assert told.times * len(told.part) == len(path)
    assert len(told.part) == 4
    assert_the_same_is_drawn(path)


def test_a_wheel_is_told_by_one_of_its_parts() -> None:
    """Twelve strokes round a centre are one, twelve times; a thirteenth that is another comes by itself."""
    stroke = polyline([(0.3, 4.0), (0.0, 9.0)])
    wheel = [moved(stroke, turn=turn * math.tau / 12) for turn in range(12)]
    (told,) = by_turns(joined(wheel))
    assert (told.times, len(told.part)) == (12, 2)
    assert told.turn == pytest.approx(math.tau / 12)
    other, again = by_turns(joined([*wheel, polyline([(0.0, 1.0), (0.0, 2.0)])]))
    assert (other.times, again.times) == (1, 12)


def test_a_half_circle_is_told_by_a_run() -> None:
    """Nine strokes evenly along a half circle do not go all round, and are one stroke nine times."""
    stroke = polyline([(0.0, 4.0), (0.0, 9.0)])
    (told,) = by_turns(joined(moved(stroke, turn=math.radians(20 * turn - 80)) for turn in range(9)))
    assert told.times == 9
    assert told.turn == pytest.approx(math.radians(20))


def test_a_ring_is_told_by_its_shortest_piece() -> None:
    """A circle is one path; its eight arcs are one, eight times. So is a square by one of its sides, four times."""
    (told,) = by_turns(arc(10.0, 0.0, math.tau))
    assert (told.times, len(told.part)) == (8, 4)
    (side,) = by_turns(rectangle(-3.0, -3.0, 6.0, 6.0))
    assert (side.times, len(side.part)) == (4, 2)


points = st.lists(st.tuples(st.integers(-90, 90), st.integers(-90, 90)), min_size=2, max_size=12, unique=True)


@given(points, st.booleans())
def test_what_does_not_repeat_is_told_as_it_is(corners: list[tuple[int, int]], closed: bool) -> None:  # noqa: FBT001
    """Any line, open or closed: its segments are the same."""
    assert_the_same_is_drawn(polyline(corners, closed=closed))


@given(points, st.integers(2, 24), points)
def test_what_repeats_and_what_does_not_are_told_together(
    part: list[tuple[int, int]], times: int, other: list[tuple[int, int]]
) -> None:
    """Any line so many times round the centre, and any other once: their segments are the same."""
    wheel = [moved(polyline(part), turn=turn * math.tau / times) for turn in range(times)]
    assert_the_same_is_drawn(joined([*wheel, polyline(other)]))
