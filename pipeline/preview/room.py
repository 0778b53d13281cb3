"""The steps from a file to what is seen of it: problems at once, then the first page, then everything else.

``Room.steps`` is an iterator that can be left at every step, when what it works on is no longer wanted. What it
gives are events for the page; a None is only a place to leave it at.
"""

import hashlib
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

from pipeline.catalogue.make import Shelf, subject_of, unwritable
from pipeline.craft.assembly import Lace
from pipeline.craft.check import Checked
from pipeline.drawing.inline import inlays
from pipeline.files import check_file, check_text, symbols_of, write_new
from pipeline.language.catalogue import BrokenCatalogue
from pipeline.language.fonts import FontsMissing, fonts_of
from pipeline.preview.choice import Choice
from pipeline.preview.drafts import Draft, Page, Printer, rasterized
from pipeline.preview.surroundings import Surroundings
from pipeline.preview.telling import told_knobs, told_problems, told_rounds, told_threads
from pipeline.preview.trial import knobs, tried
from pipeline.problems import Problem, Severity
from pipeline.source import unreadable
from pipeline.typeset import CharactersMissing

REMEMBERED: Final = 12
"""Leaflets whose last good pages are remembered."""
GUESS: Final = 9
"""Pages of a leaflet that was never made, as its first page says it for a moment."""

CHARTS: Final = {"chart": "The whole wheel with its rounds", "ladder": "The rounds as signs and figures"}
"""What stands for the pictures of the chart."""

Clock = Callable[[], float]
"""Seconds from some moment."""


@dataclass(frozen=True, slots=True)
class Event:
    """Something for the page: its name and what it says; what the server keeps for it."""

    name: str
    data: Mapping[str, Any]
    lace: Lace | None = None
    sheets: Mapping[str, bytes] = field(default_factory=dict)
    """Pictures of pages, by name."""


class Room:
    """Where one thread works on what is looked at, file after file; it keeps what stays the same."""

    def __init__(self, surroundings: Surroundings, clock: Clock) -> None:
        self.surroundings, self.clock = surroundings, clock
        self._printer = Printer()
        self._good: dict[tuple[str, str, str | None], list[Mapping[str, Any]]] = {}

    def steps(self, choice: Choice, *, anew: bool = False) -> Iterator[Event | None]:
        """Everything there is to see of a choice; ``anew``: by a page that shows nothing yet."""
        try:
            yield from self._steps(choice, anew=anew)
        except OSError as error:  # a file that is gone since it was looked at, or cannot be read any more
            gone = unreadable(str(error.filename or self.surroundings.file(choice.pattern)), error)
            yield Event("problems", self._told_problems([gone]))

    def _steps(self, choice: Choice, *, anew: bool) -> Iterator[Event | None]:
        watch = _Watch(self.clock)
        checked, can_try = self._checked(choice, advised=False)
        shelf, mute = self.surroundings.shelf(), tuple(self._mute(checked, choice))
        problems = self._problems(checked, mute)
        good = _good(problems) and checked.lace is not None
        told = self._told(choice, checked, shelf) | self._told_problems(problems)
        yield Event("checked", told | can_try | {"took": watch.at("check")}, checked.lace)
        if anew or not good:
            yield from self._remembered(choice)
        made = self._drafts(choice, checked, shelf) if good and shelf else []
        try:
            yield from self._first_pages(choice, made, watch)
            if not all(problem.severity is Severity.NOTE for problem in checked.problems):
                yield None
                advised, _ = self._checked(choice, advised=True)
                yield Event("problems", self._told_problems(self._problems(advised, mute)))
            yield from self._all_pages(choice, made, watch)
        except CharactersMissing as error:
            lacking = next(each for each in made if each.press.fonts.missing(error.characters))
            problem = unwritable(checked, lacking.told.speech.locale, error)
            yield Event("problems", self._told_problems([problem]))

    def _problems(self, checked: Checked, mute: Sequence[Problem]) -> tuple[Problem, ...]:
        """Of the pattern, and of what its leaflet is made with."""
        return tuple(dict.fromkeys((*checked.problems, *self.surroundings.problems, *mute)))

    def _told_problems(self, problems: Sequence[Problem]) -> dict[str, Any]:
        return {"good": _good(problems), "problems": told_problems(problems, self.surroundings.root)}

    def _told(self, choice: Choice, checked: Checked, shelf: Shelf | None) -> dict[str, Any]:
        """What a check found, in plain values."""
        lace, pattern = checked.lace, checked.pattern
        return {
            "pattern": choice.pattern,
            "read": pattern is not None,
            "title": pattern.title if pattern else choice.pattern,
            "rounds": told_rounds(lace, shelf.symbols if shelf else None) if lace else [],
            "threads": told_threads(pattern, lace) if pattern and lace else [],
        }

    def _checked(self, choice: Choice, *, advised: bool) -> tuple[Checked, dict[str, Any]]:
        """The file as it is, or as it would be with what is tried; and what can be tried on it."""
        file = self.surroundings.file(choice.pattern)
        checked = check_file(file, advised=advised and not choice.trial.asked)
        if checked.pattern is None or checked.source is None:
            return checked, {"knobs": [], "tried": False}
        can_try = {"knobs": told_knobs(knobs(checked.pattern)), "tried": choice.trial.asked}
        if choice.trial.asked:
            symbols = symbols_of(self.surroundings.workspace, shipped_signs=False)
            text = tried(checked.source, checked.pattern, choice.trial, symbols, choice.pattern)
            checked = check_text(text.encode(), file, advised=advised)
        return checked, can_try

    def _mute(self, checked: Checked, choice: Choice) -> Iterator[Problem]:
        """Why a locale cannot be spoken or written."""
        fonts = self.surroundings.root / "fonts"
        for tag in choice.locales:
            try:
                fonts_of(self.surroundings.speech(tag).locale, (fonts,))
            except BrokenCatalogue as error:
                yield from error.problems
            except FontsMissing as error:
                yield error.problem(checked.file)

    def _remembered(self, choice: Choice) -> Iterator[Event]:
        """The last good pages of what is looked at, where it was made before."""
        if choice.trial.asked:
            return
        for side, tag in enumerate(choice.locales):
            for page in self._good.get((choice.pattern, tag, choice.paper), ()):
                yield Event("page", {**page, "side": side, "last": page["number"] == page["of"]})

    def _drafts(self, choice: Choice, checked: Checked, shelf: Shelf) -> list[Draft]:
        """The leaflet in every locale."""
        subject = subject_of(checked, shelf, self.surroundings.photo)
        speeches = [self.surroundings.speech(tag) for tag in choice.locales]
        return [self._printer.draft(subject, speech, choice.paper) for speech in speeches]

    def _first_pages(self, choice: Choice, drafts: Sequence[Draft], watch: "_Watch") -> Iterator[Event | None]:
        for side, made in enumerate(drafts):
            yield None
            yield from self._first(choice, made, side)
        yield Event("front", {"took": watch.at("first page") if drafts else watch.took})

    def _all_pages(self, choice: Choice, drafts: Sequence[Draft], watch: "_Watch") -> Iterator[Event | None]:
        for side, made in enumerate(drafts):
            yield from self._rest(choice, made, side)
        if drafts:
            yield Event("whole", {"took": watch.at("all pages")})

    def _first(self, choice: Choice, made: Draft, side: int) -> Iterator[Event | None]:
        tag = choice.locales[side]
        known = self._good.get((choice.pattern, tag, choice.paper), ())
        pdf = self._printer.title_page(made, len(known) or GUESS)
        yield None
        page = next(rasterized(pdf, quickly=True))
        yield _page_event(page, made, side, of=len(known) or GUESS, last=False)

    def _rest(self, choice: Choice, made: Draft, side: int) -> Iterator[Event | None]:
        for _ in self._printer.drawing(made):
            yield None
        if not side:
            yield _chart_event(self._printer, made)
        pdf = self._printer.pages(made)
        shown = []
        for page in rasterized(pdf):
            yield None
            event = _page_event(page, made, side, of=page.of, last=page.number == page.of)
            shown.append(event.data)
            yield event
        if not choice.trial.asked:
            self._good.pop((choice.pattern, choice.locales[side], choice.paper), None)
            self._good[choice.pattern, choice.locales[side], choice.paper] = shown
            for old in list(self._good)[:-REMEMBERED]:
                del self._good[old]


class _Watch:
    """How long it took to each step, ms."""

    def __init__(self, clock: Clock) -> None:
        self.clock, self.began = clock, clock()
        self.took: Mapping[str, int] = {}

    def at(self, step: str) -> Mapping[str, int]:
        """A step is done: this one and all before it."""
        self.took = {**self.took, step: round((self.clock() - self.began) * 1000)}
        return self.took


def _good(problems: Sequence[Problem]) -> bool:
    return all(problem.severity is not Severity.ERROR for problem in problems)


def _page_event(page: Page, made: Draft, side: int, *, of: int, last: bool) -> Event:
    locale = made.told.speech.locale
    name = hashlib.sha256(page.data).hexdigest()[:32]
    data = {
        "side": side, "number": page.number, "of": of, "last": last, "name": name,
        "width": page.width, "height": page.height, "lang": locale.tag, "direction": locale.direction,
        "title": made.told.phrase(made.told.pattern.title).text,
    }  # fmt: skip
    return Event("page", data, sheets={name: page.data})


def _chart_event(printer: Printer, made: Draft) -> Event:
    """The chart as it stands in the leaflet, as inlays."""
    charts = printer.charts(made)
    drawn = inlays(charts, in_full=True)
    pictures = [drawn.by_id[chart.id].placed(CHARTS[chart.id]) for chart in charts]
    return Event("chart", {"definitions": drawn.definitions, "pictures": pictures})


def write_trial(surroundings: Surroundings, choice: Choice, new_id: str) -> tuple[Path, tuple[Problem, ...]]:
    """Write what is tried into a new file of the workspace; never over one that is there.

    ``new_id`` must have the shape of an id. Problems say why nothing was written.
    """
    place = surroundings.file(new_id)
    checked = check_file(surroundings.file(choice.pattern))
    if checked.pattern is None or checked.source is None:
        return place, checked.problems
    symbols = symbols_of(surroundings.workspace, shipped_signs=False)
    text = tried(checked.source, checked.pattern, choice.trial, symbols, new_id)
    return place, write_new(text.encode(), place)
