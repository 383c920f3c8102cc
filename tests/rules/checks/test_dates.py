"""Dates in the future or long past, of sets, kits and vehicle classes."""

from __future__ import annotations

import datetime as dt

import pytest

from fitcheck.diagnostics.examples import BASE
from fitcheck.rules.checks import values

HEAD = "kind: gear-set\ndefaults: {supplier: marram}\nrecords:\n"


@pytest.fixture(autouse=True)
def clock(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(values, "today", lambda: dt.date(2027, 3, 1))


def test_dates_that_have_not_come(marked) -> None:
    found = marked(
        {
            "sets/more.yaml": HEAD
            + """\
  MA-1: {part_number: "1", pairs: {primary: 15/43}, source: {date: <FC286>2027-03-02}}
  MA-2: {part_number: "2", pairs: {primary: 15/42}, source: {date: 2027-03-01}}
""",
            "variators.yaml": BASE["variators.yaml"] + "    source: {date: <FC286>2027-12-01}\n",
            "classes.yaml": BASE["classes.yaml"].replace("2026-11-25", "<FC286>2062-11-25"),
        }
    )
    assert found[0].message == "2062-11-25 has not come yet"


def test_dates_long_before_any_scooter_list(marked) -> None:
    marked(
        {
            "sets/more.yaml": HEAD
            + """\
  MA-1: {part_number: "1", pairs: {primary: 15/43}, source: {date: <FC218>1949-12-31}}
  MA-2: {part_number: "2", pairs: {primary: 15/42}, source: {date: 1950-01-01}}
"""
        }
    )


def test_a_date_for_a_whole_file_is_told_once(marked) -> None:
    text = BASE["sets/marram.yaml"].replace("date: 2026-03-01", "date: <FC286>2062-03-01")
    marked({"sets/marram.yaml": text})


def test_a_clock_that_was_set_back_puts_nothing_in_the_future(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.undo()

    class Clock(dt.datetime):
        @classmethod
        def now(cls, tz: dt.tzinfo | None = None) -> dt.datetime:
            return cls(1999, 1, 1, tzinfo=tz)

    monkeypatch.setattr(values.dt, "datetime", Clock)
    assert values.today() == dt.date(2026, 12, 1)
