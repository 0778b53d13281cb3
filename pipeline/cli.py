"""The command line: all commands under one name, and what happens when one of them falls.

Arguments, files, the clock and exit codes enter the package here and in ``commands``; nothing else reads them.
"""

import sys
import traceback
from typing import NoReturn

import click

from pipeline.commands.catalogues import catalogue_command
from pipeline.commands.desk import BUG, GOOD
from pipeline.commands.editions import compare_command
from pipeline.commands.leaflets import chart_command, leaflet_command
from pipeline.commands.patterns import adapt_command, calibrate_command, check_command, schema_command
from pipeline.commands.symbols import symbols_command
from pipeline.commands.translations import locale_group


@click.group(context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(package_name="spokeleaf")
def main() -> None:
    """Turn wheel-lace pattern files into leaflets that can be worked without reading their language."""


for command in (
    check_command,
    leaflet_command,
    chart_command,
    adapt_command,
    calibrate_command,
    catalogue_command,
    compare_command,
    symbols_command,
    locale_group,
    schema_command,
):
    main.add_command(command)


def _show_examples(command: click.Command) -> None:
    """Keep the lines of examples: click asks for a backspace before them, which docstrings write in letters."""
    command.help = (command.help or "").replace("\\b\n", "\b\n")
    for inner in command.commands.values() if isinstance(command, click.Group) else ():
        _show_examples(inner)


_show_examples(main)


def run() -> NoReturn:
    """Run the command line; what nobody foresaw is a bug of ours and says so."""
    try:
        main.main(standalone_mode=True)
    except Exception:  # noqa: BLE001
        traceback.print_exc()
        click.echo("bug in pipeline: please report the lines above with the file that caused them", err=True)
        sys.exit(BUG)
    sys.exit(GOOD)
