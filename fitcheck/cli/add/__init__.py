"""`fitcheck add`: entries added to the catalogue from what somebody says of them."""

from __future__ import annotations

import click

from fitcheck.cli.groups import LazyGroup

__all__ = ["COMMANDS", "command"]

COMMANDS = {"set": "Add a gear set: what is sold under one part number."}
"""The commands, with one line each."""


@click.group(
    "add",
    cls=LazyGroup,
    words=COMMANDS,
    home="fitcheck.cli.add",
    no_args_is_help=False,
    subcommand_metavar="COMMAND [ARGUMENTS]...",
)
def command() -> None:
    """Add entries to the catalogue, judged and shown before they are written."""
