"""Whom the preview answers, and what with."""

import asyncio
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from starlette.requests import ClientDisconnect
from starlette.testclient import TestClient
from starlette.types import Message

from pipeline.preview.choice import Choice
from pipeline.preview.room import Event, Room
from pipeline.preview.server import SHEETS_KEPT, Preview, make_app
from pipeline.preview.surroundings import Surroundings
from pipeline.preview.worker import Viewer, Worker

Write = Callable[..., Path]
ADDRESS = "127.0.0.1:8137"
OWN = {"Origin": f"http://{ADDRESS}"}


@pytest.fixture
def preview(surroundings: Surroundings, room: Room) -> Preview:
    return Preview(surroundings, Worker(room))


@pytest.fixture
def client(preview: Preview) -> Iterator[TestClient]:
    """A browser of this machine."""
    with TestClient(make_app(preview, frozenset({ADDRESS})), base_url=f"http://{ADDRESS}") as found:
        yield found


def test_the_page_its_style_and_its_script_are_all_there_is_of_files(client: TestClient) -> None:
    """Whatever path is asked for, also by tricks."""
    kinds = {"/": "text/html", "/page.css": "text/css", "/page.js": "text/javascript"}
    for path, kind in kinds.items():
        answer = client.get(path)
        assert (answer.status_code, answer.headers["content-type"].partition(";")[0]) == (200, kind)
    for path in (
        "/server.py", "/page.html", "/../room.py", "/%2e%2e/room.py", "/sheet/../../page.html.png", "/sheet/page.png",
        "/sheet/..%2fpage.html.png", "//etc/passwd", "/patterns/trial.yaml", "/stretch/x/0.svg", "/stretch/x/-1.svg",
    ):  # fmt: skip
        assert client.get(path).status_code == 404, path


def test_the_page_may_ask_for_nothing_from_elsewhere(client: TestClient) -> None:
    """By its policy, and because nothing in it is from there; it holds neither style nor script of its own."""
    for path in ("/", "/page.css", "/page.js", "/nothing", "/events?paper=none"):
        headers = client.get(path).headers
        policy = dict(rule.split(" ", 1) for rule in headers["content-security-policy"].split("; "))
        assert policy.pop("img-src") == "'self' data:"
        assert set(policy.values()) == {"'none'", "'self'"}
        assert policy["default-src"] == policy["frame-ancestors"] == policy["base-uri"] == "'none'"
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["cross-origin-resource-policy"] == "same-origin"
    page, style, script = (client.get(path).text for path in ("/", "/page.css", "/page.js"))
    assert not re.search(r"<style|\son\w+=|\sstyle=|<script(?! src=\"page.js\")", page)
    assert set(re.findall(r"https?://[^\s\"']+", page + style + script)) == {"http://www.w3.org/2000/svg"}
    assert not re.search(r"innerHTML|outerHTML|insertAdjacentHTML|document\.write|eval\(", script)


@pytest.mark.parametrize(
    "host", ["evil.example", "evil.example:8137", "127.0.0.1", "127.0.0.1:80", "localhost:8138", ""]
)
def test_a_name_that_is_not_its_own_is_refused(client: TestClient, host: str) -> None:
    """A page elsewhere cannot have its name turned into this machine's (DNS rebinding)."""
    for path in ("/", "/events", "/page.js"):
        answer = client.get(path, headers={"Host": host})
        assert answer.status_code == 403
        assert "own address" in answer.json()["words"]


@pytest.mark.parametrize("headers", [
    {}, {"Origin": "http://evil.example"}, {"Origin": "null"}, {"Origin": "https://127.0.0.1:8137"},
    {"Origin": "http://127.0.0.1:8138"}, OWN | {"Sec-Fetch-Site": "cross-site"},
])  # fmt: skip
def test_only_its_own_page_may_write(client: TestClient, write: Write, place: Path, headers: dict[str, str]) -> None:
    """A request that says nothing of where it comes from is none of it."""
    write()
    answer = client.post("/write?pattern=trial&pins=30", json={"id": "wider"}, headers=headers)
    assert answer.status_code == 403
    assert [file.name for file in (place / "patterns").iterdir()] == ["trial.yaml"]


def test_pages_elsewhere_may_not_read_either(client: TestClient) -> None:
    """The page itself can be led to from anywhere, as any page can."""
    assert client.get("/events?paper=none", headers={"Sec-Fetch-Site": "cross-site"}).status_code == 403
    assert client.get("/page.js", headers={"Origin": "http://evil.example"}).status_code == 403
    assert client.get("/", headers={"Sec-Fetch-Site": "cross-site"}).status_code == 200


@pytest.mark.parametrize(
    "query",
    ["pattern=none", "pattern=../trial", "locale=xx", "locale=en&locale=ar&locale=de", "paper=a3", "paper=a4-large",
     "pins=two", "pins=2000", "diameter=-1", "thread-A=wide", "what=else", "pattern=trial&pattern=trial", "locale="],
)  # fmt: skip
def test_what_there_is_not_is_refused_with_words(client: TestClient, write: Write, query: str) -> None:
    """Never with a traceback."""
    write()
    asked = client.get(f"/events?{query}", headers=OWN)
    written = client.post(f"/write?{query}", headers=OWN, json={"id": "wider"})
    for answer in (asked, written):
        assert answer.status_code == 400
        assert answer.json()["words"]


def test_an_empty_workspace_says_so(client: TestClient) -> None:
    """And waits for its first pattern."""
    answer = client.get("/events")
    assert (answer.status_code, answer.json()["words"]) == (400, "there is no pattern in this workspace yet")


def test_what_is_tried_is_written_once(client: TestClient, write: Write, place: Path) -> None:
    """Into a new file of the workspace; a name that is taken is refused, and what is there stays."""
    file = write()
    before = file.read_text()
    address = "/write?pattern=trial&pins=30&diameter=100&thread-A=0.3"
    answer = client.post(address, json={"id": "wider"}, headers=OWN)
    assert (answer.status_code, answer.json()) == (201, {"pattern": "wider"})
    text = (place / "patterns" / "wider.yaml").read_text()
    assert "pins: 30" in text
    again = client.post("/write?pattern=trial&pins=48", json={"id": "wider"}, headers=OWN)
    assert again.status_code == 409
    assert "wider.yaml already" in again.json()["words"]
    assert (place / "patterns" / "wider.yaml").read_text() == text
    assert client.post(address, json={"id": "trial"}, headers=OWN).status_code == 409
    assert file.read_text() == before


@pytest.mark.parametrize("new_id", [
    "../outside", "..", "a/b", "a\\b", "/usr/a", "A", "a.yaml", "a b", "", "a\n", "-a", "a--b", "%2e%2e", "a\x00", "ä",
    "a" * 81, None, 7, ["a"], {"id": "a"},
])  # fmt: skip
def test_a_name_is_an_id_and_nothing_else(client: TestClient, write: Write, place: Path, new_id: Any) -> None:
    """No path, no file elsewhere."""
    write()
    answer = client.post("/write?pattern=trial&pins=30", json={"id": new_id}, headers=OWN)
    assert answer.status_code == 400
    assert "small letters, digits and single hyphens" in answer.json()["words"]
    assert [file.name for file in place.parent.rglob("*.yaml")] == ["trial.yaml"]


@pytest.mark.parametrize(
    ("body", "kind"),
    [
        (b'{"id": "wider"}', "text/plain"),
        (b'{"id": "wider"}', "application/x-www-form-urlencoded"),
        (b"id=wider", "application/json"),
        (b"\xff", "application/json"),
        (b'{"id": "' + b"a" * 5000 + b'"}', "application/json"),
        (b'["wider"]', "application/json"),
    ],
)
def test_what_is_no_json_is_refused(client: TestClient, write: Write, place: Path, body: bytes, kind: str) -> None:
    """Also what a form of another page could send."""
    write()
    answer = client.post("/write?pattern=trial&pins=30", content=body, headers=OWN | {"Content-Type": kind})
    assert answer.status_code == 400
    assert not (place / "patterns" / "wider.yaml").exists()


def test_nothing_outside_the_workspace_is_a_pattern(write: Write, place: Path, preview: Preview) -> None:
    """A link that leads out is passed over."""
    write()
    outside = place.parent / "secret.yaml"
    outside.write_text("spokeleaf: 1\n")
    (place / "patterns" / "linked.yaml").symlink_to(outside)
    assert preview.patterns == ("trial",)


def test_the_pattern_of_the_command_line_comes_first(write: Write, preview: Preview) -> None:
    """The others follow by name; publishers and looms are none."""
    for name in ("a", "b", "c"):
        write(name)
    (preview.surroundings.root / "patterns" / "publisher.yaml").write_text("publisher: Trial Press\n")
    preview.first = "b"
    assert preview.patterns == ("b", "a", "c")


def test_only_so_many_pictures_are_kept(preview: Preview) -> None:
    """The oldest are thrown away; one that comes again is new."""
    preview.keep({str(number): b"png" for number in range(SHEETS_KEPT)})
    preview.keep({"0": b"png", "new": b"png"})
    assert len(preview.sheets) == SHEETS_KEPT
    assert "1" not in preview.sheets
    assert list(preview.sheets)[-2:] == ["0", "new"]


def test_a_kept_picture_and_a_stretch_map_are_served(
    client: TestClient, write: Write, preview: Preview, room: Room
) -> None:
    """By their names; the map of a round that is not there is not."""
    write()
    preview.keep({"abc": b"\x89PNG\r\n\x1a\n"})
    answer = client.get("/sheet/abc")
    assert (answer.content, answer.headers["content-type"]) == (b"\x89PNG\r\n\x1a\n", "image/png")
    viewer = Viewer(Choice("trial", ("en",)), lambda _: None)
    preview.viewers[viewer.id] = viewer
    assert client.get(f"/stretch/{viewer.id}/0.svg").status_code == 404
    checked = next(room.steps(viewer.choice))
    assert isinstance(checked, Event)
    viewer.lace = checked.lace
    answer = client.get(f"/stretch/{viewer.id}/2.svg")
    assert answer.headers["content-type"] == "image/svg+xml"
    assert 'aria-label="Round 2: at most' in answer.text
    assert client.get(f"/stretch/{viewer.id}/3.svg").status_code == 404


def test_a_page_that_is_closed_before_it_hears_anything_leaves_nothing(write: Write, preview: Preview) -> None:
    """The first words of its stream find nobody: neither it nor its queue is kept."""
    write()
    app = make_app(preview, frozenset({ADDRESS}))
    scope = {
        "type": "http", "asgi": {"version": "3.0", "spec_version": "2.4"}, "method": "GET", "path": "/events",
        "query_string": b"", "headers": [(b"host", ADDRESS.encode())],
    }  # fmt: skip
    said: list[Message] = []

    async def receive() -> Message:
        return {"type": "http.disconnect"}

    async def send(message: Message) -> None:
        said.append(message)
        if message["type"] == "http.response.body":
            raise OSError

    async def run() -> None:
        with pytest.raises(ClientDisconnect):
            await app(scope, receive, send)

    asyncio.run(run())
    assert [message["type"] for message in said] == ["http.response.start", "http.response.body"]
    assert b"event: hello" in said[1]["body"]
    assert preview.viewers == {}
    assert preview.streams == set()
