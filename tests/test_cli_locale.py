"""The commands of a translator: begin a locale, bring it up to date, check it, see how far it has come."""

import json
import re
from collections.abc import Callable
from pathlib import Path

import pypdfium2 as pdfium
import pytest
from babel.messages.catalog import Catalog
from click.testing import CliRunner, Result

from pipeline import cli
from pipeline.language.catalogue import read_catalog
from pipeline.language.merging import po_bytes
from pipeline.workspace import shipped

DEMO = shipped("symbols").parent / "patterns" / "first-frost.yaml"
Fill = Callable[..., Path]


def run(*arguments: str | Path) -> Result:
    """One of the commands."""
    return CliRunner().invoke(cli.main, ["locale", *map(str, arguments)])


@pytest.fixture
def workspace(tmp_path: Path) -> Path:
    """A workspace with one pattern and no locale of its own."""
    (tmp_path / "patterns").mkdir()
    (tmp_path / "patterns" / "first-frost.yaml").write_bytes(DEMO.read_bytes())
    return tmp_path


@pytest.fixture
def spanish(workspace: Path) -> Path:
    """The same with a Spanish catalogue of the pattern, translated whole."""
    assert run("add", "es", workspace).exit_code == 0
    fill(workspace, "es")
    assert run("update", workspace).exit_code == 0
    return workspace


def catalog_of(workspace: Path, folder: str, domain: str = "patterns") -> tuple[Path, Catalog]:
    """A catalogue and where it is."""
    file = workspace / "locales" / folder / "LC_MESSAGES" / f"{domain}.po"
    return file, read_catalog(file, folder)


def fill(workspace: Path, folder: str) -> None:
    """Translate what is empty in the pattern's catalogue."""
    file, catalog = catalog_of(workspace, folder)
    for number, message in enumerate(message for message in catalog if message.id):
        message.string = message.string or f"Texto {'abcdefghij'[number]}"
        message.flags.discard("fuzzy")
    file.write_bytes(po_bytes(catalog))


def reword(workspace: Path, edition: int) -> None:
    """The designer changes a note and publishes a new edition."""
    file = workspace / "patterns" / "first-frost.yaml"
    text = file.read_text(encoding="utf-8").replace("a little before its place", "a hair before its place")
    assert text != file.read_text(encoding="utf-8")
    file.write_text(re.sub(r"edition: \{number: \d+", f"edition: {{number: {edition}", text), encoding="utf-8")


def test_a_new_locale_is_ready_to_fill(workspace: Path) -> None:
    """Its habits, a glossary of everything that wants a word, and whole catalogues with two plural forms in Finnish."""
    result = run("add", "fi", workspace)
    assert result.exit_code == 0, result.output
    folder = workspace / "locales" / "fi"
    assert re.findall(r"^(\w+): (\S+)", folder.joinpath("locale.yaml").read_text(), re.MULTILINE) == [
        ("locale", "fi"), ("status", "draft"), ("paper", "a4"), ("units", "metric"), ("digits", "latn"),
    ]  # fmt: skip
    assert "  ray: {about:" in folder.joinpath("glossary.yaml").read_text()
    made = {file for file in folder.parent.rglob("*") if file.is_file()}
    assert {Path(line) for line in result.stdout.splitlines()} == made
    _, own = catalog_of(workspace, "fi")
    _, program = catalog_of(workspace, "fi", "spokeleaf")
    assert own.num_plurals == program.num_plurals == 2
    assert {str(message.id) for message in own if message.id} >= {"First Frost", "frost blue"}
    assert len(program) > 250


def test_a_shipped_locale_wants_only_the_pattern_s_texts(workspace: Path) -> None:
    """The program's own are translated already; a region has its paper and measures from the CLDR."""
    assert run("add", "es", workspace).exit_code == 0
    assert not (workspace / "locales" / "es" / "LC_MESSAGES" / "spokeleaf.po").exists()
    assert len(catalog_of(workspace, "es")[1]) == 4
    assert run("add", "es-MX", workspace).exit_code == 0
    assert "paper: letter" in (workspace / "locales" / "es_MX" / "locale.yaml").read_text()


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


def test_a_locale_is_begun_in_a_workspace_alone(tmp_path: Path) -> None:
    """Where there is no folder `patterns` it is wrong use, and nothing is made; below one it goes to that workspace."""
    result = run("add", "fi", tmp_path)
    assert result.exit_code == 2
    assert f"there is no folder `patterns` in {tmp_path} or above it" in " ".join(result.stderr.split())
    assert list(tmp_path.iterdir()) == []
    (tmp_path / "patterns").mkdir()
    assert run("add", "fi", tmp_path / "patterns").exit_code == 0
    assert (tmp_path / "locales" / "fi" / "locale.yaml").is_file()
    assert list((tmp_path / "patterns").iterdir()) == []


def test_a_locale_that_is_there_stays(workspace: Path) -> None:
    """Nothing is written over."""
    assert run("add", "fi", workspace).exit_code == 0
    result = run("add", "fi", workspace)
    assert result.exit_code == 1
    assert "locale-begun" in result.output


def test_a_script_without_a_font_is_named(workspace: Path) -> None:
    """Korean has no face in the table and none of that name in Noto: it is refused before anything is made."""
    result = run("add", "ko", workspace)
    assert result.exit_code == 1
    assert "script-without-font" in result.output
    assert not (workspace / "locales").exists()


def test_a_script_beside_the_table_needs_no_code(workspace: Path) -> None:
    """Georgian: its face is found by its name in the Noto family."""
    assert run("add", "ka", workspace).exit_code == 0


def test_a_locale_may_name_its_fonts(workspace: Path) -> None:
    """A file of the workspace, whatever it is called; one that is not there is named with what would hold it."""
    assert run("add", "fi", workspace).exit_code == 0
    file = workspace / "locales" / "fi" / "locale.yaml"
    file.write_text(file.read_text() + "fonts: [{file: Own-Regular.ttf, package: fonts-own}]\n", encoding="utf-8")
    pattern = str(workspace / "patterns" / "first-frost.yaml")
    result = CliRunner().invoke(cli.main, ["leaflet", pattern, "--locale", "fi"])
    assert result.exit_code == 1
    assert "fonts-own" in result.output


def test_the_list_says_how_far_each_has_come(spanish: Path) -> None:
    """Four of four; with a text taken out and one to be looked at again, two of four; as words and as data."""
    assert "es       draft    patterns 100 % of 4" in run("list", spanish).output.splitlines()
    file, catalog = catalog_of(spanish, "es")
    first, second, *_ = [message for message in catalog if message.id]
    first.string = ""
    second.flags.add("fuzzy")
    catalog.header_comment = "#"
    file.write_bytes(po_bytes(catalog).replace(b"Revision-Date: 2026-01-01", b"Revision-Date: 2026-05-04"))
    lines = run("list", spanish).output.splitlines()
    assert "es       draft    patterns 50 % of 4, 1 fuzzy  changed 2026-05-04  behind: first-frost" in lines
    assert "en       source" in lines
    data = {entry["locale"]: entry for entry in json.loads(run("list", spanish, "--json").stdout)}
    assert data["es"]["catalogues"][0] | {"behind": []} == {
        "domain": "patterns", "messages": 4, "done": 2, "fuzzy": 1, "changed": "2026-05-04", "behind": [],
    }  # fmt: skip


def test_a_good_locale_has_no_problem(spanish: Path) -> None:
    """Checked with its leaflets laid out; exit code 0."""
    result = run("check", "es", "--workspace", spanish)
    assert result.exit_code == 0, result.output
    assert result.stdout == ""


def test_a_catalogue_in_another_encoding_is_read_by_what_its_head_says(spanish: Path) -> None:
    """Latin-1 with an n-tilde that is no UTF-8: sound as it stands, and what is missing has its line in words."""
    file, catalog = catalog_of(spanish, "es")
    text = po_bytes(catalog).decode().replace("charset=utf-8", "charset=latin-1").replace("Texto a", "Mañana")
    file.write_bytes(text.encode("latin-1"))
    result = run("check", "es", "--workspace", spanish)
    assert (result.exit_code, result.stdout) == (0, ""), result.output
    file.write_bytes(text.replace("Mañana", "Mañana {x}").encode("latin-1"))
    done = run("check", "es", "--workspace", spanish)
    assert done.exit_code == 1
    assert "Mañana {x}" in done.output


def test_what_is_missing_is_named_at_its_line(spanish: Path) -> None:
    """A translation taken out: file, line, code; as data, too; exit code 1."""
    file, catalog = catalog_of(spanish, "es")
    message = catalog.get("frost blue", "first-frost")
    assert message
    message.string = ""
    file.write_bytes(po_bytes(catalog))
    line = next(n for n, text in enumerate(file.read_text().splitlines(), 1) if text == 'msgstr ""' and n > 20)
    result = run("check", "es", "--workspace", spanish)
    assert result.exit_code == 1
    assert f"{file}:{line}:1: error[translation-missing]: no translation of `frost blue`" in result.output
    (problem,) = json.loads(run("check", "es", "--workspace", spanish, "--json").stdout)
    assert (problem["code"], problem["line"], problem["column"]) == ("translation-missing", line, 1)


def test_a_text_that_does_not_fit_is_named_at_its_message(spanish: Path) -> None:
    """A colour's name of one endless word is wider than the place for it."""
    file, catalog = catalog_of(spanish, "es")
    message = catalog.get("frost blue", "first-frost")
    assert message
    message.string = "azul" * 40
    file.write_bytes(po_bytes(catalog))
    line = next(n for n, text in enumerate(file.read_text(encoding="utf-8").splitlines(), 1) if "azulazul" in text)
    result = run("check", "es", "--workspace", spanish)
    assert result.exit_code == 1
    assert f"{file}:{line}:1: error[text-overflows]" in result.output
    assert result.output.count("error[") == 1


def test_a_warning_counts_only_where_it_is_asked_for(spanish: Path) -> None:
    """A word the glossary does not have: exit code 0, and 1 with --strict."""
    glossary = spanish / "locales" / "es" / "glossary.yaml"
    glossary.write_text("glossary: es\nterms:\n  knot: {term: xyz, not: [texto]}\n", encoding="utf-8")
    assert run("check", "es", "--workspace", spanish).exit_code == 0
    result = run("check", "es", "--workspace", spanish, "--strict")
    assert result.exit_code == 1
    assert "warning[glossary-not]" in result.output


@pytest.mark.parametrize(
    ("name", "text", "code"),
    [
        ("LC_MESSAGES/patterns.po", 'msgid "a\nmsgstr', "catalogue-unreadable"),
        ("glossary.yaml", "glossary: es\nterms: {knot: {trem: x}}\n", "key-unknown"),
        ("glossary.yaml", "glossary: es\nterms: [\n", "yaml"),
        ("locale.yaml", "locale: es\nstatus: done\n", "not-one-of"),
    ],
)
def test_a_broken_file_of_a_locale_is_told_where(spanish: Path, name: str, text: str, code: str) -> None:
    """A PO file cut short, a slip in the glossary or in the settings: file, line, code; never a traceback."""
    file = spanish / "locales" / "es" / name
    file.write_text(text, encoding="utf-8")
    for command in (("check", "es", "--workspace", spanish), ("update", spanish)):
        result = run(*command)
        assert result.exit_code == 1, result.output
        assert re.search(rf"{re.escape(file.name)}:\d+:\d+: error\[{code}", result.output), result.output
        assert "Traceback" not in result.output
    assert file.read_text(encoding="utf-8") == text


def test_a_broken_english_glossary_is_told_where(workspace: Path) -> None:
    """A workspace's own list of things with a slip: the new locale has nothing to be made of, and is not begun."""
    glossary = workspace / "locales" / "en" / "glossary.yaml"
    glossary.parent.mkdir(parents=True)
    glossary.write_text("glossary: en\nterms: {ray: {abuot: x}}\n", encoding="utf-8")
    result = run("add", "fi", workspace)
    assert result.exit_code == 1, result.output
    assert "glossary.yaml:2:15: error[key-unknown]" in result.output
    assert not (workspace / "locales" / "fi").exists()


@pytest.mark.parametrize("name", ["es/LC_MESSAGES/patterns.po", "es_PY/LC_MESSAGES/spokeleaf.po"])
def test_a_broken_catalogue_that_leaflets_would_read_is_told_where(spanish: Path, name: str) -> None:
    """That of the language a region belongs to, and one that has no message of its own to translate."""
    assert run("add", "es-PY", spanish).exit_code == 0
    file = spanish / "locales" / name
    file.write_text("no catalogue\n", encoding="utf-8")
    result = run("check", "es-PY", "--workspace", spanish)
    assert result.exit_code == 1, result.output
    assert f"{file}:1:1: error[catalogue-unreadable]" in result.output


def test_a_letter_no_font_has_is_told_once_for_a_pattern(spanish: Path) -> None:
    """The publisher's name in Egyptian hieroglyphs stands on every leaflet, on every paper."""
    place = spanish / "patterns" / "publisher.yaml"
    place.write_text("publisher: Quay \U00013000\n", encoding="utf-8")
    result = run("check", "es", "--workspace", spanish)
    assert result.exit_code == 1, result.output
    assert result.output.count("error[character-without-font]") == result.output.count("error[") == 1
    assert "\U00013000 (U+13000)" in result.output


@pytest.mark.parametrize(("tags", "count"), [((), 1), (("es",), 1), (("en",), 0), (("en", "es", "fr"), 1)])
def test_locales_are_counted_that_were_checked(spanish: Path, tags: tuple[str, ...], count: int) -> None:
    """Neither English, which is what all others are made from, nor one that has no folder in this workspace."""
    result = run("check", *tags, "--workspace", spanish)
    assert result.exit_code == 0, result.output
    assert f"locales checked: {count}, problems: 0" in result.output


def test_a_pattern_s_own_language_needs_no_catalogue_but_english_does(workspace: Path) -> None:
    """A pattern written in Spanish: es wants nothing of it, en does."""
    file = workspace / "patterns" / "first-frost.yaml"
    file.write_text(file.read_text(encoding="utf-8").replace("language: en", "language: es"), encoding="utf-8")
    for tag in ("es", "en", "es-PY"):
        assert run("add", tag, workspace).exit_code == 0
    folder = workspace / "locales"
    assert (folder / "en" / "LC_MESSAGES" / "patterns.po").is_file()
    assert not (folder / "es" / "LC_MESSAGES" / "patterns.po").is_file()
    assert not (folder / "es_PY" / "LC_MESSAGES" / "patterns.po").is_file()
    assert run("check", "es", "--workspace", workspace).exit_code == 0


def test_a_locale_that_is_behind_says_so(spanish: Path) -> None:
    """The designer rewords a note in edition 2: the list names the pattern, the leaflet the edition it was translated from."""
    reword(spanish, 2)
    assert run("update", spanish).exit_code == 0
    assert "behind: first-frost" in run("list", spanish).output
    assert "translation-fuzzy" in run("check", "es", "--workspace", spanish).output
    pattern = str(spanish / "patterns" / "first-frost.yaml")
    result = CliRunner().invoke(cli.main, ["leaflet", pattern, "--locale", "es", "--out", str(spanish)])
    assert result.exit_code == 0
    text = pdfium.PdfDocument(spanish / "first-frost.es.a4.pdf")[0].get_textpage().get_text_range()
    assert re.search(r"edición\s+1", text), text
    fill(spanish, "es")
    assert run("update", spanish).exit_code == 0
    assert "behind" not in run("list", spanish).output
