"""Values that every answer writes alike: exact figures, places, ranges, prices.

Every exact figure stands twice: `exact` as `n/d` in lowest terms, `decimal` rounded once to six
places. Whatever is judged, sorted or grouped goes by the exact one. What the road model predicts
is a plain number rounded to four places.
"""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction
from math import isfinite
from typing import Annotated, Any, NotRequired, TypedDict

from fitcheck.answers.declared import More, words
from fitcheck.answers.figures import exact_text, money, number
from fitcheck.diagnostics.finding import Span, portable_path
from fitcheck.kernel.teeth import Pair
from fitcheck.model.fields import STAGE_DESCRIPTIONS, STAGES, Stage
from fitcheck.services.road.figures import Figure

Data = dict[str, Any]

Whole = Annotated[int, More(minimum=0)]
Size = Annotated[int, More(minimum=1)]
AtLeast0 = Annotated[float, More(minimum=0)]
Name = Annotated[str, More(minLength=1)]
StageName = Annotated[str, words(STAGES)]
FractionText = Annotated[str, More(pattern=r"^-?[0-9]+/[1-9][0-9]*$")]
ExactMoney = Annotated[str, More(pattern=r"^[0-9]+\.[0-9]{2,}$")]
CurrencyCode = Annotated[str, More(pattern="^[A-Z]{3}$")]
_PAIR = More(pattern=r"^[1-9][0-9]*/[1-9][0-9]*$", examples=["15/38"])

_ROAD_PLACES = 4


class Exact(TypedDict):
    """An exact figure and its decimal."""

    exact: Annotated[FractionText, More(examples=["253/21"])]
    """The figure as a fraction in lowest terms."""
    decimal: float
    """The same rounded once to six decimals, half away from zero."""


class Place(TypedDict):
    """Where a value stands in a file."""

    file: str
    """The file, with forward slashes."""
    line: Size
    """Line, from 1."""
    column: Size
    """Column, from 1, in code points."""


PAIR_BY_STAGE = {
    stage: NotRequired[Annotated[str, More(description=STAGE_DESCRIPTIONS[stage]), _PAIR]]
    for stage in STAGES
}
Pairs = TypedDict("Pairs", PAIR_BY_STAGE)  # type: ignore[misc]
Pairs.__doc__ = "Tooth counts by stage, driver/driven; only the stages there are."
Pairs.more = More(minProperties=1)  # type: ignore[attr-defined]


class Money(TypedDict):
    """An amount of money in the currency beside it."""

    amount: float
    """The amount."""
    exact: Annotated[str, More(pattern=r"^-?[0-9]+\.[0-9]{2,}$", examples=["61.50"])]
    """The same as text, exact to the last decimal."""


class Range(TypedDict):
    """A predicted figure and the range that its uncertain inputs leave; about 19 times in 20 the
    true figure lies inside.
    """

    value: float
    """The figure, rounded to four decimals."""
    low: float
    """Low end of the range."""
    high: float | None
    """High end; null: without end, as a time never reached."""


def exact(value: Fraction) -> Exact:
    """An exact figure and its decimal."""
    return {"exact": exact_text(value), "decimal": number(value)}


def exact_or_none(value: Fraction | None) -> Exact | None:
    """The same, or null where there is none."""
    return None if value is None else exact(value)


def money_of(value: Decimal) -> Money:
    """An amount of money."""
    return {"amount": float(value), "exact": money(value)}


def money_or_none(value: Decimal | None) -> Money | None:
    """The same, or null where it is not known."""
    return None if value is None else money_of(value)


def place(span: Span) -> Place:
    """Where a value stands: line and column from 1, in code points."""
    return {"file": portable_path(span.path), "line": span.line, "column": span.column}


def pairs_of(pairs: Mapping[Stage, Pair]) -> Pairs:
    """Tooth counts by stage."""
    return {stage: str(pair) for stage, pair in pairs.items()}  # type: ignore[return-value]


def road_number(value: float) -> Any:
    """A number that JSON can hold: what has no end is null; no minus before zero."""
    return round(value, _ROAD_PLACES) + 0.0 if isfinite(value) else None


def range_of(figure: Figure) -> Range:
    """A predicted figure and its range."""
    return {name: road_number(getattr(figure, name)) for name in ("value", "low", "high")}  # type: ignore[return-value]


def range_or_none(figure: Figure | None) -> Range | None:
    """The same, or null where there is none."""
    return None if figure is None else range_of(figure)


def amount(value: Decimal | None) -> float | None:
    """An amount as a JSON number; null where it is not known."""
    return None if value is None else float(value)


def money_text(value: Decimal | None) -> str | None:
    """An amount with two decimals, or with all it has where they are more; null: not known."""
    return None if value is None else money(value)
