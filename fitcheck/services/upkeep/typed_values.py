"""Amounts, days, words and percent windows as people type them, and when an amount is a jump."""

from __future__ import annotations

import datetime as dt
import re
from decimal import Decimal, InvalidOperation
from fractions import Fraction

from fitcheck.errors import UsageError

_AMOUNT = re.compile(r"[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)", re.ASCII)
_THOUSANDS = re.compile(r"\+?([1-9][0-9]{0,2})[.,]([0-9]{3})", re.ASCII)
"""Read with a decimal mark one amount, read with a mark between thousands another."""
_COMMA_THOUSANDS = re.compile(r"[+-]?[1-9][0-9]{0,2},[0-9]{3}", re.ASCII)
_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", re.ASCII)
_DOTS = re.compile(r"(?<!\.)\s*\.\.\s*(?!\.)")
"""Two dots, not three: in `0...5` nobody can say whether .5 was meant."""

_PERCENTAGE = re.compile(r"[+-]?(?:[0-9]+(?:\.[0-9]+)?|\.[0-9]+)")
_MINUS_SIGNS = dict.fromkeys([0x2212, *range(0x2010, 0x2016), 0xFE63, 0xFF0D], "-")


def typed_amount(text: str) -> Decimal:
    """An amount of money, zero or more, decimal point or comma.

    Raises:
        UsageError: no such amount, or one whose mark may part thousands or decimals.
    """
    doubt = doubtful_thousands(text)
    if doubt is not None:
        raise UsageError(doubt)
    example = "an amount like 75 or 74.90"
    if _AMOUNT.fullmatch(_pointed(text)) is None:
        raise _no_number(text, example)
    return _not_below_zero(text, example, "an amount")


def doubtful_thousands(text: str) -> str | None:
    """What to ask back where a mark may part thousands or decimals; None where nothing does."""
    doubtful = _THOUSANDS.fullmatch(text.strip())
    if doubtful is None:
        return None
    whole, digits = doubtful.groups()
    other = digits[:-1] if digits.endswith("0") else f"{digits}0"
    return _ask_thousands(text, whole, digits, f" or {whole}.{other}")


def _ask_thousands(text: str, whole: str, digits: str, parts: str) -> str:
    doubt = f"{text.strip()} may mean {whole}{digits} or {whole}.{digits}"
    return f"{doubt}; write {whole}{digits}{parts}"


def typed_measure(text: str) -> Decimal:
    """A number of a record, decimal point; a comma too where it cannot part thousands.

    Raises:
        UsageError: no number of at most nine digits before and behind the point, or one whose
            comma may part thousands or decimals.
    """
    plain = _pointed(text)
    if not re.fullmatch(r"-?[0-9]{1,9}(?:\.[0-9]{1,9})?", plain, re.ASCII):
        raise UsageError(f"{text[:60]!r} is no number; write it like 64.90")
    _refuse_comma_thousands(text)
    return Decimal(plain)


def _refuse_comma_thousands(text: str) -> None:
    if _COMMA_THOUSANDS.fullmatch(text.strip()):
        plain = _pointed(text)
        whole, _, digits = plain.partition(".")
        raise UsageError(_ask_thousands(text, whole, digits, f" or {plain}"))


def typed_price(text: str) -> Decimal:
    """A selling price, as `typed_amount`; what may be thousands is asked back in whole cents.

    Raises:
        UsageError: no such amount, or one whose mark may part thousands or decimals.
    """
    doubtful = _THOUSANDS.fullmatch(text.strip())
    if doubtful is not None and not doubtful[2].endswith("0"):
        whole, digits = doubtful.groups()
        down = Decimal(f"{whole}.{digits[:-1]}")
        up = down + Decimal("0.01")
        raise UsageError(_ask_thousands(text, whole, digits, f", or {down} or {up}"))
    return typed_amount(text)


def typed_share(text: str) -> Decimal:
    """Hours, or a rate in percent: too small for a mark between thousands.

    Raises:
        UsageError: no number, or one below zero.
    """
    return _not_below_zero(text, "a number like 22 or 1.5", "0 or more")


def typed_quantity(text: str, example: str, low: Decimal, high: Decimal) -> Decimal:
    """A physical quantity, as `typed_decimal`.

    Args:
        text: as it was typed.
        example: a sensible one, for the refusal.
        low: the least there is.
        high: the greatest.

    Raises:
        UsageError: no number, one of too many digits, or one whose comma may part thousands or
            decimals, since with thousands it lies between the limits.
    """
    value = typed_decimal(text, example)
    if low <= value * 1000 <= high:
        _refuse_comma_thousands(text)
    return value


def typed_decimal(text: str, example: str) -> Decimal:
    """A number, decimal point or comma.

    Args:
        text: as it was typed.
        example: a sensible one, for the refusal.

    Raises:
        UsageError: no number, or one of too many digits.
    """
    try:
        value = Decimal(_pointed(text))
    except InvalidOperation:
        value = Decimal("NaN")
    # The limits also keep what is exact here from becoming a number of a million digits.
    if not value.is_finite() or value.adjusted() > 7 or len(text) > 30:
        raise _no_number(text, example)
    return value


def typed_day(text: str) -> dt.date:
    """A day, year-month-day.

    Raises:
        UsageError: not written so, or no day of the calendar.
    """
    shown = text if len(text) <= 30 else f"{text[:27]}..."
    if _DAY.fullmatch(text.strip()) is None:
        raise UsageError(f"{shown!r} is no date; write year-month-day, like 2026-03-31")
    try:
        return dt.date.fromisoformat(text.strip())
    except ValueError:
        raise UsageError(f"{shown} is no day of the calendar; write one, like 2026-03-31") from None


def one_line(text: str, what: str) -> str:
    """A text that stands on one line, blanks at its ends taken off.

    Raises:
        UsageError: it holds a line break or another character that cannot be shown.
    """
    plain = text.strip()
    wrong = next((char for char in plain if not char.isprintable()), None)
    if wrong is not None:
        code = wrong.encode("unicode_escape").decode("ascii")
        raise UsageError(f"{what} holds the character {code}; write it in one line of plain words")
    return plain


def _pointed(text: str) -> str:
    return text.strip().replace(",", ".").replace("\N{MINUS SIGN}", "-")


def _no_number(text: str, example: str) -> UsageError:
    return UsageError(f"{text[:30]!r} is no sensible number; give {example}")


def _not_below_zero(text: str, example: str, what: str) -> Decimal:
    value = typed_decimal(text, example)
    if value < 0:
        raise UsageError(f"{text} is below zero; give {what}")
    return value


_JUMP = 2


def is_jump(old: Decimal, new: Decimal, factor: int = _JUMP) -> bool:
    """Whether an amount becomes `factor` times as much, or so many times less (judgement)."""
    return max(old, new) >= factor * min(old, new)


def read_window(text: str) -> tuple[Fraction | None, Fraction | None]:
    """Read a percent window such as `10..15`, `-12.5..0`, `..20` or `5..`.

    Returns:
        (low, high) as exact fractions, None for an open side.

    Raises:
        UsageError: it is no such window, or its edges are swapped.
    """
    hint = "write it as low..high in percent, like 10..15 or -5..0"
    shown = text if len(text) <= 40 else text[:37] + "..."
    parts = _DOTS.split(text.strip())
    if len(parts) != 2:
        raise UsageError(f"{shown!r} is no percent window; {hint}")
    edges: list[Fraction | None] = []
    for part in parts:
        given = part.removesuffix("%").strip()
        if not given:
            edges.append(None)
            continue
        edge = _percentage(given)
        if edge is None:
            raise UsageError(f"{given[:40]!r} is no percentage; {hint}")
        edges.append(edge)
    low, high = edges
    if low is None and high is None:
        raise UsageError(f"{shown!r} gives no edge; {hint}")
    if low is not None and high is not None and low > high:
        raise UsageError(f"the window {shown} runs backwards; {hint}")
    if high is not None and high <= -100:
        raise UsageError("a road-speed change is always over -100 %; " + hint)
    return low, high


def _percentage(text: str) -> Fraction | None:
    plain = text.translate(_MINUS_SIGNS).replace(",", ".")
    if len(plain) > 20 or _PERCENTAGE.fullmatch(plain) is None:
        return None
    value = Fraction(plain)
    return value if abs(value) <= 1_000_000 else None
