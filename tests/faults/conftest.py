"""A small shop, and what an undisturbed run makes of it.

In this process leaflets are made without their layout, which takes most of the time: what goes into it stands for them.
Processes of their own make them whole; those are compared with ``printed``.
"""

import shutil
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from pipeline.typeset import Enclosed
from tests.harm import QUICK, apart, catalogue, leaflets

TRIAL = """spokeleaf: 1
id: {id}
title: Trial
language: en
level: 1
edition: {{number: 1, date: 2026-03-14}}
loom: {{shape: circle, diameter: 50 mm, pins: 12}}
threads:
  A: {{fibre: cotton, tex: 40, colour: "#1b4f72", colour_name: blue}}
rounds:
  - darn: {{}}
  - knot: {{rays: 4}}
    at: 12 mm
    note: Keep these loose.
{more}"""
PHOTO = "photos: [{file: photos/quay.jpg, alt: The wheel, place: steps}]\n"


def untypeset(markup: str, stamped: Mapping[str, Any], _press: object, enclosed: Enclosed) -> bytes:
    """All that a leaflet is typeset from."""
    drawn = [stamp.operators.content for stamp in stamped.values()]
    attached = enclosed.source[1] if enclosed.source else b""
    return b"".join([b"%PDF-", markup.encode(), *drawn, *enclosed.photos.values(), enclosed.xmp, attached])


@pytest.fixture(autouse=True)
def _without_layout(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("pipeline.catalogue.make.typeset_markup", untypeset)


@pytest.fixture(scope="session")
def calm(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A workspace of two patterns, one with a photograph, and its catalogue, made undisturbed."""
    folder = tmp_path_factory.mktemp("calm")
    (folder / "patterns" / "photos").mkdir(parents=True)
    for name, more in (("ebb", PHOTO), ("flood", "")):
        (folder / "patterns" / f"{name}.yaml").write_text(TRIAL.format(id=name, more=more), encoding="utf-8")
    (folder / "patterns" / "publisher.yaml").write_text("publisher: Trial Press\n", encoding="utf-8")
    Image.new("RGB", (600, 450), "white").save(folder / "patterns" / "photos" / "quay.jpg")
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr("pipeline.catalogue.make.typeset_markup", untypeset)
        done = catalogue(folder)
    assert done.exit_code == 0, done.output
    return folder


@pytest.fixture
def shop(calm: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A copy of it with nothing made yet: the current folder."""
    shutil.copytree(calm / "patterns", tmp_path / "patterns")
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.fixture
def finished(calm: Path, shop: Path) -> Path:
    """A copy with all that was made."""
    shutil.copytree(calm / "build", shop / "build")
    return shop


@pytest.fixture
def whole(calm: Path) -> dict[str, bytes]:
    """The leaflets of an undisturbed run in this process."""
    return leaflets(calm / "build" / "out")


@pytest.fixture(scope="session")
def printed(calm: Path, tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    """The leaflets of an undisturbed run in a process of its own."""
    out = tmp_path_factory.mktemp("printed")
    done = apart("catalogue", calm, *QUICK, "--jobs", "1", "--out", out)
    assert done.returncode == 0, done.stderr
    return leaflets(out)
