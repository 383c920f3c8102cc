"""Random lists: rows add up, writing then reading gives the same, and nothing else changes.

PyYAML is the second reader of what was written.
"""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from fitcheck.services.price_lists.outcomes import OUTCOMES
from tests.services.price_lists.conftest import HEAD, ROOT, SUPPLIER, Shop

NUMBERS = st.sampled_from(["A-1", "A-2", "a-1", "0012", "12", "12E3", "Ä/7", "x" * 70, ""])
TEETH = st.one_of(
    st.tuples(st.integers(10, 20), st.integers(30, 60)).map(lambda z: f"{z[0]}/{z[1]}"),
    st.sampled_from(["", "15/15", "abc", "15/44 + 14/53", "15/44 or 15/45", "12-45", "1,5"]),
)
STAGES = st.sampled_from(["primary", "secondary", "sek.", "final", "", "7", "complete set"])
MODELS = st.sampled_from(
    ["Dunlin Ten", "Dunlin Ten, Dunlin Tour", "Dunlin 50", "Dunlinn Ten", "Snipe", "Dunlin 70", "",
     "Dunlin Ten + Sanderling Dash", "=cmd|calc", "Whimbrel Moor"]
)  # fmt: skip
WHEELS = st.sampled_from(["", "10", '12"', "10/12", "big"])
CASES = st.sampled_from(["", "short", "kurz", "XL"])
PRICES = st.one_of(
    st.decimals(1, 999, places=2).map(str),
    st.sampled_from(["", "1.234", "on request", "12,50 €", "free", "50 USD"]),
)
STOCK = st.sampled_from(["", "yes", "no", "5", "2 weeks", "perhaps"])
NAMES = st.sampled_from(
    ["", "Primary pair", "Pair Z=15/44", "Shaft seal", "Serie completa", "Total"]
)
ROW = st.tuples(NUMBERS, NAMES, TEETH, STAGES, MODELS, WHEELS, CASES, PRICES, STOCK)
LINES = st.lists(
    st.one_of(
        ROW.map(lambda cells: ";".join(cell.replace('"', "''") for cell in cells)),
        st.sampled_from(["", ";;;;;;;;", "Dunlin 50;;;;;;;;", HEAD.strip(), "Total;;;;;;;9;"]),
    ),
    min_size=1,
    max_size=14,
)


@contextmanager
def a_shop() -> Iterator[Shop]:
    with TemporaryDirectory() as folder:
        root = Path(folder) / "shop"
        root.mkdir()
        shutil.copytree(ROOT / "catalog" / "families", root / "families")
        (root / "suppliers.yaml").write_text(SUPPLIER, encoding="utf-8")
        yield Shop(root)


def entries(shop: Shop) -> dict[str, Any]:
    """All gear sets as PyYAML reads them, the file's defaults filled in."""
    found: dict[str, Any] = {}
    for path in sorted((shop.root / "sets").glob("*.yaml")):
        data = yaml.safe_load(path.read_text("utf-8"))
        found |= {id_: {**data["defaults"], **each} for id_, each in data["records"].items()}
    return found


@settings(max_examples=2 * settings().max_examples, deadline=None)
@given(LINES)
def test_every_row_has_one_outcome(lines: list[str]) -> None:
    with a_shop() as shop:
        text = HEAD + "\n".join(lines) + "\n"
        plan = shop.plan(text)  # adds up, or fails
        assert sum(plan.counts.values()) == shop.read(text).row_count
        assert {row.outcome for row in plan.rows} <= set(OUTCOMES)
        for row in plan.rows:
            assert bool(row.questions) == (row.outcome == "review")
            assert bool(row.cell) == (row.outcome == "unreadable")
            assert bool(row.kind) == (row.outcome == "ignored")
            assert bool(row.changes) == (row.outcome == "changed")
            assert set(row.questions) <= set(plan.questions)
        assert plan.open == (bool(plan.questions) or plan.counts["unreadable"] > 0)


@settings(max_examples=settings().max_examples, deadline=None)
@given(LINES)
def test_writing_then_reading_gives_the_same(lines: list[str]) -> None:
    with a_shop() as shop:
        text = HEAD + "\n".join(lines) + "\n"
        first = shop.plan(text)
        shop.write(first)
        assert not shop.catalogue.findings
        new = {row.set_id: row for row in first.of("new")}
        assert set(shop.catalogue.gear_sets) == set(new)
        if new:
            others = entries(shop)
            for id_, row in new.items():
                assert others[id_]["part_number"] == row.part_number
                assert others[id_]["source"]["row"] == row.row
                stages = {stage: str(pair) for stage, pair in row.fields["pairs"].items()}
                assert others[id_]["pairs"] == stages
        before = shop.files()
        again = shop.plan(text)
        assert again.counts["new"] == again.counts["changed"] == 0
        assert {row.set_id for row in again.of("unchanged")} == set(new)
        assert again.questions == first.questions
        assert shop.write(again) == []
        assert shop.files() == before


@settings(max_examples=settings().max_examples, deadline=None)
@given(LINES, LINES)
def test_nothing_but_the_meant_records_changes(first: list[str], second: list[str]) -> None:
    with a_shop() as shop:
        shop.write(shop.plan(HEAD + "\n".join(first) + "\n"))
        old = entries(shop) if (shop.root / "sets").exists() else {}
        plan = shop.plan(HEAD + "\n".join(second) + "\n")
        meant = {row.set_id: row for row in plan.rows if row.outcome in ("new", "changed")}
        shop.write(plan)
        new = entries(shop) if (shop.root / "sets").exists() else {}
        assert set(new) == set(old) | set(meant)
        for id_, data in new.items():
            if id_ not in meant:
                assert data == old[id_]
            elif id_ in old:
                fields = {key for key in {*data, *old[id_]} if data.get(key) != old[id_].get(key)}
                assert fields <= {*meant[id_].fields}
        assert {gone.set_id for gone in plan.gone} <= set(old)
