"""Workers: all orders are fulfilled, whoever dies over them."""

from pathlib import Path

import pytest

from pipeline.catalogue.batch import AT_ONCE, Order, Task, orders, sample
from pipeline.catalogue.workers import in_workers
from tests.mortal import Mortal


def ordered(*names: str) -> list[Order]:
    """An order of two leaflets for each name."""
    return [
        Order(Path(f"{name}.yaml"), tuple(Task(Path(f"{name}.yaml"), tag, "a4") for tag in ("en", "ar")))
        for name in names
    ]


@pytest.mark.parametrize("jobs", [1, 2])
def test_every_order_is_fulfilled_once(jobs: int) -> None:
    """Twelve orders, each outcome there once, by no more processes than there are workers."""
    wanted = ordered(*(f"p{number}" for number in range(12)))
    found = list(in_workers(Mortal(""), jobs, wanted))  # type: ignore[arg-type]
    assert sorted(outcome.task.name for outcome in found) == sorted(
        task.name for order in wanted for task in order.tasks
    )
    assert all(outcome.made for outcome in found)
    assert len({outcome.inputs for outcome in found}) <= jobs


def test_a_worker_that_dies_takes_no_other_order_with_it() -> None:
    """One order kills every worker it is given to: its leaflets are not there and say why, all others are, once."""
    wanted = ordered("a", "b", "killer", "c", "d", "e")
    found = list(in_workers(Mortal("killer"), 2, wanted))  # type: ignore[arg-type]
    lost = [outcome for outcome in found if not outcome.made]
    assert {outcome.task.file.stem for outcome in lost} == {"killer"}
    assert {problem.code for outcome in lost for problem in outcome.problems} == {"worker-died"}
    assert sorted(outcome.task.name for outcome in found) == sorted(
        task.name for order in wanted for task in order.tasks
    )


def test_where_no_worker_lives_every_order_is_given_up() -> None:
    """Workers that die before they can be given anything: each leaflet says so, and the run comes to an end."""
    wanted = ordered("a", "b")
    found = list(in_workers(Mortal("", is_born_dead=True), 2, wanted))  # type: ignore[arg-type]
    assert sorted(outcome.task.name for outcome in found) == sorted(
        task.name for order in wanted for task in order.tasks
    )
    assert {problem.code for outcome in found for problem in outcome.problems} == {"worker-died"}


def test_orders_are_pieces_of_one_pattern() -> None:
    """Twenty leaflets of a pattern and one of another: no order has two patterns or more than its share, none is lost."""
    tasks = [Task(Path("a.yaml"), f"l{number}", "a4") for number in range(20)] + [Task(Path("b.yaml"), "en", "a4")]
    found = orders(tasks)
    assert [task for order in found for task in order.tasks] == tasks
    assert all(len(order.tasks) <= AT_ONCE and {task.file for task in order.tasks} == {order.file} for order in found)


def test_a_sample_is_spread_over_all() -> None:
    """Of a hundred, ten from all parts; of 23, 12 from first to last but one; of three, all; of none, none."""
    tasks = [Task(Path(f"{number}.yaml"), "en", "a4") for number in range(100)]
    found = [int(task.file.stem) for task in sample(tasks, 10)]
    assert (len(found), min(found)) == (10, 0)
    assert max(found) >= 90
    assert [int(task.file.stem) for task in sample(tasks[:23], 12)] == [0, 1, 3, 5, 7, 9, 11, 13, 15, 17, 19, 21]
    assert sample(tasks[:3], 10) == tasks[:3]
    assert sample([], 10) == []
