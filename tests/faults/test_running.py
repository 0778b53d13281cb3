"""Runs: files that come, go and change meanwhile, workers that die, two runs at once, clocks, what was kept."""

import os
import shutil
import signal
import sqlite3
import subprocess
import sys
import time
from collections.abc import Callable
from contextlib import closing, suppress
from pathlib import Path
from typing import Any

import pytest

from pipeline import files
from pipeline.catalogue import make, shelf, workshop
from pipeline.language.fonts import covered, find_fonts, font_files
from pipeline.typeset import press
from tests.harm import QUICK, ROOT, catalogue, leaflets, run, there, unfinished

pytestmark = pytest.mark.usefixtures("shop")

EBB, FLOOD, PHOTO = Path("patterns/ebb.yaml"), Path("patterns/flood.yaml"), Path("patterns/photos/quay.jpg")
Disturb = Callable[[Any, str, Callable[[], object]], None]


@pytest.fixture
def disturb(monkeypatch: pytest.MonkeyPatch) -> Disturb:
    """Have something happen once, right after a function has done its work for the first time."""

    def after(module: Any, name: str, happens: Callable[[], object]) -> None:
        function, left = getattr(module, name), [happens]

        def disturbed(*how: Any, **more: Any) -> Any:
            done = function(*how, **more)
            if left:
                left.pop()()
            return done

        monkeypatch.setattr(module, name, disturbed)

    return after


def edit(file: Path, old: str, new: str) -> None:
    file.write_text(file.read_text("utf-8").replace(old, new), "utf-8")


# Files that vanish or change


@pytest.mark.parametrize(
    ("harm", "says"),
    [
        (PHOTO.unlink, "No such file"),
        (lambda: PHOTO.write_bytes(b"no picture"), "another file than the one that was checked"),
    ],
    ids=["gone", "replaced"],
)
def test_a_photograph_that_changes_stops_its_pattern_alone(
    disturb: Disturb, whole: dict[str, bytes], harm: Callable[[], object], says: str
) -> None:
    """After it was looked at: one line with its name, the other pattern is made; back again, all is the same."""
    aside = PHOTO.read_bytes()
    disturb(workshop, "check_file", harm)
    done = catalogue()
    assert done.exit_code == 1
    (line,) = done.stderr.splitlines()
    assert PHOTO.name in line
    assert says in line
    assert leaflets() == {"flood.en.a5.pdf": whole["flood.en.a5.pdf"]}
    PHOTO.write_bytes(aside)
    assert catalogue().exit_code == 0
    assert leaflets() == whole


@pytest.mark.parametrize("command", [("leaflet", EBB, *QUICK), ("leaflet", EBB, "--locale", "en", "--html")])
def test_a_leaflet_whose_photograph_goes_is_not_made(
    shop: Path, disturb: Disturb, command: tuple[str | Path, ...]
) -> None:
    """One line with the photograph's name, exit 1, and no file."""
    disturb(files, "check_file", PHOTO.unlink)
    done = run(*command)
    assert done.exit_code == 1
    assert done.stderr.strip().endswith(f"{PHOTO}: No such file or directory")
    assert not (shop / "build").exists()


def test_a_pattern_that_vanishes_is_a_problem(disturb: Disturb, whole: dict[str, bytes]) -> None:
    """Between the list of patterns and its reading: told, the other is made; its attached source likewise."""
    disturb(shelf, "load_shelf", EBB.unlink)
    done = catalogue()
    assert (done.exit_code, "ebb.yaml:1:1: error[file-missing]" in done.stderr) == (1, True)
    assert leaflets() == {"flood.en.a5.pdf": whole["flood.en.a5.pdf"]}
    Path("patterns/publisher.yaml").write_text("publisher: Trial Press\nattach_source: true\n", "utf-8")
    disturb(make, "compose", FLOOD.unlink)
    done = catalogue()
    assert (done.exit_code, "flood.yaml:1:1: error[file-unreadable]" in done.stderr) == (1, True)
    assert leaflets() == {"flood.en.a5.pdf": whole["flood.en.a5.pdf"]}


def test_a_font_that_vanishes_is_a_problem(shop: Path, disturb: Disturb, whole: dict[str, bytes]) -> None:
    """After it was found and its letters were counted: told by name; found elsewhere the next time."""
    face = find_fonts("Latn", ()).files[2].path
    (shop / "fonts").mkdir()
    own = Path(shutil.copy(face, shop / "fonts"))
    for cache in (font_files, covered, press):
        cache.cache_clear()
    disturb(make, "compose", own.unlink)
    done = catalogue()
    assert (done.exit_code, f"{own}:1:1: error[file-unreadable]" in done.stderr) == (1, True)
    for cache in (font_files, covered, press):
        cache.cache_clear()
    assert catalogue().exit_code == 0
    assert leaflets() == whole


def test_a_catalogue_of_messages_that_vanishes_is_none(shop: Path, disturb: Disturb, whole: dict[str, bytes]) -> None:
    """A workspace's own English texts go while they are looked for: a problem at most, and then as if never there."""
    file = shop / "locales" / "en" / "LC_MESSAGES" / "patterns.po"
    file.parent.mkdir(parents=True)
    file.write_text('msgid ""\nmsgstr ""\n"Content-Type: text/plain; charset=utf-8\\n"\n', "utf-8")
    disturb(workshop, "check_file", lambda: shutil.rmtree(shop / "locales"))
    assert catalogue().exit_code in {0, 1}
    assert catalogue().exit_code == 0
    assert leaflets() == whole


@pytest.mark.parametrize(
    ("module", "name", "saved"),
    [
        (workshop, "check_file", (FLOOD, "loose", "tight")),
        (shelf, "load_shelf", (Path("patterns/publisher.yaml"), "Trial Press", "Other Press")),
        (workshop, "load_speech", (Path("locales/en/LC_MESSAGES/spokeleaf.po"), "Diagram", "Drawing")),
    ],
    ids=["pattern", "publisher", "texts"],
)
def test_what_is_saved_while_it_is_read_is_found_by_the_next_run(
    shop: Path, disturb: Disturb, module: Any, name: str, saved: tuple[Path, str, str]
) -> None:
    """Right after it was read: the leaflets made of it are made again, as an undisturbed run makes them."""
    texts = shop / "locales" / "en" / "LC_MESSAGES" / "spokeleaf.po"
    texts.parent.mkdir(parents=True)
    texts.write_text(
        'msgid ""\nmsgstr ""\n"Content-Type: text/plain; charset=utf-8\\n"\n\n'
        'msgctxt "headings"\nmsgid "Chart"\nmsgstr "Diagram"\n',
        "utf-8",
    )
    disturb(module, name, lambda: edit(*saved))
    assert catalogue().exit_code == 0
    again = catalogue()
    assert "made" in again.output
    found = leaflets()
    shutil.rmtree("build")
    assert catalogue().exit_code == 0
    assert found == leaflets()


@pytest.mark.parametrize("happens", [Path.unlink, lambda place: place.write_bytes(b"%PDF- of another kind")])
def test_a_leaflet_that_another_command_replaces_is_not_taken_for_ours(
    monkeypatch: pytest.MonkeyPatch, whole: dict[str, bytes], happens: Callable[[Path], object]
) -> None:
    """After it was written and before it is entered, by one with other measures, or none: made again, the same."""
    written = workshop.write_whole

    def then(data: bytes, at: Path) -> Any:
        done = written(data, at)
        if at.name == "flood.en.a5.pdf":
            happens(at)
        return done

    with monkeypatch.context() as patched:
        patched.setattr(workshop, "write_whole", then)
        assert catalogue().exit_code == 0
    assert "up to date 1, made 1" in catalogue().output
    assert leaflets() == whole


# Two at once, killed, out of memory


def test_two_leaflets_and_two_updates_at_once(shop: Path, printed: dict[str, bytes]) -> None:
    """Both end well, the files are whole and the same, nothing is left over."""
    assert run("locale", "add", "fi").exit_code == 0
    alone = there(shop / "locales")
    shutil.rmtree(shop / "locales" / "fi" / "LC_MESSAGES")
    command = [sys.executable, "-m", "pipeline"]
    commands = [["leaflet", str(FLOOD), *QUICK, "--out", "both"], ["locale", "update"]]
    runs = [
        subprocess.Popen([*command, *each], env=os.environ | {"PYTHONPATH": str(ROOT)}, stdout=subprocess.DEVNULL)
        for each in commands * 2
    ]
    assert [each.wait(timeout=120) for each in runs] == [0] * 4
    assert there(shop / "both") == {"flood.en.a5.pdf": printed["flood.en.a5.pdf"]}
    assert there(shop / "locales") == alone
    assert not unfinished(shop)


def test_a_second_catalogue_is_told_of_the_first(printed: dict[str, bytes]) -> None:
    """In processes of their own: one makes all, the other says so and exits 1, or finds nothing to do."""
    command = [sys.executable, "-m", "pipeline", "catalogue", *QUICK, "--jobs", "1"]
    environment = os.environ | {"PYTHONPATH": str(ROOT)}
    first = subprocess.Popen(command, env=environment, stdout=subprocess.DEVNULL)
    while not Path("build/out/.ledger").exists():
        time.sleep(0.01)
    second = catalogue()
    assert second.exit_code == 1
    assert "another-run" in second.stderr
    assert first.wait(timeout=120) == 0
    assert leaflets() == printed
    assert "up to date 2" in catalogue().output


def test_a_worker_that_is_killed_is_replaced(printed: dict[str, bytes]) -> None:
    """SIGKILL to one of two workers at work: another does what it had in hand; exit 0, all the same."""
    command = [sys.executable, "-m", "pipeline", "catalogue", *QUICK, "--jobs", "2"]
    run = subprocess.Popen(command, env=os.environ | {"PYTHONPATH": str(ROOT)}, stderr=subprocess.PIPE, text=True)
    victim = 0
    while not victim and run.poll() is None:
        victim = next(iter(workers_of(run.pid)), 0)
        time.sleep(0.02)
    assert victim
    os.kill(victim, signal.SIGKILL)
    _, said = run.communicate(timeout=120)
    assert (run.returncode, said) == (0, "")
    assert leaflets() == printed
    assert not unfinished()


def workers_of(parent: int) -> list[int]:
    """The processes that make leaflets for another, once they are what they are to be."""
    found = []
    for process in map(int, Path(f"/proc/{parent}/task/{parent}/children").read_text("ascii").split()):
        # One that has only looked something up may have gone since.
        with suppress(OSError):
            said = Path(f"/proc/{process}/cmdline").read_bytes()
            found += [process] if b"spawn_main" in said else []
    return found


def test_too_little_memory_is_no_bug(monkeypatch: pytest.MonkeyPatch, whole: dict[str, bytes]) -> None:
    """For one leaflet of a catalogue: told, the other is made; for a leaflet alone: one line; exit 1, never 3."""
    composed = make.compose

    def greedy(told: Any, *how: Any) -> Any:
        if told.pattern.id == "ebb":
            raise MemoryError
        return composed(told, *how)

    with monkeypatch.context() as patched:
        patched.setattr(make, "compose", greedy)
        done = catalogue()
        assert (done.exit_code, "ebb.yaml:1:1: error[memory-short]" in done.stderr) == (1, True)
        assert leaflets() == {"flood.en.a5.pdf": whole["flood.en.a5.pdf"]}
        alone = run("leaflet", EBB, *QUICK, "--out", "alone")
        assert (alone.exit_code, alone.stderr) == (1, "Error: there is not enough memory\n")
        assert not Path("alone").exists()
    assert "up to date 1, made 1" in catalogue().output
    assert leaflets() == whole


# Clocks, and what was kept


@pytest.mark.parametrize("second", [1, 4_102_444_800])
def test_a_clock_that_was_set_wrong_changes_nothing(finished: Path, whole: dict[str, bytes], second: int) -> None:
    """All files of 1970 or of 2100: up to date; a pattern that changes under such a time is made again, no other."""
    for file in [*finished.rglob("*")]:
        os.utime(file, (second, second))
    assert "up to date 2" in catalogue().output
    edit(FLOOD, "loose", "tight")
    os.utime(FLOOD, (second - 1, second - 1))
    assert "up to date 1, made 1" in catalogue().output
    edit(FLOOD, "tight", "loose")
    os.utime(FLOOD, (second - 2, second - 2))
    assert "up to date 1, made 1" in catalogue().output
    assert leaflets() == whole


def damaged(change: Callable[[Path], object]) -> Callable[[Path], object]:
    """A change of the ledger when it is one file, as it is after a run."""

    def to(file: Path) -> None:
        with closing(sqlite3.connect(file)) as base:
            base.execute("pragma wal_checkpoint(truncate)")
        change(file)

    return to


def later(file: Path) -> None:
    with closing(sqlite3.connect(file)) as base:
        base.executescript("drop table leaflets; create table leaflets (other text); pragma user_version = 7;")


def other_columns(file: Path) -> None:
    with closing(sqlite3.connect(file)) as base:
        base.executescript("drop table leaflets; create table leaflets (name text, other text);")


@pytest.mark.parametrize(
    "change",
    [
        later,
        other_columns,
        *(lambda file, most=most: os.truncate(file, most) for most in (1, 100, 4096, 5000)),
        lambda file: file.write_bytes(b"\xff" * 8192),
        lambda file: Path(f"{file}-wal").write_bytes(b"\x37\x7f\x06\x82" + bytes(5000)),
        lambda file: Path(f"{file}-shm").write_bytes(b"\xff" * 100),
    ],
    ids=["later", "columns", "1", "100", "4096", "5000", "noise", "wal", "shm"],
)
def test_a_ledger_of_another_kind_is_begun_anew(
    finished: Path, whole: dict[str, bytes], change: Callable[[Path], object]
) -> None:
    """Of a later version, with other columns, cut short, noise: exit 0, every leaflet the same, and then up to date."""
    damaged(change)(finished / "build" / "out" / ".ledger")
    assert catalogue().exit_code == 0
    assert leaflets() == whole
    assert "up to date 2" in catalogue().output


@pytest.mark.parametrize("data", [b"no base at all" * 100, b"SQLite format 3\x00" + bytes(2000)])
def test_a_damaged_lock_is_replaced(finished: Path, data: bytes) -> None:
    """What is no lock holds nobody up."""
    (finished / "build" / "out" / ".run").write_bytes(data)
    assert "up to date 2" in catalogue().output
