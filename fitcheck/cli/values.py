"""Values of options that are read before any catalogue is: counts, amounts, lengths, windows."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Any, NamedTuple

import click

from fitcheck.errors import FitcheckError, UsageError

if TYPE_CHECKING:
    import datetime as dt
    from fractions import Fraction

    from fitcheck.kernel.teeth import Pair

    _AnyType = click.ParamType[Any]
else:  # a generic class only in later releases
    _AnyType = click.ParamType


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
    from fitcheck.services.upkeep.typed_values import read_window

    return read_window(text)


def _amount(text: str) -> Decimal:
    from fitcheck.services.upkeep.typed_values import typed_amount

    return typed_amount(text)


def _currency(text: str) -> str:
    from fitcheck.screens.page.locale import is_currency

    code = text.strip().upper()
    if re.fullmatch(r"[A-Z]{3}", code) is None or not is_currency(code):
        raise UsageError(f"{text[:30]!r} is no currency; give its ISO 4217 code, like EUR")
    return code


class Money(NamedTuple):
    """An amount, and its currency where that is given."""

    amount: Decimal
    currency: str | None


_AMOUNT_AND_CODE = re.compile(r"([^a-z]*[^a-z\s])\s*([a-z]+)", re.IGNORECASE | re.ASCII)


def _money(text: str) -> Money:
    parts = _AMOUNT_AND_CODE.fullmatch(text.strip())
    if parts is None:
        return Money(_amount(text), None)
    return Money(_amount(parts[1]), _currency(parts[2]))


def _price(text: str) -> Decimal:
    from fitcheck.services.upkeep.typed_values import typed_price

    return typed_price(text)


def _share(text: str) -> Decimal:
    from fitcheck.services.upkeep.typed_values import typed_share

    return typed_share(text)


def _millimetres(text: str) -> Fraction:
    from fractions import Fraction

    value = _decimal(text, "millimetres like 1340")
    if not 300 <= value <= 5000:
        raise UsageError(f"{text} mm is no roll-out of a wheel; give millimetres, 300 to 5000")
    return Fraction(value)


def _decimal(text: str, example: str) -> Decimal:
    from fitcheck.services.upkeep.typed_values import typed_decimal

    return typed_decimal(text, example)


@dataclass(frozen=True)
class Quantity:
    """What a number that physics takes may be; both limits allowed.

    Attributes:
        low: the least, as it is told.
        high: the greatest.
        unit: such as `km/h`, or empty.
        what: what it would be, such as `mass of a machine`.
        example: a sensible one.
    """

    low: str
    high: str
    unit: str
    what: str
    example: str

    def read(self, text: str) -> float:
        """The number a word stands for.

        Raises:
            UsageError: no number, or out of range.
        """
        unit = f" {self.unit}" if self.unit else ""
        value = _decimal(text, f"a number{' in' * bool(unit)}{unit} like {self.example}")
        if not Decimal(self.low) <= value <= Decimal(self.high):
            raise UsageError(
                f"{text.strip()}{unit} is no {self.what}; give {self.low} to {self.high}{unit}"
            )
        return float(value)


def _day(text: str) -> dt.date:
    from fitcheck.services.upkeep.typed_values import typed_day

    return typed_day(text)


def reader(name: str, read: Callable[[str], Any]) -> _Read:
    """The type of an option that a function reads; a UsageError of it names the option."""
    return _Read(name, read)


def quantity(low: str, high: str, unit: str, what: str, example: str) -> _Read:
    """The type of an option that takes a `Quantity`; arguments as there."""
    return _Read("number", Quantity(low, high, unit, what, example).read)


TEETH = _Read("pairs", read_counts)
WINDOW = _Read("window", _window)
DAY = _Read("date", _day)
AMOUNT = _Read("amount", _amount)
CURRENCY = _Read("currency", _currency)
MONEY = _Read("amount", _money)
"""An amount with or without its currency: 120, 120 CHF."""
PRICE = _Read("amount", _price)
"""What somebody is to pay in coins, so that thousandths are asked back."""
SHARE = _Read("number", _share)
"""Hours, or a rate in percent: too small for a mark between thousands, so 8.125 is what it says."""
MILLIMETRES = _Read("millimetres", _millimetres)
