"""`fitcheck edit`: fields of a gear set changed."""

from __future__ import annotations

import click

from fitcheck.cli.common import asked_of
from fitcheck.cli.consent import refuse_demo, show_and_write, write_option
from fitcheck.cli.parameters import Command, catalog_option


@click.command(
    "edit",
    cls=Command,
    epilog="Example: fitcheck edit MA-1545 price=51.90 availability=to-order --write",
)
@click.argument("name", metavar="SET")
@click.argument("fields", nargs=-1, metavar="FIELD=VALUE...")
@write_option
@catalog_option
def command(name: str, fields: tuple[str, ...], *, write: bool, catalog: str | None) -> int:
    """Change fields of a gear set, and nothing else in its file.

    SET is an id, part number or alias. Fields are named as in the file, with a dot for what stands
    inside another: interfaces.wheel_seat=ST-14. Short words are teeth, housings, evidence, models
    and wheel; fits.FAMILY=HOUSING,HOUSING names a family. Lists are parted by semicolons. An empty
    value takes a field out. Exit code 0: written, or nothing to do, 1: shown but not written, 2:
    wrong use.
    """
    from fitcheck.services.upkeep import change_set

    if write:
        refuse_demo(catalog)
    with asked_of(catalog) as catalogue:
        edited = change_set(catalogue, name, fields)
    return show_and_write(edited, write=write, done=f"{edited.set_id} is changed")
