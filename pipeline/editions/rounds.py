"""The rounds of two editions side by side: ``printed`` is a round as a leaflet prints it, ``matched`` pairs them."""

import itertools
from collections.abc import Container, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from pipeline.craft.assembly import LaceRound
from pipeline.notation import (
    CLOSE,
    GAP,
    PARITY_SIGNS,
    PART,
    ROWS,
    SHIFT,
    SPIRAL,
    TIMES,
    TO,
    TURN,
    Figure,
    Line,
    Sign,
    turn_of,
)

Value = str | int | float | None


@dataclass(frozen=True, slots=True)
class Printed:
    """A round as a leaflet prints it: ids of signs, figures of its line, empty where something does not apply."""

    number: int
    line: str
    """The whole line as plain text."""
    note: str | None
    stitch: str
    group: str
    repeats: int
    parity: str
    part: str
    rows: int
    shift: int
    distance: str
    reach: str
    """How far a filling reaches outward."""
    loop: str
    """How far loops of thread stand out."""
    closing: str
    thread: str
    """Letters of the threads that its rows take in turn."""

    @property
    def facts(self) -> tuple[Value, ...]:
        """All that can differ between two rounds, in the order of ``FACTS``."""
        return tuple(getattr(self, fact) for fact in FACTS)


FACTS: Final = (
    "stitch", "group", "repeats", "parity", "part", "rows", "shift", "distance", "reach", "loop", "closing", "thread",
)  # fmt: skip


def printed(done: LaceRound, line: Line, note: str | None) -> Printed:
    """A round by the signs and figures of its line."""
    signs = [token.id for token in line.tokens if isinstance(token, Sign)]
    figures = [token.text for token in line.tokens if isinstance(token, Figure)]
    said = {
        sign.id: figure.text
        for sign, figure in itertools.pairwise(line.tokens)
        if isinstance(sign, Sign) and isinstance(figure, Figure)
    }
    beyond = said.get(TO, "")
    return Printed(
        number=done.number,
        line=line.spelled,
        note=note,
        stitch=signs[0],
        group=figures[1],
        repeats=int(figures[2].removeprefix(TIMES)),
        parity=next((sign for sign in signs if sign in PARITY_SIGNS), ""),
        part=said.get(PART, ""),
        rows=int(said.get(ROWS, "1")),
        shift=int(said.get(SHIFT, "0")),
        distance=said[GAP],
        reach="" if done.worked.loop_mm else beyond,
        loop=beyond if done.worked.loop_mm else "",
        closing=next((sign for sign in signs if sign in {CLOSE, SPIRAL, TURN}), ""),
        thread=" ".join(turn_of(done.threads)),
    )


@dataclass(frozen=True, slots=True)
class Match:
    """A round of the old edition beside that of the new one it became; None where there is no other."""

    was: Printed | None
    now: Printed | None
    moved: bool = False
    """Whether it changed places with others."""

    @property
    def kin(self) -> bool:
        """Whether both are there and have one stitch."""
        return self.was is not None and self.now is not None and self.was.stitch == self.now.stitch

    @property
    def kind(self) -> str:
        """``same``, ``changed``, ``moved``, ``added`` or ``gone``."""
        if self.was is None:
            return "added"
        if self.now is None:
            return "gone"
        if self.moved:
            return "moved"
        return "same" if self.was.facts == self.now.facts else "changed"


def matched(old: Sequence[Printed], new: Sequence[Printed]) -> tuple[Match, ...]:
    """Every round of both editions, with its partner where it has one, from the centre outward.

    Of all pairings in order it is the one whose likeness is greatest as a whole. Looking for the longest run in common
    first (``difflib``) goes astray where rounds repeat: with one added in their midst it drops and adds others.
    """
    best = _best(old, new)
    matches: list[Match] = []
    i = j = 0
    while i < len(old) or j < len(new):
        both = i < len(old) and j < len(new)
        if both and best[i][j] == best[i + 1][j + 1] + likeness(old[i], new[j]):
            matches.append(Match(old[i], new[j]))
            i, j = i + 1, j + 1
        elif i < len(old) and best[i][j] == best[i + 1][j]:
            matches.append(Match(old[i], None))
            i += 1
        else:
            matches.append(Match(None, new[j]))
            j += 1
    return tuple(_with_moves(matches))


def _best(old: Sequence[Printed], new: Sequence[Printed]) -> list[list[int]]:
    """The greatest likeness of what is left of both from each pair of places on."""
    best = [[0] * (len(new) + 1) for _ in range(len(old) + 1)]
    for i in reversed(range(len(old))):
        for j in reversed(range(len(new))):
            paired = best[i + 1][j + 1] + likeness(old[i], new[j])
            best[i][j] = max(paired, best[i + 1][j], best[i][j + 1])
    return best


def likeness(one: Printed, other: Printed) -> int:
    """How much two rounds have in common; two that are alike outweigh a few that are only akin."""
    if one.facts == other.facts:
        return 40
    if one.stitch != other.stitch:
        return 1
    alike = sum(a == b for a, b in zip(one.facts, other.facts, strict=True))
    return 8 + alike + 3 * (one.group == other.group)


def _with_moves(matches: Sequence[Match]) -> Iterator[Match]:
    """A round that is gone here and added there has moved; its distance may have changed with its place."""
    moved: dict[int, Printed] = {}
    loose = [match for match in matches if not match.kin]
    left = [match.was for match in loose if match.was]
    for now in (match.now for match in loose if match.now):
        was = next((entry for entry in left if _apart_from_place(entry) == _apart_from_place(now)), None)
        if was:
            moved[now.number] = was
            left.remove(was)
    taken = {was.number for was in moved.values()}
    for match in matches:
        yield from _parted(match, moved, taken)


def _parted(match: Match, moved: Mapping[int, Printed], taken: Container[int]) -> Iterator[Match]:
    """A match; where either of its rounds belongs to another, each by itself."""
    was = match.was if match.was and match.was.number not in taken else None
    if match.now and match.now.number in moved:
        yield Match(moved[match.now.number], match.now, moved=True)
        if was:
            yield Match(was, None)
    elif was or match.now:
        yield Match(was, match.now)


def _apart_from_place(entry: Printed) -> tuple[Value, ...]:
    return tuple(value for fact, value in zip(FACTS, entry.facts, strict=True) if fact != "distance")
