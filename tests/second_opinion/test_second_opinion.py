"""fitcheck's answers beside those of a second matcher, on random worlds, row by row.

The second matcher is written from docs/matching.md and imports nothing of fitcheck. The bench
`python -m tests.bench.second_opinion` compares 200,000 rows, and tells which branches they met.
"""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest

from tests.conftest import EXPLORE
from tests.second_opinion import comparison
from tests.second_opinion.comparison import Tally, compare_worlds
from tests.second_opinion.reading import Records, read_catalogue

WORLDS = range(5) if EXPLORE else range(1, 3)


def test_both_matchers_give_the_same_rows() -> None:
    tally = Tally()
    compare_worlds(WORLDS, tally)
    assert tally.rows >= 500
    assert not tally.differences, "\n".join(map(str, tally.differences[:5]))


def test_a_slip_in_one_of_them_shows(monkeypatch: pytest.MonkeyPatch) -> None:
    def read_with_slips(folder: Path) -> Records:
        records = read_catalogue(folder)
        for number, record in enumerate(records["gear-set"].values()):
            if "price" in record:
                record["price"] = str(Decimal(record["price"]) + number % 2)
            record.pop("fits" if number % 3 else "geometry", None)
        return records

    monkeypatch.setattr(comparison, "read_catalogue", read_with_slips)
    tally = Tally()
    compare_worlds(range(1), tally)
    kinds = " ".join(tally.kinds)
    assert all(word in kinds for word in ("price", "counts.fits", "why: ", "reasons: "))
