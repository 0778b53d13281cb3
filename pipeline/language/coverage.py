"""How far a locale's catalogues have come."""

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from pipeline.language.catalogue import read_catalog
from pipeline.language.locales import LocaleInfo
from pipeline.language.speech import PATTERNS, PROGRAM


@dataclass(frozen=True, slots=True)
class Coverage:
    """Messages of one domain in one locale: how many there are, how many are done, how many are to be looked at."""

    domain: str
    messages: int
    done: int
    fuzzy: int

    @property
    def percent(self) -> int:
        """How much is done; whole only where nothing is left.

        >>> Coverage("patterns", 200, 199, 0).percent
        99
        """
        return 100 * self.done // self.messages if self.messages else 100


def coverage(folder: Path, locale: LocaleInfo) -> tuple[Coverage, ...]:
    """Of each catalogue of a locale in a folder ``locales/``; a missing one has no messages."""
    return tuple(_coverage(folder / locale.folder / "LC_MESSAGES" / f"{domain}.po", locale, domain)
                 for domain in (PROGRAM, PATTERNS))  # fmt: skip


def _coverage(file: Path, locale: LocaleInfo, domain: str) -> Coverage:
    if not file.is_file():
        return Coverage(domain, 0, 0, 0)
    messages = [message for message in read_catalog(file, locale.folder) if message.id]
    done = sum(not message.fuzzy and _whole(message.string) for message in messages)
    return Coverage(domain, len(messages), done, sum(message.fuzzy for message in messages))


def _whole(texts: str | Iterable[str] | None) -> bool:
    return bool(texts) if isinstance(texts, str) else all(texts or ("",))
