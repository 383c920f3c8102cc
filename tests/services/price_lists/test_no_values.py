"""Cells with a formula and no stored value, as programs write them that do not calculate."""

from __future__ import annotations

from pathlib import Path

from openpyxl import Workbook

from tests.services.price_lists.conftest import Shop


def book(shop: Shop, *rows: list[object]) -> Path:
    made = Workbook()
    for row in (["Art. no.", "Text", "Teeth", "Stage", "Price"], *rows):
        made.active.append(row)
    path = shop.root.parent / "list.xlsx"
    made.save(path)
    return path


def test_a_row_with_a_formula_without_value_is_unreadable_at_its_cell(shop: Shop) -> None:
    """A price so lost was left out in silence; openpyxl stores no values of formulas."""
    plan = shop.plan(
        book(
            shop,
            ["A-1", "pair", "15/44", "primary", "=2*25"],
            ['="A-"&2', "pair", "15/44", "primary", 50],
            ["A-3", "pair", "=C2", "primary", 50],
            ["A-4", "pair", "15/44", "primary", 50],
            ["Z-1", "Oil seal", None, None, "=2*3"],
        )
    )
    assert [(row.outcome, row.cell) for row in plan.rows[1:]] == [
        ("unreadable", "Sheet!E2"),
        ("unreadable", "Sheet!A3"),
        ("unreadable", "Sheet!C4"),
        ("new", ""),
        ("ignored", ""),
    ]
    assert all(
        row.reason.startswith("a formula without a stored value") for row in plan.of("unreadable")
    )


def test_a_row_of_nothing_but_such_formulas_is_not_blank(shop: Shop) -> None:
    plan = shop.plan(
        book(
            shop,
            ["A-1", "pair", "15/44", "primary", 50],
            ['="A-"&2', "=B2", "=C2", "=D2", "=E2"],
            ["A-3", "pair", "15/44", "primary", 50],
            ['="A-"&4', "=B2", "=C2", "=D2", "=E2"],
        )
    )
    assert [row.outcome for row in plan.rows[1:]] == ["new", "unreadable", "new", "unreadable"]
