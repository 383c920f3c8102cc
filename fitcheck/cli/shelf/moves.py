"""`fitcheck shelf receive`, `issue`, `price` and `place`: moves of one part."""

from __future__ import annotations

import os
from decimal import Decimal
from typing import TYPE_CHECKING, Any

import click

from fitcheck.cli.commands import SignedCommand, command
from fitcheck.cli.common import asked_of, echo_json, tell
from fitcheck.cli.parameters import AMOUNT, PRICE, WholeNumber, catalog_option, format_option, once

if TYPE_CHECKING:
    from fitcheck.catalogue.reader import Catalogue
    from fitcheck.services.shelf.moves import Moved
    from fitcheck.services.shelf.writing import Note

BY = "FITCHECK_BY"
"""The variable that names who is at the till."""


def note_options(function: Any) -> Any:
    """What the ledger keeps beside the figures."""
    for option in (
        once("--by NAME", f"Who moves it. Default: ${BY}, then the login name."),
        once("--reason TEXT", "Why, in a few words; kept in the ledger."),
    ):
        function = option(function)
    return function


def read_note(reason: str | None, by: str | None) -> Note:
    """The note of a move."""
    from fitcheck.services.shelf.writing import Note

    return Note(reason, by if by is not None else _who())


def _who() -> str | None:
    named = os.environ.get(BY, "").strip()
    if named:
        return named
    import getpass

    try:
        return getpass.getuser().strip() or None
    except (OSError, KeyError, ImportError):
        return None  # nobody has a name here


def tell_moved(catalogue: Catalogue, moved: Moved, output_format: str) -> int:
    """Print what was moved."""
    if output_format == "json":
        from fitcheck.answers.moves import move_answer

        echo_json(move_answer(catalogue, moved))
    else:
        from fitcheck.screens.screen import console
        from fitcheck.screens.shelf.shelf import print_moved

        print_moved(console(), moved)
    for remark in moved.remarks:
        tell(remark)
    return 0


@command("receive", "fitcheck shelf receive MA-1545 3 --cost 33.50", cls=SignedCommand)
@click.argument("part")
@click.argument("quantity", type=WholeNumber(1, 1_000_000))
@once(
    "--cost AMOUNT",
    "What a piece cost, in the currency of the set; takes the place of the last cost.",
    AMOUNT,
)
@once("--place TEXT", "Where the part lies from now on.")
@note_options
@format_option("table", "json")
@catalog_option
def receive_command(
    part: str,
    quantity: int,
    *,
    cost: Decimal | None,
    place: str | None,
    reason: str | None,
    by: str | None,
    output_format: str,
    catalog: str | None,
) -> int:
    """Put QUANTITY pieces of PART on the shelf.

    PART is an id, a part number or an alias. A part that has no entry on the shelf gets one.
    """
    from fitcheck.services.shelf.moves import receive

    with asked_of(catalog) as catalogue:
        note = read_note(reason, by)
        moved = receive(catalogue, part, quantity, cost=cost, place=place, note=note)
        return tell_moved(catalogue, moved, output_format)


@command("issue", 'fitcheck shelf issue MA-1545 1 --reason "job 214"', cls=SignedCommand)
@click.argument("part")
@click.argument("quantity", type=WholeNumber(1, 1_000_000))
@note_options
@format_option("table", "json")
@catalog_option
def issue_command(
    part: str,
    quantity: int,
    *,
    reason: str | None,
    by: str | None,
    output_format: str,
    catalog: str | None,
) -> int:
    """Take QUANTITY pieces of PART from the shelf, sold or fitted.

    PART is an id, a part number or an alias. More than lie there are refused.
    """
    from fitcheck.services.shelf.moves import issue

    with asked_of(catalog) as catalogue:
        moved = issue(catalogue, part, quantity, note=read_note(reason, by))
        return tell_moved(catalogue, moved, output_format)


@command("price", "fitcheck shelf price MA-1545 52.90", cls=SignedCommand)
@click.argument("part")
@click.argument("amount", type=PRICE)
@note_options
@format_option("table", "json")
@catalog_option
def price_command(
    part: str,
    amount: Decimal,
    *,
    reason: str | None,
    by: str | None,
    output_format: str,
    catalog: str | None,
) -> int:
    """Give PART the selling price AMOUNT for a piece, in the currency of the set.

    PART is an id, a part number or an alias, and has an entry on the shelf.
    """
    from fitcheck.services.shelf.moves import price

    with asked_of(catalog) as catalogue:
        moved = price(catalogue, part, amount, note=read_note(reason, by))
        return tell_moved(catalogue, moved, output_format)


@command("place", 'fitcheck shelf place MA-1545 "drawer B2"', cls=SignedCommand)
@click.argument("part")
@click.argument("where")
@note_options
@format_option("table", "json")
@catalog_option
def place_command(
    part: str,
    where: str,
    *,
    reason: str | None,
    by: str | None,
    output_format: str,
    catalog: str | None,
) -> int:
    """Say that PART lies at WHERE from now on.

    PART is an id, a part number or an alias, and has an entry on the shelf.
    """
    from fitcheck.services.shelf.moves import place

    with asked_of(catalog) as catalogue:
        moved = place(catalogue, part, where, note=read_note(reason, by))
        return tell_moved(catalogue, moved, output_format)
