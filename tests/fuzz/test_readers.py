"""Every reader keeps the law, whatever it is given; ``build/fuzz`` tries far more than this does."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings

from pipeline.problems import Problem, Span
from pipeline.source import failed
from tests.fuzz import readers
from tests.fuzz.grammar import inputs
from tests.fuzz.readers import MEMORY_MIB, READERS, told
from tests.fuzz.seeds import seeds

EXAMPLES = 30
FLOODS = {
    "pattern": {
        "long keys": "".join(f"k{number}{'x' * 900}: 1\n" for number in range(1000)),
        "values left out": "rounds:\n" + "  - \n" * 19_000,
        "empty lists": "rounds: [" + "[]," * 15_000 + "]\n",
        "empty rounds": "rounds: [" + "{}," * 9000 + "]\n",
    },
    "catalogue": {"entries": 'msgid ""\nmsgstr ""\n\n' + "".join(f'msgid "{n}"\nmsgstr "b"\n\n' for n in range(9000))},
    "logo": {"groups in groups": f'<svg xmlns="http://www.w3.org/2000/svg">{"<g>" * 9000}{"</g>" * 9000}</svg>'},
}
"""Much of the same, by reader."""


@pytest.mark.parametrize("reader", READERS)
def test_no_input_breaks_the_law(reader: str, tmp_path: Path) -> None:
    """Inputs of the grammar: no traceback, no more time or memory than an input may take, problems with place and words."""

    @settings(max_examples=EXAMPLES, database=None, derandomize=True, suppress_health_check=list(HealthCheck))
    @given(inputs(reader))
    def law(data: bytes) -> None:
        assert not told(reader, data, tmp_path).broken

    law()


@pytest.mark.parametrize("reader", READERS)
def test_no_seed_breaks_the_law(reader: str, tmp_path: Path) -> None:
    """The sound files that inputs begin with, the first and the last dozen; there are some for every reader."""
    found = seeds(reader)
    assert found
    for data in {*found[:12], *found[-12:]}:
        assert not told(reader, data, tmp_path).broken


@pytest.mark.parametrize(("reader", "kind"), [(reader, kind) for reader, kinds in FLOODS.items() for kind in kinds])
def test_much_of_the_same_takes_no_longer_than_a_file_may(reader: str, kind: str, tmp_path: Path) -> None:
    """Thousands of slips of one kind in a file: each is told, and that soon."""
    text = FLOODS[reader][kind]
    found = told(reader, f"spokeleaf: 1\n{text}".encode() if reader == "pattern" else text.encode(), tmp_path)
    assert not found.broken
    assert found.problems


def stuck(_: bytes, __: Path) -> Iterator[Problem]:
    """Gives no answer."""
    while True:
        pass


def greedy(_: bytes, __: Path) -> Iterator[Problem]:
    """Takes more than it may."""
    assert bytearray(b"x") * ((MEMORY_MIB + 20) << 20)
    yield from ()


def lost(_: bytes, __: Path) -> Iterator[Problem]:
    """Knows no line."""
    found = failed("trial.yaml", "file-empty")
    yield Problem(found.code, found.severity, found.file, Span(0, 1), found.path, found.message, found.hint)


def falling(data: bytes, _: Path) -> Iterator[Problem]:
    """Raises what nobody expects."""
    yield failed("trial.yaml", "file-empty")
    data.decode("ascii")


@pytest.mark.parametrize(
    ("reader", "said"),
    [(stuck, "TooSlow"), (greedy, "MiB"), (lost, "AssertionError"), (falling, "UnicodeDecodeError")],
)
def test_the_law_is_broken_where_it_is_broken(
    reader: readers.Reader, said: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A reader that does not come back, one that takes too much, one without a place, one that raises."""
    monkeypatch.setattr(readers, "READERS", {"bad": reader})
    monkeypatch.setattr(readers, "SECONDS", 1.0)
    assert said in told("bad", b"\xff", tmp_path).broken
