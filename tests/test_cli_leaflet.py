"""Leaflets and charts from the command line: where they go, and what happens when they cannot be made."""

import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from pipeline.cli import main

ROOT = Path(__file__).resolve().parent.parent


def run(*arguments: object) -> Result:
    """The command, in this process."""
    return CliRunner().invoke(main, [str(argument) for argument in arguments])


@pytest.fixture
def pattern(tmp_path: Path) -> Path:
    """A demo in a workspace of its own, with a title nobody has translated."""
    file = tmp_path / "patterns" / "first-frost.yaml"
    file.parent.mkdir()
    text = (ROOT / "patterns" / "first-frost.yaml").read_text(encoding="utf-8")
    file.write_text(text.replace("First Frost", "Hoarfrost"), encoding="utf-8")
    return file


def test_a_leaflet_goes_below_build_out(pattern: Path, tmp_path: Path) -> None:
    """``build/out/<id>/<id>.<locale>.<paper>.pdf`` in the workspace; a text without translation is told."""
    result = run("leaflet", pattern, "--locale", "es", "--paper", "a5")
    assert result.exit_code == 0, result.output
    file = tmp_path / "build" / "out" / "first-frost" / "first-frost.es.a5.pdf"
    assert file.read_bytes().startswith(b"%PDF-")
    assert "note[text-untranslated]" in result.output
    assert [path.name for path in file.parent.iterdir()] == [file.name]


def test_an_unknown_locale_is_wrong_use(pattern: Path) -> None:
    """Exit code 2, and the nearest known one."""
    result = run("leaflet", pattern, "--locale", "eo")
    assert result.exit_code == 2
    assert "there is no locale eo" in result.output


def test_a_pattern_with_errors_gives_no_leaflet(pattern: Path, tmp_path: Path) -> None:
    """Exit code 1, the problem, and no file."""
    pattern.write_text(pattern.read_text(encoding="utf-8").replace("rays: 4}", "rays: 5}"), encoding="utf-8")
    result = run("leaflet", pattern, "--locale", "en")
    assert result.exit_code == 1
    assert "error[rays-do-not-divide]" in result.output
    assert not (tmp_path / "build").exists()


def test_a_place_that_cannot_be_written_is_a_problem(pattern: Path, tmp_path: Path) -> None:
    """A file stands where a folder should be: exit code 1, no traceback, nothing half-written."""
    (tmp_path / "taken").write_text("", encoding="utf-8")
    result = run("chart", pattern, "--out", tmp_path / "taken" / "below")
    assert result.exit_code == 1
    assert "error[output-unwritable]" in result.output


@pytest.mark.parametrize(("file_format", "begins"), [("svg", b"<?xml"), ("pdf", b"%PDF-"), ("png", b"\x89PNG")])
def test_a_chart_is_a_file_of_its_own(pattern: Path, tmp_path: Path, file_format: str, begins: bytes) -> None:
    """In three formats, and the same bytes twice."""
    found = []
    for name in ("one", "two"):
        assert run("chart", pattern, "--format", file_format, "--out", tmp_path / name).exit_code == 0
        found.append((tmp_path / name / f"first-frost.chart.{file_format}").read_bytes())
    assert found[0].startswith(begins)
    assert found[0] == found[1]


def test_updating_keeps_a_translation(pattern: Path, tmp_path: Path) -> None:
    """A workspace has its own ``patterns.pot``; what was translated stays when texts are added."""
    locale = tmp_path / "locales" / "es"
    locale.mkdir(parents=True)
    shutil.copy(ROOT / "locales" / "es" / "locale.yaml", locale)
    assert run("locale", "update", tmp_path).exit_code == 0
    catalogue = locale / "LC_MESSAGES" / "patterns.po"
    text = catalogue.read_text(encoding="utf-8").replace(
        'msgid "Hoarfrost"\nmsgstr ""', 'msgid "Hoarfrost"\nmsgstr "Cencellada"'
    )
    catalogue.write_text(text, encoding="utf-8")
    pattern.write_text(pattern.read_text(encoding="utf-8").replace("frost blue", "sky blue"), encoding="utf-8")
    assert run("locale", "update", tmp_path).exit_code == 0
    kept = catalogue.read_text(encoding="utf-8")
    assert 'msgstr "Cencellada"' in kept
    assert 'msgid "sky blue"' in kept
    assert (tmp_path / "locales" / "patterns.pot").is_file()
    assert not (tmp_path / "locales" / "spokeleaf.pot").exists()


def test_leaflets_go_where_out_says(pattern: Path, tmp_path: Path) -> None:
    """Straight into that folder, made where it is not there; the workspace stays as it was."""
    place = tmp_path / "a" / "b"
    result = run("leaflet", pattern, "--locale", "en", "--paper", "a5", "--out", place)
    assert result.exit_code == 0, result.output
    assert [file.name for file in place.iterdir()] == ["first-frost.en.a5.pdf"]
    assert not (tmp_path / "build").exists()
    assert "text-untranslated" not in result.output


def test_a_leaflet_that_cannot_be_written_is_a_problem(
    pattern: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A file stands where the folder should be: exit code 1, one located problem, no traceback."""
    monkeypatch.setattr("pipeline.catalogue.make.typeset_markup", lambda *_: b"%PDF-")
    (tmp_path / "taken").write_text("", encoding="utf-8")
    result = run("leaflet", pattern, "--locale", "en", "--out", tmp_path / "taken" / "below")
    assert result.exit_code == 1
    assert result.output.count("error[output-unwritable]") == 1
    assert "Traceback" not in result.output


def test_one_bad_locale_does_not_hide_the_good_one(pattern: Path, tmp_path: Path) -> None:
    """A script without a font is an error that names it; the other leaflet is there; exit code 1."""
    locale = tmp_path / "locales" / "ko"
    locale.mkdir(parents=True)
    (locale / "locale.yaml").write_text("locale: ko\nstatus: draft\n", encoding="utf-8")
    result = run("leaflet", pattern, "--locale", "ko", "--locale", "en", "--paper", "a5")
    assert result.exit_code == 1
    assert "error[script-without-font]" in result.output
    assert "Kore" in result.output
    files = [file.name for file in (tmp_path / "build" / "out" / "first-frost").iterdir()]
    assert files == ["first-frost.en.a5.pdf"]


def test_a_letter_no_font_can_write_is_named(pattern: Path, tmp_path: Path) -> None:
    """A title with a kana in a Latin leaflet: an error with the character and its code point, and no page with a box."""
    pattern.write_text(pattern.read_text(encoding="utf-8").replace("Hoarfrost", "Hoarfrost あ"), encoding="utf-8")
    result = run("leaflet", pattern, "--locale", "en")
    assert result.exit_code == 1
    assert "error[character-without-font]" in result.output
    assert "U+3042" in result.output
    assert not (tmp_path / "build").exists()


@pytest.mark.parametrize(
    "arguments", [["chart"], ["leaflet", "--locale", "en"], ["leaflet", "--locale", "en", "--html"]]
)
def test_a_machine_without_fonts_is_told(
    pattern: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, arguments: list[str]
) -> None:
    """Figures of every picture are Latin: a problem that says what to install, exit code 1, and no file."""
    monkeypatch.setattr("pipeline.language.fonts.PLACES", ())
    result = run(*arguments, pattern)
    assert isinstance(result.exception, SystemExit), result.exception
    assert result.exit_code == 1
    assert "error[script-without-font]: no font for Latn\n  hint: install fonts-noto-core" in result.stderr
    assert not (tmp_path / "build").exists()


def test_a_missing_pattern_and_no_locale_are_told_apart(tmp_path: Path, pattern: Path) -> None:
    """A file that is not there is a problem, exit code 1; to ask for no locale or an unknown paper is wrong use, 2."""
    missing = run("leaflet", tmp_path / "patterns" / "none.yaml", "--locale", "en")
    assert missing.exit_code == 1
    assert "none.yaml:1:1: error[file-missing]" in missing.output
    assert run("leaflet", pattern).exit_code == 2
    assert run("leaflet", pattern, "--locale", "en", "--paper", "a3").exit_code == 2
