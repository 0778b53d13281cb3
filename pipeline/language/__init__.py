"""Languages: catalogues, plurals, numbers, units, dates and fonts, for one explicit locale at a time.

``locales`` says which there are, ``catalogue`` looks texts up, ``speech`` is all that a page needs to speak one
locale, ``fonts`` finds its letters, ``extraction`` gathers what can be translated. Data and rules of locales are
those of the Unicode CLDR (https://cldr.unicode.org/), through Babel; catalogues are gettext.
"""
