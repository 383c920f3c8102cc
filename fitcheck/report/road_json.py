"""The answer of `road` as data for JSON: figures with their ranges, rounded to four decimals."""

from __future__ import annotations

from collections.abc import Iterable

from fitcheck.answers.figures import exact_text, number
from fitcheck.answers.values import range_data, range_or_none, road_number
from fitcheck.kernel.gearing import reduction_change
from fitcheck.report.json_parts import (
    Data,
    combination_data,
    exact,
    gear_sets_data,
    header,
    machine_data,
)
from fitcheck.report.list_road_json import class_data, other_data
from fitcheck.services.road.results import (
    Given,
    Help,
    Outcome,
    RoadReport,
    TopFigure,
)
from fitcheck.services.subject import Subject

__all__ = ["road_data"]


def road_data(report: RoadReport) -> Data:
    """One answer of `road` as plain data for `json.dumps`."""
    subject = report.subject
    combinations = [one.combination for one in report.after if one.combination is not None]
    return {
        **header("road", subject.catalogue),
        "machine": machine_data(subject),
        "before": _outcome(report.before, subject),
        "after": [_outcome(one, subject) for one in report.after],
        "loads": {
            "speed_km_h": _numbers(report.load_speed_km_h),
            "flat_n": _numbers(report.loads_n["flat"]),
            "headwind_n": _numbers(report.loads_n["headwind"]),
            "uphill_n": _numbers(report.loads_n["uphill"]),
        },
        "inputs": [_input(given) for given in report.inputs],
        "calibrated": report.calibrated,
        "notes": list(report.notes),
        "gear_sets": gear_sets_data(subject.catalogue, combinations),
    }


def _outcome(one: Outcome, subject: Subject) -> Data:
    combination = one.combination
    turns = reduction_change(subject.reduction, one.reduction)
    return {
        "label": one.label,
        "combination": None if combination is None else combination_data(combination, subject),
        "pairs": {stage: str(pair) for stage, pair in one.pairs.items()},
        "reduction": exact(one.reduction),
        "road_speed_change_percent": number(one.road_speed_change),
        "road_speed_change_exact": exact_text(one.road_speed_change),
        "reduction_change_percent": number(turns),
        "reduction_change_exact": exact_text(turns),
        "verdict": one.verdict.value,
        "cautious_verdict": one.cautious_verdict.value,
        "km_h_per_1000_rpm": range_data(one.per_1000_rpm),
        "paper_top_km_h": range_data(one.paper_top),
        "top": {
            "flat": _top(one.flat),
            "headwind": _top(one.headwind),
            "uphill": _top(one.uphill),
        },
        "top_change_km_h": range_or_none(one.top_change),
        "start": {
            "force_n": range_data(one.start_force),
            "change_percent": range_or_none(one.start_change),
            "gradient_percent": range_or_none(one.start_gradient),
            "force_cap": one.force_cap,
            "gradient_cap": one.gradient_cap,
        },
        "times_s": {
            "to_30_km_h": range_or_none(one.time_30),
            "to_45_km_h": range_or_none(one.time_45),
            "to_60_km_h": range_or_none(one.time_60),
            "to_200_m": range_or_none(one.time_200_m),
            "to_95_percent_of_top": range_or_none(one.time_95),
        },
        "rpm_at": [
            {"km_h": road_number(speed), "rpm": road_number(rpm)} for speed, rpm in one.rpm_at
        ],
        "fuel": None
        if one.fuel_speed_km_h is None
        else {
            "km_h": road_number(one.fuel_speed_km_h),
            "change_percent": range_or_none(one.fuel_change),
        },
        "lawful": None if one.lawful is None else class_data(one.lawful),
        "tyre_warning": one.tyre_warning,
        "help": None if one.help is None else _help(one.help),
        "curves": {
            "speed_km_h": _numbers(one.curves.speed_km_h),
            "thrust_n": _numbers(one.curves.thrust_n),
            "time_s": _numbers(one.curves.time_s),
            "time_speed_km_h": _numbers(one.curves.time_speed_km_h),
        },
    }


def _top(top: TopFigure) -> Data:
    return {
        "speed_km_h": range_data(top.speed),
        "other": other_data(top.other),
        "rpm": road_number(top.rpm),
        "limit": top.limit,
    }


def _help(told: Help) -> Data:
    return {
        "start_ratio": None if told.start_ratio is None else road_number(told.start_ratio),
        "variators": list(told.variators),
        "sentences": list(told.sentences),
    }


def _input(given: Given) -> Data:
    return {
        "key": given.key,
        "name": given.name,
        "value": round(given.value, 6),
        "spread": round(given.spread, 6),
        "unit": given.unit,
        "kind": given.kind,
        "before": None if given.before is None else round(given.before, 6),
        "source": given.source,
    }


def _numbers(values: Iterable[float]) -> list[float | None]:
    return [road_number(value) for value in values]
