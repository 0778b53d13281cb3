"""What surrounds a run: streams that are closed, terminals that hang up, no home, no folder for what is kept, names."""

import os
import pty
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from pipeline import cli
from pipeline.commands import running
from tests.harm import QUICK, ROOT, apart, leaflets, run, unfinished

pytestmark = pytest.mark.usefixtures("shop")

FLOOD = "patterns/flood.yaml"
DEAF = ("sh", "-c", 'trap "" HUP; exec "$0" "$@"')
"""What has a command go on when its terminal is gone."""


# Streams


def test_closed_streams_are_written_into_nothing_else(printed: dict[str, bytes]) -> None:
    """Input, output and errors closed: whatever is opened has no number of theirs; exit 0, every leaflet the same."""
    command = f'exec "$0" -m pipeline catalogue {" ".join(QUICK)} --jobs 2 <&- >&- 2>&-'
    done = subprocess.run(["sh", "-c", command, sys.executable], env={"PYTHONPATH": str(ROOT)}, check=False)
    assert done.returncode == 0
    assert leaflets() == printed


def test_numbers_of_closed_streams_are_held() -> None:
    """A file that is opened next does not get the number of standard error."""
    code = "import os; from pipeline import cli; os.close(0); os.close(2); cli._hold_streams(); print(os.open('.', 0))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT)
    assert int(done.stdout) > 2


@pytest.mark.parametrize("arguments", [("check", FLOOD), ("frob",)])
def test_nobody_is_left_to_be_told(arguments: tuple[str, ...]) -> None:
    """Neither stream takes anything: exit 1, or 2 for wrong use, never a bug of ours."""
    with Path("/dev/full").open("w", encoding="utf-8") as full:
        done = apart(*arguments, stdout=full, stderr=full)
    assert done.returncode in {1, 2}


def test_a_reader_that_leaves_in_the_middle_leaves_whole_files(printed: dict[str, bytes]) -> None:
    """``| head -1`` behind two leaflets: exit 141, what is there is whole."""
    command = f'"$0" -m pipeline leaflet patterns {" ".join(QUICK)} --out out | head -1; echo ${{PIPESTATUS[0]}} >&2'
    done = subprocess.run(
        ["bash", "-c", command, sys.executable],
        env=os.environ | {"PYTHONPATH": str(ROOT)}, capture_output=True, text=True, check=True,
    )  # fmt: skip
    assert done.stderr.split() in (["141"], ["0"])
    assert done.stdout == "out/ebb.en.a5.pdf\n"
    made = {file.name: file.read_bytes() for file in Path("out").iterdir()}
    assert made.items() <= printed.items()
    assert "ebb.en.a5.pdf" in made


def test_a_terminal_that_hangs_up_leaves_nothing_half_written(printed: dict[str, bytes]) -> None:
    """While leaflets are made, with a bar on it: ended by the first word that finds no terminal, with exit 1."""
    ours, theirs = pty.openpty()
    process = subprocess.Popen(
        [*DEAF, sys.executable, "-m", "pipeline", "catalogue", *QUICK, "--jobs", "1"],
        env=os.environ | {"PYTHONPATH": str(ROOT), "TERM": "xterm"},
        stdin=subprocess.DEVNULL, stdout=theirs, stderr=theirs, start_new_session=True,
    )  # fmt: skip
    os.close(theirs)
    while b"leaflets" not in os.read(ours, 1000):
        pass
    os.close(ours)
    assert process.wait(timeout=60) == 1
    assert leaflets().items() <= printed.items()
    assert not unfinished()


# Folders for what is kept, settings of other programs


def test_no_folder_for_what_is_thrown_away_is_no_bug(monkeypatch: pytest.MonkeyPatch) -> None:
    """A library that finds none says so without a number: its words, one line, exit 1."""

    def nowhere(*_: object) -> None:
        raise OSError("a folder is needed\nfor what is kept")

    monkeypatch.setattr("pipeline.commands.leaflets.shelf_of", nowhere)
    done = run("leaflet", FLOOD, *QUICK)
    assert done.exit_code == 1
    assert done.stderr == "Error: a folder is needed for what is kept; `spokeleaf doctor` looks whether all is there\n"


def test_no_date_is_taken_from_other_programs(monkeypatch: pytest.MonkeyPatch) -> None:
    """A date that is none, where a library would look for it, is not even seen."""
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "yesterday")
    monkeypatch.setattr(sys, "argv", ["spokeleaf", "--version"])
    with pytest.raises(SystemExit) as ended:
        cli.run()
    assert ended.value.code == 0
    assert "SOURCE_DATE_EPOCH" not in os.environ


@pytest.mark.parametrize("arguments", [("new", "pattern", "--yes"), ("check", FLOOD), ("preview", "--no-open")])
def test_a_current_folder_that_is_gone_is_told(shop: Path, arguments: tuple[str, ...]) -> None:
    """One line, exit 1 or 2, whatever the command wants of it."""
    gone = shop / "gone"
    gone.mkdir()
    os.chdir(gone)
    gone.rmdir()
    done = run(*arguments)
    assert done.exit_code in {1, 2}
    assert "Traceback" not in done.output


# Names


def test_names_that_are_no_text_are_names(shop: Path, printed: dict[str, bytes]) -> None:
    """A shop in a folder, and a pattern in a file, whose names are no UTF-8: made, found again, up to date."""
    odd = Path(os.fsdecode(os.fsencode(shop) + b"/caf\xe9"))
    (odd / "patterns").mkdir(parents=True)
    shutil.copy("patterns/publisher.yaml", odd / "patterns")
    shutil.copy(FLOOD, odd / "patterns" / os.fsdecode(b"fl\xf8d.yaml"))
    for wanted in ("up to date 0, made 1", "up to date 1"):
        done = apart("catalogue", odd, *QUICK, "--jobs", "1")
        assert (done.returncode, wanted in done.stdout) == (0, True), done.stderr
    assert leaflets(odd / "build" / "out") == {os.fsdecode(b"fl\xf8d.en.a5.pdf"): printed["flood.en.a5.pdf"]}


def test_neither_home_nor_language_changes_a_byte(shop: Path, printed: dict[str, bytes]) -> None:
    """Nowhere to keep anything, LANG=C where names are ASCII, settings that mean nothing: exit 0, the same leaflets."""
    odd = shop / "möwe"
    shutil.copytree("patterns", odd / "patterns")
    nowhere = dict.fromkeys(("HOME", "XDG_CACHE_HOME", "XDG_CONFIG_HOME", "TMPDIR"), "/proc")
    ascii_alone = {"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"}
    nonsense = {"TERM": "none", "COLUMNS": "-3", "SOURCE_DATE_EPOCH": "none", "TZ": "Nowhere"}
    done = apart("catalogue", odd, *QUICK, "--jobs", "1", env=nowhere | ascii_alone | nonsense)
    assert (done.returncode, "Traceback" in done.stderr) == (0, False)
    assert leaflets(odd / "build" / "out") == printed


def test_a_run_that_nobody_waits_for_holds_its_folder(shop: Path) -> None:
    """The lock ends with the process that holds it, and not before: two in one process exclude each other, too."""
    with running.alone(shop / "out"):
        assert running._locked(shop / "out" / ".run") is None  # noqa: SLF001
    with running.alone(shop / "out"):
        pass
