"""What ``check`` finds no error in becomes pictures and pages, whatever it says: after it nothing fails."""

import random
import traceback
from collections.abc import Callable, Iterator, Mapping
from functools import cache
from itertools import islice
from pathlib import Path
from typing import Any

import pytest

from pipeline.catalogue.make import Making, Shelf, pages_of, subject_of
from pipeline.commands.desk import shelf_of
from pipeline.craft.check import Checked
from pipeline.files import check_file
from pipeline.language.locales import load_locales
from pipeline.language.speech import Speech, load_speech
from pipeline.leaflet.markup import render
from pipeline.preview.drafts import drawn_from
from pipeline.workspace import shipped, workspace_of
from tests.test_notation import random_pattern

CASES = Path(__file__).parent / "cases" / "check"
TAGS = ("en", "ar")
LONGEST = {"loom-absurd-not", "mat-too-large-not", "pattern-too-long-not"}
"""Just within what a file may ask for: these take as long as all others together, with the same drawings more often."""
FEWEST_SOUND = 100
RANDOM_ONES = 6

CheckText = Callable[..., Checked]
Drawn = dict[str, dict[Any, Mapping[str, Any]]]
"""Pictures by what they are drawn from: many cases differ in their words alone."""


@cache
def speeches() -> tuple[Speech, ...]:
    locales = load_locales([shipped("locales")])
    return tuple(load_speech([shipped("locales")], locales[tag]) for tag in TAGS)


def fault(checked: Checked, shelf: Shelf, drawn: Drawn) -> str:
    """How it fails to become pictures and a leaflet in every language; nothing where it does not."""
    try:
        subject = subject_of(checked, shelf)
        like = drawn_from(subject.pattern.model_copy(update={"id": "", "language": ""}))
        subject.stamped.update(drawn.get(like, {}))
        for speech in speeches():
            assert render(pages_of(subject, speech, Making("a4")).leaflet)
        drawn[like] = subject.stamped
    except Exception:  # noqa: BLE001  # whatever is raised, it is what was looked for
        return traceback.format_exc()
    return ""


def test_every_sound_case_becomes_pictures_and_pages() -> None:
    """Every file of the cases without an error, warnings or not: all its pictures, a leaflet that reads either way."""
    shelf, drawn = shelf_of(workspace_of(CASES / "any.yaml")), Drawn()
    checked = {file.stem: check_file(file, advised=False) for file in sorted(CASES.glob("*.yaml"))}
    sound = {name: found for name, found in checked.items() if found.ok and found.lace and name not in LONGEST}
    assert set(checked) > LONGEST
    assert len(sound) >= FEWEST_SOUND
    assert not [f"{name}: {said}" for name, found in sound.items() if (said := fault(found, shelf, drawn))]


def test_random_patterns_become_pictures_and_pages(check_text: CheckText, example: dict[str, Any]) -> None:
    """All shapes of looms, all stitches, groups in turn, parts, spirals, rows of several threads."""
    shelf = shelf_of(workspace_of(CASES / "any.yaml"))
    for tree, found in islice(sound_ones(check_text, example), RANDOM_ONES):
        said = fault(found, shelf, {})
        assert not said, tree


def sound_ones(check_text: CheckText, example: dict[str, Any]) -> Iterator[tuple[dict[str, Any], Checked]]:
    """Random patterns without an error, the same every time."""
    chance = random.Random(20261126)  # noqa: S311
    while True:
        tree = random_pattern(chance, example | {"give": {"pin": "20 mm"}})
        found = check_text(tree)
        if found.ok:
            yield tree, found


def test_a_fault_is_told(check_text: CheckText, example: dict[str, Any], monkeypatch: pytest.MonkeyPatch) -> None:
    """What falls on the way to the pages is seen, with the place where it fell."""
    shelf = shelf_of(workspace_of(CASES / "any.yaml"))
    monkeypatch.setattr("pipeline.drawing.album.whole", lambda *_: 1 / 0)
    assert "ZeroDivisionError" in fault(check_text(example), shelf, {})
