"""The band of road-speed change an engine's tune tolerates, exact and inclusive."""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from fitcheck.catalogue.reader import Entry
from fitcheck.errors import UsageError
from fitcheck.model.family import Family
from fitcheck.model.trade import Tune

_DOTS = re.compile(r"(?<!\.)\s*\.\.\s*(?!\.)")
"""Two dots, not three: in `0...5` nobody can say whether .5 was meant."""

_PERCENTAGE = re.compile(r"[+-]?(?:[0-9]+(?:\.[0-9]+)?|\.[0-9]+)")
_MINUS_SIGNS = dict.fromkeys([0x2212, *range(0x2010, 0x2016), 0xFE63, 0xFF0D], "-")


class BandVerdict(StrEnum):
    """Where a road-speed change lies against a band."""

    SHORTER = "shorter"
    BELOW = "below"
    IN = "in"
    STRETCH = "stretch"
    OVER = "over"
    NONE = "none"


BAND_WORDS = {
    BandVerdict.SHORTER: "shorter",
    BandVerdict.BELOW: "below",
    BandVerdict.IN: "in band",
    BandVerdict.STRETCH: "stretch",
    BandVerdict.OVER: "over",
    BandVerdict.NONE: "no band",
}
"""What a verdict is called on screen."""


@dataclass(frozen=True, slots=True)
class Band:
    """A window of road-speed change in percent; both edges are inside.

    Attributes:
        low: least change worth the work.
        high: greatest the engine pulls.
        stretch: up to here a careful build may go; equal to high where there is no stretch.
        name: the tune's name.
        narrowed: whether the family sets an edge of its own.
    """

    low: Fraction
    high: Fraction
    stretch: Fraction
    name: str
    narrowed: bool

    def verdict(self, change: Fraction) -> BandVerdict:
        """Where an exact road-speed change lies."""
        if self.low <= change <= self.high:
            return BandVerdict.IN
        if change < 0:
            return BandVerdict.SHORTER
        if change < self.low:
            return BandVerdict.BELOW
        if change <= self.stretch:
            return BandVerdict.STRETCH
        return BandVerdict.OVER


def band_of(tune: Entry[Tune], family: Entry[Family]) -> Band:
    """The band of a tune in a family: the family's own edges stand before the tune's."""
    general = tune.record
    own = family.record.bands.get(tune.id)
    low = general.low if own is None or own.low is None else own.low
    high = general.high if own is None or own.high is None else own.high
    stretch = general.stretch if own is None or own.stretch is None else own.stretch
    high_exact = Fraction(high)
    stretch_exact = high_exact if stretch is None else max(Fraction(stretch), high_exact)
    narrowed = own is not None and (own.low, own.high, own.stretch) != (None, None, None)
    return Band(
        low=Fraction(low),
        high=high_exact,
        stretch=stretch_exact,
        name=general.name,
        narrowed=narrowed,
    )


def read_window(text: str) -> tuple[Fraction | None, Fraction | None]:
    """Read a percent window such as `10..15`, `-12.5..0`, `..20` or `5..`.

    Returns:
        (low, high) as exact fractions, None for an open side.

    Raises:
        UsageError: it is no such window, or its edges are swapped.
    """
    hint = "write it as low..high in percent, like 10..15 or -5..0"
    shown = text if len(text) <= 40 else text[:37] + "..."
    parts = _DOTS.split(text.strip())
    if len(parts) != 2:
        raise UsageError(f"{shown!r} is no percent window; {hint}")
    edges: list[Fraction | None] = []
    for part in parts:
        given = part.removesuffix("%").strip()
        if not given:
            edges.append(None)
            continue
        edge = _exact(given)
        if edge is None:
            raise UsageError(f"{given[:40]!r} is no percentage; {hint}")
        edges.append(edge)
    low, high = edges
    if low is None and high is None:
        raise UsageError(f"{shown!r} gives no edge; {hint}")
    if low is not None and high is not None and low > high:
        raise UsageError(f"the window {shown} runs backwards; {hint}")
    if high is not None and high <= -100:
        raise UsageError("a road-speed change is always over -100 %; " + hint)
    return low, high


def _exact(text: str) -> Fraction | None:
    plain = text.translate(_MINUS_SIGNS).replace(",", ".")
    if len(plain) > 20 or _PERCENTAGE.fullmatch(plain) is None:
        return None
    value = Fraction(plain)
    return value if abs(value) <= 1_000_000 else None
