"""Repeats: what of a drawing comes again and again round its centre.

Lace repeats itself. A path of which one part, turned step by step, makes all the rest need only tell that part: it
is written once, the same bytes follow for every turn, and a file that is compressed holds them for almost nothing.
"""

import cmath
import itertools
import math
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from matplotlib.path import Path
from numpy.typing import NDArray

from pipeline.drawing.outline import vertices_of

SHORTEST: Final = 4
"""A run of fewer turns is not worth telling."""
FAR_ROUND: Final = math.radians(60)
"""What goes further than this round the centre is looked at segment by segment."""
_FINE: Final = 1e4
"""Parts of a mm, and of a radian, to which places agree."""
_ASIDE: Final = cmath.rect(1.0, 0.0123)
"""Sectors are cut beside the upright, where many a piece would lie on the cut."""


@dataclass(frozen=True, slots=True)
class Repeated:
    """A part that comes ``times`` times, each time ``turn`` further on clockwise."""

    part: Path
    times: int
    turn: float


@dataclass(frozen=True, slots=True)
class _Piece:
    """A piece of a path: where it stands in it, its points as complex numbers, its codes after the first point."""

    place: int
    points: tuple[complex, ...]
    codes: tuple[int, ...]

    @property
    def angle(self) -> float:
        """Where it lies, clockwise from a little beside the foot, 0 to 2π."""
        return cmath.phase(-sum(self.points) * _ASIDE) % math.tau

    @property
    def shape(self) -> tuple[object, ...]:
        """The same for pieces that are one another turned round the centre."""
        upright = cmath.rect(1.0, -self.angle)
        turned = [point * upright for point in self.points]
        return (self.codes, *((round(z.real * _FINE + 0.37), round(z.imag * _FINE + 0.37)) for z in turned))


def by_turns(path: Path) -> tuple[Repeated, ...]:
    """A path told by turns about the origin; what does not repeat comes once, and first."""
    alike: dict[object, list[_Piece]] = defaultdict(list)
    for piece in _pieces(path):
        alike[piece.shape].append(piece)
    parts: dict[tuple[int, float], list[_Piece]] = defaultdict(list)
    for group in alike.values():
        for first, times, turn in _turns(sorted(group, key=lambda piece: piece.angle)):
            parts[times, turn] += first
    return tuple(Repeated(_path(sorted(parts[key], key=lambda piece: piece.place)), *key) for key in sorted(parts))


def length(told: Iterable[Repeated]) -> int:
    """How many points it takes to tell a path so."""
    return sum(len(each.part) for each in told)


def _turns(group: Sequence[_Piece]) -> Iterator[tuple[Sequence[_Piece], int, float]]:
    """Pieces of one shape, by angle, told by few: how often those come and how far further on, all round or in runs."""
    angles = np.array([piece.angle for piece in group])
    for times in range(len(group), 1, -1):
        if len(group) % times == 0 and _go_round(angles, times):
            yield group[: len(group) // times], times, math.tau / times
            return
    steps = np.diff(angles)
    step = round(float(np.median(steps)), 9) if len(steps) else 0.0
    breaks = [place + 1 for place, each in enumerate(steps) if abs(each - step) > 1 / _FINE]
    for start, end in itertools.pairwise([0, *breaks, len(group)]):
        if end - start >= SHORTEST:
            yield group[start : start + 1], end - start, step
        else:
            yield group[start:end], 1, 0.0


def _go_round(angles: NDArray[np.float64], times: int) -> bool:
    """Whether every angle in the first sector comes again in each of the others."""
    sector = math.tau / times
    first = angles[angles < sector]
    if len(first) * times != len(angles):
        return False
    told = (first[np.newaxis, :] + sector * np.arange(times)[:, np.newaxis]).ravel()
    return bool(np.abs(angles - np.sort(told)).max() < 1 / _FINE)


def _pieces(path: Path) -> Iterator[_Piece]:
    points = [complex(y, x) for x, y in vertices_of(path)]
    codes = [int(code) for code in np.asarray(path.codes)]
    starts = [place for place, code in enumerate(codes) if code == Path.MOVETO]
    for start, end in itertools.pairwise([*starts, len(codes)]):
        if _reach(points[start:end]) < FAR_ROUND:
            yield _Piece(start, tuple(points[start:end]), tuple(codes[start + 1 : end]))
        else:
            yield from _segments(points, codes, start, end)


def _reach(points: Sequence[complex]) -> float:
    """How far points go round the centre, those at the centre apart."""
    angles = np.unwrap([cmath.phase(point) for point in points if abs(point) > 1e-6])
    return float(np.ptp(angles)) if len(angles) else 0.0


def _segments(points: Sequence[complex], codes: Sequence[int], start: int, end: int) -> Iterator[_Piece]:
    """Segment by segment; by itself what closes a path would draw nothing, so it is a line back to the start."""
    place = start
    while place + 1 < end:
        step = 3 if codes[place + 1] == Path.CURVE4 else 1
        if codes[place + 1] == Path.CLOSEPOLY:
            yield _Piece(place, (points[place], points[start]), (int(Path.LINETO),))
        else:
            yield _Piece(place, tuple(points[place : place + step + 1]), tuple(codes[place + 1 : place + step + 1]))
        place += step


def _path(pieces: Sequence[_Piece]) -> Path:
    """Pieces in their order; one that begins where the one before ends goes on from it."""
    points: list[complex] = []
    codes: list[int] = []
    end = None
    for piece in pieces:
        if end != (piece.place, piece.points[0]):
            points.append(piece.points[0])
            codes.append(int(Path.MOVETO))
        points += piece.points[1:]
        codes += piece.codes
        end = (piece.place + len(piece.codes), piece.points[-1])
    return Path(np.array([(z.imag, z.real) for z in points]).reshape(-1, 2), codes)
