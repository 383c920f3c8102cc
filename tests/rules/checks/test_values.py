"""Values that cannot be meant: dates, bands in fractions, empty lists, engines off by ten."""

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


TUNES = "kind: tune\nrecords:\n"


@pytest.mark.parametrize(
    ("low", "high", "percent"),
    [("0.1", "0.15", "15"), ("0", "0.999", "99.9"), ("-0.5", "0.3", "30")],
)
def test_a_band_within_one_percent_is_told(marked, low, high, percent) -> None:
    found = marked(
        {"tunes/t.yaml": f"{TUNES}  dock: {{name: d, low: {low}, high: <FC285>{high}}}\n"}
    )
    assert [finding.suggestion for finding in found] == [percent]


@pytest.mark.parametrize(("low", "high"), [("0", "1"), ("0.5", "12"), ("-8", "0.5"), ("-8", "-2")])
def test_a_band_in_percent_is_not(marked, low, high) -> None:
    marked({"tunes/t.yaml": f"{TUNES}  dock: {{name: d, low: {low}, high: {high}}}\n"})


def test_every_list_that_decides_something(marked) -> None:
    found = marked(
        {
            "sets/more.yaml": HEAD
            + """\
  MA-1:
    part_number: "1"
    pairs: {primary: 15/43}
    fits: [{family: dunlin-50, housings: <FC217>[]}, {family: dunlin-50}]
    interfaces: {bearings: <FC217>[]}
    geometry: <FC217>{}
  MA-2:
    part_number: "2"
    pairs: {primary: 15/42}
    fits: <FC217>[]
    members: {primary: <FC217><FC257>[]}
""",
            "families/dunlin.yaml": BASE["families/dunlin.yaml"].replace("[ST-14]", "<FC217>[]"),
        }
    )
    assert any(f.message.startswith("housings holds nothing") for f in found)


def test_lists_of_which_an_empty_one_says_none(marked) -> None:
    marked(
        {
            "sets/more.yaml": HEAD
            + """\
  MA-1:
    part_number: "1"
    aliases: []
    also_needs: []
    measured: []
    listed_for: {models: []}
    pairs: {primary: 15/43}
"""
        }
    )


FAMILY, MACHINE = "families/dunlin.yaml", "machines/counter.yaml"


def family(engine: str) -> dict[str, str]:
    return {FAMILY: BASE[FAMILY].replace("    factory_trains:", f"{engine}    factory_trains:")}


@pytest.mark.parametrize(
    "engine",
    [
        "    engine: {peak_power_kw: <FC287>0.34, peak_power_rpm: 7250}\n",
        "    running_order_kg: <FC287>820\n",
        # 49.4 cm3: 8 kW/l are 0.395 kW, 300 kW/l are 14.8 kW, by hand.
        "    engine: {peak_power_kw: 0.4, peak_power_rpm: 7250}\n",
        "    running_order_kg: 400\n",
        "    engine: {peak_power_kw: 14.8, peak_power_rpm: 9000}\n",
        "    engine: {peak_power_kw: <FC287>14.9, peak_power_rpm: 9000}\n",
    ],
)
def test_power_and_mass_of_a_family(marked, engine: str) -> None:
    marked(family(engine))


# 3.3 kW at 7000/min is 3300 / (7000 pi / 30) = 4.502 Nm, by hand.
POINTS = "points: [{rpm: 5000, power_kw: 2}, {rpm: 7000, torque_nm: 4.502}]"


@pytest.mark.parametrize(
    "peak",
    [
        "peak_power_kw: 3.4, peak_power_rpm: 7250",
        "peak_power_kw: 4.9, peak_power_rpm: 10500",
        "peak_power_kw: <FC287>5, peak_power_rpm: 7000",
        "peak_power_kw: <FC287>2.1, peak_power_rpm: 7000",
        "peak_power_kw: 3.3, peak_power_rpm: <FC287>720",
        "peak_power_kw: 3.3, peak_power_rpm: <FC287>10600",
    ],
)
def test_peak_beside_points_of_a_machine(marked, peak: str) -> None:
    marked({MACHINE: f"{BASE[MACHINE]}    engine: {{{peak}, {POINTS}}}\n"})


@pytest.mark.parametrize(("written", "mark"), [("494", "<FC287>"), ("75.1", "<FC287>"), ("75", "")])
def test_a_displacement_beside_the_ceiling_of_the_class(marked, written: str, mark: str) -> None:
    # The class of the base example ends at 50 cm3, and half as much again is 75.
    text = BASE["families/dunlin.yaml"].replace("cm3: 49.4", f"cm3: {mark}{written}")
    marked({"families/dunlin.yaml": f"{text}    vehicle_class: l1e-b\n"})
