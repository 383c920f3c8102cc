"""What a list says of a part against what the catalogue has of it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Any

from fitcheck.model.gear_set import GearSet
from fitcheck.rules.setting import plain_word
from fitcheck.services.price_lists.outcomes import Change
from fitcheck.services.price_lists.wording import words_of
from fitcheck.services.upkeep.warnings import pair_words


def claims_text(fits: Iterable[Mapping[str, Any]]) -> str:
    """Claims in words, such as `dunlin-50 short, mid; whimbrel-125`."""
    return "; ".join(
        " ".join([each["family"], ", ".join(each.get("housings", ()))]).strip() for each in fits
    )


def compared(record: GearSet, fields: Mapping[str, Any]) -> tuple[list[Change], dict[str, Any]]:
    """The fields that a list has otherwise than an entry.

    What the list does not say is left as it is. Words are compared without case, accents and
    marks; a name is compared only where the entry has one.

    Args:
        record: the entry.
        fields: what the list says, as fields of a record.

    Returns:
        Each change, and what is to be written, by field.
    """
    changes: list[Change] = []
    write: dict[str, Any] = {}
    pairs = fields.get("pairs")
    if pairs is not None and dict(pairs) != dict(record.pairs):
        changes.append(Change("pairs", pair_words(record.pairs), pair_words(pairs), loud=True))
        write["pairs"] = pairs
    _price(record, fields, changes, write)
    said = fields.get("availability")
    if said is not None and said != record.availability:
        changes.append(Change("availability", record.availability, said))
        write["availability"] = said
    name = fields.get("name")
    if name and record.name is not None and words_of(name) != words_of(record.name):
        changes.append(Change("name", record.name, name))
        write["name"] = name
    _listing(record, fields, changes, write)
    fits = fields.get("fits")
    if fits and not record.fits:
        changes.append(Change("fits", "", claims_text(fits)))
        write["fits"] = fits
    return changes, write


def _price(
    record: GearSet, fields: Mapping[str, Any], changes: list[Change], write: dict[str, Any]
) -> None:
    price: Decimal | None = fields.get("price")
    if price is None:
        return
    currency = fields["currency"]
    if price == record.price and currency == record.currency:
        return
    old = "" if record.price is None else f"{record.price} {record.currency}"
    changes.append(Change("price", old, f"{price} {currency}", loud=True))
    write["price"] = price
    if currency != record.currency:
        write["currency"] = currency


def _listing(
    record: GearSet, fields: Mapping[str, Any], changes: list[Change], write: dict[str, Any]
) -> None:
    said = fields.get("listed_for")
    if not said:
        return
    has = record.listed_for
    old: dict[str, Any] = {}
    if has.models:
        old["models"] = list(has.models)
    if has.wheel_size_in is not None:
        old["wheel_size_in"] = has.wheel_size_in
    new = dict(old)
    models = said.get("models")
    if models and {plain_word(each) for each in models} != {
        plain_word(each) for each in has.models
    }:
        new["models"] = models
        changes.append(Change("models", ", ".join(has.models), ", ".join(models)))
    wheel = said.get("wheel_size_in")
    if wheel is not None and wheel != has.wheel_size_in:
        new["wheel_size_in"] = wheel
        was = "" if has.wheel_size_in is None else f"{has.wheel_size_in} in"
        changes.append(Change("wheel size", was, f"{wheel} in"))
    if new != old:
        write["listed_for"] = new
