"""Files that change are told, also in folders that come later; what nobody finished is not."""

import asyncio
from collections.abc import AsyncIterator, Callable
from pathlib import Path

import pytest
from watchfiles import Change

from pipeline.files import write_whole
from pipeline.preview.watching import changes, matters

PATIENCE_S = 20
SETTLED_S = 0.4
"""By then a watch has begun."""


def watched(place: Path, act: Callable[[], object]) -> set[str]:
    """The names of the first files that are told after something was done."""

    async def run() -> set[Path]:
        stop = asyncio.Event()
        telling = changes(place, stop)
        found: asyncio.Task[set[Path]] = asyncio.create_task(_first(telling))
        await asyncio.sleep(SETTLED_S)
        act()
        try:
            return await asyncio.wait_for(found, PATIENCE_S)
        finally:
            stop.set()
            await telling.aclose()  # type: ignore[attr-defined]

    return {path.relative_to(place).as_posix() for path in asyncio.run(run())}


async def _first(telling: AsyncIterator[set[Path]]) -> set[Path]:
    return await anext(telling)


def test_a_save_is_told(place: Path) -> None:
    """However it is done: written into, or put in place whole as our own writer and careful editors do."""
    file = place / "patterns" / "trial.yaml"
    file.write_text("a")
    assert watched(place, lambda: file.write_text("b")) == {"patterns/trial.yaml"}
    assert watched(place, lambda: write_whole(b"c", file)) == {"patterns/trial.yaml"}
    assert watched(place, file.unlink) == {"patterns/trial.yaml"}


def test_a_folder_that_comes_later_is_watched(place: Path) -> None:
    """A translator's first catalogue in a workspace that had none."""

    def add() -> None:
        (place / "locales" / "es").mkdir(parents=True)

    assert "locales/any" in watched(place, add)


def test_it_ends_when_it_is_told_to(place: Path) -> None:
    """Also when nothing ever changed."""

    async def run() -> list[set[Path]]:
        stop = asyncio.Event()
        asyncio.get_running_loop().call_later(SETTLED_S, stop.set)
        return [found async for found in changes(place, stop)]

    assert asyncio.run(asyncio.wait_for(run(), PATIENCE_S)) == []


@pytest.mark.parametrize(
    ("name", "does"),
    [("trial.yaml", True), ("wheel.jpg", True), (".trial.yaml.a1b2c3d4", False), (".trial.yaml.swp", False),
     ("trial.yaml~", False), ("patterns.mo", False)],
)  # fmt: skip
def test_what_matters(name: str, does: bool) -> None:  # noqa: FBT001
    """Files that somebody wrote, and finished."""
    assert matters(Change.modified, f"/lace/patterns/{name}") is does
