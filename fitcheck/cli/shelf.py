"""`fitcheck shelf`: what lies where, every move of it, and the stock-take."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from fitcheck.cli.commands import LazyGroup, Option, SignedCommand, command, together
from fitcheck.cli.common import emit, late, open_catalogue, tell, tell_some
from fitcheck.cli.main import EXIT_NOTHING
from fitcheck.cli.naming import whole_name
from fitcheck.cli.parameters import (
    FAMILY,
    LIST_FILE,
    MONEY,
    PRICE,
    SET,
    SUPPLIER,
    WholeNumber,
    catalog_option,
    flag,
    format_option,
    list_options,
    long_option,
    once,
)
from fitcheck.errors import UsageError

if TYPE_CHECKING:
    from fitcheck.catalogue.reader import Catalogue
    from fitcheck.services.shelf.count_list import CountList
    from fitcheck.services.shelf.moves import Moved
    from fitcheck.services.shelf.writing import Note

COMMANDS = {
    "list": "List what lies on the shelf, and what it is worth.",
    "receive": "Put pieces on the shelf.",
    "issue": "Take pieces from the shelf.",
    "count": "Do a stock-take: compare what was counted with the ledger.",
    "price": "Give a part on the shelf its selling price.",
    "place": "Say where a part on the shelf lies from now on.",
    "history": "Show what was moved, when, why and by whom.",
    "gaps": "Show for which machines it holds nothing to sell, or one choice only.",
    "plan": "Plan the purchase that serves the most machines for the money.",
}
"""The commands in the order of a day at the counter, with one line each."""

_PLANNING = "fitcheck.cli.shelf_plan"


@click.group(
    "shelf",
    cls=LazyGroup,
    words=COMMANDS,
    modules={**dict.fromkeys(COMMANDS, __name__), **dict.fromkeys(("gaps", "plan"), _PLANNING)},
)
def shelf_command() -> None:
    """Keep the shop's shelf, with a ledger of every move.

    Every move is written into the ledger beside the shelf file before the shelf file changes;
    several tills may move at once.
    """


_BY = "FITCHECK_BY"
"""The variable that names who is at the till."""

_note_options = together(
    once("--reason TEXT", "Why, in a few words; kept in the ledger."),
    once("--by NAME", f"Who moves it. Default: ${_BY}, then the login name."),
)
"""What the ledger keeps beside the figures."""


def _read_note(reason: str | None, by: str | None) -> Note:
    """The note of a move."""
    from fitcheck.services.shelf.writing import Note

    return Note(reason, by if by is not None else _who())


def _who() -> str | None:
    named = os.environ.get(_BY, "").strip()
    if named:
        return named
    import getpass

    try:
        return getpass.getuser().strip() or None
    except (OSError, KeyError, ImportError):
        return None  # nobody has a name here


def _move_command(name: str, example: str, words: str, *parameters: Option) -> click.Command:
    """A command that moves one part, by the function of the same name in `services.shelf.moves`.

    Args:
        name: of the command.
        example: ends its help.
        words: its help.
        parameters: arguments and options, named as those of the function.
    """

    def run(part: str, *, reason: str | None, by: str | None, **given: Any) -> int:
        from fitcheck.services.shelf import moves

        output_format, note = given.pop("output_format"), _read_note(reason, by)
        for word in given.keys() & {"amount", "cost"}:
            if given[word] is not None:
                given[word], given["currency"] = given[word]
        with open_catalogue(given.pop("catalog")) as catalogue:
            moved: Moved = getattr(moves, name)(catalogue, part, note=note, **given)
            emit(
                output_format,
                late("fitcheck.screens.shelf.shelf:print_moved", moved),
                late("fitcheck.answers.moves:move_answer", catalogue, moved),
            )
            tell_some(moved.remarks, len(moved.remarks))
        return 0

    run.__doc__ = words
    options = (_note_options, format_option("table", "json"), catalog_option)
    of_command = together(click.argument("part", type=SET), *parameters, *options)
    return command(name, example, cls=SignedCommand)(of_command(run))


_QUANTITY = click.argument("quantity", type=WholeNumber(1, 1_000_000))

receive_command = _move_command(
    "receive",
    "fitcheck shelf receive MA-1545 3 --cost 33.50",
    """Put QUANTITY pieces of PART on the shelf.

    PART is an id, a part number or an alias. A part that has no entry on the shelf gets one.
    """,
    _QUANTITY,
    once(
        "--cost AMOUNT",
        "What a piece cost, in the currency of the set, 33.50 or '33.50 EUR'; replaces "
        "the last cost.",
        MONEY,
    ),
    once("--place TEXT", "Where the part lies from now on."),
)

issue_command = _move_command(
    "issue",
    'fitcheck shelf issue MA-1545 1 --reason "job 214"',
    """Take QUANTITY pieces of PART from the shelf, sold or fitted.

    PART is an id, a part number or an alias. More than lie there are refused.
    """,
    _QUANTITY,
)

price_command = _move_command(
    "price",
    "fitcheck shelf price MA-1545 52.90",
    """Give PART the selling price AMOUNT for a piece, in the currency of the set.

    PART is an id, a part number or an alias, and has an entry on the shelf.
    """,
    click.argument("amount", type=PRICE),
)

place_command = _move_command(
    "place",
    'fitcheck shelf place MA-1545 "drawer B2"',
    """Say that PART lies at WHERE from now on.

    PART is an id, a part number or an alias, and has an entry on the shelf.
    """,
    click.argument("where"),
)


@command("list", "fitcheck shelf list --place drawer --low 1")
@once("--supplier NAME", "Only sets of this supplier.", SUPPLIER)
@once("--family NAME", "Only sets confirmed or listed for this engine family.", FAMILY)
@once("--place TEXT", "Only what lies at a place with these words, or that begins so.")
@once("--low NUMBER", "Only entries of at most so many pieces; 0: sold out.", WholeNumber(0))
@long_option
@list_options
def list_command(
    *,
    supplier: str | None,
    family: str | None,
    place: str | None,
    low: int | None,
    long: bool,
    output_format: str,
    catalog: str | None,
) -> int:
    """List what lies on the shelf, with its value at cost and at price.

    The cost of a part is what was paid for it last. Exit code 3: nothing to list.
    """
    from fitcheck.diagnostics.suggest import or_list
    from fitcheck.services.counter.lookup import find_family, find_supplier
    from fitcheck.services.shelf.stock import StockFilter, stock

    with open_catalogue(catalog) as catalogue:
        if supplier is not None:
            supplier = find_supplier(catalogue, whole_name(catalogue, "supplier", supplier)).id
        if family is not None:
            family = find_family(catalogue, whole_name(catalogue, "family", family)).id
        found = stock(catalogue, StockFilter(supplier, family, place, low))
    show = late("fitcheck.screens.shelf.shelf:print_stock_glance", found)
    if long:
        show = late("fitcheck.screens.shelf.shelf:print_stock", found)
    emit(
        output_format,
        show,
        late("fitcheck.answers.shelf:stock_answer", catalogue, found),
        late("fitcheck.answers.shelf:stock_table", found),
    )
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
@click.argument("part", required=False, type=SET)
@once("--last NUMBER", "Only so many of the latest lines. Default: all.", WholeNumber(1))
@list_options
def history_command(
    part: str | None, *, last: int | None, output_format: str, catalog: str | None
) -> int:
    """Show what was moved of PART, or of all parts, oldest first.

    Times are local on screen, UTC in the other formats. Exit code 3: nothing was moved yet.
    """
    from fitcheck.services.shelf.stock import history

    with open_catalogue(catalog) as catalogue:
        word = None if part is None else whole_name(catalogue, "gear-set", part)
        found = history(catalogue, word, last)
    emit(
        output_format,
        late("fitcheck.screens.shelf.shelf:print_history", found),
        late("fitcheck.answers.moves:history_answer", catalogue, found),
        late("fitcheck.answers.moves:history_table", found),
    )
    faults = [(ledger, fault) for ledger in found.ledgers for fault in ledger.faults]
    if faults:
        ledger, fault = faults[0]
        tell(f"{ledger.shown}:{fault.line}: {fault.message}; fitcheck check says more")
    return 0 if found.lines else EXIT_NOTHING


@command("count", "fitcheck shelf count counted.csv --write")
@click.argument("file", required=False, type=LIST_FILE, metavar="[FILE]")
@flag("--write", "Carry it out; without, the plan is only shown.")
@flag("--complete", "Everything was counted: of parts not listed, nothing is there.")
@flag("--as-written", "Accept the shelf file's quantities where it was edited by hand.")
@_note_options
@list_options
def count_command(
    file: Path | None, *, write: bool, output_format: str, catalog: str | None, **given: Any
) -> int:
    """Compare what was counted with the ledger, and with --write correct the shelf.

    FILE is CSV or a spreadsheet with the columns part, counted and perhaps place; what
    fitcheck shelf list --format csv writes can be corrected and given back. Parts that are not
    in it are left alone. Several faults of FILE are reported at once, and then nothing is written.
    """
    from fitcheck.services.shelf.stocktake import plan_stocktake, take_stock

    if file is None and not given["as_written"]:
        raise click.UsageError("name the file that was counted, or give --as-written")
    if file is None and given["complete"]:
        raise click.UsageError("--complete needs the file that was counted; name it")
    note = _read_note(given.pop("reason"), given.pop("by"))
    with open_catalogue(catalog) as catalogue:
        counted = None if file is None else _read_counted(catalogue, file)
        rows = [] if counted is None else counted.rows
        if write:
            done = take_stock(catalogue, rows, note=note, **given)
        else:
            done = plan_stocktake(catalogue, rows, **given)
    emit(
        output_format,
        late("fitcheck.screens.shelf.shelf:print_stocktake", done),
        late("fitcheck.answers.moves:count_answer", catalogue, done),
        late("fitcheck.answers.moves:count_table", done.rows),
    )
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
            "fix the file and count again"
        )
    return counted
