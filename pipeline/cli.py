"""The command line: arguments, files, exit codes, the clock. Nothing else in the package reads them.

Exit codes: 0 good, 1 the input has errors, 2 wrong use, 3 a bug of ours. What is heavy (drawing, languages,
typesetting) is imported by the command that needs it.
"""

import json
import sys
import tempfile
import traceback
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Final, NoReturn

import click

from pipeline.craft.check import Checked, check
from pipeline.looms import load as load_looms
from pipeline.pattern import Looms, schema
from pipeline.problems import Problem, Severity, nearest, render
from pipeline.publisher import Publisher
from pipeline.publisher import parse as parse_publisher
from pipeline.source import Unreadable, failed, read
from pipeline.symbols import Broken, SymbolSet, load
from pipeline.workspace import Workspace, workspace_of

if TYPE_CHECKING:
    from pipeline.catalogue.make import Shelf
    from pipeline.language.locales import LocaleInfo

GOOD, ERRORS, BUG = 0, 1, 3

COLOURS: Final = {Severity.ERROR: "red", Severity.WARNING: "yellow", Severity.NOTE: "cyan"}


@click.group(context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(package_name="spokeleaf")
def main() -> None:
    """Turn wheel-lace pattern files into leaflets that can be worked without reading their language."""


@main.command("check")
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path), metavar="FILE…")
@click.option("--json", "as_json", is_flag=True, help="Print figures and problems of every file as JSON.")
@click.option("--strict", is_flag=True, help="Fail on warnings too.")
def check_command(files: Sequence[Path], *, as_json: bool, strict: bool) -> None:
    r"""Check files: can they be read, do the counts fit, do the threads reach.

    \b
    spokeleaf check patterns/harbour-wheel.yaml
    spokeleaf check patterns/*.yaml --strict
    """
    checked = [check_file(file) for file in files]
    if as_json:
        click.echo(json.dumps([found.as_json() for found in checked], ensure_ascii=False, indent=1))
    else:
        for found in checked:
            show(found.problems)
            click.echo(_verdict(found))
    good = all(found.ok and (found.clean or not strict) for found in checked)
    sys.exit(GOOD if good else ERRORS)


def check_file(file: Path, tex: Mapping[str, float] | None = None) -> Checked:
    """Read a file from disk and check it with the symbols and looms of its workspace."""
    try:
        data = file.read_bytes()
    except FileNotFoundError:
        return _unread(file, failed(str(file), "file-missing"))
    except OSError as error:
        return _unread(file, failed(str(file), "file-unreadable", reason=error.strerror or "unknown"))
    try:
        symbols = symbols_of(workspace_of(file))
    except Broken as error:
        return _unread(file, *error.problems)
    return check(str(file), data, file.stem, symbols, looms_of(workspace_of(file)), tex)


def looms_of(workspace: Workspace) -> Looms:
    """The looms of a workspace that have files of their own."""
    return load_looms(workspace.looms) if workspace.looms else {}


_LOADED: Final[dict[tuple[Path, ...], SymbolSet]] = {}


def symbols_of(workspace: Workspace) -> SymbolSet:
    """The symbols of a workspace, read once. Raises ``Broken``."""
    folders = workspace.layers("symbols")
    if folders not in _LOADED:
        _LOADED[folders] = load(folders)
    return _LOADED[folders]


def show(problems: Sequence[Problem]) -> None:
    """Print problems; the severity has its colour on a terminal."""
    for problem in problems:
        head, *rest = render(problem).split("\n")
        place, _, words = head.partition(f" {problem.severity}[")
        click.echo(place + " " + click.style(f"{problem.severity}[", fg=COLOURS[problem.severity], bold=True) + words)
        for line in rest:
            click.echo(line)


@main.command("leaflet")
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path), metavar="FILE…")
@click.option(
    "--locale", "tags", multiple=True, required=True, metavar="TAG", help="Locale, like es or pt-BR; may be repeated."
)
@click.option("--paper", type=click.Choice(["a4", "a5", "letter"]), default="a4", show_default=True, help="Paper.")
@click.option(
    "--out", type=click.Path(path_type=Path, file_okay=False), help="Folder to write to, instead of build/out/<id>/."
)
def leaflet_command(files: Sequence[Path], *, tags: Sequence[str], paper: str, out: Path | None) -> None:
    r"""Make leaflets: one PDF for every file and locale.

    \b
    spokeleaf leaflet patterns/harbour-wheel.yaml --locale en --locale ar
    spokeleaf leaflet patterns/*.yaml --locale es --paper a5 --out leaflets
    """
    from pipeline.catalogue.make import make  # noqa: PLC0415

    good = True
    for file in files:
        checked = check_file(file)
        show(checked.problems)
        if not checked.ok or checked.lace is None:
            good = False
            continue
        workspace = workspace_of(file)
        for made in make(checked, _shelf(workspace), _locales(workspace, tags), paper):
            problems = made.problems
            if made.pdf is not None:
                place = _leaflet_file(out, workspace, checked, made.tag, paper)
                problems += write_whole(made.pdf, place)
                click.echo(place)
            show(problems)
            good = good and all(problem.severity is not Severity.ERROR for problem in problems)
    sys.exit(GOOD if good else ERRORS)


@main.command("chart")
@click.argument("file", type=click.Path(path_type=Path), metavar="FILE")
@click.option("--format", "file_format", type=click.Choice(["svg", "pdf", "png"]), default="svg", show_default=True)
@click.option(
    "--out", type=click.Path(path_type=Path, file_okay=False), help="Folder to write to, instead of build/out/<id>/."
)
def chart_command(file: Path, *, file_format: str, out: Path | None) -> None:
    r"""Draw the chart alone, as a picture file.

    \b
    spokeleaf chart patterns/harbour-wheel.yaml --format png
    """
    from pipeline.catalogue.make import chart_files  # noqa: PLC0415

    checked = check_file(file)
    show(checked.problems)
    if not checked.ok or checked.lace is None:
        sys.exit(ERRORS)
    workspace = workspace_of(file)
    problems: tuple[Problem, ...] = ()
    for name, data in chart_files(checked, _shelf(workspace), file_format):
        place = (out or _out_folder(workspace, checked)) / name
        problems += write_whole(data, place)
        click.echo(place)
    show(problems)
    sys.exit(ERRORS if problems else GOOD)


@main.group("locale")
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


@main.command("schema")
def schema_command() -> None:
    """Print the JSON Schema of a pattern file, for editors."""
    click.echo(schema_text(symbols_of(Workspace(None))), nl=False)


def schema_text(symbols: SymbolSet) -> str:
    """The schema as it is written to a file."""
    return json.dumps(schema(symbols.forms), ensure_ascii=False, indent=1) + "\n"


def write_whole(data: bytes, place: Path) -> tuple[Problem, ...]:
    """Write a file whole or not at all; a problem where that cannot be."""
    try:
        place.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.NamedTemporaryFile(dir=place.parent, prefix=f".{place.name}.", delete=False) as file:
            file.write(data)
        Path(file.name).chmod(0o644)
        Path(file.name).replace(place)
    except OSError as error:
        return (failed(str(place), "output-unwritable", place=place, reason=error.strerror or "unknown"),)
    return ()


def _leaflet_file(out: Path | None, workspace: Workspace, checked: Checked, tag: str, paper: str) -> Path:
    return (out or _out_folder(workspace, checked)) / f"{checked.id}.{tag}.{paper}.pdf"


def _out_folder(workspace: Workspace, checked: Checked) -> Path:
    root = workspace.root or Path(checked.file).resolve().parent
    return root / "build" / "out" / (checked.id or "")


def _shelf(workspace: Workspace) -> "Shelf":
    from pipeline.catalogue.make import Shelf  # noqa: PLC0415

    fonts = (workspace.root / "fonts",) if workspace.root else ()
    return Shelf(symbols_of(workspace), _publisher(workspace), workspace.layers("locales"), fonts)


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


def _locales(workspace: Workspace, tags: Sequence[str]) -> "dict[str, LocaleInfo]":
    """The locales asked for; an unknown one is wrong use."""
    from pipeline.language.locales import BrokenLocale, load_locales  # noqa: PLC0415

    try:
        known = load_locales(workspace.layers("locales"))
    except BrokenLocale as error:
        show(error.problems)
        sys.exit(ERRORS)
    for tag in tags:
        if tag not in known:
            raise click.UsageError(f"there is no locale {tag}; {nearest(tag, known)}")
    return {tag: known[tag] for tag in dict.fromkeys(tags)}


def run() -> NoReturn:
    """Run the command line; what nobody foresaw is a bug of ours and says so."""
    try:
        main.main(standalone_mode=True)
    except Exception:  # noqa: BLE001
        traceback.print_exc()
        click.echo("bug in pipeline: please report the lines above with the file that caused them", err=True)
        sys.exit(BUG)
    sys.exit(GOOD)


def _unread(file: Path, *problems: Problem) -> Checked:
    return Checked(str(file), None, None, None, None, None, problems)


def _verdict(found: Checked) -> str:
    if not found.ok or found.lace is None:
        errors = sum(problem.severity is Severity.ERROR for problem in found.problems)
        return f"{found.file}: {errors} {'error' if errors == 1 else 'errors'}" if errors else f"{found.file}: good"
    threads = ", ".join(
        f"{letter} {total.total / 1000:.2f} m ({total.grams:.1f} g)" for letter, total in found.lace.totals.items()
    )
    return f"{found.file}: good: {found.lace.loom.pins} pins, {len(found.lace.rounds)} rounds, thread {threads}"
