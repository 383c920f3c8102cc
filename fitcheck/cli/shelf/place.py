"""`fitcheck shelf place`: where a part lies."""

from __future__ import annotations

import click

from fitcheck.cli.common import asked_of
from fitcheck.cli.parameters import SignedCommand, catalog_option, format_option
from fitcheck.cli.shelf.options import note_options, read_note, tell_moved


@click.command(
    "place", cls=SignedCommand, epilog='Example: fitcheck shelf place MA-1545 "drawer B2"'
)
@click.argument("part")
@click.argument("where")
@note_options
@format_option("table", "json")
@catalog_option
def command(
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
