"""Pictures as PDF operators, parsed by a library of its own."""

from collections.abc import Iterator

import numpy as np
import pikepdf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.drawing.operators import UNITS_PER_MM, Operators, picture_operators
from pipeline.drawing.outline import arc, circle, joined, polyline, rectangle
from pipeline.drawing.picture import Area, Clipped, Item, Layer, Line, Picture, Placed

PT = 72 / 25.4


def instructions(content: bytes) -> list[tuple[str, list[float | str]]]:
    """Operators with their operands, as pikepdf reads them."""
    with pikepdf.new() as pdf:
        stream = pikepdf.Stream(pdf, content)
        return [
            (str(found.operator), [str(v) if isinstance(v, pikepdf.Name) else float(v) for v in found.operands])
            for found in pikepdf.parse_content_stream(stream)
        ]


def corners(content: bytes) -> Iterator[tuple[float, float]]:
    """Every point of a path that is drawn, in pt on the picture, through all matrices."""
    stack, matrix = [], np.eye(3)
    for operator, values in instructions(content):
        if operator == "q":
            stack.append(matrix)
        elif operator == "Q":
            matrix = stack.pop()
        elif operator == "cm":
            a, b, c, d, e, f = (float(value) for value in values)
            matrix = np.array([[a, b, 0], [c, d, 0], [e, f, 1]]) @ matrix
        elif operator in {"m", "l", "c"}:
            for place in range(0, len(values), 2):
                x, y, _ = np.array([float(values[place]), float(values[place + 1]), 1]) @ matrix
                yield float(x), float(y)
    assert stack == []


places = st.tuples(st.floats(0, 100), st.floats(0, 60))
lines = st.builds(
    lambda ends, width, cap: Line(polyline(ends), width, "#1a1f26", cap),
    st.lists(places, min_size=2, max_size=5),
    st.floats(0.05, 2),
    st.sampled_from(["butt", "round"]),
)
areas = st.builds(lambda ends: Area(polyline(ends, closed=True), "#9c2f21"), st.lists(places, min_size=3, max_size=5))
items: st.SearchStrategy[Item] = st.recursive(
    lines | areas,
    lambda inner: st.builds(lambda few: Clipped(rectangle(0, 0, 100, 60), tuple(few)), st.lists(inner, max_size=3)),
    max_leaves=6,
)


@settings(max_examples=40)
@given(st.lists(items, min_size=1, max_size=6))
def test_any_picture_becomes_whole_operators_inside_its_frame(drawn: list[Item]) -> None:
    """They parse, every save has its restore, colours lie in 0 to 1, and points stay where they were put."""
    found = picture_operators(Picture("trial", 100.0, 60.0, tuple(drawn)))
    parsed = instructions(found.content)
    names = [operator for operator, _ in parsed]
    assert set(names) <= {"cm", "j", "q", "Q", "W", "n", "m", "l", "c", "h", "S", "f", "w", "J", "RG", "rg"}
    assert names.count("q") == names.count("Q")
    for operator, values in parsed:
        if operator in {"RG", "rg"}:
            assert len(values) == 3
            assert all(0 <= float(value) <= 1 for value in values)
    assert (found.width, found.height) == pytest.approx((100 * PT, 60 * PT))
    for x, y in corners(found.content):
        assert -0.02 <= x <= 100 * PT + 0.02
        assert -0.02 <= y <= 60 * PT + 0.02


def test_a_line_lies_where_it_was_put_and_is_as_thick() -> None:
    """By hand: from (10, 20) to (30, 20) mm, 0.36 mm thick, ends cut off square, in the accent."""
    found = picture_operators(
        Picture("t", 40.0, 40.0, (Line(polyline([(10, 20), (30, 20)]), 0.36, "#ff0080", "butt"),))
    )
    assert list(corners(found.content)) == [
        pytest.approx((10 * PT, 20 * PT), abs=0.01),
        pytest.approx((30 * PT, 20 * PT), abs=0.01),
    ]
    said = dict(instructions(found.content))
    scale = float(said["cm"][0])
    assert float(said["w"][0]) * scale == pytest.approx(0.36 * PT, abs=0.01)
    assert said["J"] == [0.0]
    assert said["RG"] == pytest.approx([1.0, 0.0, 128 / 255], abs=0.001)


def test_a_layer_is_one_form_however_often_it_is_placed() -> None:
    """Placed three times in two widths: one drawing without colour, width or end, three stamps by its name."""
    layer = Layer("r1-thread", arc(10.0, 0.0, 2.0))
    placed = tuple(Placed(layer, width, 2.0, 20.0, 20.0, 0.3) for width in (0.2, 0.2, 0.6))
    found = picture_operators(Picture("t", 40.0, 40.0, placed))
    assert [form.id for form in found.layers] == ["L0"]
    assert {operator for operator, _ in instructions(found.layers[0].content)} == {"m", "c", "S"}
    stamped = [values for operator, values in instructions(found.content) if operator == "Do"]
    assert stamped == [["/iL00"]] * 3


def test_pieces_that_run_on_are_one_stroke() -> None:
    """A piece that begins where the one before ends needs no move; one elsewhere, or after a closed figure, does."""
    runs_on = joined([polyline([(1, 1), (2, 1)]), polyline([(2, 1), (2, 2)]), polyline([(3, 3), (4, 3)])])
    closed = joined([polyline([(1, 1), (2, 1), (2, 2)], closed=True), polyline([(1, 1), (0, 0)])])
    for path, moves in ((runs_on, 2), (closed, 2), (joined([]), 0)):
        found = picture_operators(Picture("t", 5.0, 5.0, (Line(path, 0.1, "#000000", "butt"),)))
        assert [operator for operator, _ in instructions(found.content)].count("m") == moves


def test_pictures_that_share_layers_name_them_alike() -> None:
    """The short ids of layers are given in turn, and the same layer has the same one in every picture."""
    numbers: dict[str, str] = {}
    one, other = (Placed(Layer(name, arc(10.0, 0.0, 2.0)), 0.2, 1.0, 20.0, 20.0) for name in ("one", "other"))
    first = picture_operators(Picture("a", 40.0, 40.0, (one,)), numbers)
    second = picture_operators(Picture("b", 40.0, 40.0, (other, one)), numbers)
    assert numbers == {"one": "L0", "other": "L1"}
    assert [form.id for form in (*first.layers, *second.layers)] == ["L0", "L1", "L0"]


def test_a_layer_reaches_as_far_as_its_widest_stroke() -> None:
    """A form shows nothing outside its box: that of a layer holds its points and half a stroke beside them."""
    layer = Layer("rim", circle(10.0))
    (form,) = picture_operators(Picture("t", 40.0, 40.0, (Placed(layer, 2.0, 1.0, 20.0, 20.0),))).layers
    assert form.reach >= UNITS_PER_MM * (10.0 + 2.0 / 2)
    assert max(abs(place) for ends in corners(form.content) for place in ends) == pytest.approx(
        UNITS_PER_MM * 10.0, abs=2
    )


@pytest.mark.parametrize(("scale", "turn"), [(1.0, 0.0), (2.5, 0.0), (0.5, 1.2), (3.0, -2.0)])
def test_a_placed_layer_is_as_thick_as_asked_and_turned_clockwise(scale: float, turn: float) -> None:
    """The width is of paper, whatever the scale; the layer's top lands scale × radius away, ``turn`` clockwise."""
    layer = Layer("r1-thread", polyline([(0, 0), (0, 4)]))
    found = picture_operators(Picture("t", 40.0, 40.0, (Placed(layer, 0.6, scale, 15.0, 10.0, turn),)))
    said = instructions(found.content)
    page, placed = (np.array([float(v) for v in values]) for operator, values in said if operator == "cm")
    width = next(float(values[0]) for operator, values in said if operator == "w")
    size = float(np.hypot(placed[0], placed[1]))
    assert width * size * page[0] == pytest.approx(0.6 * PT, abs=0.01)
    matrix = np.array([placed[:2], placed[2:4]])
    (x, y) = list(corners(found.layers[0].content))[1] @ matrix + placed[4:]
    wanted = (15 + 4 * scale * np.sin(turn), 10 + 4 * scale * np.cos(turn))
    assert (x * page[0] / PT, y * page[0] / PT) == pytest.approx(wanted, abs=0.02)


def test_what_is_clipped_is_cut_before_it_is_drawn_and_let_go_after() -> None:
    """ISO 32000-1, 8.5.4: save, path, W n, the items, restore; what follows is whole again."""
    picture = Picture(
        "t", 20.0, 20.0, (Clipped(circle(5.0, 10, 10), (Area(rectangle(0, 0, 20, 20)),)), Area(circle(1.0)))
    )
    names = [operator for operator, _ in instructions(picture_operators(picture).content)]
    assert [name for name in names if name in {"q", "W", "n", "f", "Q"}] == ["q", "W", "n", "f", "Q", "f"]


def test_operators_are_the_same_every_time() -> None:
    """Twice the same picture, twice the same bytes."""
    picture = Picture(
        "t", 20.0, 20.0, (Line(circle(5.0, 10, 10), 0.3), Placed(Layer("a", circle(2.0)), 0.3, 1.0, 5, 5))
    )
    first, second = picture_operators(picture), picture_operators(picture)
    assert first == second
    assert first.content


def test_a_layer_of_many_pictures_is_written_once() -> None:
    """Pictures that share what is written have the very same layer, which is what it would be in each by itself."""
    layer = Layer("ring", circle(10.0))
    both = [Picture(name, 50.0, 50.0, (Placed(layer, 0.5, 1.0, 20.0, 20.0),)) for name in ("one", "other")]
    forms: dict[str, Operators] = {}
    first, second = (picture_operators(picture, {}, forms=forms).layers for picture in both)
    assert first[0] is second[0]
    assert first == picture_operators(both[1]).layers
