"""What changed between two editions: each kind of change is found, and whether buyers must be told of it."""

import copy
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from pipeline.craft.check import Checked
from pipeline.editions.comparing import COVERED, GROUPS, Change, Comparison, compare
from pipeline.editions.wording import Wording
from pipeline.files import check_file
from pipeline.pattern_model import Pattern
from pipeline.symbols import SymbolSet

CheckText = Callable[..., Checked]
Tree = dict[str, Any]
CASES = Path(__file__).parents[1] / "cases"


@pytest.fixture
def old(example: Tree) -> Tree:
    """A pattern of five rounds, two threads."""
    example["threads"]["B"] = {"fibre": "silk", "tex": 30, "colour": "#ffffff", "colour_name": "white"}
    example["rounds"] = [
        {"darn": {}, "rows": 3},
        {"knot": {"rays": 4}, "at": "15 mm"},
        {"knot": {"rays": 4, "shift": 2}, "gap": "5 mm", "note": "Loosely."},
        {"wrap": {"rays": 4}, "gap": "1 mm", "to": "27 mm", "thread": "B"},
        {"edge-loops": {}},
    ]
    return example


@pytest.fixture
def changed(check_text: CheckText, old: Tree) -> Callable[[Callable[[Tree], object]], Comparison]:
    """The pattern compared with what a change makes of it."""

    def run(change: Callable[[Tree], object]) -> Comparison:
        new = copy.deepcopy(old)
        change(new)
        return compare(check_text(old), check_text(new))

    return run


Changed = Callable[[Callable[[Tree], object]], Comparison]


def told(found: Comparison, group: str) -> list[tuple[str, str, object, object, bool]]:
    """The changes of a group, short."""
    return [(c.about, c.what, c.was, c.now, c.work) for c in found.changes if c.group == group]


def put(group: str, key: Any, value: object) -> Callable[[Tree], object]:
    """Set a value one step down in the tree."""

    def change(tree: Tree) -> None:
        tree.setdefault(group, {})[key] = value

    return change


def test_equal_files_have_no_change(changed: Changed) -> None:
    """Nothing is changed, every round is the same, no edition is to be raised."""
    found = changed(lambda _: None)
    assert found.changes == ()
    assert found.counts == {"same": 5, "changed": 0, "moved": 0, "added": 0, "gone": 0}
    assert not found.to_be_raised
    assert not found.rewritten


def test_what_is_only_written_otherwise_is_no_change(changed: Changed) -> None:
    """15 mm as 1.5 cm, and 15.01 mm, which prints as 15 mm: no change, but the files are not the same."""
    for length in ("1.5 cm", "15.01 mm"):
        found = changed(put("rounds", 1, {"knot": {"rays": 4}, "at": length}))
        assert found.changes == ()
        assert found.rewritten


def test_one_round_changed(changed: Changed) -> None:
    """Groups of six for four: by hand 48 / 6 = 8 for 12; that there are fewer of them follows and is not told."""
    found = changed(put("rounds", 1, {"knot": {"rays": 6}, "at": "15 mm"}))
    assert told(found, "rounds") == [("", "group", "4", "6", True), ("", "repeats", 12, 8, False)]
    assert [(change.old_round, change.new_round) for change in found.work] == [(2, 2)]
    assert (found.counts["same"], found.counts["changed"]) == (4, 1)


def test_a_round_in_the_middle_moves_the_others_on(changed: Changed) -> None:
    """A knot 2 mm outside round 3 is added; by hand the filling from there to 27 mm reaches 4 mm for 6, the rest stays."""
    found = changed(lambda tree: tree["rounds"].insert(3, {"knot": {"rays": 4}, "gap": "2 mm"}))
    assert found.counts == {"same": 4, "changed": 1, "moved": 0, "added": 1, "gone": 0}
    added, reach = (change for change in found.changes if change.group == "rounds")
    assert (added.what, added.old_round, added.new_round, added.was, added.work) == ("added", None, 4, None, True)
    assert str(added.now).startswith("4 [knot] 4 × 12")
    assert reach == Change("rounds", "", "reach", "6 mm", "4 mm", 4, 5, work=True)


@pytest.mark.parametrize(
    ("index", "entry", "what", "values"),
    [
        (0, {"darn": {}, "rows": 4}, "rows", (3, 4)),
        (1, {"knot": {"rays": 4, "shift": 1}, "at": "15 mm"}, "shift", (0, 1)),
        (1, {"knot": {"rays": 4}, "at": "15 mm", "close": False}, "closing", ("close", "spiral")),
        (1, {"knot": {"rays": 4}, "at": "15 mm", "thread": "B"}, "thread", ("A", "B")),
        (1, {"knot": {"rays": 4}, "at": "15 mm", "part": {"rays": 8, "every": 12}}, "part", ("", "(0) 8 (4) × 4")),
        (2, {"knot": {"rays": 4, "shift": 2}, "gap": "4.5 mm", "note": "Loosely."}, "distance", ("5 mm", "4.5 mm")),
        (3, {"wrap": {"rays": 4}, "gap": "1 mm", "to": "26 mm", "thread": "B"}, "reach", ("6 mm", "5 mm")),
        (4, {"edge-arches": {}}, "stitch", ("edge-loops", "edge-arches")),
    ],
)
def test_every_fact_of_a_round_is_compared(
    changed: Changed, index: int, entry: Tree, what: str, values: tuple[object, object]
) -> None:
    """Each key of a round that a leaflet prints is told of with what was and what is, from the round's own number."""
    found = changed(put("rounds", index, entry))
    changes = [c for c in found.changes if c.what == what and c.new_round == index + 1]
    assert [(c.group, c.was, c.now, c.work) for c in changes] == [("rounds", *values, True)]


def test_another_stitch_is_told_with_all_it_takes(changed: Changed) -> None:
    """The stitch is told of; that its distance and its loops are others is seen, and not told again."""
    found = changed(put("rounds", 4, {"edge-picots": {"height": "3 mm", "inset": "4 mm"}}))
    assert [change.what for change in found.work] == ["stitch"]
    assert ("", "loop", "", "3 mm", False) in told(found, "rounds")


def test_rounds_that_change_places(changed: Changed) -> None:
    """The cord, 6 mm long as before, comes before the second knot: it has moved, nothing is added and nothing gone."""
    found = changed(lambda tree: tree["rounds"].insert(2, tree["rounds"].pop(3) | {"to": "22 mm"}))
    assert (found.counts["moved"], found.counts["added"], found.counts["gone"]) == (1, 0, 0)
    (moved,) = (change for change in found.work if change.what == "moved")
    assert {moved.old_round, moved.new_round} == {3, 4}


@pytest.mark.parametrize(
    ("key", "value", "was", "work"),
    [
        ("tex", 60, 40.0, True),
        ("fibre", "linen", "cotton", True),
        ("colour_name", "sea green", "blue", True),
        ("colour", "#2f6f73", "#1b4f72", False),
        ("specific_volume", 1.2, None, False),
    ],
)
def test_a_thread_changed(changed: Changed, key: str, value: object, was: object, work: bool) -> None:  # noqa: FBT001
    """Thickness, fibre and the colour's name change the work; the shade on the screen does not."""
    found = changed(lambda tree: tree["threads"]["A"].update({key: value}))
    assert ("A", key, was, value, work) in told(found, "threads")


def test_a_thicker_thread_makes_what_follows_other(changed: Changed) -> None:
    """The metres of every letter are before and after as ``check`` prints them: the coiled rays are thicker, too."""
    found = changed(lambda tree: tree["threads"]["A"].update(tex=60))
    metres = {c.about: (c.was, c.now) for c in found.changes if c.what == "metres"}
    totals = [one.lace.totals for one in (found.old, found.new)]
    assert metres == {letter: tuple(round(total[letter].total / 1000, 2) for total in totals) for letter in "AB"}
    assert all(was < now for was, now in metres.values() if isinstance(was, float) and isinstance(now, float))


def test_threads_come_and_go(changed: Changed) -> None:
    """A third thread is added, the holding thread gets one of its own, the web another letter."""
    spec = {"fibre": "linen", "nm": 16, "colour": "#000000", "colour_name": "black"}
    found = changed(
        lambda tree: tree.update(web={"thread": "B"}, holding_thread=spec) or tree["threads"].update(C=spec)
    )
    assert [(about, what) for about, what, *_ in told(found, "threads")] == [
        ("C", "added"), ("holding", "added"), ("", "web"),
    ]  # fmt: skip
    assert told(found, "threads")[0][3] == "linen, 62.5 tex, black"


def test_a_loom_changed(changed: Changed) -> None:
    """Size, pins and what holds are told; that every round repeats otherwise follows; the finished size is another."""

    def change(tree: Tree) -> None:
        tree["loom"] = {"shape": "circle", "diameter": "90 mm", "pins": 36, "hold": "pin"}

    found = changed(change)
    assert told(found, "loom") == [
        ("", "size", "diameter 80 mm", "diameter 90 mm", True), ("", "pins", 24, 36, True),
        ("", "hold", "thread", "pin", True),
    ]  # fmt: skip
    repeats = [change for change in found.changes if change.what == "repeats"]
    assert [change.work for change in repeats] == [False] * 5
    assert ("", "size", "80 mm", "90 mm", False) in told(found, "results")


def test_other_sizes_are_compared_by_name(changed: Changed) -> None:
    """A size that is new is told of."""
    found = changed(lambda tree: tree.update(sizes=[{"name": "L", "loom": {"diameter": "120 mm", "pins": 36}}]))
    assert told(found, "loom") == [("L", "added", None, "diameter 120 mm, pins 36", True)]


def test_only_a_note_corrected(changed: Changed) -> None:
    """It is listed with its round; the round is the same, and nobody needs to be told."""
    found = changed(lambda tree: tree["rounds"][2].update(note="Very loosely."))
    assert found.changes == (Change("texts", "", "note", "Loosely.", "Very loosely.", 3, 3),)
    assert found.counts["same"] == 5
    assert found.work == ()
    assert not found.to_be_raised


@pytest.mark.parametrize(
    ("key", "value", "group", "what"),
    [
        ("title", "Other", "texts", "title"),
        ("summary", "A summary.", "texts", "summary"),
        ("finish", {"stiffen": "always"}, "finishing", "stiffen"),
        ("assembly", {"layout": "hex", "columns": 2, "rows": 2, "joins": 3}, "finishing", "assembly.layout"),
        ("tools", ["scissors"], "tools", "gone"),
        ("links", [{"url": "https://example.org/a", "label": "More"}], "links", "added"),
        ("corrections", [{"edition": 1, "text": "None."}], "corrections", "added"),
        ("level", 2, "other", "level"),
        ("price", {"amount": "6.50", "currency": "EUR"}, "other", "price.amount"),
        ("tags", ["knots"], "other", "tags[0]"),
        ("tails", {"start": "200 mm"}, "other", "tails.start"),
        ("edition", {"number": 1, "date": "2026-05-01"}, "edition", "date"),
    ],
)
def test_what_stands_beside_the_work_is_listed(
    changed: Changed, key: str, value: object, group: str, what: str
) -> None:
    """Every other key is compared too, in its group, and buyers need not be told."""
    found = changed(lambda tree: tree.update({key: value}))
    assert (group, what) in {(change.group, change.what) for change in found.changes}
    assert found.work == ()


def test_the_edition_is_to_be_raised_where_the_work_changed(changed: Changed) -> None:
    """With the same number it is to be raised to the next; with a higher one of its own that one stands."""

    def change(number: int) -> Callable[[Tree], object]:
        return lambda tree: tree["edition"].update(number=number) or tree["rounds"][0].update(rows=4)

    assert [(changed(change(n)).to_be_raised, changed(change(n)).next_edition) for n in (1, 2, 5)] == [
        (True, 2), (False, 2), (False, 5),
    ]  # fmt: skip


def test_every_key_of_a_pattern_is_compared() -> None:
    """The keys that are compared by their meaning are keys of a pattern; all others are compared as written."""
    assert set(Pattern.model_fields) >= COVERED


def test_every_change_has_its_words(symbols: SymbolSet) -> None:
    """From a plain pattern to one that says everything, and back: all changes have a line, those of the work a sentence."""
    one, other = (check_file(CASES / "good" / f"{name}.yaml") for name in ("harbour-wheel", "everything"))
    for old, new in ((one, other), (other, one)):
        found = compare(old, new)
        wording = Wording(found, symbols)
        assert {change.group for change in found.changes} == set(GROUPS)
        assert all(wording.line(change) for change in found.changes)
        sentences = [wording.sentence(change) for change in found.work]
        assert all(sentence.endswith(".") and "None" not in sentence for sentence in sentences), sentences


@pytest.mark.parametrize(
    ("change", "sentences"),
    [
        (put("rounds", 1, {"knot": {"rays": 6}, "at": "15 mm"}), ["Round 2: groups of 6 instead of 4."]),
        (put("rounds", 0, {"darn": {"over": 3, "under": 3}, "rows": 1, "at": "4 mm"}), [
            "Round 1: over 3 and under 3 instead of over 2 and under 2.", "Round 1: 1 row instead of 3.",
        ]),
        (put("rounds", 2, {"knot": {"rays": 4, "shift": 2}, "gap": "4.5 mm", "note": "Loosely."}), [
            "Round 3: 4.5 mm from the round before instead of 5 mm.",
        ]),
        (put("rounds", 1, {"knot": {"rays": 4}, "at": "15 mm", "close": False}), [
            "Round 2: do not close the round; the next one goes on from its last knot.",
        ]),
        (put("rounds", 4, {"edge-arches": {}, "thread": "B"}), [
            "Round 5: arch edge 2 × 24, {} from the round before, thread B, instead of loop edge.",
        ]),
        (put("loom", "diameter", "81 mm"), ["Loom: diameter 81 mm instead of 80 mm."]),
        (put("loom", "hold", "notch"), ["Loom: notches instead of loops of holding thread."]),
        (lambda tree: tree["threads"]["A"].update(colour_name="sea green"), [
            "Thread A: the colour sea green instead of blue.",
        ]),
        (put("web", "thread", "B"), ["The web is laid with thread B instead of A."]),
    ],
)  # fmt: skip
def test_sentences_are_in_the_words_of_a_leaflet(
    changed: Changed, symbols: SymbolSet, change: Callable[[Tree], object], sentences: list[str]
) -> None:
    """Each change of the work has its sentence; rounds are counted from 1."""
    found = changed(change)
    made = {Wording(found, symbols).sentence(entry) for entry in found.work}
    assert {sentence.format(found.new.rounds[-1].distance) for sentence in sentences} <= made
