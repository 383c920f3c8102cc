"""`fitcheck shelf count`: the stock-take."""

from __future__ import annotations

from pathlib import Path

import click

from fitcheck.cli.common import asked_of, emit, tell
from fitcheck.cli.parameters import LIST_FILE, Command, catalog_option, format_option
from fitcheck.cli.shelf.options import note_options, read_note
from fitcheck.errors import UsageError

_TOLD = 20
"""So many faulty rows are told of one by one."""


@click.command("count", cls=Command, epilog="Example: fitcheck shelf count counted.csv --write")
@click.argument("file", required=False, type=LIST_FILE, metavar="[FILE]")
@click.option("--write", is_flag=True, help="Carry it out; without, the plan is only shown.")
@click.option("--complete", is_flag=True, help="Everything was counted: of other parts, nothing.")
@click.option(
    "--as-written",
    is_flag=True,
    help="Take what the shelf file says for counted where it was edited by hand.",
)
@note_options
@format_option("table", "json", "csv", "markdown")
@catalog_option
def command(
    file: Path | None,
    *,
    write: bool,
    complete: bool,
    as_written: bool,
    reason: str | None,
    by: str | None,
    output_format: str,
    catalog: str | None,
) -> int:
    """Show what was counted against the ledger, and with --write set the shelf right.

    FILE is CSV or a spreadsheet with the columns part, counted and perhaps place; what
    fitcheck shelf list --format csv writes can be corrected and given back. Parts that are not
    in it are left alone. Several faults of FILE are reported at once, and then nothing is written.
    """
    from fitcheck.services.shelf.count_list import read_count_list
    from fitcheck.services.shelf.stocktake import plan_stocktake, take_stock

    if file is None and not as_written:
        raise click.UsageError("name the file that was counted, or give --as-written")
    if file is None and complete:
        raise click.UsageError("--complete needs the file that was counted; name it")
    with asked_of(catalog) as catalogue:
        counted = None if file is None else read_count_list(catalogue, file)
        if counted is not None and counted.faults:
            for fault in counted.faults[:_TOLD]:
                tell(fault)
            rows = len(counted.faults)
            raise UsageError(
                f"{counted.path}: {rows} row{'s' * (rows != 1)} cannot be taken, so nothing is; "
                "mend the file and count again"
            )
        rows_counted = [] if counted is None else counted.rows
        if write:
            done = take_stock(
                catalogue,
                rows_counted,
                complete=complete,
                as_written=as_written,
                note=read_note(reason, by),
            )
        else:
            done = plan_stocktake(catalogue, rows_counted, complete=complete, as_written=as_written)
    if output_format == "table":
        from fitcheck.screens.screen import console
        from fitcheck.screens.shelf.shelf import print_stocktake

        print_stocktake(console(), done)
    else:
        from fitcheck.answers.moves import count_answer, count_table

        emit(output_format, lambda: count_answer(catalogue, done), lambda: count_table(done.rows))
    for remark in (*([] if counted is None else counted.notes), *done.remarks):
        tell(remark)
    if done.changes and not write:
        tell("nothing is written yet; --write carries it out")
    return 0
