"""Threads as the lace sees them: thickness, bundles, how far a fibre stretches."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from pipeline.records import ThreadSpec

SPECIFIC_VOLUME: Final[Mapping[str, float]] = {
    "cotton": 1.10, "linen": 1.11, "silk": 1.24, "wool": 1.27, "polyester": 1.21, "viscose": 1.10,
}  # fmt: skip
"""cm³/g. Cotton: Peirce 1937, "The geometry of cloth structure", J. Text. Inst. 28, T45. The others are
estimated as 1/(0.6 · fibre density), densities from memory."""

FIBRE_PCT: Final[Mapping[str, float]] = {"cotton": 3.0, "linen": 1.5}
"""Stretch a thread may be asked for, per cent: about half its break extension (Morton & Hearle, *Physical
Properties of Textile Fibres*, 2008, tables 13.1 and 13.2, read in a secondary source); others 5."""

OTHER_FIBRE_PCT: Final = 5.0

PACKING: Final = 0.75
"""Share of a round bundle that is thread; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Thread:
    """A thread: ``tex`` in g/km, ``thickness`` in mm."""

    tex: float
    thickness: float
    fibre_pct: float


def thread_of(spec: ThreadSpec) -> Thread:
    """The thread of a pattern's entry."""
    tex = spec.linear_density_tex
    volume = spec.specific_volume or SPECIFIC_VOLUME[spec.fibre]
    return Thread(tex, thickness(tex, volume), FIBRE_PCT.get(spec.fibre, OTHER_FIBRE_PCT))


def thickness(tex: float, specific_volume: float) -> float:
    """Thickness in mm of a round thread; the volume of a cylinder (Peirce 1937).

    >>> round(thickness(83.3, 1.10), 4)
    0.3416
    """
    return math.sqrt(4 * specific_volume * tex / (1000 * math.pi))


def bundle(thread_mm: float, count: int) -> float:
    """Thickness in mm of ``count`` threads side by side in a round bundle; one thread is itself.

    >>> round(bundle(0.3, 3), 3)
    0.6
    """
    return thread_mm if count == 1 else thread_mm * math.sqrt(count / PACKING)
