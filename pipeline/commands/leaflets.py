"""Commands that make leaflets and pictures."""

import sys
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from pipeline.commands.desk import ERRORS, GOOD, locales_of, out_folder, shelf_of, show
from pipeline.files import check_file, write_whole
from pipeline.problems import Problem, Severity, nearest
from pipeline.workspace import workspace_of

if TYPE_CHECKING:
    from collections.abc import Collection

    from pipeline.catalogue.make import Making, Shelf
    from pipeline.craft.check import Checked
    from pipeline.language.locales import LocaleInfo


@click.command("leaflet")
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path), metavar="FILE…")
@click.option("--locale", "tags", multiple=True, metavar="TAG", help="Locale, like es or pt-BR; may be repeated.")
@click.option("--wordless", "without_words", is_flag=True, help="Signs, figures and pictures alone, for any reader.")
@click.option("--left-handed", is_flag=True, help="Mirror pictures and the words for direction.")
@click.option(
    "--paper",
    type=click.Choice(["a4", "a5", "letter", "common"]),
    help="Paper, instead of the locale's; common fits both A4 and Letter.",
)
@click.option("--large-print", is_flag=True, help="Type of 18 pt and more, large pictures.")
@click.option("--ink-saver", is_flag=True, help="Fine lines instead of filled pictures, no photographs.")
@click.option("--booklet", is_flag=True, help="A5 pages two by two on A4, to print on both sides and fold.")
@click.option("--html", is_flag=True, help="One file for screens instead of a PDF.")
@click.option("--units", type=click.Choice(["metric", "inches", "both"]), help="Measures, instead of the locale's.")
@click.option("--western-digits", is_flag=True, help="Digits 0 to 9 in a locale that has its own.")
@click.option(
    "--out", type=click.Path(path_type=Path, file_okay=False), help="Folder to write to, instead of build/out/<id>/."
)
def leaflet_command(  # noqa: PLR0913
    files: Sequence[Path],
    *,
    tags: Sequence[str],
    without_words: bool,
    left_handed: bool,
    paper: str | None,
    large_print: bool,
    ink_saver: bool,
    booklet: bool,
    html: bool,
    units: str | None,
    western_digits: bool,
    out: Path | None,
) -> None:
    r"""Make leaflets: one PDF, or one file for screens, for every pattern and locale, or one without words.

    \b
    spokeleaf leaflet patterns/harbour-wheel.yaml --locale en --locale ar
    spokeleaf leaflet patterns/*.yaml --locale es --paper a5 --out leaflets
    """
    from pipeline.catalogue.make import Making  # noqa: PLC0415

    if bool(tags) == without_words:
        raise click.UsageError("say in which language: --locale, or --wordless for all readers")
    _refuse_contrary(paper, large_print=large_print, ink_saver=ink_saver, booklet=booklet, html=html)
    making = Making("a5" if booklet else paper, not without_words, left_handed, large_print, ink_saver)
    make = _screens if html else _booklets if booklet else _pages
    good = True
    for file in files:
        checked = check_file(file)
        show(checked.problems)
        if not checked.ok or checked.lace is None:
            good = False
            continue
        workspace = workspace_of(file)
        locales = locales_of(workspace, tags or ("en",), units=units, western_digits=western_digits).values()
        for name, data, problems in make(checked, shelf_of(workspace), locales, making):
            good = _written((out or out_folder(workspace, checked)) / name, data, problems) and good
    sys.exit(GOOD if good else ERRORS)


def _refuse_contrary(paper: str | None, *, large_print: bool, ink_saver: bool, booklet: bool, html: bool) -> None:
    """Options that do not go together."""
    if html and (paper or large_print or ink_saver or booklet):
        raise click.UsageError("a file for screens has no paper; leave out what is said of it")
    if booklet and paper not in {None, "a5"}:
        raise click.UsageError("a booklet is made of A5 pages on A4; leave out --paper")
    if large_print and (booklet or paper == "a5"):
        raise click.UsageError("large print needs a larger paper: a4, letter or common")


Leaflets = Iterator[tuple[str, bytes | None, tuple[Problem, ...]]]
"""Of every leaflet its name, its bytes where there are any, and what there is to say of it."""


def _pages(checked: "Checked", shelf: "Shelf", locales: "Collection[LocaleInfo]", making: "Making") -> Leaflets:
    from pipeline.catalogue.make import make  # noqa: PLC0415

    for made in make(checked, shelf, locales, making):
        yield making.name(checked.id or "", made.locale), made.pdf, made.problems


def _booklets(checked: "Checked", shelf: "Shelf", locales: "Collection[LocaleInfo]", making: "Making") -> Leaflets:
    from pipeline.booklet import impose  # noqa: PLC0415

    for locale, (name, pdf, problems) in zip(locales, _pages(checked, shelf, locales, making), strict=True):
        folded = pdf and impose(pdf, right_to_left=locale.direction == "rtl")
        yield name.removesuffix(".pdf") + ".booklet.pdf", folded, problems


def _screens(checked: "Checked", shelf: "Shelf", locales: "Collection[LocaleInfo]", making: "Making") -> Leaflets:
    from pipeline.catalogue.screens import make_screens, screen_name  # noqa: PLC0415

    for made in make_screens(checked, shelf, locales, making):
        yield screen_name(checked.id or "", made.locale, making), made.html, made.problems


def _written(place: Path, data: bytes | None, problems: tuple[Problem, ...]) -> bool:
    """Write a leaflet and say what there is to say of it; whether all is good."""
    if data is not None:
        problems += write_whole(data, place)
        click.echo(place)
    show(problems)
    return all(problem.severity is not Severity.ERROR for problem in problems)


@click.command("chart")
@click.argument("file", type=click.Path(path_type=Path), metavar="FILE")
@click.option("--format", "file_format", type=click.Choice(["svg", "pdf", "png"]), default="svg", show_default=True)
@click.option(
    "--picture",
    "kinds",
    multiple=True,
    metavar="NAME",
    default=("chart",),
    help="chart (the default), sector, steps, laying, portrait, mat, or template: the loom at true size.",
)
@click.option(
    "--out", type=click.Path(path_type=Path, file_okay=False), help="Folder to write to, instead of build/out/<id>/."
)
def chart_command(file: Path, *, file_format: str, kinds: Sequence[str], out: Path | None) -> None:
    r"""Draw the chart, or other pictures of a pattern, as picture files.

    \b
    spokeleaf chart patterns/harbour-wheel.yaml --format png
    spokeleaf chart patterns/harbour-wheel.yaml --picture steps --picture template
    """
    from pipeline.catalogue.make import PICTURES, picture_files  # noqa: PLC0415

    for kind in kinds:
        if kind not in PICTURES:
            raise click.UsageError(f"there is no picture {kind}; {nearest(kind, PICTURES)}")

    checked = check_file(file)
    show(checked.problems)
    if not checked.ok or checked.lace is None:
        sys.exit(ERRORS)
    workspace = workspace_of(file)
    problems: tuple[Problem, ...] = ()
    for kind in dict.fromkeys(kinds):
        for name, data in picture_files(checked, shelf_of(workspace), kind, file_format):
            place = (out or out_folder(workspace, checked)) / name
            problems += write_whole(data, place)
            click.echo(place)
    show(problems)
    sys.exit(ERRORS if problems else GOOD)
