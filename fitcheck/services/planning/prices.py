"""What a set costs to buy: as the shop paid for it last, else as its supplier lists it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from fitcheck.catalogue.reader import Catalogue

__all__ = ["BuyingPrice", "PriceFrom", "buying_prices"]

PriceFrom = Literal["last cost", "list price"]
"""Where a buying price is from."""


@dataclass(frozen=True, slots=True)
class BuyingPrice:
    """What a piece of a set costs the shop.

    Attributes:
        amount: the money.
        currency: its ISO 4217 code.
        source: `last cost`, what the shelf says the shop paid last; `list price`, the supplier's.
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
            found[id_] = BuyingPrice(record.price, record.currency, "list price")
    return found
