"""A workshop for tests of workers: it makes nothing, and on some orders its process dies."""

import os
import time
from collections.abc import Iterator
from dataclasses import dataclass

from pipeline.catalogue.batch import Order, Outcome


@dataclass(frozen=True, slots=True)
class Mortal:
    """Dies on files of one name, and sleeps a little over each."""

    deadly: str
    seconds: float = 0.02
    is_born_dead: bool = False

    def __call__(self) -> "Mortal":
        """Itself, in a worker that lives so long."""
        if self.is_born_dead:
            os._exit(9)
        return self

    def fulfil(self, order: Order) -> Iterator[Outcome]:
        """Every task with what it is said to have used: the number of the process."""
        time.sleep(self.seconds)
        if order.file.stem == self.deadly:
            os._exit(9)
        for task in order.tasks:
            yield Outcome(task, (str(os.getpid()),))
