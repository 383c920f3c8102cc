"""`fitcheck sheet`: a printable page for the customer to take home, and its quotation."""

from __future__ import annotations

import re
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from fitcheck.cli.commands import command, section
from fitcheck.cli.common import echo_data, echo_text, open_catalogue, tell, working
from fitcheck.cli.main import EXIT_NOTHING
from fitcheck.cli.parameters import (
    CURRENCY,
    DAY,
    MACHINE_AND_SETS,
    MONEY,
    SHARE,
    Money,
    Reader,
    WholeNumber,
    catalog_option,
    flag,
    many,
    once,
    one_currency,
)
from fitcheck.cli.road import read_road, road_options
from fitcheck.cli.subject import read_options, read_subject, split_words, subject_options
from fitcheck.errors import UsageError

if TYPE_CHECKING:
    import datetime as dt

    from fitcheck.screens.page.locale import Local
    from fitcheck.screens.page.quote_view import Quote
    from fitcheck.services.sheet.quotation import Labour
    from fitcheck.services.sheet.sheet import Sheet

_VALID_DAYS = 14

_MOST_TAX, _MOST_HOURS = 100, 1000


def _options(text: str) -> tuple[int, ...]:
    """Places of the options named, from 0; none for all that may be ordered."""
    word = text.strip()
    if word.casefold() == "all":
        return ()
    if re.fullmatch(r"[A-Da-d]([ ,]*[A-Da-d])*", word) is None:
        raise UsageError(f"{text[:30]!r} names no options; give letters of the page, like A or A,C")
    return tuple(ord(letter) - ord("A") for letter in word.upper() if letter.isalpha())


def _extra(text: str) -> tuple[str, Money]:
    name, sign, price = text.rpartition("=")
    if not sign or not any(char.isalnum() for char in name):
        raise UsageError(f"{text[:40]!r} is no extra; write what it is and its price: gasket=3.50")
    money: Money = MONEY.read(price)
    return " ".join(name.split()), money


def _percent(text: str) -> Decimal:
    rate: Decimal = SHARE.read(text.strip().removesuffix("%"))
    if rate > _MOST_TAX:
        raise UsageError(f"{text.strip()[:30]} is no rate of tax; give 0 to {_MOST_TAX} percent")
    return rate


def _hours(text: str) -> Decimal:
    hours: Decimal = SHARE.read(text)
    if hours > _MOST_HOURS:
        raise UsageError(f"{text.strip()[:30]} h is no work on a gearbox; give 0 to {_MOST_HOURS}")
    return hours


_quote_options = section(
    "Quotation",
    once(
        "--quote OPTIONS",
        "Also quote these options of the page: A, or A,C, or all that may be ordered.",
        Reader("options", _options),
        daily=True,
    ),
    many(
        "--extra NAME=PRICE",
        "Price of what else goes in the parcel, gasket=3.50 or 'gasket=3.50 EUR'; may be given "
        "again. What no set asks for is a line of every option.",
        Reader("extra", _extra),
    ),
    once("--labour AMOUNT", "What the work costs in all.", MONEY, daily=True),
    once("--labour-hours HOURS", "Hours of work, at --rate.", Reader("hours", _hours)),
    once("--rate AMOUNT", "Price of an hour of work.", MONEY),
    once(
        "--tax PERCENT",
        "Tax rate, shown separately. Prices include it unless --prices-exclude-tax.",
        Reader("percent", _percent),
    ),
    flag("--prices-exclude-tax", "All prices, on record and given here, are without tax; add it."),
    once(
        "--currency CODE",
        "Currency of labour and extras. Default: that of the gear sets quoted; must be "
        "given where they are priced in several.",
        CURRENCY,
    ),
    once(
        "--valid-days DAYS",
        f"Days the quotation holds, from the page's date on. Default: {_VALID_DAYS}.",
        WholeNumber(1, 366),
    ),
)
"""What to quote and at what terms."""


_MONEY_TERMS = ("--extra", "--labour", "--labour-hours", "--rate", "--tax")
_TERMS = (*_MONEY_TERMS, "--prices-exclude-tax", "--currency", "--valid-days")
"""Options that mean something only beside `--quote`."""


def _quote_rest(options: dict[str, Any]) -> dict[str, Any]:
    """Take the options of a quotation out of all, and refuse what contradicts itself.

    Args:
        options: every option given; those of the quotation are taken out.

    Raises:
        UsageError: something of a quotation is given and none is asked, or labour in two ways or
            half.
    """
    words = {word[2:].replace("-", "_"): word for word in ("--quote", *_TERMS)}
    given = {name: options.pop(name) for name in words}
    if given["quote"] is None:
        for name, word in words.items():
            if given[name] not in (None, False, ()):
                raise click.UsageError(f"{word} is of a quotation, and none is asked; add --quote")
    if given["labour"] is not None and (given["labour_hours"], given["rate"]) != (None, None):
        raise click.UsageError("give --labour, or --labour-hours and --rate, not both")
    if (given["labour_hours"] is None) != (given["rate"] is None):
        missing = "--rate" if given["rate"] is None else "--labour-hours"
        raise click.UsageError(f"{missing} is missing; give --labour-hours and --rate, or --labour")
    if given["prices_exclude_tax"] and given["tax"] is None:
        raise click.UsageError("--prices-exclude-tax needs the rate: give --tax PERCENT too")
    names = [name.casefold() for name, _ in given["extra"]]
    twice = next((name for name in names if names.count(name) > 1), None)
    if twice is not None:
        raise click.UsageError(f"--extra gives the price of {twice!r} twice; give it once")
    return given


def _read_quote(sheet: Sheet, given: dict[str, Any], day: dt.date) -> Quote:
    """The quotation asked for.

    Args:
        sheet: the sheet it goes onto.
        given: as `_quote_rest` returns it.
        day: the day of the page.

    Raises:
        UsageError: as `quotations`; or it would hold beyond the calendar.
    """
    import datetime as dt

    from fitcheck.screens.page.quote_view import Quote
    from fitcheck.services.sheet.quotation import Terms, quotations

    terms = Terms(
        extras={name: money.amount for name, money in given["extra"]},
        labour=_labour(given),
        tax_percent=given["tax"],
        prices_exclude_tax=given["prices_exclude_tax"],
        currency=_currency(given),
    )
    try:
        until = day + dt.timedelta(days=given["valid_days"] or _VALID_DAYS)
    except OverflowError:
        raise UsageError(f"{day} is too late a day for a quotation; give another --date") from None
    return Quote(quotations(sheet.options, given["quote"] or None, terms), terms, until)


def _labour(given: dict[str, Any]) -> Labour | None:
    from fitcheck.services.sheet.quotation import Labour

    if given["labour"] is None and given["labour_hours"] is None:
        return None
    amount, rate = given["labour"], given["rate"]
    return Labour(
        amount=None if amount is None else amount.amount,
        hours=given["labour_hours"],
        rate=None if rate is None else rate.amount,
    )


def _currency(given: dict[str, Any]) -> str | None:
    """The currency of labour and extras, by --currency or beside an amount."""
    amounts = {f"--extra {name}": money for name, money in given["extra"]}
    amounts |= {"--labour": given["labour"], "--rate": given["rate"]}
    named = {word: money.currency for word, money in amounts.items() if money is not None}
    return one_currency({"--currency": given["currency"], **named})


_STDOUT = "-"


def _locale(text: str) -> Local:
    from fitcheck.screens.page.locale import named_local

    return named_local(text.strip())


@command(
    "sheet",
    "fitcheck sheet dunlin-ten GW-20-108 MA-1545+SA-107 -o -",
    "fitcheck sheet dunlin-ten GW-20-108 --quote A --labour 90 -o -",
)
@click.argument("words", nargs=-1, type=MACHINE_AND_SETS, metavar="MACHINE [SETS]...")
@section(
    "The page",
    once(
        "--output FILE",
        "The page to write, whole or not at all; - for stdout. An earlier sheet is overwritten.",
        daily=True,
    ),
    flag("--force", "Also overwrite a file that was not made by fitcheck."),
    once("--shop TEXT", "Name of the shop, over the page.", daily=True),
    once("--customer TEXT", "Whom the page is for.", daily=True),
    once("--remark TEXT", "A sentence or two of your own, under the head."),
    once("--date DATE day", "Day on the page, year-month-day. Default: today.", DAY),
    once(
        "--locale NAME local",
        "How to write figures, prices and dates: de_DE, en_GB, fr_CH. Default: as the "
        "environment says. The words stay English.",
        Reader("locale", _locale),
    ),
)
@_quote_options
@subject_options
@road_options
@catalog_option
def sheet_command(
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
    Without SETS the best few in the band are chosen by a rule that the page states. The page is one
    self-contained HTML file, for screen, phone and paper (A4 or Letter). With
    --family and --teeth no machine is named and every word is an option. The exit code is 3 where
    an option is ruled out, or where nothing in the band fits and no page is written.

    With --quote the page contains a quotation: gear sets at the shop's price, extras, labour, tax.
    """
    import datetime as dt
    import os

    from fitcheck.rules.answers import Verdict
    from fitcheck.screens.page.locale import local_of
    from fitcheck.screens.page.page import Heading, sheet_html, write_sheet
    from fitcheck.services.sheet.sheet import doubt_day, sheet_of

    if not output:
        raise click.UsageError("name the page to write: -o sheet.html, or -o - for stdout")
    given = _quote_rest(options)
    machine, names = split_words(words, options)
    with open_catalogue(catalog) as catalogue:
        subject = read_subject(catalogue, machine, options)
        asked = read_road(catalogue, options)
        with working("working it out"):
            sheet = sheet_of(subject, read_options(catalogue, subject, names), asked)
    if sheet is None:
        tell("nothing in the band fits, so there is no page to write; name sets after the machine")
        return EXIT_NOTHING
    heading = Heading(day or dt.date.today(), shop or "", customer or "", remark or "")
    quote = _read_quote(sheet, given, heading.date) if given["quote"] is not None else None
    page = sheet_html(sheet, heading, local or local_of(os.environ), quote)
    doubt = doubt_day(heading.date, dt.date.today())
    if doubt is not None:
        tell(f"look: {doubt}")
    if output == _STDOUT:
        echo_data(page)
    else:
        write_sheet(Path(output), page, force=force)
        echo_text(f"{output}\n")
    verdicts = {told.combination.judgement.verdict for told in sheet.options}
    return EXIT_NOTHING if Verdict.RULED_OUT in verdicts else 0
