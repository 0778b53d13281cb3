"""The command that prints what editors check a file with."""

import sys
from pathlib import Path
from typing import Final

import click

from pipeline.commands.desk import ERRORS, GOOD, symbols_in, written
from pipeline.commands.voice import say, say_json
from pipeline.workspace import workspace_of

KINDS: Final = ("pattern", "publisher", "loom", "symbol")
"""Those of ``schema``, which is heavy; a test compares them."""


@click.command("schema")
@click.option("--of", "kind", type=click.Choice(KINDS), help="Kind of file; a pattern where nothing is said.")
@click.option(
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    help="Write the schemas of all kinds, or of one, into this folder instead, over those that are there.",
)
@click.option("--table", "tabled", is_flag=True, help="Print every key of a pattern as a table for people.")
def schema_command(*, kind: str | None, out: Path | None, tabled: bool) -> None:
    r"""Print the JSON Schema of a pattern file, for editors; it knows the stitches of the workspace it is asked in.

    \b
    spokeleaf schema
    spokeleaf schema --of publisher
    spokeleaf schema --out patterns/schema
    spokeleaf schema --table > keys.md
    """
    from pipeline.schema import schema, schema_files  # noqa: PLC0415

    if tabled and (kind or out):
        raise click.UsageError("--table prints the keys of a pattern; leave out --of and --out")
    symbols = symbols_in(workspace_of((out or Path()) / "any.yaml"))
    if tabled:
        from pipeline.reference import keys  # noqa: PLC0415

        say(keys(symbols).rstrip())
        sys.exit(GOOD)
    if out is None:
        say_json(schema(kind or "pattern", symbols))
        sys.exit(GOOD)
    files = {name: text for name, text in schema_files(symbols).items() if kind in {None, name.name.split(".")[0]}}
    good = written((out / name.name, text.encode()) for name, text in files.items())
    sys.exit(GOOD if good else ERRORS)
