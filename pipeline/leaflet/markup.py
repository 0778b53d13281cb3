"""The markup of a leaflet: Jinja2 templates filled with its data. They hold no words and decide nothing."""

from collections.abc import Sequence
from functools import lru_cache
from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from pipeline.drawing.picture import ACCENT, INK, RULE, SECONDARY
from pipeline.language.fonts import TITLE, Fonts
from pipeline.leaflet.content import Leaflet
from pipeline.leaflet.entries import Printed
from pipeline.leaflet.papers import Paper
from pipeline.leaflet.universal import KeyEntry

HERE = Path(__file__).parent
PALETTE = {"ink": INK, "accent": ACCENT, "secondary": SECONDARY, "rule": RULE}


@lru_cache(maxsize=1)
def environment() -> Environment:
    """The templates; what is not filled in is an error."""
    found = Environment(
        loader=FileSystemLoader(HERE), autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    found.globals["halves"] = halves
    return found


def halves(texts: Sequence[str]) -> tuple[Sequence[str], Sequence[str]]:
    """Texts in two columns as near in length as can be; columns that WeasyPrint evens out take it a dozen layouts.

    >>> halves(["one", "three", "fourteen"])
    (['one', 'three'], ['fourteen'])
    """
    lengths = [len(text) for text in texts]
    cut = min(range(1, len(texts) + 1), key=lambda place: (abs(sum(lengths[:place]) - sum(lengths[place:])), place))
    return texts[:cut], texts[cut:]


def render(leaflet: Leaflet) -> str:
    """The leaflet as HTML; pictures are named ``stamp:<id>``."""
    return environment().get_template("leaflet.html").render(leaflet=leaflet)


def render_key(entries: Sequence[KeyEntry]) -> str:
    """The universal key as HTML."""
    languages = " · ".join(name.tag for name in entries[0].names) if entries else ""
    return environment().get_template("universal.html").render(entries=entries, languages=languages)


def render_printed(printed: Printed) -> str:
    """The printed catalogue as HTML; pictures are named ``stamp:<id>``, photographs ``photo:<id>``."""
    return environment().get_template("catalogue.html").render(printed=printed)


def style(
    paper: Paper,
    fonts: Fonts,
    direction: str,
    counter: str = "decimal",
    accent: str = ACCENT,
    *,
    template: str = "leaflet.css",
) -> str:
    """A style sheet for a paper, a script and a direction; ``counter`` is CSS's name of the digits of pages."""
    start, end = ("right", "left") if direction == "rtl" else ("left", "right")
    # As markup, for their quotes stay as they are.
    families = Markup(", ").join(Markup('"{}"').format(family) for family in fonts.families)
    return (
        environment()
        .get_template(template)
        .render(
            paper=paper,
            fonts=fonts,
            families=families,
            title_family=TITLE.family,
            palette=PALETTE | {"accent": accent},
            start=start,
            end=end,
            counter=counter,
        )
    )
