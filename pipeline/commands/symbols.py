"""Commands about stitches and signs."""

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from pipeline.commands.desk import ERRORS, FOLDER, GOOD, locales_of, symbols_in, written
from pipeline.commands.voice import doing, note, progress, say, show
from pipeline.workspace import Workspace

if TYPE_CHECKING:
    from pipeline.problems import Problem
    from pipeline.symbols import SymbolSet


@click.command("symbols")
@click.argument("folder", type=FOLDER, default=".", metavar="[WORKSPACE]")
@click.option("--check", "checking", is_flag=True, help="Measure whether every glyph can be told from every other.")
@click.option("--sheet", "sheeting", is_flag=True, help="Make a specimen of all glyphs.")
@click.option("--key", "keying", is_flag=True, help="Make one key with every symbol's name in all languages.")
@click.option("--reference", "referring", is_flag=True, help="Print how lines are read, and every stitch and sign.")
@click.option(
    "--format",
    "file_format",
    type=click.Choice(["svg", "pdf", "png"]),
    default="pdf",
    show_default=True,
    help="Kind of file of the specimen.",
)
@click.option("--out", type=click.Path(path_type=Path, file_okay=False), help="Folder, instead of build/out/symbols/.")
def symbols_command(folder: Path, *, file_format: str, out: Path | None, **asked: bool) -> None:
    r"""Look after stitches and signs: those shipped, and a workspace's own in its `symbols/`.

    What a check finds stands on standard output, as do the names of files that are written.

    \b
    spokeleaf symbols --check
    spokeleaf symbols --sheet --key
    spokeleaf symbols --reference > symbols.md
    """
    if not any(asked.values()):
        raise click.UsageError("say what to do: --check, --sheet, --key or --reference")
    workspace = Workspace(folder.resolve())
    symbols = symbols_in(workspace)
    if asked["referring"]:
        from pipeline.reference import reference  # noqa: PLC0415

        say(reference(symbols).rstrip())
    good = not asked["checking"] or _is_legible(symbols, workspace)
    fonts, out = (folder / "fonts",), out or folder / "build" / "out" / "symbols"
    if asked["sheeting"]:
        good = written((out / name, data) for name, data in _sheets(symbols, fonts, file_format)) and good
    if asked["keying"]:
        good = written([(out / "key.a4.pdf", _key(symbols, workspace, fonts))]) and good
    sys.exit(GOOD if good else ERRORS)


def _is_legible(symbols: "SymbolSet", workspace: Workspace) -> bool:
    """Whether a poor copy hides nothing; what it would is told in the file of its symbol."""
    from pipeline.drawing.legibility import legibility_findings  # noqa: PLC0415
    from pipeline.problems import in_order  # noqa: PLC0415
    from pipeline.source import read  # noqa: PLC0415

    layers = workspace.layers("symbols")
    problems: list[Problem] = []
    with doing("measuring glyphs"), progress("glyphs", len(symbols.everything)) as move_on:
        for symbol_id, finding in legibility_findings(symbols.everything, move_on):
            file = next(place for layer in reversed(layers) if (place := layer / f"{symbol_id}.yaml").is_file())
            problems += read(str(file), file.read_bytes()).locate([finding])
    show(in_order(problems), report=True)
    note(f"{len(symbols.everything)} glyphs measured")
    return not problems


def _sheets(symbols: "SymbolSet", fonts: Sequence[Path], file_format: str) -> list[tuple[str, bytes]]:
    """The specimen's files, by name."""
    from pipeline.catalogue.symbols import specimen_files  # noqa: PLC0415

    with doing("drawing the specimen"):
        return list(specimen_files(symbols, fonts, file_format))


def _key(symbols: "SymbolSet", workspace: Workspace, fonts: Sequence[Path]) -> bytes:
    from pipeline.catalogue.symbols import key_bytes  # noqa: PLC0415

    locales = locales_of(workspace, ())
    with doing("making the key"):
        return key_bytes(symbols, workspace.layers("locales"), locales, fonts, "a4")
