"""What is tried on a pattern is its text with other values, checked like any file."""

from collections.abc import Callable
from typing import Any

import pytest

from pipeline.craft.check import Checked
from pipeline.preview.trial import Trial, knobs, tried
from pipeline.symbols import SymbolSet

Check = Callable[..., Checked]


def text_of(checked: Checked, trial: Trial, symbols: SymbolSet, new_id: str = "trial") -> str:
    """What would be written."""
    assert checked.source is not None
    assert checked.pattern is not None
    return tried(checked.source, checked.pattern, trial, symbols, new_id)


def test_nothing_tried_is_the_file_as_it_is(check_text: Check, symbols: SymbolSet, example: dict[str, Any]) -> None:
    """Also its comments, and everything else that was written."""
    checked = check_text(example)
    assert checked.source is not None
    assert text_of(checked, Trial(), symbols) == "\n".join(checked.source.lines)


def test_pins_and_lengths_refit_the_rounds(check_text: Check, symbols: SymbolSet, example: dict[str, Any]) -> None:
    """As `adapt` does it: the groups still divide the rays, distances are scaled, and what was measured is left out."""
    example["measured"] = {"A": "5 m"}
    text = text_of(check_text(example), Trial(30, (("diameter", 120.0),)), symbols, "wider")
    again = check_text(text, "wider")
    assert again.ok
    assert again.pattern is not None
    assert (again.pattern.id, again.pattern.loom.pins, again.pattern.loom.diameter) == ("wider", 30, 120.0)
    assert "at: 22.5 mm" in text
    assert "measured" not in text


@pytest.mark.parametrize(
    ("count", "kept"),
    [({"tex": 40}, "tex"), ({"ne": 14}, "ne"), ({"nm": 25}, "nm"), ({"denier": 360}, "denier"),
     ({"metres": 250, "grams": 10}, "grams")],
)  # fmt: skip
def test_a_thickness_is_written_in_the_count_of_the_file(
    check_text: Check, symbols: SymbolSet, example: dict[str, Any], count: dict[str, float], kept: str
) -> None:
    """Whichever it has; the thread comes out as thick as it was tried."""
    example["threads"]["A"] = {"fibre": "cotton", "colour": "#1b4f72", "colour_name": "blue", **count}
    checked = check_text(example)
    again = check_text(text_of(checked, Trial(threads=(("A", 0.5),)), symbols))
    assert again.ok
    assert again.lace is not None
    assert again.pattern is not None
    assert again.lace.threads["A"].thickness == pytest.approx(0.5, abs=0.001)
    assert getattr(again.pattern.threads["A"], kept) != pytest.approx(count[kept])
    assert again.pattern.threads["A"].metres == count.get("metres")


def test_what_a_pattern_has_not_is_passed_over(check_text: Check, symbols: SymbolSet, example: dict[str, Any]) -> None:
    """A slider may be left from what the file said a moment ago."""
    checked = check_text(example)
    trial = Trial(None, (("side", 50.0),), (("Z", 0.4),))
    assert text_of(checked, trial, symbols) == text_of(checked, Trial(), symbols)


def test_knobs_hold_what_the_file_has(check_text: Check, example: dict[str, Any]) -> None:
    """Between half and twice of it; pins go by two on a circle."""
    checked = check_text(example)
    assert checked.pattern is not None
    found = {knob.name: knob for knob in knobs(checked.pattern)}
    assert list(found) == ["pins", "diameter", "thread-A"]
    pins = found["pins"]
    assert (pins.value, pins.least, pins.most, pins.step) == (24, 12, 48, 2)
    assert (found["diameter"].least, found["diameter"].value, found["diameter"].most) == (40, 80, 160)
    assert all(knob.least <= knob.value <= knob.most for knob in found.values())


@pytest.mark.parametrize(
    ("loom", "names", "step"),
    [
        ({"shape": "square", "side": "80 mm", "pins": 24}, ["pins", "side", "thread-A"], 4),
        (
            {"shape": "oval", "width": "80 mm", "height": "60 mm", "pins": 24},
            ["pins", "width", "height", "thread-A"],
            2,
        ),
        ({"shape": "half-circle", "diameter": "80 mm", "pins": 25}, ["pins", "diameter", "thread-A"], 1),
    ],
)
def test_every_shape_has_its_lengths(
    check_text: Check, example: dict[str, Any], loom: dict[str, Any], names: list[str], step: int
) -> None:
    """And pins that its sides can share."""
    checked = check_text({**example, "loom": loom})
    assert checked.pattern is not None
    found = list(knobs(checked.pattern))
    assert [knob.name for knob in found] == names
    assert found[0].step == step


@pytest.mark.parametrize(("layout", "step"), [("grid", 4), ("strip", 4), ("hex", 6)])
def test_pins_of_a_wheel_in_a_mat_go_by_the_places_where_wheels_meet(
    check_text: Check, example: dict[str, Any], layout: str, step: int
) -> None:
    """Four in a grid or a strip, six in a hex mat: with other pins nothing could be joined."""
    checked = check_text({**example, "assembly": {"layout": layout, "columns": 2, "rows": 2, "joins": 1}})
    assert checked.pattern is not None
    pins = next(knobs(checked.pattern))
    assert (pins.value, pins.least, pins.most, pins.step) == (24, 12, 48, step)
