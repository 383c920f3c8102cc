"""`fitcheck shelf receive`, `issue`, `price` and `place`: moves of one part."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING, Any

import click

from fitcheck.cli.commands import Option, SignedCommand, command, together
from fitcheck.cli.common import asked_of, console, echo_json, tell_some
from fitcheck.cli.parameters import AMOUNT, PRICE, WholeNumber, catalog_option, format_option, once

if TYPE_CHECKING:
    from fitcheck.services.shelf.moves import Moved
    from fitcheck.services.shelf.writing import Note

BY = "FITCHECK_BY"
"""The variable that names who is at the till."""


note_options = together(
    once("--reason TEXT", "Why, in a few words; kept in the ledger."),
    once("--by NAME", f"Who moves it. Default: ${BY}, then the login name."),
)
"""What the ledger keeps beside the figures."""


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

        output_format = given.pop("output_format")
        with asked_of(given.pop("catalog")) as catalogue:
            moved: Moved = getattr(moves, name)(
                catalogue, part, note=read_note(reason, by), **given
            )
            if output_format == "json":
                from fitcheck.answers.moves import move_answer

                echo_json(move_answer(catalogue, moved))
            else:
                from fitcheck.screens.shelf.shelf import print_moved

                print_moved(console(), moved)
            tell_some(moved.remarks, len(moved.remarks))
        return 0

    run.__doc__ = words
    options = (note_options, format_option("table", "json"), catalog_option)
    of_command = together(click.argument("part"), *parameters, *options)
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
        "What a piece cost, in the currency of the set; takes the place of the last cost.",
        AMOUNT,
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
