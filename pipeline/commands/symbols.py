"""Commands about stitches and signs."""

import sys
from pathlib import Path

import click

from pipeline.commands.desk import ERRORS, GOOD, locales_of, show
from pipeline.files import symbols_of, write_whole
from pipeline.problems import Problem
from pipeline.symbols import Broken
from pipeline.workspace import Workspace


@click.command("symbols")
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
        locales = locales_of(workspace, ())
        files.append(("key.a4.pdf", key_bytes(symbols, workspace.layers("locales"), locales, fonts, "a4")))
    for name, data in files:
        problems += write_whole(data, out / name)
        click.echo(out / name)
    show(problems)
    sys.exit(ERRORS if problems else GOOD)
