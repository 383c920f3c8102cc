"""The quotation on the sheet: one table, a row for each line and a column for each option."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from fitcheck.rules.answers import Verdict
from fitcheck.rules.fit import RULES, added_rules
from fitcheck.screens.page import gear_view
from fitcheck.screens.page.gear_view import NAME, NONE
from fitcheck.screens.page.locale import Local
from fitcheck.screens.page.view import LETTERS, Cell, Lettered, QuoteView, Row, gather, shorten
from fitcheck.services.counter.remarks import questions_counts
from fitcheck.services.sheet.quotation import Line, Quotation, Terms, Total
from fitcheck.services.sheet.sheet import Sheet

_ON_REQUEST = Cell("on request", tone="open")


@dataclass(frozen=True, slots=True)
class Quote:
    """Quotations as they go onto a sheet.

    Attributes:
        quotations: the options quoted.
        terms: what they were worked out by.
        valid_until: the last day they hold.
    """

    quotations: tuple[Quotation, ...]
    terms: Terms
    valid_until: dt.date


def quote_view(sheet: Sheet, quote: Quote, local: Local) -> QuoteView:
    """What the template shows of a quotation."""
    quoted = quote.quotations
    sets = {entry.id for told in sheet.options for entry in told.combination.sets}
    lines = {line.name for one in quoted for line in one.lines if line.kind == "set"}
    return QuoteView(
        columns=tuple(LETTERS[one.option] for one in quoted),
        lines=tuple(_rows(sheet, quote, local)),
        totals=tuple(_totals(quote, local)),
        notes=(*_recount(sheet), *_open_fits(sheet, quote), *_notes(quote)),
        valid=f"Valid until {local.day(quote.valid_until)}. {_tax_words(quote.terms)}",
        covers_sets=sets <= lines,
    )


def lines_of(view: QuoteView) -> int:
    """How many lines of the full width of paper it takes, about; it stands in half of it."""
    return (len(view.lines) + len(view.totals) + len(view.notes) + 2) // 2


def _rows(sheet: Sheet, quote: Quote, local: Local) -> Iterable[Row]:
    """Each line once, those of every kind together, in the order they are first met."""
    found: dict[tuple[str, str], None] = {}
    for kind in ("set", "extra", "labour"):
        for one in quote.quotations:
            found |= {(line.kind, line.name): None for line in one.lines if line.kind == kind}
    for kind, name in found:
        cells = tuple(_cell(one.lines, (kind, name), local) for one in quote.quotations)
        if kind == "labour":
            yield Row("Labour", cells, _hours(quote, local))
        elif kind == "extra":
            yield Row(shorten(name, NAME), cells)
        else:
            yield Row(name, cells, gear_view.set_in_short(sheet.subject, name))


def _cell(lines: Sequence[Line], wanted: tuple[str, str], local: Local) -> Cell:
    for line in lines:
        if (line.kind, line.name) == wanted:
            if line.amount is None:
                return _ON_REQUEST
            return Cell(local.price(line.amount, line.currency))
    return NONE


def _hours(quote: Quote, local: Local) -> str:
    labour = quote.terms.labour
    if labour is None or labour.hours is None or labour.rate is None:
        return ""
    currency = next(
        line.currency for one in quote.quotations for line in one.lines if line.kind == "labour"
    )
    hours = local.figure(f"{labour.hours:f}")
    return f"{hours} h at {local.price(labour.rate, currency)}"


def _totals(quote: Quote, local: Local) -> Iterable[Row]:
    currencies = list(
        dict.fromkeys(total.currency for one in quote.quotations for total in one.totals)
    )
    if not currencies:
        yield Row("Total", (_ON_REQUEST,) * len(quote.quotations), strong=True)
    terms = quote.terms
    for code in currencies:
        of = [
            next((total for total in one.totals if total.currency == code), None)
            for one in quote.quotations
        ]
        behind = f", {code}" if len(currencies) > 1 else ""

        def row(
            label: str, amounts: Iterable[Decimal | None], code: str = code, *, strong: bool = False
        ) -> Row:
            cells = tuple(
                NONE if amount is None else Cell(local.price(amount, code)) for amount in amounts
            )
            return Row(label, cells, strong=strong)

        whole = row(f"Total{behind}", [_of(one, "gross") for one in of], strong=True)
        if terms.tax_percent is None:
            yield whole
            continue
        rate = local.rate(terms.tax_percent)
        net, tax = [_of(one, "net") for one in of], [_of(one, "tax") for one in of]
        if terms.prices_exclude_tax:
            yield row(f"Sum without tax{behind}", net)
            yield row(f"Tax, {rate}{behind}", tax)
            yield whole
        else:
            yield whole
            yield row(f"Tax included, {rate}{behind}", tax)
            yield row(f"Without tax{behind}", net)


def _of(total: Total | None, name: str) -> Decimal | None:
    value: Decimal | None = None if total is None else getattr(total, name)
    return value


def _recount(sheet: Sheet) -> Iterable[Lettered]:
    if questions_counts(sheet.subject):
        yield Lettered("", "Subject to a recount of the teeth before ordering.")


def _open_fits(sheet: Sheet, quote: Quote) -> tuple[Lettered, ...]:
    """Which options quoted are not proved to fit, and the rules that are open."""
    said: list[list[str]] = [[] for _ in sheet.options]
    for one in quote.quotations:
        answers = sheet.options[one.option].combination.answers
        unproven = {answer.rule for answer in answers if answer.verdict is Verdict.UNPROVEN}
        if unproven:
            asked = (rule for rule in (*RULES, *added_rules()) if rule in unproven)
            rules = ", ".join(map(gear_view.rule_words, asked))
            said[one.option].append(
                f"Not proved to fit; subject to measuring or asking before ordering: {rules}."
            )
    return gather(said)


def tax_basis(quote: Quote | None) -> str:
    """How prices beside the quotation stand to the tax it tells apart; empty where to none."""
    if quote is None or quote.terms.tax_percent is None:
        return ""
    return "without tax" if quote.terms.prices_exclude_tax else "tax included"


def _notes(quote: Quote) -> Iterable[Lettered]:
    missing: dict[str, list[str]] = {}
    for one in quote.quotations:
        if one.without:
            # Names hold commas of their own: gear oil, 120 ml.
            words = "; ".join(shorten(name, NAME) for name in one.without)
            missing.setdefault(words, []).append(LETTERS[one.option])
    for words, letters in missing.items():
        who = "" if len(letters) == len(quote.quotations) else ", ".join(letters)
        yield Lettered(who, f"Not in the total, price on request: {words}.")
    if any(len(one.totals) > 1 for one in quote.quotations):
        yield Lettered("", "Amounts in different currencies are not added.")


def _tax_words(terms: Terms) -> str:
    if terms.tax_percent is None:
        return "Tax is not shown separately."
    if terms.prices_exclude_tax:
        return "Lines are without tax; it is added to their sum."
    return "Lines include tax."
