"""The inputs of the road model for one machine: each with its kind, its spread and its source.

The order is everywhere the same: what is said at the counter, the machine's record, the
figures of its family, a documented default.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from fractions import Fraction
from itertools import pairwise

from fitcheck.catalogue.reader import Entry
from fitcheck.errors import UsageError
from fitcheck.kernel.road.engine import PowerCurve
from fitcheck.kernel.road.load import air_density, power_share
from fitcheck.model.family import Family
from fitcheck.model.machine import Machine
from fitcheck.model.powertrain import Variator
from fitcheck.services.counter.audience import ShopWords, around, on_record, with_hint
from fitcheck.services.counter.subject import Subject
from fitcheck.services.counter.tyres import NamedTyre, RollOut
from fitcheck.services.road import defaults
from fitcheck.services.road.defaults import SAID, Known, find_input, make_input
from fitcheck.services.road.engines import engine_of, missing_power
from fitcheck.services.road.figures import Given, RoadAsked
from fitcheck.services.road.lawful import class_of
from fitcheck.services.road.loads import load_of

Values = dict[str, float]
"""Value of every input by key."""


@dataclass(frozen=True)
class Calibration:
    """What a measured top speed leaves in doubt.

    Attributes:
        words: what it has moved, in words.
        ends: values of both runs for the range of each input; None for one input at a time.
        band: lowest and highest present top speed, km/h.
        is_exact: whether `band` is the range of the present top speed; else it only cuts it.
    """

    words: str
    ends: tuple[tuple[Values, Values], ...] | None
    band: tuple[float, float]
    is_exact: bool


@dataclass(frozen=True)
class Inputs:
    """All that the model needs but the gearing.

    Attributes:
        givens: inputs by key.
        curve: full-throttle power as it is with the inputs' own values.
        is_fixed: one ratio between engine and gearbox, no variator.
        air_density: kg/m3.
        displacement_cm3: of the engine, or None.
        notes: extrapolations and other cautions, one sentence each.
        calibration: what a measured speed leaves; None where none was measured.
        power_share: power in this air over the power known, which is that in standard air.
        by_mass: which of the inputs of the road load follow from the loaded mass.
        loaded_kg: loaded mass as on file, for which these are worked out.
        cited: least and greatest value that is cited for some inputs, by key.
    """

    givens: dict[str, Given]
    curve: PowerCurve
    is_fixed: bool
    air_density: float
    displacement_cm3: float | None
    notes: tuple[str, ...] = ()
    calibration: Calibration | None = None
    power_share: float = 1.0
    by_mass: tuple[str, ...] = ()
    loaded_kg: float = 0.0
    cited: dict[str, tuple[float, float]] = field(default_factory=dict)

    @property
    def values(self) -> Values:
        """The value of every input by key."""
        return {key: given.value for key, given in self.givens.items()}

    @property
    def is_calibrated(self) -> bool:
        """Whether the top speed was measured, or one that the speedometer shows moved an input."""
        return self.calibration is not None and (
            self.calibration.is_exact
            or any(given.before is not None for given in self.givens.values())
        )


def is_known_on_road(subject: Subject) -> bool:
    """Whether the files say enough of a machine to work out what it does on the road."""
    try:
        gather(subject)
        class_of(subject)
    except UsageError:
        return False
    return True


def is_roll_out_known(subject: Subject) -> bool:
    """Whether anything on file says how far a wheel turn takes a machine."""
    return (subject.roll_out or _factory_roll_out(subject, [])) is not None


def gather(subject: Subject, asked: RoadAsked | None = None) -> Inputs:
    """Collect the inputs for a machine.

    Raises:
        UsageError: the engine's power or the roll-out is not known, or inputs contradict each
            other; the message says all that is missing, what to add and where.
    """
    asked = asked if asked is not None else RoadAsked()
    tyre_notes: list[str] = []
    roll_out = subject.roll_out or _factory_roll_out(subject, tyre_notes)
    power = missing_power(subject, asked)
    if power is not None or roll_out is None:
        raise UsageError(_missing(power, None if roll_out else _missing_roll_out(subject)))
    engine = engine_of(subject, asked)
    notes: list[str] = list(engine.notes)
    variator, source = _variator(subject)
    fixed = _fixed_ratio(subject, asked)
    speeds = {"engage_rpm": _speed("engage_rpm", asked.engage_rpm, variator, source)}
    if fixed is None:
        speeds["shift_rpm"] = _speed("shift_rpm", asked.shift_rpm, variator, source)
        ratios = _ratios(asked, variator, source, notes)
    else:
        ratios = [fixed]
    rising = _rising({**speeds, "rev_limit": engine.rev_limit}, engine.curve.peak[0])
    notes += tyre_notes
    found = [_roll_out(roll_out), *engine.givens, rising.pop("rev_limit"), *ratios]
    found += reversed(rising.values())
    found.append(_efficiency(subject, asked, variator, source, fixed is not None))
    masses = _masses(subject, asked)
    found += masses
    density = air_density(asked.altitude_m, asked.temperature_c)
    notes += _tyre_notes(subject)
    share = power_share(asked.altitude_m, asked.temperature_c)
    if share != 1:
        notes.append(
            f"In this air the engine is taken to give {share:.2f} of the power it gives in "
            "standard air at sea level (correction of ISO 1585), which is what its figures are "
            "taken to mean; a carburettor that runs rich in thin air costs more."
        )
    loaded = sum(mass.value for mass in masses)
    load = load_of(subject, asked, loaded)
    notes += load.notes
    found += load.givens
    found.append(_engine_inertia(subject))
    givens = {given.key: given for given in found}
    _agree(givens)
    displacement = subject.family.record.displacement_cm3
    is_own_drag = "drag_area" in givens and "drag_area" not in load.by_mass
    return Inputs(
        givens=givens,
        curve=engine.curve,
        is_fixed=fixed is not None,
        air_density=density,
        displacement_cm3=None if displacement is None else float(displacement),
        notes=tuple(notes),
        power_share=share,
        by_mass=load.by_mass,
        loaded_kg=loaded,
        cited=defaults.cited_ranges(len(subject.stages), fixed is not None, not is_own_drag),
    )


def _missing_roll_out(subject: Subject) -> ShopWords:
    place = "" if subject.entry is None else f", add roll_out_mm: ... at {subject.entry.place()}"
    return with_hint(
        f"how far a wheel turn takes {subject.name} is not known, so no speed can be worked out",
        f"give --roll-out MM measured with the rider on{place}, or take --tyre SIZE for an "
        "estimate",
    )


def _missing(*found: ShopWords | None) -> ShopWords:
    """All that is missing in one line."""
    missing = [words for words in found if words is not None]
    if len(missing) == 1:
        return missing[0]
    said = ", and ".join(words.customer for words in missing)
    return ShopWords(f"{len(missing)} things are missing: {'; '.join(missing)}", said)


def _roll_out(roll_out: RollOut) -> Given:
    value = float(roll_out.mm)
    spread = value * float(roll_out.spread_percent) / 100
    return Given(
        key="roll_out",
        name="roll-out",
        value=value,
        unit="mm",
        kind=roll_out.kind,
        spread=spread,
        source=roll_out.source,
    )


def _factory_roll_out(subject: Subject, notes: list[str]) -> RollOut | None:
    """The roll-out of the tyre its factory train left the factory with; an estimate of today's."""
    trains = [subject.family.record.factory_trains[index] for index in subject.known_trains]
    tyres = {train.tyre for train in trains if subject.wheel_size_in in (None, train.wheel_size_in)}
    name = tyres.pop() if len(tyres) == 1 else None
    entry = None if name is None else subject.catalogue.tyres.get(name)
    found = None if entry is None else NamedTyre.of(entry).best
    if entry is None or found is None:
        return None
    notes.append(
        with_hint(
            f"No tyre is on record: {entry.id}, the factory tyre with these gears, is used. "
            "Read the size on the sidewall.",
            "Give it with --tyre SIZE.",
            " ",
        )
    )
    spread = max(found.spread_percent, Fraction(defaults.FACTORY_TYRE_PERCENT))
    source = f"{entry.id}, the factory tyre with these gears"
    return replace(found, kind="estimate", spread_percent=spread, source=source)


def _tyre_notes(subject: Subject) -> list[str]:
    """That nobody has said how fast the tyre may go: no warning is then no all-clear."""
    tyre = subject.roll_out_after
    if tyre is None or tyre.max_speed_km_h is not None:
        return []
    name = tyre.tyre_name or "the tyre"
    words = f"The speed symbol of {name} is not known, so nothing here says that the tyre may go "
    return [f"{words}this fast: read it on the sidewall."]


def _variator(subject: Subject) -> tuple[Variator | None, str]:
    """The variator on file and where: the machine's own, else the family's."""
    records: tuple[Entry[Machine] | Entry[Family] | None, ...] = (subject.entry, subject.family)
    for entry in records:
        if entry is not None and entry.record.variator is not None:
            return entry.record.variator, on_record(entry, "variator")
    return None, ""


def _fixed_ratio(subject: Subject, asked: RoadAsked) -> Given | None:
    name = "fixed ratio"
    if asked.ratios is not None:
        low, high = asked.ratios
        return make_input("low_ratio", low, SAID, name) if low == high else None
    own = find_input("low_ratio", None, (subject.entry, "fixed_ratio"), name=name)
    if own is not None or (subject.entry is not None and subject.entry.record.variator is not None):
        return own
    return find_input("low_ratio", None, (subject.family, "fixed_ratio"), name=name)


def _ratios(
    asked: RoadAsked, variator: Variator | None, source: str, notes: list[str]
) -> list[Given]:
    if asked.ratios is not None:
        pair, known = asked.ratios, SAID
    elif variator is not None:
        pair = (float(variator.low_ratio), float(variator.high_ratio))
        known = Known("catalogue", source)
    else:
        pair = (defaults.LOW_RATIO, defaults.HIGH_RATIO)
        known = Known("estimate", "usual for a small scooter")
        notes.append(
            with_hint(
                "The variator's ratios are not on file: usual ones are taken, so speeds in the top "
                "ratio are rough. Measure the top speed.",
                "Give it with --measured-top.",
                " ",
            )
        )
    return [
        make_input("low_ratio", pair[0], known),
        make_input("high_ratio", pair[1], known),
    ]


def _speed(key: str, said: float | None, variator: Variator | None, source: str) -> Given | None:
    """An engine speed of the variator as said or on file."""
    if said is not None:
        return make_input(key, said, SAID)
    on_file = None if variator is None else getattr(variator, key)
    return None if on_file is None else make_input(key, float(on_file), Known("catalogue", source))


def _rising(known: dict[str, Given | None], peak_rpm: float) -> dict[str, Given]:
    """Engine speeds that rise in this order, by shares of the peak-power rpm where not known.

    Such a share gives way to what is known: it is no lower than the known speeds before it, and no
    higher than those after it.

    Raises:
        UsageError: known speeds do not rise.
    """
    certain = [given for given in known.values() if given is not None]
    for lower, upper in pairwise(certain):
        if lower.value > upper.value:
            first, second = (f"{each.name} {each.value:.0f} rpm" for each in (lower, upper))
            raise UsageError(
                ShopWords(
                    f"{first} ({lower.source}) is over {second} ({upper.source}); correct the one "
                    "that is wrong",
                    f"{first} is over {second}",
                )
            )
    found = {}
    least = 0.0
    for key, given in known.items():
        if given is not None:
            found[key], least = given, given.value
            certain.remove(given)
            continue
        share = defaults.SPEED_SHARES[key]
        usual = share * peak_rpm
        value = max(least, min([usual, *(each.value for each in certain)]))
        words = f"{share:g} of the peak-power rpm, common practice"
        if value != usual:
            words += f", kept {'under' if value < usual else 'over'} what is known"
        found[key] = make_input(key, value, Known("estimate", words))
    return found


def _efficiency(
    subject: Subject, asked: RoadAsked, variator: Variator | None, source: str, fixed: bool
) -> Given:
    if asked.efficiency is not None:
        return make_input("efficiency", asked.efficiency, SAID)
    gears = defaults.GEAR_EFFICIENCY ** len(subject.stages)
    if fixed:
        drive, word, kind = defaults.ONE_DRIVE_EFFICIENCY, "drive", "estimate"
    elif variator is not None and variator.efficiency is not None:
        drive, kind = float(variator.efficiency), "catalogue"
        word = around(source, "belt at ")
    else:
        drive, word, kind = defaults.BELT_EFFICIENCY, "belt", "estimate"
    stages = len(subject.stages)
    gearbox = f" x {defaults.GEAR_EFFICIENCY:g} a gear stage, {stages} of them"
    words = around(word, f"{drive:g} ", gearbox)
    return make_input("efficiency", drive * gears, Known(kind, words))


def _masses(subject: Subject, asked: RoadAsked) -> list[Given]:
    machine, family = subject.entry, subject.family
    order = find_input(
        "running_order",
        asked.mass_kg,
        (machine, "masses.running_order_kg"),
        (family, "running_order_kg"),
    )
    if order is None:
        size = float(family.record.displacement_cm3 or 50)
        usual = next(kg for limit, kg in defaults.RUNNING_ORDER_KG if size <= limit)
        known = Known("estimate", f"usual for {size:g} cm3")
        order = make_input("running_order", usual, known)
    of_test = Known("standard", "rider of (EU) No 134/2014, Annex X")
    rider = find_input("rider", asked.rider_kg, (machine, "masses.rider_kg"))
    return [order, rider or make_input("rider", defaults.RIDER_KG, of_test)]


def _engine_inertia(subject: Subject) -> Given:
    size = float(subject.family.record.displacement_cm3 or 50)
    known = Known("estimate", f"usual for {size:g} cm3, from memory")
    return make_input("engine_inertia", defaults.ENGINE_INERTIA * size, known)


def _agree(givens: dict[str, Given]) -> None:
    """Refuse ratios that contradict each other.

    Raises:
        UsageError: the top ratio is not under the starting ratio.
    """
    high = givens.get("high_ratio")
    if high is not None and givens["low_ratio"].value <= high.value:
        raise UsageError(
            with_hint(
                f"the starting ratio {givens['low_ratio'].value:g} is not over the top ratio "
                f"{high.value:g}",
                "are they swapped?",
            )
        )
