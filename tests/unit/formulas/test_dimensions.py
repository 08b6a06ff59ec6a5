"""Every formula, called with quantities, gives the dimension that its annotation promises.

An equation that adds a length to an area, or forgets a factor of length, fails here. The convention
is stated in `orthostat.formulas`.
"""

import importlib
import inspect
import pkgutil
import random
import re
from collections.abc import Callable, Sequence
from typing import Any, NewType, Union, get_args, get_origin, get_type_hints

import pint
import pytest

import orthostat.formulas
from orthostat.base.dimensions import Metre, SquareMetre
from orthostat.base.si import SI_UNITS
from orthostat.formulas.exempt import exemption, not_dimensional

Formula = Callable[..., Any]
POINTS = Sequence[tuple[float, float]]
"""A list of points in a plane, in metres: what the model calls `Point2`."""
UNITS: "pint.UnitRegistry[Any]" = pint.UnitRegistry()


def public_formulas() -> list[Formula]:
    """Public functions defined in the modules of `orthostat.formulas`, `exempt` left out."""
    found: list[Formula] = []
    for module in pkgutil.walk_packages(orthostat.formulas.__path__, "orthostat.formulas."):
        if module.name == "orthostat.formulas.exempt":
            continue
        for name, value in vars(importlib.import_module(module.name)).items():
            if inspect.isfunction(value) and value.__module__ == module.name and not name.startswith("_"):
                found.append(value)
    return found


def name_of(formula: Formula) -> str:
    return f"{formula.__module__.removeprefix('orthostat.formulas.')}.{formula.__name__}"


def unit_of(kind: NewType) -> pint.Unit:
    return UNITS.parse_units(SI_UNITS[str(kind.__name__)])


def quantity(kind: Any, numbers: random.Random) -> Any:
    """A value of an annotated type: a quantity for a unit type, plain for a plain one."""
    if isinstance(kind, NewType):
        return UNITS.Quantity(10 ** numbers.uniform(-2, 1), unit_of(kind))
    origin, arguments = get_origin(kind), get_args(kind)
    if kind == POINTS:
        return tuple((quantity(Metre, numbers), quantity(Metre, numbers)) for _ in range(3))
    if origin is tuple:
        kinds = [arguments[0]] * 3 if arguments[-1] is Ellipsis else arguments
        return tuple(quantity(each, numbers) for each in kinds)
    if origin in (Union, type(int | None)):
        return quantity(arguments[0], numbers)
    if kind is float:
        return 10 ** numbers.uniform(-2, 1)
    if kind is int:
        return numbers.randint(3, 8)
    if kind is bool:
        return True
    raise TypeError(f"{kind!r} is not a type a formula may take; see orthostat.formulas")


def check(kind: Any, value: Any, where: str) -> None:
    """Fail unless `value` has the dimension that `kind` promises."""
    if isinstance(kind, NewType):
        promised = unit_of(kind)
        got = value if isinstance(value, UNITS.Quantity) else UNITS.Quantity(value, "")
        assert got.is_compatible_with(promised), f"{where}: promised {promised}, got {got.units}"
    elif kind == tuple[tuple[float, float], ...]:
        check(tuple[tuple[Metre, Metre], ...], value, where)
    elif get_origin(kind) is tuple:
        kinds = get_args(kind)
        each = [kinds[0]] * len(value) if kinds[-1] is Ellipsis else kinds
        for one, part in zip(each, value, strict=True):
            check(one, part, where)
    elif kind in (float, int, bool):
        assert not isinstance(value, UNITS.Quantity) or value.dimensionless, where
    elif isinstance(kind, type) and hasattr(kind, "__annotations__"):
        for name, part in get_type_hints(kind).items():
            check(part, getattr(value, name), f"{where}.{name}")
    else:
        raise TypeError(f"{where}: {kind!r} is not a type a formula may return; see orthostat.formulas")


def call_with_quantities(formula: Formula) -> None:
    """Call with random quantities until they lie in the formula's range, then check the result."""
    hints = get_type_hints(formula)
    refused: list[str] = []
    for seed in range(300):
        numbers = random.Random(seed)
        given = {name: quantity(hints[name], numbers) for name in inspect.signature(formula).parameters}
        try:
            value = _call(formula, given)
        except pint.DimensionalityError:
            raise
        except (ValueError, ArithmeticError) as out_of_range:
            refused.append(str(out_of_range))
            continue
        check(hints["return"], value, name_of(formula))
        return
    raise AssertionError(f"{name_of(formula)} refused every trial value, such as: {refused[-1]}")


def _call(formula: Formula, given: dict[str, Any]) -> Any:
    parameters = inspect.signature(formula).parameters.values()
    positional = [given[each.name] for each in parameters if each.kind is each.POSITIONAL_OR_KEYWORD]
    by_name = {each.name: given[each.name] for each in parameters if each.kind is each.KEYWORD_ONLY}
    return formula(*positional, **by_name)


DIMENSIONAL = [formula for formula in public_formulas() if exemption(formula) is None]


@pytest.mark.parametrize("formula", DIMENSIONAL, ids=name_of)
def test_a_formula_gives_the_dimension_it_promises(formula: Formula) -> None:
    call_with_quantities(formula)


@pytest.mark.parametrize("formula", public_formulas(), ids=name_of)
def test_a_formula_is_documented_and_fully_annotated(formula: Formula) -> None:
    text = inspect.getdoc(formula) or ""
    assert re.search(r"\d", text), f"{name_of(formula)} has no worked number"
    hints = get_type_hints(formula)
    assert set(hints) == {*inspect.signature(formula).parameters, "return"}


@pytest.mark.parametrize("formula", DIMENSIONAL, ids=name_of)
def test_two_arguments_of_one_dimension_are_keyword_only(formula: Formula) -> None:
    hints = get_type_hints(formula)
    seen: dict[Any, str] = {}
    for parameter in inspect.signature(formula).parameters.values():
        kind = hints[parameter.name]
        if not isinstance(kind, NewType) or parameter.kind is parameter.KEYWORD_ONLY:
            continue
        dimension = unit_of(kind).dimensionality
        assert dimension not in seen, f"{name_of(formula)}: {seen[dimension]} and {parameter.name}"
        seen[dimension] = parameter.name


def test_the_check_catches_a_wrong_dimension() -> None:
    def forgets_a_square(side: Metre) -> SquareMetre:
        return SquareMetre(2 * side)

    def adds_unlike(side: Metre) -> SquareMetre:
        return SquareMetre(side**2 + side)

    with pytest.raises(AssertionError, match="promised"):
        call_with_quantities(forgets_a_square)
    with pytest.raises(pint.DimensionalityError):
        call_with_quantities(adds_unlike)


def test_an_exemption_needs_a_reason() -> None:
    with pytest.raises(ValueError, match="say why"):
        not_dimensional(" ")
