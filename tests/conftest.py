"""What the tests share: the shipped symbols, a pattern to change, golden files, and no stray log line."""

import copy
import logging
import os
import shutil
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
import yaml
from click.testing import CliRunner
from hypothesis import settings

from pipeline.cli import main
from pipeline.craft.assembly import Lace, place
from pipeline.craft.check import Checked, check
from pipeline.pattern import parse
from pipeline.source import read
from pipeline.symbols import SymbolSet, load
from pipeline.workspace import shipped

HERE = Path(__file__).parent

settings.register_profile("any-machine", deadline=None)
settings.load_profile("any-machine")


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--update", action="store_true", help="rewrite golden files from what the program says now")


def pytest_unconfigure() -> None:
    """Fonts are given back while there still is somebody to take them."""
    if "pipeline.typeset" in sys.modules:
        sys.modules["pipeline.typeset"].press.cache_clear()


@pytest.fixture(autouse=True)
def _no_log_output(caplog: pytest.LogCaptureFixture) -> Iterator[None]:
    """Any log line of weight in a test fails it."""
    yield
    stray = [r for when in ("setup", "call") for r in caplog.get_records(when) if r.levelno >= logging.WARNING]
    assert not stray, [record.getMessage() for record in stray]


@pytest.fixture(scope="session")
def symbols() -> SymbolSet:
    """The symbols shipped with the program."""
    return load([shipped("symbols")])


@pytest.fixture(scope="session")
def check_text(symbols: SymbolSet) -> Callable[..., Checked]:
    """Check a pattern given as text, bytes, or a tree that is written out as YAML."""

    def run(pattern: str | bytes | dict[str, Any], stem: str = "trial") -> Checked:
        text = yaml.safe_dump(pattern, sort_keys=False) if isinstance(pattern, dict) else pattern
        return check(f"{stem}.yaml", text.encode() if isinstance(text, str) else text, stem, symbols, {})

    return run


@pytest.fixture(scope="session")
def place_tree(symbols: SymbolSet) -> Callable[[dict[str, Any]], Lace]:
    """The lace of a sound pattern given as a tree, without the hints that ``check`` tries."""

    def run(pattern: dict[str, Any]) -> Lace:
        parsed = parse(read("trial.yaml", yaml.safe_dump(pattern, sort_keys=False).encode()), symbols.forms, {})
        assert parsed.pattern is not None, parsed.findings
        return place(parsed.pattern, symbols)

    return run


EXAMPLE: Any = {
    "spokeleaf": 1,
    "id": "trial",
    "title": "Trial",
    "language": "en",
    "level": 1,
    "edition": {"number": 1, "date": "2026-03-14"},
    "loom": {"shape": "circle", "diameter": "80 mm", "pins": 24},
    "threads": {"A": {"fibre": "cotton", "tex": 40, "colour": "#1b4f72", "colour_name": "blue"}},
    "rounds": [{"darn": {}}, {"knot": {"rays": 4}, "at": "15 mm"}],
}


@pytest.fixture
def example() -> dict[str, Any]:
    """A small sound pattern of 24 pins, to be changed by the test."""
    return copy.deepcopy(EXAMPLE)


@pytest.fixture
def golden(request: pytest.FixtureRequest) -> Callable[[str, str], None]:
    """Compare a text with ``tests/golden/<name>.txt``; with ``--update`` write it there instead."""

    def compare(name: str, text: str) -> None:
        file = HERE / "golden" / f"{name}.txt"
        if request.config.getoption("--update"):
            file.parent.mkdir(parents=True, exist_ok=True)
            file.write_text(text, encoding="utf-8")
        assert text == file.read_text(encoding="utf-8")

    return compare


@pytest.fixture(scope="session")
def leaflets(tmp_path_factory: pytest.TempPathFactory) -> dict[tuple[str, str], bytes]:
    """The smallest demo as PDF bytes by locale and paper: four locales on A4, English on the other papers."""
    folder = tmp_path_factory.mktemp("leaflets")
    demo = str(shipped("symbols").parent / "patterns" / "first-frost.yaml")
    for paper, tags in (("a4", ("en", "es", "ar", "ja")), ("a5", ("en",)), ("letter", ("en",))):
        wanted = [word for tag in tags for word in ("--locale", tag)]
        result = CliRunner().invoke(main, ["leaflet", demo, *wanted, "--paper", paper, "--out", str(folder)])
        assert result.exit_code == 0, result.output
    return {(name[1], name[2]): file.read_bytes() for file in folder.glob("*.pdf") for name in [file.name.split(".")]}


@pytest.fixture(scope="session")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    """A browser without a window, new and empty, that keeps a log of what it asks for and complains about."""
    from selenium.webdriver import Chrome, ChromeOptions, ChromeService  # noqa: PLC0415

    # The typesetter hides the machine's fonts from its own process; a browser without any cannot start.
    surroundings = {name: value for name, value in os.environ.items() if name != "FONTCONFIG_FILE"}
    options = ChromeOptions()
    program, driver_program = shutil.which("chromium"), shutil.which("chromedriver")
    assert program, "build/setup installs it"
    assert driver_program, "build/setup installs it"
    options.binary_location = program
    for switch in (
        "headless", "no-sandbox", "disable-gpu", "disable-quic", "no-first-run", "disable-background-networking",
        "disable-component-update", "disable-sync", "hide-scrollbars", "force-device-scale-factor=1",
        f"user-data-dir={tmp_path_factory.mktemp('browser')}",
    ):  # fmt: skip
        options.add_argument(f"--{switch}")
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    driver = Chrome(options=options, service=ChromeService(driver_program, env=surroundings))
    yield driver
    driver.quit()
