"""The road model for many combinations at once: the columns of a list, and what is lawful."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from fitcheck.catalogue.reader import Entry
from fitcheck.model.trade import VehicleClass
from fitcheck.services.lawful import class_of
from fitcheck.services.road.asked import RoadAsked
from fitcheck.services.road.calibration import calibrated
from fitcheck.services.road.inputs import gather
from fitcheck.services.road.legal import lawful_answer, legal_sweep
from fitcheck.services.road.results import ClassAnswer, Figure, PullVerdict
from fitcheck.services.road.sweep import Gearings, sweep
from fitcheck.services.subject import Subject

__all__ = ["RoadRow", "RoadRows"]


@dataclass(frozen=True, slots=True)
class RoadRow:
    """What one gearing does on the road, in short.

    Attributes:
        top: real top speed on the flat, km/h.
        top_change: against now, km/h.
        start_force: pull at the wheel as the clutch grips, N.
        start_change: against now, percent.
        time_45: seconds from standstill to 45 km/h; None: never reached.
        verdict: whether the engine pulls it.
        lawful: the class's answer; None where no class is known.
    """

    top: Figure
    top_change: float
    start_force: Figure
    start_change: float
    time_45: float | None
    verdict: PullVerdict
    lawful: ClassAnswer | None


class RoadRows:
    """One machine's road model, asked for any number of gearings.

    Attributes:
        vehicle_class: the class judged by, or None.
        notes: cautions of the model, one sentence each.
        calibrated: which input a measured speed has set; None where none was.
    """

    def __init__(
        self,
        subject: Subject,
        asked: RoadAsked | None = None,
        *,
        vehicle_class: Entry[VehicleClass] | None = None,
    ) -> None:
        """Gather and calibrate the inputs.

        Raises:
            UsageError: the model lacks an input, or a measured speed cannot be explained.
        """
        asked = asked if asked is not None else RoadAsked()
        inputs = gather(subject, asked)
        self._calibration = calibrated(inputs, float(subject.reduction), asked)
        self._inputs = inputs if self._calibration is None else self._calibration.inputs
        self._now = float(subject.reduction)
        self._tyre = float(subject.roll_out_ratio)
        self.vehicle_class = vehicle_class or asked.vehicle_class or class_of(subject)
        self.notes = self._inputs.notes
        self.calibrated = None if self._calibration is None else self._calibration.words

    def rows(self, reductions: Iterable[Fraction]) -> dict[Fraction, RoadRow]:
        """A row for each overall reduction asked for."""
        wanted = list(dict.fromkeys(reductions))
        if not wanted:
            return {}
        gearings = self._gearings(wanted)
        again = None if self._calibration is None else self._calibration.again
        ranged = sweep(self._inputs, gearings, times=False, recalibrated=again)
        timed = sweep(self._inputs, gearings, keys=())
        lawful = self._lawful(wanted, gearings)
        found: dict[Fraction, RoadRow] = {}
        nominal = ranged.nominal
        metres = gearings.metres_per_turn(self._inputs.values["roll_out"])
        for index, reduction in enumerate(wanted, start=1):
            top, start = ranged.figure("flat", index), ranged.figure("start_force", index)
            time = timed.figure("time_45", index)
            assert top is not None
            assert start is not None
            found[reduction] = RoadRow(
                top,
                float(nominal["top_change"][index]),
                start,
                float(nominal["start_change"][index]),
                None if time is None else time.value,
                ranged.verdict(index, float(metres[index] / metres[0]) - 1),
                lawful.get(reduction),
            )
        return found

    def lawful(self, reductions: Iterable[Fraction]) -> dict[Fraction, ClassAnswer]:
        """The class's answer for each overall reduction; empty where no class is known."""
        wanted = list(dict.fromkeys(reductions))
        return self._lawful(wanted, self._gearings(wanted)) if wanted else {}

    def _gearings(self, wanted: list[Fraction]) -> Gearings:
        return Gearings((self._now, *map(float, wanted)), (1.0, *(self._tyre for _ in wanted)))

    def _lawful(self, wanted: list[Fraction], gearings: Gearings) -> dict[Fraction, ClassAnswer]:
        vehicle_class = self.vehicle_class
        if vehicle_class is None:
            return {}
        tops = None
        if vehicle_class.record.max_speed_km_h is not None:
            tops = legal_sweep(self._inputs, gearings, self._calibration)
        return {
            reduction: lawful_answer(vehicle_class, self._inputs, tops, index, float(reduction))
            for index, reduction in enumerate(wanted, start=1)
        }
