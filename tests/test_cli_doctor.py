"""The doctor: whatever is missing, it says so in words and never falls."""

import json
import os
import re
import subprocess
import sys
from importlib import metadata
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from pipeline import doctor
from pipeline.cli import main
from pipeline.doctor import LIBRARIES, State, can_make, examine
from pipeline.language import fonts
from pipeline.language.locales import load_locales
from pipeline.workspace import Workspace, shipped

ROOT = Path(__file__).resolve().parent.parent

HIDDEN = """
import ctypes, importlib.abc, sys
names, libraries = set(sys.argv[1].split(",")), [name for name in sys.argv[2].split(",") if name]

class Hide(importlib.abc.MetaPathFinder):
    def find_spec(self, name, path=None, target=None):
        if name.partition(".")[0] in names:
            raise ImportError(f"{name} is hidden")

def refuse(*how):
    if any(name in str(word) for word in how for name in libraries):
        raise OSError(f"{how[-1]}: cannot open shared object file")

class Library(ctypes.CDLL):
    def __init__(self, name, *how, **more):
        refuse(name)
        super().__init__(name, *how, **more)

sys.meta_path.insert(0, Hide())
if libraries:
    import cffi
    load = cffi.FFI.dlopen
    cffi.FFI.dlopen = lambda self, *how: refuse(*how) or load(self, *how)
    ctypes.CDLL = Library
from pipeline.cli import run
sys.argv = ["spokeleaf", "doctor", *sys.argv[3:]]
run()
"""
"""A run of the doctor from which packages and libraries are hidden."""


def without(modules: str, libraries: str = "", *, encoding: str = "utf-8") -> subprocess.CompletedProcess[str]:
    surroundings = os.environ | {"PYTHONPATH": str(ROOT), "PYTHONIOENCODING": encoding}
    return subprocess.run(
        [sys.executable, "-c", HIDDEN, modules, libraries, "--json"],
        capture_output=True, text=True, check=False, env=surroundings, cwd=ROOT,
    )  # fmt: skip


def states(said: str) -> dict[str, dict[str, Any]]:
    """Items by part and name."""
    return {f"{item['part']}: {item['what']}": item for item in json.loads(said)["items"]}


@pytest.fixture(scope="module")
def here() -> tuple[doctor.Item, ...]:
    """What is found in this checkout."""
    return examine(Workspace(ROOT), "utf-8")


def test_where_the_tests_run_everything_is_good(here: tuple[doctor.Item, ...]) -> None:
    """Nothing is missing on a machine that has been set up, and what is good asks for nothing."""
    assert can_make(here)
    assert [item for item in here if item.state is State.MISSING] == []
    assert all(bool(item.remedy) == (item.state is not State.GOOD) for item in here)
    assert {item.part for item in here} >= {
        "Python",
        "Packages",
        "Libraries",
        "Fonts",
        "Workspace",
        "Leaflet",
        "Terminal",
    }


def test_every_package_that_is_demanded_is_looked_at(here: tuple[doctor.Item, ...]) -> None:
    """Each of pyproject's, with the version that is here."""
    looked_at = {item.what: item.found for item in here if item.part == "Packages"}
    demanded = {
        re.split(r"[ <>=!~;\[]", text)[0] for text in metadata.requires("spokeleaf") or () if "extra ==" not in text
    }
    assert set(looked_at) == demanded
    assert all(metadata.version(name) == found for name, found in looked_at.items())
    assert next(item.found for item in here if item.what == "Python").startswith(f"{sys.version_info.major}.")


def test_every_shipped_locale_has_its_fonts_looked_at(here: tuple[doctor.Item, ...]) -> None:
    """No locale is left out."""
    tags = {tag for item in here if item.part == "Fonts" for tag in re.findall(r"[\w-]+", item.what.partition("(")[2])}
    assert tags == set(load_locales((shipped("locales"),)))


@pytest.mark.parametrize(
    ("module", "package"),
    [
        ("weasyprint", "weasyprint"), ("babel", "babel"), ("matplotlib", "matplotlib"), ("fontTools", "fonttools"),
        ("yaml", "pyyaml"), ("pydantic", "pydantic"),
    ],
)  # fmt: skip
def test_a_package_that_is_gone_is_named(module: str, package: str) -> None:
    """Exit 1, no traceback, what to install, and no leaflet."""
    done = without(module)
    assert done.returncode == 1, done.stderr
    assert "Traceback" not in done.stdout + done.stderr
    items = states(done.stdout)
    gone = items[f"Packages: {package}"]
    assert (gone["state"], gone["found"]) == ("missing", "not installed")
    assert package in gone["remedy"]
    leaflet = next(item for name, item in items.items() if name.startswith("Leaflet"))
    assert leaflet["state"] == "missing"
    assert json.loads(done.stdout)["ok"] is False


@pytest.mark.parametrize("module", ["packaging", "weasyprint,babel,yaml,pydantic,matplotlib,rich,packaging,fontTools"])
def test_even_with_much_gone_it_stands(module: str) -> None:
    """What it needs itself may be gone too."""
    done = without(module)
    assert done.returncode == 1, done.stderr
    assert "Traceback" not in done.stdout + done.stderr
    assert json.loads(done.stdout)["ok"] is False


def test_a_library_that_cannot_be_loaded_is_named() -> None:
    """As on a machine without Pango: WeasyPrint cannot be imported, and its long words are not shown."""
    done = without("", "libpango-1.0,pango-1.0")
    assert done.returncode == 1, done.stderr
    assert done.stderr == ""
    items = states(done.stdout)
    assert items["Libraries: Pango"]["state"] == "missing"
    assert "libpango-1.0-0" in items["Libraries: Pango"]["remedy"]
    assert items["Packages: weasyprint"]["state"] == "good"
    leaflet = next(item for name, item in items.items() if name.startswith("Leaflet"))
    assert "OSError" in leaflet["found"]


def test_a_terminal_that_takes_ascii_is_told_and_can_be_written_to() -> None:
    """It is lacking, not missing; what is said can be said there."""
    done = without("", encoding="ascii")
    assert done.returncode == 0, done.stderr
    items = states(done.stdout)
    assert items["Terminal: letters of every language"]["state"] == "lacking"
    assert "PYTHONUTF8" in items["Terminal: letters of every language"]["remedy"]


def test_a_script_without_font_spoils_its_languages_alone(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without Hebrew fonts Hebrew is lacking, with the package to install; leaflets can be made."""
    for name, path in fonts.font_files(fonts.PLACES).items():
        if "Hebrew" not in name:
            (tmp_path / name).symlink_to(path)
    monkeypatch.setattr(fonts, "PLACES", (tmp_path,))
    found = examine(Workspace(ROOT), "utf-8")
    assert can_make(found)
    (hebrew,) = [item for item in found if item.what == "Hebrew (he)"]
    assert (hebrew.state, hebrew.remedy) == (State.LACKING, "sudo apt install fonts-noto-core")


def test_without_any_font_no_leaflet_can_be_made(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Figures are set in Latin fonts, so nothing goes without them."""
    monkeypatch.setattr(fonts, "PLACES", (tmp_path / "none",))
    found = examine(Workspace(None), "utf-8")
    assert not can_make(found)
    assert {item.state for item in found if item.what.startswith("Latin")} == {State.MISSING}
    assert {item.state for item in found if item.part == "Leaflet"} == {State.MISSING}


def test_a_package_of_another_version_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """What is demanded and what is here stand beside one another; the leaflet decides whether it works."""
    monkeypatch.setattr(metadata, "requires", lambda _: ["click>=99", "weasyprint==70.0", "absent-here>=1"])
    found = {item.what: item for item in examine(Workspace(None), "utf-8") if item.part == "Packages"}
    assert found["click"].state is State.LACKING
    assert ">=99 is wanted" in found["click"].found
    assert found["weasyprint"].state is State.GOOD
    assert (found["absent-here"].state, found["absent-here"].remedy) == (
        State.MISSING,
        "python -m pip install 'absent-here>=1'",
    )


def test_a_part_that_was_not_installed_is_no_hindrance(monkeypatch: pytest.MonkeyPatch) -> None:
    """It is lacking, with how it is had: by the names of what is lacking, none that a stranger could have taken."""
    wanted = ["absent-here>=1; extra == 'cluster'", "click>=8; extra == 'cluster'", "gone>=2; extra == 'cluster'"]
    monkeypatch.setattr(metadata, "requires", lambda _: wanted)
    found = [item for item in examine(Workspace(None), "utf-8") if item.part == "More"]
    assert [(item.state, item.found) for item in found] == [(State.LACKING, "not installed: absent-here, gone")]
    assert found[0].remedy == "python -m pip install 'absent-here>=1' 'gone>=2', if you want it"


BROKEN = {
    "publisher and logo": ("patterns/publisher.yaml", "publisher: A\nterms: [sell, keep]\n"),
    "looms": ("patterns/looms/card.yaml", "loom: card\n"),
    "symbols": ("symbols/star.yaml", "stitch: star\n"),
    "locales": ("locales/fi/locale.yaml", "locale: xx\n"),
}


@pytest.mark.parametrize("what", BROKEN)
def test_a_broken_file_of_the_workspace_is_named(tmp_path: Path, what: str) -> None:
    """What keeps leaflets of this workspace from being made is missing, with its file."""
    name, text = BROKEN[what]
    (tmp_path / "patterns").mkdir()
    (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
    (tmp_path / name).write_text(text, encoding="utf-8")
    found = examine(Workspace(tmp_path), "utf-8")
    (item,) = [item for item in found if item.part == "Workspace" and item.what == what]
    assert item.state is State.MISSING
    assert Path(name).stem in item.found + item.remedy
    assert not can_make(found)


def test_a_folder_that_cannot_be_written_is_told(tmp_path: Path) -> None:
    """A file in the way of build/out; what is there is left alone, and looking leaves nothing behind."""
    (tmp_path / "patterns").mkdir()
    good = [item for item in examine(Workspace(tmp_path), "utf-8") if item.what == "what is made"]
    assert [item.state for item in good] == [State.GOOD]
    assert [path.name for path in tmp_path.iterdir()] == ["patterns"]
    (tmp_path / "build").write_text("", encoding="utf-8")
    bad = [item for item in examine(Workspace(tmp_path), "utf-8") if item.what == "what is made"]
    assert [item.state for item in bad] == [State.MISSING]


def test_it_is_told_in_words_and_as_json() -> None:
    """A line for each item under its part, the verdict last; and the same as data."""
    told = CliRunner().invoke(main, ["doctor", str(ROOT)])
    assert told.exit_code == 0, told.output
    assert told.output.splitlines()[-1] == "leaflets can be made"
    data = json.loads(CliRunner().invoke(main, ["doctor", str(ROOT), "--json"]).output)
    assert set(data) == {"ok", "items"}
    for item in data["items"]:
        assert set(item) == {"part", "what", "state", "found", "remedy"}
        assert f"{item['what']}: {item['found'].partition(' KiB')[0]}" in told.output


def test_outside_a_workspace_one_can_be_begun(tmp_path: Path) -> None:
    """That is no hindrance."""
    told = CliRunner().invoke(main, ["doctor", str(tmp_path)])
    assert told.exit_code == 0, told.output
    assert "spokeleaf new workspace" in told.output


def test_the_libraries_are_those_that_the_typesetter_loads() -> None:
    """Every name that is looked for is one that WeasyPrint's own loader asks for."""
    asked = (Path(str(metadata.distribution("weasyprint").locate_file("weasyprint"))) / "text" / "ffi.py").read_text()
    for _, names in LIBRARIES.values():
        assert all(f"'{name}'" in asked for name in names), names
