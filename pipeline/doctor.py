"""What leaflets need, and whether it is there: Python, packages, libraries, fonts, a workspace, a terminal.

Every probe stands for itself: one that falls is an item like any other, with what it said. So nothing is imported here
but what Python brings along; the rest is looked for, and whatever of it is missing is what this module is for. Whether
leaflets can be made is not concluded but tried: one is made, and thrown away.
"""

import contextlib
import ctypes
import importlib
import importlib.metadata
import importlib.util
import io
import platform
import re
import sys
import tempfile
from collections import defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path
from typing import Any, Final

from pipeline.workspace import Workspace, patterns_in

NAME: Final = "spokeleaf"


class State(StrEnum):
    """How it stands with something: *lacking* spoils a part, or costs comfort; without what is *missing* no leaflet."""

    GOOD = "good"
    LACKING = "lacking"
    MISSING = "missing"


@dataclass(frozen=True, slots=True)
class Item:
    """Something that was looked at."""

    part: str
    what: str
    state: State
    found: str
    remedy: str = ""
    """What to do, where it is not good."""


Probe = Callable[[Workspace], Iterator[Item]]


def examine(workspace: Workspace, encoding: str) -> tuple[Item, ...]:
    """Look at everything; ``encoding`` is that of the terminal. Raises nothing."""
    probes: tuple[tuple[str, Probe], ...] = (
        ("Python", _python), ("Packages", _packages), ("Libraries", _libraries), ("Fonts", _fonts),
        ("Workspace", _workspace), ("Leaflet", _leaflet), ("More", _extras),
    )  # fmt: skip
    found = [item for part, probe in probes for item in _guarded(part, probe, workspace)]
    return (*found, _terminal(encoding))


def can_make(items: tuple[Item, ...]) -> bool:
    """Whether leaflets can be made."""
    return all(item.state is not State.MISSING for item in items)


def _guarded(part: str, probe: Probe, workspace: Workspace) -> Iterator[Item]:
    """What a probe finds; where it falls, that is what was found. What others print meanwhile is not shown."""
    found: list[Item] = []
    try:
        with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()):
            found.extend(probe(workspace))
    except Exception as error:  # noqa: BLE001
        what = f"{part.lower()}, looked at"
        found.append(
            Item(part, what, State.MISSING, _words(error), "see what else is missing, mend that, and ask again")
        )
    yield from found


def _words(error: Exception) -> str:
    """What an exception says, in one line."""
    said = " ".join(str(error).split())[:200]
    return f"{type(error).__name__}: {said}" if said else type(error).__name__


# --- Python and packages ---


def _python(_workspace: Workspace) -> Iterator[Item]:
    version = platform.python_version()
    wanted = _about()["Requires-Python"] or ""
    good = _satisfies(version, wanted)
    state = State.GOOD if good else State.LACKING
    yield Item("Python", "Python", state, f"{version} ({sys.executable})", "" if good else f"install Python {wanted}")
    yield Item("Python", "Spokeleaf", State.GOOD, _about()["Version"])


def _about() -> Any:
    return importlib.metadata.metadata(NAME)


def _satisfies(version: str, wanted: str) -> bool:
    from packaging.specifiers import SpecifierSet  # noqa: PLC0415

    return SpecifierSet(wanted).contains(version, prereleases=True)


@dataclass(frozen=True, slots=True)
class _Need:
    """A package that is asked for."""

    name: str
    wanted: str
    extra: str


def _needs() -> Iterator[_Need]:
    from packaging.requirements import Requirement  # noqa: PLC0415

    for text in importlib.metadata.requires(NAME) or ():
        asked = Requirement(text)
        named = re.search(r"extra == ['\"]([\w-]+)", str(asked.marker or ""))
        extra = named[1] if named else ""
        if asked.marker is None or asked.marker.evaluate({"extra": extra}):
            yield _Need(asked.name, str(asked.specifier), extra)


def _packages(_workspace: Workspace) -> Iterator[Item]:
    for need in _needs():
        if not need.extra:
            version = _version(need.name)
            order = f"python -m pip install '{need.name}{need.wanted}'"
            if version is None:
                yield Item("Packages", need.name, State.MISSING, "not installed", order)
            elif not _satisfies(version, need.wanted):
                yield Item("Packages", need.name, State.LACKING, f"{version}, and {need.wanted} is wanted", order)
            else:
                yield Item("Packages", need.name, State.GOOD, version)


def _version(name: str) -> str | None:
    """The version of a package whose modules can be found, or None."""
    try:
        found = importlib.metadata.distribution(name)
    except importlib.metadata.PackageNotFoundError:
        return None
    modules = {path.parts[0].removesuffix(".py") for path in found.files or () if path.suffix == ".py"}
    named = [module for module in sorted(modules) if module.isidentifier() and not module.startswith("_")]
    return found.version if all(map(_is_there, named)) else None


def _is_there(module: str) -> bool:
    try:
        return importlib.util.find_spec(module) is not None
    except (ImportError, ValueError):
        return False


EXTRAS: Final = {
    "cluster": "catalogues made on many machines",
    "preview": "the live preview in a browser",
}
"""What the parts that may be installed beside are for. Those for tests are no concern of people who make leaflets."""


def _extras(_workspace: Workspace) -> Iterator[Item]:
    by_extra: dict[str, list[_Need]] = defaultdict(list)
    for need in _needs():
        by_extra[need.extra].append(need)
    for extra, purpose in EXTRAS.items():
        versions = {need.name: _version(need.name) for need in by_extra.get(extra, ())}
        lacking = [need for need in by_extra.get(extra, ()) if versions[need.name] is None]
        if lacking:
            found = f"not installed: {', '.join(need.name for need in lacking)}"
            wanted = " ".join(f"'{need.name}{need.wanted}'" for need in lacking)
            order = f"python -m pip install {wanted}, if you want it"
            yield Item("More", purpose, State.LACKING, found, order)
        elif versions:
            told = ", ".join(f"{name} {version}" for name, version in versions.items())
            yield Item("More", purpose, State.GOOD, told)


# --- Libraries ---

LIBRARIES: Final = {
    "Pango": ("libpango-1.0-0", ("libpango-1.0.so.0", "libpango-1.0.dylib", "libpango-1.0-0.dll")),
    "PangoFT2": ("libpangoft2-1.0-0", ("libpangoft2-1.0.so.0", "libpangoft2-1.0.dylib", "libpangoft2-1.0-0.dll")),
    "GObject": ("libglib2.0-0", ("libgobject-2.0.so.0", "libgobject-2.0.0.dylib", "libgobject-2.0-0.dll")),
    "HarfBuzz": ("libharfbuzz0b", ("libharfbuzz.so.0", "libharfbuzz.0.dylib", "libharfbuzz-0.dll")),
    "HarfBuzz subset": (
        "libharfbuzz-subset0",
        ("libharfbuzz-subset.so.0", "libharfbuzz-subset.0.dylib", "libharfbuzz-subset-0.dll"),
    ),
    "Fontconfig": ("libfontconfig1", ("libfontconfig.so.1", "libfontconfig.1.dylib", "libfontconfig-1.dll")),
}
"""Libraries of the system that WeasyPrint loads: Debian's package, and the file on Linux, macOS and Windows."""


def _libraries(_workspace: Workspace) -> Iterator[Item]:
    for what, (package, names) in LIBRARIES.items():
        library = next(filter(None, map(_loaded, names)), None)
        if library is None:
            yield Item("Libraries", what, State.MISSING, "cannot be loaded", _install(package))
        else:
            yield Item("Libraries", what, State.GOOD, _pango_version(library) if what == "Pango" else "there")


def _loaded(name: str) -> ctypes.CDLL | None:
    try:
        return ctypes.CDLL(name)
    except OSError:
        return None


def _pango_version(library: ctypes.CDLL) -> str:
    library.pango_version_string.restype = ctypes.c_char_p
    return str((library.pango_version_string() or b"").decode())


def _install(package: str) -> str:
    """How something that is no Python package is installed here; the names are Debian's."""
    if sys.platform == "darwin":
        return "brew install pango" if package.startswith("lib") else f"install the fonts of Debian's {package}"
    if sys.platform == "win32":
        return "install Pango with MSYS2" if package.startswith("lib") else f"install the fonts of Debian's {package}"
    return f"sudo apt install {package}"


# --- Fonts ---


def _fonts(workspace: Workspace) -> Iterator[Item]:
    """Fonts of every locale's script; without those of the Latin one there is no leaflet, for figures are set in it."""
    from babel import Locale  # noqa: PLC0415

    from pipeline.language.fonts import FontsMissing, fonts_of  # noqa: PLC0415
    from pipeline.language.locales import load_locales  # noqa: PLC0415

    names = Locale("en").scripts
    folders = (workspace.root / "fonts",) if workspace.root else ()
    by_script: dict[tuple[str, Any], list[Any]] = defaultdict(list)
    for locale in load_locales(workspace.layers("locales")).values():
        by_script[locale.script, locale.fonts].append(locale)
    for (script, _), locales in sorted(by_script.items(), key=lambda pair: (pair[0][0] != "Latn", pair[0][0])):
        what = f"{names.get(script, script)} ({', '.join(locale.tag for locale in locales)})"
        try:
            fonts = fonts_of(locales[0], folders)
        except FontsMissing as error:
            state = State.MISSING if script == "Latn" else State.LACKING
            order = " and ".join(map(_install, error.packages)) or "put one into fonts/, and name it in locale.yaml"
            yield Item("Fonts", what, state, "no font", order)
        else:
            own = [file.path for file in fonts.files if file.face.family == fonts.families[-1]]
            yield Item("Fonts", what, State.GOOD, ", ".join(path.name for path in own))


# --- The workspace ---


def _workspace(workspace: Workspace) -> Iterator[Item]:
    if workspace.root is None:
        order = "spokeleaf new workspace, or go to the folder above patterns/"
        yield Item("Workspace", "workspace", State.LACKING, "none here", order)
        return
    count = len(patterns_in(workspace.root))
    found = f"{workspace.root}: {count} {'pattern' if count == 1 else 'patterns'}"
    yield Item("Workspace", "workspace", State.GOOD, found)
    yield _sound("publisher and logo", workspace.publisher_file, _load_shelf, workspace)
    yield _sound("looms", workspace.looms, _load_looms, workspace)
    for name, load in (("symbols", _load_symbols), ("locales", _load_locales)):
        own = workspace.layers(name)[1:]
        yield _sound(name, own[0] if own else None, load, workspace)
    yield _writable(workspace.root / "build" / "out")


def _sound(what: str, own: Path | None, load: Callable[[Workspace], object], workspace: Workspace) -> Item:
    """Whether files of the workspace's own can be used."""
    try:
        load(workspace)
    except Exception as error:  # noqa: BLE001
        problems = getattr(error, "problems", ())
        first = f"{problems[0].file}:{problems[0].span.line}: {problems[0].message}" if problems else _words(error)
        order = f"spokeleaf check {problems[0].file}" if problems else "see what else is missing"
        return Item("Workspace", what, State.MISSING, first, order)
    return Item("Workspace", what, State.GOOD, str(own) if own else "none of its own")


def _load_shelf(workspace: Workspace) -> None:
    importlib.import_module("pipeline.catalogue.shelf").load_shelf(workspace)


def _load_symbols(workspace: Workspace) -> None:
    importlib.import_module("pipeline.files").symbols_of(workspace)


def _load_locales(workspace: Workspace) -> None:
    importlib.import_module("pipeline.language.locales").load_locales(workspace.layers("locales"))


def _load_looms(workspace: Workspace) -> None:
    broken = [name for name, loom in importlib.import_module("pipeline.files").looms_of(workspace).items() if not loom]
    if broken:
        raise ValueError(f"`{broken[0]}` has errors: spokeleaf check patterns/looms/{broken[0]}.yaml")


def _writable(folder: Path) -> Item:
    """Whether a file can be made in a folder, or in the first one above it that is there."""
    there = next(each for each in (folder, *folder.parents) if each.exists())
    try:
        with tempfile.TemporaryFile(dir=there):
            return Item("Workspace", "what is made", State.GOOD, f"{folder} can be written")
    except OSError as error:
        order = f"make {there} a folder that you may write in, or say another with --out"
        return Item("Workspace", "what is made", State.MISSING, f"{there}: {error.strerror}", order)


# --- A leaflet, and where its problems are shown ---


def _leaflet(_workspace: Workspace) -> Iterator[Item]:
    """Make a leaflet of a starting point in English, with what is shipped alone."""
    from pipeline.catalogue.make import Making, make  # noqa: PLC0415
    from pipeline.catalogue.shelf import load_shelf  # noqa: PLC0415
    from pipeline.files import check_text  # noqa: PLC0415
    from pipeline.language.locales import load_locales  # noqa: PLC0415
    from pipeline.starting.points import NAMES, start_text  # noqa: PLC0415

    nowhere = Workspace(None)
    checked = check_text(start_text(NAMES[0]).encode(), Path(tempfile.gettempdir()) / f"{NAMES[0]}.yaml")
    english = load_locales(nowhere.layers("locales"))["en"]
    (made,) = make(checked, load_shelf(nowhere), [english], Making("a4"))
    if made.pdf is None:
        said = "; ".join(f"{problem.message}: {problem.hint}" for problem in made.problems)
        yield Item("Leaflet", "one made for trial", State.MISSING, said, "see what else is missing")
    else:
        yield Item("Leaflet", "one made for trial", State.GOOD, f"{len(made.pdf) / 1024:.0f} KiB of PDF")


def _terminal(encoding: str) -> Item:
    """Whether signs of every language can be shown."""
    if encoding.lower().replace("-", "").replace("_", "") in {"utf8", "utf16", "utf8sig"}:
        return Item("Terminal", "letters of every language", State.GOOD, encoding)
    order = "set PYTHONUTF8=1, or a locale like LANG=C.UTF-8; files are UTF-8 in any case"
    return Item(
        "Terminal", "letters of every language", State.LACKING, f"the terminal takes {encoding or 'ASCII'}", order
    )
