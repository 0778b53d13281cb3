"""Square codes: what a camera would read off them is the address."""

import numpy as np
import pytest
import segno

from pipeline.drawing.ink import box_of
from pipeline.drawing.outline import vertices_of
from pipeline.drawing.picture import Area
from pipeline.drawing.squarecode import QUIET, SIDE_MM, square_code


@pytest.mark.parametrize("address", ["https://example.org/a", "https://example.org/" + "long/" * 30])
def test_the_modules_are_those_of_the_code(address: str) -> None:
    """Module by module, sampled in their middles, as the library for ISO/IEC 18004 lays them out; four white ones around."""
    picture = square_code("code-1", address)
    ground, dark = picture.items
    assert isinstance(dark, Area)
    matrix = np.array([list(line) for line in segno.make_qr(address, error="q").matrix], dtype=bool)
    count = len(matrix) + 2 * QUIET
    size = SIDE_MM / count
    boxes = vertices_of(dark.path).reshape(-1, 5, 2)
    lows, highs = boxes.min(axis=1), boxes.max(axis=1)
    found = np.zeros((count, count), dtype=bool)
    for row in range(count):
        for column in range(count):
            middle = np.array(((column + 0.5) * size, SIDE_MM - (row + 0.5) * size))
            found[row, column] = bool(((lows < middle) & (middle < highs)).all(axis=1).any())
    assert (found == np.pad(matrix, QUIET)).all()
    assert box_of(ground) == (0.0, 0.0, SIDE_MM, SIDE_MM)


def test_a_module_can_be_printed() -> None:
    """An address of common length has modules of 0.4 mm or more: five dots of a printer with 300 dpi."""
    matrix = segno.make_qr("https://example.org/harbour-wheel/corrections", error="q").matrix
    assert SIDE_MM / (len(matrix) + 2 * QUIET) > 0.4
