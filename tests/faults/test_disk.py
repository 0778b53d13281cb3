"""Disks: full, read-only, without links, with something else where a file or folder should be."""

import errno
import json
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from pipeline.catalogue.ledger import Ledger
from pipeline.files import write_all_new, write_whole
from tests.harm import QUICK, ROOT, catalogue, leaflets, little_room, run, there, unfinished

pytestmark = pytest.mark.usefixtures("shop")

PATTERN = "patterns/flood.yaml"


def refuse(number: int) -> Callable[..., None]:
    """Something the system does not do, and says why."""

    def refused(*_: Any, **__: Any) -> None:
        raise OSError(number, errno.errorcode[number])

    return refused


@pytest.mark.parametrize(
    "arguments",
    [
        ("leaflet", PATTERN, *QUICK),
        ("leaflet", PATTERN, "--locale", "en", "--html"),
        ("chart", PATTERN),
        ("adapt", PATTERN, "--pins", "48"),
        ("new", "pattern", "--yes", "--id", "another"),
        ("new", "workspace", "elsewhere", "--yes", "--publisher", "Trial Press"),
        ("locale", "add", "fi"),
        ("locale", "update"),
    ],
    ids=lambda arguments: " ".join(arguments[:2]),
)
def test_a_full_disk_takes_nothing_away(shop: Path, arguments: tuple[str, ...]) -> None:
    """Whatever is written: a problem, exit 1, nothing named as written, and every file as it was."""
    if arguments[:2] == ("locale", "update"):
        assert run("locale", "add", "fi").exit_code == 0
        Path(PATTERN).write_text(Path(PATTERN).read_text("utf-8").replace("loose", "tight"), "utf-8")
    before = there(shop)
    with little_room(200):
        done = run(*arguments)
    assert done.exit_code == 1
    assert "error[output-unwritable]" in done.stderr
    assert there(shop) == before
    assert not [line for line in done.stdout.splitlines() if line.endswith((".pdf", ".html", ".svg", ".yaml", ".po"))]


def test_an_earlier_leaflet_stays_where_a_new_one_finds_no_room(finished: Path, whole: dict[str, bytes]) -> None:
    """Every write is refused where it would be whole, in the middle, at its end: the file is what it was."""
    place = finished / "build" / "out" / "flood" / "flood.en.a5.pdf"
    for most in (0, 1000, len(whole["flood.en.a5.pdf"]) - 1):
        with little_room(most):
            assert [problem.code for problem in write_whole(b"%PDF-" + bytes(200_000), place)] == ["output-unwritable"]
        assert leaflets() == whole
        assert not unfinished()


@pytest.mark.parametrize("most", [0, 25_000])
def test_a_catalogue_on_a_full_disk_goes_on_when_there_is_room(whole: dict[str, bytes], most: int) -> None:
    """No room for the ledger, or for leaflets: one line for each, exit 1; with room all is made, the same."""
    with little_room(most):
        done = catalogue()
    assert done.exit_code == 1
    assert "Traceback" not in done.stderr
    assert 1 <= len([line for line in done.stderr.splitlines() if "rror" in line]) <= 2
    assert leaflets() == {}
    assert catalogue().exit_code == 0
    assert leaflets() == whole
    assert not unfinished()


def test_a_ledger_that_cannot_be_written_is_kept(finished: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The disk is full when a leaflet is entered: what the ledger said of the others is still there."""
    file = Path(PATTERN)
    file.write_text(file.read_text("utf-8").replace("loose", "tight"), "utf-8")
    put = Ledger.put

    def without_room(*how: Any) -> None:
        with little_room(0):
            put(*how)

    with monkeypatch.context() as patched:
        patched.setattr(Ledger, "put", without_room)
        done = catalogue()
    assert done.exit_code == 1
    assert ".ledger: " in done.stderr
    again = catalogue()
    assert "up to date 1, made 1" in again.output
    assert (finished / "build" / "out" / ".ledger").is_file()


def test_a_site_on_a_full_disk_keeps_what_its_manifest_lists(finished: Path) -> None:
    """A page is refused: one line, exit 1; nothing that was there is taken away, and all is right the next time."""
    assert catalogue("--site").exit_code == 0
    site = finished / "build" / "out" / "site"
    before = there(site)
    page = site / "en" / "flood.html"
    page = page if page.is_file() else next(file for file in site.rglob("*flood*") if file.suffix == ".html")
    page.unlink()
    page.mkdir()
    Path("patterns/ebb.yaml").rename("ebb.yaml")
    done = catalogue("--site")
    assert done.exit_code == 1
    assert [line for line in done.stderr.splitlines() if "output-unwritable" in line]
    assert (site / "manifest.json").read_bytes() == before["manifest.json"]
    listed = json.loads(before["manifest.json"])["files"]
    assert not [name for name in listed if name != page.relative_to(site).as_posix() and not (site / name).is_file()]
    page.rmdir()
    Path("ebb.yaml").rename("patterns/ebb.yaml")
    assert catalogue("--site").exit_code == 0
    assert there(site) == before


@pytest.mark.parametrize("number", [errno.ENOSPC, errno.EROFS, errno.EDQUOT, errno.EIO, errno.EACCES])
def test_whatever_the_disk_says_is_told(
    finished: Path, monkeypatch: pytest.MonkeyPatch, whole: dict[str, bytes], number: int
) -> None:
    """It refuses a new file, or its name at last, or even to take away what was begun: a problem and no fall."""
    place = finished / "build" / "out" / "flood" / "flood.en.a5.pdf"
    for what, name in ((tempfile, "NamedTemporaryFile"), (Path, "replace"), (Path, "mkdir")):
        with monkeypatch.context() as patched:
            patched.setattr(what, name, refuse(number))
            patched.setattr(Path, "unlink", refuse(number))
            (problem,) = write_whole(b"%PDF-", place)
        assert (problem.code, errno.errorcode[number] in problem.message) == ("output-unwritable", True)
    assert leaflets() == whole


@pytest.mark.parametrize("number", [errno.EROFS, errno.ENOSPC, errno.EDQUOT])
def test_a_catalogue_whose_folder_cannot_be_made_says_so(
    shop: Path, monkeypatch: pytest.MonkeyPatch, number: int
) -> None:
    """One line with the folder's name, exit 1."""
    with monkeypatch.context() as patched:
        patched.setattr(Path, "mkdir", refuse(number))
        done = catalogue()
    assert done.exit_code == 1
    assert done.stderr == f"Error: {errno.errorcode[number]}\n"
    assert not (shop / "build").exists()


@pytest.mark.parametrize("name", ["build", "build/out", "build/out/flood", "build/out/.run", "build/out/.ledger"])
def test_something_else_stands_there(finished: Path, whole: dict[str, bytes], name: str) -> None:
    """A file where a folder should be, a folder where a file should: told by name, exit 1; gone, all is right."""
    place, aside = finished / name, finished / "aside"
    is_folder = place.is_dir()
    place.rename(aside)
    if is_folder:
        place.write_text("notes", "utf-8")
    else:
        place.mkdir()
        (place / "notes").write_text("notes", "utf-8")
        for each in place.parent.glob(f"{place.name}-*"):
            each.unlink()
    done = catalogue()
    assert done.exit_code == 1
    assert str(place) in done.stderr
    assert "Traceback" not in done.stderr
    assert (place if is_folder else place / "notes").read_text("utf-8") == "notes"
    shutil.rmtree(place) if place.is_dir() else place.unlink()
    aside.rename(place)
    assert catalogue().exit_code == 0
    assert leaflets() == whole


def test_memory_sticks_have_neither_links_nor_rights(shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A pattern is begun and a leaflet made where no file can have a second name or other rights."""
    monkeypatch.setattr(Path, "hardlink_to", refuse(errno.EPERM))
    monkeypatch.setattr(Path, "chmod", refuse(errno.EPERM))
    assert run("new", "pattern", "--yes", "--id", "another").exit_code == 0
    assert run("leaflet", PATTERN, *QUICK).exit_code == 0
    taken = run("new", "pattern", "--yes", "--id", "another")
    assert taken.exit_code == 2
    assert [problem.code for problem in write_all_new({Path(PATTERN): b""})] == ["output-exists"]
    assert Path(PATTERN).stat().st_size
    assert not unfinished(shop)


def test_what_is_begun_is_there_wholly_or_not_at_all(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The keyboard stops it between two files: neither, and no folder; a folder that is in use by then stays."""
    link, made = Path.hardlink_to, []

    def stopped(place: Path, target: str) -> None:
        if made:
            raise KeyboardInterrupt
        made.append(place)
        link(place, target)

    monkeypatch.setattr(Path, "hardlink_to", stopped)
    new = tmp_path / "new"
    files = {new / "a" / "b" / "one": b"1", new / "a" / "two": b"2"}
    with pytest.raises(KeyboardInterrupt):
        write_all_new(files)
    assert made
    assert not new.exists()


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="mounts a small disk")
def test_a_real_small_disk(shop: Path, printed: dict[str, bytes]) -> None:
    """A disk of 100 KiB under ``build``: exit 1 and no part of a leaflet; made larger, all is there, the same."""
    again = f"{sys.executable} -m pipeline catalogue {' '.join(QUICK)} --jobs 1"
    steps = (
        "mkdir build && mount -t tmpfs -o size=100k none build || exit 77",
        f"{again}; test $? = 1 || exit 78",
        "mount -o remount,size=10m build && ls build/out/*/*.pdf && exit 79",
        f"{again} && cp -r build/out made",
    )
    command = ["unshare", "--map-root-user", "--mount", "sh", "-c", "\n".join(steps)]
    done = subprocess.run(command, env={"PYTHONPATH": str(ROOT)}, capture_output=True, text=True, check=False)
    if done.returncode == 77 or "unshare" in done.stderr:
        pytest.skip("no disk may be mounted here")
    assert done.returncode == 0, done.stderr
    assert "Traceback" not in done.stderr
    assert leaflets(shop / "made") == printed
