"""Everything ``check`` does to one file: read, parse, compute, and gather what was found.

User errors end here: a ``Checked`` without errors holds a pattern and a lace that every later stage can trust.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Any, Final

from pipeline.craft.adapt import sized
from pipeline.craft.advice import advise
from pipeline.craft.assembly import Lace, place
from pipeline.craft.counts import counts
from pipeline.craft.effort import effort_findings
from pipeline.craft.figures import figures
from pipeline.craft.rules import count_findings
from pipeline.looms import parse as parse_loom
from pipeline.pattern import Looms, Parsed, parse
from pipeline.pattern_model import Pattern
from pipeline.photos import sound_photos
from pipeline.problems import RULES, Finding, Problem, Severity, accepted, as_json, in_order
from pipeline.publisher import parse as parse_publisher
from pipeline.records import Photo
from pipeline.source import Source, Unreadable, read
from pipeline.symbols import Broken, SymbolSet
from pipeline.symbols import parse as parse_symbol


@dataclass(frozen=True, slots=True)
class Checked:
    """A file and what was found: ``pattern`` and ``lace`` as far as they could be made."""

    file: str
    id: str | None
    pins: int | None
    source: Source | None
    pattern: Pattern | None
    lace: Lace | None
    problems: tuple[Problem, ...]

    @property
    def ok(self) -> bool:
        """Whether there are no errors."""
        return all(problem.severity is not Severity.ERROR for problem in self.problems)

    @property
    def clean(self) -> bool:
        """Whether there are neither errors nor warnings."""
        return all(problem.severity is Severity.NOTE for problem in self.problems)

    def as_json(self) -> dict[str, Any]:
        """The file's object in ``check --json``."""
        known: dict[str, Any] = {} if self.id is None else {"pattern": self.id}
        known["ok"] = self.ok
        if self.lace:
            known |= figures(self.lace)
        elif self.pins:
            known |= {"pins": self.pins, "rays": 2 * self.pins}
        return known | {"problems": [as_json(problem) for problem in self.problems]}


PhotoRule = Callable[[Iterable[Photo | None]], Iterable[Finding]]
"""What finds fault with the photographs of a pattern, None standing for one whose record has errors of its own."""


def check(  # noqa: PLR0913
    file: str,
    data: bytes,
    stem: str | None,
    symbols: SymbolSet,
    looms: Looms,
    tex: Mapping[str, float] | None = None,
    *,
    photos: PhotoRule | None = None,
    advised: bool = True,
) -> Checked:
    """Check one file's bytes; ``stem`` is the name it should have by its id, None for what has no name.

    ``tex`` works threads in another thickness than the file says, by letter. ``photos`` looks at the files of its
    photographs, for this module opens none. Where it is to be ``advised`` values that would help are tried, which takes
    longer than all else.
    """
    try:
        source = read(file, data)
    except Unreadable as error:
        return Checked(file, None, None, None, None, None, error.problems)
    if other := _OTHER_KINDS.get(next(iter(source.tree), "")):
        return Checked(file, None, None, source, None, None, other(source, stem))
    parsed = parse(source, symbols.forms, looms)
    findings = [*parsed.findings, *(photos(sound_photos(source.tree)) if photos else ()), *_misnamed(parsed, stem)]
    pattern = in_other_threads(parsed.pattern, tex or {}) if parsed.pattern else None
    heavy = list(effort_findings(pattern)) if pattern else []
    lace = place(pattern, symbols) if pattern and not heavy else None
    if pattern and lace:
        findings += advise(pattern, lace, symbols) if advised else lace.findings
        findings += [*_size_findings(pattern, symbols), *_misspelt_tools(pattern, symbols), *_measured(lace)]
        findings += _accepted_for_nothing(pattern, findings)
    else:
        findings += [*heavy, *_counts_alone(parsed, symbols)]
    return Checked(file, parsed.id, parsed.pins, source, pattern, lace, _problems(source, findings, pattern))


def _misnamed(parsed: Parsed, stem: str | None) -> list[Finding]:
    wrong = parsed.id is not None and stem is not None and parsed.id != stem
    return [Finding("id-not-file-name", ("id",), {"id": parsed.id})] if wrong else []


def _problems(source: Source, findings: Iterable[Finding], pattern: Pattern | None) -> tuple[Problem, ...]:
    """Findings at their places, those the designer answers for as notes."""
    problems = source.problems + source.locate(findings)
    if pattern:
        problems = tuple(_answered(problem, pattern) for problem in problems)
    return in_order(problems)


def in_other_threads(pattern: Pattern, tex: Mapping[str, float]) -> Pattern:
    """The pattern in threads of other linear densities, by letter; a ball's metres and grams no longer hold then."""
    counts = {"metres": None, "grams": None, "ne": None, "nm": None, "denier": None}
    changed = {
        letter: spec.model_copy(update=counts | {"tex": tex[letter]}) if letter in tex else spec
        for letter, spec in pattern.threads.items()
    }
    return pattern.model_copy(update={"threads": changed})


def _symbol_problems(source: Source, _stem: str | None) -> tuple[Problem, ...]:
    try:
        parse_symbol(source)
    except Broken as error:
        return error.problems
    return ()


def _publisher_problems(source: Source, _stem: str | None) -> tuple[Problem, ...]:
    return parse_publisher(source)[1]


def _loom_problems(source: Source, stem: str | None) -> tuple[Problem, ...]:
    return parse_loom(source, stem)[1]


_OTHER_KINDS: Final[Mapping[str, Callable[[Source, str | None], tuple[Problem, ...]]]] = {
    "loom": _loom_problems,
    "publisher": _publisher_problems,
    "stitch": _symbol_problems,
    "sign": _symbol_problems,
}
"""Files of a workspace that are no patterns, by their first key."""


def _counts_alone(parsed: Parsed, symbols: SymbolSet) -> list[Finding]:
    """Counts can be checked where the rest of the pattern is broken."""
    if parsed.pins is None:
        return []
    found: list[Finding] = []
    for index, entry in enumerate(parsed.rounds):
        if entry is not None:
            stitch = symbols.stitches[entry.stitch]
            counted = counts(stitch, entry, 2 * parsed.pins, turned=parsed.turned)
            found += count_findings(counted, stitch, entry, 2 * parsed.pins, index, pins_step=parsed.pins_step)
    return found


def _size_findings(pattern: Pattern, symbols: SymbolSet) -> list[Finding]:
    """What is wrong with the pattern in its other sizes; notes are left to each size's own making."""
    found: list[Finding] = []
    for index, (size, lace) in enumerate(sized(pattern, symbols)):
        for finding in lace.findings:
            severity = RULES[finding.code].severity
            if severity is not Severity.NOTE:
                code = "size-fails" if severity is Severity.ERROR else "size-strained"
                facts = {"name": size.name, "message": RULES[finding.code].message.format(**finding.facts)}
                found.append(Finding(code, ("sizes", index), facts))
    return found


def _misspelt_tools(pattern: Pattern, symbols: SymbolSet) -> list[Finding]:
    """Tools may be called in words of one's own; words that are nearly an id were most likely meant to be it."""
    own = [(index, tool) for index, tool in enumerate(pattern.tools) if tool not in symbols.sign_ids]
    return [
        Finding("tool-misspelt", ("tools", index), {"tool": tool, "meant": meant})
        for index, tool in own
        for meant in get_close_matches("-".join(tool.lower().split()), symbols.sign_ids, n=1, cutoff=0.85)
    ]


def _measured(lace: Lace) -> list[Finding]:
    """How far each estimate was from what a sample took."""
    return [
        Finding("measured-thread", ("measured", letter), {
            "thread": letter,
            "measured": f"{total.measured / 1000:.2f}",
            "estimate": f"{total.total / 1000:.2f}",
            "percent": f"{(total.total / total.measured - 1) * 100:+.0f}",
        })
        for letter, total in lace.totals.items()
        if total.measured is not None
    ]  # fmt: skip


def _accepted_for_nothing(pattern: Pattern, findings: list[Finding]) -> list[Finding]:
    codes = {finding.code for finding in findings}
    return [
        Finding("accepted-for-nothing", ("accepts", code), {"found": code}, on_key=True)
        for code in pattern.accepts
        if code not in codes and code in RULES and RULES[code].severity is Severity.WARNING
    ]


def _answered(problem: Problem, pattern: Pattern) -> Problem:
    """A warning the designer answers for is told as a note, with her reason."""
    reason = pattern.accepts.get(problem.code)
    return accepted(problem, reason) if reason is not None else problem
