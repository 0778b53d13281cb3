"""Commands about one pattern file: check it, put it on another loom, read a sample, print the schema."""

import json
import sys
from collections.abc import Sequence
from pathlib import Path

import click

from pipeline.commands.desk import ERRORS, GOOD, show
from pipeline.craft.adapt import adapt, other_loom
from pipeline.craft.check import Checked
from pipeline.files import check_file, symbols_of, write_whole
from pipeline.options import measure_of, other_thread
from pipeline.pattern import schema
from pipeline.problems import Severity, nearest, spell
from pipeline.records import FEWEST_PINS, MOST_PINS
from pipeline.rewrite import rewrite
from pipeline.source import failed
from pipeline.symbols import SymbolSet
from pipeline.workspace import Workspace, workspace_of


@click.command("check")
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


def _verdict(found: Checked) -> str:
    if not found.ok or found.lace is None:
        errors = sum(problem.severity is Severity.ERROR for problem in found.problems)
        return f"{found.file}: {errors} {'error' if errors == 1 else 'errors'}" if errors else f"{found.file}: good"
    threads = ", ".join(
        f"{letter} {total.total / 1000:.2f} m ({total.grams:.1f} g)" for letter, total in found.lace.totals.items()
    )
    return f"{found.file}: good: {found.lace.loom.pins} pins, {len(found.lace.rounds)} rounds, thread {threads}"


@click.command("calibrate")
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


@click.command("adapt")
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


@click.command("schema")
def schema_command() -> None:
    r"""Print the JSON Schema of a pattern file, for editors.

    \b
    spokeleaf schema > pattern.schema.json
    """
    click.echo(schema_text(symbols_of(Workspace(None))), nl=False)


def schema_text(symbols: SymbolSet) -> str:
    """The schema as it is written to a file."""
    return json.dumps(schema(symbols.forms), ensure_ascii=False, indent=1) + "\n"
