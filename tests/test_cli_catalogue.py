"""The catalogue: everything is made once, and anew only where something it was made from changed."""

import hashlib
import json
import os
import shutil
import signal
import sqlite3
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from pipeline.cli import main
from pipeline.drawing.lettering import letter
from pipeline.language.fonts import find_fonts, font_files

ROOT = Path(__file__).resolve().parents[1]
GOOD = ROOT / "tests" / "cases" / "good" / "harbour-wheel.yaml"
PO = 'msgid ""\nmsgstr ""\n"Language: {tag}\\n"\n"Content-Type: text/plain; charset=utf-8\\n"\n"Plural-Forms: nplurals=2; plural=(n != 1);\\n"\n\n{entries}'
ENTRY = 'msgctxt "{context}"\nmsgid "{text}"\nmsgstr "{said}"\n'
Shop = Callable[..., Result]


@pytest.fixture(scope="module")
def finished(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A workspace of two patterns, its catalogue made in German and Arabic on A5."""
    folder = tmp_path_factory.mktemp("shop")
    (folder / "patterns").mkdir()
    text = GOOD.read_text(encoding="utf-8")
    for name, title in (("harbour-wheel", "Harbour Wheel"), ("lee-shore", "Lee Shore")):
        written = text.replace("id: harbour-wheel", f"id: {name}").replace("title: Harbour Wheel", f"title: {title}")
        (folder / "patterns" / f"{name}.yaml").write_text(written, encoding="utf-8")
    (folder / "patterns" / "publisher.yaml").write_text("publisher: Trial Press\n", encoding="utf-8")
    done = CliRunner().invoke(main, ["catalogue", str(folder), *WANTED])
    assert done.exit_code == 0, done.output
    assert "made 4" in done.output
    return folder


WANTED = ("--locale", "de", "--locale", "ar", "--paper", "a5")


@pytest.fixture
def shop(finished: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Shop:
    """A copy of the workspace and of all that was made; makes its catalogue again."""
    shutil.copytree(finished, tmp_path, dirs_exist_ok=True)
    monkeypatch.chdir(tmp_path)

    def run(*more: str, jobs: int = 1) -> Result:
        return CliRunner().invoke(main, ["catalogue", *WANTED, "--jobs", str(jobs), *more])

    return run


def leaflets() -> dict[str, bytes]:
    """Every leaflet there is."""
    return {file.name: file.read_bytes() for file in sorted(Path("build/out").glob("*/*.pdf"))}


def times() -> dict[str, int]:
    """When each was written."""
    return {file.name: file.stat().st_mtime_ns for file in Path("build/out").glob("*/*.pdf")}


def made(before: dict[str, int]) -> set[str]:
    """Which were written since."""
    return {name for name, at in times().items() if before.get(name) != at}


def is_somebody_left(group: int) -> bool:
    """Whether a group of processes has any."""
    try:
        os.killpg(group, 0)
    except ProcessLookupError:
        return False
    return True


ALL = {f"{name}.{tag}.a5.pdf" for name in ("harbour-wheel", "lee-shore") for tag in ("de", "ar")}


def test_all_is_made_and_then_nothing(shop: Shop) -> None:
    """Four leaflets; the second run writes none and says so, also where the workspace lies somewhere else now."""
    assert set(leaflets()) == ALL
    before = times()
    again = shop()
    assert again.exit_code == 0
    assert "up to date 4" in again.output
    assert made(before) == set()


def test_a_leaflet_is_the_one_that_leaflet_makes(shop: Shop) -> None:
    """Byte for byte, by the other command into another folder."""
    assert shop().exit_code == 0
    command = ["leaflet", "patterns/harbour-wheel.yaml", "--locale", "ar", "--paper", "a5", "--out", "other"]
    assert CliRunner().invoke(main, command).exit_code == 0
    assert Path("other/harbour-wheel.ar.a5.pdf").read_bytes() == leaflets()["harbour-wheel.ar.a5.pdf"]


def test_a_file_that_is_only_touched_changes_nothing(shop: Shop) -> None:
    """Patterns, publisher and a leaflet with another time, the same bytes."""
    for file in [*Path("patterns").iterdir(), Path("build/out/lee-shore/lee-shore.de.a5.pdf")]:
        os.utime(file, (1, 1))
    before = times()
    assert "up to date 4" in shop().output
    assert made(before) == set()


def test_a_pattern_makes_only_its_own_anew(shop: Shop) -> None:
    """A note is worded differently: its pattern's leaflets, in every language, and no other's."""
    before = times()
    file = Path("patterns/lee-shore.yaml")
    file.write_text(file.read_text(encoding="utf-8").replace("Keep these loose.", "Keep them loose."), encoding="utf-8")
    assert "made 2" in shop().output
    assert made(before) == {"lee-shore.de.a5.pdf", "lee-shore.ar.a5.pdf"}


@pytest.mark.parametrize(
    ("domain", "context", "text", "wanted"),
    [
        ("patterns", "lee-shore", "Lee Shore", {"lee-shore.de.a5.pdf"}),
        ("spokeleaf", "headings", "Chart", {"harbour-wheel.de.a5.pdf", "lee-shore.de.a5.pdf"}),
        ("spokeleaf", "fibres", "viscose", set()),
        ("spokeleaf", "fibres", "cotton", {"harbour-wheel.de.a5.pdf", "lee-shore.de.a5.pdf"}),
        ("spokeleaf", "headings", "Joining", set()),
        ("spokeleaf", "on screen", "Clear all ticks", set()),
        ("spokeleaf", "wrap: name", "Wrapped cord", set()),
    ],
)
def test_a_message_makes_those_anew_that_show_it(
    shop: Shop, domain: str, context: str, text: str, wanted: set[str]
) -> None:
    """A German title, a heading, a fibre and a stitch that no pattern has: only leaflets that show it."""
    before = times()
    file = Path("locales/de/LC_MESSAGES") / f"{domain}.po"
    file.parent.mkdir(parents=True)
    entries = ENTRY.format(context=context, text=text, said="Anders gesagt")
    file.write_text(PO.format(tag="de", entries=entries), encoding="utf-8")
    done = shop()
    assert done.exit_code == 0, done.output
    assert made(before) == wanted
    assert "up to date 4" in shop().output


def test_a_symbol_makes_those_anew_that_work_it(shop: Shop) -> None:
    """A glyph of a shipped stitch is drawn anew in the workspace: of the knot all, of the rib none."""
    for symbol, wanted in (("rib", set()), ("knot", ALL)):
        before = times()
        text = (ROOT / "symbols" / f"{symbol}.yaml").read_text(encoding="utf-8")
        Path("symbols").mkdir(exist_ok=True)
        changed = text.replace(f"stitch: {symbol}", f"stitch: {symbol}\nreplaces: true") + "# drawn anew\n"
        Path("symbols", f"{symbol}.yaml").write_text(changed, encoding="utf-8")
        done = shop()
        assert done.exit_code == 0, done.output
        assert made(before) == wanted


def test_the_publisher_stands_on_every_leaflet(shop: Shop) -> None:
    """Another name: all are made anew."""
    before = times()
    Path("patterns/publisher.yaml").write_text("publisher: Other Press\n", encoding="utf-8")
    assert shop().exit_code == 0
    assert made(before) == ALL


def test_a_damaged_leaflet_is_made_again(shop: Shop) -> None:
    """One byte is another, one file is cut, one is gone: the same bytes as before."""
    whole = leaflets()
    first, second, third, _ = sorted(Path("build/out").glob("*/*.pdf"))
    data = bytearray(first.read_bytes())
    data[1000] ^= 1
    first.write_bytes(bytes(data))
    second.write_bytes(second.read_bytes()[:2000])
    third.unlink()
    assert "up to date 1, made 3" in shop().output
    assert leaflets() == whole


@pytest.mark.parametrize("damage", [b"", b"no base at all", None])
def test_a_damaged_ledger_is_begun_anew(shop: Shop, damage: bytes | None) -> None:
    """Empty, not a data base, or gone: all is made again, the same."""
    whole = leaflets()
    for file in Path("build/out").glob(".ledger*"):
        file.unlink()
    if damage is not None:
        Path("build/out/.ledger").write_bytes(damage)
    done = shop()
    assert done.exit_code == 0, done.output
    assert "made 4" in done.output
    assert leaflets() == whole


def test_damaged_pictures_are_drawn_again(shop: Shop) -> None:
    """What is kept of pictures is cut or something else; leaflets that are made again have the same bytes."""
    whole = leaflets()
    kept = [file for file in Path("build/out/.pictures").rglob("*") if file.is_file()]
    assert len(kept) == 2
    kept[0].write_bytes(kept[0].read_bytes()[:100])
    foreign = b"whole, and none of ours"
    kept[1].write_bytes(hashlib.sha256(foreign).digest() + foreign)
    for file in Path("build/out").glob("*/*.pdf"):
        file.unlink()
    assert "made 4" in shop().output
    assert leaflets() == whole
    assert all(len(file.read_bytes()) > 1000 for file in kept)


def test_of_two_patterns_with_one_id_the_first_is_shown(shop: Shop) -> None:
    """A copy that kept its id has leaflets of its own name; catalogue and site show one pattern, and a line says so."""
    shutil.copy("patterns/lee-shore.yaml", "patterns/lee-shore-again.yaml")
    done = shop("--printed", "--site")
    assert done.exit_code == 1
    assert "patterns/lee-shore.yaml:2:5: error[id-taken]" in done.stderr
    assert Path("build/out/lee-shore-again/lee-shore-again.de.a5.pdf").is_file()
    assert len(json.loads(Path("build/out/site/catalogue.json").read_text(encoding="utf-8"))["itemListElement"]) == 2


def test_another_font_of_the_same_name_draws_figures_anew(shop: Shop) -> None:
    """A workspace's own face for figures, and then another in its file: all is made again, as if nothing were kept."""
    faces = [face.path for face in find_fonts("Latn", ()).files[:2]]
    Path("fonts").mkdir()
    for face in faces:
        before = times()
        shutil.copy(face, Path("fonts") / faces[0].name)
        font_files.cache_clear()
        letter.cache_clear()
        done = shop(*(["--verify"] if face == faces[-1] else []))
        assert done.exit_code == 0, done.output
        assert made(before) == ALL
    font_files.cache_clear()
    letter.cache_clear()


def test_a_broken_catalogue_stops_no_other_language(shop: Shop) -> None:
    """A German file that is none of PO's: a line says so, exit 1; the Arabic leaflets and site are there."""
    file = Path("locales/de/LC_MESSAGES/patterns.po")
    file.parent.mkdir(parents=True)
    file.write_text("no catalogue\n", encoding="utf-8")
    done = shop("--site")
    assert done.exit_code == 1
    assert "patterns.po:1" in done.output
    assert "Traceback" not in done.output
    assert Path("build/out/site/ar/index.html").is_file()
    assert not Path("build/out/site/de").exists()


def test_what_was_left_unfinished_is_cleared_away_and_nothing_else(shop: Shop) -> None:
    """Beginnings of files at every depth go; hidden files that others put there stay."""
    out = Path("build/out")
    left = [out / ".catalogue.de.a5.pdf.ab12_xyz", out / "lee-shore" / ".lee-shore.de.a5.pdf.qwertyui"]
    left += [out / "site" / "de" / ".index.html.00000000"]
    kept = [out / ".htaccess", out / "lee-shore" / ".notes.txt"]
    for file in (*left, *kept):
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text("x", encoding="utf-8")
    assert shop().exit_code == 0
    assert not [file for file in left if file.exists()]
    assert all(file.exists() for file in kept)


def test_one_broken_pattern_stops_none_of_the_others(shop: Shop) -> None:
    """Groups of 7 do not divide 120 rays: one line says so, the others are made, exit 1; mended, the rest follows.

    What failed stands on standard error, the table of all locales on standard output.
    """
    file = Path("patterns/harbour-wheel.yaml")
    good = file.read_text(encoding="utf-8")
    shutil.rmtree("build")
    file.write_text(good.replace("knot: {rays: 6}", "knot: {rays: 7}", 1), encoding="utf-8")
    done = shop()
    assert done.exit_code == 1
    (line,) = [line for line in done.stderr.splitlines() if "error[" in line]
    assert "harbour-wheel.yaml:16" in line
    head, *rows, summary = [line.split() for line in done.stdout.splitlines()]
    assert head == ["locale", "made", "up", "to", "date", "failed"]
    assert sorted(rows) == [["ar", "1", "0", "1"], ["de", "1", "0", "1"]]
    assert summary[:7] == ["up", "to", "date", "0,", "made", "2,", "failed"]
    assert set(leaflets()) == {"lee-shore.de.a5.pdf", "lee-shore.ar.a5.pdf"}
    file.write_text(good, encoding="utf-8")
    assert "up to date 2, made 2" in shop().output


def test_verify_finds_what_the_ledger_cannot(shop: Shop) -> None:
    """A leaflet of the same size and time with other bytes is taken for good, until it is made again and compared."""
    assert shop("--verify").exit_code == 0
    file = Path("build/out/lee-shore/lee-shore.de.a5.pdf")
    stat = file.stat()
    data = bytearray(file.read_bytes())
    data[1000] ^= 1
    file.write_bytes(bytes(data))
    os.utime(file, ns=(stat.st_atime_ns, stat.st_mtime_ns))
    assert "up to date 4" in shop().output
    done = shop("--verify")
    assert done.exit_code == 1
    assert "leaflet-differs" in done.output


def test_verify_compares_nothing_that_could_not_be_made(shop: Shop) -> None:
    """German is broken and a pattern has an error, older leaflets are there: one is left to compare, none differs."""
    broken = Path("locales/de/LC_MESSAGES/patterns.po")
    broken.parent.mkdir(parents=True)
    broken.write_text("no catalogue\n", encoding="utf-8")
    file = Path("patterns/lee-shore.yaml")
    file.write_text(file.read_text(encoding="utf-8").replace("knot: {rays: 6}", "knot: {rays: 7}", 1), encoding="utf-8")
    done = shop("--verify")
    assert isinstance(done.exception, SystemExit), done.exception
    assert done.exit_code == 1
    assert "leaflet-differs" not in done.output
    assert "failed 3, compared 1, different 0" in done.output


@pytest.mark.parametrize("taken", [0, 4])
def test_a_machine_without_fonts_is_told(shop: Shop, monkeypatch: pytest.MonkeyPatch, taken: int) -> None:
    """With all leaflets there, or none: no bug of ours, but what to install."""
    for file in sorted(Path("build/out").glob("*/*.pdf"))[:taken]:
        file.unlink()
    monkeypatch.setattr("pipeline.language.fonts.PLACES", ())
    done = shop("--site")
    assert isinstance(done.exception, SystemExit), done.exception
    assert done.exit_code == 1
    assert "error[script-without-font]: no font for Latn" in done.stderr
    assert "fonts-noto-core" in done.stderr
    assert "bug of ours" not in done.output


def test_no_two_runs_at_once(shop: Shop) -> None:
    """While another holds the folder nothing is made and exit is 1; then it is."""
    shutil.rmtree("build/out/lee-shore")
    other = sqlite3.connect("build/out/.run", isolation_level=None)
    other.execute("begin exclusive")
    done = shop()
    assert done.exit_code == 1
    assert "another-run" in done.output
    assert len(leaflets()) == 2
    other.close()
    assert shop().exit_code == 0


def test_many_workers_make_what_one_makes(shop: Shop) -> None:
    """Two processes, the same bytes; the ledger is as good."""
    whole = leaflets()
    for file in Path("build/out").glob("*/*.pdf"):
        file.unlink()
    assert "made 4" in shop(jobs=2).output
    assert leaflets() == whole
    assert "up to date 4" in shop().output


def test_killed_at_any_moment_nothing_is_half_written() -> None:
    """Four runs of one worker or two, each killed with all its processes at a moment drawn from a seed: build/kills, in short."""
    done = subprocess.run(
        [sys.executable, ROOT / "build" / "kills", "4", "11"], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    assert "killed 4" in done.stdout
    assert "byte for byte" in done.stdout


def test_a_run_that_is_interrupted_ends_at_once_and_leaves_nobody_behind(shop: Shop) -> None:
    """Ctrl-C when the first leaflet is there: exit 130, no process of its group is left, what was made is kept."""
    for file in Path("build/out").glob("*/*.pdf"):
        file.unlink()
    command = [sys.executable, "-m", "pipeline", "catalogue", *WANTED, "--jobs", "2"]
    environment = os.environ | {"PYTHONPATH": str(ROOT)}
    run = subprocess.Popen(command, env=environment, start_new_session=True, stderr=subprocess.PIPE, text=True)
    until = time.monotonic() + 60
    while not leaflets() and time.monotonic() < until:
        time.sleep(0.02)
    os.kill(run.pid, signal.SIGINT)
    _, said = run.communicate(timeout=20)
    assert run.returncode == 130
    assert "Traceback" not in said
    until = time.monotonic() + 10  # what the standard library keeps for its workers ends a moment after them
    while is_somebody_left(run.pid) and time.monotonic() < until:
        time.sleep(0.1)
    assert not is_somebody_left(run.pid)
    assert shop().exit_code == 0
    assert set(leaflets()) == ALL


@pytest.mark.parametrize("kind", ["--printed", "--site"])
def test_what_shows_the_whole_catalogue_is_made_with_it(shop: Shop, kind: str) -> None:
    """A catalogue to print in each locale; a site whose files are those of its manifest, and no older ones."""
    done = shop(kind)
    assert done.exit_code == 0, done.output
    out = Path("build/out")
    if kind == "--printed":
        assert {file.name for file in out.glob("*.pdf")} == {"catalogue.de.a5.pdf", "catalogue.ar.a5.pdf"}
        return
    assert str(out.resolve() / "site" / "index.html") in done.stdout.splitlines()  # the page to begin at
    assert "manifest.json" not in done.output
    listed = json.loads((out / "site" / "manifest.json").read_bytes())["files"]
    there = {file.relative_to(out / "site").as_posix() for file in (out / "site").rglob("*") if file.is_file()}
    assert there == {*listed, "manifest.json"}
    for name, entry in listed.items():
        data = (out / "site" / name).read_bytes()
        assert (len(data), hashlib.sha256(data).hexdigest()) == (entry["bytes"], entry["sha256"])
    assert {f"leaflets/{name}" for name in ALL} <= set(listed)
    Path("patterns/lee-shore.yaml").unlink()
    (out / "site" / "CNAME").write_text("lace.example\n")
    assert shop(kind).exit_code == 0
    left = {file.relative_to(out / "site").as_posix() for file in (out / "site").rglob("*") if file.is_file()}
    assert not [name for name in left if "lee-shore" in name]
    assert "CNAME" in left


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["--locale", "xx"], "there is no locale xx"),
        (["--base", "https://example.org"], "--site"),
        (["--site", "--base", "ftp://example.org"], "https"),
        (["--site", "--base", ""], "--base"),
        (["--site", "--base", "https://:80/"], "--base"),
        (["--site", "--base", "https://[x"], "--base"),
        (["--jobs", "0"], "0"),
        (["--paper", "a6"], "a6"),
        (["nowhere"], "nowhere"),
    ],
)
def test_wrong_use_is_told(shop: Shop, arguments: list[str], says: str) -> None:
    """An unknown locale or paper, an address that is none, no worker at all, a folder that is not there: exit 2."""
    done = shop(*arguments)
    assert done.exit_code == 2
    assert says in done.output


def test_a_folder_without_patterns_is_wrong_use(tmp_path: Path) -> None:
    """Nothing to make."""
    done = CliRunner().invoke(main, ["catalogue", str(tmp_path)])
    assert done.exit_code == 2
    assert "no patterns" in done.output
