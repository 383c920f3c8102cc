"""Options of a quotation, and what they ask for."""

from __future__ import annotations

import re
from decimal import Decimal
from typing import TYPE_CHECKING, Any

import click

from fitcheck.cli.parameters import WholeNumber, once, section
from fitcheck.cli.values import AMOUNT, CURRENCY, SHARE, reader
from fitcheck.errors import UsageError

if TYPE_CHECKING:
    import datetime as dt

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


def _extra(text: str) -> tuple[str, Decimal]:
    name, sign, price = text.rpartition("=")
    if not sign or not any(char.isalnum() for char in name):
        raise UsageError(f"{text[:40]!r} is no extra; write what it is and its price: gasket=3.50")
    amount: Decimal = AMOUNT.read(price)
    return " ".join(name.split()), amount


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


def quote_options(function: Any) -> Any:
    """What to quote and at what terms."""
    return section(
        "Quotation",
        once(
            "--quote",
            type=reader("options", _options),
            metavar="OPTIONS",
            help="Also quote these options of the page: A, or A,C, or all that may be ordered.",
        ),
        click.option(
            "--extra",
            "extras",
            multiple=True,
            type=reader("extra", _extra),
            metavar="NAME=PRICE",
            help="Price of what else goes in the parcel: gasket=3.50; may be given again. What no "
            "set asks for is a line of every option.",
        ),
        once("--labour", type=AMOUNT, metavar="AMOUNT", help="What the work costs in all."),
        once(
            "--labour-hours",
            type=reader("hours", _hours),
            metavar="HOURS",
            help="Hours of work, at --rate.",
        ),
        once("--rate", type=AMOUNT, metavar="AMOUNT", help="Price of an hour of work."),
        once(
            "--tax",
            type=reader("percent", _percent),
            metavar="PERCENT",
            help="Tax rate, shown separately. Prices include it unless --prices-exclude-tax.",
        ),
        click.option(
            "--prices-exclude-tax",
            is_flag=True,
            help="All prices, on record and given here, are without tax; add it.",
        ),
        once(
            "--currency",
            type=CURRENCY,
            metavar="CODE",
            help="Currency of labour and extras. Default: that of the gear sets quoted; must be "
            "given where they are priced in several.",
        ),
        once(
            "--valid-days",
            type=WholeNumber(1, 366),
            metavar="DAYS",
            help=f"Days the quotation holds, from the page's date on. Default: {_VALID_DAYS}.",
        ),
    )(function)


_NAMES = {
    "extras": "--extra",
    "labour": "--labour",
    "labour_hours": "--labour-hours",
    "rate": "--rate",
    "tax": "--tax",
    "prices_exclude_tax": "--prices-exclude-tax",
    "currency": "--currency",
    "valid_days": "--valid-days",
}


def quote_rest(options: dict[str, Any]) -> dict[str, Any]:
    """Take the options of a quotation out of all, and refuse what contradicts itself.

    Args:
        options: every option given; those of the quotation are taken out.

    Raises:
        UsageError: something of a quotation is given and none is asked, or labour in two ways or
            half.
    """
    given = {name: options.pop(name) for name in ("quote", *_NAMES)}
    if given["quote"] is None:
        for name, word in _NAMES.items():
            if given[name] not in (None, False, ()):
                raise click.UsageError(f"{word} is of a quotation, and none is asked; add --quote")
    if given["labour"] is not None and (given["labour_hours"], given["rate"]) != (None, None):
        raise click.UsageError("give --labour, or --labour-hours and --rate, not both")
    if (given["labour_hours"] is None) != (given["rate"] is None):
        missing = "--rate" if given["rate"] is None else "--labour-hours"
        raise click.UsageError(f"{missing} is missing; give --labour-hours and --rate, or --labour")
    if given["prices_exclude_tax"] and given["tax"] is None:
        raise click.UsageError("--prices-exclude-tax needs the rate: give --tax PERCENT too")
    names = [name.casefold() for name, _ in given["extras"]]
    twice = next((name for name in names if names.count(name) > 1), None)
    if twice is not None:
        raise click.UsageError(f"--extra gives the price of {twice!r} twice; give it once")
    return given


def read_quote(sheet: Sheet, given: dict[str, Any], day: dt.date) -> Quote:
    """The quotation asked for.

    Args:
        sheet: the sheet it goes onto.
        given: as `quote_rest` returns it.
        day: the day of the page.

    Raises:
        UsageError: as `quotations`; or it would hold beyond the calendar.
    """
    import datetime as dt

    from fitcheck.screens.page.quote_view import Quote
    from fitcheck.services.sheet.quotation import Terms, quotations

    terms = Terms(
        dict(given["extras"]),
        _labour(given),
        given["tax"],
        given["prices_exclude_tax"],
        given["currency"],
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
    return Labour(given["labour"], given["labour_hours"], given["rate"])
