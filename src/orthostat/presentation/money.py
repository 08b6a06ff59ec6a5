"""Money as text: amounts to the cent where they are paid, to three figures where they are judged."""

from __future__ import annotations

from orthostat.base.showing import round_to_figures


def exact(amount: float | None, currency: str = "") -> str:
    """An amount to the cent, thousands apart: `1,234.50 EUR`; a dash where it is not known."""
    if amount is None:
        return "–"
    return f"{amount:,.2f} {currency}".rstrip()


def judged(amount: float | None, currency: str = "") -> str:
    """An amount to three figures: `4,260 EUR`."""
    if amount is None:
        return "–"
    text = round_to_figures(amount, 3)
    if "." not in text and "e" not in text:
        text = f"{int(text):,}"
    return f"{text} {currency}".rstrip()
