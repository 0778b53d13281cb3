"""Symbols as data: the loader."""

import re
from pathlib import Path

import pytest

from pipeline.pattern_model import RESERVED
from pipeline.symbol_model import Stitch
from pipeline.symbols import Broken, SymbolSet, load
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
  shift: {kind: shift, default: 0, about: "Where the first group begins."}
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
    """The stitches of design sections 2 and 5 are there, and each stands in a file of its name."""
    assert {"darn", "knot", "rib", "wrap", "weave", "edge-loops", "edge-arches", "edge-picots"} <= set(symbols.stitches)
    files = {file.stem for file in shipped("symbols").glob("*.yaml")}
    assert set(symbols.stitches) | set(symbols.signs) == files
    assert not set(symbols.stitches) & set(symbols.signs)


def test_no_stitch_is_called_by_a_reserved_word(symbols: SymbolSet) -> None:
    """A key of a round is never a stitch: the eight words of design section 4."""
    assert set(RESERVED) == {"at", "gap", "to", "rows", "thread", "note", "close", "part"}
    assert not set(symbols.stitches) & set(RESERVED)


def test_knots_and_edges_take_the_thread_of_the_design(symbols: SymbolSet) -> None:
    """Design section 5: one turn round the bundle and three thicknesses, for knots and all edges."""
    for name in ("knot", "edge-loops", "edge-arches", "edge-picots"):
        take_up = symbols.stitches[name].take_up
        assert (take_up.turns, take_up.thicknesses) == (1, 3), name


def test_edges_take_the_rays_of_the_design(symbols: SymbolSet) -> None:
    """Loops and picots tie the two legs of a pin, arches the right leg with the next pin's left."""
    edges = {name: symbols.stitches[name].edge for name in ("edge-loops", "edge-arches", "edge-picots")}
    assert {name: (edge.rays, edge.shift) for name, edge in edges.items() if edge} == {
        "edge-loops": (2, 0),
        "edge-arches": (2, 1),
        "edge-picots": (2, 0),
    }


def test_defaults_of_a_darn_are_those_of_the_design(symbols: SymbolSet) -> None:
    """Over 2, under 2, two rows, each row begun so that it lies opposite to the last."""
    darn = symbols.stitches["darn"]
    told = dict(darn.form.parameters)
    assert {name: told[name].default for name in ("over", "under")} == {"over": 2, "under": 2}
    assert told["parity"].choices[0] == "skip"
    assert (darn.rows and darn.rows.default, darn.form.tight, darn.form.distance) == (2, True, "optional")


def test_defaults_of_a_rib_are_those_of_the_design(symbols: SymbolSet) -> None:
    """Back over 1, forward under 2."""
    form = symbols.stitches["rib"].form
    assert {name: parameter.default for name, parameter in form.parameters} == {"over": 1, "under": 2}
    assert form.back


def test_keys_of_a_round_are_for_the_stitches_that_the_design_gives_them_to(symbols: SymbolSet) -> None:
    """``to`` is for fillings of a band alone, ``rows`` for darn and rib, ``close`` for what is knotted."""
    takers = {
        key: {name for name, stitch in symbols.stitches.items() if key in stitch.form.takes}
        for key in ("to", "rows", "close", "part")
    }
    edges = {name for name, stitch in symbols.stitches.items() if stitch.edge}
    assert takers["to"] == {"wrap", "weave"}
    assert takers["rows"] == {"darn", "rib"}
    assert takers["close"] == {"knot"} | edges
    assert takers["part"] == {"knot", "darn"}


@pytest.mark.parametrize(
    ("glyph", "stitch", "choice"),
    [("weave-leaf", "weave", {"as": "leaf"}), ("weave-point", "weave", {"as": "point"}), ("rib", "rib", {})],
)
def test_a_glyph_says_which_stitch_and_choice_it_is(
    symbols: SymbolSet, glyph: str, stitch: str, choice: dict[str, str]
) -> None:
    """A glyph of a choice stands for its stitch with that choice, and a round that made it is shown by that glyph."""
    meant, told = symbols.meant(glyph)
    assert (meant.stitch, told) == (stitch, choice)
    assert meant.shown(told) == glyph


def test_a_sign_is_no_stitch(symbols: SymbolSet) -> None:
    """The glyph of a tool stands for no stitch, and asking for it says so, as ``meant`` promises."""
    with pytest.raises(KeyError):
        symbols.meant("scissors")


def test_a_symbol_of_a_workspace_takes_the_place_of_a_shipped_one(tmp_path: Path) -> None:
    """Later folders lie over earlier ones, id by id, where a symbol says that it replaces the other."""
    first, second = tmp_path / "a", tmp_path / "b"
    for folder in (first, second):
        folder.mkdir()
    (first / "tick.yaml").write_text(SIGN, encoding="utf-8")
    (first / "ring.yaml").write_text(STITCH, encoding="utf-8")
    (second / "tick.yaml").write_text(
        SIGN.replace("Tick it", "Cross it").replace("shows:", "replaces: true\nshows:"), encoding="utf-8"
    )
    found = load([first, second])
    assert found.symbol("tick").texts.do == "Cross it."
    assert found.own == {"tick"}
    assert isinstance(found.symbol("ring"), Stitch)


def test_a_symbol_that_would_hide_another_unawares_is_refused(tmp_path: Path) -> None:
    """The same id without ``replaces`` is told at the second file, in its first line."""
    for folder in ("a", "b"):
        (tmp_path / folder).mkdir()
        (tmp_path / folder / "tick.yaml").write_text(SIGN, encoding="utf-8")
    with pytest.raises(Broken) as caught:
        load([tmp_path / "a", tmp_path / "b"])
    (problem,) = caught.value.problems
    assert (problem.code, problem.file, problem.span.line) == ("symbol-shipped", str(tmp_path / "b" / "tick.yaml"), 1)


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


@pytest.mark.parametrize(
    ("old", "new", "code"),
    [
        ("stitch: ring", "stitch: threads", "symbol-reserved"),
        ("stitch: ring", "stitch: model-config", "symbol-reserved"),
        ("stitch: ring", "stitch: json", "symbol-reserved"),
        ("distance: required", "distance: optional", "not-one-of"),
        ("distance: required", "distance: none", "not-one-of"),
        ("distance: required", "distance: required\ntight: true", "key-unknown"),
        ("distance: required", "distance: required\nback: true", "key-unknown"),
        ("distance: required", "distance: required\nrows: {default: 2}", "key-unknown"),
        ("required: true", "required: false", "key-missing"),
        ("required: true", "default: 0", "number-too-small"),
        ("required: true", "default: -4", "number-too-small"),
        ("required: true", "default: 2001", "number-too-large"),
        ("required: true", "default: 4, least: 5", "number-too-small"),
        ("parameters:", "rows: {default: 0}\nparameters:", "number-too-small"),
        ("parameters:", "rows: {default: 100000000}\nparameters:", "number-too-large"),
        ("parameters:", "parameters:\n  _own: {kind: count, about: Own.}", "text-shape"),
        ("parameters:", "parameters:\n  copy: {kind: count, about: Own.}", "text-shape"),
        ("parameters:", 'parameters:\n  "": {kind: count, about: Own.}', "text-shape"),
        ("parameters:", "parameters:\n  parity: {kind: choice, choices: [skip], about: Own.}", "key-unknown"),
        ("parameters:", "parameters:\n  far: {kind: length, default: 5, about: Own.}", "key-unknown"),
    ],
)
def test_a_stitch_that_could_not_be_worked_is_refused(tmp_path: Path, old: str, new: str, code: str) -> None:
    """Names that programs need, rounds that would lie nowhere, and numbers of rays that are none."""
    assert old in STITCH
    assert [found[0] for found in broken(tmp_path, STITCH.replace(old, new, 1))] == [code]


@pytest.mark.parametrize(
    ("key", "value"),
    [("over", "{kind: count, default: 2, about: Own.}"), ("over", "{kind: count, least: 1, about: Own.}")],
)
def test_a_weave_passes_over_one_ray_at_least(tmp_path: Path, key: str, value: str) -> None:
    """A count that may be none, or that nobody says."""
    sound = (shipped("symbols") / "darn.yaml").read_text(encoding="utf-8").replace("stitch: darn", "stitch: own-darn")
    assert broken(tmp_path, re.sub(rf"  {key}: .*", f"  {key}: {value}", sound, count=1))


@pytest.mark.parametrize(
    ("name", "old", "new"),
    [
        ("darn", "choices: [skip, half-ray, pair-once]", "choices: [skip, half-way]"),
        ("weave", "choices: [bar, leaf, point]", "choices: [bar, fan]"),
        ("edge-loops", "distance: none", "distance: optional"),
        ("edge-loops", "distance: none", "distance: required"),
    ],
)
def test_a_word_that_the_craft_model_does_not_know_is_refused(tmp_path: Path, name: str, old: str, new: str) -> None:
    """Any other parity would count as a bundle fewer, any other outline as a bar, and an edge lies at the rim."""
    sound = (shipped("symbols") / f"{name}.yaml").read_text(encoding="utf-8")
    assert old in sound
    own = sound.replace(f"stitch: {name}", "stitch: trial").replace(old, new)
    assert [found[0] for found in broken(tmp_path, own)] == ["not-one-of"]


def test_a_weave_that_names_no_rows_takes_none(tmp_path: Path) -> None:
    """It has one row, so a round of it that gives another number is told so, where it would be passed over."""
    sound = (shipped("symbols") / "darn.yaml").read_text(encoding="utf-8")
    assert "rows: {default: 2}\n" in sound
    (tmp_path / "darn.yaml").write_text(sound.replace("rows: {default: 2}\n", ""), encoding="utf-8")
    assert load([tmp_path]).stitches["darn"].form.takes == {"part"}


def test_a_stitch_replaces_no_sign(tmp_path: Path) -> None:
    """Whether the shipped signs are read or only known by name: it could not be told from them in a line."""
    own = tmp_path / "shift.yaml"
    own.write_text(STITCH.replace("stitch: ring", "stitch: shift\nreplaces: true"), encoding="utf-8")
    for shipped_signs in (True, False):
        with pytest.raises(Broken) as caught:
            load([shipped("symbols"), tmp_path], shipped_signs=shipped_signs)
        assert [problem.code for problem in caught.value.problems] == ["symbol-shipped"]


def test_a_symbol_is_in_the_file_of_its_name(tmp_path: Path) -> None:
    """Programs find it by its id: one in a file of another name is refused at its first key."""
    (tmp_path / "circlet.yaml").write_text(STITCH, encoding="utf-8")
    with pytest.raises(Broken) as caught:
        load([shipped("symbols"), tmp_path])
    (problem,) = caught.value.problems
    assert (problem.code, problem.span.line, problem.hint) == ("symbol-not-file-name", 1, "call the file `ring.yaml`")


def test_all_broken_symbols_are_told_at_once(tmp_path: Path) -> None:
    """Two broken files give the problems of both."""
    for name in ("one", "two"):
        (tmp_path / f"{name}.yaml").write_text(SIGN.replace("role: ray", "role: red"), encoding="utf-8")
    with pytest.raises(Broken) as caught:
        load([tmp_path])
    assert [Path(problem.file).stem for problem in caught.value.problems] == ["one", "two"]
