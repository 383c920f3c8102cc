"""Values that every JSON answer writes alike: exact figures, ranges, places.

Every exact figure stands twice: `exact` as `n/d` in lowest terms, `decimal` rounded once to six
places. Whatever is judged, sorted or grouped goes by the exact one. What the road model predicts
is a plain number rounded to four places.
"""

from __future__ import annotations

from fractions import Fraction
from math import isfinite
from typing import Any

from fitcheck.diagnostics.finding import Span
from fitcheck.report.figures import exact_text, number
from fitcheck.report.findings.wording import portable_path
from fitcheck.services.road.figures import Figure

__all__ = ["Data", "exact", "place_data", "range_data", "range_or_none", "road_number"]

Data = dict[str, Any]

_ROAD_PLACES = 4


def exact(value: Fraction) -> Data:
    """An exact figure and its decimal."""
    return {"exact": exact_text(value), "decimal": number(value)}


def place_data(span: Span) -> Data:
    """Where a value stands: line and column from 1, in code points."""
    return {"file": portable_path(span.path), "line": span.line, "column": span.column}


def road_number(value: float) -> float | None:
    """A number that JSON can hold: what has no end is null; no minus before zero."""
    return round(value, _ROAD_PLACES) + 0.0 if isfinite(value) else None


def range_data(figure: Figure) -> Data:
    """A predicted figure and its range."""
    return {name: road_number(getattr(figure, name)) for name in ("value", "low", "high")}


def range_or_none(figure: Figure | None) -> Data | None:
    """The same, or null where there is none."""
    return None if figure is None else range_data(figure)
