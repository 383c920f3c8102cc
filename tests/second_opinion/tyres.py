"""How road speed changes with the tyre, from docs/tyres.md, for the second matcher."""

from __future__ import annotations

import re
from fractions import Fraction

from tests.second_opinion.cases import met
from tests.second_opinion.reading import Record, Records


def nearest(value: Fraction) -> int:
    """To the nearest whole number, halves up."""
    return int(value + Fraction(1, 2))


def by_rule(size: str) -> Fraction:
    """Roll-out of a size, mm."""
    metric = re.fullmatch(r"(\d+)/(\d+)-(\d+)", size)
    if metric:
        width, aspect, rim = map(int, metric.groups())
        return Fraction("3.05") * (
            nearest(Fraction("25.4") * rim) + 2 * nearest(Fraction(width * aspect, 100))
        )
    width, _, rim = size.partition("-")
    inches = nearest(Fraction("25.4") * int(rim)) + 2 * Fraction("25.4") * Fraction(width)
    return Fraction("3.05") * nearest(inches)


def on_file(records: Records, word: str) -> Record | None:
    """The catalogue's tyre of this id or size."""
    tyres = records["tyre"]
    return tyres.get(word) or next((t for t in tyres.values() if t["size"] == word), None)


def tyre_ratio(records: Records, now: Record, after: str) -> Fraction:
    """Roll-out of a new tyre over that of the present one, both taken in the same way.

    NOW holds what is known of the present one, as a machine's record does.
    """
    new = on_file(records, after)
    tyre = now.get("tyre") or now.get("tyre_size")
    old = on_file(records, tyre) if tyre else None
    if new and "roll_out_mm" in new:
        counted = old["roll_out_mm"] if old and "roll_out_mm" in old else now.get("roll_out_mm")
        if counted:
            met["tyre: counted against counted"] += 1
            return Fraction(new["roll_out_mm"]) / Fraction(counted)
    if tyre:
        met["tyre: by rule against by rule"] += 1
        return by_rule(new["size"] if new else after) / by_rule(old["size"] if old else tyre)
    met["tyre: by rule against a measured one"] += 1
    return by_rule(new["size"] if new else after) / Fraction(now["roll_out_mm"])


def present(records: Records, machine: Record) -> Fraction | None:
    """What a machine rolls in a turn now, mm."""
    if "roll_out_mm" in machine:
        return Fraction(machine["roll_out_mm"])
    tyre = machine.get("tyre") or machine.get("tyre_size")
    if tyre is None:
        return None
    known = on_file(records, tyre)
    if known and "roll_out_mm" in known:
        return Fraction(known["roll_out_mm"])
    return by_rule(known["size"] if known else tyre)
