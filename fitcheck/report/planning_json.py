"""The answers of `shelf gaps` and `shelf plan` as JSON; schemas/shelf-*.output.schema.json."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal

from fitcheck.answers.figures import money, number
from fitcheck.report.json_parts import Data, header, named_sets_data, place_data, train_data
from fitcheck.services.planning.demands import Demand, Demands
from fitcheck.services.planning.gaps import FamilyGaps, Gap, Gaps, State
from fitcheck.services.planning.plan import Plan, Quality, Tally
from fitcheck.services.planning.supply import Kit, LawCount

__all__ = ["gaps_data", "plan_data"]


def gaps_data(found: Gaps, top: int | None) -> Data:
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
        "families": [_family_data(family, top) for family in found.families],
        "unjudged": _unjudged(found.demands),
        "gear_sets": named_sets_data(catalogue, named),
    }


def plan_data(found: Plan) -> Data:
    """One answer of `shelf plan` as plain data."""
    catalogue = found.demands.catalogue
    kits = [one.kit for one in found.served]
    kits += [one.kit for one in found.unserved if one.kit is not None]
    named = [id_ for kit in kits for id_ in kit.sets]
    return {
        **header("shelf-plan", catalogue),
        "asked": found.demands.asked,
        "lawful": found.lawful,
        "weighted": found.demands.weighted,
        "unweighted": found.demands.unweighted,
        "currency": found.currency,
        "budget": _money(found.budget),
        "spent": _money(found.spent),
        "left": _money(found.left),
        "before": _tally(found.before),
        "after": _tally(found.after),
        "all": _tally(found.all_machines),
        "buy": [
            {
                "set": one.gear_set.id,
                "supplier": one.gear_set.record.supplier,
                "part_number": one.gear_set.record.part_number,
                "pieces": 1,
                "price": _money(one.price),
                "price_from": one.source,
                "serves": [demand.id for demand in one.serves],
            }
            for one in found.bought
        ],
        "served": [{**_demand_data(one.demand), "kit": _kit_data(one.kit)} for one in found.served],
        "unserved": [
            {
                **_demand_data(one.demand),
                "why": one.why.value,
                "kit": None if one.kit is None else _kit_data(one.kit),
            }
            for one in found.unserved
        ],
        "unjudged": _unjudged(found.demands),
        "left_out": {
            "other_currencies": dict(found.other_currencies),
            "unpriced": found.unpriced,
        },
        "at_list": {"sets": found.at_list, "of": found.helping},
        "quality": _quality(found.quality),
        "gear_sets": named_sets_data(catalogue, named),
    }


def _money(value: Decimal | None) -> Data | None:
    return None if value is None else {"amount": float(value), "exact": money(value)}


def _counts(counts: Mapping[State, int]) -> Data:
    return {state.name.lower(): number for state, number in counts.items()}


def _tally(tally: Tally) -> Data:
    return {"machines": tally.machines, "visits": number(tally.weight)}


def _demand_data(demand: Demand) -> Data:
    tune, family = demand.subject.tune, demand.family
    assert tune is not None
    return {
        "machine": demand.id,
        "name": demand.subject.name,
        "family": family.id,
        "tune": tune.id,
        "factory_train": None if demand.train is None else train_data(family, demand.train),
        "visits": number(demand.weight),
    }


def _kit_data(kit: Kit) -> Data:
    return {
        "sets": list(kit.sets),
        "buy": list(kit.buy),
        "price": _money(kit.price),
        "currency": kit.currency,
        "at_cost": list(kit.at_cost),
        "at_list": list(kit.at_list),
    }


def _family_data(family: FamilyGaps, top: int | None) -> Data:
    return {
        "family": family.family.id,
        "family_name": family.family.record.name,
        "place": place_data(family.family.span()),
        "counts": _counts(family.counts),
        "machines": [_gap_data(gap, top) for gap in family.machines],
    }


def _gap_data(gap: Gap, top: int | None) -> Data:
    supply = gap.supply
    return {
        **_demand_data(supply.demand),
        "state": gap.state.name.lower(),
        "in_band": supply.in_band,
        "unproven": supply.unproven,
        "law": None if supply.law is None else _law_data(supply.law),
        "closers": [_kit_data(kit) for kit in gap.closers[:top]],
        "all_closers": len(gap.closers),
        "unclear_closers": supply.unclear_kits,
        "over_closers": supply.over_kits,
    }


def _law_data(law: LawCount) -> Data:
    return {
        "within": law.within,
        "unclear": law.unclear,
        "over": law.over,
        "problem": law.problem,
    }


def _unjudged(demands: Demands) -> list[Data]:
    return [
        {"machine": one.id, "name": one.name, "family": one.family, "reason": one.reason}
        for one in demands.unjudged
    ]


def _quality(quality: Quality) -> Data:
    return {
        "method": quality.method,
        "solver": quality.solver,
        "ended": quality.ended,
        "optimal": quality.optimal,
        "cheapest": quality.cheapest,
        "most_visits": number(quality.most),
        "greedy_visits": number(quality.greedy),
        "singles_only": quality.singles_only,
    }
