"""The notation line states the whole round: it is read back."""

import itertools
import random
import re
from collections.abc import Callable
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

import pytest

from pipeline.craft.assembly import LaceRound
from pipeline.craft.check import Checked
from pipeline.craft.stitches import Counts, Item
from pipeline.notation import ReadRound, count_text, distance_text, outermost, read, write
from pipeline.symbols import SymbolSet
from pipeline.units import rounded, tenths

CheckText = Callable[..., Checked]


def random_sizes(chance: random.Random, period: int) -> Any:
    """One size, or up to three in turn, each tied or passed over, the first tied; together they are the period."""
    cuts = sorted(chance.sample(range(1, period), chance.randint(0, min(2, period - 1))))
    parts = [b - a for a, b in itertools.pairwise([0, *cuts, period])]
    if len(parts) == 1:
        return period
    return [{"pass": size} if place and chance.random() < 0.5 else size for place, size in enumerate(parts)]


def random_pattern(chance: random.Random, example: dict[str, Any]) -> dict[str, Any]:
    """A pattern whose counts divide, with whatever a round can say."""
    pins = chance.choice([24, 30, 36, 45, 48, 60, 72])
    rays = 2 * pins
    threads = {"A": {"fibre": "cotton", "tex": chance.uniform(20, 90), "colour": "#112233", "colour_name": "a"}}
    if chance.random() < 0.5:
        threads["B"] = {"fibre": "silk", "nm": chance.uniform(10, 60), "colour": "#332211", "colour_name": "b"}
    rounds: list[dict[str, Any]] = []
    if chance.random() < 0.7:
        over = chance.choice([1, 2, 3])
        under = chance.choice([over, over, 1, 2])
        if rays % (over if over == under else over + under) == 0:
            rounds.append({"darn": {"over": over, "under": under}, "rows": chance.randint(1, 6)})
    for _ in range(chance.randint(1, 4)):
        period = chance.choice([size for size in range(3, rays // 3) if rays % size == 0])
        sizes = random_sizes(chance, period)
        knot = {"rays": sizes, "shift": chance.randint(0, rays - 1)}
        rounds.append({"knot": knot, "gap": f"{chance.uniform(2, 9):.2f} mm", "thread": chance.choice(list(threads))})
    if chance.random() < 0.7:
        rounds.append({chance.choice(["edge-loops", "edge-arches"]): {}})
    return example | {
        "loom": {"shape": "circle", "diameter": f"{chance.uniform(60, 140):.1f} mm", "pins": pins},
        "threads": threads,
        "rounds": rounds,
    }


def as_read(done: LaceRound, threads: int) -> ReadRound:
    """What a reader should make out of a round."""
    counts = done.counts
    _, times = count_text(counts, len(done.rays))
    return ReadRound(
        number=done.number,
        stitch=done.stitch.stitch,
        items=counts.items,
        over=counts.over,
        under=counts.under,
        times=times,
        rows=len(done.worked.row_radii),
        shift=counts.shift,
        radius=tenths(done.radius),
        closed=bool(done.worked.nodes),
        thread=done.thread if threads > 1 else None,
    )


def test_a_thousand_random_patterns_are_read_back(
    symbols: SymbolSet, check_text: CheckText, example: dict[str, Any]
) -> None:
    """Glyph ids and figures alone give every round again, its radius to the printed tenth."""
    chance = random.Random(20260314)  # noqa: S311
    rounds = 0
    for _ in range(1000):
        lace = check_text(random_pattern(chance, example)).lace
        assert lace is not None
        lines = write(lace)
        thicknesses = {name: float(rounded(thread.thickness, 2)) for name, thread in lace.threads.items()}
        found = read([line.tokens for line in lines], symbols, thicknesses)
        assert found == tuple(as_read(done, len(lace.threads)) for done in lace.rounds)
        for line, done in zip(lines, lace.rounds, strict=True):
            group, times = count_text(done.counts, lace.loom.rays)
            sizes = [int(word.strip("()")) for word in group.replace("+", " ").split()]
            assert sum(sizes) * times == lace.loom.rays
            assert line.radius == tenths(done.radius)
        rounds += len(found)
    assert rounds > 1500


@pytest.mark.parametrize(
    ("counts", "rays", "expected"),
    [
        (Counts(over=2, under=2), 120, ("2+2", 30)),
        (Counts(over=2, under=2), 30, ("2", 15)),
        (Counts(over=3, under=1), 120, ("3+1", 30)),
        (Counts((Item(6),)), 120, ("6", 20)),
        (Counts((Item(4), Item(2, tied=False))), 96, ("4 (2)", 16)),
    ],
)
def test_group_and_times_are_the_rays(counts: Counts, rays: int, expected: tuple[str, int]) -> None:
    """A count is written as group × times, by hand: 2 + 2 over 120 rays is 30 times."""
    assert count_text(counts, rays) == expected


def test_a_distance_loses_its_nought() -> None:
    """Whole millimetres have no point, and a round may lie further in."""
    assert [distance_text(value) for value in (86, 90, -15)] == ["8.6 mm", "9 mm", "-1.5 mm"]


def test_rows_add_their_printed_thickness() -> None:
    """8.6 mm and two further rows of 0.34 mm reach 9.3 mm: by hand, 8.6 + 0.68 = 9.28."""
    assert outermost(86, 3, 0.3416) == 93


def test_an_edge_prints_no_shift_and_a_darn_no_closing(check_text: CheckText, example: dict[str, Any]) -> None:
    """The arches' shift of one ray is theirs by nature; only knots close a round."""
    example["rounds"] = [{"darn": {}}, {"edge-arches": {}}]
    lace = check_text(example).lace
    assert lace is not None
    darn, edge = (line.spelled for line in write(lace))
    assert "[shift]" not in edge
    assert "[close]" in edge
    assert "[close]" not in darn


def test_printed_distances_add_up_to_the_radii(
    symbols: SymbolSet, check_text: CheckText, example: dict[str, Any]
) -> None:
    """Look section 8, by decimals: distances, and rows × printed thickness after a darn, reach every radius to the tenth."""
    chance = random.Random(7)  # noqa: S311
    tenth = Decimal("0.1")
    for _ in range(60):
        lace = check_text(random_pattern(chance, example)).lace
        assert lace is not None
        reached = Decimal(0)
        for line, done in zip(write(lace), lace.rounds, strict=True):
            printed = re.search(r"\[gap\] (-?[\d.]+) mm", line.spelled)
            assert printed
            reached += Decimal(printed[1])
            assert reached == Decimal(f"{done.radius:.9f}").quantize(tenth, ROUND_HALF_UP)
            if symbols.stitches[done.stitch.stitch].rows:
                thick = Decimal(f"{lace.threads[done.thread].thickness:.9f}").quantize(Decimal("0.01"), ROUND_HALF_UP)
                rows = re.search(r"\[rows\] (\d+)", line.spelled)
                assert rows
                reached = (reached + (int(rows[1]) - 1) * thick).quantize(tenth, ROUND_HALF_UP)


@pytest.mark.parametrize(
    ("rounds", "spelled"),
    [
        ([{"darn": {"over": 2, "under": 2}, "at": "9 mm", "rows": 3}], "1 [darn] 2+2 × 12 [rows] 3 [gap] 9 mm"),
        ([{"knot": {"rays": 6}, "at": "15.5 mm"}], "1 [knot] 6 × 8 [gap] 15.5 mm [close]"),
        (
            [{"knot": {"rays": [4, {"pass": 2}], "shift": 3}, "at": "15 mm"}],
            "1 [knot] 4 (2) × 8 [shift] 3 [gap] 15 mm [close]",
        ),
        ([{"edge-arches": {"inset": "5 mm"}}], "1 [edge-arches] 2 × 24 [gap] 35 mm [close]"),
    ],
)
def test_a_line_is_written_by_the_grammar(
    check_text: CheckText, example: dict[str, Any], rounds: list[dict[str, Any]], spelled: str
) -> None:
    """Look section 8, by hand for 48 rays on 80 mm: number, glyph, group × times, rows, shift, distance, closing."""
    lace = check_text(example | {"rounds": rounds}).lace
    assert lace is not None
    assert [line.spelled for line in write(lace)] == [spelled]


def test_with_two_threads_every_line_ends_with_its_letter(check_text: CheckText, example: dict[str, Any]) -> None:
    """Look section 8: the letter stands last where there is a choice, and only there."""
    example["threads"]["B"] = {"fibre": "silk", "tex": 30, "colour": "#332211", "colour_name": "brown"}
    example["rounds"][1]["thread"] = "B"
    lace = check_text(example).lace
    assert lace is not None
    assert [line.spelled.split()[-1] for line in write(lace)] == ["A", "B"]
