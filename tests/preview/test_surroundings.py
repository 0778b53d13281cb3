"""What leaflets are made with: read once, and read anew when its files change."""

from collections.abc import Callable
from pathlib import Path

import pytest

from pipeline.drawing.picture import Picture
from pipeline.preview.surroundings import Surroundings
from tests.harm import no_more_rights

Write = Callable[..., Path]
LOGO = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 20 10"><path d="M0 0H{width}V10H0Z"/></svg>'


@pytest.mark.parametrize("name", ["wheel.jpg", "quay.svg", "publisher.yaml", "photos/wheel.jpg", "looms/card.yaml"])
def test_what_lies_beside_patterns_concerns_them_all(surroundings: Surroundings, place: Path, name: str) -> None:
    """Photographs and logos may stand among them; of the patterns themselves each concerns itself alone."""
    assert surroundings.concerns(place / "patterns" / name, "trial")
    assert surroundings.concerns(surroundings.file("trial"), "trial")
    assert not surroundings.concerns(surroundings.file("other"), "trial")


def test_a_logo_beside_patterns_is_read_anew(surroundings: Surroundings, place: Path) -> None:
    """A drawing in the same folder; a change of a pattern leaves the shelf as it is."""
    mark = place / "patterns" / "mark.svg"
    mark.write_text(LOGO.format(width=20))
    (place / "patterns" / "publisher.yaml").write_text("publisher: Trial Press\nlogo: mark.svg\n")
    before = surroundings.shelf()
    assert before is not None
    assert isinstance(before.logo, Picture)
    mark.write_text(LOGO.format(width=10))
    surroundings.forget([surroundings.file("trial")])
    assert surroundings.shelf() is before
    surroundings.forget([mark])
    after = surroundings.shelf()
    assert after is not None
    assert after.logo != before.logo


def test_locales_that_cannot_be_read_leave_those_that_were(surroundings: Surroundings, place: Path) -> None:
    """A folder that is closed: at first the shipped ones are all there is, later none is lost."""
    (place / "locales" / "fi").mkdir(parents=True)
    (place / "locales" / "fi" / "locale.yaml").write_text("locale: fi\nstatus: draft\n")
    with no_more_rights(place / "locales"):
        assert "en" in surroundings.locales
        assert "fi" not in surroundings.locales
    surroundings.forget([place / "locales" / "any"])
    assert "fi" in surroundings.locales
    surroundings.forget([place / "locales" / "any"])
    with no_more_rights(place / "locales"):
        assert "fi" in surroundings.locales
