"""The universal key: every symbol with its name in all languages, on one sheet for all readers."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from pipeline.language.speech import Speech
from pipeline.leaflet.content import Shown
from pipeline.symbol_model import Symbol
from pipeline.symbols import SymbolSet


@dataclass(frozen=True, slots=True)
class Name:
    """A symbol's name in one language."""

    tag: str
    direction: str
    text: str


@dataclass(frozen=True, slots=True)
class KeyEntry:
    """A symbol and its names."""

    glyph: Shown
    names: tuple[Name, ...]


def universal_key(symbols: SymbolSet, speeches: Sequence[Speech]) -> tuple[KeyEntry, ...]:
    """All symbols, stitches first, each with its name in every language given."""
    ids = [*symbols.stitches, *symbols.signs]
    return tuple(
        KeyEntry(Shown(f"glyph-{symbol_id}", symbols.symbol(symbol_id).texts.name), tuple(_names(symbol, speeches)))
        for symbol_id in ids
        for symbol in (symbols.symbol(symbol_id),)
    )


def _names(symbol: Symbol, speeches: Sequence[Speech]) -> Iterator[Name]:
    for speech in speeches:
        name = speech.pgettext(f"{symbol.id}: name", symbol.texts.name)
        yield Name(speech.locale.tag, speech.locale.direction, name)
