"""Outlines: matplotlib paths, made from SVG path strings, points, arcs and figures; numbers as they print short."""

import math
from collections.abc import Callable, Iterable, Sequence
from functools import lru_cache
from typing import Final

import numpy as np
from fontTools.pens.basePen import BasePen
from fontTools.svgLib.path import parse_path
from matplotlib.path import Path
from matplotlib.transforms import Affine2D
from numpy.typing import NDArray

MM_PER_PT: Final = 25.4 / 72
Points = NDArray[np.float64]
Flags = NDArray[np.bool_]
KAPPA: Final = 0.5522847498
"""Handle of a quarter circle drawn as a cubic, for radius 1."""


def point(place: complex) -> tuple[float, float]:
    """Paper coordinates of a place in the lace, whose real part points up and imaginary part to the right."""
    return place.imag, place.real


def vertices_of(path: Path) -> NDArray[np.float64]:
    """A path's points, one a row."""
    return np.asarray(path.vertices, dtype=np.float64)


def polyline(points: Sequence[tuple[float, float]], *, closed: bool = False) -> Path:
    """Straight from point to point."""
    vertices = [*points, points[0]] if closed else list(points)
    codes = [Path.MOVETO] + [Path.LINETO] * (len(points) - 1) + ([Path.CLOSEPOLY] if closed else [])
    return Path(vertices, codes)


def cubic(a: complex, b: complex, c: complex, d: complex) -> Path:
    """One cubic between places of the lace."""
    return Path([point(a), point(b), point(c), point(d)], [Path.MOVETO] + [Path.CURVE4] * 3)


def segment(a: complex, b: complex) -> Path:
    """A straight strand between places of the lace."""
    return Path([point(a), point(b)], [Path.MOVETO, Path.LINETO])


def arc(radius: float, start: float, end: float) -> Path:
    """Part of a circle about the origin; angles clockwise from the top."""
    pieces = max(1, math.ceil(abs(end - start) / (math.pi / 4)))
    step = (end - start) / pieces
    handle = 4 / 3 * math.tan(step / 4) * radius
    vertices = [(radius * math.sin(start), radius * math.cos(start))]
    for piece in range(pieces):
        a, b = start + piece * step, start + (piece + 1) * step
        vertices += [
            (radius * math.sin(a) + handle * math.cos(a), radius * math.cos(a) - handle * math.sin(a)),
            (radius * math.sin(b) - handle * math.cos(b), radius * math.cos(b) + handle * math.sin(b)),
            (radius * math.sin(b), radius * math.cos(b)),
        ]
    return Path(vertices, [Path.MOVETO] + [Path.CURVE4] * (len(vertices) - 1))


def circle(radius: float, x: float = 0.0, y: float = 0.0) -> Path:
    """A whole circle."""
    whole = arc(radius, 0.0, 2 * math.pi)
    return Path(vertices_of(whole) + np.array((x, y)), whole.codes)


def rectangle(x: float, y: float, width: float, height: float, *, corner: float = 0.0) -> Path:
    """A rectangle from its lower left, with round corners where asked for."""
    if not corner:
        return polyline([(x, y), (x + width, y), (x + width, y + height), (x, y + height)], closed=True)
    k = corner * (1 - KAPPA)
    right, top = x + width, y + height
    vertices = [
        (x + corner, y), (right - corner, y), (right - k, y), (right, y + k), (right, y + corner),
        (right, top - corner), (right, top - k), (right - k, top), (right - corner, top),
        (x + corner, top), (x + k, top), (x, top - k), (x, top - corner),
        (x, y + corner), (x, y + k), (x + k, y), (x + corner, y), (x + corner, y),
    ]  # fmt: skip
    side = [Path.LINETO, Path.CURVE4, Path.CURVE4, Path.CURVE4]
    return Path(vertices, [Path.MOVETO, *(side * 4), Path.CLOSEPOLY])


def joined(paths: Iterable[Path]) -> Path:
    """One compound path of many."""
    found = list(paths)
    return Path.make_compound_path(*found) if found else Path(np.empty((0, 2)), [])


def moved(
    path: Path, *, scale: float = 1.0, x: float = 0.0, y: float = 0.0, turn: float = 0.0, flip: bool = False
) -> Path:
    """Scaled about the origin, turned clockwise, mirrored left to right where asked for, then moved."""
    side = -1.0 if flip else 1.0
    return Affine2D().scale(scale).rotate(-turn).scale(side, 1.0).translate(x, y).transform_path(path)


def within(path: Path, seen: Callable[[Points], Flags]) -> Path:
    """The segments of an open path of which some point is seen: ends, handles, and three between the ends.

    ``seen`` says of points, one a row, which are.
    """
    points, codes = vertices_of(path), np.asarray(path.codes)
    firsts = _segments(codes)
    if not firsts:
        return path
    lasts = [*(first - 1 for first in firsts[1:]), len(codes) - 1]
    befores = [max(first - 1, 0) for first in firsts]
    visible = seen(points)
    between = [seen(points[befores] + (points[lasts] - points[befores]) * share) for share in (0.25, 0.5, 0.75)]
    kept: list[Points] = []
    kinds: list[int] = []
    drawing = False
    for number, (before, first, last) in enumerate(zip(befores, firsts, lasts, strict=True)):
        shown = visible[before : last + 1].any() or any(flags[number] for flags in between)
        if codes[first] == Path.MOVETO or not shown:
            drawing = False
            continue
        kept += [points[first : last + 1]] if drawing else [points[before:first], points[first : last + 1]]
        kinds += codes[first : last + 1].tolist() if drawing else [int(Path.MOVETO), *codes[first : last + 1].tolist()]
        drawing = True
    return Path(np.concatenate(kept), kinds) if kept else joined([])


def _segments(codes: NDArray[np.uint8]) -> list[int]:
    """Where segments begin among the codes of a path: a cubic has three."""
    firsts, place = [], 0
    while place < len(codes):
        firsts.append(place)
        place += 3 if codes[place] == Path.CURVE4 else 1
    return firsts


class PathPen(BasePen):  # type: ignore[misc]
    """Collects what an SVG path string draws, or a letter of a font."""

    def __init__(self) -> None:
        super().__init__()
        self.vertices: list[tuple[float, float]] = []
        self.codes: list[int] = []

    @property
    def path(self) -> Path:
        """What has been drawn."""
        return Path(self.vertices, self.codes) if self.codes else joined([])

    def _moveTo(self, pt: tuple[float, float]) -> None:  # noqa: N802
        self._add(int(Path.MOVETO), pt)

    def _lineTo(self, pt: tuple[float, float]) -> None:  # noqa: N802
        self._add(int(Path.LINETO), pt)

    def _curveToOne(self, pt1: tuple[float, float], pt2: tuple[float, float], pt3: tuple[float, float]) -> None:  # noqa: N802
        for pt in (pt1, pt2, pt3):
            self._add(int(Path.CURVE4), pt)

    def _closePath(self) -> None:  # noqa: N802
        self._add(int(Path.CLOSEPOLY), self.vertices[-1])

    def _add(self, code: int, pt: tuple[float, float]) -> None:
        self.vertices.append(pt)
        self.codes.append(code)


def short(value: float, places: int = 1) -> str:
    """A number without what is not needed, with one place or more.

    >>> short(0.5), short(-0.04), short(-0.0000001, 5), short(12.0, 2)
    ('.5', '0', '0', '12')
    """
    text = f"{value:.{places}f}".rstrip("0").rstrip(".")
    return {"-0": "0", "": "0"}.get(text, text).replace("0.", ".", 1) if abs(value) < 1 else text


@lru_cache(maxsize=512)
def svg(path_string: str) -> Path:
    """The outline of an SVG path string."""
    pen = PathPen()
    parse_path(path_string, pen)
    return Path(pen.vertices, pen.codes, readonly=True)
