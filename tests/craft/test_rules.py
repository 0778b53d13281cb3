"""The rules of the craft, one by one, each on both sides of its limit."""

import math
from collections.abc import Callable
from typing import Any

import pytest

from pipeline.craft.check import Checked

CheckText = Callable[..., Checked]
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
    assert codes_of({"darn": {}}, pins=25) == ["odd-pins"]
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


def test_rounds_stand_a_thread_apart(codes_of: Codes) -> None:
    """Rounds nearer than the thread is thick are a warning."""
    for gap, near in ((0.99 * D, True), (1.01 * D, False)):
        found = codes_of({"knot": {"rays": 4}, "at": "15 mm"}, {"knot": {"rays": 4}, "gap": f"{gap:.6f} mm"})
        assert ("rounds-crowded" in found) == near


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
