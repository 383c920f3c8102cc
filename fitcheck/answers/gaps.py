"""Machines to serve and kits for them, and the answer of `shelf gaps`: how well each is served."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from fractions import Fraction
from typing import Annotated, Any, NamedTuple, TypedDict

from fitcheck.answers.combination import GearSets, named_sets
from fitcheck.answers.declared import More, words
from fitcheck.answers.figures import number, number_words
from fitcheck.answers.machine import FactoryTrain, Header, factory_train, header
from fitcheck.answers.tables import COUNT, MONEY, RATIO, Cell, Column, Figure, Table
from fitcheck.answers.values import (
    AtLeast0,
    CurrencyCode,
    Money,
    Name,
    Place,
    Whole,
    money_or_none,
    place,
)
from fitcheck.services.shelf.demands import Asked, Demands
from fitcheck.services.shelf.demands import Demand as Asking
from fitcheck.services.shelf.gaps import FamilyGaps, Gaps, State
from fitcheck.services.shelf.gaps import Gap as Found
from fitcheck.services.shelf.supply import Kit as Choice

_Ids = Annotated[list[Name], More(minItems=1, maxItems=3)]
_FewIds = Annotated[list[Name], More(maxItems=3)]


class Planning(Header):
    """What both answers begin with."""

    asked: Asked
    """Who is served: machines on record, or the factory trains of families under every tune."""
    lawful: bool
    """Whether only what the class is sure to allow serves a machine."""


class Demand(TypedDict):
    """A machine to serve."""

    machine: str
    """Its id; of a factory train family/number/tune, the number from 1."""
    name: str
    """What the counter calls it."""
    family: str
    """Id of its family."""
    tune: str
    """Id of its tune."""
    factory_train: FactoryTrain | None
    """Null for a machine on record."""
    visits: AtLeast0
    """How often it comes; 1 where nobody said."""


class Kit(TypedDict):
    """Sets that serve a machine together, some of which are still to be bought."""

    sets: _Ids
    """Ids of all of them, from input shaft to wheel."""
    buy: _Ids
    """Ids of those that do not lie on the shelf."""
    price: Money | None
    """Of those to buy; null where a price is unknown or currencies differ."""
    currency: CurrencyCode | None
    """ISO 4217 code of the price."""
    at_cost: _FewIds
    """Ids of those to buy that are at what the shop paid last; the others go by the suppliers'
    lists."""
    at_list: _FewIds
    """Ids of those to buy for which the list price stands in, since neither a cost nor a discount
    of the supplier is on record."""


class Unjudged(TypedDict):
    """A machine of which nobody can say what serves it."""

    machine: str
    """Its id."""
    name: str
    """What the counter calls it."""
    family: str
    """The family its record names."""
    reason: str
    """Why, one sentence."""


UnjudgedOnes = Annotated[list[Unjudged], More(description="Those left out, and why.")]
KitSets = Annotated[GearSets, More(description="Every gear set the kits name, once, by id.")]


def demand_of(demand: Asking) -> Demand:
    """A machine to serve."""
    tune, family = demand.subject.tune, demand.family
    assert tune is not None
    return {
        "machine": demand.id,
        "name": demand.subject.name,
        "family": family.id,
        "tune": tune.id,
        "factory_train": None if demand.train is None else factory_train(family, demand.train),
        "visits": number(demand.weight),
    }


def kit_of(kit: Choice) -> Kit:
    """Sets that serve a machine together."""
    return {
        "sets": list(kit.sets),
        "buy": list(kit.buy),
        "price": money_or_none(kit.price),
        "currency": kit.currency,
        "at_cost": list(kit.at_cost),
        "at_list": list(kit.at_list),
    }


def unjudged_of(demands: Demands) -> list[Unjudged]:
    """Machines of which nobody can say what serves them."""
    return [
        {"machine": one.id, "name": one.name, "family": one.family, "reason": one.reason}
        for one in demands.unjudged
    ]


class _Counts(TypedDict):
    """How many machines are in each state."""

    nothing: Whole
    """The shelf holds nothing of proved fit in band."""
    unlawful: Whole
    """Something, but nothing its class allows; 0 where the law is not asked."""
    unclear: Whole
    """Something, but nobody can say whether lawful; 0 likewise."""
    one: Whole
    """One choice serves it."""
    served: Whole
    """Two choices or more serve it."""


class _Law(TypedDict):
    """What its class says of the choices counted in `in_band`."""

    within: Whole
    """Sure to stay within it: these serve."""
    unclear: Whole
    """Nobody can say."""
    over: Whole
    """Sure to leave it."""
    problem: str | None
    """What keeps every choice from being sure; null where nothing does."""


class _Gap(Demand):
    """How well the shelf serves one machine."""

    state: Annotated[str, words(state.name.lower() for state in State)]
    """How well; `counts` tells the words."""
    in_band: Whole
    """Choices on the shelf of proved fit and in band."""
    unproven: Whole
    """Choices on the shelf in band, but of unproven fit: none serves."""
    law: _Law | None
    closers: list[Kit]
    """What would close the gap, or add to the one choice, cheapest first; empty for a machine that
    is served."""
    all_closers: Whole
    """How many there are, whatever `top` cuts."""
    unclear_closers: Whole
    """Others, of which nobody can say whether lawful."""
    over_closers: Whole
    """Others, sure to leave the class."""


class _Family(TypedDict):
    """The machines of one family."""

    family: str
    """Its id."""
    family_name: str
    """Its name."""
    place: Place
    """Where its record stands."""
    counts: _Counts
    machines: Annotated[list[_Gap], More(minItems=1)]
    """All of them, served or not."""


class GapsAnswer(Planning):
    """One answer of `shelf gaps`."""

    top: Whole | None
    """At most so many closers a machine; null for all."""
    counts: _Counts
    families: list[_Family]
    """Families that have a machine, as on file."""
    unjudged: UnjudgedOnes
    gear_sets: KitSets


def gaps_answer(found: Gaps, top: int | None) -> GapsAnswer:
    """One answer of `shelf gaps` as plain data for `json.dumps`.

    Args:
        found: the answer.
        top: at most so many ways to close each gap; None for all.
    """
    catalogue = found.demands.catalogue
    machines = [gap for family in found.families for gap in family.machines]
    named = [id_ for gap in machines for kit in gap.closers[:top] for id_ in kit.sets]
    return {
        **header("shelf-gaps", catalogue),
        "asked": found.demands.asked,
        "lawful": found.lawful,
        "top": top,
        "counts": _counts(found.counts),
        "families": [_family(family, top) for family in found.families],
        "unjudged": unjudged_of(found.demands),
        "gear_sets": named_sets(catalogue, named),
    }


def _counts(counts: Mapping[State, int]) -> _Counts:
    return {state.name.lower(): number for state, number in counts.items()}  # type: ignore[return-value]


def _family(family: FamilyGaps, top: int | None) -> _Family:
    return {
        "family": family.family.id,
        "family_name": family.family.record.name,
        "place": place(family.family.span()),
        "counts": _counts(family.counts),
        "machines": [_gap(gap, top) for gap in family.machines],
    }


def _gap(gap: Found, top: int | None) -> _Gap:
    supply = gap.supply
    law = supply.law
    return {
        **demand_of(supply.demand),
        "state": gap.state.name.lower(),
        "in_band": supply.in_band,
        "unproven": supply.unproven,
        "law": None
        if law is None
        else {
            "within": law.within,
            "unclear": law.unclear,
            "over": law.over,
            "problem": law.problem,
        },
        "closers": [kit_of(kit) for kit in gap.closers[:top]],
        "all_closers": len(gap.closers),
        "unclear_closers": supply.unclear_kits,
        "over_closers": supply.over_kits,
    }


class _Row(NamedTuple):
    """A way to close a gap, or a machine without any."""

    gap: Found
    kit: Choice | None


def gaps_table(found: Gaps, top: int | None) -> Table:
    """A row for each way to close a gap, and one for a machine without any."""
    rows = [
        _Row(gap, kit)
        for family in found.families
        for gap in family.machines
        for kit in gap.closers[:top] or [None]
    ]
    return Table([*_MACHINE, *(_LAW if found.lawful else ()), *_KIT], rows)


def _of_kit(value: Callable[[Choice], Any]) -> Callable[[_Row], Any]:
    """A value of the kit; None where there is none."""
    return lambda row: None if row.kit is None else value(row.kit)


def _visits(value: Fraction) -> Cell:
    return Figure(number_words(value))


_MACHINE = (
    Column("family", "family", lambda row: row.gap.supply.demand.family.id),
    Column("machine", "machine", lambda row: row.gap.supply.demand.id),
    Column("name", "name", lambda row: row.gap.supply.demand.subject.name),
    Column("tune", "tune", lambda row: row.gap.supply.demand.subject.tune.id),
    Column(
        "visits",
        "visits",
        lambda row: row.gap.supply.demand.weight,
        RATIO._replace(plain=_visits, shown=_visits),
    ),
    Column("state", "state", lambda row: row.gap.state.value),
    Column("in_band", "in band", lambda row: row.gap.supply.in_band, COUNT),
    Column("unproven", "unproven", lambda row: row.gap.supply.unproven, COUNT),
)
_LAW = (
    Column("within", "within class", lambda row: row.gap.supply.law.within, COUNT),
    Column("unclear", "perhaps over", lambda row: row.gap.supply.law.unclear, COUNT),
    Column("over", "over class", lambda row: row.gap.supply.law.over, COUNT),
)
_KIT = (
    Column("buy", "buy", _of_kit(lambda kit: "; ".join(kit.buy))),
    Column("with", "with, from shelf", _of_kit(lambda kit: "; ".join(kit.from_shelf))),
    Column("price", "price", _of_kit(lambda kit: kit.price), MONEY),
    Column("currency", "currency", _of_kit(lambda kit: kit.currency)),
    Column("at_cost", "at last cost", _of_kit(lambda kit: "; ".join(kit.at_cost))),
    Column("at_list", "at list price", _of_kit(lambda kit: "; ".join(kit.at_list))),
)
