"""Catalogues made and merged: templates without translations, and those of a locale brought up to them.

Work is kept. A text that changed keeps its translation, marked to be looked at again, with the text it was made from
(``#| msgid``); which text it was is known by its place, not guessed. Files are the same every time: sorted, without a
clock; the date of a translator's last change is left as her editor wrote it.
"""

import io
import re
from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from difflib import SequenceMatcher
from pathlib import Path
from typing import Final

from babel.messages.catalog import Catalog, Message
from babel.messages.pofile import write_po

from pipeline.language.catalogue import EDITION_NOTE, english_of, is_done, read_catalog, several, texts_of
from pipeline.language.extraction import TITLE, Entry
from pipeline.language.locales import LocaleInfo
from pipeline.language.plurals import plural_forms

NO_CLOCK: Final = datetime(2026, 1, 1, tzinfo=UTC)
NOBODY: Final = "nobody yet <>"
HEADER: Final = "# Messages of Spokeleaf.\n# Braces hold values that are filled in; keep them as they are.\n#"
ALIKE, ALIKE_ALONE = 0.6, 0.3
"""How much two texts of one place have in common, that the translation of one is shown for the other."""


@dataclass(frozen=True, slots=True)
class Help:
    """What a translator is told beside each message: by pattern its edition; what the glossary says of a text."""

    editions: Mapping[str, int] = field(default_factory=dict)
    words: Callable[[str], Sequence[str]] = lambda _: ()


def template(entries: Iterable[Entry]) -> Catalog:
    """A catalogue of messages without translations, sorted by context and text."""
    catalog = Catalog(
        project="Spokeleaf",
        version="1",
        copyright_holder="",
        msgid_bugs_address=NOBODY,
        last_translator=NOBODY,
        language_team="source",
        creation_date=NO_CLOCK,
        revision_date=NO_CLOCK,
        header_comment=HEADER,
        fuzzy=False,
    )
    merged: dict[tuple[str, str], tuple[Entry, list[str], list[str]]] = {}
    for entry in entries:
        _, places, comments = merged.setdefault((entry.context, entry.text), (entry, [], []))
        if entry.place not in places:
            places.append(entry.place)
        if entry.comment and entry.comment not in comments:
            comments.append(entry.comment)
    for (context, text), (entry, places, comments) in sorted(merged.items()):
        identity = (text, entry.plural) if entry.plural else text
        locations: list[tuple[str, int]] = [(place, 0) for place in sorted(places)]
        catalog.add(identity, None, locations, auto_comments=sorted(comments), context=context)
    return catalog


def merge(pot: Catalog, file: Path, locale: LocaleInfo, told: Help | None = None) -> Catalog:
    """A locale's catalogue brought up to a template. Raises ``BrokenCatalogue``."""
    told = told or Help()
    old = read_catalog(file, locale.folder) if file.is_file() else None
    catalog = Catalog(locale=locale.folder, project="Spokeleaf", version="1", fuzzy=False)
    _head(catalog, old, locale)
    left = _left_over(pot, old) if old else {}
    for message in pot:
        if message.id:
            catalog[message.id] = _merged(message, old, left, told, catalog.num_plurals)
    if old:
        _keep_obsolete(catalog, old)
    _note_editions(catalog, told.editions)
    return catalog


def _head(catalog: Catalog, old: Catalog | None, locale: LocaleInfo) -> None:
    catalog.mime_headers = [("Plural-Forms", plural_forms(locale))]
    catalog.msgid_bugs_address = NOBODY
    catalog.creation_date = NO_CLOCK
    catalog.revision_date = old.revision_date if old else NO_CLOCK
    known = old and not old.last_translator.startswith("FULL NAME")
    catalog.last_translator = old.last_translator if old and known else NOBODY
    catalog.header_comment = HEADER
    catalog.language_team = locale.tag


def _merged(message: Message, old: Catalog | None, left: dict[str, list[Message]], told: Help, forms: int) -> Message:
    """A message of the template with what there is of its translation."""
    comments = [*message.auto_comments, *told.words(english_of(message))]
    made = Message(message.id, None, message.locations, auto_comments=comments, context=message.context)
    kept = _known(message, old)
    before = None
    if old and kept is None:
        kept = before = _stale(message, left.get(message.context or "", []))
    if kept is None:
        return made
    made.string = _fitting(kept, plural=isinstance(message.id, tuple | list), forms=forms)
    made.user_comments = list(kept.user_comments)
    made.previous_id = list(kept.previous_id) if kept.fuzzy else []
    made.flags |= {"fuzzy"} & set(kept.flags)
    if before:
        made.flags.add("fuzzy")
        made.previous_id = list(several(before.id))
    return made


def _known(message: Message, old: Catalog | None) -> Message | None:
    """The same message before; it may have been laid aside."""
    if old is None:
        return None
    text = english_of(message)
    found = old.get(text, message.context)
    if found is None:
        laid_aside = (each for each in old.obsolete.values() if each.context == message.context)
        found = next((each for each in laid_aside if english_of(each) == text), None)
    return found


def _left_over(pot: Catalog, old: Catalog) -> dict[str, list[Message]]:
    """By context: translated messages that the template has no longer."""
    left = defaultdict(list)
    for message in old:
        if message.id and any(texts_of(message)) and pot.get(english_of(message), message.context) is None:
            left[message.context or ""].append(message)
    return left


def _stale(message: Message, candidates: list[Message]) -> Message | None:
    """Of messages that are gone, the one that stood in this message's place."""
    role = set(message.auto_comments)
    near = [each for each in candidates if not role or role & set(each.auto_comments)]
    if not near:
        return None
    text = english_of(message)
    best = max(near, key=lambda each: SequenceMatcher(None, english_of(each), text).ratio())
    enough = ALIKE_ALONE if len(near) == 1 and role else ALIKE
    if SequenceMatcher(None, english_of(best), text).ratio() < enough:
        return None
    candidates.remove(best)
    return best


def _fitting(kept: Message, *, plural: bool, forms: int) -> str | tuple[str, ...]:
    """Its texts in so many forms."""
    texts = texts_of(kept)
    if not plural:
        return texts[0]
    return tuple((*texts, *[""] * forms)[:forms]) if len(texts) > 1 or forms == 1 else (texts[0],) * forms


def _keep_obsolete(catalog: Catalog, old: Catalog) -> None:
    """Translations whose messages are gone stay at the end of the file; they may come back."""
    taken = {(text, message.context) for message in catalog for text in (english_of(message), *message.previous_id[:1])}
    for message in [*old, *old.obsolete.values()]:
        if message.id and any(texts_of(message)) and (english_of(message), message.context) not in taken:
            catalog.obsolete[message.id, message.context] = message


def _note_editions(catalog: Catalog, editions: Mapping[str, int]) -> None:
    """Beside the title of each pattern whose texts are all translated: of which edition they are."""
    whole: dict[str, bool] = {}
    for message in catalog:
        if message.id and message.context in editions:
            whole[str(message.context)] = whole.get(str(message.context), True) and is_done(message)
    for message in catalog:
        if TITLE in message.auto_comments and message.context and whole.get(message.context):
            others = [comment for comment in message.user_comments if not EDITION_NOTE.fullmatch(comment)]
            message.user_comments = [*others, f"edition: {editions[message.context]}"]


def po_bytes(catalog: Catalog) -> bytes:
    """A PO file's bytes: sorted, unwrapped, without line numbers."""
    buffer = io.BytesIO()
    write_po(buffer, catalog, width=0, sort_output=True, include_lineno=False, include_previous=True)
    return re.sub(rb"\n+\Z", b"\n", buffer.getvalue())
