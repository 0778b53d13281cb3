"""The rules of the craft, one by one, each on both sides of its limit."""

import math
from collections.abc import Callable
from typing import Any

import pytest

from pipeline.craft.assembly import Lace
from pipeline.craft.check import Checked

CheckText = Callable[..., Checked]
PlaceTree = Callable[[dict[str, Any]], Lace]
D = math.sqrt(4 * 1.10 * 40 / (1000 * math.pi))
"""Thickness of the example's thread, cotton of 40 tex, in mm."""


def bundle(count: int) -> float:
    return D if count == 1 else D * math.sqrt(count / 0.75)


@pytest.fixture
def codes_of(check_text: CheckText, example: dict[str, Any]) -> Callable[..., list[str]]:
    """Codes of the example with these rounds on a loom of so many pins."""

    def run(*rounds: dict[str, Any], pins: int = 24) -> list[str]:
        example["loom"]["pins"] = pins
        example["rounds"] = list(rounds)
        return [problem.code for problem in check_text(example).problems]

    return run


Codes = Callable[..., list[str]]


def test_odd_pins_are_a_warning(codes_of: Codes) -> None:
    """None of an odd number of pins has an opposite.

    Source: efi-handarbeiten.npage.de/sonnenspitzen.html: the number of pins must divide by two.
    """
    assert codes_of({"darn": {}}, pins=25) == codes_of({"darn": {}}, pins=27) == ["odd-pins"]
    assert codes_of({"darn": {}}, pins=24) == []


@pytest.mark.parametrize("size", range(1, 17))
def test_a_size_fits_exactly_if_it_divides_the_rays(codes_of: Codes, size: int) -> None:
    """Every group size used as a full round must divide 2n (derived: all rays are taken once)."""
    found = codes_of({"knot": {"rays": size}, "at": "15 mm"})
    assert ("rays-do-not-divide" in found) == (48 % size != 0)


@pytest.mark.parametrize(("over", "under"), [(1, 1), (2, 2), (5, 5), (3, 1), (3, 2), (16, 16), (1, 4), (20, 4)])
def test_a_darn_fits_if_over_or_over_and_under_divide_the_rays(codes_of: Codes, over: int, under: int) -> None:
    """Equal: ``over`` alone must divide. Unequal: both together."""
    found = codes_of({"darn": {"over": over, "under": under}, "at": "20 mm"})
    assert ("rays-do-not-divide" in found) == (48 % (over if over == under else over + under) != 0)


def test_three_groups_are_enough(codes_of: Codes) -> None:
    """Three tied groups make a round, two do not; a third of the rays is the widest group."""
    third, half = [{"knot": {"rays": [size, {"pass": rest}]}, "at": "15 mm"} for size, rest in ((4, 12), (4, 20))]
    assert "too-few-groups" not in codes_of(third)
    assert "too-few-groups" in codes_of(half)
    assert "group-too-wide" not in codes_of({"knot": {"rays": 16}, "at": "15 mm"})
    assert "group-too-wide" in codes_of({"knot": {"rays": [17, 16, 15]}, "at": "15 mm"})


def test_a_shift_goes_round_once_at_most(codes_of: Codes) -> None:
    """Rays are counted from 0 to 47."""
    for shift, wrong in ((47, False), (48, True)):
        assert ("shift-too-large" in codes_of({"knot": {"rays": 4, "shift": shift}, "at": "15 mm"})) == wrong


def test_a_round_lies_outside_the_locks_of_the_rays_it_takes(codes_of: Codes) -> None:
    """Inward of the round before is an error; inward beside it, on rays that it passed over, is none."""
    outer = {"knot": {"rays": [2, {"pass": 2}]}, "at": "20 mm"}
    inner = {"knot": {"rays": [2, {"pass": 2}]}, "at": "15 mm"}
    beside = {"knot": {"rays": [2, {"pass": 2}], "shift": 2}, "at": "15 mm"}
    assert "round-not-outward" in codes_of(outer, inner)
    assert "round-not-outward" not in codes_of(outer, beside)


def test_every_row_of_a_darn_lies_inside_the_rim(codes_of: Codes) -> None:
    """The last row counts: 40 mm less one thickness is too far out for two rows."""
    assert codes_of({"darn": {}, "at": f"{40 - 1.5 * D:.4f} mm"}) == []
    assert codes_of({"darn": {}, "at": f"{40 - 0.5 * D:.4f} mm"}) == ["round-outside-loom"]


def test_rows_inside_the_jam_are_flattened_and_further_in_a_warning(codes_of: Codes) -> None:
    """Between the jam and the radius at which the rays lie side by side rows are a note, inside it a warning.

    Over 1 and under 1: D = 2d, so the jam lies at 48·2d/2π and the rays lie side by side at half of it. Source of the
    second: so many threads of thickness d fill a circle of circumference 48·d.
    """
    limit = 48 * D / (2 * math.pi)

    def at(share: float) -> list[str]:
        return codes_of({"darn": {"over": 1, "under": 1}, "rows": 1, "at": f"{share * limit:.6f} mm"})

    assert at(2.01) == []
    assert at(1.99) == ["rows-flattened"]
    assert at(1.01) == ["rows-flattened"]
    assert at(0.99) == ["inside-jam-limit"]


@pytest.mark.parametrize("over", [1, 2, 3, 4, 6, 8])
def test_tight_rows_are_never_flattened(codes_of: Codes, over: int) -> None:
    """``tight`` is where the bundles jam, so nothing is asked inside it, however wide the bundles are."""
    assert codes_of({"darn": {"over": over, "under": over}, "rows": 2}) == []


def test_knots_need_their_own_width_and_a_thread_s_more(codes_of: Codes) -> None:
    """Chords under b + 2d are a warning, under b + d an error, and never both."""
    b = bundle(1)

    def at(chord: float) -> list[str]:
        radius = chord / (2 * math.sin(math.pi / 24))  # 24 groups, evenly spread
        return [
            code for code in codes_of({"knot": {"rays": [1, {"pass": 1}]}, "at": f"{radius:.6f} mm"}) if "knots" in code
        ]

    assert at(b + 2.01 * D) == []
    assert at(b + 1.99 * D) == ["knots-close"]
    assert at(b + 1.01 * D) == ["knots-close"]
    assert at(b + 0.99 * D) == ["knots-crowded"]


def test_knots_of_an_edge_need_room_too(codes_of: Codes) -> None:
    """24 knots of two rays each on a round of 3 mm stand 0.78 mm apart and want 0.86; on one of 4 mm, 1.04 mm."""
    assert "knots-close" in codes_of({"edge-loops": {"inset": "37 mm"}})
    assert "knots-close" not in codes_of({"edge-loops": {"inset": "36 mm"}})


def test_rounds_stand_a_thread_apart(codes_of: Codes) -> None:
    """Rounds nearer than the thread is thick are a warning."""
    for gap, near in ((0.99 * D, True), (D, False), (1.01 * D, False)):
        found = codes_of({"knot": {"rays": 4}, "at": "15 mm"}, {"knot": {"rays": 4}, "gap": f"{gap:.9f} mm"})
        assert ("rounds-crowded" in found) == near


@pytest.mark.parametrize("filling", ["wrap", "weave"])
def test_a_filling_may_begin_right_at_the_round_before(codes_of: Codes, filling: str) -> None:
    """It is begun at every group anew, so it lies nowhere along the thread of that round."""
    assert codes_of(knot(), {filling: {"rays": 4}, "gap": "0.05 mm", "to": "20 mm"}) == []


def test_the_last_knot_needs_room_beside_the_first(codes_of: Codes) -> None:
    """Three knots, two of them far from all others: the last stands one pin before the first, nearer than any pair."""
    sizes = [1, {"pass": 22}, 1, {"pass": 22}, 1, {"pass": 1}]
    assert [code for code in codes_of(knot(sizes, "2.6 mm")) if "knots" in code] == ["knots-close"]
    assert [code for code in codes_of(knot(sizes, "3 mm")) if "knots" in code] == []


def test_what_has_no_neighbour_is_not_crowded(codes_of: Codes) -> None:
    """One knot alone stands near no other, and a row a tenth of a millimetre from the centre near no round."""
    assert codes_of(knot([4, {"pass": 44}])) == ["too-few-groups"]
    assert codes_of({"darn": {"over": 1, "under": 1}, "rows": 1, "at": "0.1 mm"}) == ["inside-jam-limit"]


def test_a_rib_needs_room_for_its_rays_and_its_thread(codes_of: Codes) -> None:
    """48 stitches, each as wide as a ray and a thread: told once, and not as rows of a darn are."""
    for share, wrong in ((0.5, True), (0.99, True), (1.01, False)):
        radius = share * 48 * 2 * D / (2 * math.pi)
        assert codes_of({"rib": {}, "at": f"{radius:.6f} mm"}) == (["ribs-crowded"] if wrong else [])


def test_an_edge_stays_within_a_quarter(codes_of: Codes) -> None:
    """An inset of more than R/4 is a warning."""
    for inset, far in (("25%", False), ("25.1%", True)):
        assert ("edge-far-in" in codes_of({"edge-loops": {"inset": inset}})) == far


def test_a_budget_above_one_is_a_warning_and_above_two_an_error(codes_of: Codes) -> None:
    """The same groups moved outward ask for more: nothing, then a warning, then an error."""
    met: list[tuple[float, list[str]]] = []
    for at in (step / 2 for step in range(40, 78)):
        codes = codes_of({"knot": {"rays": 6}, "at": f"{at} mm"})
        # By the cosine rule: the outer rays of three pins are drawn aside by one pin's angle.
        aside = math.sqrt(40**2 + at**2 - 80 * at * math.cos(2 * math.pi / 24))
        met.append(((at + aside - 40) / (1.5 + 0.05 * 40), [code for code in codes if code.startswith("thread-")]))
    for budget, codes in met:
        assert codes == ([] if budget <= 1 else ["thread-short"] if budget <= 2 else ["thread-cannot-reach"])
    assert {len(codes) and codes[0] for _, codes in met} == {0, "thread-short", "thread-cannot-reach"}


# What a finding says: where it is, and the figures in its words


def knot(size: Any = 4, at: Any = "15 mm", **told: Any) -> dict[str, Any]:
    return {"knot": {"rays": size} | told, "at": at}


HALF = {"shape": "half-circle", "diameter": "80 mm", "pins": 24}
ROUND = {"shape": "circle", "diameter": "80 mm", "pins": 24}
Told = tuple[dict[str, Any], list[dict[str, Any]], str, tuple[str | int, ...], dict[str, Any]]
TOLD: list[Told] = [
    # 48 rays: 2, 3, 4, 6, 8, 12 and 16 make three groups or more; the six nearest to what was asked are told.
    (ROUND, [knot(7)], "rays-do-not-divide", ("knot", "rays"), {
        "group": "7", "rays": 48,
        "hint": "48 rays divide into groups of 2, 3, 4, 6, 8 or 12; with 56 rays (28 pins) groups of 7 fit",
    }),
    (ROUND, [knot(11)], "rays-do-not-divide", ("knot", "rays"), {
        "group": "11", "rays": 48,
        "hint": "48 rays divide into groups of 3, 4, 6, 8, 12 or 16; with 44 rays (22 pins) groups of 11 fit",
    }),
    (ROUND, [knot([2, 3, {"pass": 2}])], "rays-do-not-divide", ("knot", "rays"), {
        "group": "2 + 3 + 2 = 7", "rays": 48,
        "hint": "48 rays divide into groups of 2, 3, 4, 6, 8 or 12; with 56 rays (28 pins) groups of 7 fit",
    }),
    (ROUND, [{"darn": {"over": 5, "under": 5}}], "rays-do-not-divide", ("darn", "over"), {
        "group": "5", "rays": 48,
        "hint": "48 rays divide into groups of 2, 3, 4, 6, 8 or 12; with 40 rays (20 pins) groups of 5 fit",
    }),
    (ROUND, [{"darn": {"over": 3, "under": 4}}], "rays-do-not-divide", ("darn", "over"), {
        "group": "3 + 4", "rays": 48,
        "hint": "48 rays divide into groups of 2, 3, 4, 6, 8 or 12; with 56 rays (28 pins) groups of 7 fit",
    }),
    (ROUND, [{"rib": {"over": 1, "under": 6}, "at": "15 mm"}], "rays-do-not-divide", ("rib", "over"), {
        "group": "6 - 1", "rays": 48,
        "hint": "48 rays divide into groups of 2, 3, 4, 6, 8 or 12; with 40 rays (20 pins) groups of 5 fit",
    }),
    # 2p divides by 9 for 9, 18, 27 and 36 pins, of which 18 is the nearest even one.
    (ROUND, [knot(9)], "rays-do-not-divide", ("knot", "rays"), {
        "group": "9", "rays": 48,
        "hint": "48 rays divide into groups of 2, 3, 4, 6, 8 or 12; with 36 rays (18 pins) groups of 9 fit",
    }),
    # A part has its own rays, and no other number of pins is a way out.
    (ROUND, [knot(5) | {"part": {"rays": 12, "every": 16}}], "rays-do-not-divide", ("knot", "rays"), {
        "group": "5", "rays": 12, "hint": "12 rays divide into groups of 2, 3 or 4",
    }),
    (ROUND, [knot(4) | {"part": {"rays": 15, "every": 16}}], "rays-do-not-divide", ("knot", "rays"), {
        "group": "4", "rays": 15, "hint": "15 rays divide into groups of 3 or 5",
    }),
    (ROUND, [knot(2) | {"part": {"rays": 7, "every": 16}}], "rays-do-not-divide", ("knot", "rays"), {
        "group": "2", "rays": 7, "hint": "7 rays divide into groups of 1",
    }),
    (ROUND, [knot(4) | {"part": {"rays": 6, "every": 16}}], "rays-do-not-divide", ("knot", "rays"), {
        "group": "4", "rays": 6, "hint": "6 rays divide into groups of 2",
    }),
    (ROUND, [knot() | {"part": {"rays": 4, "every": 10}}], "part-does-not-divide", ("part", "every"), {
        "every": 10, "rays": 48, "hint": "48 rays divide into parts of 3, 4, 6, 8, 12 or 16",
    }),
    # The last of three parts begins at ray 8 + 32 and has 12 rays: four too many.
    (HALF, [knot() | {"part": {"from": 8, "rays": 12, "every": 16}}], "part-past-end", ("part",), {"rays": 48}),
    # A shift moves parts on: from 4 the last one would just have ended with the last ray.
    (HALF, [knot(shift=1) | {"part": {"from": 4, "rays": 12, "every": 16}}], "part-past-end", ("part",), {"rays": 48}),
    (HALF, [knot(4, shift=45)], "nothing-tied", ("knot", "shift"), {"shift": 45, "rays": 48}),
    (ROUND, [knot(4, shift=48)], "shift-too-large", ("knot", "shift"), {"shift": 48, "most": 47}),
    (ROUND, [knot([4, {"pass": 20}])], "too-few-groups", ("knot", "rays"), {"groups": 2}),
    (ROUND, [knot([17, 16, 15])], "group-too-wide", ("knot", "rays"), {"group": 17, "rays": 48, "most": 16}),
    (ROUND, [knot(at=[f"{15 + step} mm" for step in range(5)])], "distances-do-not-divide", ("at",),
     {"distances": 5, "groups": 12}),
    (ROUND, [{"knot": {"rays": 4}, "gap": [f"{15 + step} mm" for step in range(5)]}], "distances-do-not-divide",
     ("gap",), {"distances": 5, "groups": 12}),
    (ROUND, [{"darn": {"over": 16, "under": 16, "parity": "pair-once"}}], "parity-not-needed", ("darn", "parity"),
     {"bundles": 3}),
    (ROUND, [{"weave": {"rays": [1, 3]}, "at": "15 mm", "to": "20 mm"}], "group-too-narrow", ("weave", "rays"), {}),
    (ROUND, [{"rib": {"over": 2, "under": 2}, "at": "15 mm"}], "rib-not-forward", ("rib", "under"),
     {"over": 2, "under": 2}),
    (ROUND, [knot(at="20 mm"), knot()], "round-not-outward", ("at",), {"radius": "15.0", "held": "20.0"}),
    (ROUND, [knot(at="20 mm"), knot(at="20 mm")], "round-not-outward", ("at",), {"radius": "20.0", "held": "20.0"}),
    (ROUND, [knot(at=["41 mm", "20 mm"])], "round-outside-loom", ("at",), {"radius": "41.0", "rim": "40.0"}),
    (ROUND, [knot(at="40 mm")], "round-outside-loom", ("at",), {"radius": "40.0", "rim": "40.0"}),
    (ROUND, [knot(), {"knot": {"rays": 4}, "gap": "26 mm"}], "round-outside-loom", ("gap",),
     {"radius": "41.0", "rim": "40.0"}),
    (ROUND, [{"edge-loops": {"inset": "30%"}}], "edge-far-in", ("edge-loops",), {"inset": "12.0"}),
    (ROUND, [knot(), {"knot": {"rays": 4}, "gap": "0.1 mm"}], "rounds-crowded", ("gap",),
     {"distance": "0.10", "thickness": f"{D:.2f}"}),
    (ROUND, [{"wrap": {"rays": 4}, "at": "20 mm", "to": "15 mm"}], "band-reversed", ("to",),
     {"inner": "20.0", "outer": "15.0"}),
    (ROUND, [{"wrap": {"rays": 4}, "at": "20 mm", "to": "20 mm"}], "band-reversed", ("to",),
     {"inner": "20.0", "outer": "20.0"}),
    (ROUND, [{"wrap": {"rays": 4}, "at": "20 mm", "to": "40 mm"}], "round-outside-loom", ("to",),
     {"radius": "40.0", "rim": "40.0"}),
    (ROUND, [knot(at="20 mm"), {"wrap": {"rays": 4}, "at": "15 mm", "to": "25 mm"}], "round-not-outward", ("at",),
     {"radius": "15.0", "held": "20.0"}),
    # 48 stitches on a round of 3 mm; each wants the ray it goes back over and its own thread.
    (ROUND, [{"rib": {}, "at": "3 mm"}], "ribs-crowded", ("at",),
     {"spacing": f"{2 * math.pi * 3 / 48:.2f}", "wanted": f"{2 * D:.2f}"}),
    (ROUND, [{"darn": {"over": 1, "under": 1}, "rows": 1, "at": "1 mm"}], "inside-jam-limit", ("at",),
     {"radius": "1.0", "limit": f"{48 * D / (2 * math.pi):.1f}"}),
    (ROUND, [{"darn": {"over": 1, "under": 1}, "rows": 1, "at": "2.5 mm"}], "rows-flattened", ("at",),
     {"radius": "2.5", "jam": f"{48 * 2 * D / (2 * math.pi):.1f}"}),
    (ROUND, [knot([1, {"pass": 1}], "2.6 mm")], "knots-close", ("at",),
     {"spacing": f"{2 * 2.6 * math.sin(math.pi / 24):.2f}", "wanted": f"{3 * D:.2f}"}),
    (ROUND, [knot([1, {"pass": 1}], "1.5 mm")], "knots-crowded", ("at",),
     {"spacing": f"{2 * 1.5 * math.sin(math.pi / 24):.2f}", "wanted": f"{2 * D:.2f}"}),
    # By the cosine rule, as in the test of budgets above.
    (ROUND, [knot(6, "32 mm")], "thread-short", (),
     {"budget": f"{(32 + math.sqrt(40**2 + 32**2 - 80 * 32 * math.cos(math.pi / 12)) - 40) / 3.5:.2f}"}),
]  # fmt: skip


@pytest.mark.parametrize("told", TOLD, ids=lambda told: told[2])
def test_a_finding_says_where_and_how_much(place_tree: PlaceTree, example: dict[str, Any], told: Told) -> None:
    """About the last of the rounds, once, at its key, with figures worked by hand from the lengths above."""
    loom, rounds, code, path, facts = told
    found = place_tree(example | {"loom": loom, "rounds": rounds}).findings
    ((where, said),) = [(finding.path, finding.facts) for finding in found if finding.code == code]
    assert where == ("rounds", len(rounds) - 1, *path)
    assert sorted(map(repr, said.items())) == sorted(map(repr, facts.items()))


def test_odd_pins_are_told_with_their_neighbours(place_tree: PlaceTree, example: dict[str, Any]) -> None:
    """25 pins: 24 or 26 would do. On a half-circle no pin has an opposite, and none is missed."""
    (found,) = place_tree(example | {"loom": ROUND | {"pins": 25}, "rounds": [{"rib": {}, "at": "15 mm"}]}).findings
    assert (found.path, found.facts) == (("loom", "pins"), {"pins": 25, "fewer": 24, "more": 26})
    assert not place_tree(example | {"loom": HALF | {"pins": 25}, "rounds": [knot(2)]}).findings


def test_what_just_fits_is_not_told(codes_of: Codes, example: dict[str, Any]) -> None:
    """A part that ends with the last ray of a half-circle, three distances for twelve groups, one knot to a part."""
    example["loom"] = HALF
    assert codes_of(knot() | {"part": {"from": 4, "rays": 12, "every": 16}}) == []
    example["loom"] = dict(ROUND)
    assert codes_of(knot(at=["15 mm", "16 mm", "17 mm"])) == []
    assert codes_of(knot() | {"part": {"rays": 4, "every": 16}}) == []
    # A ray can be tied alone, and two can be woven.
    assert codes_of(knot([1, {"pass": 3}])) == []
    assert codes_of({"weave": {"rays": [2, {"pass": 2}]}, "at": "15 mm", "to": "20 mm"}) == []


def test_a_filling_may_reach_the_knots_above_it(codes_of: Codes) -> None:
    """Cords from 15 mm to knots at 20 mm end where these hold their rays, and no further."""
    for to, wrong in (("20 mm", False), ("20.01 mm", True)):
        found = codes_of(knot(at="20 mm"), {"wrap": {"rays": 4}, "at": "15 mm", "to": to})
        assert ("round-not-outward" in found) == wrong


@pytest.mark.parametrize(
    ("changes", "pins"),
    [
        ({}, 26),
        ({"loom": {"shape": "square", "side": "80 mm", "pins": 24}}, 52),
        ({"assembly": {"layout": "hex", "columns": 2, "rows": 2, "joins": 1}}, 78),
        # Counts are also checked where the rest is broken.
        ({"loom": {"shape": "square", "side": "80 mm", "pins": 24}, "level": 9}, 52),
        ({"assembly": {"layout": "hex", "columns": 2, "rows": 2, "joins": 1}, "level": 9}, 78),
        ({"assembly": {"layout": "heart"}}, 26),
    ],
)
def test_pins_that_are_told_fit_the_sides_and_the_mat(
    check_text: CheckText, example: dict[str, Any], changes: dict[str, Any], pins: int
) -> None:
    """Groups of 13 fit 26, 52 and 78 pins: a square has as many to each side, a wheel of a hex mat to each neighbour."""
    example |= {"rounds": [knot(13)], **changes}
    (hint,) = [problem.hint for problem in check_text(example).problems if problem.code == "rays-do-not-divide"]
    assert f"; with {2 * pins} rays ({pins} pins) groups of 13 fit" in hint


@pytest.mark.parametrize(("pins", "size", "told"), [(998, 16, 1000), (1000, 3, 996), (8, 12, 6), (6, 8, 8)])
def test_pins_that_are_told_are_as_many_as_a_loom_may_have(
    check_text: CheckText, example: dict[str, Any], pins: int, size: int, told: int
) -> None:
    """From 6 to 1000: groups of 3 would fit 1002 pins, groups of 8 would fit 4."""
    example["rounds"] = [knot(size)]
    example["loom"]["pins"] = pins
    del example["title"]
    (hint,) = [problem.hint for problem in check_text(example).problems if problem.code == "rays-do-not-divide"]
    assert f"({told} pins)" in hint
