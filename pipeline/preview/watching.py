"""Watch the files of a workspace: patterns, symbols, locales and fonts, also those that come later."""

import asyncio
from collections.abc import AsyncIterator
from pathlib import Path
from typing import Final

from watchfiles import Change, awatch

FOLDERS: Final = ("patterns", "symbols", "locales", "fonts")
DEBOUNCE_MS: Final = 60
"""Changes that come together are told together, but wait no longer than this …"""
STEP_MS: Final = 5
"""… and no longer than this after the last of them."""
UNFINISHED: Final = ("~", ".tmp", ".swp", ".part", ".mo")
"""How the names of files end that nobody means to show."""


def matters(_change: Change, path: str) -> bool:
    """Whether a file is one that somebody wrote, and finished."""
    name = Path(path).name
    return not name.startswith(".") and not name.endswith(UNFINISHED)


async def changes(root: Path, stop: asyncio.Event) -> AsyncIterator[set[Path]]:
    """Sets of files that changed, until it is stopped; folders that come or go are watched from then on."""
    while not stop.is_set():
        again = asyncio.Event()
        watched = [root / name for name in FOLDERS if (root / name).is_dir()]
        about = asyncio.create_task(_folders_change(root, set(watched), again, stop))
        try:
            async for found in awatch(
                *watched, watch_filter=matters, debounce=DEBOUNCE_MS, step=STEP_MS, stop_event=again
            ):
                yield {Path(path) for _, path in found}
        finally:
            again.set()
            await about
        if not stop.is_set():
            yield {root / name / "any" for name in FOLDERS[1:]}


async def _folders_change(root: Path, watched: set[Path], again: asyncio.Event, stop: asyncio.Event) -> None:
    """Wait until there are other folders to watch, or until it is over."""
    ended = asyncio.Event()

    async def either() -> None:
        waiting = [asyncio.create_task(event.wait()) for event in (again, stop)]
        await asyncio.wait(waiting, return_when=asyncio.FIRST_COMPLETED)
        for task in waiting:
            task.cancel()
        ended.set()

    ending = asyncio.create_task(either())
    async for _ in awatch(root, recursive=False, debounce=DEBOUNCE_MS, step=STEP_MS, stop_event=ended):
        if {root / name for name in FOLDERS if (root / name).is_dir()} != watched:
            break
    again.set()
    await ending
