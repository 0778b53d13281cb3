"""Photographs of a pattern: whether their files can be printed, and the bytes that are.

``photo_findings`` looks at the files a pattern names, all the way through: what it has no error for, ``ready`` makes
into the JPEG that stands on the page: upright, in sRGB, no finer than print shows, and without a word about where,
when or by whom it was taken. How large a photograph is printed follows from its proportions and the box its place
has (``BOXES_MM``, ``printed_mm``).

Pillow is imported inside the functions: most patterns have no photographs, and checking them does not load it.
Sizes of pictures are in pixels, of boxes in mm, width first.
"""

import warnings
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from io import BytesIO
from math import ceil
from pathlib import Path, PurePosixPath, PureWindowsPath
from typing import TYPE_CHECKING, Final

from pydantic import ValidationError

from pipeline.problems import Finding, nearest
from pipeline.records import Photo
from pipeline.units import MILLIMETRES

if TYPE_CHECKING:
    from PIL.Image import Image, Transpose

BOXES_MM: Final[Mapping[str, tuple[float, float]]] = {
    "title": (174.0, 116.0),
    "steps": (84.0, 63.0),
    "finishing": (84.0, 63.0),
}
"""Width and height a photograph may take at each place, on A4: the whole width of the page at 3 : 2, or a column of
two at 4 : 3. It keeps its proportions and touches two sides of the box."""

LEAST_DPI: Final = 150
"""Pixels an inch below which print looks soft: common practice, no source."""
FINEST_DPI: Final = 300
"""Pixels an inch above which print shows no more: common practice, no source."""
QUALITY: Final = 88
"""Of the JPEG made; its blocks are not seen in print."""
MOST_BYTES: Final = 40_000_000
MOST_PIXELS: Final = 60_000_000
"""Beyond these a file is not decoded; twenty times what the largest box shows."""
MOST_COPIED_PIXELS: Final = 30_000_000
"""The same where they stand in memory twice: transparent ones and those of 16 bits while they are made smaller, WebP
and progressive JPEG while they are decoded."""

_FORMATS: Final = ("JPEG", "MPO", "PNG", "TIFF", "WEBP")
"""What is printed, by Pillow's names; an MPO is a JPEG with further pictures behind it, as telephones write them."""
_SUFFIXES: Final = (".jpg", ".jpeg", ".png", ".tif", ".tiff", ".webp")
_HEIF: Final = (b"ftypheic", b"ftypheix", b"ftyphevc", b"ftypmif1", b"ftypmsf1")
"""How the files of telephones begin that Pillow cannot read, after four bytes (ISO/IEC 23008-12)."""
_PLAIN: Final[Mapping[str, str]] = {
    **dict.fromkeys(("1", "L", "LA", "La", "I;16", "I;16L", "I;16B", "I;16N"), "L"),
    **dict.fromkeys(("P", "PA", "RGB", "RGBA", "RGBa", "RGBX", "YCbCr"), "RGB"),
    "CMYK": "CMYK",
    "LAB": "LAB",
}
"""Modes of Pillow that can be printed, and what they are made into; floats and 32 bits are no photographs."""
_SPACES: Final[Mapping[str, str]] = {"RGB": "RGB", "GRAY": "L", "CMYK": "CMYK"}
"""Colour spaces of profiles, and the mode whose values each speaks of."""


class Refused(Exception):
    """A file that is not printed: a problem's code and its facts."""

    def __init__(self, code: str, **facts: object) -> None:
        super().__init__(code)
        self.code = code
        self.facts = facts


def sound_photos(tree: Mapping[str, object]) -> Iterator[Photo | None]:
    """Each photograph a pattern names; None for one with errors of its own, so the others keep their places."""
    written = tree.get("photos")
    for entry in written if isinstance(written, list) else []:
        try:
            yield Photo.model_validate(entry)
        except ValidationError:
            yield None


def photo_findings(photos: Iterable[Photo | None], folder: Path) -> Iterator[Finding]:
    """What is wrong with the photographs of a pattern whose file stands in ``folder``, each told at its file's name."""
    first = ""
    for index, photo in enumerate(photos):
        if photo is None:
            continue
        path = ("photos", index, "file")
        if photo.place == "title" and first:
            yield Finding("photo-title-twice", path, {"file": first})
        elif photo.place == "title":
            first = photo.file
        box = BOXES_MM[photo.place]
        try:
            pixels = _upright_size(_decoded(read_inside(photo.file, folder, box), box))
        except Refused as refused:
            yield Finding(refused.code, path, refused.facts)
            continue
        width = fitted_mm(pixels, box)[0]
        wanted = ceil(_pixels(width, LEAST_DPI))
        if pixels[0] < wanted:
            facts = {"width": f"{width:.0f}", "dpi": int(pixels[0] / _pixels(width, 1)), "least": LEAST_DPI}
            yield Finding("photo-coarse", path, facts | {"pixels": pixels[0], "wanted": wanted})


def fitted_mm(pixels: tuple[int, int], box_mm: tuple[float, float]) -> tuple[float, float]:
    """Width and height of the largest picture of these proportions in a box.

    >>> fitted_mm((4000, 2000), (84.0, 63.0))
    (84.0, 42.0)
    """
    (wide, high), (width, height) = pixels, box_mm
    if wide * height >= high * width:
        return width, width * high / wide
    return height * wide / high, height


def printed_mm(data: bytes, box_mm: tuple[float, float]) -> tuple[float, float]:
    """Width and height a photograph is printed in: it keeps its proportions inside the box, and fills it one way."""
    return fitted_mm(_upright_size(_decoded(data, box_mm)), box_mm)


def ready(data: bytes, box_mm: tuple[float, float]) -> bytes:
    """A JPEG ready to print in a box: upright, sRGB, at most ``FINEST_DPI``, of nothing but the picture.

    The same bytes give the same bytes. Raises ``Refused`` for a file that ``photo_findings`` has an error for.
    """
    picture = _decoded(data, box_mm)
    profile, turn = picture.info.get("icc_profile"), _turn(picture)
    lying = box_mm if _upright_size(picture) == picture.size else box_mm[::-1]
    picture = _lessened(_plain(picture), lying)  # first of all: what is large is copied as seldom as can be
    printed = _on_white(picture if turn is None else picture.transpose(turn), profile)
    printed.info.clear()  # else what the file said of itself could be written again
    made = BytesIO()
    printed.save(made, "JPEG", quality=QUALITY, optimize=True)
    return made.getvalue()


def _pixels(mm: float, dpi: int) -> float:
    return mm / MILLIMETRES["in"] * dpi


def read_inside(name: str, folder: Path, box_mm: tuple[float, float], if_missing: str = "") -> bytes:
    """The bytes of a file named from a folder and lying in it, whatever links lead to it. Raises ``Refused``.

    ``if_missing`` is the hint where there is no such file, in place of one for photographs.
    """
    if any(kind(name).anchor for kind in (PurePosixPath, PureWindowsPath)):
        raise Refused("photo-outside", file=name)
    try:
        place = (folder / name).resolve()
        inside = place.is_relative_to(folder.resolve())
    except (OSError, RuntimeError, ValueError):  # links in a circle, a character no file has
        inside, place = True, folder / name
    if not inside:
        raise Refused("photo-outside", file=name)
    try:
        if not place.is_file():
            raise Refused("photo-missing", file=name, hint=if_missing or _known(name, folder))
        if place.stat().st_size > MOST_BYTES:
            raise _too_large(f"{place.stat().st_size / 1e6:.0f} million bytes", box_mm)
        return place.read_bytes()
    except OSError as error:
        raise Refused("photo-unreadable", reason=error.strerror or "unknown") from error


def _known(name: str, folder: Path) -> str:
    """A hint that names the pictures which stand where a missing one was looked for."""
    try:
        files = [file for file in (folder / name).parent.iterdir() if file.suffix.lower() in _SUFFIXES]
    except (OSError, ValueError):
        files = []
    known = [file.relative_to(folder).as_posix() for file in files]
    return nearest(name, known) if known else "file names begin at the folder of the pattern: photos/wheel.jpg"


def _too_large(found: str, box_mm: tuple[float, float], pixels: int = MOST_PIXELS) -> Refused:
    wide, high = (ceil(_pixels(mm, FINEST_DPI)) for mm in box_mm)
    most = f"{MOST_BYTES // 1_000_000} million bytes and {pixels // 1_000_000} million pixels"
    return Refused("photo-too-large", found=found, most=most, wide=wide, high=high)


def _decoded(data: bytes, box_mm: tuple[float, float]) -> "Image":
    """The picture in a file, every pixel of it. Raises ``Refused``, for its size before anything is decoded."""
    from PIL import Image, UnidentifiedImageError  # noqa: PLC0415

    # What Pillow only warns of is no harm, or is refused here.
    with warnings.catch_warnings(action="ignore"), _to_the_end():
        try:
            picture = Image.open(BytesIO(data))
            _bounded(picture, box_mm)
            if picture.format == "PNG":
                Image.open(BytesIO(data)).verify()  # reads on to the mark of its end, which decoding does not
            picture.load()
        except Refused:
            raise
        except Image.DecompressionBombError as error:
            raise _too_large("far too many pixels", box_mm) from error
        except UnidentifiedImageError as error:
            raise _no_picture(data) from error
        except Exception as error:
            # Decoders raise whatever they stumble over; a damaged file is all that can be said of it.
            raise Refused("photo-unreadable", reason="it is damaged or breaks off") from error
    if picture.mode not in _PLAIN:
        raise Refused("photo-format", found=f"{picture.format} with pixels of the kind {picture.mode}")
    return picture


@contextmanager
def _to_the_end() -> Iterator[None]:
    """Pictures that break off are no pictures, whatever other libraries have told Pillow."""
    from PIL import ImageFile  # noqa: PLC0415

    before = ImageFile.LOAD_TRUNCATED_IMAGES
    ImageFile.LOAD_TRUNCATED_IMAGES = False
    try:
        yield
    finally:
        ImageFile.LOAD_TRUNCATED_IMAGES = before


def _bounded(picture: "Image", box_mm: tuple[float, float]) -> None:
    """Refuse by what the header says: another format, too many pixels, more than one picture."""
    if picture.format not in _FORMATS:
        raise Refused("photo-format", found=picture.format)
    pixels = picture.width * picture.height
    twice = picture.format == "WEBP" or picture.info.get("progressive") or picture.mode[:4] in {"I;16", "LAB"}
    copied = twice or picture.has_transparency_data
    most = MOST_COPIED_PIXELS if copied else MOST_PIXELS
    if pixels > most:
        raise _too_large(f"{pixels / 1e6:.0f} million pixels", box_mm, most)
    if picture.format != "MPO" and getattr(picture, "is_animated", False):
        raise Refused("photo-format", found=f"{picture.format} with several pictures")


def _no_picture(data: bytes) -> Refused:
    if data[4:12] in _HEIF:
        return Refused("photo-format", found="HEIF")
    return Refused("photo-unreadable", reason="it is no picture")


def _upright_size(picture: "Image") -> tuple[int, int]:
    """Pixels of the picture as it is to be looked at."""
    from PIL.Image import Transpose as Turn  # noqa: PLC0415

    aside = _turn(picture) in {Turn.TRANSPOSE, Turn.ROTATE_270, Turn.TRANSVERSE, Turn.ROTATE_90}
    return picture.size[::-1] if aside else picture.size


def _turn(picture: "Image") -> "Transpose | None":
    """How the picture is turned to be looked at (tag 0x0112 of Exif, which Pillow reads from every format)."""
    from PIL import ExifTags, Image  # noqa: PLC0415

    turn = Image.Transpose
    turns: Mapping[object, Transpose] = {
        2: turn.FLIP_LEFT_RIGHT,
        3: turn.ROTATE_180,
        4: turn.FLIP_TOP_BOTTOM,
        5: turn.TRANSPOSE,
        6: turn.ROTATE_270,
        7: turn.TRANSVERSE,
        8: turn.ROTATE_90,
    }
    try:
        with warnings.catch_warnings(action="ignore"):
            return turns.get(picture.getexif().get(ExifTags.Base.Orientation))
    except Exception:  # noqa: BLE001
        # The library's own turning writes the rest of the Exif anew, and falls over one that is damaged.
        return None


def _plain(picture: "Image") -> "Image":
    """The picture in 8 bits a channel and without palette; what it has of transparency is its last channel."""
    if picture.mode.startswith("I;16"):
        levels = picture.convert("I").point(lambda level: level * (1 / 257) + 0.5)  # 65535 becomes 255
        return levels.convert("L")
    mode = _PLAIN[picture.mode]
    mode = f"{mode}A" if picture.has_transparency_data and mode in {"L", "RGB"} else mode
    return picture if picture.mode == mode else picture.convert(mode)


def _lessened(picture: "Image", box_mm: tuple[float, float]) -> "Image":
    """The picture with no more pixels than ``FINEST_DPI`` in the box."""
    from PIL.Image import Resampling  # noqa: PLC0415

    width, height = (max(1, int(_pixels(mm, FINEST_DPI))) for mm in fitted_mm(picture.size, box_mm))
    if width >= picture.width and height >= picture.height:
        return picture
    return picture.resize((min(width, picture.width), min(height, picture.height)), Resampling.LANCZOS)


def _on_white(picture: "Image", profile: bytes | None) -> "Image":
    """The picture in sRGB, on white paper."""
    from PIL import Image  # noqa: PLC0415

    if picture.mode not in {"LA", "RGBA"}:
        return _in_srgb(picture, profile)
    paper = Image.new("RGB", picture.size, "white")
    paper.paste(_in_srgb(picture.convert(picture.mode.removesuffix("A")), profile), mask=picture.getchannel("A"))
    return paper


def _in_srgb(picture: "Image", profile: bytes | None) -> "Image":
    """The picture's colours in sRGB, by its profile where it has one that speaks of such colours."""
    from PIL import ImageCms  # noqa: PLC0415

    try:
        if picture.mode == "LAB":
            own, mode = ImageCms.ImageCmsProfile(ImageCms.createProfile("LAB")), "LAB"
        elif profile:
            own = ImageCms.ImageCmsProfile(BytesIO(profile))
            mode = _SPACES.get(own.profile.xcolor_space.strip(), "")
        else:
            return picture.convert("RGB")
        if (picture.mode, mode) in {("L", "RGB"), (mode, picture.mode)}:
            made = ImageCms.profileToProfile(
                picture.convert(mode),
                own,
                ImageCms.createProfile("sRGB"),
                ImageCms.Intent.RELATIVE_COLORIMETRIC,
                "RGB",
                flags=ImageCms.Flags.BLACKPOINTCOMPENSATION,
            )
            assert made is not None  # noqa: S101
            return made
    except (ImageCms.PyCMSError, OSError, TypeError, ValueError):
        pass  # a profile that is none: the values are taken as they are
    return picture.convert("RGB")
