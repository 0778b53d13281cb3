"""Workers: processes that each keep a workshop warm, and are begun anew when one dies.

A worker that dies takes its pool with it (so ProcessPoolExecutor is made); what was in hand is then tried order by
order, and the one on which a worker dies again is given up. Workers are retired after so many orders, so that what a
library keeps does not add up.
"""

import multiprocessing
import os
import signal
from collections.abc import Callable, Generator, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from typing import Final

from pipeline.catalogue.batch import Order, Outcome
from pipeline.catalogue.workshop import Workshop
from pipeline.source import failed

ORDERS_OF_A_LIFE: Final = 40

_workshop: list[Workshop] = []
"""The workshop of a worker's process."""


def _begin(make: Callable[[], Workshop]) -> None:
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the one who gives the orders is stopped, and stops the workers
    _workshop[:] = [make()]


def _fulfil(order: Order) -> list[Outcome]:
    return list(_workshop[0].fulfil(order))


def in_workers(make: Callable[[], Workshop], jobs: int, orders: Sequence[Order]) -> Iterator[Outcome]:
    """Fulfil orders in so many processes; outcomes come as they are there."""
    waiting = list(reversed(orders))
    while waiting:
        for order in (yield from _shift(make, jobs, waiting)):
            # One of those in hand killed its worker: each is tried by itself, so that none stands for another.
            if (yield from _shift(make, 1, [order])):
                problem = failed(str(order.file), "worker-died")
                yield from (Outcome(task, problems=(problem,)) for task in order.tasks)


def _shift(
    make: Callable[[], Workshop], jobs: int, waiting: list[Order]
) -> Generator[Outcome, None, tuple[Order, ...]]:
    """One pool of workers until all is done, or one dies; then what was in hand is given back."""
    spawn = multiprocessing.get_context("spawn")
    pool = ProcessPoolExecutor(jobs, spawn, initializer=_begin, initargs=(make,), max_tasks_per_child=ORDERS_OF_A_LIFE)
    in_hand: dict[Future[list[Outcome]], Order] = {}
    try:
        while waiting or in_hand:
            while waiting and len(in_hand) < 2 * jobs:
                order = waiting.pop()
                in_hand[pool.submit(_fulfil, order)] = order
            for done in wait(in_hand, return_when=FIRST_COMPLETED).done:
                outcomes = done.result()
                del in_hand[done]
                yield from outcomes
    except BrokenProcessPool:
        return tuple(in_hand.values())
    finally:
        _stop(pool)
    return ()


def _stop(pool: ProcessPoolExecutor) -> None:
    """End all workers at once; a leaflet in the making is not there at all."""
    processes = list((pool._processes or {}).values())  # noqa: SLF001  (terminate_workers comes with Python 3.14)
    pool.shutdown(wait=False, cancel_futures=True)
    for process in processes:
        process.terminate()
    for process in processes:
        process.join()


def cores() -> int:
    """Processors this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
