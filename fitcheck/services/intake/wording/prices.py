"""Amounts of money: decimal comma or point, thousands marks, currency before or behind."""

from __future__ import annotations

import datetime as dt
import re
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from typing import Literal

from fitcheck.services.intake.reading.cells import Cell, plain_text
from fitcheck.services.intake.wording.currencies import CODES, SIGNS, currencies_of
from fitcheck.services.intake.wording.folding import fold
from fitcheck.services.intake.wording.result import (
    Reading,
    as_cell,
    empty,
    read,
    review,
    unreadable,
)

__all__ = ["NumberStyle", "Price", "find_number_style", "read_price"]

Mark = Literal[".", ","]

_USUAL = frozenset({"eur", "gbp", "usd", "chf", "sek", "nok", "dkk", "pln", "czk", "huf", "ron"})
_MOST = Decimal(1_000_000)
_SIGN = "|".join(sorted((re.escape(sign) for sign in SIGNS), key=len, reverse=True))
_CURRENCY = re.compile(rf"(?<![a-z])(?:{_SIGN}|[a-z]{{3}})(?![a-z])\.?")
_NUMBER = re.compile(r"[0-9]+(?:[.,' ][0-9]+)*")
# What may stand beside an amount without changing it: per piece, net or gross, tax words.
_BESIDE = re.compile(
    r"(?<![a-z])(?:netto|net|brutto|gross|lordo|brut|bruto|neto|ht|ttc|hors taxe|"
    r"(?:inkl|incl|zzgl|excl|exkl|escl|plus|\+|iva|i\.v\.a|mwst|ust|vat|tva|"
    r"inclusa?|esclusa?|incluido|compris|included|excluded)|"
    r"(?:pro|per|je|par|por|a|al|/) ?(?:stuck|stk|st|pezzo|pz|piece|pce|pc|pcs|unidad|ud|unite|satz|"
    r"set|kit)|each|ea|cad|cadauno|cadauna|l'uno|la piece|p\.p|uvp|rrp|pvp|vk|ek|listino|"
    r"stuck|stk|pz|pce|pc|"
    r"preis|price|prezzo|prix|precio)(?![a-z])\.?"
)
_NONE = re.compile(
    r"(?:(?:preis )?auf anfrage|a\.? ?a\.?|on request|upon request|p\.?o\.?a\.?|price on (?:application|request)|call|"
    r"su richiesta|a richiesta|sur demande|nous consulter|a consultar|consultar|bajo pedido|"
    r"tba|tbd|t\.b\.a\.?|n/?a|n\.a\.|n\.d\.|nd|k\.? ?a\.?|-+|\?+|x+|\.+|/|offen|folgt|anfragen|"
    r"in arrivo|coming soon|keine angabe|none|null|nan)"
)
_GROUPS = re.compile(r"[0-9]{1,3}(?P<mark>[.,' ])[0-9]{3}(?:(?P=mark)[0-9]{3})*|[0-9]+")
_PLACES = re.compile(r"[#0]\.(0+)")


@dataclass(frozen=True, slots=True)
class Price:
    """An amount of money.

    Attributes:
        amount: exact.
        currency: ISO 4217 code where the cell names it, else None.
    """

    amount: Decimal
    currency: str | None = None

    def __str__(self) -> str:
        return f"{self.amount} {self.currency}" if self.currency else str(self.amount)


@dataclass(frozen=True, slots=True)
class NumberStyle:
    """How a column writes its amounts.

    Attributes:
        decimal_mark: point or comma; None where nothing in the column tells.
        places: decimals its amounts have, each with how often; empty where none tells.
        contradicting: cells that use the other mark for certain.
    """

    decimal_mark: Mark | None
    places: tuple[tuple[int, int], ...] = ()
    contradicting: int = 0

    @property
    def usual_places(self) -> int | None:
        """The most frequent number of decimals."""
        return max(self.places, key=lambda each: each[1])[0] if self.places else None


def find_number_style(cells: Iterable[Cell | str]) -> NumberStyle:
    """How a column writes its amounts, told by those that can be read in one way only.

    Args:
        cells: all cells of the column, or their texts.

    Returns:
        The mark that all or nearly all (19 of 20) telling cells use; None where they disagree.
    """
    marks: Counter[Mark] = Counter()
    places: Counter[tuple[Mark, int]] = Counter()
    for each in cells:
        cell = as_cell(each)
        if not isinstance(cell.value, str):
            continue
        found = _NUMBER.findall(fold(cell.text))
        if len(found) != 1:
            continue
        mark, decimals = _telling(found[0].strip())
        if mark:
            marks[mark] += 1
            places[mark, decimals] += 1
    if not marks:
        return NumberStyle(None)
    mark, count = marks.most_common(1)[0]
    other = marks.total() - count
    if other * 19 > count:
        return NumberStyle(None, contradicting=other)
    shown = tuple(
        (number, often) for (each, number), often in sorted(places.items()) if each == mark
    )
    return NumberStyle(mark, shown, other)


def _telling(number: str) -> tuple[Mark | None, int]:
    """The decimal mark a number shows for certain, and how many decimals."""
    marks = [sign for sign in number if not sign.isdigit()]
    if not marks:
        return None, 0
    last = marks[-1]
    decimals = len(number.rpartition(last)[2])
    if len(set(marks)) > 1:
        if last in ".," and marks.count(last) == 1 and _grouped(number.rpartition(last)[0]):
            return last, decimals  # type: ignore[return-value]
        return None, 0
    if last not in ".,":
        return None, 0
    if len(marks) > 1:
        # 1.234.567: the point groups thousands, so the comma parts decimals.
        return ("," if last == "." else "."), 0
    if decimals != 3 or number[0] == "0" or len(number.partition(last)[0]) > 3:
        return last, decimals  # type: ignore[return-value]
    return None, 0


def read_price(
    cell: Cell | str,
    *,
    decimal_mark: Mark | None = None,
    style: NumberStyle | None = None,
    currency: str | None = None,
) -> Reading[Price]:
    """The amount of money in a cell.

    Args:
        cell: the cell, or bare text.
        decimal_mark: the supplier's, where its mapping says so.
        style: how the whole column writes, from `find_number_style`.
        currency: the supplier's; settles signs that countries share, and a cell that names another
            one goes to review.

    Returns:
        The amount, exact. A number that can be read in two ways (`1.234`) and nothing settles, is
        for review; `on request` and the like are empty with the reason.
    """
    cell = as_cell(cell)
    if cell.blank:
        return empty(cell)
    value = cell.value
    if isinstance(value, bool):
        return unreadable(cell, "yes or no, no price")
    if isinstance(value, (int, float)):
        return _of_number(cell, value)
    if isinstance(value, (dt.date, dt.time, dt.timedelta)):
        return _of_date(cell)
    return _of_text(cell, decimal_mark, style or NumberStyle(None), currency)


def _of_number(cell: Cell, value: float) -> Reading[Price]:
    if isinstance(value, float) and (value != value or abs(value) == float("inf")):  # noqa: PLR0124
        return unreadable(cell, "no number")
    amount = Decimal(plain_text(value))
    places = -int(amount.as_tuple().exponent)
    named = _format_currency(cell.number_format)
    if places > 2:
        shown = _PLACES.search(cell.number_format)
        if shown and "%" not in cell.number_format:
            rounded = amount.quantize(Decimal(1).scaleb(-len(shown[1])), ROUND_HALF_UP)
            if len(shown[1]) >= 2:
                return _sane(cell, Price(rounded, named), f"{amount} as the sheet shows it")
        rounded = amount.quantize(Decimal("0.01"), ROUND_HALF_UP)
        return review(
            cell, f"{amount} has {places} decimals", Price(rounded, named), Price(amount, named)
        )
    if "%" in cell.number_format:
        return review(cell, "a share in percent, no price")
    return _sane(cell, Price(amount, named))


def _format_currency(code: str) -> str | None:
    """The currency a number format shows, where it is only one."""
    found = re.search(r"\[\$([^\]-]+)[^\]]*\]|([€£])|\"([^\"]{1,4})\"", code)
    if not found:
        return None
    names = currencies_of(next(filter(None, found.groups())))
    return names[0] if names and len(names) == 1 else None


def _of_date(cell: Cell) -> Reading[Price]:
    value = cell.value
    reason = "a spreadsheet made a date of it; look at the list"
    if isinstance(value, dt.date):
        written = dict.fromkeys(
            (f"{value.day}.{value.month:02d}", f"{value.month}.{value.day:02d}")
        )
        return review(cell, reason, *[Price(Decimal(each)) for each in written])
    return review(cell, "a spreadsheet made a time of it; look at the list")


def _of_text(
    cell: Cell, mark: Mark | None, style: NumberStyle, currency: str | None
) -> Reading[Price]:
    text = fold(cell.text).strip()
    if _NONE.fullmatch(text):
        return empty(cell, f"the list names no price ({cell.text.strip()!r})")
    capitals = frozenset(word.lower() for word in re.findall(r"[A-Z]{3}", cell.text))
    text, named, trouble = _take_currency(text, currency, capitals)
    if trouble:
        return review(cell, trouble)
    text = re.sub(r"([0-9])[.,]\s?-{1,2}(?![0-9-])", r"\1", text.strip())  # 12,- and 12.--
    bare = _BESIDE.sub(" ", text)
    bare = re.sub(r"[()=*:/]|[0-9]{1,2}(?:[.,][0-9])? ?%", " ", bare) if bare != text else bare
    bare = re.sub(r"^[=:* ]+|[* ]+$", "", bare)
    bare = re.sub(r"[ ]+", " ", bare).strip()
    if not any(sign.isdigit() for sign in bare):
        if _NONE.fullmatch(bare) or not bare:
            return empty(cell, f"the list names no price ({cell.text.strip()[:40]!r})")
        return unreadable(cell, "no amount of money")
    if re.fullmatch(r"-\s?[0-9].*|[0-9].*-|\([0-9].*\)", bare):
        return review(cell, "an amount below zero")
    if not _NUMBER.fullmatch(bare):
        numbers = _NUMBER.findall(bare)
        if len(numbers) > 1:
            return review(cell, "more than one number")
        return review(cell, "other words stand beside the amount")
    return _amount(cell, bare, mark, style, named)


def _take_currency(
    text: str, currency: str | None, capitals: frozenset[str]
) -> tuple[str, str | None, str]:
    """The text without its currency, the currency's code, and what is wrong with it.

    Codes are written in capitals, but for the usual ones: `cad.` is Italian for each.
    """
    named: str | None = None
    for found in _CURRENCY.finditer(text):
        meant = currencies_of(found.group())
        word = found.group().rstrip(".")
        if meant is None or (word.upper() in CODES and word not in _USUAL | capitals):
            continue
        code = meant[0] if len(meant) == 1 else (currency if currency in meant else None)
        if found.group().rstrip(".") == "fr" and currency not in (None, "CHF"):
            code = None
        if code is None:
            return text, None, f"{found.group()!r} may be any of {', '.join(meant)}"
        if named not in (None, code):
            return text, None, f"it names both {named} and {code}"
        named = code
        text = text[: found.start()] + " " * len(found.group()) + text[found.end() :]
    if named and currency and named != currency:
        return text, None, f"it names {named}, the supplier's currency is {currency}"
    return text, named, ""


def _grouped(text: str) -> bool:
    """Whether the digits are in groups of three, parted by one mark."""
    return _GROUPS.fullmatch(text) is not None


def _amount(
    cell: Cell, number: str, mark: Mark | None, style: NumberStyle, named: str | None
) -> Reading[Price]:
    marks = [sign for sign in number if not sign.isdigit()]
    kinds = set(marks)
    wanted = mark or style.decimal_mark
    if not marks:
        return _sane(cell, Price(Decimal(number), named))
    last = marks[-1]
    if len(kinds) == 1 and last in "' ":
        if not _grouped(number):
            return review(cell, "the digits are not in groups of three")
        return _sane(cell, Price(_decimal(number, None), named))
    if len(kinds) > 2 or (len(kinds) == 2 and (last not in ".," or marks.count(last) > 1)):
        return review(cell, "the marks between the digits make no number")
    if len(kinds) == 2 or len(marks) == 1:
        decimal = last
        if len(kinds) == 2 and not _grouped(number.rpartition(last)[0]):
            return review(cell, "the digits are not in groups of three")
    elif _grouped(number):
        decimal = "," if last == "." else "."
    else:
        return review(cell, "the digits are not in groups of three")
    if len(marks) == 1 and len(number.rpartition(last)[2]) == 3 and _telling(number)[0] is None:
        return _two_ways(cell, number, last, wanted, style, named)
    as_written = Price(_decimal(number, decimal), named)
    if wanted is not None and decimal != wanted:
        name = "comma" if wanted == "," else "point"
        return review(cell, f"the list's decimal mark is the {name}, here it is not", as_written)
    places = -int(as_written.amount.as_tuple().exponent)
    if places > 4:
        return review(cell, f"{places} decimals are too many for a price", as_written)
    return _sane(cell, as_written)


def _two_ways(
    cell: Cell,
    number: str,
    sign: str,
    wanted: Mark | None,
    style: NumberStyle,
    named: str | None,
) -> Reading[Price]:
    """`1.234`: one and a bit, or more than a thousand."""
    thousand = Price(Decimal(number.replace(sign, "")), named)
    small = Price(Decimal(number.replace(sign, ".")), named)
    if wanted is None:
        return review(cell, f"{number} may be {small.amount} or {thousand.amount}", thousand, small)
    if wanted != sign:
        return _sane(cell, thousand)
    usual = style.usual_places
    if usual is not None and usual != 3:
        return review(
            cell,
            f"{number} has three decimals where the column has {usual}",
            thousand,
            small,
        )
    return _sane(cell, small)


def _decimal(number: str, mark: str | None) -> Decimal:
    kept = "".join(sign for sign in number if sign.isdigit() or sign == mark)
    return Decimal(kept.replace(mark, ".") if mark else kept)


def _sane(cell: Cell, price: Price, reason: str = "") -> Reading[Price]:
    if price.amount < 0:
        return review(cell, "an amount below zero")
    if price.amount == 0:
        return review(cell, "a price of nothing; is it left open?", price)
    if price.amount > _MOST:
        return review(cell, f"{price.amount} is over a million; is it a part number?")
    return read(cell, price, reason)
