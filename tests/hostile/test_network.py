"""A build asks nobody for anything: no network, no other program, no file but its own."""

import json
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import pytest
import yaml
from PIL import Image

from tests.conftest import EXAMPLE
from tests.hostile.conftest import SECRET

ROOT = Path(__file__).resolve().parents[2]
READABLE = (
    *{Path(prefix).resolve() for prefix in (sys.prefix, sys.base_prefix)}, Path(sys.prefix), Path("/usr/share"), Path("/usr/lib"),
    Path("/usr/local/share/fonts"), Path("/etc/fonts"), Path("/proc"), Path("/sys"), Path("/dev"), Path("/etc/localtime"),
    Path("/etc/mime.types"), ROOT / "pipeline", ROOT / "symbols", ROOT / "locales", ROOT / "tests" / "hostile", ROOT / ".venv",
)  # fmt: skip
"""What belongs to the interpreter, its libraries, the fonts of the machine, the kernel and the program."""
LINK = "https://evil.example/track?id=1"


@dataclass(frozen=True)
class Heard:
    """What a run of commands did, and what came of them."""

    events: list[tuple[str, str]]
    codes: list[tuple[int, str]]

    def paths(self, what: str) -> set[Path]:
        """Files that were read or written, links followed."""
        return {Path(path).resolve() for event, path in self.events if event == what}


def watched(home: Path, commands: Sequence[Sequence[object]]) -> Heard:
    """Run commands in a process of their own, whose home, caches and passing files lie in a folder."""
    home.mkdir(exist_ok=True)
    places = dict.fromkeys(("HOME", "TMPDIR", "XDG_CACHE_HOME", "XDG_CONFIG_HOME", "MPLCONFIGDIR"), str(home))
    surroundings = {
        name: value for name, value in os.environ.items() if not name.endswith(("_proxy", "_PROXY"))
    } | places
    done = subprocess.run(
        [sys.executable, str(ROOT / "tests" / "hostile" / "watched.py")],
        input=json.dumps([list(map(str, command)) for command in commands]), text=True, capture_output=True, check=False,
        env=surroundings | {"PYTHONPATH": str(ROOT), "PYTHONDONTWRITEBYTECODE": "1"}, cwd=home,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    found = json.loads(done.stdout)
    return Heard([(event, path) for event, path in found["heard"]], [(code, said) for code, said in found["codes"]])


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A workspace with everything that a build reads, and every kind of address in it; beside it a home and a secret."""
    place = tmp_path_factory.mktemp("build").resolve()
    shop = place / "shop"
    for name in ("patterns/photos", "patterns/looms", "symbols", "locales/es/LC_MESSAGES"):
        (shop / name).mkdir(parents=True)
    (place / "secret").mkdir()
    (place / "secret" / "secret.yaml").write_text(f"{SECRET}: 1\n", encoding="utf-8")
    texts = f"See {LINK} <img src='{LINK}'> url({LINK}) @import '{LINK}'"
    pattern = EXAMPLE | {
        "title": texts, "links": [{"url": LINK, "label": texts}], "photos": [{"file": "photos/a.png", "alt": texts}], "loom": "card",
    }  # fmt: skip
    loom = {
        "loom": "card",
        "name": "Card",
        "shape": "circle",
        "rings": [{"diameter": "80 mm", "holes": 24, "web": True}],
    }
    publisher = {"publisher": "Quay", "address": LINK, "contact": texts, "logo": "logo.svg", "attach_source": True}
    for name, tree in (("trial", pattern), ("looms/card", loom), ("publisher", publisher)):
        (shop / "patterns" / f"{name}.yaml").write_text(yaml.safe_dump(tree, sort_keys=False), encoding="utf-8")
    (shop / "patterns" / "logo.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg"><path d="M0 9 L9 0 L9 9 Z"/></svg>'
    )
    Image.new("RGB", (1100, 800), "#1b4f72").save(shop / "patterns" / "photos" / "a.png")
    (shop / "locales/es/LC_MESSAGES/patterns.po").write_text(
        f'msgid ""\nmsgstr ""\n\nmsgctxt "trial"\nmsgid "blue"\nmsgstr "{LINK}"\n'
    )
    return place


ASTRAY: dict[str, tuple[str, ...]] = {
    "patterns/other.yaml": ("check", "{shop}"),
    "patterns/looms/card.yaml": ("check", "{shop}"),
    "symbols/tie.yaml": ("leaflet", "{shop}", "--locale", "es"),
    "patterns/publisher.yaml": ("leaflet", "{shop}", "--locale", "es"),
    "patterns/photos/a.png": ("check", "{shop}"),
    "patterns/logo.svg": ("chart", "{shop}/patterns/trial.yaml"),
    "locales/fi/locale.yaml": ("locale", "list", "{shop}"),
    "locales/es/LC_MESSAGES/patterns.po": ("locale", "update", "{shop}"),
    "fonts/NotoSans-Regular.ttf": ("leaflet", "{shop}", "--locale", "es"),
    "build/out": ("catalogue", "{shop}", "--locale", "es", "--jobs", "1"),
}
"""Where a link leads out of a workspace, and a command that comes upon it."""


def sound(shop: Path) -> list[list[str]]:
    """Commands that work."""
    trial = str(shop / "patterns" / "trial.yaml")
    return [
        ["check", str(shop)], ["chart", trial, "--format", "png"], ["adapt", trial, "--pins", "30"],
        ["schema", "--out", str(shop / "schema")], ["locale", "update", str(shop)],
        ["catalogue", str(shop), "--locale", "en", "--jobs", "1", "--site", "--base", "https://shop.example/"],
    ]  # fmt: skip


def astray(folder: Path) -> list[list[str]]:
    """Commands in copies of the workspace, of which each has a link that leads out."""
    commands: list[list[str]] = []
    for number, (name, command) in enumerate(ASTRAY.items()):
        shop = folder / f"shop-{number}"
        shutil.copytree(folder / "shop", shop)
        (shop / name).unlink(missing_ok=True)
        (shop / name).parent.mkdir(parents=True, exist_ok=True)
        (shop / name).symlink_to(folder / "secret" if name == "build/out" else folder / "secret" / "secret.yaml")
        commands.append([word.format(shop=shop) for word in command])
    return commands


@pytest.fixture(scope="module")
def built(folder: Path) -> Heard:
    """What becomes of all these commands, one after another."""
    return watched(folder / "home", astray(folder) + sound(folder / "shop"))


LOADERS = {"fc-list", "ldconfig", "gcc", "ld"}
"""What the interpreter and matplotlib start to find libraries and fonts, once, before anything is read."""


def test_a_build_speaks_to_nobody(built: Heard, folder: Path) -> None:
    """No socket is made and no name asked for, whatever addresses stand in its texts; no program hears of any of them."""
    assert [code for code, _ in built.codes[len(ASTRAY) :]] == [0] * len(sound(folder)), built.codes
    others = [event for event in built.events if event[0] not in {"read", "write", "ctypes.dlopen"}]
    assert {what for what, _ in others} <= {"subprocess.Popen"}
    for _, started in others:
        assert Path(re.split("['\"]", started)[1]).name in LOADERS, started
        assert str(folder) not in started.replace(str(folder / "home"), "")
        assert "evil.example" not in started


def test_a_build_writes_into_its_workspace_alone(built: Heard, folder: Path) -> None:
    """And into the caches and passing files of its libraries; it does write."""
    written = built.paths("write")
    own, passing, others = folder / "shop", folder / "home", (folder / f"shop-{n}" for n in range(len(ASTRAY)))
    places = (own, passing, *others, Path("/dev/null"))
    assert [path for path in written if not any(map(path.is_relative_to, places))] == []
    made = {path.name for path in written if path.is_relative_to(own)}
    assert {"trial-30.yaml", "manifest.json", "patterns.po", ".ledger"} <= {re_named(name) for name in made}
    # What libraries keep is no more than fonts that they found.
    assert {path.suffix for path in passing.rglob("*") if path.is_file()} <= {
        ".json",
        ".matplotlib-lock",
        ".cache-9",
        ".TAG",
        "",
    }


def re_named(name: str) -> str:
    """The name that a passing file gets when it is whole."""
    head, _, tail = name.rpartition(".")
    return head.removeprefix(".") if name.startswith(".") and len(tail) == 8 and head.removeprefix(".") else name


def test_a_build_reads_its_workspace_and_what_it_stands_on(built: Heard, folder: Path) -> None:
    """The interpreter, libraries, fonts, the program's own data; nobody's home, nothing beside the workspace."""
    read = built.paths("read")
    places = (*READABLE, *folder.glob("shop*"), folder / "home")
    assert [path for path in read if not any(map(path.is_relative_to, places))] == []
    assert {
        folder / "shop" / "patterns" / name for name in ("trial.yaml", "publisher.yaml", "logo.svg", "photos/a.png")
    } <= read


def test_nothing_that_a_link_leads_out_to_is_opened(built: Heard, folder: Path) -> None:
    """Wherever it stands: the command fails, or takes what else there is, and the secret stays unread and as it is."""
    found = built.codes[: len(ASTRAY)]
    assert [code == 1 for code, _ in found] == [not name.startswith("fonts") for name in ASTRAY], found
    assert SECRET not in "".join(said for _, said in found)
    touched = built.paths("read") | built.paths("write")
    assert [path for path in touched if path.is_relative_to(folder / "secret")] == []
    assert [file.name for file in (folder / "secret").iterdir()] == ["secret.yaml"]
