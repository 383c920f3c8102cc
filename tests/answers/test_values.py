"""Values that every answer writes alike.

The judge is Python's decimals, which read the text back.
"""

from __future__ import annotations

from decimal import Decimal, localcontext

import pytest

from fitcheck.answers.figures import money
from fitcheck.answers.shapes import money_of
from fitcheck.answers.tables import MONEY, Column, Figure, Table

# Dinars have three decimals; sums of many amounts have more than Python keeps by default.
AMOUNTS = {
    "61.5": "61.50",
    "0": "0.00",
    "0.000": "0.00",
    "1E+3": "1000.00",
    "1.500": "1.50",
    "64.955": "64.955",
    "2.10": "2.10",
    "-3": "-3.00",
    "-1.250": "-1.25",
    f"1.{'1' * 40}": f"1.{'1' * 40}",
}


@pytest.mark.parametrize("amount", AMOUNTS)
def test_an_amount_is_written_alike_everywhere_with_two_decimals_or_all_it_has(amount: str) -> None:
    value = Decimal(amount)
    price = Column("price", "price", lambda row: row, MONEY)
    with localcontext() as context:
        context.prec = 3
        text = money(value)

        assert text == AMOUNTS[amount]
        assert Decimal(text) == value
        assert money_of(value) == {"amount": float(value), "exact": text}
        assert price.csv_cell(value) == price.markdown_cell(value) == text


def test_an_unknown_amount_is_an_empty_figure() -> None:
    assert isinstance(Column("price", "price", lambda row: row, MONEY).csv_cell(None), Figure)


def test_columns_left_out_leave_the_others_as_they_are() -> None:
    row = {"a": "1", "b": "2", "c": "3"}
    columns = [Column(name, name, lambda row, name=name: row[name]) for name in "abc"]
    table = Table([*columns, Column("plain", "", lambda row: row["a"])], [row])

    assert table.shown() == (["a", "b", "c"], [["1", "2", "3"]])
    assert table.shown(["b"]) == (["a", "c"], [["1", "3"]])
