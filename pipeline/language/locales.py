"""Which locales there are: one ``locale.yaml`` in each folder of ``locales/``."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Final, TypeVar

from babel import Locale, UnknownLocaleError
from babel.core import get_global
from pydantic import BeforeValidator, ValidationError

from pipeline.fields import Flag, Record, Tag, Text, choice, findings_of, missing_values, shaped
from pipeline.language.habits import ZEROS, digits_of, paper_of, units_of
from pipeline.problems import Finding, Problem, Unusable
from pipeline.source import LARGEST_BYTES, Source, Unreadable, read, unreadable
from pipeline.workspace import contents

SOURCE_LOCALE: Final = "en"
R = TypeVar("R", bound=Record)
PSEUDO_LOCALES: Final = ("en-x-accent", "en-x-mirror")


class FontEntry(Record):
    """A font of a locale, by the name of its file in ``fonts/`` or in a package of the system."""

    file: Annotated[str, BeforeValidator(shaped(r"[\w.+-]+\.ttf", "the name of a TrueType file", "Face-Regular.ttf"))]
    bold: Flag = False
    package: Text | None = None
    """Where it can be had, for whoever lacks it."""


class LocaleFile(Record):
    """What a ``locale.yaml`` says. ``draft`` until a native maker has checked every text."""

    locale: Tag
    status: Annotated[str, choice("source", "draft", "checked")]
    checked_by: Text | None = None
    paper: Annotated[str | None, choice("a4", "a5", "letter", "common")] = None
    units: Annotated[str | None, choice("metric", "inches", "both")] = None
    digits: Annotated[str | None, choice(*ZEROS)] = None
    fonts: tuple[FontEntry, ...] = ()


@dataclass(frozen=True, slots=True)
class LocaleInfo:
    """A locale that can be asked for; what its file leaves out is None."""

    tag: str
    status: str
    checked_by: str | None = None
    own_paper: str | None = None
    own_units: str | None = None
    own_digits: str | None = None
    fonts: tuple[FontEntry, ...] = ()

    @property
    def paper(self) -> str:
        """The paper of its leaflets where no other is asked for."""
        return self.own_paper or paper_of(self.cldr)

    @property
    def units(self) -> str:
        """``metric``, ``inches`` or ``both``."""
        return self.own_units or units_of(self.cldr)

    @property
    def digits(self) -> str:
        """The CLDR's id of its numbering system."""
        return self.own_digits or digits_of(self.cldr)

    @property
    def pseudo(self) -> str | None:
        """``accent`` or ``mirror``: no language, but English made long or turned round, to try layouts with.

        >>> LocaleInfo("en-x-mirror", "pseudo").pseudo, LocaleInfo("en", "source").pseudo
        ('mirror', None)
        """
        return self.tag.partition("-x-")[2] or None

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
        return Locale.parse(self.tag.partition("-x-")[0], sep="-")

    @property
    def script(self) -> str:
        """Its script, ISO 15924.

        >>> LocaleInfo("ja", "draft").script
        'Jpan'
        """
        if self.cldr.script:
            return str(self.cldr.script)
        likely = get_global("likely_subtags")
        known = likely.get(self.folder.partition("_x_")[0]) or likely.get(self.cldr.language, "en_Latn_US")
        return str(known.split("_")[1])

    @property
    def direction(self) -> str:
        """``ltr`` or ``rtl``."""
        if self.pseudo == "mirror":
            return "rtl"
        return str(self.cldr.text_direction)

    @property
    def fallbacks(self) -> tuple[str, ...]:
        """Folders to look a text up in, nearest first.

        >>> LocaleInfo("es-PY", "draft").fallbacks
        ('es_PY', 'es')
        """
        parts = self.folder.split("_")
        return tuple("_".join(parts[:length]) for length in range(len(parts), 0, -1))


class BrokenLocale(Unusable):
    """A ``locale.yaml`` cannot be used."""


def _findings(entry: LocaleFile, folder: str) -> Iterator[Finding]:
    """The CLDR knows the locale, its folder is called after it, and a check has somebody's name."""
    info = LocaleInfo(entry.locale, entry.status)
    if not info.known:
        yield Finding("locale-unknown", ("locale",), {"tag": entry.locale})
    elif folder != info.folder:
        yield Finding("locale-folder", ("locale",), {"tag": entry.locale, "folder": folder, "wanted": info.folder})
    if entry.status == "checked" and not entry.checked_by:
        yield Finding("checked-by-nobody", ("status",))


def read_record(file: Path, model: type[R]) -> tuple[Source, R]:
    """A file of a locale as a record, and its source to place findings in. Raises ``BrokenLocale``."""
    try:
        source = read(str(file), contents(file, LARGEST_BYTES))
        found = model.model_validate(source.tree)
    except OSError as error:
        raise BrokenLocale((unreadable(str(file), error),)) from error
    except Unreadable as error:
        raise BrokenLocale(error.problems) from error
    except ValidationError as error:
        raise BrokenLocale(source.problems + source.locate(findings_of(error, source.tree, model))) from error
    if problems := source.problems + source.locate(missing_values(source.tree)):
        raise BrokenLocale(problems)
    return source, found


def load_locales(folders: Iterable[Path]) -> dict[str, LocaleInfo]:
    """All locales below these folders by tag, later folders over earlier ones. Raises ``BrokenLocale``."""
    found: dict[str, LocaleInfo] = {}
    problems: list[Problem] = []
    for file in (file for folder in folders for file in sorted(folder.glob("*/locale.yaml"))):
        try:
            source, entry = read_record(file, LocaleFile)
        except BrokenLocale as error:
            problems += error.problems
            continue
        found[entry.locale] = LocaleInfo(
            entry.locale, entry.status, entry.checked_by, entry.paper, entry.units, entry.digits, entry.fonts
        )
        problems += source.locate(_findings(entry, file.parent.name))
    if problems:
        raise BrokenLocale(tuple(problems))
    return dict(sorted(found.items()))
