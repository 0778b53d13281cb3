"""The rules of the craft: what is wrong with a round, as findings. Every rule has its own code."""

import itertools
import math
from collections.abc import Iterator, Sequence
from typing import Final

from pipeline.craft.loom import Loom
from pipeline.craft.stitches import JAM_TOLERANCE, Counts, Worked
from pipeline.craft.thread import bundle
from pipeline.pattern import FEWEST_PINS, MOST_PINS, Round
from pipeline.problems import Finding, Path
from pipeline.symbols import Stitch

FEWEST_GROUPS: Final = 3
SHORT: Final = 1.0
OUT_OF_REACH: Final = 2.0
SAME_MM: Final = 1e-9
"""Lengths nearer than this are the same."""


def count_findings(counted: Counts, stitch: Stitch, entry: Round, rays: int, index: int) -> Iterator[Finding]:
    """Whether the counts of a round fit the rays of the loom."""
    path: Path = ("rounds", index, stitch.stitch)
    told = "rays" if "rays" in entry.parameters else "over" if "over" in entry.parameters else None
    value = (*path, told) if told else path
    if rays % counted.period:
        yield Finding(
            "rays-do-not-divide", value, {"group": _group(counted), "rays": rays, "hint": _divisors(counted, rays)}
        )
        return
    tied = [item.size for item in counted.items if item.tied]
    if tied and len(tied) * (rays // counted.period) < FEWEST_GROUPS:
        yield Finding("too-few-groups", value, {"groups": len(tied) * (rays // counted.period)})
    if tied and max(tied) * FEWEST_GROUPS > rays:
        yield Finding("group-too-wide", value, {"group": max(tied), "rays": rays, "most": rays // FEWEST_GROUPS})
    if counted.shift >= rays:
        yield Finding("shift-too-large", (*path, "shift"), {"shift": counted.shift, "most": rays - 1})


def distance_findings(radii: Sequence[float], held: float, rim: float, path: Path) -> Iterator[Finding]:
    """Whether rows lie outside ``held``, the last lock of every ray they take, and inside the rim."""
    first, last = radii[0], radii[-1]
    if first <= held + SAME_MM:
        yield Finding("round-not-outward", path, {"radius": f"{first:.1f}", "held": f"{held:.1f}"})
    elif last >= rim - SAME_MM:
        yield Finding("round-outside-loom", path, {"radius": f"{last:.1f}", "rim": f"{rim:.1f}"})


def worked_findings(  # noqa: PLR0913
    worked: Worked, stitch: Stitch, loom: Loom, path: Path, *, before: float | None, thread_mm: float, web_mm: float
) -> Iterator[Finding]:
    """Crowding: rows in a jam, knots and rounds too near, an edge far in. ``before`` is the last round's radius."""
    if worked.nodes:
        yield from _knot_findings(worked, path, thread_mm, web_mm)
    else:
        yield from _jam_findings(worked, path, loom.rays * web_mm / (2 * math.pi))
    if before is not None and abs(worked.row_radii[0] - before) < thread_mm - SAME_MM:
        facts = {"distance": f"{worked.row_radii[0] - before:.2f}", "thickness": f"{thread_mm:.2f}"}
        yield Finding("rounds-crowded", path, facts)
    if stitch.behaviour == "edge" and loom.radius - worked.row_radii[0] > loom.radius / 4 + SAME_MM:
        yield Finding("edge-far-in", path, {"inset": f"{loom.radius - worked.row_radii[0]:.1f}"})


def stretch_findings(budget: float, path: Path) -> Iterator[Finding]:
    """Whether the rays can give what the round asks."""
    if budget > SHORT:
        code = "thread-cannot-reach" if budget > OUT_OF_REACH else "thread-short"
        yield Finding(code, path, {"budget": f"{budget:.2f}"})


def _jam_findings(worked: Worked, path: Path, limit: float) -> Iterator[Finding]:
    jam = worked.jam_radius
    jammed = [radius for radius in worked.row_radii if radius < jam * (1 - JAM_TOLERANCE)]
    inside = [radius for radius in jammed if radius < limit - SAME_MM]
    flat = [radius for radius in jammed if radius not in inside]
    if inside:
        yield Finding("inside-jam-limit", path, {"radius": f"{inside[0]:.1f}", "limit": f"{limit:.1f}"})
    if flat:
        yield Finding("rows-flattened", path, {"radius": f"{flat[0]:.1f}", "jam": f"{jam:.1f}"})


def _knot_findings(worked: Worked, path: Path, thread_mm: float, web_mm: float) -> Iterator[Finding]:
    """The pair of neighbours that lacks most room decides."""
    pairs = list(itertools.pairwise((*worked.nodes, worked.nodes[0])))
    chords = [abs(b.point - a.point) for a, b in pairs]
    wants = [(bundle(web_mm, len(a.rays)) + bundle(web_mm, len(b.rays))) / 2 + thread_mm for a, b in pairs]
    if len(worked.nodes) == 1:
        return
    for code, extra in (("knots-crowded", 0.0), ("knots-close", thread_mm)):
        lacking = [(chord - want - extra, chord, want + extra) for chord, want in zip(chords, wants, strict=True)]
        lack, chord, want = min(lacking)
        if lack < 0:
            yield Finding(code, path, {"spacing": f"{chord:.2f}", "wanted": f"{want:.2f}"})
            return


def _group(counted: Counts) -> str:
    if not counted.items:
        return f"{counted.over}" if counted.over == counted.under else f"{counted.over} + {counted.under}"
    sizes = " + ".join(str(item.size) for item in counted.items)
    return sizes if len(counted.items) == 1 else f"{sizes} = {counted.period}"


def _divisors(counted: Counts, rays: int) -> str:
    """Which sizes would fit these rays, and which pins would fit this size."""
    fitting = [size for size in range(2, rays // FEWEST_GROUPS + 1) if rays % size == 0]
    near = sorted(sorted(fitting, key=lambda size: abs(size - counted.period))[:6])
    words = f"{rays} rays divide into groups of {_either(near)}"
    pins = [pin for pin in range(FEWEST_PINS, MOST_PINS + 1, 2) if 2 * pin % counted.period == 0]
    if pins:
        pin = min(pins, key=lambda pin: abs(2 * pin - rays))
        words += f"; with {2 * pin} rays ({pin} pins) groups of {counted.period} fit"
    return words


def _either(sizes: Sequence[int]) -> str:
    words = [str(size) for size in sizes]
    return " or ".join([", ".join(words[:-1]), words[-1]]) if len(words) > 1 else "".join(words)
