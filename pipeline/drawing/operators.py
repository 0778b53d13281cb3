"""A picture as PDF operators: what a stamp is made of.

Coordinates are whole thirty-seconds of a millimetre, so that they print short; one matrix brings them to points.
What is the same from item to item, colour and stroke, is said once. A layer's operators set neither: it takes both
from where it is placed, and what of it repeats round the centre is told by turns. The operators are those of
ISO 32000-1, sections 8.4 and 8.5.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from typing import Any, Final

import numpy as np
from matplotlib.backends.backend_pdf import PdfFile
from matplotlib.path import Path

from pipeline.drawing.lettering import EM_MM, letters
from pipeline.drawing.outline import moved, short, vertices_of
from pipeline.drawing.picture import Area, Clipped, Item, Layer, Line, Picture, Placed, Words
from pipeline.drawing.repeats import Repeated, by_turns

PT_PER_MM: Final = 72 / 25.4
UNITS_PER_MM: Final = 32
BEYOND: Final = 1.25
"""So much further than its points a layer reaches with the widest of its strokes."""
_CAPS: Final = {"butt": 0, "round": 1}


@dataclass(frozen=True, slots=True)
class Operators:
    """A drawing as bytes; ``width`` and ``height`` in pt. ``layers`` are named in it ``i<id>0``."""

    id: str
    width: float
    height: float
    content: bytes
    reach: int = 0
    """Of a layer: no coordinate is larger, wide strokes with it."""
    layers: tuple["Operators", ...] = ()


def picture_operators(
    picture: Picture,
    numbers: dict[str, str] | None = None,
    *,
    forms: dict[str, Operators] | None = None,
    in_full: bool = False,
) -> Operators:
    """A picture and the layers it is made of.

    ``numbers``: the short ids of layers by their own, for pictures that share layers; new ones are added. ``forms``:
    the layers written so far, by their own ids, for pictures in which no id stands for two; new ones are added.
    ``in_full``: layers are not told by turns, which takes a tenth of the time and gives more bytes.
    """
    writing = _Writing({} if numbers is None else numbers)
    scale = PT_PER_MM / UNITS_PER_MM
    start = f"{scale:.7f} 0 0 {scale:.7f} 0 0 cm 1 j".encode()
    content = b"\n".join([start, *_items(picture.items, writing, _State())])
    known = {} if forms is None else forms
    for layer in writing.layers.values():
        if layer.id not in known:
            known[layer.id] = _layer_operators(layer, writing.numbers[layer.id], in_full=in_full)
    layers = tuple(known[name] for name in writing.layers)
    return Operators(picture.id, picture.width * PT_PER_MM, picture.height * PT_PER_MM, content, layers=layers)


@dataclass(frozen=True, slots=True)
class _Writing:
    """What is gathered while a picture is written: layers by id, and their short ids."""

    numbers: dict[str, str]
    layers: dict[str, Layer] = field(default_factory=dict)

    def named(self, layer: Layer) -> str:
        """The operator that stamps a layer."""
        self.layers[layer.id] = layer
        return f"/i{self.numbers.setdefault(layer.id, f'L{len(self.numbers)}')}0 Do"


@dataclass(slots=True)
class _State:
    """What colour, width and cap are set to while items are written one after the other."""

    fill: bytes = b""
    stroke: bytes = b""

    def filling(self, colour: str) -> bytes:
        """The operators that set a colour of areas, where it is not set already."""
        wanted = _colour(colour, "rg")
        said = b"" if wanted == self.fill else wanted
        self.fill = wanted
        return said

    def stroking(self, wanted: bytes) -> bytes:
        """The operators that set a stroke, where it is not set already."""
        said = b"" if wanted == self.stroke else wanted
        self.stroke = wanted
        return said


def _items(items: tuple[Item, ...], writing: _Writing, state: _State) -> Iterator[bytes]:
    for item in items:
        if isinstance(item, Clipped):
            yield b"q " + _path(item.path) + b" W n"
            yield from _items(item.items, writing, replace(state))
            yield b"Q"
        elif isinstance(item, Placed):
            yield _placed(item, writing, state)
        elif isinstance(item, Words):
            yield state.filling(item.colour) + _words(item, writing)
        elif isinstance(item, Area):
            yield state.filling(item.colour) + _path(item.path) + b" f"
        elif isinstance(item, Line):
            stroke = _stroke(item.width * UNITS_PER_MM, item.colour, item.cap)
            yield state.stroking(stroke) + _path(item.path) + b" S"


def _placed(item: Placed, writing: _Writing, state: _State) -> bytes:
    x, y = item.x * UNITS_PER_MM, item.y * UNITS_PER_MM
    matrix = f"{_turn(item.turn, item.scale, flip=item.flip)} {x:.0f} {y:.0f} cm".encode()
    stroke = _stroke(item.width * UNITS_PER_MM / item.scale, item.colour, item.cap)
    return state.stroking(stroke) + b"q " + matrix + f"{writing.named(item.layer)} Q".encode()


def _turn(angle: float, scale: float = 1.0, *, flip: bool = False, places: int = 5) -> str:
    """The first four numbers of a matrix: scaled, turned clockwise, mirrored where asked for."""
    cos, sin = math.cos(angle) * scale, math.sin(angle) * scale
    side = -1 if flip else 1
    return " ".join(short(value, places) for value in (side * cos, -sin, side * sin, cos))


def _words(words: Words, writing: _Writing) -> bytes:
    """Letter after letter; from one to the next it is often as far as before."""
    scale = words.size / EM_MM
    at = f"{short(scale, 4)} 0 0 {short(scale, 4)} {words.x * UNITS_PER_MM:.0f} {words.y * UNITS_PER_MM:.0f}"
    said, before = [], 0.0
    for layer, along in letters(words):
        step = (along - before) / scale * UNITS_PER_MM
        said.append((f" 1 0 0 1 {step:.0f} 0 cm" if step else "") + writing.named(layer))
        before = along
    return f"q {at} cm{''.join(said)} Q".encode()


def _layer_operators(layer: Layer, name: str, *, in_full: bool) -> Operators:
    points = vertices_of(layer.path)
    reach = math.ceil(BEYOND * UNITS_PER_MM * float(np.abs(points).max())) if len(points) else 1
    told = [Repeated(layer.path, 1, 0.0)] if in_full and not layer.filled else []
    drawn = _path(layer.path) + b" f" if layer.filled else b"\n".join(map(_told, told or by_turns(layer.path)))
    return Operators(name, 0.0, 0.0, drawn, reach)


def _told(each: Repeated) -> bytes:
    """A part of a layer, and a small turn on, as often as it comes."""
    once = _path(each.part) + b" S"
    if each.times == 1:
        return once
    return b"q " + (once + f" {_turn(each.turn, places=9)} 0 0 cm ".encode()) * each.times + b"Q"


def _stroke(width: float, colour: str, cap: str) -> bytes:
    return _colour(colour, "RG") + f"{short(width, 2)} w {_CAPS[cap]} J ".encode()


def _colour(colour: str, operator: str) -> bytes:
    values = (int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5))
    return f"{' '.join(short(value, 3) for value in values)} {operator} ".encode()


def _path(path: Path) -> bytes:
    whole = moved(path, scale=UNITS_PER_MM)
    steps = _run_on(Path(np.round(vertices_of(whole)), whole.codes))
    operations: list[Any] = PdfFile.pathOperations(steps, None, simplify=False)  # type: ignore[no-untyped-call]
    return b" ".join(operation.pdfRepr().replace(b"\n", b" ") for operation in operations).strip()


def _run_on(path: Path) -> Path:
    """Without the moves to where the pen stands already; where a figure was closed before one, it is needed."""
    codes, points = np.asarray(path.codes), vertices_of(path)
    if (codes == Path.CLOSEPOLY).any():
        return path
    stays = np.concatenate(([False], (points[1:] == points[:-1]).all(axis=1)))
    keep = ~stays | (codes != Path.MOVETO)
    return Path(points[keep], codes[keep])
