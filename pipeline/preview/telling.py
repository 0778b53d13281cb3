"""What the page is told, in plain values: problems, rounds, threads, what can be tried, and what can be chosen."""

from collections.abc import Iterable
from dataclasses import asdict
from pathlib import Path
from typing import Any

from pipeline.craft.assembly import Lace
from pipeline.pattern_model import Pattern
from pipeline.preview.choice import SHEETS
from pipeline.preview.stretchmap import most_asked, told
from pipeline.preview.surroundings import Surroundings
from pipeline.preview.trial import Knob
from pipeline.problems import Problem, as_json
from pipeline.symbols import SymbolSet

Told = list[dict[str, Any]]


def told_problems(problems: Iterable[Problem], root: Path) -> Told:
    """Problems with their lines; files are named from the workspace's folder."""
    return [
        as_json(problem) | {"file": near(problem.file, root), "text": problem.text, "length": problem.span.length}
        for problem in problems
    ]


def near(file: str, root: Path) -> str:
    """A file's name as it is seen from a folder, where it lies in it.

    >>> near("/work/patterns/a.yaml", Path("/work")), near("/usr/b.yaml", Path("/work"))
    ('patterns/a.yaml', 'b.yaml')
    """
    path = Path(file)
    return path.relative_to(root).as_posix() if path.is_relative_to(root) else path.name


def told_rounds(lace: Lace, symbols: SymbolSet | None) -> Told:
    """What every round asks of the rays; first all rounds together, under 0."""
    named = symbols.everything if symbols else {}
    together = {"number": 0, "name": "All rounds", "asked": told(most_asked(lace)), "budget": max(most_asked(lace))}
    return [together] * bool(lace.rounds) + [
        {
            "number": done.number,
            "name": named.get(done.symbol, done.stitch).texts.name,
            "asked": told(done.budgets),
            "budget": done.budget,
        }
        for done in lace.rounds
    ]


def told_threads(pattern: Pattern, lace: Lace) -> Told:
    """Every thread: what it is, and what it comes to; lengths in mm."""
    return [
        {
            "letter": letter,
            "colour": pattern.threads[letter].colour,
            "name": pattern.threads[letter].colour_name,
            "fibre": pattern.threads[letter].fibre,
            "tex": lace.threads[letter].tex,
            "thickness": lace.threads[letter].thickness,
            **asdict(total),
        }
        for letter, total in lace.totals.items()
    ]


def told_knobs(knobs: Iterable[Knob]) -> Told:
    """What can be tried."""
    return [asdict(knob) for knob in knobs]


def told_choices(surroundings: Surroundings) -> dict[str, Any]:
    """What can be chosen."""
    locales = [
        {"tag": tag, "name": info.cldr.get_display_name("en"), "own": info.cldr.get_display_name()}
        for tag, info in surroundings.locales.items()
    ]
    return {"workspace": surroundings.root.name, "patterns": sorted(surroundings.patterns), "locales": locales,
            "papers": list(SHEETS)}  # fmt: skip
