"""The kinds of value a record is made of: exact numbers with their units, ids, tooth pairs."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal
from typing import Annotated, Any, Literal

from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    PlainSerializer,
    StringConstraints,
    WithJsonSchema,
)

from fitcheck.kernel.teeth import MAX_TEETH, MIN_TEETH, PAIR_PATTERN, Pair, read_pair

__all__ = [
    "STAGES",
    "AngleDeg",
    "Count",
    "Date",
    "Id",
    "Inches",
    "Millimetres",
    "Money",
    "Number",
    "Percent",
    "Positive",
    "Record",
    "Stage",
    "Teeth",
    "Text",
]

Stage = Literal["primary", "secondary", "tertiary", "single"]
STAGES: tuple[Stage, ...] = ("single", "primary", "secondary", "tertiary")


class Record(BaseModel):
    """Base of every record: immutable, nothing coerced, unknown fields refused."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True)


def _to_decimal(value: Any) -> Any:
    if isinstance(value, int) and not isinstance(value, bool):
        return Decimal(value)
    return value


def _to_float(value: Any) -> Any:
    if isinstance(value, Decimal) or (isinstance(value, int) and not isinstance(value, bool)):
        return float(value)
    return value


def _to_date(value: Any) -> Any:
    if isinstance(value, str):
        try:
            return dt.date.fromisoformat(value.strip())
        except ValueError:
            raise ValueError("a date is written year-month-day, like 2026-03-31") from None
    return value


def _decimal(low: Decimal | None, high: Decimal | None, *, above: Decimal | None = None) -> Any:
    schema: dict[str, Any] = {"type": "number"}
    if low is not None:
        schema["minimum"] = float(low)
    if above is not None:
        schema["exclusiveMinimum"] = float(above)
    if high is not None:
        schema["maximum"] = float(high)
    return (
        BeforeValidator(_to_decimal),
        Field(ge=low, gt=above, le=high, allow_inf_nan=False),
        WithJsonSchema(schema),
    )


Id = Annotated[
    str,
    StringConstraints(pattern=r"^[A-Za-z][A-Za-z0-9._-]*$", max_length=60),
]
"""A name used by other records: starts with a letter; letters, digits, dot, dash, underscore."""

Text = Annotated[str, StringConstraints(min_length=1, max_length=2000, pattern=r"\S")]

Teeth = Annotated[
    Pair,
    BeforeValidator(read_pair),
    PlainSerializer(str, return_type=str),
    WithJsonSchema(
        {
            "title": "Tooth counts",
            "description": "Teeth of driver and driven gear, in either order; 15/38 is best, "
            "since some readers take an unquoted 15:38 for a number in base 60.",
            "anyOf": [
                {"type": "string", "pattern": PAIR_PATTERN},
                {
                    "type": "array",
                    "items": {"type": "integer", "minimum": MIN_TEETH, "maximum": MAX_TEETH},
                    "minItems": 2,
                    "maxItems": 2,
                    "uniqueItems": True,
                },
            ],
            "examples": ["15/38", "14/47"],
        }
    ),
]

Percent = Annotated[Decimal, *_decimal(Decimal(-99), Decimal(500))]
"""Percent of road-speed change, read as an exact decimal."""

Money = Annotated[Decimal, *_decimal(Decimal(0), Decimal(1000000))]
"""An amount of money in the currency named beside it, exact."""

Millimetres = Annotated[Decimal, *_decimal(None, Decimal(10000), above=Decimal(0))]
"""A length in mm, over zero."""

Positive = Annotated[Decimal, *_decimal(None, Decimal(1000000), above=Decimal(0))]
"""A number over zero."""

Number = Annotated[
    float,
    BeforeValidator(_to_float),
    Field(allow_inf_nan=False),
    WithJsonSchema({"type": "number"}),
]

AngleDeg = Annotated[
    float,
    BeforeValidator(_to_float),
    Field(ge=0, le=45, allow_inf_nan=False),
    WithJsonSchema({"type": "number", "minimum": 0, "maximum": 45}),
]
"""An angle in degrees, 0 to 45."""

Count = Annotated[int, Field(ge=0, le=1_000_000)]

Inches = Annotated[int, Field(ge=4, le=30)]
"""Rim size in inches, as the trade names a wheel."""

Date = Annotated[
    dt.date,
    BeforeValidator(_to_date),
    WithJsonSchema({"type": "string", "format": "date", "pattern": r"^\d{4}-\d{2}-\d{2}$"}),
]
