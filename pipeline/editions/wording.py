"""What changed between two editions, in words: a line for the designer, a sentence for those who own the old one.

Both are made of one ``Change``. Lines tell of all of them; sentences are in the words of a leaflet, tell what changes
the work, and go into the pattern file as corrections.
"""

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from pipeline.editions.comparing import HOLDING, Change, Comparison
from pipeline.editions.rounds import Printed, Value
from pipeline.notation import CLOSE, SPIRAL, TIMES, TURN
from pipeline.symbols import SymbolSet

LABELS: Final[Mapping[tuple[str, str], str]] = {
    ("texts", "note"): "note of {round}",
    ("threads", "web"): "thread of the web",
    ("results", "metres"): "{about}, length",
    ("results", "working_lengths"): "{about}, working lengths",
    ("results", "balls"): "{about}, balls",
    ("results", "web_metres"): "web, in one piece",
    ("results", "budget"): "tightest budget",
    ("results", "size"): "finished size",
    ("results", "mat"): "finished size of the mat",
    ("finishing", "stiffen"): "stiffener",
}
"""What a line is about, where ``_label`` does not say it from the group alone."""

KEYS: Final = {
    "tex": "thickness", "colour_name": "name of the colour", "specific_volume": "specific volume", "ball_m": "ball",
    "thickness_mm": "thickness", "group": "group size", "parity": "even count", "reach": "reach outward",
    "loop": "loops",
}  # fmt: skip
"""Keys that are not called by their own name."""

UNITS: Final = {
    "metres": "{:.2f} m", "web_metres": "{:.2f} m", "budget": "{:.2f}", "tex": "{:g} tex", "ball_m": "{:g} m",
    "thickness_mm": "{:g} mm",
}  # fmt: skip

QUOTED: Final = frozenset({"texts", "links", "corrections", "other"})
"""Groups whose values are as they stand in the pattern: in quotes, where they are more than a figure or a word."""

HOLDS: Final = {"pin": "pins", "notch": "notches", "thread": "loops of holding thread"}

CLOSINGS: Final = {
    CLOSE: "close the round with one more knot beside the first",
    SPIRAL: "do not close the round; the next one goes on from its last knot",
    TURN: "at the end turn back: the next row goes the other way",
    "": "no closing knot",
}

SENTENCES: Final[Mapping[tuple[str, str], str]] = {
    ("loom", "shape"): "{about}: {now} instead of {was}.",
    ("loom", "size"): "{about}: {now} instead of {was}.",
    ("loom", "pins"): "{about}: {now} pins instead of {was}.",
    ("loom", "hold"): "{about}: {now} instead of {was}.",
    ("loom", "added"): "{about} is new: {now}.",
    ("loom", "gone"): "{about} is left out.",
    ("threads", "fibre"): "{about}: {now} instead of {was}.",
    ("threads", "tex"): "{about}: {now} instead of {was}.",
    ("threads", "colour_name"): "{about}: the colour {now} instead of {was}.",
    ("threads", "added"): "{about} is new: {now}.",
    ("threads", "gone"): "{about} is no longer used.",
    ("threads", "web"): "The web is laid with thread {now} instead of {was}.",
    ("rounds", "added"): "{round} is new: {now}.",
    ("rounds", "gone"): "What was round {old} is left out.",
    ("rounds", "moved"): "What was round {old} is now round {new}.",
    ("rounds", "stitch"): "{round}: {now}, instead of {was}.",
    ("rounds", "group"): "{round}: {now} instead of {was}.",
    ("rounds", "repeats"): "{round}: {now} times instead of {was}.",
    ("rounds", "parity"): "{round}: {now} instead of {was}.",
    ("rounds", "part"): "{round}: worked over the rays {now} instead of {was}.",
    ("rounds", "rows"): "{round}: {now} instead of {was}.",
    ("rounds", "shift"): "{round}: a shift of {now} instead of {was}.",
    ("rounds", "distance"): "{round}: {now} instead of {was}.",
    ("rounds", "reach"): "{round}: worked outward over {now} instead of {was}.",
    ("rounds", "loop"): "{round}: loops stand out by {now} instead of {was}.",
    ("rounds", "closing"): "{round}: {now}.",
    ("rounds", "thread"): "{round}: {now} instead of {was}.",
}
"""What is told of each change, where there is something before and after."""

HOLDING_THREAD: Final[Mapping[str, str]] = {
    "added": "Holding thread: {now} instead of the thread of the web.",
    "gone": "Holding thread: as the thread of the web instead of {was}.",
}

APPEARED: Final[Mapping[str, str]] = {
    "parity": "{round}: with the sign for {now}.",
    "part": "{round}: worked over the rays {now} only.",
    "reach": "{round}: worked outward over {now}.",
    "loop": "{round}: loops stand out by {now}.",
}

VANISHED: Final[Mapping[str, str]] = {
    "parity": "{round}: without the sign for {was}.",
    "part": "{round}: worked over all rays, not over {was} only.",
    "reach": "{round}: no longer worked outward over {was}.",
    "loop": "{round}: no loops stand out.",
}


@dataclass(frozen=True, slots=True)
class Wording:
    """A comparison, and the symbols of both editions for their names."""

    comparison: Comparison
    symbols: SymbolSet

    def line(self, change: Change) -> str:
        """The change in one line: what it is about, what was, what is now."""
        label = self._label(change)
        if change.what == "added":
            return f"{label}: new: {self._shown(change, change.now)}"
        if change.what == "gone":
            return f"{label}: gone: {self._shown(change, change.was)}"
        if change.what == "moved":
            return f"round {change.was} is now round {change.now}"
        return f"{label}: {self._shown(change, change.was)} → {self._shown(change, change.now)}"

    def sentence(self, change: Change) -> str:
        """The change as somebody who works from the old edition is told of it."""
        return self._template(change).format(
            about=_owner(change)[:1].upper() + _owner(change)[1:],
            round=_round(change)[:1].upper() + _round(change)[1:],
            old=change.old_round,
            new=change.new_round,
            was=self._told(change, change.was, self._old(change), whole=False),
            now=self._told(change, change.now, self._new(change), whole=True),
        )

    def _template(self, change: Change) -> str:
        if change.about == HOLDING and change.what in HOLDING_THREAD:
            return HOLDING_THREAD[change.what]
        if change.group == "rounds" and change.was == "" and change.what in APPEARED:
            return APPEARED[change.what]
        if change.group == "rounds" and change.now == "" and change.what in VANISHED:
            return VANISHED[change.what]
        return SENTENCES[change.group, change.what]

    def _old(self, change: Change) -> Printed | None:
        return self.comparison.old.rounds[change.old_round - 1] if change.old_round else None

    def _new(self, change: Change) -> Printed | None:
        return self.comparison.new.rounds[change.new_round - 1] if change.new_round else None

    def _label(self, change: Change) -> str:
        """What a line is about."""
        known = LABELS.get((change.group, change.what))
        owner = _round(change) if change.group == "rounds" else _owner(change)
        key = KEYS.get(change.what, change.what)
        if known:
            return known.format(about=owner, round=_round(change))
        if change.what in {"added", "gone"}:
            return owner
        return f"{owner}, {key}" if change.group == "rounds" or change.about else key

    def _shown(self, change: Change, value: Value) -> str:
        """A value as a line shows it."""
        if value is None or value == "":
            return "none"
        if change.group == "rounds":
            entry = self._old(change) if change.what == "gone" else self._new(change)
            return self._described(entry) if entry and change.what in {"added", "gone"} else self._named(change, value)
        if change.group == "tools":
            return self._name(str(value))
        if change.group in QUOTED:
            return str(value) if change.group == "other" and _BARE.fullmatch(str(value)) else quoted(str(value))
        return UNITS.get(change.what, "{}").format(value)

    def _named(self, change: Change, value: Value) -> str:
        return self._name(str(value)) if change.what in {"stitch", "parity", "closing"} else str(value)

    def _name(self, symbol_id: str) -> str:
        """What a symbol is called, in the middle of a sentence; free text stays as it is."""
        symbol = self.symbols.everything.get(symbol_id)
        return symbol.texts.name[:1].lower() + symbol.texts.name[1:] if symbol else symbol_id

    def _told(self, change: Change, value: Value, entry: Printed | None, *, whole: bool) -> str:
        """A value as a sentence says it; not ``whole`` where what it is was said before."""
        if entry is None or change.group != "rounds":
            return self._plain(change, value, whole=whole)
        if change.what in {"stitch", "added"}:
            return self._described(entry) if whole else self._name(entry.stitch)
        if change.what == "group":
            return self._grouped(entry, whole=whole)
        if change.what == "closing":
            return CLOSINGS[str(value)]
        return _figure(change, entry, whole=whole) or self._named(change, value)

    def _plain(self, change: Change, value: Value, *, whole: bool) -> str:
        if change.what == "hold":
            return HOLDS[str(value)]
        if change.what == "size" and not whole:
            return _without_key(str(value), str(change.now))
        return UNITS.get(change.what, "{}").format(value)

    def _described(self, entry: Printed) -> str:
        """A round in a few words and figures."""
        stitch, _ = self.symbols.meant(entry.stitch)
        words = [f"{self._name(entry.stitch)} {entry.group} {TIMES} {entry.repeats}"]
        words += [f"the rays {entry.part}"] if entry.part else []
        words += [_rows(entry)] if stitch.rows else []
        words += [f"shift {entry.shift}"] if entry.shift else []
        words += [_outward(entry, whole=True)]
        words += [f"outward over {entry.reach}"] if entry.reach else []
        words += [f"loops of {entry.loop}"] if entry.loop else []
        if len(self.comparison.old.lace.threads) + len(self.comparison.new.lace.threads) > 2:
            words += [_letters(entry.thread, whole=True)]
        return ", ".join(words)

    def _grouped(self, entry: Printed, *, whole: bool) -> str:
        """How a round takes the rays."""
        stitch, _ = self.symbols.meant(entry.stitch)
        if stitch.behaviour != "weave":
            return f"groups of {entry.group}" if whole else entry.group
        over, _, under = entry.group.partition("+")
        return f"back over {over}, forward under {under}" if stitch.back else f"over {over} and under {under or over}"


def _owner(change: Change) -> str:
    """Whose value changed: a loom, a thread, an entry of a list."""
    if change.group in {"threads", "results"}:
        return "holding thread" if change.about == HOLDING else f"thread {change.about}"
    if change.group == "loom":
        return f"size {change.about}" if change.about else "loom"
    if change.group == "corrections":
        return f"correction of edition {change.about}"
    return {"tools": "tool", "links": f"link {change.about}"}.get(change.group, change.group)


def _round(change: Change) -> str:
    if change.old_round == change.new_round or None in {change.old_round, change.new_round}:
        return f"round {change.new_round or change.old_round}"
    return f"round {change.new_round} (round {change.old_round} before)"


def _figure(change: Change, entry: Printed, *, whole: bool) -> str:
    """A distance, rows or threads with their words; empty for other keys."""
    if change.what == "distance":
        return _outward(entry, whole=whole or (change.old_round == 1) != (change.new_round == 1))
    if change.what == "rows":
        return _rows(entry) if whole else str(entry.rows)
    return _letters(entry.thread, whole=whole) if change.what == "thread" else ""


def _outward(entry: Printed, *, whole: bool) -> str:
    if not whole:
        return entry.distance
    return f"{entry.distance} from the {'centre' if entry.number == 1 else 'round before'}"


def _rows(entry: Printed) -> str:
    return f"{entry.rows} row" if entry.rows == 1 else f"{entry.rows} rows"


def _letters(thread: str, *, whole: bool) -> str:
    letters = thread.split()
    listed = " and ".join((", ".join(letters[:-1]), letters[-1])) + " in turn" if len(letters) > 1 else thread
    return listed if not whole else f"threads {listed}" if len(letters) > 1 else f"thread {thread}"


def _without_key(was: str, now: str) -> str:
    """A size without the name of its length, where it is the same length.

    >>> _without_key("diameter 84 mm", "diameter 90 mm"), _without_key("side 84 mm", "diameter 90 mm")
    ('84 mm', 'side 84 mm')
    """
    key = was.split(" ", 1)[0] + " "
    alone = "," not in was + now
    return was.removeprefix(key) if alone and now.startswith(key) else was


_BARE: Final = re.compile(r"[\w.%-]+( [\w%]+)?")

_UNSAFE: Final = re.compile(r"[\x7f-\x9f\u2028\u2029\ufeff]")


def quoted(text: str) -> str:
    r"""A text in double quotes, as YAML reads it back; https://yaml.org/spec/1.2.2/ (5.7, escaped characters).

    >>> print(quoted('the "old" one'))
    "the \"old\" one"
    """
    return _UNSAFE.sub(lambda found: f"\\u{ord(found[0]):04x}", json.dumps(text, ensure_ascii=False))
