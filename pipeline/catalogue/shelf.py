"""The shelf of a workspace: symbols, publisher, logo, and where catalogues and fonts lie, read from its files."""

from pipeline.catalogue.make import Shelf
from pipeline.drawing.logo import BOX_MM, LogoUnusable, logo
from pipeline.drawing.picture import Picture
from pipeline.files import symbols_of
from pipeline.photos import Refused, read_inside, ready
from pipeline.problems import Finding, Unusable
from pipeline.publisher import Publisher
from pipeline.publisher import parse as parse_publisher
from pipeline.source import LARGEST_BYTES, Unreadable, read, unreadable
from pipeline.workspace import Workspace, contents, folder_of


class BrokenShelf(Unusable):
    """Some file of a workspace beside its patterns cannot be used."""


def load_shelf(workspace: Workspace) -> Shelf:
    """What leaflets of a workspace are made with. Raises ``BrokenShelf``, ``symbols.Broken`` and ``OSError``."""
    fonts = (workspace.root / "fonts",) if workspace.root else ()
    for folder in fonts:
        folder_of(folder)
    publisher = _publisher(workspace)
    drawn = _logo(workspace, publisher.logo) if publisher and publisher.logo else None
    return Shelf(symbols_of(workspace), publisher, workspace.layers("locales"), fonts, drawn)


def _publisher(workspace: Workspace) -> Publisher | None:
    file = workspace.publisher_file
    if file is None:
        return None
    try:
        publisher, problems = parse_publisher(read(str(file), contents(file, LARGEST_BYTES)))
    except Unreadable as error:
        raise BrokenShelf(error.problems) from error
    except OSError as error:
        raise BrokenShelf((unreadable(str(file), error),)) from error
    if problems:
        raise BrokenShelf(problems)
    return publisher


def _logo(workspace: Workspace, name: str) -> Picture | bytes:
    """The publisher's logo, drawn or made ready."""
    file = workspace.publisher_file
    assert file is not None  # noqa: S101
    source = read(str(file), contents(file, LARGEST_BYTES))
    try:
        data = read_inside(name, file.parent, BOX_MM, "put the file beside publisher.yaml, or delete the line")
        return logo(data) if name.lower().endswith(".svg") else ready(data, BOX_MM)
    except Refused as error:
        finding = Finding(error.code, ("logo",), error.facts)
    except LogoUnusable as error:
        finding = Finding("logo-unusable", ("logo",), {"file": name, "reason": error.reason, "hint": error.hint})
    raise BrokenShelf(source.locate([finding]))
