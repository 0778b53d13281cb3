"""The commands that work on a pattern's looms and threads: adapt, calibrate, check --thread."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from pipeline import cli
from pipeline.craft.thread import thickness

GOOD = Path(__file__).parent / "cases" / "good" / "harbour-wheel.yaml"


def run(*arguments: str | Path) -> Result:
    return CliRunner().invoke(cli.main, [str(argument) for argument in arguments])


@pytest.fixture
def harbour(tmp_path: Path) -> Path:
    """The first example in a workspace of its own."""
    (tmp_path / "patterns").mkdir()
    place = tmp_path / "patterns" / "harbour-wheel.yaml"
    place.write_bytes(GOOD.read_bytes())
    return place


def test_adapt_writes_a_checked_pattern_and_lists_every_change(harbour: Path) -> None:
    """48 pins on 70 mm: by hand, 15 mm · 70/84 = 12.5 mm and 9 mm · 70/84 = 7.5 mm; groups of six still divide."""
    result = run("adapt", harbour, "--pins", "48", "--diameter", "70 mm")
    assert result.exit_code == 0, result.output
    made = harbour.with_name("harbour-wheel-48.yaml")
    text = made.read_text()
    assert "id: harbour-wheel-48" in text
    assert "loom: {shape: circle, diameter: 70 mm, pins: 48}" in text
    assert "at: 12.5 mm" in text
    assert "gap: 7.5 mm" in text
    assert "# these, at: tight and rows: 2 are the defaults" in text
    assert result.output.splitlines()[:4] == [
        "loom.diameter: 84 mm → 70 mm", "loom.pins: 60 → 48", "rounds[1].at: 15 mm → 12.5 mm",
        "rounds[2].gap: 9 mm → 7.5 mm",
    ]  # fmt: skip
    assert run("check", made, "--strict").exit_code == 0


def test_adapt_leaves_a_file_that_is_there(harbour: Path) -> None:
    """Nothing is written over."""
    made = harbour.with_name("harbour-wheel-48.yaml")
    made.write_text("mine")
    result = run("adapt", harbour, "--pins", "48")
    assert result.exit_code == 1
    assert "output-exists" in result.output
    assert made.read_text() == "mine"


@pytest.mark.parametrize(
    "options",
    [
        [], ["--pins", "5"], ["--side", "70 mm"], ["--diameter", "70"], ["--diameter", "70 %"], ["--diameter", "0 mm"],
    ],
)  # fmt: skip
def test_what_makes_no_loom_is_wrong_use(harbour: Path, options: list[str]) -> None:
    """Nothing other, too few pins, a measure of another shape, no unit, a share, nothing at all."""
    assert run("adapt", harbour, *options).exit_code == 2


def test_a_length_without_a_unit_is_shown_with_one(harbour: Path) -> None:
    """What could be written stands beside what is wrong, as `new` says it."""
    assert "`70` has no unit; write `70 mm`" in " ".join(run("adapt", harbour, "--diameter", "70").stderr.split())


def test_adapt_of_a_broken_file_says_what_is_broken(harbour: Path) -> None:
    """The problems of the file, and no other file."""
    harbour.write_text(harbour.read_text().replace("pins: 60", "pins: many"))
    result = run("adapt", harbour, "--pins", "48")
    assert result.exit_code == 1
    assert "not-whole" in result.output
    assert len(list(harbour.parent.iterdir())) == 1


@pytest.mark.parametrize("count", ["60tex", "9.842ne", "Nm 16.6667", "540 denier"])
def test_a_thread_is_worked_in_another_thickness(count: str) -> None:
    """Each way to write 60 tex gives the thickness of 60 tex of cotton, and another net length than the file's."""
    (found,) = json.loads(run("check", "--json", GOOD, "--thread", f"A={count}").output)
    assert found["threads"]["A"]["thickness_mm"] == pytest.approx(thickness(60, 1.10), abs=1e-4)
    assert found["threads"]["A"]["net_mm"] != 6318.679042


@pytest.mark.parametrize("thread", ["B=60tex", "A", "A=60", "A=0tex", "a=60tex", "A=60 yards"])
def test_a_thread_that_is_none_is_wrong_use(thread: str) -> None:
    """A letter the pattern has not, no count, no system, nothing, a small letter, another unit."""
    assert run("check", GOOD, "--thread", thread).exit_code == 2


def test_calibrate_reports_ratio_and_give(harbour: Path) -> None:
    """7.4 m measured of 7.02 m estimated: by hand 7.4 / 7.018679 = 1.054."""
    harbour.write_text(harbour.read_text() + "measured: {A: 7.4 m}\n")
    result = run("calibrate", harbour)
    assert result.exit_code == 0, result.output
    assert "ratio 1.054" in result.output
    assert "rays are asked for 0.41 of what they can give" in result.stderr
    assert "give: {" not in result.output
    harbour.write_text(harbour.read_text() + "give: {pin: 0.2 mm, slack_pct: 0}\n")
    # Round 3 asks 1.163 mm of a ray of natural length 26.99 mm; its fibre gives 3 %: by hand 1.163 - 0.810 = 0.353.
    assert "give: {pin: 0.35 mm}" in run("calibrate", harbour).stdout
