"""Fonts: what is there, what can be written, and what is refused."""

import shutil
from pathlib import Path

import pytest

from pipeline.language.catalogue import read_catalog
from pipeline.language.fonts import FACES, PLACES, Face, FontsMissing, covered, find_fonts, font_files, fonts_of
from pipeline.language.locales import LocaleInfo, load_locales
from pipeline.workspace import shipped

LOCALES = load_locales([shipped("locales")])


@pytest.mark.parametrize("tag", sorted(LOCALES))
def test_a_locale_s_fonts_write_all_its_texts(tag: str) -> None:
    """Every character of every translation has a shape: no page with empty boxes."""
    fonts = fonts_of(LOCALES[tag], ())
    for file in sorted((shipped("locales") / LOCALES[tag].folder).glob("LC_MESSAGES/*.po")):
        for message in read_catalog(file, LOCALES[tag].folder):
            forms = message.string if isinstance(message.string, list | tuple) else [message.string]
            assert fonts.missing("".join(str(form) for form in forms if message.id)) == "", message.id


@pytest.mark.parametrize("script", sorted(FACES))
def test_every_script_writes_figures_and_signs(script: str) -> None:
    """Digits, the multiplication sign, fractions and the middle dot are on every page."""
    fonts = find_fonts(script, ())
    assert fonts.missing("0123456789 × · / + ( ) – ½") == ""
    assert fonts.families[0] == find_fonts("Latn", ()).families[0]


def test_a_missing_character_is_found_and_named() -> None:
    """The Latin faces have no kana; letters that have no shape of their own are no loss."""
    fonts = find_fonts("Latn", ())
    assert fonts.missing("frost 霜 kōri あ\u2068\u2069\u200f") == "あ霜"
    assert find_fonts("Jpan", ()).missing("frost 霜 あ") == ""


@pytest.mark.parametrize("data", [b"", b"no font", b"\x00\x01\x00\x00" + b"\xff" * 400])
def test_a_damaged_font_is_missing(tmp_path: Path, data: bytes) -> None:
    """A file of the right name that can write nothing: said as if it were not there."""
    (tmp_path / "Damaged.ttf").write_bytes(data)
    with pytest.raises(FontsMissing) as caught:
        find_fonts("Latn", (tmp_path,), (Face("Leaf Own", "Damaged.ttf", "own-font"),))
    assert caught.value.packages == ("own-font",)


def test_a_script_without_a_face_is_refused() -> None:
    """ISO 15924 code of a script nobody has named a font for (Runic)."""
    with pytest.raises(FontsMissing) as caught:
        find_fonts("Runr", ())
    assert caught.value.script == "Runr"
    assert caught.value.packages == ()


@pytest.mark.parametrize(
    ("tag", "text", "file"),
    [
        ("ka", "მაქმანი", "NotoSansGeorgian-Regular.ttf"),
        ("hy", "ժանյակ", "NotoSansArmenian-Regular.ttf"),
        ("th", "ลูกไม้", "NotoSansThai-Regular.ttf"),
    ],
)
def test_a_script_beside_the_table_is_found_by_its_name(tag: str, text: str, file: str) -> None:
    """Noto names its files by the English name of the script (CLDR, scripts): no code for Georgian, Armenian or Thai."""
    fonts = fonts_of(LocaleInfo(tag, "draft"), ())
    assert LocaleInfo(tag, "draft").script not in FACES
    assert fonts.missing(f"{text} 0123456789 × · ½") == ""
    assert file in {found.path.name for found in fonts.files}
    assert fonts.has_bold


def test_a_locale_s_own_fonts_write_it(tmp_path: Path) -> None:
    """Files that its ``locale.yaml`` names, from the workspace, beside the Latin ones; one that is not there is named."""
    shutil.copy(font_files(PLACES)["NotoSansArmenian-Regular.ttf"], tmp_path / "Own-Regular.ttf")
    file = tmp_path / "hy" / "locale.yaml"
    file.parent.mkdir()
    file.write_text("locale: hy\nstatus: draft\nfonts: [{file: Own-Regular.ttf}]\n", encoding="utf-8")
    fonts = fonts_of(load_locales([tmp_path])["hy"], [tmp_path])
    assert fonts.missing("ժանյակ 12 mm") == ""
    assert not fonts.has_bold
    shutil.copy(tmp_path / "Own-Regular.ttf", tmp_path / "Own-Bold.ttf")
    text = file.read_text(encoding="utf-8").replace("}]", "}, {file: Own-Bold.ttf, bold: true, package: fonts-own}]")
    file.write_text(text, encoding="utf-8")
    font_files.cache_clear()
    assert fonts_of(load_locales([tmp_path])["hy"], [tmp_path]).has_bold
    with pytest.raises(FontsMissing) as caught:
        fonts_of(load_locales([tmp_path])["hy"], ())
    assert caught.value.packages == ("Own-Regular.ttf", "fonts-own")


def test_a_script_whose_files_are_not_installed_names_the_package(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """Debian holds IPAexGothic in fonts-ipaexfont-gothic and Noto in fonts-noto-core (packages.debian.org)."""
    monkeypatch.setattr("pipeline.language.fonts.PLACES", ())
    with pytest.raises(FontsMissing) as caught:
        find_fonts("Jpan", [tmp_path])
    assert caught.value.packages == ("fonts-ipaexfont-gothic", "fonts-noto-core")


def test_a_workspace_s_own_fonts_come_first(tmp_path: Path) -> None:
    """A file of the same name in ``fonts/`` takes the place of the machine's."""
    place = font_files(PLACES)["NotoSans-Regular.ttf"]
    own = tmp_path / "fonts" / "NotoSans-Regular.ttf"
    own.parent.mkdir()
    shutil.copy(place, own)
    regular, bold, *_ = find_fonts("Latn", [own.parent]).files
    assert regular.path == own
    assert bold.path != own
    assert bold.path.name == "NotoSans-Bold.ttf"


@pytest.mark.parametrize("script", sorted(FACES))
def test_fonts_are_static_truetype(script: str) -> None:
    """OpenType 1.9: version 0x00010000 or ``true``, no ``fvar`` table, outlines in ``glyf``."""
    for file in find_fonts(script, ()).files:
        head = file.path.read_bytes()[:4096]
        tables = {head[12 + 16 * n : 16 + 16 * n] for n in range(int.from_bytes(head[4:6], "big"))}
        assert head[:4] in {b"\x00\x01\x00\x00", b"true"}, file.path.name
        assert b"glyf" in tables
        assert b"fvar" not in tables


def test_bold_is_only_claimed_where_the_script_has_it() -> None:
    """IPAexGothic has one weight; Noto Sans and Noto Sans Arabic have two."""
    assert [find_fonts(script, ()).has_bold for script in ("Latn", "Arab", "Jpan")] == [True, True, False]


@pytest.mark.parametrize("script", ["Latn", "Arab"])
def test_bold_and_title_faces_write_what_regular_writes(script: str) -> None:
    """A heading can be set in whatever running text can: the weights of a family cover the same characters."""
    files = find_fonts(script, ()).files
    for file in files:
        if file.face.weight == 700:
            regular = next(f for f in files if f.face.family == file.face.family and f.face.weight == 400)
            assert covered(file.path) >= covered(regular.path)
