"""Commands that make leaflets and pictures."""

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from pipeline.commands.desk import ERRORS, GOOD, locales_of, out_folder, shelf_of, show
from pipeline.files import check_file, write_whole
from pipeline.problems import Problem, Severity, nearest
from pipeline.workspace import workspace_of

if TYPE_CHECKING:
    from pipeline.catalogue.make import Made


@click.command("leaflet")
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path), metavar="FILE…")
@click.option("--locale", "tags", multiple=True, metavar="TAG", help="Locale, like es or pt-BR; may be repeated.")
@click.option("--wordless", "without_words", is_flag=True, help="Signs, figures and pictures alone, for any reader.")
@click.option("--left-handed", is_flag=True, help="Mirror pictures and the words for direction.")
@click.option("--paper", type=click.Choice(["a4", "a5", "letter"]), help="Paper, instead of the locale's.")
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
    units: str | None,
    western_digits: bool,
    out: Path | None,
) -> None:
    r"""Make leaflets: one PDF for every file and locale, or one without words.

    \b
    spokeleaf leaflet patterns/harbour-wheel.yaml --locale en --locale ar
    spokeleaf leaflet patterns/*.yaml --locale es --paper a5 --out leaflets
    """
    from pipeline.catalogue.make import Making, make  # noqa: PLC0415

    if bool(tags) == without_words:
        raise click.UsageError("say in which language: --locale, or --wordless for all readers")
    tags = ("en",) if without_words else tags
    making = Making(paper, not without_words, left_handed)
    good = True
    for file in files:
        checked = check_file(file)
        show(checked.problems)
        if not checked.ok or checked.lace is None:
            good = False
            continue
        workspace = workspace_of(file)
        locales = locales_of(workspace, tags, units=units, western_digits=western_digits).values()
        for made in make(checked, shelf_of(workspace), locales, making):
            place = (out or out_folder(workspace, checked)) / making.name(checked.id or "", made.locale)
            good = _written(made, place) and good
    sys.exit(GOOD if good else ERRORS)


def _written(made: "Made", place: Path) -> bool:
    """Write a leaflet and say what there is to say of it; whether all is good."""
    problems = made.problems
    if made.pdf is not None:
        problems += write_whole(made.pdf, place)
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
