"""The engine as it stands: points, peak power or factory figures, scaled to its state of tune."""

from __future__ import annotations

import math
from dataclasses import dataclass

from fitcheck.kernel.road.engine import PowerCurve, default_curve
from fitcheck.model.powertrain import Engine
from fitcheck.model.trade import Tune
from fitcheck.services.counter.audience import ShopWords, around, on_record, with_hint
from fitcheck.services.counter.subject import Subject
from fitcheck.services.road.defaults import SAID, Known, find_input, make_input
from fitcheck.services.road.figures import Given, RoadAsked


@dataclass(frozen=True, slots=True)
class KnownEngine:
    """The engine's curve and what is known of it; no rev limit where nothing tells it."""

    curve: PowerCurve
    givens: tuple[Given, ...]
    rev_limit: Given | None
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _OnFile:
    """An engine on file: its figures, where they stand and what tune they are of."""

    engine: Engine
    place: str
    of_machine: bool

    @property
    def is_known(self) -> bool:
        return bool(self.engine.points) or self.engine.peak_power_kw is not None


def engine_of(subject: Subject, asked: RoadAsked) -> KnownEngine:
    """The engine's full-throttle curve, its peak and its rev limit as far as that is known.

    Args:
        subject: a machine of which `missing_power` says nothing.
        asked: what is known better at the counter.
    """
    on_file = _on_file(subject)
    notes: list[str] = []
    power, factor_rpm = (1.0, 1.0) if on_file is None else _tune_factors(subject, on_file)
    if asked.power is not None:
        curve, known = _as_asked(asked.power, on_file), SAID
    else:
        assert on_file is not None
        curve, known = _of_engine(on_file)
        if (power, factor_rpm) != (1.0, 1.0):
            curve = curve.scaled(power, factor_rpm)
            tune = subject.tune.record.name if subject.tune is not None else ""
            known = Known("estimate", around(known.source, after=f", scaled for {tune}"))
            whose = "machine's" if on_file.of_machine else "factory's"
            notes.append(
                f"Power is scaled from the {whose} figures for a {tune}: times {power:.3g} at "
                f"{factor_rpm:.3g} times the rpm, a rough factor from the catalogue."
            )
    rpm, watts = curve.peak
    givens = (make_input("peak_power", watts / 1000, known), make_input("peak_rpm", rpm, known))
    rev_limit = _rev_limit(subject, asked, on_file, curve, factor_rpm)
    if on_file is None or not on_file.engine.points:
        notes.append(
            "Only peak power is known: the rest of the curve is the usual shape, not this "
            "engine's own."
        )
    return KnownEngine(curve, givens, rev_limit, tuple(notes))


def _on_file(subject: Subject) -> _OnFile | None:
    found = []
    if subject.entry is not None:
        found.append(_OnFile(subject.entry.record.engine, on_record(subject.entry, "engine"), True))
    family = subject.family
    if family.record.engine is not None:
        found.append(_OnFile(family.record.engine, on_record(family, "engine"), False))
    return next((one for one in found if one.is_known), None)


def _of_engine(on_file: _OnFile) -> tuple[PowerCurve, Known]:
    engine = on_file.engine
    if engine.points:
        points = tuple(
            (float(p.rpm), _watts(p.rpm, p.power_kw, p.torque_nm)) for p in engine.points
        )
        kind = "counted" if on_file.of_machine else "catalogue"
        return PowerCurve(points), Known(kind, around(on_file.place, "full-throttle points at "))
    assert engine.peak_power_kw is not None
    assert engine.peak_power_rpm is not None  # the record holds both or none
    curve = default_curve(1000 * float(engine.peak_power_kw), float(engine.peak_power_rpm))
    return curve, Known("catalogue", on_file.place)


def _watts(rpm: object, power_kw: object, torque_nm: object) -> float:
    if power_kw is not None:
        return 1000 * float(str(power_kw))
    return float(str(torque_nm)) * float(str(rpm)) * math.pi / 30


def _as_asked(power: tuple[float, float], on_file: _OnFile | None) -> PowerCurve:
    """Peak power as said; the shape of the machine's own points where it has any."""
    kilowatts, rpm = power
    if on_file is not None and on_file.engine.points:
        curve, _ = _of_engine(on_file)
        own_rpm, own_watts = curve.peak
        return curve.scaled(1000 * kilowatts / own_watts, rpm / own_rpm)
    return default_curve(1000 * kilowatts, rpm)


def _tune_factors(subject: Subject, on_file: _OnFile) -> tuple[float, float]:
    """Power and rpm against the figures on file, which are of a tune of their own."""
    wanted = subject.tune.record if subject.tune is not None else None
    own: Tune | None = None
    if on_file.of_machine and subject.entry is not None:
        name = subject.entry.record.tune
        entry = None if name is None else subject.catalogue.tunes.get(name)
        own = None if entry is None else entry.record
        if own is None:
            return 1.0, 1.0  # figures of the engine as it stands, whatever it is
    if wanted is None:
        return 1.0, 1.0
    power, rpm = float(wanted.power_factor or 1), float(wanted.rpm_factor or 1)
    if own is not None:
        power /= float(own.power_factor or 1)
        rpm /= float(own.rpm_factor or 1)
    return power, rpm


def _rev_limit(
    subject: Subject, asked: RoadAsked, on_file: _OnFile | None, curve: PowerCurve, factor: float
) -> Given | None:
    """The limiter said or on file, the machine's own before the family's; else where points end.

    What is said of the power says nothing of the limiter: the tune scales it all the same.
    """
    key = "rev_limit"
    machine = None if on_file is not None and on_file.of_machine else subject.entry
    given = find_input(key, asked.rev_limit_rpm, (machine, "engine.rev_limit_rpm"))
    if given is not None:
        return given
    engine = None if on_file is None else on_file.engine
    if engine is not None and on_file is not None and engine.rev_limit_rpm is not None:
        value = float(engine.rev_limit_rpm) * factor
        if factor == 1.0:
            return make_input(key, value, Known("catalogue", on_file.place))
        return make_input(key, value, Known("estimate", around(on_file.place, after=", scaled")))
    if engine is not None and engine.points:
        known = Known("estimate", "the last full-throttle point on file")
        return make_input(key, curve.last_rpm, known)
    return None


def missing_power(subject: Subject, asked: RoadAsked) -> ShopWords | None:
    """What to say where nothing tells how strong the engine is; None where something does."""
    if asked.power is not None or _on_file(subject) is not None:
        return None
    engine = "engine: {peak_power_kw: ..., peak_power_rpm: ...}"
    place = subject.family.place() if subject.entry is None else subject.entry.place("engine")
    name = subject.family.record.name if subject.entry is None else subject.name
    return with_hint(
        f"the engine power of {name} is not known",
        f"give --power KW@RPM, add {engine} at {place}, or take the figure in its papers for an "
        "estimate",
    )
