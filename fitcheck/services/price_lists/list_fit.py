"""What a search says of a supplier's list: each row fits, may fit, does not, or is another's."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import TYPE_CHECKING, Literal, get_args

from fitcheck.diagnostics.finding import Span

if TYPE_CHECKING:  # what answers and screens need of a list does not bring in its readers
    from fitcheck.catalogue.reader import Entry
    from fitcheck.model.gear_set import GearSet
    from fitcheck.services.price_lists.outcomes import RowOutcome
    from fitcheck.services.price_lists.search import OpenList

Fit = Literal["fits", "may-fit", "unknown-engine", "does-not-fit", "other-family", "no-gear-set"]
FITS: tuple[Fit, ...] = get_args(Fit)


@dataclass(frozen=True, slots=True)
class RowFit:
    """One row of a list as it suits a machine.

    Attributes:
        row: what `import` would make of it.
        fit: what it is; every row of a list is exactly one of these.
        entry: the set, as far as it is read.
        reason: one sentence; empty for a set that fits alone.
        rule: the rule of fit that is open, or that rules it out; empty where none is.
        places: where the data stand that this rests on.
        beside: ids of the sets that must come with it, where it does not fit alone.
        change: road-speed change of it alone, percent, exact; None where that is not known.
    """

    row: RowOutcome
    fit: Fit
    entry: Entry[GearSet] | None = None
    reason: str = ""
    rule: str = ""
    places: tuple[Span, ...] = ()
    beside: tuple[str, ...] = ()
    change: Fraction | None = None


@dataclass(frozen=True)
class ListFit:
    """A list and what its rows are to a machine, or to any factory train of a family."""

    opened: OpenList
    rows: Sequence[RowFit]

    @property
    def counts(self) -> dict[Fit, int]:
        """How many rows are what; together they are all rows of the list."""
        counted = Counter(one.fit for one in self.rows)
        return {fit: counted[fit] for fit in FITS}

    def of(self, fit: Fit) -> list[RowFit]:
        """The rows of one kind, in order."""
        return [one for one in self.rows if one.fit == fit]


def best_of(found: Sequence[Sequence[ListFit]]) -> list[ListFit]:
    """The same lists judged for several trains as one: each row as it suits best."""
    merged = []
    for of_list in zip(*found, strict=True):
        rows = [
            same[0]
            if len(same) == 1
            else replace(min(same, key=lambda one: FITS.index(one.fit)), change=None)
            for same in zip(*(each.rows for each in of_list), strict=True)
        ]
        merged.append(ListFit(of_list[0].opened, rows))
    return merged
