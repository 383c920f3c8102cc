"""Values that cannot be meant: bands in fractions, strange dates, empty lists, engines off by ten.

The limits are wide enough for every scooter that is sold, and so find a lost decimal mark, not a
doubtful figure. They are judgements; no standard sets them.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterator
from functools import cache
from math import pi
from typing import Any

from fitcheck.catalogue.reader import Catalogue, Entry
from fitcheck.diagnostics.finding import DocumentPath, Finding, Related
from fitcheck.model.family import Family
from fitcheck.model.fields import Record
from fitcheck.model.gear_set import GearSet
from fitcheck.model.machine import Machine
from fitcheck.model.powertrain import TorquePoint
from fitcheck.model.trade import VariatorKit
from fitcheck.rules.checks.walks import at, beside


def bands_in_percent(catalogue: Catalogue) -> Iterator[Finding]:
    """A band that ends within one percent either way of now was meant as a fraction."""
    for entry in catalogue.tunes.values():
        high = entry.record.high
        if 0 < high < 1 and abs(entry.record.low) < 1:
            percent = f"{(high * 100).normalize():f}"
            yield at(
                entry,
                "FC285",
                ("high",),
                f"the band of {entry.id} ends at {high} percent",
                advice=f"write percent: {percent}, if {high} was meant as a fraction",
                suggestion=percent,
            )


_EARLIEST = dt.date(2026, 12, 1)
"""A clock before this day is wrong, since the check was written then."""

_LONG_PAST = dt.date(1950, 1, 1)
"""Nothing in a catalogue of small scooters is older than this day (judgement)."""


def today() -> dt.date:
    """The last day that is today anywhere, by a clock that was not set back."""
    clock = dt.datetime.now(dt.UTC) + dt.timedelta(hours=14)
    return max(clock.date(), _EARLIEST)


def strange_dates(catalogue: Catalogue) -> Iterator[Finding]:
    """The date of the source of a set or a variator kit, and of a vehicle class."""
    now = today()
    sold: list[Entry[GearSet] | Entry[VariatorKit]] = [*catalogue.gear_sets.values()]
    sold.extend(catalogue.variators.values())
    for entry in sold:
        if entry.record.source.date is not None:
            yield from _strange(entry, ("source", "date"), entry.record.source.date, now)
    for class_ in catalogue.vehicle_classes.values():
        yield from _strange(class_, ("date",), class_.record.date, now)


def _strange(
    entry: Entry[Any], steps: DocumentPath, date: dt.date, now: dt.date
) -> Iterator[Finding]:
    doubt = doubt_date(date, now)
    if doubt is not None:
        code, words, advice = doubt
        yield at(entry, code, steps, words, advice=advice)


def doubt_date(date: dt.date, now: dt.date) -> tuple[str, str, str] | None:
    """Code, fault and advice of a date of a source that cannot be meant; None of another."""
    if date > now:
        advice = "correct it; no fault where a list is dated by the day it comes into force"
        return "FC286", f"{date} has not come yet", advice
    if date < _LONG_PAST:
        words = f"{date} is long before anything in a catalogue of scooters"
        return "FC218", words, "correct the year"
    return None


_PLAIN = frozenset({"aliases", "also_needs", "measured", "models"})
"""Lists of which an empty one says plainly that there is none, and decides nothing."""


def empty_lists(catalogue: Catalogue) -> Iterator[Finding]:
    """Every list and mapping of a set, family, machine or kit that is written and empty."""
    for kind in ("family", "gear-set", "machine", "variator"):
        for entry in catalogue.entries(kind).values():
            for steps in _empty(entry.record, ()):
                yield _nothing(entry, steps)


@cache
def _holders(model: type[Record]) -> tuple[str, ...]:
    """The fields of a kind of record that hold lists, mappings or further records."""
    names = []
    for name, field in model.model_fields.items():
        written = str(field.annotation)
        plain = isinstance(field.annotation, type) and issubclass(field.annotation, Record)
        if name not in _PLAIN and (plain or re.search(r"\b(list|dict|fitcheck)\b", written)):
            names.append(name)
    return tuple(names)


def _empty(value: Any, steps: DocumentPath) -> Iterator[DocumentPath]:
    if isinstance(value, Record):
        for name in _holders(type(value)):
            # What is left out has its default and says nothing.
            if name in value.model_fields_set:
                yield from _empty(getattr(value, name), (*steps, name))
    elif isinstance(value, (dict, list)):
        if not value:
            yield steps
        inner = value.items() if isinstance(value, dict) else enumerate(value)
        for step, each in inner:
            yield from _empty(each, (*steps, step))


def _nothing(entry: Entry[Any], steps: DocumentPath) -> Finding:
    return at(
        entry,
        "FC217",
        steps,
        f"{steps[-1]} holds nothing, so one cannot tell whether there is none or nobody knows",
        advice="fill it in, or leave it out: what is not known is left out",
    )


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
