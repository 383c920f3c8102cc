"""Exact figures as they are shown; how they are rounded is in `fitcheck.kernel.rounding`."""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Context, Decimal
from fractions import Fraction

from fitcheck.kernel.rounding import decimal_text

_PRECISE = Context(prec=60, rounding=ROUND_HALF_UP)


def percent_window(low: Fraction | None, high: Fraction | None) -> str:
    """A window such as `+10 to +15 %`."""
    if low is None and high is None:
        return "any change"
    if low is None:
        assert high is not None
        return f"up to {_short(high)} %"
    if high is None:
        return f"from {_short(low)} % up"
    return f"{_short(low)} to {_short(high)} %"


def _short(value: Fraction) -> str:
    text = decimal_text(value, 4).rstrip("0").rstrip(".")
    return f"{'' if text.startswith('-') or text == '0' else '+'}{text}"


def exact_text(value: Fraction) -> str:
    """A fraction as `n/d`, the denominator always there."""
    return f"{value.numerator}/{value.denominator}"


def number(value: Fraction, places: int = 6) -> float:
    """A fraction as a JSON number, rounded once to so many decimals."""
    return float(Decimal(decimal_text(value, places)))


def number_words(value: Fraction) -> str:
    """A fraction rounded to six decimals, without decimals it does not have."""
    text = decimal_text(value, 6)
    return text.rstrip("0").rstrip(".") if "." in text else text


def money(value: Decimal | None, currency: str | None = None) -> str:
    """An amount with two decimals, or with all it has where they are more, and its currency.

    `price?` where it is not known.
    """
    if value is None:
        return "price?"
    exponent = value.normalize(_PRECISE).as_tuple().exponent
    places = max(2, -exponent) if isinstance(exponent, int) else 2
    text = f"{value.quantize(Decimal(1).scaleb(-places), context=_PRECISE):f}"
    return f"{text} {currency}" if currency else text
