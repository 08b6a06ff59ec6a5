"""What is answered while somebody types, and what is left for the worker beside the page."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from orthostat.web.asking import Answer, Ask, Design
from orthostat.web.board import QUICK, STEP, Answers


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


def test_quick_answers_come_in_steps_the_cheapest_first(answers: Answers) -> None:
    learn(answers, fit=0.7 * STEP, hold=0.9 * STEP, heat=0.1 * STEP)
    assert answers._steps(("fit", "hold", "heat")) == [("heat", "fit"), ("hold",)]
    assert answers._steps(()) == []


def test_a_step_that_breaks_is_not_asked_for_again_and_again(
    answers: Answers, monkeypatch: pytest.MonkeyPatch
) -> None:
    learn(answers, fit=0.01, hold=0.01)
    asked: list[Ask] = []

    def breaks(ask: Ask, told: object = None) -> Answer:
        asked.append(ask)
        return Answer(broke="a fault of ours")

    monkeypatch.setattr(answers._typing, "ask", breaks)
    monkeypatch.setattr(answers._long, "ask", breaks)
    design = Design("folder", "name", "shop", "text")
    assert not answers.show(design, typed=True).more
    assert asked[0].subjects == ("fit", "hold")


def test_the_first_step_tells_what_comes_next(answers: Answers, monkeypatch: pytest.MonkeyPatch) -> None:
    learn(answers, fit=0.9 * STEP, hold=0.8 * STEP)

    def ask(ask: Ask, told: object = None) -> Answer:
        return Answer(found=dict.fromkeys(ask.subjects, ()))

    monkeypatch.setattr(answers._typing, "ask", ask)
    design = Design("folder", "name", "shop", "text")
    first = answers.show(design, typed=True)
    assert {part.subject for part in first.parts if not part.stale} == {"hold"}
    assert first.more
    second = answers.show(design)
    assert {part.subject for part in second.parts if not part.stale} == {"hold", "fit"}
    assert not second.more
    tried = answers.preview(Design("folder", "name", "shop", "other"), 0)
    assert {part.subject for part in tried.parts if not part.stale} == {"hold"}
    assert tried.more
