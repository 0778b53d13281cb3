"""A pattern tried on another loom or in other threads: its text with other values, the file left as it is.

What is tried is what would be written: the text is rewritten as ``adapt`` does it, and checked like any other file.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from pipeline.craft.adapt import adapt, other_loom
from pipeline.craft.shapes import shape_of
from pipeline.craft.thread import SPECIFIC_VOLUME, thread_of
from pipeline.pattern import pins_step
from pipeline.pattern_model import Pattern
from pipeline.problems import Path
from pipeline.records import FEWEST_PINS, MEASURES, MOST_PINS, ThreadSpec
from pipeline.rewrite import rewrite
from pipeline.source import Source
from pipeline.symbols import SymbolSet
from pipeline.units import TEX_PER_NE

SPAN: Final = 2
"""So many times as much, or as little, can be tried."""
STEP_MM: Final = 0.5
STEP_THICK_MM: Final = 0.01


@dataclass(frozen=True, slots=True)
class Trial:
    """What is other than in the file: pins, lengths of the loom in mm, thickness of threads in mm by letter."""

    pins: int | None = None
    measures: tuple[tuple[str, float], ...] = ()
    threads: tuple[tuple[str, float], ...] = ()

    @property
    def asked(self) -> bool:
        """Whether anything is other."""
        return self != Trial()


@dataclass(frozen=True, slots=True)
class Knob:
    """A value that can be tried: ``name`` as a query says it, what the file has, and from where to where."""

    name: str
    label: str
    unit: str
    value: float
    least: float
    most: float
    step: float


def knobs(pattern: Pattern) -> Iterator[Knob]:
    """What can be tried on a pattern."""
    loom = pattern.loom
    step = pins_step(pattern) if shape_of(loom).closed else 1
    fewest = -(-max(FEWEST_PINS, loom.pins // SPAN) // step) * step
    most = min(MOST_PINS, loom.pins * SPAN) // step * step
    yield Knob("pins", "Pins", "", loom.pins, min(fewest, loom.pins), max(most, loom.pins), step)
    for name in MEASURES[loom.shape]:
        mm = float(getattr(loom, name))
        least, most_mm = (_stepped(size, STEP_MM) for size in (mm / SPAN, mm * SPAN))
        yield Knob(name, name.capitalize(), "mm", mm, least, most_mm, STEP_MM)
    for letter, spec in pattern.threads.items():
        thick = round(thread_of(spec).thickness, 2)
        least, most_mm = (_stepped(size, STEP_THICK_MM) for size in (thick / SPAN, thick * SPAN))
        label = f"Thickness of thread {letter}"
        yield Knob(f"thread-{letter}", label, "mm", thick, max(least, STEP_THICK_MM), most_mm, STEP_THICK_MM)


def _stepped(value: float, step: float) -> float:
    return round(round(value / step) * step, 2)


def tried(source: Source, pattern: Pattern, trial: Trial, symbols: SymbolSet, new_id: str) -> str:
    """The text of a pattern's file with what is tried, under an id; what a sample took is left out.

    What the pattern does not have, a measure or a thread, is passed over.
    """
    loom = pattern.loom
    measures = {name: mm for name, mm in trial.measures if name in MEASURES[loom.shape]}
    changes = adapt(pattern, other_loom(loom, trial.pins, measures), symbols) if trial.pins or measures else ()
    values: dict[Path, str] = {change.path: change.now for change in changes}
    for letter, mm in trial.threads:
        if letter in pattern.threads:
            name, text = _count(pattern.threads[letter], mm)
            values["threads", letter, name] = text
    return rewrite(source, values | {("id",): new_id}, drop=("measured",))


def _count(spec: ThreadSpec, mm: float) -> tuple[str, str]:
    """The count that makes a thread so thick, in the unit that its file has: key and number."""
    volume = spec.specific_volume or SPECIFIC_VOLUME[spec.fibre]
    tex = mm**2 * 1000 * math.pi / (4 * volume)  # Peirce 1937, as in craft.thread
    counts = {"tex": tex, "ne": TEX_PER_NE / tex, "nm": 1000 / tex, "denier": 9 * tex}
    given = next((name for name in counts if getattr(spec, name) is not None), "grams")
    value = counts[given] if given in counts else tex * (spec.metres or 0.0) / 1000
    return given, f"{value:.4g}"
