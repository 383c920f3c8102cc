"""One-row lists: what a row says that nothing explains is asked, what the trade says is taken.

The rows are in explained_rows.txt; common practice of the trade, no source.
"""

from __future__ import annotations

from pathlib import Path

HEAD = "Art. no.;Text;Teeth;Stage;Models;Case;Price;Stock;Remarks;Info"
FIELDS = (
    "number",
    "name",
    "teeth",
    "stage",
    "models",
    "housing",
    "price",
    "stock",
    "remark",
    "unread",
)
PLAIN = {
    "number": "A-1",
    "name": "Gear set",
    "teeth": "15/44",
    "stage": "primary",
    "models": "Dunlin Ten",
    "price": "50",
}


def read_rows(kind):
    text = Path(__file__).with_name("explained_rows.txt").read_text(encoding="utf-8")
    part = text.split(f"\n## {kind}\n")[1].split("\n## ")[0]
    return [tuple(line.split(" | ", 1)) for line in part.splitlines() if " | " in line]


def take(shop, field, text):
    row = {**PLAIN, field: text}
    head = f"{text};;;;;;;;;\n" if field == "heading" else ""
    plan = shop.plan(f"{HEAD}\n{head}{';'.join(row.get(each, '') for each in FIELDS)}\n")
    return plan.rows[-1], plan


def test_measure(untouched):
    for kind in ("asked", "taken"):
        for field, text in read_rows(kind):
            row, plan = take(untouched, field, text)
            bad = (row.outcome == "review") != (kind == "asked")
            if bad:
                print(
                    kind,
                    field,
                    "|",
                    text,
                    "->",
                    row.outcome,
                    row.kind,
                    row.reason,
                    row.questions,
                    [str(q) for q in plan.notes][:1],
                )
