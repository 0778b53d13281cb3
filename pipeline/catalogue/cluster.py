"""Many machines: orders fulfilled by the workers of a Dask cluster (extra ``cluster``).

Workers see the same folders as the one who gives the orders. Each keeps a workshop warm as long as a run lasts. What
a worker had in hand when it was lost is given to another; an order on which workers are lost over and over is given up
(after how many is the scheduler's setting, ``distributed.scheduler.allowed-failures``).
"""

from collections.abc import Callable, Iterator, Sequence
from importlib import import_module
from typing import Any, Final

from pipeline.catalogue.batch import Order, Outcome
from pipeline.catalogue.workshop import Workshop, settle
from pipeline.source import failed

SECONDS: Final = 30
"""To wait for the cluster to answer."""

_warm: dict[str, Workshop] = {}
"""In a worker: the workshop of the run at hand."""


def _fulfil(run: str, make: Callable[[], Workshop], order: Order) -> list[Outcome]:
    if run not in _warm:
        _warm.clear()
        _warm[run] = make()
        settle()
    return list(_warm[run].fulfil(order))


class NoCluster(Exception):
    """Nothing answers at an address, or what is needed to speak to it is not there: why, and what to do."""

    def __init__(self, reason: str, hint: str) -> None:
        super().__init__(reason)
        self.reason, self.hint = reason, hint


def in_cluster(make: Callable[[], Workshop], address: str, orders: Sequence[Order]) -> Iterator[Outcome]:
    """Fulfil orders by whoever works for the scheduler at an address. Raises ``NoCluster``."""
    try:
        distributed: Any = import_module("distributed")
    except ImportError as error:
        hint = "python -m pip install dask distributed"
        raise NoCluster(f"{error.name} is not installed", hint) from error
    try:
        client = distributed.Client(address, timeout=SECONDS, set_as_default=False)
    except (OSError, ValueError) as error:
        raise NoCluster(str(error).strip() or "nothing answers there", "is the scheduler running?") from error
    with client:
        shared = client.scatter(make, broadcast=True, hash=False)
        futures = {client.submit(_fulfil, client.id, shared, order, pure=False): order for order in orders}
        for future, outcomes in distributed.as_completed(
            list(futures), loop=client.loop, with_results=True, raise_errors=False
        ):
            yield from _outcomes(future, futures.pop(future), outcomes)


def _outcomes(future: Any, order: Order, outcomes: list[Outcome]) -> Iterator[Outcome]:
    if future.status == "finished":
        yield from outcomes
        return
    problem = failed(str(order.file), "worker-died")
    yield from (Outcome(task, problems=(problem,)) for task in order.tasks)
