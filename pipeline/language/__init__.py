"""Languages: catalogues, plurals, numbers, units, dates and fonts, for one explicit locale at a time.

``locales`` says which there are, and ``habits`` what is usual where; ``catalogue`` looks texts up, with the ``plurals``
of a language, or in ``pseudo`` ones; ``speech`` is all that a page needs to speak one locale, ``fonts`` finds its
letters. For translators, ``extraction`` gathers what can be translated, ``merging`` brings catalogues up to it,
``glossary`` has a locale's words for things, ``checking`` says what is wrong, ``coverage`` how much is done. Data and
rules of locales are those of the Unicode CLDR (https://cldr.unicode.org/), through Babel; catalogues are gettext.
"""
