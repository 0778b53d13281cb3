"""How long a pattern takes to be reckoned, known before it is: so that nobody waits for one that takes too long.

The unit is a ray in a round of knots. What is reckoned most is fillings: each of their rows crosses every ray.
"""

from collections.abc import Iterator
from typing import Final

from pipeline.craft.fillings import rows_reckoned
from pipeline.craft.loom import loom_of
from pipeline.craft.thread import thread_of
from pipeline.pattern_model import Pattern
from pipeline.problems import Finding
from pipeline.records import Round
from pipeline.units import Length

MOST_EFFORT: Final = 80_000
"""Rays of all rounds together, in all sizes: about a second."""
ROW_EFFORT: Final = 0.4
"""Of a ray in a row of a filling."""


def effort_findings(pattern: Pattern) -> Iterator[Finding]:
    """Whether the pattern has more rounds than can be reckoned while somebody waits, in all its sizes together."""
    own = effort(pattern)
    work = own + sum(own * size.loom.pins // pattern.loom.pins for size in pattern.sizes)
    if work > MOST_EFFORT:
        rounds, looms = len(pattern.rounds), 1 + len(pattern.sizes)
        facts = {"rounds": rounds, "looms": looms, "most": int(rounds * MOST_EFFORT / work)}
        yield Finding("pattern-too-long", ("rounds",), facts)


def effort(pattern: Pattern) -> int:
    """Rays of all rounds of a pattern on its own loom; at least one."""
    loom = loom_of(pattern.loom)
    return max(1, round(loom.rays * sum(_times(entry, pattern, loom.radius, loom.rays) for entry in pattern.rounds)))


def _times(entry: Round, pattern: Pattern, radius_mm: float, rays: int) -> float:
    """How many rounds of knots a round takes as long as."""
    if entry.to is None:
        return 1
    (letter,) = entry.threads(1, pattern.web_thread)
    inner = entry.at.mm(radius_mm) if isinstance(entry.at, Length) else 0.0
    length = max(0.0, entry.to.mm(radius_mm) - inner)
    return 1 + ROW_EFFORT * rows_reckoned(length / thread_of(pattern.threads[letter]).thickness, rays)
