"""Leaflets for screens from the command line: what they are called, where they go, and what is wrong use."""

import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from pipeline.cli import main

ROOT = Path(__file__).resolve().parent.parent


def run(*arguments: object) -> Result:
    """The command, in this process."""
    return CliRunner().invoke(main, ["leaflet", *map(str, arguments), "--html"])


@pytest.fixture
def pattern(tmp_path: Path) -> Path:
    """A demo in a workspace of its own, with a title nobody has translated."""
    file = tmp_path / "patterns" / "first-frost.yaml"
    file.parent.mkdir()
    text = (ROOT / "patterns" / "first-frost.yaml").read_text(encoding="utf-8")
    file.write_text(text.replace("First Frost", "Hoarfrost"), encoding="utf-8")
    return file


def test_a_file_goes_below_build_out(pattern: Path, tmp_path: Path) -> None:
    """Beside the PDFs and called like them, without a paper; a text without translation is told and has its language."""
    result = run(pattern, "--locale", "es", "--locale", "pt-BR")
    assert result.exit_code == 0, result.output
    folder = tmp_path / "build" / "out" / "first-frost"
    assert sorted(file.name for file in folder.iterdir()) == ["first-frost.es.html", "first-frost.pt-BR.html"]
    assert result.output.count("note[text-untranslated]") == 2
    html = (folder / "first-frost.es.html").read_text(encoding="utf-8")
    assert html.startswith('<!DOCTYPE html>\n<html lang="es" dir="ltr">')
    assert '<h1 lang="en">Hoarfrost</h1>' in html


def test_there_is_one_without_words_and_one_for_left_handers(pattern: Path, tmp_path: Path) -> None:
    """Both at once too."""
    for options in (("--wordless",), ("--wordless", "--left-handed"), ("--locale", "en", "--left-handed")):
        assert run(pattern, *options, "--out", tmp_path / "out").exit_code == 0
    assert sorted(file.name for file in (tmp_path / "out").iterdir()) == [
        "first-frost.en.left-handed.html",
        "first-frost.wordless.html",
        "first-frost.wordless.left-handed.html",
    ]


def test_measures_and_digits_can_be_asked_for(pattern: Path, tmp_path: Path) -> None:
    """In inches, and in Western digits where the locale has its own."""
    assert run(pattern, "--locale", "en", "--units", "inches", "--out", tmp_path / "out").exit_code == 0
    assert " in" in (tmp_path / "out" / "first-frost.en.html").read_text(encoding="utf-8").replace("\u00a0", " ")


@pytest.mark.parametrize("option", [("--paper", "a4"), ("--large-print",), ("--ink-saver",), ("--booklet",)])
def test_a_screen_has_no_paper(pattern: Path, tmp_path: Path, option: tuple[str, ...]) -> None:
    """What is said of paper is wrong use, exit code 2, and nothing is made."""
    result = run(pattern, "--locale", "en", *option)
    assert result.exit_code == 2
    assert "screens" in result.output
    assert not (tmp_path / "build").exists()


def test_a_script_without_a_font_here_is_no_hindrance(pattern: Path, tmp_path: Path) -> None:
    """Letters are written by the fonts of whoever reads: Korean is made, in the pattern's language where it must."""
    locale = tmp_path / "locales" / "ko"
    locale.mkdir(parents=True)
    (locale / "locale.yaml").write_text("locale: ko\nstatus: draft\n", encoding="utf-8")
    result = run(pattern, "--locale", "ko")
    assert result.exit_code == 0, result.output
    assert (tmp_path / "build" / "out" / "first-frost" / "first-frost.ko.html").is_file()


def test_a_broken_catalogue_does_not_hide_a_good_one(pattern: Path, tmp_path: Path) -> None:
    """Its problem is told, exit code 1; the other language is there."""
    shutil.copytree(ROOT / "locales" / "es", tmp_path / "locales" / "es")
    (tmp_path / "locales" / "es" / "LC_MESSAGES" / "spokeleaf.po").write_text('msgid "a\n', encoding="utf-8")
    result = run(pattern, "--locale", "es", "--locale", "en", "--out", tmp_path / "out")
    assert result.exit_code == 1
    assert "error[" in result.output
    assert [file.name for file in (tmp_path / "out").iterdir()] == ["first-frost.en.html"]


def test_a_file_that_cannot_be_written_is_a_problem(pattern: Path, tmp_path: Path) -> None:
    """A file stands where the folder should be: exit code 1, one located problem."""
    (tmp_path / "taken").write_text("", encoding="utf-8")
    result = run(pattern, "--locale", "en", "--out", tmp_path / "taken" / "below")
    assert result.exit_code == 1
    assert result.output.count("error[output-unwritable]") == 1
