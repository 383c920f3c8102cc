"""`fitcheck shelf receive`: goods in."""

from __future__ import annotations

from decimal import Decimal

import click

from fitcheck.cli.common import asked_of
from fitcheck.cli.parameters import SignedCommand, WholeNumber, catalog_option, format_option, once
from fitcheck.cli.shelf.options import note_options, read_note, tell_moved
from fitcheck.cli.values import AMOUNT


@click.command(
    "receive", cls=SignedCommand, epilog="Example: fitcheck shelf receive MA-1545 3 --cost 33.50"
)
@click.argument("part")
@click.argument("quantity", type=WholeNumber(1, 1_000_000))
@once(
    "--cost",
    type=AMOUNT,
    metavar="AMOUNT",
    help="What a piece cost, in the currency of the set; takes the place of the last cost.",
)
@once("--place", metavar="TEXT", help="Where the part lies from now on.")
@note_options
@format_option("table", "json")
@catalog_option
def command(
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
