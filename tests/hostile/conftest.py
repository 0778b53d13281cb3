"""A workspace as a stranger may send it, beside a secret that nobody may read, and a command run over it."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import yaml
from click.testing import CliRunner, Result

from pipeline.catalogue.shelf import BrokenShelf, load_shelf
from pipeline.cli import main
from pipeline.language.catalogue import BrokenCatalogue, load_catalogues
from pipeline.language.glossary import load_glossary
from pipeline.language.locales import BrokenLocale, LocaleInfo, load_locales
from pipeline.problems import Problem
from pipeline.symbols import Broken, load
from pipeline.workspace import Workspace

Write = Callable[..., Path]
Run = Callable[..., Result]
ES = LocaleInfo("es", "draft")
SECRET = "tablecloth-for-the-queen"  # noqa: S105


READERS: dict[str, Callable[[Path], object]] = {
    "symbols/own-tie.yaml": lambda shop: load([shop / "symbols"]),
    "patterns/publisher.yaml": lambda shop: load_shelf(Workspace(shop)),
    "locales/fi/locale.yaml": lambda shop: load_locales([shop / "locales"]),
    "locales/es/LC_MESSAGES/patterns.po": lambda shop: load_catalogues([shop / "locales"], ES, "patterns"),
    "locales/es/glossary.yaml": lambda shop: load_glossary([shop / "locales"], ES),
}
"""Every kind of file that a workspace may have beside patterns, looms, pictures and fonts, and what reads it."""


def problems_of(reader: Callable[[], object]) -> tuple[Problem, ...]:
    """For what a reader gives up."""
    try:
        reader()
    except (Broken, BrokenShelf, BrokenLocale, BrokenCatalogue) as error:
        return error.problems
    pytest.fail("it was read")


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    """The folder of a workspace; beside it lies a secret."""
    folder = tmp_path.resolve() / "shop"
    (folder / "patterns").mkdir(parents=True)
    (folder.parent / "secret").mkdir()
    (folder.parent / "secret" / "secret.yaml").write_text(f"{SECRET}: 1\n", encoding="utf-8")
    return folder


@pytest.fixture
def write(shop: Path, example: dict[str, Any]) -> Write:
    """Write the small pattern into the workspace with other values at its top level, or another text."""

    def run(text: str | bytes | None = None, **other: object) -> Path:
        file = shop / "patterns" / "trial.yaml"
        written = yaml.safe_dump({**example, **other}, sort_keys=False) if text is None else text
        file.write_bytes(written if isinstance(written, bytes) else written.encode())
        return file

    return run


@pytest.fixture
def run() -> Run:
    """Run a command; whatever it is given, it ends as commands end, and never with a traceback."""

    def invoke(*arguments: object) -> Result:
        result = CliRunner().invoke(main, list(map(str, arguments)))
        assert result.exception is None or isinstance(result.exception, SystemExit), result.exc_info
        return result

    return invoke
