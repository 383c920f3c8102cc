"""`fitcheck shelf history`: what was moved."""

from __future__ import annotations

import click

from fitcheck.cli.common import asked_of, emit, tell
from fitcheck.cli.main import EXIT_NOTHING
from fitcheck.cli.parameters import Command, WholeNumber, catalog_option, format_option, once


@click.command("history", cls=Command, epilog="Example: fitcheck shelf history MA-1545 --last 5")
@click.argument("part", required=False)
@once(
    "--last",
    type=WholeNumber(1),
    metavar="NUMBER",
    help="Only so many of the latest lines. Default: all.",
)
@format_option("table", "json", "csv", "markdown")
@catalog_option
def command(part: str | None, *, last: int | None, output_format: str, catalog: str | None) -> int:
    """Show what was moved of PART, or of all parts, oldest first.

    Times are local on screen, UTC in the other formats. Exit code 3: nothing was moved yet.
    """
    from fitcheck.services.shelf.stock import history

    with asked_of(catalog) as catalogue:
        found = history(catalogue, part, last)
    if output_format == "table":
        from fitcheck.screens.screen import console
        from fitcheck.screens.shelf.shelf import print_history

        print_history(console(), found)
    else:
        from fitcheck.answers.moves import history_answer, history_table

        emit(output_format, lambda: history_answer(catalogue, found), lambda: history_table(found))
    faults = [(ledger, fault) for ledger in found.ledgers for fault in ledger.faults]
    if faults:
        ledger, fault = faults[0]
        tell(f"{ledger.shown}:{fault.line}: {fault.message}; fitcheck check says more")
    return 0 if found.lines else EXIT_NOTHING
