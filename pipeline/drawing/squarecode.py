"""An address as a square code (ISO/IEC 18004) that a camera reads."""

from typing import Final

import segno

from pipeline.drawing.outline import joined, rectangle
from pipeline.drawing.picture import PAPER, Area, Picture

QUIET: Final = 4
"""Modules of white around a code: ISO/IEC 18004, 5.3.8 wants four."""
SIDE_MM: Final = 24.0


def square_code(picture_id: str, address: str) -> Picture:
    """The code, black on white, its quiet zone with it; it survives a quarter of its area lost or smudged."""
    matrix = segno.make_qr(address, error="q").matrix
    size = SIDE_MM / (len(matrix) + 2 * QUIET)
    squares = (
        rectangle((QUIET + column) * size, SIDE_MM - (QUIET + row + 1) * size, width * size, size)
        for row, line in enumerate(matrix)
        for column, width in _runs(line)
    )
    ground = Area(rectangle(0.0, 0.0, SIDE_MM, SIDE_MM), PAPER)
    return Picture(picture_id, SIDE_MM, SIDE_MM, (ground, Area(joined(squares), "#000000")))


def _runs(line: bytearray) -> list[tuple[int, int]]:
    """Where dark modules begin in a line, and how many follow one another."""
    runs: list[tuple[int, int]] = []
    for column, dark in enumerate(line):
        if dark and runs and sum(runs[-1]) == column:
            runs[-1] = (runs[-1][0], runs[-1][1] + 1)
        elif dark:
            runs.append((column, 1))
    return runs
