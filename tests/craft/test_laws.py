"""Laws of the whole reckoning: what turning, mirroring, scaling and renaming must not change.

They need no second calculation: a lace turned by some pins is the same lace. Patterns come at random, with whatever a
round can say, on looms of every shape.
"""

import copy
import itertools
import math
import random
import re
from collections.abc import Callable, Iterator
from typing import Any

import pytest

from pipeline.craft.assembly import Lace, LaceRound
from pipeline.craft.stitches import knot
from pipeline.craft.thread import bundle
from tests.test_notation import random_pattern

PlaceTree = Callable[[dict[str, Any]], Lace]
TIMES = 60
HAIR = 1e-7


def patterns(example: dict[str, Any], seed: int, times: int = TIMES) -> Iterator[tuple[random.Random, dict[str, Any]]]:
    """Patterns at random, and the chance that made them."""
    for number in range(times):
        chance = random.Random(f"{seed} {number}")  # noqa: S311
        yield chance, random_pattern(chance, copy.deepcopy(example))


def own(done: LaceRound, lace: Lace) -> float:
    """Thread of a round without the way to it, and without the knot that closes it: the first of all may be another."""
    if not done.worked.closed:
        return done.worked.net
    web, thread = lace.threads[lace.web_thread].thickness, lace.threads[done.thread].thickness
    return done.worked.net - knot(bundle(web, len(done.worked.nodes[0].rays)), thread, done.stitch.take_up)


def same_work(one: Lace, other: Lace) -> None:
    """Every round takes as much thread, and asks its rays for as much; which ray is which does not matter."""
    assert [done.number for done in one.rounds] == [done.number for done in other.rounds]
    for mine, theirs in zip(one.rounds, other.rounds, strict=True):
        assert own(mine, one) == pytest.approx(own(theirs, other), rel=HAIR)
        assert sorted(mine.budgets) == pytest.approx(sorted(theirs.budgets), rel=HAIR, abs=HAIR)
        stretched = [sorted(ray.stretch for ray in done.rays) for done in (mine, theirs)]
        assert stretched[0] == pytest.approx(stretched[1], rel=HAIR)
        assert mine.outer == pytest.approx(theirs.outer, rel=HAIR)


def moved(entry: dict[str, Any], rays: int, total: int) -> dict[str, Any]:
    """A round that begins so many rays further on; darns, ribs and edges are alike all round."""
    (stitch,) = set(entry) & {"knot", "wrap", "weave", "darn", "rib", "edge-loops", "edge-arches", "edge-picots"}
    if entry.get("part"):
        start = (entry["part"].get("from", 0) + rays) % total
        return entry | {"part": entry["part"] | {"from": start}}
    if stitch in {"knot", "wrap", "weave"}:
        return entry | {stitch: entry[stitch] | {"shift": (entry[stitch].get("shift", 0) + rays) % total}}
    return entry


def uneven(tree: dict[str, Any]) -> bool:
    """Whether a darn of a part, a half ray or two bundles as one begins somewhere, so that turning it moves that."""
    return any(entry.get("darn", {}).get("parity", "skip") != "skip" for entry in tree["rounds"])


def test_turning_the_work_by_some_pins_changes_nothing_but_the_way_to_a_round(
    place_tree: PlaceTree, example: dict[str, Any]
) -> None:
    """On a circle by any number of pins, on an oval or a box by half of them: nets without carry, stretch, budgets."""
    met = 0
    for chance, tree in patterns(example, 1):
        if tree["loom"]["shape"] == "half-circle" or uneven(tree):
            continue
        pins = tree["loom"]["pins"]
        turn = chance.randrange(1, pins) if tree["loom"]["shape"] == "circle" else pins // 2
        turned = tree | {"rounds": [moved(entry, 2 * turn, 2 * pins) for entry in tree["rounds"]]}
        same_work(place_tree(tree), place_tree(turned))
        met += turned["rounds"] != tree["rounds"]
    assert met > 15


def mirrored(entry: dict[str, Any], total: int) -> dict[str, Any]:
    """The round as a mirror shows it: sizes and distances backward, from the mirror image of its last ray.

    The mirror stands at pin 0: ray r becomes ray 1 − r.
    """
    (stitch,) = set(entry) & {"knot", "wrap", "weave", "darn", "rib", "edge-loops", "edge-arches", "edge-picots"}
    if stitch not in {"knot", "wrap", "weave"}:
        return entry
    told, found = dict(entry[stitch]), dict(entry)
    sizes = told["rays"] if isinstance(told["rays"], list) else [told["rays"]]
    told["rays"] = sizes[::-1]
    if "part" in entry:
        part = entry["part"]
        found["part"] = part | {"from": (2 - part["from"] - part["rays"]) % total}
    else:
        told["shift"] = (2 - told.get("shift", 0)) % total
    for key in ("at", "gap"):
        if isinstance(entry.get(key), list):
            found[key] = entry[key][::-1]
    return found | {stitch: told}


def test_the_mirror_image_takes_as_much(place_tree: PlaceTree, example: dict[str, Any]) -> None:
    """Left and right exchanged on a circle, parts, cords, bars and rounds left open too: the same figures."""
    met = 0
    for _, tree in patterns(example, 2, 120):
        # From a broad woven group to a narrow one the way is another than from the narrow to the broad.
        lopsided = any(isinstance(entry.get("weave", {}).get("rays"), list) for entry in tree["rounds"])
        if tree["loom"]["shape"] != "circle" or uneven(tree) or lopsided:
            continue
        rays = 2 * tree["loom"]["pins"]
        lace = place_tree(tree)
        if "distances-do-not-divide" in {finding.code for finding in lace.findings}:
            continue  # then the last distance and the first meet as they come
        same_work(lace, place_tree(tree | {"rounds": [mirrored(e, rays) for e in tree["rounds"]]}))
        met += 1
    assert met > 10


LENGTH = re.compile(r"([0-9.]+) mm")


def scaled(value: Any, times: float) -> Any:
    """Every length in a tree so many times as long."""
    if isinstance(value, dict):
        return {key: scaled(inner, times) for key, inner in value.items()}
    if isinstance(value, list):
        return [scaled(inner, times) for inner in value]
    if isinstance(value, str) and (match := LENGTH.fullmatch(value)):
        return f"{float(match[1]) * times:.6f} mm"
    return value


@pytest.mark.parametrize("times", [0.5, 1.75, 4.0])
def test_a_pattern_on_a_larger_scale_takes_so_much_more(
    place_tree: PlaceTree, example: dict[str, Any], times: float
) -> None:
    """All lengths k times as long and all threads k² times as heavy, so k times as thick: nets k times, budgets as before."""
    for _, tree in patterns(example, 3, 20):
        tree["give"] = {"pin": "1.5 mm"}
        large = scaled(tree, times)
        for name, thread in tree["threads"].items():
            large["threads"][name] = {
                key: value * times**2 if key == "tex" else value / times**2 if key == "nm" else value
                for key, value in thread.items()
            }
        one, other = place_tree(tree), place_tree(large)
        assert other.web.net == pytest.approx(one.web.net * times, rel=HAIR)
        for mine, theirs in zip(one.rounds, other.rounds, strict=True):
            assert theirs.row_nets == pytest.approx([net * times for net in mine.row_nets], rel=1e-6)
            assert theirs.budgets == pytest.approx(mine.budgets, rel=1e-5, abs=HAIR)


def test_the_same_thread_by_another_letter_takes_as_much(place_tree: PlaceTree, example: dict[str, Any]) -> None:
    """Rounds and rows handed to a second thread of the same kind: every net stays, and the threads' nets add up to it."""
    for chance, tree in patterns(example, 4, 30):
        tree["threads"] = {"A": tree["threads"]["A"]}
        for entry in tree["rounds"]:
            entry.pop("thread", None)
        other = copy.deepcopy(tree)
        other["threads"]["B"] = dict(tree["threads"]["A"])
        for entry in other["rounds"]:
            weave = set(entry) & {"darn", "rib"}
            entry["thread"] = [chance.choice("AB") for _ in range(3)] if weave else chance.choice("AB")
        whole, split = place_tree(tree), place_tree(other)
        for mine, theirs in zip(whole.rounds, split.rounds, strict=True):
            assert theirs.row_nets == pytest.approx(mine.row_nets, rel=1e-12)
        shared = math.fsum(total.net for total in split.totals.values())
        assert shared == pytest.approx(whole.totals["A"].net, rel=1e-12)


def test_rays_only_get_tighter(place_tree: PlaceTree, example: dict[str, Any]) -> None:
    """From round to round no ray's stretch falls, and what a round does not take stays as it was."""
    for _, tree in patterns(example, 5):
        lace = place_tree(tree)
        before = lace.bare_rays()
        for done in lace.rounds:
            taken = {ray for ray, _ in done.worked.locks}
            for number, (old, new) in enumerate(zip(before, done.rays, strict=True)):
                assert new.stretch >= old.stretch * (1 - 1e-12) >= 1 - 1e-9
                assert number in taken or new == old
            before = done.rays


def test_a_ray_runs_outward_from_lock_to_lock(place_tree: PlaceTree, example: dict[str, Any]) -> None:
    """Its locks lie one outside the other, the last inside its pin, whatever was worked between earlier ones."""
    for _, tree in patterns(example, 6):
        lace = place_tree(tree)
        for ray in lace.rounds[-1].rays if lace.rounds else ():
            levels = [*map(lace.loom.shape.level, ray.locks), lace.loom.shape.level(ray.pin)]
            assert all(b > a - 1e-9 for a, b in itertools.pairwise(levels))


def test_an_oval_with_equal_axes_gives_the_circle_s_figures(place_tree: PlaceTree, example: dict[str, Any]) -> None:
    """Width and height alike, on any pattern: laying, nets, stretch and budgets, round by round."""
    for _, tree in patterns(example, 7, 30):
        pins = tree["loom"]["pins"]
        circle = place_tree(tree | {"loom": {"shape": "circle", "diameter": "90 mm", "pins": pins}})
        oval = place_tree(tree | {"loom": {"shape": "oval", "width": "90 mm", "height": "90 mm", "pins": pins}})
        assert oval.web.net == pytest.approx(circle.web.net, rel=1e-9)
        for mine, theirs in zip(oval.rounds, circle.rounds, strict=True):
            assert mine.row_nets == pytest.approx(theirs.row_nets, rel=1e-7)
            assert mine.budgets == pytest.approx(theirs.budgets, rel=1e-6, abs=1e-8)


def test_a_rectangle_with_equal_sides_is_a_square(place_tree: PlaceTree, example: dict[str, Any]) -> None:
    """Width and height alike: every figure of the square."""
    for _, tree in patterns(example, 8, 10):
        pins = tree["loom"]["pins"]
        square = place_tree(tree | {"loom": {"shape": "square", "side": "90 mm", "pins": pins}})
        other = place_tree(tree | {"loom": {"shape": "rectangle", "width": "90 mm", "height": "90 mm", "pins": pins}})
        assert [done.net for done in other.rounds] == [done.net for done in square.rounds]
        assert other.web == square.web


def test_an_oval_and_its_quarter_turn_take_as_much(place_tree: PlaceTree, example: dict[str, Any]) -> None:
    """Width and height exchanged, and every round begun a quarter further on: the same oval lying on its side."""
    met = 0
    for _, tree in patterns(example, 9):
        if uneven(tree):
            continue
        pins = tree["loom"]["pins"]
        wide, high = (
            {"shape": "oval", "width": w, "height": h, "pins": pins}
            for w, h in (("110 mm", "80 mm"), ("80 mm", "110 mm"))
        )
        turned = [moved(entry, pins // 2, 2 * pins) for entry in tree["rounds"]]
        same_work(place_tree(tree | {"loom": wide}), place_tree(tree | {"loom": high, "rounds": turned}))
        met += 1
    assert met > 20


def test_per_cent_are_of_the_shortest_ray(place_tree: PlaceTree, example: dict[str, Any]) -> None:
    """35 % of a square of 80 mm lie 14 mm from its middle towards a side, and 14·√2 mm towards a corner."""
    example["loom"] = {"shape": "square", "side": "80 mm", "pins": 24}
    example["rounds"] = [{"knot": {"rays": 2}, "at": "35%"}]
    (done,) = place_tree(example).rounds
    assert done.radius == pytest.approx(14)
    distances = [abs(node.point) for node in done.worked.nodes]
    assert [min(distances), max(distances)] == pytest.approx([14, 14 * math.sqrt(2)])


def test_a_half_circle_worked_out_a_second_time(place_tree: PlaceTree, example: dict[str, Any]) -> None:
    """Two rows of knots on half a circle from plain trigonometry, there and back, nothing closed.

    R = 40, 14 pins 180°/13 apart, groups of two rays, which are the two legs of a pin, at 15 mm; then groups of four from
    ray 2 at 25 mm, each halfway between two pins. Points are (right, up).
    """
    example["loom"] = {"shape": "half-circle", "diameter": "80 mm", "pins": 14}
    example["rounds"] = [{"knot": {"rays": 2}, "at": "15 mm"}, {"knot": {"rays": 4, "shift": 2}, "at": "25 mm"}]
    lace = place_tree(example)
    first, second = lace.rounds
    d = math.sqrt(4 * 1.10 * 40 / (1000 * math.pi))

    def take_up(rays: int) -> float:
        return math.pi * (d * math.sqrt(rays / 0.75) + d) + 3 * d

    def spot(radius: float, degrees: float) -> tuple[float, float]:
        return radius * math.sin(math.radians(degrees)), radius * math.cos(math.radians(degrees))

    step = 180 / 13
    inner = [spot(15, -90 + step * pin) for pin in range(14)]
    chord = 2 * 15 * math.sin(math.radians(step / 2))
    assert first.net == pytest.approx(15 + 13 * chord + 14 * take_up(2))
    assert (first.worked.closed, first.knots, len(first.worked.nodes), first.backward) == (False, 14, 14, False)

    # Rays 2 to 25 of 28 are six groups over pins 1 and 2, 3 and 4 … 11 and 12; the way back begins at the last.
    middles = [-90 + step * (pin + 0.5) for pin in range(1, 12, 2)]
    outer = [spot(25, degrees) for degrees in middles][::-1]
    carry = math.dist(inner[-1], outer[0])
    far = 2 * 25 * math.sin(math.radians(step))
    assert second.net == pytest.approx(carry + 5 * far + 6 * take_up(4))
    assert (second.backward, second.worked.closed, second.knots) == (True, False, 6)
    path = math.dist(inner[1], outer[-1]) + math.dist(outer[-1], spot(40, -90 + step))
    assert second.budget == pytest.approx((path - 25) / (1.5 + 0.05 * 25))
    laying = 2 * 14 * 40 + 27 * math.pi * d
    assert lace.web.net == pytest.approx(laying)
    assert lace.totals["A"].net == pytest.approx(laying + first.net + second.net)
