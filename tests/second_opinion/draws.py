"""Random machines: records for a catalogue, and what is said at the counter."""

from __future__ import annotations

import json
import math
import random
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path
from typing import Any

from tests.second_opinion.machine import Known, Machine, machine_of

OPTIONS = (
    "rev_limit", "shift_rpm", "engage_rpm", "efficiency", "mass", "rider", "drag_area", "rolling",
    "altitude", "temperature", "roll_out", "new_roll_out", "measured_top", "shown_top",
    "steady",
)  # fmt: skip
AIR = ("altitude", "temperature")


@dataclass(frozen=True)
class Case:
    """One machine, its family and tune, other gears, and what is said at the counter."""

    machine: dict[str, Any]
    family: dict[str, Any]
    tune: dict[str, Any]
    gear_set: dict[str, str]
    tyre: dict[str, Any] | None
    options: dict[str, Any]
    ceiling: float

    def write(self, folder: Path) -> None:
        """Write it as a catalogue."""
        kinds: dict[str, dict[str, Any]] = {
            "family": {"stint": self.family},
            "machine": {"one": self.machine},
            "tune": {"state": self.tune},
            "supplier": {"sea-kale": {"name": "Sea Kale"}},
            "gear-set": {
                "other": {
                    "supplier": "sea-kale",
                    "part_number": "1",
                    "pairs": self.gear_set,
                    "fits": [{"family": "stint", "housings": ["case"]}],
                    "source": {"list": "List", "date": "2026-01-01"},
                }
            },
            "tyre": {"fitted": self.tyre} if self.tyre else {},
            "vehicle-class": {
                "class": {
                    "name": "Class",
                    "place": "Marsh",
                    "max_speed_km_h": self.ceiling,
                    "source": "Rule",
                    "date": "2026-01-01",
                }
            },
        }
        for kind, records in kinds.items():
            # JSON is YAML; the reader wants the ids in block style.
            lines = "".join(f"  {id_}: {json.dumps(record)}\n" for id_, record in records.items())
            if lines:
                text = f"kind: {kind}\nrecords:\n{lines}"
                (folder / f"{kind}.yaml").write_text(text, encoding="utf-8")

    @property
    def arguments(self) -> list[str]:
        """Options of the command."""
        given = []
        for key, value in self.options.items():
            if key == "power":
                given += ["--power", f"{value[0]!r}@{value[1]!r}"]
            elif key == "ratios":
                given += ["--ratios", ":".join(map(repr, value))]
            else:
                assert key in OPTIONS
                given += [f"--{key.replace('_', '-')}", repr(value)]
        return given

    @property
    def roll_out(self) -> Known:
        """The roll-out now, mm, and how it is known."""
        if "roll_out" in self.options:
            return self.options["roll_out"], "counted"
        if self.tyre:
            return self.tyre["roll_out_mm"], self.tyre["basis"]
        return self.machine["roll_out_mm"], "counted"

    @property
    def gearings(self) -> tuple[float, float]:
        """Turns of the wheel a turn of the gearbox input, now and then, a new tyre counted in."""
        tyre = self.options.get("new_roll_out", self.roll_out[0]) / self.roll_out[0]
        then = reduction_of({**self.machine["pairs"], **self.gear_set})
        return float(1 / reduction_of(self.machine["pairs"])), tyre / float(then)

    @property
    def known(self) -> Machine:
        """The model's inputs."""
        return machine_of(self.machine, self.family, self.tune, self.roll_out, self.options)

    @property
    def before_law(self) -> Machine:
        """The same with a rider of exactly 75 kg in standard air."""
        said = {key: each for key, each in self.options.items() if key not in AIR}
        known = replace(self, options={**said, "rider": 75}).known
        return replace(known, inputs={**known.inputs, "rider": (75.0, "exact")})


def reduction_of(pairs: dict[str, str]) -> Fraction:
    total = Fraction(1)
    for pair in pairs.values():
        driver, driven = pair.split("/")
        total *= Fraction(int(driven), int(driver))
    return total


class Dice(random.Random):
    """Draws of a seed."""

    def chance(self, share: float = 0.5) -> bool:
        return self.random() < share

    def figure(self, low: float, high: float, places: int = 0) -> float:
        value = round(self.uniform(low, high), places)
        return int(value) if places == 0 else value

    def some(self, share: float, figures: dict[str, Any]) -> dict[str, Any]:
        """A few of them; drawn in any case."""
        return {key: value for key, value in figures.items() if self.chance(share)}


def draw(seed: int) -> Case:
    """A machine of any kind, with anything known of it in any way, that is not refused."""
    dice = Dice(seed)
    while True:
        case = draw_case(dice)
        known = case.known.values
        teeth = [int(part) for pair in case.machine["pairs"].values() for part in pair.split("/")]
        rising = known["engage_rpm"], known.get("shift_rpm", known["peak_rpm"]), known["rev_limit"]
        if sorted(rising) == list(rising) and max(teeth) < 150:
            return case


def draw_case(dice: Dice) -> Case:
    """A machine that may contradict itself."""
    peak = dice.figure(1.2, 9.0, 2), dice.figure(5500, 9000)
    fixed = dice.chance(0.25)
    family: dict[str, Any] = {
        "name": "Stint",
        "displacement_cm3": dice.choice([49, 60, 70, 110, 125, 160, 200]),
        "cycle": dice.choice(["two-stroke", "four-stroke"]),
        "housings": {"case": {"name": "case"}},
        "engine": draw_engine(dice, peak),
        **draw_drive(dice, peak[1], fixed),
        **dice.some(0.5, {"running_order_kg": dice.figure(60, 160)}),
    }
    machine: dict[str, Any] = {
        "name": "One",
        "family": "stint",
        "tune": "state",
        "vehicle_class": "class",
        "housing": "case",
        "masses": dice.some(
            0.5, {"running_order_kg": dice.figure(60, 160), "rider_kg": dice.figure(45, 130)}
        ),
        **dice.some(
            0.4,
            {
                "engine": draw_engine(dice, peak),
                "drag_area_m2": dice.figure(0.35, 0.7, 2),
                "rolling_coefficient": dice.figure(0.01, 0.025, 4),
            },
        ),
    }
    if dice.chance(0.3):
        machine |= draw_drive(dice, peak[1], fixed)
    options = dice.some(
        0.2,
        {
            "power": (dice.figure(1.2, 9.0, 2), dice.figure(5500, 9000)),
            "rev_limit": round(peak[1] * dice.uniform(1.02, 1.3)),
            "engage_rpm": round(peak[1] * dice.uniform(0.35, 0.6)),
            "efficiency": dice.figure(0.6, 0.9, 3),
            "mass": dice.figure(60, 160),
            "rider": dice.figure(45, 130),
            "drag_area": dice.figure(0.35, 0.7, 2),
            "rolling": dice.figure(0.01, 0.025, 4),
            "altitude": dice.figure(-200, 3000),
            "temperature": dice.figure(-10, 40),
            "steady": dice.figure(20, 40),
            "ratios": (dice.figure(1.5, 4.0, 2), dice.figure(0.7, 1.0, 2))[: 1 if fixed else 2],
        },
    )
    if dice.chance(0.2) and not fixed:
        options["shift_rpm"] = round(peak[1] * dice.uniform(0.8, 1.0))
    tyre = None
    roll_out = dice.figure(1150, 1750)
    way = dice.choice(["measured", "tyre", "said"])
    if way == "measured":
        machine["roll_out_mm"] = roll_out
    elif way == "said":
        options["roll_out"] = roll_out
    else:
        basis = dice.choice(["counted", "catalogue", "standard", "approximate", "estimate"])
        size = "100/80-10" if basis == "standard" else "3.50-10"
        tyre = {"size": size, "wheel_size_in": 10, "roll_out_mm": roll_out, "basis": basis}
        machine["tyre"] = "fitted"
    if way != "tyre":
        options |= dice.some(0.2, {"new_roll_out": round(roll_out * dice.uniform(0.93, 1.07))})
    tune = {
        "name": "state",
        "low": -90,
        "high": 400,
        **dice.some(
            0.4, {"power_factor": dice.figure(0.9, 2.0, 2), "rpm_factor": dice.figure(0.9, 1.3, 2)}
        ),
    }
    return geared(dice, Case(machine, family, tune, {}, tyre, options, 0.0))


def draw_engine(dice: Dice, peak: tuple[float, float]) -> dict[str, Any]:
    """An engine's record: points in power and torque, or its peak alone."""
    known: dict[str, Any] = {"peak_power_kw": peak[0], "peak_power_rpm": peak[1]}
    known |= dice.some(0.5, {"rev_limit_rpm": round(peak[1] * dice.uniform(1.02, 1.3))})
    if dice.chance():
        return known
    known["points"] = []
    places = [round(dice.uniform(0.35, 1.3), 3) for _ in range(dice.randint(2, 8))]
    for x in sorted({0.4, 1.0, *places}):
        rpm = round(x * peak[1])
        share = 1.0 if x == 1.0 else max(0.05, (x + x**2 - x**3) * dice.uniform(0.8, 0.99))
        power = {"power_kw": round(share * peak[0], 3)}
        torque = {"torque_nm": round(share * peak[0] * 30_000 / (math.pi * rpm), 3)}
        known["points"].append({"rpm": rpm, **(torque if x != 1.0 and dice.chance(0.3) else power)})
    return known


def draw_drive(dice: Dice, rpm: float, fixed: bool) -> dict[str, Any]:
    """A fixed ratio or a variator."""
    if fixed:
        return {"fixed_ratio": dice.figure(1.5, 4.0, 2)}
    return {
        "variator": {
            "low_ratio": dice.figure(2.2, 3.2, 2),
            "high_ratio": dice.figure(0.7, 1.0, 2),
            **dice.some(
                0.5,
                {
                    "shift_rpm": round(rpm * dice.uniform(0.8, 1.0)),
                    "engage_rpm": round(rpm * dice.uniform(0.35, 0.6)),
                    "efficiency": dice.figure(0.7, 0.92, 3),
                },
            ),
        }
    }


def geared(dice: Dice, case: Case) -> Case:
    """With gears about as tall as the engine pulls, and others up to 35 % taller."""
    one_stage = dice.chance(0.3)
    stages = ("single",) if one_stage else ("primary", "secondary")
    case.family["stages"] = {stage: {} for stage in stages}
    case.machine["pairs"] = dict.fromkeys(stages, "14/49")
    known = case.known.values
    pulled = 13.0 * known["peak_power"] ** (1 / 3) * dice.uniform(0.8, 1.35)
    ratio = known.get("high_ratio", known["low_ratio"])
    total = known["peak_rpm"] / 60 * known["roll_out"] / 1000 / ratio / pulled
    pinion = dice.randint(12, 18)
    if one_stage:
        pairs = {"single": f"{pinion}/{max(20, round(total * pinion))}"}
    else:
        second = total**0.55
        pairs = {
            "primary": f"{pinion}/{max(18, round(total / second * pinion))}",
            "secondary": f"13/{max(18, round(second * 13))}",
        }
    stage = stages[0]
    driver, driven = map(int, pairs[stage].split("/"))
    driven_then = max(15, round(driven / dice.uniform(0.85, 1.35)))
    return replace(
        case,
        machine={**case.machine, "pairs": pairs},
        gear_set={stage: f"{driver}/{driven_then}"},
        ceiling=round(pulled * dice.uniform(3.2, 4.0)),
    )
