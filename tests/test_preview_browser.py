"""The preview as a designer has it: a file is edited on disk, and a browser beside it shows what became of it."""

import json
import os
import re
import shutil
import statistics
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.support.ui import Select, WebDriverWait

ROOT = Path(__file__).resolve().parent.parent
CHECKER = files("axe_core_python").joinpath("axe.min.js").read_text(encoding="utf-8")
"""An independent checker of accessibility (axe-core, MPL-2.0); only tests use it."""
PATIENCE_S = 60
FAR = """spokeleaf: 1
id: far-reach
title: Far Reach
language: en
level: 2
edition: {number: 1, date: 2026-10-05}
loom: {shape: circle, diameter: 88 mm, pins: 48}
threads:
  A: {fibre: linen, nm: 16, colour: "#b9975b", colour_name: wet sand}
rounds:
  - darn: {}
  - knot: {rays: 8}
    at: 14 mm
  - knot: {rays: 12, shift: 4}
    gap: 8 mm
  - knot: {rays: 8, shift: 6}
    gap: 8 mm
"""
"""A pattern some of whose threads are short and some cannot reach."""


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A workspace with three demos, one that does not reach, and one whose texts are hostile."""
    folder = tmp_path_factory.mktemp("lace")
    (folder / "patterns").mkdir()
    for demo in ("first-frost", "low-sun", "night-heron"):
        shutil.copy(ROOT / "patterns" / f"{demo}.yaml", folder / "patterns")
    (folder / "patterns" / "far-reach.yaml").write_text(FAR)
    return folder


@pytest.fixture(autouse=True)
def _as_it_was(place: Path) -> Iterator[None]:
    """Whatever a test does to the workspace, the next one finds it as it was."""
    before = {file: file.read_text() for file in (place / "patterns").iterdir()}
    yield
    for file in (place / "patterns").iterdir():
        if file not in before:
            file.unlink()
        elif file.read_text() != before[file]:
            file.write_text(before[file])
    shutil.rmtree(place / "locales", ignore_errors=True)


@pytest.fixture(scope="module")
def address(place: Path) -> Iterator[str]:
    """The preview of the workspace, at any free port."""
    command = [sys.executable, "-m", "pipeline", "preview", str(place), "--port", "0", "--no-open"]
    surroundings = os.environ | {"PYTHONPATH": str(ROOT), "PYTHONUNBUFFERED": "1"}
    process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=surroundings)
    assert process.stdout is not None
    yield process.stdout.readline().split()[0]
    process.terminate()
    process.communicate(timeout=PATIENCE_S)
    assert process.returncode == 0


@pytest.fixture
def reader(browser: Any) -> Iterator[Any]:
    """The browser as wide as a laptop, on a light ground, and nothing logged."""
    see(browser, 1280)
    browser.get("about:blank")
    browser.get_log("performance")
    browser.get_log("browser")
    yield browser
    browser.get("about:blank")
    see(browser, 1200)


def see(browser: Any, width: int, scheme: str = "light") -> None:
    """Look at pages in a window of another width, in light or dark."""
    size = {"width": width, "height": 800, "deviceScaleFactor": 1, "mobile": width < 600}
    browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", size)
    features = [{"name": "prefers-color-scheme", "value": scheme}]
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": features})


def until(browser: Any, is_so: Callable[[], Any]) -> Any:
    """What is waited for, once it is so."""
    return WebDriverWait(browser, PATIENCE_S, 0.02).until(lambda _: is_so())


def wholes(browser: Any) -> int:
    """How many times all pages have been shown."""
    return int(browser.execute_script("return document.body.dataset.whole ?? 0"))


def opened(browser: Any, address: str, query: str, *, whole: bool = True) -> None:
    """Open the page and wait for all it shows."""
    browser.get(f"{address}?{query}")
    if whole:
        until(browser, lambda: wholes(browser))


def pages(browser: Any, side: int = 0) -> list[str]:
    """The pictures of pages that are seen."""
    script = "return [...document.querySelectorAll(`#side-${arguments[0]} img`)].map(e => e.getAttribute('src'))"
    found: list[str] = browser.execute_script(script, side)
    return found


def text(browser: Any, element_id: str) -> str:
    """What an element says."""
    return str(browser.find_element(By.ID, element_id).text)


def said(browser: Any) -> list[str]:
    """What the console says."""
    return [entry["message"] for entry in browser.get_log("browser")]


def test_a_save_is_seen_within_half_a_second(
    place: Path, address: str, reader: Any, capsys: pytest.CaptureFixture[str]
) -> None:
    """Every save of one value changes the first page and, when it has to, the others; the median is printed."""
    opened(reader, address, "pattern=night-heron&locale=en")
    file = place / "patterns" / "night-heron.yaml"
    told, took = file.read_text(), []
    assert "gap: 6 mm" in told
    for number in range(7):
        before = pages(reader)
        file.write_text(told.replace("gap: 6 mm", f"gap: 6.{number + 1} mm", 1))
        began = time.perf_counter()
        until(reader, lambda: pages(reader)[0] != before[0])  # noqa: B023
        took.append((time.perf_counter() - began) * 1000)
        count = wholes(reader)
        until(reader, lambda: wholes(reader) > count)  # noqa: B023
        until(reader, lambda: all(a != b for a, b in zip(pages(reader)[2:4], before[2:4], strict=True)))  # noqa: B023
    file.write_text(told)
    with capsys.disabled():
        print(  # noqa: T201 - the figure is for people
            f"\nsave to first page seen: median {statistics.median(took):.0f} ms of {len(took)}, {sorted(map(round, took))}"
        )
    assert said(reader) == []


def test_a_broken_file_says_where_and_its_pages_stay(place: Path, address: str, reader: Any) -> None:
    """Line, column, what is wrong and what to do; mended, all is as it was. Whoever listens hears of it."""
    opened(reader, address, "pattern=first-frost&locale=en")
    file = place / "patterns" / "first-frost.yaml"
    told, before = file.read_text(), pages(reader)
    lines = told.splitlines()
    line = next(number for number, each in enumerate(lines, 1) if "knot: {rays: 4" in each)
    column = lines[line - 1].index("rays: 4") + 7
    assert text(reader, "status") == "No problems"
    file.write_text(told.replace("rays: 4", "rays: 7", 1))
    until(reader, lambda: text(reader, "status").startswith("1 error"))
    assert text(reader, "status") == f"1 error: line {line}, column {column}"
    assert reader.find_element(By.ID, "status").get_attribute("role") == "status"
    problem = reader.find_element(By.CSS_SELECTOR, "#found li")
    assert problem.text.startswith(f"✕\n{line}:{column}error: groups of 7 do not divide")
    assert problem.find_element(By.TAG_NAME, "mark").text == "7"
    assert "groups of" in problem.find_element(By.CLASS_NAME, "hint").text
    assert pages(reader) == before
    assert reader.find_element(By.ID, "held").is_displayed()
    file.write_text("spokeleaf: [")
    until(reader, lambda: text(reader, "stretch-said") == "From before the errors.")
    assert text(reader, "title") == "First Frost"
    assert reader.find_elements(By.CSS_SELECTOR, "#stretch .ray")
    assert reader.find_elements(By.CSS_SELECTOR, "#threads tr")
    assert pages(reader) == before
    file.write_text(told.replace("rays: 4", "rays: 7", 1))
    reader.refresh()
    until(reader, lambda: pages(reader) == before)
    assert text(reader, "held") == "These pages are from before the errors."
    file.write_text(told)
    until(reader, lambda: text(reader, "status") == "No problems" and wholes(reader))
    assert pages(reader)[1:] == before[1:]
    assert not reader.find_element(By.ID, "held").is_displayed()
    assert said(reader) == []


def test_the_stretch_map_is_turned_round_by_round(address: str, reader: Any) -> None:
    """By keyboard; what is too much is told by class, by marks and in words; there are no pages, and that is said."""
    opened(reader, address, "pattern=far-reach&locale=en", whole=False)
    until(reader, lambda: reader.find_elements(By.CSS_SELECTOR, "#stretch .ray.beyond"))
    assert len(reader.find_elements(By.CSS_SELECTOR, "#stretch .ray")) == 96
    assert re.fullmatch(
        r"All rounds: at most \d\.\d\d, of ray \d+; \d+ rays over 1, \d+ rays over 2\.", text(reader, "stretch-said")
    )
    assert reader.find_elements(By.CSS_SELECTOR, "#stretch .mark.over")
    assert "There are no pages yet" in text(reader, "held")
    slider = reader.find_element(By.ID, "round")
    assert slider.accessible_name == "Round"
    seen, map_said = [], "return document.querySelector('#stretch svg').getAttribute('aria-label')"
    for _ in range(4):
        before = reader.execute_script(map_said)
        slider.send_keys(Keys.ARROW_RIGHT)
        until(
            reader,
            lambda: before != reader.execute_script(map_said),  # noqa: B023
        )
        seen.append(
            (slider.get_attribute("aria-valuetext"), len(reader.find_elements(By.CSS_SELECTOR, "#stretch .beyond.ray")))
        )
    assert [name for name, _ in seen] == ["1 · Darning", "2 · Knot", "3 · Knot", "4 · Knot"]
    assert [beyond > 0 for _, beyond in seen] == [False, False, False, True]
    assert said(reader) == []


def test_what_is_tried_is_seen_and_written_to_a_new_file(place: Path, address: str, reader: Any) -> None:
    """By keyboard: more pins, the pages change and the file does not; a name that is taken is refused, a new one shown."""
    opened(reader, address, "pattern=first-frost&locale=en")
    file, before = place / "patterns" / "first-frost.yaml", pages(reader)
    told = file.read_text()
    pins = reader.find_element(By.ID, "knob-pins")
    assert pins.accessible_name == "Pins"
    assert not reader.find_element(By.ID, "writing").is_displayed()
    for _ in range(6):
        pins.send_keys(Keys.ARROW_RIGHT)
    until(reader, lambda: pages(reader)[0] != before[0])
    assert reader.execute_script("return document.activeElement.id") == "knob-pins"
    assert text(reader, "said-pins") == "48 (file: 36)"
    assert "pins=48" in reader.current_url
    name = reader.find_element(By.ID, "new-id")
    for wrong, words in (("../outside", "small letters"), ("low-sun", "low-sun.yaml already")):
        name.clear()
        name.send_keys(wrong, Keys.ENTER)
        until(reader, lambda: words in text(reader, "written"))  # noqa: B023
    assert len(list(place.rglob("*.yaml"))) == 4
    name.clear()
    name.send_keys("second-frost", Keys.ENTER)
    until(reader, lambda: text(reader, "title") == "First Frost" and "pattern=second-frost" in reader.current_url)
    until(reader, lambda: reader.execute_script("return document.getElementById('pattern').value") == "second-frost")
    assert "pins: 48" in (place / "patterns" / "second-frost.yaml").read_text()
    assert file.read_text() == told
    (place / "patterns" / "second-frost.yaml").unlink()
    until(reader, lambda: "there is no such file" in text(reader, "found") or "1 error" in text(reader, "status"))


def test_two_languages_side_by_side_and_from_right_to_left(address: str, reader: Any) -> None:
    """Chosen by their labels; pages of Arabic run from the right, those of English from the left."""
    see(reader, 1900)
    opened(reader, address, "pattern=first-frost&locale=ar")
    first, second = (page.rect for page in reader.find_elements(By.CSS_SELECTOR, "#side-0 li")[:2])
    assert first["x"] > second["x"]
    assert first["y"] == second["y"]
    beside = reader.find_element(By.XPATH, "//label[text()='Beside it']/following-sibling::select")
    Select(beside).select_by_value("en")
    until(reader, lambda: len(pages(reader, 1)) > 4)
    lists = reader.find_elements(By.CSS_SELECTOR, ".sheets")
    assert [(each.get_attribute("lang"), each.get_attribute("dir")) for each in lists] == [("ar", "rtl"), ("en", "ltr")]
    tops = [each.find_element(By.TAG_NAME, "img").rect["y"] for each in lists]
    assert tops[0] == tops[1]
    picture = reader.find_element(By.CSS_SELECTOR, "#side-0 img")
    assert re.fullmatch(r"Page 1 of \d+: .*[\u0600-\u06ff].*", picture.get_attribute("alt") or "")
    Select(reader.find_element(By.ID, "paper")).select_by_value("a5")
    until(reader, lambda: "paper=a5" in reader.current_url and picture.get_dom_attribute("width") == "840")
    assert said(reader) == []


def test_a_translator_s_save_is_seen(place: Path, address: str, reader: Any) -> None:
    """Also the first one, into a folder that was not there."""
    opened(reader, address, "pattern=low-sun&locale=es")
    before = pages(reader)
    po = place / "locales" / "es" / "LC_MESSAGES" / "patterns.po"
    po.parent.mkdir(parents=True)
    head = 'msgid ""\nmsgstr ""\n"Language: es\\n"\n"Content-Type: text/plain; charset=utf-8\\n"\n\n'
    po.write_text(head + 'msgctxt "low-sun"\nmsgid "Low Sun"\nmsgstr "Sol Nuevo"\n', encoding="utf-8")
    until(reader, lambda: pages(reader)[0] != before[0])
    assert reader.find_element(By.CSS_SELECTOR, "#side-0 img").get_attribute("alt").endswith("Sol Nuevo")
    shutil.rmtree(place / "locales")
    until(reader, lambda: pages(reader)[1:] == before[1:])


def test_hostile_texts_are_text(place: Path, address: str, reader: Any) -> None:
    """In the title, the names of colours, and the lines that problems quote."""
    hostile = "</script><img src=x onerror=alert(1)>"
    file = place / "patterns" / "hostile.yaml"
    file.write_text(
        FAR.replace("far-reach", "hostile").replace("Far Reach", f'"{hostile}"').replace("wet sand", f'"{hostile}"')
    )
    opened(reader, address, "pattern=hostile&locale=en", whole=False)
    until(reader, lambda: text(reader, "title") == hostile)
    assert hostile in text(reader, "threads")
    file.write_text(f"spokeleaf: 1\n{hostile}: {hostile}\n")
    until(reader, lambda: hostile in text(reader, "found"))
    assert reader.execute_script("return document.querySelectorAll('img[src=x], img[onerror]').length") == 0
    file.unlink()
    assert said(reader) == []


def test_everything_is_reached_by_keyboard_and_seen(address: str, reader: Any) -> None:
    """Tab goes from the choices over pages to what can be turned; every stop has a name and a visible ring."""
    opened(reader, address, "pattern=first-frost&locale=en")
    reader.execute_script("document.body.focus()")
    stops = []
    for _ in range(40):
        reader.switch_to.active_element.send_keys(Keys.TAB)
        stop = reader.switch_to.active_element
        if stop.tag_name == "body":
            break
        ring = reader.execute_script(
            "const s = getComputedStyle(arguments[0]); return `${s.outlineStyle} ${s.outlineWidth}`", stop
        )
        stops.append((stop.get_attribute("id") or stop.tag_name, stop.accessible_name, ring))
    assert all(name for _, name, _ in stops), stops
    assert {ring for _, _, ring in stops} == {"solid 3px"}
    found = [stop for stop, _, _ in stops]
    for wanted in (
        "pattern",
        "locale",
        "beside",
        "paper",
        "round",
        "knob-pins",
        "knob-diameter",
        "knob-thread-A",
        "threads-wide",
    ):
        assert wanted in found
    assert found.count("a") >= 8


@pytest.mark.parametrize("query", ["pattern=first-frost&locale=ar&locale=en", "pattern=far-reach&locale=en"])
def test_nothing_is_wider_than_the_smallest_telephone(address: str, reader: Any, query: str) -> None:
    """At 320 px the page does not scroll sideways."""
    see(reader, 320)
    opened(reader, address, query, whole="far" not in query)
    until(reader, lambda: reader.find_elements(By.CSS_SELECTOR, "#stretch svg"))
    assert reader.execute_script("return document.documentElement.scrollWidth") == 320


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("query", ["pattern=first-frost&locale=ar&locale=en&pins=48", "pattern=far-reach&locale=en"])
def test_an_independent_checker_has_nothing_to_object(address: str, reader: Any, query: str, scheme: str) -> None:
    """WCAG 2.2 A and AA and good practice by axe-core, in light and dark: nothing at all."""
    see(reader, 1280, scheme)
    opened(reader, address, query, whole="far" not in query)
    until(reader, lambda: reader.find_elements(By.CSS_SELECTOR, "#stretch svg"))
    reader.execute_script(CHECKER)
    found = reader.execute_async_script(
        "axe.run(document, {resultTypes: ['violations']}).then(arguments[arguments.length - 1])"
    )
    assert found["passes"]
    assert [(each["id"], each["impact"], each["nodes"][0]["html"][:160]) for each in found["violations"]] == []


def test_nothing_is_asked_of_elsewhere(address: str, reader: Any) -> None:
    """The page asks for its own style, script, stream and pictures, and for nothing else."""
    opened(reader, address, "pattern=first-frost&locale=en")
    events = [json.loads(entry["message"])["message"] for entry in reader.get_log("performance")]
    asked = {event["params"]["request"]["url"] for event in events if event["method"] == "Network.requestWillBeSent"}
    assert {url for url in asked if not url.startswith((address, "data:", "about:"))} == set()
    assert any("/sheet/" in url for url in asked)
    assert said(reader) == []
