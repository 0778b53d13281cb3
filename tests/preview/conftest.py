"""A small workspace of its own for every test of the preview."""

import itertools
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import yaml

from pipeline.preview.room import Room
from pipeline.preview.surroundings import Surroundings
from pipeline.workspace import Workspace

Write = Callable[..., Path]


@pytest.fixture
def place(tmp_path: Path) -> Path:
    """The folder of a workspace without patterns."""
    folder = tmp_path / "lace"
    (folder / "patterns").mkdir(parents=True)
    return folder.resolve()


@pytest.fixture
def write(place: Path, example: dict[str, Any]) -> Write:
    """Write the small pattern into the workspace, under an id, with other values at its top level."""

    def run(pattern_id: str = "trial", **other: object) -> Path:
        file = place / "patterns" / f"{pattern_id}.yaml"
        file.write_text(yaml.safe_dump({**example, "id": pattern_id, **other}, sort_keys=False), encoding="utf-8")
        return file

    return run


@pytest.fixture
def surroundings(place: Path) -> Surroundings:
    """What its leaflets are made with."""
    return Surroundings(Workspace(place))


@pytest.fixture
def room(surroundings: Surroundings) -> Room:
    """Where it is worked on, with a clock that goes a second a look."""
    ticks = itertools.count()
    return Room(surroundings, lambda: float(next(ticks)))
