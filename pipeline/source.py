"""Strict YAML: bytes in, a tree of plain values with a span for every path out.

The parser's events are walked here, not loaded: so nothing is guessed (a scalar stays the text that was
written, with a mark whether it was quoted), nothing is built twice (aliases are counted before they are
expanded), and every problem has its line and column. YAML 1.2: https://yaml.org/spec/1.2.2/
"""

import itertools
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import Any, Final

import yaml

from pipeline.problems import Finding, Path, Problem, Span, Unusable, in_order, place, without_echoes

LARGEST_BYTES: Final = 1 << 20
DEEPEST: Final = 24
MOST_VALUES: Final = 20_000
MOST_CONTROLS: Final = 20
"""Control characters that are told; a file of nothing else has a million."""

Tree = "str | Plain | list[Tree] | dict[str, Tree] | None"
"""What a file says: mappings, lists, ``str`` for quoted text, ``Plain`` for bare words, None for nothing."""

_COLOUR_LOST: Final = re.compile(r":\s+(?P<colour>#[0-9A-Fa-f]{3,8})\b")
_COLON_IN_TEXT: Final = re.compile(r"^[\s-]*[\w-]+:\s+[^\s\"'{\[|>&*#][^#]*?:\s")
_CUT_AT_COMMA: Final = re.compile(r"[0-9]+ ?(?:mm|cm|m|in|%)?")
"""What stands as a key of its own where a comma in a number cut it in two: ``{A: 7,4 m}``."""
_CONTROL: Final = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\x80-\x84\x86-\x9f\ufffe\uffff]")
UNPRINTABLE: Final = re.compile(
    r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u2028\u2029\u202d\u202e\ud800-\udfff\ufffe\uffff]"
)
"""What no text that is printed may hold, however it is written: among it what shows letters in another order than they
stand in, as no language needs it."""
_OPENING: Final = {"\u202a": "\u202c", "\u202b": "\u202c", "\u2066": "\u2069", "\u2067": "\u2069", "\u2068": "\u2069"}
"""Marks of direction that open something, and what closes it (Unicode UAX #9)."""
_LINE_END: Final = re.compile(r"\r\n|[\r\n\x85\u2028\u2029]")
"""Where the parser ends a line: YAML 1.1, which counts more line breaks than 1.2."""
_IN_QUOTES: Final = "while scanning a quoted scalar"
_IN_BLOCKS: Final = ("while parsing a block mapping", "while parsing a block collection")
_NO_MAPPING: Final = "mapping values are not allowed in this context"
"""What the parser says it was doing, or has found."""
_EVENTS: Final = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


class Plain(str):
    """A scalar without quotes, as written: a number, true, false or a bare word, as its field wants."""

    __slots__ = ()


@dataclass(frozen=True, slots=True)
class Source:
    """One file that was read: ``tree`` and the spans of its values and keys. Never changed."""

    file: str
    lines: tuple[str, ...]
    ends: tuple[str, ...]
    """What ends each line; nothing ends the last."""
    tree: dict[str, object]
    values: Mapping[Path, Span]
    keys: Mapping[Path, Span]
    problems: tuple[Problem, ...]
    """What is wrong without hiding the rest: a key that stands twice, a tag, an unknown alias."""

    def locate(self, findings: Iterable[Finding]) -> tuple[Problem, ...]:
        """Give findings their places: the key or value itself, else the nearest thing around it."""
        return in_order(self._problem(finding) for finding in without_echoes(findings))

    def _problem(self, finding: Finding) -> Problem:
        path = finding.path
        own, other = (self.keys, self.values) if finding.on_key else (self.values, self.keys)
        span = own.get(path, other.get(path) if path else None)
        while span is None and path:
            path = path[:-1]
            span = self.keys.get(path, self.values.get(path))
        lost = _COLOUR_LOST.search(self.lines[span.line - 1]) if span and finding.code == "value-missing" else None
        if span and lost:
            finding, span = Finding("colour-unquoted", finding.path), Span(span.line, lost.start("colour") + 1)
        return _at(self.file, self.lines, span or Span(1, 1), finding)


class Unreadable(Unusable):
    """The bytes are no strict YAML mapping."""


@dataclass(slots=True)
class _Node:
    """A value while the tree grows, and what is in it with aliases expanded: ``size`` values, ``depth`` deep."""

    span: Span
    value: str | list["_Node"] | dict[str, "_Node"] | None
    key_spans: dict[str, Span] = field(default_factory=dict)
    size: int = 1
    depth: int = 0
    key: tuple[str, Span] | None = None
    """The key that waits for its value, while a mapping is open."""


def read(file: str, data: bytes) -> Source:
    """Read one file's bytes. Raises ``Unreadable`` with every problem found up to where reading stops."""
    text, lines = _decode(file, data)
    grower = _Grower(file, lines)
    root = grower.grow(text)
    if root is None:
        raise Unreadable((_at(file, lines, Span(1, 1), Finding("file-empty")),))
    if not isinstance(root.value, dict):
        facts = {"found": describe(_plain(root)), "hint": "begin with `spokeleaf: 1`"}
        raise Unreadable((_at(file, lines, root.span, Finding("not-a-mapping", facts=facts)),))
    values: dict[Path, Span] = {}
    keys: dict[Path, Span] = {}
    for path, node, key_span in _walk(root):
        values[path] = node.span
        if key_span is not None:
            keys[path] = key_span
    tree = _plain(root)
    assert isinstance(tree, dict)  # noqa: S101
    return Source(file, lines, (*_LINE_END.findall(text), ""), tree, values, keys, in_order(grower.problems))


def _mend_numbers(values: dict[str, _Node], spans: dict[str, Span]) -> None:
    """In braces a comma ends a value, so that a number with a decimal comma becomes two: put it together as written."""
    for (key, node), (rest, empty) in itertools.pairwise(list(values.items())):
        whole = isinstance(node.value, Plain) and node.value.isdecimal()
        if whole and empty.value is None and empty.size == 1 and _CUT_AT_COMMA.fullmatch(rest):
            values[key] = replace(node, value=Plain(f"{node.value},{rest}"))
            del values[rest], spans[rest]


def describe(value: object) -> str:
    """What was found, in words for a message.

    >>> describe({}), describe("a"), describe(None)
    ('a mapping', '`a`', 'nothing')
    """
    if value is None:
        return "nothing"
    if isinstance(value, dict):
        return "a mapping"
    if isinstance(value, list | tuple):
        return "a list"
    text = str(value)
    short = text if len(text) <= 40 else text[:37] + "..."
    return f"`{short}`" if isinstance(value, Plain) or not short.replace(".", "").isdigit() else f'`"{short}"`'


def is_closed(text: str) -> bool:
    r"""Whether every mark of direction that opens something is closed in order.

    >>> is_closed("\u2067a\u2069"), is_closed("\u2067a")
    (True, False)
    """
    open_marks: list[str] = []
    for character in text:
        if character in _OPENING:
            open_marks.append(_OPENING[character])
        elif character in _OPENING.values() and (not open_marks or open_marks.pop() != character):
            return False
    return not open_marks


def failed(file: str, code: str, **facts: object) -> Problem:
    """A problem with a file as a whole."""
    return _at(file, (), Span(1, 1), Finding(code, facts=facts))


def unreadable(file: str, error: OSError) -> Problem:
    """A problem with a file that the system does not give."""
    return failed(file, "file-unreadable", reason=error.strerror or "unknown")


def _decode(file: str, data: bytes) -> tuple[str, tuple[str, ...]]:
    if len(data) > LARGEST_BYTES:
        raise Unreadable((failed(file, "file-too-large", most=LARGEST_BYTES),))
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        before = _LINE_END.split(data[: error.start].decode("utf-8", "replace"))
        span = Span(len(before), len(before[-1]) + 1)
        finding = Finding("not-utf-8", facts={"byte": f"0x{data[error.start]:02X}"})
        raise Unreadable((_at(file, (), span, finding),)) from error
    lines = tuple(_LINE_END.split(text))
    found = ((row, match) for row, line in enumerate(lines, 1) for match in _CONTROL.finditer(line))
    control = tuple(
        _at(
            file,
            (),
            Span(row, match.start() + 1),
            Finding("control-character", facts={"code_point": f"{ord(match[0]):04X}"}),
        )
        for row, match in itertools.islice(found, MOST_CONTROLS)
    )
    if control:
        raise Unreadable(control)
    return text, lines


class _Grower:
    """Grows the tree from the parser's events, with a stack of open mappings and lists."""

    def __init__(self, file: str, lines: tuple[str, ...]) -> None:
        self.file = file
        self.lines = lines
        self.problems: list[Problem] = []
        self.open: list[_Node] = []
        self.named: dict[str, _Node] = {}
        self.total = 0

    def grow(self, text: str) -> _Node | None:
        root: _Node | None = None
        documents = 0
        try:
            for event in yaml.parse(text, Loader=_EVENTS):
                if isinstance(event, yaml.DocumentStartEvent):
                    documents += 1
                    if documents > 1:
                        self._add(Finding("second-document"), _span(event, self.lines))
                        break
                elif isinstance(event, yaml.NodeEvent):
                    node = self._begin(event)
                    root = root or node
                elif isinstance(event, yaml.CollectionEndEvent):
                    self._end()
        except yaml.MarkedYAMLError as error:
            self._syntax(error)
            raise Unreadable(in_order(self.problems)) from error
        except _Stop as stop:
            raise Unreadable(in_order(self.problems)) from stop
        return root

    def _begin(self, event: yaml.NodeEvent) -> _Node:
        node = self._node(event)
        self.total += node.size
        if self.total > MOST_VALUES:
            self._stop(Finding("too-many-values", facts={"most": MOST_VALUES}), _span(event, self.lines))
        self._attach(node, event)
        if isinstance(event, yaml.CollectionStartEvent):
            self.open.append(node)
            if len(self.open) > DEEPEST:
                self._stop(Finding("too-deep", facts={"depth": len(self.open)}), node.span)
        return node

    def _node(self, event: yaml.NodeEvent) -> _Node:
        span = _span(event, self.lines)
        if isinstance(event, yaml.AliasEvent):
            return self._alias(str(event.anchor), span)
        tag = getattr(event, "tag", None)
        if tag is not None and not (isinstance(event, yaml.ScalarEvent) and tag == "!"):
            self._add(Finding("tag-refused", facts={"tag": tag}), span)
        value: str | list[_Node] | dict[str, _Node] | None
        if isinstance(event, yaml.ScalarEvent):
            if escaped := UNPRINTABLE.search(event.value):
                self._add(Finding("control-character", facts={"code_point": f"{ord(escaped[0]):04X}"}), span)
            bare = event.style is None or event.style == ""
            nothing = bare and event.value in {"", "~"}
            value = None if nothing else Plain(event.value) if bare else str(event.value)
        else:
            value = {} if isinstance(event, yaml.MappingStartEvent) else []
        node = _Node(span, value)
        if event.anchor is not None:
            self.named[str(event.anchor)] = node
        return node

    def _alias(self, name: str, span: Span) -> _Node:
        named = self.named.get(name)
        if named is None:
            self._add(Finding("alias-unknown", facts={"name": name}), span)
            return _Node(span, None)
        if any(node is named for node in self.open):
            self._stop(Finding("alias-of-itself", facts={"name": name}), span)
        if (depth := len(self.open) + named.depth) > DEEPEST:
            self._stop(Finding("too-deep", facts={"depth": depth}), span)
        return named

    def _attach(self, node: _Node, event: yaml.NodeEvent) -> None:
        if not self.open:
            return
        parent = self.open[-1]
        if isinstance(parent.value, list):
            parent.value.append(node)
        elif isinstance(parent.value, dict) and parent.key is None:
            self._key(parent, node, event)
        elif isinstance(parent.value, dict) and parent.key is not None:
            name, span = parent.key
            parent.key = None
            parent.value.setdefault(name, node)
            parent.key_spans.setdefault(name, span)

    def _key(self, parent: _Node, node: _Node, event: yaml.NodeEvent) -> None:
        name = node.value if isinstance(node.value, str) and isinstance(event, yaml.ScalarEvent) else None
        if name is None:
            self._stop(Finding("key-not-text"), node.span)
        elif name in parent.key_spans:
            self._add(Finding("key-twice", facts={"key": name, "line": parent.key_spans[name].line}), node.span)
        parent.key = (str(name), node.span)

    def _end(self) -> None:
        node = self.open.pop()
        if isinstance(node.value, dict):
            _mend_numbers(node.value, node.key_spans)
        children = list(node.value.values() if isinstance(node.value, dict) else node.value or [])
        nodes = [child for child in children if isinstance(child, _Node)]
        node.size += sum(child.size for child in nodes)
        node.depth = 1 + max((child.depth for child in nodes), default=0)

    def _syntax(self, error: yaml.MarkedYAMLError) -> None:
        # A quote that is not closed is a problem for the parser where the file ends, and for people where it opens.
        mark: Any = (error.context == _IN_QUOTES and error.context_mark) or error.problem_mark or error.context_mark
        row = min(mark.line, len(self.lines) - 1) if mark else 0
        column = mark.column + 1 if mark and row == mark.line else len(self.lines[row]) + 1
        for earlier in range(row, -1, -1):
            lost = _COLOUR_LOST.search(self.lines[earlier])
            if lost and not self.lines[earlier].lstrip().startswith("#"):
                self._add(Finding("colour-unquoted"), Span(earlier + 1, lost.start("colour") + 1))
                return
        line = self.lines[row]
        if error.problem == _NO_MAPPING and _COLON_IN_TEXT.match(line):
            self._add(Finding("colon-in-text"), Span(row + 1, column))
            return
        if "\t" in line[: len(line) - len(line.lstrip())]:
            self._add(Finding("tab-indent"), Span(row + 1, line.index("\t") + 1))
        else:
            self._add(_syntax_finding(error, line, column), Span(row + 1, column))

    def _add(self, finding: Finding, span: Span) -> None:
        self.problems.append(_at(self.file, self.lines, span, finding))

    def _stop(self, finding: Finding, span: Span) -> None:
        self._add(finding, span)
        raise _Stop


def _syntax_finding(error: yaml.MarkedYAMLError, line: str, column: int) -> Finding:
    """What the parser says of a line at a column, with what is most likely to be done about it."""
    if error.context == _IN_QUOTES:
        facts = {"reason": "a quote is not closed", "hint": "end the text with the quote that it begins with"}
        return Finding("yaml-syntax", facts=facts)
    before = line[: column - 1]
    # Further on in its line something else is wrong: a quote or bracket too many.
    indent = not before.strip() if error.context in _IN_BLOCKS else error.problem == _NO_MAPPING and ":" not in before
    above = "the `-` of the item" if line.lstrip().startswith("- ") else "the first letter of the key"
    hint = (
        f"begin this line under {above} above it, and count the spaces"
        if indent
        else "look at this line and the one above it: indents, brackets, quotes"
    )
    return Finding("yaml-syntax", facts={"reason": error.problem or "it ends too early", "hint": hint})


class _Stop(Exception):
    """Reading any further would be unsafe or senseless."""


def _span(event: yaml.Event, lines: tuple[str, ...]) -> Span:
    start: Any = event.start_mark
    end: Any = event.end_mark
    row = min(start.line, len(lines) - 1)
    same_line = end.line == start.line and not isinstance(event, yaml.CollectionStartEvent)
    length = end.column - start.column if same_line else 1
    return Span(row + 1, start.column + 1, max(1, length))


def _walk(root: _Node) -> Iterator[tuple[Path, _Node, Span | None]]:
    """Every value below the root with its path, and its key's span where it has one."""
    waiting: list[tuple[Path, _Node, Span | None]] = [((), root, None)]
    while waiting:
        path, node, key_span = waiting.pop()
        yield path, node, key_span
        if isinstance(node.value, dict):
            waiting += [((*path, name), child, node.key_spans[name]) for name, child in node.value.items()]
        elif isinstance(node.value, list):
            waiting += [((*path, index), child, None) for index, child in enumerate(node.value)]


def _plain(node: _Node) -> object:
    if isinstance(node.value, dict):
        return {name: _plain(child) for name, child in node.value.items()}
    if isinstance(node.value, list):
        return [_plain(child) for child in node.value]
    return node.value


def _at(file: str, lines: tuple[str, ...], span: Span, finding: Finding) -> Problem:
    text = lines[span.line - 1] if 0 < span.line <= len(lines) else ""
    return place(finding, file, span, text)
