"""What a list tells of the road and the law, as data for JSON."""

from __future__ import annotations

from fitcheck.report.json_values import Data, place_data, range_data, range_or_none, road_number
from fitcheck.services.lawful import APPROVAL
from fitcheck.services.request import RankBy
from fitcheck.services.road.figures import ClassAnswer, OtherTop, RoadRow, RoadSide

__all__ = [
    "class_data",
    "class_row_data",
    "law_side_data",
    "other_data",
    "road_row_data",
    "road_side_data",
]


def other_data(other: OtherTop | None) -> Data | None:
    """A second top speed; None where there is one alone."""
    return None if other is None else {"km_h": road_number(other.km_h), "when": other.words}


def road_row_data(row: RoadRow) -> Data:
    """What one gearing does on the road."""
    return {
        "verdict": row.verdict.value,
        "top_km_h": range_data(row.top),
        "other_top": other_data(row.other_top),
        "top_change_km_h": road_number(row.top_change),
        "start_force_n": range_data(row.start_force),
        "start_change_percent": road_number(row.start_change),
        "to_45_km_h_s": None if row.time_45 is None else road_number(row.time_45),
        "tyre_warning": row.tyre_warning,
    }


def class_row_data(answer: ClassAnswer) -> Data:
    """The class's answer to one gearing of a list; the class itself is told once."""
    return {
        "answer": answer.answer.name.lower(),
        "top_km_h": range_or_none(answer.top),
        "sentence": answer.sentence,
        "others": list(answer.others),
    }


def class_data(answer: ClassAnswer) -> Data:
    """The class's answer to one gearing, and the class."""
    entry = answer.vehicle_class
    return {
        "class": entry.id,
        "name": entry.record.name,
        "where": entry.record.place,
        "ceiling_km_h": None if answer.ceiling_km_h is None else road_number(answer.ceiling_km_h),
        **class_row_data(answer),
        "source": entry.record.source,
        "date": entry.record.date.isoformat(),
        "place": place_data(entry.span()),
    }


def road_side_data(side: RoadSide, rank: RankBy) -> Data:
    """The road side of a list: by what it is ranked, the present gearing, the model's cautions."""
    return {
        "rank": rank,
        "now": None if side.now is None else road_row_data(side.now),
        "calibrated": side.calibrated,
        "notes": list(side.notes),
    }


def law_side_data(side: RoadSide, *, only_lawful: bool) -> Data | None:
    """The law's side of a list; None where no class is known."""
    if side.lawful_now is None:
        return None
    return {
        "only_lawful": only_lawful,
        "now": class_data(side.lawful_now),
        "approval": APPROVAL,
    }
