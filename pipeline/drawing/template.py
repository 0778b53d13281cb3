"""The loom at true size: outline, pins with their numbers, rings, and a guide for every round.

Everything is in mm of paper as of loom: for printing, pricking and cutting. Pins are numbered from 1.
"""

import cmath
from collections.abc import Iterable, Iterator, Sequence
from typing import Final

from pipeline.craft.assembly import Lace, LaceRound
from pipeline.craft.shapes import Shape, shape_of
from pipeline.drawing.lettering import centred, written
from pipeline.drawing.marks import rim, start_mark, start_place_of
from pipeline.drawing.outline import circle, joined, polyline
from pipeline.drawing.picture import INK, SECONDARY, Figures, Item, Layer, Line, Picture, Placed
from pipeline.records import MOST_PINS, LoomSpec, NamedLoom

MARGIN_MM: Final = 9.0
MARK_MM: Final = 2.2
"""It ends below the numbers of the pins beside it."""
HOLE_MM: Final = 0.6
"""Radius of the mark of a pin or hole."""
FINER: Final = 8
FIGURES_PT: Final = 6.5
CUT_MM: Final = 0.1
"""A line a cutter follows."""


def template(lace: Lace, spec: LoomSpec, figures: Figures, size_pt: float = FIGURES_PT) -> Picture:
    """The loom of a lace, one mm to a mm; its pins numbered in so large figures."""
    up, across, down = lace.loom.shape.bounds
    rings = tuple(_ring_shapes(spec))
    reach = max([1.0, *(ring.shortest / lace.loom.radius for ring, _ in rings)])
    wide, high = 2 * across * reach + 2 * MARGIN_MM, (up + down) * reach + 2 * MARGIN_MM
    x, y = wide / 2, down * reach + MARGIN_MM
    items = (*_guides(lace, x, y), *_pins(lace, figures, reach, x, y, size_pt), *_rings(rings, x, y))
    return Picture("template", wide, high, items)


def _guides(lace: Lace, x: float, y: float) -> Iterator[Item]:
    """The outline, the centre, and where every round lies."""
    shape = lace.loom.shape
    outline = rim(shape)
    yield Placed(outline, CUT_MM, 1.0, x, y, cap="round")
    if not shape.closed:
        yield Line(polyline([(x - shape.shortest, y), (x + shape.shortest, y)]), CUT_MM)
    for level in sorted({level for done in lace.rounds for level in _levels(done)}):
        yield Placed(outline, CUT_MM, level / shape.shortest, x, y, colour=SECONDARY, cap="round")
    cross = [polyline([(x - 2, y), (x + 2, y)]), polyline([(x, y - 2), (x, y + 2)])]
    yield Line(joined(cross), CUT_MM, INK)


def _levels(done: LaceRound) -> tuple[float, ...]:
    """Where a round lies: all its distances, but of rows only the first and the last."""
    radii = done.worked.row_radii
    return (min(radii), max(radii)) if done.in_rows else radii


def _pins(lace: Lace, figures: Figures, reach: float, x: float, y: float, size_pt: float) -> Iterator[Item]:
    loom = lace.loom
    yield from _holes(loom.places, x, y)
    room = 3.2 * size_pt / FIGURES_PT
    every = next((n for n in (1, 5, 10, 50) if n * loom.pin_spacing > room), MOST_PINS)
    for pin in sorted({0, *range(every - 1, loom.pins, every)}):
        place = loom.point(pin) * reach
        place += loom.shape.outward(place) * (2.0 + 2.2 * size_pt / FIGURES_PT)
        words = written(str(pin + 1), size_pt=size_pt, font=figures.regular, colour=SECONDARY)
        yield centred(words, x + place.imag, y + place.real)
    if loom.shape.closed:
        start = start_place_of(loom) * reach
        out = loom.shape.outward(start)
        yield start_mark(x + (start + out).imag, y + (start + out).real, cmath.phase(out), MARK_MM)


def _holes(places: Iterable[complex], x: float, y: float) -> Iterator[Item]:
    # Drawn large and placed small: a hole that is cut by it should be rounder than a picture's coordinates are fine.
    hole = Layer("hole", circle(HOLE_MM * FINER))
    return (Placed(hole, CUT_MM, 1 / FINER, x + place.imag, y + place.real, cap="round") for place in places)


def _ring_shapes(spec: LoomSpec) -> Iterator[tuple[Shape, int]]:
    """The rings of a loom that has a file of its own, the one that carries the web apart."""
    for ring in spec.rings if isinstance(spec, NamedLoom) else ():
        if not ring.web:
            sizes = {name: getattr(ring, name) for name in ("diameter", "width", "height", "side")}
            yield (
                shape_of(LoomSpec.model_construct(shape=spec.shape, pins=ring.holes, hold=spec.hold, **sizes)),
                ring.holes,
            )


def _rings(rings: Sequence[tuple[Shape, int]], x: float, y: float) -> Iterator[Item]:
    for shape, holes in rings:
        places = [shape.rim(holes, hole) for hole in range(holes)]
        yield from _holes(places, x, y)
