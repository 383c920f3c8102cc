"""Exact figures rounded once, half away from zero, never through a float."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction


def decimal_text(value: Fraction, places: int) -> str:
    """A fraction with so many decimals."""
    scaled = value * 10**places
    whole, rest = divmod(abs(scaled.numerator), scaled.denominator)
    if 2 * rest >= scaled.denominator:
        whole += 1
    sign = "-" if value < 0 and whole else ""
    digits = str(whole).rjust(places + 1, "0")
    return f"{sign}{digits[:-places]}.{digits[-places:]}" if places else f"{sign}{digits}"


def percent(value: Fraction, edges: Iterable[Fraction] = (), places: int = 2) -> str:
    """A signed percentage such as `+12.28 %`.

    Where rounding would put it on an edge that it does not exactly meet, more decimals are
    shown, so that a figure never seems to lie on the wrong side.
    """
    text = decimal_text(value, places)
    for edge in edges:
        if value != edge:
            while places < 9 and Fraction(text) == edge:
                places += 1
                text = decimal_text(value, places)
    return f"{'' if text.startswith('-') else '+'}{text} %"
