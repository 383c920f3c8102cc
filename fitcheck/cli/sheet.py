"""`fitcheck sheet`: a printable page for the customer to take home."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from fitcheck.cli.common import asked_of, echo_data, echo_text, tell
from fitcheck.cli.main import EXIT_NOTHING
from fitcheck.cli.match import read_subject, subject_options
from fitcheck.cli.named_sets import read_options
from fitcheck.cli.parameters import Command, catalog_option, once, section
from fitcheck.cli.progress import working
from fitcheck.cli.quote_options import quote_options, quote_rest, read_quote
from fitcheck.cli.road_options import read_road, road_options
from fitcheck.cli.values import DAY, reader

if TYPE_CHECKING:
    import datetime as dt

    from fitcheck.screens.page.locale import Local

_STDOUT = "-"


def _locale(text: str) -> Local:
    from fitcheck.screens.page.locale import named_local

    return named_local(text.strip())


@click.command(
    "sheet", cls=Command, epilog="Example: fitcheck sheet dunlin-ten GW-20-108 MA-1545+SA-107 -o -"
)
@click.argument("words", nargs=-1, metavar="MACHINE [SETS]...")
@section(
    "The page",
    once(
        "-o",
        "--output",
        metavar="FILE",
        help="The page to write, whole or not at all; - for stdout. An earlier sheet is written "
        "over.",
    ),
    click.option("--force", is_flag=True, help="Also write over a file that is no earlier sheet."),
    once("--shop", metavar="TEXT", help="Name of the shop, over the page."),
    once("--customer", metavar="TEXT", help="Whom the page is for."),
    once("--remark", metavar="TEXT", help="A sentence or two of your own, under the head."),
    once(
        "--date",
        "day",
        type=DAY,
        metavar="DATE",
        help="Day on the page, year-month-day. Default: today.",
    ),
    once(
        "--locale",
        "local",
        type=reader("locale", _locale),
        metavar="NAME",
        help="How to write figures, prices and dates: de_DE, en_GB, fr_CH. Default: as the "
        "environment says. The words stay English.",
    ),
)
@quote_options
@subject_options
@road_options
@catalog_option
def command(
    words: tuple[str, ...],
    *,
    output: str | None,
    force: bool,
    shop: str | None,
    customer: str | None,
    remark: str | None,
    day: dt.date | None,
    local: Local | None,
    catalog: str | None,
    **options: Any,
) -> int:
    """Write a page for the customer: MACHINE and up to four SETS side by side.

    Each of SETS is one option: an id or part number, or several joined by +, as MA-1545+SA-107.
    Without SETS the best few in the band are chosen by a rule that the page tells. The page is one
    HTML file that needs nothing beside it, for screen, phone and paper (A4 or Letter). With
    --family and --teeth no machine is named and every word is an option. The exit code is 3 where
    an option is ruled out, or where nothing in the band fits and no page is written.

    With --quote the page bears a quotation: gear sets at the shop's price, extras, labour, tax.
    """
    import datetime as dt
    import os

    from fitcheck.rules.answers import Verdict
    from fitcheck.screens.page.locale import local_of
    from fitcheck.screens.page.page import Heading, sheet_html
    from fitcheck.screens.page.writing import write_sheet
    from fitcheck.services.sheet.sheet import sheet_of

    if not output:
        raise click.UsageError("name the page to write: -o sheet.html, or -o - for stdout")
    given = quote_rest(options)
    by_counts = options["family"] is not None
    machine = None if by_counts else (words[0] if words else None)
    names = words if by_counts else words[1:]
    with asked_of(catalog) as catalogue:
        subject = read_subject(catalogue, machine, options)
        asked = read_road(catalogue, options)
        with working("working it out"):
            sheet = sheet_of(subject, read_options(catalogue, subject, names), asked)
    if sheet is None:
        tell("nothing in the band fits, so there is no page to write; name sets after the machine")
        return EXIT_NOTHING
    heading = Heading(day or dt.date.today(), shop or "", customer or "", remark or "")
    quote = read_quote(sheet, given, heading.date) if given["quote"] is not None else None
    page = sheet_html(sheet, heading, local or local_of(os.environ), quote)
    if output == _STDOUT:
        echo_data(page)
    else:
        write_sheet(Path(output), page, force=force)
        echo_text(f"{output}\n")
    verdicts = {told.combination.judgement.verdict for told in sheet.options}
    return EXIT_NOTHING if Verdict.RULED_OUT in verdicts else 0
