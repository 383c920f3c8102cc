"""The gaps of the shelf, by family, and the plan of what to buy, on screen."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction
from itertools import groupby

from fitcheck.answers.figures import money, number_words
from fitcheck.answers.plan import plan_table
from fitcheck.screens.columns import print_columns
from fitcheck.screens.findings.wording import one_line
from fitcheck.screens.screen import Screen
from fitcheck.services.shelf.demands import Demand, Demands
from fitcheck.services.shelf.gaps import FamilyGaps, Gap, Gaps, State
from fitcheck.services.shelf.plan import Bought, Plan, Tally, Why
from fitcheck.services.shelf.supply import Kit, LawCount

_INDENT = "  "

_STATE_STYLES = {
    State.NOTHING: "red",
    State.UNLAWFUL: "red",
    State.UNCLEAR: "yellow",
    State.ONE: "yellow",
    State.SERVED: "green",
}


def print_gaps(out: Screen, found: Gaps, top: int | None) -> None:
    """Print every gap with what would close it.

    Args:
        out: where.
        found: the answer.
        top: at most so many ways to close each; None for all.
    """
    demands = found.demands
    out.paragraph(f"Gaps of the shelf: {_count_words(len(demands.judged), demands)}", style="bold")
    if demands.judged:
        out.paragraph(_counts_words(found.counts), _INDENT)
    out.paragraph(_serve_words(demands, lawful=found.lawful), style="dim")
    for family in found.families:
        out.line()
        _print_family(out, found, family, top)
    _print_unjudged(out, demands)


def _counts_words(counts: Mapping[State, int]) -> str:
    return ", ".join(f"{state.value} {number:,}" for state, number in counts.items() if number)


def _print_family(out: Screen, found: Gaps, family: FamilyGaps, top: int | None) -> None:
    record = family.family.record
    number = _count_words(len(family.machines), found.demands)
    name = f"{record.name} ({family.family.id})"
    out.headed(name, f": {number}, {_counts_words(family.counts)}", "", "")
    for gap in family.gaps:
        _print_gap(out, gap, top)


def _print_gap(out: Screen, gap: Gap, top: int | None) -> None:
    supply = gap.supply
    notes = []
    if supply.unproven:
        notes.append(f"{supply.unproven} of unproven fit on the shelf")
    if supply.law is not None and (law := _law_words(supply.law)):
        notes.append(law)
    words = f"{_machine_words(supply.demand)}: {gap.state.value}"
    told = "; ".join([words, *notes]).removeprefix(supply.demand.id)
    out.headed(supply.demand.id, told, _INDENT, _INDENT * 2, _STATE_STYLES[gap.state])
    shown = gap.closers[:top]
    for kit in shown:
        out.paragraph(_kit_words(kit), _INDENT * 2, _INDENT * 3)
    rest = len(gap.closers) - len(shown)
    if rest:
        out.paragraph(f"and {rest:,} way{'s' * (rest != 1)} more: --top 0 shows all", _INDENT * 2)
    for number, words in (
        (supply.unclear_kits, "of which nobody can say whether lawful"),
        (supply.over_kits, "but over its class"),
    ):
        if number:
            out.paragraph(f"{number:,} way{'s' * (number != 1)} on sale, {words}", _INDENT * 2)
    if not (gap.closers or supply.unclear_kits or supply.over_kits):
        out.paragraph("nothing on sale closes it", _INDENT * 2, style="dim")


def print_plan(out: Screen, found: Plan) -> None:
    """Print the plan."""
    demands, currency = found.demands, found.currency
    out.paragraph(f"Plan for {money(found.budget, currency)}", style="bold")
    sets = len(found.bought)
    bought = f"{sets:,} set{'s' * (sets != 1)} for {money(found.spent, currency)}"
    out.labelled("Buy", f"{bought if sets else 'nothing'}; {money(found.left, currency)} left")
    for label, tally in (("Served now", found.before), ("Then", found.after)):
        out.labelled(label, _tally_words(found, tally))
    out.labelled("Quality", " ".join(_quality_words(found)))
    if found.at_list:
        out.labelled("Prices", _at_list(found))
    out.paragraph(_serve_words(demands, lawful=found.lawful), style="dim")
    for supplier, group in groupby(found.bought, key=lambda one: one.gear_set.record.supplier):
        out.line()
        _print_supplier(out, found, supplier, list(group))
    if found.served:
        out.line()
        out.paragraph(f"Newly served: {_count_words(len(found.served), demands)}", style="bold")
        for one in found.served:
            held = one.kit.from_shelf
            beside = f", with {' + '.join(held)} from the shelf" if held else ""
            words = f"{_machine_words(one.demand)}: {' + '.join(one.kit.buy)}{beside}"
            out.paragraph(words, _INDENT, _INDENT * 2)
    _print_unserved(out, found)
    _print_left_out(out, found)
    _print_unjudged(out, demands)


def _at_list(found: Plan) -> str:
    """For how many sets a list price stands in, and what would better it."""
    return (
        f"{found.at_list:,} of {found.helping:,} sets that would help stand at list price, so they "
        "look dearer than they are: no cost and no discount is on record. Add discount_percent to "
        "their suppliers."
    )


def _tally_words(found: Plan, tally: Tally) -> str:
    total = found.all_machines
    words = f"{tally.machines:,} of {_count_words(total.machines, found.demands)}"
    if found.demands.weighted:
        words += f"; {number_words(tally.weight)} of {number_words(total.weight)} visits"
    return words


def _quality_words(found: Plan) -> list[str]:
    """How good the purchase is, in sentences: which way it was found, how far off it may be."""
    quality = found.quality
    newly = found.after.weight - found.before.weight
    unit = "visits" if found.demands.weighted else _count_words(2, found.demands).split()[1]
    how = "Exact" if quality.method == "exact" else "Greedy"
    sentences = []
    if quality.optimal:
        tail = ", and none that serves as much costs less" if quality.cheapest else ""
        sentences.append(f"{how}: proved that nothing within the budget serves more{tail}.")
        if not quality.cheapest:
            gives = quality.solver and not quality.ended
            more = ": --time-limit gives the solver more" if gives else ""
            sentences.append(f"Whether as much can be had for less is not proved{more}.")
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
    number = _count_words(len(found.unserved), found.demands)
    out.paragraph(f"Still not served: {number}", style="bold")
    for why in Why:
        those = [one for one in found.unserved if one.why is why]
        if not those:
            continue
        if why in (Why.MONEY, Why.BUDGET):
            out.paragraph(f"{why.value}:", _INDENT)
            for one in those:
                assert one.kit is not None
                words = f"{one.demand.id}: {_kit_words(one.kit)}"
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
        out.paragraph(f"Not in the plan: {'; '.join(said)}.")


def _count_words(number: int, demands: Demands) -> str:
    """So many machines, or cases where factory trains are asked about."""
    noun = "machine" if demands.asked == "machines" else "case"
    return f"{number:,} {noun}{'s' * (number != 1)}"


def _serve_words(demands: Demands, *, lawful: bool) -> str:
    """What it means to be served, one or two sentences."""
    case = "" if demands.asked == "machines" else "A case is a factory train under one tune. "
    law = ", and its class is sure to allow it" if lawful else ""
    return (
        f"{case}A choice serves where its fit is proved and it lies in the band of the tune{law}. "
        "Prices are what the shop paid last, else the list price less the supplier's discount, "
        "else the list price, which is more than a shop pays."
    )


def _machine_words(demand: Demand) -> str:
    """The machine with its name and tune."""
    tune = demand.subject.tune
    assert tune is not None
    return f"{demand.id}, {demand.subject.name}, {tune.record.name}"


def _kit_words(kit: Kit) -> str:
    """What to buy, and what goes with it from the shelf."""
    beside = f", with {' + '.join(kit.from_shelf)} from the shelf" if kit.from_shelf else ""
    found = dict.fromkeys(kit.sources)
    words = [
        source if len(found) == 1 else f"{source} for {' + '.join(kit.priced(source))}"
        for source in found
    ]
    cost = f" ({'; '.join(words)})" if words else ""
    return f"{money(kit.price, kit.currency)}{cost}  {' + '.join(kit.buy)}{beside}"


def _law_words(law: LawCount) -> str:
    """What the class says of the choices on the shelf; empty where there is nothing to say."""
    if law.problem is not None:
        return f"law: {law.problem}"
    parts = [
        f"{number} {word}"
        for number, word in (
            (law.within, "within its class"),
            (law.unclear, "perhaps over its class: measure the top speed"),
            (law.over, "over its class"),
        )
        if number
    ]
    return "; ".join(parts)


def _print_unjudged(out: Screen, demands: Demands) -> None:
    """Print who cannot be judged, and why, a line each."""
    if demands.unjudged:
        out.line()
        out.paragraph("Not judged", style="bold")
        for one in demands.unjudged:
            out.paragraph(f"{one.id}, {one.name}: {one.reason}", _INDENT, _INDENT * 2)
