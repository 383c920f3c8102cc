"""`fitcheck retire`: a gear set kept, marked and never matched again."""

from __future__ import annotations

import click

from fitcheck.cli.common import asked_of
from fitcheck.cli.consent import refuse_demo, show_and_write, write_option
from fitcheck.cli.parameters import Command, catalog_option, once


@click.command(
    "retire", cls=Command, epilog="Example: fitcheck retire SA-107-N --successor SA-107 --write"
)
@click.argument("name", metavar="SET")
@once("--successor", metavar="SET", help="The set that takes its place.")
@once("--reason", metavar="TEXT", help="Why; it goes into the notes of the set.")
@write_option
@catalog_option
def command(
    name: str, *, successor: str | None, reason: str | None, write: bool, catalog: str | None
) -> int:
    """Mark a gear set retired: it is kept and shown, never matched.

    SET is an id, part number or alias. Whoever names it later is led to its successor. Exit code
    0: written, or nothing to do, 1: shown but not written, 2: wrong use.
    """
    from fitcheck.services.upkeep import retire_set

    if write:
        refuse_demo(catalog)
    with asked_of(catalog) as catalogue:
        edited = retire_set(catalogue, name, successor=successor, reason=reason)
    return show_and_write(edited, write=write, done=f"{edited.set_id} is retired")
