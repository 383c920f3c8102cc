"""The plan of what to buy on screen: what it serves, the shopping list, how good it is."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from itertools import groupby

from fitcheck.answers.figures import money, number_words
from fitcheck.answers.plan import plan_table
from fitcheck.screens.columns import print_columns
from fitcheck.screens.findings.wording import one_line
from fitcheck.screens.screen import Screen
from fitcheck.screens.shelf.words import (
    counted,
    kit_words,
    machine_words,
    serve_words,
    unjudged_words,
)
from fitcheck.services.shelf.plan import Bought, Plan, Tally, Why

_INDENT = "  "


def print_plan(out: Screen, found: Plan) -> None:
    """Print the plan."""
    demands, currency = found.demands, found.currency
    out.paragraph(f"Plan for {money(found.budget, currency)}", style="bold")
    sets = len(found.bought)
    bought = f"{sets:,} set{'s' * (sets != 1)} for {money(found.spent, currency)}"
    out.labelled("Buy", f"{bought if sets else 'nothing'}; {money(found.left, currency)} left")
    for label, tally in (("Served now", found.before), ("Then", found.after)):
        out.labelled(label, _tally_words(found, tally))
    out.labelled("Quality", " ".join(quality_words(found)))
    if found.at_list:
        out.labelled("Prices", _at_list(found))
    out.paragraph(serve_words(demands, lawful=found.lawful), style="dim")
    for supplier, group in groupby(found.bought, key=lambda one: one.gear_set.record.supplier):
        out.line()
        _print_supplier(out, found, supplier, list(group))
    if found.served:
        out.line()
        out.paragraph(f"Newly served: {counted(len(found.served), demands)}", style="bold")
        for one in found.served:
            held = one.kit.from_shelf
            beside = f", with {' + '.join(held)} from the shelf" if held else ""
            words = f"{machine_words(one.demand)}: {' + '.join(one.kit.buy)}{beside}"
            out.paragraph(words, _INDENT, _INDENT * 2)
    _print_unserved(out, found)
    _print_left_out(out, found)
    if demands.unjudged:
        out.line()
        out.paragraph("Not judged", style="bold")
        for words in unjudged_words(demands):
            out.paragraph(words, _INDENT, _INDENT * 2)


def _at_list(found: Plan) -> str:
    """For how many sets a list price stands in, and what would better it."""
    return (
        f"{found.at_list:,} of {found.helping:,} sets that would help stand at list price, so they "
        "look dearer than they are: no cost and no discount is on record. Add discount_percent to "
        "their suppliers."
    )


def _tally_words(found: Plan, tally: Tally) -> str:
    total = found.all_machines
    words = f"{tally.machines:,} of {counted(total.machines, found.demands)}"
    if found.demands.weighted:
        words += f"; {number_words(tally.weight)} of {number_words(total.weight)} visits"
    return words


def quality_words(found: Plan) -> list[str]:
    """How good the purchase is, in sentences: which way it was found, how far off it may be."""
    quality = found.quality
    newly = found.after.weight - found.before.weight
    unit = "visits" if found.demands.weighted else counted(2, found.demands).split()[1]
    how = "Exact" if quality.method == "exact" else "Greedy"
    sentences = []
    if quality.optimal:
        tail = ", and none that serves as much costs less" if quality.cheapest else ""
        sentences.append(f"{how}: proved that nothing within the budget serves more{tail}.")
        if not quality.cheapest:
            gives = quality.solver and not quality.ended
            more = ": --time-limit gives the solver more" if gives else ""
            sentences.append(f"Whether as much is to be had for less is not proved{more}.")
    else:
        most = f"{number_words(newly)} newly served {unit} of at most {number_words(quality.most)}"
        off = _percent_off(newly, quality.most)
        sentences.append(f"{how}: {most}, so at most {off} % under the best there may be.")
    if not quality.solver and not (quality.optimal and quality.cheapest):
        sure = (
            "; greedy alone is sure of 31.6 % of the best"
            if quality.singles_only
            else "; where sets serve only together, greedy alone is sure of nothing"
        )
        sure = "" if quality.optimal else sure
        sentences.append(
            "scipy is not installed, so no exact answer was looked for "
            f"(pip install 'fitcheck[plan]'){sure}."
        )
    elif quality.solver and not quality.optimal:
        sentences.append(
            "The solver cannot tell more: its sums are rounded, and the visits differ too much."
            if quality.ended
            else "The solver ran out of time: --time-limit gives it more."
        )
    return sentences


def _percent_off(newly: Fraction, most: Fraction) -> str:
    """Percent by which the purchase may fall short, never rounded down; one decimal."""
    tenths = 1000 * (most - newly) / most
    up = -(-tenths.numerator // tenths.denominator)
    return f"{up // 10}.{up % 10}"


def _print_supplier(out: Screen, found: Plan, supplier: str, bought: list[Bought]) -> None:
    entry = found.demands.catalogue.suppliers.get(supplier)
    unknown = (
        f"{supplier}, not in the catalogue, so its discount and perhaps its currency are unknown"
    )
    name = unknown if entry is None else f"{entry.record.name} ({supplier})"
    price = money(sum((one.price for one in bought), Decimal(0)), found.currency)
    number = f"{len(bought)} set{'s' * (len(bought) != 1)}"
    out.paragraph(f"{one_line(name)}: {number}, {price}", style="bold")
    table = plan_table(found)._replace(rows=bought)
    heads, cells = table.shown(["supplier", "name", "pieces", "currency", "price from", "serves"])
    heads += ["from", "serves"]
    served = (", ".join(demand.id for demand in one.serves) for one in bought)
    rows = [[*row, one.source, ids] for row, one, ids in zip(cells, bought, served, strict=True)]
    # An order needs all of them.
    print_columns(out, heads, rows, below=["part number", "teeth", "from"])


def _print_unserved(out: Screen, found: Plan) -> None:
    if not found.unserved:
        return
    out.line()
    number = counted(len(found.unserved), found.demands)
    out.paragraph(f"Still not served: {number}", style="bold")
    for why in Why:
        those = [one for one in found.unserved if one.why is why]
        if not those:
            continue
        if why in (Why.MONEY, Why.BUDGET):
            out.paragraph(f"{why.value}:", _INDENT)
            for one in those:
                assert one.kit is not None
                words = f"{one.demand.id}: {kit_words(one.kit)}"
                out.paragraph(words, _INDENT * 2, _INDENT * 3)
        else:
            ids = ", ".join(one.demand.id for one in those)
            out.paragraph(f"{why.value}: {ids}", _INDENT, _INDENT * 2)


def _print_left_out(out: Screen, found: Plan) -> None:
    """Sets that would help and are left out of the plan for want of a price in its currency."""
    said = [
        f"{number:,} set{'s' * (number != 1)} priced in {currency}: --currency {currency} plans "
        "with them"
        for currency, number in found.other_currencies.items()
    ]
    if found.unpriced:
        said.append(f"{found.unpriced:,} set{'s' * (found.unpriced != 1)} without a price")
    if said:
        out.line()
        out.paragraph(f"Left out: {'; '.join(said)}.")
