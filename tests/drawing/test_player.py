"""The way of the thread on a screen: as long as the craft model says, and held where the model holds it.

Drawn is what has length on paper; half turns round pins, knots, the crimp of crossings and the turns of coils are
taken up beside it. Both together are the net length.
"""

import itertools
import json
import math
import random
import re
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from pipeline.craft.assembly import Lace
from pipeline.craft.thread import thread_of
from pipeline.drawing.inline import UNITS_PER_MM
from pipeline.drawing.player import STOPS, laying_path, player_data, thread_way
from pipeline.files import check_file
from tests.test_notation import random_pattern

PlaceTree = Callable[[dict[str, Any]], Lace]
PATTERNS = Path(__file__).resolve().parents[2] / "patterns"
DEMOS = sorted(file.stem for file in PATTERNS.glob("*.yaml") if file.stem != "publisher")
COLOURS = dict.fromkeys("ABCDEFGH", "#336699")


@cache
def lace_of(demo: str) -> Lace:
    """A demo's lace."""
    lace = check_file(PATTERNS / f"{demo}.yaml").lace
    assert lace is not None
    return lace


@pytest.mark.parametrize("demo", DEMOS)
def test_every_part_is_as_long_as_the_model_says(demo: str) -> None:
    """The laying, and every round with its carry; the last stop has used the thread of all of them."""
    lace = lace_of(demo)
    way = thread_way(lace)
    nets = [lace.web.net, *(done.net for done in lace.rounds)]
    assert [part.number for part in way.parts] == [0, *(done.number for done in lace.rounds)]
    assert [part.net_mm for part in way.parts] == pytest.approx(nets, abs=1e-6)
    assert way.stops[-1].thread_mm == pytest.approx(math.fsum(nets), abs=1e-6)
    ends = [list(stops)[-1] for _, stops in itertools.groupby(way.stops, lambda stop: stop.part)]
    assert [stop.thread_mm for stop in ends] == pytest.approx(list(itertools.accumulate(nets)), abs=1e-6)
    drawn = [part.drawn_mm * UNITS_PER_MM for part in way.parts]
    assert [stop.drawn for stop in ends] == pytest.approx(drawn, abs=1e-6)


def test_the_way_of_random_patterns_adds_up(place_tree: PlaceTree, example: dict[str, Any]) -> None:
    """The same for whatever a round can say, on looms of every shape."""
    chance = random.Random(5)  # noqa: S311
    for _ in range(30):
        lace = place_tree(random_pattern(chance, example))
        total = lace.web.net + math.fsum(done.net for done in lace.rounds)
        assert thread_way(lace).stops[-1].thread_mm == pytest.approx(total, abs=1e-6)


@pytest.mark.parametrize("demo", DEMOS)
def test_laying_takes_up_half_a_turn_round_everything_it_goes_round(demo: str) -> None:
    """Round every pin, and on a half-circle round the hold between two pins; the way itself is drawn."""
    checked = check_file(PATTERNS / f"{demo}.yaml")
    assert checked.pattern is not None
    lace = lace_of(demo)
    web = lace.threads[lace.web_thread]
    holding = thread_of(checked.pattern.holding_thread) if checked.pattern.holding_thread else web
    moves = laying_path(lace)
    turns = [move.take_up for move in moves if move.does == "turn"]
    around = lace.loom.pins if lace.loom.shape.closed else 2 * lace.loom.pins - 1
    assert turns == pytest.approx([math.pi * (holding.thickness + web.thickness) / 2] * around, abs=1e-9)
    reached = [move.to for move in moves if move.to != 0]
    assert reached == [lace.loom.point(pin) for pin in lace.web.order]
    assert moves[0].to == moves[-1].to == 0


def points_of(path: str) -> list[complex]:
    """The points of a path that says M and l alone."""
    assert re.fullmatch(r"M[-\d ]+l[-\d ]+", path)
    numbers = [int(n) for n in re.findall(r"-?\d+", path)]
    return list(itertools.accumulate(complex(*pair) for pair in zip(numbers[::2], numbers[1::2], strict=True)))


@pytest.mark.parametrize("demo", DEMOS)
def test_what_is_written_is_as_long_as_what_is_drawn(demo: str) -> None:
    """Path data in whole fiftieths differ from the model by no more than their rounding; a stroke begins where one ended."""
    for part in thread_way(lace_of(demo)).parts:
        strokes = [points_of(stroke.path) for stroke in part.strokes]
        for before, after in itertools.pairwise(strokes):
            assert before[-1] == after[0]
        for stroke, points in zip(part.strokes, strokes, strict=True):
            written = math.fsum(abs(b - a) for a, b in itertools.pairwise(points))
            assert written == pytest.approx(stroke.length, rel=0.003)
        assert math.fsum(stroke.length for stroke in part.strokes) == pytest.approx(part.drawn_mm * UNITS_PER_MM)


@pytest.mark.parametrize("demo", DEMOS)
def test_rays_are_held_where_the_lace_holds_them(demo: str) -> None:
    """Locks put in one after the other are, after every round, those of its rays, in their order outward."""
    lace = lace_of(demo)
    held: list[list[complex]] = [[0j] for _ in range(lace.loom.rays)]
    for part, done in zip(thread_way(lace).parts[1:], lace.rounds, strict=True):
        for lock in part.locks:
            held[lock.ray].insert(lock.position, lock.place)
        assert [tuple(each) for each in held] == [ray.locks for ray in done.rays]


def test_a_knot_holds_its_rays_when_it_is_tied(place_tree: PlaceTree, example: dict[str, Any]) -> None:
    """Twelve knots of four rays and one more that closes: each of the first twelve stops holds four more."""
    example["rounds"] = [{"knot": {"rays": 4}, "at": "15 mm"}]
    stops = [stop for stop in thread_way(place_tree(example)).stops if stop.part == 1]
    assert [stop.locked for stop in stops] == sorted(stop.locked for stop in stops)
    assert stops[0].locked == 4
    assert stops[-1].locked == 48
    assert len(stops) == STOPS


@pytest.mark.parametrize("demo", DEMOS)
def test_stops_go_on_and_never_back(demo: str) -> None:
    """From nothing to the end, no part with more than its share, thread growing from each to the next."""
    stops = thread_way(lace_of(demo)).stops
    assert (stops[0].part, stops[0].drawn, stops[0].thread_mm) == (0, 0.0, 0.0)
    for a, b in itertools.pairwise(stops):
        assert b.thread_mm > a.thread_mm
        assert (b.part, b.drawn) > (a.part, a.drawn)
    assert all(len(list(group)) <= STOPS + 1 for _, group in itertools.groupby(stops, lambda stop: stop.part))


@pytest.mark.parametrize("demo", DEMOS)
def test_data_are_small_whole_and_on_their_ground(demo: str) -> None:
    """At most 60 KiB of whole numbers; every point of the way lies inside the picture."""
    lace = lace_of(demo)
    data = player_data(thread_way(lace), COLOURS)
    assert len(json.dumps(data, separators=(",", ":"))) <= 60 * 1024
    assert all(isinstance(n, int) for n in (*data["box"], *data["pins"], *data["stops"]))
    assert data == player_data(thread_way(lace), COLOURS)
    x, y, width, height = data["box"]
    for part in data["parts"]:
        for _, _, path in part["strokes"]:
            for place in points_of(path):
                assert x <= place.real <= x + width
                assert y <= place.imag <= y + height
    assert len(data["stops"]) % 3 == len(data["pins"]) - 2 * lace.loom.pins == 0
