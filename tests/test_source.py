"""Strict YAML."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.problems import Finding, Problem, Span
from pipeline.source import DEEPEST, LARGEST_BYTES, Plain, Unreadable, describe, read

TEXT = """\
# remark
title: Rad
loom: {pins: 24, "shape": circle}
rounds:
  - knot: [4, {pass: 2}]
"""


def refused(data: bytes | str) -> tuple[Problem, ...]:
    """The problems for which it cannot be read."""
    with pytest.raises(Unreadable) as caught:
        read("x.yaml", data.encode() if isinstance(data, str) else data)
    return caught.value.problems


def places(problems: tuple[Problem, ...]) -> list[tuple[str, int, int]]:
    return [(problem.code, problem.span.line, problem.span.column) for problem in problems]


def test_every_value_has_its_place() -> None:
    """Values and keys have line, column and length as an editor shows them, inside braces and lists too."""
    source = read("x.yaml", TEXT.encode())
    assert source.values["title",] == Span(2, 8, 3)
    assert source.values["loom", "pins"] == Span(3, 14, 2)
    assert source.keys["loom", "shape"] == Span(3, 18, 7)
    assert source.values["rounds", 0, "knot", 0] == Span(5, 12, 1)
    assert source.values["rounds", 0, "knot", 1, "pass"] == Span(5, 22, 1)


def test_a_finding_without_a_place_of_its_own_gets_the_nearest_one() -> None:
    """What is missing is told at what surrounds it, the whole file being the last of it."""
    source = read("x.yaml", TEXT.encode())
    inside = Finding("key-missing", ("loom", "diameter"), {"key": "diameter", "hint": ""})
    outside = Finding("key-missing", ("threads",), {"key": "threads", "hint": ""})
    assert places(source.locate([inside, outside])) == [("key-missing", 2, 1), ("key-missing", 3, 1)]


def test_bare_words_stay_what_was_written() -> None:
    """No bare word becomes a truth, a date, a time or a number; quoted text is told from it."""
    words = ["no", "on", "yes", "2026-03-14", "12:30", "0x1F", "1_000", "007", ".5", "1e3", "=", "<<", "null "]
    source = read("x.yaml", "\n".join(f"k{i}: {word}" for i, word in enumerate(words)).encode())
    assert list(source.tree.values()) == [word.strip() for word in words]
    assert all(isinstance(value, Plain) for value in source.tree.values())
    quoted = read("x.yaml", b"a: \"24\"\nb: '24'\n")
    assert not any(isinstance(value, Plain) for value in quoted.tree.values())


def test_an_empty_value_is_nothing() -> None:
    """A key with nothing after it, and a tilde, are None; an empty text in quotes is a text."""
    assert read("x.yaml", b'a:\nb: ~\nc: ""\n').tree == {"a": None, "b": None, "c": ""}


@pytest.mark.parametrize(
    ("data", "code", "line", "column"),
    [
        (b"", "file-empty", 1, 1),
        (b"\n\n  \n", "file-empty", 1, 1),
        (b"# only\n", "file-empty", 1, 1),
        (b"- a\n- b\n", "not-a-mapping", 1, 1),
        (b"word\n", "not-a-mapping", 1, 1),
        (b"a: 1\nb: caf\xe9\n", "not-utf-8", 2, 7),
        (b"a: 1\nb: x\x00y\n", "control-character", 2, 5),
        (b"a: 1\r\nb: x\x01\r\n", "control-character", 2, 5),
        (b"a:\n\tb: 1\n", "tab-indent", 2, 1),
        (b"a: [1, 2\n", "yaml-syntax", 2, 1),
        (b"a: 'x\nb: 2\n", "yaml-syntax", 1, 4),
        (b'a: 1\nb: {c: "x}\nd: 2\n', "yaml-syntax", 2, 8),
        (b"a: {c: #123456}\n", "colour-unquoted", 1, 8),
        (b"a: &x [*x]\n", "alias-of-itself", 1, 8),
        (b"? [a]\n: b\n", "key-not-text", 1, 3),
    ],
)
def test_what_cannot_be_read_says_where(data: bytes, code: str, line: int, column: int) -> None:
    """Every reason to stop reading has its code and its place."""
    assert places(refused(data)) == [(code, line, column)]


def test_a_quote_that_stays_open_is_told_where_it_opens() -> None:
    """Not where the file ends, which is where the parser gives up."""
    (problem,) = refused("a: 1\nb: 'x\nc: 2\nd: 3\n")
    assert (problem.span.line, problem.text) == (2, "b: 'x")
    assert problem.message == "this is not YAML: a quote is not closed"
    assert "quote" in problem.hint


KEY = "begin this line under the first letter of the key above it, and count the spaces"
DASH = "begin this line under the `-` of the item above it, and count the spaces"
LOOK = "look at this line and the one above it: indents, brackets, quotes"


@pytest.mark.parametrize(
    ("text", "line", "hint"),
    [
        ("r:\n  - d: {}\n   rows: 2\n", 3, KEY),
        ("r:\n  - d: {}\n     rows: 2\n", 3, KEY),
        ("r:\n  - d: 1\n     rows: 2\n", 3, KEY),
        ("l:\n   a: 1\n  b: 2\n", 3, KEY),
        ("t: T\n  l: en\n", 2, KEY),
        ("r:\n  - d: {}\n - k: 1\n", 3, DASH),
        ('t: "T" w\nb: 1\n', 1, LOOK),
        ('a: "x": y\n', 1, LOOK),
        ("a: {x: 1}}\nb: 2\n", 1, LOOK),
        ("a: {x: 1\nb: 2\n", 2, LOOK),
    ],
)
def test_a_line_that_begins_at_the_wrong_place_is_told_where_to_begin(text: str, line: int, hint: str) -> None:
    """Under the key or item above it; what is wrong further on in a line is no indent."""
    (problem,) = refused(text)
    assert (problem.code, problem.span.line, problem.hint) == ("yaml-syntax", line, hint)


@pytest.mark.parametrize(
    ("data", "code", "line", "column"),
    [
        (b"a: 1\nb: 2\na: 3\n", "key-twice", 3, 1),
        (b"a: {b: 1, c: 2, b: 3}\n", "key-twice", 1, 17),
        (b"a: !!str 1\n", "tag-refused", 1, 4),
        (b"a: *gone\n", "alias-unknown", 1, 4),
        (b"a: 1\n---\nb: 2\n", "second-document", 2, 1),
    ],
)
def test_what_hides_nothing_else_is_told_and_reading_goes_on(data: bytes, code: str, line: int, column: int) -> None:
    """Slips that leave the rest readable stand in the source's problems."""
    assert places(read("x.yaml", data).problems) == [(code, line, column)]


def test_a_byte_order_mark_is_no_text() -> None:
    """A file saved with a byte order mark reads as one without, columns included."""
    source = read("x.yaml", b"\xef\xbb\xbfa: 1\n")
    assert (source.tree, source.keys["a",]) == ({"a": "1"}, Span(1, 1, 1))


def test_lines_end_as_three_systems_end_them() -> None:
    """LF, CR LF and CR count alike."""
    for end in ("\n", "\r\n", "\r"):
        assert read("x.yaml", f"a: 1{end}b: 2{end}".encode()).values["b",].line == 2


@pytest.mark.parametrize("end", ["\x85", "\u2028", "\u2029"])
def test_a_line_that_only_the_parser_sees_shifts_no_place(end: str) -> None:
    """What ends a line for the parser ends it for every place, also in a remark, where nobody sees it."""
    text = f"a: 1  # one{end}# two\nb: 2\nc: \xe9\n"
    source = read("x.yaml", text.encode())
    assert source.lines[source.values["b",].line - 1] == "b: 2"
    assert "".join(line + end for line, end in zip(source.lines, source.ends, strict=True)) == text
    assert places(refused(text.encode()[:-3] + b"\xe9\n")) == [("not-utf-8", 4, 4)]


def test_the_size_is_bounded_at_the_byte() -> None:
    """The largest file is read, one byte more is not."""
    data = b"a: 1\n" + b"#" * (LARGEST_BYTES - 5)
    assert read("x.yaml", data).tree == {"a": "1"}
    assert places(refused(data + b"#")) == [("file-too-large", 1, 1)]


def test_aliases_are_counted_out_before_they_are_written_out() -> None:
    """Twenty doublings of ten thousand would be a billion values: refused at the alias that goes too far."""
    lines = ["a0: &a0 [" + ", ".join("x" * 50) + "]"]
    lines += [f"a{i}: &a{i} [*a{i - 1}, *a{i - 1}, *a{i - 1}]" for i in range(1, 20)]
    (problem,) = refused("\n".join(lines))
    assert problem.code == "too-many-values"
    assert problem.text.startswith(f"a{problem.span.line - 1}: ")
    assert problem.text[problem.span.column - 1] == "*"


def test_what_aliases_stand_for_is_as_deep_as_what_is_written() -> None:
    """A list named at the bottom of lists is that much deeper, and is refused at the alias that goes too far."""
    chain = [f"a{i}: &a{i} {'[' * 10}{f'*a{i - 1}' if i else 'x'}{']' * 10}" for i in range(60)]
    assert places(refused("\n".join(chain))) == [("too-deep", 3, 19)]
    assert read("x.yaml", "\n".join(chain[:2]).encode()).problems == ()


@pytest.mark.parametrize(("depth", "sound"), [(DEEPEST - 2, True), (DEEPEST - 1, False)])
def test_depth_is_bounded_at_the_level(depth: int, sound: bool) -> None:  # noqa: FBT001
    """A mapping, a list, and a named list of so many levels: the deepest is read, one level more is not."""
    text = f"a: &a {'[' * depth}{']' * depth}\nb: [*a]\n"
    if sound:
        assert read("x.yaml", text.encode()).problems == ()
    else:
        assert places(refused(text)) == [("too-deep", 2, 5)]


def test_an_alias_stands_for_what_it_names() -> None:
    """Harmless aliases are read as the value they name."""
    assert read("x.yaml", b"a: &x [1, 2]\nb: *x\n").tree == {"a": ["1", "2"], "b": ["1", "2"]}


@given(data=st.binary(max_size=200))
def test_any_bytes_are_read_or_refused(data: bytes) -> None:
    """No bytes whatever make reading fail otherwise, and every problem has a place."""
    try:
        found = read("x.yaml", data).problems
    except Unreadable as error:
        found = error.problems
    assert all(min(problem.span.line, problem.span.column) >= 1 for problem in found)


YAML_CHARACTERS = st.text(alphabet="ab12:#-?*&!|>{}[],\"'% \n\t=~é\\", max_size=60)


@given(text=YAML_CHARACTERS)
def test_any_signs_of_yaml_are_read_or_refused(text: str) -> None:
    """No heap of YAML's own signs makes reading fail otherwise, and the text of a problem is the line it names."""
    try:
        found = read("x.yaml", text.encode()).problems
    except Unreadable as error:
        found = error.problems
    lines = text.split("\n")
    assert all(problem.text == lines[problem.span.line - 1] for problem in found if problem.text)


@pytest.mark.parametrize(
    ("value", "words"),
    [({}, "a mapping"), ([1], "a list"), (None, "nothing"), (Plain("24"), "`24`"), ("24", '`"24"`'), ("ab", "`ab`")],
)
def test_what_was_found_is_described(value: object, words: str) -> None:
    """A quoted number is shown with its quotes, so that the message explains itself."""
    assert describe(value) == words


def test_a_source_cannot_be_changed() -> None:
    """The carrier is frozen."""
    source = read("x.yaml", b"a: 1\n")
    with pytest.raises(AttributeError):
        source.file = "other"  # type: ignore[misc]


@pytest.mark.parametrize("written", [r"\0", r"\a", r"\v", r"\x85", r"\u2028", r"\uFFFE", r"\x7f"])
def test_a_control_character_is_refused_however_it_is_written(written: str) -> None:
    """An escape in quotes is no way round; the problem stands at the value, the tree is there all the same."""
    source = read("x.yaml", f'a: 1\nb: "x{written}y"\n'.encode())
    assert [(problem.code, problem.span.line, problem.span.column) for problem in source.problems] == [
        ("control-character", 2, 4)
    ]
    assert read("x.yaml", rb'a: "one\ttwo\nthree"').problems == ()
