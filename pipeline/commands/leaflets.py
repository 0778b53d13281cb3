"""Commands that make leaflets and pictures."""

import sys
from collections.abc import Iterator, Sequence
from functools import cache, partial
from pathlib import Path
from typing import TYPE_CHECKING, Final, TypeAlias

import click

from pipeline.commands.completing import complete_locales, pattern_file, pattern_files
from pipeline.commands.desk import (
    ERRORS,
    GOOD,
    STANDARD_INPUT,
    checked,
    files_of,
    locales_of,
    not_patterns,
    out_folder,
    shelf_of,
    sound_pattern,
    written,
)
from pipeline.commands.voice import doing, progress, show
from pipeline.workspace import Workspace, workspace_of

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterable

    from pipeline.catalogue.make import Making, Shelf
    from pipeline.craft.check import Checked
    from pipeline.language.locales import LocaleInfo
    from pipeline.problems import Problem


PICTURES: Final = ("chart", "sector", "steps", "laying", "portrait", "mat", "template")
"""Those of ``catalogue.make``, which is heavy; a test compares them."""


@click.command("leaflet")
@pattern_files
@click.option(
    "--locale",
    "tags",
    multiple=True,
    metavar="TAG",
    shell_complete=complete_locales,
    help="Locale, like es or pt-BR; may be repeated.",
)
@click.option("--wordless", "without_words", is_flag=True, help="Signs, figures and pictures alone, for any reader.")
@click.option("--left-handed", is_flag=True, help="Mirror pictures and the words for direction.")
@click.option(
    "--paper",
    type=click.Choice(["a4", "a5", "letter", "common"]),
    help="Paper, instead of the locale's; common fits both A4 and Letter.",
)
@click.option("--large-print", is_flag=True, help="Running text of 18 pt, nothing under 14 pt, large pictures.")
@click.option("--ink-saver", is_flag=True, help="Fine lines instead of filled pictures, no photographs.")
@click.option("--booklet", is_flag=True, help="A5 pages two by two on A4, to print on both sides and fold.")
@click.option("--html", is_flag=True, help="One file for screens instead of a PDF.")
@click.option("--units", type=click.Choice(["metric", "inches", "both"]), help="Measures, instead of the locale's.")
@click.option("--western-digits", is_flag=True, help="Digits 0 to 9 in a locale that has its own.")
@click.option(
    "--out", type=click.Path(path_type=Path, file_okay=False), help="Folder to write to, instead of build/out/<id>/."
)
def leaflet_command(  # noqa: PLR0913
    names: Sequence[Path],
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

    A folder stands for its patterns. Every file that is written is named on standard output, a line each.

    \b
    spokeleaf leaflet patterns/harbour-wheel.yaml --locale en --locale ar
    spokeleaf leaflet patterns --locale es --paper a5 --out leaflets
    spokeleaf leaflet patterns/harbour-wheel.yaml --wordless
    """
    if bool(tags) == without_words:
        raise click.UsageError("say in which language: --locale, or --wordless for all readers")
    _refuse_contrary(paper, large_print=large_print, ink_saver=ink_saver, booklet=booklet, html=html)
    every = _checked_files(names)
    from pipeline.catalogue.make import Making  # noqa: PLC0415

    making = Making("a5" if booklet else paper, not without_words, left_handed, large_print, ink_saver)
    make = _screens if html else _booklets if booklet else _pages
    locales = partial(locales_of, tags=tags or ("en",), units=units, western_digits=western_digits)
    good = _make_all([found for found in every if found.ok and found.lace], locales, partial(make, making=making), out)
    sys.exit(GOOD if good and all(found.ok for found in every) else ERRORS)


def _make_all(
    wanted: "Iterable[Checked]",
    locales_in: "Callable[[Workspace], dict[str, LocaleInfo]]",
    make: "Callable[[Checked, Shelf, Collection[LocaleInfo]], Leaflets]",
    out: Path | None,
) -> bool:
    """Make the leaflets of patterns and write them; whether all is good."""
    # A workspace is read once, however many patterns it has.
    locales_in, shelf_in = cache(locales_in), cache(shelf_of)
    places = [(found, workspace_of(Path(found.file))) for found in wanted]
    good = True
    with progress("leaflets", sum(len(locales_in(workspace)) for _, workspace in places)) as move_on:
        for found, workspace in places:
            locales, folder = locales_in(workspace).values(), out or out_folder(workspace, found)
            leaflets = make(found, shelf_in(workspace), locales)
            for locale in locales:
                with doing(f"making {found.file} in {locale.tag}"):
                    name, data, problems = next(leaflets)
                good = _written(folder / name, data, problems) and good
                move_on()
    return good


def _checked_files(names: Sequence[Path]) -> "list[Checked]":
    """All files checked and their problems shown; what is no pattern is passed over where others are."""
    from pipeline.source import failed  # noqa: PLC0415

    if STANDARD_INPUT in names:
        raise click.UsageError("a leaflet is made of a file, beside which its photographs lie; not of what is piped in")
    files = files_of(names)
    every: list[Checked] = []
    with progress("checking", len(files)) as move_on:
        for file in files:
            every.append(checked(file))
            show(every[-1].problems)
            move_on()
    others = list(not_patterns(every))
    if len(others) == len(every):
        show(others)
        sys.exit(ERRORS)
    show(failed(problem.file, "passed-over", key=problem.path) for problem in others)
    return every


def _refuse_contrary(paper: str | None, *, large_print: bool, ink_saver: bool, booklet: bool, html: bool) -> None:
    """Options that do not go together."""
    if html and (paper or large_print or ink_saver or booklet):
        raise click.UsageError("a file for screens has no paper; leave out what is said of it")
    if booklet and paper not in {None, "a5"}:
        raise click.UsageError("a booklet is made of A5 pages on A4; leave out --paper")
    if large_print and (booklet or paper == "a5"):
        raise click.UsageError("large print needs a larger paper: a4, letter or common")


Leaflets: TypeAlias = "Iterator[tuple[str, bytes | None, tuple[Problem, ...]]]"
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


def _written(place: Path, data: bytes | None, problems: "tuple[Problem, ...]") -> bool:
    """Write a leaflet, where there is one, and say what there is to say of it; whether all is good."""
    from pipeline.problems import Severity  # noqa: PLC0415

    there = data is None or written([(place, data)])
    show(problems)
    return there and all(problem.severity is not Severity.ERROR for problem in problems)


@click.command("chart")
@pattern_file
@click.option("--format", "file_format", type=click.Choice(["svg", "pdf", "png"]), default="svg", show_default=True)
@click.option(
    "--picture",
    "kinds",
    multiple=True,
    metavar="NAME",
    default=("chart",),
    shell_complete=lambda *asked: [name for name in PICTURES if name.startswith(asked[-1])],
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
    from pipeline.problems import nearest  # noqa: PLC0415

    for kind in kinds:
        if kind not in PICTURES:
            raise click.UsageError(f"there is no picture {kind}; {nearest(kind, PICTURES)}")
    found = sound_pattern(file)
    from pipeline.catalogue.make import picture_files  # noqa: PLC0415

    workspace = workspace_of(file)
    shelf, place = shelf_of(workspace), out or out_folder(workspace, found)
    good = True
    for kind in dict.fromkeys(kinds):
        with doing(f"drawing {kind}"):
            pictures = list(picture_files(found, shelf, kind, file_format))
        good = written((place / name, data) for name, data in pictures) and good
    sys.exit(GOOD if good else ERRORS)
