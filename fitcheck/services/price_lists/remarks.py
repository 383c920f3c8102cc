"""What the catalogue's checks would warn of once a plan is written, told on its rows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType
from typing import Any

from fitcheck.catalogue.reader import Catalogue, Entry
from fitcheck.catalogue.source import gc_paused
from fitcheck.kernel.teeth import Pair
from fitcheck.model.fields import Stage
from fitcheck.model.gear_set import GearSet, Listing, SetInterfaces, SetSource
from fitcheck.model.trade import Supplier
from fitcheck.rules.checks.prices import prices
from fitcheck.rules.checks.stages import set_trains
from fitcheck.services.price_lists.outcomes import RowOutcome

_LEAST, _MOST = 1.2, 8
"""Reductions of one pair outside these are rare in a gearbox (judgement)."""

_UNSAID = {"interfaces": SetInterfaces(), "source": SetSource(), "listed_for": Listing()}
"""Parts of a record that hold for all new ones alike: made once, not copied for each."""


def with_remarks(
    catalogue: Catalogue, supplier: Entry[Supplier], rows: Sequence[RowOutcome]
) -> list[RowOutcome]:
    """The rows, each new or changed one with what looks wrong of its pairs and its price.

    One whose entry would be an error cannot be taken as it is read.

    Args:
        catalogue: the catalogue as it is.
        supplier: whose list it is.
        rows: what becomes of the rows.
    """
    written = {row.set_id: row for row in rows if row.outcome in ("new", "changed")}
    entries = {
        set_id: entry
        for set_id, row in written.items()
        if (entry := _entry(catalogue, supplier, row)) is not None
    }
    if not entries:
        return list(rows)
    with gc_paused():
        later = replace(catalogue, gear_sets=MappingProxyType({**catalogue.gear_sets, **entries}))
        alone = replace(catalogue, gear_sets=MappingProxyType(entries))
        told: dict[str, list[str]] = {}
        errors: dict[str, str] = {}
        for finding in (*set_trains(alone), *prices(later)):
            row_of = written.get(finding.record or "")
            # A jump of the price is told already.
            jumped = row_of is not None and any("!! the price" in n for n in row_of.notes)
            if finding.code == "FC261" and jumped:
                continue
            if row_of is not None and finding.severity == "error":
                advice = f"; {finding.help}" if finding.help else ""
                errors.setdefault(row_of.set_id, f"{finding.message}{advice}")
                continue
            field = "price" if finding.code == "FC261" else "pairs"
            if row_of is not None and (field in row_of.fields or "fits" in row_of.fields):
                told.setdefault(row_of.set_id, []).append(f"!! {finding.message}")
    remarked = []
    for row in rows:
        remark = row
        if written.get(row.set_id) is row:
            more = [*_odd_pairs(row.fields.get("pairs", {})), *told.get(row.set_id, ())]
            if (error := errors.get(row.set_id)) is not None:
                remark = row.become("unreadable", error, cell=row.address, notes=row.notes)
            elif more:
                remark = replace(row, notes=(*row.notes, *more))
        remarked.append(remark)
    return remarked


def _entry(
    catalogue: Catalogue, supplier: Entry[Supplier], row: RowOutcome
) -> Entry[GearSet] | None:
    """The entry as it would be; None where the writing itself will say what is wrong."""
    before = catalogue.gear_sets.get(row.set_id)
    if before is not None:
        fields: dict[str, Any] = before.record.model_dump(exclude_unset=True)
    else:
        fields = {"supplier": supplier.id, "currency": supplier.record.currency, **_UNSAID}
    try:
        record = GearSet.model_validate({**fields, **_plain(row.fields)})
    except ValueError:
        return None
    if before is not None:
        return replace(before, record=record)
    return Entry("gear-set", row.set_id, record, supplier.source)


def _plain(fields: Mapping[str, Any]) -> dict[str, Any]:
    """Fields as a file has them: pairs as text."""
    plain = dict(fields)
    # Where an entry comes from is nothing that a check looks at.
    plain.pop("source", None)
    if "pairs" in plain:
        plain["pairs"] = {stage: str(pair) for stage, pair in plain["pairs"].items()}
    return plain


def _odd_pairs(pairs: Mapping[Stage, Pair]) -> list[str]:
    return [
        f"!! {pair} reduces {pair.driven / pair.driver:.1f} times, which is rare; count again"
        for pair in pairs.values()
        if not _LEAST <= pair.driven / pair.driver <= _MOST
    ]
