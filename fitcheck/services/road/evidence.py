"""How an input of the road model is known, and the spread that goes with it."""

from __future__ import annotations

from dataclasses import dataclass

from fitcheck.services.road.defaults import INPUTS
from fitcheck.services.road.figures import Given


@dataclass(frozen=True, slots=True)
class Known:
    """How an input is known: kind of evidence, and where from."""

    kind: str
    source: str


SAID = Known("given", "said at the counter")


def made(key: str, value: float, known: Known, name: str | None = None) -> Given:
    """An input with the spread that is usual for its kind of evidence."""
    kind = INPUTS[key]
    spread = kind.spreads[known.kind] * value
    return Given(
        key=key,
        name=name or kind.name,
        value=value,
        unit=kind.unit,
        kind=known.kind,
        spread=spread,
        source=known.source,
    )
