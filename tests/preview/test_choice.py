"""What is looked at is read from a query; whatever there is not is refused with words."""

import pytest

from pipeline.preview.choice import Choice, Query, Refused, choice_of
from pipeline.preview.trial import Trial

PATTERNS, LOCALES = ("first-frost", "low-sun"), ("ar", "en")


def test_nothing_said_is_the_first_pattern_in_english() -> None:
    """On the paper of its locale, as the file has it."""
    assert choice_of({}, PATTERNS, LOCALES) == Choice("first-frost", ("en",), None, Trial())


def test_everything_said_is_taken() -> None:
    """Two locales side by side, a paper, and what is tried."""
    query = {
        "pattern": ["low-sun"], "locale": ["ar", "en"], "paper": ["a5"], "pins": ["48"], "diameter": ["70.5"],
        "thread-B": ["0.4"], "thread-A": ["0.31"],
    }  # fmt: skip
    trial = Trial(48, (("diameter", 70.5),), (("A", 0.31), ("B", 0.4)))
    assert choice_of(query, PATTERNS, LOCALES) == Choice("low-sun", ("ar", "en"), "a5", trial)


@pytest.mark.parametrize(
    ("query", "words"),
    [
        ({"pattern": ["low-sin"]}, "there is no pattern `low-sin`; did you mean `low-sun`?"),
        ({"pattern": ["../../etc/passwd"]}, "there is no pattern `../../etc/passwd`"),
        ({"pattern": ["low-sun", "first-frost"]}, "`pattern` stands twice"),
        ({"locale": ["tlh"]}, "there is no locale `tlh`"),
        ({"locale": ["en", "ar", "de"]}, "at most 2 locales"),
        ({"paper": ["a4-large"]}, "there is no paper `a4-large`"),
        ({"pins": ["5"]}, "`5` is no number of pins"),
        ({"pins": ["48.5"]}, "`48.5` is no number of pins"),
        ({"pins": ["٤٨"]}, "is no number of pins"),
        ({"diameter": ["0"]}, "`0` is no `diameter` in millimetres"),
        ({"diameter": ["nan"]}, "`nan` is no `diameter`"),
        ({"diameter": ["1e9"]}, "`1e9` is no `diameter`"),
        ({"thread-A": ["-1"]}, "`-1` is no `thread-A`"),
        ({"thread-AB": ["1"]}, "there is nothing called `thread-AB`"),
        ({"colour": ["red"]}, "there is nothing called `colour`"),
    ],
)
def test_what_there_is_not_is_refused(query: Query, words: str) -> None:
    """With the nearest that there is."""
    with pytest.raises(Refused) as refused:
        choice_of(query, PATTERNS, LOCALES)
    assert words in str(refused.value)


def test_an_empty_workspace_says_so() -> None:
    """There is nothing to look at."""
    with pytest.raises(Refused, match="no pattern in this workspace"):
        choice_of({}, (), LOCALES)
