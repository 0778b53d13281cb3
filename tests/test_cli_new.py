"""Beginning: whatever the questions accept makes files without a problem, and nothing is ever overwritten."""

import json
import os
import pty
import re
import select
import subprocess
import sys
import time
from collections.abc import Callable
from datetime import date
from pathlib import Path

import click
import jsonschema
import pytest
import yaml
from click.testing import CliRunner, Result
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from pipeline.cli import main
from pipeline.commands.starting import Interview
from pipeline.craft.check import Checked
from pipeline.files import check_file, symbols_of, write_all_new
from pipeline.schema import KINDS, line_for_editors, schema, schema_text
from pipeline.source import read
from pipeline.starting.fitting import fit, helps, scalar
from pipeline.starting.points import NAMES, Start, listed, load, start_text
from pipeline.starting.wish import (
    FEWEST,
    MOST,
    Unclear,
    Wish,
    colour_of,
    fibre_of,
    id_from,
    id_of,
    language_of,
    line_of,
    measure_of,
    pins_of,
    weight_of,
    weight_spelled,
)
from pipeline.units import Length, parse_count, tex_from_put_up
from pipeline.workspace import Workspace

SYMBOLS = symbols_of(Workspace(None))
STARTS: dict[str, Start] = {name: load(name, SYMBOLS) for name in NAMES}
CheckText = Callable[..., Checked]


def new(*arguments: str) -> Result:
    return CliRunner().invoke(main, ["new", *arguments])


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty folder to stand in."""
    monkeypatch.chdir(tmp_path)
    return tmp_path


def wish_for(start: Start, *, times: float = 1.0, pins: int | None = None, tex: str = "50", **other: object) -> Wish:
    """A wish for a loom so many times as large as the starting point's own."""
    sizes = {name: Length(round(getattr(start.pattern.loom, name) * times), "mm") for name in start.measures}
    found = Wish("trial", "Trial", "en", date(2026, 3, 14), sizes, pins or start.pattern.loom.pins, "cotton",
                 {"tex": tex}, "#1b4f72", "blue")  # fmt: skip
    return Wish(**({key: getattr(found, key) for key in Wish.__slots__} | other))  # type: ignore[arg-type]


def thickness(tex: float) -> float:
    """Of cotton, mm: rounded as design section 5 gives it."""
    return float(0.0374 * tex**0.5)


# --- Starting points ---


@pytest.mark.parametrize("name", NAMES)
def test_a_starting_point_is_sound_and_explains_itself(name: str, check_text: CheckText) -> None:
    """As it is shipped it has no problem, names its schema, begins with its format, and half its lines are comments."""
    text = start_text(name)
    assert check_text(text, name).problems == ()
    lines = text.splitlines()
    assert lines[0] == line_for_editors("pattern")
    assert next(iter(read("x.yaml", text.encode()).tree)) == "spokeleaf"
    assert sum("# " in line for line in lines) >= len(lines) * 0.4
    # Every kind of round is explained where it first stands.
    for row, line in enumerate(lines):
        stitch = re.match(r"  - ([a-z-]+):", line)
        if stitch and not any(re.match(rf"  - {stitch[1]}:", before) for before in lines[:row]):
            assert lines[row - 1].startswith("  # "), line


def test_several_kinds_of_starting_point_are_listed() -> None:
    """Each shape, fillings and a mat; the list has a line for each."""
    assert {start.pattern.loom.shape for start in STARTS.values()} == {"circle", "half-circle", "square", "oval"}
    assert any(start.pattern.assembly for start in STARTS.values())
    assert {"wrap", "weave"} <= {entry.stitch for start in STARTS.values() for entry in start.pattern.rounds}
    said = new("list")
    assert said.exit_code == 0
    assert [line.split()[0] for line in said.output.splitlines()] == list(NAMES)
    assert all(about in said.output for _, about in listed())


# --- What is made is sound ---


@pytest.mark.parametrize("name", NAMES)
@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow])
@given(data=st.data())
def test_what_is_accepted_is_without_a_problem(name: str, data: st.DataObject, check_text: CheckText) -> None:
    """Any loom and thread that can be answered is either refused, or makes a pattern in which nothing is found."""
    start = STARTS[name]
    sizes = {key: Length(data.draw(st.integers(20, 400)), "mm") for key in start.measures}
    pins = data.draw(st.integers(FEWEST, MOST // 2).map(lambda n: -(-n // start.pins_divide_by) * start.pins_divide_by))
    tex = f"{data.draw(st.floats(1, 1000)):.1f}"
    title = data.draw(st.text(min_size=1, max_size=30).filter(lambda text: bool(text.strip())))
    try:
        title = line_of(title)
    except Unclear:
        assume(False)  # noqa: FBT003
    wish = wish_for(start, pins=pins, tex=tex, measures=sizes, title=title, colour_name=title)
    text = fit(start, wish, SYMBOLS)
    if text is None:
        return
    checked = check_text(text, "trial")
    assert checked.problems == ()
    assert checked.pattern is not None
    assert (checked.pattern.title, checked.pattern.threads["A"].colour_name) == (title, title)
    assert (checked.pattern.loom.pins, checked.pattern.loom.size) == (pins, tuple(x.value for x in sizes.values()))
    assert text.splitlines()[0] == line_for_editors("pattern")
    assert len(text.splitlines()) == len(start_text(name).splitlines())
    assert [entry.stitch for entry in checked.pattern.rounds] == [entry.stitch for entry in start.pattern.rounds]


@pytest.mark.parametrize("name", NAMES)
@settings(max_examples=20, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow])
@given(data=st.data())
def test_a_loom_with_room_at_its_rim_is_accepted(name: str, data: st.DataObject) -> None:
    """Where pins stand seven thicknesses of the thread apart and are not few, something is found."""
    start = STARTS[name]
    times = data.draw(st.floats(0.5, 2.5))
    tex = data.draw(st.floats(5, 400))
    wish = wish_for(start, times=times, tex=f"{tex:.1f}")
    rim = start.lace.loom.shape.perimeter * times
    most = min(int(rim / (7 * thickness(tex))), 120) // start.pins_divide_by
    least = -(-24 // start.pins_divide_by)
    assume(most >= least)
    pins = data.draw(st.integers(least, most)) * start.pins_divide_by
    assert fit(start, Wish(**({k: getattr(wish, k) for k in Wish.__slots__} | {"pins": pins})), SYMBOLS) is not None


@pytest.mark.parametrize("name", NAMES)
def test_its_own_loom_gives_the_starting_point_back(name: str) -> None:
    """With the answers at hand nothing but names changes: what was good is not touched."""
    start = STARTS[name]
    thread = start.pattern.threads["A"]
    wish = wish_for(
        start, tex=f"{thread.linear_density_tex:g}", fibre=thread.fibre, colour=thread.colour,
        colour_name=thread.colour_name, id=name, title=start.pattern.title, day=start.pattern.edition.date,
    )  # fmt: skip
    assert fit(start, wish, SYMBOLS) == start_text(name)


def test_where_nothing_fits_what_would_is_said() -> None:
    """Too many pins on too small a loom are refused, and each change that is offered makes it good."""
    start = STARTS["square"]
    wish = wish_for(start, measures={"side": Length(30, "mm")}, pins=160, tex="55")
    assert fit(start, wish, SYMBOLS) is None
    offers = helps(start, wish, SYMBOLS)
    assert len(offers) >= 2
    for offer in offers:
        other: dict[str, object] = {}
        if pins := re.fullmatch(r"(\d+) pins", offer):
            other = {"pins": int(pins[1])}
        elif size := re.fullmatch(r"(\d+) mm", offer):
            other = {"measures": {"side": Length(float(size[1]), "mm")}}
        elif tex := re.fullmatch(r"a thread of (.+) tex", offer):
            other = {"weight": {"tex": tex[1]}}
        assert other, offer
        changed = Wish(**({key: getattr(wish, key) for key in Wish.__slots__} | other))  # type: ignore[arg-type]
        assert fit(start, changed, SYMBOLS) is not None


def test_where_no_one_change_helps_the_own_loom_is_named() -> None:
    """Something is always said."""
    start = STARTS["first-wheel"]
    hopeless = wish_for(start, measures={"diameter": Length(20, "mm")}, pins=240, tex="900")
    assert fit(start, hopeless, SYMBOLS) is None
    assert helps(start, hopeless, SYMBOLS) == ("84 mm with 60 pins in a thread of 83.3 tex",)


# --- Answers ---


@pytest.mark.parametrize(
    ("read_", "text", "found"),
    [
        (weight_of, "120m10g", {"metres": "120", "grams": "10"}),
        (weight_of, " 83.3tex ", {"tex": "83.3"}),
        (weight_of, "540 denier", {"denier": "540"}),
        (weight_of, "833 dtex", {"tex": "83.3"}),
        (measure_of, "3.3 in", Length(3.3, "in")),
        (colour_of, "#1B4F72", "#1b4f72"),
        (fibre_of, "Linen", "linen"),
        (language_of, "pt-BR", "pt-BR"),
        (id_of, "sea-foam", "sea-foam"),
        (id_from, "Ça va? 2", "ca-va-2"),
        (id_from, "Größe", "grosse"), (id_from, "STRAẞE", "strasse"), (id_from, "Gałązka Łąk", "galazka-lak"),
        (id_from, "Œuvre cœur", "oeuvre-coeur"), (id_from, "Ørsted Ærø æ", "orsted-aero-ae"),
        (id_from, "Đurđica", "durdica"), (id_from, "Þórður", "thordur"), (id_from, "Işık", "isik"),
        (id_from, "№ 1 ™", "no-1-tm"),
        (line_of, "مِفرش دائري", "مِفرش دائري"),
    ],
)  # fmt: skip
def test_an_answer_is_read(read_: Callable[[str], object], text: str, found: object) -> None:
    """What people type is understood."""
    assert read_(text) == found


@pytest.mark.parametrize(
    ("read_", "text"),
    [
        (weight_of, "thin"), (weight_of, "0 tex"), (weight_of, "0 m / 10 g"), (weight_of, "9999999 tex"),
        (weight_of, "12"), (measure_of, "84"), (measure_of, "8,4 cm"), (measure_of, "2 m"), (measure_of, "35%"),
        (measure_of, ""), (colour_of, "blue"), (fibre_of, "hemp"), (language_of, "English"), (id_of, "Sea Foam"),
        (id_of, "../etc"), (id_of, "a" * 61), (line_of, "  "), (line_of, "a\nb"), (line_of, "\udcff"),
        (line_of, "a" * 121), (line_of, "\x00"),
    ],
)  # fmt: skip
def test_an_answer_that_cannot_be_used_is_refused_in_words(read_: Callable[[str], object], text: str) -> None:
    """It raises what the command line can show, never anything else."""
    with pytest.raises(Unclear, match=r"\w{2}"):
        read_(text)


@given(st.integers(-5, 1200), st.sampled_from([2, 4, 6]))
def test_pins_are_within_bounds_or_better_ones_are_named(pins: int, divisor: int) -> None:
    """A number that does not do is refused; where others are named, they do."""
    if FEWEST <= pins <= MOST and pins % divisor == 0:
        assert pins_of(str(pins), divisor) == pins
        return
    with pytest.raises(Unclear) as caught:
        pins_of(str(pins), divisor)
    named = re.search(r"take (\d+)(?: or (\d+))?", str(caught.value))
    if FEWEST <= pins <= MOST:
        assert named
        assert all(pins_of(number, divisor) for number in named.groups() if number)


@given(st.sampled_from(["{} tex", "Ne {}", "{}nm", "{} denier", "{} m / 10 g"]), st.floats(10, 300))
def test_a_thickness_keeps_its_count(shape: str, number: float) -> None:
    """Written as keys and spelled again it is the same thread."""
    text = shape.format(f"{number:.1f}")
    weight = weight_of(text)
    assert weight_of(weight_spelled(weight)) == weight
    tex = (
        tex_from_put_up(float(weight["grams"]), float(weight["metres"]))
        if "grams" in weight
        else parse_count(weight_spelled(weight))
    )
    asked = tex_from_put_up(10, float(f"{number:.1f}")) if "g" in shape else parse_count(text)
    assert tex == pytest.approx(asked)


@given(st.text(max_size=40))
def test_a_text_stands_in_a_file_as_it_was_typed(text: str) -> None:
    """Whatever a title is, our own reader has it back, in a line and between braces."""
    try:
        text = line_of(text)
    except Unclear:
        return
    source = read("x.yaml", f"title: {scalar(text)}\nthread: {{name: {scalar(text)}, more: 1}}\n".encode())
    assert source.problems == ()
    assert (source.tree["title"], source.tree["thread"]) == (text, {"name": text, "more": "1"})


def test_an_answer_is_asked_for_again(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    """On a terminal one that cannot be used is answered with words, and the question comes again."""
    said = iter(["wool, I think", "wool"])
    monkeypatch.setattr(click, "prompt", lambda *_, **__: next(said))
    assert Interview({}, asking=True).answer("fibre", "Fibre", fibre_of, "cotton") == "wool"
    assert "`wool, I think` is none of" in capsys.readouterr().err


# --- The command ---


def test_a_workspace_is_whole(here: Path) -> None:
    """It has patterns, publisher, schemas, a readme and what git leaves alone; everything in it is without a problem."""
    said = new("workspace", "quay", "--publisher", "Thistledown: Quay", "--yes")
    assert said.exit_code == 0, said.output
    files = sorted(str(file.relative_to(here / "quay")) for file in (here / "quay").rglob("*") if file.is_file())
    assert files == [
        ".gitignore", "README.md", "patterns/first-wheel.yaml", "patterns/publisher.yaml",
        *sorted(f"patterns/schema/{kind}.schema.json" for kind in KINDS),
    ]  # fmt: skip
    assert sorted(said.stdout.split()) == sorted(f"quay/{name}" for name in files)
    strict = CliRunner().invoke(main, ["check", "--strict", *map(str, (here / "quay" / "patterns").glob("*.yaml"))])
    assert strict.exit_code == 0, strict.output
    assert "Thistledown: Quay" in (here / "quay" / "README.md").read_text(encoding="utf-8")
    assert (here / "quay" / ".gitignore").read_text(encoding="utf-8").splitlines()[-1] == "build/out/"
    for kind, name in (("pattern", "first-wheel"), ("publisher", "publisher")):
        file = here / "quay" / "patterns" / f"{name}.yaml"
        first = file.read_text(encoding="utf-8").splitlines()[0]
        assert first == line_for_editors(kind)
        named = json.loads((file.parent / first.partition("=")[2]).read_text(encoding="utf-8"))
        assert named == schema(kind, SYMBOLS)
        tree = yaml.load(file.read_text(encoding="utf-8"), Loader=yaml.BaseLoader)  # noqa: S506  (texts alone)
        assert set(tree) <= set(named["properties"])


def test_every_line_of_the_publishers_file_can_be_taken_in(here: Path) -> None:
    """With the # taken away from all of them but the logo it is still without a problem, and valid."""
    assert new("workspace", "quay", "--yes").exit_code == 0
    file = here / "quay" / "patterns" / "publisher.yaml"
    text = re.sub(r"(?m)^# (?=[a-z]+: )(?!logo)", "", file.read_text(encoding="utf-8"))
    file.write_text(text, encoding="utf-8")
    tree = yaml.safe_load(text)
    assert set(tree) == {"publisher", "contact", "address", "copyright", "licence", "colours", "terms"}
    assert check_file(file).problems == ()
    jsonschema.Draft202012Validator(schema("publisher", SYMBOLS)).validate(tree)


def test_bare_new_begins_what_is_not_there_yet(here: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """In an empty folder a workspace; in a workspace a pattern."""
    assert new().exit_code == 0
    assert (here / "lace" / "patterns" / "publisher.yaml").is_file()
    monkeypatch.chdir(here / "lace" / "patterns")
    assert new("pattern", "--from", "oval").exit_code == 0
    assert new().exit_code == 2  # First Wheel is there already
    (here / "lace" / "patterns" / "first-wheel.yaml").unlink()
    assert new().exit_code == 0
    assert sorted(file.stem for file in Path().glob("*.yaml")) == ["first-wheel", "oval", "publisher"]


@pytest.mark.parametrize("name", NAMES)
def test_every_starting_point_begins_a_pattern(here: Path, name: str) -> None:
    """Without a question, with the schema it names, and in strict order without a problem."""
    (here / "patterns").mkdir()
    said = new("pattern", "--yes", "--from", name, "--title", "Écume de Mer")
    assert said.exit_code == 0, said.output
    file = here / "patterns" / "ecume-de-mer.yaml"
    assert CliRunner().invoke(main, ["check", "--strict", str(file)]).exit_code == 0
    assert (here / "patterns" / "schema" / "pattern.schema.json").is_file()
    assert "spokeleaf check" in said.stderr
    assert str(date.today().year) in file.read_text(encoding="utf-8")  # noqa: DTZ011


def test_nothing_is_overwritten(here: Path) -> None:
    """What is there stays byte for byte: a pattern, a schema, a readme, a workspace."""
    (here / "patterns" / "schema").mkdir(parents=True)
    kept = here / "patterns" / "schema" / "pattern.schema.json"
    kept.write_text("{}", encoding="utf-8")
    assert new("pattern", "--yes").exit_code == 0
    assert kept.read_text(encoding="utf-8") == "{}"
    made = (here / "patterns" / "first-wheel.yaml").read_bytes()
    again = new("pattern", "--yes", "--pins", "48")
    assert again.exit_code == 2
    assert "first-wheel.yaml is there already" in again.stderr
    assert (here / "patterns" / "first-wheel.yaml").read_bytes() == made
    assert new("workspace", ".", "--yes").exit_code == 2
    (here / "shop").mkdir()
    (here / "shop" / "README.md").write_text("mine", encoding="utf-8")
    there = new("workspace", "shop", "--yes")
    assert (there.exit_code, "output-exists" in there.output) == (1, True)
    assert [file.name for file in (here / "shop").iterdir()] == ["README.md"]


def test_all_files_or_none(here: Path) -> None:
    """Where the last cannot be written, the first ones and their folders are gone again."""
    (here / "in-the-way").write_text("", encoding="utf-8")
    files = {here / "a" / "b" / "one.txt": b"1", here / "in-the-way" / "two.txt": b"2"}
    assert [problem.code for problem in write_all_new(files)] == ["output-unwritable"]
    assert [file.name for file in here.iterdir()] == ["in-the-way"]


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--from", "ovall"], "did you mean `oval`"),
        (["--pins", "51"], "take 50 or 52"),
        (["--pins", "many"], "no number of pins"),
        (["--diameter", "84"], "has no unit"),
        (["--from", "oval", "--diameter", "84 mm"], "give --width and --height"),
        (["--thread", "thin"], "is no thickness"),
        (["--fibre", "hemp"], "is none of"),
        (["--colour", "blue"], "six digits"),
        (["--colour", "aa3322"], "--colour-name is needed"),
        (["--language", "es"], "--title is needed"),
        (["--language", "Spanish"], "language tag"),
        (["--title", "雪"], "--id is needed"),
        (["--id", "../x"], "is no id"),
        (["--title", ""], "nothing is written"),
        (["--from", "square", "--side", "30 mm", "--pins", "160"], "tried and good: "),
    ],
)
def test_an_answer_given_as_an_option_is_wrong_use_where_it_cannot_be_used(
    here: Path, arguments: list[str], words: str
) -> None:
    """Exit 2, words that help, and no file."""
    (here / "patterns").mkdir()
    said = new("pattern", "--yes", *arguments)
    assert said.exit_code == 2
    assert words in said.stderr
    assert list((here / "patterns").iterdir()) == []


def test_a_pattern_needs_a_workspace(here: Path) -> None:
    """Where there is none, the command that makes one is named; --in names one that is elsewhere."""
    assert "spokeleaf new workspace" in new("pattern", "--yes").stderr
    (here / "shop" / "patterns").mkdir(parents=True)
    assert new("pattern", "--yes", "--in", "shop").exit_code == 0
    assert (here / "shop" / "patterns" / "first-wheel.yaml").is_file()


def test_a_stitch_of_the_workspace_stands_in_its_schema(here: Path) -> None:
    """What `new` puts beside a pattern is what `schema --out` would."""
    for name in ("patterns", "symbols"):
        (here / name).mkdir()
    own = (Path(__file__).parent.parent / "symbols" / "knot.yaml").read_text(encoding="utf-8")
    (here / "symbols" / "quay-tie.yaml").write_text(
        own.replace("stitch: knot\n", "stitch: quay-tie\n"), encoding="utf-8"
    )
    assert new("pattern", "--yes").exit_code == 0
    made = (here / "patterns" / "schema" / "pattern.schema.json").read_text(encoding="utf-8")
    assert made == schema_text("pattern", symbols_of(Workspace(here)))
    assert "quay-tie" in made


def talk(folder: Path, arguments: list[str], answers: list[str]) -> tuple[int, str]:
    """Run the program on a terminal, each answer typed when a question stands there; exit code and what was shown."""
    ours, theirs = pty.openpty()
    command = [sys.executable, "-m", "pipeline", *arguments]
    surroundings = os.environ | {"PYTHONPATH": str(Path(__file__).parent.parent)}
    with subprocess.Popen(command, cwd=folder, stdin=theirs, stdout=theirs, stderr=theirs, env=surroundings) as running:
        os.close(theirs)
        shown, waiting, end = "", list(answers), time.monotonic() + 60
        answered = 0
        while time.monotonic() < end:
            if not select.select([ours], [], [], 0.1)[0]:
                continue
            try:
                shown += os.read(ours, 4096).decode(errors="replace")
            except OSError:
                break
            questions = len(re.findall(r"(?m)(?:\]|[a-z]): ", shown[answered:]))
            if questions and re.search(r": $", shown) and waiting:
                answered = len(shown)
                os.write(ours, waiting.pop(0).encode() + b"\n")
        os.close(ours)
        return running.wait(30), shown


def test_a_talk_on_a_terminal(here: Path) -> None:
    """Bad answers are asked again, an empty one takes what is at hand, and what does not fit together is talked over."""
    answers = [
        "quay", "", "squar", "square", "", "Tide Pool", "30 mm", "51", "160", "", "silky", "silk", "", "",
        "", "48", "",
    ]  # fmt: skip
    code, shown = talk(here, ["new"], answers)
    assert code == 0, shown
    assert "did you mean `square`?" in shown
    assert "take 48 or 52" in shown
    assert "`silky` is none of" in shown
    assert "tried and good: " in shown
    checked = check_file(here / "quay" / "patterns" / "tide-pool.yaml")
    assert checked.problems == ()
    assert checked.pattern is not None
    assert (checked.pattern.loom.side, checked.pattern.loom.pins) == (30.0, 48)
    assert checked.pattern.threads["A"].fibre == "silk"


@pytest.mark.parametrize(
    ("answers", "words", "made"),
    [
        (["", "", "Sea Foam", ""], ["sea-foam.yaml is there already", "[sea-foam-3]"], "sea-foam-3"),
        (["", "", "Sea Foam", "sea-foam", "other"], ["[sea-foam-3]", "name another"], "other"),
        (["", "", "雪", "", "snow"], ["nothing is written here: at most 60 small letters"], "snow"),
    ],
)
def test_a_name_that_is_taken_or_lacking_is_asked_for_with_a_reason(
    here: Path, answers: list[str], words: list[str], made: str
) -> None:
    """A file that is there is named and a free name offered; an empty answer where nothing is at hand is answered."""
    (here / "patterns").mkdir()
    for name in ("sea-foam", "sea-foam-2"):
        (here / "patterns" / f"{name}.yaml").write_text("mine", encoding="utf-8")
    code, shown = talk(here, ["new", "pattern", "--colour", "1b4f72", "--colour-name", "blue"], [*answers, *[""] * 4])
    assert code == 0, shown
    assert all(each in shown for each in words), shown
    assert check_file(here / "patterns" / f"{made}.yaml").problems == ()


def test_another_colour_wants_a_name(here: Path) -> None:
    """Enter alone is answered with a reason, and the question comes again."""
    (here / "patterns").mkdir()
    asked = ["new", "pattern", "--title", "Sea Foam", "--colour", "aa3322", "--fibre", "silk", "--thread", "60 tex"]
    code, shown = talk(here, asked, ["", "", "", "", "", "red"])
    assert code == 0, shown
    assert "nothing is written here" in shown
    assert "colour_name: red" in (here / "patterns" / "sea-foam.yaml").read_text(encoding="utf-8")


def test_a_long_name_that_is_taken_has_room_for_a_number(here: Path) -> None:
    """What is offered is an id itself, however long the title was."""
    (here / "patterns").mkdir()
    (here / "patterns" / f"{'a' * 60}.yaml").write_text("mine", encoding="utf-8")
    asked = ["new", "pattern", "--title", "a" * 60, "--colour", "1b4f72", "--colour-name", "blue"]
    code, shown = talk(here, asked, [""] * 7)
    assert code == 0, shown
    assert (here / "patterns" / f"{'a' * 56}-2.yaml").is_file()


@pytest.mark.parametrize("command", ["pattern", "workspace"])
def test_every_command_that_begins_lists_what_it_can_begin_with(here: Path, command: str) -> None:
    """``--from examples`` lists, as its help says, wherever it is asked; nothing is begun."""
    listed = new(command, "--from", "examples")
    assert listed.exit_code == 0, listed.output
    assert listed.stdout == new("list").stdout
    assert list(here.iterdir()) == []


def test_the_command_alone_takes_what_its_commands_take(here: Path) -> None:
    """``--from examples`` lists; another name begins there, a workspace where there is none; before a command it is wrong."""
    listed = new("--from", "examples")
    assert listed.exit_code == 0
    assert listed.stdout == new("list").stdout
    begun = new("--yes", "--from", "half-circle", "--title", "Slack Water")
    assert begun.exit_code == 0, begun.output
    assert "shape: half-circle" in (here / "lace" / "patterns" / "slack-water.yaml").read_text(encoding="utf-8")
    wrong = new("--from", "oval", "pattern")
    assert wrong.exit_code == 2
    assert "say after `pattern`" in wrong.stderr
