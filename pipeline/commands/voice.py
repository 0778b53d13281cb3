"""What a run says, and where: what was asked for on standard output, everything else on standard error.

What a command is for is its result: the report of one that checks, the paths, tables and data of the others. Problems
of those, notes, timings and bars go to standard error, so that results can be piped. ``--quiet`` leaves errors and
results, ``--verbose`` adds what is being done and how long it took. Colours and bars are for terminals alone
(https://no-color.org/, https://force-color.org/).
"""

import json
import os
import re
import sys
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from enum import IntEnum
from typing import TYPE_CHECKING, Any, Final

import click

if TYPE_CHECKING:
    from rich.progress import Progress

    from pipeline.problems import Problem

HUNG_UP: Final = 141
"""Exit code where nobody reads on: what a shell reports of a program that ends so."""

_LOUDNESS, _BAR = f"{__name__}.loudness", f"{__name__}.bar"
_COLOURS: Final = {"error": "red", "warning": "yellow", "note": "cyan"}
_STEERING: Final = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e]")
"""Characters that move the cursor, colour, hide or turn round what is written (ECMA-48; Unicode UAX #9)."""


class Styled(str):
    """A line of our own making, its colours with it."""

    __slots__ = ()


class Loudness(IntEnum):
    """How much is said beside results."""

    QUIET = 0
    USUAL = 1
    VERBOSE = 2


def loudness() -> Loudness:
    """How loud this run is; outside any, as usual."""
    context = click.get_current_context(silent=True)
    found: Loudness = context.meta.get(_LOUDNESS, Loudness.USUAL) if context else Loudness.USUAL
    return found


def loudness_options() -> list[click.Parameter]:
    """``--quiet`` and ``--verbose``, which every command takes, before its name and after it."""

    def option(names: list[str], wanted: Loudness, about: str) -> click.Option:
        def hear(context: click.Context, _: click.Parameter, given: bool) -> None:  # noqa: FBT001
            if given and context.meta.setdefault(_LOUDNESS, wanted) is not wanted:
                raise click.UsageError("say --quiet or --verbose, not both")

        return click.Option(names, is_flag=True, expose_value=False, callback=hear, help=about)

    return [
        option(["-q", "--quiet"], Loudness.QUIET, "Say errors and results alone."),
        option(["-v", "--verbose"], Loudness.VERBOSE, "Say what is being done, and how long it took."),
    ]


def wants_colour() -> bool | None:
    """Whether what surrounds the program asks for colours or forbids them; None leaves it to the terminal."""
    if os.environ.get("NO_COLOR"):
        return False
    return True if os.environ.get("FORCE_COLOR") else None


def say(text: object, *, err: bool = False) -> None:
    """Print a line, above a bar where one is drawn; what would steer the terminal is told by its number.

    A reader that has gone ends the run without a word; anything else that cannot be written to ends it with one.
    """
    # The stream itself is named: left to choose, click would write UTF-8 to a terminal that says it takes ASCII.
    stream = sys.stderr if err else sys.stdout
    with _bar_hidden():
        try:
            click.echo(text if isinstance(text, Styled) else visible(str(text)), file=stream)
        except OSError as error:
            # Nothing more can be written there, not even what the interpreter flushes when it ends.
            os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())
            if isinstance(error, BrokenPipeError):
                raise click.exceptions.Exit(HUNG_UP) from None
            raise click.ClickException(f"the output cannot be written: {error.strerror}") from error


def visible(text: str) -> str:
    r"""A text from a file, or a file's name, that can be shown on a terminal.

    >>> print(visible("red \x1b[31m"))
    red \x1b[31m
    """
    return _STEERING.sub(lambda found: ascii(found[0])[1:-1], text)


def note(text: object) -> None:
    """Say something beside the results; not in a quiet run."""
    if loudness() > Loudness.QUIET:
        say(text, err=True)


def say_json(value: Any) -> None:
    """Print data as JSON, which is UTF-8 by its standard, or ASCII where the stream is something else."""
    unicode = (getattr(sys.stdout, "encoding", None) or "").lower().replace("-", "") == "utf8"
    say(json.dumps(value, ensure_ascii=not unicode, indent=1))


def show(problems: "Iterable[Problem]", *, report: bool = False, strict: bool = False) -> None:
    """Print problems, their severity in its colour: on standard error, or as the report that was asked for.

    A quiet run shows errors; where warnings fail it too (``strict``), those as well.
    """
    from pipeline.problems import Severity, render  # noqa: PLC0415

    shown = set(Severity)
    if loudness() is Loudness.QUIET:
        shown = {Severity.ERROR, Severity.WARNING} if strict else {Severity.ERROR}
    for problem in problems:
        if problem.severity in shown:
            head, *rest = visible(render(problem)).split("\n")
            place, _, words = head.partition(f" {problem.severity}[")
            severity = click.style(f"{problem.severity}[", fg=_COLOURS[problem.severity], bold=True)
            for line in (f"{place} {severity}{words}", *rest):
                say(Styled(line), err=not report)


@contextmanager
def doing(what: str) -> Iterator[None]:
    """In a verbose run, say what is being done, and then how long it took."""
    if loudness() is Loudness.VERBOSE:
        say(f"{what} ...", err=True)
    began = time.perf_counter()
    try:
        yield
    finally:
        # The option that makes the run verbose may have been read only now.
        if loudness() is Loudness.VERBOSE:
            say(f"{what}: {time.perf_counter() - began:.2f} s", err=True)


@contextmanager
def progress(label: str, total: int) -> Iterator[Callable[[], None]]:
    """A bar while something long is done; what is yielded moves it on by one.

    Drawn on standard error where that is a terminal, for more than one piece of work, in a run that is neither quiet
    nor verbose; gone when all is done.
    """
    context = click.get_current_context(silent=True)
    if total < 2 or context is None or not _is_terminal(sys.stderr) or loudness() is not Loudness.USUAL:
        yield _stand_still
        return
    bar = _new_bar()
    task = bar.add_task(label, total=total)

    def move_on() -> None:
        bar.advance(task)
        bar.refresh()

    context.meta[_BAR] = bar
    try:
        with bar:
            yield move_on
    finally:
        del context.meta[_BAR]


def _new_bar() -> "Progress":
    from rich.console import Console  # noqa: PLC0415
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn  # noqa: PLC0415

    # Drawn when it moves, not by a thread of its own: so nothing else is ever written into it.
    return Progress(
        TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TimeRemainingColumn(),
        console=Console(stderr=True), transient=True, auto_refresh=False, redirect_stdout=False, redirect_stderr=False,
    )  # fmt: skip


@contextmanager
def _bar_hidden() -> Iterator[None]:
    """Take the bar from the screen while something else is written."""
    context = click.get_current_context(silent=True)
    bar: Progress | None = context.meta.get(_BAR) if context else None
    if bar is None:
        yield
        return
    bar.stop()
    yield
    bar.start()


def _stand_still() -> None:
    """There is no bar."""


def _is_terminal(stream: Any) -> bool:
    return stream is not None and bool(stream.isatty())
