"""What a shell completes: pattern files and locales. It is asked at every press of a key, so nothing heavy is loaded.

click makes the scripts for bash, zsh and fish and completes commands, options and choices by itself:
https://click.palletsprojects.com/en/stable/shell-completion/
"""

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import click

from pipeline.workspace import Workspace, patterns_in, workspace_of

if TYPE_CHECKING:
    from click.shell_completion import CompletionItem


def complete_patterns(_context: click.Context, _param: click.Parameter, incomplete: str) -> "list[CompletionItem]":
    """Pattern files that begin so, in the folder named, or in ``patterns/``; else whatever files the shell knows."""
    from click.shell_completion import CompletionItem  # noqa: PLC0415

    typed = Path(incomplete + "x").parent
    folders = (typed, typed / "patterns")
    # patterns_in of a workspace finds those in patterns/ already, by their whole names.
    found = {file.as_posix(): None for folder in folders if folder.is_dir() for file in patterns_in(folder)}
    return [CompletionItem(name) for name in found if name.startswith(incomplete)] or [
        CompletionItem(incomplete, type="file")
    ]


pattern_file = click.argument("file", type=click.Path(path_type=Path), metavar="FILE", shell_complete=complete_patterns)
"""The argument of commands about one pattern."""

pattern_files = click.argument(
    "names",
    nargs=-1,
    required=True,
    type=click.Path(path_type=Path),
    metavar="FILE...",
    shell_complete=complete_patterns,
)
"""The argument of commands about several, or folders of them."""


def complete_locales(_context: click.Context, _param: click.Parameter, incomplete: str) -> list[str]:
    """The locales of the workspace around the current folder, and those shipped."""
    return sorted({tag for tag in _locales(workspace_of(Path("any.yaml"))) if tag.startswith(incomplete)})


def _locales(workspace: Workspace) -> Iterator[str]:
    """Their tags, by their folders: ``pt_BR`` holds pt-BR."""
    for layer in workspace.layers("locales"):
        for file in layer.glob("*/locale.yaml"):
            yield file.parent.name.replace("_", "-")
