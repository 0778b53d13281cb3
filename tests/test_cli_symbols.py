"""The commands that look after symbols: measured, shown, named in all languages."""

from pathlib import Path

import pypdfium2 as pdfium
import pytest
from click.testing import CliRunner, Result

from pipeline import cli
from pipeline.files import symbols_of
from pipeline.language.locales import load_locales
from pipeline.language.speech import load_speech
from pipeline.workspace import Workspace, shipped

KNOT = shipped("symbols") / "knot.yaml"


def run(*arguments: str | Path) -> Result:
    return CliRunner().invoke(cli.main, ["symbols", *map(str, arguments)])


@pytest.fixture
def workspace(tmp_path: Path) -> Path:
    """A workspace with a twin of the shipped knot."""
    (tmp_path / "patterns").mkdir()
    (tmp_path / "symbols").mkdir()
    twin = KNOT.read_text().replace("stitch: knot", "stitch: tonk")
    (tmp_path / "symbols" / "tonk.yaml").write_text(twin)
    return tmp_path


def test_the_shipped_glyphs_pass(tmp_path: Path) -> None:
    """Nothing to report, and how many were measured on the other stream."""
    result = run(tmp_path, "--check")
    assert result.exit_code == 0
    assert result.stdout == ""
    assert f"{len(symbols_of(Workspace(None)).everything)} glyphs measured" in result.stderr


def test_a_twin_among_a_designer_s_own_is_found_in_its_file(workspace: Path) -> None:
    """Two glyphs that are the same fail, at the key `glyph` of the designer's file."""
    result = run(workspace, "--check")
    assert result.exit_code == 1
    file = workspace / "symbols" / "tonk.yaml"
    line = next(n for n, text in enumerate(file.read_text().splitlines(), 1) if text.startswith("glyph:"))
    assert f"{file}:{line}:1: error[glyphs-alike]: the glyphs of `knot` and `tonk` overlap by 1.00" in result.output


def test_the_specimen_shows_every_glyph(workspace: Path) -> None:
    """Eleven to a sheet, in a file each."""
    result = run(workspace, "--sheet", "--format", "svg", "--out", workspace / "out")
    assert result.exit_code == 0, result.output
    count = len(symbols_of(Workspace(workspace)).everything)
    assert len(list((workspace / "out").glob("specimen-*.svg"))) == -(-count // 11)


def test_the_universal_key_names_every_symbol_in_every_language(tmp_path: Path) -> None:
    """Each name of each locale is in the text of the PDF; right-to-left ones in their own order."""
    result = run(tmp_path, "--key", "--out", tmp_path)
    assert result.exit_code == 0, result.output
    text = " ".join(page.get_textpage().get_text_range() for page in pdfium.PdfDocument(tmp_path / "key.a4.pdf"))
    words = "".join(text.split())
    symbols = symbols_of(Workspace(None))
    for tag, locale in load_locales([shipped("locales")]).items():
        if locale.direction == "rtl":
            assert any("\u0600" <= character <= "\u06ff" or "\ufb50" <= character <= "\ufeff" for character in text)
            continue
        speech = load_speech([shipped("locales")], locale)
        for symbol_id, symbol in symbols.everything.items():
            name = "".join(speech.pgettext(f"{symbol_id}: name", symbol.texts.name).split())
            assert name in words, (tag, symbol_id)


@pytest.mark.parametrize(("option", "script"), [("--sheet", "Latn"), ("--key", "Arab")])
def test_a_machine_without_fonts_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, option: str, script: str
) -> None:
    """Neither specimen nor key: the first script that lacks one, what to install, exit code 1."""
    monkeypatch.setattr("pipeline.language.fonts.PLACES", ())
    result = run(tmp_path, option)
    assert isinstance(result.exception, SystemExit), result.exception
    assert result.exit_code == 1
    assert f"error[script-without-font]: no font for {script}\n  hint: install fonts-noto-core" in result.stderr
    assert list(tmp_path.iterdir()) == []


def test_a_broken_catalogue_keeps_the_key_from_being_made(workspace: Path) -> None:
    """Its file and line, exit code 1."""
    file = workspace / "locales" / "es" / "LC_MESSAGES" / "spokeleaf.po"
    file.parent.mkdir(parents=True)
    file.write_text("no catalogue\n", encoding="utf-8")
    result = run(workspace, "--key")
    assert isinstance(result.exception, SystemExit), result.exception
    assert result.exit_code == 1
    assert f"{file}:1:1: error[catalogue-unreadable]" in result.stderr


def test_a_letter_of_the_key_that_no_font_can_write_is_named(workspace: Path) -> None:
    """A symbol is called by a hieroglyph in Spanish alone: the locale, the character and its code point, exit code 1."""
    file = workspace / "locales" / "es" / "LC_MESSAGES" / "spokeleaf.po"
    file.parent.mkdir(parents=True)
    entry = 'msgctxt "knot: name"\nmsgid "Knot"\nmsgstr "Nudo \U00013000"\n'
    file.write_text(f'msgid ""\nmsgstr "Content-Type: text/plain; charset=utf-8\\n"\n\n{entry}', encoding="utf-8")
    result = run(workspace, "--key")
    assert isinstance(result.exception, SystemExit), result.exception
    assert result.exit_code == 1
    assert (
        "error[character-without-font]: no font of locale `es` has the character \U00013000 (U+13000)" in result.stderr
    )


def test_something_must_be_asked_for(tmp_path: Path) -> None:
    """No option at all is wrong use."""
    assert run(tmp_path).exit_code == 2
