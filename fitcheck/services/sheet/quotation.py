"""What an option costs, line by line: gear sets, what else goes in the parcel, labour, tax, total.

Every amount is a `Decimal`, worked out as an exact fraction. Each line is rounded by itself to the
currency's least unit, half up, and what stands on a line is what is added; the tax is taken once
from the sum and rounded alike. Amounts in different currencies are never added.

Sources, both from memory: tax on the sum of a rate, not line by line, is rule BR-CO-17 of
EN 16931-1 (electronic invoicing); half a cent goes up as Council Regulation (EC) No 1103/97,
article 5, has it for sums in euro. That each line is rounded by itself is common practice, no
source.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from fitcheck.diagnostics.suggest import nearest, or_list
from fitcheck.errors import UsageError
from fitcheck.model.money import least_places, rounded
from fitcheck.rules.answers import Verdict
from fitcheck.services.counter.why import Explanation

LineKind = Literal["set", "extra", "labour"]


@dataclass(frozen=True, slots=True)
class Labour:
    """What the work costs: an amount, or hours at a rate.

    Attributes:
        amount: in all; None where it is worked out.
        hours: of work.
        rate: for an hour.
    """

    amount: Decimal | None = None
    hours: Decimal | None = None
    rate: Decimal | None = None

    def price(self) -> Fraction:
        """What it comes to, exact."""
        if self.amount is not None:
            return Fraction(self.amount)
        assert self.hours is not None
        assert self.rate is not None
        return Fraction(self.hours) * Fraction(self.rate)


@dataclass(frozen=True, slots=True)
class Terms:
    """What a quotation is made of beside the gear sets.

    Attributes:
        extras: prices of what else goes in the parcel, by the words that name it.
        labour: the work; None where none is quoted.
        tax_percent: rate of tax; None where tax is not shown separately.
        prices_exclude_tax: whether every price here and on record is without that tax.
        currency: of labour and extras; None for that of the gear sets, where all have one.
    """

    extras: Mapping[str, Decimal] = field(default_factory=dict)
    labour: Labour | None = None
    tax_percent: Decimal | None = None
    prices_exclude_tax: bool = False
    currency: str | None = None


@dataclass(frozen=True, slots=True)
class Line:
    """One line.

    Attributes:
        kind: gear set, extra or labour.
        name: id of the set, words of the extra, or `labour`.
        currency: of the amount.
        amount: rounded; None where there is no price.
    """

    kind: LineKind
    name: str
    currency: str
    amount: Decimal | None


@dataclass(frozen=True, slots=True)
class Total:
    """The lines of one currency added up.

    Attributes:
        currency: of all amounts here.
        lines: their sum.
        net: without tax.
        tax: the tax; None where no rate is given.
        gross: what is to be paid; net + tax.
    """

    currency: str
    lines: Decimal
    net: Decimal
    tax: Decimal | None
    gross: Decimal


@dataclass(frozen=True, slots=True)
class Quotation:
    """One option quoted.

    Attributes:
        option: its place among the options, from 0.
        lines: in order: sets, extras, labour.
        totals: one for each currency, in the order of the lines.
        without: names of the lines without a price; the totals are without them.
    """

    option: int
    lines: tuple[Line, ...]
    totals: tuple[Total, ...]
    without: tuple[str, ...]


_Extras = tuple[dict[str, Decimal], dict[str, Decimal]]
"""Prices of what sets need, and of what goes to every option, each by its name."""


def quotations(
    explained: Sequence[Explanation],
    wanted: Sequence[int] | None,
    terms: Terms,
) -> tuple[Quotation, ...]:
    """Quote options.

    Args:
        explained: the options as worked out.
        wanted: which of them, from 0; None for each that may be ordered.
        terms: extras, labour, tax.

    Raises:
        UsageError: an option wanted is not to be ordered, none is, an extra names several things
            or is nearly one that is needed, or extras and labour are given without a currency
            and the gear sets of the options are not all priced in one.
    """
    chosen = _choose(explained, wanted)
    extras = _assign_prices([explained[number] for number in chosen], terms.extras)
    if terms.currency is None and (terms.labour is not None or terms.extras):
        _refuse_several_currencies({number: explained[number] for number in chosen})
    return tuple(_quote(number, explained[number], terms, extras) for number in chosen)


def _refuse_several_currencies(explained: Mapping[int, Explanation]) -> None:
    """One figure is not the same money in two currencies."""
    priced = {
        number: dict.fromkeys(offer.currency for offer in one.combination.offers)
        for number, one in explained.items()
    }
    if len({code for codes in priced.values() for code in codes}) > 1:
        each = ", ".join(f"{_letter(at)} in {' and '.join(codes)}" for at, codes in priced.items())
        raise UsageError(
            f"gear sets are sold in different currencies (option {each}), so the currency of "
            "labour and extras is not clear; name it with --currency"
        )


def _why_not_to_order(explained: Explanation) -> str | None:
    if explained.combination.judgement.verdict is Verdict.RULED_OUT:
        return "does not fit"
    return "holds a retired set" if explained.retired else None


def _choose(explained: Sequence[Explanation], wanted: Sequence[int] | None) -> list[int]:
    if wanted is None:
        chosen = [number for number, one in enumerate(explained) if _why_not_to_order(one) is None]
        if not chosen:
            raise UsageError("no option may be ordered, so nothing is quoted; leave --quote out")
        return chosen
    for number in wanted:
        if number >= len(explained):
            there = or_list([_letter(each) for each in range(len(explained))])
            raise UsageError(f"there is no option {_letter(number)} to quote; there is {there}")
        why = _why_not_to_order(explained[number])
        if why is not None:
            raise UsageError(f"option {_letter(number)} {why}, so it is not quoted")
    return sorted(set(wanted))


def _letter(number: int) -> str:
    return chr(ord("A") + number)


def _words(text: str) -> list[str]:
    return "".join(char if char.isalnum() else " " for char in text.casefold()).split()


def _holds(need: str, name: str) -> bool:
    """Whether the words of a name stand in what is needed, in a row."""
    have, asked = _words(need), _words(name)
    starts = range(len(have) - len(asked) + 1)
    return any(have[start : start + len(asked)] == asked for start in starts)


def _assign_prices(explained: Iterable[Explanation], extras: Mapping[str, Decimal]) -> _Extras:
    needs = list(dict.fromkeys(need for one in explained for need in one.parcel))
    priced: dict[str, Decimal] = {}
    shared: dict[str, Decimal] = {}
    for name, price in extras.items():
        exact = [need for need in needs if _words(need) == _words(name)]
        meant = exact or [need for need in needs if _holds(need, name)]
        if len(meant) > 1:
            raise UsageError(f"extra {name!r} may be {or_list(meant)}; give one of them whole")
        if not meant:
            near = nearest(name, needs)
            if near is not None:
                raise UsageError(f"no set needs {name!r}; did you mean {near}?")
            shared[name] = price
        elif meant[0] in priced:
            raise UsageError(f"the price of {meant[0]!r} is given twice")
        else:
            priced[meant[0]] = price
    return priced, shared


def _quote(
    number: int,
    explained: Explanation,
    terms: Terms,
    extras: _Extras,
) -> Quotation:
    offers = explained.combination.offers
    currency = terms.currency or offers[0].currency
    needed, shared = extras

    def line(kind: LineKind, name: str, code: str, price: Decimal | Fraction | None) -> Line:
        return Line(kind, name, code, None if price is None else rounded(price, least_places(code)))

    lines = [line("set", offer.set_id, offer.currency, offer.price) for offer in offers]
    lines += [line("extra", need, currency, needed.get(need)) for need in explained.parcel]
    lines += [line("extra", name, currency, price) for name, price in shared.items()]
    if terms.labour is not None:
        lines.append(line("labour", "labour", currency, terms.labour.price()))
    amounts: dict[str, list[Decimal]] = {}
    for one in lines:
        if one.amount is not None:
            amounts.setdefault(one.currency, []).append(one.amount)
    return Quotation(
        option=number,
        lines=tuple(lines),
        totals=tuple(_total(code, of, terms) for code, of in amounts.items()),
        without=tuple(one.name for one in lines if one.amount is None),
    )


def _total(currency: str, amounts: Sequence[Decimal], terms: Terms) -> Total:
    places = least_places(currency)
    whole = sum(map(Fraction, amounts), Fraction(0))
    lines = net = gross = rounded(whole, places)  # already in least units, so nothing is lost
    tax = None
    if terms.tax_percent is not None:
        rate = Fraction(terms.tax_percent)
        if terms.prices_exclude_tax:
            tax = rounded(whole * rate / 100, places)
            gross = rounded(whole + Fraction(tax), places)
        else:
            tax = rounded(whole * rate / (100 + rate), places)
            net = rounded(whole - Fraction(tax), places)
    return Total(currency=currency, lines=lines, net=net, tax=tax, gross=gross)
