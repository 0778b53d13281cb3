"""Inputs for every reader: mostly sound files with something changed in them, so that what comes after is reached.

``inputs`` draws bytes for a reader. Files of YAML are trees first: a sound tree, changed here and there, written out;
then any file may be changed in its bytes. Seeds are changed in the same ways.
"""

import copy
import json
import sqlite3
import string
from collections.abc import Callable, Mapping
from contextlib import closing
from functools import cache
from typing import Any
from urllib.parse import urlencode

import yaml
from hypothesis import strategies as st

from tests.conftest import EXAMPLE
from tests.fuzz.seeds import seeds
from tests.test_notation import random_pattern

Tree = Any
ODD: tuple[Tree, ...] = (
    None, True, False, "", " ", "~", "no", 0, 1, 2, 3, 5, 7, 12, 24, 1000, 1001, 2000, -1, 10**15, 10**40, 0.5, 1e-9,
    1e12, 1e308, "1e999", ".inf", ".nan", "0 mm", "1 mm", "39.9 mm", "40 mm", "0.000000001 mm", "999999999 m", "100%",
    "0%", "9,5 mm", "tight", "A", "Z", "AA", "#000000", "#ffffff", "2026-02-30", "0001-01-01", "https://a.example",
    "a" * 5000, "{", "{}", "{size}", "{0}", "%s", "\u2028", "\u0085", "\u202e", "\ud7ff", "\U0001f9f6", "é\u0301",
    [], {}, [[]], [None], [1, 2, 3], [{"pass": 3}], [{"pass": 3}, 4], {"a": 1}, ["A", "B"], ["5 mm", "8 mm"],
    "circle", "half-circle", "knot", "trial",
)  # fmt: skip
"""Values that stand at an edge of what some field takes, or beyond it."""
KEYS = (
    "", "a", "A", "at", "to", "close", "part", "rows", "stitch", "parameters", "threads", "copy", "model_config", "_a",
    "__class__", "1", "true", "x" * 300, "a b", "é", "pass", "from", "kind", "rays", "shift", "over", "size", "A4 mm",
)  # fmt: skip
BITS = (
    b"\n", b"\r", b"\t", b"  ", b"\x00", b"\xff", b"\xef\xbb\xbf", b"\xc2\x85", b"\xe2\x80\xa8", b"#", b": ", b"- ",
    b"[", b"]", b"{", b"}", b"&a ", b"*a", b"<<: *a", b"!!set ", b"--- ", b"...", b"|", b">", b"'", b'"', b"\\",
    b"%YAML 9.9\n", b"? ", b"msgid ", b"msgstr[9] ", b'"', b"#~ ", b"#| ", b"#, fuzzy\n", b"<", b"/>", b"&#0;", b"=",
    b"1e400", b"99999999999999999999", b"-", b"nan", b"\x7f\xff\xff\xff", b"\x00\x00\x00\x00",
)  # fmt: skip
EXTRAS: Mapping[str, tuple[Tree, ...]] = {
    "summary": ("One sentence.",),
    "web": ({"thread": "A"}, {"thread": "B"}),
    "holding_thread": ({"fibre": "linen", "metres": 120, "grams": 10, "colour": "#999999", "colour_name": "grey"},),
    "finish": ({"stiffen": "always"},),
    "tools": (["blunt-needle", "a hook"],),
    "working_length": ("60 in", "1 mm", "150 mm"),
    "tails": ({"start": "0 mm", "finish": "1 m", "rejoin": "99 mm"},),
    "give": ({"pin": "0 mm", "fibre_pct": 0, "slack_pct": 0}, {"pin": "2 mm", "fibre_pct": 50}),
    "measured": ({"A": "7.4 m"}, {"A": "1 mm"}),
    "accepts": ({"thread-short": "worked"}, {"rays-do-not-divide": "no"}, {"knots-close": "soft", "odd-pins": "so"}),
    "photos": ([{"file": "a.jpg", "alt": "A wheel", "place": "steps"}],),
    "links": ([{"url": "https://a.example/" + "b" * 900, "label": "More"}],),
    "sizes": ([{"name": "S", "loom": {"diameter": "60 mm", "pins": 42}}], [{"name": "L", "loom": {"pins": 7}}]),
    "assembly": ({"layout": "hex", "columns": 5, "rows": 4, "joins": 3}, {"layout": "grid", "columns": 1000,
                 "rows": 1000, "joins": 1}, {"layout": "strip", "columns": 2, "rows": 2, "joins": 1000}),
    "corrections": ([{"edition": 2, "text": "Moved."}],),
    "price": ({"amount": "6.50", "currency": "EUR"},),
    "tags": (["beginner"],),
    "loom": ("trial", {"shape": "circle", "diameter": "80 mm", "pins": 1000}, {"shape": "circle", "diameter": "3 m",
             "pins": 6}, {"shape": "oval", "width": "3 m", "height": "1 mm", "pins": 24}),
    "language": ("pt-BR", "zh-Hans"),
}  # fmt: skip
"""Other keys of a pattern, sound by themselves."""


def _paths(tree: Tree, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """Every place in a tree below its root."""
    steps = tree.items() if isinstance(tree, dict) else enumerate(tree) if isinstance(tree, list) else ()
    return [found for step, inner in steps for found in ((*path, step), *_paths(inner, (*path, step)))]


def _at(tree: Tree, path: tuple[Any, ...]) -> Tree:
    for step in path:
        tree = tree[step]
    return tree


def _odd(draw: st.DrawFn) -> Tree:
    return copy.deepcopy(draw(st.sampled_from(ODD)))


@st.composite
def changed(draw: st.DrawFn, tree: Tree) -> Tree:
    """A tree with up to three places changed: another value, one from elsewhere, a key more, renamed or gone."""
    tree = json.loads(json.dumps(tree, default=str))
    for _ in range(draw(st.sampled_from((0, 1, 1, 1, 2, 3)))):
        paths = _paths(tree)
        if not paths:
            break
        path = draw(st.sampled_from(paths))
        holder, step = _at(tree, path[:-1]), path[-1]
        kind = draw(st.sampled_from(("odd", "odd", "number", "elsewhere", "gone", "more", "renamed")))
        if kind == "gone":
            del holder[step]
        elif kind in {"more", "renamed"} and isinstance(holder, dict):
            other = holder.pop(step) if kind == "renamed" else _odd(draw)
            holder[draw(st.sampled_from(KEYS))] = other
        elif kind == "elsewhere":
            holder[step] = json.loads(json.dumps(_at(tree, draw(st.sampled_from(paths)))))
        elif kind == "number" and isinstance(holder[step], int | float):
            holder[step] = draw(st.integers(0, 130))
        else:
            holder[step] = _odd(draw)
    return tree


@st.composite
def spoiled(draw: st.DrawFn, data: bytes) -> bytes:
    """Bytes with up to four pieces cut out, put in, or taken from elsewhere."""
    for _ in range(draw(st.integers(0, 4))):
        start, cut = draw(st.integers(0, len(data))), draw(st.sampled_from((0, 0, 1, 1, 2, 4, 16, 400)))
        piece = draw(st.sampled_from(BITS) | st.binary(max_size=4))
        if draw(st.integers(0, 5)) == 0:
            begin = draw(st.integers(0, len(data)))
            piece = data[begin : begin + draw(st.integers(1, 400))]
        data = data[:start] + piece + data[start + cut :]
    return data


def _written(tree: Tree) -> st.SearchStrategy[bytes]:
    """A tree as YAML in block or flow, now and then as JSON."""
    return st.sampled_from((False, False, None, True)).map(
        lambda flow: (
            json.dumps(tree, ensure_ascii=False).encode("utf-8", "surrogatepass")
            if flow
            else yaml.dump(tree, Dumper=yaml.CSafeDumper, sort_keys=False, allow_unicode=True, default_flow_style=flow,
                           width=200).encode("utf-8", "surrogatepass")
        )
    )  # fmt: skip


@st.composite
def _pattern(draw: st.DrawFn) -> Tree:
    """A pattern whose counts divide, and some other keys."""
    tree = random_pattern(draw(st.randoms(use_true_random=False)), EXAMPLE)
    for key in draw(st.lists(st.sampled_from(sorted(EXTRAS)), max_size=4, unique=True)):
        tree = tree | {key: draw(st.sampled_from(EXTRAS[key]))}
    return tree


@cache
def _trees(reader: str) -> tuple[Tree, ...]:
    """The seeds of a reader as trees, glyphs and panels cut short; none with aliases, which would have to be expanded."""
    found = []
    for data in (data for data in seeds(reader) if b"&" not in data):
        try:
            tree = yaml.safe_load(data)
        except (yaml.YAMLError, ValueError):
            continue
        if isinstance(tree, dict):
            short = {key: value[:1] for key, value in tree.items() if key in {"glyph", "panels"} and value}
            found.append({str(key): value for key, value in (tree | short).items()})
    return tuple(found)


@st.composite
def _stitch(draw: st.DrawFn) -> Tree:
    """A stitch that is called, behaves and is told otherwise."""
    tree = copy.deepcopy(draw(st.sampled_from([tree for tree in _trees("symbol") if "parameters" in tree])))
    tree["stitch"] = draw(st.sampled_from(("own", "own", "model-fields", "1-a", *KEYS)))
    number = st.sampled_from((0, 1, 2, 4, 48, 2000, 2001, -3, 10**14))
    more = {
        "behaviour": st.sampled_from(("gather", "edge", "weave", "coil", "block")),
        "distance": st.sampled_from(("required", "optional", "none")),
        "back": st.booleans(), "tight": st.booleans(), "replaces": st.booleans(),
        "rows": st.fixed_dictionaries({"default": number}),
        "edge": st.fixed_dictionaries({"rays": number, "shift": number}),
        "take_up": st.fixed_dictionaries({"turns": st.sampled_from((0, -1, 1e12, 2)), "thicknesses": number}),
    }  # fmt: skip
    for key in draw(st.lists(st.sampled_from(sorted(more)), max_size=2, unique=True)):
        tree[key] = draw(more[key])
    form = st.fixed_dictionaries(
        {"kind": st.sampled_from(("count", "shift", "sizes", "length", "choice")), "about": st.just("x")},
        optional={"default": number, "least": number, "most": number, "required": st.booleans(),
                  "choices": st.sampled_from(([], ["a"], ["bar", "leaf"], ["a", "a"]))},
    )  # fmt: skip
    names = st.sampled_from(("rays", "shift", "over", "under", "as", "parity", "inset", "height", "own", *KEYS))
    return tree | {"parameters": tree["parameters"] | draw(st.dictionaries(names, form, max_size=2))}


@st.composite
def _po(draw: st.DrawFn) -> bytes:
    """A catalogue of the messages that it is held against, and others."""
    texts = st.sampled_from(("", "Knoten", "{count} Speichen", "{counts}", "{", "\u202ealt", "<b>", "\\n", "\\", "\\q",
                             "\\x07", "12", "kn", "a\nb")) | st.text(max_size=8)  # fmt: skip
    rule = draw(st.sampled_from(("nplurals=2; plural=(n != 1);", "nplurals=2; plural=n/0;", "nplurals=2; plural=n%0;",
        "nplurals=1; plural=0;", "nplurals=9; plural=n;", "nplurals=2;", "plural=n;", "nplurals=x; plural=y;",
        f"nplurals=2; plural={'(' * 300}n{')' * 300};", "nplurals=99999999999; plural=n", "nplurals=2; plural=-n;",
        "nplurals=2; plural=n?1:0;", "")))  # fmt: skip
    charset = draw(st.sampled_from(("utf-8", "utf-8", "utf-8", "latin-1", "utf-16", "idna", "nonsense", "base64", "")))
    head = {"Plural-Forms": rule, "Content-Type": f"text/plain; charset={charset}", "Language": "de"}
    head |= draw(st.dictionaries(st.sampled_from(("PO-Revision-Date", "POT-Creation-Date", "Last-Translator", "Language",
        "Project-Id-Version", "Language-Team", "Plural-Forms")), texts, max_size=2))  # fmt: skip
    lines = ['msgid ""', 'msgstr ""', *(f'"{name}: {value}\\n"' for name, value in head.items()), ""]
    for context, one, other in draw(st.lists(st.sampled_from((("knot: name", "Knot", None), ("knot: short", "kn", None),
        ("facts", "{count} ray", "{count} rays"), ("first-frost", "First Frost", None), ("gone", "Gone", None)
        )), max_size=5)):  # fmt: skip
        lines += draw(st.lists(st.sampled_from(("# edition: 99999999999999", "# edition: 1", "#, fuzzy", "#, fuzzy, x",
            '#| msgid "Knots"', '#| msgctxt "a"', "#: a.py:1", "#: \u2068a b.py\u2069:x", "#. Title of the pattern.",
            '#~ msgid "Old"', '#~ msgstr "Alt"')), max_size=2))  # fmt: skip
        lines += [f'msgctxt "{context}"', f'msgid "{one}"']
        lines += [f'msgid_plural "{other}"'] if other else []
        forms = draw(st.lists(st.integers(0, 12), min_size=1, max_size=3)) if other else [None]
        lines += [f'msgstr{"" if form is None else f"[{form}]"} "{draw(texts)}"' for form in forms] + [""]
    return "\n".join(lines).encode("utf-8", "surrogatepass")


@st.composite
def _svg(draw: st.DrawFn) -> bytes:
    """Shapes with numbers of all kinds."""
    number = st.sampled_from(
        ("0", "1", "12.5", "-3", "1e9", "1e400", "1e-9", "", "10%", "5px", "x", ".5.5", "nan", "inf")
    )
    path = st.lists(st.sampled_from(tuple("MmLlHhVvCcSsQqTtAaZz ,")) | number, max_size=24).map(" ".join)
    attributes = {"path": ("d",), "rect": ("x", "y", "width", "height", "rx", "ry"), "circle": ("cx", "cy", "r"),
                  "ellipse": ("cx", "cy", "rx", "ry"), "polygon": ("points",)}  # fmt: skip
    fill = st.sampled_from(("#000", "#1b4f72", "none", "black", "red", "currentColor", "url(#a)", ""))
    shapes = []
    for kind in draw(st.lists(st.sampled_from(sorted(attributes)), min_size=1, max_size=4)):
        given = [f'{name}="{draw(path if name in {"d", "points"} else number)}"' for name in attributes[kind]]
        shapes.append(f'<{kind} {" ".join(given)} fill="{draw(fill)}"/>')
    deep = draw(st.sampled_from((0, 0, 1, 3000)))
    svg = f'<svg xmlns="http://www.w3.org/2000/svg">{"<g>" * deep}{"".join(shapes)}{"</g>" * deep}</svg>'
    return svg.encode()


@st.composite
def _notation(draw: st.DrawFn) -> bytes:
    """Lines of demos with other tokens in them."""
    lines = [line.split("\t") for line in draw(st.sampled_from(seeds("notation"))).decode().split("\n")]
    known = sorted({token for line in lines for token in line})
    odd = ("[knot]", "[rows]", "[gap]", "[to]", "[part]", "[nothing]", "value:99999999999", "value:-1", "value:1 2 3",
           "value:0 mm", "value:nan", "value:inf mm", "value:1e308 mm", "(0) 1 (2) x 3", "thread:Z", "times:×0", "group:",
           "group:(3)", "group:0+0", "value:" + "9" * 5000)  # fmt: skip
    for _ in range(draw(st.integers(0, 3))):
        line = draw(st.sampled_from(lines))
        where = draw(st.integers(0, len(line)))
        line[where : where + draw(st.integers(0, 1))] = [draw(st.sampled_from((*odd, *known)))]
    return "\n".join("\t".join(line) for line in lines).encode()


@st.composite
def _ledger(draw: st.DrawFn) -> bytes:
    """A ledger with other values in its entries."""
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as base:
        base.deserialize(seeds("ledger")[-1])
        for _ in range(draw(st.integers(1, 3))):
            column = draw(st.sampled_from(("name", "inputs", "hash", "catalogues", "said", "asked", "size", "bytes")))
            value = draw(st.sampled_from((None, "", "[", "[1]", "{}", "null", b"\xff", 1.5, "[" * 5000)))
            change = f"update or ignore leaflets set {column} = ? where rowid = ?"  # noqa: S608
            base.execute(change, (value, draw(st.integers(1, 40))))
        base.execute(f"pragma user_version = {draw(st.sampled_from((0, 1, 1, 1, 2)))}")
        return bytes(base.serialize())


_LENGTHS = st.tuples(
    st.sampled_from(("", "-", " ", "+", "Nm ", "Ne")),
    st.sampled_from(("0", "12", "1.5", "0.000001", "9" * 30, "1,5", ".5", "1.", "１２", "٣")),
    st.sampled_from(("", " ", "\u00a0", "\t\n")),
    st.sampled_from(("", "mm", "cm", "m", "in", "%", "tex", "dtex", "ne", "nm", "denier", "μm", "mm mm")),
).map(lambda parts: "".join(parts).encode())
_QUERIES = st.lists(
    st.tuples(
        st.sampled_from(
            ("pattern", "locale", "paper", "pins", "diameter", "width", "side", "thread-A", "thread-ß", "x")
        ),
        st.sampled_from(("low-sun", "de", "a4", "60", "1000", "7", "0.1", "1e9", "nan", "", "9" * 20, "\x00", "é")),
    ),
    max_size=5,
).map(lambda pairs: urlencode(pairs).encode())

_OWN: Mapping[str, Callable[[], st.SearchStrategy[bytes]]] = {
    "pattern": lambda: _pattern().flatmap(changed).flatmap(_written),
    "symbol": lambda: _stitch().flatmap(_written),
    "catalogue": _po,
    "logo": _svg,
    "notation": _notation,
    "ledger": _ledger,
    "length": lambda: _LENGTHS | st.text(string.printable, max_size=12).map(str.encode),
    "query": lambda: _QUERIES,
}
_TREES = frozenset({"pattern", "symbol", "loom", "publisher", "locale", "glossary"})


def inputs(reader: str) -> st.SearchStrategy[bytes]:
    """Bytes for a reader."""
    ways = [st.sampled_from(seeds(reader)).flatmap(spoiled)]
    if reader in _TREES:
        ways.append(st.sampled_from(_trees(reader)).flatmap(changed).flatmap(_written))
    if reader in _OWN:
        ways += [_OWN[reader](), _OWN[reader](), _OWN[reader]().flatmap(spoiled)]
    return st.one_of(ways)
