"""A picture as PDF operators: what a stamp is made of.

Coordinates are whole hundredths of a millimetre, so that they print short; one matrix brings them to points.
A layer's operators set neither colour nor width: it takes both from where it is placed. The operators are
those of ISO 32000-1, sections 8.4 and 8.5.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from matplotlib.backends.backend_pdf import PdfFile
from matplotlib.path import Path

from pipeline.drawing.lettering import EM_MM, letters
from pipeline.drawing.outline import moved, vertices_of
from pipeline.drawing.picture import Area, Clipped, Item, Layer, Line, Picture, Placed, Words

PT_PER_MM: Final = 72 / 25.4
UNITS_PER_MM: Final = 100
_CAPS: Final = {"butt": 0, "round": 1}


@dataclass(frozen=True, slots=True)
class Operators:
    """A drawing as bytes; ``width`` and ``height`` in pt. ``layers`` are named in it by ``layer_name``."""

    id: str
    width: float
    height: float
    content: bytes
    layers: tuple["Operators", ...] = ()


def layer_name(layer_id: str) -> str:
    """The name under which a layer is stamped."""
    return f"ilayer-{layer_id}0"


def picture_operators(picture: Picture) -> Operators:
    """A picture and the layers it is made of."""
    layers: dict[str, Layer] = {}
    scale = PT_PER_MM / UNITS_PER_MM
    content = b"\n".join([f"{scale:.7f} 0 0 {scale:.7f} 0 0 cm 1 j".encode(), *_items(picture.items, layers)])
    forms = tuple(_layer_operators(layer) for layer in layers.values())
    return Operators(picture.id, picture.width * PT_PER_MM, picture.height * PT_PER_MM, content, forms)


def _items(items: tuple[Item, ...], layers: dict[str, Layer]) -> Iterator[bytes]:
    for item in items:
        if isinstance(item, Clipped):
            yield b"q " + _path(item.path) + b" W n"
            yield from _items(item.items, layers)
            yield b"Q"
        elif isinstance(item, Placed):
            layers[item.layer.id] = item.layer
            yield _placed(item)
        elif isinstance(item, Words):
            yield _colour(item.colour, "rg") + b" ".join(_letters(item, layers))
        elif isinstance(item, Area):
            yield _colour(item.colour, "rg") + _path(item.path) + b" f"
        elif isinstance(item, Line):
            yield _stroke(item.width * UNITS_PER_MM, item.colour, item.cap) + _path(item.path) + b" S"


def _placed(item: Placed) -> bytes:
    cos, sin = float(np.cos(item.turn)) * item.scale, float(np.sin(item.turn)) * item.scale
    x, y = item.x * UNITS_PER_MM, item.y * UNITS_PER_MM
    side = -1 if item.flip else 1
    matrix = f"{side * cos:.5f} {-sin:.5f} {side * sin:.5f} {cos:.5f} {x:.2f} {y:.2f} cm ".encode()
    stroke = _stroke(item.width * UNITS_PER_MM / item.scale, item.colour, item.cap)
    return b"q " + matrix + stroke + f"/{layer_name(item.layer.id)} Do Q".encode()


def _letters(words: Words, layers: dict[str, Layer]) -> Iterator[bytes]:
    scale = words.size / EM_MM
    for layer, along in letters(words):
        layers[layer.id] = layer
        x, y = (words.x + along) * UNITS_PER_MM, words.y * UNITS_PER_MM
        yield f"q {scale:.4g} 0 0 {scale:.4g} {x:.0f} {y:.0f} cm/{layer_name(layer.id)} Do Q".encode()


def _layer_operators(layer: Layer) -> Operators:
    return Operators(layer.id, 0.0, 0.0, _path(layer.path) + (b" f" if layer.filled else b" S"))


def _stroke(width: float, colour: str, cap: str) -> bytes:
    return _colour(colour, "RG") + f"{width:.2f} w {_CAPS[cap]} J ".encode()


def _colour(colour: str, operator: str) -> bytes:
    red, green, blue = (int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5))
    return f"{red:.3f} {green:.3f} {blue:.3f} {operator} ".encode()


def _path(path: Path) -> bytes:
    whole = moved(path, scale=UNITS_PER_MM)
    steps = Path(np.round(vertices_of(whole)), whole.codes)
    operations: list[Any] = PdfFile.pathOperations(steps, None, simplify=False)  # type: ignore[no-untyped-call]
    return b" ".join(operation.pdfRepr().replace(b"\n", b" ") for operation in operations).strip()
