"""The way of the working thread as data for a screen: the laying of the web, then every round, in the working order.

Takes a ``Lace``; gives a ``ThreadWay``: parts of one thread's work, each a few strokes that are drawn point by point,
and stops, the moments that can be shown. What is drawn is straight from point to point (``craft.path``). Beside it a
part takes up thread that has no length on paper: half turns round pins, knots, the crimp of crossings, the turns of
coils. Drawn and taken up together are the net length of the craft model, and the thread of a stop counts both.

Coordinates are whole fiftieths of a millimetre, y downward, as in ``drawing.inline``. The way is free of language.
"""

import itertools
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from pipeline.craft.assembly import CENTRE, Lace
from pipeline.craft.path import Move, drawn_mm, taken_up_mm, working_path
from pipeline.craft.thread import Thread
from pipeline.drawing.inline import UNITS_PER_MM, path_data
from pipeline.drawing.outline import point, polyline
from pipeline.drawing.portrait import shade

STOPS: Final = 12
"""Moments of a part that can be shown, where it has so many moves."""
MARGIN: Final = 0.04
"""Room about the loom, as a share of its width."""
THINNEST: Final = 1 / 300
"""No thread is drawn thinner than this share of the picture's width."""


@dataclass(frozen=True, slots=True)
class Stroke:
    """What one thread draws without a break."""

    letter: str
    path: str
    """SVG path data."""
    length: float
    """As drawn, in fiftieths of a mm."""


@dataclass(frozen=True, slots=True)
class Lock:
    """A ray held at a new place: the ray, the new place's position among its locks, and where it is."""

    ray: int
    position: int
    place: complex


@dataclass(frozen=True, slots=True)
class Stop:
    """A moment: so far has the part been drawn (fiftieths of a mm), so many of its locks are made."""

    part: int
    drawn: float
    locked: int
    thread_mm: float
    """Thread used since the web was begun, knots and turns counted."""


@dataclass(frozen=True, slots=True)
class Part:
    """The laying, or one round."""

    number: int
    """The round's; 0 for the laying."""
    strokes: tuple[Stroke, ...]
    locks: tuple[Lock, ...]
    drawn_mm: float
    taken_up_mm: float

    @property
    def net_mm(self) -> float:
        """Thread it takes."""
        return self.drawn_mm + self.taken_up_mm


@dataclass(frozen=True, slots=True)
class ThreadWay:
    """The whole way, on its ground."""

    lace: Lace
    parts: tuple[Part, ...]
    stops: tuple[Stop, ...]


@dataclass(frozen=True, slots=True)
class _Told:
    """A part before it is counted up: moves, the letter of each move's thread, the locks made until each move."""

    number: int
    moves: tuple[Move, ...]
    letters: tuple[str, ...]
    locks: tuple[tuple[Lock, ...], ...]


def thread_way(lace: Lace) -> ThreadWay:
    """The way of the thread through a lace."""
    parts, stops, used = [], [Stop(0, 0.0, 0, 0.0)], 0.0
    for index, told in enumerate(_parts(lace)):
        part = Part(
            told.number, tuple(_strokes(told)), tuple(itertools.chain(*told.locks)),
            drawn_mm(told.moves), taken_up_mm(told.moves),
        )  # fmt: skip
        stops += [Stop(index, drawn, locked, used + thread) for drawn, locked, thread in _moments(told)]
        used += part.net_mm
        parts.append(part)
    return ThreadWay(lace, tuple(parts), tuple(stops))


def laying_path(lace: Lace) -> tuple[Move, ...]:
    """The moves of laying the web: from the centre round the pins in their order and back to the centre.

    On a half-circle the thread comes back to the hold at the centre after every pin. Half a turn round a pin, or
    round the hold between two pins, is taken up beside the straight way.
    """
    loom, web = lace.loom, lace.web
    between = () if loom.shape.closed else (CENTRE,)
    places = [place for pin in web.order for place in (loom.point(pin), *between)]
    places = places if between else [*places, CENTRE]
    turns = len(places) - 1
    way = math.fsum(abs(b - a) for a, b in itertools.pairwise([CENTRE, *places]))
    moves = [Move(CENTRE, "begin"), *(Move(place, "turn", (), (web.net - way) / turns) for place in places[:-1])]
    return (*moves, Move(places[-1], "go"))


def _parts(lace: Lace) -> Iterator[_Told]:
    laying = laying_path(lace)
    yield _Told(0, laying, (lace.web_thread,) * len(laying), ((),) * len(laying))
    for index, done in enumerate(lace.rounds):
        moves = working_path(lace, index)
        letters = tuple(done.threads[move.row] if done.in_rows else done.thread for move in moves)
        yield _Told(done.number, moves, letters, tuple(_locked(lace, index, moves)))


def _locked(lace: Lace, index: int, moves: Sequence[Move]) -> Iterator[tuple[Lock, ...]]:
    """The locks that each move makes: a knot those of its rays, everything else at the end of the round."""
    done, before = lace.rounds[index], lace.rays_before(index)
    left = dict.fromkeys(range(lace.loom.rays))
    for move in moves:
        rays = [ray for ray in move.rays if ray in left] if done.tied else []
        if move is moves[-1]:
            rays = list(left)
        for ray in rays:
            del left[ray]
        yield tuple(lock for ray in rays for lock in _new(ray, before[ray].locks, done.rays[ray].locks))


def _new(ray: int, before: Sequence[complex], after: Sequence[complex]) -> Iterator[Lock]:
    """Places a ray is held at after a round and was not before; those of a filling lie between older ones."""
    first = next((place for place, (a, b) in enumerate(zip(before, after, strict=False)) if a != b), len(before))
    for position in range(first, first + len(after) - len(before)):
        yield Lock(ray, position, after[position])


def _strokes(told: _Told) -> Iterator[Stroke]:
    """What each thread draws; a stroke begins where the one before ended."""
    before: list[complex] = []
    for letter, group in itertools.groupby(zip(told.moves, told.letters, strict=True), lambda pair: pair[1]):
        places = [*before, *(move.to for move, _ in group)]
        length = math.fsum(abs(b - a) for a, b in itertools.pairwise(places)) * UNITS_PER_MM
        yield Stroke(letter, path_data(polyline([point(place) for place in places])), length)
        before = places[-1:]


def _moments(told: _Told) -> Iterator[tuple[float, int, float]]:
    """How far a part is drawn, how many locks are made and how much thread is used at each of its stops."""
    steps = [0.0, *(abs(b.to - a.to) for a, b in itertools.pairwise(told.moves))]
    drawn = list(itertools.accumulate(steps))
    taken = list(itertools.accumulate(move.take_up for move in told.moves))
    locked = list(itertools.accumulate(map(len, told.locks)))
    last = len(told.moves) - 1
    for place in sorted({round(last * stop / STOPS) for stop in range(1, STOPS + 1)} - {0}):
        yield drawn[place] * UNITS_PER_MM, locked[place], drawn[place] + taken[place]


def player_data(way: ThreadWay, colours: Mapping[str, str]) -> dict[str, Any]:
    """The way as a script on a page takes it: plain lists, texts and whole numbers; ``colours`` by thread letter.

    A lock is four numbers in a row: ray, position, x, y. A stop is three: part, drawn, locked.
    """
    lace = way.lace
    up, across, down = (side * UNITS_PER_MM for side in lace.loom.shape.bounds)
    margin = 2 * across * MARGIN
    width = 2 * (across + margin)
    pins = [point(place) for place in lace.loom.places]
    return {
        "box": [round(n) for n in (-across - margin, -up - margin, width, up + down + 2 * margin)],
        "pins": [n for x, y in pins for n in _whole(x, y)],
        "web": lace.web_thread,
        "threads": {
            letter: _thread(thread, colours[letter], width * THINNEST) for letter, thread in lace.threads.items()
        },
        "parts": [_part(part) for part in way.parts],
        "stops": [n for stop in way.stops for n in (stop.part, round(stop.drawn), stop.locked)],
    }


def _thread(thread: Thread, colour: str, thinnest: float) -> dict[str, Any]:
    """How a thread looks."""
    width = round(max(thread.thickness * UNITS_PER_MM, thinnest))
    return {"colour": colour, "edge": shade(colour, 0.42), "width": width}


def _part(part: Part) -> dict[str, Any]:
    """What is drawn of a part, and which rays it holds."""
    return {
        "strokes": [[stroke.letter, round(stroke.length), stroke.path] for stroke in part.strokes],
        "locks": [n for lock in part.locks for n in (lock.ray, lock.position, *_whole(*point(lock.place)))],
    }


def _whole(x: float, y: float) -> tuple[int, int]:
    """A point on paper in whole fiftieths, y downward."""
    return round(x * UNITS_PER_MM), round(-y * UNITS_PER_MM)
