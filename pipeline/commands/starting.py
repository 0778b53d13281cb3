"""Commands that begin something: a workspace, a pattern. They ask for what they need, with an answer to each at hand.

Every question is an option too. Questions are asked on a terminal alone, and not with ``--yes``; an answer that cannot
be used is asked for again, or is wrong use where it was given as an option.
"""

import shlex
import sys
from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import UTC, date, datetime
from itertools import count
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, NoReturn, TypeVar

import click

from pipeline.commands.desk import GOOD, symbols_in
from pipeline.commands.voice import note, say
from pipeline.problems import Unusable
from pipeline.workspace import Workspace, shipped, workspace_of

if TYPE_CHECKING:
    from pipeline.starting.points import Start
    from pipeline.starting.wish import Wish
    from pipeline.symbols import SymbolSet
    from pipeline.units import Length

T = TypeVar("T")

EXAMPLES: Final = "examples"
"""What ``--from`` is given to list what it can be given."""

MEASURES: Final = ("diameter", "width", "height", "side")


class Interview:
    """Answers: given as options, asked for, or what is at hand."""

    def __init__(self, given: Mapping[str, str | None], *, asking: bool) -> None:
        self.given = {name: text for name, text in given.items() if text is not None}
        self.asking = asking

    def answer(self, name: str, question: str, read: Callable[[str], T], at_hand: str | None) -> T:
        """The answer to a question, read; one that cannot be used is asked for again, or is wrong use as an option."""
        from pipeline.starting.wish import Unclear  # noqa: PLC0415

        while True:
            text = self.given.get(name, None if self.asking else at_hand)
            if text is None and not self.asking:
                raise click.UsageError(f"--{name} is needed, for nothing is at hand: {question}")
            try:
                return read(text if text is not None else self._asked(question, at_hand))
            except Unclear as error:
                if text is not None:
                    raise click.UsageError(f"--{name}: {error}") from error
                say(error, err=True)

    def forget(self, *names: str) -> None:
        """Have questions asked again."""
        self.given = {name: text for name, text in self.given.items() if name not in names}

    @staticmethod
    def _asked(question: str, at_hand: str | None) -> str:
        # Without a default an empty line is asked again without a word; as an answer it is refused with a reason.
        return str(click.prompt(question, default=at_hand or "", show_default=bool(at_hand), err=True))


def _asks(*, yes: bool) -> bool:
    """Whether there is somebody to ask."""
    return not yes and sys.stdin is not None and sys.stdin.isatty() and sys.stderr.isatty()


def _of_pattern(command: Callable[..., Any]) -> Callable[..., Any]:
    """The options that say what pattern is begun."""
    options = (
        click.option("--from", "start", metavar="NAME", help="Starting point; `--from examples` lists them."),
        click.option("--language", metavar="TAG", help="Language of the texts in the file, like en or pt-BR."),
        click.option("--title", metavar="TEXT", help="The pattern's name for people."),
        click.option("--id", "pattern_id", metavar="ID", help="Its name for programs, instead of one from the title."),
        click.option("--diameter", metavar="LENGTH", help="Of a circle or half-circle, like 84 mm."),
        click.option("--width", metavar="LENGTH", help="Of an oval."),
        click.option("--height", metavar="LENGTH", help="Of an oval."),
        click.option("--side", metavar="LENGTH", help="Of a square."),
        click.option("--pins", metavar="NUMBER", help="Pins of the loom."),
        click.option("--fibre", metavar="WORD", help="What the thread is made of."),
        click.option("--thread", metavar="THICKNESS", help="How thick it is: 83.3 tex, Ne 10, Nm 16, 120 m / 10 g."),
        click.option("--colour", metavar="DIGITS", help="Its colour as six digits, like 1b4f72."),
        click.option("--colour-name", metavar="TEXT", help="What its colour is called."),
        click.option("--yes", is_flag=True, help="Ask nothing: where nothing is said, take what is at hand."),
    )
    for option in reversed(options):
        command = option(command)
    return command


@click.group("new", invoke_without_command=True)
@_of_pattern
@click.pass_context
def new_group(context: click.Context, /, *, yes: bool = False, **given: str | None) -> None:
    r"""Begin: a workspace where there is none yet, else a pattern in it. On a terminal you are asked what you want.

    \b
    spokeleaf new
    spokeleaf new workspace quay --publisher "Thistledown Quay"
    spokeleaf new pattern --from oval --title "Sea Foam" --pins 60
    spokeleaf new --from examples
    """
    if context.invoked_subcommand is not None:
        if yes or any(given.values()):
            raise click.UsageError(f"say after `{context.invoked_subcommand}` what you want of it")
    else:
        context.invoke(pattern_command if _here().root else workspace_command, yes=yes, **given)


@new_group.command("list")
def list_command() -> None:
    r"""List the starting points of patterns.

    \b
    spokeleaf new list
    """
    _list_starts()


def _list_starts() -> None:
    from pipeline.starting.points import listed  # noqa: PLC0415

    for name, about in listed():
        say(f"{name:12} {about}")


@new_group.command("pattern")
@click.option(
    "--in", "folder", type=click.Path(path_type=Path, exists=True, file_okay=False), help="Workspace to begin it in."
)
@_of_pattern
def pattern_command(*, folder: Path | None = None, yes: bool = False, **given: str | None) -> None:
    r"""Begin a pattern: a file with comments, in which counts, distances and thread fit your loom.

    \b
    spokeleaf new pattern
    spokeleaf new pattern --from oval --title "Sea Foam" --width "110 mm" --height "80 mm" --pins 60
    spokeleaf new pattern --yes --from square --thread "120 m / 10 g"
    """
    if given["start"] == EXAMPLES:
        _list_starts()
        return
    workspace = workspace_of(folder / "any.yaml") if folder else _here()
    if workspace.root is None:
        raise click.UsageError("there is no workspace here; `spokeleaf new workspace` makes one")
    interview = Interview(_by_option(given), asking=_asks(yes=yes))
    place = workspace.root / "patterns"
    wish, text = _pattern(interview, symbols_in(workspace), place)
    files = {place / f"{wish.id}.yaml": text} | _schema_for(workspace)
    _write(files, place / f"{wish.id}.yaml", wish.language)


@new_group.command("workspace")
@click.argument("folder", required=False, type=click.Path(path_type=Path))
@click.option("--publisher", metavar="NAME", help="Whose name is on the leaflets: yours, or your shop's.")
@_of_pattern
def workspace_command(
    *, folder: Path | None = None, publisher: str | None = None, yes: bool = False, **given: str | None
) -> None:
    r"""Make a workspace: a folder with a first pattern, your name for its leaflets, and help for editors.

    \b
    spokeleaf new workspace
    spokeleaf new workspace quay --publisher "Thistledown Quay" --from first-wheel
    """
    from pipeline.starting.wish import line_of  # noqa: PLC0415
    from pipeline.starting.workspace import publisher_from, workspace_files  # noqa: PLC0415

    if given["start"] == EXAMPLES:
        _list_starts()
        return
    named = {"folder": str(folder) if folder else None, "publisher": publisher}
    interview = Interview(_by_option(given) | named, asking=_asks(yes=yes))
    root = interview.answer("folder", "Folder for your patterns", _new_folder, "lace")
    name = interview.answer("publisher", "Your name, or your shop's", line_of, publisher_from(root))
    symbols = symbols_in(Workspace(None))
    wish, text = _pattern(interview, symbols, root / "patterns")
    files = {root / path: text for path, text in workspace_files(name, wish.day.year, wish.id, symbols).items()}
    pattern = root / "patterns" / f"{wish.id}.yaml"
    _write(files | {pattern: text}, pattern, wish.language)


def _by_option(given: Mapping[str, str | None]) -> dict[str, str | None]:
    """Answers by the names of their options."""
    names = {"start": "from", "pattern_id": "id", "colour_name": "colour-name"}
    return {names.get(name, name): text for name, text in given.items()}


def _here() -> Workspace:
    return workspace_of(Path("any.yaml"))


def _new_folder(text: str) -> Path:
    """A folder that is no workspace yet."""
    from pipeline.starting.wish import Unclear  # noqa: PLC0415

    folder = Path(text.strip())
    if (folder / "patterns").exists():
        raise Unclear(f"{folder} is a workspace already; `spokeleaf new pattern` begins a pattern in it")
    if folder.exists() and not folder.is_dir():
        raise Unclear(f"{folder} is a file")
    return folder


def _schema_for(workspace: Workspace) -> dict[Path, str]:
    """The schema that a pattern names, where the workspace has none yet."""
    from pipeline.schema import schema_files  # noqa: PLC0415

    assert workspace.root is not None  # noqa: S101
    files = {workspace.root / "patterns" / name: text for name, text in schema_files(symbols_in(workspace)).items()}
    return {place: text for place, text in files.items() if not place.exists()}


def _pattern(interview: Interview, symbols: "SymbolSet", folder: Path) -> "tuple[Wish, str]":
    """What pattern is wanted, and its text: one without a problem."""
    from pipeline.starting.fitting import fit, helps  # noqa: PLC0415

    start = _start(interview, symbols)
    wish = _wish(interview, start, folder)
    while (text := fit(start, wish, symbols)) is None:
        said = _nothing_fits(wish, helps(start, wish, symbols))
        if not interview.asking:
            raise click.UsageError(said)
        say(said, err=True)
        interview.forget(*start.measures, "pins", "thread")
        wish = replace(wish, **_sizes(interview, start, wish))
    return wish, text


def _nothing_fits(wish: "Wish", tried: tuple[str, ...]) -> str:
    from pipeline.craft.adapt import spelled  # noqa: PLC0415
    from pipeline.starting.wish import weight_spelled  # noqa: PLC0415

    size = " by ".join(map(spelled, wish.measures.values()))
    thread = weight_spelled(wish.weight)
    asked = f"nothing was found that works on {size} with {wish.pins} pins in a thread of {thread}"
    return f"{asked}; tried and good: {', or '.join(tried)}"


def _start(interview: Interview, symbols: "SymbolSet") -> "Start":
    from pipeline.problems import nearest  # noqa: PLC0415
    from pipeline.starting.points import NAMES, listed, load  # noqa: PLC0415
    from pipeline.starting.wish import Unclear  # noqa: PLC0415

    def read(text: str) -> "Start":
        if text not in NAMES:
            raise Unclear(f"there is no starting point `{text}`; {nearest(text, NAMES)}")
        return load(text, symbols)

    if interview.asking and "from" not in interview.given:
        for name, about in listed():
            say(f"  {name:12} {about}", err=True)
    return interview.answer("from", "Starting point", read, NAMES[0])


def _wish(interview: Interview, start: "Start", folder: Path) -> "Wish":
    from pipeline.starting.wish import Wish, colour_of, fibre_of, language_of, line_of  # noqa: PLC0415

    odd = [name for name in MEASURES if name in interview.given and name not in start.measures]
    if odd:
        wanted = " and ".join(f"--{name}" for name in start.measures)
        raise click.UsageError(f"a loom of shape {start.pattern.loom.shape} has no {odd[0]}; give {wanted}")
    language = interview.answer("language", "Language of the texts in the file", language_of, "en")
    english = language.split("-")[0] == "en"
    title = interview.answer("title", "Title", line_of, start.pattern.title if english else None)
    pattern_id = _id(interview, title, folder)
    sizes = _sizes(interview, start, None)
    thread = start.pattern.threads["A"]
    fibre = interview.answer("fibre", "What the thread is made of", fibre_of, thread.fibre)
    colour = interview.answer("colour", "Its colour, six digits", colour_of, thread.colour.removeprefix("#"))
    known = thread.colour_name if english and colour == thread.colour else None
    colour_name = interview.answer("colour-name", "What the colour is called", line_of, known)
    return Wish(
        id=pattern_id, title=title, language=language, day=_today(), fibre=fibre, colour=colour,
        colour_name=colour_name, **sizes,
    )  # fmt: skip


def _id(interview: Interview, title: str, folder: Path) -> str:
    """An id whose file is not there yet; asked for only where the title suggests none."""
    from pipeline.starting.wish import Unclear, id_from, id_of  # noqa: PLC0415

    def read(text: str) -> str:
        found = id_of(text)
        if (folder / f"{found}.yaml").exists():
            raise Unclear(f"{folder / found}.yaml is there already; name another")
        return found

    at_hand = id_from(title)
    if "id" not in interview.given and at_hand:
        if not (folder / f"{at_hand}.yaml").exists():
            return at_hand
        if interview.asking:
            say(f"{at_hand}.yaml is there already", err=True)
            at_hand = _next_free(at_hand, folder)
    question = "Its name for programs, and its file's: small letters, digits, hyphens"
    return interview.answer("id", question, read, at_hand)


def _next_free(taken: str, folder: Path) -> str:
    """An id whose file is not there, made of one whose file is."""
    from pipeline.starting.wish import LONGEST_ID  # noqa: PLC0415

    room = LONGEST_ID - len("-999")
    numbered = (f"{taken[:room].rstrip('-')}-{number}" for number in count(2))
    return next(found for found in numbered if not (folder / f"{found}.yaml").exists())


def _sizes(interview: Interview, start: "Start", before: "Wish | None") -> dict[str, Any]:
    """How large the loom is, how many pins it has, how thick the thread is: what has to fit together."""
    from pipeline.craft.adapt import spelled  # noqa: PLC0415
    from pipeline.starting.wish import measure_of, pins_of, weight_of, weight_spelled  # noqa: PLC0415

    usual: dict[str, float] = {name: getattr(start.pattern.loom, name) for name in start.measures}
    measures: dict[str, Length] = {}
    for name in start.measures:
        at_hand = spelled(before.measures[name]) if before else f"{usual[name]:g} mm"
        words = f"{name.capitalize()} of the loom"
        measures[name] = interview.answer(name, words, measure_of, at_hand)
    divisor = start.pins_divide_by
    times = min(measures[name].mm(0) / usual[name] for name in usual)
    pins = before.pins if before else start.usual_pins(times)
    words = f"Pins, a number that divides by {divisor}"
    pins = interview.answer("pins", words, lambda text: pins_of(text, divisor), str(pins))
    usual_weight = f"{start.pattern.threads['A'].linear_density_tex:g} tex"
    at_hand = weight_spelled(before.weight) if before else usual_weight
    words = "How thick the thread is: 83.3 tex, Ne 10, Nm 16, 120 m / 10 g"
    weight = interview.answer("thread", words, weight_of, at_hand)
    return {"measures": measures, "pins": pins, "weight": weight}


def _today() -> date:
    return datetime.now(UTC).astimezone().date()


def _write(files: Mapping[Path, str], pattern: Path, language: str) -> NoReturn:
    """Write what was begun, all of it or nothing, and say what comes next."""
    from pipeline.files import check_file, write_all_new  # noqa: PLC0415

    if problems := write_all_new({place: text.encode() for place, text in files.items()}):
        raise Unusable(problems)
    checked = check_file(pattern)
    assert checked.problems == (), checked.problems  # noqa: S101
    for place in sorted(files):
        say(_from_here(place))
    name = shlex.quote(str(_from_here(pattern)))
    locale = language if shipped("locales").joinpath(language.replace("-", "_")).is_dir() else "en"
    note(f"open {name} in an editor; what stands after a # explains it\nthen: spokeleaf check {name}")
    note(f"      spokeleaf leaflet {name} --locale {locale}")
    sys.exit(GOOD)


def _from_here(place: Path) -> Path:
    """A place as it is named in the current folder, where it lies below it."""
    here = Path.cwd()
    return place.relative_to(here) if place.is_relative_to(here) else place
