"""Options and steps that the moves of the shelf share."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING, Any

from fitcheck.cli.common import echo_json, tell
from fitcheck.cli.parameters import once

if TYPE_CHECKING:
    from fitcheck.catalogue.reader import Catalogue
    from fitcheck.services.shelf.moves import Moved
    from fitcheck.services.shelf.writing import Note

BY = "FITCHECK_BY"
"""The variable that names who is at the till."""


def note_options(function: Any) -> Any:
    """What the ledger keeps beside the figures."""
    for option in (
        once("--by", metavar="NAME", help=f"Who moves it. Default: ${BY}, then the login name."),
        once("--reason", metavar="TEXT", help="Why, in a few words; kept in the ledger."),
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
