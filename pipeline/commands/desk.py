"""What all commands share: exit codes, the files they are given, what a workspace's leaflets are made with.

Exit codes: 0 good, 1 the input has errors, 2 wrong use, 3 a bug of ours. What is heavy is imported by the function that
needs it, so that help and completion come at once.
"""

import glob
import sys
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Final

import click

from pipeline.commands.voice import doing, note, say, show
from pipeline.workspace import Workspace, is_folder, patterns_in

if TYPE_CHECKING:
    from pipeline.catalogue.make import Shelf
    from pipeline.craft.check import Checked
    from pipeline.language.locales import LocaleInfo
    from pipeline.problems import Problem
    from pipeline.symbols import SymbolSet

GOOD, ERRORS, BUG = 0, 1, 3

FOLDER: Final = click.Path(path_type=Path, exists=True, file_okay=False)

STANDARD_INPUT: Final = Path("-")
"""A file of this name is what is piped in, checked as if it lay among the patterns of the current folder."""

_INPUT_READ: Final = f"{__name__}.input"


def files_of(names: Iterable[Path]) -> list[Path]:
    """The files that are meant: of a folder its patterns, of a name with ``*`` or ``?`` those that match.

    Shells do the latter, but not all of them. What matches nothing stays as it is, for ``checked`` to say so.
    """
    return [file for name in names for file in _meant(name)]


def _meant(name: Path) -> Sequence[Path]:
    if is_folder(name):
        return patterns_in(name) or [name]
    if glob.has_magic(str(name)) and not name.exists():
        return files_of(map(Path, sorted(glob.glob(str(name), recursive=True)))) or [name]  # noqa: PTH207
    return [name]


def checked(file: Path, tex: Mapping[str, float] | None = None) -> "Checked":
    """A file, or what standard input holds, checked."""
    from pipeline.files import check_file, check_input  # noqa: PLC0415

    with doing(f"checking {file}"):
        if file == STANDARD_INPUT:
            return check_input(_input(), tex)
        found = check_file(file, tex)
        return replace(found, problems=(*_not_found_by_folders(file, found), *found.problems))


def _not_found_by_folders(file: Path, found: "Checked") -> "Iterator[Problem]":
    """That a file which was read is passed over wherever its folder is named instead."""
    from pipeline.source import failed  # noqa: PLC0415

    if found.source and file.suffix != ".yaml" and file.is_file():  # a pipe has no name to be changed
        name = found.pattern.id if found.pattern else file.stem.removesuffix(".yaml")
        yield failed(str(file), "ending-not-yaml", name=name)


def _input() -> bytes:
    """What is piped in; it can be read once."""
    from pipeline.source import LARGEST_BYTES  # noqa: PLC0415

    if click.get_current_context().meta.setdefault(_INPUT_READ, False):
        raise click.UsageError("standard input, `-`, can be read once")
    click.get_current_context().meta[_INPUT_READ] = True
    if sys.stdin is None:
        return b""
    if sys.stdin.isatty():
        note("reading what is typed, until Ctrl-D (on Windows Ctrl-Z and Enter)")
    # More than is allowed need not be read to be refused, and some input has no end.
    return bytes(sys.stdin.buffer.read(LARGEST_BYTES + 1))


def sound_pattern(file: Path) -> "Checked":
    """A file, checked, its problems shown; one with errors, or that is no pattern, stops the run."""
    found = checked(file)
    show((*found.problems, *not_patterns([found])))
    if not found.ok or found.lace is None:
        sys.exit(ERRORS)
    return found


def not_patterns(files: "Iterable[Checked]") -> "Iterator[Problem]":
    """That a file without errors is no pattern, of every one that is not."""
    from pipeline.problems import Finding  # noqa: PLC0415

    for found in files:
        if found.ok and found.lace is None and found.source is not None:
            key = next(iter(found.source.tree), "")
            yield from found.source.locate([Finding("kind-unknown", (key,), {"key": key}, on_key=True)])


def out_folder(workspace: Workspace, found: "Checked") -> Path:
    """Where what is made of a file goes, where nothing else is said."""
    root = workspace.root or Path(found.file).resolve().parent
    return root / "build" / "out" / (found.id or "")


def symbols_in(workspace: Workspace) -> "SymbolSet":
    """The symbols of a workspace; one that cannot be used stops the run."""
    from pipeline.files import symbols_of  # noqa: PLC0415

    return symbols_of(workspace)


def shelf_of(workspace: Workspace) -> "Shelf":
    """What leaflets of a workspace are made with; a publisher's file or logo that cannot be used stops the run."""
    from pipeline.catalogue.shelf import load_shelf  # noqa: PLC0415

    symbols_in(workspace)
    with doing("reading publisher and logo"):
        return load_shelf(workspace)


def written(files: Iterable[tuple[Path, bytes]]) -> bool:
    """Write files, and name each or show why it cannot be written; whether all are there."""
    from pipeline.files import write_whole  # noqa: PLC0415

    good = True
    for place, data in files:
        if problems := write_whole(data, place):
            show(problems)
            good = False
        else:
            say(place)
    return good


def locales_of(
    workspace: Workspace, tags: Sequence[str], *, units: str | None = None, western_digits: bool = False
) -> "dict[str, LocaleInfo]":
    """The locales asked for, or all, with what is asked for instead of their habits; an unknown one is wrong use."""
    from pipeline.language.locales import PSEUDO_LOCALES, LocaleInfo, load_locales  # noqa: PLC0415
    from pipeline.problems import nearest  # noqa: PLC0415

    known = load_locales(workspace.layers("locales"))
    pseudo = {tag: LocaleInfo(tag, "pseudo") for tag in PSEUDO_LOCALES if tag in tags}
    for tag in tags:
        if tag not in known | pseudo:
            raise click.UsageError(f"there is no locale {tag}; {nearest(tag, known)}")
    found = {tag: (known | pseudo)[tag] for tag in dict.fromkeys(tags)} if tags else dict(known)
    return {
        tag: replace(info, own_units=units or info.own_units, own_digits="latn" if western_digits else info.own_digits)
        for tag, info in found.items()
    }
