"""`fitcheck shelf price`: the shop's selling price."""

from __future__ import annotations

from decimal import Decimal

import click

from fitcheck.cli.common import asked_of
from fitcheck.cli.parameters import SignedCommand, catalog_option, format_option
from fitcheck.cli.shelf.options import note_options, read_note, tell_moved
from fitcheck.cli.values import PRICE


@click.command("price", cls=SignedCommand, epilog="Example: fitcheck shelf price MA-1545 52.90")
@click.argument("part")
@click.argument("amount", type=PRICE)
@note_options
@format_option("table", "json")
@catalog_option
def command(
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
