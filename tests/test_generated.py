"""Generated files are current, and the demos are as good as they can be."""

from pathlib import Path

import pytest

from pipeline.catalogue.messages import Stock, updated_files
from pipeline.files import check_file, symbols_of
from pipeline.reference import keys, reference
from pipeline.schema import schema, schema_text
from pipeline.workspace import Workspace

ROOT = Path(__file__).resolve().parent.parent
DEMOS = sorted(file for file in (ROOT / "patterns").glob("*.yaml") if file.stem != "publisher")


def test_the_schema_is_current() -> None:
    """`spokeleaf schema` prints what is committed."""
    committed = (ROOT / "pipeline" / "pattern.schema.json").read_text(encoding="utf-8")
    assert committed == schema_text("pattern", symbols_of(Workspace(None)))


def test_the_reference_is_current() -> None:
    """`spokeleaf symbols --reference` prints what is committed; every stitch has a line worked out, and is told of."""
    symbols = symbols_of(Workspace(None))
    text = reference(symbols)
    assert (ROOT / "symbols" / "README.md").read_text(encoding="utf-8") == text
    assert all(f"\n| `{stitch}: {{" in text and f": `{stitch}`, short form" in text for stitch in symbols.stitches)
    assert all(f"\n| `{sign}` | " in text for sign in symbols.signs)


def test_the_table_of_keys_is_current() -> None:
    """`spokeleaf schema --table` prints what is committed; every key of a pattern stands in it with an example."""
    symbols = symbols_of(Workspace(None))
    text = keys(symbols)
    assert (ROOT / "patterns" / "README.md").read_text(encoding="utf-8") == text
    rows = {line.split("`")[1]: line for line in text.splitlines() if line.startswith("| `")}
    assert set(schema("pattern", symbols)["properties"]) <= set(rows)
    assert all(line.rstrip(" |").endswith("`") for line in rows.values())


def test_the_table_of_keys_tells_allowed_words_and_noughts() -> None:
    """Whatever a key may be told is said beside it, and a default of 0 is none that is missing."""
    lines = keys(symbols_of(Workspace(None))).splitlines()
    (stiffen,) = [line for line in lines if line.startswith("| `stiffen`")]
    assert "Whether it is stiffened. One of `never`, `optional`, `always`. | `never` |" in stiffen
    (start,) = [line for line in lines if line.startswith("| `from`")]
    assert start.endswith(" | `0` | `0` |")


def test_the_manual_tells_what_the_model_reckons() -> None:
    """README's figures of the hardest-pressed ray in round 3 of the harbour wheel."""
    lace = check_file(ROOT / "tests" / "cases" / "good" / "harbour-wheel.yaml").lace
    assert lace is not None
    third = lace.rounds[2]
    ray = max(range(len(third.budgets)), key=lambda each: third.budgets[each])
    demand, budget = third.demands[ray], third.budgets[ray]
    give = 1.5 + 0.05 * demand.natural
    assert budget == pytest.approx(demand.mm / give)
    told = " ".join((ROOT / "README.md").read_text(encoding="utf-8").split())
    assert f"has {demand.natural:.1f} mm left and is asked for {demand.mm:.2f} mm" in told
    assert f"5 % of {demand.natural:.1f} mm = {give:.2f} mm: budget {budget:.2f}, good" in told


def test_templates_and_catalogues_are_current() -> None:
    """`spokeleaf locale update` would change nothing."""
    patterns = [pattern for file in DEMOS if (pattern := check_file(file).pattern)]
    assert len(patterns) == len(DEMOS)
    for place, data in updated_files(Stock(Workspace(ROOT), symbols_of(Workspace(ROOT)), tuple(patterns))):
        assert place.read_bytes() == data, place.name


@pytest.mark.parametrize("file", DEMOS, ids=lambda file: file.stem)
def test_a_demo_has_no_problem(file: Path) -> None:
    """Not a warning, not a note."""
    checked = check_file(file)
    assert checked.ok
    assert checked.problems == ()


def test_levels_one_to_four_are_shown() -> None:
    """The demos lead from a first piece to one that needs practice."""
    assert {pattern.level for file in DEMOS if (pattern := check_file(file).pattern)} == {1, 2, 3, 4}


def test_every_stitch_shape_and_key_is_shown() -> None:
    """Whatever a round or a loom can be stands in some demo."""
    patterns = [pattern for file in DEMOS if (pattern := check_file(file).pattern)]
    assert {entry.stitch for pattern in patterns for entry in pattern.rounds} == set(
        symbols_of(Workspace(None)).stitches
    )
    assert {pattern.loom.shape for pattern in patterns} >= {"circle", "oval", "square", "half-circle"}
    written = {key for pattern in patterns for entry in pattern.rounds for key in entry.model_fields_set}
    assert written >= {"at", "gap", "to", "rows", "thread", "close", "part", "note"}
    assert any(pattern.sizes for pattern in patterns)
    assert any(pattern.assembly for pattern in patterns)
