"""Commands for translators."""

import re
import sys
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING

import click

from pipeline.commands.completing import complete_locales
from pipeline.commands.desk import ERRORS, FOLDER, GOOD, checked, locales_of, shelf_of, symbols_in
from pipeline.commands.voice import doing, note, progress, say, say_json, show
from pipeline.workspace import Workspace, is_folder, patterns_in, workspace_of

if TYPE_CHECKING:
    from pipeline.catalogue.make import Shelf, Subject
    from pipeline.catalogue.messages import Stock
    from pipeline.craft.check import Checked
    from pipeline.language.coverage import Coverage
    from pipeline.language.locales import LocaleInfo
    from pipeline.problems import Problem


@click.group("locale")
def locale_group() -> None:
    r"""Look after translations: gettext catalogues in `locales/`.

    \b
    spokeleaf locale add fi
    spokeleaf locale update
    spokeleaf locale check fi
    spokeleaf locale list
    """


@locale_group.command("add")
@click.argument("tag", metavar="TAG")
@click.argument("folder", type=FOLDER, default=".", metavar="[WORKSPACE]")
def locale_add_command(tag: str, folder: Path) -> None:
    r"""Begin a locale: its folder, its `locale.yaml` as a draft, a glossary and catalogues ready to fill.

    \b
    spokeleaf locale add fi
    spokeleaf locale add pt-BR
    """
    from pipeline.fields import TAG_SHAPE  # noqa: PLC0415
    from pipeline.language.locales import LocaleInfo  # noqa: PLC0415

    root = workspace_of(folder / "any.yaml").root
    if root is None:
        raise click.UsageError(f"there is no folder `patterns` in {folder.resolve()} or above it")
    info = LocaleInfo(tag, "draft")
    if not re.fullmatch(TAG_SHAPE, tag) or not info.known:
        raise click.UsageError(f"`{tag}` is no language tag; write it like fi, pt-BR or zh-Hans")
    folder = folder if is_folder(folder / "patterns") else root
    problems = _begun(info, folder)
    show(problems)
    sys.exit(ERRORS if problems else update(folder))


def _begun(info: "LocaleInfo", folder: Path) -> "tuple[Problem, ...]":
    """Write a locale's own files and name them, or say what is in the way. Raises ``BrokenLocale``."""
    from pipeline.files import write_all_new  # noqa: PLC0415
    from pipeline.language.fonts import FontsMissing, fonts_of  # noqa: PLC0415
    from pipeline.language.glossary import FILE, load_english, new_glossary  # noqa: PLC0415
    from pipeline.source import failed  # noqa: PLC0415

    own = folder / "locales" / info.folder
    place = own / "locale.yaml"
    if place.exists():
        return (failed(str(place), "locale-begun", place=place),)
    try:
        fonts_of(info, (folder / "fonts",))
    except FontsMissing as error:
        return (error.problem(str(place)),)
    english = load_english(Workspace(folder.resolve()).layers("locales"))
    wanted = {place: _locale_text(info), own / FILE: new_glossary(english, info.tag)}
    files = {file: text.encode() for file, text in wanted.items() if not file.exists()}
    problems = write_all_new(files)
    for file in () if problems else files:
        say(file)
    return problems


def _locale_text(info: "LocaleInfo") -> str:
    return (
        f"locale: {info.tag}\n"
        "status: draft             # `checked`, and checked_by: a name, when a maker has read everything\n"
        f"paper: {info.paper:18} # a4, a5, letter or common\n"
        f"units: {info.units:18} # metric, inches or both\n"
        f"digits: {info.digits:17} # a numbering system of the CLDR; latn are Western digits\n"
        "# fonts: [{file: Face-Regular.ttf}, {file: Face-Bold.ttf, bold: true}]   # others than those of the script\n"
    )


@locale_group.command("list")
@click.argument("folder", type=FOLDER, default=".", metavar="[WORKSPACE]")
@click.option("--json", "as_data", is_flag=True, help="Print a list of objects.")
def locale_list_command(folder: Path, *, as_data: bool) -> None:
    r"""List locales: status, how much is translated, the last change, and patterns that changed since.

    \b
    spokeleaf locale list
    """
    from pipeline.catalogue.messages import catalogue_file  # noqa: PLC0415
    from pipeline.language.catalogue import BrokenCatalogue  # noqa: PLC0415
    from pipeline.language.coverage import coverage  # noqa: PLC0415
    from pipeline.language.speech import PATTERNS, PROGRAM  # noqa: PLC0415

    stock, _, code = _stock(folder)
    rows: list[tuple[LocaleInfo, list[Coverage]]] = []
    for info in locales_of(stock.workspace, ()).values():
        rows.append((info, []))
        for domain in (PROGRAM, PATTERNS):
            wanted, file = stock.template(domain, info), catalogue_file(stock.folder, info, domain)
            try:
                rows[-1][1].extend([coverage(domain, wanted, file, info)] if len(wanted) else [])
            except BrokenCatalogue as error:
                show(error.problems)
                code = ERRORS
    if as_data:
        data = [{"locale": i.tag, "status": i.status, "catalogues": [asdict(each) for each in f]} for i, f in rows]
        say_json(data)
    else:
        for info, found in rows:
            say(f"{info.tag:8} {info.status:8} {'  '.join(_standing(found))}".rstrip())
    sys.exit(code)


def _standing(found: "Sequence[Coverage]") -> Iterator[str]:
    """What a locale's line says."""
    for each in found:
        fuzzy = f", {each.fuzzy} fuzzy" if each.fuzzy else ""
        yield f"{each.domain} {each.percent} % of {each.messages}{fuzzy}"
    changed = max((each.changed for each in found if each.changed), default="")
    if changed:
        yield f"changed {changed}"
    late = [pattern for each in found for pattern in each.behind]
    if late:
        yield f"behind: {', '.join(late)}"


@locale_group.command("check")
@click.argument("tags", nargs=-1, metavar="[TAG]...", shell_complete=complete_locales)
@click.option("--workspace", "folder", type=FOLDER, default=".", help="The workspace, where it is not this folder.")
@click.option("--json", "as_data", is_flag=True, help="Print a list of problems.")
@click.option("--strict", is_flag=True, help="Warnings, too, are a reason for exit code 1.")
def locale_check_command(tags: Sequence[str], folder: Path, *, as_data: bool, strict: bool) -> None:
    r"""Check translations: what is missing, lost or doubtful, and what does not fit on a leaflet.

    \b
    spokeleaf locale check
    spokeleaf locale check fi
    """
    from pipeline.problems import Severity, as_json  # noqa: PLC0415

    stock, found, code = _stock(folder)
    asked, here = locales_of(stock.workspace, tags), stock.locales()
    infos = [info for tag, info in asked.items() if tag in here and info.status != "source"]
    problems = tuple(_problems(stock, found, infos))
    if as_data:
        say_json([as_json(problem) for problem in problems])
    else:
        show(problems, report=True, strict=strict)
        note(f"locales checked: {len(infos)}, problems: {len(problems)}")
    worst = {problem.severity for problem in problems}
    bad = Severity.ERROR in worst or (strict and Severity.WARNING in worst)
    sys.exit(ERRORS if bad else code)


def _problems(stock: "Stock", found: "Iterable[Checked]", infos: "Sequence[LocaleInfo]") -> "Iterator[Problem]":
    """What is wrong with some locales, tried with these patterns."""
    from pipeline.catalogue.make import subject_of  # noqa: PLC0415

    shelf = shelf_of(stock.workspace)
    with doing("drawing what leaflets show"):
        subjects = [subject_of(one, shelf) for one in found]
    with progress("checking locales", len(infos) * len(subjects)) as move_on:
        for info in infos:
            watched = _watched(subjects, move_on)
            with doing(f"checking {info.tag}"):
                yield from _reviewed(stock, info, shelf, watched)
            list(watched)  # the bar is moved on for those that were not come to


def _watched(subjects: "Iterable[Subject]", move_on: "Callable[[], None]") -> "Iterator[Subject]":
    """Patterns that move a bar on when they are done."""
    for subject in subjects:
        yield subject
        move_on()


def _reviewed(
    stock: "Stock", info: "LocaleInfo", shelf: "Shelf", subjects: "Iterable[Subject]"
) -> "tuple[Problem, ...]":
    """What is wrong with a locale, also where it cannot be reviewed."""
    from pipeline.catalogue.review import review  # noqa: PLC0415
    from pipeline.language.fonts import FontsMissing  # noqa: PLC0415
    from pipeline.problems import Unusable  # noqa: PLC0415

    try:
        return review(stock, info, shelf, subjects)
    except FontsMissing as error:
        return (error.problem(str(stock.folder / info.folder / "locale.yaml")),)
    except Unusable as error:
        return error.problems


@locale_group.command("update")
@click.argument("folder", type=FOLDER, default=".", metavar="[WORKSPACE]")
def locale_update_command(folder: Path) -> None:
    r"""Gather the messages of a workspace and bring its catalogues up to date; work is kept.

    \b
    spokeleaf locale update
    """
    sys.exit(update(folder))


def update(folder: Path) -> int:
    """Bring the catalogues of a workspace up to its texts; the exit code."""
    from pipeline.catalogue.messages import updated_files  # noqa: PLC0415
    from pipeline.files import write_whole  # noqa: PLC0415
    from pipeline.problems import Unusable  # noqa: PLC0415

    stock, _, code = _stock(folder)
    if code:
        return code
    problems: tuple[Problem, ...] = ()
    try:
        for place, data in updated_files(stock):
            if not place.is_file() or place.read_bytes() != data:
                unwritten = write_whole(data, place)
                problems += unwritten
                if not unwritten:
                    say(place)
    except Unusable as error:
        problems += error.problems
    show(problems)
    return ERRORS if problems else GOOD


def _stock(folder: Path) -> "tuple[Stock, list[Checked], int]":
    """What can be translated in a workspace; patterns that cannot be read are shown and left out."""
    from pipeline.catalogue.messages import Stock  # noqa: PLC0415

    workspace = Workspace(folder.resolve())
    every = [checked(file) for file in patterns_in(folder)]
    for found in every:
        if found.pattern is None:
            show(found.problems)
    good = [found for found in every if found.ok and found.lace is not None]
    patterns = tuple(found.pattern for found in every if found.pattern)
    code = ERRORS if any(found.pattern is None for found in every) else GOOD
    return Stock(workspace, symbols_in(workspace), patterns), good, code
