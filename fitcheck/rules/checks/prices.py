"""Prices and costs that look off by a factor of ten, that are no prices, or in no currency."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterator
from decimal import Decimal
from statistics import median
from typing import Any

from fitcheck.catalogue.reader import Catalogue, Entry
from fitcheck.diagnostics.finding import Finding
from fitcheck.diagnostics.suggest import one_slip, or_list
from fitcheck.model.fields import Record
from fitcheck.model.gear_set import GearSet
from fitcheck.model.money import in_least_units, known_currencies
from fitcheck.model.trade import ShelfEntry
from fitcheck.rules.checks.walks import at, beside

OFF_FACTOR = 6
"""A price so many times over or under the usual one is probably a slipped mark (judgement)."""

PEERS = 5
"""So many other prices must there be to say what is usual (judgement)."""


def prices(catalogue: Catalogue) -> Iterator[Finding]:
    """Each price beside the median of sets of as many stages: of its supplier, else of all."""
    priced = [
        (entry, entry.record.price)
        for entry in catalogue.gear_sets.values()
        if entry.record.price is not None
    ]
    own_usual, usual = _usual(priced, _own_key), _usual(priced, _key)
    told: set[str] = set()
    for entry, price in priced:
        for finding in _judge(entry, entry, price, own_usual, usual):
            told.add(entry.id)
            yield finding
    for shelf in catalogue.shelf.values():
        gear_set = catalogue.gear_sets.get(shelf.id)
        if gear_set is not None and shelf.record.price is not None:
            found = list(_judge(shelf, gear_set, shelf.record.price, own_usual, usual))
            if not found and shelf.id not in told:
                found.extend(_unlike_list(shelf, gear_set))
            yield from found


def _usual(
    priced: list[tuple[Entry[GearSet], Decimal]], key: Callable[[GearSet], Hashable]
) -> dict[Hashable, Decimal]:
    """The median price of sets alike, where there are enough to say what is usual."""
    given: dict[Hashable, list[Decimal]] = {}
    for entry, price in priced:
        given.setdefault(key(entry.record), []).append(price)
    return {alike: median(prices) for alike, prices in given.items() if len(prices) > PEERS}


def _unlike_list(shelf: Entry[ShelfEntry], gear_set: Entry[GearSet]) -> Iterator[Finding]:
    """The shop's price of a set beside its list price; at the one that the cost contradicts."""
    price, listed, cost = shelf.record.price, gear_set.record.price, shelf.record.cost
    if not price or not listed or listed / OFF_FACTOR < price < listed * OFF_FACTOR:
        return
    asked: tuple[Entry[Any], str] = (gear_set, "list")
    other: tuple[Entry[Any], str] = (shelf, "shop's")
    if cost and cost <= listed < cost * OFF_FACTOR:
        asked, other = other, asked
    yield at(
        asked[0],
        "FC267",
        ("price",),
        f"the {asked[1]} price of {shelf.id}, {asked[0].record.price}, is far from the {other[1]}, "
        f"{other[0].record.price}",
        advice="is the decimal mark in its place, here or there?",
        related=(beside(other[0], "price", label=f"the {other[1]} price"),),
    )


def _key(record: GearSet) -> Hashable:
    return (record.currency, len(record.stages))


def _own_key(record: GearSet) -> Hashable:
    return (record.supplier, record.currency, len(record.stages))


def _judge(
    entry: Entry[Record],
    gear_set: Entry[GearSet],
    price: Decimal,
    own: dict[Hashable, Decimal],
    everyone: dict[Hashable, Decimal],
) -> Iterator[Finding]:
    record = gear_set.record
    usual = own.get(_own_key(record))
    whose = f"from {record.supplier}"
    if usual is None:
        usual, whose = everyone.get(_key(record)), "from all suppliers"
    if not price or not usual or usual / OFF_FACTOR < price < usual * OFF_FACTOR:
        return
    stages = len(record.stages)
    like = "single pairs" if stages == 1 else f"sets of {stages} pairs"
    moved = price / 10 if price > usual else price * 10
    slipped = usual / 3 <= moved <= usual * 3
    yield at(
        entry,
        "FC261",
        ("price",),
        f"{price} {record.currency} is far from the {usual:.2f} {record.currency} that {like} "
        f"{whose} usually cost",
        advice=f"is the decimal mark in its place? {moved.normalize():f} would be usual"
        if slipped
        else "look the price up in the supplier's list",
        suggestion=f"{moved.normalize():f}" if slipped else None,
    )


def currencies(catalogue: Catalogue) -> Iterator[Finding]:
    """Currencies of suppliers, sets and kits are in ISO 4217, where they are written."""
    every = known_currencies()
    entries: list[Entry[Any]] = [
        *catalogue.suppliers.values(),
        *catalogue.gear_sets.values(),
        *catalogue.variators.values(),
    ]
    written = [entry for entry in entries if "currency" in entry.record.model_fields_set]
    used = {entry.record.currency for entry in entries} & every
    for entry in written:
        code = entry.record.currency
        if code not in every:
            near = one_slip(code, sorted(used)) or one_slip(code, sorted(every))
            yield at(
                entry,
                "FC265",
                ("currency",),
                f"{code} is no currency of ISO 4217",
                advice=f"did you mean {or_list(near, 3)}?" if near else "look the code up",
                suggestion=near[0] if len(near) == 1 else None,
            )


def coins(catalogue: Catalogue) -> Iterator[Finding]:
    """Prices to sell at that are nothing, or finer than the least unit of their currency."""
    for sold in (catalogue.gear_sets, catalogue.variators):
        for entry in sold.values():
            yield from _finer(entry, entry.record.price, entry.record.currency)
    for shelf in catalogue.shelf.values():
        gear_set = catalogue.gear_sets.get(shelf.id)
        if gear_set is not None:
            yield from _finer(shelf, shelf.record.price, gear_set.record.currency)


def _finer(entry: Entry[Any], price: Decimal | None, currency: str) -> Iterator[Finding]:
    if price is None:
        return
    if not price:
        yield at(
            entry,
            "FC266",
            ("price",),
            "a price of 0 is quoted and summed up as it stands",
            advice="leave price out where it is not known; no fault where it is given away",
        )
    asked = in_least_units(price, currency)
    if asked != price:
        yield at(
            entry,
            "FC264",
            ("price",),
            f"{price} is finer than the least unit of {currency}, so {asked} is asked",
            advice=f"write {asked}, or what is meant",
            suggestion=str(asked),
        )


def costs(catalogue: Catalogue) -> Iterator[Finding]:
    """What a piece cost is under what it is sold for, and no small part of it."""
    for entry in catalogue.shelf.values():
        gear_set = catalogue.gear_sets.get(entry.id)
        cost, price = entry.record.cost, entry.record.price
        priced: Entry[ShelfEntry] | Entry[GearSet] = entry
        if price is None and gear_set is not None:
            priced, price = gear_set, gear_set.record.price
        if cost is None or not price or not cost:
            continue
        if cost <= price < cost * OFF_FACTOR:
            continue
        what = "sold at a loss" if cost > price else "a sixth of the price or less"
        yield at(
            entry,
            "FC263",
            ("cost",),
            f"{entry.id} cost {cost} and sells for {price}: {what}",
            advice="look at the invoice; is the decimal mark in its place?",
            related=(beside(priced, "price", label="what it sells for"),),
        )
