"""The answers of `shelf` on screen."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from fitcheck.answers.figures import money
from fitcheck.answers.moves import count_table, detail_cell
from fitcheck.answers.shelf import stock_table
from fitcheck.answers.tables import Cell, Figure
from fitcheck.catalogue.ledger.line import DETAILS, local_time
from fitcheck.screens.columns import print_columns
from fitcheck.screens.findings.wording import one_line
from fitcheck.screens.screen import LINES, Screen, count_lines
from fitcheck.services.shelf.moves import Moved
from fitcheck.services.shelf.stock import History, HistoryLine, Item, Stock, Total, totals
from fitcheck.services.shelf.stocktake import StockTake

_SUPPLIERS = 9
_NAMED = 20
"""Suppliers and sold-out parts that one screen names."""

_OUTCOME_STYLES = {
    "same": "",
    "more": "green",
    "fewer": "red",
    "new": "green",
    "details": "yellow",
    "file": "yellow",
    "gone": "red",
}


def print_stock(out: Screen, found: Stock) -> None:
    """Print the entries and what they are worth."""
    _print_worth(out, found)
    if not found.items:
        out.paragraph("Nothing on the shelf is like that." if found.all_entries else "It is empty.")
        return
    one_currency = len({item.part.currency for item in found.items}) == 1
    gone = ["families", "currency"] if one_currency else ["families"]
    heads, rows = stock_table(found).shown(gone)
    styles = ["dim" if item.held.quantity == 0 else "" for item in found.items]
    spare = ["supplier", "part number", "teeth", "at price", "at last cost"]
    print_columns(out, heads, rows, styles, spare)


def _print_worth(out: Screen, found: Stock) -> None:
    entries, all_entries = len(found.items), found.all_entries
    of_all = "" if entries == all_entries else f" of {all_entries:,}"
    noun = "entry" if all_entries == 1 else "entries"
    out.paragraph(f"Shelf: {entries:,}{of_all} {noun}", style="bold")
    for total in found.totals:
        out.paragraph(_total_words(total), "  ")
    if found.items:
        out.line()


def print_stock_glance(out: Screen, found: Stock) -> None:
    """Print every entry where one screen holds them, else what they are worth by supplier."""
    if count_lines(lambda screen: print_stock(screen, found), out.width) <= LINES:
        print_stock(out, found)
        return
    _print_worth(out, found)
    suppliers = _by_supplier(found)
    rows = [
        [supplier, *map(Figure, (total.entries, total.pieces, sold_out)), *_worth_cells(total)]
        for supplier, total, sold_out in suppliers[:_SUPPLIERS]
    ]
    heads = ["supplier", "entries", "pieces", "sold out", "", "at last cost", "at price"]
    print_columns(out, heads, rows, spare=["at last cost", "at price"])
    out.line()
    if len(suppliers) > _SUPPLIERS:
        out.line(f"and {len(suppliers) - _SUPPLIERS} more: --supplier")
    gone = [item.part.id for item in found.items if item.held.quantity == 0]
    if gone:
        more = f" and {len(gone) - _NAMED} more: --low 0" if len(gone) > _NAMED else ""
        out.labelled("Sold out", f"{', '.join(gone[:_NAMED])}{more}")
    last = sum(item.held.quantity == 1 for item in found.items)
    if last:
        out.labelled("Last piece", f"of {last:,} entries: --low 1")
    out.labelled("More", "every entry: --long; some: --place, --supplier, --family, --low")


def _by_supplier(found: Stock) -> list[tuple[str, Total, int]]:
    """What each supplier's entries add up to, by currency, and how many are sold out."""
    named: dict[str, list[Item]] = {}
    for item in found.items:
        gear_set = item.part.gear_set
        named.setdefault("?" if gear_set is None else gear_set.record.supplier, []).append(item)
    return [
        (
            supplier,
            total,
            sum(i.held.quantity == 0 for i in items if i.part.currency == total.currency),
        )
        for supplier, items in sorted(named.items())
        for total in totals(items)
    ]


def _worth_cells(total: Total) -> list[Cell]:
    """Currency and sums; a plus sign where pieces of unknown worth come on top."""
    cost = f"{money(total.at_cost)}{'+' if total.pieces_without_cost else ' '}"
    price = f"{money(total.at_price)}{'+' if total.pieces_without_price else ' '}"
    return [total.currency or "?", Figure(cost), Figure(price)]


def print_history(out: Screen, found: History) -> None:
    """Print the lines of the ledger."""
    whose = "the shelf" if found.part is None else found.part.words
    if not found.ledgers:
        out.paragraph("There is no ledger here: the next move opens one.")
        return
    shown, lines = len(found.lines), found.all_lines
    of_all = "" if shown == lines else f", the last {shown:,} of them"
    who = {one.line.by or "" for one in found.lines}
    all_by = f"; all by {one_line(min(who))}" if len(who) == 1 and who != {""} else ""
    times = [local_time(one.line.time) for one in found.lines]
    zones = {zone for _, zone in times}
    zone = min(zones) if len(zones) == 1 else "local"
    out.paragraph(
        f"Moves of {whose}: {lines:,} line{'s' * (lines != 1)}{of_all}; times are {zone}{all_by}",
        style="bold",
    )
    if not found.lines:
        return
    heads = ["no.", "time", "part", "change", "then", "by", "action", "reason"]
    shown_times = [text if len(zones) == 1 else f"{text} {zone}" for text, zone in times]
    rows = [_history_cells(*each) for each in zip(found.lines, shown_times, strict=True)]
    gone = [*(["part"] if found.part is not None else []), *(["by"] if len(who) == 1 else [])]
    kept = [head for head in heads if head not in gone]
    below = [head for head in ("by",) if head in kept]
    print_columns(out, kept, [_without(row, heads, gone) for row in rows], below=below)


def _history_cells(one: HistoryLine, time: str) -> list[Cell]:
    line = one.line
    details = [f"{name} {detail_cell(line.sets[name])}" for name in DETAILS if name in line.sets]
    # A price or a place that is set says by itself what was done.
    words = [line.action, *details] if line.action not in line.sets else details
    return [
        Figure(line.seq),
        time,
        line.part,
        Figure(f"{line.change:+d}" if line.change else ""),
        Figure(line.quantity_after),
        line.by or "",
        ", ".join(words),
        line.reason or "",
    ]


def print_moved(out: Screen, moved: Moved) -> None:
    """Print one move."""
    line, held = moved.line, moved.held
    before = 0 if moved.before is None else moved.before.quantity
    where = f", {held.place}" if held.place else ""
    if line.change:
        words = f"{before} → {held.quantity} on the shelf{where}"
    elif line.action == "price":
        old = None if moved.before is None else moved.before.price
        words = f"price {_money(moved, old)} → {_money(moved, held.price)}"
    else:
        old_place = None if moved.before is None else moved.before.place
        words = f"{old_place or 'no place'} → {held.place}"
    out.paragraph(f"{moved.part.words}: {words}")
    if held.quantity == 0 and line.change:
        out.paragraph("That was the last one.", style="yellow")
    if line.change > 0 and "cost" in line.sets:
        out.paragraph(f"cost {_money(moved, held.cost)} a piece", "  ")


def print_stocktake(out: Screen, found: StockTake) -> None:
    """Print what the stock-take changes, and what it leaves."""
    changes, same = found.changes, len(found.rows) - len(found.changes)
    title = "Stock-take, carried out" if found.written else "Stock-take, the plan"
    out.paragraph(title, style="bold")
    parts = [f"{len(changes)} to change" if not found.written else f"{len(changes)} changed"]
    parts.append(f"{same} as counted before")
    if found.not_counted:
        left = "at 0 already" if found.complete else "left alone"
        parts.append(f"{found.not_counted} not counted and {left}")
    out.paragraph("; ".join(parts), "  ")
    for words in _worth(found):
        out.paragraph(words, "  ")
    if not changes:
        return
    out.line()
    gone = [] if any(row.by_hand for row in changes) else ["file"]
    if len({row.part.currency for row in changes}) == 1:
        gone.append("currency")
    heads, rows = count_table(changes).shown(gone)
    at = heads.index("change")
    for cells, row in zip(rows, changes, strict=True):
        cells[at] = Figure(f"{row.change:+d}" if row.change else "0")
    styles = [_OUTCOME_STYLES[row.outcome] for row in changes]
    print_columns(out, heads, rows, styles, ["part number", "counted at", "outcome"])
    by_hand = [row.part.id for row in changes if row.by_hand]
    if by_hand:
        out.line()
        out.paragraph(
            f"Edited by hand in the shelf file since the last move: {', '.join(by_hand)}.",
            style="yellow",
        )


def _total_words(total: Total) -> str:
    sums = [
        _sum_words("last cost", total.at_cost, total.pieces_without_cost, total),
        _sum_words("price", total.at_price, total.pieces_without_price, total),
    ]
    return f"{total.pieces:,} piece{'s' * (total.pieces != 1)}; {'; '.join(sums)}"


def _sum_words(what: str, amount: Decimal, unknown: int, total: Total) -> str:
    """What pieces are worth at a cost or price, as far as that is known."""
    if unknown == total.pieces > 0:
        return f"no {what} is known"
    left = f" ({unknown:,} of them have no {what})" if unknown > 1 else " (one has none)"
    currency = total.currency or "currency unknown"
    return f"at {what} {money(amount)} {currency}{left if unknown else ''}"


def _worth(found: StockTake) -> list[str]:
    """What the differences are worth at the last cost, by currency."""
    told = [
        f"worth {'+' if value > 0 else ''}{money(value)} {currency or 'currency unknown'} at last "
        "cost"
        for currency, value in found.worth.items()
    ]
    unknown = found.unknown_worth
    if unknown:
        told.append(f"{unknown:,} piece{'s' * (unknown != 1)} of unknown cost")
    return told


def _money(moved: Moved, value: Decimal | None) -> str:
    return "none" if value is None else money(value, moved.part.currency)


def _without(row: Sequence[Cell], heads: Sequence[str], gone: Sequence[str]) -> list[Cell]:
    return [cell for cell, head in zip(row, heads, strict=True) if head not in gone]
