"""What is done to one file: what kind it is, what is found beside the craft's own rules, and how it is told."""

from collections.abc import Callable, Iterable, Iterator
from typing import Any

import pytest
import yaml

from pipeline.craft.check import Checked, check, in_other_threads
from pipeline.problems import Finding, Severity
from pipeline.records import Photo
from pipeline.symbols import SymbolSet

CheckText = Callable[..., Checked]


def told(checked: Checked) -> list[tuple[str, str, str]]:
    """Code, path and message of every problem."""
    return [(problem.code, problem.path, problem.message) for problem in checked.problems]


# Kinds of file


def test_an_unreadable_file_has_only_its_problems(check_text: CheckText) -> None:
    """Bytes that are no UTF-8: neither id nor pins nor figures, and the object says so."""
    checked = check_text(b"\xff\xfe")
    assert (checked.id, checked.pins, checked.source, checked.pattern, checked.lace) == (None, None, None, None, None)
    assert [problem.code for problem in checked.problems] == ["not-utf-8"]
    assert checked.file == checked.problems[0].file == "trial.yaml"
    found = checked.as_json()
    assert (set(found), found["ok"], found["problems"][0]["code"]) == ({"ok", "problems"}, False, "not-utf-8")


def test_a_broken_pattern_says_what_is_known_of_it(check_text: CheckText, example: dict[str, Any]) -> None:
    """Without a title there is no lace, but the id, the pins and two rays to each are told."""
    del example["title"]
    found = check_text(example).as_json()
    assert (found["pattern"], found["ok"], found["pins"], found["rays"]) == ("trial", False, 24, 48)
    assert set(found) == {"pattern", "ok", "pins", "rays", "problems"}


def test_counts_of_a_broken_pattern_are_those_of_a_sound_one(check_text: CheckText, example: dict[str, Any]) -> None:
    """Sixteen rays at a time are three bundles of two rays to each of 24 pins, an odd number, with a title or without."""
    example["rounds"] = [{"darn": {"over": 16, "under": 16, "parity": "pair-once"}}]
    del example["title"]
    (found,) = [problem for problem in check_text(example).problems if problem.path.startswith("rounds")]
    assert (found.code, found.message[:9]) == ("parity-not-needed", "3 bundles")


@pytest.mark.parametrize(
    ("sound", "broken", "code"),
    [
        ("publisher: Quay\n", "publisher: Quay\ncolour: blue\n", "key-unknown"),
        (
            "loom: trial\nname: A card\nshape: circle\nrings:\n  - {diameter: 80 mm, holes: 24, web: true}\n",
            "loom: other\nname: A card\nshape: circle\nrings:\n  - {diameter: 80 mm, holes: 24, web: true}\n",
            "id-not-file-name",
        ),
        ("", "stitch: trial\n", "key-missing"),
        ("", "sign: trial\n", "key-missing"),
    ],
)
def test_other_files_are_checked_by_their_own_rules(check_text: CheckText, sound: str, broken: str, code: str) -> None:
    """The first key says the kind; what is no pattern has no figures, and its problems are those of its kind."""
    checked = check_text(broken)
    assert code in {problem.code for problem in checked.problems}
    assert (checked.id, checked.pins, checked.pattern, checked.lace, checked.file) == (
        None,
        None,
        None,
        None,
        "trial.yaml",
    )
    assert checked.source is not None
    assert not sound or check_text(sound).problems == ()


def test_a_shipped_symbol_is_sound(check_text: CheckText, symbols: SymbolSet) -> None:
    """A file that begins with ``stitch`` and has all it needs has no problem."""
    from pipeline.workspace import shipped  # noqa: PLC0415

    assert "knot" in symbols.stitches
    assert check_text((shipped("symbols") / "knot.yaml").read_bytes(), "knot").problems == ()


# What is found


def test_an_id_is_the_file_s_name(check_text: CheckText, example: dict[str, Any], symbols: SymbolSet) -> None:
    """Another name is told with the id that is written; what has no name has no other."""
    assert [(code, path) for code, path, _ in told(check_text(example, "other"))] == [("id-not-file-name", "id")]
    assert "`trial`" in check_text(example, "other").problems[0].message + check_text(example, "other").problems[0].hint
    assert check("-", yaml.safe_dump(example, sort_keys=False).encode(), None, symbols, {}).problems == ()


def test_counts_of_a_broken_file_are_told_too(check_text: CheckText, example: dict[str, Any]) -> None:
    """Both rounds that do not divide 48 rays, each at its own place; on a half-circle what ties nothing as well."""
    del example["title"]
    example["rounds"] = [
        {"knot": {"rays": 7}, "at": "15 mm"},
        {"knot": {"rays": 4}},
        {"knot": {"rays": 5}, "at": "15 mm"},
    ]
    found = [(code, path) for code, path, _ in told(check_text(example)) if code == "rays-do-not-divide"]
    assert found == [("rays-do-not-divide", "rounds[0].knot.rays"), ("rays-do-not-divide", "rounds[2].knot.rays")]
    example["loom"]["shape"] = "half-circle"
    example["rounds"] = [{"knot": {"rays": 4, "shift": 45}, "at": "15 mm"}]
    assert "nothing-tied" in {problem.code for problem in check_text(example).problems}


def test_without_pins_no_counts_are_told(check_text: CheckText, example: dict[str, Any]) -> None:
    """Where the pins are missing nothing is said about what would divide them."""
    del example["loom"]["pins"]
    example["rounds"] = [{"knot": {"rays": 7}, "at": "15 mm"}]
    checked = check_text(example)
    assert (checked.pins, [code for code, _, _ in told(checked)]) == (None, ["key-missing"])
    assert set(checked.as_json()) == {"pattern", "ok", "problems"}


def test_what_fails_in_another_size_is_told_at_that_size(check_text: CheckText, example: dict[str, Any]) -> None:
    """Knots of four rays at 15 mm of 40; in a size of 8 mm across they come to lie at 1.5 mm and have no room there.

    Twelve stand 2·1.5·sin 15° = 0.776 mm apart and are d·√(4/0.75) + d = 0.783 mm wide.
    """
    example["rounds"] = [{"knot": {"rays": 4}, "at": "15 mm"}]
    example["sizes"] = [
        {"name": "M", "loom": {"diameter": "70 mm", "pins": 24}}, {"name": "S", "loom": {"diameter": "8 mm", "pins": 24}},
    ]  # fmt: skip
    (problem,) = check_text(example).problems
    assert (problem.code, problem.path, problem.severity) == ("size-fails", "sizes[1]", Severity.ERROR)
    assert problem.message == "in size S: knots stand 0.78 mm apart, less than their own 0.78 mm"


def test_a_warning_in_another_size_is_a_warning(check_text: CheckText, example: dict[str, Any]) -> None:
    """An odd number of pins in a size strains it; notes of that size are not told here."""
    example["rounds"] = [{"knot": {"rays": 2}, "at": "15 mm"}]
    example["sizes"] = [{"name": "odd", "loom": {"diameter": "80 mm", "pins": 25}}]
    checked = check_text(example)
    ((code, path, message),) = told(checked)
    assert (code, path, checked.problems[0].severity) == ("size-strained", "sizes[0]", Severity.WARNING)
    assert message == "in size odd: 25 pins: none has an opposite, so the threads pass beside the centre"
    example["rounds"] = [{"darn": {"over": 1, "under": 1}, "rows": 1, "at": "4 mm"}]
    example["sizes"] = [{"name": "S", "loom": {"diameter": "50 mm", "pins": 24}}]
    assert check_text(example).problems == ()


def test_what_a_sample_took_is_told_in_metres(check_text: CheckText, example: dict[str, Any]) -> None:
    """Measured, estimate and how far the estimate was, with its sign; of the threads that were measured."""
    example["threads"]["B"] = dict(example["threads"]["A"])
    example["rounds"][1]["thread"] = "B"
    plain = check_text(example).lace
    assert plain is not None
    estimate = plain.totals["A"].total / 1000
    for factor, sign in ((0.5, "+"), (2.0, "-")):
        example["measured"] = {"A": f"{estimate * factor:.2f} m"}
        ((code, path, message),) = told(check_text(example))
        took = float(f"{estimate * factor:.2f}")
        assert (code, path) == ("measured-thread", "measured.A")
        assert (
            message
            == f"thread A: the sample took {took:.2f} m, the estimate is {estimate:.2f} m ({estimate / took * 100 - 100:+.0f} %)"
        )
        assert sign in message


def test_an_estimate_is_told_to_the_centimetre(check_text: CheckText, example: dict[str, Any]) -> None:
    """A web of 24 pins on a loom 800 mm across, alone in its thread, of which a sample took 20 m.

    12 diameters, 11 chords of 793.16 mm, half a ray at either end, 24 half turns of 0.74 mm and two ends of 150 mm make
    9600 + 8724.72 + 800 + 17.85 + 300 = 19 442.6 mm.
    """
    example["loom"]["diameter"] = "800 mm"
    example["threads"]["B"] = dict(example["threads"]["A"])
    example |= {"web": {"thread": "B"}, "measured": {"B": "20 m"}}
    for entry in example["rounds"]:
        entry["thread"] = "A"
    (message,) = [message for code, _, message in told(check_text(example)) if code == "measured-thread"]
    assert message == "thread B: the sample took 20.00 m, the estimate is 19.44 m (-3 %)"


def test_a_warning_that_is_answered_for_is_a_note_with_its_reason(
    check_text: CheckText, example: dict[str, Any]
) -> None:
    """It is clean then; other warnings stay, and a reason for what does not occur is told at its key."""
    example["loom"]["pins"] = 25
    example["rounds"] = [{"knot": {"rays": 2}, "at": "15 mm"}]
    before = check_text(example)
    assert (before.ok, before.clean) == (True, False)
    example["accepts"] = {"odd-pins": "worked as a sample"}
    checked = check_text(example)
    (problem,) = checked.problems
    assert (checked.ok, checked.clean, problem.severity) == (True, True, Severity.NOTE)
    assert problem.message.endswith("(accepted: worked as a sample)")
    example["accepts"] = {"odd-pins": "worked", "edge-far-in": "meant"}
    found = check_text(example)
    assert [(p.code, p.path) for p in found.problems if p.code != "odd-pins"] == [
        ("accepted-for-nothing", "accepts.edge-far-in")
    ]
    (useless,) = (p for p in found.problems if p.code != "odd-pins")
    assert "`edge-far-in`" in useless.message
    line = useless.text
    assert line[useless.span.column - 1 :].startswith("edge-far-in"), "at the key, not at its reason"


def test_an_error_is_neither_ok_nor_clean_and_a_note_is_both(check_text: CheckText, example: dict[str, Any]) -> None:
    """An error, a warning, a note, nothing."""
    states = []
    for rounds, pins in (
        ([{"knot": {"rays": 7}, "at": "15 mm"}], 24),
        ([{"knot": {"rays": 2}, "at": "15 mm"}], 25),
        ([{"darn": {"over": 1, "under": 1}, "rows": 1, "at": "2.5 mm"}], 24),
        ([{"knot": {"rays": 2}, "at": "15 mm"}], 24),
    ):
        checked = check_text(example | {"rounds": rounds, "loom": example["loom"] | {"pins": pins}})
        states.append((len(checked.problems), checked.ok, checked.clean))
    assert states == [(1, False, False), (1, True, False), (1, True, True), (0, True, True)]


def test_values_are_tried_only_where_that_is_asked_for(example: dict[str, Any], symbols: SymbolSet) -> None:
    """The same findings, with and without what would help."""
    example["rounds"] = [{"knot": {"rays": 7}, "at": "15 mm"}]
    data = yaml.safe_dump(example, sort_keys=False).encode()
    plain, advised = (check("trial.yaml", data, "trial", symbols, {}, advised=wanted) for wanted in (False, True))
    assert [problem.code for problem in plain.problems] == [problem.code for problem in advised.problems]
    assert ["tried" in checked.problems[0].hint for checked in (plain, advised)] == [False, True]
    assert "tried" in check("trial.yaml", data, "trial", symbols, {}).problems[0].hint


def test_photographs_are_looked_at_by_the_rule_that_is_given(example: dict[str, Any], symbols: SymbolSet) -> None:
    """It gets every photograph that is written, and what it finds is told at its place."""
    example["photos"] = [{"file": "photos/wheel.jpg", "alt": "A wheel"}]
    seen: list[Photo | None] = []

    def rule(photos: Iterable[Photo | None]) -> Iterator[Finding]:
        seen.extend(photos)
        yield Finding("photo-missing", ("photos", 0, "file"), {"file": "photos/wheel.jpg", "hint": "take one"})

    data = yaml.safe_dump(example, sort_keys=False).encode()
    checked = check("trial.yaml", data, "trial", symbols, {}, photos=rule)
    assert [photo and photo.file for photo in seen] == ["photos/wheel.jpg"]
    assert told(checked) == [("photo-missing", "photos[0].file", "there is no file `photos/wheel.jpg`")]
    assert check("trial.yaml", data, "trial", symbols, {}).problems == ()


# Other threads


def test_other_threads_have_no_other_count_left(
    check_text: CheckText, example: dict[str, Any], symbols: SymbolSet
) -> None:
    """A thread given by its ball is worked in 90 tex: that counts, no ball does, and other letters stay as they are."""
    ball = {"fibre": "cotton", "metres": 5, "grams": 0.2, "colour": "#1b4f72", "colour_name": "blue"}
    example["threads"] = {"A": ball, "B": dict(ball)}
    example["rounds"][1]["thread"] = "B"
    data = yaml.safe_dump(example, sort_keys=False).encode()
    found = check("trial.yaml", data, "trial", symbols, {}, {"A": 90.0}).as_json()["threads"]
    assert [(found[letter]["tex"], found[letter]["balls"] is None) for letter in "AB"] == [(90, True), (40, False)]
    whole = check_text(example).pattern
    assert whole is not None
    changed = in_other_threads(whole, {"A": 90.0}).threads
    assert [(changed[letter].metres, changed[letter].grams) for letter in "AB"] == [(None, None), (5, 0.2)]
    for count in ("ne", "nm", "denier"):
        thread = {key: value for key, value in ball.items() if key not in {"metres", "grams"}} | {count: 20}
        pattern = check_text(example | {"threads": {"A": thread, "B": thread}}).pattern
        assert pattern is not None
        changed = in_other_threads(pattern, {"A": 90.0}).threads
        assert (changed["A"].tex, getattr(changed["A"], count), getattr(changed["B"], count)) == (90, None, 20)
        assert (changed["A"].metres, changed["A"].grams, changed["A"].fibre) == (None, None, "cotton")


@pytest.mark.parametrize("stitch", ["knot", "wrap", "bar", "leaf", "point"])
@pytest.mark.parametrize("pins", [8, 12])
@pytest.mark.parametrize("size", [{"shape": "square", "side": "80 mm"}, {"shape": "circle", "diameter": "80 mm"}])
def test_a_group_of_all_rays_is_told(
    check_text: CheckText, example: dict[str, Any], size: dict[str, Any], pins: int, stitch: str
) -> None:
    """They may draw to all sides alike: then the middle of the group is the centre, from which no direction leads."""
    told: dict[str, Any] = {"rays": 2 * pins}
    entry: dict[str, Any] = {stitch: told} if stitch in {"knot", "wrap"} else {"weave": told | {"as": stitch}}
    entry |= {"at": "10 mm"} if stitch == "knot" else {"at": "10 mm", "to": "26 mm"}
    codes = {p.code for p in check_text(example | {"loom": size | {"pins": pins}, "rounds": [entry]}).problems}
    assert {"too-few-groups", "group-too-wide"} <= codes
