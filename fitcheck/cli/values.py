"""Values of options that are read before any catalogue is: counts, amounts, lengths, windows."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal, InvalidOperation
from typing import TYPE_CHECKING, Any

import click

from fitcheck.errors import FitcheckError, UsageError

if TYPE_CHECKING:
    from fractions import Fraction

    from fitcheck.kernel.teeth import Pair

    _AnyType = click.ParamType[Any]
else:  # a generic class only in later releases
    _AnyType = click.ParamType

__all__ = ["AMOUNT", "MILLIMETRES", "TEETH", "WINDOW", "read_counts"]


class _Read(_AnyType):
    """A value that a function reads; what it refuses ends in one line that names the option."""

    def __init__(self, name: str, read: Callable[[str], Any]) -> None:
        self.name = name
        self.read = read

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """What a word of the command line stands for; fails with one line."""
        if not isinstance(value, str) or (ctx is not None and ctx.resilient_parsing):
            return value
        try:
            return self.read(value)
        except FitcheckError as error:
            self.fail(str(error), param, ctx)


def read_counts(text: str) -> tuple[Pair, ...]:
    """Read counted pairs, from input shaft to wheel.

    Raises:
        UsageError: what was counted makes no train.
    """
    from fitcheck.kernel.teeth import TeethError, read_train

    try:
        return read_train(text)
    except TeethError as error:
        raise UsageError(f"tooth counts: {error}") from None


def _window(text: str) -> tuple[Fraction | None, Fraction | None]:
    from fitcheck.services.bands import read_window

    return read_window(text)


def _amount(text: str) -> Decimal:
    price = _decimal(text, "an amount like 75 or 74.90")
    if price < 0:
        raise UsageError(f"{text} is below zero; give an amount")
    return price


def _millimetres(text: str) -> Fraction:
    from fractions import Fraction

    value = _decimal(text, "millimetres like 1340")
    if not 300 <= value <= 5000:
        raise UsageError(f"{text} mm is no roll-out of a wheel; give millimetres, 300 to 5000")
    return Fraction(value)


def _decimal(text: str, example: str) -> Decimal:
    try:
        value = Decimal(text.strip().replace(",", ".").replace("\N{MINUS SIGN}", "-"))
    except InvalidOperation:
        value = Decimal("NaN")
    # The limits also keep what is exact here from becoming a number of a million digits.
    if not value.is_finite() or value.adjusted() > 7 or len(text) > 30:
        raise UsageError(f"{text[:30]!r} is no sensible number; give {example}")
    return value


TEETH = _Read("pairs", read_counts)
WINDOW = _Read("window", _window)
AMOUNT = _Read("amount", _amount)
MILLIMETRES = _Read("millimetres", _millimetres)
