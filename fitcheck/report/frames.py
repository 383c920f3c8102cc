"""Answers as pandas DataFrames, for notebooks and other programs."""

from __future__ import annotations

from math import inf
from typing import TYPE_CHECKING, Any, get_args

from fitcheck.report.figures import exact_text, number
from fitcheck.report.list_road_rows import (
    LAW_WORDS,
    NUMBERS,
    TYRE,
    law_words,
    numbers,
    tyre_warning,
)
from fitcheck.report.match_rows import listed
from fitcheck.rules.answers import Evidence, Verdict
from fitcheck.services.bands import BandVerdict
from fitcheck.services.combination import Combination
from fitcheck.services.matching import Match
from fitcheck.services.offer import AVAILABILITY, PriceFrom, places_of
from fitcheck.services.request import Request
from fitcheck.services.road.figures import PULL_ORDER, LawfulAnswer

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
        - ``price_from`` (category): shelf, supplier, both; NA where there is no price.
        - ``availability`` (category): on-shelf, in-stock, to-order, unknown, discontinued; of all
          sets together.
        - ``on_shelf`` (int64): how many times the shelf holds all sets together.
        - ``shelf_places`` (string): where they lie, in the order of the sets, joined by " + ", "?"
          for one of unknown place; NA where no place is known.
        - ``note`` (string): notes joined by "; ", empty where there is none.

        Where the request asks for margins, after ``shelf_places`` also ``cost``, ``margin`` and
        ``margin_percent`` of the price (float64), NaN where they are not known.

        Where the request asks for the road, before ``note`` also (see docs/json.md for words):

        - ``verdict`` (ordered category): will not pull it < only with the wind behind < pulls it.
        - ``top_flat_km_h``, ``top_flat_low_km_h``, ``top_flat_high_km_h`` (float64): top speed on
          the flat and its range; ``top_flat_other_km_h`` what it may be instead, mostly not a
          number; ``top_change_km_h`` against now.
        - ``start_force_n``, ``start_force_low_n``, ``start_force_high_n`` (float64): pull at the
          wheel as it starts off; ``start_change_percent`` against now.
        - ``to_45_km_h_s`` (float64): seconds to 45 km/h, infinite where it never gets there.
        - ``tyre_warning`` (string): empty unless it may go faster than its tyre is made for.

        And where it asks for the road or the law:

        - ``class`` (string): id of the vehicle class, NA where none is known.
        - ``lawful`` (ordered category): within < straddles < unknown < over.
        - ``law`` (string): the class's answer in sentences.
    """
    import pandas as pd  # noqa: PLC0415 - heavy, and only a notebook needs it

    dtypes = _dtypes(result.subject.stages, result.request)
    columns: dict[str, list[Any]] = {name: [] for name in dtypes}
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
            "price_from": one.price_from,
            "availability": one.availability,
            "on_shelf": one.pieces,
            "shelf_places": places_of(one.offers) or None,
            **_margin(one),
            "note": "; ".join(one.notes),
            **_road(one),
            **_law(one),
        }
        for name, values in columns.items():
            values.append(row[name])
    categories = {
        "price_from": pd.CategoricalDtype(list(get_args(PriceFrom))),
        "availability": pd.CategoricalDtype(list(AVAILABILITY)),
        "band": pd.CategoricalDtype([verdict.value for verdict in BandVerdict]),
        "fit": pd.CategoricalDtype(
            [verdict.value for verdict in (Verdict.RULED_OUT, Verdict.UNPROVEN, Verdict.FITS)],
            ordered=True,
        ),
        "evidence": pd.CategoricalDtype([e.word for e in sorted(Evidence)], ordered=True),
        "verdict": pd.CategoricalDtype([pull.value for pull in reversed(PULL_ORDER)], ordered=True),
        "lawful": pd.CategoricalDtype([a.name.lower() for a in sorted(LawfulAnswer)], ordered=True),
    }
    return pd.DataFrame(
        {
            name: pd.Series(columns[name], dtype=categories.get(name, dtype))
            for name, dtype in dtypes.items()
        }
    )


def _margin(one: Combination) -> dict[str, float | None]:
    margin = one.margin
    return {
        "cost": None if margin.cost is None else float(margin.cost),
        "margin": None if margin.amount is None else float(margin.amount),
        "margin_percent": None if margin.percent is None else number(margin.percent),
    }


def _road(one: Combination) -> dict[str, Any]:
    row = one.road
    if row is None:
        return dict.fromkeys(("verdict", *NUMBERS, TYRE))
    found: dict[str, Any] = dict(zip(NUMBERS, numbers(row), strict=True))
    never = {"to_45_km_h_s": inf} if row.time_45 is None else {}
    return {"verdict": row.verdict.value, **found, **never, TYRE: tyre_warning(one)}


def _law(one: Combination) -> dict[str, str | None]:
    return {name: word or None for name, word in zip(LAW_WORDS, law_words(one), strict=True)}


def _dtypes(stages: tuple[str, ...], request: Request) -> dict[str, str]:
    """Column names and dtypes in order; a category is given its words above."""
    road = {"verdict": "category", **dict.fromkeys(NUMBERS, "float64"), TYRE: "string"}
    margins = dict.fromkeys(("cost", "margin", "margin_percent"), "float64")
    law = {"class": "string", "lawful": "category", "law": "string"}
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
        "price_from": "category",
        "availability": "category",
        "on_shelf": "int64",
        "shelf_places": "string",
        **(margins if request.margins else {}),
        **(road if request.show_road else {}),
        **(law if request.on_road else {}),
        "note": "string",
    }
