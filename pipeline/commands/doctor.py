"""The command that says what leaflets need and whether it is there."""

import itertools
import sys
from dataclasses import asdict
from pathlib import Path
from typing import Final

import click

from pipeline.commands.desk import ERRORS, GOOD
from pipeline.commands.voice import Styled, say, say_json, visible
from pipeline.doctor import Item, State, can_make, examine
from pipeline.workspace import workspace_of

_COLOURS: Final = {State.GOOD: "green", State.LACKING: "yellow", State.MISSING: "red"}


@click.command("doctor")
@click.argument("folder", type=click.Path(path_type=Path, exists=True, file_okay=False), default=".")
@click.option("--json", "as_json", is_flag=True, help="Print what was found as JSON, for a report.")
def doctor_command(folder: Path, *, as_json: bool) -> None:
    r"""Look whether everything is there that leaflets need, and say what to do where it is not.

    What is lacking spoils some languages or a comfort; without what is missing no leaflet can be made, and the exit
    code is 1.

    \b
    spokeleaf doctor
    spokeleaf doctor --json > report.json
    """
    items = examine(workspace_of(folder / "any.yaml"), sys.stdout.encoding or "")
    good = can_make(items)
    if as_json:
        say_json({"ok": good, "items": [asdict(item) for item in items]})
    else:
        _tell(items)
        say("\nleaflets can be made" if good else "\nleaflets cannot be made: see what is missing")
    sys.exit(GOOD if good else ERRORS)


def _tell(items: tuple[Item, ...]) -> None:
    for part, found in itertools.groupby(items, key=lambda item: item.part):
        say(part)
        for item in found:
            state = click.style(f"{item.state:8}", fg=_COLOURS[item.state])
            say(Styled(f"  {state} {visible(item.what)}: {visible(item.found)}"))
            if item.remedy:
                say(f"           {item.remedy}")
