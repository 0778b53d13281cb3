"""Problems: where they are, what they say, and how they are printed.

A rule elsewhere yields a ``Finding``: a code, the path of what it is about, and the facts. Here, and only
here, a code has its severity, its words and its hint (``RULES``). ``Source.locate`` turns the path into a
span and makes a ``Problem`` of it; ``render`` and ``as_json`` print that.
"""

import difflib
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from enum import StrEnum
from typing import Final

Path = tuple[str | int, ...]
"""Keys and list positions (from 0) from the root of a file to a value."""


class Severity(StrEnum):
    """How much a problem weighs: an error stops the build, a warning stops it with ``--strict``."""

    ERROR = "error"
    WARNING = "warning"
    NOTE = "note"


@dataclass(frozen=True, slots=True)
class Span:
    """A place in a file, counted from 1 in characters; ``length`` is for the mark under it."""

    line: int
    column: int
    length: int = 1


@dataclass(frozen=True, slots=True)
class Rule:
    """What a code says: ``message`` is the fact, ``hint`` the action; both are filled with a finding's facts."""

    severity: Severity
    message: str
    hint: str = ""


@dataclass(frozen=True, slots=True)
class Finding:
    """What a rule found, before it has a place in a file."""

    code: str
    path: Path = ()
    facts: Mapping[str, object] = field(default_factory=dict)
    on_key: bool = False
    """The key is at fault, not its value."""
    proposal: str = ""
    """Values that were tried and are good, as they would be written."""


@dataclass(frozen=True, slots=True)
class Problem:
    """A finding with its place and its words."""

    code: str
    severity: Severity
    file: str
    span: Span
    path: str
    message: str
    hint: str
    text: str = ""
    """The line it is about, as it stands in the file."""


class Unusable(Exception):
    """Something of the user's, or of the machine, cannot be used; ``problems`` says what and why.

    Where nobody catches it, it ends the run, and its problems are shown.
    """

    def __init__(self, problems: tuple[Problem, ...]) -> None:
        super().__init__(problems[0].message)
        self.problems = problems


def _error(message: str, hint: str = "") -> Rule:
    return Rule(Severity.ERROR, message, hint)


def _warning(message: str, hint: str = "") -> Rule:
    return Rule(Severity.WARNING, message, hint)


def _note(message: str, hint: str = "") -> Rule:
    return Rule(Severity.NOTE, message, hint)


RULES: Final[Mapping[str, Rule]] = {
    # Files
    "file-missing": _error("there is no such file", "{hint}"),
    "nothing-matches": _error("no file has a name like this", "check the name and the folder"),
    "ending-not-yaml": _warning(
        "folders and the catalogue find only files that end in .yaml", "rename it to `{name}.yaml`"
    ),
    "passed-over": _note("the file begins with `{key}`; it is no pattern and is passed over"),
    "file-unreadable": _error("the file cannot be read: {reason}", "check that it is a file and that you may read it"),
    "file-too-large": _error(
        "the file has more than {most} bytes",
        "such a file is a few kilobytes; is this the right one?",
    ),
    "file-empty": _error("nothing is written here", "begin with `spokeleaf: 1`"),
    "not-utf-8": _error("byte {byte} is not UTF-8 text", "save the file as UTF-8"),
    "control-character": _error("a control character, U+{code_point}, stands here", "delete it"),
    "yaml-syntax": _error("this is not YAML: {reason}", "{hint}"),
    "colon-in-text": _error(
        "a colon and a space in the middle of a text end it",
        'put the text in quotes: note: "Keep these loose: all of them"',
    ),
    "tab-indent": _error("a tab indents this line", "indent with spaces"),
    "colour-unquoted": _error(
        "what follows ` #` is a comment, so the colour is lost", 'put the colour in quotes: colour: "#1b4f72"'
    ),
    "second-document": _error("a second document begins here", "one file holds one pattern"),
    "too-deep": _error("lists and mappings stand {depth} deep", "a pattern needs six levels"),
    "too-many-values": _error("more than {most} values, aliases counted out", "a pattern needs a few hundred"),
    "alias-of-itself": _error("`*{name}` stands inside what it names", "write the value out"),
    "alias-unknown": _error("nothing is named `&{name}`", "write the value out"),
    "tag-refused": _error("the tag `{tag}` is not read", "delete the tag"),
    "key-not-text": _error("a key is one word of text", "write `name: value`"),
    "key-twice": _error("`{key}` stands twice; the first is in line {line}", "delete one of them"),
    # The publisher
    "colour-pale": _error(
        "`{colour}` stands out from white paper {contrast} times, less than {least}", "take a darker colour"
    ),
    "terms-contrary": _error("`{found}` says the opposite of `{other}`", "keep one of them"),
    "logo-unusable": _error("the logo `{file}` cannot be used: {reason}", "{hint}"),
    # Values
    "value-missing": _error("nothing stands after `{after}`", "give a value or delete the line"),
    "key-missing": _error("`{key}` is missing", "{hint}"),
    "key-unknown": _error("`{key}` is not known here", "{hint}"),
    "not-a-mapping": _error("found {found}, expected `name: value` lines", "{hint}"),
    "not-a-list": _error("found {found}, expected a list", "{hint}"),
    "not-text": _error("found {found}, expected text"),
    "text-empty": _error("the text is empty", "write something or delete the line"),
    "text-too-long": _error("the text has {length} characters, more than {most}", "shorten it"),
    "text-shape": _error("`{written}` is not {expected}", "{hint}"),
    "not-a-number": _error(
        "found {found}, expected a number", "write it with a point, without a unit and without quotes"
    ),
    "not-whole": _error("found {found}, expected a whole number", "write it in digits, without quotes"),
    "not-true-or-false": _error("found {found}, expected `true` or `false`"),
    "number-too-small": _error("{value} is too small: at least {least}"),
    "number-too-large": _error("{value} is too large: at most {most}"),
    "not-one-of": _error("`{written}` is none of {expected}", "{hint}"),
    "list-too-short": _error("the list has {length} items, expected at least {least}"),
    "list-too-long": _error("the list has {length} items, expected at most {most}"),
    "not-a-date": _error("`{written}` is not a date", "write year-month-day: 2026-03-14"),
    "not-a-colour": _error("`{written}` is not a colour", 'write six digits in quotes: "#1b4f72"'),
    "not-an-address": _error(
        "`{written}` is not a web address that can be printed",
        "begin it with https://, without name or password; at most {most} characters",
    ),
    # Lengths
    "unit-missing": _error("`{written}` has no unit", "write `{better}`"),
    "unit-unknown": _error("`{unit}` in `{written}` is no unit known here", "use mm, cm, m, in or %"),
    "decimal-comma": _error("`{written}` has a decimal comma", "write `{better}`"),
    "length-negative": _error("`{written}` is negative", "lengths are measured outward and are positive"),
    "length-unreadable": _error("`{written}` is not a length", "write a number and a unit: 12 mm"),
    "length-absurd": _error("`{written}` is longer than any lace", "check the unit"),
    "length-zero": _error("`{written}` is no distance", "write more than zero"),
    "percent-not-here": _error("`{written}` cannot be taken of anything here", "write millimetres: 12 mm"),
    # The pattern
    "other-version": _error("format {found}; this program reads format 1", "write `spokeleaf: 1`"),
    "kind-unknown": _error("the file begins with `{key}`", "a pattern begins with `spokeleaf: 1`"),
    "id-taken": _error("`{other}` has the id `{id}` too, and only that is shown", "give one of them another id"),
    "id-not-file-name": _warning("the id `{id}` is not the file's name", "call the file `{id}.yaml`"),
    "thread-weight-missing": _error(
        "no thickness is given", "give `tex`, or `metres` and `grams` of a ball, `ne`, `nm` or `denier`"
    ),
    "thread-weight-twice": _error("the thickness is given {times} times: {keys}", "keep one of them"),
    "put-up-half": _error("`{key}` needs `{other}` beside it", "a ball is given by its metres and its grams"),
    "thread-unknown": _error("there is no thread `{thread}`", "{hint}"),
    "tool-misspelt": _warning("`{tool}` is none of the tools that are drawn and translated", "did you mean `{meant}`?"),
    "thread-absurd": _error(
        "this makes a thread of {tex} tex; threads have {least} to {most}", "check the number and what it counts"
    ),
    "thread-unused": _warning("thread {thread} is not used", "use it in a round or delete it"),
    "working-length-too-short": _error(
        "a working length of {length} mm is used up by its ends ({ends} mm)",
        "make it longer than `tails: {{rejoin}}`",
    ),
    "stitch-missing": _error("no stitch is named in this round", "name one of {stitches}"),
    "stitch-twice": _error("two stitches in one round: {stitches}", "give each a round of its own"),
    "distance-missing": _error("`{stitch}` needs `at` or `gap`", "say how far out it lies: `gap: 8 mm`"),
    "distance-twice": _error("both `at` and `gap` are given", "keep one of them"),
    "distance-not-here": _error("`{stitch}` takes no `{key}`", "it lies at the rim; move it with `inset`"),
    "tight-not-here": _error("`{stitch}` cannot lie `tight`", "give a length: `at: 12 mm`"),
    "rows-not-here": _error("`{stitch}` has one row", "delete `rows`"),
    "key-not-here": _error("`{stitch}` takes no `{key}`", "delete `{key}`"),
    "list-not-here": _error("`{stitch}` takes one `{key}`, not a list", "keep one of them"),
    "band-missing": _error("`{stitch}` needs `to`", "say how far out it reaches, from the centre: `to: 20 mm`"),
    "part-too-wide": _error(
        "a part of {rays} rays repeats every {every} rays", "make `every` larger or `rays` smaller"
    ),
    "half-ray-not-here": _error(
        "a ray stays half laid only where the first round darns over 1 and under 1", "use `pair-once` or `skip`"
    ),
    "measure-not-here": _error("`{key}` is no measure of a loom of shape {shape}", "give {wanted}"),
    "pins-not-on-sides": _error(
        "{pins} pins do not share the sides of a {shape} evenly: they must divide by {divisor}",
        "take {fewer} or {more} pins",
    ),
    "loom-absurd": _error("`{written}` is larger than any loom, which is at most {most}", "check the unit"),
    "loom-unknown": _error("there is no loom `{loom}`", "{hint}"),
    "loom-broken": _error("the file of loom `{loom}` has errors", "check patterns/looms/{loom}.yaml"),
    "web-ring-missing": _error("{count} rings carry the web; it is laid on one", "mark one ring with `web: true`"),
    "mat-of-circles": _error("a mat is joined of circles, and this loom is a {shape}", "delete `assembly`"),
    "mat-pins-do-not-divide": _error(
        "in a {layout} mat the wheels meet at pins that divide by {divisor}; there are {pins}",
        "take another layout or other pins",
    ),
    "mat-too-large": _error(
        "{wheels} wheels joined at {joins} pins are more than the {most} places a mat is reckoned for",
        "take fewer wheels, or fewer joins",
    ),
    "joins-overlap": _error("{joins} joins at a side take pins of the next side", "take at most {most}"),
    "pattern-too-long": _error(
        "{rounds} rounds in {looms} sizes on so many pins take longer to be reckoned than somebody waits",
        "take at most {most} rounds, or fewer sizes",
    ),
    "only-passed": _error("this list ties no rays", "name at least one group size"),
    "code-unknown": _error("there is no warning `{found}`", "{hint}"),
    "error-not-acceptable": _error("`{found}` is an error and cannot be accepted", "mend what it is about"),
    "accepted-for-nothing": _note("no warning `{found}` occurs", "delete the line"),
    # Photographs
    "photo-missing": _error("there is no file `{file}`", "{hint}"),
    "photo-outside": _error(
        "`{file}` lies outside the folder of the pattern", "put a copy into `photos/` and name it: photos/wheel.jpg"
    ),
    "photo-unreadable": _error(
        "the file cannot be printed: {reason}", "open it in a picture program and save it anew as JPEG"
    ),
    "photo-format": _error(
        "found {found}, expected one picture in JPEG, PNG, TIFF or WebP",
        "save it as a JPEG, which every picture program does",
    ),
    "photo-too-large": _error(
        "the picture has {found}; at most {most} are read",
        "make it smaller: {wide} × {high} pixels fill its place on the page",
    ),
    "photo-coarse": _warning(
        "{pixels} pixels printed {width} mm wide are {dpi} dpi, fewer than {least}",
        "take a picture at least {wanted} pixels wide",
    ),
    "photo-title-twice": _error("`{file}` stands at the title already", "give one of them `place: steps`"),
    # The craft
    "odd-pins": _warning(
        "{pins} pins: none has an opposite, so the threads pass beside the centre",
        "take {fewer} or {more} pins, or say in `accepts` why",
    ),
    "rays-do-not-divide": _error("groups of {group} do not divide {rays} rays", "{hint}"),
    "shift-too-large": _error("a shift of {shift} goes round more than once", "rays are counted from 0 to {most}"),
    "nothing-tied": _error(
        "no group fits between ray {shift} and the last of {rays}", "make `shift` smaller or take smaller groups"
    ),
    "too-few-groups": _error("{groups} groups are tied; a round needs at least 3", "take fewer rays to a group"),
    "group-too-wide": _error(
        "a group of {group} rays is more than a third of the {rays}", "take at most {most} rays to a group"
    ),
    "group-too-narrow": _error("a ray alone has no other to be woven with", "take at least 2 rays to a group"),
    "round-not-outward": _error(
        "the round lies {radius} mm from the centre, its rays are already held at {held} mm", "move it outward"
    ),
    "round-outside-loom": _error("the round lies {radius} mm from the centre, the rim at {rim} mm", "move it inward"),
    "rib-not-forward": _error(
        "going back over {over} and forward under {under} gets nowhere", "`under` must be more than `over`"
    ),
    "part-does-not-divide": _error("parts every {every} rays do not divide {rays} rays", "{hint}"),
    "part-past-end": _error("the last part ends after the last of {rays} rays", "begin it earlier or make it narrower"),
    "distances-do-not-divide": _error(
        "{distances} distances in turn do not divide {groups} groups", "give as many as divide the groups"
    ),
    "band-reversed": _error(
        "the filling reaches from {inner} mm to {outer} mm", "`to` lies further out than it begins"
    ),
    "ribs-crowded": _error(
        "stitches stand {spacing} mm apart, less than their own {wanted} mm", "move the rows outward or begin `tight`"
    ),
    "parity-not-needed": _note(
        "{bundles} bundles are odd in number, so each row lies opposite to the last by itself", "delete `parity`"
    ),
    "rows-flattened": _note(
        "rows at {radius} mm lie closer than round threads can ({jam} mm)",
        "soft threads give; hard ones want fewer rows or more room",
    ),
    "inside-jam-limit": _warning(
        "rows at {radius} mm lie where the rays themselves fill the round ({limit} mm)",
        "begin further out: `at: tight`",
    ),
    "knots-close": _warning(
        "knots stand {spacing} mm apart, the thread wants {wanted} mm", "move the round outward or take larger groups"
    ),
    "knots-crowded": _error(
        "knots stand {spacing} mm apart, less than their own {wanted} mm",
        "move the round outward or take larger groups",
    ),
    "rounds-crowded": _warning(
        "the round lies {distance} mm from the one before, less than its thread of {thickness} mm", "move it outward"
    ),
    "edge-far-in": _warning(
        "the edge lies {inset} mm inside the rim, more than a quarter of the radius", "make `inset` smaller"
    ),
    "thread-short": _warning(
        "this round asks {budget} times the length its rays can give",
        "move it, take smaller groups, or leave fewer rounds before it",
    ),
    "thread-cannot-reach": _error(
        "this round asks {budget} times the length its rays can give",
        "move it, take smaller groups, or leave fewer rounds before it",
    ),
    "size-fails": _error("in size {name}: {message}", "change the size's loom, or the round"),
    "size-strained": _warning("in size {name}: {message}", "change the size's loom, or the round"),
    "measured-thread": _note(
        "thread {thread}: the sample took {measured} m, the estimate is {estimate} m ({percent} %)"
    ),
    # The leaflet
    "script-without-font": _error("no font for {script}", "install {package}"),
    "character-without-font": _error(
        "no font of locale `{locale}` has the character {characters}", "write it otherwise, or put a font into `fonts/`"
    ),
    # Locales and their catalogues
    "locale-folder": _error(
        "the locale `{tag}` lies in a folder called `{folder}`", "call the folder {wanted}, or name another locale"
    ),
    "checked-by-nobody": _error(
        "a locale that is `checked` has been read by somebody", "add `checked_by:` and the name"
    ),
    "locale-unknown": _error("`{tag}` is no locale of the CLDR", "write it like fi, pt-BR or zh-Hans"),
    "catalogue-unreadable": _error(
        "this is no PO file from here on: {reason}", "mend it, or take it from your editor anew"
    ),
    "plural-rule": _error(
        "the plural rule in the head is not that of the language, which has {count} forms: {forms}",
        "run `spokeleaf locale update`; it writes the rule anew and keeps your texts",
    ),
    "translation-missing": _error(
        "no translation of `{text}` ({context})", "translate it; an empty text prints in English"
    ),
    "translation-fuzzy": _error(
        "`{text}` changed, and its translation is to be looked at again", "mend it and take the mark off"
    ),
    "plural-forms": _error("{found} plural forms where the language has {count}: {forms}", "give each its text"),
    "plural-form-missing": _error("no text for the plural form `{form}` of `{text}`", "translate it"),
    "placeholder-lost": _error("{names} is lost in `{text}`", "keep every word in braces as it is"),
    "placeholder-unknown": _error(
        "`{text}` has {names}, which its message has not", "take only the words in braces that are there"
    ),
    "placeholder-broken": _error("a brace stands alone in `{text}`", "write words in braces whole, like {{count}}"),
    "text-markup": _error(
        "`{text}` has markup; texts are plain", "leave out < and >, and write characters as they are"
    ),
    "direction-open": _error(
        "a mark of direction is opened and not closed in `{text}`", "delete it; values are set apart by themselves"
    ),
    "number-in-text": _error(
        "`{text}` says {numbers}, which its message does not", "let the words in braces say the number"
    ),
    "glossary-word": _warning(
        "`{text}` names {thing} without the glossary's `{word}`", "use that word, or add this form to glossary.yaml"
    ),
    "glossary-not": _warning("`{text}` has `{word}`, which the glossary rules out for {thing}", "use `{use}`"),
    "short-form-twice": _error("`{short}` is short for {one} and for {other}", "give one of them another"),
    "short-form-name": _error("`{short}` is short for one sign and the name of another, {other}", "choose another"),
    "short-form-stitch": _error("`{short}` is the name of a stitch of the trade", "choose another"),
    "text-overflows": _error(
        "`{text}` does not fit its place on {paper} ({pattern})", "say it in fewer or shorter words"
    ),
    "text-untranslated": _note(
        "without translation into `{locale}` and printed as written: {count} of its texts",
        "translate them in locales/{folder}/LC_MESSAGES/patterns.po, those of your own stitches and signs in"
        " spokeleaf.po beside it; `spokeleaf locale add {locale}` begins both, `locale update` adds what is new",
    ),
    "output-exists": _error("`{place}` is there already", "name another file with --out, or delete it"),
    "locale-begun": _error(
        "`{place}` is there already", "`spokeleaf locale update` adds what is new to its catalogues"
    ),
    "no-cluster": _error("no cluster answers: {reason}", "{hint}"),
    "worker-died": _error(
        "the process that made its leaflets died, twice", "make this pattern alone and see what it says"
    ),
    "memory-short": _error(
        "there is not enough memory to make its leaflets", "work in fewer processes (--jobs), or end other programs"
    ),
    "leaflet-failed": _error("a bug of ours: {reason}", "report it with this file"),
    "another-run": _error("another run is at work in `{folder}`", "wait for it, or say another folder with --out"),
    "leaflet-differs": _error("`{place}` is not what is made of it now", "delete it and run again"),
    "output-unwritable": _error("`{place}` cannot be written: {reason}", "choose another folder with --out"),
    "glyphs-alike": _error(
        "the glyphs of `{one}` and `{other}` overlap by {overlap} on a poor copy",
        "redraw one of them until they overlap by 0.55 at most",
    ),
    "stroke-thin": _error("the stroke is {width} mm wide in a glyph of 5 mm, less than {least} mm", "make it wider"),
    "symbol-reserved": _error("`{id}` is a key of every round", "call the stitch something else"),
    "symbol-not-file-name": _error("the id `{id}` is not the file's name", "call the file `{id}.yaml`"),
    "symbol-shipped": _error("`{id}` is shipped with the program", "choose another id, or write `replaces: true`"),
    "parameter-missing": _error(
        "a stitch that behaves as `{behaviour}` needs the parameter `{name}`", "add `{name}: {{kind: {kind}}}`"
    ),
    "choices-missing": _error("a choice needs its words", "add `choices: [first, second]`; the first is the default"),
    "edge-rays": _error(
        "`edge: {{rays, shift}}` belongs to a stitch that behaves as `edge`, and to no other",
        "say which rays its knots take",
    ),
}
"""Every code, with its words. Severity is part of a code: none is a warning here and an error there."""

LONGEST_WORD: Final = 60
"""Characters of a word that are compared with known ones, which are all shorter."""
WORST_FIRST: Final = (Severity.ERROR, Severity.WARNING, Severity.NOTE)


def spell(path: Path) -> str:
    """A path as people write it.

    >>> spell(("rounds", 2, "knot", "rays"))
    'rounds[2].knot.rays'
    """
    steps = (f"[{step}]" if isinstance(step, int) else f".{step}" for step in path)
    return "".join(steps).removeprefix(".")


def nearest(word: str, known: Iterable[str]) -> str:
    """A hint that names the known word nearest to ``word``, else all of them (if they are few).

    >>> nearest("knott", ["knot", "darn"])
    'did you mean `knot`?'
    """
    words = sorted(known)
    if close := closest(word, words):
        return did_you_mean(close)
    return "known here: " + ", ".join(words) if len(words) <= 40 else ""


def closest(word: str, known: Iterable[str]) -> str | None:
    """The known word nearest to ``word``, if one is near."""
    close = difflib.get_close_matches(word[:LONGEST_WORD], known, n=1, cutoff=0.6)
    return close[0] if close else None


def did_you_mean(word: str) -> str:
    """The hint that names a known word."""
    return f"did you mean `{word}`?"


def without_echoes(findings: Iterable[Finding]) -> list[Finding]:
    """Findings without those that are mended with another.

    A key is missing because it stands there misspelt; a file has not the name of an id that is itself none.
    """
    found = list(findings)
    meant = {(finding.path[:-1], finding.facts["hint"]) for finding in found if finding.code == "key-unknown"}
    unshaped = {finding.path for finding in found if finding.code == "text-shape"}
    return [
        finding
        for finding in found
        if not (
            (finding.code == "key-missing" and (finding.path, did_you_mean(str(finding.facts["key"]))) in meant)
            or (finding.code == "id-not-file-name" and finding.path in unshaped)
        )
    ]


def place(finding: Finding, file: str, span: Span, text: str) -> Problem:
    """Give a finding its place and its words."""
    rule = RULES[finding.code]
    hint = rule.hint.format(**finding.facts)
    if finding.proposal:
        hint = "; ".join(words for words in (hint, f"tried and good: {finding.proposal}") if words)
    return Problem(
        code=finding.code,
        severity=rule.severity,
        file=file,
        span=span,
        path=spell(finding.path),
        message=rule.message.format(**finding.facts),
        hint=hint,
        text=text,
    )


def accepted(problem: Problem, reason: str) -> Problem:
    """A warning that the designer answers for, told as a note with her reason; errors stay errors."""
    if problem.severity is not Severity.WARNING:
        return problem
    return replace(problem, severity=Severity.NOTE, message=f"{problem.message} (accepted: {reason})")


def in_order(problems: Iterable[Problem]) -> tuple[Problem, ...]:
    """Sort by place, then weight, then code; nothing is dropped."""
    return tuple(
        sorted(problems, key=lambda p: (p.span.line, p.span.column, WORST_FIRST.index(p.severity), p.code, p.message))
    )


def render(problem: Problem) -> str:
    """The problem as the command line prints it: place, fact, the line with a mark, hint."""
    span = problem.span
    lines = [f"{problem.file}:{span.line}:{span.column}: {problem.severity}[{problem.code}]: {problem.message}"]
    if problem.text.strip():
        number = f"  {span.line} | "
        left = max(0, span.column - 60)
        shown = problem.text[left : left + 120]
        before = shown[: span.column - 1 - left]
        mark = "^" * max(1, min(span.length, len(shown) - len(before)))
        lines.append(f"{number}{shown}")
        lines.append(" " * (len(number) - 2) + "| " + _blank(before) + mark)
    if problem.hint:
        lines.append(f"  hint: {problem.hint}")
    return "\n".join(lines)


def as_json(problem: Problem) -> dict[str, str | int]:
    """The problem as one object of ``check --json``."""
    return {
        "code": problem.code,
        "severity": str(problem.severity),
        "file": problem.file,
        "line": problem.span.line,
        "column": problem.span.column,
        "path": problem.path,
        "message": problem.message,
        "hint": problem.hint,
    }


def _blank(text: str) -> str:
    """Spaces as wide as ``text`` on a terminal, so that the mark stands under its word."""
    wide = {"W": "  ", "F": "  "}
    return "".join("\t" if c == "\t" else wide.get(unicodedata.east_asian_width(c), " ") for c in text)
