"""Marking the few formulas whose equation is not dimensionally homogeneous, and why."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

AnyFormula = TypeVar("AnyFormula", bound=Callable[..., Any])

_REASON = "__not_dimensional__"


def not_dimensional(reason: str) -> Callable[[AnyFormula], AnyFormula]:
    """Leave a formula out of the dimension test; `reason` says why it cannot be called with units.

    Raises:
        ValueError: an empty reason.
    """
    if not reason.strip():
        raise ValueError("say why the formula can't be called with units")

    def mark(formula: AnyFormula) -> AnyFormula:
        setattr(formula, _REASON, reason)
        return formula

    return mark


def exemption(formula: Callable[..., Any]) -> str | None:
    """The reason given with `not_dimensional`, or `None`."""
    return getattr(formula, _REASON, None)
