"""The publisher: whose name is on the leaflet (``patterns/publisher.yaml``, optional)."""

from typing import Annotated, Final

from pydantic import Field, ValidationError

from pipeline.fields import Address, Colour, Flag, Record, Text, choice, findings_of, missing_values
from pipeline.problems import Finding, Problem
from pipeline.source import Source

TERMS: Final = (
    "sell-pieces", "keep-pieces", "copy-for-self", "copy-for-class", "share-whole", "no-copies", "name-publisher",
)  # fmt: skip
"""What makers may do and may not, as ids with texts of their own in every language."""
_AGAINST: Final = (("sell-pieces", "keep-pieces"), ("no-copies", "copy-for-self"), ("no-copies", "copy-for-class"),
                   ("no-copies", "share-whole"))  # fmt: skip
LEAST_CONTRAST: Final = 4.5
"""Of text against white paper: WCAG 2.2, 1.4.3."""


class Colours(Record):
    """The publisher's own colours."""

    accent: Colour | None = Field(
        None, description="Of rules and small marks on pages; dark enough to be read.", examples=["#9c2f21"]
    )


class Publisher(Record):
    """The designer or shop that publishes the leaflets of a workspace."""

    publisher: Text = Field(description="Whose name is on the leaflets.", examples=["Thistledown Quay"])
    contact: Text | None = Field(
        None, description="How to reach you: an e-mail address, a telephone.", examples=["hello@quay.example"]
    )
    address: Address | None = Field(None, description="Your page on the web.", examples=["https://quay.example"])
    copyright: Text | None = Field(None, description="Whose work it is.", examples=["© 2026 Thistledown Quay"])
    licence: Text | None = Field(None, description="Under which licence, as you word it.", examples=["CC BY-NC 4.0"])
    logo: Text | None = Field(
        None, description="A drawing (SVG) or picture, named from this file's folder.", examples=["quay.svg"]
    )
    colours: Colours = Field(Colours(), description="Your own colours on pages.", examples=[{"accent": "#9c2f21"}])
    terms: tuple[Annotated[str, choice(*TERMS)], ...] = Field(
        (),
        description="What makers may do and may not; each has its sentence in every language.",
        examples=[["sell-pieces", "name-publisher"]],
    )
    attach_source: Flag = Field(
        default=False,
        description="Whether the pattern file goes into its leaflets; it gives the source away.",
        examples=[True],
    )


def parse(source: Source) -> tuple[Publisher | None, tuple[Problem, ...]]:
    """The publisher in a source, or what is wrong with it."""
    try:
        found = Publisher.model_validate(source.tree)
    except ValidationError as error:
        return None, source.problems + source.locate(findings_of(error, source.tree, Publisher))
    problems = source.problems + source.locate([*missing_values(source.tree), *_pale(found), *_contrary(found)])
    return (None, problems) if problems else (found, ())


def _pale(publisher: Publisher) -> list[Finding]:
    """Colours that cannot be read on paper."""
    accent = publisher.colours.accent
    if accent is None or contrast(accent) >= LEAST_CONTRAST:
        return []
    facts = {"colour": accent, "contrast": f"{contrast(accent):.1f}", "least": LEAST_CONTRAST}
    return [Finding("colour-pale", ("colours", "accent"), facts)]


def _contrary(publisher: Publisher) -> list[Finding]:
    """Terms that say two things at once."""
    return [
        Finding("terms-contrary", ("terms", publisher.terms.index(second)), {"found": second, "other": first})
        for first, second in _AGAINST
        if first in publisher.terms and second in publisher.terms
    ]


def contrast(colour: str) -> float:
    """Contrast of a colour with white (WCAG 2.2, contrast ratio).

    >>> round(contrast("#000000"), 1), round(contrast("#ffffff"), 1)
    (21.0, 1.0)
    """
    channels = (int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5))
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels)
    return 1.05 / (0.2126 * red + 0.7152 * green + 0.0722 * blue + 0.05)
