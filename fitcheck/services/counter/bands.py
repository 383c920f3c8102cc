"""The band of road-speed change an engine's tune tolerates, exact and inclusive."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from fitcheck.catalogue.reader import Entry
from fitcheck.model.family import Family
from fitcheck.model.trade import Tune


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
    return Band(Fraction(low), high_exact, stretch_exact, general.name, narrowed=narrowed)
