"""One-row lists: what a row says that nothing explains is asked, what the trade says is taken.

The rows are in explained_rows.txt; common practice of the trade, no source.
"""

from __future__ import annotations

from pathlib import Path

from tests.conftest import table
from tests.services.price_lists.conftest import Shop

HEAD = "Art. no.;Text;Teeth;Stage;Models;Case;Price;Stock;Remarks;Info"
FIELDS = ("number", "name", "teeth", "stage", "models", "housing", "price", "stock", "remark")
FIELDS += ("unread",)
PLAIN = {
    "number": "A-1",
    "name": "Gear set",
    "teeth": "15/44",
    "stage": "primary",
    "models": "Dunlin Ten",
    "price": "50",
}
TEXT = Path(__file__).with_name("explained_rows.txt").read_text(encoding="utf-8")
ROWS = [
    (outcome, *line.split(" | ", 1))
    for outcome, title in (("review", "asked"), ("new", "taken"))
    for line in TEXT.split(f"\n## {title}\n")[1].split("\n## ")[0].splitlines()
    if " | " in line
]


@table(("outcome", "field", "text"), ROWS)
def test_a_row_is_taken_only_where_all_of_it_is_explained(
    untouched: Shop, outcome: str, field: str, text: str
) -> None:
    row = {**PLAIN, field: text}
    heading = f"{text}{';' * (len(FIELDS) - 1)}\n" if field == "heading" else ""
    plan = untouched.plan(f"{HEAD}\n{heading}{';'.join(row.get(each, '') for each in FIELDS)}\n")
    assert plan.rows[-1].outcome == outcome


def test_the_file_is_what_it_says() -> None:
    assert sum(outcome == "review" for outcome, *_ in ROWS) >= 130
    assert sum(outcome == "new" for outcome, *_ in ROWS) >= 50
