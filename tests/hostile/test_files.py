"""Files that are no files, that never end, that grow when they are read: refused soon, and told where."""

import os
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from pipeline.files import check_file
from pipeline.problems import Problem
from pipeline.source import MOST_CONTROLS, MOST_VALUES, Unreadable, read
from pipeline.workspace import patterns_in
from tests.hostile.conftest import READERS, Run, Write, problems_of

SOON_S = 5.0


@contextmanager
def soon() -> Iterator[None]:
    """What is done here takes no longer than somebody waits."""
    began = time.process_time()
    yield
    assert time.process_time() - began < SOON_S


def told(data: bytes | str) -> tuple[Problem, ...]:
    """What a file is told, refused or not; it is read soon."""
    with soon():
        try:
            return read("x.yaml", data.encode() if isinstance(data, str) else data).problems
        except Unreadable as error:
            return error.problems


KINDS: dict[str, Callable[[Path], object]] = {
    "pipe": os.mkfifo,
    "folder": Path.mkdir,
    "nowhere": lambda place: place.symlink_to("nowhere"),
    "circle": lambda place: place.symlink_to(place.name),
}
"""What is no file, and how it is made."""


def place_in(shop: Path, name: str) -> Path:
    """Where a file is to be, its folder made."""
    (shop / name).parent.mkdir(parents=True, exist_ok=True)
    return shop / name


@pytest.mark.parametrize("name", READERS)
@pytest.mark.parametrize("kind", KINDS)
def test_what_is_no_file_is_told_and_never_waited_for(shop: Path, name: str, kind: str) -> None:
    """A pipe, a folder, a link to nowhere or to itself: told, or, where a file need not be, as if there were none."""
    KINDS[kind](place_in(shop, name))
    if name.startswith("symbols") or (name == "locales/fi/locale.yaml" and kind in {"pipe", "folder"}):
        with soon():
            found = problems_of(lambda: READERS[name](shop))
        assert [(problem.code, problem.file) for problem in found] == [("file-unreadable", str(shop / name))]
    else:
        with soon():
            READERS[name](shop)


@pytest.mark.parametrize("kind", KINDS)
def test_a_pattern_or_loom_that_is_no_file_is_told(shop: Path, write: Write, kind: str) -> None:
    """The pattern where it would begin, the loom where it is named."""
    KINDS[kind](place_in(shop, "patterns/looms/card.yaml"))
    KINDS[kind](place_in(shop, "patterns/other.yaml"))
    with soon():
        found = [check_file(file).problems[0].code for file in [*patterns_in(shop), write(loom="card")]]
    assert found[0] in {"file-unreadable", "file-missing"}
    assert found[1] == "loom-broken" if kind in {"pipe", "folder"} else "loom-unknown"


@pytest.mark.parametrize("name", READERS)
def test_fifty_megabytes_are_refused_for_any_kind_of_file(shop: Path, name: str) -> None:
    """No more of them is read than is allowed and a byte; the file is named with what it may have."""
    with place_in(shop, name).open("wb") as file:
        file.write(b"#")
        file.truncate(50_000_000)
    with soon():
        (problem,) = problems_of(lambda: READERS[name](shop))
    assert (problem.code, problem.file) == ("file-too-large", str(shop / name))


def test_no_more_of_a_file_is_read_than_is_allowed() -> None:
    """A file without an end outside of any workspace, too: it is given up after a megabyte."""
    with soon():
        (problem,) = check_file(Path("/dev/zero")).problems
    assert problem.code == "file-too-large"


BOMBS = {
    "aliases in mappings": (
        "a0: &a0 {k: x}\n" + "".join(f"a{i}: &a{i} {{k: *a{i - 1}, l: *a{i - 1}}}\n" for i in range(1, 40)),
        "too-many-values",
    ),
    "aliases in lists": ("a: &a [" + "x, " * 200 + "]\nb: [" + "*a, " * 200 + "]\n", "too-many-values"),
    "aliases as keys": ("a: &a x\n*a : 1\n", "key-not-text"),
    "a list in itself": ("a: &x [1, [2, *x]]\n", "alias-of-itself"),
    "a mapping in itself": ("&x a: {b: 1}\nc: &y {d: {e: *y}}\n", "alias-of-itself"),
    "two in one another": ("a: &x [&y [*x]]\n", "alias-of-itself"),
    "the whole in itself": ("&x\na: *x\n", "alias-of-itself"),
    "merged with itself": ("a: &x {<<: *x}\n", "alias-of-itself"),
    "lists in a line": ("a: " + "[" * 300_000, "yaml-syntax"),
    "mappings in a line": ("a: " + "{a: " * 200_000, "too-deep"),
    "lists in lines": ("- " * 300_000, "too-deep"),
    "keys of keys": ("? " * 300_000, "key-not-text"),
    "mappings in lines": ("".join(" " * depth + "a:\n" for depth in range(1300)), "too-deep"),
    "a list of many": ("a: [" + "1," * 100_000 + "]\n", "too-many-values"),
    "many keys": ("".join(f"k{i}:\n" for i in range(25_000)), "too-many-values"),
    "one long key": ("? " + "a" * 900_000 + "\n: b\n", ""),
    "one long word": ("a: " + "b" * 900_000, ""),
    "a long anchor": ("a: &" + "b" * 900_000 + " c\n", ""),
    "empty lines": ("\n" * 200_000, "file-empty"),
    "remarks": ("#\n" * 200_000, "file-empty"),
    "control characters": ("\x01" * 1_000_000, "control-character"),
    "colons": ("a: b c: " * 100_000, "colon-in-text"),
    "tabs": ("a:\n" + "\t" * 900_000 + "b: 1\n", "tab-indent"),
    "escapes": ('a: "' + r"\x41" * 200_000 + '"\n', ""),
}


@pytest.mark.parametrize("name", BOMBS)
def test_what_grows_or_goes_deep_is_refused_soon(name: str) -> None:
    """However it does: by aliases, by depth, by number, by length; where it is told there is a line and a column."""
    text, code = BOMBS[name]
    problems = told(text)
    assert [problem.code for problem in problems][:1] == ([code] if code else [])
    assert all(min(problem.span.line, problem.span.column) >= 1 for problem in problems)
    assert len(problems) <= MOST_CONTROLS


def test_values_are_counted_where_they_are_used() -> None:
    """Aliases just within what is allowed are read, and so is a deep one that is not too deep."""
    few = MOST_VALUES // 101 - 2
    assert told("a: &a [" + "x, " * 100 + "]\nb: [" + "*a, " * few + "]\n") == ()
    assert told("a: " + "[" * 22 + "]" * 22) == ()


@pytest.mark.parametrize("written", ["\x00", "\x1b[2J", "\x08", "\x7f", "\x9b", "\ufffe", "\u202e", "\u202d"])
@pytest.mark.parametrize("quoted", [False, True])
def test_what_steers_or_hides_is_refused_however_it_is_written(written: str, *, quoted: bool) -> None:
    """NUL, escape sequences, backspaces and overrides of direction, as they are or as escapes in quotes; at their place."""
    shown = "".join(f"\\U{ord(character):08X}" for character in written) if quoted else written
    (problem,) = told(f'a: 1\nb: "x{shown}"\n')
    assert (problem.code, problem.span.line) == ("control-character", 2)
    assert f"U+{ord(written[0]):04X}" in problem.message


def test_many_slips_are_told_soon(write: Write) -> None:
    """Thousands of unknown keys, each with what it might mean."""
    text = write().read_text(encoding="utf-8")
    file = write(text + "".join(f"titel{number}: 1\n" for number in range(3000)))
    with soon():
        found = check_file(file).problems
    assert [problem.code for problem in found].count("key-unknown") == 3000


@pytest.mark.parametrize("key", ["extends", "include", "import", "$ref", "<<", "base", "inherit", "!include"])
def test_no_key_takes_in_another_file(write: Write, run: Run, key: str) -> None:
    """There is none that could; what looks like one is unknown, and what it names is not opened."""
    file = write(**{key: "../../secret/secret.yaml"})
    said = run("check", file).output
    assert "error[key-unknown]" in said
    assert "tablecloth" not in said


@pytest.mark.parametrize(
    "tag", ["!include ../../secret/secret.yaml", "!!python/object/apply:os.system [id]", "!!binary aGk="]
)
def test_no_tag_does_anything(write: Write, run: Run, tag: str) -> None:
    """It is refused where it stands, and the value is what is written."""
    file = write()
    write(file.read_text().replace("title: Trial", f"title: {tag}"))
    assert ":3:8: error[tag-refused]" in run("check", file).output
