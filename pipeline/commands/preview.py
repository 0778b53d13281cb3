"""The command that shows patterns in a browser while they are written."""

import asyncio
import socket
import sys
import threading
import time
import webbrowser
from contextlib import suppress
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Final

import click

from pipeline.commands.desk import GOOD
from pipeline.commands.voice import note, say
from pipeline.workspace import Workspace, workspace_of

if TYPE_CHECKING:
    from pipeline.preview.choice import Choice
    from pipeline.preview.room import Event

PORT: Final = 8137
LOOPBACK: Final = "127.0.0.1"
NEEDED: Final = ("starlette", "uvicorn", "watchfiles", "pypdfium2")
"""What the preview stands on and no other command needs."""
SWITCH_S: Final = 0.001
"""How soon the thread that works lets the one that answers go on."""


@click.command("preview")
@click.argument("place", type=click.Path(path_type=Path, exists=True), default=Path(), metavar="[FOLDER|FILE]")
@click.option("--port", type=click.IntRange(0, 65535), default=PORT, show_default=True, help="0: any that is free.")
@click.option("--open/--no-open", "opened", default=True, help="Open the page in the browser (the default), or not.")
def preview_command(place: Path, port: int, *, opened: bool) -> None:
    r"""Show patterns in the browser while they are written: every save is seen at once.

    The page is for this machine alone. Ctrl-C ends it.

    \b
    spokeleaf preview
    spokeleaf preview patterns/harbour-wheel.yaml
    """
    lacking = [name for name in NEEDED if find_spec(name) is None]
    if lacking:
        order = f"python -m pip install {' '.join(lacking)}"
        raise click.UsageError(f"the preview needs {', '.join(lacking)}; run: {order}")
    workspace, first = _meant(place.resolve())
    with _listening(port) as line:
        address = f"http://{LOOPBACK}:{line.getsockname()[1]}/"
        say(f"{address} shows {workspace.root}; Ctrl-C ends it")
        if opened:
            threading.Thread(target=webbrowser.open, args=(address,), daemon=True).start()
        # Before the server listens to it, too, Ctrl-C is how the preview ends.
        with suppress(KeyboardInterrupt):
            _serve(workspace, first, line)
    sys.exit(GOOD)


def _meant(place: Path) -> tuple[Workspace, str | None]:
    """The workspace of a folder or file, and the pattern to begin with."""
    inner = place if place.is_dir() else place.parent
    workspace = workspace_of(inner / "any.yaml")
    if workspace.root is None:
        raise click.UsageError(f"there is no folder `patterns` in {inner} or above it")
    patterns = workspace.root / "patterns"
    if not place.is_dir() and (place.parent != patterns or place.suffix != ".yaml"):
        raise click.UsageError(f"{place} is no pattern of {patterns}")
    return workspace, None if place.is_dir() else place.stem


def _listening(port: int) -> socket.socket:
    """A socket that browsers on this machine can reach."""
    line = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    line.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        line.bind((LOOPBACK, port))
    except OSError as error:
        line.close()
        raise click.UsageError(
            f"port {port} cannot be used: {error.strerror}; choose another with --port, or 0 for any that is free"
        ) from error
    line.listen()
    return line


def _serve(workspace: Workspace, first: str | None, line: socket.socket) -> None:
    """Until Ctrl-C."""
    import uvicorn  # noqa: PLC0415

    from pipeline.preview.room import Room  # noqa: PLC0415
    from pipeline.preview.server import Preview, make_app  # noqa: PLC0415
    from pipeline.preview.surroundings import Surroundings  # noqa: PLC0415
    from pipeline.preview.worker import Worker  # noqa: PLC0415

    class Server(uvicorn.Server):
        """Ends streams before it waits for them, and itself without raising what ended it."""

        def handle_exit(self, _sig: int, _frame: object) -> None:
            self.force_exit, self.should_exit = self.should_exit, True
            runner.get_loop().call_soon_threadsafe(preview.end)

    surroundings = Surroundings(workspace)
    preview = Preview(surroundings, Worker(Room(surroundings, time.perf_counter)), first, _report)
    port = line.getsockname()[1]
    addresses = frozenset(f"{name}:{port}" for name in (LOOPBACK, "localhost"))
    config = uvicorn.Config(
        make_app(preview, addresses), log_level="warning", access_log=False, timeout_graceful_shutdown=2, lifespan="on"
    )
    sys.setswitchinterval(SWITCH_S)
    with asyncio.Runner() as runner:
        runner.run(Server(config).serve(sockets=[line]))


def _report(choice: "Choice", event: "Event") -> None:
    """A line at the terminal when all pages are there."""
    if event.name == "whole":
        took = ", ".join(f"{step} {ms} ms" for step, ms in event.data["took"].items())
        note(f"{choice.pattern} {' '.join(choice.locales)}: {took}")
    elif event.name == "checked" and not event.data["good"]:
        note(f"{choice.pattern}: there are errors; the page shows them")
