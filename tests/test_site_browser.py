"""The web catalogue as a reader has it: opened from a folder in a browser, without any server or network."""

import json
from collections.abc import Iterator
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.support.ui import Select, WebDriverWait

from pipeline.catalogue.make import Shelf, subject_of
from pipeline.catalogue.site import make_site
from pipeline.files import check_file
from pipeline.language.locales import load_locales
from pipeline.language.speech import load_speech
from pipeline.publisher import Publisher
from pipeline.symbols import SymbolSet
from pipeline.workspace import shipped

PATTERNS = Path(__file__).resolve().parent.parent / "patterns"
TAGS = ("en", "ar", "ja", "es-PY", "zh-Hans")
DEMOS = ("first-frost", "low-sun", "night-heron")
CHECKER = files("axe_core_python").joinpath("axe.min.js").read_text(encoding="utf-8")
"""An independent checker of accessibility (axe-core, MPL-2.0); only tests use it."""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory, symbols: SymbolSet) -> Path:
    """A site of three demos in five languages, with files to have in one."""
    place = tmp_path_factory.mktemp("site")
    publisher = Publisher(publisher="Trial Press", address="https://example.org/trial")
    shelf = Shelf(symbols, publisher, (shipped("locales"),), ())
    subjects = [subject_of(check_file(PATTERNS / f"{demo}.yaml"), shelf) for demo in DEMOS]
    locales = load_locales(shelf.catalogues)
    speeches = [load_speech(shelf.catalogues, locales[tag]) for tag in TAGS]
    for name, data in make_site(subjects, speeches, {("night-heron", "en"): [("a4", "pdf/heron.pdf")]}):
        (place / name).parent.mkdir(exist_ok=True)
        (place / name).write_bytes(data)
    return place


@pytest.fixture
def reader(browser: Any) -> Iterator[Any]:
    """The browser as wide as a small laptop, on a light ground, with motion, and nothing logged."""
    see(browser, 1200)
    browser.get_log("performance")
    browser.get_log("browser")
    yield browser
    browser.execute_script("try { localStorage.clear() } catch {}")
    see(browser, 1200)


def see(browser: Any, width: int, scheme: str = "light", motion: str = "no-preference") -> None:
    """Look at pages in a window of another width, in light or dark, with motion or without."""
    size = {"width": width, "height": 800, "deviceScaleFactor": 1, "mobile": width < 600}
    browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", size)
    wanted = {"prefers-color-scheme": scheme, "prefers-reduced-motion": motion}
    features = [{"name": name, "value": value} for name, value in wanted.items()]
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": features})


def said(browser: Any) -> list[str]:
    """What the console says."""
    return [entry["message"] for entry in browser.get_log("browser")]


def shown(browser: Any) -> list[str]:
    """The patterns whose cards are seen."""
    cards = browser.find_elements(By.CSS_SELECTOR, ".card")
    links = [card.find_element(By.TAG_NAME, "a").get_attribute("href") for card in cards if card.is_displayed()]
    return [str(link).rpartition("/")[2].removesuffix(".html") for link in links]


def picture(browser: Any) -> str:
    """The player's picture as it is seen: of every path that is not hidden how far it is drawn, and where the thread ends."""
    drawn: str = browser.execute_script(
        "return [...document.querySelectorAll('.loom > *:not([hidden])')]"
        ".map(e => [e.tagName, e.getAttribute('stroke-dashoffset'), e.getAttribute('d'), e.getAttribute('cx')].join()).join()"
    )
    return drawn


def texts(browser: Any) -> tuple[str, str]:
    """What the player says: the part, and the thread used."""
    part, used = browser.find_elements(By.CSS_SELECTOR, ".now > *")
    return part.text, used.text


def test_searching_and_choosing_leave_what_matches(folder: Path, reader: Any) -> None:
    """Words in any order, accents or none; shape, level, technique and size, alone and together; the count is said."""
    reader.get((folder / "en" / "index.html").as_uri())
    assert shown(reader) == list(DEMOS)
    status = reader.find_element(By.CSS_SELECTOR, "[role=status]")
    assert status.text == "3 patterns"
    search = reader.find_element(By.ID, "search")
    for typed, found in (("FROST", 1), ("knots  hálf-circle", 1), ("tq-03", 1), ("zebra", 0), ("", 3)):
        search.clear()
        search.send_keys(typed or " ", Keys.ENTER)
        assert len(shown(reader)) == found, typed
        assert status.text == {0: "Nothing matches.", 1: "1 pattern", 3: "3 patterns"}[found]
    for name, value, found in (
        ("shape", "half-circle", ["low-sun"]), ("level", "1", ["first-frost"]), ("size", "80", ["first-frost"]),
        ("stitch", "darn", list(DEMOS)),
    ):  # fmt: skip
        choice = Select(reader.find_element(By.ID, name))
        choice.select_by_value(value)
        assert shown(reader) == found
        choice.select_by_visible_text("All")
    Select(reader.find_element(By.ID, "shape")).select_by_value("circle")
    search.send_keys("feathers")
    assert shown(reader) == ["night-heron"]
    assert said(reader) == []


def test_words_are_found_in_any_script(folder: Path, reader: Any) -> None:
    """A part of a title in Arabic without its vowel marks, in Japanese without spaces."""
    for tag, typed, found in (("ar", "الصقيع", "first-frost"), ("ja", "五位", "night-heron")):
        reader.get((folder / tag / "index.html").as_uri())
        reader.find_element(By.ID, "search").send_keys(typed)
        assert shown(reader) == [found]


def test_a_language_is_changed_on_the_same_page(folder: Path, reader: Any) -> None:
    """By keyboard: the list opens, its links lead to the same pattern, and back to the gallery of that language."""
    reader.get((folder / "en" / "night-heron.html").as_uri())
    summary = reader.find_element(By.TAG_NAME, "summary")
    summary.send_keys(Keys.ENTER)
    link = reader.find_element(By.CSS_SELECTOR, ".tongues a[hreflang=ar]")
    assert link.is_displayed()
    link.send_keys(Keys.ENTER)
    assert reader.current_url == (folder / "ar" / "night-heron.html").as_uri()
    assert reader.execute_script("return getComputedStyle(document.body).direction") == "rtl"
    reader.find_element(By.CSS_SELECTOR, ".site a").click()
    assert reader.current_url == (folder / "ar" / "index.html").as_uri()


@pytest.mark.parametrize(
    ("asked", "tag"),
    [
        (["ja"], "ja"),
        (["fi", "es-MX", "ja"], "es-PY"),
        (["zh-CN"], "zh-Hans"),
        (["en-GB"], "en"),
        (["zh-TW", "fi"], ""),
    ],
)
def test_the_first_page_goes_to_the_reader_s_language(folder: Path, reader: Any, asked: list[str], tag: str) -> None:
    """The first one asked for that is there, in its script; where none is, the links stay."""
    source = f"Object.defineProperty(navigator, 'languages', {{get: () => {json.dumps(asked)}}})"
    added = reader.execute_cdp_cmd("Page.addScriptToEvaluateOnNewDocument", {"source": source})
    try:
        reader.get((folder / "index.html").as_uri())
        wanted = (folder / tag / "index.html").as_uri()
        WebDriverWait(reader, 5).until(lambda browser: browser.current_url == wanted)
        if not tag:
            assert len(reader.find_elements(By.CSS_SELECTOR, "a[hreflang]")) == len(TAGS)
    finally:
        reader.execute_cdp_cmd("Page.removeScriptToEvaluateOnNewDocument", added)
    assert said(reader) == []


def test_the_slider_draws_the_thread_by_keyboard(folder: Path, reader: Any) -> None:
    """Home is before the laying, every stop changes the picture, the texts go from part to part, End is the finished lace."""
    reader.get((folder / "en" / "night-heron.html").as_uri())
    slider = reader.find_element(By.CSS_SELECTOR, "[type=range]")
    finished, last = picture(reader), texts(reader)
    assert last[0].startswith("6 · Loop edge")
    slider.send_keys(Keys.HOME)
    assert texts(reader) == ("Lay the web", "Thread used so far: 0 mm")
    seen, parts, lengths = {picture(reader)}, [texts(reader)[0]], [texts(reader)[1]]
    most = int(slider.get_attribute("max") or 0)
    for _ in range(most):
        slider.send_keys(Keys.ARROW_RIGHT)
        seen.add(picture(reader))
        part, used = texts(reader)
        assert (slider.get_attribute("aria-valuetext") or "").replace("\u00a0", " ") == f"{part} · {used}"
        parts, lengths = [*parts, part], [*lengths, used]
    assert len(seen) == most + 1
    names = list(dict.fromkeys(parts))
    assert [name[:1] for name in names] == ["L", "1", "2", "3", "4", "5", "6"]
    assert lengths[-1] == last[1] == "Thread used so far: 9.2 m"
    assert picture(reader) == finished
    assert said(reader) == []


def test_buttons_leap_from_round_to_round(folder: Path, reader: Any) -> None:
    """Back to where the round before ended, and on again; they are reached by Tab and say what they do."""
    reader.get((folder / "en" / "first-frost.html").as_uri())
    slider = reader.find_element(By.CSS_SELECTOR, "[type=range]")
    back, play, onward = reader.find_elements(By.CSS_SELECTOR, ".keys button")
    assert [button.accessible_name for button in (back, play, onward)] == ["Previous round", "Play", "Next round"]
    assert slider.accessible_name == "Follow the thread"
    slider.send_keys(Keys.TAB)
    assert reader.switch_to.active_element == back
    reached = []
    for _ in range(5):
        back.send_keys(Keys.SPACE)
        reached.append(texts(reader)[0][:1])
    assert reached == ["3", "2", "1", "L", "L"]
    assert slider.get_property("value") == "0"
    for _ in range(2):
        onward.send_keys(Keys.ENTER)
    assert texts(reader)[0].startswith("1 · ")


def test_it_plays_only_when_asked_and_where_motion_is_welcome(folder: Path, reader: Any) -> None:
    """Play moves the slider until it is paused; where motion is reduced there is no such button and the slider still draws."""
    reader.get((folder / "en" / "first-frost.html").as_uri())
    slider = reader.find_element(By.CSS_SELECTOR, "[type=range]")
    play = reader.find_element(By.CSS_SELECTOR, ".play")
    most = slider.get_property("value")
    reader.execute_script("arguments[0].scrollIntoView({block: 'center'})", play)
    before = picture(reader)
    assert (slider.get_property("value"), picture(reader)) == (most, before)
    play.click()
    assert play.accessible_name == "Pause"
    WebDriverWait(reader, 5).until(lambda _: 2 <= int(slider.get_property("value")) < int(most))
    play.click()
    assert play.accessible_name == "Play"
    paused = picture(reader)
    assert paused != before
    assert picture(reader) == paused
    play.click()
    see(reader, 1200, motion="reduce")
    WebDriverWait(reader, 5).until(lambda _: not play.is_displayed())
    still = picture(reader)
    slider.send_keys(Keys.HOME)
    assert picture(reader) != still
    reader.refresh()
    assert not reader.find_element(By.CSS_SELECTOR, ".play").is_displayed()
    assert reader.find_element(By.CSS_SELECTOR, "[type=range]").is_displayed()
    assert said(reader) == []


def test_from_right_to_left_controls_are_mirrored_and_the_lace_is_not(folder: Path, reader: Any) -> None:
    """The slider begins on the right and the keys stand in that order; the way itself is drawn clockwise as everywhere."""
    drawn = {}
    for tag in ("en", "ar"):
        reader.get((folder / tag / "low-sun.html").as_uri())
        lefts = [key.rect["x"] for key in reader.find_elements(By.CSS_SELECTOR, ".keys button")]
        assert lefts == sorted(lefts, reverse=tag == "ar")
        drawn[tag] = picture(reader)
        matrix = "const m = document.querySelector('.loom').getScreenCTM(); return m.a * m.d - m.b * m.c > 0"
        assert reader.execute_script(matrix)
    assert drawn["en"] == drawn["ar"]


def test_ticks_are_kept_as_on_the_leaflet_for_screens(folder: Path, reader: Any) -> None:
    """The player's buttons are none of the one that clears them."""
    reader.get((folder / "en" / "first-frost.html").as_uri())
    reader.execute_script("arguments[0].click()", reader.find_element(By.CSS_SELECTOR, "[data-step='1']"))
    reader.execute_script("arguments[0].click()", reader.find_element(By.CSS_SELECTOR, ".back"))
    reader.refresh()
    assert reader.find_element(By.CSS_SELECTOR, "[data-step='1']").is_selected()
    reader.execute_script("arguments[0].click()", reader.find_element(By.CSS_SELECTOR, ".clear button"))
    assert not reader.find_element(By.CSS_SELECTOR, "[data-step='1']").is_selected()


@pytest.mark.parametrize("page", ["index.html", "night-heron.html"])
def test_nothing_is_wider_than_the_smallest_telephone(folder: Path, reader: Any, page: str) -> None:
    """At 320 px no page scrolls sideways in any language, also with the list of languages open."""
    see(reader, 320)
    for tag in TAGS:
        reader.get((folder / tag / page).as_uri())
        reader.find_element(By.TAG_NAME, "summary").click()
        assert reader.execute_script("return document.documentElement.scrollWidth") == 320, tag
        wide = "return [...document.querySelectorAll('body *')].filter(e => e.checkVisibility() && !e.closest('svg *, thead, .definitions, .wide') && (e.getBoundingClientRect().right > 321 || e.getBoundingClientRect().left < -1)).map(e => e.outerHTML.slice(0, 80))"
        assert reader.execute_script(wide) == [], tag
    assert said(reader) == []


def test_without_a_script_there_is_a_plain_list(folder: Path, reader: Any) -> None:
    """All cards with their links; neither the form nor the player is there to be seen."""
    reader.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": True})
    try:
        reader.get((folder / "en" / "index.html").as_uri())
        assert shown(reader) == list(DEMOS)
        assert not reader.find_element(By.CSS_SELECTOR, ".choices").is_displayed()
        reader.get((folder / "index.html").as_uri())
        assert len(reader.find_elements(By.CSS_SELECTOR, "a[hreflang]")) == len(TAGS)
        reader.get((folder / "en" / "night-heron.html").as_uri())
        assert not reader.find_element(By.CSS_SELECTOR, ".way").is_displayed()
        assert reader.find_element(By.CSS_SELECTOR, ".downloads a").is_displayed()
    finally:
        reader.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": False})


@pytest.mark.parametrize("page", ["en/index.html", "ar/night-heron.html"])
def test_all_that_is_asked_for_lies_in_the_folder(folder: Path, reader: Any, page: str) -> None:
    """The page, its style, its scripts and its pictures, and data it holds; every one of them arrives."""
    reader.get((folder / page).as_uri())
    events = [json.loads(entry["message"])["message"] for entry in reader.get_log("performance")]
    asked = {event["params"]["request"]["url"] for event in events if event["method"] == "Network.requestWillBeSent"}
    assert {url for url in asked if not url.startswith((folder.as_uri(), "data:"))} == set()
    assert sum("/assets/" in url for url in asked) >= 4
    assert not [event for event in events if event["method"] == "Network.loadingFailed"]
    assert said(reader) == []


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("page", ["index.html", "en/index.html", "ar/index.html", "en/night-heron.html"])
def test_an_independent_checker_has_nothing_to_object(folder: Path, reader: Any, page: str, scheme: str) -> None:
    """WCAG 2.2 A and AA and good practice by axe-core, in light and dark, with the list of languages open: nothing at all."""
    see(reader, 1200, scheme)
    source = "Object.defineProperty(navigator, 'languages', {get: () => []})"
    added = reader.execute_cdp_cmd("Page.addScriptToEvaluateOnNewDocument", {"source": source})
    reader.get((folder / page).as_uri())
    reader.execute_cdp_cmd("Page.removeScriptToEvaluateOnNewDocument", added)
    reader.execute_script("document.querySelector('details')?.toggleAttribute('open')")
    reader.execute_script(CHECKER)
    found = reader.execute_async_script(
        "axe.run(document, {resultTypes: ['violations']}).then(arguments[arguments.length - 1])"
    )
    assert found["passes"]
    assert [(each["id"], each["impact"], each["nodes"][0]["html"][:120]) for each in found["violations"]] == []
