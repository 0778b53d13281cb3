"""The preview's page and whom it is shown to: browsers on this machine that were opened at its own address.

Every request must name the address the preview listens at (against DNS rebinding), and come from its own pages where
a browser says from whose it comes. Nothing of the file system is served: pages, style and script are three files of
this package, pictures of pages are found by the hash of their bytes. The page's policy (Content Security Policy Level
3) lets it ask for nothing from elsewhere. Server-sent events: https://html.spec.whatwg.org/multipage/#server-sent-events
"""

import asyncio
import json
import re
from collections.abc import AsyncIterator, Callable, Mapping
from contextlib import asynccontextmanager
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import Final

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, Response, StreamingResponse
from starlette.routing import Route
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from pipeline.fields import ID_SHAPE
from pipeline.leaflet.screen import DARK, LIGHT, media_type
from pipeline.preview.choice import Choice, Refused, choice_of
from pipeline.preview.room import Event, write_trial
from pipeline.preview.stretchmap import stretch_map
from pipeline.preview.surroundings import Surroundings
from pipeline.preview.telling import told_choices
from pipeline.preview.watching import changes
from pipeline.preview.worker import Viewer, Worker

HERE: Final = Path(__file__).parent
HEADERS: Final[Mapping[bytes, bytes]] = {
    b"content-security-policy": b"default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; "
    b"connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'",
    b"x-content-type-options": b"nosniff",
    b"referrer-policy": b"no-referrer",
    b"cross-origin-resource-policy": b"same-origin",
    b"cross-origin-opener-policy": b"same-origin",
    b"cache-control": b"no-store",
}
SHEETS_KEPT: Final = 160
"""Pictures of pages that can be had; the oldest are thrown away."""
QUIET_S: Final = 15.0
"""After so many seconds without an event a page is told that the preview still runs."""
LARGEST_BODY: Final = 4096
LONGEST_ID: Final = 80

Report = Callable[[Choice, Event], None]
"""Told of every event, for whoever sits at the terminal."""


@dataclass(slots=True)
class Preview:
    """What the server needs: the workspace, its worker, and what is kept for pages."""

    surroundings: Surroundings
    worker: Worker
    first: str | None = None
    """The pattern to begin with."""
    report: Report = lambda _choice, _event: None
    sheets: dict[str, bytes] = field(default_factory=dict)
    viewers: dict[str, Viewer] = field(default_factory=dict)
    streams: set["asyncio.Queue[Event | None]"] = field(default_factory=set)
    ended: bool = False

    @property
    def patterns(self) -> tuple[str, ...]:
        """All patterns, the one to begin with first."""
        known = self.surroundings.patterns
        return tuple(sorted(known, key=lambda name: (name != self.first, name)))

    def choice(self, request: Request) -> Choice:
        """What a request asks for. Raises ``Refused``."""
        query = {name: request.query_params.getlist(name) for name in request.query_params}
        return choice_of(query, self.patterns, self.surroundings.locales)

    def keep(self, sheets: Mapping[str, bytes]) -> None:
        """Pictures of pages, the newest last."""
        for name, data in sheets.items():
            self.sheets.pop(name, None)
            self.sheets[name] = data
        for old in list(self.sheets)[:-SHEETS_KEPT]:
            del self.sheets[old]

    def end(self) -> None:
        """Close every stream; called in the server's loop."""
        self.ended = True
        for queue in self.streams:
            queue.put_nowait(None)


def make_app(preview: Preview, addresses: frozenset[str]) -> ASGIApp:
    """The server's application; ``addresses`` are the hosts with ports that requests may name."""
    routes = [
        Route("/", _page),
        Route("/page.css", _style),
        Route("/page.js", _script),
        Route("/events", partial(_events, preview)),
        Route("/sheet/{name}", partial(_sheet, preview)),
        Route("/stretch/{viewer}/{number}.svg", partial(_stretch, preview)),
        Route("/write", partial(_write, preview), methods=["POST"]),
    ]
    lifespan = partial(_running, preview)
    return _Guard(Starlette(routes=routes, lifespan=lifespan, exception_handlers={Refused: _refused}), addresses)


@asynccontextmanager
async def _running(preview: Preview, _app: Starlette) -> AsyncIterator[None]:
    """Files are watched and worked on as long as the server runs."""
    stop = asyncio.Event()
    watching = asyncio.create_task(_watch(preview, stop))
    preview.worker.start()
    yield
    stop.set()
    preview.worker.stop()
    await watching


async def _page(_request: Request) -> Response:
    return Response((HERE / "page.html").read_bytes(), media_type="text/html")


async def _style(_request: Request) -> Response:
    return Response(page_style(), media_type="text/css")


async def _script(_request: Request) -> Response:
    return Response((HERE / "page.js").read_bytes(), media_type="text/javascript")


def page_style() -> str:
    """The page's style with the family's colours by name, on a light ground and on a dark one."""
    light, dark = ("".join(f"--{name}: {colour}; " for name, colour in each.items()) for each in (LIGHT, DARK))
    text = (HERE / "page.css").read_text(encoding="utf-8")
    return f":root {{ {light}}}\n@media (prefers-color-scheme: dark) {{ :root {{ {dark}}} }}\n{text}"


async def _watch(preview: Preview, stop: asyncio.Event) -> None:
    """Pass on which files change, and offer patterns that come or go; locales are offered by the worker."""
    known = preview.patterns
    async for files in changes(preview.surroundings.root, stop):
        preview.worker.change(files)
        if known != preview.patterns:
            known = preview.patterns
            for queue in preview.streams:
                queue.put_nowait(Event("choices", told_choices(preview.surroundings)))


async def _refused(_request: Request, error: Exception) -> Response:
    return JSONResponse({"words": str(error)}, status_code=400)


async def _events(preview: Preview, request: Request) -> Response:
    """A stream of all that is seen of a choice, as long as the page is open."""
    choice = preview.choice(request)
    return StreamingResponse(_stream(preview, choice), media_type="text/event-stream")


async def _stream(preview: Preview, choice: Choice) -> AsyncIterator[str]:
    loop, queue = asyncio.get_running_loop(), asyncio.Queue[Event | None]()

    def push(event: Event) -> None:
        loop.call_soon_threadsafe(queue.put_nowait, event)

    viewer = Viewer(choice, push)
    preview.streams.add(queue)
    preview.viewers[viewer.id] = viewer
    preview.worker.show(viewer)
    try:
        yield _greeting(preview, viewer)
        while not preview.ended:
            try:
                event = await asyncio.wait_for(queue.get(), QUIET_S)
            except TimeoutError:
                yield ": still here\n\n"
                continue
            if event is None:
                return
            preview.keep(event.sheets)
            if event.name == "page" and event.data["name"] not in preview.sheets:
                continue  # remembered, but thrown away
            preview.report(choice, event)
            yield _said(event)
    finally:
        preview.worker.leave(viewer)
        preview.streams.discard(queue)
        del preview.viewers[viewer.id]


def _greeting(preview: Preview, viewer: Viewer) -> str:
    """What a page hears first: how it is known, what it shows, and what can be chosen."""
    choice = viewer.choice
    hello = {"viewer": viewer.id, "pattern": choice.pattern, "locales": choice.locales, "paper": choice.paper}
    choices = told_choices(preview.surroundings)
    return f"retry: 700\n{_said(Event('hello', hello))}{_said(Event('choices', choices))}"


def _said(event: Event) -> str:
    """An event as a stream says it."""
    return f"event: {event.name}\ndata: {json.dumps(event.data, ensure_ascii=False)}\n\n"


async def _sheet(preview: Preview, request: Request) -> Response:
    """The picture of a page."""
    data = preview.sheets.get(request.path_params["name"])
    return Response(data, media_type=media_type(data)) if data else _missing()


async def _stretch(preview: Preview, request: Request) -> Response:
    """The stretch map of what a page shows, after a round; 0 is all rounds together."""
    viewer, asked = preview.viewers.get(request.path_params["viewer"]), request.path_params["number"]
    lace = viewer.lace if viewer else None
    if lace is None or not lace.rounds or not re.fullmatch("[0-9]{1,4}", asked) or int(asked) > len(lace.rounds):
        return _missing()
    number = int(asked)
    name = f"Round {lace.rounds[number - 1].number}" if number else "All rounds"
    return Response(await run_in_threadpool(stretch_map, lace, number, name), media_type="image/svg+xml")


async def _write(preview: Preview, request: Request) -> Response:
    """Write what is tried into a new file."""
    choice = preview.choice(request)
    new_id = _new_id(await _body(request))
    place, problems = await run_in_threadpool(write_trial, preview.surroundings, choice, new_id)
    if problems:
        words = [problem.message if problem.code != "output-exists" else f"there is a file {place.name} already; "
                 "choose another name" for problem in problems]  # fmt: skip
        return JSONResponse({"words": "; ".join(words)}, status_code=409)
    return JSONResponse({"pattern": new_id}, status_code=201)


async def _body(request: Request) -> object:
    """What a request brings, as JSON. Raises ``Refused``."""
    if request.headers.get("content-type", "").partition(";")[0].strip() != "application/json":
        raise Refused("what is written must come as JSON")
    data = b""
    async for chunk in request.stream():
        data += chunk
        if len(data) > LARGEST_BODY:
            raise Refused("that is too much for a name")
    try:
        return json.loads(data)
    except (ValueError, RecursionError) as error:
        raise Refused("what is written must come as JSON") from error


def _new_id(body: object) -> str:
    new_id = body.get("id") if isinstance(body, dict) else None
    if not isinstance(new_id, str) or len(new_id) > LONGEST_ID or not re.fullmatch(ID_SHAPE, new_id):
        raise Refused("a name is small letters, digits and single hyphens, like harbour-wheel-48")
    return new_id


def _missing() -> Response:
    return JSONResponse({"words": "there is no such thing"}, status_code=404)


class _Guard:
    """Refuses whoever did not come by the preview's own address, and adds to all answers how they may be used."""

    def __init__(self, app: ASGIApp, addresses: frozenset[str]) -> None:
        self.app, self.addresses = app, addresses

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request through, or refuse it."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return

        async def guarded(message: Message) -> None:
            if message["type"] == "http.response.start":
                message["headers"] = [*message.get("headers", ()), *HEADERS.items()]
            await send(message)

        refusal = self._refusal(scope)
        answer = self.app if refusal is None else JSONResponse({"words": refusal}, status_code=403)
        await answer(scope, receive, guarded)

    def _refusal(self, scope: Scope) -> str | None:
        """Why a request is refused, if it is."""
        request = Request(scope)
        if request.headers.getlist("host") != [request.headers.get("host")] or (
            request.headers["host"] not in self.addresses
        ):
            return "the preview answers at its own address alone"
        origin = request.headers.get("origin")
        own = f"http://{request.headers['host']}"
        if origin not in ({own} if request.method not in {"GET", "HEAD"} else {own, None}):
            return "the preview is written to from its own page alone"
        from_elsewhere = request.headers.get("sec-fetch-site", "same-origin") not in {"same-origin", "none"}
        if from_elsewhere and request.url.path != "/":
            return "the preview is for its own page alone"
        return None
