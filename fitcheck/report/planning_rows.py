"""The answers of `shelf gaps` and `shelf plan` as rows, for other programs and for people."""

from __future__ import annotations

from collections.abc import Iterator

from fitcheck.answers.figures import money
from fitcheck.answers.tables import Cell, Figure, csv_text, markdown_text
from fitcheck.report.planning_words import from_shelf, number_words
from fitcheck.services.planning.gaps import Gap, Gaps
from fitcheck.services.planning.plan import Plan
from fitcheck.services.planning.supply import Kit

__all__ = ["gaps_csv", "gaps_markdown", "plan_csv", "plan_markdown"]

_GAP_HEADS = {
    "family": "family",
    "machine": "machine",
    "name": "name",
    "tune": "tune",
    "visits": "visits",
    "state": "state",
    "in_band": "in band",
    "unproven": "unproven",
}
_LAW_HEADS = {"within": "within class", "unclear": "perhaps over", "over": "over class"}
_KIT_HEADS = {
    "buy": "buy",
    "with": "with, from shelf",
    "price": "price",
    "currency": "currency",
    "at_cost": "at last cost",
    "at_list": "at list price",
}

_PLAN_HEADS = {
    "supplier": "supplier",
    "set": "set",
    "part_number": "part number",
    "name": "name",
    "teeth": "teeth",
    "pieces": "pieces",
    "price": "price",
    "currency": "currency",
    "price_from": "price from",
    "serves": "serves",
}


def gaps_csv(found: Gaps, top: int | None) -> str:
    """A row for each way to close a gap, and one for a machine without any, as CSV."""
    return csv_text(list(_gap_heads(found)), _gap_rows(found, top))


def gaps_markdown(found: Gaps, top: int | None) -> str:
    """The same as a Markdown table."""
    return markdown_text(list(_gap_heads(found).values()), _gap_rows(found, top))


def plan_csv(found: Plan) -> str:
    """The shopping list as CSV, by supplier."""
    return csv_text(list(_PLAN_HEADS), _plan_rows(found))


def plan_markdown(found: Plan) -> str:
    """The shopping list as a Markdown table."""
    return markdown_text(list(_PLAN_HEADS.values()), _plan_rows(found))


def _gap_heads(found: Gaps) -> dict[str, str]:
    return {**_GAP_HEADS, **(_LAW_HEADS if found.lawful else {}), **_KIT_HEADS}


def _gap_rows(found: Gaps, top: int | None) -> Iterator[list[Cell]]:
    for family in found.families:
        for gap in family.machines:
            start = _start(gap)
            for kit in gap.closers[:top] or [None]:
                yield [*start, *_kit_cells(kit)]


def _start(gap: Gap) -> list[Cell]:
    supply = gap.supply
    subject = supply.demand.subject
    assert subject.tune is not None
    law = supply.law
    judged = [] if law is None else [Figure(n) for n in (law.within, law.unclear, law.over)]
    return [
        subject.family.id,
        supply.demand.id,
        subject.name,
        subject.tune.id,
        Figure(number_words(supply.demand.weight)),
        gap.state.value,
        Figure(supply.in_band),
        Figure(supply.unproven),
        *judged,
    ]


def _kit_cells(kit: Kit | None) -> list[Cell]:
    if kit is None:
        return ["", "", Figure(""), "", "", ""]
    price = Figure("" if kit.price is None else money(kit.price))
    return [
        "; ".join(kit.buy),
        "; ".join(from_shelf(kit)),
        price,
        kit.currency or "",
        "; ".join(kit.at_cost),
        "; ".join(kit.at_list),
    ]


def _plan_rows(found: Plan) -> Iterator[list[Cell]]:
    for one in found.bought:
        record = one.gear_set.record
        yield [
            record.supplier,
            one.gear_set.id,
            record.part_number,
            record.name or "",
            ", ".join(str(record.pairs[stage]) for stage in record.stages),
            Figure(1),
            Figure(money(one.price)),
            found.currency,
            one.source,
            "; ".join(demand.id for demand in one.serves),
        ]
