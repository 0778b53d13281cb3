"""Rights: what may not be read or written is told by name, and is no bug; nothing is silently left out."""

import json
from pathlib import Path

import pytest

from pipeline.files import clear_unfinished, forget_symbols
from tests.harm import QUICK, catalogue, leaflets, no_more_rights, run

pytestmark = pytest.mark.usefixtures("shop")

CLOSED = "Permission denied"


@pytest.mark.parametrize("name", ["patterns", "."])
def test_a_file_in_a_closed_folder_is_a_problem(shop: Path, name: str) -> None:
    """``check`` says so of every file, as data too; ``leaflet`` makes none."""
    files = [shop / "patterns" / "ebb.yaml", shop / "patterns" / "flood.yaml"]
    with no_more_rights(shop / name):
        done = run("check", "--json", *files)
        made = run("leaflet", *files, *QUICK, "--out", "/nowhere")
    assert (done.exit_code, made.exit_code) == (1, 1)
    found = [[problem["code"] for problem in one["problems"]] for one in json.loads(done.stdout)]
    assert found == [["file-unreadable"]] * 2
    assert made.stderr.count(CLOSED) == 2


@pytest.mark.parametrize("name", ["patterns", "symbols", "locales", "fonts", "patterns/looms", "locales/en"])
def test_a_closed_folder_is_not_taken_for_an_empty_one(shop: Path, name: str) -> None:
    """A workspace's own patterns, symbols, texts, fonts and looms may not be read: named, exit 1, nothing made."""
    for each in ("symbols", "locales/en/LC_MESSAGES", "fonts", "patterns/looms"):
        (shop / each).mkdir(parents=True)
    forget_symbols()
    with no_more_rights(shop / name):
        for done in (catalogue(), run("leaflet", "patterns", *QUICK)):
            assert done.exit_code == 1
            assert f"{name}" in done.stderr
            assert CLOSED in done.stderr
            assert "Traceback" not in done.stderr
    assert leaflets() == {}
    forget_symbols()
    assert catalogue().exit_code == 0


@pytest.mark.parametrize("name", ["patterns/flood.yaml", "patterns/publisher.yaml", "patterns/photos/quay.jpg"])
def test_a_closed_file_is_a_problem_where_it_is_named(shop: Path, whole: dict[str, bytes], name: str) -> None:
    """A pattern or a photograph spoils its own leaflets alone, the publisher's file all; opened, all are as ever."""
    with no_more_rights(shop / name):
        done = catalogue()
    assert done.exit_code == 1
    assert CLOSED in done.stderr
    spoiled = {"flood": "flood", "quay": "ebb"}.get(Path(name).stem, "")
    assert leaflets() == {file: data for file, data in whole.items() if spoiled and not file.startswith(spoiled)}
    assert catalogue().exit_code == 0
    assert leaflets() == whole


@pytest.mark.parametrize("name", ["", "/flood", "/.run", "/.ledger"])
def test_what_may_not_be_written_stays_as_it_is(finished: Path, whole: dict[str, bytes], name: str) -> None:
    """The folder of all, one of them, the lock, the ledger: one line, exit 1; with rights again all is made."""
    file = Path("patterns/flood.yaml")
    file.write_text(file.read_text("utf-8").replace("loose", "tight"), "utf-8")
    with no_more_rights(finished / f"build/out{name}"):
        done = catalogue()
    assert done.exit_code == 1
    assert done.stderr.count("\n") == 1
    assert f"build/out{name}" in done.stderr
    assert leaflets() == whole
    assert "up to date 1, made 1" in catalogue().output


def test_what_may_not_be_tidied_is_left(finished: Path) -> None:
    """Something unfinished in a folder that is not ours stops no run."""
    folder = finished / "build" / "out" / "flood"
    left = folder / ".flood.en.a5.pdf.abcdefgh"
    left.write_text("x", "utf-8")
    folder.chmod(0o555)
    with no_more_rights():
        clear_unfinished(folder)
        assert left.exists()
        assert "up to date 2" in catalogue().output
    folder.chmod(0o755)
    assert "up to date 2" in catalogue().output
    assert not left.exists()
