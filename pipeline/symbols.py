"""Stitches and signs as data: one YAML file each, below ``symbols/``.

``load`` reads the shipped folder and lays a workspace's own over it; ``parse`` reads one file. Here are the rules that
a model cannot say: which parameters a behaviour needs and which it may have.
"""

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from pydantic import ValidationError

from pipeline.fields import Record, findings_of, missing_values
from pipeline.pattern_model import RESERVED, ParameterForm, StitchForm
from pipeline.problems import Finding, Problem, Unusable, nearest
from pipeline.records import Round
from pipeline.source import LARGEST_BYTES, Source, Unreadable, read, unreadable
from pipeline.symbol_model import Sign, Stitch, Symbol
from pipeline.workspace import contents


@dataclass(frozen=True, slots=True)
class SymbolSet:
    """All symbols of a workspace, by id."""

    stitches: Mapping[str, Stitch]
    signs: Mapping[str, Sign]
    own: frozenset[str] = frozenset()
    """Ids of those that a workspace brought."""
    sign_ids: frozenset[str] = frozenset()
    """Ids of all signs, also of those that were passed over."""

    @property
    def forms(self) -> tuple[StitchForm, ...]:
        """What rounds may say."""
        return tuple(stitch.form for stitch in self.stitches.values())

    def symbol(self, symbol_id: str) -> Symbol:
        """The stitch or sign of this id."""
        return self.stitches.get(symbol_id) or self.signs[symbol_id]

    @property
    def everything(self) -> Mapping[str, Symbol]:
        """Stitches and signs together."""
        return {**self.stitches, **self.signs}

    def meant(self, symbol_id: str) -> tuple[Stitch, Mapping[str, str]]:
        """The stitch a glyph stands for in a notation line, and the choice it shows. Raises ``KeyError``."""
        if symbol_id in self.stitches:
            return self.stitches[symbol_id], {}
        meanings: dict[str, tuple[Stitch, Mapping[str, str]]] = {
            sign: (stitch, {parameter: word})
            for stitch in self.stitches.values()
            for parameter, signs in stitch.shown_by.items()
            for word, sign in signs.items()
        }
        return meanings[symbol_id]


class Broken(Unusable):
    """Some symbol files cannot be used."""


def load(folders: Iterable[Path], *, shipped_signs: bool = True) -> SymbolSet:
    """Read all symbol files of these folders: the shipped first, then a workspace's own. Raises ``Broken``.

    Patterns are checked without the shipped signs, which are many and known to be sound. No stitch replaces a sign: the
    two could not be told apart in a line of notation.
    """
    found: dict[str, Stitch | Sign] = {}
    known: set[str] = set()
    own: set[str] = set()
    problems: list[Problem] = []
    for layer, folder in enumerate(folders):
        for file in sorted(folder.glob("*.yaml")):
            try:
                data = contents(file, LARGEST_BYTES)
                if not layer and not shipped_signs and data.startswith(b"sign:"):
                    known.add(file.stem)
                    continue
                source = read(str(file), data)
                symbol = parse(source)
            except (OSError, Unreadable, Broken) as error:
                problems += (unreadable(str(file), error),) if isinstance(error, OSError) else error.problems
                continue
            problems += source.locate(_place_rules(symbol, file.stem, known, found))
            found[symbol.id] = symbol
            own |= {symbol.id} if layer else set()
    if problems:
        raise Broken(tuple(problems))
    return _set_of(found, known, own)


def _set_of(found: Mapping[str, Stitch | Sign], known: set[str], own: set[str]) -> SymbolSet:
    stitches = {symbol_id: symbol for symbol_id, symbol in sorted(found.items()) if isinstance(symbol, Stitch)}
    signs = {symbol_id: symbol for symbol_id, symbol in sorted(found.items()) if isinstance(symbol, Sign)}
    return SymbolSet(stitches, signs, frozenset(own), frozenset(known | set(signs)))


def _place_rules(
    symbol: Stitch | Sign, stem: str, known: set[str], found: Mapping[str, Stitch | Sign]
) -> Iterator[Finding]:
    """Whether a symbol is in the file of its name, and takes the place of none it may not."""
    path = (_kind_of(symbol),)
    other_kind = isinstance(symbol, Stitch) and (symbol.id in known or isinstance(found.get(symbol.id), Sign))
    if other_kind or (symbol.id in known | set(found) and not symbol.replaces):
        yield Finding("symbol-shipped", path, {"id": symbol.id})
    if symbol.id != stem:
        yield Finding("symbol-not-file-name", path, {"id": symbol.id})


def parse(source: Source) -> Stitch | Sign:
    """The symbol in a source. Raises ``Broken``."""
    model: type[Stitch] | type[Sign] = Stitch if next(iter(source.tree), "") == "stitch" else Sign
    findings: list[Finding] = []
    symbol: Stitch | Sign | None = None
    try:
        symbol = model.model_validate(source.tree)
        findings += missing_values(source.tree)
        findings += _symbol_rules(symbol)
    except ValidationError as error:
        findings += findings_of(error, source.tree, model)
    if source.problems or findings or symbol is None:
        raise Broken(source.problems + source.locate(findings))
    return symbol


NEEDED: Final[Mapping[str, Mapping[str, str]]] = {
    "gather": {"rays": "sizes", "shift": "shift"},
    "edge": {},
    "weave": {"over": "count", "under": "count"},
    "coil": {"rays": "sizes", "shift": "shift"},
    "block": {"rays": "sizes", "shift": "shift", "as": "choice"},
}
"""Parameters that a stitch of each behaviour must have, and of which kind."""
_DISTANCES: Final[Mapping[str, tuple[str, str]]] = {
    **dict.fromkeys(("gather", "coil", "block"), ("required", "a round of it must say where it lies")),
    "edge": ("none", "it lies at the rim; move it with `inset`"),
}
"""What ``distance`` must be where a behaviour leaves no choice, and why."""


def _symbol_rules(symbol: Stitch | Sign) -> Iterator[Finding]:
    """What pydantic cannot say: reserved ids, and what each behaviour needs."""
    if isinstance(symbol, Sign):
        return
    if symbol.id in RESERVED or hasattr(Round, symbol.id.replace("-", "_")):
        yield Finding("symbol-reserved", ("stitch",), {"id": symbol.id})
    for name, parameter in symbol.parameters.items():
        yield from _parameter_rules(name, parameter)
    yield from _belonging(symbol)
    yield from _needs(symbol)
    if (symbol.behaviour == "edge") != (symbol.edge is not None):
        yield Finding("edge-rays", ("behaviour",))
    for name, words in WORDS.items():
        choices = symbol.parameters[name].choices if name in symbol.parameters else ()
        for index, word in enumerate(choices if symbol.behaviour in BELONG[name] else ()):
            if word not in words:
                facts = {"written": word, "expected": ", ".join(words), "hint": nearest(word, words)}
                yield Finding("not-one-of", ("parameters", name, "choices", index), facts)


def _belonging(symbol: Stitch) -> Iterator[Finding]:
    """Whether its keys and parameters mean something to a stitch of its behaviour."""
    wanted, hint = _DISTANCES.get(symbol.behaviour, (symbol.distance, ""))
    if symbol.distance != wanted:
        yield Finding("not-one-of", ("distance",), {"written": symbol.distance, "expected": wanted, "hint": hint})
    for key in ("tight", "back", "rows"):
        if getattr(symbol, key) and symbol.behaviour != "weave":
            facts = {"key": key, "hint": "it belongs to a stitch that behaves as weave"}
            yield Finding("key-unknown", (key,), facts, on_key=True)
    for name, behaviours in BELONG.items():
        if name in symbol.parameters and symbol.behaviour not in behaviours:
            facts = {"key": name, "hint": f"it belongs to a stitch that behaves as {' or '.join(behaviours)}"}
            yield Finding("key-unknown", ("parameters", name), facts, on_key=True)


def _needs(symbol: Stitch) -> Iterator[Finding]:
    """What a stitch of its behaviour cannot be worked without."""
    may_have = {name: kind for name, kind in MAY_HAVE.items() if name in symbol.parameters}
    for name, kind in {**may_have, **NEEDED[symbol.behaviour]}.items():
        if name not in symbol.parameters or symbol.parameters[name].kind != kind:
            facts = {"behaviour": symbol.behaviour, "name": name, "kind": kind}
            yield Finding("parameter-missing", ("parameters",), facts)
            continue
        parameter, path = symbol.parameters[name], ("parameters", name)
        if kind in _LEAST and not parameter.required and parameter.default is None:
            yield Finding(
                "key-missing", path, {"key": "default", "hint": "add `default:` or `required: true`"}, on_key=True
            )
        if kind == "count" and parameter.least < 1:
            yield Finding("number-too-small", (*path, "least"), {"value": parameter.least, "least": 1})


MAY_HAVE: Final[Mapping[str, str]] = {"inset": "length", "height": "length", "parity": "choice", "as": "choice"}
"""Parameters that mean something where they stand, and of which kind they are then."""
BELONG: Final[Mapping[str, tuple[str, ...]]] = {
    **dict.fromkeys(("rays", "shift"), ("gather", "coil", "block")),
    **dict.fromkeys(("over", "under", "parity"), ("weave",)),
    **dict.fromkeys(("inset", "height"), ("edge",)),
    "as": ("block",),
}
"""Parameters that the craft model knows by name, and how stitches behave that may have them."""
_LEAST: Final = {"count": 1, "sizes": 1, "shift": 0}
"""The smallest numbers of rays that a parameter of each kind can stand for."""


def _parameter_rules(name: str, parameter: ParameterForm) -> Iterator[Finding]:
    """A name that programs can call it by, and values that it may have."""
    path = ("parameters", name)
    if not re.fullmatch(PARAMETER_SHAPE, name) or hasattr(Record, name):
        facts = {"written": name, "expected": "the name of a parameter", "hint": "call it by another small word"}
        yield Finding("text-shape", path, facts, on_key=True)
    if parameter.kind == "choice" and not parameter.choices:
        yield Finding("choices-missing", path)
    default = parameter.default
    if default is None:
        return
    if parameter.kind not in _LEAST:
        facts = {"key": "default", "hint": f"a {parameter.kind} has none; delete it"}
        yield Finding("key-unknown", (*path, "default"), facts, on_key=True)
    elif default < (least := max(_LEAST[parameter.kind], parameter.least)):
        yield Finding("number-too-small", (*path, "default"), {"value": default, "least": least})
    elif default > parameter.most:
        yield Finding("number-too-large", (*path, "default"), {"value": default, "most": parameter.most})


PARAMETER_SHAPE: Final = r"[a-z][a-z0-9]{0,29}"
WORDS: Final[Mapping[str, tuple[str, ...]]] = {
    "as": ("bar", "leaf", "point"),
    "parity": ("skip", "half-ray", "pair-once"),
}
"""Words of choices that the craft model knows: outlines of a woven filling, ways out of an even count."""


def _kind_of(symbol: Stitch | Sign) -> str:
    return "stitch" if isinstance(symbol, Stitch) else "sign"
