"""The road model run as in the maximum-speed test of a vehicle class."""

from __future__ import annotations

from dataclasses import replace

from fitcheck.catalogue.reader import Entry
from fitcheck.kernel.road.load import air_density
from fitcheck.model.trade import VehicleClass
from fitcheck.services.road.defaults import LEGAL_RIDER_KG
from fitcheck.services.road.figures import ClassAnswer
from fitcheck.services.road.inputs import Inputs
from fitcheck.services.road.lawful import Standing, class_answer
from fitcheck.services.road.loads import load_by_mass
from fitcheck.services.road.sweep import Gearings, Ranged, sweep


def legal_sweep(inputs: Inputs, gearings: Gearings) -> Ranged:
    """Top speeds of all gearings on the flat with the rider of the test, in standard air.

    What is known by the loaded mass alone goes by the mass of the test too; the weather and the
    rider of the day are no part of a class.
    """
    order, rider = inputs.values["running_order"], inputs.values["rider"]
    masses = order + rider, order + LEGAL_RIDER_KG
    today, tested = map(load_by_mass, masses)
    loaded = inputs.loaded_kg * masses[1] / masses[0]
    return sweep(
        replace(inputs, air_density=air_density(), power_share=1.0, loaded_kg=loaded),
        gearings,
        times=False,
        instead={"rider": LEGAL_RIDER_KG},
        scaled={key: tested[key] / today[key] for key in inputs.by_mass},
        brief=True,
    )


def lawful_answer(
    vehicle_class: Entry[VehicleClass],
    inputs: Inputs,
    tops: Ranged | None,
    index: int,
    reduction: float,
) -> ClassAnswer:
    """The class's answer to one gearing of a legal sweep.

    Args:
        vehicle_class: the class.
        inputs: the machine.
        tops: a legal sweep; None where the class has no ceiling.
        index: which gearing of it.
        reduction: its overall reduction.
    """
    values = inputs.values
    high = values.get("high_ratio", values["low_ratio"])
    return class_answer(
        vehicle_class,
        None if tops is None else tops.figure("flat", index),
        reduction * high,
        Standing(inputs.displacement_cm3, 1000 * values["peak_power"], values["running_order"]),
        measured=inputs.is_calibrated,
    )
