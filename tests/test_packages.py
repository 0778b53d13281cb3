"""What is installed is locked, by version and by hash, and its licences are told."""

import re
import tomllib
from collections.abc import Iterable, Mapping
from importlib.metadata import Distribution, distributions
from itertools import chain
from pathlib import Path

import pytest
from fontTools.ttLib import TTFont
from packaging.markers import Marker
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

from pipeline.language.fonts import FACES, PLACES, TITLE

ROOT = Path(__file__).resolve().parent.parent
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
LOCKS = {"program": ROOT / "build" / "requirements.lock", "checker": ROOT / "build" / "requirements-outloud.lock"}
LICENCES = ROOT / "build" / "licences.md"
PLACES_OF_PACKAGES = {
    "program": None,
    "checker": next((ROOT / ".venv-outloud").glob("lib/python*/site-packages"), Path("/nowhere")),
}
LOCKED = re.compile(
    r"^(?P<name>[\w.-]+)==(?P<version>\S+)(?: ; (?P<marker>.+?))? \\\n"
    r"(?P<hashes>(?:    --hash=sha256:[0-9a-f]{64}(?: \\)?\n)+)"
    r"(?P<via>(?:    #.*\n)+)",
    re.MULTILINE,
)
"""A package in a lock: what it is, the hashes of its files, and what asked for it."""
RESTRICTED, NO_SUBSETS, BITMAPS_ALONE = 0x0002, 0x0100, 0x0200
"""What a font may forbid (OpenType, ``OS/2``, ``fsType``)."""


def locked(lock: str) -> dict[str, re.Match[str]]:
    """The packages of a lock by name."""
    text = LOCKS[lock].read_text(encoding="utf-8")
    return {found["name"]: found for found in LOCKED.finditer(text)}


def installed(lock: str) -> dict[str, Distribution]:
    """What is installed in the environment of a lock, by name."""
    place = PLACES_OF_PACKAGES[lock]
    found = distributions(path=[str(place)]) if place else distributions()
    return {canonicalize_name(each.name): each for each in found}


def asked(lock: str) -> list[Requirement]:
    """What pyproject.toml asks to be in a lock."""
    if lock == "checker":
        return [Requirement(each) for each in PROJECT["dependency-groups"]["outloud"]]
    extras = PROJECT["project"]["optional-dependencies"]
    every = chain(PROJECT["project"]["dependencies"], PROJECT["build-system"]["requires"], *extras.values())
    return [each for each in map(Requirement, every) if each.name != "spokeleaf"]


@pytest.mark.parametrize("lock", LOCKS)
def test_a_lock_has_what_is_asked_for_and_hashes_of_all_it_has(lock: str) -> None:
    """Every requirement is met; every package has the hashes of its files; wheels alone; no address."""
    text, packages = LOCKS[lock].read_text(encoding="utf-8"), locked(lock)
    lines = {line.partition("==")[0] for line in text.splitlines() if re.match(r"[\w.-]+==", line)}
    assert set(packages) == lines
    assert "\n--only-binary :all:\n" in text
    assert "//" not in text
    for wanted in asked(lock):
        assert wanted.specifier.contains(packages[canonicalize_name(wanted.name)]["version"]), wanted


@pytest.mark.parametrize("lock", LOCKS)
def test_what_is_installed_is_what_is_locked(lock: str) -> None:
    """The very versions, and none of what the lock has for this Python is missing."""
    packages, here = locked(lock), installed(lock)
    for name, package in packages.items():
        if not package["marker"] or Marker(package["marker"]).evaluate():
            assert name in here, f"{name}: build/setup installs it"
            assert here[name].version == package["version"], name


def reached(roots: Iterable[str], packages: Mapping[str, re.Match[str]]) -> set[str]:
    """Packages and all that they brought into a lock."""
    found = {canonicalize_name(Requirement(root).name) for root in roots}
    while more := {name for name, each in packages.items() if found & set(each["via"].split())} - found:
        found |= more
    return found & set(packages)


def sections() -> dict[str, tuple[str, set[str]]]:
    """What stands under each heading: the lock, and packages of it that stand under none before."""
    packages, extras = locked("program"), PROJECT["project"]["optional-dependencies"]
    program = reached(PROJECT["project"]["dependencies"], packages)
    cluster = reached(extras["cluster"], packages) - program
    preview = reached(extras["preview"], packages) - program - cluster
    return {
        "With the program": ("program", program),
        "With the extra `cluster`": ("program", cluster),
        "With the extra `preview`": ("program", preview),
        "For tests and for building alone": ("program", set(packages) - program - cluster - preview),
        "For the checker of PDFs alone": ("checker", set(locked("checker"))),
    }


def licence_of(package: Distribution) -> str:
    """A licence as the package names it: an expression, else a line, else what it is classified as."""
    named = package.metadata.get("License-Expression") or package.metadata.get("License") or ""
    if named and "\n" not in named:
        return named
    classes = [each.split(" :: ")[-1] for each in package.metadata.get_all("Classifier", []) if "License ::" in each]
    return "; ".join(classes)


def told(heading: str) -> dict[str, str]:
    """The rows of the table under a heading."""
    text = LICENCES.read_text(encoding="utf-8").split(f"\n## {heading}\n")[1].split("\n## ")[0]
    rows = [line.strip("| ").split(" | ") for line in text.splitlines() if line.startswith("| ")][2:]
    return {row[0]: row[1] for row in rows}


@pytest.mark.parametrize("heading", sections())
def test_the_licence_of_every_locked_package_is_told(request: pytest.FixtureRequest, heading: str) -> None:
    """A package more or less, or another licence, is another table; what this Python does without keeps its row."""
    lock, names = sections()[heading]
    here, before = installed(lock), told(heading)
    now = {name: licence_of(here[name]) if name in here else before.get(name, "") for name in sorted(names)}
    if request.config.getoption("--update"):
        top, _, rest = LICENCES.read_text(encoding="utf-8").partition(f"\n## {heading}\n")
        rows = "".join(f"| {name} | {licence} |\n" for name, licence in now.items())
        after = rest.partition("\n## ")[2]
        table = f"\n## {heading}\n\n| package | licence |\n| --- | --- |\n{rows}\n## {after}"
        LICENCES.write_text(top + table, encoding="utf-8")
    assert all(now.values())
    assert told(heading) == now


def test_nothing_of_the_program_is_under_the_gpl_or_the_agpl_alone() -> None:
    """Where one of them is named, another licence can be chosen."""
    for heading in ("With the program", "With the extra `cluster`", "With the extra `preview`"):
        strict = {name: licence for name, licence in told(heading).items() if re.search(r"GPL|Affero", licence)}
        assert all("MPL" in licence for licence in strict.values()), strict


def test_the_licence_of_every_package_of_the_system_is_told() -> None:
    """What build/setup looks for; where Debian's own note of the terms is there, it has the licence."""
    setup = (ROOT / "build" / "setup").read_text(encoding="utf-8")
    needs = re.findall(r"^(?:library|font|command) +\S+ +(\S+)$", setup, re.MULTILINE)
    rows = told("Packages of the system")
    assert set(rows) == set(needs) >= {face.package for faces in FACES.values() for face in faces}
    for package, licence in rows.items():
        note = Path("/usr/share/doc") / package / "copyright"
        if note.is_file():
            assert licence in " ".join(note.read_text(encoding="utf-8").split()), package


def test_every_font_may_be_embedded() -> None:
    """None forbids to stand in a document, in part and as outlines."""
    names = {face.file for faces in (*FACES.values(), (TITLE,)) for face in faces}
    files = {file.name: file for place in PLACES for file in place.rglob("*.ttf") if file.name in names}
    assert set(files) == names
    for name, file in files.items():
        with TTFont(file) as font:
            assert not font["OS/2"].fsType & (RESTRICTED | NO_SUBSETS | BITMAPS_ALONE), name
