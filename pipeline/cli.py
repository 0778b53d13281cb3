"""The command line: arguments, files, exit codes, the clock. Nothing else in the package reads them.

Exit codes: 0 good, 1 the input has errors, 2 wrong use, 3 a bug of ours. What is heavy (drawing, languages,
typesetting) is imported by the command that needs it.
"""

import json
import sys
import traceback
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Final, NoReturn

import click

from pipeline.craft.adapt import adapt, other_loom
from pipeline.craft.check import Checked
from pipeline.files import check_file, symbols_of, write_whole
from pipeline.options import measure_of, other_thread
from pipeline.pattern import schema
from pipeline.problems import Problem, Severity, nearest, render, spell
from pipeline.publisher import Publisher
from pipeline.publisher import parse as parse_publisher
from pipeline.records import FEWEST_PINS, MOST_PINS
from pipeline.rewrite import rewrite
from pipeline.source import Unreadable, failed, read
from pipeline.symbols import Broken, SymbolSet
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
@click.option(
    "--thread",
    "threads",
    multiple=True,
    metavar="A=COUNT",
    help="Work a thread in another thickness: A=60tex, A=10ne, A=16nm, A=540denier; may be repeated.",
)
def check_command(files: Sequence[Path], *, as_json: bool, strict: bool, threads: Sequence[str]) -> None:
    r"""Check files: can they be read, do the counts fit, do the threads reach.

    \b
    spokeleaf check patterns/harbour-wheel.yaml
    spokeleaf check patterns/*.yaml --strict
    spokeleaf check patterns/harbour-wheel.yaml --thread A=60tex
    """
    tex = dict(map(other_thread, threads))
    checked = [check_file(file, tex) for file in files]
    known = {letter for found in checked if found.pattern for letter in found.pattern.threads}
    unknown = sorted(set(tex) - known)
    if unknown and known:
        raise click.UsageError(f"there is no thread {unknown[0]}; {nearest(unknown[0], known)}")
    if as_json:
        click.echo(json.dumps([found.as_json() for found in checked], ensure_ascii=False, indent=1))
    else:
        for found in checked:
            show(found.problems)
            click.echo(_verdict(found))
    good = all(found.ok and (found.clean or not strict) for found in checked)
    sys.exit(GOOD if good else ERRORS)


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
@click.option("--locale", "tags", multiple=True, metavar="TAG", help="Locale, like es or pt-BR; may be repeated.")
@click.option("--wordless", "without_words", is_flag=True, help="Signs, figures and pictures alone, for any reader.")
@click.option("--left-handed", is_flag=True, help="Mirror pictures and the words for direction.")
@click.option("--paper", type=click.Choice(["a4", "a5", "letter"]), default="a4", show_default=True, help="Paper.")
@click.option(
    "--out", type=click.Path(path_type=Path, file_okay=False), help="Folder to write to, instead of build/out/<id>/."
)
def leaflet_command(
    files: Sequence[Path], *, tags: Sequence[str], without_words: bool, left_handed: bool, paper: str, out: Path | None
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
        for made in make(checked, _shelf(workspace), _locales(workspace, tags), making):
            problems = made.problems
            if made.pdf is not None:
                place = (out or _out_folder(workspace, checked)) / making.name(checked.id or "", made.tag)
                problems += write_whole(made.pdf, place)
                click.echo(place)
            show(problems)
            good = good and all(problem.severity is not Severity.ERROR for problem in problems)
    sys.exit(GOOD if good else ERRORS)


@main.command("chart")
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
        for name, data in picture_files(checked, _shelf(workspace), kind, file_format):
            place = (out or _out_folder(workspace, checked)) / name
            problems += write_whole(data, place)
            click.echo(place)
    show(problems)
    sys.exit(ERRORS if problems else GOOD)


@main.command("calibrate")
@click.argument("file", type=click.Path(path_type=Path), metavar="FILE")
def calibrate_command(file: Path) -> None:
    r"""Read a worked sample: thread it took against the estimate, and the give that its rays must have had.

    Write what the sample took under `measured`; the give is that of a sample that just worked.

    \b
    spokeleaf calibrate patterns/harbour-wheel.yaml
    """
    from pipeline.craft.calibration import calibrate  # noqa: PLC0415

    checked = check_file(file)
    show(checked.problems)
    if checked.pattern is None or checked.lace is None:
        sys.exit(ERRORS)
    found = calibrate(checked.pattern, checked.lace)
    for letter in checked.lace.totals:
        total = checked.lace.totals[letter]
        ratio = f"measured {(total.measured or 0) / 1000:.2f} m, ratio {found.ratios[letter]:.3f}" \
            if letter in found.ratios else "not measured"  # fmt: skip
        click.echo(f"thread {letter}: estimated {total.total / 1000:.2f} m, {ratio}")
    if found.pin_mm is not None:
        click.echo("a sample that just reached implies one of these, the rest of `give` as it is:")
        click.echo(f"  give: {{pin: {found.pin_mm:.2f} mm}}")
        click.echo(f"  give: {{slack_pct: {found.slack_pct:.2f}}}")
    sys.exit(GOOD if checked.ok else ERRORS)


@main.command("adapt")
@click.argument("file", type=click.Path(path_type=Path), metavar="FILE")
@click.option("--pins", type=click.IntRange(FEWEST_PINS, MOST_PINS), help="Pins of the other loom.")
@click.option("--diameter", "diameter", metavar="LENGTH", help="Its diameter, for a circle or a half-circle.")
@click.option("--width", "width", metavar="LENGTH", help="Its width, for an oval or a rectangle.")
@click.option("--height", "height", metavar="LENGTH", help="Its height, for an oval or a rectangle.")
@click.option("--side", "side", metavar="LENGTH", help="Its side, for a square.")
@click.option(
    "--out",
    type=click.Path(path_type=Path, dir_okay=False),
    help="File to write, instead of <id>-<pins>.yaml beside it.",
)
def adapt_command(file: Path, *, pins: int | None, out: Path | None, **lengths: str | None) -> None:
    r"""Put a pattern on another loom: a new file with counts re-fitted and distances scaled, checked anew.

    \b
    spokeleaf adapt patterns/harbour-wheel.yaml --pins 48 --diameter "70 mm"
    """
    checked = check_file(file)
    if checked.pattern is None or checked.source is None:
        show(checked.problems)
        sys.exit(ERRORS)
    loom = checked.pattern.loom
    measures = {name: measure_of(name, text, loom.shape) for name, text in lengths.items() if text is not None}
    if pins is None and not measures:
        raise click.UsageError("say what is other: --pins, or a length of the loom")
    place = out or file.with_name(f"{file.stem}-{pins or loom.pins}.yaml")
    if place.exists():
        show((failed(str(place), "output-exists", place=place),))
        sys.exit(ERRORS)
    changes = adapt(checked.pattern, other_loom(loom, pins, measures), symbols_of(workspace_of(file)))
    values: dict[tuple[str | int, ...], str] = {change.path: change.now for change in changes}
    text = rewrite(checked.source, values | {("id",): place.stem}, drop=("measured",))
    for change in changes:
        click.echo(f"{spell(change.path)}: {change.was or checked.source.tree['loom']} → {change.now}")
    problems = write_whole(text.encode(), place)
    again = check_file(place) if not problems else None
    show(again.problems if again else problems)
    click.echo(place)
    sys.exit(GOOD if again and again.ok else ERRORS)


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


@main.command("symbols")
@click.argument(
    "folder", type=click.Path(path_type=Path, exists=True, file_okay=False), default=".", metavar="[WORKSPACE]"
)
@click.option("--check", "checking", is_flag=True, help="Measure whether every glyph can be told from every other.")
@click.option("--sheet", "sheeting", is_flag=True, help="Make a specimen of all glyphs.")
@click.option("--key", "keying", is_flag=True, help="Make one key with every symbol's name in all languages.")
@click.option("--format", "file_format", type=click.Choice(["svg", "pdf", "png"]), default="pdf", show_default=True)
@click.option("--out", type=click.Path(path_type=Path, file_okay=False), help="Folder, instead of build/out/symbols/.")
def symbols_command(
    folder: Path, *, checking: bool, sheeting: bool, keying: bool, file_format: str, out: Path | None
) -> None:
    r"""Look after stitches and signs: those shipped, and a workspace's own in its `symbols/`.

    \b
    spokeleaf symbols --check
    spokeleaf symbols --sheet --key
    """
    from pipeline.catalogue.symbols import glyph_problems, key_bytes, specimen_files  # noqa: PLC0415

    if not checking and not sheeting and not keying:
        raise click.UsageError("say what to do: --check, --sheet or --key")
    workspace = Workspace(folder.resolve())
    try:
        symbols = symbols_of(workspace)
    except Broken as error:
        show(error.problems)
        sys.exit(ERRORS)
    problems: tuple[Problem, ...] = ()
    if checking:
        problems += glyph_problems(symbols, workspace.layers("symbols"))
        click.echo(f"{len(symbols.everything)} glyphs measured", err=True)
    fonts, out = (folder / "fonts",), out or folder / "build" / "out" / "symbols"
    files = list(specimen_files(symbols, fonts, file_format)) if sheeting else []
    if keying:
        locales = _locales(workspace, ())
        files.append(("key.a4.pdf", key_bytes(symbols, workspace.layers("locales"), locales, fonts, "a4")))
    for name, data in files:
        problems += write_whole(data, out / name)
        click.echo(out / name)
    show(problems)
    sys.exit(ERRORS if problems else GOOD)


@main.command("schema")
def schema_command() -> None:
    """Print the JSON Schema of a pattern file, for editors."""
    click.echo(schema_text(symbols_of(Workspace(None))), nl=False)


def schema_text(symbols: SymbolSet) -> str:
    """The schema as it is written to a file."""
    return json.dumps(schema(symbols.forms), ensure_ascii=False, indent=1) + "\n"


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
    """The locales asked for, or all; an unknown one is wrong use."""
    from pipeline.language.locales import BrokenLocale, load_locales  # noqa: PLC0415

    try:
        known = load_locales(workspace.layers("locales"))
    except BrokenLocale as error:
        show(error.problems)
        sys.exit(ERRORS)
    for tag in tags:
        if tag not in known:
            raise click.UsageError(f"there is no locale {tag}; {nearest(tag, known)}")
    return {tag: known[tag] for tag in dict.fromkeys(tags)} if tags else dict(known)


def run() -> NoReturn:
    """Run the command line; what nobody foresaw is a bug of ours and says so."""
    try:
        main.main(standalone_mode=True)
    except Exception:  # noqa: BLE001
        traceback.print_exc()
        click.echo("bug in pipeline: please report the lines above with the file that caused them", err=True)
        sys.exit(BUG)
    sys.exit(GOOD)


def _verdict(found: Checked) -> str:
    if not found.ok or found.lace is None:
        errors = sum(problem.severity is Severity.ERROR for problem in found.problems)
        return f"{found.file}: {errors} {'error' if errors == 1 else 'errors'}" if errors else f"{found.file}: good"
    threads = ", ".join(
        f"{letter} {total.total / 1000:.2f} m ({total.grams:.1f} g)" for letter, total in found.lace.totals.items()
    )
    return f"{found.file}: good: {found.lace.loom.pins} pins, {len(found.lace.rounds)} rounds, thread {threads}"
