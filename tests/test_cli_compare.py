"""The command line of ``compare``: what it says, the note it drafts, its exit codes."""

import itertools
import json
import re
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from pipeline import cli

CASES = Path(__file__).parent / "cases"
GOOD = CASES / "good" / "harbour-wheel.yaml"
LOOM = Path(__file__).parent.parent / "patterns" / "looms" / "quay-card.yaml"

Edited = Callable[..., Path]


def compare(*arguments: str | Path) -> Result:
    return CliRunner().invoke(cli.main, ["compare", *map(str, arguments)])


@pytest.fixture
def edited(tmp_path: Path) -> Edited:
    """The first example with texts in the place of others, in a workspace of its own."""

    def make(*changes: tuple[str, str]) -> Path:
        text = GOOD.read_text(encoding="utf-8")
        for old, new in changes:
            assert old in text
            text = text.replace(old, new)
        (tmp_path / "patterns").mkdir(exist_ok=True)
        place = tmp_path / "patterns" / GOOD.name
        place.write_text(text, encoding="utf-8")
        return place

    return make


SIX_TO_FOUR = ("  - knot: {rays: 6}\n", "  - knot: {rays: 4}\n")
THIRD_EDITION = ("number: 2, date: 2026-03-14", "number: 3, date: 2026-05-01")


def pasted(file: Path, note: str) -> None:
    """Put a drafted note in the place of a file's edition and corrections."""
    text = re.sub(
        r"^edition: .*\ncorrections:\n(  - .*\n)+", lambda _: note, file.read_text("utf-8"), flags=re.MULTILINE
    )
    assert note in text
    file.write_text(text, encoding="utf-8")


def note_in(output: str) -> str:
    """The draft: all from its first key to the end."""
    return output[output.index("\nedition: {") + 1 :]


def test_equal_editions_have_no_difference() -> None:
    """A file beside itself: so much is said, no note is drafted, and all is good."""
    result = compare(GOOD, GOOD)
    assert result.exit_code == 0, result.output
    assert result.output.splitlines()[2:] == ["no difference"]


def test_what_is_only_written_otherwise_is_said_to_be(edited: Edited) -> None:
    """8.4 cm for 84 mm is no difference, but the files are not the same."""
    lines = compare(GOOD, edited(("84 mm", "8.4 cm"))).output.splitlines()
    assert lines[2] == "no difference"
    assert "written differently" in lines[3]


def test_a_changed_round_is_told_and_drafted(edited: Edited) -> None:
    """By hand: 120 rays in groups of four are 30 groups for 20; the sentence is that of a leaflet."""
    result = compare(GOOD, edited(SIX_TO_FOUR, THIRD_EDITION))
    assert result.exit_code == 0, result.output
    lines = result.output.splitlines()
    assert "rounds: 3 the same, 1 changed, 0 moved, 0 added, 0 gone" in lines
    place = lines.index("rounds")
    assert lines[place + 1 : place + 3] == ["  round 2, group size: 6 → 4", "  round 2, repeats: 20 → 30"]
    assert note_in(result.output).splitlines() == [
        "edition: {number: 3, date: 2026-05-01}", "corrections:",
        '  - {edition: 2, text: "Round 3 was drawn one ray too far left."}',
        '  - {edition: 3, text: "Round 2: groups of 4 instead of 6."}',
    ]  # fmt: skip
    assert "is not higher" not in result.output


def test_what_did_not_change_is_not_spoken_of(edited: Edited) -> None:
    """Another round: no group for loom, threads, tools and the rest."""
    lines = compare(GOOD, edited(SIX_TO_FOUR)).output.splitlines()
    titles = [line for before, line in itertools.pairwise(lines) if not before]
    assert titles[:2] == ["rounds", "what follows"]
    assert not {"texts", "loom", "threads", "finishing", "tools", "links", "other keys", "edition"} & set(lines)


def test_an_edition_that_was_not_raised_is_told(edited: Edited) -> None:
    """The work changed under the old number: what to do stands in a line of its own, and the draft does it."""
    result = compare(GOOD, edited(SIX_TO_FOUR))
    assert result.exit_code == 0
    (line,) = [line for line in result.output.splitlines() if "is not higher" in line]
    assert "raise it to 3" in line
    assert note_in(result.output).startswith("edition: {number: 3, date: 2026-03-14}\n")


def test_a_corrected_note_needs_no_note_to_buyers(edited: Edited) -> None:
    """It is listed with its round; no note is drafted, and no edition has to be raised."""
    output = compare(GOOD, edited(("Keep these loose.", "Keep these very loose."))).output
    assert '  note of round 3: "Keep these loose." → "Keep these very loose."' in output.splitlines()
    assert "none needed" in output
    assert "corrections:" not in output
    assert "is not higher" not in output


def test_a_round_added_is_counted_once(edited: Edited) -> None:
    """A knot between the second and the third: one added, and its sentence says what it is."""
    added = "  - knot: {rays: 5}\n    gap: 4 mm\n  - knot: {rays: 6, shift: 3}\n"
    output = compare(GOOD, edited(("  - knot: {rays: 6, shift: 3}\n", added))).output
    assert "1 added, 0 gone" in output
    assert "Round 3 is new: knot 5 × 24, 4 mm from the round before." in output


@pytest.mark.parametrize(
    "changes",
    [
        [SIX_TO_FOUR],
        [("tex: 83.3", "tex: 60"), ("harbour blue", '\'say "blue": {#}\'')],
        [("diameter: 84 mm, pins: 60", "diameter: 80 mm, pins: 48")],
        [("shape: circle, diameter: 84 mm", "shape: square, side: 84 mm"), ("edge-loops: {}", "edge-picots: {height: 3 mm}")],
        [("  - knot: {rays: 6}\n    at: 15 mm\n", ""), ("gap: 9 mm", "at: 24 mm\n    close: false")],
        [("rows: 3", "rows: 1"), ("number: 2", "number: 1"), ("too far left.", "too far left \\\\ \\u2003 \\xa0.")],
    ],
    ids=["group", "thread", "loom", "shape", "gone", "lower-edition"],
)  # fmt: skip
def test_the_draft_can_be_pasted(edited: Edited, changes: list[tuple[str, str]]) -> None:
    """In its place in the new file it passes ``check``, the edition is raised, and nothing new is to be told."""
    new = edited(*changes)
    result = compare(GOOD, new)
    assert result.exit_code == 0, result.output
    note = note_in(result.output)
    pasted(new, note)
    checked = CliRunner().invoke(cli.main, ["check", "--json", str(new)])
    assert checked.exit_code == 0, checked.output
    again = compare(GOOD, new)
    assert note_in(again.output) == note
    assert "is not higher" not in again.output


def test_errors_of_one_file_are_shown_as_check_shows_them(edited: Edited) -> None:
    """The problem with its place and hint, on either side; nothing is compared, and the exit code is 1."""
    broken = edited(("rays: 6}", "rays: 7}"))
    shown = CliRunner().invoke(cli.main, ["check", str(broken)]).output.splitlines()[:-1]
    for files in ((GOOD, broken), (broken, GOOD)):
        result = compare(*files)
        assert result.exit_code == 1
        assert result.output.splitlines() == shown


def test_errors_of_both_files_are_shown() -> None:
    """A file that is not there, and one with an error."""
    result = compare("gone.yaml", CASES / "check" / "level-six.yaml")
    assert result.exit_code == 1
    assert re.findall(r"error\[([a-z-]+)\]", result.output) == ["file-missing", "number-too-large"]


def test_a_file_of_another_kind_is_no_edition() -> None:
    """A loom file is sound, but it is no pattern; that is said with its place."""
    result = compare(LOOM, GOOD)
    assert result.exit_code == 1
    assert result.output.startswith(f"{LOOM}:1:1: error[kind-unknown]")


@pytest.mark.parametrize("arguments", [[], [GOOD], [GOOD, GOOD, GOOD], ["--frob", GOOD, GOOD]])
def test_wrong_use_is_two(arguments: list[str | Path]) -> None:
    """Less or more than two files, or an option nobody knows."""
    assert compare(*arguments).exit_code == 2


def test_different_ids_are_said_and_compared(edited: Edited) -> None:
    """A note that the ids differ; everything else as ever."""
    result = compare(GOOD, edited(("id: harbour-wheel ", "id: quay-wheel "), SIX_TO_FOUR))
    assert result.exit_code == 0
    assert result.output.splitlines()[2].startswith("note: the ids differ")
    assert "  round 2, group size: 6 → 4" in result.output.splitlines()
    assert "ids differ" not in compare(GOOD, edited(SIX_TO_FOUR)).output


def test_editions_in_the_wrong_order_are_noticed(edited: Edited) -> None:
    """The new one has the lower number: it may be the older file."""
    assert "is the older file named first?" in compare(edited(THIRD_EDITION), GOOD).output
    assert "is the older file named first?" not in compare(GOOD, edited(THIRD_EDITION)).output


def test_a_pattern_in_another_language_is_to_have_its_note_translated(edited: Edited) -> None:
    """The sentences are English; where the texts are not, that is said."""
    assert "translate the sentences" in compare(GOOD, edited(("language: en", "language: es"), SIX_TO_FOUR)).output
    assert "translate the sentences" not in compare(GOOD, edited(SIX_TO_FOUR)).output


def test_json_says_the_same(edited: Edited) -> None:
    """Sides, counts, every change with its line, the note as data and as text."""
    new = edited(SIX_TO_FOUR)
    words, found = compare(GOOD, new).output, json.loads(compare("--json", GOOD, new).output)
    assert found["ok"]
    assert found["same_id"]
    assert found["new"] == {"file": str(new), "pattern": "harbour-wheel", "edition": 2, "date": "2026-03-14"}
    assert found["rounds"] == {"same": 3, "changed": 1, "moved": 0, "added": 0, "gone": 0}
    assert found["changes"][0] == {
        "group": "rounds", "about": "", "what": "group", "was": "6", "now": "4", "old_round": 2, "new_round": 2,
        "work": True, "text": "round 2, group size: 6 → 4",
    }  # fmt: skip
    assert all(f"  {change['text']}\n" in words for change in found["changes"])
    assert found["to_be_raised"]
    assert found["note"]["edition"] == 3
    assert found["note"]["corrections"][-1] == {"edition": 3, "text": "Round 2: groups of 4 instead of 6."}
    assert found["note"]["yaml"] + "\n" == note_in(words)


def test_json_of_equal_files_has_no_note() -> None:
    """No changes, and null for the note."""
    found = json.loads(compare("--json", GOOD, GOOD).output)
    assert (found["changes"], found["note"], found["to_be_raised"]) == ([], None, False)


def test_json_of_a_file_with_errors_has_its_problems() -> None:
    """Not ok, and the problems as ``check --json`` has them; exit code 1."""
    bad = CASES / "check" / "level-six.yaml"
    result = compare("--json", GOOD, bad)
    (checked,) = json.loads(CliRunner().invoke(cli.main, ["check", "--json", str(bad)]).output)
    assert result.exit_code == 1
    assert json.loads(result.output) == {"ok": False, "problems": checked["problems"]}
