"""What a row says, as fields of a record, and what of it is left out or read with a word."""

from __future__ import annotations

import re
from decimal import Decimal
from typing import Any

from fitcheck.services.price_lists.articles import Article
from fitcheck.services.price_lists.cleaning import clean_text
from fitcheck.services.price_lists.listed import Listed
from fitcheck.services.price_lists.row_outcomes import quoted
from fitcheck.services.price_lists.staging import Pairs
from fitcheck.services.price_lists.wording import Price

_WRITTEN = re.compile(r"(?<![0-9])(?P<one>[0-9]+)\s*[/:xX*\-]\s*(?P<other>[0-9]+)(?![0-9])")


def fields_of(
    article: Article,
    part: str,
    pairs: Pairs | None,
    listed: Listed,
    price: Price | None,
    *,
    currency: str,
) -> dict[str, Any]:
    """What a row says, as fields of a record; only what it says.

    Args:
        article: the row.
        part: its part number.
        pairs: its pairs by stage.
        listed: what it is listed for.
        price: its price.
        currency: the supplier's, ISO 4217; for a price that names none.
    """
    fields: dict[str, Any] = {"part_number": part}
    if name := clean_text(article.name):
        fields["name"] = name
    if pairs:
        fields["pairs"] = pairs
    if listed.fits:
        fields["fits"] = listed.fits
    listing: dict[str, Any] = {}
    models = [model for each in listed.models if (model := clean_text(each))]
    if models:
        listing["models"] = list(dict.fromkeys(models))
    if listed.wheel is not None:
        listing["wheel_size_in"] = listed.wheel
    if listing:
        fields["listed_for"] = listing
    if price is not None:
        fields["price"] = _with_cents(price.amount)
        fields["currency"] = price.currency or currency
    if article.availability.certain:
        fields["availability"] = article.availability.value
    if remark := clean_text(article.remark):
        fields["notes"] = remark
    return fields


def _with_cents(amount: Decimal) -> Decimal:
    """An amount with two decimals at least, as prices are written; its value stays."""
    places = -int(amount.as_tuple().exponent)
    return amount if places >= 2 else amount.quantize(Decimal("0.01"))


def left_out_of(article: Article, price: Price | None) -> list[str]:
    """Cells of a row that say nothing that can be written, each with why; and a hidden row."""
    notes = []
    stock = article.availability
    if stock.status in ("review", "unreadable"):
        notes.append(f"availability {quoted(stock.text)} left out: {stock.reason}")
    if price is None and article.price.status == "empty" and article.price.reason:
        notes.append(article.price.reason)
    if article.withdrawn:
        notes.append(article.withdrawn)
    if article.row in article.layout.sheet.hidden_rows:
        notes.append("the row is hidden in its sheet")
    return notes


def turned_pairs(text: str, pairs: Pairs | None) -> list[str]:
    """Pairs that a text writes with the larger count first, each as it is read."""
    turned = {(str(pair.driven), str(pair.driver)): pair for pair in (pairs or {}).values()}
    return [
        f"{written.group()!r} is read as {pair}, the smaller as driver"
        for written in _WRITTEN.finditer(text)
        if (pair := turned.get((written["one"], written["other"])))
    ]
