"""Symbols as data: the loader."""

from pathlib import Path

import pytest

from pipeline.pattern import RESERVED
from pipeline.symbols import Broken, Stitch, SymbolSet, load
from pipeline.workspace import shipped

SIGN = """\
sign: tick
shows: A box.
texts: {name: Tick, do: Tick it.}
glyph:
  - {role: ray, d: "M2 2 L22 2 L22 22 Z"}
"""

STITCH = """\
stitch: ring
shows: A ring.
behaviour: gather
distance: required
parameters:
  rays: {kind: sizes, required: true, about: "Rays to a group."}
texts: {name: Ring, do: Tie a ring.}
glyph:
  - {role: work, cap: round, d: "M2 2 C4 4 8 8 12 12"}
"""


def broken(tmp_path: Path, text: str) -> list[tuple[str, int, int]]:
    """Codes and places for which a symbol file cannot be used."""
    (tmp_path / "trial.yaml").write_text(text, encoding="utf-8")
    with pytest.raises(Broken) as caught:
        load([tmp_path])
    assert all(problem.file == str(tmp_path / "trial.yaml") for problem in caught.value.problems)
    return [(problem.code, problem.span.line, problem.span.column) for problem in caught.value.problems]


def test_the_shipped_symbols_load(symbols: SymbolSet) -> None:
    """The four stitches of the first leaflets are there, and each stands in a file of its name."""
    assert {"knot", "darn", "edge-loops", "edge-arches"} <= set(symbols.stitches)
    files = {file.stem for file in shipped("symbols").glob("*.yaml")}
    assert set(symbols.stitches) | set(symbols.signs) == files
    assert not set(symbols.stitches) & set(symbols.signs)


def test_no_stitch_is_called_by_a_reserved_word(symbols: SymbolSet) -> None:
    """A key of a round is never a stitch: the eight words of design section 4."""
    assert set(RESERVED) == {"at", "gap", "to", "rows", "thread", "note", "close", "part"}
    assert not set(symbols.stitches) & set(RESERVED)


def test_knots_and_edges_take_the_thread_of_the_design(symbols: SymbolSet) -> None:
    """Design section 5: one turn round the bundle and three thicknesses, for knots and both edges."""
    for name in ("knot", "edge-loops", "edge-arches"):
        take_up = symbols.stitches[name].take_up
        assert (take_up.turns, take_up.thicknesses) == (1, 3), name


def test_edges_take_the_rays_of_the_design(symbols: SymbolSet) -> None:
    """Loops tie the two legs of a pin, arches the right leg with the next pin's left."""
    edges = {name: symbols.stitches[name].edge for name in ("edge-loops", "edge-arches")}
    assert {name: (edge.rays, edge.shift) for name, edge in edges.items() if edge} == {
        "edge-loops": (2, 0),
        "edge-arches": (2, 1),
    }


def test_defaults_of_a_darn_are_those_of_the_design(symbols: SymbolSet) -> None:
    """Over 2, under 2, two rows."""
    form = symbols.stitches["darn"].form
    assert {name: parameter.default for name, parameter in form.parameters} == {"over": 2, "under": 2}
    assert (form.rows, form.tight, form.distance) == (2, True, "optional")


def test_a_symbol_of_a_workspace_takes_the_place_of_a_shipped_one(tmp_path: Path) -> None:
    """Later folders lie over earlier ones, id by id."""
    first, second = tmp_path / "a", tmp_path / "b"
    for folder in (first, second):
        folder.mkdir()
    (first / "tick.yaml").write_text(SIGN, encoding="utf-8")
    (first / "ring.yaml").write_text(STITCH, encoding="utf-8")
    (second / "tick.yaml").write_text(SIGN.replace("Tick it", "Cross it"), encoding="utf-8")
    found = load([first, second])
    assert found.symbol("tick").texts.do == "Cross it."
    assert isinstance(found.symbol("ring"), Stitch)


@pytest.mark.parametrize(
    ("old", "new", "expected"),
    [
        ("sign: tick", "sign: Tick Box", ("text-shape", 1, 7)),
        ("shows: A box.\n", "", ("key-missing", 1, 1)),
        ("role: ray", "role: red", ("not-one-of", 5, 12)),
        ("role: ray", "roll: ray", ("key-unknown", 5, 6)),
        ('"M2 2 L22 2 L22 22 Z"', '"M2 2 L22 2 Q22 22 Z"', ("text-shape", 5, 20)),
        ('"M2 2 L22 2 L22 22 Z"', '"M2 2 L22"', ("text-shape", 5, 20)),
        ('"M2 2 L22 2 L22 22 Z"', '"L2 2"', ("text-shape", 5, 20)),
        ("role: ray", "role: ray, width: 9", ("number-too-large", 5, 24)),
    ],
)
def test_a_broken_sign_says_where(tmp_path: Path, old: str, new: str, expected: tuple[str, int, int]) -> None:
    """A slip in a symbol file has its code, line and column."""
    assert old in SIGN
    assert expected in broken(tmp_path, SIGN.replace(old, new))


@pytest.mark.parametrize(
    ("old", "new", "expected"),
    [
        ("behaviour: gather", "behaviour: dance", ("not-one-of", 3, 12)),
        ("kind: sizes", "kind: shoe", ("not-one-of", 6, 16)),
        ("distance: required", "distance: 3", ("not-one-of", 4, 11)),
    ],
)
def test_a_broken_stitch_says_where(tmp_path: Path, old: str, new: str, expected: tuple[str, int, int]) -> None:
    """A behaviour, kind or distance nobody knows is told at the word."""
    assert old in STITCH
    assert broken(tmp_path, STITCH.replace(old, new)) == [expected]


def test_all_broken_symbols_are_told_at_once(tmp_path: Path) -> None:
    """Two broken files give the problems of both."""
    for name in ("one", "two"):
        (tmp_path / f"{name}.yaml").write_text(SIGN.replace("role: ray", "role: red"), encoding="utf-8")
    with pytest.raises(Broken) as caught:
        load([tmp_path])
    assert [Path(problem.file).stem for problem in caught.value.problems] == ["one", "two"]
