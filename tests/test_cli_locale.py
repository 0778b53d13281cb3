"""The commands of a translator: begin a locale, see how far each has come."""

from pathlib import Path

import pytest
from babel.messages.pofile import read_po, write_po
from click.testing import CliRunner, Result

from pipeline import cli
from pipeline.language.coverage import coverage
from pipeline.language.locales import LocaleInfo
from pipeline.workspace import shipped

DEMO = shipped("symbols").parent / "patterns" / "first-frost.yaml"


def run(*arguments: str | Path) -> Result:
    return CliRunner().invoke(cli.main, ["locale", *map(str, arguments)])


@pytest.fixture
def workspace(tmp_path: Path) -> Path:
    """A workspace with one pattern and no locale of its own."""
    (tmp_path / "patterns").mkdir()
    (tmp_path / "patterns" / "first-frost.yaml").write_bytes(DEMO.read_bytes())
    return tmp_path


def test_a_new_locale_is_ready_to_fill(workspace: Path) -> None:
    """A draft, with a catalogue of the workspace's patterns and the plural forms of its language (two in Finnish)."""
    result = run("add", "fi", workspace)
    assert result.exit_code == 0, result.output
    folder = workspace / "locales" / "fi"
    assert folder.joinpath("locale.yaml").read_text() == "locale: fi\nstatus: draft\n"
    with folder.joinpath("LC_MESSAGES", "patterns.po").open("rb") as stream:
        catalog = read_po(stream, "fi")
    assert catalog.num_plurals == 2
    assert {str(message.id) for message in catalog if message.id} >= {"First Frost", "frost blue"}


def test_it_can_be_made_a_leaflet_of_at_once(workspace: Path) -> None:
    """Adding a locale needs no code: its leaflet falls back on English and says how many texts are missing."""
    assert run("add", "fi", workspace).exit_code == 0
    pattern = str(workspace / "patterns" / "first-frost.yaml")
    result = CliRunner().invoke(cli.main, ["leaflet", pattern, "--locale", "fi", "--out", str(workspace)])
    assert result.exit_code == 0, result.output
    assert "note[text-untranslated]" in result.output
    assert (workspace / "first-frost.fi.a4.pdf").is_file()


@pytest.mark.parametrize("tag", ["xx", "Finnish", "fi_FI", "FI", "../fi", ""])
def test_what_is_no_tag_is_wrong_use(workspace: Path, tag: str) -> None:
    """A language nobody speaks, a word, an underscore, capitals, a path, nothing: no folder is made."""
    assert run("add", tag, workspace).exit_code == 2
    assert not (workspace / "locales").exists()


def test_a_locale_that_is_there_stays(workspace: Path) -> None:
    """Nothing is written over."""
    assert run("add", "fi", workspace).exit_code == 0
    result = run("add", "fi", workspace)
    assert result.exit_code == 1
    assert "output-exists" in result.output


def test_a_script_without_a_font_is_named(workspace: Path) -> None:
    """Georgian has no face in the table: the locale is refused before anything is made."""
    result = run("add", "ka", workspace)
    assert result.exit_code == 1
    assert "script-without-font" in result.output
    assert not (workspace / "locales").exists()


def test_the_list_says_how_far_each_has_come(workspace: Path) -> None:
    """Half of the messages translated are 50 %; one that is fuzzy is not done and is counted apart."""
    assert run("add", "fi", workspace).exit_code == 0
    file = workspace / "locales" / "fi" / "LC_MESSAGES" / "patterns.po"
    with file.open("rb") as stream:
        catalog = read_po(stream, "fi")
    messages = [message for message in catalog if message.id]
    assert len(messages) == 4
    for message in messages[:3]:
        message.string = "x"
    messages[2].flags.add("fuzzy")
    with file.open("wb") as stream:
        write_po(stream, catalog)
    (_, found) = coverage(workspace / "locales", LocaleInfo("fi", "draft"))
    assert (found.messages, found.done, found.fuzzy, found.percent) == (4, 2, 1, 50)
    lines = run("list", workspace).output.splitlines()
    assert "fi       draft    patterns 50 % of 4, 1 fuzzy" in lines
    assert "en       source" in lines
