"""Workers: processes that each keep a workshop warm, and are replaced when one dies.

A worker has one order at a time, so it is known over which one it died: that is given to another worker once, then
given up. Workers are retired after so many orders, lest what libraries keep adds up. One whose giver of orders is gone,
or who is dismissed, stops after the leaflet at hand.
"""

import multiprocessing
import os
import signal
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from multiprocessing.connection import Connection, wait
from multiprocessing.process import BaseProcess
from typing import Final

from pipeline.catalogue.batch import Order, Outcome
from pipeline.catalogue.workshop import Workshop, settle
from pipeline.source import failed

ORDERS_OF_A_LIFE: Final = 40
TRIES: Final = 2
"""Times an order is given out over which workers die."""


@dataclass(slots=True)
class _Worker:
    """A worker as the giver of orders knows it."""

    process: BaseProcess
    line: Connection
    order: Order | None = None
    orders: int = 0

    def give(self, order: Order) -> None:
        """Let it make what is ordered."""
        self.order, self.orders = order, self.orders + 1
        with suppress(OSError):  # as in ``_hired``
            self.line.send(order)

    def answer(self) -> list[Outcome]:
        """What came of its order. Raises ``EOFError`` or ``OSError`` where it died."""
        outcomes: list[Outcome] = self.line.recv()
        self.order = None
        return outcomes

    def dismiss(self) -> None:
        """Let it go after the leaflet at hand."""
        self.line.close()
        self.process.join()


def in_workers(make: Callable[[], Workshop], jobs: int, orders: Sequence[Order]) -> Iterator[Outcome]:
    """Fulfil orders in so many processes; outcomes come as they are there."""
    waiting, deaths = list(reversed(orders)), Counter[int]()
    workers: list[_Worker] = []
    try:
        while waiting or workers:
            workers += [_hired(make) for _ in range(min(jobs, len(waiting)) - len(workers))]
            for worker in [worker for worker in workers if not worker.order]:
                if waiting and worker.orders < ORDERS_OF_A_LIFE:
                    worker.give(waiting.pop())
                else:
                    workers.remove(worker)
                    worker.dismiss()
            ready = wait([worker.line for worker in workers]) if workers else []
            for worker in [worker for worker in workers if worker.line in ready]:
                try:
                    yield from worker.answer()
                except (EOFError, OSError):
                    workers.remove(worker)
                    yield from _mourned(worker, deaths, waiting)
    finally:
        for worker in workers:
            worker.dismiss()


def _mourned(worker: _Worker, deaths: Counter[int], waiting: list[Order]) -> Iterator[Outcome]:
    """What a dead worker had in hand is given out again, or given up."""
    worker.dismiss()
    order = worker.order
    if order is None:
        return
    deaths[id(order)] += 1
    if deaths[id(order)] < TRIES:
        waiting.append(order)
        return
    problem = failed(str(order.file), "worker-died")
    yield from (Outcome(task, problems=(problem,)) for task in order.tasks)


def _hired(make: Callable[[], Workshop]) -> _Worker:
    """A new worker in a process of its own; an interruption waits until it has all it needs, and never reaches it.

    What it makes its workshop with is told over its line: were it given to the process as it starts, and that died, the
    library would wait for ever until somebody reads it.
    """
    spawn = multiprocessing.get_context("spawn")
    line, other = spawn.Pipe()
    process = spawn.Process(target=_serve, args=(other,), daemon=True)
    with _undisturbed():
        process.start()
        other.close()
        with suppress(OSError):  # one that is dead already is found when it is asked for an answer
            line.send(make)
    return _Worker(process, line)


@contextmanager
def _undisturbed() -> Iterator[None]:
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def _serve(line: Connection) -> None:
    """The life of a worker."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        workshop = line.recv()()
        settle()
        while True:
            outcomes = []
            for outcome in workshop.fulfil(line.recv()):
                outcomes.append(outcome)
                if line.poll():  # nothing is ever said in between but that the line is closed
                    return
            line.send(outcomes)
            if any(problem.code == "memory-short" for outcome in outcomes for problem in outcome.problems):
                return  # whoever comes next has all the memory that this one keeps
    except (EOFError, OSError, MemoryError):
        return


def cores() -> int:
    """Processors this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
