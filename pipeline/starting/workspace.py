"""The files of a new workspace: what stands in them, by name from its folder."""

from collections.abc import Mapping
from pathlib import Path, PurePosixPath
from typing import Final

from pipeline.schema import line_for_editors, schema_files
from pipeline.starting.fitting import scalar
from pipeline.symbols import SymbolSet

_PUBLISHER: Final = """\
{line}
# Who publishes. What stands here stands on every leaflet; take the # away from a line to say more.
publisher: {name}
# contact: hello@example.org
# address: https://example.org/lace
# copyright: © {year} {plain}
# licence: CC BY-NC 4.0                  # as you word it
# logo: logo.svg                         # filled shapes, or a picture, beside this file
# colours: {{accent: "#9c2f21"}}           # of rules and small marks
# terms: [sell-pieces, copy-for-class, name-publisher]   # each has its sentence in every language
"""

_README: Final = """\
# {plain}

Wheel-lace patterns, made into leaflets by Spokeleaf.

- `patterns/` has a file for every pattern, called by its id; each explains itself in comments.
- `patterns/publisher.yaml` says whose name is on the leaflets.
- `patterns/schema/` lets editors complete and check these files while you type. After Spokeleaf is renewed, or when you
  have made a stitch of your own: `spokeleaf schema --out patterns/schema`
- `build/out/` has what is made. It can be thrown away at any time.

In this folder:

    spokeleaf new pattern                                       # begin another pattern
    spokeleaf check patterns/{id}.yaml
    spokeleaf leaflet patterns/{id}.yaml --locale en            # a PDF in build/out/{id}/
    spokeleaf leaflet patterns/{id}.yaml --wordless             # the same without a word
    spokeleaf doctor                                            # is everything there that leaflets need?

Photographs go into `patterns/photos/`, looms that you use again into `patterns/looms/`, stitches of your own into
`symbols/`, translations into `locales/`, fonts into `fonts/`.
"""

_IGNORED: Final = """\
# What Spokeleaf makes; it can be made again.
build/out/
"""


def workspace_files(publisher: str, year: int, pattern_id: str, symbols: SymbolSet) -> Mapping[PurePosixPath, str]:
    """Every file of a new workspace but its first pattern."""
    facts = {"name": scalar(publisher), "plain": publisher, "year": year, "id": pattern_id}
    files = {
        ".gitignore": _IGNORED,
        "README.md": _README.format(**facts),
        "patterns/publisher.yaml": _PUBLISHER.format(line=line_for_editors("publisher"), **facts),
    }
    return {PurePosixPath(name): text for name, text in files.items()} | {
        PurePosixPath("patterns") / name: text for name, text in schema_files(symbols).items()
    }


def publisher_from(folder: Path) -> str:
    """The publisher's name that a folder's suggests.

    >>> publisher_from(Path("thistledown-quay"))
    'Thistledown Quay'
    """
    return folder.resolve().name.replace("-", " ").replace("_", " ").title() or "My Lace"
