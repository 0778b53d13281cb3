"""How rounds divide the rays: groups, bundles, parts, half-circles, parity."""

import itertools
import math
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.craft.assembly import Lace
from pipeline.craft.counts import Counts, Item
from pipeline.records import Part

PlaceTree = Callable[[dict[str, Any]], Lace]
ITEMS = st.lists(st.builds(Item, st.integers(1, 9), st.booleans()), min_size=1, max_size=5).filter(
    lambda items: any(item.tied for item in items)
)


def part(start: int, rays: int, every: int) -> Part:
    return Part.model_construct(start=start, rays=rays, every=every)


@given(items=ITEMS, times=st.integers(1, 20), shift=st.integers(0, 300))
def test_every_ray_is_tied_once_or_passed_over(items: list[Item], times: int, shift: int) -> None:
    """Write the list out over the rays, ray by ray: each stands in the group that the list puts it into."""
    period = sum(item.size for item in items)
    rays = period * times
    (found,) = Counts(tuple(items), shift).groups(rays)
    written = [(turn, number) for turn in range(times) for number, item in enumerate(items) for _ in range(item.size)]
    wanted: dict[tuple[int, int], list[int]] = {}
    for step, place in enumerate(written):
        if items[place[1]].tied:
            wanted.setdefault(place, []).append((shift + step) % rays)
    assert [list(group) for group in found] == list(wanted.values())


def test_parts_begin_where_they_are_said_to_and_repeat() -> None:
    """By hand: from ray 3, eight of every twelve rays of thirty-six, in groups of four."""
    counted = Counts((Item(4),), part=part(3, 8, 12))
    assert counted.groups(36) == (
        ((3, 4, 5, 6), (7, 8, 9, 10)),
        ((15, 16, 17, 18), (19, 20, 21, 22)),
        ((27, 28, 29, 30), (31, 32, 33, 34)),
    )
    assert counted.there_and_back


def test_a_part_may_go_round_the_top() -> None:
    """By hand: the last part from ray 34 of thirty-six goes on with ray 0 on a loom that is worked round."""
    counted = Counts((Item(4),), part=part(10, 4, 12))
    assert counted.groups(36) == (((10, 11, 12, 13),), ((22, 23, 24, 25),), ((34, 35, 0, 1),))


def test_on_a_half_circle_only_whole_groups_are_tied() -> None:
    """By hand: groups of four from ray 2 of sixteen are three, and the two rays at either end stay free."""
    counted = Counts((Item(4),), 2, turned=True)
    assert counted.groups(16) == (((2, 3, 4, 5), (6, 7, 8, 9), (10, 11, 12, 13)),)
    assert set(range(16)) - set(counted.taken(16)) == {0, 1, 14, 15}


@given(over=st.integers(1, 6), under=st.integers(1, 6), times=st.integers(1, 20))
def test_bundles_take_every_ray_once(over: int, under: int, times: int) -> None:
    """Over and under by turns, each bundle of neighbours; their number is what a row crosses.

    B = E/over where both are alike, else two for every over and under together (design section 5).
    """
    rays = times * (over if over == under else over + under)
    counted = Counts(over=over, under=under)
    (found,) = counted.bundles(rays)
    assert [ray for bundle in found for ray in bundle] == list(range(rays))
    assert [len(bundle) for bundle in found] == list(itertools.islice(itertools.cycle((over, under)), len(found)))
    assert len(found) == counted.crossings(rays)


# The handbooks' ways to an odd number, so that a row opposes the one before by itself: leave the last ray half laid
# (Dillmont, Encyclopedia of Needlework, 1886, fig. 754: of eight rays the wheel is made over seven), or take two
# threads as one once a row (common practice, no source).
def test_of_eight_rays_the_wheel_is_made_over_seven() -> None:
    """With the last ray half laid a row over single rays crosses seven of eight, and that ray is left alone."""
    counted = Counts(over=1, under=1, parity="half-ray")
    assert counted.crossings(8) == 7
    assert counted.bundles(8) == (((0,), (1,), (2,), (3,), (4,), (5,), (6,)),)
    assert 7 not in counted.taken(8)


@given(over=st.integers(1, 5), times=st.integers(2, 20))
def test_two_bundles_as_one_make_the_number_odd(over: int, times: int) -> None:
    """An even number of bundles less one: the first of them is twice as wide, and every ray is still passed once."""
    rays = 2 * times * over
    counted = Counts(over=over, under=over, parity="pair-once")
    (found,) = counted.bundles(rays)
    assert len(found) == counted.crossings(rays) == 2 * times - 1
    assert [len(bundle) for bundle in found] == [2 * over] + [over] * (2 * times - 2)
    assert [ray for bundle in found for ray in bundle] == list(range(rays))


@pytest.mark.parametrize(
    ("over", "under", "rays", "stitches"), [(1, 2, 24, 24), (2, 3, 24, 24), (1, 3, 24, 12), (2, 5, 24, 8)]
)
def test_a_rib_gains_the_difference_with_every_stitch(over: int, under: int, rays: int, stitches: int) -> None:
    """Walk it: back over, forward under, until all rays are gone by; that many stitches are counted.

    Source: Dillmont, Encyclopedia of Needlework, 1886, figs 652-655: back over one bar, on under the next.
    """
    place, walked = 0, 0
    while place < rays:
        place += under - over
        walked += 1
    assert place == rays
    assert Counts(over=over, under=under, back=True).crossings(rays) == walked == stitches


@settings(max_examples=30)
@given(parity=st.sampled_from(["skip", "half-ray", "pair-once"]), half=st.integers(6, 30), rows=st.integers(2, 5))
def test_rows_of_a_spiral_lie_opposite_whatever_makes_them_odd(
    place_tree: PlaceTree, parity: str, half: int, rows: int
) -> None:
    """Go on over and under along one long row: only an even number of bundles repeats itself and wants a shift."""
    tree = BASE | {"loom": {"shape": "circle", "diameter": "120 mm", "pins": 2 * half}}
    lace = place_tree(tree | {"rounds": [{"darn": {"over": 1, "under": 1, "parity": parity}, "rows": rows}]})
    (done,) = lace.rounds
    assert done.phase_shift == (done.crossings % 2 == 0) == (parity == "skip")


BASE: dict[str, Any] = {
    "spokeleaf": 1, "id": "trial", "title": "Trial", "language": "en", "level": 1,
    "edition": {"number": 1, "date": "2026-03-14"},
    "threads": {"A": {"fibre": "cotton", "tex": 40, "colour": "#1b4f72", "colour_name": "blue"}},
}  # fmt: skip


@pytest.mark.parametrize("parity", ["half-ray", "pair-once"])
def test_parity_takes_one_crossing_less(place_tree: PlaceTree, parity: str) -> None:
    """One bundle fewer on the same round: the crossings stand further apart and the row is shorter.

    By hand for 48 single rays: 47 crossings at p = 2πr/47 with Peirce's length.
    """
    tree = BASE | {"loom": {"shape": "circle", "diameter": "80 mm", "pins": 24}}
    rounds = [{"darn": {"over": 1, "under": 1, "parity": parity}, "at": "10 mm", "rows": 1}]
    (done,) = place_tree(tree | {"rounds": rounds}).rounds
    assert done.net == pytest.approx(darned_row(10, 47))


def darned_row(radius: float, crossings: int) -> float:
    """Peirce 1937: l = p·cos θ + D·θ with sin θ = D/p, here for cotton of 40 tex over single rays of the same."""
    height = 2 * math.sqrt(4 * 1.10 * 40 / (1000 * math.pi))
    spacing = 2 * math.pi * radius / crossings
    angle = math.asin(height / spacing)
    return crossings * (spacing * math.cos(angle) + height * angle)


def test_the_half_laid_ray_is_the_only_one_left() -> None:
    """Of eight rays a row over single ones takes seven; two bundles as one leave none out, and groups only what passes."""
    assert Counts(over=1, under=1, parity="half-ray").taken(8) == tuple(range(7))
    assert Counts(over=1, under=1, parity="pair-once").taken(8) == tuple(range(8))
    assert Counts(over=1, under=1).taken(8) == tuple(range(8))
    assert Counts(over=1, under=1, part=part(2, 3, 4)).taken(8) == (2, 3, 4, 6, 7, 0)
    assert Counts((Item(2), Item(1, tied=False)), 1).taken(6) == (1, 2, 4, 5)


def test_a_shift_moves_every_part_clockwise() -> None:
    """Two parts of six of 24 rays, from ray 4 and three further on."""
    moved = Counts((Item(2),), shift=3, part=part(4, 6, 12))
    assert moved.stretches(24) == ((7, 6), (19, 6))


def test_an_edge_of_arches_leaves_the_ends_of_a_half_circle(place_tree: PlaceTree, example: dict[str, Any]) -> None:
    """It joins a pin's second ray to the next pin's first: of 36 rays the first and the last have no neighbour."""
    loom = {"shape": "half-circle", "diameter": "84 mm", "pins": 18}
    lace = place_tree(example | {"loom": loom, "rounds": [{"edge-arches": {}}]})
    counted = lace.rounds[0].counts
    assert (counted.shift, counted.turned) == (1, True)
    assert counted.taken(36) == tuple(range(1, 35))
