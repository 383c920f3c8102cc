"""What the road model is asked, its figures with their ranges, its verdicts, and lists of them."""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum, StrEnum
from typing import NamedTuple

from fitcheck.catalogue.reader import Entry
from fitcheck.kernel.enumeration import Row
from fitcheck.model.trade import VehicleClass


@dataclass(frozen=True, slots=True)
class RoadAsked:
    """Inputs given by hand; None where the files or the documented defaults are to be used.

    Attributes:
        measured_top_km_h: top speed with the present gearing, by GPS, on the flat in still air.
        shown_top_km_h: the same as the speedometer shows it.
        power: peak power in kW and its engine speed in 1/min, of the engine as it stands.
        rev_limit_rpm: the rev limit, 1/min.
        shift_rpm: engine speed held while the variator shifts, 1/min.
        engage_rpm: engine speed at which the clutch engages, 1/min.
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


@dataclass(frozen=True, slots=True)
class Figure:
    """A predicted figure and the range its uncertain inputs leave; low <= value <= high.

    About 19 times in 20 the true figure lies in the range, if the inputs lie in theirs as often.
    """

    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class OtherTop:
    """A second top speed, where runs for the range settle on the other side of the power peak.

    Attributes:
        km_h: the speed.
        words: when, such as `if the variator does not come out`.
    """

    km_h: float
    words: str


@dataclass(frozen=True, slots=True)
class Given:
    """One input of the model.

    Attributes:
        key: what it is in the model, such as `peak_power`; stable.
        name: what it is called, such as `peak power`.
        value: in `unit`.
        unit: `kW`, `1/min`, `kg`, `mm`, or empty for a ratio.
        kind: `counted`, `catalogue`, `standard`, `approximate`, `estimate`, `given`, or
            `calibrated` where a measured speed has set it; nothing estimated looks measured.
        spread: half-width of the range it may lie in, two standard deviations, in `unit`.
        source: where it comes from: a place in a file, an option, a rule; one short phrase.
        before: its value before a measured speed moved it; None where none did.
    """

    key: str
    name: str
    value: float
    unit: str
    kind: str
    spread: float
    source: str
    before: float | None = None


class PullVerdict(StrEnum):
    """Whether the engine pulls a gearing."""

    PULLS = "pulls it"
    WIND = "only with a tailwind"
    NOT = "will not pull it"


PULL_ORDER = (PullVerdict.PULLS, PullVerdict.WIND, PullVerdict.NOT)


class LawfulAnswer(IntEnum):
    """Whether a gearing stays within the class; only OVER is certain to leave it."""

    WITHIN = 0
    STRADDLES = 1
    UNKNOWN = 2
    OVER = 3


@dataclass(frozen=True, slots=True)
class ClassAnswer:
    """One gearing against the ceilings of a vehicle class.

    Attributes:
        vehicle_class: the class.
        answer: where the predicted top speed lies against the class's ceiling; OVER also where the
            reduction is under the least the class asks for.
        top: predicted top speed on the flat, rider of 75 kg, km/h; None where it is not known.
        ceiling_km_h: the class's greatest design speed; None where it has none.
        sentence: the answer in one or two sentences.
        others: what else speaks against the class whatever the gears (power, displacement, mass),
            one sentence each.
    """

    vehicle_class: Entry[VehicleClass]
    answer: LawfulAnswer
    top: Figure | None
    ceiling_km_h: float | None
    sentence: str
    others: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class RoadRow:
    """What one gearing does on the road, in short.

    Attributes:
        top: real top speed on the flat, km/h.
        other_top: what it may be instead; None where it is one speed alone.
        top_change: against now, km/h.
        start_force: pull at the wheel as the clutch engages, N.
        start_change: against now, percent; None where the machine has no pull now.
        time_45: seconds from standstill to 45 km/h; None: never reached.
        verdict: whether the engine pulls it.
        lawful: the class's answer; None where no class is known, or it was not asked.
        tyre_warning: set where it may go faster than the tyre's speed symbol allows.
    """

    top: Figure
    other_top: OtherTop | None
    top_change: float
    start_force: Figure
    start_change: float | None
    time_45: float | None
    verdict: PullVerdict
    lawful: ClassAnswer | None
    tyre_warning: str | None = None


@dataclass(frozen=True, slots=True)
class RoadSide:
    """What the road model says of a list as a whole.

    Attributes:
        now: the present gearing; None where only the law was asked about.
        vehicle_class: the class judged by; None where none is known.
        lawful_now: the class's answer to the present gearing; None where no class is known.
        notes: cautions of the model, one sentence each.
        calibrated: which inputs a measured speed has moved; None where none was measured.
    """

    now: RoadRow | None
    vehicle_class: Entry[VehicleClass] | None
    lawful_now: ClassAnswer | None
    notes: tuple[str, ...] = ()
    calibrated: str | None = None


class Seen(NamedTuple):
    """One row of the enumeration with what is told of it.

    Attributes:
        row: the row.
        road: what it does on the road, where that is shown.
        lawful: the class's answer, where it is asked.
        key: by which a figure of the road ranks it, rising; empty for the order of the rows.
        rank: its place in the whole list, where that is not to be counted from the rows at hand.
    """

    row: Row
    road: RoadRow | None = None
    lawful: ClassAnswer | None = None
    key: tuple[float, ...] = ()
    rank: int | None = None


class Selection(NamedTuple):
    """What is left of a list.

    Attributes:
        seen: the first rows that pass, in the order asked for.
        passed: how many pass.
        dropped: how many the class drops.
        gone: of a list by gearing, how many of those that pass cannot be had now.
        more: of a list by gearing, whether more of them follow.
    """

    seen: list[Seen]
    passed: int
    dropped: int = 0
    gone: int = 0
    more: bool = False


_NEAR = 0.97
"""From this share of its peak-power rpm on an engine is as good as there; common practice."""

STARTS_ON = 5.0
"""Percent of gradient on which a machine must start; our own choice."""

_WORTH = 0.5
"""Share of its change that a taller gearing is to turn into speed; our own choice."""


def pull_verdict(
    reach: float, gain: float, tailwind_reach: float, hill: float, change: float
) -> PullVerdict:
    """Whether the engine pulls one gearing.

    A gearing that does not start on a hill of 5 % is not pulled. Otherwise it is where, on the flat
    and in still air, the engine gets to its peak-power rpm (or to its rev limit, if that is lower)
    in the top ratio, or near enough; or where one taller than now still turns half of what it
    promises into speed. The present gearing, the same by other gears and a shorter one go by the
    engine alone. Otherwise a wind of 20 km/h from behind is tried: if that brings the engine to its
    peak, the gearing is pulled with a tailwind only. A taller gearing that changes nothing,
    because the variator never comes fully out, is not pulled.

    Args:
        reach: top speed on the flat over the speed at peak-power rpm (or rev limit) in the top
            ratio.
        gain: top speed on the flat over the present one, minus 1.
        tailwind_reach: as reach, with 20 km/h from behind.
        hill: steepest gradient on which it starts, percent.
        change: what the gearing changes at the same rpm, 0.12 for 12 % taller; 0 for the present
            one.
    """
    if hill < STARTS_ON:
        return PullVerdict.NOT
    if reach >= _NEAR or (change > 0 and gain >= _WORTH * change):
        return PullVerdict.PULLS
    return PullVerdict.WIND if tailwind_reach >= _NEAR else PullVerdict.NOT
