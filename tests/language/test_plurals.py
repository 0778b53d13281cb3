"""Plural forms: which a locale has, in which order, and the rule in the head of its catalogues."""

import subprocess
from pathlib import Path

import pytest
from babel import Locale
from babel.localedata import locale_identifiers
from babel.messages.plurals import get_plural

from pipeline.language.extraction import Entry
from pipeline.language.locales import LocaleInfo
from pipeline.language.merging import merge, po_bytes, template
from pipeline.language.plurals import COUNTED, agrees, counts_of, form_chooser, plural_forms, plural_tags

PLURAL = [Entry("facts", "{count} ray", "{count} rays", "", "a")]
LANGUAGES = [Locale(name) for name in sorted(locale_identifiers()) if name.isalpha()]
RULES = {(str(locale.plural_form), str(get_plural(locale))): str(locale) for locale in LANGUAGES}
"""Of the languages that Babel knows, one for each pair of rules: the CLDR's, and what gettext usually has."""


@pytest.mark.parametrize(
    ("tag", "forms"),
    [
        ("ja", ("other",)),
        ("fr", ("one", "other")),
        ("es", ("one", "other")),
        ("he", ("one", "two", "other")),
        ("lv", ("zero", "one", "other")),
        ("uk", ("one", "few", "many")),
        ("sl", ("one", "two", "few", "other")),
        ("ar", ("zero", "one", "two", "few", "many", "other")),
        ("cy", ("zero", "one", "two", "few", "many", "other")),
    ],
)
def test_forms_stand_in_the_cldr_s_order(tag: str, forms: tuple[str, ...]) -> None:
    """CLDR 48, supplemental/plurals; the form for whole millions in fr and es, or for fractions in uk, is never taken."""
    assert plural_tags(LocaleInfo(tag, "draft")) == forms


@pytest.mark.parametrize(
    ("tag", "form", "counts"),
    [
        ("en", "one", {1}),
        ("fr", "one", {0, 1}),
        ("ar", "two", {2}),
        ("ar", "few", {n for n in range(1000) if 3 <= n % 100 <= 10}),
        ("hr", "one", {n for n in range(1000) if n % 10 == 1 and n % 100 != 11}),
    ],
)
def test_a_form_has_its_counts(tag: str, form: str, counts: set[int]) -> None:
    """CLDR 48, by hand: English one is one thing, French also none, Croatian also 21, 31 and so on."""
    assert counts_of(LocaleInfo(tag, "draft"), form) == counts


def test_a_form_that_a_locale_has_not_has_no_counts() -> None:
    """Japanese has one form for everything, and none for two."""
    japanese = LocaleInfo("ja", "draft")
    assert counts_of(japanese, "two") == frozenset()
    assert counts_of(japanese, "other") == frozenset(COUNTED)


def test_every_language_gets_a_rule_that_counts_as_the_cldr_does() -> None:
    """Of all the languages of Babel, shipped or not: the expression in the head agrees for every count to 129."""
    wrong = {}
    for tag in RULES.values():
        locale = LocaleInfo(tag, "draft")
        number, expression = plural_forms(locale).removesuffix(";").split("; plural=")
        names, chosen, rule = plural_tags(locale), form_chooser(expression), locale.cldr.plural_form
        if number != f"nplurals={len(names)}" or any(names[chosen(count)] != rule(count) for count in range(130)):
            wrong[tag] = expression
    assert wrong == {}
    assert len(LANGUAGES) > 200
    assert len(RULES) > 30


@pytest.mark.parametrize(
    ("tag", "expression"),
    [
        ("pl", "(n != 1)"),
        ("de", "(n > 1)"),
        ("de", "2"),
        ("de", "n +"),
        ("de", "n && __import__"),
        ("de", "n / 0"),
        ("ja", "1"),
    ],
)
def test_a_rule_that_counts_otherwise_does_not_agree(tag: str, expression: str) -> None:
    """Of another language, with a form too many, or no rule at all."""
    assert not agrees(LocaleInfo(tag, "draft"), expression)


def test_the_usual_rule_is_kept_where_it_is_right() -> None:
    """GNU gettext manual, plural forms: what translators' editors write for German and Ukrainian."""
    assert plural_forms(LocaleInfo("de", "draft")) == "nplurals=2; plural=(n != 1);"
    assert plural_forms(LocaleInfo("uk", "draft")).startswith("nplurals=3; plural=(n%10==1 && n%100!=11 ? 0 :")


@pytest.mark.parametrize("tag", ["ar", "br", "cy", "ga", "gv", "he", "lt", "mt", "pl", "sl"])
def test_msgfmt_understands_the_rule(tmp_path: Path, tag: str) -> None:
    """GNU gettext's own check of a new catalogue, for the languages with the most forms."""
    file = tmp_path / "new.po"
    catalog = merge(template(PLURAL), file, LocaleInfo(tag, "draft"))
    for message in catalog:
        if message.id:
            message.string = ("{count}",) * catalog.num_plurals
    file.write_bytes(po_bytes(catalog))
    done = subprocess.run(["msgfmt", "-c", "-o", "/dev/null", file], capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (0, "")
