"""Looms as things of their own: ``patterns/looms/<id>.yaml``, referred to by name from patterns.

A loom file says what a loom is once for every pattern that is worked on it: its rings of holes, the ring that
carries the web, what holds the web there, how thick it is.
"""

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Annotated

from pydantic import Field, ValidationError
from typing_extensions import override

from pipeline.fields import Id, Millimetres, Record, Text, choice, findings_of, missing_values
from pipeline.pattern import Looms, measure_findings, pin_findings
from pipeline.problems import RULES, Finding, Problem, Severity, in_order
from pipeline.records import MEASURES, NamedLoom, Ring
from pipeline.source import LARGEST_BYTES, Source, Unreadable, read
from pipeline.workspace import contents


class LoomFile(Record):
    """A loom as written."""

    loom: Id = Field(description="The loom's name for programs; the file is called <id>.yaml.", examples=["quay-card"])
    name: Text = Field(description="Its name for people.", examples=["Stiff card with two rings of holes"])
    shape: Annotated[str, choice(*MEASURES)] = Field(description="Its outline.", examples=["circle"])
    hold: Annotated[str, choice("pin", "notch", "thread")] = Field(
        "thread",
        description="What holds the web at the rim: a pin, a notch, or a loop of holding thread.",
        examples=["notch"],
    )
    thickness: Millimetres | None = Field(None, description="How thick its board is.", examples=["2 mm"])
    rings: Annotated[tuple[Ring, ...], Field(min_length=1, max_length=20)] = Field(
        description="Its rings of holes, each with the measures of the shape; one carries the web.",
        examples=[[{"diameter": "60 mm", "holes": 48, "web": True}, {"diameter": "66 mm", "holes": 48}]],
    )

    @property
    def named(self) -> NamedLoom:
        """The loom that patterns see: the size and the pins of the ring that carries the web."""
        web = next(ring for ring in self.rings if ring.web)
        return NamedLoom.model_construct(
            shape=self.shape, hold=self.hold, pins=web.holes, diameter=web.diameter, width=web.width,
            height=web.height, side=web.side, name=self.name, thickness=self.thickness, rings=self.rings,
        )  # fmt: skip


def parse(source: Source, stem: str | None) -> tuple[LoomFile | None, tuple[Problem, ...]]:
    """The loom in a source, and what is wrong with it; ``stem`` is the name the file should have by its id, if any."""
    findings: list[Finding] = []
    loom = None
    try:
        loom = LoomFile.model_validate(source.tree)
        findings += missing_values(source.tree)
    except ValidationError as error:
        findings += findings_of(error, source.tree, LoomFile)
    findings += _ring_findings(source.tree)
    if stem is not None and isinstance(source.tree.get("loom"), str) and source.tree["loom"] != stem:
        findings.append(Finding("id-not-file-name", ("loom",), {"id": source.tree["loom"]}))
    if loom:
        carrying = [ring for ring in loom.rings if ring.web]
        if len(carrying) != 1:
            findings.append(Finding("web-ring-missing", ("rings",), {"count": len(carrying)}))
        else:
            path = ("rings", loom.rings.index(carrying[0]), "holes")
            findings += pin_findings(loom.shape, carrying[0].holes, path)
    problems = in_order(source.problems + source.locate(findings))
    broken = any(RULES[problem.code].severity is Severity.ERROR for problem in problems)
    return None if broken else loom, problems


def load(folder: Path) -> Looms:
    """Every loom of a folder by the name of its file; None where a file cannot be used."""
    return _Folder(folder)


class _Folder(Mapping[str, NamedLoom | None]):
    """Looms of a folder, each read when it is asked for: most patterns name none."""

    def __init__(self, folder: Path) -> None:
        self._files = {file.stem: file for file in sorted(folder.glob("*.yaml"))}
        self._read: dict[str, NamedLoom | None] = {}

    @override
    def __getitem__(self, name: str) -> NamedLoom | None:
        if name not in self._read:
            self._read[name] = _loom_in(self._files[name])
        return self._read[name]

    @override
    def __iter__(self) -> Iterator[str]:
        return iter(self._files)

    @override
    def __len__(self) -> int:
        return len(self._files)


def _loom_in(file: Path) -> NamedLoom | None:
    try:
        loom, _ = parse(read(str(file), contents(file, LARGEST_BYTES)), file.stem)
    except (Unreadable, OSError):
        return None
    return loom.named if loom else None


def _ring_findings(tree: Mapping[str, object]) -> Iterator[Finding]:
    shape, rings = tree.get("shape"), tree.get("rings")
    if isinstance(shape, str) and shape in MEASURES:
        for index, ring in enumerate(rings if isinstance(rings, list) else []):
            if isinstance(ring, dict):
                yield from measure_findings(ring, shape, ("rings", index))
