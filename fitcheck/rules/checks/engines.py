"""Engines and masses: figures that contradict each other, or are off by ten.

The limits are wide enough for every scooter that is sold, and so find a lost decimal mark, not a
doubtful figure. They are judgements; no standard sets them.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import pi

from fitcheck.catalogue.reader import Catalogue, Entry
from fitcheck.diagnostics.finding import DocumentPath, Finding, Related
from fitcheck.model.family import Family
from fitcheck.model.machine import Machine
from fitcheck.model.powertrain import TorquePoint
from fitcheck.rules.checks.place import at, beside

POINTS_OFF = 1.5
"""So many times over or under its points a peak power, or its engine speed, is a slip."""

KW_PER_LITRE = (8.0, 300.0)
"""Peak power over displacement: a governed moped has some 20 kW/l, a tuned two-stroke 200."""

OVER_CLASS = 1.5
"""So many times over the ceiling of its class the factory displacement is a slip."""

MOST_KG = 400
"""Mass in running order; that of the heaviest scooters is near 300 kg."""


def engine_figures(catalogue: Catalogue) -> Iterator[Finding]:
    """Peak power beside points and displacement, that beside the class, and a family's mass."""
    for entry in catalogue.families.values():
        yield from _beside_points(entry)
        yield from _beside_displacement(entry)
        yield from _beside_class(catalogue, entry)
        mass = entry.record.running_order_kg
        if mass is not None and mass > MOST_KG:
            yield _off(entry, ("running_order_kg",), f"a mass of {mass} kg is no scooter's")
    for machine in catalogue.machines.values():
        yield from _beside_points(machine)


def _beside_points(entry: Entry[Family] | Entry[Machine]) -> Iterator[Finding]:
    engine = entry.record.engine
    if engine.peak_power_kw is None or engine.peak_power_rpm is None or not engine.points:
        return
    best = max(map(_kilowatts, engine.points))
    first, last = engine.points[0].rpm, engine.points[-1].rpm
    there = beside(entry, "engine", "points", label="the points, which are used", key=True)
    if not 1 / POINTS_OFF <= float(engine.peak_power_kw) / best <= POINTS_OFF:
        what = f"a peak power of {engine.peak_power_kw} kW, but the best point has {best:.3g} kW"
        yield _off(entry, ("engine", "peak_power_kw"), what, there)
    rpm = float(engine.peak_power_rpm)
    if not float(first) / POINTS_OFF <= rpm <= float(last) * POINTS_OFF:
        what = (
            f"peak power at {engine.peak_power_rpm}/min, but the points go from {first} to {last}"
        )
        yield _off(entry, ("engine", "peak_power_rpm"), what, there)


def _beside_displacement(entry: Entry[Family]) -> Iterator[Finding]:
    power, displacement = entry.record.engine.peak_power_kw, entry.record.displacement_cm3
    if power is None or displacement is None:
        return
    least, most = KW_PER_LITRE
    if not least <= 1000 * float(power) / float(displacement) <= most:
        yield _off(
            entry,
            ("engine", "peak_power_kw"),
            f"{power} kW from {displacement} cm3 is the power of no scooter's engine",
            beside(entry, "displacement_cm3", label="the displacement"),
        )


def _beside_class(catalogue: Catalogue, entry: Entry[Family]) -> Iterator[Finding]:
    displacement, id_ = entry.record.displacement_cm3, entry.record.vehicle_class
    class_ = catalogue.vehicle_classes.get(id_) if id_ is not None else None
    ceiling = None if class_ is None else class_.record.max_displacement_cm3
    if class_ is None or ceiling is None or displacement is None:
        return
    if float(displacement) > OVER_CLASS * float(ceiling):
        yield _off(
            entry,
            ("displacement_cm3",),
            f"{displacement} cm3 from the factory, but its class, {class_.id}, ends at "
            f"{ceiling} cm3",
            beside(class_, "max_displacement_cm3", label="the ceiling of the class"),
        )


def _kilowatts(point: TorquePoint) -> float:
    if point.power_kw is not None:
        return float(point.power_kw)
    return float(point.torque_nm or 0) * float(point.rpm) * pi / 30_000


def _off(
    entry: Entry[Family] | Entry[Machine], steps: DocumentPath, what: str, *related: Related
) -> Finding:
    return at(
        entry,
        "FC287",
        steps,
        what,
        advice="is the decimal mark in its place, and the unit the one asked for?",
        related=related,
    )
