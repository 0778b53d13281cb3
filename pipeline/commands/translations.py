"""Commands for translators."""

import re
import sys
from pathlib import Path

import click

from pipeline.commands.desk import ERRORS, FOLDER, GOOD, locales_of, show
from pipeline.fields import TAG_SHAPE
from pipeline.files import check_file, symbols_of, write_whole
from pipeline.problems import Problem
from pipeline.source import failed
from pipeline.workspace import Workspace


@click.group("locale")
def locale_group() -> None:
    """Look after translations: gettext catalogues in ``locales/``."""


@locale_group.command("add")
@click.argument("tag", metavar="TAG")
@click.argument("folder", type=FOLDER, default=".", metavar="[WORKSPACE]")
def locale_add_command(tag: str, folder: Path) -> None:
    r"""Begin a locale: its folder, its `locale.yaml` as a draft, and its catalogues ready to fill.

    \b
    spokeleaf locale add fi
    spokeleaf locale add pt-BR
    """
    from pipeline.language.fonts import FontsMissing, find_fonts  # noqa: PLC0415
    from pipeline.language.locales import LocaleInfo  # noqa: PLC0415

    info = LocaleInfo(tag, "draft")
    if not re.fullmatch(TAG_SHAPE, tag) or not info.known:
        raise click.UsageError(f"`{tag}` is no language tag; write it like fi, pt-BR or zh-Hans")
    place = folder / "locales" / info.folder / "locale.yaml"
    if place.exists():
        show((failed(str(place), "output-exists", place=place),))
        sys.exit(ERRORS)
    try:
        find_fonts(info.script, (folder / "fonts",))
    except FontsMissing as error:
        package = " and ".join(error.packages) or "a static TrueType font into fonts/"
        show((failed(str(place), "script-without-font", script=error.script, package=package),))
        sys.exit(ERRORS)
    problems = write_whole(f"locale: {tag}\nstatus: draft\n".encode(), place)
    show(problems)
    click.echo(place)
    sys.exit(ERRORS if problems else update(folder))


@locale_group.command("list")
@click.argument("folder", type=FOLDER, default=".", metavar="[WORKSPACE]")
def locale_list_command(folder: Path) -> None:
    r"""List the locales of a workspace: status, and how much of the program's and the patterns' texts is done.

    \b
    spokeleaf locale list
    """
    from pipeline.language.coverage import coverage  # noqa: PLC0415

    for tag, info in locales_of(Workspace(folder.resolve()), ()).items():
        own = folder / "locales"
        done = "" if info.status == "source" else "  ".join(
            f"{each.domain} {each.percent} % of {each.messages}" + (f", {each.fuzzy} fuzzy" if each.fuzzy else "")
            for each in coverage(own, info) if each.messages
        )  # fmt: skip
        click.echo(f"{tag:8} {info.status:8} {done}".rstrip())


@locale_group.command("update")
@click.argument(
    "folder", type=click.Path(path_type=Path, exists=True, file_okay=False), default=".", metavar="[WORKSPACE]"
)
def locale_update_command(folder: Path) -> None:
    r"""Gather the messages of a workspace and bring its catalogues up to date; work is kept.

    \b
    spokeleaf locale update
    """
    sys.exit(update(folder))


def update(folder: Path) -> int:
    """Bring the catalogues of a workspace up to its texts; the exit code."""
    from pipeline.catalogue.messages import updated_files  # noqa: PLC0415

    workspace = Workspace(folder.resolve())
    files = sorted(file for file in (folder / "patterns").glob("*.yaml") if file.stem != "publisher")
    checked = [check_file(file) for file in files]
    broken = [found for found in checked if found.pattern is None]
    for found in broken:
        show(found.problems)
    if broken:
        return ERRORS
    patterns = [found.pattern for found in checked if found.pattern]
    problems: tuple[Problem, ...] = ()
    for place, data in updated_files(workspace, symbols_of(workspace), patterns):
        if not place.is_file() or place.read_bytes() != data:
            problems += write_whole(data, place)
            click.echo(place)
    show(problems)
    return ERRORS if problems else GOOD
