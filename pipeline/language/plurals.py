"""Plural forms of a locale as gettext headers state them, from the rules of the Unicode CLDR.

Forms stand in the CLDR's order: zero, one, two, few, many, other. Only whole numbers below a thousand count, as
leaflets have no others to count: a form that these never take (the French one for whole millions) is left out.
"""

from collections.abc import Callable
from functools import lru_cache
from gettext import c2py
from typing import Final

from babel.messages.plurals import get_plural
from babel.plural import PluralRule, to_gettext

from pipeline.language.locales import LocaleInfo

COUNTED: Final = range(1000)
_ORDER: Final = ("zero", "one", "two", "few", "many", "other")


@lru_cache(maxsize=64)
def plural_tags(locale: LocaleInfo) -> tuple[str, ...]:
    """The CLDR's names of the forms, in the order of a catalogue.

    >>> plural_tags(LocaleInfo("pl", "draft")), plural_tags(LocaleInfo("he", "draft"))
    (('one', 'few', 'many'), ('one', 'two', 'other'))
    """
    taken = {locale.cldr.plural_form(count) for count in COUNTED}
    return tuple(tag for tag in _ORDER if tag in taken)


def plural_forms(locale: LocaleInfo) -> str:
    """The header ``Plural-Forms``: gettext's usual one where it says the same, else made from the rules.

    >>> plural_forms(LocaleInfo("de", "draft"))
    'nplurals=2; plural=(n != 1);'
    """
    usual = get_plural(locale.cldr)
    tags, rule = plural_tags(locale), locale.cldr.plural_form
    if usual.num_plurals == len(tags) and agrees(locale, usual.plural_expr):
        return f"nplurals={usual.num_plurals}; plural={usual.plural_expr};"
    return str(to_gettext(PluralRule({tag: rule.rules[tag] for tag in tags[:-1]})))


@lru_cache(maxsize=256)
def agrees(locale: LocaleInfo, expression: str) -> bool:
    """Whether the expression of a header gives every count the form that the CLDR does."""
    tags, rule = plural_tags(locale), locale.cldr.plural_form
    try:
        chosen = form_chooser(expression)
        return all(tags[chosen(count)] == rule(count) for count in COUNTED)
    except (ArithmeticError, LookupError, ValueError):
        return False


@lru_cache(maxsize=256)
def workable(expression: str) -> bool:
    """Whether the expression of a header gives every count some form.

    >>> workable("n != 1"), workable("n % 0"), workable("n !=")
    (True, False, False)
    """
    try:
        return all(form_chooser(expression)(count) >= 0 for count in COUNTED)
    except (ArithmeticError, ValueError):
        return False


@lru_cache(maxsize=256)
def counts_of(locale: LocaleInfo, form: str) -> frozenset[int]:
    """The counts that take a form."""
    rule = locale.cldr.plural_form
    return frozenset(count for count in COUNTED if rule(count) == form)


def form_chooser(expression: str) -> Callable[[int], int]:
    """Which form a count takes by the expression of a header. Raises ``ValueError``."""
    return c2py(expression)
