"""The road model for many combinations at once: the columns of a list, and what is lawful."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from fractions import Fraction
from itertools import islice

from fitcheck.catalogue.reader import Entry
from fitcheck.model.trade import VehicleClass
from fitcheck.services.counter.subject import Subject
from fitcheck.services.counter.tyres import speed_symbol_warning
from fitcheck.services.road.asked import RoadAsked
from fitcheck.services.road.calibration import calibrated
from fitcheck.services.road.figures import ClassAnswer, Figure, RoadRow
from fitcheck.services.road.inputs import gather
from fitcheck.services.road.lawful import class_of
from fitcheck.services.road.legal import lawful_answer, legal_sweep
from fitcheck.services.road.sweep import Gearings, Ranged, sweep


class RoadRows:
    """One machine's road model, asked for any number of gearings.

    Attributes:
        vehicle_class: the class judged by, or None.
        notes: cautions of the model, one sentence each.
        calibrated: which inputs a measured speed has moved; None where none was measured.
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
        self._inputs = calibrated(gather(subject, asked), float(subject.reduction), asked)
        self._now = float(subject.reduction)
        self._tyre = float(subject.roll_out_ratio)
        self._tyre_now = subject.roll_out
        self._tyre_then = subject.new_roll_out or subject.roll_out
        self.vehicle_class = vehicle_class or asked.vehicle_class or class_of(subject)
        self.notes = self._inputs.notes
        calibration = self._inputs.calibration
        self.calibrated = None if calibration is None else calibration.words
        # Every run has the present gearing first: what the last one says of it.
        self._last: tuple[Ranged, Gearings] | None = None
        self._judged_now: ClassAnswer | None = None

    def now(self) -> RoadRow:
        """A row for the present gearing, on the present tyre."""
        if self._last is None:
            self._run(self._gearings([]))
        assert self._last is not None
        return self._row(*self._last, 0, self.lawful_now())

    def lawful_now(self) -> ClassAnswer | None:
        """The class's answer to the present gearing; None where no class is known."""
        if self._judged_now is None:
            next(self._answers(self._gearings([])), None)
        return self._judged_now

    def rows(
        self, reductions: Iterable[Fraction], *, judged: bool = True
    ) -> dict[Fraction, RoadRow]:
        """A row for each overall reduction asked for.

        Args:
            reductions: with the tyre to come, if one is to come.
            judged: also ask the class; without, rows have no answer of it.
        """
        wanted = list(dict.fromkeys(reductions))
        if not wanted:
            return {}
        gearings = self._gearings(wanted)
        ranged = self._run(gearings)
        answers = self._lawful(wanted, gearings) if judged else {}
        return {
            reduction: self._row(ranged, gearings, index, answers.get(reduction))
            for index, reduction in enumerate(wanted, start=1)
        }

    def lawful(self, reductions: Iterable[Fraction]) -> dict[Fraction, ClassAnswer]:
        """The class's answer for each overall reduction; empty where no class is known."""
        wanted = list(dict.fromkeys(reductions))
        return self._lawful(wanted, self._gearings(wanted)) if wanted else {}

    def _gearings(self, wanted: list[Fraction]) -> Gearings:
        return Gearings((self._now, *map(float, wanted)), (1.0, *(self._tyre for _ in wanted)))

    def _run(self, gearings: Gearings) -> Ranged:
        ranged = sweep(self._inputs, gearings, brief=True)
        self._last = ranged, gearings
        return ranged

    def _row(
        self, ranged: Ranged, gearings: Gearings, index: int, lawful: ClassAnswer | None
    ) -> RoadRow:
        top, start = ranged.figure("flat", index), ranged.figure("start_force", index)
        time = ranged.figure("time_45", index)
        assert top is not None
        assert start is not None
        nominal = ranged.nominal
        return RoadRow(
            top=top,
            other_top=ranged.other_top(index),
            top_change=float(nominal["top_change"][index]),
            start_force=start,
            start_change=float(nominal["start_change"][index]),
            time_45=None if time is None else time.value,
            verdict=ranged.verdict(index, self._change(gearings, index)),
            lawful=lawful,
            tyre_warning=self._tyre_warning(index, top),
        )

    def _tyre_warning(self, index: int, top: Figure) -> str | None:
        tyre = self._tyre_now if index == 0 else self._tyre_then
        return None if tyre is None else speed_symbol_warning(tyre, top.high)

    def _change(self, gearings: Gearings, index: int) -> float:
        """Road-speed change, 0.12 for 12 % taller."""
        taller = gearings.reductions[0] / gearings.reductions[index]
        return taller * gearings.tyre_ratios[index] - 1

    def _lawful(self, wanted: list[Fraction], gearings: Gearings) -> dict[Fraction, ClassAnswer]:
        return dict(zip(wanted, islice(self._answers(gearings), 1, None), strict=False))

    def _answers(self, gearings: Gearings) -> Iterator[ClassAnswer]:
        """The class's answer to each gearing, the present one first; none where none is known."""
        vehicle_class = self.vehicle_class
        if vehicle_class is None:
            return
        tops = None
        if vehicle_class.record.max_speed_km_h is not None:
            tops = legal_sweep(self._inputs, gearings)
        for index, reduction in enumerate(gearings.reductions):
            answer = lawful_answer(vehicle_class, self._inputs, tops, index, reduction)
            if index == 0:
                self._judged_now = answer
            yield answer
