"""How far a locale's catalogues have come."""

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from babel.messages.catalog import Catalog

from pipeline.language.catalogue import edition_notes, is_done, read_catalog
from pipeline.language.locales import LocaleInfo
from pipeline.language.merging import NO_CLOCK


@dataclass(frozen=True, slots=True)
class Coverage:
    """Messages of one domain in one locale: how many are wanted, done, to be looked at again."""

    domain: str
    messages: int
    done: int
    fuzzy: int
    changed: str | None = None
    """The day of the last change, as the translator's editor wrote it; YYYY-MM-DD."""
    behind: tuple[str, ...] = ()
    """Patterns that were once translated whole and have changed since."""

    @property
    def percent(self) -> int:
        """How much is done; whole only where nothing is left.

        >>> Coverage("patterns", 200, 199, 0).percent
        99
        """
        return 100 * self.done // self.messages if self.messages else 100


def coverage(domain: str, wanted: Catalog, file: Path, locale: LocaleInfo) -> Coverage:
    """Of the messages wanted, what a catalogue has; none where there is no file. Raises ``BrokenCatalogue``."""
    messages = [message for message in wanted if message.id]
    if not file.is_file():
        return Coverage(domain, len(messages), 0, 0)
    catalog = read_catalog(file, locale.folder)
    found = [(message.context, catalog.get(message.id, message.context)) for message in messages]
    done = [bool(each and is_done(each)) for _, each in found]
    lacking = {context for (context, _), ok in zip(found, done, strict=True) if not ok}
    behind = tuple(sorted(pattern for pattern in edition_notes(catalog) if pattern in lacking))
    fuzzy = sum(bool(each and each.fuzzy) for _, each in found)
    day = catalog.revision_date
    changed = f"{day:%Y-%m-%d}" if isinstance(day, datetime) and day != NO_CLOCK else None
    return Coverage(domain, len(messages), sum(done), fuzzy, changed, behind)
