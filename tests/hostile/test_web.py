"""What others open: sites, files for screens, feeds for shops, the preview. No text in them runs, steers or asks for anything."""

import csv
import io
import json
import os
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import yaml
from selenium.webdriver.common.by import By
from selenium.webdriver.support.ui import WebDriverWait
from starlette.testclient import TestClient

from pipeline.catalogue.feeds import harmless
from pipeline.catalogue.make import Making
from pipeline.catalogue.screens import make_screens
from pipeline.catalogue.shelf import load_shelf
from pipeline.commands.showing import Showing
from pipeline.files import check_file
from pipeline.language.locales import load_locales
from pipeline.preview.room import Room
from pipeline.preview.server import Preview, make_app
from pipeline.preview.surroundings import Surroundings
from pipeline.preview.worker import Worker
from pipeline.workspace import Workspace, patterns_in, shipped
from tests.conftest import EXAMPLE
from tests.hostile.conftest import Write

ROOT = Path(__file__).resolve().parents[2]
PAYLOAD = (
    """</script></style></title></textarea><script>pwned=1</script><img src=x onerror=pwned=1><svg onload=pwned=1>"""
    """"'><b onmouseover=pwned=1 style=position:fixed;inset:0>x</b>]]>--> {{pwned=1}} ${pwned=1} javascript:pwned=1"""
)
"""Ends whatever it may stand in, and would leave a mark."""


def tree() -> dict[str, Any]:
    """The small pattern with the payload in every text that it may have."""
    thread = {"fibre": "cotton", "tex": 40, "colour": "#1b4f72", "colour_name": f"Colour {PAYLOAD}"}
    return dict(EXAMPLE) | {
        "title": f"=Title {PAYLOAD}", "summary": f"-Summary {PAYLOAD}", "sku": f"+Sku {PAYLOAD}",
        "tags": [f"@Tag {PAYLOAD}"], "tools": [f"Tool {PAYLOAD}"], "price": {"amount": "6.50", "currency": "EUR"},
        "threads": {"A": thread}, "holding_thread": thread,
        "rounds": [{"darn": {}, "note": f"Note {PAYLOAD}"}, {"own-tie": {"rays": 4}, "at": "15 mm"}],
        "corrections": [{"edition": 1, "text": f"Correction {PAYLOAD}"}],
        "links": [{"url": "https://example.org/?a=1&lt=2", "label": f"Label {PAYLOAD}"}],
        "sizes": [{"name": f"Size {PAYLOAD}", "loom": {"diameter": "60 mm", "pins": 24}}],
        "photos": [{"file": "a.png", "alt": f"Alt {PAYLOAD}"}],
    }  # fmt: skip


def symbol() -> dict[str, Any]:
    """A stitch of its own with the payload in every text."""
    found: dict[str, Any] = yaml.safe_load((shipped("symbols") / "knot.yaml").read_text(encoding="utf-8"))
    found |= {"stitch": "own-tie", "shows": f"Shows {PAYLOAD}"}
    found["texts"] |= {
        "name": f"Name {PAYLOAD}",
        "short": "ox",
        "do": f"Do {PAYLOAD}",
        "step": [{"text": f"Step {PAYLOAD.partition(' {{')[0]}"}],
    }
    found["panels"] = [panel | {"shows": f"Panel {PAYLOAD}"} for panel in found["panels"]]
    return found


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A workspace that says nothing but the payload, translated as well; its site and its file for screens."""
    from PIL import Image  # noqa: PLC0415

    folder = tmp_path_factory.mktemp("lace")
    for name in ("patterns", "symbols", "locales/es/LC_MESSAGES"):
        (folder / name).mkdir(parents=True)
    (folder / "patterns" / "trial.yaml").write_text(yaml.safe_dump(tree(), sort_keys=False), encoding="utf-8")
    (folder / "symbols" / "own-tie.yaml").write_text(yaml.safe_dump(symbol(), sort_keys=False), encoding="utf-8")
    publisher: dict[str, Any] = {key: f"{key} {PAYLOAD}" for key in ("publisher", "contact", "copyright", "licence")}
    publisher |= {"terms": ["name-publisher"], "address": "https://example.org/"}
    (folder / "patterns" / "publisher.yaml").write_text(yaml.safe_dump(publisher, sort_keys=False), encoding="utf-8")
    Image.new("RGB", (1100, 800), "#1b4f72").save(folder / "patterns" / "a.png")
    said = json.dumps(f"Translated {PAYLOAD}")
    entry = f'msgctxt "trial"\nmsgid {json.dumps(tree()["summary"])}\nmsgstr {said}\n'
    (folder / "locales/es/LC_MESSAGES/patterns.po").write_text(f'msgid ""\nmsgstr ""\n\n{entry}', encoding="utf-8")
    shelf, locales = load_shelf(Workspace(folder)), load_locales((shipped("locales"),))
    showing = Showing(shelf, {tag: locales[tag] for tag in ("en", "es")}, folder, patterns_in(folder))
    assert list(showing.build_site((), "https://example.org/lace/")) == []
    screens = make_screens(check_file(folder / "patterns" / "trial.yaml"), shelf, [locales["es"]], Making())
    (folder / "screen.html").write_bytes(next(screens).html or b"")
    return folder


@pytest.fixture(scope="module")
def preview(place: Path) -> Iterator[str]:
    """The address of a preview of it."""
    command = [sys.executable, "-m", "pipeline", "preview", str(place), "--port", "0", "--no-open"]
    surroundings = os.environ | {"PYTHONPATH": str(ROOT), "PYTHONUNBUFFERED": "1"}
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=surroundings) as process:
        assert process.stdout is not None
        yield process.stdout.readline().split()[0]
        process.terminate()


def visited(browser: Any, address: str, ready: str) -> str:
    """Whatever the page says once ``ready`` is true of it; nothing of the payload has run, or stands in it as an element."""
    browser.get(address)
    WebDriverWait(browser, 60, 0.02).until(lambda _: browser.execute_script(f"return {ready}"))
    for button in browser.find_elements(By.CSS_SELECTOR, "button"):
        if button.is_displayed():
            browser.execute_script("arguments[0].click()", button)
    ran, foreign, said = browser.execute_script(
        "return [typeof pwned, document.querySelectorAll('[onerror],[onload],[onmouseover],img[src=x],b[style],[href^=\"java\"]')"
        ".length, document.documentElement.outerHTML]"
    )
    assert (ran, foreign) == ("undefined", 0), address
    return str(said)


def test_no_text_runs_on_any_page(place: Path, preview: str, browser: Any) -> None:
    """Of the site, of a file for screens, of the preview; the browser is told to heed no policy, so that nothing else holds it."""
    browser.execute_cdp_cmd("Page.setBypassCSP", {"enabled": True})
    browser.get("about:blank")
    browser.get_log("browser")
    try:
        site = place / "site"
        for name in ("index.html", "en/index.html", "es/index.html", "en/trial.html", "es/trial.html"):
            said = visited(browser, (site / name).as_uri(), "document.readyState === 'complete'")
            assert "pwned" in said, name
        assert "pwned" in visited(browser, (place / "screen.html").as_uri(), "document.readyState === 'complete'")
        told = visited(browser, f"{preview}?pattern=trial&locale=en", "document.body.innerText.includes('pwned')")
        assert "pwned" in told
        assert [
            each["message"] for each in browser.get_log("browser") if "ERR_FILE_NOT_FOUND" not in each["message"]
        ] == []
    finally:
        browser.execute_cdp_cmd("Page.setBypassCSP", {"enabled": False})


def test_a_page_holds_what_was_written_and_nothing_that_came_of_it(place: Path) -> None:
    """Every text stands in the page of its pattern, escaped; scripts of data are data, those of ours are files with a hash."""
    site = place / "site"
    page = (site / "en" / "trial.html").read_text(encoding="utf-8")
    for words in ("=Title", "-Summary", "+Sku", "Tool", "Colour", "Note", "Correction", "Label", "Size", "Name", "Do", "Step",
                  "publisher", "contact", "copyright", "licence", "Alt"):  # fmt: skip
        assert f"{words} &lt;/script&gt;" in page, words
    assert "Translated &lt;/script&gt;" in (site / "es" / "trial.html").read_text(encoding="utf-8")
    for file in (*site.rglob("*.html"), place / "screen.html"):
        text = file.read_text(encoding="utf-8")
        assert "<script>pwned" not in text
        for attributes, inside in re.findall(r"<script([^>]*)>(.*?)</script>", text, re.DOTALL):
            if "json" in attributes:
                json.loads(inside)
            elif file.is_relative_to(site):
                assert (bool(re.search(r'src="(\.\./)?assets/[\w.-]+\.js"', attributes)), inside) == (True, "")


def test_data_for_programs_read_back_as_they_were_written(place: Path) -> None:
    """JSON for others, the map of the site, the manifest: sound, and of this site alone."""
    from xml.etree import ElementTree as ET  # noqa: PLC0415

    site = place / "site"
    (product,) = json.loads((site / "catalogue.json").read_text(encoding="utf-8"))["itemListElement"]
    assert product["sku"] == tree()["sku"]
    assert product["name"][0]["@value"] == tree()["title"]
    places = [element.text or "" for element in ET.parse(site / "sitemap.xml").iter() if element.tag.endswith("loc")]  # noqa: S314
    assert places
    assert all(re.fullmatch(r"https://example\.org/lace/e[ns]/(index|trial)\.html", each) for each in places)
    assert all(re.fullmatch(r"[\w./-]+", name) for name in json.loads((site / "manifest.json").read_text())["files"])


def test_no_cell_of_a_feed_is_worked_out(place: Path) -> None:
    """Titles, summaries, numbers of shops and tags that begin like formulas: behind an apostrophe, all of them there."""
    text = (place / "site" / "catalogue.csv").read_text(encoding="utf-8")
    lines = list(csv.DictReader(io.StringIO(text, newline=""), strict=True))
    assert [line["locale"] for line in lines] == ["en", "es"]
    for line in lines:
        assert not [cell for cell in line.values() if re.match(r"\s*[=+@-]", cell)]
        assert (line["title"], line["sku"]) == (f"'{tree()['title']}", f"'{tree()['sku']}")
    assert lines[1]["summary"] == f"Translated {PAYLOAD}"


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t", "\r", "\n", " =", "\u00a0+", "\u200b=", "\ufeff@", "\u200e-",
                                   "\uff1d", "\uff0b", "\uff0d", "\uff20", "\n=", "\t\t-", "\u2068="])  # fmt: skip
@pytest.mark.parametrize("rest", ["1+1", "cmd|' /C calc'!A0", 'HYPERLINK("https://evil.example","a")', "5 Degrees"])
def test_a_cell_that_begins_like_a_formula_is_text(start: str, rest: str) -> None:
    """Also behind what is not seen, and in wide signs; a title that rightly begins with a minus keeps it behind the mark."""
    made = harmless(f"{start}{rest}")
    assert made == "'" + f"{start}{rest}".replace("\u2068", "")
    assert harmless(made) == made


@pytest.mark.parametrize(
    "cell", ["", "'tis", "Night Heron", "1 - 2 = 3", "a@b.example", "\u2013 dash", "\u2212 minus", "6.50"]
)
def test_another_cell_stays_as_it_is(cell: str) -> None:
    """A dash and the sign of minus that are no hyphen, among others."""
    assert harmless(cell) == cell


ADDRESS = "127.0.0.1:8137"
OWN = {"Origin": f"http://{ADDRESS}", "Content-Type": "application/json"}


@pytest.fixture
def client(shop: Path) -> Iterator[TestClient]:
    """A browser of this machine, before the preview of the small pattern."""
    surroundings = Surroundings(Workspace(shop))
    app = make_app(Preview(surroundings, Worker(Room(surroundings, lambda: 0.0))), frozenset({ADDRESS}))
    with TestClient(app, base_url=f"http://{ADDRESS}") as found:
        yield found


HOSTS = (
    f"{ADDRESS}.evil.example", f"evil@{ADDRESS}", f"{ADDRESS}@evil.example", "0.0.0.0:8137", "127.1:8137", "2130706433:8137",
    "[::1]:8137", "[::ffff:127.0.0.1]:8137", f"{ADDRESS},evil.example", f"{ADDRESS}/", "localhost.evil.example:8137",
)  # fmt: skip
PATHS = (
    "/stretch/x/" + "9" * 10_000 + ".svg", "/stretch/x/\u0661.svg", "/stretch/x/-1.svg", "/stretch/x/1e9.svg", "/stretch/../../secret.svg",
    "/%5c%5cserver%5cshare", "/sheet/" + "a" * 20_000,
)  # fmt: skip
QUERIES = (
    f"pins={'9' * 10_000}", "diameter=1e308", "diameter=nan", "diameter=inf", f"diameter={'9' * 5000}", "pattern=..%2ftrial",
    "pattern=TRIAL", "pattern=trial.yaml", "pattern=%00", "locale=..%2f..",
)  # fmt: skip
BODIES = (
    b"[" * 4000, b'{"id":' * 600, b'{"id": ' + b"9" * 4000 + b"}", b'{"id": NaN}', b'{"id": "a\\u0000"}', b'{"id": "a", "id": "../b"}',
    b'{"id": "a\\u002fb"}', b"\xef\xbb\xbf{}", b"",
)  # fmt: skip


def test_another_name_of_this_machine_or_an_absurd_path_leads_nowhere(client: TestClient) -> None:
    """However it is written, and whatever is put before or behind it; without a traceback."""
    for host in HOSTS:
        assert client.get("/", headers={"Host": host}).status_code == 403, host
    for path in PATHS:
        assert client.get(path).status_code == 404, path


def test_an_absurd_choice_or_body_is_refused(client: TestClient, write: Write) -> None:
    """Without an end, deep, twice, in escapes: with words, and nothing is written."""
    file = write()
    answers = [client.get(f"/events?{query}", headers=OWN) for query in QUERIES]
    answers += [client.post(f"/write?{query}", headers=OWN, json={"id": "wider"}) for query in QUERIES]
    answers += [client.post("/write?pattern=trial&pins=30", headers=OWN, content=body) for body in BODIES]
    assert [(answer.status_code, bool(answer.json()["words"])) for answer in answers] == [(400, True)] * len(answers)
    assert [each.name for each in file.parent.iterdir()] == ["trial.yaml"]


def test_there_is_one_way_to_write_and_none_through_a_link(client: TestClient, write: Write, shop: Path) -> None:
    """A link in the place of the new file, to what is there or to nothing: the name is taken. No other method is known."""
    write()
    (shop / "patterns" / "wider.yaml").symlink_to("../../secret/secret.yaml")
    (shop / "patterns" / "narrow.yaml").symlink_to("../../secret/made.yaml")
    for name in ("wider", "narrow"):
        assert client.post("/write?pattern=trial&pins=30", headers=OWN, json={"id": name}).status_code == 409
    assert [file.name for file in (shop.parent / "secret").iterdir()] == ["secret.yaml"]
    for method in ("PUT", "DELETE", "OPTIONS", "TRACE", "PATCH", "GET"):
        assert client.request(method, "/write?pattern=trial&pins=30", headers=OWN).status_code == 405
