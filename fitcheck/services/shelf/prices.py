"""What a set costs to buy: as the shop paid for it last, else by its supplier's list.

A list price is what a customer pays, so a supplier's discount is taken off where one is on record.
What the list comes to is rounded once, at the end, half up to the currency's least unit.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from fitcheck.catalogue.reader import Catalogue
from fitcheck.model.gear_set import GearSet
from fitcheck.model.money import least_places, rounded

PriceFrom = Literal["last cost", "list less discount", "list price"]
"""Where a buying price is from, the surest first."""


@dataclass(frozen=True, slots=True)
class BuyingPrice:
    """What a piece of a set costs the shop.

    Attributes:
        amount: the money.
        currency: its ISO 4217 code.
        source: `last cost`, what the shelf says the shop paid last; `list less discount`, the
            supplier's list price less its discount; `list price`, where there is neither and it
            has to stand in.
    """

    amount: Decimal
    currency: str
    source: PriceFrom


def buying_prices(catalogue: Catalogue, ids: Iterable[str]) -> Mapping[str, BuyingPrice]:
    """What each of these gear sets costs to buy; without those of which nobody knows it.

    Nothing is no price to buy at: what came free once is not had free again, and a list price of 0
    is one that nobody filled in.
    """
    found = {}
    for id_ in ids:
        record = catalogue.gear_sets[id_].record
        held = catalogue.shelf.get(id_)
        if held is not None and held.record.cost:
            found[id_] = BuyingPrice(held.record.cost, record.currency, "last cost")
        elif record.price:
            found[id_] = _by_list(catalogue, record)
    return found


def _by_list(catalogue: Catalogue, record: GearSet) -> BuyingPrice:
    assert record.price is not None
    supplier = catalogue.suppliers.get(record.supplier)
    discount = None if supplier is None else supplier.record.discount_percent
    exact = Fraction(record.price) * (100 - Fraction(discount or 0)) / 100
    amount = rounded(exact, least_places(record.currency))
    source: PriceFrom = "list price" if discount is None else "list less discount"
    return BuyingPrice(amount, record.currency, source)
