"""Every reader of the program as a function of bytes, and the law that holds for each of them.

A reader is given bytes as a file of its kind would hold them and a folder of its own; it gives the problems it found.
``broken`` says how an input breaks the law: what is raised that no caller expects, problems without a place or words,
more time or memory than one file may take. What a reader is documented to raise is caught here, as its callers do.
"""

import json
import re
import resource
import signal
import time
import traceback
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from types import FrameType
from urllib.parse import parse_qs

import pipeline.language.fonts
from pipeline.catalogue.ledger import Entry, Ledger, read_hash
from pipeline.catalogue.pictures import Pictures
from pipeline.catalogue.shelf import BrokenShelf, load_shelf
from pipeline.craft.check import Checked, check
from pipeline.files import symbols_of
from pipeline.language.catalogue import BrokenCatalogue, load_catalogues, read_catalog
from pipeline.language.checking import Bench, catalogue_faults, short_form_faults
from pipeline.language.extraction import Entry as Message
from pipeline.language.fonts import Face, FontsMissing, find_fonts, fonts_of
from pipeline.language.glossary import Glossary, load_glossary, things_in
from pipeline.language.locales import BrokenLocale, LocaleInfo, load_locales
from pipeline.language.merging import merge, po_bytes, template
from pipeline.looms import load as load_looms
from pipeline.notation import Figure, Sign, Token, read, write
from pipeline.photos import BOXES_MM, photo_findings, ready
from pipeline.preview.choice import Refused, choice_of
from pipeline.problems import RULES, Problem, as_json, render
from pipeline.records import Photo
from pipeline.schema import schema_text
from pipeline.source import Unreadable, failed
from pipeline.source import read as source_of
from pipeline.symbol_model import Stitch
from pipeline.symbols import Broken, SymbolSet
from pipeline.symbols import parse as parse_symbol
from pipeline.units import UnitError, parse_count, parse_length
from pipeline.workspace import Workspace

SECONDS = 2.0
"""Processor time one input may take."""
MEMORY_MIB = 300
"""Memory one input may take beside what was there before it."""
DE = LocaleInfo("de", "draft")
ENTRIES = (
    Message("knot: name", "Knot", None, "", "a"),
    Message("facts", "{count} ray", "{count} rays", "", "a"),
    Message("first-frost", "First Frost", None, "Title of the pattern.", "a"),
    Message("knot: short", "kn", None, "", "a"),
)
"""Messages that catalogues are held against."""
USES = """\
spokeleaf: 1
id: trial
title: Trial
language: en
level: 1
edition: {{number: 1, date: 2026-03-14}}
loom: {loom}
threads: {{A: {{fibre: cotton, tex: 40, colour: "#1b4f72", colour_name: blue}}}}
rounds:
  - darn: {{}}
{rounds}"""
CIRCLE = "{shape: circle, diameter: 80 mm, pins: 24}"

Reader = Callable[[bytes, Path], Iterator[Problem]]


def _checked(data: bytes, symbols: SymbolSet, folder: Path) -> Checked:
    """A file as ``check`` takes it, its figures written out; without errors it has notation that can be read."""
    checked = check("trial.yaml", data, "trial", symbols, load_looms(folder))
    json.dumps(checked.as_json(), allow_nan=False)
    if checked.pattern and checked.lace and checked.ok:
        lines = [line.tokens for line in write(checked.lace)]
        read(lines, symbols, {letter: thread.thickness for letter, thread in checked.lace.threads.items()})
    return checked


def pattern(data: bytes, folder: Path) -> Iterator[Problem]:
    """A pattern, or any file of a workspace that ``check`` is given."""
    checked = _checked(data, symbols_of(Workspace(None)), folder)
    yield from checked.problems
    if checked.source and next(iter(checked.source.tree), "") == "spokeleaf":
        assert checked.lace or not checked.ok, "neither a lace nor an error"


def symbol(data: bytes, folder: Path) -> Iterator[Problem]:
    """A symbol of a workspace; where it is a sound stitch, a pattern that works it, and what editors are told."""
    try:
        found = parse_symbol(source_of("trial.yaml", data))
    except (Unreadable, Broken) as error:
        yield from error.problems
        return
    # ``load`` lets no stitch have the id of a sign.
    if isinstance(found, Stitch) and found.id not in symbols_of(Workspace(None)).signs:
        yield from _worked(found, folder)


def _worked(stitch: Stitch, folder: Path) -> Iterator[Problem]:
    """A pattern that works a stitch."""
    shipped = symbols_of(Workspace(None))
    symbols = SymbolSet({"darn": shipped.stitches["darn"], stitch.id: stitch}, shipped.signs, frozenset({stitch.id}))
    told = {name: "4" for name, form in stitch.parameters.items() if form.required}
    told |= {name: "3 mm" for name, form in stitch.parameters.items() if form.required and form.kind == "length"}
    flow = ", ".join(f"{json.dumps(name)}: {value}" for name, value in told.items())
    where = {"required": ", at: 20 mm", "optional": "", "none": ""}[stitch.distance]
    reach = ", to: 30 mm" if stitch.behaviour in {"coil", "block"} else ""
    text = USES.format(loom=CIRCLE, rounds=f"  - {{{json.dumps(stitch.id)}: {{{flow}}}{where}{reach}}}\n")
    yield from _checked(text.encode(), symbols, folder).problems
    schema_text("pattern", symbols)


def loom(data: bytes, folder: Path) -> Iterator[Problem]:
    """A loom by itself, and a pattern that names it."""
    (folder / "trial.yaml").write_bytes(data)
    symbols = symbols_of(Workspace(None))
    yield from check("trial.yaml", data, "trial", symbols, {}).problems
    text = USES.format(loom="trial", rounds="  - knot: {rays: 4}\n    at: 15 mm\n")
    yield from _checked(text.encode(), symbols, folder).problems


def publisher(data: bytes, folder: Path) -> Iterator[Problem]:
    """A publisher's file, as leaflets take it."""
    (folder / "patterns").mkdir(exist_ok=True)
    (folder / "patterns" / "publisher.yaml").write_bytes(data)
    try:
        load_shelf(Workspace(folder))
    except BrokenShelf as error:
        yield from error.problems


def logo(data: bytes, folder: Path) -> Iterator[Problem]:
    """A publisher's logo in SVG."""
    (folder / "patterns").mkdir(exist_ok=True)
    (folder / "patterns" / "logo.svg").write_bytes(data)
    yield from publisher(b"publisher: Quay\nlogo: logo.svg\n", folder)


def photo(data: bytes, folder: Path) -> Iterator[Problem]:
    """A photograph: what has no error is made ready for print."""
    (folder / "photo.jpg").write_bytes(data)
    named = Photo.model_validate({"file": "photo.jpg", "alt": "A wheel", "place": "steps"})
    problems = [failed("trial.yaml", found.code, **found.facts) for found in photo_findings([named], folder)]
    yield from problems
    if all(problem.severity != "error" for problem in problems):
        ready(data, BOXES_MM["steps"])


def locale(data: bytes, folder: Path) -> Iterator[Problem]:
    """A ``locale.yaml``; everything that is asked of a locale is known of a sound one."""
    (folder / "de").mkdir(exist_ok=True)
    (folder / "de" / "locale.yaml").write_bytes(data)
    try:
        for info in load_locales((folder,)).values():
            assert all((info.paper, info.units, info.digits, info.script, info.direction, info.fallbacks))
    except BrokenLocale as error:
        yield from error.problems


def glossary(data: bytes, folder: Path) -> Iterator[Problem]:
    """A ``glossary.yaml``."""
    (folder / "de").mkdir(exist_ok=True)
    (folder / "de" / "glossary.yaml").write_bytes(data)
    try:
        list(things_in(load_glossary((folder,), DE), "A knot of {count} rays"))
    except BrokenLocale as error:
        yield from error.problems


def catalogue(data: bytes, folder: Path) -> Iterator[Problem]:
    """A PO file: read, checked, brought up to a template, and asked for its texts."""
    (folder / "de" / "LC_MESSAGES").mkdir(parents=True, exist_ok=True)
    file = folder / "de" / "LC_MESSAGES" / "patterns.po"
    file.write_bytes(data)
    wanted, words = template(ENTRIES), Glossary({}, frozenset())
    try:
        catalog = read_catalog(file, "de")
        bench = Bench(DE, words, words, fonts_of(DE, ()))
        for fault in (*catalogue_faults(catalog, wanted, bench), *short_form_faults(catalog, bench)):
            yield failed(str(file), fault.code, **fault.facts)
        po_bytes(merge(wanted, file, DE))
        texts = load_catalogues((folder,), DE, "patterns")
    except BrokenCatalogue as error:
        yield from error.problems
        return
    texts.pgettext("knot: name", "Knot")
    for count in (0, 1, 2, 5, 21, 1000):
        texts.npgettext("facts", "{count} ray", "{count} rays", count)


def font(data: bytes, folder: Path) -> Iterator[Problem]:
    """A font of a workspace: one that is damaged is told of, or writes what it can."""
    (folder / "Own.ttf").write_bytes(data)
    pipeline.language.fonts.covered.cache_clear()
    pipeline.language.fonts.font_files.cache_clear()
    try:
        find_fonts("Latn", (folder,), (Face("Leaf Own", "Own.ttf", "own"),)).missing("Knot")
    except FontsMissing as error:
        yield failed("Own.ttf", "script-without-font", script=error.script, package=" ".join(error.packages))


def notation(data: bytes, _: Path) -> Iterator[Problem]:
    """Lines of notation: a line of text for each round, tokens set apart by tabs, glyphs in square brackets."""
    lines = [list(_tokens(line)) for line in data.decode("utf-8", "replace").split("\n")]
    try:
        read(lines, symbols_of(Workspace(None)), {"A": 0.24, "B": 0.3})
    except ValueError:
        yield from ()


def _tokens(line: str) -> Iterator[Token]:
    for word in line.split("\t"):
        role, colon, text = word.partition(":")
        yield Sign(word.strip("[]")) if word.startswith("[") else Figure(text, role) if colon else Figure(word)


def length(data: bytes, _: Path) -> Iterator[Problem]:
    """A length, and a thread count, as arguments are written."""
    text = data.decode("utf-8", "replace")
    try:
        parse_length(text)
    except UnitError as error:
        yield failed("trial.yaml", error.code, **error.facts)
    try:
        assert parse_count(text) > 0
    except ValueError:
        yield from ()


def query(data: bytes, _: Path) -> Iterator[Problem]:
    """What the preview is asked for."""
    with suppress(Refused):
        choice_of(parse_qs(data.decode("utf-8", "replace")), ("first-frost", "low-sun"), ("en", "de"))
    yield from ()


def ledger(data: bytes, folder: Path) -> Iterator[Problem]:
    """The ledger of a catalogue: what is damaged is begun anew, and everything works as with a new one."""
    for file in folder.glob("ledger*"):
        file.unlink()
    (folder / "ledger").write_bytes(data)
    (folder / "leaflet.pdf").write_bytes(b"leaflet")
    with Ledger(folder / "ledger") as found:
        for name in found.kept():
            found.asked(name)
            found.still(name, "other")
            found.touched(name, folder / "leaflet.pdf")
        found.hash_of(folder / "leaflet.pdf")
        digest = read_hash(folder / "leaflet.pdf")
        entry = Entry(("symbol:knot",), "1", "2", (("patterns", "a", "b"),), "3", digest)
        found.put("new", entry, folder / "leaflet.pdf")
        assert found.kept()["new"].hash == "1"
        assert found.asked("new") == [("patterns", "a", "b")]
    yield from ()


def pictures(data: bytes, folder: Path) -> Iterator[Problem]:
    """Pictures kept from run to run: a file is a whole set, or none."""
    (folder / "ab").mkdir(exist_ok=True)
    (folder / "ab" / "cdef").write_bytes(data)
    Pictures(folder).load("abcdef")
    yield from ()


READERS: Mapping[str, Reader] = {
    reader.__name__: reader
    for reader in (
        pattern, symbol, loom, publisher, logo, photo, locale, glossary, catalogue, font, notation, length, query,
        ledger, pictures,
    )
}  # fmt: skip


class TooSlow(BaseException):
    """An input takes more time than it may; no reader catches it."""


@dataclass(frozen=True, slots=True)
class Told:
    """What came of one input: how many problems, seconds of processor time, MiB, and how the law was broken, if so."""

    problems: int
    seconds: float
    mib: float
    broken: str = ""


def told(name: str, data: bytes, folder: Path) -> Told:
    """Give one input to a reader, and hold what comes of it to the law."""
    problems: list[Problem] = []
    before, began, broken = memory_mib(), time.process_time(), ""
    try:
        with _limited():
            problems += READERS[name](data, folder)
        for problem in problems:
            _hold(problem)
    except (Exception, TooSlow):  # noqa: BLE001  # whatever is raised, it is what was looked for
        broken = traceback.format_exc()
    seconds, mib = time.process_time() - began, memory_mib(peak=True) - before
    if not broken and mib > MEMORY_MIB:
        broken = f"it took {mib:.0f} MiB"
    return Told(len(problems), seconds, mib, broken)


def _hold(problem: Problem) -> None:
    """A problem has its place and its words, and can be printed."""
    assert problem.code in RULES
    assert problem.file
    assert min(problem.span.line, problem.span.column, problem.span.length) >= 1
    assert problem.message.strip()
    render(problem).encode()
    json.dumps(as_json(problem)).encode()


@contextmanager
def _limited() -> Iterator[None]:
    """Time that is counted while this process works, so that a busy machine is no excuse and no fault."""

    def stop(_number: int, _frame: FrameType | None) -> None:
        raise TooSlow(f"more than {SECONDS:g} s")

    before = signal.signal(signal.SIGPROF, stop)
    signal.setitimer(signal.ITIMER_PROF, SECONDS)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
        signal.signal(signal.SIGPROF, before)


def memory_mib(*, peak: bool = False) -> float:
    """Memory of this process as the kernel counts it (proc_pid_status(5)).

    Now, and from now on its peak anew; or the peak since it was asked last.
    """
    if not peak:
        Path("/proc/self/clear_refs").write_text("5")
    status = Path("/proc/self/status").read_text()
    found = re.search(rf"{'VmHWM' if peak else 'VmRSS'}:\s+(\d+) kB", status)
    assert found
    return int(found[1]) / 1024


def limit_memory(more_mib: int) -> None:
    """From now on no more than this beside what is mapped: a stop for what would take the machine down."""
    found = re.search(r"VmSize:\s+(\d+) kB", Path("/proc/self/status").read_text())
    assert found
    most = (int(found[1]) + more_mib * 1024) * 1024
    resource.setrlimit(resource.RLIMIT_AS, (most, resource.RLIM_INFINITY))
