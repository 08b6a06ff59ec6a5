"""Timing a subject and its reference by turns, and printing the ratio."""

from __future__ import annotations

import json
import os
import platform
import statistics
import subprocess
import sys
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass

Work = Callable[[], object]


@dataclass(frozen=True, slots=True)
class Comparison:
    """A subject, what it is measured against, and the ratio that is still good enough.

    `repeats` is the number of timed calls of each, by turns, after one untimed call of each.
    `at_most` is the largest ratio of medians allowed; `None` where none is promised.
    """

    name: str
    subject: Work
    reference: Work
    against: str
    repeats: int = 9
    at_most: float | None = None


@dataclass(frozen=True, slots=True)
class Timing:
    """Medians in seconds, and their ratio."""

    name: str
    against: str
    median: float
    reference: float
    spread: float
    """Interquartile range of the subject's times over their median."""
    at_most: float | None

    @property
    def ratio(self) -> float:
        return self.median / self.reference

    @property
    def inside(self) -> bool:
        """Whether the promise is kept; true where none was made."""
        return self.at_most is None or self.ratio <= self.at_most


def compare(comparison: Comparison) -> Timing:
    """Time both by turns, so that a slow spell of the machine falls on both alike."""
    comparison.subject()
    comparison.reference()
    ours: list[float] = []
    theirs: list[float] = []
    for _ in range(comparison.repeats):
        ours.append(seconds(comparison.subject))
        theirs.append(seconds(comparison.reference))
    median = statistics.median(ours)
    low, _, high = statistics.quantiles(ours, n=4)
    return Timing(
        comparison.name,
        comparison.against,
        median,
        statistics.median(theirs),
        (high - low) / median,
        comparison.at_most,
    )


def seconds(work: Work) -> float:
    """Wall-clock time of one call [s]."""
    started = time.perf_counter()
    work()
    return time.perf_counter() - started


def python(*arguments: str, allowed: Sequence[int] = (0,)) -> Work:
    """Work that starts the running interpreter anew with `arguments`.

    Raises `RuntimeError` from the work when the exit code is not among `allowed`.
    """

    def run() -> None:
        # As on any machine: the second start finds its own compiled modules.
        known = {key: value for key, value in os.environ.items() if key != "PYTHONDONTWRITEBYTECODE"}
        done = subprocess.run([sys.executable, *arguments], capture_output=True, check=False, env=known)
        if done.returncode not in allowed:
            raise RuntimeError(f"{arguments} ended with {done.returncode}: {done.stderr.decode()[-500:]}")

    return run


def report(comparisons: Sequence[Comparison]) -> int:
    """Run all, print them as JSON; 1 when a promise is broken, else 0."""
    timings = [compare(each) for each in comparisons]
    machine = f"{platform.machine()} {platform.system()}, {os.cpu_count()} cores"
    print(
        json.dumps(
            {
                "python": platform.python_version(),
                "machine": machine,
                "benchmarks": [
                    {
                        "name": timing.name,
                        "against": timing.against,
                        "median_s": timing.median,
                        "reference_s": timing.reference,
                        "spread": round(timing.spread, 3),
                        "ratio": round(timing.ratio, 3),
                        "at_most": timing.at_most,
                        "inside": timing.inside,
                    }
                    for timing in timings
                ],
            },
            indent=2,
        )
    )
    return 0 if all(timing.inside for timing in timings) else 1
