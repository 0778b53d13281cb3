"""The chart and its ladder: true to scale, inside the frame, start marks and figures where they belong."""

import cmath
import itertools
import math
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path as FilePath
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from matplotlib.path import Path

from pipeline.craft.assembly import Lace
from pipeline.craft.check import Checked
from pipeline.drawing.chart import MARGIN_MM, ChartLayout, chart, spared
from pipeline.drawing.ink import box_of
from pipeline.drawing.ladder import NUMBER_MM, Spine, ladder, spread_levels
from pipeline.drawing.marks import wedge
from pipeline.drawing.outline import MM_PER_PT, vertices_of
from pipeline.drawing.picture import ACCENT, PAPER, Area, Clipped, Figures, Item, Line, Picture, Placed, Words
from pipeline.drawing.sector import sector
from pipeline.drawing.whole import whole
from pipeline.drawing.working import start_place
from pipeline.files import check_file
from pipeline.language.fonts import find_fonts
from pipeline.leaflet.papers import PAPERS
from pipeline.notation import write
from pipeline.symbols import SymbolSet

CheckText = Callable[..., Checked]
FILES = find_fonts("Latn", ()).files
FIGURES = Figures(FILES[0].path, FILES[1].path)
WIDE, NARROW, LARGE = ChartLayout(58.0, 174.0), ChartLayout(50.0, 124.0), ChartLayout(30.0, 79.8)
PATTERNS = FilePath(__file__).parents[2] / "patterns"
DEMOS = sorted(file.stem for file in PATTERNS.glob("*.yaml") if file.stem != "publisher")


def lace_of(check_text: CheckText, tree: dict[str, Any]) -> Lace:
    """The lace of a pattern."""
    found = check_text(tree).lace
    assert found is not None
    return found


@st.composite
def patterns(draw: st.DrawFn, example: dict[str, Any]) -> dict[str, Any]:
    """Looms from 40 to 300 mm with 12 to 90 pins, with as many knotted rounds as they bear."""
    pins = draw(st.sampled_from([12, 15, 24, 45, 60, 90]))
    diameter = draw(st.integers(40, 300))
    sizes = [size for size in (2, 3, 4, 5, 6) if 2 * pins % size == 0 and size * 3 <= 2 * pins]
    shares = sorted(draw(st.sets(st.integers(3, 9), min_size=1, max_size=4)))
    rounds: list[dict[str, Any]] = [
        {
            "knot": {"rays": draw(st.sampled_from(sizes)), "shift": draw(st.integers(0, 2 * pins - 1))},
            "at": f"{share * 10}%",
        }
        for share in shares
    ]
    if draw(st.booleans()):
        rounds.insert(0, {"darn": {"over": 1, "under": 1}, "at": "22%", "rows": draw(st.integers(1, 2))})
    loom = {"shape": "circle", "diameter": f"{diameter} mm", "pins": pins}
    return example | {"loom": loom, "rounds": rounds}


def said_in(items: Sequence[Item]) -> list[str]:
    """The figures, in the order they are drawn."""
    return [item.text for item in items if isinstance(item, Words)]


def boxes(items: Sequence[Item]) -> Iterator[tuple[float, float, float, float]]:
    """How far each item's ink reaches, half a stroke included."""
    for item in items:
        yield box_of(item)


@pytest.mark.parametrize("layout", [WIDE, NARROW], ids=["wide", "narrow"])
def test_any_chart_lies_inside_its_frame(
    check_text: CheckText, symbols: SymbolSet, example: dict[str, Any], layout: ChartLayout
) -> None:
    """For random looms and rounds no ink leaves the picture, and the picture is as wide as the text."""

    @settings(max_examples=8, suppress_health_check=[HealthCheck.too_slow])
    @given(patterns(example))
    def law(tree: dict[str, Any]) -> None:
        lace = check_text(tree).lace
        if lace is None or not lace.rounds:
            return
        for picture in chart(lace, write(lace), symbols, FIGURES, layout):
            lows, highs = np.split(np.array(list(boxes(picture.items))), 2, axis=1)
            assert lows.min() >= -0.05, picture.id
            assert highs[:, 0].max() <= picture.width + 0.05, picture.id
            assert highs[:, 1].max() <= picture.height + 0.05, picture.id
            assert picture.width == layout.width

    law()


def knotted(check_text: CheckText, example: dict[str, Any]) -> Lace:
    """Two rounds of twelve knots, the second shifted by two rays."""
    example["rounds"] = [
        {"knot": {"rays": 4}, "at": "16 mm"},
        {"knot": {"rays": 4, "shift": 2}, "gap": "10 mm"},
    ]
    return lace_of(check_text, example)


def test_the_wheel_is_as_large_as_the_layout_says(
    check_text: CheckText, symbols: SymbolSet, example: dict[str, Any]
) -> None:
    """80 mm of loom on a wheel of 58 mm radius: nodes of 16 mm stand at 16 × 58/40 = 23.2 mm, to 0.05 mm."""
    lace = knotted(check_text, example)
    picture = chart(lace, write(lace), symbols, FIGURES, WIDE)[0]
    for wanted in (23.2, 37.7):
        assert any(is_ring(item, wanted) for item in picture.items), wanted
    assert not any(is_ring(item, 30.0) for item in picture.items)


def is_ring(item: Item, radius: float) -> bool:
    """Whether a closed chain of twelve corners at this distance from their middle is among the paths of an item."""
    if not isinstance(item, Placed):
        return False
    points = vertices_of(item.layer.path) * item.scale
    starts = np.flatnonzero(np.asarray(item.layer.path.codes) == Path.MOVETO)
    chains = [
        chain[:-1] for chain in np.split(points, starts[1:]) if len(chain) == 13 and np.allclose(chain[0], chain[-1])
    ]
    return any(np.allclose(np.hypot(*(chain - chain.mean(axis=0)).T), radius, atol=0.05) for chain in chains)


def test_a_start_mark_stands_half_way_before_the_first_knot(check_text: CheckText, example: dict[str, Any]) -> None:
    """Look section 3: on the ring thread that closes the round, pointing clockwise; a shift moves it on as far.

    Two of 48 rays are 15 degrees on the loom.
    """
    lace = knotted(check_text, example)
    (first, heading), (second, _) = (start_place(lace, done, 1.0) for done in lace.rounds)
    # The middle of a chord of 30 degrees lies cos 15 degrees as far out as its ends.
    assert abs(first) == pytest.approx(16 * math.cos(math.radians(15)))
    assert math.degrees(heading - cmath.phase(first)) % 360 == pytest.approx(90.0)
    assert math.degrees(cmath.phase(second) - cmath.phase(first)) % 360 == pytest.approx(15.0, abs=0.2)


@pytest.mark.parametrize("layout", [WIDE, NARROW, LARGE], ids=["wide", "narrow", "large print"])
@pytest.mark.parametrize("demo", DEMOS)
def test_numbers_cover_neither_wedges_nor_one_another(demo: str, layout: ChartLayout, symbols: SymbolSet) -> None:
    """However near their rounds begin; and each is nearest to its own wedge, or joined to it by a line."""
    lace = check_file(PATTERNS / f"{demo}.yaml").lace
    assert lace
    items = chart(lace, write(lace), symbols, FIGURES, layout)[0].items
    wedges = [
        vertices_of(after.path)
        for before, after in itertools.pairwise(items)
        if isinstance(before, Line) and before.colour == PAPER and isinstance(after, Area) and after.colour == ACCENT
    ]
    rings = [item for item in items if isinstance(item, Line) and item.colour == PAPER and item.width > 3]
    discs = [vertices_of(item.path).mean(axis=0) for item in rings][: len(wedges)]
    assert len(wedges) == len(discs) == len(lace.rounds)
    assert all(np.hypot(*(a - b)) > NUMBER_MM for a, b in itertools.combinations(discs, 2))
    assert all(np.hypot(*(corner - disc)) > NUMBER_MM / 2 for disc in discs for wedge in wedges for corner in wedge)
    middles = [wedge[:3].mean(axis=0) for wedge in wedges]
    lines = [vertices_of(item.path) for item in items if isinstance(item, Line) and item.width == 0.25]
    for disc, own in zip(discs, middles, strict=True):
        nearest = min(middles, key=lambda middle, disc=disc: float(np.hypot(*(middle - disc))))  # type: ignore[misc]
        assert nearest is own or any(len(line) == 2 and np.allclose(line[0], disc, atol=0.1) for line in lines)


@pytest.mark.parametrize("demo", ["mussel-shell", "window-frost", "night-heron"])
def test_no_number_of_the_sector_stands_on_its_frame(demo: str) -> None:
    """Of an oval or a square pins lie at unlike distances, the frame's arc at one: no number is struck through by it."""
    lace = check_file(PATTERNS / f"{demo}.yaml").lace
    assert lace
    picture = sector(lace, whole(lace, 1.0), FIGURES, width=174.0, height=53.0)
    frame = vertices_of(next(item.path for item in picture.items if isinstance(item, Clipped)))
    point = frame[frame[:, 1].argmin()]
    arc = max(np.hypot(*(end - point)) for end in frame)
    numbers = [box_of(item) for item in picture.items if isinstance(item, Words)]
    assert len(numbers) >= 12
    for left, low, right, high in numbers:
        corners = [np.hypot(x - point[0], y - point[1]) for x in (left, right) for y in (low, high)]
        assert max(corners) < arc or min(corners) > arc


@pytest.mark.parametrize("demo", DEMOS)
def test_what_a_low_wheel_leaves_of_the_page_is_the_height_it_takes_less(demo: str, symbols: SymbolSet) -> None:
    """A wheel and what it spares are as high as a round wheel; nothing is spared where the ladder stands elsewhere."""
    lace = check_file(PATTERNS / f"{demo}.yaml").lace
    assert lace
    lines = write(lace)
    (picture,) = chart(lace, lines, symbols, FIGURES, WIDE)
    assert picture.height + spared(lace, lines, WIDE) == pytest.approx(2 * (WIDE.wheel + MARGIN_MM))
    assert (spared(lace, lines, WIDE) > 1) == (demo in {"low-sun", "mussel-shell"})
    assert spared(lace, lines, NARROW) == 0.0


def test_a_wedge_is_the_accent_and_points_the_way() -> None:
    """Turned a quarter clockwise its tip is its rightmost point, half its length from the middle."""
    filled = [item for item in wedge(10.0, 10.0, math.pi / 2, 3.0, 2.0) if isinstance(item, Area)]
    assert [item.colour for item in filled] == [ACCENT]
    shape = vertices_of(filled[0].path)
    assert shape[:, 0].max() == pytest.approx(11.5)
    tip = shape[shape[:, 0].argmax()]
    assert tip[1] == pytest.approx(10.0)


def test_pins_are_numbered_from_one_and_the_scale_bar_is_the_lace_s(
    check_text: CheckText, symbols: SymbolSet, example: dict[str, Any]
) -> None:
    """Pin 1, then every fifth of 24; two fields of 10 mm, each 10 × 58/40 = 14.5 mm long, black and white."""
    lace = knotted(check_text, example)
    picture = chart(lace, write(lace), symbols, FIGURES, WIDE)[0]
    said = said_in(picture.items)
    assert [words for words in said if words in {"1", "5", "10", "15", "20"}][:5] == ["1", "5", "10", "15", "20"]
    assert {"0", "10", "20 mm"} <= set(said)
    fields = [
        item.path.get_extents()
        for item in picture.items
        if isinstance(item, Line) and abs(item.path.get_extents().height - 1.5) < 0.01
    ]
    assert [box.width for box in fields] == pytest.approx([14.5] * len(fields))
    assert len(fields) == 2


@given(st.lists(st.floats(0, 100), min_size=1, max_size=9), st.floats(1, 10))
def test_levels_keep_their_order_and_their_distance(true: list[float], pitch: float) -> None:
    """Whatever the radii: at least a pitch apart, in their order, inside; what is apart already stays where it is."""
    spread = spread_levels(true, pitch, 0.0, 100.0)
    rising = sorted(range(len(true)), key=lambda number: true[number])
    placed = [spread[number] for number in rising]
    assert all(b - a >= pitch - 1e-9 for a, b in itertools.pairwise(placed))
    assert min(spread) >= -1e-9
    assert max(spread) <= 100
    sorted_true = sorted(true)
    if all(b - a >= pitch for a, b in itertools.pairwise(sorted_true)):
        assert spread == pytest.approx(true)


def test_a_narrow_page_has_the_ladder_for_itself(
    check_text: CheckText, symbols: SymbolSet, example: dict[str, Any]
) -> None:
    """Look section 3: beside the wheel on A4, a picture of its own on A5."""
    lace = knotted(check_text, example)
    made: list[tuple[Picture, ...]] = [chart(lace, write(lace), symbols, FIGURES, layout) for layout in (WIDE, NARROW)]
    assert [[picture.id for picture in pictures] for pictures in made] == [["chart"], ["chart", "ladder"]]
    assert not any(isinstance(item, Clipped) for pictures in made for picture in pictures for item in picture.items)


@pytest.mark.parametrize(
    ("loom", "arrows"),
    [
        ({"shape": "circle", "diameter": "80 mm", "pins": 24}, 1),
        ({"shape": "square", "side": "80 mm", "pins": 24}, 1),
        ({"shape": "half-circle", "diameter": "80 mm", "pins": 24}, 2),
    ],
    ids=["circle", "square", "half-circle"],
)
def test_arrows_say_which_ways_the_rounds_go(
    place_tree: Callable[[dict[str, Any]], Lace],
    symbols: SymbolSet,
    example: dict[str, Any],
    loom: dict[str, Any],
    arrows: int,
) -> None:
    """One clockwise; on a half-circle one from either end, where rows go there and back."""
    rounds = [{"knot": {"rays": 4}, "at": "15 mm"}, {"knot": {"rays": 4}, "at": "25 mm"}]
    lace = place_tree(example | {"loom": loom, "rounds": rounds})
    picture = chart(lace, write(lace), symbols, FIGURES, WIDE)[0]
    ways = [item for item in picture.items if isinstance(item, Line) and item.width == 0.7 and item.colour == ACCENT]
    assert len(ways) == arrows


def test_a_half_circle_has_no_empty_lower_half(
    place_tree: Callable[[dict[str, Any]], Lace], symbols: SymbolSet, example: dict[str, Any]
) -> None:
    """Its picture is as high as its radius and the margins, 58 + 19 mm, where the ladder has room."""
    loom = {"shape": "half-circle", "diameter": "80 mm", "pins": 24}
    lace = place_tree(example | {"loom": loom, "rounds": [{"knot": {"rays": 4}, "at": "15 mm"}]})
    assert chart(lace, write(lace), symbols, FIGURES, WIDE)[0].height == pytest.approx(77.0)


def test_many_rounds_of_a_half_circle_leave_room_for_the_sector(
    place_tree: Callable[[dict[str, Any]], Lace], symbols: SymbolSet, example: dict[str, Any]
) -> None:
    """A ladder of twenty rounds makes the chart as high as that of a round wheel, and nothing is owed to it."""
    loom = {"shape": "half-circle", "diameter": "80 mm", "pins": 24}
    rounds = [{"knot": {"rays": 2}, "at": f"{number} mm"} for number in range(10, 30)]
    lace = place_tree(example | {"loom": loom, "rounds": rounds})
    lines = write(lace)
    assert chart(lace, lines, symbols, FIGURES, WIDE)[0].height == pytest.approx(2 * (WIDE.wheel + MARGIN_MM))
    assert spared(lace, lines, WIDE) == pytest.approx(0.0)


@pytest.mark.parametrize("paper", ["a5", "a4-large", "letter-large", "common-large"])
def test_a_ladder_of_many_rounds_stands_on_one_page(
    place_tree: Callable[[dict[str, Any]], Lace], symbols: SymbolSet, example: dict[str, Any], paper: str
) -> None:
    """Forty rounds: as a picture of its own the ladder is no higher than what stands between head and foot."""
    rounds = [{"knot": {"rays": 4}, "at": f"{number / 2} mm"} for number in range(30, 70)]
    lace, sheet = place_tree(example | {"rounds": rounds}), PAPERS[paper]
    ladder_alone = chart(lace, write(lace), symbols, FIGURES, sheet.album.chart)[1]
    assert ladder_alone.id == "ladder"
    assert ladder_alone.height * sheet.album.enlarged < sheet.height - sheet.top - sheet.foot


def test_what_is_long_stands_in_two_lines_and_as_large_as_it_can(
    place_tree: Callable[[dict[str, Any]], Lace], symbols: SymbolSet, example: dict[str, Any]
) -> None:
    """A part darned in two threads in turn is longer than a rung: its figures stand in two lines, not in one tiny one."""
    rounds = [{"darn": {}, "at": "20 mm", "rows": 4, "thread": ["A", "B"], "part": {"rays": 8, "every": 16}}]
    threads = dict.fromkeys("AB", example["threads"]["A"])
    lace = place_tree(example | {"rounds": rounds, "threads": threads})
    items = list(ladder(lace, write(lace), symbols, FIGURES, Spine(0.0, 10.0, 1.0, 60.0, 33.5)))
    discs = [item for item in items if isinstance(item, Line) and item.colour == PAPER and box_of(item)[0] > 8]
    assert len(discs) == 2
    # Inside a ring of 0.25 mm whose middle is 4.2 mm across, both made smaller.
    assert all(item.width > 0.55 * (4.2 - 0.25) for item in discs)
    assert max(box_of(item)[2] for item in items) <= 9.3 + 33.5 + 0.1


def test_a_list_that_fills_more_than_a_rung_stands_in_one_line(
    place_tree: Callable[[dict[str, Any]], Lace], symbols: SymbolSet, example: dict[str, Any]
) -> None:
    """Sixteen sizes taken in turn cannot be broken; they are as small as they must be, and no wider than the room."""
    lace = place_tree(example | {"rounds": [{"knot": {"rays": [4, 2] * 8}, "at": "15 mm"}]})
    items = list(ladder(lace, write(lace), symbols, FIGURES, Spine(0.0, 10.0, 1.0, 60.0, 33.5)))
    (sizes,) = [item for item in items if isinstance(item, Words) and item.text.startswith("4 2")]
    assert sizes.text == " ".join(["4 2"] * 8)
    assert max(box_of(item)[2] for item in items) <= 9.3 + 33.5 + 0.1


@pytest.mark.parametrize(("hand", "left_out"), [("right", "10"), ("left", "40")])
def test_no_pin_number_stands_among_the_distances(
    place_tree: Callable[[dict[str, Any]], Lace],
    symbols: SymbolSet,
    example: dict[str, Any],
    hand: str,
    left_out: str,
) -> None:
    """Of a square of 48 pins either the tenth or the fortieth comes beside the ladder; it is left out, the others stay."""
    loom = {"shape": "square", "side": "84 mm", "pins": 48}
    # The third distance, from 16 to 26 mm, stands at 21 mm: where pin 10 and pin 40 are.
    rounds = [{"knot": {"rays": 4}, "at": at} for at in ("8 mm", "16 mm", "26 mm")]
    lace = place_tree(example | {"loom": loom, "rounds": rounds})
    picture = chart(lace, write(lace), symbols, FIGURES, WIDE, left_handed=hand == "left")[0]
    pins = [
        item.text for item in picture.items if isinstance(item, Words) and item.size == pytest.approx(7 * MM_PER_PT)
    ]
    assert pins[:4] == [number for number in ("1", "10", "20", "30", "40") if number != left_out]
