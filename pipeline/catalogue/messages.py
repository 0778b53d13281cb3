"""Bring the catalogues of a workspace up to its messages."""

from collections.abc import Iterator, Sequence
from pathlib import Path

from pipeline.language.extraction import merge, po_bytes, symbol_entries, template, templates
from pipeline.language.locales import SOURCE_LOCALE, load_locales
from pipeline.pattern import Pattern
from pipeline.symbols import SymbolSet
from pipeline.workspace import Workspace, shipped

PACKAGE = Path(__file__).resolve().parent.parent


def updated_files(
    workspace: Workspace, symbols: SymbolSet, patterns: Sequence[Pattern]
) -> Iterator[tuple[Path, bytes]]:
    """Templates and catalogues as they should be; the program's own texts only where they are at home."""
    assert workspace.root is not None  # noqa: S101
    folder = workspace.root / "locales"
    pots = templates(PACKAGE, symbols, patterns)
    if folder.resolve() != shipped("locales").resolve():
        pots["spokeleaf"] = template(symbol_entries(symbols, symbols.own))
        if not symbols.own:
            pots.pop("spokeleaf")
    locales = load_locales(workspace.layers("locales"))
    for domain, pot in pots.items():
        yield folder / f"{domain}.pot", po_bytes(pot)
        for locale in locales.values():
            if locale.tag != SOURCE_LOCALE:
                place = folder / locale.folder / "LC_MESSAGES" / f"{domain}.po"
                yield place, po_bytes(merge(pot, place, locale))
