"""Commands for translators."""

import sys
from pathlib import Path

import click

from pipeline.commands.desk import ERRORS, GOOD, show
from pipeline.files import check_file, symbols_of, write_whole
from pipeline.problems import Problem
from pipeline.workspace import Workspace


@click.group("locale")
def locale_group() -> None:
    """Look after translations: gettext catalogues in ``locales/``."""


@locale_group.command("update")
@click.argument(
    "folder", type=click.Path(path_type=Path, exists=True, file_okay=False), default=".", metavar="[WORKSPACE]"
)
def locale_update_command(folder: Path) -> None:
    r"""Gather the messages of a workspace and bring its catalogues up to date; work is kept.

    \b
    spokeleaf locale update
    """
    from pipeline.catalogue.messages import updated_files  # noqa: PLC0415

    workspace = Workspace(folder.resolve())
    files = sorted(file for file in (folder / "patterns").glob("*.yaml") if file.stem != "publisher")
    checked = [check_file(file) for file in files]
    broken = [found for found in checked if found.pattern is None]
    for found in broken:
        show(found.problems)
    if broken:
        sys.exit(ERRORS)
    patterns = [found.pattern for found in checked if found.pattern]
    problems: tuple[Problem, ...] = ()
    for place, data in updated_files(workspace, symbols_of(workspace), patterns):
        if not place.is_file() or place.read_bytes() != data:
            problems += write_whole(data, place)
            click.echo(place)
    show(problems)
    sys.exit(ERRORS if problems else GOOD)
