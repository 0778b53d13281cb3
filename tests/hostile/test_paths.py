"""Names and links that lead elsewhere: nothing outside of a workspace is read, and nothing is written there."""

import json
import re
import shutil
import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest

from pipeline.catalogue.ledger import Ledger, read_hash
from pipeline.catalogue.shelf import load_shelf
from pipeline.commands.showing import SITE, Showing
from pipeline.files import check_file, write_all_new, write_new, write_whole
from pipeline.language.fonts import PLACES, find_fonts, font_files
from pipeline.language.locales import BrokenLocale, load_locales
from pipeline.problems import Problem
from pipeline.starting.wish import Unclear, id_of, language_of
from pipeline.workspace import LEADS_OUT, Workspace, stays_inside, workspace_of
from tests.hostile.conftest import READERS, SECRET, Run, Write, problems_of


def left_out(problems: tuple[Problem, ...], place: Path) -> bool:
    """Whether one problem says that a link leads out, and none shows what it leads to."""
    (problem,) = problems
    assert SECRET not in repr(problem)
    return (problem.code, problem.file, LEADS_OUT in problem.message) == ("file-unreadable", str(place), True)


@pytest.mark.parametrize("name", READERS)
@pytest.mark.parametrize("linked", ["the file", "its folder"])
def test_a_link_that_leads_out_is_refused_for_any_kind_of_file(shop: Path, name: str, linked: str) -> None:
    """The file itself, or the folder it stands in; not a word of the secret is told."""
    place, secret = shop / name, shop.parent / "secret"
    (secret / "secret.yaml").rename(secret / place.name)
    if linked == "the file":
        place.parent.mkdir(parents=True, exist_ok=True)
        place.symlink_to(secret / place.name)
    else:
        shutil.rmtree(place.parent, ignore_errors=True)
        place.parent.parent.mkdir(parents=True, exist_ok=True)
        place.parent.symlink_to(secret)
    assert left_out(problems_of(lambda: READERS[name](shop)), place)


def test_a_pattern_that_leads_out_is_refused_by_every_command(shop: Path, write: Write, run: Run) -> None:
    """Others of the folder are read all the same; its text is told nowhere."""
    write()
    link = shop / "patterns" / "other.yaml"
    link.symlink_to("../../secret/secret.yaml")
    assert left_out(check_file(link).problems, link)
    for command in (
        ("check", shop / "patterns"), ("leaflet", link, "--locale", "en"), ("chart", link), ("calibrate", link),
        ("adapt", link, "--pins", "30"), ("compare", link, shop / "patterns" / "trial.yaml"),
        ("locale", "list", shop), ("locale", "update", shop),
    ):  # fmt: skip
        said = run(*command).output
        assert LEADS_OUT in said, command
        assert SECRET not in said


def test_a_loom_that_leads_out_is_broken(shop: Path, write: Write) -> None:
    """It is told where the pattern names it."""
    (shop / "patterns" / "looms").mkdir()
    (shop / "patterns" / "looms" / "card.yaml").symlink_to("../../../secret/secret.yaml")
    assert [problem.code for problem in check_file(write(loom="card")).problems] == ["loom-broken"]


@pytest.mark.parametrize(
    "name",
    ["../../secret/secret", "/etc/hostname", "..\\..\\secret\\secret", "\\\\server\\share\\loom", "C:\\loom",
     "looms/card", "CARD", "card.yaml", "card\\0", "./card", "card ", "%2e%2e/card", "file:///etc/hostname"],
)  # fmt: skip
def test_a_loom_is_a_name_and_no_path(shop: Path, write: Write, name: str) -> None:
    """Only the very name of a file in its folder is one; nothing else is opened."""
    (shop / "patterns" / "looms").mkdir()
    (shop / "patterns" / "looms" / "card.yaml").write_text(f"{SECRET}: 1\n", encoding="utf-8")
    (problem,) = check_file(write(loom=name)).problems
    assert problem.code == "loom-unknown"


@pytest.mark.parametrize(
    "name",
    ["../trial", "../../secret/secret", "/etc/hostname", "trial/../trial", "trial.yaml", "TRIAL", "tri al", "trial\\..",
     "\\\\server\\share", "C:trial", "con:", "trial\u202elairt", "tri\u200bal", "τrial", "-trial", "trial--a"],
)  # fmt: skip
def test_an_id_is_the_name_of_its_file_and_no_path(write: Write, name: str) -> None:
    """Everything that is made of a pattern is called by its id: it must be small letters, digits, hyphens, and the file's name."""
    found = check_file(write(id=name))
    assert not found.ok
    assert found.pattern is None
    assert {problem.span.line for problem in found.problems} == {2}


@pytest.mark.parametrize("text", ["../x", "/x", "x/y", "x\\y", "C:x", "con.", "..", "", "x\0", "x\n", "Ä", "a" * 61])
def test_what_is_begun_has_a_name_and_no_path(text: str) -> None:
    """An id that `new` is given, and a language."""
    for read in (id_of, language_of):
        with pytest.raises(Unclear):
            read(f"{text}/" if text == "a" * 61 and read is language_of else text if text != "x\n" else "x\ny")


@pytest.mark.parametrize(
    "tag", ["../../secret", "/etc", "en/../es", "..", "EN", "en_US/..", "C:en", "\\\\server\\share", "x" * 5000]
)
def test_a_locale_is_a_tag_and_no_path(shop: Path, write: Write, run: Run, tag: str) -> None:
    """On the command line, in a pattern, in a locale's own file: wrong use or a located problem; no folder is made."""
    assert run("leaflet", write(), "--locale", tag, "--out", shop / "out").exit_code == 2
    assert run("locale", "add", tag, shop).exit_code == 2
    assert [problem.path for problem in check_file(write(language=tag)).problems] == ["language"]
    (shop / "locales" / "fi").mkdir(parents=True)
    (shop / "locales" / "fi" / "locale.yaml").write_text(f"locale: '{tag}'\nstatus: draft\n", encoding="utf-8")
    with pytest.raises(BrokenLocale) as caught:
        load_locales([shop / "locales"])
    assert {problem.span.line for problem in caught.value.problems} == {1}
    assert not (shop / "out").exists()
    assert {place.name for place in shop.iterdir()} == {"patterns", "locales"}


@pytest.mark.parametrize(
    "file", ["../../secret/Face.ttf", "/etc/Face.ttf", "a/Face.ttf", "..\\Face.ttf", "Face.ttf\\0.exe"]
)
def test_a_font_is_a_name_and_no_path(shop: Path, file: str) -> None:
    """A locale names files of ``fonts/`` or of the machine by their names alone."""
    (shop / "locales" / "fi").mkdir(parents=True)
    (shop / "locales" / "fi" / "locale.yaml").write_text(f"locale: fi\nstatus: draft\nfonts: [{{file: '{file}'}}]\n")
    with pytest.raises(BrokenLocale) as caught:
        load_locales([shop / "locales"])
    assert [(problem.code, problem.span.line) for problem in caught.value.problems] == [("text-shape", 3)]


def test_a_font_that_leads_out_is_not_taken(shop: Path) -> None:
    """But one that leads to the machine's own fonts is."""
    known = find_fonts("Latn", ()).files[0].path
    (shop / "fonts").mkdir()
    shutil.copy(known, shop.parent / "secret" / "Stolen.ttf")
    (shop / "fonts" / "Stolen.ttf").symlink_to(shop.parent / "secret" / "Stolen.ttf")
    (shop / "fonts" / "Borrowed.ttf").symlink_to(known)
    (shop / "fonts" / "Own.ttf").write_bytes(known.read_bytes())
    found = font_files((shop / "fonts",))
    assert set(found) == {"Borrowed.ttf", "Own.ttf"}
    assert any(known.is_relative_to(place) for place in PLACES)


@pytest.mark.parametrize("name", ["build", "build/out", "build/out/trial"])
def test_what_is_made_is_not_written_through_a_link(shop: Path, write: Write, run: Run, name: str) -> None:
    """Where a folder for it leads out of the workspace: exit code 1, the place is named, and nothing is there."""
    (shop / name).parent.mkdir(parents=True, exist_ok=True)
    (shop / name).symlink_to(shop.parent / "secret")
    done = run("chart", write())
    assert done.exit_code == 1
    assert "error[output-unwritable]" in done.output
    if name != "build/out/trial":
        done = run("catalogue", shop, "--locale", "en", "--jobs", "1")
        assert (done.exit_code, LEADS_OUT in done.output) == (1, True)
    assert [file.name for file in (shop.parent / "secret").iterdir()] == ["secret.yaml"]


def test_a_locale_is_not_written_through_a_link(shop: Path, write: Write, run: Run) -> None:
    """Neither its catalogue nor its template."""
    write()
    (shop / "locales").symlink_to(shop.parent / "secret")
    for command in (("locale", "update", shop), ("locale", "add", "fi", shop)):
        done = run(*command)
        assert (done.exit_code, LEADS_OUT in done.output) == (1, True)
    assert [file.name for file in (shop.parent / "secret").iterdir()] == ["secret.yaml"]


@pytest.mark.parametrize("writer", [write_whole, write_new, lambda data, place: write_all_new({place: data})])
def test_a_link_in_the_place_of_a_file_is_not_followed(shop: Path, writer: Callable[[bytes, Path], object]) -> None:
    """It is replaced, or refused as a file that is there; what it leads to stays as it is."""
    secret = shop.parent / "secret" / "secret.yaml"
    before = secret.read_bytes()
    for name, target in (("new.yaml", secret), ("dangling.yaml", shop.parent / "secret" / "made.yaml")):
        (shop / "patterns" / name).symlink_to(target)
        writer(b"new", shop / "patterns" / name)
    assert secret.read_bytes() == before
    assert [file.name for file in secret.parent.iterdir()] == ["secret.yaml"]


def test_what_a_run_keeps_is_not_read_or_written_through_a_link(shop: Path, write: Write, run: Run) -> None:
    """The ledger, the lock and kept pictures of a stranger that lead to files elsewhere: they are taken away."""
    write()
    out, other = shop / "build" / "out", shop.parent / "secret" / "other.db"
    with sqlite3.connect(other) as base:
        base.execute("create table leaflets (name text)")
    before = other.read_bytes()
    out.mkdir(parents=True)
    for name in (".ledger", ".run", ".ledger-wal"):
        (out / name).symlink_to(other)
    (out / ".pictures").symlink_to(other.parent)
    assert run("catalogue", shop, "--locale", "en", "--jobs", "1").exit_code == 0
    assert other.read_bytes() == before
    assert sorted(file.name for file in other.parent.iterdir()) == ["other.db", "secret.yaml"]
    assert not [file for file in out.rglob("*") if file.is_symlink()]


def made_anew(shop: Path, manifest: str) -> None:
    """Make a site of nothing where an earlier one left this manifest."""
    (shop / "build" / SITE / "manifest.json").write_text(manifest)
    assert list(Showing(load_shelf(Workspace(shop)), {}, shop / "build", ()).build_site((), None)) == []


@pytest.mark.parametrize(
    "name", ["../../../../secret/secret.yaml", "/etc/hostname", "en", "", ".", "link/secret.yaml", "link", "a\0b", "..", 7, None, ["x"]],
    ids=str,
)  # fmt: skip
def test_only_files_of_an_earlier_site_are_taken_away(shop: Path, name: object) -> None:
    """A manifest may name anything; what is not a file of the site, and not by a link, is left alone."""
    site = shop / "build" / SITE
    (site / "en").mkdir(parents=True)
    (site / "en" / "old.html").write_text("old")
    (site / "link").symlink_to(shop.parent / "secret")
    made_anew(shop, json.dumps({"files": [name, "en/old.html"]}))
    assert not (site / "en" / "old.html").exists()
    assert (site / "en").is_dir()
    assert (site / "link").is_symlink()
    assert (site / "link" / "secret.yaml").is_file()


@pytest.mark.parametrize(
    "text", ["[" * 100_000, "{", "[]", "null", '{"files": 7}', "\x00", '{"files": ' + "9" * 5000 + "}"]
)
def test_a_manifest_that_is_none_names_nothing(shop: Path, text: str) -> None:
    """Deep, cut short, of another kind: nothing is taken away, and the site is made."""
    (shop / "build" / SITE).mkdir(parents=True)
    (shop / "build" / SITE / "old.html").write_text("old")
    made_anew(shop, text)
    assert (shop / "build" / SITE / "old.html").is_file()


def test_files_are_not_hashed_through_a_link(shop: Path, tmp_path: Path) -> None:
    """What the ledger is asked about may be a link that leads out, or into a file without an end."""
    (shop / "patterns" / "secret.po").symlink_to("../../secret/secret.yaml")
    (shop / "patterns" / "zero.po").symlink_to("/dev/zero")
    with Ledger(tmp_path / "ledger") as ledger:
        for name in ("secret.po", "zero.po"):
            assert (read_hash(shop / "patterns" / name), ledger.hash_of(shop / "patterns" / name)) == ("", "")


def test_a_workspace_is_where_a_file_stands(shop: Path) -> None:
    """Not where a link leads to; dots in a path are followed as the system does."""
    link = shop / "patterns" / "link.yaml"
    link.symlink_to("../../secret/secret.yaml")
    assert workspace_of(link) == Workspace(shop)
    assert workspace_of(shop / "patterns" / ".." / "patterns" / "link.yaml").root == shop
    assert not stays_inside(link)
    assert stays_inside(shop / "patterns" / "a.yaml")
    assert stays_inside(shop.parent / "secret" / "secret.yaml")


def test_names_of_files_cannot_steer_a_terminal(shop: Path, run: Run) -> None:
    """Colours, a cleared screen, a line gone back, an override of direction: told by their numbers."""
    for name in ("a\x1b[2J.yaml", "b\rgood.yaml", "c\u202elmay.yaml", "d\x9b31m.yaml"):
        (shop / "patterns" / name).write_text("a: 1\n", encoding="utf-8")
    said = run("check", shop / "patterns").output
    assert not re.search("[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e]", said)
    for shown in (r"a\x1b[2J.yaml", r"b\rgood.yaml", r"c\u202elmay.yaml", r"d\x9b31m.yaml"):
        assert shown in said
