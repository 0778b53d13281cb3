"""The pattern as written."""

import copy
import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from pipeline.craft.check import Checked
from pipeline.pattern import parse
from pipeline.pattern_model import RESERVED, pattern_model
from pipeline.problems import RULES, Severity
from pipeline.source import read
from pipeline.symbols import SymbolSet

CheckText = Callable[..., Checked]
GOOD = Path(__file__).parent / "cases" / "good" / "harbour-wheel.yaml"
EVERYTHING = GOOD.with_name("everything.yaml")

EVERYTHING_ELSE = """\
web: {thread: A}                              # default: the first thread
holding_thread: {fibre: cotton, tex: 50, colour: "#999999", colour_name: grey}   # default: as the web
finish: {stiffen: optional}                   # never, optional, always
tools: [blunt-needle, bent-needle, scissors]  # ids with texts in symbols/; or free text
working_length: 1500 mm
tails: {start: 150 mm, finish: 150 mm, rejoin: 100 mm}
give: {pin: 1.5 mm, fibre_pct: 3, slack_pct: 2}
measured: {A: 7.4 m}                          # thread a sample really took
accepts: {odd-pins: "worked as a sample, March 2026"}   # warnings the designer answers for; never errors
photos: [{file: photos/harbour.jpg, alt: The finished wheel on dark cloth, place: title}]
links: [{url: "https://example.org/harbour", label: Corrections}]   # printed as QR code and address
sizes: [{name: S, loom: {diameter: 60 mm, pins: 42}}]
assembly: {layout: hex, columns: 5, rows: 4, joins: 3}
sku: HW-01
price: {amount: "6.50", currency: EUR}
tags: [beginner]
"""
"""The second example of design section 4."""


def codes(checked: Checked, *, least: Severity = Severity.WARNING) -> list[str]:
    """Codes of problems at least so heavy."""
    heavy = [Severity.ERROR] if least is Severity.ERROR else [Severity.ERROR, Severity.WARNING]
    return [problem.code for problem in checked.problems if problem.severity in heavy]


def test_every_key_of_the_design_is_read_without_complaint(check_text: CheckText) -> None:
    """The two examples of design section 4 together have neither error nor warning."""
    checked = check_text(GOOD.read_text(encoding="utf-8") + EVERYTHING_ELSE, "harbour-wheel")
    assert codes(checked) == []
    pattern = checked.pattern
    assert pattern is not None
    assert (pattern.working_length, pattern.tails.rejoin, pattern.give.pin, pattern.measured) == (
        1500,
        100,
        1.5,
        {"A": 7400},
    )
    assert (pattern.web_thread, pattern.finish.stiffen, pattern.sku, str(pattern.price and pattern.price.amount)) == (
        "A",
        "optional",
        "HW-01",
        "6.50",
    )


@pytest.mark.parametrize("key", ["corrections", "summary"])
def test_two_keys_of_the_first_example_may_be_missing(check_text: CheckText, key: str) -> None:
    """Of the first example only ``corrections`` and ``summary`` may be missing."""
    tree = yaml.load(GOOD.read_text(encoding="utf-8"), Loader=yaml.BaseLoader)  # noqa: S506  (texts alone)
    text = GOOD.read_text(encoding="utf-8")
    without = re.sub(rf"(?m)^{key}:.*\n(  - .*\n)*", "", text)
    assert key in tree
    assert without != text
    assert codes(check_text(without, "harbour-wheel")) == []


@pytest.mark.parametrize(
    "key", ["spokeleaf", "id", "title", "language", "level", "edition", "loom", "threads", "rounds"]
)
def test_the_others_may_not(check_text: CheckText, example: dict[str, Any], key: str) -> None:
    """Every other key of the first example is missed where it is missing."""
    del example[key]
    checked = check_text(example)
    assert "key-missing" in codes(checked)
    assert any(problem.message == f"`{key}` is missing" for problem in checked.problems)


def test_defaults_are_those_of_the_design(check_text: CheckText, example: dict[str, Any]) -> None:
    """What the second example shows for working_length, tails and give is what holds where nothing is said."""
    short = check_text(example).pattern
    example |= {
        "working_length": "1500 mm",
        "tails": {"start": "150 mm", "finish": "150 mm", "rejoin": "100 mm"},
        "give": {"pin": "1.5 mm", "slack_pct": 2},
        "web": {"thread": "A"},
    }
    example["loom"]["hold"] = "thread"
    long = check_text(example).pattern
    assert short is not None
    assert long is not None
    assert short.model_copy(update={"web": long.web}) == long


@pytest.mark.parametrize("written", ["1904", "00123", "true", "no", "2026-03-14", "12:30", "1_000", "0x1F", "1.50"])
def test_a_bare_word_in_a_text_is_taken_as_written(check_text: CheckText, written: str) -> None:
    """A title or article number keeps its zeros, and no word becomes a truth, a date or a number."""
    text = GOOD.read_text(encoding="utf-8").replace("title: Harbour Wheel", f"title: {written}\nsku: {written}")
    pattern = check_text(text, "harbour-wheel").pattern
    assert pattern is not None
    assert (pattern.title, pattern.sku) == (written, written)


@pytest.mark.parametrize(
    ("weight", "tex"),
    [
        ({"tex": 20}, 20.0),
        ({"nm": 50}, 20.0),
        ({"denier": 180}, 20.0),
        ({"metres": 250, "grams": 5}, 20.0),
        ({"ne": 29.52705}, 20.0),
    ],
)
def test_a_thread_is_as_thick_however_it_is_given(
    check_text: CheckText, example: dict[str, Any], weight: dict[str, float], tex: float
) -> None:
    """Each way to give a thickness is read, and the same thread comes of it."""
    del example["threads"]["A"]["tex"]
    example["threads"]["A"] |= weight
    pattern = check_text(example).pattern
    assert pattern is not None
    assert pattern.threads["A"].linear_density_tex == pytest.approx(tex, rel=1e-6)


# Published counts and sizes that a pattern file must be able to say. Sources: 24 pins on radii of 4 and 3.8 cm:
# atelier-yuusin.com/te-sam-darning01 and te-sam-knottidori; 32 pins on 5 cm: brico-et-fantaisie.com, press of 1950;
# 18 holes on 5 cm: puntoypunto.myblog.it, 2012; 54 loops: bellaonline.com, article 182808; 120 to 150 rays on 2 in:
# Wikipedia "Ñandutí" after Sanjurjo 1978.
@pytest.mark.parametrize(
    ("pins", "diameter"),
    [(24, "8 cm"), (24, "7.6 cm"), (32, "5 cm"), (18, "5 cm"), (54, "6 in"), (60, "2 in"), (74, "2 in"), (12, "4 cm")],
)
def test_published_counts_can_be_said(check_text: CheckText, example: dict[str, Any], pins: int, diameter: str) -> None:
    """Looms that books and pages describe are read without error."""
    example["loom"] |= {"pins": pins, "diameter": diameter}
    example["rounds"] = [{"darn": {"over": 1, "under": 1}}, {"edge-loops": {}}]
    checked = check_text(example)
    assert codes(checked, least=Severity.ERROR) == []
    assert checked.as_json()["rays"] == 2 * pins


def test_published_guide_radii_can_be_worked(check_text: CheckText, example: dict[str, Any]) -> None:
    """The sample of 24 pins with guide circles at 0.6 to 3.8 cm on a radius of 4 cm is read, round by round.

    Source: atelier-yuusin.com/te-sam-darning01: outer radius 4 cm, guides 0.6, 1.1, 1.6, 2, 2.4, 2.8, 3.2, 3.8 cm.
    """
    guides = [0.6, 1.1, 1.6, 2, 2.4, 2.8, 3.2, 3.8]
    example["rounds"] = [{"darn": {"over": 1, "under": 1}, "at": f"{guide} cm"} for guide in guides]
    found = check_text(example).as_json()
    assert found["ok"]
    assert [facts["radius_mm"] for facts in found["rounds"]] == pytest.approx([10 * guide for guide in guides])


def test_published_rows_of_knots_can_be_worked(check_text: CheckText, example: dict[str, Any]) -> None:
    """The sample of 24 pins with knots at 0.6 to 3.4 cm on a radius of 3.8 cm, pairs changing partners, reaches.

    Source: atelier-yuusin.com/te-sam-knottidori: outer radius 3.8 cm, guides 0.6, 1, 1.7, 2.4, 3.4 cm; pairs change
    between rows. (Four knot variants and two herringbones there; knots and free rays here.)
    """
    example["loom"]["diameter"] = "7.6 cm"
    guides = [0.6, 1, 1.7, 2.4, 3.4]
    example["rounds"] = [
        {"knot": {"rays": 2, "shift": number % 2}, "at": f"{guide} cm"} for number, guide in enumerate(guides)
    ]
    found = check_text(example).as_json()
    assert found["ok"]
    assert [facts["radius_mm"] for facts in found["rounds"]] == pytest.approx([10 * guide for guide in guides])
    assert found["stretch"]["max_budget"] < 2


def test_a_misspelt_key_is_told_with_the_nearest_word(check_text: CheckText, example: dict[str, Any]) -> None:
    """Only words that may stand at that place are offered."""
    example["loom"]["diametre"] = example["loom"].pop("diameter")
    example["rounds"][1]["knott"] = example["rounds"][1].pop("knot")
    example["threads"]["A"]["color"] = "#223344"
    hints = {problem.path: problem.hint for problem in check_text(example).problems if problem.code == "key-unknown"}
    assert hints == {
        "loom.diametre": "did you mean `diameter`?",
        "rounds[1].knott": "did you mean `knot`?",
        "threads.A.color": "did you mean `colour`?",
    }


def test_a_key_that_is_not_far_enough_in_is_told_where_it_belongs(
    check_text: CheckText, example: dict[str, Any]
) -> None:
    """The usual slip of indentation: what a stitch or a loom is told stands beside it."""
    example |= {"rounds": [{"knot": {}, "rays": 4, "at": "15 mm"}], "pins": 24}
    hints = {problem.path: problem.hint for problem in check_text(example).problems if problem.code == "key-unknown"}
    assert hints == {
        "rounds[0].rays": "`rays` belongs to `knot`: indent it further than that, or write `knot: {rays: …}`",
        "pins": "`pins` belongs to `loom`: indent it further than that, or write `loom: {pins: …}`",
    }


def test_what_belongs_into_a_list_is_not_told_to_stand_in_braces(
    check_text: CheckText, example: dict[str, Any]
) -> None:
    """Braces would make one mapping of the rounds; for a stitch that says nothing yet they are the way."""
    text = GOOD.read_text(encoding="utf-8").replace("- darn: {over: 2, under: 2}", "- darn:\n    over: 2")
    hints = {problem.path: problem.hint for problem in check_text(text).problems if problem.code == "key-unknown"}
    assert hints == {
        "rounds[0].over": "`over` belongs to `darn`: indent it further than that, or write `darn: {over: …}`",
    }
    example |= {"rows": 3}
    hints = {problem.path: problem.hint for problem in check_text(example).problems if problem.code == "key-unknown"}
    assert hints == {"rows": "`rows` belongs to `rounds`: indent it further than that"}


def test_rounds_past_the_most_are_not_looked_at(check_text: CheckText, example: dict[str, Any]) -> None:
    """A round that is broken there is told of with those that are too many, and stops nobody."""
    sound, broken = {"knot": {"rays": 6}, "gap": "1 mm"}, {"knot": {"rays": "six"}, "gap": "1 mm"}
    example["rounds"] = [sound] * 501 + [broken]
    assert codes(check_text(example)) == ["list-too-long"]


def test_a_working_length_is_longer_than_its_joins(check_text: CheckText, example: dict[str, Any]) -> None:
    """The hint names the end that counts: what a join uses up, not what is left at start and finish."""
    example |= {"working_length": "100 mm", "tails": {"start": "300 mm", "rejoin": "100 mm"}}
    (problem,) = [found for found in check_text(example).problems if found.code == "working-length-too-short"]
    assert problem.hint == "make it longer than `tails: {rejoin}`"
    example["working_length"] = "101 mm"
    assert "working-length-too-short" not in codes(check_text(example))


def test_a_pattern_tells_the_colours_of_its_threads(check_text: CheckText, example: dict[str, Any]) -> None:
    """Each under its letter."""
    example["threads"]["B"] = {"fibre": "linen", "tex": 50, "colour": "#AA0000", "colour_name": "red"}
    pattern = check_text(example).pattern
    assert pattern is not None
    assert pattern.colours == {"A": "#1b4f72", "B": "#aa0000"}


@pytest.mark.parametrize("pins", ["²", "٣", "1" * 5000, "+24", "2_4", "24.0", "0x18", "None"])
def test_odd_spellings_of_a_number_are_refused(check_text: CheckText, pins: str) -> None:
    """Superscripts, digits of other scripts and numbers of many digits are refused where they stand."""
    text = GOOD.read_text(encoding="utf-8").replace("pins: 60", f"pins: {pins}")
    checked = check_text(text, "harbour-wheel")
    assert pins == "+24" or [problem.path for problem in checked.problems][:1] == ["loom.pins"]


@pytest.mark.parametrize(
    "path", [("threads", "A", "tex"), ("summary",), ("rounds", 1, "note"), ("web",), ("rounds", 0, "darn"), ("tags", 0)]
)
def test_an_empty_value_is_an_error_everywhere(
    check_text: CheckText, example: dict[str, Any], path: tuple[str | int, ...]
) -> None:
    """A key with nothing after it is an error, even if the key may be left out."""
    example["tags"] = ["a"]
    inner: Any = example
    for step in path[:-1]:
        inner = inner[step]
    inner[path[-1]] = None
    text = yaml.safe_dump(example, sort_keys=False).replace(" null", "")
    found = [(problem.code, problem.path) for problem in check_text(text).problems]
    spelled = re.sub(r"\.(\d+)", r"[\1]", ".".join(map(str, path)))
    assert found == [("value-missing", spelled)]


def test_errors_of_form_do_not_hide_counts_that_do_not_divide(check_text: CheckText, example: dict[str, Any]) -> None:
    """All errors at once: five of five kinds in one file, in the order of their lines."""
    example["level"] = 6
    example["loom"]["diameter"] = "80"
    example["rounds"][1]["knot"]["rays"] = 7
    example["rounds"].append({"at": "20 mm"})
    example["web"] = {"thread": "Z"}
    expected = ["number-too-large", "unit-missing", "rays-do-not-divide", "stitch-missing", "thread-unknown"]
    assert codes(check_text(example)) == expected


def test_the_same_source_gives_the_same_pattern(symbols: SymbolSet) -> None:
    """Parsing is a function: what comes of it is equal, and frozen."""
    source = read("x.yaml", GOOD.read_bytes())
    first, second = parse(source, symbols.forms, {}), parse(source, symbols.forms, {})
    assert first == second
    assert first.pattern is not None
    with pytest.raises(ValueError, match="frozen"):
        first.pattern.title = "Other"  # type: ignore[misc]


ODD_VALUES: list[Any] = [
    None, "", "~", "²", -1, 0, 0.5, 1e308, 7, 25, True, [], {}, [[]], {"a": "b"}, "24", {"pass": 2}, [2, {"pass": 2}],
    [{"pass": 4}], "tight", "5 mm", "200%", "0 mm", "-3 mm", "9,5 mm", "#abc", "knot", "A", "a", [6, 6], "\u2028",
    "1" * 5000, {"rays": [4, {"pass": 4, "x": 1}]}, {"over": 3, "under": 1}, {"inset": "40%"}, {1: 2},
]  # fmt: skip


def paths_in(tree: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """Every place in a tree."""
    inner = tree.items() if isinstance(tree, dict) else enumerate(tree) if isinstance(tree, list) else ()
    return [path] * bool(path) + [found for key, value in inner for found in paths_in(value, (*path, key))]


HOSTILE_VALUES: list[Any] = [
    None, "", " ", [], {}, [[]], [None], {"a": "b"}, {"pass": 1}, [{"pass": 1}], [1, [2]], True, "true", -1, 0, 0.5,
    10**14, 10**18, 1e300, "1e999", float("inf"), "tight", "0 mm", "300 mm", "200%", "x", "Z", "\U0001f9f5", "odd-pins",
]  # fmt: skip


def test_the_pattern_that_says_everything_says_everything(symbols: SymbolSet) -> None:
    """Every key of a pattern and a round, every stitch and every parameter stands in it: none can be forgotten below."""
    tree = yaml.safe_load(EVERYTHING.read_text(encoding="utf-8"))
    model = pattern_model(symbols.forms)
    assert {field.alias or name for name, field in model.model_fields.items()} == {*tree, "summary"}
    written = {key for entry in tree["rounds"] for key in entry}
    assert written >= {*RESERVED} | (set(symbols.stitches) - {"edge-loops", "edge-arches"})
    for name, stitch in symbols.stitches.items():
        told = {key for entry in tree["rounds"] for key in entry.get(name, {})}
        assert name.startswith("edge-") or told == set(stitch.parameters), name


@pytest.mark.parametrize("start", range(4))
def test_every_place_of_a_pattern_bears_any_value(check_text: CheckText, start: int) -> None:
    """One odd value after another in every place, also the whole of a list or mapping: problems in words, or a lace.

    Each place meets a quarter of the values by chance of its number, so that all values meet all kinds of places.
    """
    tree = yaml.safe_load(EVERYTHING.read_text(encoding="utf-8"))
    tree["edition"]["date"] = "2026-03-14"
    for number, path in enumerate(paths_in(tree)):
        odd = HOSTILE_VALUES[(7 * number + 8 * start) % len(HOSTILE_VALUES)]
        changed = copy.deepcopy(tree)
        inner: Any = changed
        for step in path[:-1]:
            inner = inner[step]
        inner[path[-1]] = copy.deepcopy(odd)
        checked = check_text(changed, "everything")
        assert {problem.code for problem in checked.problems} <= set(RULES)
        assert checked.ok <= (checked.lace is not None), (path, odd)
        json.dumps(checked.as_json(), allow_nan=False)


def test_a_loom_larger_than_any_room_is_absurd(check_text: CheckText, example: dict[str, Any]) -> None:
    """A loom of a kilometre is a slip of the unit: design section 4 has absurd sizes for errors."""
    example["loom"]["diameter"] = "1000 m"
    assert not check_text(example).ok


@settings(max_examples=120, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_no_value_anywhere_makes_the_reader_stumble(check_text: CheckText, data: st.DataObject) -> None:
    """Whatever stands in any place, there are problems with known codes in lines of the file, or a lace."""
    tree = yaml.safe_load(GOOD.read_text(encoding="utf-8") + EVERYTHING_ELSE)
    tree["edition"]["date"] = "2026-03-14"
    for _ in range(data.draw(st.integers(1, 3))):
        path = data.draw(st.sampled_from(paths_in(tree)))
        inner: Any = tree
        for step in path[:-1]:
            inner = inner[step]
        if data.draw(st.integers(0, 4)):
            inner[path[-1]] = copy.deepcopy(data.draw(st.sampled_from(ODD_VALUES)))
        else:
            del inner[path[-1]]
    text = yaml.safe_dump(tree, sort_keys=False)
    checked = check_text(text, "harbour-wheel")
    lines = text.split("\n")
    for problem in checked.problems:
        assert problem.code in RULES
        assert 1 <= problem.span.line <= len(lines)
        assert 1 <= problem.span.column <= len(lines[problem.span.line - 1]) + 1
    assert checked.ok <= (checked.lace is not None)
    json.dumps(checked.as_json(), allow_nan=False)


@pytest.mark.parametrize("name", ["Größe", "Harbour", "harbour wheel"])
def test_an_id_that_is_none_is_told_once_and_what_it_is_made_of(check_text: CheckText, name: str) -> None:
    """Nobody is sent to call the file by it."""
    text = GOOD.read_text(encoding="utf-8").replace("id: harbour-wheel", f"id: {name}")
    checked = check_text(text, "harbour-wheel")
    assert codes(checked) == ["text-shape"]
    assert checked.problems[0].hint == "small letters a to z (no accents), digits and single hyphens"


@pytest.mark.parametrize(
    ("right", "wrong"),
    [("diameter:", "diamter:"), ("colour:", "color:"), ("rays:", "ray:"), ("title:", "Title:")],
)
def test_a_misspelt_key_is_told_once(check_text: CheckText, right: str, wrong: str) -> None:
    """Where its hint names the key that is missing for it."""
    text = GOOD.read_text(encoding="utf-8")
    assert right in text
    checked = check_text(text.replace(right, wrong, 1), "harbour-wheel")
    assert codes(checked) == ["key-unknown"]
    assert checked.problems[0].hint == f"did you mean `{right.strip(':')}`?"
