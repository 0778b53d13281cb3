"""Change values of a file that was read, and leave everything else as it is: comments, order, spaces."""

import re
from collections.abc import Iterable, Mapping
from typing import Final

from pipeline.problems import Path, Span
from pipeline.source import Source

_ANCHOR: Final = re.compile(r"&\S+\s+")


def rewrite(source: Source, values: Mapping[Path, str], *, drop: Iterable[str] = ()) -> str:
    """The file's text with other values at these paths; keys of the top level in ``drop`` are left out.

    A value that is not written yet is put first into its mapping. Values stand on one line, as numbers, lengths and
    words do.
    """
    lines = list(source.lines)
    edits = [(source.values[path], text) for path, text in values.items() if path in source.values]
    for span, text in sorted(set(edits), key=lambda edit: (edit[0].line, edit[0].column), reverse=True):
        line = lines[span.line - 1]
        start = span.column - 1
        old = line[start : start + span.length]
        named = _ANCHOR.match(old)
        lines[span.line - 1] = line[:start] + (named[0] if named else "") + text + line[start + span.length :]
    for path, text in values.items():
        if path not in source.values:
            _insert(lines, source.values[path[:-1]], f"{path[-1]}: {text}", source.ends[0] or "\n")
    dropped = {row for key in drop if (key,) in source.keys for row in range(*_block(source, key))}
    ended = zip(lines, source.ends, strict=True)
    return "".join(line + end for row, (line, end) in enumerate(ended) if row not in dropped)


def _insert(lines: list[str], mapping: Span, entry: str, end: str) -> None:
    """Put an entry first into a mapping that begins at a span; ``end`` is what ends a line."""
    line, start = lines[mapping.line - 1], mapping.column - 1
    if line[start : start + 1] == "{":
        rest = line[start + 1 :].lstrip()
        lines[mapping.line - 1] = line[: start + 1] + entry + ("" if rest.startswith("}") else ", ") + rest
    else:
        lines[mapping.line - 1] = line[:start] + entry + end + " " * start + line[start:]


def _block(source: Source, key: str) -> tuple[int, int]:
    """The lines of a key of the top level, from 0, up to the next such key or the remarks that stand before it."""
    first = source.keys[key,].line - 1
    later = [span.line - 1 for path, span in source.keys.items() if len(path) == 1 and span.line - 1 > first]
    last = min(later, default=len(source.lines))
    while not source.lines[last - 1].strip() or source.lines[last - 1].startswith("#"):
        last -= 1
    return first, last
