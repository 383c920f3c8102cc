"""Machines to serve and kits for them, and the answer of `shelf gaps`: how well each is served."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from fractions import Fraction
from typing import Annotated, NamedTuple, TypedDict

from fitcheck.answers.combination import GearSets, named_sets
from fitcheck.answers.figures import number_words
from fitcheck.answers.machine import FactoryTrain, Header, factory_train, header
from fitcheck.answers.shapes import (
    At,
    AtLeast0,
    By,
    CurrencyCode,
    Money,
    More,
    Name,
    RecordPlace,
    Whole,
    fill,
    words,
)
from fitcheck.answers.tables import COUNT, MONEY, RATIO, Cell, Column, Figure, Table
from fitcheck.services.shelf.demands import Asked
from fitcheck.services.shelf.demands import Demand as Asking
from fitcheck.services.shelf.gaps import Gap as Found
from fitcheck.services.shelf.gaps import Gaps, State
from fitcheck.services.shelf.supply import Kit as Choice

_Ids = Annotated[list[Name], More(minItems=1, maxItems=3)]
_FewIds = Annotated[list[Name], More(maxItems=3)]


class Planning(Header):
    """What both answers begin with."""

    asked: Annotated[Asked, At("demands.asked")]
    """Who is served: machines on record, or the factory trains of families under every tune."""
    lawful: bool
    """Whether only what the class is sure to allow serves a machine."""


class Demand(TypedDict):
    """A machine to serve."""

    machine: Annotated[str, At("id")]
    """Its id; of a factory train family/number/tune, the number from 1."""
    name: Annotated[str, At("subject.name")]
    """What the counter calls it."""
    family: Annotated[str, At("family.id")]
    """Id of its family."""
    tune: Annotated[str, At("subject.tune.id")]
    """Id of its tune."""
    factory_train: FactoryTrain | None
    """Null for a machine on record."""
    visits: Annotated[AtLeast0, At("weight")]
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

    machine: Annotated[str, At("id")]
    """Its id."""
    name: str
    """What the counter calls it."""
    family: str
    """The family its record names."""
    reason: str
    """Why, one sentence."""


UnjudgedOnes = Annotated[
    list[Unjudged], More(description="Those left out, and why."), At("demands.unjudged")
]
KitSets = Annotated[GearSets, More(description="Every gear set the kits name, once, by id.")]


def demand_of(demand: Asking) -> Demand:
    """A machine to serve."""
    train = None if demand.train is None else factory_train(demand.family, demand.train)
    return fill(Demand, demand, factory_train=train)


def _state_word(state: State) -> str:
    return state.name.lower()


def _counts(counts: Mapping[State, int]) -> _Counts:
    return {_state_word(state): number for state, number in counts.items()}  # type: ignore[return-value]


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

    state: Annotated[str, words(map(_state_word, State)), By(_state_word)]
    """How well; `counts` tells the words."""
    in_band: Annotated[Whole, At("supply.in_band")]
    """Choices on the shelf of proved fit and in band."""
    unproven: Annotated[Whole, At("supply.unproven")]
    """Choices on the shelf in band, but of unproven fit: none serves."""
    law: Annotated[_Law | None, At("supply.law")]
    closers: list[Kit]
    """What would close the gap, or add to the one choice, cheapest first; empty for a machine that
    is served."""
    all_closers: Whole
    """How many there are, whatever `top` cuts."""
    unclear_closers: Annotated[Whole, At("supply.unclear_kits")]
    """Others, of which nobody can say whether lawful."""
    over_closers: Annotated[Whole, At("supply.over_kits")]
    """Others, sure to leave the class."""


class _Family(TypedDict):
    """The machines of one family."""

    family: Annotated[str, At("family.id")]
    """Its id."""
    family_name: Annotated[str, At("family.record.name")]
    """Its name."""
    place: Annotated[RecordPlace, At("family")]
    """Where its record stands."""
    counts: Annotated[_Counts, By(_counts)]
    machines: Annotated[list[_Gap], More(minItems=1)]
    """All of them, served or not."""


class GapsAnswer(Planning):
    """One answer of `shelf gaps`."""

    top: Whole | None
    """At most so many closers a machine; null for all."""
    counts: Annotated[_Counts, By(_counts)]
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
    families = [
        fill(_Family, family, machines=[_gap(gap, top) for gap in family.machines])
        for family in found.families
    ]
    return fill(
        GapsAnswer,
        found,
        **header("shelf-gaps", catalogue),
        top=top,
        families=families,
        gear_sets=named_sets(catalogue, named),
    )


def _gap(gap: Found, top: int | None) -> _Gap:
    demand = demand_of(gap.supply.demand)
    return fill(_Gap, gap, **demand, closers=gap.closers[:top], all_closers=len(gap.closers))


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


def _ids(name: str) -> Callable[[_Row], str | None]:
    """Ids of the kit; None where there is none."""
    return lambda row: None if row.kit is None else "; ".join(getattr(row.kit, name))


def _visits(value: Fraction) -> Cell:
    return Figure(number_words(value))


_MACHINE = (
    Column("family", value="gap.supply.demand.family.id"),
    Column("machine", value="gap.supply.demand.id"),
    Column("name", value="gap.supply.demand.subject.name"),
    Column("tune", value="gap.supply.demand.subject.tune.id"),
    Column(
        "visits",
        value="gap.supply.demand.weight",
        kind=RATIO._replace(plain=_visits, shown=_visits),
    ),
    Column("state", value="gap.state.value"),
    Column("in_band", value="gap.supply.in_band", kind=COUNT),
    Column("unproven", value="gap.supply.unproven", kind=COUNT),
)
_LAW = (
    Column("within", "within class", "gap.supply.law.within", COUNT),
    Column("unclear", "perhaps over", "gap.supply.law.unclear", COUNT),
    Column("over", "over class", "gap.supply.law.over", COUNT),
)
_KIT = (
    Column("buy", value=_ids("buy")),
    Column("with", "with, from shelf", _ids("from_shelf")),
    Column("price", value="kit.price", kind=MONEY),
    Column("currency", value="kit.currency"),
    Column("at_cost", "at last cost", _ids("at_cost")),
    Column("at_list", "at list price", _ids("at_list")),
)
