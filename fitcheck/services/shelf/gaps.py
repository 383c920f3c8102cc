"""Gaps of the shelf: machines for which it holds nothing that serves them, or one choice only."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from itertools import groupby

from fitcheck.catalogue.reader import Entry
from fitcheck.model.family import Family
from fitcheck.services.shelf.demands import Demands
from fitcheck.services.shelf.supply import Kit, Market, Supply


class State(StrEnum):
    """How well the shelf serves a machine."""

    NOTHING = "nothing in band"
    UNLAWFUL = "nothing lawful"
    UNCLEAR = "lawfulness unclear"
    ONE = "one choice"
    SERVED = "served"


@dataclass(frozen=True, slots=True)
class Gap:
    """How well the shelf serves one machine, and what would serve it better.

    Attributes:
        supply: what serves it.
        state: how well.
    """

    supply: Supply
    state: State

    @property
    def closers(self) -> tuple[Kit, ...]:
        """What closes the gap, or adds to the one choice, cheapest first; none where served."""
        return () if self.state is State.SERVED else self.supply.kits


@dataclass(frozen=True)
class FamilyGaps:
    """The machines of one family.

    Attributes:
        family: the family.
        machines: all of them, served or not.
    """

    family: Entry[Family]
    machines: tuple[Gap, ...]

    @property
    def counts(self) -> Mapping[State, int]:
        """How many machines are in each state; every state is there."""
        return _counts(self.machines)

    @property
    def gaps(self) -> tuple[Gap, ...]:
        """Those that are not served by two choices or more."""
        return tuple(gap for gap in self.machines if gap.state is not State.SERVED)


@dataclass(frozen=True)
class Gaps:
    """The answer, by family.

    Attributes:
        demands: who was asked about.
        lawful: whether the law was asked.
        families: the families that have a machine.
    """

    demands: Demands
    lawful: bool
    families: tuple[FamilyGaps, ...]

    @property
    def counts(self) -> Mapping[State, int]:
        """How many machines are in each state; every state is there."""
        return _counts(gap for family in self.families for gap in family.machines)


def gaps(demands: Demands, *, lawful: bool = False) -> Gaps:
    """Say of each machine how well the shelf serves it, and what would close the gap.

    Args:
        demands: the machines.
        lawful: whether only what the class is sure to allow serves a machine.
    """
    market = Market(demands.catalogue, lawful=lawful)
    found = []
    for _, group in groupby(demands.judged, key=lambda one: one.family.id):
        supplies = [market.supply(one) for one in group]
        machines = tuple(Gap(supply, state_of(supply)) for supply in supplies)
        found.append(FamilyGaps(supplies[0].demand.family, machines))
    return Gaps(demands, lawful, tuple(found))


def state_of(supply: Supply) -> State:
    """How well the shelf serves a machine."""
    if supply.serving:
        return State.ONE if supply.serving == 1 else State.SERVED
    if not supply.in_band:
        return State.NOTHING
    assert supply.law is not None
    return State.UNCLEAR if supply.law.unclear else State.UNLAWFUL


def _counts(machines: Iterable[Gap]) -> Mapping[State, int]:
    counted = Counter(gap.state for gap in machines)
    return {state: counted[state] for state in State}
