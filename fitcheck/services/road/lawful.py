"""Whether a gearing stays within the class a machine is registered in; local law decides.

The speed judged is what the machine really reaches on the flat with a rider of 75 kg, as in the
maximum-speed test of (EU) No 134/2014, Annex X, Appendix 1, and not what it does on paper.
"""

from __future__ import annotations

from dataclasses import dataclass

from fitcheck.catalogue.reader import Entry
from fitcheck.errors import UsageError
from fitcheck.model.trade import VehicleClass
from fitcheck.services.counter.audience import ShopWords, around, with_hint
from fitcheck.services.counter.lookup import find_class
from fitcheck.services.counter.subject import Subject
from fitcheck.services.road.figures import ClassAnswer, Figure, LawfulAnswer

_ON_THE_EDGE = 1e-4
"""km/h by which a range that ends on the ceiling may miss it in the last digits."""

APPROVAL = (
    "Changing the gears is a change of the powertrain and may itself need approval: after it the "
    "vehicle has to meet the rules of its class (Regulation (EU) No 168/2013, Art. 20, and local "
    "law, which decides)."
)
"""What is told with every answer about lawfulness."""


@dataclass(frozen=True, slots=True)
class Standing:
    """What speaks for or against a class beside the speed; None where it is not known.

    Attributes:
        displacement_cm3: of the engine.
        power_w: peak power of the engine as it stands.
        running_order_kg: mass in running order.
    """

    displacement_cm3: float | None = None
    power_w: float | None = None
    running_order_kg: float | None = None


def class_of(subject: Subject) -> Entry[VehicleClass] | None:
    """The class of the machine's record, else the one its family is approved in; None: neither.

    Raises:
        UsageError: the record names a class that is not on file.
    """
    catalogue = subject.catalogue
    if subject.entry is not None and subject.entry.record.vehicle_class is not None:
        name, place = subject.entry.record.vehicle_class, subject.entry.place("vehicle_class")
        return find_class(catalogue, name, place)
    if subject.entry is None and subject.family.record.vehicle_class is not None:
        family = subject.family
        assert family.record.vehicle_class is not None
        return find_class(catalogue, family.record.vehicle_class, family.place("vehicle_class"))
    return None


def needed_class(subject: Subject, asked: Entry[VehicleClass] | None = None) -> Entry[VehicleClass]:
    """The class to judge by.

    Raises:
        UsageError: none is asked for and none is on file.
    """
    found = asked if asked is not None else class_of(subject)
    if found is None:
        where = f", or add vehicle_class at {subject.entry.place()}" if subject.entry else ""
        raise UsageError(
            with_hint(
                f"{subject.name} is registered in no class on file, so nothing says what is lawful",
                f"give --class NAME{where}",
            )
        )
    return found


def class_answer(
    vehicle_class: Entry[VehicleClass],
    top: Figure | None,
    reduction: float | None = None,
    standing: Standing | None = None,
    *,
    measured: bool = False,
) -> ClassAnswer:
    """One gearing against a class.

    Args:
        vehicle_class: the class.
        top: predicted top speed on the flat, km/h, or None where it is not known.
        reduction: overall reduction in the top ratio, variator included, or None.
        standing: what else is known of the machine.
        measured: whether the present top speed was measured, so that it need not be asked for.
    """
    record = vehicle_class.record
    others = tuple(_others(record, standing or Standing()))
    ceiling = None if record.max_speed_km_h is None else float(record.max_speed_km_h)
    too_tall = _too_tall(record, reduction)
    if too_tall is not None:
        answer, sentence = LawfulAnswer.OVER, f"{too_tall} So it is outside its class."
    elif ceiling is None:
        answer = LawfulAnswer.WITHIN
        sentence = f"{record.name}, {record.place}, sets no speed ceiling."
    else:
        answer, sentence = _speed_answer(record.name, ceiling, top, measured)
    return ClassAnswer(
        vehicle_class=vehicle_class,
        answer=answer,
        top=top,
        ceiling_km_h=ceiling,
        sentence=sentence,
        others=others,
    )


def judges_gearing(record: VehicleClass) -> bool:
    """Whether a class sets anything that gears can break: a speed, or a least reduction."""
    return record.max_speed_km_h is not None or record.min_overall_reduction is not None


def ceiling_words(km_h: float) -> str:
    """A ceiling in km/h as one would say it; those made of mph are rounded."""
    return f"{km_h:.1f} km/h".replace(".0 ", " ")


def _speed_answer(
    name: str, ceiling: float, top: Figure | None, measured: bool
) -> tuple[LawfulAnswer, str]:
    limit = f"{ceiling_words(ceiling)} of {name}"
    if top is None:
        words = f"Whether it stays within the {limit} is not known: no top speed can be worked out."
        return LawfulAnswer.UNKNOWN, words
    if top.high <= 0:
        words = f"Within the {limit}: with a rider of 75 kg it does not start on the flat."
        return LawfulAnswer.WITHIN, words
    if abs(top.high - ceiling) < _ON_THE_EDGE:
        top = Figure(min(top.value, ceiling), min(top.low, ceiling), ceiling)
    places = decimals(top, ceiling)
    span = f"{top.low:.{places}f} to {top.high:.{places}f} km/h on the flat with a rider of 75 kg"
    if top.high <= ceiling:
        return LawfulAnswer.WITHIN, f"Within the {limit}: {span}."
    if top.low > ceiling:
        return LawfulAnswer.OVER, f"Over the {limit}: {span}, so outside its class."
    words = f"The top speed may be above or below the {limit}: {span}. "
    if measured:
        words += "Measure again once it is fitted, before it goes on the road."
        return LawfulAnswer.STRADDLES, words
    advice = "Measure the present top speed by GPS{} before you promise anything."
    asked = ShopWords(advice.format(" (--measured-top)"), advice.format(""))
    return LawfulAnswer.STRADDLES, around(asked, words)


def decimals(top: Figure, ceiling: float) -> int:
    """Decimals by which rounding puts neither end of a range on the wrong side of a ceiling."""
    for places in range(3):
        if all((round(end, places) > ceiling) == (end > ceiling) for end in (top.low, top.high)):
            return places
    return 3


def _others(record: VehicleClass, standing: Standing) -> list[str]:
    found = []
    size, most = standing.displacement_cm3, record.max_displacement_cm3
    if size is not None and most is not None and size > float(most):
        found.append(f"{size:g} cm3 is over the {float(most):g} cm3 of {record.name}.")
    power, most = standing.power_w, record.max_power_w
    if power is not None and most is not None and power > float(most):
        found.append(
            f"{power / 1000:.3g} kW at the crankshaft is over the {float(most) / 1000:g} kW of "
            f"{record.name}."
        )
    mass, most = standing.running_order_kg, record.max_power_per_mass_w_kg
    if power is not None and mass is not None and most is not None and power / mass > float(most):
        found.append(f"{power / mass:.0f} W/kg is over the {float(most):g} W/kg of {record.name}.")
    if mass is not None and record.max_mass_kg is not None and mass > float(record.max_mass_kg):
        found.append(
            f"{mass:.0f} kg is over the {float(record.max_mass_kg):g} kg of {record.name}."
        )
    return found


def _too_tall(record: VehicleClass, reduction: float | None) -> str | None:
    """The least overall reduction of the class, where a gearing falls short of it."""
    least = record.min_overall_reduction
    if reduction is None or least is None or reduction >= float(least):
        return None
    return (
        f"An overall reduction of {reduction:.2f} in the top ratio is under the "
        f"{float(least):g} that {record.name} asks for."
    )
