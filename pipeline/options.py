"""Values of the command line's options: threads in other counts, lengths of a loom. What is none is wrong use."""

import re

import click

from pipeline.problems import RULES
from pipeline.records import FEWEST_PINS, MEASURES, MOST_PINS
from pipeline.units import UnitError, parse_count, parse_length


def other_thread(text: str) -> tuple[str, float]:
    """A thread's letter and the linear density to work it in."""
    letter, _, count = text.partition("=")
    if not re.fullmatch("[A-Z]", letter):
        raise click.UsageError(f"`{text}` names no thread; write it like A=60tex")
    try:
        return letter, parse_count(count)
    except ValueError as error:
        raise click.UsageError(str(error)) from error


def pins_of(count: int | None) -> int | None:
    """The pins of a loom given as an option."""
    if count is not None and not FEWEST_PINS <= count <= MOST_PINS:
        raise click.UsageError(f"a loom has {FEWEST_PINS} to {MOST_PINS} pins, not {count}")
    return count


def measure_of(name: str, text: str, shape: str) -> float:
    """A length of a loom given as an option."""
    if name not in MEASURES[shape]:
        wanted = " and ".join(f"--{measure}" for measure in MEASURES[shape])
        raise click.UsageError(f"a loom of shape {shape} has no {name}; give {wanted}")
    try:
        length = parse_length(text)
    except UnitError as error:
        rule = RULES[error.code]
        raise click.UsageError(f"{rule.message.format(**error.facts)}; {rule.hint.format(**error.facts)}") from error
    if length.unit == "%" or length.value <= 0:
        raise click.UsageError(f"`{text}` is no size of a loom; write it like 70 mm")
    return length.mm(0)
