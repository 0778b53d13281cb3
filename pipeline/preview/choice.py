"""What is looked at: a pattern, one locale or two, a paper, and what is tried; read from the query of an address."""

import math
import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

from pipeline.leaflet.papers import LARGE, PAPERS
from pipeline.preview.trial import Trial
from pipeline.problems import nearest
from pipeline.records import FEWEST_PINS, MEASURES, MOST_PINS

SHEETS: Final = tuple(name for name in PAPERS if not name.endswith(LARGE))
"""Papers that can be chosen."""
SIDES: Final = 2
"""Most locales side by side."""
MEASURE_NAMES: Final = tuple(dict.fromkeys(name for names in MEASURES.values() for name in names))
LARGEST_MM: Final = 10_000.0
THICKEST_MM: Final = 100.0
_THREAD: Final = re.compile("thread-([A-Z])")

Query = Mapping[str, Sequence[str]]
"""Every value of every name."""


class Refused(Exception):
    """A request that asks for what there is not; with words for whoever asked."""


@dataclass(frozen=True, slots=True)
class Choice:
    """One pattern by the stem of its file, in one locale or two side by side."""

    pattern: str
    locales: tuple[str, ...]
    paper: str | None = None
    """None: that of each locale."""
    trial: Trial = field(default_factory=Trial)


def choice_of(query: Query, patterns: Sequence[str], locales: Collection[str]) -> Choice:
    """The choice of a query; where it names no pattern or locale, the first pattern and English. Raises ``Refused``."""
    unknown = [
        name
        for name in query
        if name not in {"pattern", "locale", "paper", "pins", *MEASURE_NAMES} and not _THREAD.fullmatch(name)
    ]
    if unknown:
        raise Refused(f"there is nothing called `{unknown[0]}` to choose")
    if not patterns:
        raise Refused("there is no pattern in this workspace yet")
    tags = tuple(dict.fromkeys(query.get("locale", ()))) or ("en" if "en" in locales else min(locales),)
    if len(tags) > SIDES:
        raise Refused(f"at most {SIDES} locales stand side by side")
    paper = _single(query, "paper")
    return Choice(
        _known("pattern", _single(query, "pattern") or patterns[0], patterns),
        tuple(_known("locale", tag, locales) for tag in tags),
        _known("paper", paper, SHEETS) if paper else None,
        _trial(query),
    )


def _single(query: Query, name: str) -> str | None:
    values = query.get(name, ())
    if len(values) > 1:
        raise Refused(f"`{name}` stands twice")
    return values[0] if values else None


def _known(kind: str, name: str, known: Collection[str]) -> str:
    if name not in known:
        raise Refused(f"there is no {kind} `{name}`; {nearest(name, known)}")
    return name


def _trial(query: Query) -> Trial:
    pins = _single(query, "pins")
    measures = tuple((name, _mm(query, name, LARGEST_MM)) for name in MEASURE_NAMES if name in query)
    letters = sorted(found[1] for name in query if (found := _THREAD.fullmatch(name)))
    threads = tuple((letter, _mm(query, f"thread-{letter}", THICKEST_MM)) for letter in letters)
    return Trial(_pins(pins) if pins else None, measures, threads)


def _pins(text: str) -> int:
    if not re.fullmatch("[0-9]{1,4}", text) or not FEWEST_PINS <= int(text) <= MOST_PINS:
        raise Refused(f"`{text}` is no number of pins; there can be {FEWEST_PINS} to {MOST_PINS}")
    return int(text)


def _mm(query: Query, name: str, most: float) -> float:
    text = _single(query, name) or ""
    value = float(text) if re.fullmatch(r"[0-9]{1,6}(\.[0-9]{1,6})?", text) else math.nan
    if not 0 < value <= most:
        raise Refused(f"`{text}` is no `{name}` in millimetres")
    return value
