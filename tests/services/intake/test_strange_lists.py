"""Small lists as strangers write them, and what a careful counter hand makes of each row.

Nothing is taken wrongly, and what is plain is taken. Common practice, no source; all names are
invented.
"""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from fitcheck.catalogue.reader import Catalogue, load
from fitcheck.services.intake.outcomes import RowOutcome
from fitcheck.services.intake.plan import plan_list
from fitcheck.services.intake.reading import read_list

ROOT = Path(__file__).parents[3]
_SIGNS = {"{NBSP}": "\u00a0", "{NNBSP}": "\u202f", "{ZWSP}": "\u200b"}


def lists_of(path: Path) -> list[tuple[str, str, dict[int, str]]]:
    """Title, text and expected outcome by row of each list in a file."""
    found = []
    for block in path.read_text(encoding="utf-8").split("\n## ")[1:]:
        title, _, rest = block.partition("\n")
        text, _, expected = rest.rpartition("\n--\n")
        for name, sign in _SIGNS.items():
            text = text.replace(name, sign)
        rows = (line.split(": ", 1) for line in expected.split("\n") if line)
        found.append((title, f"{text}\n", {int(row): outcome for row, outcome in rows}))
    return found


LISTS = lists_of(Path(__file__).with_name("strange_lists.txt"))


def shown(row: RowOutcome) -> str:
    """An outcome as the file writes it."""
    if row.outcome not in ("new", "changed", "unchanged"):
        return {"review": "?", "unreadable": "unreadable", "ignored": row.kind}[row.outcome]
    fields = row.fields
    said = [f"{stage} {pair}" for stage, pair in fields.get("pairs", {}).items()]
    said += row.families
    if "price" in fields:
        other = "" if fields["currency"] == "EUR" else f" {fields['currency']}"
        said.append(f"{fields['price']}{other}")
    said += [f"fits {'+'.join(claim['housings'])}" for claim in fields.get("fits", [])]
    return ", ".join(said)


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Catalogue:
    root = tmp_path_factory.mktemp("shop")
    for folder in ("families", "suppliers"):
        (root / folder).mkdir()
    for path in (ROOT / "catalog" / "families").glob("*.yaml"):
        (root / "families" / path.name).write_bytes(path.read_bytes())
    supplier = "kind: supplier\nrecords:\n  saltwort: {name: Saltwort, currency: EUR}\n"
    (root / "suppliers" / "saltwort.yaml").write_text(supplier, encoding="utf-8")
    return load(root)


@pytest.mark.parametrize(("title", "text", "expected"), LISTS, ids=[title for title, _, _ in LISTS])
def test_strange_lists(title, text, expected, shop, tmp_path):
    path = tmp_path / "list.csv"
    path.write_bytes(text.encode("utf-8"))
    read = read_list(path)
    plan = plan_list(
        shop,
        read,
        shop.suppliers["saltwort"],
        date=dt.date(2026, 2, 3),
        consent="not consented" not in title,
    )
    plan.proof(read.row_count)
    assert {row.row: shown(row) for row in plan.rows if row.row in expected} == expected


def test_the_file_is_what_it_says():
    assert len(LISTS) >= 50
    assert sum(len(expected) for _, _, expected in LISTS) >= 400
