"""`fitcheck shelf issue`: goods out."""

from __future__ import annotations

import click

from fitcheck.cli.common import asked_of
from fitcheck.cli.parameters import SignedCommand, WholeNumber, catalog_option, format_option
from fitcheck.cli.shelf.options import note_options, read_note, tell_moved


@click.command(
    "issue", cls=SignedCommand, epilog='Example: fitcheck shelf issue MA-1545 1 --reason "job 214"'
)
@click.argument("part")
@click.argument("quantity", type=WholeNumber(1, 1_000_000))
@note_options
@format_option("table", "json")
@catalog_option
def command(
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
