"""What a list changes of the month before: prices, teeth, new parts, and parts that are gone."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from dataclasses import dataclass
from decimal import Decimal
from statistics import median

from fitcheck.catalogue.ledger.reading import read_ledger
from fitcheck.catalogue.reader import Catalogue
from fitcheck.errors import UnreadableError
from fitcheck.services.price_lists.outcomes import Gone, Plan, RowOutcome
from fitcheck.services.shelf.state import shelf_files

_YEAR = dt.timedelta(days=365)


@dataclass(frozen=True, slots=True)
class PriceChange:
    """A price that a list changes.

    Attributes:
        set_id: id of the entry.
        old: the price on file; None where there is none, or one in another currency.
        new: the list's.
        currency: of the new one, ISO 4217.
    """

    set_id: str
    old: Decimal | None
    new: Decimal
    currency: str

    @property
    def percent(self) -> Decimal | None:
        """By how much it changes, percent; None where there is nothing to compare it with."""
        return None if not self.old else (self.new / self.old - 1) * 100


@dataclass(frozen=True, slots=True)
class Month:
    """What a list changes of what is on file.

    Attributes:
        known: rows of the list that the catalogue has, changed or not.
        prices: prices that change, the largest change first, by percent.
        teeth: rows whose teeth or stages change.
        new: rows that make an entry.
        gone: entries of this list that it no longer has, those that sell first.
        sold: id of such an entry to the pieces sold of it in the 12 months before the list.
    """

    known: int
    prices: tuple[PriceChange, ...]
    teeth: tuple[RowOutcome, ...]
    new: tuple[RowOutcome, ...]
    gone: tuple[Gone, ...]
    sold: dict[str, int]

    @property
    def median_percent(self) -> Decimal | None:
        """The median of the changes of price, percent; None where no two can be compared."""
        found = [each.percent for each in self.prices if each.percent is not None]
        return median(found) if found else None


def compare_month(catalogue: Catalogue, plan: Plan) -> Month:
    """What a plan changes of a catalogue, in short."""
    gone = [each for each in plan.gone if each.same_list]
    sold = _sold(catalogue, {each.set_id for each in gone}, plan.date) if gone else {}
    return Month(
        known=plan.counts["changed"] + plan.counts["unchanged"],
        prices=tuple(sorted(_price_changes(catalogue, plan), key=_by_size)),
        teeth=tuple(row for row in plan.rows if row.changes_teeth),
        new=tuple(plan.of("new")),
        gone=tuple(sorted(gone, key=lambda each: -sold.get(each.set_id, 0))),
        sold=sold,
    )


def _price_changes(catalogue: Catalogue, plan: Plan) -> list[PriceChange]:
    found = []
    for row in plan.of("changed"):
        if not row.changes_price:
            continue
        record = catalogue.gear_sets[row.set_id].record
        currency = row.fields.get("currency", record.currency)
        old = record.price if currency == record.currency else None
        found.append(PriceChange(row.set_id, old, row.fields["price"], currency))
    return found


def _by_size(change: PriceChange) -> tuple[Decimal, str]:
    return (-abs(change.percent or Decimal(0)), change.set_id)


def _sold(catalogue: Catalogue, ids: set[str], day: dt.date) -> dict[str, int]:
    """Pieces issued from the shelf in the 12 months before a day, by id; the sold alone."""
    since, counted = (day - _YEAR).isoformat(), Counter[str]()
    for file in shelf_files(catalogue):
        try:
            moves = read_ledger(file.ledger).moves
        except UnreadableError:
            continue  # `check` reports it
        for line in moves:
            if line.action == "issue" and line.part in ids and line.time >= since:
                counted[line.part] -= line.change
    return {id_: count for id_, count in counted.items() if count > 0}
