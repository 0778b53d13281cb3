"""The command line: all commands under one name, and what happens when one of them falls.

Arguments, files, the clock and exit codes enter the package here and in ``commands``; nothing else reads them. A
command's module is imported when the command is used: the list of commands, and its completion, need none of them.
"""

import atexit
import gc
import io
import os
import re
import sys
from contextlib import suppress
from functools import cached_property
from importlib import import_module
from typing import Any, Final, NoReturn

import click
from typing_extensions import override

from pipeline.commands.desk import BUG, ERRORS, GOOD
from pipeline.commands.voice import doing, loudness_options, say, show, wants_colour
from pipeline.problems import Unusable

STOPPED: Final = 130
"""Exit code of a run that was stopped from the keyboard, as shells have it."""


class Later(click.Command):
    """A command that is imported when it is used; its line in the list of commands stands here."""

    def __init__(self, name: str, place: str, line: str) -> None:
        super().__init__(name, short_help=line)
        self.place = place

    @cached_property
    def command(self) -> click.Command:
        """The command itself, with what all commands have."""
        module, _, name = self.place.partition(":")
        found = getattr(import_module(f"pipeline.commands.{module}"), name)
        assert isinstance(found, click.Command)  # noqa: S101
        return dressed(found)

    @override
    def make_context(
        self, info_name: str | None, args: list[str], parent: click.Context | None = None, **extra: Any
    ) -> click.Context:
        return self.command.make_context(info_name, args, parent, **extra)


class Program(click.Group):
    """All commands, in the order of their table."""

    @override
    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(self.commands)

    @override
    def invoke(self, ctx: click.Context) -> Any:
        try:
            return super().invoke(ctx)
        except (KeyboardInterrupt, click.Abort) as error:
            raise Stopped from error
        except (OSError, MemoryError) as error:
            raise Hindered(error) from error
        except Unusable as error:
            show(error.problems)
            sys.exit(ERRORS)


class Stopped(click.ClickException):
    """Somebody stopped the run from the keyboard."""

    exit_code = STOPPED

    def __init__(self) -> None:
        super().__init__("stopped")

    @override
    def show(self, file: Any = None) -> None:
        # A terminal has written ^C and stays in that line.
        say("\nstopped" if sys.stderr.isatty() else "stopped", err=True)


class Hindered(click.ClickException):
    """The machine did not give what a command needs: a file that is gone, a place on a disk, memory."""

    def __init__(self, error: OSError | MemoryError) -> None:
        if isinstance(error, MemoryError):
            said = "there is not enough memory"
        elif error.strerror:
            said = f"{error.filename}: {error.strerror}" if error.filename else error.strerror
        else:  # said by a library that lacks something: a folder for what it keeps, another library
            said = f"{' '.join(str(error).split())}; `spokeleaf doctor` looks whether all is there"
        super().__init__(said)


def dressed(command: click.Command) -> click.Command:
    """A command, and those below it, with the options that all have, and with its help as it is written.

    Lists of commands have its first sentence whole. For lines that are to be kept, the examples, click asks for a
    backspace, which docstrings write in letters.
    """
    command.help = (command.help or "").replace("\\b\n", "\b\n")
    command.short_help = " ".join(re.split(r"(?<=\.)\s", command.help)[0].split())
    command.params += loudness_options()
    for inner in command.commands.values() if isinstance(command, click.Group) else ():
        if not isinstance(inner, Later):
            dressed(inner)
    return command


COMMANDS: Final = (
    Later("new", "starting:new_group", "Begin: a workspace where there is none yet, else a pattern in it."),
    Later("check", "patterns:check_command", "Check files: can they be read, do the counts fit, do the threads reach."),
    Later(
        "leaflet",
        "leaflets:leaflet_command",
        "Make leaflets: one PDF, or one file for screens, for every pattern and locale, or one without words.",
    ),
    Later(
        "chart",
        "leaflets:chart_command",
        "Draw the chart, or other pictures of a pattern, as picture files.",
    ),
    Later(
        "adapt",
        "patterns:adapt_command",
        "Put a pattern on another loom: a new file with counts re-fitted and distances scaled, checked anew.",
    ),
    Later(
        "calibrate",
        "patterns:calibrate_command",
        "Read a worked sample: thread it took against the estimate, and the give that its rays must have had.",
    ),
    Later(
        "compare",
        "editions:compare_command",
        "Say what changed between two editions of a pattern, and draft the note that tells buyers of it.",
    ),
    Later(
        "catalogue",
        "catalogues:catalogue_command",
        "Make the leaflets of all patterns of a workspace in all its locales; only what changed is made anew.",
    ),
    Later(
        "preview",
        "preview:preview_command",
        "Show patterns in the browser while they are written: every save is seen at once.",
    ),
    Later("locale", "translations:locale_group", "Look after translations: gettext catalogues in `locales/`."),
    Later(
        "symbols",
        "symbols:symbols_command",
        "Look after stitches and signs: those shipped, and a workspace's own in its `symbols/`.",
    ),
    Later(
        "schema",
        "schemas:schema_command",
        "Print the JSON Schema of a pattern file, for editors; it knows the stitches of the workspace it is asked in.",
    ),
    Later(
        "doctor",
        "doctor:doctor_command",
        "Look whether everything is there that leaflets need, and say what to do where it is not.",
    ),
)
"""Every command, and the first sentence of its help."""


@click.group(
    cls=Program,
    commands=COMMANDS,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
    epilog="`spokeleaf COMMAND --help` tells more of each, with examples. Exit codes: 0 good, 1 the input has errors, "
    "2 wrong use, 3 a bug of ours.",
)
@click.version_option(package_name="spokeleaf")
@click.pass_context
def main(context: click.Context) -> None:
    r"""Turn wheel-lace pattern files into leaflets that can be worked without reading their language.

    To begin, let `new` make a pattern file, and `check` say what is wrong with it; then make a leaflet of it.

    \b
    spokeleaf new
    spokeleaf check patterns/harbour-wheel.yaml
    spokeleaf leaflet patterns/harbour-wheel.yaml --locale en --locale es
    spokeleaf catalogue
    """
    context.color = wants_colour()
    if context.invoked_subcommand:
        context.with_resource(doing(context.invoked_subcommand))


dressed(main)


def run() -> NoReturn:
    """Run the command line; what nobody foresaw is a bug of ours and says so."""
    _prepare()
    try:
        sys.exit(main.main(prog_name="spokeleaf", standalone_mode=False, windows_expand_args=False) or GOOD)
    except click.Abort:
        sys.exit(STOPPED)
    except click.ClickException as error:
        with suppress(OSError):  # nobody is there any more to be told
            error.show()
        sys.exit(error.exit_code)
    except Exception:  # noqa: BLE001
        import traceback  # noqa: PLC0415

        with suppress(OSError):
            traceback.print_exc()
            click.echo("bug in pipeline: please report the lines above with the file that caused them", err=True)
        sys.exit(BUG)


def _prepare() -> None:
    """What holds for the whole process."""
    # A short run makes much and throws little away: looking for what could be thrown away, on the way and once more at
    # the end, took a quarter of its time.
    gc.set_threshold(200_000, 10, 10)
    atexit.register(gc.freeze)
    # Models are our own; plugins that happen to be installed have no say in them, and looking for any takes time.
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
    # Files have the dates of what they are made from; a library that falls over what it takes for another is not asked.
    os.environ.pop("SOURCE_DATE_EPOCH", None)
    _hold_streams()
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            # A sign that a terminal cannot write is written as its number.
            stream.reconfigure(errors="backslashreplace")


def _hold_streams() -> None:
    """Hold the number of a standard stream that is closed: the next file to be opened would get what is said there."""
    for number in range(3):
        try:
            os.fstat(number)
        except OSError:
            os.open(os.devnull, os.O_RDWR)  # takes the lowest number that is free
