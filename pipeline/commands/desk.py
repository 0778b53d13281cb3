"""What all commands share: exit codes, how problems are shown, what a workspace's leaflets are made with.

Exit codes: 0 good, 1 the input has errors, 2 wrong use, 3 a bug of ours.
"""

import sys
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Final

import click

from pipeline.craft.check import Checked
from pipeline.files import symbols_of
from pipeline.problems import Finding, Problem, Severity, nearest, render
from pipeline.publisher import Publisher
from pipeline.publisher import parse as parse_publisher
from pipeline.source import Unreadable, read
from pipeline.workspace import Workspace

if TYPE_CHECKING:
    from pipeline.catalogue.make import Shelf
    from pipeline.drawing.picture import Picture
    from pipeline.language.locales import LocaleInfo

GOOD, ERRORS, BUG = 0, 1, 3

COLOURS: Final = {Severity.ERROR: "red", Severity.WARNING: "yellow", Severity.NOTE: "cyan"}

FOLDER: Final = click.Path(path_type=Path, exists=True, file_okay=False)


def show(problems: Sequence[Problem]) -> None:
    """Print problems; the severity has its colour on a terminal."""
    for problem in problems:
        head, *rest = render(problem).split("\n")
        place, _, words = head.partition(f" {problem.severity}[")
        click.echo(place + " " + click.style(f"{problem.severity}[", fg=COLOURS[problem.severity], bold=True) + words)
        for line in rest:
            click.echo(line)


def out_folder(workspace: Workspace, checked: Checked) -> Path:
    """Where what is made of a file goes, where nothing else is said."""
    root = workspace.root or Path(checked.file).resolve().parent
    return root / "build" / "out" / (checked.id or "")


def shelf_of(workspace: Workspace) -> "Shelf":
    """What leaflets of a workspace are made with."""
    from pipeline.catalogue.make import Shelf  # noqa: PLC0415

    fonts = (workspace.root / "fonts",) if workspace.root else ()
    publisher = _publisher(workspace)
    logo = _logo(workspace, publisher.logo) if publisher and publisher.logo else None
    return Shelf(symbols_of(workspace), publisher, workspace.layers("locales"), fonts, logo)


def _logo(workspace: Workspace, name: str) -> "Picture | bytes":
    """The publisher's logo, drawn or made ready; one that cannot be used stops the run."""
    from pipeline.drawing.logo import BOX_MM, LogoUnusable, logo  # noqa: PLC0415
    from pipeline.photos import Refused, read_inside, ready  # noqa: PLC0415

    file = workspace.publisher_file
    assert file is not None  # noqa: S101
    source = read(str(file), file.read_bytes())
    try:
        data = read_inside(name, file.parent, BOX_MM)
        return logo(data) if name.lower().endswith(".svg") else ready(data, BOX_MM)
    except Refused as error:
        finding = Finding(error.code, ("logo",), error.facts)
    except LogoUnusable as error:
        finding = Finding("logo-unusable", ("logo",), {"file": name, "reason": error.reason, "hint": error.hint})
    show(source.locate([finding]))
    sys.exit(ERRORS)


def _publisher(workspace: Workspace) -> Publisher | None:
    file = workspace.publisher_file
    if file is None:
        return None
    try:
        publisher, problems = parse_publisher(read(str(file), file.read_bytes()))
    except Unreadable as error:
        publisher, problems = None, error.problems
    if problems:
        show(problems)
        sys.exit(ERRORS)
    return publisher


def locales_of(
    workspace: Workspace, tags: Sequence[str], *, units: str | None = None, western_digits: bool = False
) -> "dict[str, LocaleInfo]":
    """The locales asked for, or all, with what is asked for instead of their habits; an unknown one is wrong use."""
    from pipeline.language.locales import PSEUDO_LOCALES, BrokenLocale, LocaleInfo, load_locales  # noqa: PLC0415

    try:
        known = load_locales(workspace.layers("locales"))
    except BrokenLocale as error:
        show(error.problems)
        sys.exit(ERRORS)
    pseudo = {tag: LocaleInfo(tag, "pseudo") for tag in PSEUDO_LOCALES if tag in tags}
    for tag in tags:
        if tag not in known | pseudo:
            raise click.UsageError(f"there is no locale {tag}; {nearest(tag, known)}")
    found = {tag: (known | pseudo)[tag] for tag in dict.fromkeys(tags)} if tags else dict(known)
    return {
        tag: replace(info, own_units=units or info.own_units, own_digits="latn" if western_digits else info.own_digits)
        for tag, info in found.items()
    }
