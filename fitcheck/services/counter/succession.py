"""Where a retired or superseded set leads: along its successors to the one sold now."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from fitcheck.catalogue.reader import Catalogue, Entry
from fitcheck.model.gear_set import GearSet

End = Literal["sold", "retired", "circle", "unknown"]


@dataclass(frozen=True, slots=True)
class Way:
    """The successors of a set, in order.

    Attributes:
        steps: their ids, the last being where the way ends; empty where none is named.
        end: what stands there: a set sold now, one retired with no other named, a set met
            before, or an id that no valid record has.
    """

    steps: tuple[str, ...]
    end: End

    @property
    def sold(self) -> str | None:
        """The set that takes the place in the end, or None where the way leads nowhere."""
        return self.steps[-1] if self.steps and self.end == "sold" else None


def way_on(catalogue: Catalogue, start: Entry[GearSet], first: str | None = None) -> Way:
    """Follow the successors of a set.

    Args:
        catalogue: the catalogue.
        start: the set.
        first: its successor, in place of the one on record.
    """
    steps: list[str] = []
    here = start.record.successor if first is None else first
    retired = start.record.status == "retired"
    while here is not None:
        if here == start.id or here in steps:
            return Way((*steps, here), "circle")
        steps.append(here)
        entry = catalogue.gear_sets.get(here)
        if entry is None:
            return Way(tuple(steps), "unknown")
        retired = entry.record.status == "retired"
        here = entry.record.successor
    return Way(tuple(steps), "retired" if retired else "sold")


def retired_note(catalogue: Catalogue, entry: Entry[GearSet]) -> str | None:
    """What to say where a retired set is named; None for one that is sold."""
    if entry.record.status != "retired":
        return None
    way = way_on(catalogue, entry)
    if not way.steps:
        return f"{entry.id} is retired, and no successor is named"
    return f"{entry.id} is retired; {_leads(catalogue, entry, way)}"


def superseded_note(catalogue: Catalogue, entry: Entry[GearSet]) -> str | None:
    """What to say where a set is named that is sold still, but has a successor; else None."""
    if entry.record.status == "retired" or entry.record.successor is None:
        return None
    return f"{entry.id} is superseded; {_leads(catalogue, entry, way_on(catalogue, entry))}"


def ways_on(catalogue: Catalogue, entries: Iterable[Entry[GearSet]]) -> list[str]:
    """The notes on some sets, each told once, in order."""
    notes = [
        note
        for entry in entries
        for note in (retired_note(catalogue, entry), superseded_note(catalogue, entry))
        if note is not None
    ]
    return list(dict.fromkeys(notes))


def _leads(catalogue: Catalogue, start: Entry[GearSet], way: Way) -> str:
    last, between = way.steps[-1], way.steps[:-1]
    by_way = f" by way of {', '.join(between)}" if between else ""
    if way.end == "sold":
        return f"its successor is {last}{by_way}{_other_teeth(start, catalogue.gear_sets[last])}"
    if way.end == "circle":
        return f"its successors go in a circle: {' → '.join(way.steps)}"
    if way.end == "unknown":
        return f"its successor is {last}{by_way}, which the catalogue does not hold"
    return f"its successor {last}{by_way} is retired too, and no other is named"


def _other_teeth(old: Entry[GearSet], new: Entry[GearSet]) -> str:
    if dict(old.record.pairs) == dict(new.record.pairs):
        return ""
    pairs = ", ".join(f"{stage} {new.record.pairs[stage]}" for stage in new.record.stages)
    return f", with other teeth ({pairs})"
