"""What the articles of a table usually cost, and what speaks against one price."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from decimal import Decimal
from functools import cached_property
from statistics import median

from fitcheck.services.price_lists.headings.layout import Layout
from fitcheck.services.price_lists.reading import Native, plain_text
from fitcheck.services.price_lists.wording.amounts import Price
from fitcheck.services.price_lists.wording.readings import Reading

_ENOUGH_PRICES = 5
"""So many prices say what is usual (judgement)."""

_FAR_PRICE = 4
"""So many times more or less than usual a price seems to be a slip.

Judgement: a train of three pairs may cost three times what one pair does, and five are a pack.
"""

_WHOLE_PACK = 1.25
"""No more than so many times the price of its pieces a pack costs (judgement)."""

_MOST_ABOVE = 4
_NEARLY_ALL = 0.8
"""A column up to so many times the price, in such a share of the rows, holds list prices."""

_SAMPLE = 1000
"""So many rows of a table tell what is usual."""


class UsualPrices:
    """The prices of a table, read as far as a price is to be held against them.

    Args:
        layout: the table.
        amount_at: the amount in a row and column; None where there is none for certain.
        group_of: what rows of like articles have in common.
    """

    def __init__(
        self,
        layout: Layout,
        amount_at: Callable[[int, int], Decimal | None],
        group_of: Callable[[int], Hashable],
    ) -> None:
        self._layout = layout
        self._amount_at = amount_at
        self._group_of = group_of
        self._sample = layout.data_rows[:_SAMPLE]
        self._likes: dict[int, dict[Hashable, Decimal]] = {}

    def speak_against(self, row: int, price: Reading[Price]) -> str:
        """What other amounts of the table say against a price, one sentence; or empty."""
        if not price.certain or price.value is None:
            return ""
        amount, usual = price.value.amount, self._usual_price
        for column, heading in self._list_prices:
            listed = self._amount_at(row, column)
            if listed is not None and listed < amount:
                return f"The column {heading.strip()!r} says less: {listed}."
        for column, heading in self._counts_of_packs:
            count = _whole(self._layout.sheet.value(row, column))
            like = self._price_of_like(row, column) if count > 1 else None
            if like and count**0.5 < amount / like <= count * _WHOLE_PACK:
                told = f"The column {heading.strip()!r}" if heading.strip() else "Another column"
                return f"{told} says {count}, and like ones cost about {like}."
        if usual is None or usual / _FAR_PRICE <= amount <= usual * _FAR_PRICE:
            return ""
        return f"The list's other prices are about {usual}."

    @cached_property
    def _usual_price(self) -> Decimal | None:
        """What an article of the table usually costs; None where few prices say it."""
        column = self._layout.columns.get("price")
        amounts = [self._amount_at(row, column.column) for row in self._sample if column]
        known = [each for each in amounts if each]
        return median(known) if len(known) >= _ENOUGH_PRICES else None

    @cached_property
    def _counts_of_packs(self) -> list[tuple[int, str]]:
        """Columns that are not read, with a one in most rows and other whole numbers in some."""
        found = []
        for column, heading in self._columns_beside:
            values = [self._layout.sheet.value(row, column) for row in self._sample]
            counts = [1 if value is None else _whole(value) for value in values]
            if all(counts) and len(counts) > counts.count(1) > len(counts) / 2:
                found.append((column, heading))
        return found

    @property
    def _columns_beside(self) -> list[tuple[int, str]]:
        """All columns that are not read, with their headings; empty where they have none."""
        layout = self._layout
        read = {each for c in layout.columns.values() for each in (c.column, c.second)}
        read |= {layout.ratio_column, layout.terms.unit_column, *layout.matrix}
        headings = dict(layout.others)
        return [
            (each, headings.get(each, ""))
            for each in range(1, layout.sheet.column_count + 1)
            if each not in read
        ]

    def _price_of_like(self, row: int, column: int) -> Decimal | None:
        """What others of one piece cost: those of the same group, models and stage."""
        if column not in self._likes:
            price = self._layout.columns["price"].column
            amounts: dict[Hashable, list[Decimal]] = {}
            for other in self._sample:
                amount = self._amount_at(other, price)
                count = self._layout.sheet.value(other, column)
                if amount and (count is None or _whole(count) == 1):
                    amounts.setdefault(self._group_of(other), []).append(amount)
            self._likes[column] = {group: median(each) for group, each in amounts.items()}
        return self._likes[column].get(self._group_of(row))

    @cached_property
    def _list_prices(self) -> list[tuple[int, str]]:
        """Columns with an amount somewhat above the price in nearly all rows: list prices."""
        price = self._layout.columns.get("price")
        if price is None:
            return []
        own = {row: self._amount_at(row, price.column) for row in self._sample}
        found = []
        for column, heading in self._layout.others:
            both = [
                (each, other)
                for row, each in own.items()
                if each and (other := self._amount_at(row, column)) is not None
            ]
            above = sum(each <= other <= _MOST_ABOVE * each for each, other in both)
            differ = sum(each != other for each, other in both)
            if len(both) >= _ENOUGH_PRICES and min(above, differ) >= _NEARLY_ALL * len(both):
                found.append((column, heading))
        return found


def _whole(value: Native) -> int:
    """The whole number above zero that a cell holds, as a number or a text; 0 for another."""
    text = plain_text(value).strip()
    return int(text) if text.isdecimal() else 0
