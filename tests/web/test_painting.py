"""What is laid over the picture, as the page asks for it."""

from __future__ import annotations

import pytest

from orthostat.presentation.painting import Chosen
from orthostat.web.asking import Answer
from orthostat.web.painting import chosen_of, picture_shown
from orthostat.web.refusals import BadRequest


def test_what_is_asked_is_read() -> None:
    asked = {"paint": "reach", "of": "end mill 20", "loaded": "1", "cut": "a\nb", "place": "3"}
    assert chosen_of(asked) == Chosen("reach", "end mill 20", True, "a\nb", 3)
    assert chosen_of({}) == Chosen()


@pytest.mark.parametrize(
    "asked",
    [
        {"paint": "<script>"},
        {"paint": "mode", "of": "x" * 401},
        {"cut": "x" * 401},
        {"cut": "a", "place": "-1"},
        {"cut": "a", "place": "1e3"},
        {"cut": "a", "place": "²"},
        {"cut": "a", "place": "9" * 400},
    ],
)
def test_what_the_page_never_asks_is_refused(asked: dict[str, str]) -> None:
    with pytest.raises(BadRequest):
        chosen_of(asked)


def test_a_fault_of_the_program_is_said_and_a_draft_is_not_painted() -> None:
    assert picture_shown(Answer(broke="Traceback\nValueError: odd")) == {
        "unknown": ["This could not be worked out: ValueError: odd."]
    }
