"""What a leaflet was made from: whatever may change a byte of it is asked."""

import tomllib
from pathlib import Path

from packaging.requirements import Requirement

from pipeline.catalogue.used import LIBRARIES

ROOT = Path(__file__).resolve().parents[2]
WITHOUT_TRACE = {
    "pyyaml": "reads files, whose hashes are asked",
    "pydantic": "says whether values are good",
    "typing-extensions": "is for types",
    "packaging": "compares versions",
    "pikepdf": "makes booklets, of which a catalogue has none",
    "click": "reads arguments",
    "rich": "draws bars and tables",
}
"""Packages that put nothing on a page, and why."""


def test_every_package_that_may_show_on_a_page_is_asked_for_its_release() -> None:
    """Each that the program requires is among those of the ledger, or has a reason not to be; none is in both."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    required = {Requirement(line).name for line in project["dependencies"]}
    assert required - set(LIBRARIES) == set(WITHOUT_TRACE)
