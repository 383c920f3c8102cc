"""Dates, figures and prices as the reader's country writes them; the words stay English.

Figures are rounded exactly before Babel is asked for their signs and marks, so that a page shows
the same figure as every other answer. Money stays `Decimal` all the way.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from babel import Locale, UnknownLocaleError
from babel.dates import format_date
from babel.localedata import locale_identifiers
from babel.numbers import format_currency, parse_pattern

from fitcheck.diagnostics.suggest import nearest
from fitcheck.errors import UsageError, clip
from fitcheck.kernel.rounding import decimal_text, percent

_ENGLISH = Locale("en")
_CATEGORIES = ("LC_NUMERIC", "LC_MONETARY", "LC_TIME")
_NO_COUNTRY = ("", "C", "POSIX")
_WRITTEN = re.compile(r"[A-Za-z]{2,3}([_-][A-Za-z0-9]{1,8}){0,3}", re.ASCII)
_CODE_AT_FIGURE = re.compile(r"(?<=[A-Z])(?=[0-9])|(?<=[0-9])(?=[A-Z])", re.ASCII)


@dataclass(frozen=True)
class Local:
    """How one reader's country writes figures, prices and dates.

    Attributes:
        numbers: for figures.
        prices: for money.
        dates: for days; None for year-month-day.
    """

    numbers: Locale = _ENGLISH
    prices: Locale = _ENGLISH
    dates: Locale | None = None

    def figure(self, text: str) -> str:
        """A plain figure such as `-1234.50` with this country's marks, every decimal kept.

        What is below zero has a real minus sign.
        """
        value = Decimal(text)
        exponent = value.as_tuple().exponent
        assert isinstance(exponent, int), text
        pattern = parse_pattern(self.numbers.decimal_formats[None].pattern)
        pattern.frac_prec = (max(0, -exponent),) * 2
        shown = pattern.apply(abs(value), self.numbers)
        return f"\N{MINUS SIGN}{shown}" if value < 0 else shown

    def exact(self, value: Fraction, places: int) -> str:
        """A fraction rounded once, half away from zero."""
        return self.figure(decimal_text(value, places))

    def rough(self, value: float, places: int = 0) -> str:
        """A figure of physics with so many decimals."""
        return self.figure(f"{value:z.{places}f}")

    def signed(self, value: float, places: int = 0) -> str:
        """The same with its sign; nothing is neither more nor less."""
        text = f"{value:+z.{places}f}"
        shown = self.figure(text)
        return f"+{shown}" if text.startswith("+") and Decimal(text) else shown

    def percent(self, value: Fraction, edges: tuple[Fraction, ...] = ()) -> str:
        """A signed percentage that never seems to lie on an edge it misses."""
        text = percent(value, edges).removesuffix(" %")
        return f"{'+' * text.startswith('+')}{self.figure(text)}\N{NO-BREAK SPACE}%"

    def price(self, amount: Decimal, currency: str) -> str:
        """An amount with at least the currency's decimals, and all it has where they are more."""
        text = format_currency(amount, currency, locale=self.prices, decimal_quantization=False)
        # A code in letters stands apart from the figure, which Babel leaves to the caller.
        return _CODE_AT_FIGURE.sub("\N{NO-BREAK SPACE}", text)

    def day(self, date: dt.date) -> str:
        """A day of the calendar."""
        if self.dates is None:
            return date.isoformat()
        return format_date(date, "medium", locale=self.dates)

    def rate(self, percent: Decimal) -> str:
        """A rate of tax such as `22 %`, with the decimals it was given with."""
        return f"{self.figure(f'{percent:f}')}\N{NO-BREAK SPACE}%"

    @property
    def date_language(self) -> str:
        """The language tag of a day as written; empty where it has no words."""
        return "" if self.dates is None else str(self.dates).replace("_", "-")


def named_local(name: str) -> Local:
    """The writing of a locale named by the user, such as `de_DE` or `fr-CH`.

    Raises:
        UsageError: no such locale.
    """
    found = _locale(name)
    if found is None:
        near = nearest(name[:30].replace("-", "_"), locale_identifiers())
        hint = f"did you mean {near}?" if near else "name one like de_DE, en_GB or fr_CH"
        raise UsageError(f"no locale {clip(name, 30)!r}; {hint}")
    return Local(found, found, found)


def local_of(environment: Mapping[str, str]) -> Local:
    """What the environment says, as POSIX reads it: LC_ALL, then each category, then LANG.

    A locale that is not known, or C, gives English figures and dates as year-month-day.
    """
    found = []
    for category in _CATEGORIES:
        names = (environment.get(name, "") for name in ("LC_ALL", category, "LANG"))
        name = next((name for name in names if name), "")
        found.append(_locale(re.split(r"[.@]", name, maxsplit=1)[0]))
    numbers, prices, dates = found
    return Local(numbers or _ENGLISH, prices or _ENGLISH, dates)


def _locale(name: str) -> Locale | None:
    if name.upper() in _NO_COUNTRY or _WRITTEN.fullmatch(name) is None:
        return None
    try:
        return Locale.parse(name, sep="-" if "-" in name else "_")
    except (UnknownLocaleError, ValueError):
        return None
