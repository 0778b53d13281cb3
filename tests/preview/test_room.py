"""From a file to what is seen of it, step by step."""

import shutil
from collections.abc import Callable
from io import BytesIO
from pathlib import Path

import pytest
from PIL import Image

from pipeline.photos import ready
from pipeline.preview.choice import Choice
from pipeline.preview.room import Event, Room, write_trial
from pipeline.preview.surroundings import Surroundings
from pipeline.preview.trial import Trial
from pipeline.workspace import shipped
from tests.harm import no_more_rights

Write = Callable[..., Path]
ENGLISH = Choice("trial", ("en",))
FAR = [{"darn": {}}, {"knot": {"rays": 12}, "at": "14 mm"}, {"knot": {"rays": 12, "shift": 6}, "gap": "9 mm"}]
"""Rounds whose threads do not reach."""


def seen(room: Room, choice: Choice = ENGLISH, *, anew: bool = False) -> list[Event]:
    """All events of a choice."""
    return [event for event in room.steps(choice, anew=anew) if event]


def names(events: list[Event]) -> list[str]:
    """What is seen, each kind once a run."""
    found = [event.name for event in events]
    return [name for place, name in enumerate(found) if found[place - 1 : place] != [name]]


def pages(events: list[Event]) -> list[str]:
    """The pictures of pages, in order, as they are at last."""
    found = {event.data["number"]: event.data["name"] for event in events if event.name == "page"}
    return [found[number] for number in sorted(found)]


def test_problems_come_first_then_the_first_page_then_all(write: Write, room: Room) -> None:
    """Each page comes with its picture; the last says that it is."""
    write()
    events = seen(room)
    assert names(events) == ["checked", "page", "front", "chart", "page", "whole"]
    checked, first = events[0], events[1]
    assert (checked.data["good"], checked.data["problems"], checked.data["title"]) == (True, [], "Trial")
    assert [round_["name"] for round_ in checked.data["rounds"]] == ["All rounds", "Darning", "Knot"]
    assert checked.lace is not None
    assert checked.data["threads"][0]["net"] == checked.lace.totals["A"].net
    assert [knob["name"] for knob in checked.data["knobs"]] == ["pins", "diameter", "thread-A"]
    assert first.data["number"] == 1
    assert first.sheets[first.data["name"]].startswith(b"\xff\xd8\xff")  # JPEG, which is done sooner
    assert events[-2].sheets[events[-2].data["name"]].startswith(b"\x89PNG")
    shown = [event.data for event in events if event.name == "page"][1:]
    assert [page["number"] for page in shown] == list(range(1, shown[0]["of"] + 1))
    assert [page["last"] for page in shown] == [page["number"] == page["of"] for page in shown]
    assert "</script" not in events[names(events).index("chart")].data.get("definitions", "")


def test_a_change_of_one_value_changes_what_it_should(write: Write, room: Room) -> None:
    """A colour changes the first page and no step; a title the pages that print it; nothing, nothing."""
    write()
    before = pages(seen(room))
    assert pages(seen(room)) == before
    write(threads={"A": {"fibre": "cotton", "tex": 40, "colour": "#8a1b1b", "colour_name": "blue"}})
    coloured = pages(seen(room))
    assert coloured[0] != before[0]
    assert coloured[3:] == before[3:]
    write(title="Another Title")
    titled = pages(seen(room))
    assert all(a != b for a, b in zip(titled, before, strict=True))


def test_a_broken_file_keeps_its_last_good_pages(write: Write, room: Room) -> None:
    """Its problems have line and column; the pages are those from before, also for a page that is opened now."""
    file = write()
    before = pages(seen(room))
    file.write_text(file.read_text().replace("rays: 4", "rays: 7"))
    events = seen(room, anew=True)
    (problem,) = [each for each in events[0].data["problems"] if each["severity"] == "error"]
    assert (problem["code"], problem["file"]) == ("rays-do-not-divide", "patterns/trial.yaml")
    assert file.read_text().splitlines()[problem["line"] - 1][problem["column"] - 1 :] == "7"
    assert not events[0].data["good"]
    assert pages(events) == before
    assert "chart" not in names(events)
    file.write_text("spokeleaf: [")
    assert pages(seen(room)) == before
    file.unlink()
    gone = seen(room)
    assert gone[0].data["problems"][0]["code"] == "file-missing"
    write()
    assert pages(seen(room)) == before


def test_threads_that_do_not_reach_are_drawn_before_advice_is_sought(write: Write, room: Room) -> None:
    """The stretch map has its lace at once; what was tried and is good comes after it."""
    write(rounds=FAR)
    events = seen(room)
    assert events[0].name == "checked"
    assert events[0].lace is not None
    assert events[0].data["rounds"][0]["budget"] > 2
    told = {
        event.name: [each["hint"] for each in event.data["problems"]] for event in events if "problems" in event.data
    }
    assert not any("tried and good" in hint for hint in told["checked"])
    assert any("tried and good" in hint for hint in told["problems"])


def test_what_is_tried_is_shown_and_the_file_stays(write: Write, room: Room) -> None:
    """Pins, a length and a thread; what is then wrong has its place as in the file that would be written."""
    file = write()
    before, text = pages(seen(room)), file.read_text()
    events = seen(room, Choice("trial", ("en",), None, Trial(30, (("diameter", 100.0),), (("A", 0.3),))))
    checked = events[0]
    assert checked.lace is not None
    assert (checked.lace.loom.pins, round(checked.data["threads"][0]["thickness"], 2)) == (30, 0.3)
    assert [knob["value"] for knob in checked.data["knobs"]] == [24, 80.0, 0.24]
    assert pages(events)[0] != before[0]
    assert file.read_text() == text
    assert pages(seen(room, anew=True)) == before


def test_two_locales_stand_side_by_side_each_in_its_direction(write: Write, room: Room) -> None:
    """Both first pages come before anything else."""
    write()
    events = seen(room, Choice("trial", ("en", "ar"), "a5"))
    first = [event.data for event in events[1:3]]
    assert [(page["side"], page["lang"], page["direction"]) for page in first] == [(0, "en", "ltr"), (1, "ar", "rtl")]
    assert {page["width"] for page in first} == {840}  # 148 mm at 144 dpi
    assert names(events).count("chart") == 1


def test_a_translator_s_edit_is_seen(write: Write, room: Room, place: Path) -> None:
    """A catalogue of the workspace's own, laid over the shipped ones; a broken one is a problem with its line."""
    write()
    spanish = Choice("trial", ("es",))
    before = pages(seen(room, spanish))
    po = place / "locales" / "es" / "LC_MESSAGES" / "patterns.po"
    po.parent.mkdir(parents=True)
    head = 'msgid ""\nmsgstr ""\n"Language: es\\n"\n"Content-Type: text/plain; charset=utf-8\\n"\n\n'
    po.write_text(head + 'msgctxt "trial"\nmsgid "Trial"\nmsgstr "Ensayo"\n', encoding="utf-8")
    room.surroundings.forget([po])
    events = seen(room, spanish)
    assert pages(events)[0] != before[0]
    assert events[1].data["title"] == "Ensayo"
    po.write_text(head + "msgctxt trial\n", encoding="utf-8")
    room.surroundings.forget([po])
    (problem,) = seen(room, spanish)[0].data["problems"]
    assert (problem["file"], problem["line"]) == ("locales/es/LC_MESSAGES/patterns.po", 6)


def test_a_symbol_and_a_publisher_of_the_workspace_are_seen(write: Write, room: Room, place: Path) -> None:
    """A glyph drawn otherwise changes the pages; a publisher stands on them, and a broken one is a problem."""
    write()
    before = pages(seen(room))
    publisher = place / "patterns" / "publisher.yaml"
    publisher.write_text("publisher: Trial Press\n")
    room.surroundings.forget([publisher])
    published = pages(seen(room))
    assert published[0] != before[0]
    text = (shipped("symbols") / "knot.yaml").read_text(encoding="utf-8")
    symbol = place / "symbols" / "knot.yaml"
    symbol.parent.mkdir()
    symbol.write_text(text.replace("stitch: knot", "stitch: knot\nreplaces: true", 1).replace("M", "M", 1))
    room.surroundings.forget([symbol])
    assert seen(room)[0].data["good"]
    symbol.write_text("stitch: knot\n")
    room.surroundings.forget([symbol])
    broken = seen(room)
    assert {each["file"] for each in broken[0].data["problems"]} == {"symbols/knot.yaml"}
    assert pages(broken) == published
    symbol.unlink()
    publisher.write_text("publisher: [\n")
    room.surroundings.forget([symbol, publisher])
    events = seen(room)
    assert {each["file"] for each in events[0].data["problems"]} == {"patterns/publisher.yaml"}
    assert pages(events) == published


def test_a_character_without_a_font_is_a_problem(write: Write, room: Room) -> None:
    """It is found when pages are made; there are none then."""
    write(title="Trial ꦗ")
    events = seen(room)
    assert names(events) == ["checked", "problems"]
    assert "U+A997" in events[1].data["problems"][0]["message"]
    assert not events[1].data["good"]


def photograph() -> bytes:
    """A picture that can be printed anywhere."""
    data = BytesIO()
    Image.effect_noise((1200, 900), 40).convert("RGB").save(data, "JPEG")
    return data.getvalue()


@pytest.mark.parametrize(
    ("data", "words"), [(None, "No such file"), (b"no picture", "another file than the one that was checked")]
)
def test_a_photograph_that_goes_or_changes_under_our_hands_is_a_problem(
    write: Write, room: Room, place: Path, data: bytes | None, words: str
) -> None:
    """After the check and before the first page: its file is named, and once it is back all is well."""
    photo = place / "patterns" / "wheel.jpg"
    photo.write_bytes(photograph())
    write(photos=[{"file": "wheel.jpg", "alt": "The wheel"}])
    steps = room.steps(ENGLISH)
    checked = next(steps)
    assert checked is not None
    assert checked.data["good"]
    if data is None:
        photo.unlink()
    else:
        photo.write_bytes(data)
    events = [event for event in steps if event]
    assert names(events) == ["problems"]
    (problem,) = events[0].data["problems"]
    assert (problem["file"], problem["code"]) == ("patterns/wheel.jpg", "file-unreadable")
    assert words in problem["message"]
    assert not events[0].data["good"]
    photo.write_bytes(photograph())
    assert names(seen(room))[-1] == "whole"


def test_a_photograph_is_made_ready_once(
    write: Write, room: Room, place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Not at every save; another one in its place is."""
    asked: list[bytes] = []

    def noted(data: bytes, box_mm: tuple[float, float]) -> bytes:
        asked.append(data)
        return ready(data, box_mm)

    monkeypatch.setattr("pipeline.preview.surroundings.ready", noted)
    photo = place / "patterns" / "wheel.jpg"
    write(photos=[{"file": "wheel.jpg", "alt": "The wheel"}])
    first, second = photograph(), photograph()
    for data in (first, first, second):
        photo.write_bytes(data)
        assert any(event and event.name == "front" for event in room.steps(ENGLISH))
    assert asked == [first, second]


def test_a_locale_that_goes_while_it_is_shown_is_a_problem(write: Write, room: Room, place: Path) -> None:
    """Its file is named; once it is back its pages are made again."""
    write()
    finnish = Choice("trial", ("fi",))
    locale = place / "locales" / "fi" / "locale.yaml"

    def begin() -> None:
        locale.parent.mkdir(parents=True)
        locale.write_text("locale: fi\nstatus: draft\n")
        room.surroundings.forget([locale])

    begin()
    before = pages(seen(room, finnish))
    shutil.rmtree(locale.parent)
    room.surroundings.forget([locale])
    events = seen(room, finnish)
    assert names(events) == ["problems"]
    (problem,) = events[0].data["problems"]
    assert (problem["file"], problem["message"]) == (
        "locales/fi/locale.yaml",
        "the file cannot be read: the locale is gone",
    )
    begin()
    assert pages(seen(room, finnish)) == before


def test_a_folder_that_is_closed_is_a_problem(write: Write, room: Room, place: Path) -> None:
    """Symbols and locales, named by their folder."""
    write()
    for name in ("symbols", "locales"):
        (place / name).mkdir()
        room.surroundings.forget([place / name / "any"])
        with no_more_rights(place / name):
            events = seen(room)
        assert names(events) == ["problems"]
        assert [each["file"] for each in events[0].data["problems"]] == [name]
        room.surroundings.forget([place / name / "any"])
        assert names(seen(room))[-1] == "whole"


def test_drafts_that_wait_for_one_another_keep_their_pictures(write: Write, room: Room) -> None:
    """Five patterns, each left after its first page until all others have theirs: all pages of all are made."""
    choices = []
    for number in range(5):
        write(f"wheel-{number}", loom={"shape": "circle", "diameter": f"{80 + number} mm", "pins": 24})
        choices.append(Choice(f"wheel-{number}", ("en",)))
    waiting = [room.steps(choice) for choice in choices]
    for steps in waiting:
        assert any(event and event.name == "front" for event in steps)
    for steps in waiting:
        assert names([event for event in steps if event]) == ["chart", "page", "whole"]


def test_hostile_texts_are_data(write: Write, room: Room) -> None:
    """Title, summary, notes and names of colours are told as they are, and are text on the pages."""
    hostile = "</script><img src=x onerror=alert(1)>"
    rounds = [{"darn": {}, "note": hostile}, {"knot": {"rays": 4}, "at": "15 mm"}]
    threads = {"A": {"fibre": "cotton", "tex": 40, "colour": "#1b4f72", "colour_name": hostile}}
    write(title=hostile, summary=hostile, rounds=rounds, threads=threads)
    events = seen(room)
    assert names(events)[-1] == "whole"
    assert events[0].data["title"] == events[0].data["threads"][0]["name"] == hostile
    (chart,) = [event for event in events if event.name == "chart"]
    assert "onerror" not in str(chart.data)


def test_what_is_tried_is_written_to_a_new_file_and_never_over_one(
    write: Write, surroundings: Surroundings, place: Path
) -> None:
    """The new file has its own id and is good; one that is there stays as it is."""
    file = write()
    before = file.read_text()
    choice = Choice("trial", ("en",), None, Trial(30))
    written, problems = write_trial(surroundings, choice, "wider")
    assert (written, problems) == (place / "patterns" / "wider.yaml", ())
    assert "pins: 30" in written.read_text()
    assert "id: wider" in written.read_text()
    assert sorted(each.name for each in written.parent.iterdir()) == ["trial.yaml", "wider.yaml"]
    again, problems = write_trial(surroundings, Choice("trial", ("en",), None, Trial(48)), "wider")
    assert [problem.code for problem in problems] == ["output-exists"]
    assert "pins: 30" in again.read_text()
    assert write_trial(surroundings, choice, "trial")[1][0].code == "output-exists"
    assert file.read_text() == before


def test_a_dangling_link_is_not_written_through(write: Write, surroundings: Surroundings, place: Path) -> None:
    """A name that leads out of the workspace is taken, also where nothing is at its end."""
    write()
    outside = place.parent / "outside.yaml"
    (place / "patterns" / "wider.yaml").symlink_to(outside)
    _, problems = write_trial(surroundings, Choice("trial", ("en",), None, Trial(30)), "wider")
    assert [problem.code for problem in problems] == ["output-exists"]
    assert not outside.exists()


@pytest.mark.parametrize("text", ["spokeleaf: [", "", "spokeleaf: 1\n"])
def test_a_file_that_cannot_be_read_is_not_tried(
    write: Write, room: Room, surroundings: Surroundings, text: str
) -> None:
    """Neither shown nor written; there is nothing to turn."""
    write().write_text(text)
    choice = Choice("trial", ("en",), None, Trial(30))
    events = seen(room, choice)
    assert events[0].data["knobs"] == []
    assert not events[0].data["good"]
    place, problems = write_trial(surroundings, choice, "wider")
    assert problems
    assert not place.exists()
