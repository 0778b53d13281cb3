"""Outlines: path strings, circles, figures, and moving them."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from matplotlib.path import Path
from numpy.typing import NDArray

from pipeline.drawing.outline import (
    arc,
    circle,
    cubic,
    joined,
    moved,
    point,
    polyline,
    rectangle,
    segment,
    svg,
    vertices_of,
    within,
)
from pipeline.language.fonts import find_fonts

REGULAR = find_fonts("Latn", ()).files[0].path


def cubics(path: Path) -> list[NDArray[np.float64]]:
    """Seventeen points along each cubic of a path, by Bernstein's formula."""
    t = np.linspace(0, 1, 17)[:, None]
    points, found = vertices_of(path), []
    for place in np.flatnonzero(np.asarray(path.codes) == Path.CURVE4)[::3]:
        a, b, c, d = points[place - 1 : place + 3]
        found.append((1 - t) ** 3 * a + 3 * (1 - t) ** 2 * t * b + 3 * (1 - t) * t**2 * c + t**3 * d)
    return found


def drawn(path: Path) -> NDArray[np.float64]:
    """Points along a path of curves."""
    return np.concatenate(cubics(path))


@given(st.floats(0.1, 100), st.floats(-7, 7), st.floats(0.01, 2 * math.pi))
def test_an_arc_lies_on_its_circle(radius: float, start: float, turn: float) -> None:
    """Every point is the circle's to a thousandth of a millimetre (r ≤ 100), and it goes from end to end clockwise."""
    path = arc(radius, start, start + turn)
    assert np.hypot(*drawn(path).T) == pytest.approx(radius, abs=1e-3)
    first, last = vertices_of(path)[[0, -1]]
    assert first == pytest.approx([radius * math.sin(start), radius * math.cos(start)], abs=1e-9 * (1 + radius))
    assert last == pytest.approx([radius * math.sin(start + turn), radius * math.cos(start + turn)], abs=1e-6)


def test_angles_run_clockwise_from_the_top() -> None:
    """A quarter from the top ends on the right, where x is positive; the middle is between."""
    path = arc(10.0, 0.0, math.pi / 2)
    assert vertices_of(path)[[0, -1]] == pytest.approx(np.array([[0, 10], [10, 0]]), abs=1e-9)
    assert drawn(path).min() > -1e-9


def test_a_circle_has_its_centre_and_closes() -> None:
    """All points are 4 from (2, 3); the last is the first."""
    path = circle(4.0, 2.0, 3.0)
    assert np.hypot(*(drawn(path) - (2.0, 3.0)).T) == pytest.approx(4.0, abs=1e-3)
    assert vertices_of(path)[0] == pytest.approx(vertices_of(path)[-1])


def test_a_place_of_the_lace_is_up_and_right() -> None:
    """Design section 5: clockwise from the top; a place at angle a is r·e^(ia), so real is up, imaginary right."""
    assert point(2 + 1j) == (1.0, 2.0)


@pytest.mark.parametrize(
    ("string", "vertices", "codes"),
    [
        ("M1 2 L3 4", [[1, 2], [3, 4]], [Path.MOVETO, Path.LINETO]),
        ("M-1,.5 L3e0 4", [[-1, 0.5], [3, 4]], [Path.MOVETO, Path.LINETO]),
        ("M0 0 L1 0 2 0", [[0, 0], [1, 0], [2, 0]], [Path.MOVETO, Path.LINETO, Path.LINETO]),
        ("M0 0 C1 2 3 4 5 6", [[0, 0], [1, 2], [3, 4], [5, 6]], [Path.MOVETO] + [Path.CURVE4] * 3),
        ("M0 0 L1 0 M5 5 L6 6", [[0, 0], [1, 0], [5, 5], [6, 6]], [Path.MOVETO, Path.LINETO] * 2),
    ],
)
def test_a_path_string_means_what_svg_says(string: str, vertices: list[list[float]], codes: list[int]) -> None:
    """SVG 2, chapter 9 (w3.org/TR/SVG2/paths.html): absolute moves, lines, repeated pairs, curves, a second start."""
    path = svg(string)
    assert vertices_of(path) == pytest.approx(np.array(vertices))
    assert list(np.asarray(path.codes)) == codes


def test_moving_scales_then_turns_clockwise_then_shifts() -> None:
    """The top of a stroke of 1, scaled by 2 and turned a quarter clockwise, lies 2 to the right of the new place."""
    path = moved(polyline([(0, 0), (0, 1)]), scale=2.0, x=10.0, y=20.0, turn=math.pi / 2)
    assert vertices_of(path) == pytest.approx(np.array([[10, 20], [12, 20]]))


def test_a_rectangle_reaches_its_corners_or_rounds_them() -> None:
    """With round corners no point is in the corner, and every corner point is 2 from its centre."""
    sharp, soft = rectangle(1, 2, 10, 8), rectangle(1, 2, 10, 8, corner=2.0)
    for path in (sharp, soft):
        box = path.get_extents()
        assert (box.x0, box.y0, box.x1, box.y1) == pytest.approx((1, 2, 11, 10))
    curves = cubics(soft)
    assert len(curves) == 4
    centres = [(9, 4), (9, 8), (3, 8), (3, 4)]
    for points, centre in zip(curves, centres, strict=True):
        assert np.hypot(*(points - centre).T) == pytest.approx(2.0, abs=1e-3)


def test_joining_keeps_pieces_apart() -> None:
    """Two strokes are two starts; nothing joined is an empty path."""
    pieces = joined([polyline([(0, 0), (1, 0)]), polyline([(5, 5), (6, 6)])])
    assert list(np.asarray(pieces.codes)).count(Path.MOVETO) == 2
    assert len(vertices_of(joined([]))) == 0


def test_what_is_not_seen_is_left_out() -> None:
    """Of a way to and fro only what lies right of the middle stays; a segment that crosses it stays whole."""
    way = polyline([(-3, 0), (-2, 0), (1, 0), (2, 0), (-4, 0), (-5, 0)])
    found = within(joined([way, segment(-1 - 9j, 1 - 9j)]), lambda points: points[:, 0] > 0)
    assert vertices_of(found).tolist() == [[-2, 0], [1, 0], [2, 0], [-4, 0]]
    assert list(np.asarray(found.codes)) == [Path.MOVETO, Path.LINETO, Path.LINETO, Path.LINETO]


def test_a_curve_is_kept_whole_or_not_at_all() -> None:
    """A cubic of which one handle is seen stays, with the point it starts from; a chord seen only in its middle too."""
    curve = cubic(-1j, 2j, -1j + 1, -1j + 2)
    seen = within(joined([curve, segment(-8j, -9j)]), lambda points: points[:, 0] > 0)
    assert len(vertices_of(seen)) == 4
    between = within(segment(-4j, 4j), lambda points: np.hypot(points[:, 0], points[:, 1]) < 1)
    assert len(vertices_of(between)) == 2
