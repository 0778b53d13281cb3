"""Which locales there are: one ``locale.yaml`` in each folder of ``locales/``."""

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Final

from babel import Locale, UnknownLocaleError
from babel.core import get_global
from pydantic import ValidationError

from pipeline.fields import Record, Tag, choice, findings_of
from pipeline.problems import Problem
from pipeline.source import Unreadable, read

SOURCE_LOCALE: Final = "en"


class LocaleFile(Record):
    """What a ``locale.yaml`` says. ``draft`` until a native maker has checked every text."""

    locale: Tag
    status: Annotated[str, choice("source", "draft", "checked")]


@dataclass(frozen=True, slots=True)
class LocaleInfo:
    """A locale that can be asked for."""

    tag: str
    status: str
    checked_by: str | None = None

    @property
    def folder(self) -> str:
        """The tag as gettext folders spell it.

        >>> LocaleInfo("pt-BR", "draft").folder
        'pt_BR'
        """
        return self.tag.replace("-", "_")

    @property
    def known(self) -> bool:
        """Whether the CLDR knows it.

        >>> LocaleInfo("fi", "draft").known, LocaleInfo("qq", "draft").known
        (True, False)
        """
        try:
            return bool(self.cldr)
        except (UnknownLocaleError, ValueError):
            return False

    @property
    def cldr(self) -> Locale:
        """Babel's locale."""
        return Locale.parse(self.tag, sep="-")

    @property
    def script(self) -> str:
        """Its script, ISO 15924.

        >>> LocaleInfo("ja", "draft").script
        'Jpan'
        """
        if self.cldr.script:
            return str(self.cldr.script)
        likely = get_global("likely_subtags")
        known = likely.get(self.folder) or likely.get(self.cldr.language, "en_Latn_US")
        return str(known.split("_")[1])

    @property
    def direction(self) -> str:
        """``ltr`` or ``rtl``."""
        return str(self.cldr.text_direction)

    @property
    def fallbacks(self) -> tuple[str, ...]:
        """Folders to look a text up in, nearest first.

        >>> LocaleInfo("es-PY", "draft").fallbacks
        ('es_PY', 'es')
        """
        parts = self.folder.split("_")
        return tuple("_".join(parts[:length]) for length in range(len(parts), 0, -1))


class BrokenLocale(Exception):
    """A ``locale.yaml`` cannot be used."""

    def __init__(self, problems: tuple[Problem, ...]) -> None:
        super().__init__(problems[0].message)
        self.problems = problems


def load_locales(folders: Iterable[Path]) -> dict[str, LocaleInfo]:
    """All locales below these folders by tag, later folders over earlier ones. Raises ``BrokenLocale``."""
    found: dict[str, LocaleInfo] = {}
    problems: list[Problem] = []
    for file in (file for folder in folders for file in sorted(folder.glob("*/locale.yaml"))):
        try:
            source = read(str(file), file.read_bytes())
            entry = LocaleFile.model_validate(source.tree)
        except Unreadable as error:
            problems += error.problems
        except ValidationError as error:
            problems += source.locate(findings_of(error, source.tree, LocaleFile))
        else:
            found[entry.locale] = LocaleInfo(entry.locale, entry.status)
    if problems:
        raise BrokenLocale(tuple(problems))
    return dict(sorted(found.items()))
