"""The road model for many gearings at once: the columns of a list, and the test of a class."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from fractions import Fraction
from itertools import islice

from fitcheck.catalogue.reader import Entry
from fitcheck.kernel.road.load import air_density
from fitcheck.model.trade import VehicleClass
from fitcheck.services.counter.subject import Subject
from fitcheck.services.counter.tyres import speed_symbol_warning
from fitcheck.services.road.calibration import calibrate
from fitcheck.services.road.defaults import LEGAL_RIDER_KG
from fitcheck.services.road.figures import ClassAnswer, RoadAsked, RoadRow
from fitcheck.services.road.inputs import Inputs, gather
from fitcheck.services.road.lawful import Standing, class_answer, class_of
from fitcheck.services.road.loads import load_by_mass
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
        self._inputs = calibrate(gather(subject, asked), float(subject.reduction), asked)
        self._now = float(subject.reduction)
        self._tyre = float(subject.roll_out_ratio)
        self._tyres = (subject.roll_out, subject.new_roll_out or subject.roll_out)
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
        change = ranged.figure("start_change", index)
        return RoadRow(
            top=top,
            other_top=ranged.other_top(index),
            top_change=float(nominal["top_change"][index]),
            start_force=start,
            start_change=None if change is None else change.value,
            time_45=None if time is None else time.value,
            verdict=ranged.verdict(index, self._change(gearings, index)),
            lawful=lawful,
            tyre_warning=speed_symbol_warning(self._tyres[index > 0], top.high),
        )

    def _change(self, gearings: Gearings, index: int) -> float:
        """Road-speed change, 0.12 for 12 % taller."""
        taller = gearings.reductions[0] / gearings.reductions[index]
        return taller * gearings.tyre_ratios[index] - 1

    def _lawful(self, wanted: list[Fraction], gearings: Gearings) -> dict[Fraction, ClassAnswer]:
        return dict(zip(wanted, islice(self._answers(gearings), 1, None), strict=False))

    def _answers(self, gearings: Gearings) -> Iterator[ClassAnswer]:
        """The class's answer to each gearing, the present one first; none where none is known."""
        for answer in class_answers(self.vehicle_class, self._inputs, gearings):
            if self._judged_now is None:
                self._judged_now = answer
            yield answer


def _legal_sweep(inputs: Inputs, gearings: Gearings) -> Ranged:
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


def class_answers(
    vehicle_class: Entry[VehicleClass] | None, inputs: Inputs, gearings: Gearings
) -> Iterator[ClassAnswer]:
    """The answer of a class to each gearing; none where no class is known."""
    if vehicle_class is None:
        return
    tops, values = None, inputs.values
    if vehicle_class.record.max_speed_km_h is not None:
        tops = _legal_sweep(inputs, gearings)
    high = values.get("high_ratio", values["low_ratio"])
    standing = Standing(
        inputs.displacement_cm3, 1000 * values["peak_power"], values["running_order"]
    )
    for index, reduction in enumerate(gearings.reductions):
        yield class_answer(
            vehicle_class,
            None if tops is None else tops.figure("flat", index),
            reduction * high,
            standing,
            measured=inputs.is_calibrated,
        )
