"""The plan of an intake as rows: one row of the list a row, in the list's order."""

from __future__ import annotations

from collections.abc import Iterator

from fitcheck.answers.tables import Cell, Figure, csv_text, markdown_text
from fitcheck.answers.figures import money
from fitcheck.services.intake.outcomes import Plan, RowOutcome

__all__ = ["as_csv", "as_markdown", "told"]


def as_csv(plan: Plan) -> str:
    """The plan as CSV, lines ending in a line feed; gone entries stand last."""
    columns = [
        "sheet",
        "row",
        "outcome",
        "part_number",
        "set",
        "changes",
        "teeth_change",
        "price_change",
        "teeth",
        "models",
        "price",
        "cell",
        "reason",
    ]
    return csv_text(columns, _rows(plan))


def as_markdown(plan: Plan) -> str:
    """The plan as a Markdown table."""
    columns = [
        "sheet",
        "row",
        "outcome",
        "part number",
        "set",
        "changes",
        "teeth change",
        "price change",
        "teeth",
        "models",
        "price",
        "cell",
        "reason",
    ]
    return markdown_text(columns, _rows(plan))


def told(row: RowOutcome) -> str:
    """Why a row ends as it does, its notes included."""
    return "; ".join(part for part in (row.reason, *row.notes) if part)


def _rows(plan: Plan) -> Iterator[list[Cell]]:
    for row in plan.rows:
        pairs = row.fields.get("pairs", {})
        listed = row.fields.get("listed_for", {})
        price = row.fields.get("price")
        yield [
            row.sheet,
            Figure(row.row),
            row.outcome,
            row.part_number,
            row.set_id,
            "; ".join(map(str, row.changes)),
            "yes" if row.changes_teeth else "",
            "yes" if row.changes_price else "",
            ", ".join(f"{stage} {pair}" for stage, pair in pairs.items()),
            ", ".join(listed.get("models", ())),
            Figure("" if price is None else money(price)),
            row.cell,
            told(row),
        ]
    for gone in plan.gone:
        same = "" if gone.same_list else f"came from {gone.list_name}"
        yield [
            "",
            Figure(""),
            "gone" if gone.same_list else "in another list",
            gone.part_number,
            gone.set_id,
            "",
            "",
            "",
            "",
            "",
            Figure(""),
            "",
            same,
        ]
