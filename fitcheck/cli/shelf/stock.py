"""`fitcheck shelf list`, `history` and `count`: what lies there, what was moved, the stock-take."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from fitcheck.cli.commands import command
from fitcheck.cli.common import asked_of, console, emit, tell, tell_some
from fitcheck.cli.main import EXIT_NOTHING
from fitcheck.cli.parameters import (
    LIST_FILE,
    LISTED,
    WholeNumber,
    catalog_option,
    flag,
    format_option,
    once,
)
from fitcheck.cli.shelf.moves import note_options, read_note
from fitcheck.errors import UsageError

if TYPE_CHECKING:
    from fitcheck.catalogue.reader import Catalogue
    from fitcheck.services.shelf.count_list import CountList


@command("list", "fitcheck shelf list --place drawer --low 1")
@once("--supplier NAME", "Only sets of this supplier.")
@once("--family NAME", "Only sets vouched or listed for this engine family.")
@once("--place TEXT", "Only what lies at a place with these words, or that begins so.")
@once("--low NUMBER", "Only entries of at most so many pieces; 0: sold out.", WholeNumber(0))
@format_option(*LISTED)
@catalog_option
def list_command(
    *,
    supplier: str | None,
    family: str | None,
    place: str | None,
    low: int | None,
    output_format: str,
    catalog: str | None,
) -> int:
    """List what lies on the shelf, with its value at cost and at price.

    The cost of a part is what was paid for it last. Exit code 3: nothing to list.
    """
    from fitcheck.diagnostics.suggest import or_list
    from fitcheck.services.counter.lookup import find_family, find_supplier
    from fitcheck.services.shelf.stock import StockFilter, stock

    with asked_of(catalog) as catalogue:
        found = stock(
            catalogue,
            StockFilter(
                None if supplier is None else find_supplier(catalogue, supplier).id,
                None if family is None else find_family(catalogue, family).id,
                place,
                low,
            ),
        )
    if output_format == "table":
        from fitcheck.screens.shelf.shelf import print_stock

        print_stock(console(), found)
    else:
        from fitcheck.answers.shelf import stock_answer, stock_table

        emit(output_format, lambda: stock_answer(catalogue, found), lambda: stock_table(found))
    if found.other_places:
        tell(f"nothing lies at {place!r}; there is {or_list(found.other_places, 5)}")
    for ledger, fault in found.faults[:1]:
        tell(f"{ledger}:{fault.line}: {fault.message}; fitcheck check says more")
    for words in found.lost:
        tell(f"{words}; fitcheck check says more")
    if found.differences:
        parts = ", ".join(each.part for each in found.differences[:5])
        more = f" and {len(found.differences) - 5} more" if len(found.differences) > 5 else ""
        tell(
            f"the shelf file and its ledger differ on {parts}{more}: edited by hand? fitcheck "
            "shelf count --as-written shows how and accepts it"
        )
    return 0 if found.items else EXIT_NOTHING


@command("history", "fitcheck shelf history MA-1545 --last 5")
@click.argument("part", required=False)
@once("--last NUMBER", "Only so many of the latest lines. Default: all.", WholeNumber(1))
@format_option(*LISTED)
@catalog_option
def history_command(
    part: str | None, *, last: int | None, output_format: str, catalog: str | None
) -> int:
    """Show what was moved of PART, or of all parts, oldest first.

    Times are local on screen, UTC in the other formats. Exit code 3: nothing was moved yet.
    """
    from fitcheck.services.shelf.stock import history

    with asked_of(catalog) as catalogue:
        found = history(catalogue, part, last)
    if output_format == "table":
        from fitcheck.screens.shelf.shelf import print_history

        print_history(console(), found)
    else:
        from fitcheck.answers.moves import history_answer, history_table

        emit(output_format, lambda: history_answer(catalogue, found), lambda: history_table(found))
    faults = [(ledger, fault) for ledger in found.ledgers for fault in ledger.faults]
    if faults:
        ledger, fault = faults[0]
        tell(f"{ledger.shown}:{fault.line}: {fault.message}; fitcheck check says more")
    return 0 if found.lines else EXIT_NOTHING


@command("count", "fitcheck shelf count counted.csv --write")
@click.argument("file", required=False, type=LIST_FILE, metavar="[FILE]")
@flag("--write", "Carry it out; without, the plan is only shown.")
@flag("--complete", "Everything was counted: of other parts, nothing.")
@flag("--as-written", "Take what the shelf file says for counted where it was edited by hand.")
@note_options
@format_option(*LISTED)
@catalog_option
def count_command(
    file: Path | None, *, write: bool, output_format: str, catalog: str | None, **given: Any
) -> int:
    """Show what was counted against the ledger, and with --write set the shelf right.

    FILE is CSV or a spreadsheet with the columns part, counted and perhaps place; what
    fitcheck shelf list --format csv writes can be corrected and given back. Parts that are not
    in it are left alone. Several faults of FILE are reported at once, and then nothing is written.
    """
    from fitcheck.services.shelf.stocktake import plan_stocktake, take_stock

    if file is None and not given["as_written"]:
        raise click.UsageError("name the file that was counted, or give --as-written")
    if file is None and given["complete"]:
        raise click.UsageError("--complete needs the file that was counted; name it")
    note = read_note(given.pop("reason"), given.pop("by"))
    with asked_of(catalog) as catalogue:
        counted = None if file is None else _read_counted(catalogue, file)
        rows = [] if counted is None else counted.rows
        if write:
            done = take_stock(catalogue, rows, note=note, **given)
        else:
            done = plan_stocktake(catalogue, rows, **given)
    if output_format == "table":
        from fitcheck.screens.shelf.shelf import print_stocktake

        print_stocktake(console(), done)
    else:
        from fitcheck.answers.moves import count_answer, count_table

        emit(output_format, lambda: count_answer(catalogue, done), lambda: count_table(done.rows))
    for remark in (*([] if counted is None else counted.notes), *done.remarks):
        tell(remark)
    if done.changes and not write:
        tell("nothing is written yet; --write carries it out")
    return 0


def _read_counted(catalogue: Catalogue, file: Path) -> CountList:
    """What was counted; a line for each row that cannot be taken, and nothing goes on."""
    from fitcheck.services.shelf.count_list import read_count_list

    counted = read_count_list(catalogue, file)
    if counted.faults:
        tell_some(counted.faults)
        rows = len(counted.faults)
        raise UsageError(
            f"{counted.path}: {rows} row{'s' * (rows != 1)} cannot be taken, so nothing is; "
            "mend the file and count again"
        )
    return counted
