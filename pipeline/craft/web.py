"""Laying the web: in which order the pins are reached, and the thread that takes."""

import itertools
import math
from dataclasses import dataclass

from pipeline.craft.loom import Loom


@dataclass(frozen=True, slots=True)
class Web:
    """The laid web: pins in the order they are reached, thread lengths in mm."""

    order: tuple[int, ...]
    net: float
    cut: float
    """One unbroken length, with both tails."""


def order(pins: int) -> tuple[int, ...]:
    """Even: to the opposite pin and back to the next one. Odd: always (pins − 1)/2 on, as none has an opposite.

    >>> order(6)
    (0, 3, 1, 4, 2, 5)
    >>> order(5)
    (0, 2, 4, 1, 3)
    """
    if pins % 2:
        return tuple(step * (pins - 1) // 2 % pins for step in range(pins))
    half = pins // 2
    return tuple(pin for near in range(half) for pin in (near, near + half))


def lay(loom: Loom, *, web_mm: float, holding_mm: float, tails_mm: float) -> Web:
    """The web on a loom; thicknesses of its thread and of the holding thread, both tails together.

    Net length: from the centre to the first pin and from the last pin back, the chords between, and half a
    turn round every pin. Elementary trigonometry. On a half-circle the thread goes out from the hold at the
    centre to every pin and back, with half a turn round the hold between two pins.
    """
    half_turn = math.pi * (holding_mm + web_mm) / 2
    if loom.shape.closed:
        pins = order(loom.pins)
        chords = math.fsum(abs(loom.point(b) - loom.point(a)) for a, b in itertools.pairwise(pins))
        net = abs(loom.point(pins[0])) + chords + abs(loom.point(pins[-1])) + loom.pins * half_turn
    else:
        pins = tuple(range(loom.pins))
        net = 2 * math.fsum(map(abs, loom.places)) + (2 * loom.pins - 1) * half_turn
    return Web(pins, net, net + tails_mm)
