"""The leaflet for screens as a reader has it: opened from a folder in a browser, without any network."""

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.remote.webelement import WebElement

from pipeline.cli import main

PATTERNS = Path(__file__).resolve().parent.parent / "patterns"
TAGS = ("en", "ar", "ja", "hi", "de")
DEMOS = ("night-heron", "drift-ice")


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Two demos in five languages and without words: one with many signs in its lines, one with a table of sizes."""
    place = tmp_path_factory.mktemp("screens")
    files = [str(PATTERNS / f"{demo}.yaml") for demo in DEMOS]
    for wanted in ([word for tag in TAGS for word in ("--locale", tag)], ["--wordless"]):
        result = CliRunner().invoke(main, ["leaflet", *files, "--html", *wanted, "--out", str(place)])
        assert result.exit_code == 0, result.output
    return place


@pytest.fixture
def reader(browser: Any) -> Iterator[Any]:
    """The browser as wide as a small laptop, on a light ground, with nothing kept and nothing logged."""
    see(browser, 1200)
    browser.get_log("performance")
    browser.get_log("browser")
    yield browser
    browser.execute_script("localStorage.clear()")


def see(browser: Any, width: int, scheme: str = "light") -> None:
    """Look at pages in a window of another width, and in light or dark."""
    size = {"width": width, "height": 800, "deviceScaleFactor": 1, "mobile": width < 600}
    browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", size)
    features = [{"name": "prefers-color-scheme", "value": scheme}]
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": features})


def boxes(browser: Any) -> list[WebElement]:
    """The boxes of all steps."""
    found: list[WebElement] = browser.find_elements(By.CSS_SELECTOR, "input[data-step]")
    return found


def ticked(browser: Any) -> list[str | None]:
    """The steps that are ticked."""
    return [box.get_attribute("data-step") for box in boxes(browser) if box.is_selected()]


def test_ticks_survive_a_reload_until_they_are_cleared(folder: Path, reader: Any) -> None:
    """Two steps by a click on their heading; the bar counts them; another language of the edition has them as well."""
    reader.get((folder / "night-heron.en.html").as_uri())
    assert ticked(reader) == []
    for name in ("glyph-lay", "2"):
        label = reader.find_element(By.XPATH, f"//label[input[@data-step='{name}']]/*[last()]")
        reader.execute_script("arguments[0].scrollIntoView({block: 'center'})", label)
        label.click()
    reader.refresh()
    assert ticked(reader) == ["glyph-lay", "2"]
    assert reader.find_element(By.TAG_NAME, "progress").get_property("value") == 2
    reader.get((folder / "night-heron.ar.html").as_uri())
    assert ticked(reader) == ["glyph-lay", "2"]
    reader.get((folder / "drift-ice.en.html").as_uri())
    assert ticked(reader) == []
    reader.get((folder / "night-heron.en.html").as_uri())
    button = reader.find_element(By.TAG_NAME, "button")
    reader.execute_script("arguments[0].scrollIntoView({block: 'center'})", button)
    button.click()
    assert ticked(reader) == []
    reader.refresh()
    assert ticked(reader) == []
    assert reader.find_element(By.TAG_NAME, "progress").get_property("value") == 0


@pytest.mark.parametrize("broken", ["{", '"2"', '["2", 7]', "null"])
def test_what_is_kept_need_not_be_ours(folder: Path, reader: Any, broken: str) -> None:
    """Something else under the same name: ticks are read from it or are none, and ticking goes on."""
    reader.get((folder / "night-heron.en.html").as_uri())
    reader.execute_script("localStorage.setItem('spokeleaf/night-heron/1', arguments[0])", broken)
    reader.refresh()
    assert ticked(reader) == (["2"] if "2" in broken else [])
    reader.execute_script("arguments[0].click()", boxes(reader)[0])
    assert json.loads(reader.execute_script("return localStorage.getItem('spokeleaf/night-heron/1')"))[0] == "glyph-lay"
    assert severe(reader) == []


def test_a_browser_that_keeps_nothing_can_tick(folder: Path, reader: Any) -> None:
    """Storage is refused: boxes and the bar work as long as the page is open."""
    refuse = (
        "Object.defineProperty(window, 'localStorage', {get() { throw new DOMException('refused', 'SecurityError') }})"
    )
    added = reader.execute_cdp_cmd("Page.addScriptToEvaluateOnNewDocument", {"source": refuse})
    try:
        reader.get((folder / "night-heron.en.html").as_uri())
        reader.execute_script("arguments[0].click()", boxes(reader)[1])
        assert ticked(reader) == ["1"]
        assert reader.find_element(By.TAG_NAME, "progress").get_property("value") == 1
        reader.execute_script("arguments[0].click()", reader.find_element(By.TAG_NAME, "button"))
        assert ticked(reader) == []
    finally:
        reader.execute_cdp_cmd("Page.removeScriptToEvaluateOnNewDocument", added)
        reader.get("data:,")
        reader.get((folder / "night-heron.en.html").as_uri())
    assert severe(reader) == []


def test_the_keyboard_reaches_every_box_and_ticks_it(folder: Path, reader: Any) -> None:
    """Tab goes through the boxes in their order and back again, Space ticks, and the bar hides nothing in focus."""
    reader.get((folder / "night-heron.en.html").as_uri())
    steps = [box.get_attribute("data-step") for box in boxes(reader)]
    covered = "const b = arguments[0].getBoundingClientRect(); return document.elementFromPoint(b.x + 8, b.y + 8) !== arguments[0]"
    reached: list[str] = []
    for key in (Keys.TAB, Keys.SHIFT + Keys.TAB):
        for _ in range(60):
            reader.switch_to.active_element.send_keys(key)
            focused = reader.switch_to.active_element
            if step := focused.get_attribute("data-step"):
                reached.append(step)
                focused.send_keys(Keys.SPACE)
                assert not reader.execute_script(covered, focused), step
            if focused.tag_name == "button" or (key != Keys.TAB and step == steps[0]):
                break
        assert ticked(reader) == (steps if key == Keys.TAB else [])
    assert reached == [*steps, *reversed(steps)]


@pytest.mark.parametrize("demo", DEMOS)
def test_nothing_is_wider_than_a_telephone(folder: Path, reader: Any, demo: str) -> None:
    """At 360 px no page scrolls sideways, in any language; charts are scaled, and text is 14 px or more."""
    see(reader, 360)
    for tag in (*TAGS, "wordless"):
        reader.get((folder / f"{demo}.{tag}.html").as_uri())
        assert reader.execute_script("return document.documentElement.scrollWidth") == 360, tag
        wide = "return [...document.querySelectorAll('main *')].filter(e => e.checkVisibility() && !e.closest('svg *, thead') && (e.getBoundingClientRect().right > 361 || e.getBoundingClientRect().left < -1)).map(e => e.outerHTML.slice(0, 80))"
        assert reader.execute_script(wide) == [], tag
        small = "return Math.min(...[...document.querySelectorAll('main :is(p, dd, dt, li, td, th, h3, span)')].map(e => parseFloat(getComputedStyle(e).fontSize)))"
        assert reader.execute_script(small) >= 14, tag
    assert severe(reader) == []


def test_steps_stand_beside_their_pictures_where_there_is_room(folder: Path, reader: Any) -> None:
    """At 1200 px words begin beside the picture, on its left in a language that runs to the left; at 360 px below it."""
    place = "const b = arguments[0].getBoundingClientRect(); return [b.left, b.right, b.top, b.bottom]"

    def places() -> list[list[float]]:
        step = reader.find_element(By.CSS_SELECTOR, ".step.pictured")
        parts = (step.find_element(By.CSS_SELECTOR, part) for part in (".fan", ".words"))
        return [reader.execute_script(place, part) for part in parts]

    for tag in ("en", "ar"):
        see(reader, 1200)
        reader.get((folder / f"night-heron.{tag}.html").as_uri())
        assert (
            reader.execute_script("return getComputedStyle(document.body).direction") == {"en": "ltr", "ar": "rtl"}[tag]
        )
        picture, words = places()
        assert (words[0] > picture[1]) if tag == "en" else (words[1] < picture[0])
        see(reader, 360)
        picture, words = places()
        assert words[2] > picture[3] - 1


def test_pictures_and_notation_are_no_mirror_images_in_any_language(folder: Path, reader: Any) -> None:
    """In Arabic the ladder's letters and a line's items lie from left to right as they do in English."""
    order = "return [...document.querySelector('.line').querySelectorAll('svg, .pair > span')].map(e => e.getBoundingClientRect().left)"
    matrix = "return [...document.querySelectorAll('.ladder use')].slice(0, 20).map(e => { const m = e.getScreenCTM(); return Math.sign(m.a * m.d - m.b * m.c) })"
    for tag in ("en", "ar"):
        reader.get((folder / f"night-heron.{tag}.html").as_uri())
        lefts = reader.execute_script(order)
        assert len(lefts) > 4
        assert lefts == sorted(lefts)
        assert set(reader.execute_script(matrix)) == {1}


def test_dark_and_light_can_both_be_read(folder: Path, reader: Any) -> None:
    """The ground follows the reader's scheme; every text has 4.5 to 1 on it, rays of the chart 3 to 1; linen stays."""
    grounds, linens = {}, set()
    for scheme in ("light", "dark"):
        see(reader, 1200, scheme)
        reader.get((folder / "night-heron.en.html").as_uri())
        reader.execute_script("arguments[0].click()", boxes(reader)[0])
        ground = reader.execute_script("return getComputedStyle(document.body).backgroundColor")
        colours = reader.execute_script(
            "return [...new Set([...document.querySelectorAll('body, main :is(h1, h2, p, span, dt, dd, b, li, a, th, td, button), footer *')].map(e => getComputedStyle(e).color))]"
        )
        grounds[scheme] = luminance(ground)
        assert len(colours) > 1
        assert min(contrast(colour, ground) for colour in colours) >= 4.5
        rays = reader.execute_script("return getComputedStyle(document.querySelector('.chart use')).stroke")
        assert contrast(rays, ground) >= 3
        linens.add(reader.execute_script("return getComputedStyle(document.querySelector('.portrait path')).fill"))
    assert grounds["light"] > 0.9
    assert grounds["dark"] < 0.05
    assert linens == {"rgb(233, 228, 218)"}


def test_on_paper_it_is_dark_on_light(folder: Path, reader: Any) -> None:
    """Printed by a reader who likes it dark: a white ground, and neither bar nor links to parts."""
    reader.get((folder / "night-heron.en.html").as_uri())
    features = [{"name": "prefers-color-scheme", "value": "dark"}]
    reader.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print", "features": features})
    ground = reader.execute_script("return getComputedStyle(document.body).backgroundColor")
    hidden = reader.execute_script(
        "return ['nav', '.ticks'].map(e => getComputedStyle(document.querySelector(e)).display)"
    )
    reader.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "", "features": features})
    assert luminance(ground) > 0.9
    assert hidden == ["none", "none"]


@pytest.mark.parametrize("name", ["night-heron.en", "drift-ice.ar", "night-heron.wordless"])
def test_nothing_is_asked_for_and_nothing_goes_wrong(folder: Path, reader: Any, name: str) -> None:
    """The file itself and data it holds are all that is loaded; the console stays empty."""
    file = (folder / f"{name}.html").as_uri()
    reader.get(file)
    reader.execute_script("arguments[0].click()", boxes(reader)[0])
    events = [json.loads(entry["message"])["message"] for entry in reader.get_log("performance")]
    asked = {event["params"]["request"]["url"] for event in events if event["method"] == "Network.requestWillBeSent"}
    assert file in asked
    assert {url for url in asked if not url.startswith("data:")} == {file}
    assert severe(reader) == []


def test_the_policy_is_kept(folder: Path, reader: Any) -> None:
    """A script, a style and a picture from elsewhere that are put into the page are refused by it."""
    reader.get((folder / "night-heron.en.html").as_uri())
    reader.execute_script(
        "document.body.insertAdjacentHTML('beforeend', '<p id=bad style=\"color: red\">x</p><img src=\"http://127.0.0.1:9/x.png\">');"
        "const s = document.createElement('script'); s.textContent = 'window.ran = true'; document.body.append(s);"
    )
    assert reader.execute_script("return window.ran") is None
    assert "255, 0, 0" not in reader.execute_script("return getComputedStyle(document.getElementById('bad')).color")
    said = " ".join(severe(reader))
    assert all(
        f"directive '{rule} " in said or f'directive: "{rule} ' in said
        for rule in ("style-src", "script-src", "img-src")
    )


def severe(browser: Any) -> list[str]:
    """What the console says."""
    return [entry["message"] for entry in browser.get_log("browser")]


def luminance(colour: str) -> float:
    """Relative luminance (WCAG 2.2) of a computed colour."""
    channels = [int(channel) / 255 for channel in re.findall(r"\d+", colour)[:3]]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """Contrast ratio (WCAG 2.2)."""
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)
