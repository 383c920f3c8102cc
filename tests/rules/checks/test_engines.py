"""Figures of engines that contradict each other or are off by ten."""

from __future__ import annotations

import pytest

from fitcheck.diagnostics.examples import BASE

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
