"""Commands about one pattern file: check it, put it on another loom, read a sample."""

import sys
from collections.abc import Collection, Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from pipeline.commands.completing import pattern_file, pattern_files
from pipeline.commands.desk import ERRORS, GOOD, STANDARD_INPUT, checked, files_of, not_patterns, symbols_in
from pipeline.commands.voice import note, progress, say, say_json, show
from pipeline.problems import Unusable
from pipeline.workspace import is_folder, workspace_of

if TYPE_CHECKING:
    from pipeline.craft.adapt import Change
    from pipeline.craft.check import Checked
    from pipeline.source import Source


@click.command("check")
@pattern_files
@click.option("--json", "as_json", is_flag=True, help="Print figures and problems of every file as JSON.")
@click.option("--strict", is_flag=True, help="Fail on warnings too.")
@click.option(
    "--thread",
    "threads",
    multiple=True,
    metavar="A=COUNT",
    help="Work a thread in another thickness: A=60tex, A=10ne, A=16nm, A=540denier; may be repeated.",
)
def check_command(names: Sequence[Path], *, as_json: bool, strict: bool, threads: Sequence[str]) -> None:
    r"""Check files: can they be read, do the counts fit, do the threads reach.

    A folder stands for its patterns, and `-` for what is piped in.

    \b
    spokeleaf check patterns/harbour-wheel.yaml
    spokeleaf check patterns --strict
    spokeleaf check patterns/harbour-wheel.yaml --thread A=60tex
    spokeleaf check - --json < patterns/harbour-wheel.yaml
    """
    from pipeline.options import other_thread  # noqa: PLC0415

    tex = dict(map(other_thread, threads))
    every: list[Checked] = []
    files = [file for name in names for file in (*files_of([name]), *_publisher_in(name))]
    with progress("checking", len(files)) as move_on:
        for file in files:
            every.append(checked(file, tex))
            move_on()
    _refuse_unknown(tex, every)
    if as_json:
        say_json([found.as_json() for found in every])
    else:
        for found in every:
            show(found.problems, report=True, strict=strict)
            say(_verdict(found))
    good = all(found.ok and (found.clean or not strict) for found in every)
    sys.exit(GOOD if good else ERRORS)


def _publisher_in(folder: Path) -> list[Path]:
    """The publisher's file of a folder, which leaflets of its patterns are made with."""
    places = (folder / "patterns" / "publisher.yaml", folder / "publisher.yaml") if is_folder(folder) else ()
    return [place for place in places if place.is_file()][:1]


def _refuse_unknown(threads: Collection[str], every: "Iterable[Checked]") -> None:
    """A thread that no pattern has cannot be worked otherwise."""
    from pipeline.problems import nearest  # noqa: PLC0415

    known = {letter for found in every if found.pattern for letter in found.pattern.threads}
    unknown = sorted(set(threads) - known)
    if unknown and known:
        raise click.UsageError(f"there is no thread {unknown[0]}; {nearest(unknown[0], known)}")


def _verdict(found: "Checked") -> str:
    from pipeline.problems import Severity  # noqa: PLC0415

    if not found.ok or found.lace is None:
        errors = sum(problem.severity is Severity.ERROR for problem in found.problems)
        return f"{found.file}: {_counted(errors, 'error') if errors else 'good'}"
    lace = found.lace
    threads = ", ".join(
        f"{letter} {total.total / 1000:.2f} m ({total.grams:.1f} g)" for letter, total in lace.totals.items()
    )
    return f"{found.file}: good: {lace.loom.pins} pins, {_counted(len(lace.rounds), 'round')}, thread {threads}"


def _counted(number: int, thing: str) -> str:
    return f"{number} {thing}" if number == 1 else f"{number} {thing}s"


@click.command("calibrate")
@pattern_file
def calibrate_command(file: Path) -> None:
    r"""Read a worked sample: thread it took against the estimate, and the give that its rays must have had.

    Write what the sample took under `measured`; the give is that of a sample that just worked.

    \b
    spokeleaf calibrate patterns/harbour-wheel.yaml
    """
    from pipeline.craft.calibration import calibrate  # noqa: PLC0415

    one = checked(file)
    show((*one.problems, *not_patterns([one])))
    if one.pattern is None or one.lace is None:
        sys.exit(ERRORS)
    found = calibrate(one.pattern, one.lace)
    for letter, total in one.lace.totals.items():
        ratio = f"measured {(total.measured or 0) / 1000:.2f} m, ratio {found.ratios[letter]:.3f}" \
            if letter in found.ratios else "not measured"  # fmt: skip
        say(f"thread {letter}: estimated {total.total / 1000:.2f} m, {ratio}")
    budget = max((done.budget for done in one.lace.rounds), default=0.0)
    if budget < 1:
        note(f"rays are asked for {budget:.2f} of what they can give: only a sample at its limit tells more")
    if found.pin_mm:
        say("a sample that just reached implies one of these, the rest of `give` as it is:")
        say(f"  give: {{pin: {found.pin_mm:.2f} mm}}")
        say(f"  give: {{slack_pct: {found.slack_pct:.2f}}}")
    sys.exit(GOOD if one.ok else ERRORS)


@click.command("adapt")
@pattern_file
@click.option("--pins", type=int, metavar="COUNT", help="Pins of the other loom.")
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
    from pipeline.craft.adapt import adapt, other_loom  # noqa: PLC0415
    from pipeline.files import check_file, write_all_new  # noqa: PLC0415
    from pipeline.options import measure_of, pins_of  # noqa: PLC0415
    from pipeline.problems import spell  # noqa: PLC0415

    if pins_of(pins) is None and not any(lengths.values()):
        raise click.UsageError("say what is other: --pins, or a length of the loom")
    if file == STANDARD_INPUT and out is None:
        raise click.UsageError("what is piped in has no folder to write beside; say --out")
    one = checked(file)
    if one.pattern is None or one.source is None:
        raise Unusable((*one.problems, *not_patterns([one])))
    loom = one.pattern.loom
    measures = {name: measure_of(name, text, loom.shape) for name, text in lengths.items() if text is not None}
    place = out or file.with_name(f"{file.stem}-{pins or loom.pins}.yaml")
    changes = adapt(one.pattern, other_loom(loom, pins, measures), symbols_in(workspace_of(file)))
    if problems := write_all_new({place: _adapted(one.source, changes, place.stem).encode()}):
        raise Unusable(problems)
    for change in changes:
        say(f"{spell(change.path)}: {change.was or one.source.tree['loom']} → {change.now}")
    again = check_file(place)
    show(again.problems)
    say(place)
    sys.exit(GOOD if again.ok else ERRORS)


def _adapted(source: "Source", changes: "Iterable[Change]", pattern_id: str) -> str:
    """A file with its values changed, another id, and without what a sample measured."""
    from pipeline.rewrite import rewrite  # noqa: PLC0415

    values = {change.path: change.now for change in changes}
    return rewrite(source, values | {("id",): pattern_id}, drop=("measured",))
