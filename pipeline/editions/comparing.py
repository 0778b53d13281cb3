"""Two editions of a pattern side by side: ``compare`` makes a ``Comparison`` of everything that changed.

A ``Change`` says where (group, what it is about, key) and from what to what; ``work`` marks those that whoever
works from the old edition must be told of. Figures count as a leaflet prints them, so a length that differs in its
hundredths is no change. Rounds are matched by what they say, not by their number. No sentences stand here: they are
made of changes in ``editions.wording``.
"""

from collections import Counter
from collections.abc import Container, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any, Final

from pipeline.craft.assembly import Lace
from pipeline.craft.check import Checked
from pipeline.craft.loom import Loom
from pipeline.editions.rounds import FACTS, Match, Printed, Value, matched, printed
from pipeline.notation import TIMES, write
from pipeline.pattern_model import Pattern
from pipeline.problems import spell
from pipeline.records import Edition, LoomSpec, Measures, NamedLoom, SizeLoom, ThreadSpec
from pipeline.units import rounded

GROUPS: Final = (
    "texts", "loom", "threads", "rounds", "results", "finishing", "tools", "links", "corrections", "other", "edition",
)  # fmt: skip
"""In the order in which they are told; ``results`` is what follows from the others."""

COVERED: Final = frozenset({
    "spokeleaf", "id", "title", "summary", "edition", "corrections", "loom", "sizes", "threads", "web",
    "holding_thread", "rounds", "finish", "assembly", "tools", "links",
})  # fmt: skip
"""Keys of a pattern that are compared by what they mean; all others as they are written."""


@dataclass(frozen=True, slots=True)
class Change:
    """One thing that is not as it was; None where there is, or was, nothing."""

    group: str
    about: str
    """The letter of a thread, ``holding`` for the holding thread, the name of a size, the address of a link, the
    edition of a correction; empty where the group has one of its kind."""
    what: str
    was: Value
    now: Value
    old_round: int | None = None
    new_round: int | None = None
    work: bool = False
    """Whether somebody who works from the old edition must be told."""


@dataclass(frozen=True, slots=True)
class Side:
    """One of the two editions."""

    file: str
    pattern: Pattern
    lace: Lace
    tree: Mapping[str, object]
    """As it is written."""
    rounds: tuple[Printed, ...]

    @property
    def edition(self) -> Edition:
        """Number and date."""
        return self.pattern.edition


@dataclass(frozen=True, slots=True)
class Comparison:
    """Two editions, and what changed from the old to the new one."""

    old: Side
    new: Side
    changes: tuple[Change, ...]
    counts: Mapping[str, int]
    """How many rounds are ``same``, ``changed``, ``moved``, ``added``, ``gone``."""

    @property
    def same_id(self) -> bool:
        """Whether both are editions of one pattern."""
        return self.old.pattern.id == self.new.pattern.id

    @property
    def work(self) -> tuple[Change, ...]:
        """What somebody who works from the old edition must be told."""
        return tuple(change for change in self.changes if change.work)

    @property
    def to_be_raised(self) -> bool:
        """Whether the work changed and the edition's number did not go up with it."""
        return bool(self.work) and self.new.edition.number <= self.old.edition.number

    @property
    def next_edition(self) -> int:
        """The number under which the changes are told: the new one's where it is higher, else the next."""
        return max(self.old.edition.number + 1, self.new.edition.number)

    @property
    def rewritten(self) -> bool:
        """Whether the files differ although nothing changed, as ``10 mm`` does from ``1 cm``."""
        return not self.changes and {**self.old.tree, "id": ""} != {**self.new.tree, "id": ""}


def compare(old: Checked, new: Checked) -> Comparison:
    """Everything that changed between two files without errors."""
    was, now = side(old), side(new)
    matches = matched(was.rounds, now.rounds)
    changes = (
        *_texts(was.pattern, now.pattern),
        *_notes(matches),
        *_looms(was, now),
        *_threads(was.pattern, now.pattern),
        *_rounds(matches, other_pins=was.pattern.loom.pins != now.pattern.loom.pins),
        *_results(was.lace, now.lace),
        *_beside(was, now),
        *_differing("edition", "", _edition(was.edition), _edition(now.edition)),
    )
    counts = Counter({"same": 0, "changed": 0, "moved": 0, "added": 0, "gone": 0})
    counts.update(match.kind for match in matches)
    in_order = sorted(changes, key=lambda change: GROUPS.index(change.group))
    return Comparison(was, now, tuple(in_order), dict(counts))


def side(checked: Checked) -> Side:
    """A checked file as one of the two."""
    pattern, lace, source = checked.pattern, checked.lace, checked.source
    assert pattern is not None  # noqa: S101
    assert lace is not None  # noqa: S101
    assert source is not None  # noqa: S101
    notes = [entry.note for entry in pattern.rounds]
    rounds = tuple(printed(done, line, note) for done, line, note in zip(lace.rounds, write(lace), notes, strict=True))
    return Side(checked.file, pattern, lace, source.tree, rounds)


def _texts(old: Pattern, new: Pattern) -> Iterator[Change]:
    for key in ("title", "summary"):
        was, now = getattr(old, key), getattr(new, key)
        if was != now:
            yield Change("texts", "", key, was, now)


def _notes(matches: Sequence[Match]) -> Iterator[Change]:
    for match in matches:
        if match.was and match.now and match.was.note != match.now.note:
            yield Change("texts", "", "note", match.was.note, match.now.note, match.was.number, match.now.number)


def _rounds(matches: Sequence[Match], *, other_pins: bool) -> Iterator[Change]:
    for match in matches:
        was, now = match.was, match.now
        if was is None and now is not None:
            yield Change("rounds", "", "added", None, now.line, None, now.number, work=True)
        elif was is not None and now is None:
            yield Change("rounds", "", "gone", was.line, None, was.number, None, work=True)
        elif was is not None and now is not None:
            if match.moved:
                yield Change("rounds", "", "moved", was.number, now.number, was.number, now.number, work=True)
            yield from _facts(was, now, other_pins=other_pins)


def _facts(was: Printed, now: Printed, *, other_pins: bool) -> Iterator[Change]:
    """What differs in a round; what follows from the rest need not be told."""
    differing = [fact for fact in FACTS if getattr(was, fact) != getattr(now, fact)]
    follows = _following(frozenset(differing), other_pins=other_pins)
    for fact in differing:
        before, after = getattr(was, fact), getattr(now, fact)
        yield Change("rounds", "", fact, before, after, was.number, now.number, work=fact not in follows)


def _following(differing: frozenset[str], *, other_pins: bool) -> Container[str]:
    """Another stitch is told of with all it takes; how often a group comes follows from its size and the rays."""
    if "stitch" in differing:
        return differing - {"stitch"}
    return {"repeats"} if other_pins or differing & {"group", "part"} else ()


def _looms(old: Side, new: Side) -> Iterator[Change]:
    """The loom, and those of other sizes, by name."""
    work = {"shape", "size", "pins", "hold"}
    yield from _differing("loom", "", _loom(old.pattern.loom), _loom(new.pattern.loom), work)
    was = {size.name: size.loom for size in old.pattern.sizes}
    now = {size.name: size.loom for size in new.pattern.sizes}
    for name in dict.fromkeys((*was, *now)):
        if name not in was:
            yield Change("loom", name, "added", None, _size_text(now[name]), work=True)
        elif name not in now:
            yield Change("loom", name, "gone", _size_text(was[name]), None, work=True)
        else:
            yield from _differing("loom", name, _size(was[name]), _size(now[name]), work)


def _loom(loom: LoomSpec) -> Mapping[str, Value]:
    facts: dict[str, Value] = {"shape": loom.shape, "size": _measures(loom), "pins": loom.pins, "hold": loom.hold}
    if isinstance(loom, NamedLoom):
        facts |= {"name": loom.name, "thickness_mm": loom.thickness}
        facts["rings"] = "; ".join(f"{ring.holes}: {_measures(ring)}" for ring in loom.rings) or None
    return facts


def _size(loom: SizeLoom) -> Mapping[str, Value]:
    return {"size": _measures(loom), "pins": loom.pins}


def _size_text(loom: SizeLoom) -> str:
    return f"{_measures(loom)}, pins {loom.pins}"


def _measures(record: Measures) -> str:
    """The lengths that say how large something is, each with its key."""
    given = ((key, getattr(record, key)) for key in Measures.model_fields)
    return ", ".join(f"{key} {_mm(value, 2)}" for key, value in given if value is not None)


def _mm(value: float, places: int) -> str:
    return f"{rounded(value, places).normalize():f} mm"


def _threads(old: Pattern, new: Pattern) -> Iterator[Change]:
    was, now = _specs(old), _specs(new)
    work = {"fibre", "tex", "colour_name"}
    for letter in dict.fromkeys((*was, *now)):
        if letter not in was:
            yield Change("threads", letter, "added", None, _thread_text(now[letter]), work=True)
        elif letter not in now:
            yield Change("threads", letter, "gone", _thread_text(was[letter]), None, work=True)
        else:
            yield from _differing("threads", letter, _thread(was[letter]), _thread(now[letter]), work)
    yield from _differing("threads", "", {"web": old.web_thread}, {"web": new.web_thread}, {"web"})


HOLDING: Final = "holding"


def _specs(pattern: Pattern) -> Mapping[str, ThreadSpec]:
    holding = {HOLDING: pattern.holding_thread} if pattern.holding_thread else {}
    return {**pattern.threads, **holding}


def _thread(spec: ThreadSpec) -> Mapping[str, Value]:
    return {
        "fibre": spec.fibre,
        "tex": float(rounded(spec.linear_density_tex, 1)),
        "specific_volume": spec.specific_volume,
        "ball_m": spec.metres,
        "colour": spec.colour,
        "colour_name": spec.colour_name,
    }


def _thread_text(spec: ThreadSpec) -> str:
    return f"{spec.fibre}, {rounded(spec.linear_density_tex, 1).normalize():f} tex, {spec.colour_name}"


def _results(old: Lace, new: Lace) -> Iterator[Change]:
    """What follows: thread of every letter, the web's length, the tightest budget, the finished size."""
    for letter in dict.fromkeys((*old.totals, *new.totals)):
        yield from _differing("results", letter, _total(old, letter), _total(new, letter))
    yield from _differing("results", "", _whole(old), _whole(new))


def _total(lace: Lace, letter: str) -> Mapping[str, Value]:
    total = lace.totals.get(letter)
    if total is None:
        return {}
    return {"metres": _metres(total.total), "working_lengths": total.working_lengths, "balls": total.balls}


def _metres(length_mm: float) -> float:
    return float(rounded(length_mm / 1000, 2))


def _whole(lace: Lace) -> Mapping[str, Value]:
    budget = float(rounded(max(done.budget for done in lace.rounds), 2))
    whole: dict[str, Value] = {"web_metres": _metres(lace.web.cut), "budget": budget, "size": _finished(lace.loom)}
    return whole | ({"mat": _area(lace.mat.width, lace.mat.height)} if lace.mat else {})


def _finished(loom: Loom) -> str:
    up, across, down = loom.shape.bounds
    return _area(2 * across, up + down)


def _area(width: float, height: float) -> str:
    across, along = _mm(width, 0), _mm(height, 0)
    return across if across == along else f"{across.removesuffix(' mm')} {TIMES} {along}"


def _beside(old: Side, new: Side) -> Iterator[Change]:
    """Finishing, tools, links, corrections, and every key that has no group of its own."""
    was, now = old.pattern, new.pattern
    yield from _differing("finishing", "", {"stiffen": was.finish.stiffen}, {"stiffen": now.finish.stiffen})
    yield from _as_written("finishing", "assembly", old, new)
    yield from _listed("tools", [("", tool) for tool in was.tools], [("", tool) for tool in now.tools])
    links = [[(link.url, link.label) for link in pattern.links] for pattern in (was, now)]
    yield from _listed("links", *links)
    told = [[(str(entry.edition), entry.text) for entry in pattern.corrections] for pattern in (was, now)]
    yield from _listed("corrections", *told)
    for key in Pattern.model_fields:
        if key not in COVERED:
            yield from _as_written("other", key, old, new)


def _listed(group: str, was: Sequence[tuple[str, str]], now: Sequence[tuple[str, str]]) -> Iterator[Change]:
    """What is gone from a list and what was added to it: what each is about, and its text."""
    yield from (Change(group, about, "gone", text, None) for about, text in was if (about, text) not in now)
    yield from (Change(group, about, "added", None, text) for about, text in now if (about, text) not in was)


def _as_written(group: str, key: str, old: Side, new: Side) -> Iterator[Change]:
    """The values below a key that differ, as they stand in the files, where they mean something else."""
    if getattr(old.pattern, key) != getattr(new.pattern, key):
        yield from _differing(group, "", dict(_leaves(old.tree, key)), dict(_leaves(new.tree, key)))


def _leaves(tree: Mapping[str, object], key: str) -> Iterator[tuple[str, str]]:
    if key in tree:
        for path, value in _values(tree[key], (key,)):
            yield spell(path), value


def _values(value: object, path: tuple[str | int, ...]) -> Iterator[tuple[tuple[str | int, ...], str]]:
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from _values(inner, (*path, key))
    elif isinstance(value, list):
        for index, inner in enumerate(value):
            yield from _values(inner, (*path, index))
    else:
        yield path, str(value)


def _edition(edition: Edition) -> Mapping[str, Value]:
    return {"number": edition.number, "date": edition.date.isoformat()}


def _differing(
    group: str, about: str, was: Mapping[str, Value], now: Mapping[str, Value], work: Container[str] = ()
) -> Iterator[Change]:
    """What differs between two sets of facts; ``work`` names those of which people must be told."""
    for what in dict.fromkeys((*was, *now)):
        before, after = was.get(what), now.get(what)
        if before != after:
            yield Change(group, about, what, before, after, work=what in work)


def as_json(comparison: Comparison) -> dict[str, Any]:
    """The comparison as data, without words; the fields are told in ``commands.editions``."""
    return {
        "old": _side_json(comparison.old),
        "new": _side_json(comparison.new),
        "same_id": comparison.same_id,
        "rounds": dict(comparison.counts),
        "changes": [asdict(change) for change in comparison.changes],
        "to_be_raised": comparison.to_be_raised,
    }


def _side_json(one: Side) -> dict[str, Any]:
    return {"file": one.file, "pattern": one.pattern.id} | {
        "edition": one.edition.number, "date": one.edition.date.isoformat(),
    }  # fmt: skip
