"""Answers as pandas DataFrames, for notebooks and other programs."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from fitcheck.answers.combination import MatchRow, columns, match_rows
from fitcheck.answers.figures import number
from fitcheck.answers.tables import Column
from fitcheck.services.counter.match import Match

if TYPE_CHECKING:
    import pandas as pd


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
        - ``availability`` (category): on-shelf, in-stock, to-order, unknown, out-of-stock,
          discontinued; of all sets together.
        - ``on_shelf`` (int64): how many times the shelf holds all sets together.
        - ``orderable`` (bool): whether all its sets can be had now.
        - ``shelf_places`` (string): where they lie, in the order of the sets, joined by " + ", "?"
          for one of unknown place; NA where no place is known.
        - ``note`` (string): notes joined by "; ", empty where there is none.

        Where the request asks for margins, after ``shelf_places`` also ``cost``, ``margin`` and
        ``margin_percent`` of the price (float64), NaN where they are not known.

        Where the request asks for the road, before ``note`` also (see docs/json.md for words):

        - ``verdict`` (ordered category): will not pull it < only with a tailwind < pulls it.
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

    rows = [row for row in match_rows(result) if shorter or row.rank is not None]
    named = (one for one in columns(result.subject.stages, result.request) if one.frame)
    return pd.DataFrame({column.frame: _series(column, rows) for column in named})


def _plain(value: object) -> object:
    if isinstance(value, Fraction):
        return number(value)
    return float(value) if isinstance(value, Decimal) else value


def _series(column: Column, rows: Sequence[MatchRow]) -> pd.Series[Any]:
    import pandas as pd  # noqa: PLC0415

    kind = column.kind
    dtype: Any = kind.dtype
    if kind.words:
        dtype = pd.CategoricalDtype(list(kind.words), ordered=kind.ordered)
    return pd.Series([_plain(column.value(row)) for row in rows], dtype=dtype)
