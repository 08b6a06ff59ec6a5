"""What is answered while somebody types, and what is left for the worker beside the page."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from orthostat.web.asking import Answer
from orthostat.web.board import QUICK, Answers


@pytest.fixture
def answers(tmp_path: Path) -> Iterator[Answers]:
    made = Answers(tmp_path)
    made._there_is = Answer(subjects=("fit", "hold", "heat"))
    yield made
    made.close()


def learn(answers: Answers, *, typing: bool = False, worked: bool = True, **seconds: float) -> None:
    answers._learn(Answer(seconds=seconds, worked=dict.fromkeys(seconds, worked)), typing=typing)


def test_nothing_is_quick_before_it_was_seen_to_be(answers: Answers) -> None:
    assert answers._quick() == ()


def test_the_cheapest_are_answered_while_somebody_types(answers: Answers) -> None:
    learn(answers, fit=0.03, hold=0.05, heat=20.0)
    assert answers._quick() == ("fit", "hold")


def test_the_first_answer_of_a_worker_does_not_count_for_long(answers: Answers) -> None:
    learn(answers, fit=4 * QUICK, hold=0.01)
    assert answers._quick() == ("hold",)
    learn(answers, fit=0.04)
    assert answers._quick() == ("fit", "hold")


def test_what_it_costs_where_it_is_asked_for_counts_most(answers: Answers) -> None:
    learn(answers, fit=0.03, hold=0.01)
    learn(answers, fit=0.03, hold=0.01)
    for _ in range(2):  # there it first needs what another worker had already
        learn(answers, typing=True, fit=0.03, hold=4 * QUICK)
    assert answers._quick() == ("fit",)


def test_a_remembered_answer_says_nothing_of_the_cost(answers: Answers) -> None:
    learn(answers, fit=0.03, heat=20.0)
    learn(answers, worked=False, heat=0.001)
    assert answers._quick() == ("fit",)
