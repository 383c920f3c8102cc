"""`fitcheck shelf`: what lies where, every move of it, and the stock-take."""

from __future__ import annotations

import click

from fitcheck.cli.commands import LazyGroup

COMMANDS = {
    "list": "List what lies on the shelf, and what it is worth.",
    "receive": "Put pieces on the shelf.",
    "issue": "Take pieces from the shelf.",
    "count": "Hold a stock-take: show what was counted against the ledger.",
    "price": "Give a part on the shelf its selling price.",
    "place": "Say where a part on the shelf lies from now on.",
    "history": "Show what was moved, when, why and by whom.",
    "gaps": "Show for which machines it holds nothing to sell, or one choice only.",
    "plan": "Plan the purchase that serves the most machines for the money.",
}
"""The commands in the order of a day at the counter, with one line each."""

_MODULES = {
    "list": "stock",
    "count": "stock",
    "history": "stock",
    "gaps": "planning",
    "plan": "planning",
}
"""Modules of the commands that are no moves of one part."""


@click.group(
    "shelf",
    cls=LazyGroup,
    words=COMMANDS,
    modules={name: f"fitcheck.cli.shelf.{_MODULES.get(name, 'moves')}" for name in COMMANDS},
)
def shelf_command() -> None:
    """Keep the shop's shelf, with a ledger of every move.

    Every move is written into the ledger beside the shelf file before the shelf file changes;
    several tills may move at once.
    """
