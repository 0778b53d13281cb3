"""The rules of the craft: what is wrong with a round, as findings. Every rule has its own code."""

import itertools
from collections.abc import Iterator, Sequence
from typing import Final

from pipeline.craft.counts import Counts
from pipeline.craft.fillings import Band
from pipeline.craft.loom import Loom
from pipeline.craft.stitches import JAM_TOLERANCE, Node, Site, Worked, crimp_height
from pipeline.craft.stretch import SAME_MM
from pipeline.craft.thread import bundle
from pipeline.problems import Finding, Path
from pipeline.records import FEWEST_PINS, MOST_PINS, Round
from pipeline.symbol_model import Stitch

FEWEST_GROUPS: Final = 3
SHORT: Final = 1.0
OUT_OF_REACH: Final = 2.0
LEAVES_OUT: Final = frozenset(
    {"rays-do-not-divide", "part-does-not-divide", "part-past-end", "rib-not-forward", "nothing-tied"}
)
"""Findings about counts that leave a round without a meaning, so that it is not worked."""


def loom_findings(loom: Loom) -> Iterator[Finding]:
    """Whether every pin has an opposite, where rounds go all the way round."""
    if loom.pins % 2 and loom.shape.closed:
        facts = {"pins": loom.pins, "fewer": loom.pins - 1, "more": loom.pins + 1}
        yield Finding("odd-pins", ("loom", "pins"), facts)


def count_findings(
    counted: Counts, stitch: Stitch, entry: Round, rays: int, index: int, *, pins_step: int
) -> Iterator[Finding]:
    """Whether the counts of a round fit the rays of the loom; ``pins_step`` is what its pins must divide by."""
    path: Path = ("rounds", index, stitch.stitch)
    told = "rays" if "rays" in entry.parameters else "over" if "over" in entry.parameters else None
    value = (*path, told) if told else path
    if counted.back and counted.under <= counted.over:
        yield Finding("rib-not-forward", (*path, "under"), {"over": counted.over, "under": counted.under})
        return
    if counted.part:
        yield from _part_findings(counted, rays, ("rounds", index, "part"))
    worked = counted.part.rays if counted.part else rays
    if worked % counted.period:
        facts = {"group": _group(counted), "rays": worked, "hint": _divisors(counted, worked, pins_step)}
        yield Finding("rays-do-not-divide", value, facts)
        return
    if counted.shift >= rays:
        yield Finding("shift-too-large", (*path, "shift"), {"shift": counted.shift, "most": rays - 1})
    tied = [item.size for item in counted.items if item.tied]
    groups = sum(count // counted.period * len(tied) for _, count in counted.stretches(rays))
    if tied and groups == 0:
        yield Finding("nothing-tied", (*path, "shift"), {"shift": counted.shift, "rays": rays})
        return
    if tied:
        yield from _group_findings(tied, groups, rays, value)
    if stitch.behaviour == "block" and 1 in tied:
        yield Finding("group-too-narrow", value)
    yield from _turn_findings(entry, groups, index)
    asked = entry.parameters.get("parity", "skip")
    if asked != "skip" and counted.parity == "skip":
        yield Finding("parity-not-needed", (*path, "parity"), {"bundles": counted.crossings(rays)})


def _group_findings(tied: Sequence[int], groups: int, rays: int, value: Path) -> Iterator[Finding]:
    """Whether there are enough groups, none of them too wide."""
    if groups < FEWEST_GROUPS:
        yield Finding("too-few-groups", value, {"groups": groups})
    if max(tied) * FEWEST_GROUPS > rays:
        yield Finding("group-too-wide", value, {"group": max(tied), "rays": rays, "most": rays // FEWEST_GROUPS})


def _turn_findings(entry: Round, groups: int, index: int) -> Iterator[Finding]:
    """Whether the distances that groups take in turn come out even."""
    for key in ("at", "gap"):
        written = getattr(entry, key)
        if isinstance(written, tuple) and groups % len(written):
            facts = {"distances": len(written), "groups": groups}
            yield Finding("distances-do-not-divide", ("rounds", index, key), facts)


def _part_findings(counted: Counts, rays: int, path: Path) -> Iterator[Finding]:
    """Whether parts repeat evenly and end before the last ray."""
    part = counted.part
    assert part is not None  # noqa: S101
    if rays % part.every:
        near = _nearest_divisors(part.every, rays)
        hint = f"{rays} rays divide into parts of {_either(near)}"
        yield Finding("part-does-not-divide", (*path, "every"), {"every": part.every, "rays": rays, "hint": hint})
    elif counted.turned and part.start + counted.shift + rays - part.every + part.rays > rays:
        yield Finding("part-past-end", path, {"rays": rays})


def distance_findings(radii: Sequence[float], held: float, rim: float, path: Path) -> Iterator[Finding]:
    """Whether rows lie outside ``held``, the last lock of every ray they take, and inside the rim."""
    first, last = min(radii), max(radii)
    if first <= held + SAME_MM:
        yield Finding("round-not-outward", path, {"radius": f"{first:.1f}", "held": f"{held:.1f}"})
    elif last >= rim - SAME_MM:
        yield Finding("round-outside-loom", path, {"radius": f"{last:.1f}", "rim": f"{rim:.1f}"})


def worked_findings(
    worked: Worked, stitch: Stitch, site: Site, path: Path, *, before: float | None, thread_mm: float
) -> Iterator[Finding]:
    """Crowding: rows in a jam, knots and rounds too near, an edge far in. ``before`` is the last round's level."""
    loom = site.loom
    if stitch.behaviour in {"gather", "edge"}:
        yield from _knot_findings(worked, path, thread_mm, site.web_mm)
    elif stitch.behaviour == "weave" and not stitch.back:
        yield from _jam_findings(worked, path, loom.rays * site.web_mm / site.shape.length(1.0))
    first = min(worked.row_radii)
    if before is not None and stitch.behaviour not in {"coil", "block"} and abs(first - before) < thread_mm - SAME_MM:
        facts = {"distance": f"{first - before:.2f}", "thickness": f"{thread_mm:.2f}"}
        yield Finding("rounds-crowded", path, facts)
    if stitch.behaviour == "edge" and loom.radius - first > loom.radius / 4 + SAME_MM:
        yield Finding("edge-far-in", path, {"inset": f"{loom.radius - first:.1f}"})


def band_findings(site: Site, counted: Counts, band: Band, index: int, path: Path) -> Iterator[Finding]:
    """Whether a filling lies on free rays, or between two locks of every ray it takes."""
    facts = {"inner": f"{band.inner:.1f}", "outer": f"{band.outer:.1f}"}
    if band.outer <= band.inner + SAME_MM:
        yield Finding("band-reversed", ("rounds", index, "to"), facts)
        return
    if band.outer >= site.shape.shortest - SAME_MM:
        rim = f"{site.shape.shortest:.1f}"
        yield Finding("round-outside-loom", ("rounds", index, "to"), {"radius": facts["outer"], "rim": rim})
        return
    held = [
        site.shape.level(above)
        for ray in counted.taken(len(site.rays))
        for _, above in (site.rays[ray].around(site.shape, band.inner),)
    ]
    nearest = min(held)
    if nearest < band.outer - SAME_MM:
        yield Finding("round-not-outward", path, {"radius": facts["inner"], "held": f"{nearest:.1f}"})


def rib_findings(site: Site, counted: Counts, worked: Worked, thread_mm: float, path: Path) -> Iterator[Finding]:
    """Whether the stitches of a rib have room."""
    wanted = crimp_height(counted, thread_mm, site.web_mm)
    spacing = site.shape.length(worked.row_radii[0]) / counted.crossings(len(site.rays))
    if spacing < wanted * (1 - JAM_TOLERANCE):
        yield Finding("ribs-crowded", path, {"spacing": f"{spacing:.2f}", "wanted": f"{wanted:.2f}"})


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
    pairs = [pair for fan in worked.fans for pair in itertools.pairwise(fan)]
    if worked.closed:
        pairs.append((worked.nodes[-1], worked.nodes[0]))
    pairs = [(a, b) for a, b in pairs if a is not b]
    chords = [abs(b.point - a.point) for a, b in pairs]
    wants = [_room(a, b, web_mm) + thread_mm for a, b in pairs]
    for code, extra in (("knots-crowded", 0.0), ("knots-close", thread_mm)):
        lacking = [(chord - want - extra, chord, want + extra) for chord, want in zip(chords, wants, strict=True)]
        lack, chord, want = min(lacking, default=(0.0, 0.0, 0.0))
        if lack < 0:
            yield Finding(code, path, {"spacing": f"{chord:.2f}", "wanted": f"{want:.2f}"})
            return


def _room(a: Node, b: Node, web_mm: float) -> float:
    """The mean thickness of two groups."""
    return (bundle(web_mm, len(a.rays)) + bundle(web_mm, len(b.rays))) / 2


def _group(counted: Counts) -> str:
    if counted.back:
        return f"{counted.under} - {counted.over}"
    if not counted.items:
        return f"{counted.over}" if counted.over == counted.under else f"{counted.over} + {counted.under}"
    sizes = " + ".join(str(item.size) for item in counted.items)
    return sizes if len(counted.items) == 1 else f"{sizes} = {counted.period}"


def _divisors(counted: Counts, rays: int, step: int) -> str:
    """Which sizes would fit these rays, and which pins, that ``step`` divides, would fit this size."""
    words = f"{rays} rays divide into groups of {_either(_nearest_divisors(counted.period, rays))}"
    pins = [pin for pin in range(step, MOST_PINS + 1, step) if pin >= FEWEST_PINS and 2 * pin % counted.period == 0]
    if pins and not counted.part:
        pin = min(pins, key=lambda pin: abs(2 * pin - rays))
        words += f"; with {2 * pin} rays ({pin} pins) groups of {counted.period} fit"
    return words


def _nearest_divisors(wanted: int, rays: int) -> list[int]:
    fitting = [size for size in range(2, max(2, rays // FEWEST_GROUPS) + 1) if rays % size == 0] or [1]
    return sorted(sorted(fitting, key=lambda size: abs(size - wanted))[:6])


def _either(sizes: Sequence[int]) -> str:
    words = [str(size) for size in sizes]
    return " or ".join([", ".join(words[:-1]), words[-1]]) if len(words) > 1 else words[0]
