"""How the command line behaves, whatever the command: help, streams, colours, bars, input, interruption, speed."""

import io
import json
import os
import pty
import re
import shlex
import shutil
import signal
import subprocess
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import click
import pytest
from click.testing import CliRunner, Result
from PIL import Image

from pipeline import cli
from pipeline.catalogue.make import PICTURES
from pipeline.commands import leaflets, schemas
from pipeline.commands.desk import files_of
from pipeline.schema import KINDS

ROOT = Path(__file__).resolve().parent.parent
CASES = Path(__file__).parent / "cases"
GOOD = CASES / "good" / "harbour-wheel.yaml"
ERROR = CASES / "check" / "level-six.yaml"
WARNING = CASES / "check" / "odd-pins.yaml"
NOTE = CASES / "check" / "accepted-warning.yaml"


def run(*arguments: str | Path, **more: Any) -> Result:
    """The command, in this process."""
    return CliRunner().invoke(cli.main, [*map(str, arguments)], **more)


def start(*arguments: str | Path, **more: Any) -> subprocess.Popen[str]:
    """The command, in a process of its own."""
    surroundings = {name: text for name, text in os.environ.items() if name not in {"NO_COLOR", "FORCE_COLOR"}}
    surroundings |= {"PYTHONPATH": str(ROOT), "TERM": "xterm", "COLUMNS": "80"} | more.pop("env", {})
    command = [sys.executable, "-m", "pipeline", *map(str, arguments)]
    return subprocess.Popen(command, env=surroundings, text=True, encoding="utf-8", errors="replace", **more)


def apart(*arguments: str | Path, **more: Any) -> tuple[int, str, str]:
    """The command in a process of its own: exit code, standard output, standard error."""
    process = start(*arguments, stdout=subprocess.PIPE, stderr=subprocess.PIPE, stdin=subprocess.DEVNULL, **more)
    out, err = process.communicate(timeout=120)
    return process.returncode, out, err


def on_terminal(stream: str, *arguments: str | Path, **more: Any) -> tuple[str, str]:
    """What the command writes to a terminal that is one of its streams, and to the other, which is none."""
    ours, theirs = pty.openpty()
    other = "stderr" if stream == "stdout" else "stdout"
    with start(*arguments, **{stream: theirs, other: subprocess.PIPE}, stdin=subprocess.DEVNULL, **more) as process:
        os.close(theirs)
        written = b""
        while chunk := _chunk(ours):
            written += chunk
        piped = process.stdout or process.stderr
        assert piped is not None
        said = piped.read()
    os.close(ours)
    return written.decode(), said


def _chunk(terminal: int) -> bytes:
    try:
        return os.read(terminal, 4096)
    except OSError:  # what Linux says of a terminal that nobody writes to any more
        return b""


@pytest.fixture
def workspace(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A workspace around the current folder: two patterns, a publisher, a loom, and an edition that was sold."""
    for name in ("patterns/harbour-wheel.yaml", "patterns/quay-wheel.yaml", "sold/harbour-wheel.yaml"):
        file = tmp_path / name
        file.parent.mkdir(exist_ok=True)
        file.write_text(GOOD.read_text(encoding="utf-8").replace("id: harbour-wheel", f"id: {file.stem}"), "utf-8")
    (tmp_path / "patterns" / "publisher.yaml").write_text("publisher: Thistledown Quay\n", encoding="utf-8")
    shutil.copytree(CASES / "workspace" / "patterns" / "looms", tmp_path / "patterns" / "looms")
    monkeypatch.chdir(tmp_path)
    return tmp_path


# Help


def commands(group: click.Group, before: tuple[str, ...] = ()) -> Iterator[tuple[tuple[str, ...], click.Command]]:
    """Every command and group below a group, with the words that name it."""
    for name, later in group.commands.items():
        command = later.command if isinstance(later, cli.Later) else later
        yield (*before, name), command
        if isinstance(command, click.Group):
            yield from commands(command, (*before, name))


EVERY = {(): cli.main} | dict(commands(cli.main))


def examples(command: click.Command) -> list[str]:
    """Lines of a command's help that could be typed."""
    lines = (line.strip() for line in (command.help or "").splitlines())
    return [line for line in lines if line.startswith("spokeleaf ")]


def parse(command: click.Command, words: list[str], parent: click.Context | None = None) -> None:
    """Parse what is typed, down to the last command, without doing anything."""
    context = command.make_context(command.name, words, parent)
    left = [*context._protected_args, *context.args]  # noqa: SLF001
    if isinstance(context.command, click.Group) and (left or not context.command.invoke_without_command):
        _, inner, rest = context.command.resolve_command(context, left)
        assert inner is not None
        parse(inner, rest, context)


@pytest.mark.parametrize("words", EVERY, ids=lambda words: " ".join(words) or "spokeleaf")
def test_every_help_has_examples_that_can_be_typed(words: tuple[str, ...], workspace: Path) -> None:
    """Each is a line by itself, and the real options take it."""
    found = examples(EVERY[words])
    assert found
    (workspace / "shop").mkdir()
    for line in found:
        typed = shlex.split(re.split(r" [<>|] ", line)[0])
        assert tuple(typed[1 : 1 + len(words)]) == words
        parse(cli.main, typed[1:])


@pytest.mark.parametrize("words", EVERY, ids=lambda words: " ".join(words) or "spokeleaf")
def test_every_help_can_be_shown_on_any_terminal(words: tuple[str, ...]) -> None:
    """ASCII, no wider than 100 columns, both options that all commands have once, and no sign of how it was written."""
    said = run(*words, "--help").output
    assert said.isascii()
    assert "\\b" not in said
    assert said.count("--quiet") == said.count("--verbose") == 1
    assert all(len(line) <= 100 for line in said.splitlines())


def test_the_list_of_commands_says_of_each_what_its_help_says() -> None:
    """The lines stand in a table, so that no command need be imported for them; they are true and not cut off."""
    said = " ".join(run("--help").output.split())
    for name, later in cli.main.commands.items():
        assert isinstance(later, cli.Later)
        assert later.name == name
        assert later.short_help == later.command.short_help
        assert f" {name} {later.short_help} " in said


def test_help_says_where_to_begin() -> None:
    """In a line of its own, before the examples."""
    assert re.search(r"^  To begin, .*\n(.*\n)*  spokeleaf ", run("--help").output, re.MULTILINE)


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        (["chek"], "'check'"),
        (["leaflets", "x.yaml"], "'leaflet'"),
        (["locale", "chekc"], "'check'"),
        (["check", "--strct", "x.yaml"], "'--strict'"),
        (["check", "--quite", "x.yaml"], "'--quiet'"),
        (["locale", "list", "--jsn"], "'--json'"),
    ],
)
def test_the_nearest_known_word_is_offered(typed: list[str], meant: str) -> None:
    """Of commands and of options; exit code 2."""
    result = run(*typed)
    assert result.exit_code == 2
    assert re.search(rf"Did you mean .*{meant}", result.stderr)
    assert result.stdout == ""


# What is loaded


@pytest.mark.parametrize("words", EVERY, ids=lambda words: " ".join(words) or "spokeleaf")
def test_help_loads_nothing_that_reads_patterns(words: tuple[str, ...]) -> None:
    """A fresh process that says how it is used loads neither YAML nor models: it is quicker than they are."""
    assert loaded(*words, "--help").isdisjoint({"yaml", "pydantic", "rich", "matplotlib", "babel", "numpy"})


def test_checking_loads_no_other_command() -> None:
    """Nor what only they need."""
    found = loaded("check", str(GOOD))
    assert "pydantic" in found
    assert found.isdisjoint({"rich", "traceback", "pipeline.editions", "pipeline.notation", "pipeline.schema"})
    assert {name for name in found if name.startswith("pipeline.commands.")} == {
        "pipeline.commands.voice", "pipeline.commands.desk", "pipeline.commands.completing", "pipeline.commands.patterns",
    }  # fmt: skip


def loaded(*arguments: str) -> set[str]:
    """The modules in a fresh process when it ends."""
    script = (
        "import atexit, sys\natexit.register(lambda: print('LOADED', *sys.modules))\n"
        "from pipeline.cli import run\nsys.argv[0] = 'spokeleaf'\nrun()\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", script, *arguments], capture_output=True, text=True, check=True, cwd=ROOT
    )
    return set(done.stdout.splitlines()[-1].split()[1:])


def test_names_that_stand_twice_to_be_at_hand_are_the_same() -> None:
    """Pictures and kinds of schema are named in commands, without the modules that make them."""
    assert leaflets.PICTURES == PICTURES
    assert schemas.KINDS == KINDS


# Loud and quiet


def test_a_quiet_check_says_errors_and_verdicts() -> None:
    """Neither warnings nor notes; they are no less true for that."""
    result = run("check", "--quiet", ERROR, WARNING, NOTE)
    assert re.findall(r"(\w+)\[", result.stdout) == ["error"]
    assert len(result.stdout.splitlines()) == len(run("check", "-q", ERROR).stdout.splitlines()) + 2
    assert result.exit_code == 1


def test_quiet_where_warnings_fail_shows_them() -> None:
    """With --strict a warning is why the exit code is 1, so it is shown; a note is not."""
    result = run("check", "--strict", "-q", WARNING, NOTE)
    assert re.findall(r"(\w+)\[", result.stdout) == ["warning"]
    assert result.exit_code == 1


def test_quiet_changes_no_data() -> None:
    """JSON has every problem."""
    assert run("check", "-q", "--json", NOTE).stdout == run("check", "--json", NOTE).stdout


def test_quiet_leaves_results_alone(workspace: Path) -> None:
    """What was written is named; what else there is to say is not."""
    usual, quiet = (run("symbols", "--check", workspace, *more) for more in ((), ("-q",)))
    assert "glyphs measured" in usual.stderr
    assert (quiet.exit_code, quiet.stdout, quiet.stderr) == (0, "", "")


@pytest.mark.parametrize("arguments", [["-v", "check"], ["check", "-v"]])
def test_a_verbose_run_says_what_it_does_and_how_long_it_took(arguments: list[str]) -> None:
    """On standard error, with the option before the command or after it; the report is the same."""
    result = run(*arguments, GOOD)
    assert result.stdout == run("check", GOOD).stdout
    assert f"checking {GOOD} ...\n" in result.stderr
    assert re.search(rf"^checking {re.escape(str(GOOD))}: \d+\.\d\d s$", result.stderr, re.MULTILINE)


@pytest.mark.parametrize("arguments", [["-q", "check", "-v"], ["check", "--quiet", "--verbose"]])
def test_quiet_and_verbose_is_wrong_use(arguments: list[str]) -> None:
    """Wherever each stands."""
    result = run(*arguments, GOOD)
    assert result.exit_code == 2
    assert "not both" in result.stderr


# Streams


def test_a_report_is_a_result_and_other_problems_are_not(workspace: Path) -> None:
    """``check`` prints its problems on standard output, the others on standard error: results can be piped."""
    warned = "patterns/odd-pins.yaml"
    shutil.copy(WARNING, warned)
    assert "warning[odd-pins]" in run("check", warned).stdout
    for arguments, result in (
        (["calibrate", warned], "thread A: estimated"),
        (["adapt", warned, "--diameter", "90 mm", "--out", "made.yaml"], "loom.diameter: 80 mm → 90 mm"),
        (["chart", warned, "--out", "out"], "out/odd-pins.chart.svg"),
    ):
        made = run(*arguments)
        assert made.exit_code == 0, made.output
        assert "warning[odd-pins]" in made.stderr, arguments
        assert "warning" not in made.stdout
        assert result in made.stdout
    assert (workspace / "out" / "odd-pins.chart.svg").is_file()


def test_what_was_not_written_is_not_named(workspace: Path) -> None:
    """A picture whose folder is a file: the problem on standard error, nothing on standard output."""
    (workspace / "taken").write_text("")
    result = run("chart", "patterns/quay-wheel.yaml", "--out", "taken/below")
    assert result.exit_code == 1
    assert result.stdout == ""
    assert "error[output-unwritable]" in result.stderr


def test_what_is_no_pattern_is_passed_over_among_others(workspace: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A shell's ``*.yaml`` names the publisher too: a note, and exit code 0; alone it is an error."""
    monkeypatch.setattr("pipeline.catalogue.make.typeset_markup", lambda *_: b"%PDF-")
    files = sorted((workspace / "patterns").glob("*.yaml"))
    result = run("leaflet", *files, "--locale", "en", "--out", "out")
    assert result.exit_code == 0, result.output
    assert result.stdout.splitlines() == ["out/harbour-wheel.en.a4.pdf", "out/quay-wheel.en.a4.pdf"]
    assert re.findall(r"note\[passed-over\]: the file begins with `(\w+)`", result.stderr) == ["publisher"]
    alone = run("leaflet", "patterns/publisher.yaml", "--locale", "en")
    assert alone.exit_code == 1
    assert "error[kind-unknown]" in alone.stderr


@pytest.mark.parametrize("command", [["chart"], ["calibrate"], ["adapt", "--pins", "48"]])
def test_a_command_for_a_pattern_says_what_is_none(workspace: Path, command: list[str]) -> None:
    """Not only by its exit code."""
    result = run(*command, "patterns/publisher.yaml")
    assert result.exit_code == 1
    assert "patterns/publisher.yaml:1:1: error[kind-unknown]" in result.stderr
    assert workspace.is_dir()


# Colours and bars


def test_colours_are_for_terminals() -> None:
    """A severity has its colour on a terminal, none in a pipe; NO_COLOR and FORCE_COLOR say otherwise."""
    colour = "\x1b[33m"
    assert colour in on_terminal("stdout", "check", WARNING)[0]
    assert "\x1b" not in on_terminal("stdout", "check", WARNING, env={"NO_COLOR": "1"})[0]
    assert colour in on_terminal("stdout", "check", WARNING, env={"NO_COLOR": ""})[0]
    assert "\x1b" not in apart("check", WARNING)[1]
    assert colour in apart("check", WARNING, env={"FORCE_COLOR": "1"})[1]


def test_a_bar_is_drawn_on_a_terminal_and_taken_away() -> None:
    """On standard error, where results do not meet it; the last thing is that its line is empty."""
    drawn, results = on_terminal("stderr", "check", GOOD, GOOD, GOOD)
    assert "checking" in drawn
    assert "3/3" in drawn
    assert drawn.endswith("\x1b[2K")
    assert "\x1b" not in results
    assert len(results.splitlines()) == 3


@pytest.mark.parametrize("more", [["-q"], ["--json", "-q"]])
def test_no_bar_where_none_is_wanted(more: list[str]) -> None:
    """A quiet run draws none; a pipe gets none; one file needs none."""
    assert on_terminal("stderr", "check", GOOD, GOOD, *more)[0] == ""
    assert on_terminal("stderr", "check", GOOD)[0] == ""
    assert apart("check", GOOD, GOOD)[2] == ""


def test_a_verbose_run_has_lines_instead_of_a_bar() -> None:
    """Both would write over one another."""
    drawn, _ = on_terminal("stderr", "check", "-v", GOOD, GOOD)
    assert "2/2" not in drawn
    assert drawn.count("checking ") == 4


def test_problems_and_bars_do_not_mix(workspace: Path) -> None:
    """A problem told while a bar is drawn has lines of its own."""
    shutil.copy(WARNING, "patterns/odd-pins.yaml")
    shutil.copy(ERROR, "patterns/level-six.yaml")
    files = [f"patterns/{name}.yaml" for name in ("odd-pins", "level-six", "publisher", "odd-pins")]
    drawn, _ = on_terminal("stderr", "leaflet", *files, "--locale", "xx", env={"NO_COLOR": "1"})
    lines = [re.sub(r".*\x1b\[2K", "", line) for line in re.split(r"\r\n|\r", drawn)]
    told = [line for line in lines if re.match(r"patterns/\S+:\d+:\d+: (warning|error)\[", line)]
    assert len(told) == 3
    assert workspace.is_dir()


@pytest.mark.parametrize(
    ("arguments", "label"),
    [
        (["symbols", "--check"], "glyphs"),
        (["locale", "check", "de", "es"], "checking locales"),
        (["leaflet", "patterns", "--locale", "en", "--html", "--out", "out"], "leaflets"),
    ],
)
def test_long_work_has_a_bar(workspace: Path, arguments: list[str], label: str) -> None:
    """Glyphs measured, locales of the workspace checked, leaflets made."""
    for tag in ("de", "es"):
        (workspace / "locales" / tag).mkdir(parents=True)
    drawn, _ = on_terminal("stderr", *arguments)
    counted = re.findall(rf"{label} [^\n]*?(\d+)/(\d+)", drawn)
    assert {every for _, every in counted} == {counted[0][1]} != {"1"}
    assert counted[-1][0] == counted[-1][1]
    assert workspace.is_dir()


# What is piped in, and names that stand for several


def test_standard_input_is_checked(workspace: Path) -> None:
    """By the name <stdin>, with the stitches and looms of the workspace around the current folder."""
    text = GOOD.read_text(encoding="utf-8")
    result = run("check", "-", input=text)
    assert result.exit_code == 0, result.output
    assert result.stdout.startswith("<stdin>: good: 60 pins")
    named = (CASES / "workspace" / "patterns" / "loom-unknown-not.yaml").read_text(encoding="utf-8")
    assert run("check", "-", input=named).exit_code == 0
    assert workspace.is_dir()


def test_standard_input_has_no_name_that_its_id_should_be(workspace: Path) -> None:
    """A file of another name is warned of, what is piped in is not; otherwise both have the same figures."""
    text = GOOD.read_text(encoding="utf-8").replace("id: harbour-wheel", "id: other")
    (workspace / "patterns" / "wrong.yaml").write_text(text, encoding="utf-8")
    (piped,) = json.loads(run("check", "-", "--json", input=text).stdout)
    (filed,) = json.loads(run("check", "patterns/wrong.yaml", "--json").stdout)
    assert [problem["code"] for problem in filed.pop("problems")] == ["id-not-file-name"]
    assert piped.pop("problems") == []
    assert piped == filed


def test_problems_of_standard_input_have_their_place(workspace: Path) -> None:
    """In its lines, as words and as data; photographs are looked for beside the patterns."""
    text = GOOD.read_text(encoding="utf-8").replace("rays: 6}", "rays: 7}", 1)
    line = next(n for n, row in enumerate(text.splitlines(), 1) if "rays: 7}" in row)
    assert f"<stdin>:{line}:" in run("check", "-", input=text).stdout
    (found,) = json.loads(run("check", "-", "--json", input=text).stdout)
    assert {(problem["file"], problem["line"]) for problem in found["problems"]} == {("<stdin>", line)}
    photo = GOOD.read_text(encoding="utf-8") + "photos:\n  - {file: wheel.jpg, alt: The wheel}\n"
    assert "photo-missing" in run("check", "-", input=photo).stdout
    Image.new("RGB", (2400, 1800)).save(workspace / "patterns" / "wheel.jpg")
    assert "photo-missing" not in run("check", "-", input=photo).stdout


@pytest.mark.parametrize(
    ("data", "code"), [(b"", "file-empty"), (b"\xff\xfe", "not-utf-8"), (b"#" * (1 << 21), "file-too-large")]
)
def test_anything_may_be_piped_in(data: bytes, code: str) -> None:
    """Nothing, no text, too much: a problem, and exit code 1."""
    result = run("check", "-", input=io.BytesIO(data))
    assert result.exit_code == 1
    assert f"<stdin>:1:1: error[{code}]" in result.stdout


def test_standard_input_is_read_once() -> None:
    """To name it twice is wrong use."""
    for command in (["check", "-", "-"], ["compare", "-", "-"]):
        result = run(*command, input=GOOD.read_text(encoding="utf-8"))
        assert result.exit_code == 2
        assert "read once" in result.stderr


def test_other_commands_take_standard_input_where_a_file_is_not_needed(workspace: Path) -> None:
    """An old edition to compare, a pattern to draw, to calibrate, to put on another loom; not a leaflet's."""
    text = GOOD.read_text(encoding="utf-8")
    assert "no difference" in run("compare", "-", "patterns/harbour-wheel.yaml", input=text).stdout
    assert run("chart", "-", "--out", "out", input=text).stdout == "out/harbour-wheel.chart.svg\n"
    assert "thread A: estimated" in run("calibrate", "-", input=text).stdout
    assert run("adapt", "-", "--pins", "48", "--out", "made.yaml", input=text).exit_code == 0
    assert "id: made" in (workspace / "made.yaml").read_text(encoding="utf-8")
    assert run("adapt", "-", "--pins", "48", input=text).exit_code == 2
    assert run("leaflet", "-", "--locale", "en", input=text).exit_code == 2


def test_a_folder_stands_for_its_patterns(workspace: Path) -> None:
    """Of a workspace and of the folder in it; publisher and looms are none. ``check`` looks at the publisher's as well."""
    both = [Path("patterns/harbour-wheel.yaml"), Path("patterns/quay-wheel.yaml")]
    assert files_of([Path("patterns")]) == files_of([Path()]) == both
    assert files_of([workspace]) == [workspace / file for file in both]
    result = run("check", "patterns", "--json")
    assert [found.get("pattern") for found in json.loads(result.stdout)] == ["harbour-wheel", "quay-wheel", None]
    Path("patterns/publisher.yaml").write_text("publisher: Trial Press\nlicense: mine\n", encoding="utf-8")
    wrong = run("check", "patterns")
    assert wrong.exit_code == 1
    assert "patterns/publisher.yaml:2:1: error[key-unknown]" in wrong.stdout


@pytest.mark.parametrize("place", ["patterns/looms", "empty"])
def test_a_folder_without_patterns_is_a_problem(workspace: Path, place: str) -> None:
    """Looms are no patterns; exit code 1."""
    (workspace / "empty").mkdir()
    result = run("check", place)
    assert result.exit_code == 1
    assert (
        f"{place}:1:1: error[file-unreadable]: the file cannot be read: it is a folder without patterns"
        in result.stdout
    )


def test_names_with_stars_are_expanded_where_the_shell_does_not(workspace: Path) -> None:
    """As a shell would: in order, all that match; a file that is called so is itself."""
    assert [file.name for file in files_of([Path("patterns/*-wheel.yaml")])] == [
        "harbour-wheel.yaml",
        "quay-wheel.yaml",
    ]
    assert [file.name for file in files_of([Path("patterns/[hp]*.yaml")])] == ["harbour-wheel.yaml", "publisher.yaml"]
    assert files_of([Path("**/quay-*.yaml")]) == [Path("patterns/quay-wheel.yaml")]
    assert files_of([Path("pat*")]) == files_of([Path("patterns")])
    odd = workspace / "patterns" / "a[1].yaml"
    odd.write_text("", encoding="utf-8")
    assert files_of([Path("patterns/a[1].yaml")]) == [Path("patterns/a[1].yaml")]
    assert run("check", "patterns/*-wheel.yaml").exit_code == 0


def test_a_name_that_matches_nothing_is_a_problem(workspace: Path) -> None:
    """It keeps its place among the others, with exit code 1."""
    result = run("check", "patterns/*.yml", "patterns/quay-wheel.yaml", "--json")
    none, good = json.loads(result.stdout)
    assert result.exit_code == 1
    assert [problem["code"] for problem in none["problems"]] == ["nothing-matches"]
    assert good["ok"]
    assert workspace.is_dir()


# Interruption, closed pipes, terminals that cannot write everything


@pytest.mark.parametrize("arguments", [["check", GOOD, ERROR], ["check", "--json", GOOD], ["schema"]])
def test_a_reader_that_has_gone_ends_the_run_quietly(arguments: Sequence[str | Path]) -> None:
    """Not a word on standard error, and the exit code that shells have for it."""
    ours, theirs = os.pipe()
    os.close(ours)
    process = start(*arguments, stdout=theirs, stderr=subprocess.PIPE, stdin=subprocess.DEVNULL)
    os.close(theirs)
    _, said = process.communicate(timeout=60)
    assert (process.returncode, said) == (141, "")


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no device that is always full")
def test_an_output_that_cannot_be_written_is_told() -> None:
    """A full disk: one line and exit code 1, no traceback."""
    with Path("/dev/full").open("w", encoding="utf-8") as full:
        process = start("check", GOOD, stdout=full, stderr=subprocess.PIPE)
        _, said = process.communicate(timeout=60)
    assert process.returncode == 1
    assert re.fullmatch(r"Error: the output cannot be written: .+\n", said)


def test_the_keyboard_stops_a_run_with_one_line() -> None:
    """While it waits for input; exit code 130."""
    process = start("check", "-v", "-", stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    assert process.stderr is not None
    while "checking -" not in process.stderr.readline():
        pass
    process.send_signal(signal.SIGINT)
    out, said = process.communicate(timeout=60)
    assert process.returncode == 130
    assert out == ""
    assert [line for line in said.splitlines() if not re.search(r": \d+\.\d\d s$", line)] == ["stopped"]


@pytest.mark.parametrize(("fault", "expected"), [(OSError(28, "full"), "output-unwritable"), (KeyboardInterrupt(), "")])
def test_nothing_unfinished_is_left(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, fault: BaseException, expected: str
) -> None:
    """A disk that is full and a run that is stopped while a file is written: neither the file nor a part of it."""

    def fall(*_: object) -> None:
        raise fault

    monkeypatch.setattr(Path, "replace", fall)
    result = run("chart", GOOD, "--out", tmp_path)
    assert result.exit_code == (1 if expected else 130)
    assert expected in result.stderr
    assert list(tmp_path.iterdir()) == []


def test_a_prompt_that_is_left_stops_the_run() -> None:
    """Ctrl-C and Ctrl-D at a question of click's: the same line, the same exit code."""

    @click.command("ask")
    def ask() -> None:
        """Ask."""
        click.prompt("name")

    group = cli.Program("trial", commands=[ask])
    result = CliRunner().invoke(group, ["ask"], input="")
    assert result.exit_code == 130
    assert result.stderr.splitlines()[-1] == "stopped"


@pytest.mark.parametrize("encoding", ["ascii", "cp1252", "cp437", "utf-8"])
def test_a_terminal_that_cannot_write_everything_is_no_reason_to_fall(tmp_path: Path, encoding: str) -> None:
    """An arrow that it has not is written as its number, and everything is in its encoding."""
    surroundings = os.environ | {
        "PYTHONPATH": str(ROOT),
        "PYTHONIOENCODING": encoding,
        "PYTHONUTF8": "0",
        "LC_ALL": "C",
    }
    command = [sys.executable, "-m", "pipeline", "adapt", str(GOOD), "--pins", "48", "--out", str(tmp_path / "a.yaml")]
    done = subprocess.run(command, env=surroundings, capture_output=True, check=False)
    assert done.returncode == 0, done.stderr
    arrow = "→" if encoding == "utf-8" else r"\u2192"
    assert f"loom.pins: 60 {arrow} 48" in done.stdout.decode(encoding)


@pytest.mark.parametrize("encoding", ["ascii", "cp1252", "utf-8"])
def test_data_stay_data_on_any_terminal(tmp_path: Path, encoding: str) -> None:
    """JSON is read back the same, whatever the stream can write."""
    file = tmp_path / "harbour-wheel.yaml"
    file.write_text(GOOD.read_text(encoding="utf-8") + "ключ: é\n", encoding="utf-8")
    surroundings = os.environ | {"PYTHONPATH": str(ROOT), "PYTHONIOENCODING": encoding}
    command = [sys.executable, "-m", "pipeline", "check", "--json", str(file)]
    done = subprocess.run(command, env=surroundings, capture_output=True, check=False)
    (found,) = json.loads(done.stdout)
    assert [problem["path"] for problem in found["problems"]] == ["ключ"]


def test_a_name_that_is_no_text_can_be_told(tmp_path: Path) -> None:
    """A file whose name is not UTF-8 is checked, and named as well as can be."""
    name = os.fsencode(tmp_path) + b"/\xff.yaml"
    Path(os.fsdecode(name)).write_bytes(GOOD.read_bytes())
    code, out, err = apart("check", os.fsdecode(name))
    assert (code, err) == (0, "")
    assert r"\udcff.yaml: good" in out


def _codes(*arguments: str | Path, text: str | None = None) -> list[str]:
    """What ``check`` says of one file."""
    (found,) = json.loads(run("check", *arguments, "--json", input=text).stdout)
    return [problem["code"] for problem in found["problems"]]


@pytest.mark.parametrize("name", ["quay-wheel.txt", "quay-wheel.yml", "quay-wheel.yaml.txt", "other.txt"])
def test_a_pattern_that_no_folder_finds_is_warned_of(
    workspace: Path, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    """By ``check`` and ``leaflet``, with the name it should have; a warning, so that only ``--strict`` fails."""
    monkeypatch.setattr("pipeline.catalogue.make.typeset_markup", lambda *_: b"%PDF-")
    (workspace / "patterns" / "quay-wheel.yaml").rename(workspace / "patterns" / name)
    (found,) = json.loads(run("check", f"patterns/{name}", "--json").stdout)
    (problem,) = (one for one in found["problems"] if one["code"] == "ending-not-yaml")
    assert (problem["line"], problem["hint"]) == (1, "rename it to `quay-wheel.yaml`")
    assert "warning[ending-not-yaml]" in run("leaflet", f"patterns/{name}", "--locale", "en").stderr
    assert [run("check", f"patterns/{name}", *options).exit_code for options in ((), ("--strict",))] == [0, 1]


def test_what_folders_find_and_what_has_no_name_is_not_warned_of(workspace: Path) -> None:
    """A file that ends in .yaml; standard input; what is not read at all, like a text beside patterns."""
    text = (workspace / "patterns" / "quay-wheel.yaml").read_text(encoding="utf-8")
    (workspace / "patterns" / "notes.txt").write_text("of mine", encoding="utf-8")
    assert _codes("patterns/quay-wheel.yaml") == []
    assert _codes("-", text=text) == []
    assert _codes("patterns/notes.txt") == ["not-a-mapping"]


@pytest.mark.parametrize(
    ("name", "hint"),
    [
        ("patterns/quay-whel.yaml", "did you mean `quay-wheel.yaml`?"),
        ("patterns/quay-wheel", "did you mean `quay-wheel.yaml`?"),
        ("patterns/quay-wheel.yml", "did you mean `quay-wheel.yaml`?"),
        ("patterns/none.yaml", "check the name and the folder"),
        ("nowhere/quay-wheel.yaml", "check the name and the folder"),
    ],
)
def test_the_file_that_was_meant_is_offered(workspace: Path, name: str, hint: str) -> None:
    """Where its folder has one of nearly that name; that both end in .yaml makes them no more alike."""
    assert (workspace / "patterns" / "quay-wheel.yaml").is_file()
    (found,) = json.loads(run("check", name, "--json").stdout)
    assert [(one["code"], one["hint"]) for one in found["problems"]] == [("file-missing", hint)]
