"""The wheel is all that a machine needs: installed somewhere, it works without the checkout and without a network."""

import os
import subprocess
import sys
import sysconfig
import tarfile
import zipfile
from collections.abc import Callable
from email.parser import BytesParser
from pathlib import Path

import pikepdf
import pytest

ROOT = Path(__file__).resolve().parent.parent
SHIPPED = {"pipeline": "pipeline", "symbols": "pipeline/shipped/symbols", "locales": "pipeline/shipped/locales"}
"""Folders that go into the wheel, and where they stand in it."""
KINDS = {".py", ".html", ".css", ".js", ".conf", ".json", ".yaml", ".md", ".po", ".pot"}

QUIET = """
import sys

def refuse(event, arguments):
    if event in {"socket.connect", "socket.getaddrinfo"}:
        raise PermissionError("no network")

sys.addaudithook(refuse)
"""
"""A module of start-up: whoever looks for another machine fails."""

Command = Callable[..., str]


def build(target: str, source: Path, out: Path) -> Path:
    """What the build backend of this environment makes of a folder; it asks for nothing."""
    command = [sys.executable, "-m", "hatchling", "build", "-t", target, "-d", str(out)]
    subprocess.run(command, cwd=source, check=True, capture_output=True)
    (made,) = out.iterdir()
    return made


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The wheel of the checkout."""
    return build("wheel", ROOT, tmp_path_factory.mktemp("wheel"))


@pytest.fixture(scope="module")
def installed(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An environment with the wheel, beside the packages of this one but without its way to the checkout or out."""
    place = tmp_path_factory.mktemp("elsewhere") / "env"
    subprocess.run([sys.executable, "-m", "venv", "--without-pip", place], check=True)
    # A path in such a file is searched for packages, not for further files of paths, as the checkout's is.
    (packages,) = place.glob("lib/python*/site-packages")
    (packages / "others.pth").write_text(f"{sysconfig.get_path('purelib')}\nimport quiet\n", encoding="utf-8")
    (packages / "quiet.py").write_text(QUIET, encoding="utf-8")
    pip = [sys.executable, "-m", "pip", "--python", str(place), "-q", "--disable-pip-version-check"]
    subprocess.run([*pip, "install", "--no-deps", "--no-index", "--no-compile", wheel], check=True, capture_output=True)
    return place


@pytest.fixture(scope="module")
def run(installed: Path, tmp_path_factory: pytest.TempPathFactory) -> Command:
    """The installed command or, by its full name, another program there, at work in an empty folder; what it says."""
    folder = tmp_path_factory.mktemp("work")
    environment = {name: value for name, value in os.environ.items() if not name.startswith("PYTHON")}

    def run(*arguments: str, program: str = "spokeleaf") -> str:
        command = [installed / "bin" / program, *arguments]
        done = subprocess.run(command, cwd=folder, env=environment, capture_output=True, check=False, text=True)
        assert done.returncode == 0, done.stderr
        return done.stdout

    return run


def names(wheel: Path) -> set[str]:
    """The files in a wheel but for what it says of itself."""
    with zipfile.ZipFile(wheel) as archive:
        return {name for name in archive.namelist() if ".dist-info/" not in name}


def test_it_has_every_file_of_the_program_and_no_other(wheel: Path) -> None:
    """Package, symbols and languages to the last file: no test, no cache, no demo."""
    wanted = {
        f"{place}/{file.relative_to(ROOT / folder).as_posix()}"
        for folder, place in SHIPPED.items()
        for file in (ROOT / folder).rglob("*")
        if file.is_file() and "__pycache__" not in file.parts
    }
    assert names(wheel) == wanted
    assert {Path(name).suffix for name in wanted} == KINDS


def test_what_it_says_of_itself(wheel: Path) -> None:
    """Name, needs, extras and command; the licences of what it stands on go along; nobody uploads it by mistake."""
    with zipfile.ZipFile(wheel) as archive:
        (own,) = {name.split("/")[0] for name in archive.namelist() if ".dist-info/" in name}
        said = BytesParser().parsebytes(archive.read(f"{own}/METADATA"))
        commands = archive.read(f"{own}/entry_points.txt").decode().split()
        licences = archive.read(f"{own}/licenses/build/licences.md")
    assert (said["Name"], said["Requires-Python"]) == ("spokeleaf", ">=3.11")
    assert set(said.get_all("Provides-Extra", [])) == {"cluster", "preview", "test"}
    assert "Private :: Do Not Upload" in said.get_all("Classifier", [])
    assert commands == ["[console_scripts]", "spokeleaf", "=", "pipeline.cli:run"]
    assert licences == (ROOT / "build" / "licences.md").read_bytes()


def test_the_same_wheel_comes_of_the_packed_source(wheel: Path, tmp_path: Path) -> None:
    """Built from the checkout or from what the source archive has, byte for byte."""
    packed = build("sdist", ROOT, tmp_path / "packed")
    with tarfile.open(packed) as archive:
        archive.extractall(tmp_path, filter="data")
    (source,) = tmp_path.glob("spokeleaf-*")
    assert build("wheel", source, tmp_path / "again").read_bytes() == wheel.read_bytes()


def test_an_editable_install_copies_nothing(tmp_path: Path) -> None:
    """It holds a way to the checkout and no file of it that could go stale."""
    (name,) = names(build("wheel:editable", ROOT, tmp_path))
    assert name.endswith(".pth")


def test_no_way_leads_out(run: Command) -> None:
    """What the other tests run could reach no machine if it tried."""
    tries = "import socket\ntry: socket.create_connection(('localhost', 9))\nexcept PermissionError as no: print(no)"
    assert run("-c", tries, program="python") == "no network\n"


def test_it_runs_without_the_checkout(installed: Path, run: Command) -> None:
    """By its command and as a module: code, symbols and languages are those of the wheel."""
    where = "import sys, pipeline, pipeline.workspace as w; print(*sys.path, pipeline.__file__, w.shipped('symbols'))"
    places = run("-c", where, program="python").split()
    assert str(ROOT) not in places
    assert all(Path(place).is_relative_to(installed) for place in places[-2:])
    assert run("--version") == run("-m", "pipeline", "--version", program="python").replace("python -m pipeline", "")
    assert "catalogue" in run("--help")
    assert "pt-BR" in run("locale", "list")
    run("symbols", "--check")


def test_it_begins_checks_and_makes_leaflets(run: Command, tmp_path: Path) -> None:
    """From nothing to a leaflet in two languages."""
    run("new", "workspace", str(tmp_path / "quay"), "--title", "Sea Foam", "--yes")
    pattern = str(tmp_path / "quay" / "patterns" / "sea-foam.yaml")
    run("check", "--strict", pattern)
    run("leaflet", pattern, "--locale", "en", "--locale", "ar", "--out", str(tmp_path / "made"))
    made = sorted((tmp_path / "made").iterdir())
    assert [file.name for file in made] == ["sea-foam.ar.a4.pdf", "sea-foam.en.a4.pdf"]
    for file, language in zip(made, ("ar", "en"), strict=True):
        with pikepdf.open(file) as pdf:
            assert str(pdf.Root.Lang) == language
            assert len(pdf.pages) >= 4
