"""One thread works for all pages: the newest request first, and nothing that is stale."""

import queue
import threading
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import cast

import pytest
from weasyprint.urls import FatalURLFetchingError

from pipeline.preview.choice import Choice
from pipeline.preview.room import Event, Room
from pipeline.preview.surroundings import Surroundings
from pipeline.preview.worker import Viewer, Worker

Write = Callable[..., Path]
PATIENCE_S = 60


class Slow:
    """A room whose steps wait until they are let go on, and that writes down what it was asked for."""

    def __init__(self, surroundings: Surroundings) -> None:
        self.surroundings = surroundings
        self.gate = threading.Semaphore(0)
        self.reached: queue.Queue[str] = queue.Queue()
        self.begun = 0

    def steps(self, choice: Choice, *, anew: bool = False) -> Iterator[Event | None]:
        """Four steps; the second is the end of what is urgent."""
        self.begun += 1
        own = self.begun
        for name in ("checked", "front", "chart", "whole"):
            self.reached.put(f"{choice.pattern} {own} {name}")
            self.gate.acquire()
            yield Event(name, {"own": own, "anew": anew})


@pytest.fixture
def slow(surroundings: Surroundings) -> Slow:
    return Slow(surroundings)


@pytest.fixture
def worker(slow: Slow) -> Iterator[Worker]:
    working = Worker(cast("Room", slow))
    working.start()
    yield working
    working.stop()
    slow.gate.release(100)
    working.join(PATIENCE_S)
    assert not working.is_alive()


def reached(slow: Slow) -> str:
    """The next step that is begun."""
    return slow.reached.get(timeout=PATIENCE_S)


def test_what_was_begun_for_an_older_file_is_left(slow: Slow, worker: Worker, surroundings: Surroundings) -> None:
    """Between two steps the new request takes over; the old one says nothing more."""
    told: queue.Queue[Event] = queue.Queue()
    worker.show(Viewer(Choice("trial", ("en",)), told.put))
    assert reached(slow) == "trial 1 checked"
    slow.gate.release()
    assert reached(slow) == "trial 1 front"
    worker.change({surroundings.file("trial")})
    slow.gate.release(10)
    assert [reached(slow) for _ in range(4)] == [f"trial 2 {name}" for name in ("checked", "front", "chart", "whole")]
    events = [told.get(timeout=PATIENCE_S) for _ in range(5)]
    assert [(event.data["own"], event.name) for event in events] == [
        (1, "checked"), (2, "checked"), (2, "front"), (2, "chart"), (2, "whole"),
    ]  # fmt: skip
    assert [event.data["anew"] for event in events] == [True, False, False, False, False]


def test_first_pages_come_before_all_others(slow: Slow, worker: Worker) -> None:
    """A page that is opened while another is at its later pages is served first; then the other goes on."""
    for pattern in ("one", "two"):
        worker.show(Viewer(Choice(pattern, ("en",)), lambda _: None))
        if pattern == "one":
            assert reached(slow) == "one 1 checked"
            slow.gate.release()
            assert reached(slow) == "one 1 front"
            slow.gate.release()
            assert reached(slow) == "one 1 chart"
    slow.gate.release(10)
    following = [reached(slow) for _ in range(5)]
    assert following == ["two 2 checked", "two 2 front", "two 2 chart", "two 2 whole", "one 1 whole"]


def test_only_what_concerns_a_page_is_made_anew(slow: Slow, worker: Worker, surroundings: Surroundings) -> None:
    """Another pattern's file does not; a catalogue, a photograph, the publisher do."""
    slow.gate.release(1000)
    told: queue.Queue[Event] = queue.Queue()
    worker.show(Viewer(Choice("trial", ("en",)), told.put))

    def whole() -> None:
        while told.get(timeout=PATIENCE_S).name != "whole":
            pass

    whole()
    patterns = surroundings.root / "patterns"
    worker.change({patterns / "other.yaml"})
    for number, file in enumerate((
        surroundings.file("trial"), patterns / "publisher.yaml", patterns / "photos" / "wheel.jpg",
        surroundings.root / "locales" / "es" / "LC_MESSAGES" / "patterns.po",
    ), 2):  # fmt: skip
        worker.change({file})
        whole()
        assert slow.begun == number


def test_a_new_locale_is_offered_once_it_can_be_had(
    slow: Slow, worker: Worker, surroundings: Surroundings, place: Path
) -> None:
    """While the worker is busy others still see the locales there were; then every page is told of the new one."""
    told: queue.Queue[Event] = queue.Queue()
    worker.show(Viewer(Choice("trial", ("en",)), told.put))
    assert reached(slow) == "trial 1 checked"
    assert "fi" not in surroundings.locales
    locale = place / "locales" / "fi" / "locale.yaml"
    locale.parent.mkdir(parents=True)
    locale.write_text("locale: fi\nstatus: draft\n")
    worker.change({locale})
    assert "fi" not in surroundings.locales
    slow.gate.release(10)
    events = [told.get(timeout=PATIENCE_S) for _ in range(5)]
    assert [event.name for event in events] == ["choices", "checked", "front", "chart", "whole"]
    assert "fi" in [each["tag"] for each in events[0].data["locales"]]


def test_a_page_that_is_closed_is_forgotten(slow: Slow, worker: Worker, surroundings: Surroundings) -> None:
    """Nothing more is done for it."""
    told: list[Event] = []
    viewer = Viewer(Choice("trial", ("en",)), told.append)
    worker.show(viewer)
    assert reached(slow) == "trial 1 checked"
    worker.leave(viewer)
    worker.change({surroundings.file("trial")})
    slow.gate.release(10)
    worker.show(Viewer(Choice("other", ("en",)), lambda _: None))
    assert reached(slow) == "other 2 checked"
    assert told == []


@pytest.mark.parametrize("kind", [KeyError, FatalURLFetchingError])
def test_a_bug_stops_one_view_and_not_the_preview(
    write: Write,
    room: Room,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    kind: type[BaseException],
) -> None:
    """It is told to the page and, whole, at the terminal; the next save is shown. Some bugs are no ``Exception``."""
    write()
    told: queue.Queue[Event] = queue.Queue()
    working = Worker(room)
    working.start()

    def fails(*_: object) -> object:
        raise kind("nobody foresaw it")

    with monkeypatch.context() as patch:
        patch.setattr("pipeline.preview.room.told_threads", fails)
        worker_sees = Viewer(Choice("trial", ("en",)), told.put)
        working.show(worker_sees)
        event = told.get(timeout=PATIENCE_S)
    assert (event.name, event.data["words"]) == ("bug", f"{kind.__name__}: {kind('nobody foresaw it')}")
    working.change({room.surroundings.file("trial")})
    assert told.get(timeout=PATIENCE_S).name == "checked"
    working.stop()
    working.join(PATIENCE_S)
    assert not working.is_alive()
    assert "Traceback" in capsys.readouterr().err
