"""Long analyses say truly how far they are, and find the same whether anybody listens."""

from __future__ import annotations

import re

import numpy as np
import pytest

from bars import material as steel
from bars import prism, rectangle
from orthostat.analyses import pour
from orthostat.analyses.pour.inputs import Inputs as PourInputs
from orthostat.analyses.stiffness.inputs import CLAMPED, BodyInputs, Fineness, Table
from orthostat.analyses.stiffness.one_body import ring
from orthostat.base.dimensions import Metre, Ratio
from orthostat.base.findings import NotStated
from orthostat.base.progress import SILENT, Progress
from orthostat.evaluation.memory import Memory
from pours import poured

Said = list[tuple[str, float]]


def told(said: Said) -> Progress:
    return Progress(lambda doing, share: said.append((doing, share)))


def shares(said: Said) -> list[float]:
    return [share for _, share in said]


def test_a_model_tells_its_steps_and_counts_its_modes() -> None:
    bar = BodyInputs(
        "bar",
        (prism(rectangle(0.1, 0.1), 0.6, steel()),),
        Metre(0.1),
        Metre(0.6),
        CLAMPED,
        Table(),
        (),
        fineness=Fineness(Ratio(0.3), Ratio(0.6)),
    )
    said: Said = []
    ring.cache_clear()
    heard = ring(bar, told(said))
    assert shares(said) == sorted(shares(said))
    words = [doing for doing, _ in said]
    assert words[0] == "meshing and assembling"
    assert any(f"{heard.unknowns} unknowns" in each for each in words)
    counts = [int(found[1]) for each in words if (found := re.search(r"modes (\d+) of", each))]
    assert counts[-1] == max(counts) >= bar.modes
    assert ring(bar, SILENT) is heard  # kept, although nobody listens now
    ring.cache_clear()
    np.testing.assert_array_equal(
        [mode.frequency for mode in ring(bar, SILENT).modes], [mode.frequency for mode in heard.modes]
    )


@pytest.fixture(scope="module")
def inputs() -> PourInputs:
    return pour.inputs_from(poured())


def test_a_cure_tells_the_time_it_has_followed(inputs: PourInputs) -> None:
    said: Said = []
    heard = pour.solve_cure(inputs, told(said)).known_heat()
    assert shares(said) == sorted(shares(said))
    assert 0.98 < shares(said)[-1] <= 1.0 or "warm end" in said[-1][0]
    hours = [float(doing.split("hour ")[1].split(" ")[0]) for doing, _ in said if "as planned, hour" in doing]
    assert len(hours) == len(heard.history.times) - 1
    assert hours[-1] == pytest.approx(heard.history.times[-1] / 3600.0, abs=0.05)
    quiet = pour.solve_cure(inputs).known_heat()
    assert (quiet.peak, quiet.ends) == (heard.peak, heard.ends)


def test_lifts_and_trials_are_counted(inputs: PourInputs) -> None:
    said: Said = []
    tried = pour.solve_effects(inputs, told(said))
    assert shares(said) == sorted(shares(said))
    begun = [doing for doing, _ in said]
    assert all(each.change in begun for each in tried)
    said.clear()
    pour.solve_pour_in_lifts(inputs, told(said))
    assert {doing.split(",")[0] for doing, _ in said} == {"lift 1 of 1"}


def test_the_memory_tells_and_keeps_what_was_not_stated() -> None:
    said: Said = []
    memory = Memory(progress=told(said))

    def long(number: int, progress: Progress) -> int:
        progress.at(1, 2, f"working on {number}")
        if number < 0:
            raise NotStated("number")
        return number * 2

    assert memory.long_result("double", long, 4) == memory.long_result("double", long, 4) == 8
    for _ in range(2):
        with pytest.raises(NotStated):
            memory.long_result("double", long, -1)
    assert said == [("working on 4", 0.5), ("working on -1", 0.5)]
