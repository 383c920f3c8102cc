"""What is known of a machine and how surely: docs/road-model.md, "Defaults and their spread".

Written a second time; nothing of fitcheck is used. Records are plain dicts as they stand in a
catalogue's files, options those of the command.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from tests.second_opinion.road import KM_H, Floats, G, air_of, default_shape, load_by_mass

Known = tuple[float, str]
# Half-widths as shares of the value: given, counted, catalogue, standard, estimate.
HALF = {
    "peak_power": {"given": 0.05, "counted": 0.04, "catalogue": 0.06, "estimate": 0.12},
    "peak_rpm": {"given": 0.02, "counted": 0.02, "catalogue": 0.03, "estimate": 0.05},
    "rev_limit": {"given": 0.01, "catalogue": 0.015, "estimate": 0.08},
    "shift_rpm": {"given": 0.02, "catalogue": 0.04, "estimate": 0.07},
    "engage_rpm": {"given": 0.03, "catalogue": 0.06, "estimate": 0.15},
    "low_ratio": {"given": 0.02, "catalogue": 0.03, "estimate": 0.08},
    "high_ratio": {"given": 0.01, "catalogue": 0.02, "estimate": 0.06},
    "efficiency": {"given": 0.03, "catalogue": 0.05, "estimate": 0.08},
    "running_order": {"given": 0.02, "catalogue": 0.03, "estimate": 0.12},
    "rider": {"exact": 0.0, "given": 0.03, "catalogue": 0.05, "standard": 0.13},
    "drag_area": {"given": 0.05, "catalogue": 0.08, "standard": 0.12},
    "rolling": {"given": 0.10, "catalogue": 0.15, "estimate": 0.30},
    "road_load": {"standard": 0.08},
    "rolling_share": {"estimate": 0.30},
    "engine_inertia": {"estimate": 0.5},
    "roll_out": {
        "counted": 0.01,
        "catalogue": 0.02,
        "standard": 0.04,
        "approximate": 0.05,
        "estimate": 0.05,
    },
}


SHIFT = {"shift_rpm": 0.93}
# Mass in running order, kg, by displacement, cm³.
BY_SIZE = ((60, 90), (110, 105), (160, 125), (math.inf, 150))


@dataclass(frozen=True)
class Machine:
    """Inputs with their kinds, the engine's shape, the air's density and the power it leaves."""

    inputs: dict[str, Known]
    shape: tuple[Floats, Floats]
    air: tuple[float, float]
    # Displacement, m³, and turns of the crankshaft a working cycle.
    swept: tuple[float, int]
    # Loaded mass, kg, of which the road load is known.
    loaded: float

    @property
    def values(self) -> dict[str, float]:
        return {key: value for key, (value, _) in self.inputs.items()}

    @property
    def halves(self) -> dict[str, float]:
        return {key: value * HALF[key][kind] for key, (value, kind) in self.inputs.items()}


def machine_of(
    machine: Mapping[str, Any],
    family: Mapping[str, Any],
    tune: Mapping[str, Any],
    roll_out: Known,
    options: Mapping[str, Any],
) -> Machine:
    """The model's inputs from records and from what is said at the counter."""
    known: dict[str, Known] = {"roll_out": roll_out}
    shape = engine_of(known, machine, family, tune, options)
    drive_of(known, machine, family, options)
    body_of(known, machine, family, options)
    air = air_of(options.get("altitude"), options.get("temperature"))
    turns = 1 if family.get("cycle") == "two-stroke" else 2
    loaded = known["running_order"][0] + known["rider"][0]
    return Machine(known, shape, air, (family.get("displacement_cm3", 0.0) * 1e-6, turns), loaded)


def engine_of(
    known: dict[str, Known],
    machine: Mapping[str, Any],
    family: Mapping[str, Any],
    tune: Mapping[str, Any],
    options: Mapping[str, Any],
) -> tuple[Floats, Floats]:
    own = machine.get("engine", {})
    factors = (1.0, 1.0)
    engine, filed = own, "catalogue"
    if not own:
        engine = family.get("engine", {})
        factors = (tune.get("power_factor", 1.0), tune.get("rpm_factor", 1.0))
        filed = "catalogue" if factors == (1.0, 1.0) else "estimate"
    if points := engine.get("points"):
        rpm = np.array([point["rpm"] for point in points], dtype=float) * factors[1]
        power = factors[0] * np.array(
            [
                point["power_kw"]
                if "power_kw" in point
                else point["torque_nm"] * point["rpm"] * 2 * math.pi / 60_000
                for point in points
            ]
        )
        kind = "counted" if own else filed
        peak = int(np.argmax(power))
        known["peak_power"] = float(power[peak]), kind
        known["peak_rpm"] = float(rpm[peak]), kind
        shape = rpm / rpm[peak], power / power[peak]
        last: float | None = float(rpm[-1])
    else:
        known["peak_power"] = engine.get("peak_power_kw", 0.0) * factors[0], filed
        known["peak_rpm"] = engine.get("peak_power_rpm", 0.0) * factors[1], filed
        shape = default_shape()
        last = None
    if "power" in options:
        if last is not None:
            last *= options["power"][1] / known["peak_rpm"][0]
        known["peak_power"] = options["power"][0], "given"
        known["peak_rpm"] = options["power"][1], "given"
    if "rev_limit" in options:
        known["rev_limit"] = options["rev_limit"], "given"
    elif "rev_limit_rpm" in engine:
        known["rev_limit"] = (
            engine["rev_limit_rpm"] * factors[1],
            "catalogue" if factors[1] == 1.0 else "estimate",
        )
    elif last is not None:
        known["rev_limit"] = last, "estimate"
    return shape


def drive_of(
    known: dict[str, Known],
    machine: Mapping[str, Any],
    family: Mapping[str, Any],
    options: Mapping[str, Any],
) -> None:
    own = machine if "variator" in machine or "fixed_ratio" in machine else family
    variator = own.get("variator", {})
    ratios = options.get("ratios")
    fixed = len(ratios) == 1 if ratios else "fixed_ratio" in own
    if ratios:
        known["low_ratio"] = ratios[0], "given"
    elif fixed:
        known["low_ratio"] = own["fixed_ratio"], "catalogue"
    else:
        known["low_ratio"] = (variator["low_ratio"], "catalogue") if variator else (2.6, "estimate")
    if not fixed:
        if ratios:
            known["high_ratio"] = ratios[1], "given"
        else:
            known["high_ratio"] = (
                (variator["high_ratio"], "catalogue") if variator else (0.85, "estimate")
            )
    for key in ("engage_rpm",) if fixed else ("engage_rpm", "shift_rpm"):
        if key in options:
            known[key] = options[key], "given"
        elif key in variator:
            known[key] = variator[key], "catalogue"
    fill_speeds(known, {"engage_rpm": 0.5, "rev_limit": 1.2, **({} if fixed else SHIFT)})
    mesh = 0.96 ** len(machine["pairs"])
    if "efficiency" in options:
        known["efficiency"] = options["efficiency"], "given"
    elif "efficiency" in variator and not fixed:
        known["efficiency"] = variator["efficiency"] * mesh, "catalogue"
    else:
        known["efficiency"] = (0.95 if fixed else 0.83) * mesh, "estimate"


def fill_speeds(known: dict[str, Known], shares: Mapping[str, float]) -> None:
    """Shares of the peak-power speed where nobody has said, between the speeds that are known."""
    peak = known["peak_rpm"][0]
    told = [(shares[key], known[key][0]) for key in shares if key in known]
    for key, share in shares.items():
        if key not in known:
            low = max((speed for other, speed in told if other < share), default=0.0)
            high = min((speed for other, speed in told if other > share), default=math.inf)
            known[key] = min(max(share * peak, low), high), "estimate"


def body_of(
    known: dict[str, Known],
    machine: Mapping[str, Any],
    family: Mapping[str, Any],
    options: Mapping[str, Any],
) -> None:
    masses = machine.get("masses", {})
    if "mass" in options:
        known["running_order"] = options["mass"], "given"
    elif "running_order_kg" in masses:
        known["running_order"] = masses["running_order_kg"], "catalogue"
    elif "running_order_kg" in family:
        known["running_order"] = family["running_order_kg"], "catalogue"
    else:
        size = family.get("displacement_cm3", 0.0)
        mass = next(kg for top, kg in BY_SIZE if size <= top)
        known["running_order"] = float(mass), "estimate"
    if "rider" in options:
        known["rider"] = options["rider"], "given"
    elif "rider_kg" in masses:
        known["rider"] = masses["rider_kg"], "catalogue"
    else:
        known["rider"] = 75.0, "standard"
    loaded = known["running_order"][0] + known["rider"][0]
    drag_area, rolling = load_by_mass(loaded)
    said = {
        key: (options[key], "given") if key in options else (machine[name], "catalogue")
        for key, name in (("drag_area", "drag_area_m2"), ("rolling", "rolling_coefficient"))
        if key in options or name in machine
    }
    if said:
        known.update({"drag_area": (drag_area, "standard"), "rolling": (rolling, "estimate")})
        known.update(said)
    else:
        level = rolling * loaded * G + 1.225 / 2 * drag_area * (65 / KM_H) ** 2
        known["road_load"] = level, "standard"
        known["rolling_share"] = rolling * loaded * G / level, "estimate"
    size = family.get("displacement_cm3", 50.0)
    known["engine_inertia"] = 0.00006 * size, "estimate"
