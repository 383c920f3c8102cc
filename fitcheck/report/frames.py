"""Answers as pandas DataFrames, for notebooks and other programs."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from fitcheck.report.figures import exact_text, number
from fitcheck.report.match_rows import listed
from fitcheck.rules.answers import Evidence, Verdict
from fitcheck.services.bands import BandVerdict
from fitcheck.services.matching import Match

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["combinations_frame"]


def combinations_frame(result: Match, *, shorter: bool = False) -> pd.DataFrame:
    """The combinations of one answer, a row each, in the order of the answer.

    Args:
        result: the answer of `match`.
        shorter: also those that make the machine shorter, last and without a rank.

    Returns:
        A frame with a plain index from 0 and these columns, whatever the number of rows:

        - ``rank`` (Int64): 1 for the most road speed, shared by equal reductions; NA if shorter.
        - ``sets`` (string): ids joined by " + ", from input shaft to wheel.
        - ``part_numbers``, ``suppliers`` (string): in the same order, joined alike.
        - ``set_count`` (int64): sets to buy.
        - one for each stage (string): tooth counts, such as ``15/38``.
        - ``reduction`` (float64): overall reduction, rounded to six decimals.
        - ``reduction_exact`` (string): the same as ``n/d``.
        - ``road_speed_change_percent``, ``reduction_change_percent`` (float64): six decimals.
        - ``road_speed_change_exact`` (string): the figure that bands are judged on, as ``n/d``.
        - ``band`` (category): shorter, below, in, stretch, over, none.
        - ``fit`` (ordered category): ruled out < unproven < fits.
        - ``evidence`` (ordered category): none < stated < computed < measured.
        - ``price`` (float64): NaN where it is not known.
        - ``currency`` (string): NA where there is no price.
        - ``note`` (string): notes joined by "; ", empty where there is none.
    """
    import pandas as pd  # noqa: PLC0415 - heavy, and only a notebook needs it

    stages = result.subject.stages
    columns: dict[str, list[Any]] = {name: [] for name in _dtypes(stages)}
    for rank, one in listed(result):
        if rank is None and not shorter:
            break
        row: dict[str, Any] = {
            "rank": rank,
            "sets": " + ".join(entry.id for entry in one.sets),
            "part_numbers": " + ".join(entry.record.part_number for entry in one.sets),
            "suppliers": " + ".join(entry.record.supplier for entry in one.sets),
            "set_count": len(one.sets),
            **{stage: str(pair) for stage, pair in one.pairs.items()},
            "reduction": number(one.reduction),
            "reduction_exact": exact_text(one.reduction),
            "road_speed_change_percent": number(one.road_speed_change),
            "road_speed_change_exact": exact_text(one.road_speed_change),
            "reduction_change_percent": number(one.reduction_change),
            "band": one.band.value,
            "fit": one.judgement.verdict.value,
            "evidence": one.judgement.evidence.word,
            "price": None if one.price is None else float(one.price),
            "currency": None if one.price is None else one.currency,
            "note": "; ".join(one.notes),
        }
        for name, values in columns.items():
            values.append(row[name])
    categories = {
        "band": pd.CategoricalDtype([verdict.value for verdict in BandVerdict]),
        "fit": pd.CategoricalDtype(
            [verdict.value for verdict in (Verdict.RULED_OUT, Verdict.UNPROVEN, Verdict.FITS)],
            ordered=True,
        ),
        "evidence": pd.CategoricalDtype([e.word for e in sorted(Evidence)], ordered=True),
    }
    return pd.DataFrame(
        {
            name: pd.Series(columns[name], dtype=categories.get(name, dtype))
            for name, dtype in _dtypes(stages).items()
        }
    )


def _dtypes(stages: tuple[str, ...]) -> dict[str, str]:
    """Column names and dtypes in order; a category is given its words above."""
    return {
        "rank": "Int64",
        "sets": "string",
        "part_numbers": "string",
        "suppliers": "string",
        "set_count": "int64",
        **dict.fromkeys(stages, "string"),
        "reduction": "float64",
        "reduction_exact": "string",
        "road_speed_change_percent": "float64",
        "road_speed_change_exact": "string",
        "reduction_change_percent": "float64",
        "band": "category",
        "fit": "category",
        "evidence": "category",
        "price": "float64",
        "currency": "string",
        "note": "string",
    }
