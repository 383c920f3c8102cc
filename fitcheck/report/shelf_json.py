"""The answers of `shelf` as JSON; schemas/shelf-*.output.schema.json describe them."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import get_args

from fitcheck.answers.figures import money
from fitcheck.catalogue.ledger import Difference, Held, LedgerLine
from fitcheck.catalogue.ledger.line import Detail
from fitcheck.catalogue.reader import Catalogue
from fitcheck.report.json_parts import Data, header, place_data
from fitcheck.services.shelf.history import History
from fitcheck.services.shelf.moves import Moved
from fitcheck.services.shelf.parts import Part
from fitcheck.services.shelf.stock import Item, Stock, Total
from fitcheck.services.shelf.stocktake import Outcome, PlanRow, StockTake

__all__ = ["history_data", "moved_data", "stock_data", "stocktake_data"]


def stock_data(catalogue: Catalogue, found: Stock) -> Data:
    """One answer of `shelf list` as plain data for `json.dumps`."""
    asked = found.asked
    return {
        **header("shelf-list", catalogue),
        "filters": {
            "supplier": asked.supplier,
            "family": asked.family,
            "place": asked.place,
            "low": asked.low,
        },
        "entries": [_item_data(item) for item in found.items],
        "totals": [_total_data(total) for total in found.totals],
        "all_entries": found.all_entries,
        "differences": [_difference_data(each) for each in found.differences],
    }


def history_data(catalogue: Catalogue, found: History) -> Data:
    """One answer of `shelf history` as plain data."""
    return {
        **header("shelf-history", catalogue),
        "part": None if found.part is None else _part_data(found.part),
        "lines": [
            {
                **_part_data(one.part),
                **_line_data(one.line),
                "place": place_data(one.place),
            }
            for one in found.lines
        ],
        "all_lines": found.all_lines,
    }


def moved_data(catalogue: Catalogue, moved: Moved) -> Data:
    """What `shelf receive`, `issue`, `price` or `place` has moved, as plain data."""
    return {
        **header("shelf-move", catalogue),
        **_part_data(moved.part),
        "before": _held_or_none(moved.before),
        "after": _held_data(moved.held),
        "line": _line_data(moved.line),
        "remarks": list(moved.remarks),
    }


def stocktake_data(catalogue: Catalogue, found: StockTake) -> Data:
    """One answer of `shelf count` as plain data."""
    outcomes = [row.outcome for row in found.rows]
    return {
        **header("shelf-count", catalogue),
        "written": found.written,
        "rows": [_plan_data(row) for row in found.rows],
        "counts": {
            **{outcome: outcomes.count(outcome) for outcome in get_args(Outcome)},
            "not_counted": found.not_counted,
        },
        "worth_at_cost": [
            {"currency": currency, "amount": _money(value)}
            for currency, value in found.worth.items()
        ],
        "pieces_without_cost": found.unknown_worth,
        "lines": [_line_data(line) for line in found.lines],
        "remarks": list(found.remarks),
    }


def _part_data(part: Part) -> Data:
    record = None if part.gear_set is None else part.gear_set.record
    return {
        "part": part.id,
        "part_number": None if record is None else record.part_number,
        "supplier": None if record is None else record.supplier,
        "currency": part.currency,
    }


def _held_data(held: Held) -> Data:
    return {
        "quantity": held.quantity,
        "shelf_place": held.place,
        "cost": _money(held.cost),
        "price": _money(held.price),
    }


def _held_or_none(held: Held | None) -> Data | None:
    return None if held is None else _held_data(held)


def _item_data(item: Item) -> Data:
    record = None if item.part.gear_set is None else item.part.gear_set.record
    return {
        **_part_data(item.part),
        "families": list(item.families),
        "pairs": None
        if record is None
        else {stage: str(record.pairs[stage]) for stage in record.stages},
        "status": None if record is None else record.status,
        **_held_data(item.held),
        "value_at_cost": _money(item.at_cost),
        "value_at_price": _money(item.at_price),
        "place": place_data(item.place),
    }


def _total_data(total: Total) -> Data:
    return {
        "currency": total.currency,
        "entries": total.entries,
        "pieces": total.pieces,
        "at_cost": _money(total.at_cost),
        "pieces_without_cost": total.pieces_without_cost,
        "at_price": _money(total.at_price),
        "pieces_without_price": total.pieces_without_price,
    }


def _difference_data(one: Difference) -> Data:
    return {
        "part": one.part,
        "ledger": _held_or_none(one.ledger),
        "shelf_file": _held_or_none(one.shelf),
        "fields": list(one.fields),
    }


def _line_data(line: LedgerLine) -> Data:
    return {
        "seq": line.seq,
        "time": line.time,
        "action": line.action,
        "change": line.change,
        "quantity_after": line.quantity_after,
        "sets": _sets_data(line.sets),
        "reason": line.reason,
        "by": line.by,
    }


def _sets_data(sets: Mapping[str, Detail]) -> Data:
    names = {"place": "shelf_place"}
    return {
        names.get(name, name): _money(value) if isinstance(value, Decimal) else value
        for name, value in sets.items()
    }


def _plan_data(row: PlanRow) -> Data:
    return {
        **_part_data(row.part),
        "where": row.where or None,
        "ledger": _held_or_none(row.held),
        "shelf_file": _held_or_none(row.shelf),
        "counted": _held_or_none(row.target),
        "change": row.change,
        "outcome": row.outcome,
        "sets": _sets_data(row.sets),
        "value_at_cost": _money(row.value),
    }


def _money(value: Decimal | None) -> Data | None:
    return None if value is None else {"amount": float(value), "exact": money(value)}
