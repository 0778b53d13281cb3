"""Figures: letter by letter from a font file, so that a letter is drawn once and stamped wherever it stands.

Figures and unit symbols only: they need no joining and no kerning.
"""

from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path as FilePath
from typing import Final

from fontTools.ttLib import TTFont
from matplotlib.path import Path

from pipeline.drawing.outline import MM_PER_PT, PathPen, joined, moved, vertices_of
from pipeline.drawing.picture import INK, Layer, Words

EM_MM: Final = 3.0
"""Size at which letters are drawn once."""


@lru_cache(maxsize=256)
def letter(font: FilePath, character: str) -> tuple[Layer, float]:
    """A letter at ``EM_MM``, and how far the next one stands from it."""
    glyphs, names, units = _font(font)
    pen = PathPen()
    name = names[ord(character)]
    glyphs[name].draw(pen)
    path = moved(pen.path, scale=EM_MM / units)
    return Layer(f"{font.stem}-{ord(character):x}", path, filled=True), glyphs[name].width * EM_MM / units


@lru_cache(maxsize=8)
def _font(font: FilePath):  # type: ignore[no-untyped-def]  # fontTools has no types
    opened = TTFont(font, lazy=True)
    return opened.getGlyphSet(), opened.getBestCmap(), opened["head"].unitsPerEm


def letters(words: Words) -> Iterator[tuple[Layer, float]]:
    """Each letter and where it begins, mm from the start of the words."""
    along = 0.0
    for character in words.text:
        layer, advance = letter(words.font, character)
        if len(vertices_of(layer.path)):
            yield layer, along
        along += advance * words.size / EM_MM


def outline(words: Words) -> Path:
    """The words as one path."""
    return joined(
        moved(layer.path, scale=words.size / EM_MM, x=words.x + along, y=words.y) for layer, along in letters(words)
    )


def written(text: str, *, size_pt: float, font: FilePath, colour: str = INK) -> Words:
    """Words at the origin."""
    return Words(text, size_pt * MM_PER_PT, font, 0.0, 0.0, colour)


@lru_cache(maxsize=4096)
def _box(text: str, size: float, font: FilePath) -> tuple[float, float, float, float]:
    """The ink of words at the origin: left, foot, right, head. The same figures stand in many places."""
    box = outline(Words(text, size, font, 0.0, 0.0)).get_extents()
    return float(box.x0), float(box.y0), float(box.x1), float(box.y1)


def width(words: Words) -> float:
    """How far words reach to the right of their start."""
    return _box(words.text, words.size, words.font)[2] if words.text else 0.0


def at(words: Words, x: float, y: float) -> Words:
    """Words whose baseline starts there."""
    return Words(words.text, words.size, words.font, x, y, words.colour)


def centred(words: Words, x: float, y: float) -> Words:
    """Words with their middle there."""
    left, foot, right, head = _box(words.text, words.size, words.font)
    return at(words, x - (left + right) / 2, y - (foot + head) / 2)
