"""Photographs: what is wrong with their files, and what stands on the page of those that are sound."""

import random
import re
import struct
import zlib
from collections.abc import Callable, Mapping
from io import BytesIO
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image, ImageCms, ImageFile

from pipeline import photos
from pipeline.craft.check import Checked
from pipeline.files import check_file
from pipeline.photos import BOXES_MM, FINEST_DPI, MOST_BYTES, Refused, photo_findings, printed_mm, ready
from pipeline.problems import Problem, Severity
from pipeline.records import Photo

BOX = BOXES_MM["title"]
FINE = (1028, 685)
"""Pixels that are just enough at the title."""
FORMATS = ("JPEG", "PNG", "TIFF", "WEBP")
HEAD = """\
spokeleaf: 1
id: trial
title: Trial
language: en
level: 1
edition: {number: 1, date: 2026-03-14}
loom: {shape: circle, diameter: 80 mm, pins: 24}
threads:
  A: {fibre: cotton, tex: 40, colour: "#1b4f72", colour_name: blue}
rounds:
  - darn: {}
  - knot: {rays: 4}
    at: 15 mm
photos:
"""
FIRST = HEAD.count("\n") + 1
"""The line of the first photograph."""

Files = Mapping[str, bytes]
Workbench = Callable[..., Checked]


@pytest.fixture
def workbench(tmp_path: Path) -> Workbench:
    """Check a pattern with photographs of these names and places, and these files in its folder."""
    folder = tmp_path / "patterns"

    def run(*photos: tuple[str, str], files: Files, more: str = "") -> Checked:
        for name, data in files.items():
            place = folder / name
            place.parent.mkdir(parents=True, exist_ok=True)
            place.write_bytes(data)
        folder.mkdir(exist_ok=True)
        lines = [f"  - {{file: {name}, alt: The wheel, place: {place}}}\n" for name, place in photos]
        (folder / "trial.yaml").write_text(HEAD + "".join(lines) + more, encoding="utf-8")
        return check_file(folder / "trial.yaml")

    return run


def encoded(picture: Image.Image, kind: str = "PNG", **options: Any) -> bytes:
    made = BytesIO()
    picture.save(made, kind, **options)
    return made.getvalue()


def opened(data: bytes) -> Image.Image:
    picture = Image.open(BytesIO(data))
    picture.load()
    return picture


def plain(size: tuple[int, int] = FINE, colour: Any = (90, 120, 150), mode: str = "RGB") -> Image.Image:
    return Image.new(mode, size, colour)


def noise(size: tuple[int, int] = (160, 120)) -> Image.Image:
    """A picture without any pattern, the same in every run."""
    return Image.fromarray(np.random.default_rng(7).integers(0, 256, (size[1], size[0], 3), dtype=np.uint8))


def chunk(name: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))


def bomb(width: int, height: int, kind: str = "PNG") -> bytes:
    """A small file whose head says that it is large."""
    if kind == "PNG":
        head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
        return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"")) + chunk(b"IEND", b"")
    data = encoded(plain((7, 5)), kind)
    if kind == "JPEG":
        frame = data.index(b"\xff\xc0") + 5
        return data[:frame] + struct.pack(">HH", height, width) + data[frame + 4 :]
    for tag, value in ((256, width), (257, height)):
        old = re.search(struct.pack("<H", tag) + rb"[\x03\x04]\x00\x01\x00{3}....", data, re.DOTALL)
        assert old
        data = data.replace(old[0], struct.pack("<HHII", tag, 4, 1, value))
    return data


def places(problems: tuple[Problem, ...]) -> list[tuple[str, int, int]]:
    return [(problem.code, problem.span.line, problem.span.column) for problem in problems]


@pytest.fixture
def codes(tmp_path: Path) -> Callable[[bytes], list[str]]:
    """The codes found in one file, in a column of the page."""

    def run(data: bytes, place: str = "steps") -> list[str]:
        (tmp_path / "one").write_bytes(data)
        return [found.code for found in photo_findings([Photo(file="one", alt="The wheel", place=place)], tmp_path)]

    return run


# Whether a file can be printed


@pytest.mark.parametrize(
    ("name", "data", "code"),
    [
        ("gone.jpg", None, "photo-missing"),
        ("photos", None, "photo-missing"),
        ("x" * 3000 + ".jpg", None, "photo-unreadable"),
        ("text.jpg", b"The wheel on dark cloth.", "photo-unreadable"),
        ("empty.jpg", b"", "photo-unreadable"),
        ("broken.png", encoded(noise())[:-40], "photo-unreadable"),
        ("moving.gif", encoded(plain(), "GIF"), "photo-format"),
        ("large.png", bomb(50_000, 50_000), "photo-too-large"),
        ("coarse.png", encoded(plain((300, 200))), "photo-coarse"),
        ("/etc/hostname", None, "photo-outside"),
    ],
    ids=lambda value: value[:12] if isinstance(value, str) else "",
)
def test_a_problem_is_told_at_the_name_of_the_file(
    workbench: Workbench, name: str, data: bytes | None, code: str
) -> None:
    """Each problem stands at the name as it is written, in the line of its photograph, with a fact and a hint."""
    sound = encoded(plain())
    files = {"photos/sound.png": sound} | ({} if data is None else {name: data})
    checked = workbench(("photos/sound.png", "steps"), (name, "title"), files=files)
    (problem,) = checked.problems
    assert places(checked.problems) == [(code, FIRST + 1, 12)]
    assert problem.path == "photos[1].file"
    assert problem.message
    assert problem.hint
    assert checked.ok == (problem.severity is Severity.WARNING)


def test_a_name_with_a_control_character_is_told(workbench: Workbench) -> None:
    """The character, and that there is no such file: both at the name."""
    files = {"photos/sound.png": encoded(plain())}
    checked = workbench(("photos/sound.png", "steps"), ('"a\\0b.jpg"', "title"), files=files)
    assert places(checked.problems) == [("control-character", FIRST + 1, 12), ("photo-missing", FIRST + 1, 12)]


def test_sound_photographs_have_no_problems(workbench: Workbench) -> None:
    """Four formats at three places are good, a JPEG with a second picture behind it among them."""
    files = {f"photos/{kind}": encoded(plain(), kind) for kind in FORMATS}
    files["photos/telephone.jpg"] = encoded(plain(), "MPO", save_all=True, append_images=[plain((8, 8))])
    places = ("title", "steps", "steps", "finishing", "finishing")
    checked = workbench(*zip(files, places, strict=True), files=files)
    assert checked.problems == ()


def test_all_problems_are_told_at_once(workbench: Workbench) -> None:
    """Two photographs with problems, a second one at the title and a value of another kind are four problems."""
    files = {"a.png": encoded(plain((300, 200))), "b.png": encoded(plain())}
    photos = [("a.png", "title"), ("gone.png", "steps"), ("b.png", "title")]
    checked = workbench(*photos, files=files, more="tags: none\n")
    assert places(checked.problems) == [
        ("photo-coarse", FIRST, 12),
        ("photo-missing", FIRST + 1, 12),
        ("photo-title-twice", FIRST + 2, 12),
        ("not-a-list", FIRST + 3, 7),
    ]
    assert checked.problems[1].hint == "did you mean `b.png`?"
    assert "`a.png`" in checked.problems[2].message


def test_a_photograph_with_a_slip_of_its_own_hides_no_other(workbench: Workbench) -> None:
    """A record that is not whole is told for itself, and the file of the next is looked at in its own line."""
    more = "  - {file: gone.png, alt: The wheel}\n"
    checked = workbench(("a.png", "cover"), files={"a.png": b""}, more=more)
    assert [problem.code for problem in checked.problems] == ["not-one-of", "photo-missing"]
    assert checked.problems[1].path == "photos[1].file"


@pytest.mark.parametrize("written", ["photos: none", "photos: {file: a.jpg}", "photos: [a.jpg, [b.jpg], null]"])
def test_photographs_that_are_none_are_told_as_values(workbench: Workbench, written: str) -> None:
    """What is no list of photographs is an error of its value, and no file is looked for."""
    checked = workbench(files={})
    file = Path(checked.file)
    file.write_text(HEAD.replace("photos:\n", f"{written}\n"), encoding="utf-8")
    found = check_file(file).problems
    assert found
    assert not [problem for problem in found if problem.code.startswith("photo-")]


@pytest.mark.parametrize(
    "name",
    [
        "../secret.png",
        "photos/../../secret.png",
        "photos/link.png",
        "linked/secret.png",
        "C:/secret.png",
        "C:secret.png",
        "'C:\\secret.png'",
        "'\\\\server\\share\\secret.png'",
        "//server/share/secret.png",
        "'\\secret.png'",
    ],
)
def test_what_lies_outside_is_refused(workbench: Workbench, tmp_path: Path, name: str) -> None:
    """Ways up, links and names with a drive, a server or a root are refused, even where a picture lies there."""
    (tmp_path / "secret.png").write_bytes(encoded(plain()))
    photos = tmp_path / "patterns" / "photos"
    photos.mkdir(parents=True)
    (photos / "link.png").symlink_to(tmp_path / "secret.png")
    (photos.parent / "linked").symlink_to(tmp_path)
    assert places(workbench((name, "title"), files={}).problems) == [("photo-outside", FIRST, 12)]


def test_what_leads_back_inside_is_not_outside(workbench: Workbench, tmp_path: Path) -> None:
    """A link to a file of the folder is followed, also where the folder itself is reached by one; one to itself is not."""
    photos = tmp_path / "real" / "photos"
    photos.mkdir(parents=True)
    (tmp_path / "patterns").symlink_to(tmp_path / "real")
    (photos / "link.png").symlink_to("../sound.png")
    (photos / "circle.png").symlink_to("circle.png")
    names = [("photos/link.png", "title"), ("photos/../sound.png", "steps"), ("photos/circle.png", "steps")]
    checked = workbench(*names, files={"sound.png": encoded(plain())})
    assert places(checked.problems) == [("photo-missing", FIRST + 2, 12)]


@pytest.mark.parametrize("kind", ["PNG", "JPEG", "TIFF"])
@pytest.mark.parametrize("size", [(50_000, 50_000), (10_001, 6000), (12_000, 9000)])
def test_a_picture_that_says_it_is_large_is_never_decoded(
    codes: Callable[[bytes], list[str]], monkeypatch: pytest.MonkeyPatch, kind: str, size: tuple[int, int]
) -> None:
    """Above sixty million pixels the head decides; decoding would fail the test."""

    def load(_: object) -> None:
        pytest.fail("decoded")

    monkeypatch.setattr(ImageFile.ImageFile, "load", load)
    data = bomb(*size, kind)
    assert len(data) < 2000
    assert codes(data) == ["photo-too-large"]


@pytest.mark.parametrize(
    ("kind", "mode", "options", "refused"),
    [
        ("PNG", "RGB", {}, False),
        ("PNG", "RGBA", {}, True),
        ("PNG", "LA", {}, True),
        ("PNG", "P", {"transparency": 0}, True),
        ("PNG", "I;16", {}, True),
        ("TIFF", "LAB", {}, True),
        ("WEBP", "RGB", {}, True),
        ("JPEG", "RGB", {}, False),
        ("JPEG", "RGB", {"progressive": True}, True),
    ],
)
def test_what_stands_in_memory_twice_may_have_half_as_many_pixels(
    codes: Callable[[bytes], list[str]],
    monkeypatch: pytest.MonkeyPatch,
    kind: str,
    mode: str,
    options: dict[str, Any],
    *,
    refused: bool,
) -> None:
    """One pixel more than such pictures may have; at the limit none is refused."""
    data = encoded(plain(mode=mode, colour=0), kind, **options)
    for limit, told in ((FINE[0] * FINE[1] - 1, refused), (FINE[0] * FINE[1], False)):
        monkeypatch.setattr(photos, "MOST_COPIED_PIXELS", limit)
        assert ("photo-too-large" in codes(data)) == told


def test_a_file_of_too_many_bytes_is_never_read(workbench: Workbench, monkeypatch: pytest.MonkeyPatch) -> None:
    """A byte above forty million is too large, whatever it holds; at forty million the file is read."""
    checked = workbench(("a.jpg", "title"), files={"a.jpg": b""})
    photo = Path(checked.file).with_name("a.jpg")
    with photo.open("r+b") as file:
        file.truncate(MOST_BYTES)
    assert [problem.code for problem in check_file(Path(checked.file)).problems] == ["photo-unreadable"]
    with photo.open("r+b") as file:
        file.truncate(MOST_BYTES + 1)
    read = Path.read_bytes
    monkeypatch.setattr(Path, "read_bytes", lambda path: pytest.fail("read") if path.name == "a.jpg" else read(path))
    assert [problem.code for problem in check_file(Path(checked.file)).problems] == ["photo-too-large"]


@pytest.mark.parametrize(
    ("kind", "options"),
    [
        ("JPEG", {}),
        ("JPEG", {"progressive": True}),
        ("PNG", {}),
        ("TIFF", {}),
        ("TIFF", {"compression": "tiff_lzw"}),
        ("WEBP", {}),
        ("WEBP", {"lossless": True}),
    ],
)
def test_a_file_that_breaks_off_is_refused(
    codes: Callable[[bytes], list[str]], kind: str, options: dict[str, Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Wherever a file is cut, its last ten bytes included, it is unreadable, and whole it is not.

    Also where another library of the process has told Pillow to let such files pass, as WeasyPrint does.
    """
    monkeypatch.setattr(ImageFile, "LOAD_TRUNCATED_IMAGES", True)
    data = encoded(noise((800, 600)), kind, **options)
    assert codes(data) == []
    for part in (0.001, 0.02, 0.3, 0.7, 0.99):
        assert codes(data[: int(len(data) * part)]) == ["photo-unreadable"], part
    assert codes(data[:-10]) == ["photo-unreadable"]


def test_a_changed_byte_of_a_picture_with_checksums_is_found(codes: Callable[[bytes], list[str]]) -> None:
    """A PNG of which one value has changed, as nobody would see, is damaged all the same."""
    data = bytearray(encoded(noise(), compress_level=0))
    data[len(data) // 2] ^= 1
    assert codes(bytes(data)) == ["photo-unreadable"]


@pytest.mark.parametrize("kind", ["PNG", "WEBP", "TIFF"])
def test_several_pictures_in_a_file_are_refused(codes: Callable[[bytes], list[str]], kind: str) -> None:
    """A picture that moves, or has pages, is no photograph, though its format is printed."""
    assert codes(encoded(noise(), kind, save_all=True, append_images=[plain((160, 120))])) == ["photo-format"]


@pytest.mark.parametrize(
    "data",
    [
        *(encoded(plain((64, 64)), kind) for kind in ("GIF", "BMP", "ICO", "PPM")),
        encoded(Image.new("F", (64, 64)), "TIFF"),
        encoded(Image.new("I", (64, 64)), "TIFF"),
        b"\0\0\0\x18ftypheic\0\0\0\0mif1heic",
    ],
    ids=["gif", "bmp", "ico", "ppm", "float", "whole", "heif"],
)
def test_other_formats_are_refused_as_such(codes: Callable[[bytes], list[str]], data: bytes) -> None:
    """Pictures of other formats, and those whose values have no fixed white, are told from files that are broken."""
    assert codes(data) == ["photo-format"]


@pytest.mark.parametrize(
    ("place", "size", "words"),
    [
        ("title", (1028, 685), None),
        ("title", (1027, 685), "1027 pixels printed 174 mm wide are 149 dpi, fewer than 150; 1028"),
        ("title", (457, 685), "457 pixels printed 77 mm wide are 149 dpi, fewer than 150; 458"),
        ("title", (458, 687), None),
        ("steps", (497, 372), None),
        ("steps", (496, 300), "496 pixels printed 84 mm wide are 149 dpi, fewer than 150; 497"),
        ("finishing", (300, 225), "300 pixels printed 84 mm wide are 90 dpi, fewer than 150; 497"),
    ],
)
def test_a_coarse_photograph_says_how_coarse_and_what_is_wanted(
    workbench: Workbench, place: str, size: tuple[int, int], words: str | None
) -> None:
    """The dots an inch are those at the size it is printed, and the pixels wanted are as many as make 150."""
    found = workbench(("a.png", place), files={"a.png": encoded(plain(size))}).problems
    said = [f"{p.message}; {re.sub('[^0-9]', '', p.hint)}" for p in found]
    assert said == ([] if words is None else [words])


def test_a_photograph_that_was_turned_is_measured_as_it_is_printed(workbench: Workbench) -> None:
    """Lying pixels that stand upright on the page are printed as high as the box, so fewer of them are enough."""
    turned = Image.Exif()
    turned[0x0112] = 6
    files = {"a.jpg": encoded(plain((690, 460)), "JPEG", exif=turned), "b.jpg": encoded(plain((690, 460)), "JPEG")}
    assert workbench(("a.jpg", "title"), files=files).problems == ()
    assert [problem.code for problem in workbench(("b.jpg", "title"), files=files).problems] == ["photo-coarse"]


def test_a_coarse_photograph_can_be_answered_for(workbench: Workbench) -> None:
    """An accepted warning about a photograph is a note; accepted where none is coarse, it is accepted for nothing."""
    accepts = "accepts: {photo-coarse: the wheel is sold}\n"
    coarse = workbench(("a.png", "title"), files={"a.png": encoded(plain((300, 200)))}, more=accepts)
    assert [(p.code, p.severity) for p in coarse.problems] == [("photo-coarse", Severity.NOTE)]
    assert coarse.clean
    fine = workbench(("a.png", "title"), files={"a.png": encoded(plain())}, more=accepts)
    assert [(p.code, p.severity) for p in fine.problems] == [("accepted-for-nothing", Severity.NOTE)]


# What stands on the page

CORNERS = ((10, 10), (110, 10), (10, 70), (110, 70))


def quarters() -> Image.Image:
    """Red, green, blue and white quarters of a lying picture."""
    picture = plain((120, 80), "white")
    for colour, corner in (("red", (0, 0)), ("lime", (60, 0)), ("blue", (0, 40))):
        picture.paste(plain((60, 40), colour), corner)
    return picture


def near(found: Any, wanted: Any, tolerance: int = 5) -> bool:
    return all(abs(a - b) <= tolerance for a, b in zip(found, wanted, strict=True))


_SEEN_FROM: Mapping[int, Callable[[Any], Any]] = {
    1: lambda a: a,
    2: lambda a: a[:, ::-1],
    3: lambda a: a[::-1, ::-1],
    4: lambda a: a[::-1],
    5: lambda a: a.transpose(1, 0, 2),
    6: lambda a: a.transpose(1, 0, 2)[::-1],
    7: lambda a: a[::-1, ::-1].transpose(1, 0, 2),
    8: lambda a: a.transpose(1, 0, 2)[:, ::-1],
}
"""How the pixels of an upright picture lie in a file of each orientation (Exif 2.32, table 5)."""


@pytest.mark.parametrize("kind", FORMATS)
@pytest.mark.parametrize("orientation", range(1, 9))
def test_every_orientation_comes_out_upright(kind: str, orientation: int) -> None:
    """However the camera was held, the four corners stand where they belong, and nothing says to turn them again."""
    written = Image.Exif()
    written[0x0112] = orientation
    lying = Image.fromarray(np.ascontiguousarray(_SEEN_FROM[orientation](np.asarray(quarters()))))
    made = opened(ready(encoded(lying, kind, exif=written), BOX))
    assert made.size == (120, 80)
    assert 0x0112 not in made.getexif()
    for corner, colour in zip(CORNERS, ((255, 0, 0), (0, 255, 0), (0, 0, 255), (255, 255, 255)), strict=True):
        assert near(made.getpixel(corner), colour, 25), corner


@pytest.mark.parametrize(
    ("orientation", "size"), [(1, (2055, 1027)), (3, (2055, 1027)), (6, (685, 1370)), (8, (685, 1370))]
)
def test_a_turned_picture_is_made_as_small_as_an_upright_one(orientation: int, size: tuple[int, int]) -> None:
    """4000 × 2000 pixels lying or standing in the box at the title, at 300 dpi."""
    written = Image.Exif()
    written[0x0112] = orientation
    data = encoded(plain((4000, 2000)), "JPEG", exif=written)
    assert opened(ready(data, BOX)).size == size
    assert printed_mm(data, BOX) == pytest.approx((174, 87) if orientation < 5 else (58, 116))


@pytest.mark.parametrize("kind", FORMATS)
def test_nothing_is_said_of_where_and_by_whom(kind: str) -> None:
    """Place, author, comment and packets of a file are in it, and not in what is printed of it."""
    secret = b"quay-nine"
    exif = Image.Exif()
    exif[0x013B] = secret.decode()
    exif.get_ifd(0x8825).update({1: "N", 2: (12.0, 34.0, 56.0), 3: "E", 4: (1.0, 2.0, 3.0), 27: secret})
    packet = b'<x:xmpmeta xmlns:x="adobe:ns:meta/">' + secret + b"</x:xmpmeta>"
    extra: dict[str, Any] = {"JPEG": {"comment": secret, "xmp": packet}, "WEBP": {"xmp": packet}}.get(kind, {})
    data = encoded(quarters(), kind, exif=exif, icc_profile=WIDE, dpi=(72, 72), **extra)
    assert secret in data
    assert kind == "TIFF" or opened(data).getexif().get_ifd(0x8825)[2] == (12.0, 34.0, 56.0)
    made = ready(data, BOX)
    assert secret not in made
    assert not re.search(rb"Exif|ICC_PROFILE|xmp|Photoshop", made)
    picture = opened(made)
    assert dict(picture.getexif()) == {}
    assert set(picture.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}
    assert {marker for marker, _ in getattr(picture, "applist")} == {"APP0"}  # noqa: B009


def profile(space: bytes, tags: Mapping[bytes, bytes], *, pcs: bytes = b"XYZ ") -> bytes:
    """An ICC profile of version 2 (ICC.1:2001-04) with these tags."""
    table, body, offset = struct.pack(">I", len(tags)), b"", 128 + 4 + 12 * len(tags)
    for name, data in tags.items():
        padded = data + bytes(-len(data) % 4)
        table += name + struct.pack(">II", offset + len(body), len(data))
        body += padded
    kind = b"prtr" if space == b"CMYK" else b"mntr"
    head = struct.pack(">I4sI4s4s4s", offset + len(body), bytes(4), 0x02400000, kind, space, pcs)
    head += bytes(12) + b"acsp" + bytes(28) + WHITE_D50
    return head.ljust(128, b"\0") + table + body


def xyz(*values: float) -> bytes:
    return struct.pack(">3i", *(round(value * 65536) for value in values))


def gamma(value: float) -> bytes:
    return b"curv" + bytes(4) + struct.pack(">IH", 1, round(value * 256))


WHITE_D50 = xyz(0.9642, 1.0, 0.8249)
WIDE_COLORANTS = np.array([[0.60974, 0.20528, 0.14919], [0.31111, 0.62567, 0.06322], [0.01947, 0.06087, 0.74457]])
"""Red, green and blue of a space whose green lies far outside sRGB, as XYZ of D50."""
WIDE_GAMMA = 563 / 256
TO_SRGB = np.array(
    [
        [3.1338561, -1.6168667, -0.4906146],
        [-0.9787684, 1.9161415, 0.0334540],
        [0.0719453, -0.2289914, 1.4052427],
    ]
)
"""From XYZ of D50 to linear sRGB: the primaries of IEC 61966-2-1, adapted after Bradford."""
WIDE = profile(
    b"RGB ",
    {b"wtpt": b"XYZ \0\0\0\0" + WHITE_D50}
    | {
        name: b"XYZ \0\0\0\0" + xyz(*row)
        for name, row in zip((b"rXYZ", b"gXYZ", b"bXYZ"), WIDE_COLORANTS.T, strict=True)
    }
    | dict.fromkeys((b"rTRC", b"gTRC", b"bTRC"), gamma(WIDE_GAMMA)),
)
GREY = profile(b"GRAY", {b"wtpt": b"XYZ \0\0\0\0" + WHITE_D50, b"kTRC": gamma(1.0)})


def srgb(xyz_d50: Any) -> list[int]:
    """The sRGB of a colour, worked out here and not by the library."""
    linear = np.clip(TO_SRGB @ np.asarray(xyz_d50), 0, 1)
    return [round(255 * (12.92 * v if v <= 0.0031308 else 1.055 * v ** (1 / 2.4) - 0.055)) for v in linear]


def colour_of(data: bytes) -> Any:
    """The colour in the middle of what is printed."""
    made = opened(ready(data, BOX))
    assert made.mode == "RGB"
    return made.getpixel((made.width // 2, made.height // 2))


@pytest.mark.parametrize("kind", FORMATS)
@pytest.mark.parametrize("written", [(90, 160, 110), (200, 120, 60), (128, 128, 128), (255, 255, 255), (0, 0, 0)])
def test_colours_of_a_wide_profile_come_out_right(kind: str, written: tuple[int, int, int]) -> None:
    """The values printed are those of sRGB for the same colour, not the values of the file."""
    options = {"lossless": True} if kind == "WEBP" else {"quality": 100, "subsampling": 0} if kind == "JPEG" else {}
    wanted = srgb(WIDE_COLORANTS @ (np.array(written) / 255) ** WIDE_GAMMA)
    found = colour_of(encoded(plain((64, 64), written), kind, icc_profile=WIDE, **options))
    assert near(found, wanted, 4), (found, wanted)
    if written == (90, 160, 110):
        assert not near(wanted, written, 20)


def test_a_grey_profile_is_heeded() -> None:
    """Half of linear grey is a light grey in sRGB."""
    found = colour_of(encoded(plain((64, 64), 128, "L"), icc_profile=GREY))
    assert near(found, srgb(np.array([0.9642, 1.0, 0.8249]) * 128 / 255), 4)


def ink_profile() -> bytes:
    """A profile of four inks in which the first is an orange and the last is black."""
    corners = bytearray()
    for inks in range(16):  # the first ink changes slowest
        first, black = inks & 8, inks & 1
        corners += bytes((0, 128, 128) if black else (153, 168, 188) if first else (255, 128, 128))
    identity = bytes(range(256))
    table = b"mft1" + bytes(4) + bytes((4, 3, 2, 0))
    table += struct.pack(">9i", *(65536 if index % 4 == 0 else 0 for index in range(9)))
    tags = {b"wtpt": b"XYZ \0\0\0\0" + WHITE_D50, b"A2B0": table + identity * 4 + bytes(corners) + identity * 3}
    return profile(b"CMYK", tags, pcs=b"Lab ")


def test_four_inks_come_out_by_their_profile_or_plainly_without() -> None:
    """An ink that a profile calls orange is orange; without a profile it is the cyan of its name, and no ink is white."""
    inks = plain((64, 64), (255, 0, 0, 0), "CMYK")
    level = (153 * 100 / 255 + 16) / 116
    lab = np.array([level + 40 / 500, level, level - 60 / 200])
    wanted = srgb(lab**3 * np.array([0.9642, 1.0, 0.8249]))
    for kind in ("JPEG", "TIFF"):
        found = colour_of(encoded(inks, kind, icc_profile=ink_profile()))
        assert near(found, wanted, 6), (found, wanted)
        assert near(colour_of(encoded(inks, kind)), (0, 255, 255), 6)
        assert near(colour_of(encoded(plain((64, 64), (0, 0, 0, 0), "CMYK"), kind)), (255, 255, 255), 3)


@pytest.mark.parametrize("wrong", [b"no profile", GREY, ink_profile(), WIDE[:200]], ids=["none", "grey", "inks", "cut"])
def test_a_profile_of_other_colours_is_passed_over(wrong: bytes) -> None:
    """A profile that is none, or speaks of other channels than the file has, changes nothing."""
    assert near(colour_of(encoded(plain((64, 64), (90, 160, 110)), icc_profile=wrong)), (90, 160, 110), 3)


def test_a_grey_picture_with_a_profile_of_colours_is_converted_by_it() -> None:
    """Grey of a colour profile is the grey of its three values alike."""
    wanted = srgb(WIDE_COLORANTS @ np.full(3, 100 / 255) ** WIDE_GAMMA)
    assert near(colour_of(encoded(plain((64, 64), 100, "L"), icc_profile=WIDE)), wanted, 3)


@pytest.mark.parametrize("kind", ["PNG", "TIFF"])
@pytest.mark.parametrize("order", ["<u2", ">u2"])
def test_grey_of_sixteen_bits_keeps_its_levels(kind: str, order: str) -> None:
    """65535 is white, 32768 the middle, and nothing is cut off at 255."""
    levels = np.repeat(np.array([[0, 8192, 32768, 65535]], dtype=order), 40, axis=1).repeat(40, axis=0)
    made = opened(ready(encoded(Image.fromarray(levels), kind), BOX))
    found = [made.getpixel((20 + 40 * step, 20)) for step in range(4)]
    for grey, wanted in zip(found, (0, 32, 128, 255), strict=True):
        assert near(grey, (wanted,) * 3, 3), found


def test_what_is_transparent_lies_on_white() -> None:
    """However a file says that it is transparent, white shows through; half a red on white is a pink."""
    palette = plain((64, 64), "red").quantize(4)
    keyed = encoded(palette, transparency=palette.getpixel((0, 0)))
    red_key = encoded(plain((64, 64), "red"), transparency=(255, 0, 0))
    grey_key = encoded(plain((64, 64), 40, "L"), transparency=40)
    for data in (
        keyed,
        red_key,
        grey_key,
        encoded(plain((64, 64), (255, 0, 0, 0), "RGBA")),
        encoded(plain((64, 64), (0, 0), "LA")),
        encoded(plain((64, 64), (255, 0, 0, 0), "RGBA"), "TIFF"),
        encoded(plain((64, 64), (255, 0, 0, 0), "RGBA"), "WEBP", lossless=True),
    ):
        assert near(colour_of(data), (255, 255, 255), 2)
    assert near(colour_of(encoded(plain((64, 64), (255, 0, 0, 128), "RGBA"))), (255, 127, 127), 4)
    assert near(colour_of(encoded(palette)), (255, 0, 0), 4)


def test_no_dark_seam_comes_of_making_transparency_smaller() -> None:
    """A white piece cut out of invisible black stays white to its edge when it is made smaller."""
    picture = plain((1500, 1500), (0, 0, 0, 0), "RGBA")
    picture.paste(plain((750, 1500), (255, 255, 255, 255), "RGBA"), (0, 0))
    assert np.asarray(opened(ready(encoded(picture, compress_level=1), (84.0, 63.0)))).min() > 245


@pytest.mark.parametrize("mode", ["1", "L", "LA", "P", "RGB", "RGBA", "CMYK", "YCbCr", "LAB"])
def test_every_mode_that_is_let_through_is_printed(codes: Callable[[bytes], list[str]], mode: str) -> None:
    """A white picture of any kind of pixels comes out white."""
    if mode == "LAB":
        ways = ImageCms.createProfile("sRGB"), ImageCms.createProfile("LAB")
        picture = ImageCms.profileToProfile(plain((600, 400), "white"), *ways, outputMode="LAB")
    else:
        picture = plain((600, 400), "white").convert(mode)
    assert picture is not None
    data = encoded(picture, "TIFF")
    assert codes(data) == []
    assert near(colour_of(data), (255, 255, 255), 2)


@pytest.mark.parametrize(
    ("size", "made"),
    [((2400, 1800), (1826, 1370)), ((1800, 2400), (1027, 1370)), ((9000, 30), (2055, 6)), ((9000, 1), (2055, 1))],
)
def test_a_fine_photograph_is_made_no_finer_than_print_shows(size: tuple[int, int], made: tuple[int, int]) -> None:
    """At most 300 pixels fall on an inch, whichever side touches the box, and the proportions stay."""
    printed = ready(encoded(plain(size), compress_level=1), BOX)
    found = opened(printed).size
    assert found == made
    for pixels, mm in zip(found, printed_mm(encoded(plain(size), compress_level=1), BOX), strict=True):
        assert pixels == 1 or pixels / mm * 25.4 <= FINEST_DPI + 1e-9


def test_a_small_photograph_stays_as_it_is() -> None:
    """Pixels are taken away, never made up."""
    assert opened(ready(encoded(plain((300, 200))), BOX)).size == (300, 200)


def test_a_photograph_fills_its_box_one_way_and_keeps_its_proportions() -> None:
    """A wide one is as wide as the box, a high one as high; a turned one counts as it stands."""
    assert printed_mm(encoded(plain((600, 200))), (174.0, 116.0)) == (174.0, 58.0)
    assert printed_mm(encoded(plain((200, 400))), (174.0, 116.0)) == (58.0, 116.0)
    turned = Image.Exif()
    turned[0x0112] = 8
    for kind in FORMATS:
        data = encoded(plain((400, 200)), kind, exif=turned)
        assert printed_mm(data, (174.0, 116.0)) == (58.0, 116.0)
        assert printed_mm(ready(data, BOX), (174.0, 116.0)) == (58.0, 116.0)


@pytest.mark.parametrize("kind", FORMATS)
def test_the_same_bytes_give_the_same_bytes(kind: str) -> None:
    """Twice made ready, a photograph is byte for byte the same, and it is a JPEG."""
    data = encoded(noise((1200, 800)), kind, icc_profile=WIDE)
    made = ready(data, BOXES_MM["steps"])
    assert made == ready(data, BOXES_MM["steps"])
    assert opened(made).format == "JPEG"


@pytest.mark.parametrize("kind", FORMATS)
def test_whatever_is_let_through_is_made_ready(codes: Callable[[bytes], list[str]], kind: str) -> None:
    """Of files with changed bytes each is refused, and by ``ready`` alike, or printed; none falls over anything."""
    exif = Image.Exif()
    exif[0x0112] = 6
    exif.get_ifd(0x8825)[1] = "N"
    data = encoded(noise((64, 48)), kind, exif=exif, icc_profile=WIDE)
    chance = random.Random(kind)  # noqa: S311
    verdicts = set()
    for _ in range(150):
        changed = bytearray(data)
        for _ in range(chance.choice((1, 3))):
            changed[chance.randrange(min(len(data), chance.choice((100, 900, len(data)))))] = chance.randrange(256)
        found = set(codes(bytes(changed))) - {"photo-coarse"}
        verdicts |= found or {"printed"}
        if found:
            with pytest.raises(Refused):
                ready(bytes(changed), BOX)
        else:
            assert opened(ready(bytes(changed), BOX)).format == "JPEG"
    assert {"printed", "photo-unreadable"} <= verdicts


def test_a_damaged_note_of_the_camera_spoils_no_picture(codes: Callable[[bytes], list[str]]) -> None:
    """Exif that cannot be read is as none: the picture is printed as it lies."""
    data = encoded(quarters().resize((600, 400)), "JPEG", exif=b"Exif\0\0II*\0\xff\xff\xff\xff nothing of the kind")
    assert codes(data) == []
    assert opened(ready(data, BOX)).size == (600, 400)
