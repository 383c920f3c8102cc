"""The answer of `intake` as JSON; schemas/intake.output.schema.json describes it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from fitcheck.catalogue.reader import Catalogue
from fitcheck.answers.figures import money
from fitcheck.report.json_parts import Data, header
from fitcheck.services.intake.outcomes import Plan, Question, RowOutcome
from fitcheck.services.intake.reading import SupplierList

__all__ = ["intake_data"]


def intake_data(
    catalogue: Catalogue,
    supplier_list: SupplierList,
    plan: Plan,
    *,
    written: Sequence[str] | None,
    diff: str | None,
) -> Data:
    """One answer of `intake` as plain data for `json.dumps`.

    Args:
        catalogue: what the list was held against.
        supplier_list: the list as it was read.
        plan: what becomes of it.
        written: files that were written; None where nothing was to be.
        diff: what writing changes, where that was asked.
    """
    plan.proof(supplier_list.row_count)
    return {
        **header("intake", catalogue),
        "list": {
            "path": plan.path,
            "kind": supplier_list.kind,
            "name": plan.list_name,
            "date": plan.date.isoformat(),
            "supplier": plan.supplier,
            "notes": [
                {"topic": note.topic, "text": note.text, "sure": note.sure} for note in plan.notes
            ],
        },
        "columns": _columns(plan),
        "mapping": None if plan.mapping is None else _mapping(plan),
        "counts": {"rows": supplier_list.row_count, **plan.counts, "gone": _gone_count(plan)},
        "rows": [_row(row) for row in plan.rows],
        "gone": [
            {
                "set": gone.set_id,
                "part_number": gone.part_number,
                "list": gone.list_name,
                "same_list": gone.same_list,
            }
            for gone in plan.gone
        ],
        "questions": [_question(question) for question in plan.questions.values()],
        "unused_answers": list(plan.unused),
        "written": None if written is None else list(written),
        "diff": diff,
    }


def _gone_count(plan: Plan) -> int:
    return sum(gone.same_list for gone in plan.gone)


def _columns(plan: Plan) -> list[Data]:
    return [
        {
            "sheet": layout.sheet.name or None,
            "header_rows": list(layout.header_rows),
            "field": column.field,
            "heading": column.heading,
            "sureness": column.sureness,
            "reason": column.reason,
        }
        for layout in plan.layouts
        if layout.found
        for column in layout.columns.values()
    ]


def _mapping(plan: Plan) -> Data:
    assert plan.mapping is not None
    return {
        "proposed": plan.proposed,
        "columns": dict(plan.mapping.columns),
        "decimal_mark": plan.mapping.decimal_mark,
    }


def _row(row: RowOutcome) -> Data:
    return {
        "sheet": row.sheet or None,
        "row": row.row,
        "address": row.address,
        "outcome": row.outcome,
        "part_number": row.part_number or None,
        "set": row.set_id or None,
        "fields": _fields(row.fields),
        "changes": [
            {
                "field": change.field,
                "old": change.old or None,
                "new": change.new,
                "loud": change.loud,
            }
            for change in row.changes
        ],
        "reason": row.reason or None,
        "cell": row.cell or None,
        "kind": row.kind or None,
        "same_as": row.same_as or None,
        "questions": list(row.questions),
        "notes": list(row.notes),
    }


def _fields(fields: Mapping[str, Any]) -> Data:
    """What is written of an entry, its figures as text that loses nothing."""
    shown = {name: value for name, value in fields.items() if name != "part_number"}
    pairs = shown.get("pairs") or {}
    listed = shown.get("listed_for") or {}
    price = shown.get("price")
    return {
        "name": shown.get("name"),
        "pairs": {stage: str(pair) for stage, pair in pairs.items()},
        "fits": [
            {"family": claim["family"], "housings": list(claim.get("housings", ()))}
            for claim in shown.get("fits", ())
        ],
        "models": list(listed.get("models", ())),
        "wheel_size_in": listed.get("wheel_size_in"),
        "price": None if price is None else money(price),
        "currency": shown.get("currency"),
        "availability": shown.get("availability"),
    }


def _question(question: Question) -> Data:
    return {
        "key": question.key,
        "asks": question.asks,
        "about": question.about,
        "text": question.text,
        "choices": list(question.choices),
        "where": list(question.where),
        "rows": question.count,
    }
