"""The one thread that works: newest request first, first pages before all others, and nothing that is stale.

Everything that draws and typesets happens here (``typeset.set_up``). A viewer is an open page; what it wants is taken
up anew whenever a file that concerns it changes, and what was begun for it before is left where it is.
"""

import gc
import itertools
import secrets
import sys
import threading
import traceback
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

from pipeline.craft.assembly import Lace
from pipeline.preview.choice import Choice
from pipeline.preview.room import Event, Room
from pipeline.preview.telling import told_choices

Push = Callable[[Event], None]
"""Takes an event to a page; called from the worker's thread."""


@dataclass(eq=False, slots=True)
class Viewer:
    """An open page, what it shows, and the lace that was last found."""

    choice: Choice
    push: Push
    id: str = field(default_factory=lambda: secrets.token_urlsafe(9))
    lace: Lace | None = None


@dataclass(eq=False, slots=True)
class _Job:
    """What is done for a viewer; ``steps`` is None before it is begun."""

    number: int
    viewer: Viewer
    anew: bool
    steps: Iterator[Event | None] | None = None
    urgent: bool = True
    """Until its first pages are there."""


class Worker(threading.Thread):
    """Works for all viewers, until it is stopped."""

    def __init__(self, room: Room) -> None:
        super().__init__(name="preview", daemon=True)
        self._room = room
        self._waiting = threading.Condition()
        self._jobs: list[_Job] = []
        self._viewers: list[Viewer] = []
        self._changed: set[Path] = set()
        self._numbers = itertools.count()
        self._stopped = self._warm = False

    def show(self, viewer: Viewer) -> None:
        """Work for a page that has just been opened."""
        with self._waiting:
            self._viewers.append(viewer)
            self._take_up(viewer, anew=True)

    def leave(self, viewer: Viewer) -> None:
        """A page was closed."""
        with self._waiting:
            self._viewers.remove(viewer)
            self._jobs = [job for job in self._jobs if job.viewer is not viewer]

    def change(self, files: set[Path]) -> None:
        """Files of the workspace have changed, come or gone."""
        with self._waiting:
            self._changed |= files
            for viewer in self._viewers:
                if any(self._room.surroundings.concerns(file, viewer.choice.pattern) for file in files):
                    self._take_up(viewer, anew=False)

    def stop(self) -> None:
        """Work no more."""
        with self._waiting:
            self._stopped = True
            self._waiting.notify()

    def _take_up(self, viewer: Viewer, *, anew: bool) -> None:
        self._jobs = [job for job in self._jobs if job.viewer is not viewer]
        self._jobs.append(_Job(next(self._numbers), viewer, anew))
        self._waiting.notify()

    def run(self) -> None:
        """Step by step, the job that matters most at each of them."""
        gc.disable()  # nobody should wait for the collector; it runs when there is nothing else to do
        while job := self._next():
            try:
                self._step(job)
            # A bug stops one view, not the preview; what WeasyPrint raises for a missing picture is no Exception.
            except BaseException as error:  # noqa: BLE001
                traceback.print_exc(file=sys.stderr)
                self._drop(job)
                job.viewer.push(Event("bug", {"words": f"{type(error).__name__}: {error}"}))

    def _next(self) -> _Job | None:
        """The job to go on with, once there is one; None when it is time to stop."""
        with self._waiting:
            while not self._jobs and not self._stopped:
                self._tidy()
                self._waiting.wait()
            if self._stopped:
                return None
            return max(self._jobs, key=lambda job: (job.urgent, job.number))

    def _tidy(self) -> None:
        """Throw away what is left over; what the first leaflet needed is needed by all, and not looked at again."""
        gc.collect()
        if self._warm and not gc.get_freeze_count():
            gc.freeze()

    def _forget(self) -> None:
        """Have read anew what has changed; every page is offered the locales there are then."""
        with self._waiting:
            changed, self._changed = self._changed, set()
        surroundings = self._room.surroundings
        surroundings.forget(changed)
        if any(file.is_relative_to(surroundings.root / "locales") for file in changed):
            offered = Event("choices", told_choices(surroundings))
            with self._waiting:
                for viewer in self._viewers:
                    viewer.push(offered)

    def _step(self, job: _Job) -> None:
        self._forget()
        if job.steps is None:
            job.steps = self._room.steps(job.viewer.choice, anew=job.anew)
        try:
            event = next(job.steps)
        except StopIteration:
            self._warm = True
            self._drop(job)
            return
        with self._waiting:
            if event is None or job not in self._jobs:
                return
            job.urgent = job.urgent and event.name != "front"
            if event.lace is not None:  # what cannot be read leaves the last lace where it is, as it does the pages
                job.viewer.lace = event.lace
        job.viewer.push(event)

    def _drop(self, job: _Job) -> None:
        with self._waiting:
            if job in self._jobs:
                self._jobs.remove(job)
