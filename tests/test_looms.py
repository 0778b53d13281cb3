"""Looms that have files of their own."""

from pathlib import Path

import pytest

from pipeline.files import check_file
from pipeline.looms import load, parse
from pipeline.source import read

CARD = """\
loom: quay-card
name: Stiff card
shape: circle
hold: notch
thickness: 2 mm
rings:
  - {diameter: 60 mm, holes: 48, web: true}
  - {diameter: 66 mm, holes: 48}
"""
PATTERN = """\
spokeleaf: 1
id: trial
title: Trial
language: en
level: 1
edition: {number: 1, date: 2026-03-14}
loom: quay-card
threads:
  A: {fibre: cotton, tex: 40, colour: "#1b4f72", colour_name: blue}
rounds:
  - darn: {}
  - knot: {rays: 4}
    at: 15 mm
"""


@pytest.fixture
def workspace(tmp_path: Path) -> Path:
    """A workspace with one loom and one pattern on it."""
    (tmp_path / "patterns" / "looms").mkdir(parents=True)
    (tmp_path / "patterns" / "looms" / "quay-card.yaml").write_text(CARD)
    (tmp_path / "patterns" / "trial.yaml").write_text(PATTERN)
    return tmp_path / "patterns"


def test_a_named_loom_is_the_ring_that_carries_the_web(workspace: Path) -> None:
    """The pattern on it has the figures of the same loom written out."""
    named = check_file(workspace / "trial.yaml")
    (workspace / "trial.yaml").write_text(
        PATTERN.replace("loom: quay-card", "loom: {shape: circle, diameter: 60 mm, pins: 48, hold: notch}")
    )
    written = check_file(workspace / "trial.yaml")
    assert named.ok
    assert named.as_json() == written.as_json()


def test_a_loom_keeps_what_is_known_beside_its_web(workspace: Path) -> None:
    """Name, thickness and every ring are there for the leaflet."""
    loom = load(workspace / "looms")["quay-card"]
    assert loom
    assert (loom.name, loom.thickness, [ring.holes for ring in loom.rings]) == ("Stiff card", 2.0, [48, 48])


def test_an_unknown_name_and_a_broken_file_are_told_apart(workspace: Path) -> None:
    """Both are located at the name in the pattern; the broken file is pointed to."""
    (workspace / "trial.yaml").write_text(PATTERN.replace("loom: quay-card", "loom: quay-cart"))
    (problem,) = check_file(workspace / "trial.yaml").problems
    assert (problem.code, problem.span.line, problem.hint) == ("loom-unknown", 7, "did you mean `quay-card`?")
    (workspace / "trial.yaml").write_text(PATTERN)
    (workspace / "looms" / "quay-card.yaml").write_text(CARD.replace("holes: 48, web: true", "holes: many, web: true"))
    (problem,) = check_file(workspace / "trial.yaml").problems
    assert problem.code == "loom-broken"
    assert "patterns/looms/quay-card.yaml" in problem.hint


@pytest.mark.parametrize(
    ("old", "new", "code"),
    [
        (", web: true", "", "web-ring-missing"),
        ("66 mm, holes: 48", "66 mm, holes: 48, web: true", "web-ring-missing"),
        ("diameter: 60 mm", "width: 60 mm", "measure-not-here"),
        ("shape: circle", "shape: round", "not-one-of"),
        ("loom: quay-card", "loom: other-card", "id-not-file-name"),
        ("thickness: 2 mm", "thickness:", "value-missing"),
    ],
)
def test_slips_in_a_loom_file_are_located(old: str, new: str, code: str) -> None:
    """One ring carries the web, rings have the measures of the shape, the id is the file's name."""
    _, problems = parse(read("quay-card.yaml", CARD.replace(old, new).encode()), "quay-card")
    assert code in [problem.code for problem in problems]


def test_the_shipped_loom_is_sound() -> None:
    """What demos are worked on passes its own check."""
    for file in sorted((Path(__file__).parent.parent / "patterns" / "looms").glob("*.yaml")):
        loom, problems = parse(read(str(file), file.read_bytes()), file.stem)
        assert loom
        assert not problems
