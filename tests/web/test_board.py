"""What is answered while somebody types, and what is left for the worker beside the page."""

from __future__ import annotations

from collections.abc import Callable, Generator, Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from threading import Event
from typing import Any

import pytest

from orthostat.base.problems import Problem
from orthostat.presentation.cards import Card
from orthostat.presentation.scene import Scene
from orthostat.web import typists
from orthostat.web.answers import Answers
from orthostat.web.asking import LONG, SCREENED, Answer, Ask, Design
from orthostat.web.board import Part, Snapshot
from orthostat.web.lanes import Lane, Stopped, Wish
from orthostat.web.typists import BATCH, QUICK, Cost, Costs, Run

DESIGN = Design("folder", "name", "shop", "text")
OTHER = Design("folder", "name", "shop", "other")
HEAT = "heat" + LONG
SCENE = Scene((), (), (), 1.0, None, None, "words")


def card(slug: str, value: str = "") -> Card:
    return Card(slug, "", "holds", "", "", value, "", "", "", "", "", "", (), (), "", "", ())


class Worker:
    """Answers every question at once, but for subjects that are held up."""

    def __init__(self) -> None:
        self.asked: list[tuple[str, ...]] = []
        self.held: dict[str, Event] = {}
        self.breaks = False
        self.unreadable = False

    def ask(self, ask: Ask, told: object = None, wish: Wish | None = None) -> Answer:
        self.asked.append(ask.subjects)
        for subject in ask.subjects:
            while subject in self.held and not self.held[subject].wait(0.005):
                if wish is not None and wish.over:
                    raise Stopped
        if self.breaks:
            return Answer(broke="a fault of ours")
        if self.unreadable:
            return Answer(problems=(Problem("file", "can't be read"),))
        if ask.what == "scene":
            return Answer(scene=SCENE)
        said = "" if ask.design is None else ask.design.text
        return Answer(found={subject: (card(subject, said),) for subject in ask.subjects})


@pytest.fixture
def worker() -> Worker:
    return Worker()


@pytest.fixture
def answers(tmp_path: Path, worker: Worker, monkeypatch: pytest.MonkeyPatch) -> Iterator[Answers]:
    monkeypatch.setattr(Lane, "ask", lambda _, *asked, **more: worker.ask(*asked, **more))
    made = Answers(tmp_path)
    made._there_is = Answer(subjects=("fit", "hold", HEAT), screens=(HEAT,))
    yield made
    made.close()
    for held in worker.held.values():
        held.set()


LANE, ANOTHER = Lane(), Lane()


def learn(costs: Costs, *, lane: Lane = LANE, worked: bool = True, **seconds: float) -> None:
    costs.learn("name", Answer(seconds=seconds, worked=dict.fromkeys(seconds, worked)), lane)


def fresh(snapshot: Snapshot) -> set[str]:
    return {part.subject for part in snapshot.parts if not part.stale}


def shown_until(answers: Answers, done: Callable[[Snapshot], bool]) -> Snapshot:
    snapshot = answers.show(DESIGN, watched=True)
    for _ in range(2000):
        if done(snapshot):
            return snapshot
        Event().wait(0.005)
        snapshot = answers.show(DESIGN, snapshot.version, watched=True)
    raise AssertionError("it never came")


def quick(costs: Costs, *subjects: str, limit: float = QUICK) -> tuple[str, ...]:
    return tuple(costs.quick("name", subjects, limit))


def dearest(costs: Costs, subject: str) -> float:
    cost = costs.of("name", subject)
    assert cost is not None
    return cost.after()


def test_nothing_is_quick_before_it_was_seen_to_be() -> None:
    assert quick(Costs(), "fit", "hold") == ()


def test_the_quick_are_answered_the_cheapest_first() -> None:
    costs = Costs()
    learn(costs, fit=0.05, hold=0.03, heat=20.0)
    assert quick(costs, "fit", "hold", "heat") == ("hold", "fit")
    assert quick(costs, "heat", limit=30.0) == ("heat",)


def test_the_first_answer_of_each_worker_does_not_count_for_long() -> None:
    costs = Costs()
    learn(costs, fit=4 * QUICK)
    assert quick(costs, "fit") == ()
    learn(costs, fit=0.04)
    assert quick(costs, "fit") == ("fit",)
    learn(costs, lane=ANOTHER, fit=5 * QUICK)
    assert dearest(costs, "fit") == 0.04


def test_the_dearest_of_the_last_answers_counts_as_the_others_found_what_they_need() -> None:
    costs = Costs()
    for seconds in (0.01, 0.2, 0.2, 0.001):
        learn(costs, hold=seconds)
    assert costs.of("name", "hold") == Cost(0.2)
    learn(costs, hold=4 * QUICK)
    assert quick(costs, "hold") == ()
    for _ in range(20):  # beside the page it is found to be quick again
        learn(costs, hold=0.03)
    assert costs.of("name", "hold") == Cost(0.03)


def test_each_column_has_costs_of_its_own() -> None:
    costs = Costs()
    learn(costs, hold=0.1)
    for seconds in (0.2, 0.2):
        learn(costs, hold=seconds)
    costs.learn("other", Answer(seconds={"hold": 0.001}), LANE)
    assert dearest(costs, "hold") == 0.2
    assert costs.of("other", "hold") == Cost(0.001)
    assert costs.of("a third", "hold") == Cost(0.1)  # nothing better is known


def test_a_remembered_answer_says_nothing_of_the_cost() -> None:
    costs = Costs()
    learn(costs, heat=20.0)
    learn(costs, worked=False, heat=0.001)
    assert quick(costs, "heat") == ()


def test_what_a_subject_needs_is_measured_apart() -> None:
    costs = Costs()
    for seconds, solids in ((9.0, 0.0), (0.3, 0.2), (0.1, 0.0), (0.4, 0.3)):
        costs.learn("name", Answer(seconds={"fit": seconds}, needs={"fit": {"solids": solids}}), LANE)
    cost = costs.of("name", "fit")
    assert cost is not None
    assert cost.own == pytest.approx(0.1)
    assert cost.needs == {"solids": 0.3}
    assert cost.after() == pytest.approx(0.4)
    assert cost.after({"solids"}) == pytest.approx(0.1)


def asked(run: Run, *, cheapest: bool) -> tuple[str, ...] | None:
    ask = run.take(cheapest=cheapest)
    return None if ask is None else ask.subjects


def test_two_workers_begin_at_either_end_and_leave_what_is_half_done_to_one() -> None:
    costly = {"press": 4.0 * BATCH}
    costs = {
        "a": Cost(0.3 * BATCH),
        "b": Cost(0.5 * BATCH),
        "c": Cost(0.6 * BATCH),
        "d": Cost(0.1 * BATCH, costly),
        "e": Cost(0.2 * BATCH, {**costly, "little": 0.3 * BATCH}),
        "f": Cost(4.5 * BATCH, costly),
    }
    run = Run(DESIGN, costs, ("model",), lambda _: None, first=costs)
    ends = (True, False, True, True, False, False)
    taken = [asked(run, cheapest=each) for each in ends]
    assert taken == [("a", "b"), ("f", "d", "e"), ("c",), ("model",), None, None]
    slow = {**costs, "d": Cost(2.0 * BATCH, costly)}  # not asked with the others: they would wait for it
    run = Run(DESIGN, slow, ("model",), lambda _: None, first=slow)
    taken = [asked(run, cheapest=each) for each in ends]
    assert taken == [("a", "b"), ("f", "e"), ("c",), ("model",), ("d",), None]
    alone = Run(DESIGN, costs, (), lambda _: None)
    assert [asked(alone, cheapest=True) for _ in range(4)] == [("a", "b", "c"), ("d",), ("e",), ("f",)]


def test_some_subjects_come_before_all_others_then_one_worker_takes_the_quick_model() -> None:
    seconds = {"a": 0.1, "b": 0.2, "c": 1.5, "d": 2.0, "e": 3.0}
    costs = {subject: Cost(share * BATCH) for subject, share in seconds.items()}
    run = Run(DESIGN, costs, ("model",), lambda _: None, first=("b", "c", "e"))
    ends = (True, False, False, False, True, True, True, False)
    taken = [asked(run, cheapest=each) for each in ends]
    assert taken == [("b",), ("e",), ("c",), ("model",), ("a", "d"), None, None, None]


def test_the_picture_and_then_the_rest_wait_until_the_foremost_are_answered() -> None:
    costs = {"a": Cost(0.1), "b": Cost(0.2), "c": Cost(0.3)}
    run = Run(DESIGN, costs, (), lambda _: None, first=("a", "b"), pictured=True, patience=60.0)
    assert asked(run, cheapest=True) == ("a",)
    assert asked(run, cheapest=False) == ("b",)
    run.tell(Answer(found={"a": ()}))
    with ThreadPoolExecutor(1) as apart:
        drawn = apart.submit(run.take, cheapest=True)
        Event().wait(0.05)
        assert not drawn.done()
        run.tell(Answer(found={"b": ()}))
        assert drawn.result(30.0) == Ask("scene", DESIGN)
    assert asked(run, cheapest=True) == ("c",)


def test_the_rest_waits_until_the_foremost_can_be_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(typists, "_SHOWING", 0.2)
    run = Run(DESIGN, {"a": Cost(0.1), "b": Cost(0.2)}, (), lambda _: None, first=("a",), patience=60.0)
    assert asked(run, cheapest=True) == ("a",)
    run.tell(Answer(found={"a": ()}))
    with ThreadPoolExecutor(1) as apart:
        rest = apart.submit(asked, run, cheapest=True)
        Event().wait(0.05)
        assert not rest.done()
        assert rest.result(30.0) == ("b",)


def test_what_waits_for_the_foremost_goes_when_they_are_given_up() -> None:
    costs = {"a": Cost(0.1), "b": Cost(0.2), "c": Cost(0.3)}
    for give_up in (Run.end, Run.leave, lambda run: run.tell(Answer(broke="a fault of ours"))):
        run = Run(DESIGN, costs, (), lambda _: None, first=("a", "b"), patience=60.0)
        assert [ask and ask.subjects for ask in run.begin(2)] == [("a",), ("b",)]
        with ThreadPoolExecutor(1) as apart:
            rest = apart.submit(asked, run, cheapest=True)
            Event().wait(0.02)
            give_up(run)
            assert rest.result(30.0) == (("c",) if give_up is Run.leave else None)


def test_models_wait_a_little_where_another_key_may_follow(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(typists, "HURRY", 0.2)
    costs = {"a": Cost(0.1)}
    run = Run(DESIGN, costs, ("model",), lambda _: None, first=("a",), hurried=True)
    given_up = Run(DESIGN, {}, ("model",), lambda _: None, hurried=True)
    assert asked(run, cheapest=True) == ("a",)
    with ThreadPoolExecutor(2) as apart:
        model, none = apart.submit(asked, run, cheapest=False), apart.submit(asked, given_up, cheapest=False)
        Event().wait(0.05)
        assert not model.done()
        assert not none.done()
        given_up.end()
        assert none.result(30.0) is None
        assert model.result(30.0) == ("model",)


def test_only_what_comes_first_is_asked_at_once() -> None:
    alone = Run(DESIGN, {"a": Cost(0.1), "b": Cost(0.2)}, ("model",), lambda _: None, first=("b",))
    assert [ask and ask.subjects for ask in alone.begin(2)] == [("b",), None]
    nothing = Run(DESIGN, {}, (), lambda _: None)
    assert nothing.begin(2) == [None, None]
    assert nothing.take(cheapest=True) == Ask("findings", DESIGN)


def test_it_is_asked_whether_a_text_can_be_read_where_nothing_else_is() -> None:
    nothing = Run(DESIGN, {}, (), lambda _: None)
    assert nothing.take(cheapest=False) is None  # one worker does for that
    assert asked(nothing, cheapest=True) == ()
    assert nothing.take(cheapest=True) is None


def test_quick_answers_are_shown_as_they_come_and_the_rest_beside(answers: Answers, worker: Worker) -> None:
    learn(answers._costs, fit=0.01, hold=0.2)
    worker.held = {"hold": Event(), HEAT: Event()}
    first = shown_until(answers, lambda snapshot: fresh(snapshot) == {"fit"})
    assert first.more
    worker.held["hold"].set()
    second = shown_until(answers, lambda snapshot: fresh(snapshot) == {"fit", "hold"} and not snapshot.more)
    assert not second.settled
    worker.held[HEAT].set()
    assert shown_until(answers, lambda snapshot: snapshot.settled).parts[2].cards == (card(HEAT, "text"),)


def test_both_workers_rehearse_what_is_looked_at_until_somebody_types(
    answers: Answers, worker: Worker
) -> None:
    learn(answers._costs, fit=0.01, hold=0.2)
    answers.show(DESIGN, watched=True)
    shown_until(answers, lambda snapshot: snapshot.settled)
    answers.show(DESIGN, watched=True)
    for _ in range(2000):
        if worker.asked.count(("fit",)) > len(answers._typists.lanes):
            break
        Event().wait(0.005)
    assert worker.asked.count(("fit",)) == 1 + len(answers._typists.lanes)
    rehearsal = answers._typists._rehearsal
    assert not rehearsal.over
    list(tried(answers, 1))
    assert rehearsal.over
    assert answers._typists._rehearsal is rehearsal  # what is only tried out is not rehearsed


ELSEWHERE = Design("folder", "another", "shop", "text")


def test_a_design_that_is_looked_at_does_not_wait_for_others(
    answers: Answers, worker: Worker, monkeypatch: pytest.MonkeyPatch
) -> None:
    stopped: list[Lane] = []

    def stop(lane: Lane) -> None:
        stopped.append(lane)

    monkeypatch.setattr(Lane, "stop", stop)
    worker.held = {HEAT: Event()}
    answers.show(ELSEWHERE)
    answers._boards["another"].watched = 0.0  # it was opened once
    answers.show(DESIGN)
    for _ in range(2000):  # the work beside the page is at the other design, for long
        if answers._running == ("another", HEAT):
            break
        Event().wait(0.005)
    assert answers._running == ("another", HEAT)
    answers._boards["name"].parts["hold"] = Part("hold")  # it was not known to be quick then
    learn(answers._costs, fit=0.01, hold=0.2)
    assert not stopped
    answers.show(DESIGN, watched=True)
    answers.show(DESIGN, watched=True)
    assert len(stopped) == 1
    shown_until(answers, lambda snapshot: fresh(snapshot) >= {"fit", "hold"})
    assert answers._running == ("another", HEAT)


def test_full_models_wait_until_somebody_opens_a_design(answers: Answers, worker: Worker) -> None:
    learn(answers._costs, fit=0.01)
    for _ in range(200):
        if fresh(answers.show(DESIGN)) >= {"fit", "hold"}:
            break
        Event().wait(0.005)
    Event().wait(0.3)
    assert not any(subject.startswith("heat") for asked in worker.asked for subject in asked)
    shown_until(answers, lambda snapshot: snapshot.settled)
    assert (HEAT,) in worker.asked


def test_what_breaks_while_typed_is_asked_again_beside(answers: Answers, worker: Worker) -> None:
    learn(answers._costs, fit=0.01, hold=0.2)
    worker.breaks = True
    snapshot = shown_until(answers, lambda snapshot: snapshot.settled)
    assert {part.status for part in snapshot.parts} == {"broken"}
    assert len(worker.asked) < 12  # not again and again


def test_a_text_that_cannot_be_read_says_so_at_once(answers: Answers, worker: Worker) -> None:
    worker.unreadable = True
    snapshot = answers.show(DESIGN)
    assert snapshot.problems
    assert snapshot.settled


def tried(answers: Answers, key: int, design: Design = OTHER) -> Iterator[Snapshot]:
    return answers.preview(design, "a tab", key)


def test_what_is_tried_out_comes_piece_by_piece(answers: Answers, worker: Worker) -> None:
    shown_until(answers, lambda snapshot: snapshot.settled)
    learn(answers._costs, fit=0.01, hold=0.2)
    worker.held = {"hold": Event()}
    pieces = tried(answers, 1)
    first = next(pieces)
    assert (first.version, fresh(first), first.more) == (1, {"fit"}, True)
    assert [part.subject for part in first.parts if part.version == 1] == ["fit"]
    worker.held["hold"].set()
    *_, last = pieces
    assert (fresh(last), last.more) == ({"fit", "hold"}, False)
    assert last.parts[2].cards == (card(HEAT, "text"),)  # of the design that is saved
    assert last.parts[2].version == 0
    assert not answers._tried


def test_the_picture_of_what_is_tried_out_comes_with_the_answers_where_it_is_wanted(
    answers: Answers, worker: Worker
) -> None:
    learn(answers._costs, fit=0.01, hold=0.2)
    for key, pictured in ((1, True), (2, False)):
        scenes = [each.scene for each in answers.preview(OTHER, "a tab", key, pictured=pictured)]
        assert scenes.count(SCENE) == pictured


def test_a_newer_key_ends_the_one_before(answers: Answers, worker: Worker) -> None:
    learn(answers._costs, fit=0.01)
    worker.held = {"fit": Event()}
    old = tried(answers, 1)
    new = tried(answers, 2)
    assert [fresh(each) for each in old] == [set()]
    assert list(tried(answers, 1)) == []  # it came too late
    worker.held["fit"].set()
    assert fresh(list(new)[-1]) == {"fit"}
    held = worker.held["fit"] = Event()
    mine, theirs = tried(answers, 3), answers.preview(OTHER, "another tab", 1)
    held.set()
    assert fresh(list(mine)[-1]) == fresh(list(theirs)[-1]) == {"fit"}


def test_a_key_that_cuts_off_the_one_before_is_a_hurried_one(
    answers: Answers, worker: Worker, monkeypatch: pytest.MonkeyPatch
) -> None:
    begun: list[bool] = []
    begin = answers._typists.begin

    def begin_and_note(*asked: Any, hurried: bool = False, **more: Any) -> Run:
        begun.append(hurried)
        return begin(*asked, hurried=hurried, **more)

    monkeypatch.setattr(answers._typists, "begin", begin_and_note)
    monkeypatch.setattr("orthostat.web.answers.HURRY", 60.0)
    learn(answers._costs, fit=0.01)
    list(tried(answers, 1))
    worker.held = {"fit": Event()}
    tried(answers, 2)  # the one before had all its answers
    tried(answers, 3)
    monkeypatch.setattr("orthostat.web.answers.HURRY", 0.0)
    tried(answers, 4)
    assert begun == [False, False, True, False]


def test_what_is_tried_out_ends_when_its_reader_has_gone(answers: Answers, worker: Worker) -> None:
    learn(answers._costs, fit=0.01, hold=0.2)
    worker.held = {"hold": Event()}
    pieces = tried(answers, 1)
    assert isinstance(pieces, Generator)
    next(pieces)
    _, run = answers._tried["a tab"]
    assert not run.over
    pieces.close()
    assert run.over
    assert not answers._tried


def test_the_quick_model_answers_until_the_full_one_does(answers: Answers, worker: Worker) -> None:
    worker.held = {HEAT: Event()}
    snapshot = shown_until(answers, lambda snapshot: bool(snapshot.parts[2].screened))
    assert "heat" + SCREENED in [subject for asked in worker.asked for subject in asked]
    part = snapshot.parts[2]
    assert part.stale
    assert part.shown == part.screened == (card("heat" + SCREENED, "text"),)
    worker.held[HEAT].set()
    part = shown_until(answers, lambda snapshot: snapshot.settled).parts[2]
    assert (part.screened, part.shown) == ((), (card(HEAT, "text"),))


def test_the_quick_model_answers_what_is_typed(answers: Answers, worker: Worker) -> None:
    answers._costs.learn("name", Answer(seconds={"fit": 0.01, "heat" + SCREENED: 0.3}), LANE)
    *_, last = tried(answers, 1)
    assert last.parts[2].screened == (card("heat" + SCREENED, "other"),)
    assert last.parts[2].stale
    assert worker.asked[-1] == ("heat" + SCREENED,)


def test_cards_of_the_quick_model_take_the_place_of_the_same_questions() -> None:
    made = Part("a", cards=(card("a.x", "old"), card("a.y", "old")), screened=(card("a.y", "new"),))
    assert made.shown == (card("a.x", "old"), card("a.y", "new"))
