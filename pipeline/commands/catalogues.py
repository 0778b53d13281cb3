"""The command that builds a whole catalogue, again and again."""

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Final
from urllib.parse import urlsplit

import click

from pipeline.commands.completing import complete_locales
from pipeline.commands.desk import ERRORS, FOLDER, GOOD, locales_of
from pipeline.workspace import Workspace, patterns_in

PAPERS: Final = ("a4", "a5", "letter", "common")


@click.command("catalogue")
@click.argument("folder", type=FOLDER, default=".")
@click.option(
    "--locale",
    "tags",
    multiple=True,
    metavar="TAG",
    shell_complete=complete_locales,
    help="Only these locales; may be repeated.",
)
@click.option("--paper", "papers", multiple=True, type=click.Choice(PAPERS), help="Papers, instead of each locale's.")
@click.option("--jobs", type=click.IntRange(1, 256), help="Processes to work in, instead of one for every processor.")
@click.option("--cluster", metavar="ADDRESS", help="Work on the machines of a Dask scheduler: tcp://10.0.0.1:8786")
@click.option("--printed", is_flag=True, help="Also a catalogue to print, in every locale.")
@click.option("--site", is_flag=True, help="Also a site of plain files with gallery, leaflets and feeds.")
@click.option("--base", metavar="ADDRESS", help="Where the site will stand, for its map: https://example.org/lace/")
@click.option("--verify", is_flag=True, help="Make some leaflets again and compare them, byte for byte.")
@click.option(
    "--out", type=click.Path(path_type=Path, file_okay=False), help="Folder to write to, instead of build/out."
)
def catalogue_command(  # noqa: PLR0913
    folder: Path,
    *,
    tags: Sequence[str],
    papers: Sequence[str],
    jobs: int | None,
    cluster: str | None,
    printed: bool,
    site: bool,
    base: str | None,
    verify: bool,
    out: Path | None,
) -> None:
    r"""Make the leaflets of all patterns of a workspace in all its locales; only what changed is made anew.

    \b
    spokeleaf catalogue
    spokeleaf catalogue shop --locale en --locale ar --paper a4 --paper letter --jobs 4
    spokeleaf catalogue --printed --site --base https://example.org/lace/
    """
    if base is not None and not (site and _is_address(base)):
        raise click.UsageError("--base is the address of a --site: https://example.org/lace/")
    workspace = Workspace(folder.resolve())
    files = patterns_in(folder.resolve())
    if not files:
        raise click.UsageError(f"there are no patterns in {folder / 'patterns'}")
    locales = locales_of(workspace, tags)
    from pipeline.commands.running import Run, alone  # noqa: PLC0415

    with alone(out or folder / "build" / "out") as place:
        run = Run(workspace, locales, place, files, papers)
        run.make(jobs, cluster)
        run.show(base, printed=printed, site=site)
        if verify:
            run.verify()
        sys.exit(GOOD if run.is_good() else ERRORS)


def _is_address(text: str) -> bool:
    """Whether a site can have this address."""
    try:
        parts = urlsplit(text)
    except ValueError:
        return False
    return parts.scheme in {"https", "http"} and bool(parts.hostname)
