"""Which locales there are, by the files that say so."""

from pathlib import Path

import pytest

from pipeline.language.locales import BrokenLocale, LocaleInfo, load_locales
from pipeline.workspace import shipped


def put(folder: Path, name: str, text: str) -> None:
    """A locale's file."""
    (folder / name).mkdir(parents=True)
    (folder / name / "locale.yaml").write_text(text, encoding="utf-8")


def test_the_first_four_locales_are_shipped() -> None:
    """English is the source; no translation claims to have been checked by a maker who speaks the language."""
    found = {tag: locale.status for tag, locale in load_locales([shipped("locales")]).items()}
    assert found.items() >= {"en": "source", "es": "draft", "ar": "draft", "ja": "draft"}.items()


def test_a_workspace_may_add_a_locale_and_change_another(tmp_path: Path) -> None:
    """Later folders lie over earlier ones, tag by tag."""
    put(tmp_path / "a", "es", "locale: es\nstatus: draft\n")
    put(tmp_path / "b", "es", "locale: es\nstatus: checked\nchecked_by: A. Maker\n")
    put(tmp_path / "b", "pt_BR", "locale: pt-BR\nstatus: draft\n")
    found = load_locales([tmp_path / "a", tmp_path / "b"])
    assert {tag: locale.status for tag, locale in found.items()} == {"es": "checked", "pt-BR": "draft"}


@pytest.mark.parametrize(
    ("text", "code", "line", "column"),
    [
        ("locale: es\nstatus: finished\n", "not-one-of", 2, 9),
        ("locale: es\n", "key-missing", 1, 1),
        ("locale: es\nstatus: draft\nstate: x\n", "key-unknown", 3, 1),
        ("locale: es\nstatus: draft\nlocale: fr\n", "key-twice", 3, 1),
        ("status: draft\nlocale: qq\n", "locale-unknown", 2, 9),
        ("status: draft\nlocale: Finnish\n", "text-shape", 2, 9),
        ("locale: fr\nstatus: draft\n", "locale-folder", 1, 9),
        ("locale: es\nstatus: checked\n", "checked-by-nobody", 2, 9),
        ("locale: es\nstatus: draft\npaper: a3\n", "not-one-of", 3, 8),
        ("locale: es\nstatus: draft\nchecked_by:\n", "value-missing", 3, 12),
        ("locale: es\nstatus: draft\ndigits: roman\n", "not-one-of", 3, 9),
        ("locale: es\nstatus: draft\nfonts: [{file: ../x.ttf}]\n", "text-shape", 3, 16),
    ],
)
def test_a_broken_locale_file_says_where(tmp_path: Path, text: str, code: str, line: int, column: int) -> None:
    """A slip has its code, line and column."""
    put(tmp_path, "es", text)
    with pytest.raises(BrokenLocale) as caught:
        load_locales([tmp_path])
    assert [(p.code, p.span.line, p.span.column) for p in caught.value.problems] == [(code, line, column)]


def test_two_broken_locale_files_are_told_at_once(tmp_path: Path) -> None:
    """Both, each with its file."""
    put(tmp_path, "es", "locale: es\n")
    put(tmp_path, "fr", "locale: fr\n")
    with pytest.raises(BrokenLocale) as caught:
        load_locales([tmp_path])
    assert [Path(problem.file).parent.name for problem in caught.value.problems] == ["es", "fr"]


@pytest.mark.parametrize(
    ("tag", "fallbacks"),
    [("es", ("es",)), ("es-PY", ("es_PY", "es")), ("zh-Hans-CN", ("zh_Hans_CN", "zh_Hans", "zh"))],
)
def test_a_text_is_looked_up_nearest_first(tag: str, fallbacks: tuple[str, ...]) -> None:
    """RFC 4647, lookup: the tag is shortened from its end; folders have underscores."""
    assert LocaleInfo(tag, "draft").fallbacks == fallbacks


@pytest.mark.parametrize(
    ("tag", "script"),
    [("zh", "Hans"), ("zh-TW", "Hant"), ("sr-Latn", "Latn"), ("ru", "Cyrl"), ("fa", "Arab"), ("hi", "Deva")],
)
def test_a_script_is_the_likely_one_or_the_one_named(tag: str, script: str) -> None:
    """ISO 15924 codes by the likely subtags of Unicode CLDR 48."""
    assert LocaleInfo(tag, "draft").script == script


@pytest.mark.parametrize(
    ("tag", "direction"), [("ar", "rtl"), ("he", "rtl"), ("fa", "rtl"), ("ur", "rtl"), ("ja", "ltr")]
)
def test_four_languages_run_from_the_right(tag: str, direction: str) -> None:
    """Unicode CLDR 48, layout."""
    assert LocaleInfo(tag, "draft").direction == direction
