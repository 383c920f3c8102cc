"""What is said at the counter that stands before the files: the inputs of the road model."""

from __future__ import annotations

from dataclasses import dataclass

from fitcheck.catalogue.reader import Entry
from fitcheck.model.trade import VehicleClass


@dataclass(frozen=True, slots=True)
class RoadAsked:
    """Inputs given by hand; None where the files or the documented defaults are to be used.

    Attributes:
        measured_top_km_h: top speed with the present gearing, by GPS, on the flat in still air.
        shown_top_km_h: the same as the speedometer shows it.
        power: peak power in kW and its engine speed in 1/min, of the engine as it stands.
        rev_limit_rpm: highest engine speed, 1/min.
        shift_rpm: engine speed held while the variator shifts, 1/min.
        engage_rpm: engine speed at which the clutch grips, 1/min.
        ratios: starting and top ratio of the variator; the same twice for a fixed ratio.
        efficiency: of the whole driveline, crankshaft to wheel, over 0 to 1.
        mass_kg: machine in running order, without rider.
        rider_kg: rider and load.
        drag_area_m2: drag coefficient times frontal area.
        rolling_coefficient: rolling resistance over weight, both wheels.
        altitude_m: height above sea level.
        temperature_c: air temperature.
        vehicle_class: class to judge by, instead of the machine's own.
        steady_km_h: steady speed at which fuel use is compared.
        extra_speeds_km_h: further speeds at which to tell the engine rpm.
    """

    measured_top_km_h: float | None = None
    shown_top_km_h: float | None = None
    power: tuple[float, float] | None = None
    rev_limit_rpm: float | None = None
    shift_rpm: float | None = None
    engage_rpm: float | None = None
    ratios: tuple[float, float] | None = None
    efficiency: float | None = None
    mass_kg: float | None = None
    rider_kg: float | None = None
    drag_area_m2: float | None = None
    rolling_coefficient: float | None = None
    altitude_m: float = 0.0
    temperature_c: float | None = None
    vehicle_class: Entry[VehicleClass] | None = None
    steady_km_h: float | None = None
    extra_speeds_km_h: tuple[float, ...] = ()

    @property
    def measures_top(self) -> bool:
        """Whether a top speed with the present gearing is given."""
        return self.measured_top_km_h is not None or self.shown_top_km_h is not None
