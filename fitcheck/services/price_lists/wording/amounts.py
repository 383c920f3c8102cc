"""Numbers as lists write them, currencies beside them, and what is done with an amount.

`1.234` is one and a bit, or more than a thousand: the mapping's decimal mark or the column as a
whole settles it, or nothing does.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from functools import lru_cache
from typing import Literal

from fitcheck.services.price_lists.wording.cues import GEAR_WORDS, WHEEL_GEAR_WORDS, WORDS, any_of
from fitcheck.services.price_lists.wording.readings import fold

DecimalMark = Literal[".", ","]

NUMBER = re.compile(r"[0-9]+(?:[.,' ][0-9]+)*")
"""A number with its marks, on folded text, where all spaces and apostrophes are of one kind."""

_GROUPS = re.compile(r"[0-9]{1,3}(?P<mark>[.,' ])[0-9]{3}(?:(?P=mark)[0-9]{3})*|[0-9]+")
_NOT_GROUPED = "the digits are not in groups of three"
_MOST_PLACES = 4


@dataclass(frozen=True, slots=True)
class NumberStyle:
    """How a column writes its amounts.

    Attributes:
        decimal_mark: point or comma; None where nothing in the column tells.
        places: decimals its amounts have, each with how often; empty where none tells.
        contradicting: cells that use the other mark for certain.
    """

    decimal_mark: DecimalMark | None
    places: tuple[tuple[int, int], ...] = ()
    contradicting: int = 0

    @property
    def usual_places(self) -> int | None:
        """The most frequent number of decimals."""
        return max(self.places, key=lambda each: each[1])[0] if self.places else None


@dataclass(frozen=True, slots=True)
class Amount:
    """What a written number comes to.

    Attributes:
        value: where it is certain, else None.
        reason: why not, one sentence.
        possible: what it may be.
    """

    value: Decimal | None
    reason: str = ""
    possible: tuple[Decimal, ...] = ()


def style_of(numbers: Iterable[str]) -> NumberStyle:
    """How numbers are written, told by those that can be read in one way only.

    Args:
        numbers: each as `NUMBER` matches it.

    Returns:
        The mark that all or nearly all (19 of 20) telling numbers use; None where they disagree.
    """
    told = Counter(found for number in numbers if (found := _telling(number)))
    marks: Counter[DecimalMark] = Counter()
    for (mark, _), often in told.items():
        marks[mark] += often
    if not marks:
        return NumberStyle(None)
    mark, count = marks.most_common(1)[0]
    other = marks.total() - count
    if other * 19 > count:
        return NumberStyle(None, contradicting=other)
    places = sorted((number, often) for (each, number), often in told.items() if each == mark)
    return NumberStyle(mark, tuple(places), other)


def read_amount(number: str, decimal_mark: DecimalMark | None, style: NumberStyle) -> Amount:
    """The amount a written number is.

    Args:
        number: as `NUMBER` matches it.
        decimal_mark: the mark the list is known to use, where it is.
        style: how the rest of the column writes.
    """
    wanted = decimal_mark or style.decimal_mark
    marks = [sign for sign in number if not sign.isdigit()]
    if not marks or set(marks) <= {"'", " "}:
        grouped = not marks or _GROUPS.fullmatch(number)
        return Amount(_decimal(number, None)) if grouped else Amount(None, _NOT_GROUPED)
    mark, trouble = _mark_of(number, marks)
    if mark is None:
        return Amount(None, trouble)
    if len(marks) == 1 and _telling(number) is None:
        return _two_ways(number, mark, wanted, style.usual_places)
    value = _decimal(number, mark)
    if wanted is not None and mark != wanted:
        name = "comma" if wanted == "," else "point"
        return Amount(None, f"the list's decimal mark is the {name}, here it is not", (value,))
    places = -int(value.as_tuple().exponent)
    if places > _MOST_PLACES:
        return Amount(None, f"{places} decimals are too many for a price", (value,))
    return Amount(value)


def _mark_of(number: str, marks: list[str]) -> tuple[DecimalMark | None, str]:
    """The decimal mark a number goes by, or what is wrong with it."""
    last = marks[-1]
    if len(set(marks)) == 1 and len(marks) > 1:
        # 1.234.567: the point groups thousands, so the comma would part decimals.
        grouped = _GROUPS.fullmatch(number)
        return (_other(last), "") if grouped else (None, _NOT_GROUPED)
    if last not in ".," or marks.count(last) > 1 or len(set(marks)) > 2:
        return None, "the marks between the digits do not make a number"
    if len(marks) > 1 and not _GROUPS.fullmatch(number.rpartition(last)[0]):
        return None, _NOT_GROUPED
    return ("." if last == "." else ","), ""


def _other(mark: str) -> DecimalMark:
    return "," if mark == "." else "."


def _telling(number: str) -> tuple[DecimalMark, int] | None:
    """The decimal mark a number shows for certain, and its decimals; None where it does not."""
    marks = [sign for sign in number if not sign.isdigit()]
    if not set(marks) & {".", ","}:
        return None
    mark, _ = _mark_of(number, marks)
    if mark is None:
        return None
    last = marks[-1]
    decimals = len(number.rpartition(last)[2])
    if len(marks) > 1:
        return (mark, decimals) if mark == last else (mark, 0)
    one_way = decimals != 3 or number[0] == "0" or len(number.partition(last)[0]) > 3
    return (mark, decimals) if one_way else None


def _two_ways(
    number: str, sign: DecimalMark, wanted: DecimalMark | None, usual: int | None
) -> Amount:
    """`1.234`: one and a bit, or more than a thousand."""
    thousand, small = _decimal(number, None), _decimal(number, sign)
    if wanted is None:
        return Amount(None, f"{number} may be {small} or {thousand}", (thousand, small))
    if wanted != sign:
        return Amount(thousand)
    if usual is not None and usual != 3:
        reason = f"{number} has three decimals where the column has {usual}"
        return Amount(None, reason, (thousand, small))
    return Amount(small)


def _decimal(number: str, mark: str | None) -> Decimal:
    kept = "".join(sign for sign in number if sign.isdigit() or sign == mark)
    return Decimal(kept.replace(mark, ".") if mark else kept)


CODES = WORDS["currency"]["codes"]

SIGNS: dict[str, tuple[str, ...]] = {
    "€": ("EUR",),
    "euro": ("EUR",),
    "euros": ("EUR",),
    "£": ("GBP",),
    "us$": ("USD",),
    "sfr": ("CHF",),
    "fr": ("CHF",),
    "zł": ("PLN",),
    "zl": ("PLN",),
    "kč": ("CZK",),
    "kc": ("CZK",),
    "ft": ("HUF",),
    "lei": ("RON",),
    "$": ("USD", "CAD", "AUD", "NZD", "MXN", "SGD", "HKD"),
    "kr": ("SEK", "NOK", "DKK", "ISK"),
    "¥": ("JPY", "CNY"),
    "₺": ("TRY",),
    "₹": ("INR",),
    "₽": ("RUB",),
}
"""What a sign may mean, folded; more than one where countries share it."""


def currencies_of(word: str) -> tuple[str, ...] | None:
    """The currencies a sign or code may mean, or None where it is neither."""
    bare = word.strip().rstrip(".").lower()
    if bare.upper() in CODES:
        return (bare.upper(),)
    return SIGNS.get(bare)


USUAL = ("eur", "gbp", "usd", "chf", "sek", "nok", "dkk", "pln", "czk", "huf", "ron")
# Signs that are plain in a line of words; `fr` and `kr` may be words there.
PLAIN_SIGN = re.compile(
    rf"(?<![a-z])(?:{'|'.join(USUAL)}|euros?|sfr)(?![a-z])"
    rf"|{'|'.join(re.escape(sign) for sign in SIGNS if not sign.isalpha())}"
)
# Names of currencies, of which a bare `francs` or `pounds` may be any country's.
_SPELT = {code.lower(): re.compile(any_of(names)) for code, names in WORDS["currency_name"].items()}
_MAY_STATE = re.compile(
    rf"[€£$¥₺₹₽]|{'|'.join(USUAL)}|sfr|sviz|schwei|suiss|suizo|swiss|dolla|d[oó]lar|sterl|pfund"
)
# Common practice, no source.
OF_PRICES = r"[a-z]*preise?n?|prices?|prezz[oi]|prix|precios?|tarif[a-z]*|listin[oi]"
"""Words for prices and lists of them, folded, as a part of a pattern."""

_OF_PRICES = re.compile(
    rf"(?<![a-z])(?:{OF_PRICES}|wahrung|waehrung|currency|valuta|divisa|devise|moneda|monnaie)"
    r"(?![a-z])"
)
_AMOUNT_BESIDE = re.compile(r"[0-9][.,0-9'-]*\s?$")
_FEW = 2
"""So many words may stand beside a currency in a line that is of nothing else."""


@lru_cache(maxsize=4096)
def stated_currency(text: str, *, of_prices: bool = False) -> str:
    """The currency in which a line says that prices are: `All prices in USD`, or `CHF` alone.

    Args:
        text: a line, a remark or the name of a sheet.
        of_prices: whether it must speak of prices.

    Returns:
        The sign or code as written, folded; empty where it names none, several, or an amount such
        as `free from 500 EUR`.
    """
    if not _MAY_STATE.search(text.lower()):
        return ""
    folded = fold(text)
    for code, name in _SPELT.items():
        folded = name.sub(code, folded)
    found: dict[tuple[str, ...], str] = {}
    rest = folded
    for sign in PLAIN_SIGN.finditer(folded):
        if _AMOUNT_BESIDE.search(folded[: sign.start()]) or re.match(
            r"\s?[0-9]", folded[sign.end() :]
        ):
            return ""
        found[currencies_of(sign.group()) or ()] = sign.group()
        rest = rest.replace(sign.group(), " ")
    if len(found) != 1:
        return ""
    words = re.findall(r"[a-z0-9]+", rest)
    alone = len(words) <= _FEW and not any(map(str.isdigit, rest))
    if _OF_PRICES.search(folded) or (alone and not of_prices):
        return next(iter(found.values()))
    return ""


# ------------------------------------------------------------------ rules of price


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


_SIGNED = re.compile(
    rf"(?:(?P<before>{PLAIN_SIGN.pattern}) ?)?(?<![0-9.,/x])(?P<number>[0-9]+(?:[.,][0-9]{{2}})?)"
    rf"(?![0-9.,/x]*[0-9])(?: ?(?P<behind>{PLAIN_SIGN.pattern}))?"
)


def amounts_said(folded: str, currency: str) -> dict[str, Decimal]:
    """Where a folded text says amounts of a currency: `64,90 €`, and each amount."""
    return {
        each.group(): Decimal(each["number"].replace(",", "."))
        for each in _SIGNED.finditer(folded)
        if (sign := each["before"] or each["behind"]) and currency in (currencies_of(sign) or ())
    }


AS_IT_STANDS = "as it stands"
_RULE = re.compile(
    r"(?P<sign>[x*×/÷:]) ?(?P<pieces>[1-9][0-9]{0,3})"
    r"|(?P<by>[-+−]) ?(?P<percent>[0-9]{1,2}(?:[.,][0-9]+)?) ?%"
)
_COUNT_IN = re.compile(r"(?<![0-9.,])([2-9]|[1-9][0-9]{1,3})(?![0-9.,]|\s?%)")
_PERCENT_IN = re.compile(r"([0-9]{1,2}(?:[.,][0-9])?)\s?%")


def price_rules(basis: str, currency: str) -> list[str]:
    """What may be done with amounts that some words make another price of, likely ones first.

    Args:
        basis: the words: `per 2`, `pack of 5`, `less 10 %`, `CHF`.
        currency: the supplier's.
    """
    if currencies_of(basis):
        return [AS_IT_STANDS, currency]
    folded = fold(basis)
    if share := _PERCENT_IN.search(folded):
        return [f"- {share[1]} %", AS_IT_STANDS]
    if count := _COUNT_IN.search(folded):
        return [f"/ {count[1]}", AS_IT_STANDS]
    if set(re.findall("[a-z]+", folded)) & (GEAR_WORDS | WHEEL_GEAR_WORDS | {"one"}):
        return ["x 2", AS_IT_STANDS]
    return [AS_IT_STANDS]


def read_rule(text: str) -> str | None:
    """A rule of price as it is kept; None for a text that is none.

    `/ 5`, `x 2`, `- 10 %`; a currency, in which the amount is; `as it stands`, with its own.
    """
    if text.casefold() == AS_IT_STANDS:
        return AS_IT_STANDS
    if text.upper() in CODES:
        return text.upper()
    found = _RULE.fullmatch(text.strip().casefold())
    if found is None:
        return None
    if found["percent"]:
        return f"{'+' if found['by'] == '+' else '-'} {found['percent'].replace(',', '.')} %"
    return f"{'x' if found['sign'] in 'x*×' else '/'} {found['pieces']}"


def apply_rule(rule: str, price: Price) -> Price:
    """A price by a rule from `read_rule`, to the cent."""
    if rule == AS_IT_STANDS:
        return price
    if rule in CODES:
        return Price(price.amount, rule)
    sign, number, *_ = rule.split()
    given = Decimal(number)
    factor = {
        "x": given,
        "/": 1 / given,
        "-": 1 - given / 100,
        "+": 1 + given / 100,
    }[sign]
    amount = (price.amount * factor).quantize(Decimal("0.01"), ROUND_HALF_UP)
    return Price(amount, price.currency)
