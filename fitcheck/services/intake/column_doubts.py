"""Columns that may as well be others: asked once, and no row of theirs is settled until then."""

from __future__ import annotations

from collections.abc import Mapping, MutableMapping, Sequence
from dataclasses import replace

from fitcheck.services.intake.asking import Asker
from fitcheck.services.intake.headings import Layout
from fitcheck.services.intake.outcomes import RowOutcome

__all__ = ["columns_asked", "unsettle"]


def columns_asked(layouts: Sequence[Layout], asker: Asker) -> dict[tuple[str, int], list[str]]:
    """Set the columns that are answered right, and ask for those that are not.

    Args:
        layouts: the tables; a column that is answered is changed in place.
        asker: where questions go.

    Returns:
        Sheet and row of every article of a table with a doubtful column, to its questions.
    """
    asked: dict[tuple[str, int], list[str]] = {}
    for layout in layouts:
        if not layout.found:
            continue
        for name, column in list(layout.columns.items()):
            if column.sureness != "weak" or not column.rivals:
                continue
            choices = [column.heading, *column.rivals]
            about = f"{name}: {' or '.join(map(repr, choices))}"
            where = layout.sheet.row_address(layout.header_rows[-1])
            given = asker.answer("column", about, where)
            numbers = {heading: number for number, heading in layout.others}
            if given == column.heading or given in numbers:
                number = column.column if given == column.heading else numbers[given]
                layout.columns[name] = replace(
                    column, column=number, heading=given, sureness="given", rivals=()
                )
                continue
            text = (
                f"Which column is {name}: {' or '.join(map(repr, choices))}? Until this is "
                "answered no row is settled."
            )
            key = asker.ask("column", about, text, where, choices)
            for row in layout.data_rows:
                asked.setdefault((layout.sheet.name, row), []).append(key)
    return asked


def unsettle(
    rows: MutableMapping[tuple[str, int], RowOutcome],
    asked: Mapping[tuple[str, int], list[str]],
    asker: Asker,
) -> None:
    """Send settled rows of tables with a doubtful column to review."""
    for place, keys in asked.items():
        row = rows[place]
        if row.outcome in ("new", "changed", "unchanged"):
            rows[place] = RowOutcome(
                row.sheet,
                row.row,
                row.address,
                "review",
                part_number=row.part_number,
                set_id=row.set_id,
                questions=tuple(keys),
                reason=asker.questions[keys[0]].text,
            )
        elif row.outcome == "review":
            rows[place] = replace(row, questions=(*keys, *row.questions))
