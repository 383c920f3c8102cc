"""What the JSON answers share: machines, trains, combinations, one matching."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from decimal import Decimal
from fractions import Fraction

from fitcheck import __version__
from fitcheck.catalogue.reader import Catalogue, Entry
from fitcheck.catalogue.source import shown_path
from fitcheck.kernel.gearing import overall_reduction
from fitcheck.model.family import Family
from fitcheck.model.gear_set import GearSet
from fitcheck.report.figures import exact_text, money, number
from fitcheck.report.findings.wording import portable_path
from fitcheck.report.json_values import Data, exact, place_data
from fitcheck.report.list_road_json import (
    class_row_data,
    law_side_data,
    road_row_data,
    road_side_data,
)
from fitcheck.services.bands import Band
from fitcheck.services.exclusions import Exclusion
from fitcheck.services.matching import Combination, Counts, Match
from fitcheck.services.notes import also_needed, filed_elsewhere
from fitcheck.services.offer import list_price, shelf_price
from fitcheck.services.remarks import remarks_on
from fitcheck.services.request import Request
from fitcheck.services.road.figures import ClassAnswer
from fitcheck.services.subject import Subject

__all__ = [
    "SCHEMA_VERSION",
    "Data",
    "band_data",
    "combination_data",
    "exact",
    "gear_sets_data",
    "header",
    "machine_data",
    "named_sets_data",
    "place_data",
    "price_text",
    "result_data",
    "signed_price_text",
    "train_data",
]

SCHEMA_VERSION = 1
"""Rises only when a member of an answer changes its meaning or goes away."""


def header(answer: str, catalogue: Catalogue | None) -> Data:
    """The members every answer begins with."""
    return {
        "schema_version": SCHEMA_VERSION,
        "answer": answer,
        "tool": {"name": "fitcheck", "version": __version__},
        "catalogue": None
        if catalogue is None
        else {
            "path": portable_path(shown_path(catalogue.root)),
            "demo": catalogue.is_demo,
        },
    }


def _exact_or_none(value: Fraction | None) -> Data | None:
    return None if value is None else exact(value)


def price_text(price: Decimal) -> str:
    """A price with two decimals, or with all it has where they are more."""
    exponent = price.as_tuple().exponent
    if isinstance(exponent, int) and exponent < -2:
        return f"{price.normalize():f}"
    return money(price)


def signed_price_text(amount: Decimal) -> str:
    """The same of an amount that may be below zero."""
    return f"-{price_text(-amount)}" if amount < 0 else price_text(amount)


def _price_data(price: Decimal | None, currency: str | None) -> Data:
    return {
        "price": None if price is None else float(price),
        "price_exact": None if price is None else price_text(price),
        "currency": None if price is None else currency,
    }


def train_data(family: Entry[Family], position: int) -> Data:
    """One factory train of a family."""
    train = family.record.factory_trains[position]
    stages = [stage for stage in family.record.train_stages if stage in train.pairs]
    return {
        "housing": train.housing,
        "housing_name": _housing_name(family, train.housing),
        "wheel_size_in": train.wheel_size_in,
        "models": list(train.models),
        "pairs": {stage: str(train.pairs[stage]) for stage in stages},
        "reduction": exact(overall_reduction([train.pairs[stage] for stage in stages])),
        "place": place_data(family.span("factory_trains", position)),
    }


def _housing_name(family: Entry[Family], housing: str | None) -> str | None:
    known = family.record.housings.get(housing) if housing is not None else None
    return None if known is None else known.name


def machine_data(subject: Subject, lawful: ClassAnswer | None = None) -> Data:
    """The machine asked about, and its class's answer where that was worked out."""
    return {
        "id": None if subject.entry is None else subject.entry.id,
        "name": subject.name,
        "family": subject.family.id,
        "family_name": subject.family.record.name,
        "housing": subject.housing,
        "housing_name": _housing_name(subject.family, subject.housing),
        "wheel_size_in": subject.wheel_size_in,
        "tune": None if subject.tune is None else subject.tune.id,
        "stages": list(subject.stages),
        "pairs": {
            stage: str(pair) for stage, pair in zip(subject.stages, subject.pairs, strict=True)
        },
        "reduction": exact(subject.reduction),
        "factory_trains": [train_data(subject.family, i) for i in subject.known_trains],
        "roll_out_mm": None if subject.roll_out_mm is None else number(subject.roll_out_mm),
        "roll_out_ratio": exact(subject.roll_out_ratio),
        "remarks": list(remarks_on(subject, lawful)),
        "place": None if subject.entry is None else place_data(subject.entry.span()),
    }


def band_data(subject: Subject) -> Data | None:
    """The band of the machine's tune, percent of road speed; None where no tune is given."""
    band: Band | None = subject.band
    if band is None or subject.tune is None:
        return None
    return {
        "tune": subject.tune.id,
        "name": band.name,
        "low": exact(band.low),
        "high": exact(band.high),
        "stretch": exact(band.stretch),
        "family_band": band.narrowed,
    }


def combination_data(
    one: Combination,
    subject: Subject,
    rank: int | None = None,
    request: Request | None = None,
    *,
    margins: bool = False,
) -> Data:
    """One combination; in a list with its rank, and with what the list was asked of the road.

    Args:
        one: the combination.
        subject: the machine.
        rank: its rank in a list.
        request: what the list was asked.
        margins: whether to tell what the shop earns, where there is no request to say so.
    """
    elsewhere = [(entry.id, filed_elsewhere(entry, subject)) for entry in one.sets]
    return {
        **({} if rank is None else {"rank": rank}),
        "sets": [entry.id for entry in one.sets],
        "part_numbers": [entry.record.part_number for entry in one.sets],
        "suppliers": [entry.record.supplier for entry in one.sets],
        "pairs": {stage: str(pair) for stage, pair in one.pairs.items()},
        "changed": list(one.changed),
        "reduction": exact(one.reduction),
        "road_speed_change_percent": number(one.road_speed_change),
        "road_speed_change_exact": exact_text(one.road_speed_change),
        "reduction_change_percent": number(one.reduction_change),
        "reduction_change_exact": exact_text(one.reduction_change),
        "band": one.band.value,
        "fit": one.judgement.verdict.value,
        "evidence": one.judgement.evidence.word,
        "weakest_rules": list(one.judgement.weakest),
        **_price_data(one.price, one.currency),
        "price_from": one.price_from,
        "availability": one.availability,
        "on_shelf": one.pieces,
        **_margin(one, margins or (request is not None and request.margins)),
        "also_needs": also_needed(one.sets),
        "listed_elsewhere": [
            {"set": set_id, "as": words} for set_id, words in elsewhere if words is not None
        ],
        "notes": list(one.notes),
        **_on_the_road(one, request),
    }


def _margin(one: Combination, is_asked: bool) -> Data:
    if not is_asked:
        return {}
    margin = one.margin
    return {
        "margin": {
            "cost": None if margin.cost is None else float(margin.cost),
            "cost_exact": None if margin.cost is None else price_text(margin.cost),
            "amount": None if margin.amount is None else float(margin.amount),
            "amount_exact": None if margin.amount is None else signed_price_text(margin.amount),
            "percent": None if margin.percent is None else number(margin.percent),
            "cost_unknown": list(margin.cost_unknown),
        }
    }


def _on_the_road(one: Combination, request: Request | None) -> Data:
    """Members that stand there only where they are asked for."""
    found: Data = {}
    if request is not None and request.show_road and one.road is not None:
        found["road"] = road_row_data(one.road)
    if request is not None and request.on_road:
        found["lawful"] = None if one.lawful is None else class_row_data(one.lawful)
    return found


def gear_sets_data(catalogue: Catalogue, combinations: Iterable[Combination]) -> dict[str, Data]:
    """Every gear set the combinations name, once, by id."""
    return named_sets_data(catalogue, {entry.id for one in combinations for entry in one.sets})


def named_sets_data(catalogue: Catalogue, ids: Iterable[str]) -> dict[str, Data]:
    """Gear sets by id, each once."""
    return {id_: _gear_set_data(catalogue, catalogue.gear_sets[id_]) for id_ in sorted(set(ids))}


def _gear_set_data(catalogue: Catalogue, entry: Entry[GearSet]) -> Data:
    record = entry.record
    held = catalogue.shelf.get(entry.id)
    price, own = list_price(entry), shelf_price(catalogue, entry)
    return {
        "supplier": record.supplier,
        "part_number": record.part_number,
        "name": record.name,
        "pairs": {stage: str(record.pairs[stage]) for stage in record.stages},
        **_price_data(price, record.currency),
        "currency": record.currency if (price, own) != (None, None) else None,
        "availability": record.availability,
        "status": record.status,
        "shelf_price": None if own is None else float(own),
        "shelf_price_exact": None if own is None else price_text(own),
        "on_shelf": None if held is None else held.record.quantity,
        "shelf_place": None if held is None else held.record.place,
        "place": place_data(entry.span()),
    }


def result_data(result: Match) -> Data:
    """Band, window, filters, lists and counts of one matching."""
    subject, request = result.subject, result.request
    return {
        "band": band_data(subject),
        "window": {
            "from": _window_origin(result),
            "low": _exact_or_none(result.window[0]),
            "high": _exact_or_none(result.window[1]),
        },
        "filters": {
            "top": request.top,
            "suppliers": sorted(request.suppliers),
            "max_price": None if request.max_price is None else float(request.max_price),
            "max_sets": request.max_sets,
            "in_stock": request.in_stock,
            "taller_only": request.taller_only,
            "proven_only": request.proven_only,
        },
        "currency": result.currency,
        **_side(result),
        "combinations": _ranked(result.combinations, result),
        "shorter": _ranked(result.shorter, result),
        "ruled_out": [_exclusion_data(each) for each in result.exclusions]
        if request.exclusions
        else None,
        "counts": _counts_data(result),
    }


def _window_origin(result: Match) -> str:
    if result.request.percent is not None:
        return "percent"
    if result.band is None or result.request.band == "any":
        return "any"
    return "band" if result.request.band == "in" else "stretch"


def _side(result: Match) -> Data:
    """What is told of the road and the law for the whole list, where that is asked."""
    side = result.road
    if side is None:
        return {}
    road = road_side_data(side, result.request.rank) if result.request.show_road else None
    law = law_side_data(side, only_lawful=result.request.lawful)
    return {**({} if road is None else {"road": road}), "law": law}


def _ranked(combinations: Sequence[Combination], result: Match) -> list[Data]:
    subject, request = result.subject, result.request
    return [combination_data(one, subject, one.rank, request) for one in combinations]


def _exclusion_data(exclusion: Exclusion) -> Data:
    return {
        "rule": exclusion.rule,
        "reason": exclusion.reason,
        "sets": [list(side) for side in exclusion.sets],
        "places": [place_data(span) for span in exclusion.places],
        "combinations": exclusion.combinations,
    }


def _counts_data(result: Match) -> Data:
    counts = result.counts
    return {
        "all_choices": counts.all_choices,
        "fits": counts.fits,
        "unproven": counts.unproven,
        "ruled_out": counts.ruled_out,
        "shorter": counts.shorter,
        "below": counts.below,
        "in_band": counts.in_band,
        "stretch": counts.stretch,
        "over": counts.over,
        "listed": counts.listed,
        **({} if counts.unlawful is None else {"unlawful": counts.unlawful}),
        **_without_price(counts),
    }


def _without_price(counts: Counts) -> Data:
    """What a greatest price cannot be held against, where one was asked."""
    if counts.price_unknown is None:
        return {}
    return {"price_unknown": counts.price_unknown, "other_currency": counts.other_currency}
