"""A stitch without code: the example of README.md works everywhere."""

import json
import re
from pathlib import Path

import pypdfium2 as pdfium
import pytest
from babel.messages.pofile import read_po
from click.testing import CliRunner, Result

from pipeline import cli
from pipeline.craft.stitches import knot
from pipeline.craft.thread import bundle
from pipeline.files import check_file, symbols_of
from pipeline.language.extraction import symbol_entries
from pipeline.language.merging import po_bytes
from pipeline.notation import write
from pipeline.symbol_model import TakeUp
from pipeline.workspace import Workspace

ROOT = Path(__file__).parent.parent
PATTERN = """\
spokeleaf: 1
id: star-trial
title: Star Trial
language: en
level: 1
edition: {number: 1, date: 2026-11-25}
loom: {shape: circle, diameter: 80 mm, pins: 24}
threads:
  A: {fibre: cotton, tex: 40, colour: "#1b4f72", colour_name: blue}
rounds:
  - darn: {}
  - star-tie: {rays: 6}
    at: 16 mm
  - edge-loops: {}
"""


def example() -> str:
    """The symbol file that README.md shows."""
    blocks = re.findall(r"```yaml\n(.*?)```", (ROOT / "README.md").read_text(encoding="utf-8"), re.DOTALL)
    (found,) = [block for block in blocks if block.startswith("stitch: star-tie")]
    return str(found)


@pytest.fixture
def workspace(tmp_path: Path) -> Path:
    """A workspace with that stitch and a pattern that uses it."""
    (tmp_path / "patterns").mkdir()
    (tmp_path / "symbols").mkdir()
    (tmp_path / "symbols" / "star-tie.yaml").write_text(example())
    (tmp_path / "patterns" / "star-trial.yaml").write_text(PATTERN)
    return tmp_path


def run(*arguments: str | Path) -> Result:
    return CliRunner().invoke(cli.main, [str(argument) for argument in arguments])


def test_it_is_reckoned_by_its_own_take_up(workspace: Path) -> None:
    """Eight groups and a closing tie: each two turns round six rays and four thicknesses, as its file says."""
    lace = check_file(workspace / "patterns" / "star-trial.yaml").lace
    assert lace
    done = lace.rounds[1]
    thread_mm = lace.threads["A"].thickness
    chords = 8 * 2 * 16 * 0.3826834323650898  # sin 22.5°
    tie = knot(bundle(thread_mm, 6), thread_mm, TakeUp.model_construct(turns=2.0, thicknesses=4.0))
    assert done.worked.net == pytest.approx(chords + 9 * tie)
    assert write(lace)[1].spelled.startswith("2 [star-tie] 6 × 8 [gap]")


def test_a_list_of_its_own_is_kept_in_every_size(workspace: Path) -> None:
    """Sizes that are no groups of rays: they divide nothing, and are what they were on another loom."""
    parameter = '  beads: {kind: sizes, about: "Beads to a tie."}\n'
    (workspace / "symbols" / "star-tie.yaml").write_text(example().replace("take_up:", f"{parameter}take_up:", 1))
    text = PATTERN.replace("{rays: 6}", "{rays: 6, beads: [3, {pass: 2}]}")
    sizes = "sizes:\n  - {name: S, loom: {diameter: 90 mm, pins: 36}}\n"
    (workspace / "patterns" / "star-trial.yaml").write_text(text + sizes)
    found = check_file(workspace / "patterns" / "star-trial.yaml")
    assert found.ok, found.problems
    assert run("adapt", workspace / "patterns" / "star-trial.yaml", "--pins", "36").exit_code == 0
    assert "beads: [3, {pass: 2}]" in (workspace / "patterns" / "star-trial-36.yaml").read_text(encoding="utf-8")


def test_it_stands_in_the_leaflet_and_its_key(workspace: Path) -> None:
    """Its name, its short form and its sentences are on the pages."""
    result = run("leaflet", workspace / "patterns" / "star-trial.yaml", "--locale", "en", "--out", workspace)
    assert result.exit_code == 0, result.output
    pages = pdfium.PdfDocument(workspace / "star-trial.en.a4.pdf")
    text = " ".join(page.get_textpage().get_text_range() for page in pages)
    for words in ("Star tie", "Take 6 rays into each tie.", "Make 8 ties.", "xt"):
        assert words in text
    assert run("chart", workspace / "patterns" / "star-trial.yaml", "--out", workspace).exit_code == 0


def test_its_texts_can_be_translated(workspace: Path) -> None:
    """A workspace's catalogue holds the texts of its own symbols, and none of the program's."""
    (workspace / "locales" / "es").mkdir(parents=True)
    (workspace / "locales" / "es" / "locale.yaml").write_text("locale: es\nstatus: draft\n")
    result = run("locale", "update", workspace)
    assert result.exit_code == 0, result.output
    file = workspace / "locales" / "es" / "LC_MESSAGES" / "spokeleaf.po"
    with file.open("rb") as stream:
        catalog = read_po(stream, "es")
    contexts = {message.context for message in catalog if message.id}
    assert contexts == {"star-tie: name", "star-tie: short", "star-tie: do", "star-tie: step"}
    file.write_text(file.read_text().replace('msgid "Star tie"\nmsgstr ""', 'msgid "Star tie"\nmsgstr "Nudo estrella"'))
    result = run("leaflet", workspace / "patterns" / "star-trial.yaml", "--locale", "es", "--out", workspace)
    assert result.exit_code == 0, result.output
    pages = pdfium.PdfDocument(workspace / "star-trial.es.a4.pdf")
    assert "Nudo estrella" in " ".join(page.get_textpage().get_text_range() for page in pages)


def test_its_missing_translation_is_told(workspace: Path) -> None:
    """With every text of the pattern translated those of the stitch are counted, until their own catalogue has them."""
    assert run("locale", "add", "es", workspace).exit_code == 0
    catalogues = workspace / "locales" / "es" / "LC_MESSAGES"
    pattern = workspace / "patterns" / "star-trial.yaml"

    def leaflet(tag: str, *more: str) -> str:
        made = run("leaflet", pattern, "--locale", tag, "--out", workspace, *more)
        assert made.exit_code == 0, made.output
        return " ".join(made.output.split())

    def translate(name: str) -> int:
        with (catalogues / name).open("rb") as stream:
            catalog = read_po(stream, "es")
        for message in catalog:
            if message.id:
                message.string = message.id
        (catalogues / name).write_bytes(po_bytes(catalog))
        return len(catalog)

    translate("patterns.po")
    texts = len(list(symbol_entries(symbols_of(Workspace(workspace)), {"star-tie"})))
    for form in ((), ("--html",)):
        said = leaflet("es", *form)
        assert f"note[text-untranslated]: without translation into `es` and printed as written: {texts} of" in said
        assert "spokeleaf.po" in said
        assert "text-untranslated" not in leaflet("en", *form)
    assert translate("spokeleaf.po") == texts
    assert "text-untranslated" not in leaflet("es")


def test_one_that_is_not_on_the_pages_is_not_missed(workspace: Path) -> None:
    """A leaflet without the stitch says nothing of its texts; of a sign that is a tool it has two: name and use."""
    sign = (
        (ROOT / "symbols" / "scissors.yaml").read_text(encoding="utf-8").replace("sign: scissors", "sign: quay-snips")
    )
    for name in ("name: Small scissors", "short: sci"):
        assert name in sign
        sign = sign.replace(name, f"{name} of the quay")
    (workspace / "symbols" / "quay-snips.yaml").write_text(sign, encoding="utf-8")
    pattern = workspace / "patterns" / "star-trial.yaml"
    text = PATTERN.replace("language: en", "language: es").replace("  - star-tie: {rays: 6}\n    at: 16 mm\n", "")
    for more, told in (("", []), ("tools: [quay-snips]\n", ["2"])):
        pattern.write_text(text + more)
        said = run("leaflet", pattern, "--locale", "es", "--out", workspace)
        assert said.exit_code == 0, said.output
        assert re.findall(r"printed as written: (\d+) of", " ".join(said.output.split())) == told


def test_it_is_told_from_every_shipped_glyph(workspace: Path) -> None:
    """The example passes the measure it is documented with."""
    result = run("symbols", workspace, "--check")
    assert result.exit_code == 0, result.output


@pytest.mark.parametrize(
    ("old", "new", "code"),
    [
        ("stitch: star-tie", "stitch: knot", "symbol-shipped"),
        ("stitch: star-tie", "stitch: gap", "symbol-reserved"),
        ("  shift: {kind: shift", "  shove: {kind: shift", "parameter-missing"),
        ("behaviour: gather", "behaviour: edge", "edge-rays"),
        ("behaviour: gather", "behaviour: twist", "not-one-of"),
        ("role: work", "role: wool", "not-one-of"),
        ('d: "M4 22 L20 2"', 'd: "M4 22 Q20 2"', "text-shape"),
    ],
)
def test_slips_are_located_in_its_file(workspace: Path, old: str, new: str, code: str) -> None:
    """A shipped or reserved id, a parameter its behaviour needs, a behaviour nobody knows, a path that is none."""
    file = workspace / "symbols" / "star-tie.yaml"
    file.write_text(example().replace(old, new, 1))
    (found,) = json.loads(run("check", "--json", workspace / "patterns" / "star-trial.yaml").output)
    assert not found["ok"]
    problem = next(problem for problem in found["problems"] if problem["code"] == code)
    assert problem["file"] == str(file)
    assert problem["line"] >= 1


def test_a_shipped_stitch_is_replaced_where_that_is_said(workspace: Path) -> None:
    """With `replaces: true` a workspace's own takes the place of the shipped one."""
    own = example().replace("stitch: star-tie", "stitch: knot\nreplaces: true")
    (workspace / "symbols" / "star-tie.yaml").rename(workspace / "symbols" / "knot.yaml").write_text(own)
    pattern = workspace / "patterns" / "star-trial.yaml"
    pattern.write_text(PATTERN.replace("star-tie: {rays: 6}", "knot: {}"))
    checked = check_file(pattern)
    assert checked.lace
    assert checked.lace.rounds[1].stitch.take_up.turns == 2
    assert len(checked.lace.rounds[1].worked.nodes) == 12
