"""The pattern as written, as a model: what its keys mean, and which stitches a round may have.

Which stitches there are and what they take is data (``symbols/``): it comes in as ``StitchForm``s, and a model of a
round is made from them. Nothing is computed here; lengths in ``%`` stay lengths until the loom is known.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Annotated, Any, Final, Literal

from pydantic import ConfigDict, Field, create_model

from pipeline.fields import (
    Distance,
    Flag,
    Id,
    Letter,
    Millimetres,
    Record,
    Text,
    Whole,
    choice,
)
from pipeline.fields import Tag as LanguageTag
from pipeline.records import (
    MOST_RAYS,
    Assembly,
    Correction,
    Edition,
    Finish,
    Give,
    Link,
    LoomOrName,
    Photo,
    Price,
    Round,
    Size,
    Sizes,
    Tails,
    ThreadSpec,
    Web,
)

RESERVED: Final = ("at", "gap", "to", "rows", "thread", "note", "close", "part")
"""Keys of a round that no stitch may be called."""


class ParameterForm(Record):
    """What a stitch may be told under one key."""

    kind: Annotated[str, choice("count", "shift", "sizes", "length", "choice")] = Field(
        description="What it is: a number of rays, a shift, sizes of groups, a length, or one of some words.",
        examples=["sizes"],
    )
    default: Whole | None = Field(None, description="What holds where nothing is said.", examples=[4])
    least: Whole = Field(0, description="The smallest number it may be.", examples=[1])
    most: Whole = Field(MOST_RAYS, description="The largest number it may be.", examples=[12])
    choices: tuple[Text, ...] = Field(
        (),
        description="The words of a choice; the first is taken where nothing is said.",
        examples=[["bar", "leaf"]],
    )
    required: Flag = Field(default=False, description="Whether it must be said.", examples=[True])
    about: Text = Field(description="What it says, for the manual and for editors.", examples=["Rays to a tie."])


@dataclass(frozen=True, slots=True)
class StitchForm:
    """What a round with this stitch may say."""

    id: str
    about: str
    distance: Literal["required", "optional", "none"]
    tight: bool
    takes: frozenset[str]
    """Which of ``to``, ``rows``, ``close``, ``part`` it understands."""
    lists: frozenset[str]
    """Which of ``at``, ``gap``, ``thread`` may be lists."""
    back: bool
    """Whether it goes back before it goes on, so that ``under`` must be more than ``over``."""
    parameters: tuple[tuple[str, ParameterForm], ...]


_ROUNDS: Final[Any] = Field(
    description="The work, round by round from the centre outward; each has exactly one stitch.",
    examples=[[{"darn": {}, "rows": 3}, {"knot": {"rays": 6}, "at": "15 mm"}, {"edge-loops": {}}]],
)


class Pattern(Record):
    """A whole pattern file."""

    model_config = ConfigDict(title="Wheel-lace pattern")

    spokeleaf: Whole = Field(description="Format version; always 1 and always the first key.", examples=[1])
    id: Id = Field(
        description="The pattern's name for programs; the file is called <id>.yaml.", examples=["harbour-wheel"]
    )
    title: Text = Field(description="The pattern's name for people.", examples=["Harbour Wheel"])
    language: LanguageTag = Field(description="The language of the texts in this file.", examples=["en", "pt-BR"])
    summary: Text | None = Field(
        None,
        description="What it is, in one sentence under the title.",
        examples=["A darned centre and two rings of knots."],
    )
    level: Annotated[Whole, Field(ge=1, le=5)] = Field(
        description="1 first piece … 5 needs long practice.", examples=[1]
    )
    edition: Edition = Field(
        description="Which published version this is, and of which day.",
        examples=[{"number": 1, "date": "2026-03-14"}],
    )
    corrections: Annotated[tuple[Correction, ...], Field(max_length=200)] = Field(
        (),
        description="What each edition put right; printed on the leaflet.",
        examples=[[{"edition": 2, "text": "Round 3 was drawn one ray too far left."}]],
    )
    loom: LoomOrName = Field(
        description="The loom it is made on, or the name of a file in looms/.",
        examples=[{"shape": "circle", "diameter": "84 mm", "pins": 60}, "quay-card"],
    )
    threads: Annotated[dict[Letter, ThreadSpec], Field(min_length=1, max_length=26)] = Field(
        description="Its threads, each under a capital letter that rounds name it by.",
        examples=[{"A": {"fibre": "cotton", "tex": 83.3, "colour": "#1b4f72", "colour_name": "harbour blue"}}],
    )
    rounds: Annotated[tuple[Round, ...], Field(min_length=1, max_length=500)] = _ROUNDS
    web: Web | None = Field(
        None, description="Which thread the web is laid with; without it the first.", examples=[{"thread": "B"}]
    )
    holding_thread: ThreadSpec | None = Field(
        None,
        description="The thread of the loops that hold the web at the rim; without it the web's.",
        examples=[{"fibre": "cotton", "tex": 50, "colour": "#999999", "colour_name": "grey"}],
    )
    finish: Finish = Field(
        Finish(), description="What is done with the piece when it is off the loom.", examples=[{"stiffen": "optional"}]
    )
    tools: Annotated[tuple[Text, ...], Field(max_length=40)] = Field(
        ("blunt-needle", "scissors"),
        description="What is needed: ids of symbols, which are shown and translated, or words of your own.",
        examples=[["blunt-needle", "bent-needle", "scissors"]],
    )
    working_length: Millimetres = Field(
        1500.0, description="How long a thread is cut to work with.", examples=["1500 mm", "60 in"]
    )
    tails: Tails = Field(
        Tails(), description="Ends of thread left over.", examples=[{"start": "200 mm", "rejoin": "80 mm"}]
    )
    give: Give = Field(
        Give(),
        description="The extra length a ray can find. The values are common practice, no measurement: work a sample "
        "and let `spokeleaf calibrate` read it.",
        examples=[{"pin": "2 mm", "slack_pct": 3}],
    )
    measured: dict[Letter, Millimetres] = Field(
        {}, description="Thread a sample really took, by its letter.", examples=[{"A": "7.4 m"}]
    )
    accepts: dict[str, Text] = Field(
        {},
        description="Warnings the designer answers for, with the reason.",
        examples=[{"odd-pins": "worked as a sample, March 2026"}],
    )
    photos: Annotated[tuple[Photo, ...], Field(max_length=40)] = Field(
        (),
        description="Photographs of the piece.",
        examples=[[{"file": "photos/harbour.jpg", "alt": "The finished wheel on dark cloth"}]],
    )
    links: Annotated[tuple[Link, ...], Field(max_length=20)] = Field(
        (),
        description="Addresses printed on the leaflet, also as square codes.",
        examples=[[{"url": "https://example.org/harbour", "label": "Corrections"}]],
    )
    sizes: tuple[Size, ...] = Field(
        (),
        description="The same pattern on other looms, all in one table of the leaflet.",
        examples=[[{"name": "S", "loom": {"diameter": "60 mm", "pins": 42}}]],
    )
    assembly: Assembly | None = Field(
        None,
        description="How finished wheels are joined into a mat.",
        examples=[{"layout": "hex", "columns": 5, "rows": 4, "joins": 3}],
    )
    sku: Text | None = Field(None, description="Its number in your shop.", examples=["HW-01"])
    price: Price | None = Field(
        None, description="What the leaflet costs.", examples=[{"amount": "6.50", "currency": "EUR"}]
    )
    tags: Annotated[tuple[Text, ...], Field(max_length=100)] = Field(
        (), description="Words to find it by in a catalogue.", examples=[["beginner"]]
    )

    @property
    def web_thread(self) -> str:
        """The letter of the web's thread: the first, where nothing is said."""
        return self.web.thread if self.web else next(iter(self.threads))

    @property
    def colours(self) -> dict[str, str]:
        """The colours of its threads by their letters."""
        return {letter: thread.colour for letter, thread in self.threads.items()}


_RECORDS: Final[Mapping[str, Any]] = {"count": Whole, "shift": Whole, "sizes": Sizes, "length": Distance}
MOST_ROWS: Final = 500


@lru_cache(maxsize=8)
def pattern_model(forms: tuple[StitchForm, ...]) -> type[Pattern]:
    """The model of a pattern whose rounds may use these stitches."""
    rounds: Any = tuple[round_model(forms), ...]  # type: ignore[misc]
    limited = Annotated[rounds, Field(min_length=1, max_length=500)]
    return create_model("Pattern", __base__=Pattern, rounds=(limited, _ROUNDS))


@lru_cache(maxsize=8)
def round_model(forms: tuple[StitchForm, ...]) -> type[Round]:
    """The model of a round that may use these stitches."""
    fields: dict[str, Any] = {}
    for form in forms:
        record = _stitch_model(form)
        about = Field(None, alias=form.id, description=form.about, examples=[dict(_told_of(form))])
        fields[form.id.replace("-", "_")] = (record | None, about)
    return create_model("Round", __base__=Round, **fields)


def _stitch_model(form: StitchForm) -> type[Record]:
    fields: dict[str, Any] = {}
    for name, parameter in form.parameters:
        if parameter.kind == "choice":
            word: Any = Annotated[str, choice(*parameter.choices)]
            first, last = parameter.choices[0], parameter.choices[-1]
            fields[f"{name}_"] = (word, Field(first, alias=name, description=parameter.about, examples=[last]))
            continue
        kind = _RECORDS[parameter.kind]
        if parameter.kind in {"count", "shift"}:
            kind = Annotated[kind, Field(ge=parameter.least, le=parameter.most)]
        default: Any = ... if parameter.required else parameter.default
        about: Any = Field(default, description=parameter.about, examples=_examples_of(parameter))
        fields[name] = (kind if default is not None else kind | None, about)
    return create_model(form.id.title().replace("-", ""), __base__=Record, __doc__=form.about, **fields)


def _examples_of(parameter: ParameterForm) -> list[Any]:
    """What a parameter may be told, as it would be written."""
    if parameter.kind == "sizes":
        return [6, [4, {"pass": 2}]]
    return ["5 mm"] if parameter.kind == "length" else [max(parameter.least, parameter.default or 0)]


def _told_of(form: StitchForm) -> Iterator[tuple[str, Any]]:
    """A stitch that is told what it must be told, and its counts."""
    for name, parameter in form.parameters:
        if parameter.required or parameter.kind == "count":
            yield name, _examples_of(parameter)[0]
