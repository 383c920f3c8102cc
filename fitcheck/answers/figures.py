"""Figures, prices and availability in words; how figures are rounded is in `kernel.rounding`."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import ROUND_HALF_UP, Context, Decimal
from fractions import Fraction

from fitcheck.kernel.rounding import decimal_text
from fitcheck.services.counter.combination import Combination
from fitcheck.services.counter.offer import Availability, Margin, Offer, PriceFrom, stock_words

AVAILABILITY_WORDS: dict[Availability, str] = {
    "on-shelf": "on the shelf",
    "in-stock": "in stock",
    "to-order": "to order",
    "unknown": "stock not known",
    "out-of-stock": "out of stock",
    "discontinued": "discontinued",
}

_MARKS: dict[PriceFrom | None, str] = {
    "shelf": "shelf",
    "both": "part shelf",
    "supplier": "",
    None: "",
}

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


def source_mark(one: Combination, *, wide: bool) -> str:
    """What stands behind a price that the shelf sets, of all sets or of some.

    Args:
        one: the combination.
        wide: whether there is room for ` shelf` and ` part shelf`, else it is an asterisk.
    """
    mark = _MARKS[one.price_from]
    if wide:
        return f" {mark}" if mark else ""
    return "*" if mark else ""


def price_note(*, wide: bool) -> str:
    """What that mark means."""
    mark = "shelf" if wide else "*"
    return f"{mark} the shop's own, of all sets or some; without it the supplier's list price"


def stock_mark(one: Combination) -> str:
    """Where a combination can be had, in a word or two, such as `2 on shelf`."""
    if one.availability == "on-shelf":
        return f"{one.pieces} on shelf"
    return "stock?" if one.availability == "unknown" else AVAILABILITY_WORDS[one.availability]


def shelf_words(offers: Sequence[Offer]) -> list[str]:
    """How many pieces of each set lie where, such as `2 on the shelf, drawer A4`."""
    said = [stock_words(one, shelf_is_kept=True) for one in offers]
    if len(offers) == 1:
        return said
    return [f"{one.set_id}: {words}" for one, words in zip(offers, said, strict=True)]


def price_sum(one: Combination) -> str:
    """What the shop asks for a combination; by currency where its sets are priced in several."""
    if one.price is not None:
        return money(one.price, one.currency)
    sums: dict[str, Decimal] = {}
    for offer in one.offers:
        if offer.price is None:
            return money(None)
        sums[offer.currency] = sums.get(offer.currency, Decimal(0)) + offer.price
    return " + ".join(money(amount, currency) for currency, amount in sums.items())


def price_words(offers: Sequence[Offer]) -> list[str]:
    """Each set's price and whose it is; with the list price where the shop asks another."""
    if len(offers) == 1:
        return [_price_words(offers[0])]
    return [f"{one.set_id}: {_price_words(one)}" for one in offers]


def _price_words(offer: Offer) -> str:
    if offer.price is None:
        return "price not known: neither the shelf nor the supplier's list has one"
    asked = money(offer.price, offer.currency)
    if offer.price_from == "supplier":
        return f"{asked}, the supplier's list price"
    listed = offer.list_price
    if listed is None:
        return f"{asked}, the shop's own; the supplier lists none"
    if listed == offer.price:
        return f"{asked}, the shop's own, as the supplier lists it"
    return f"{asked}, the shop's own; the supplier lists {money(listed)}"


def margin_words(margin: Margin, currency: str | None) -> str:
    """What the shop earns, or why that is not known."""
    if margin.cost_unknown:
        return f"not known: no cost on the shelf for {', '.join(margin.cost_unknown)}"
    if margin.amount is None:
        return "not known: the price is not known or in several currencies"
    words = f"{_signed_money(margin.amount)}{f' {currency}' if currency else ''}"
    if margin.percent is not None:
        words += f", {percent_words(margin.percent)} of the price"
    return f"{words}; cost {money(margin.cost)}"


def _signed_money(amount: Decimal) -> str:
    """An amount that may be below zero."""
    return f"-{money(-amount)}" if amount < 0 else money(amount)


def percent_words(percent: Fraction) -> str:
    """A percentage to a tenth, such as `34.0 %`."""
    return f"{decimal_text(percent, 1)} %"
