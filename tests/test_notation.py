"""The notation line states the whole round: it is read back."""

import itertools
import random
import re
from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

import pytest

from pipeline.craft.assembly import Lace, LaceRound
from pipeline.craft.check import Checked
from pipeline.craft.counts import Counts, Item
from pipeline.notation import Figure, ReadRound, Sign, Token, count_text, distance_text, outermost, read, turn_of, write
from pipeline.symbols import SymbolSet
from pipeline.units import rounded, tenths

CheckText = Callable[..., Checked]
PlaceTree = Callable[[dict[str, Any]], Lace]


def random_sizes(chance: random.Random, period: int) -> Any:
    """One size, or up to three in turn, each tied or passed over, the first tied; together they are the period."""
    cuts = sorted(chance.sample(range(1, period), chance.randint(0, min(2, period - 1))))
    parts = [b - a for a, b in itertools.pairwise([0, *cuts, period])]
    if len(parts) == 1:
        return period
    return [{"pass": size} if place and chance.random() < 0.5 else size for place, size in enumerate(parts)]


def random_round(chance: random.Random, rays: int, radius: float, threads: list[str]) -> dict[str, Any]:
    """A round that lies ``radius`` mm further out than the last: knots, or a filling whose counts divide."""
    period = chance.choice([size for size in range(3, rays // 3) if rays % size == 0])
    told: dict[str, Any] = {"rays": random_sizes(chance, period), "shift": chance.randint(0, rays - 1)}
    entry: dict[str, Any] = {"gap": f"{radius:.2f} mm", "thread": chance.choice(threads)}
    kind = chance.choice(["knot", "wavy", "spiral", "part", "wrap", "weave"])
    if kind in {"wrap", "weave"}:
        return {kind: told | ({"as": chance.choice(["bar", "leaf", "point"])} if kind == "weave" else {})} | entry
    if kind == "wavy":
        entry["gap"] = [f"{radius + chance.uniform(0, 3):.2f} mm" for _ in range(chance.choice([2, 3]))]
    elif kind == "spiral":
        entry["close"] = False
    elif kind == "part":
        told = {"rays": chance.choice([1, 2, 3, 4])}
        every = chance.choice([size for size in range(12, rays + 1) if rays % size == 0])
        count = told["rays"] * chance.randint(1, every // told["rays"])
        entry["part"] = {"from": chance.randint(0, 5), "rays": count, "every": every}
    return {"knot": told} | entry


def random_weave(chance: random.Random, rays: int, threads: list[str]) -> dict[str, Any]:
    """A darn or a rib in rows, of one thread or of several in turn."""
    over = chance.choice([1, 2, 3])
    under = chance.choice([over, over, 1, 2])
    entry: dict[str, Any] = {"rows": chance.randint(1, 6)}
    if chance.random() < 0.4:
        entry["thread"] = [chance.choice(threads) for _ in range(chance.randint(1, 3))]
    if chance.random() < 0.25 and rays % (over + 1) == 0:
        return {"rib": {"over": over, "under": 2 * over + 1}} | entry
    if rays % (over if over == under else over + under):
        over = under = 1
    parity = chance.choice(["skip", "pair-once", "half-ray"] if over == under == 1 else ["skip", "pair-once"])
    return {"darn": {"over": over, "under": under, "parity": parity}} | entry


def random_loom(chance: random.Random, pins: int) -> dict[str, Any]:
    """A loom of any shape with so many pins; they divide by four."""
    size, other = (f"{chance.uniform(70, 140):.1f} mm" for _ in range(2))
    return chance.choice(
        [
            {"shape": "circle", "diameter": size, "pins": pins},
            {"shape": "half-circle", "diameter": size, "pins": pins},
            {"shape": "oval", "width": size, "height": other, "pins": pins},
            {"shape": "square", "side": size, "pins": pins},
            {"shape": "rectangle", "width": size, "height": other, "pins": pins},
        ]
    )


def random_pattern(chance: random.Random, example: dict[str, Any]) -> dict[str, Any]:
    """A pattern whose counts divide, with whatever a round can say."""
    pins = chance.choice([24, 36, 48, 60, 72])
    rays = 2 * pins
    threads = {"A": {"fibre": "cotton", "tex": chance.uniform(20, 90), "colour": "#112233", "colour_name": "a"}}
    if chance.random() < 0.5:
        threads["B"] = {"fibre": "silk", "nm": chance.uniform(10, 60), "colour": "#332211", "colour_name": "b"}
    letters = list(threads)
    rounds: list[dict[str, Any]] = []
    if chance.random() < 0.7:
        rounds.append(random_weave(chance, rays, letters))
    reached = 12.0
    for _ in range(chance.randint(1, 4)):
        radius = chance.uniform(2, 9)
        entry = random_round(chance, rays, radius, letters)
        reached += radius
        if {"wrap", "weave"} & set(entry):
            reached += 4
            entry["to"] = f"{reached + 20:.2f} mm"
        rounds.append(entry)
    if chance.random() < 0.7:
        edge = chance.choice(["edge-loops", "edge-arches", "edge-picots"])
        rounds.append({edge: {"height": f"{chance.uniform(1, 5):.2f} mm"} if edge == "edge-picots" else {}})
    return example | {"loom": random_loom(chance, pins), "threads": threads, "rounds": rounds}


def as_read(done: LaceRound, threads: int) -> ReadRound:
    """What a reader should make out of a round."""
    counts = done.counts
    _, times = count_text(counts, len(done.rays))
    levels = done.worked.row_radii[:1] if done.in_rows else done.worked.row_radii
    return ReadRound(
        number=done.number,
        stitch=done.stitch.stitch,
        outline=done.outline,
        items=counts.items,
        over=counts.over,
        under=counts.under,
        parity=counts.parity,
        part=counts.part,
        times=times,
        rows=done.rows,
        shift=counts.shift,
        radii=tuple(tenths(level) for level in levels),
        reach=tenths(done.outer),
        loop=tenths(done.worked.loop_mm),
        closed=done.worked.closed,
        threads=turn_of(done.threads) if threads > 1 else (),
    )


def test_a_thousand_random_patterns_are_read_back(
    symbols: SymbolSet, place_tree: PlaceTree, example: dict[str, Any]
) -> None:
    """Glyph ids and figures alone give every round again, its radius to the printed tenth."""
    chance = random.Random(20260314)  # noqa: S311
    rounds = 0
    kinds: Counter[str] = Counter()
    for _ in range(1000):
        lace = place_tree(random_pattern(chance, example))
        lines = write(lace)
        thicknesses = {name: float(rounded(thread.thickness, 2)) for name, thread in lace.threads.items()}
        found = read([line.tokens for line in lines], symbols, thicknesses)
        for one, done in zip(found, lace.rounds, strict=True):
            expected = as_read(done, len(lace.threads))
            if done.in_rows:  # thicknesses are printed to a hundredth: the last row may end a tenth off
                assert abs(one.reach - expected.reach) <= 1
                expected = replace(expected, reach=one.reach)
            assert one == expected
            if not (done.counts.back or done.counts.there_and_back):
                group, times = count_text(done.counts, lace.loom.rays)
                sizes = [int(word.strip("()")) for word in group.replace("+", " ").split()]
                assert sum(sizes) * times == lace.loom.rays
            kinds[done.symbol] += 1
        rounds += len(found)
    assert rounds > 1500
    assert set(kinds) >= {"darn", "rib", "knot", "wrap", "weave", "weave-leaf", "weave-point", "edge-picots"}


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
    assert [distance_text(value) for value in (86, 90, -15)] == ["8.6 mm", "9 mm", "–1.5 mm"]
    assert distance_text(50, 80) == "5 8 mm"


def test_rows_add_their_printed_thickness() -> None:
    """8.6 mm and two further rows of 0.34 mm reach 9.3 mm: by hand, 8.6 + 0.68 = 9.28."""
    assert outermost(86, [0.3416] * 3) == 93


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
    symbols: SymbolSet, place_tree: PlaceTree, example: dict[str, Any]
) -> None:
    """Look section 8, by decimals: distances, rows × printed thickness and lengths of fillings reach every radius."""
    chance = random.Random(7)  # noqa: S311
    tenth = Decimal("0.1")
    for _ in range(60):
        lace = place_tree(random_pattern(chance, example))
        reached = Decimal(0)
        for line, done in zip(write(lace), lace.rounds, strict=True):
            printed = re.search(r"\[gap\] ([–\d. ]+) mm", line.spelled)
            assert printed
            radii = [reached + Decimal(word.replace("–", "-")) for word in printed[1].split()]
            levels = done.worked.row_radii[:1] if done.in_rows else done.worked.row_radii
            assert radii == [Decimal(f"{level:.9f}").quantize(tenth, ROUND_HALF_UP) for level in levels]
            reached = max(radii)
            further = re.search(r"\[to\] ([\d.]+) mm", line.spelled)
            if further and not done.stitch.edge:
                reached += Decimal(further[1])
            if symbols.stitches[done.stitch.stitch].rows:
                thick = [Decimal(f"{lace.threads[letter].thickness:.9f}") for letter in done.threads[1:]]
                hundredths = [one.quantize(Decimal("0.01"), ROUND_HALF_UP) for one in thick]
                reached = sum(hundredths, reached).quantize(tenth, ROUND_HALF_UP)


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
        (
            [{"edge-picots": {"inset": "5 mm", "height": "2.5 mm"}}],
            "1 [edge-picots] 2 × 24 [gap] 35 mm [to] 2.5 mm [close]",
        ),
        ([{"rib": {}, "at": "12 mm", "rows": 2}], "1 [rib] 1+2 × 48 [rows] 2 [gap] 12 mm"),
        (
            [{"wrap": {"rays": [4, {"pass": 4}]}, "at": "12 mm", "to": "20 mm"}],
            "1 [wrap] 4 (4) × 6 [gap] 12 mm [to] 8 mm",
        ),
        (
            [{"weave": {"rays": 6, "as": "leaf"}, "at": "12 mm", "to": "20 mm"}],
            "1 [weave-leaf] 6 × 8 [gap] 12 mm [to] 8 mm",
        ),
        ([{"knot": {"rays": 4}, "at": ["15 mm", "18.5 mm"]}], "1 [knot] 4 × 12 [gap] 15 18.5 mm [close]"),
        ([{"knot": {"rays": 4}, "at": "15 mm", "close": False}], "1 [knot] 4 × 12 [gap] 15 mm [spiral]"),
        (
            [{"knot": {"rays": 4}, "at": "15 mm", "part": {"from": 2, "rays": 8, "every": 16}}],
            "1 [knot] 4 × 2 [part] (2) 8 (8) × 3 [gap] 15 mm",
        ),
        (
            [{"darn": {"over": 1, "under": 1, "parity": "half-ray"}, "at": "9 mm"}],
            "1 [darn] 1+1 × 24 [half-ray] [rows] 2 [gap] 9 mm",
        ),
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


def test_rows_in_turn_print_all_their_letters(check_text: CheckText, example: dict[str, Any]) -> None:
    """Letters of rows worked in turn stand last, each once, in their order."""
    example["threads"]["B"] = {"fibre": "silk", "tex": 30, "colour": "#332211", "colour_name": "brown"}
    example["rounds"] = [{"darn": {}, "rows": 5, "thread": ["A", "B"]}]
    lace = check_text(example).lace
    assert lace is not None
    (line,) = write(lace)
    assert line.spelled.split()[-2:] == ["A", "B"]


def test_a_half_circle_turns_back_and_never_closes(check_text: CheckText, example: dict[str, Any]) -> None:
    """Rows of a half-circle go there and back; the rays at both ends of a shifted row stay free."""
    example["loom"] = {"shape": "half-circle", "diameter": "80 mm", "pins": 24}
    example["rounds"] = [{"knot": {"rays": 4, "shift": 2}, "at": "15 mm"}]
    lace = check_text(example).lace
    assert lace is not None
    assert [line.spelled for line in write(lace)] == ["1 [knot] 4 × 11 [shift] 2 [gap] 15 mm [turn-back]"]


ROUND = (
    Figure("1", "number"),
    Sign("knot"),
    Figure("4", "group"),
    Figure("× 12", "times"),
    Sign("gap"),
    Figure("9 mm"),
)
DARN = (Figure("1", "number"), Sign("darn"), Figure("2", "group"), Figure("× 24", "times"), Sign("gap"), Figure("9 mm"))


@pytest.mark.parametrize(
    "tokens",
    [
        (),
        ROUND[:1],
        ROUND[:4],
        (Figure("one", "number"), *ROUND[1:]),
        (ROUND[0], Sign("rows"), *ROUND[2:]),
        (*ROUND[:5], Figure("nan mm")),
        (*ROUND[:5], Figure("")),
        (*ROUND[:4], Sign("part"), Figure("(0) 12"), *ROUND[4:]),
        (*DARN, Sign("rows"), Figure("999999999")),
        (*DARN, Figure("Z", "thread")),
    ],
)
def test_a_line_that_no_round_has_is_refused(symbols: SymbolSet, tokens: tuple[Token, ...]) -> None:
    """Cut short, of no number, of a sign that is no stitch, without end: the number of the line is said."""
    assert read([ROUND, DARN], symbols, {"A": 0.3})
    with pytest.raises(ValueError, match="line 2 is that of no round"):
        read([ROUND, tokens], symbols, {"A": 0.3})
