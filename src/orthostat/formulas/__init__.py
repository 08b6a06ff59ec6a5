"""One published result per function: plain SI floats go in, plain SI floats come out.

The convention, kept by `tests/unit/formulas/test_dimensions.py`, which finds every public function
of every module here by itself:

* Each parameter and the result is annotated with a unit type of `orthostat.base.dimensions`
  (`int` for a count, `float` or `Ratio` for a pure number; `tuple[Metre, ...]` for a list;
  `Sequence[tuple[float, float]]` for points of a plane in metres).
  Two parameters of the same dimension are keyword-only.
* The body uses operators and, on pure numbers and angles only, `math` functions. A square root of
  anything else is `** 0.5`, a cube root `** (1 / 3)`. No numpy, no `if` on a bare number with a
  dimension: the test calls the function with `pint` quantities and compares the dimension of what
  comes out with the annotation, so an equation that mixes dimensions fails.
* No number with a dimension and no property of matter stands in the body; those are catalogue rows.
* An empirical equation that holds only in stated units, or one that takes text or whole tables,
  carries `@not_dimensional("why")` from `orthostat.formulas.exempt`.
* Outside its range of validity a function raises `ValueError`; the caller says so in a finding.
* The docstring has the meaning, the equation, the reference, the range, and one worked number, best
  as a doctest (they are run).
"""
