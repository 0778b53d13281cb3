"""Mats: how finished wheels are joined, which of their pins meet, and what the whole comes to.

In a grid wheels meet at the top, the bottom and both sides. In a hex mat they stand in columns, every second column
half a wheel lower, and meet at six places that share the rim evenly. A strip is one row of a grid.
"""

import cmath
import math
from collections.abc import Iterator
from dataclasses import dataclass

from pipeline.craft.loom import Loom
from pipeline.records import Assembly


@dataclass(frozen=True, slots=True)
class Join:
    """Two wheels tied together: their numbers, and the pin of each whose loops meet."""

    wheel: int
    pin: int
    other: int
    other_pin: int


@dataclass(frozen=True, slots=True)
class Mat:
    """Wheels joined; lengths in mm."""

    layout: str
    centres: tuple[complex, ...]
    """Of the wheels, column by column; the first stands at the upper left."""
    joins: tuple[Join, ...]
    width: float
    height: float


def mat_of(assembly: Assembly, loom: Loom) -> Mat:
    """Lay out a mat of circles with this loom's rim."""
    centres = tuple(_centres(assembly, loom.radius))
    joins = tuple(_joins(centres, loom, assembly.joins))
    up, across = [c.real for c in centres], [c.imag for c in centres]
    side = 2 * loom.radius
    # The first wheel's centre is 0: nothing stands further left or further up.
    return Mat(assembly.layout, centres, joins, max(across) + side, side - min(up))


def _centres(assembly: Assembly, radius: float) -> Iterator[complex]:
    hexagonal = assembly.layout == "hex"
    rows = 1 if assembly.layout == "strip" else assembly.rows
    for column in range(assembly.columns):
        lower = radius if hexagonal and column % 2 else 0.0
        across = column * radius * (math.sqrt(3) if hexagonal else 2)
        for row in range(rows):
            yield complex(-2 * radius * row - lower, across)


def _joins(centres: tuple[complex, ...], loom: Loom, count: int) -> Iterator[Join]:
    """Every pair of touching wheels is joined at so many pins in a row about the place they touch."""
    reach = {_key(centre / loom.radius): number for number, centre in enumerate(centres)}
    steps = [cmath.rect(2 * loom.radius, turn * math.pi / 6) for turn in range(12)]
    for number, centre in enumerate(centres):
        for step in steps:
            other = reach.get(_key((centre + step) / loom.radius))
            if other is not None and other > number:
                middle = loom.pins * cmath.phase(step) / (2 * math.pi)
                for place in range(count):
                    aside = place - (count - 1) // 2
                    pin, meeting = round(middle) + aside, round(middle + loom.pins / 2) - aside
                    yield Join(number, pin % loom.pins, other, meeting % loom.pins)


def _key(place: complex) -> tuple[int, int]:
    """A place in radii, to a thousandth of one, so that it can be looked up."""
    return round(place.real * 1000), round(place.imag * 1000)
