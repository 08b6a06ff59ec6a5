"""Validation: what the engine computes beside what the world outside has published.

One module per subject; each case is declared with `@case` and found by itself. The same cases are
the tests in `tests/validation/` and the rows that `orthostat validation` prints.
"""

from orthostat.validation.cases import Case, Outcome, all_cases, case, run

__all__ = ["Case", "Outcome", "all_cases", "case", "run"]
