"""`fitcheck shelf list`: what lies on the shelf."""

from __future__ import annotations

import click

from fitcheck.cli.common import asked_of, emit, tell
from fitcheck.cli.main import EXIT_NOTHING
from fitcheck.cli.parameters import Command, WholeNumber, catalog_option, format_option, once


@click.command("list", cls=Command, epilog="Example: fitcheck shelf list --place drawer --low 1")
@once("--supplier", metavar="NAME", help="Only sets of this supplier.")
@once("--family", metavar="NAME", help="Only sets vouched or listed for this engine family.")
@once(
    "--place", metavar="TEXT", help="Only what lies at a place with these words, or that begins so."
)
@once(
    "--low",
    type=WholeNumber(0),
    metavar="NUMBER",
    help="Only entries of at most so many pieces; 0: sold out.",
)
@format_option("table", "json", "csv", "markdown")
@catalog_option
def command(
    *,
    supplier: str | None,
    family: str | None,
    place: str | None,
    low: int | None,
    output_format: str,
    catalog: str | None,
) -> int:
    """List what lies on the shelf, with its value at cost and at price.

    The cost of a part is what was paid for it last. Exit code 3: nothing to list.
    """
    from fitcheck.diagnostics.suggest import or_list
    from fitcheck.services.counter.lookup import find_family, find_supplier
    from fitcheck.services.shelf.stock import StockFilter, stock

    with asked_of(catalog) as catalogue:
        found = stock(
            catalogue,
            StockFilter(
                None if supplier is None else find_supplier(catalogue, supplier).id,
                None if family is None else find_family(catalogue, family).id,
                place,
                low,
            ),
        )
    if output_format == "table":
        from fitcheck.screens.screen import console
        from fitcheck.screens.shelf.shelf import print_stock

        print_stock(console(), found)
    else:
        from fitcheck.answers.shelf import stock_answer, stock_table

        emit(output_format, lambda: stock_answer(catalogue, found), lambda: stock_table(found))
    if found.other_places:
        tell(f"nothing lies at {place!r}; there is {or_list(found.other_places, 5)}")
    for ledger, fault in found.faults[:1]:
        tell(f"{ledger}:{fault.line}: {fault.message}; fitcheck check says more")
    for words in found.lost:
        tell(f"{words}; fitcheck check says more")
    if found.differences:
        parts = ", ".join(each.part for each in found.differences[:5])
        more = f" and {len(found.differences) - 5} more" if len(found.differences) > 5 else ""
        tell(
            f"the shelf file and its ledger differ on {parts}{more}: edited by hand? fitcheck "
            "shelf count --as-written shows how and accepts it"
        )
    return 0 if found.items else EXIT_NOTHING
