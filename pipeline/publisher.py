"""The publisher: whose name is on the leaflet (``patterns/publisher.yaml``, optional)."""

from pydantic import ValidationError

from pipeline.fields import Address, Record, Text, findings_of
from pipeline.problems import Problem
from pipeline.source import Source


class Publisher(Record):
    """The designer or shop that publishes the leaflets of a workspace."""

    publisher: Text
    contact: Text | None = None
    address: Address | None = None
    copyright: Text | None = None


def parse(source: Source) -> tuple[Publisher | None, tuple[Problem, ...]]:
    """The publisher in a source, or what is wrong with it."""
    try:
        found = Publisher.model_validate(source.tree)
    except ValidationError as error:
        return None, source.problems + source.locate(findings_of(error, source.tree, Publisher))
    return (None, source.problems) if source.problems else (found, ())
