"""A pattern on another loom: counts divide, distances are scaled, the file and the model change alike."""

import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.craft.adapt import adapt, amended, fitted_sizes, nearest_divisor, other_loom
from pipeline.craft.assembly import place
from pipeline.craft.check import Checked, check
from pipeline.craft.counts import Counts, Item
from pipeline.files import check_file
from pipeline.records import Measures
from pipeline.rewrite import rewrite
from pipeline.symbols import SymbolSet

CheckText = Callable[..., Checked]
DEMOS = sorted(file for file in (Path(__file__).parents[2] / "patterns").glob("*.yaml") if file.stem != "publisher")


@pytest.mark.parametrize("demo", DEMOS, ids=lambda file: file.stem)
@pytest.mark.parametrize("pins", [36, 44, 72])
def test_the_changed_file_and_the_changed_model_are_the_same_pattern(demo: Path, pins: int, symbols: SymbolSet) -> None:
    """The text with its changes, read anew, gives the figures of the model with its changes; every count divides."""
    checked = check_file(demo)
    assert checked.pattern
    assert checked.source
    measures = {name: value * 0.9 for name in Measures.model_fields if (value := getattr(checked.pattern.loom, name))}
    loom = other_loom(checked.pattern.loom, pins, measures)
    changes = adapt(checked.pattern, loom, symbols)
    text = rewrite(checked.source, {change.path: change.now for change in changes}, drop=("sizes", "assembly"))
    again = check(demo.name, text.encode(), demo.stem, symbols, {})
    assert again.lace, [problem.message for problem in again.problems]
    model = place(amended(checked.pattern, loom, symbols), symbols)
    assert [done.net for done in again.lace.rounds] == pytest.approx([done.net for done in model.rounds], abs=1e-6)
    assert not {"rays-do-not-divide", "part-does-not-divide"} & {finding.code for finding in model.findings}


def test_the_same_loom_changes_nothing(symbols: SymbolSet, check_text: CheckText, example: dict[str, Any]) -> None:
    """No pins, no size: no change."""
    checked = check_text(example)
    assert checked.pattern
    assert adapt(checked.pattern, other_loom(checked.pattern.loom, None, {}), symbols) == ()


def test_distances_are_scaled_and_percentages_stay(
    symbols: SymbolSet, check_text: CheckText, example: dict[str, Any]
) -> None:
    """Half the diameter: 15 mm become 7.5 mm, 0.8 cm 0.4 cm, and 60 % of the radius stay as they are."""
    example["rounds"] = [
        {"knot": {"rays": 4}, "at": "15 mm"}, {"knot": {"rays": 4}, "gap": "0.8 cm"}, {"knot": {"rays": 4}, "at": "60%"},
    ]  # fmt: skip
    checked = check_text(example)
    assert checked.pattern
    changes = adapt(checked.pattern, other_loom(checked.pattern.loom, None, {"diameter": 40.0}), symbols)
    assert [(change.was, change.now) for change in changes] == [
        ("80 mm", "40 mm"), ("15 mm", "7.5 mm"), ("0.8 cm", "0.4 cm"),
    ]  # fmt: skip


@given(
    sizes=st.lists(st.tuples(st.integers(1, 9), st.booleans()), min_size=1, max_size=5),
    rays=st.integers(20, 400),
)
def test_fitted_sizes_divide_and_stay_as_near_as_they_can(sizes: list[tuple[int, bool]], rays: int) -> None:
    """Their sum is the divisor nearest to the old sum; every size moves by its share, rounded up or down."""
    counted = Counts(tuple(Item(size, tied) for size, tied in sizes))
    fitted = fitted_sizes(counted, rays)
    period = sum(fitted)
    divisors = [n for n in range(len(sizes), rays + 1) if rays % n == 0]
    assert period == min(divisors, key=lambda n: (abs(n - counted.period), n))
    assert all(size >= 1 for size in fitted)
    if period >= counted.period:
        shares = [size * period / counted.period for size, _ in sizes]
        assert all(math.floor(share) <= size <= math.ceil(share) for share, size in zip(shares, fitted, strict=True))


def test_of_two_divisors_as_near_the_smaller_is_taken() -> None:
    """By hand: 5 and 7 are no divisors of 24, 4 and 6 are as near to 5."""
    assert nearest_divisor(5, 24) == 4
    assert nearest_divisor(7, 24) == 6


def test_groups_of_equal_size_stay_equal(symbols: SymbolSet, check_text: CheckText, example: dict[str, Any]) -> None:
    """Leaves stand over the knots they grow from: five stay five together, or become six together."""
    example["loom"]["pins"] = 60
    example["rounds"] = [
        {"knot": {"rays": 5}, "at": "15 mm"}, {"weave": {"rays": [5, {"pass": 5}], "as": "leaf"}, "gap": "1 mm", "to": "25 mm"},
    ]  # fmt: skip
    checked = check_text(example)
    assert checked.pattern
    found = amended(checked.pattern, other_loom(checked.pattern.loom, 54, {}), symbols)
    assert found.rounds[0].parameters["rays"] == 6
    weave = found.rounds[1].parameters["rays"]
    assert (weave[0], weave[1].passed) == (6, 6)
