"""The kinds of value a record is made of: exact numbers with their units, ids, tooth pairs."""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from typing import Annotated, Any, Literal

from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    PlainSerializer,
    StringConstraints,
    ValidationInfo,
    WithJsonSchema,
)

from fitcheck.kernel.teeth import MAX_TEETH, MIN_TEETH, PAIR_PATTERN, Pair, read_pair

Stage = Literal["primary", "secondary", "tertiary", "single"]
STAGES: tuple[Stage, ...] = ("single", "primary", "secondary", "tertiary")
STAGE_DESCRIPTIONS: dict[Stage, str] = {
    "primary": "First reduction: input pinion to idler wheel.",
    "secondary": "Second reduction: idler pinion to the next wheel, the final one of two stages.",
    "tertiary": "Third reduction, of a three-stage train: second idler pinion to final wheel.",
    "single": "The only reduction of a one-stage train: input pinion to final wheel.",
}
"""What each stage is, for the hover help of an editor."""

DATE_PATTERN = r"^(?:19|20)[0-9]{2}-(?:0[1-9]|1[0-2])-(?:0[1-9]|[12][0-9]|3[01])$"
"""An ECMA 262 pattern for a date of this century or the last; it does not know month lengths."""


class Record(BaseModel):
    """Base of every record: immutable, nothing coerced, unknown fields refused."""

    # Early releases of pydantic 2 keep names that begin with model_ to themselves.
    model_config = ConfigDict(extra="forbid", frozen=True, strict=True, protected_namespaces=())


def _to_decimal(value: Any, info: ValidationInfo) -> Any:
    """A whole number exactly; of JSON also a text, which is how records write their decimals."""
    if isinstance(value, int) and not isinstance(value, bool):
        return Decimal(value)
    if info.mode == "json" and isinstance(value, str):
        try:
            return Decimal(value)
        except InvalidOperation:
            raise ValueError(f"{value[:40]!r} is no number") from None
    return value


def _to_float(value: Any) -> Any:
    if isinstance(value, Decimal) or (isinstance(value, int) and not isinstance(value, bool)):
        return float(value)
    return value


def _to_date(value: Any) -> Any:
    if isinstance(value, str):
        try:
            if re.fullmatch(DATE_PATTERN, value):
                return dt.date.fromisoformat(value)
        except ValueError:
            raise ValueError(f"{value} is no day of the calendar") from None
        raise ValueError("a date is written year-month-day, like 2026-03-31")
    return value


def _write_pair(pair: Pair) -> str:
    # Not `str` itself: early releases of pydantic 2 cannot read the signature of a builtin.
    return str(pair)


def _decimal(
    description: str, low: Decimal | None, high: Decimal | None, *, above: Decimal | None = None
) -> Any:
    schema: dict[str, Any] = {"type": "number", "description": description}
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


ID_PATTERN = r"^[A-Za-z][A-Za-z0-9._-]*$"
MAX_ID_LENGTH = 60
_ID = re.compile(ID_PATTERN)


def holds(name: str, kind: str = "number") -> dict[str, Any]:
    """JSON Schema for: a field is given, and not left empty."""
    return {"required": [name], "properties": {name: {"type": kind}}}


def both_or_none(one: str, other: str, kind: str = "number") -> list[Any]:
    """JSON Schemas for: where one of two fields is given, so is the other."""
    first, second = holds(one), holds(other, kind)
    return [{"if": first, "then": second}, {"if": second, "then": first}]


Id = Annotated[
    str,
    StringConstraints(pattern=ID_PATTERN, max_length=MAX_ID_LENGTH),
    Field(
        description="Id: a letter, then letters, digits, dots, dashes and underscores; at most "
        f"{MAX_ID_LENGTH} characters."
    ),
]
"""A name used by other records: starts with a letter; letters, digits, dot, dash, underscore."""


@dataclass(frozen=True, slots=True)
class RefersTo:
    """A note on the type of a field: it holds the id of a record of that kind, or of a housing."""

    kind: str


FamilyId = Annotated[Id, RefersTo("family")]
HousingId = Annotated[Id, RefersTo("housing")]
SupplierId = Annotated[Id, RefersTo("supplier")]
SetId = Annotated[Id, RefersTo("gear-set")]
TuneId = Annotated[Id, RefersTo("tune")]
ClassId = Annotated[Id, RefersTo("vehicle-class")]
TyreId = Annotated[Id, RefersTo("tyre")]


def is_id(text: str) -> bool:
    """Whether a text has the form of an id."""
    return len(text) <= MAX_ID_LENGTH and _ID.fullmatch(text) is not None


Text = Annotated[
    str,
    StringConstraints(min_length=1, max_length=2000, pattern=r"\S"),
    Field(description="Text of 1 to 2000 characters, not all blank."),
]

Lines = Annotated[Text, "may run over several lines"]
"""A text that keeps its line breaks."""


def notes_field(example: str = "Check with the workshop before promising.") -> Any:
    """The field for notes, with an example."""
    description = "Anything worth knowing; shown, never judged."
    return Field(None, description=description, examples=[example])


CURRENCY_PATTERN = r"^[A-Z]{3}$"

Currency = Annotated[
    str, Field(pattern=CURRENCY_PATTERN, description="ISO 4217 currency code: three capitals.")
]

Teeth = Annotated[
    Pair,
    BeforeValidator(read_pair),
    PlainSerializer(_write_pair, return_type=str),
    WithJsonSchema(
        {
            "title": "Tooth counts",
            "description": "Teeth of driver and driven gear, in either order; 15/38 is best, "
            "since some readers take an unquoted 15:38 for a number in base 60.",
            "anyOf": [
                {
                    "type": "string",
                    "description": "Two tooth counts, the driver's first, as 15/38.",
                    "pattern": PAIR_PATTERN,
                },
                {
                    "type": "array",
                    "description": "Two different tooth counts.",
                    "items": {
                        "type": "integer",
                        "description": f"Teeth of one gear, {MIN_TEETH} to {MAX_TEETH}.",
                        "minimum": MIN_TEETH,
                        "maximum": MAX_TEETH,
                    },
                    "minItems": 2,
                    "maxItems": 2,
                    "uniqueItems": True,
                },
            ],
            "examples": ["15/38", "14/47"],
        }
    ),
]

Percent = Annotated[Decimal, *_decimal("Percent of road-speed change.", Decimal(-99), Decimal(500))]
"""Percent of road-speed change, read as an exact decimal."""

MOST_MONEY = Decimal(1000000)

Money = Annotated[
    Decimal, *_decimal("Amount of money in the currency beside it.", Decimal(0), MOST_MONEY)
]
"""An amount of money in the currency named beside it, exact."""

Discount = Annotated[Decimal, *_decimal("Percent off.", Decimal(0), Decimal(99))]
"""Percent taken off a price, exact."""

Millimetres = Annotated[
    Decimal, *_decimal("Length over 0, mm.", None, Decimal(10000), above=Decimal(0))
]
"""A length in mm, over zero."""

RollOut = Annotated[Decimal, *_decimal("Distance per wheel turn, mm.", Decimal(300), Decimal(5000))]
"""Distance per wheel turn, mm; metres or inches fall outside."""

Positive = Annotated[Decimal, *_decimal("Number over 0.", None, Decimal(1000000), above=Decimal(0))]
"""A number over zero."""

Number = Annotated[
    float,
    BeforeValidator(_to_float),
    Field(allow_inf_nan=False),
    WithJsonSchema({"type": "number", "description": "Number."}),
]

AngleDeg = Annotated[
    float,
    BeforeValidator(_to_float),
    Field(ge=0, le=45, allow_inf_nan=False),
    WithJsonSchema(
        {"type": "number", "minimum": 0, "maximum": 45, "description": "Angle, degrees."}
    ),
]
"""An angle in degrees, 0 to 45."""

Count = Annotated[int, Field(ge=0, le=1_000_000, description="Whole number, 0 or more.")]

Inches = Annotated[int, Field(ge=4, le=30, description="Rim size, whole inches.")]
"""Rim size in inches, as the trade names a wheel."""

Date = Annotated[
    dt.date,
    BeforeValidator(_to_date),
    WithJsonSchema(
        {
            "type": "string",
            "format": "date",
            "pattern": DATE_PATTERN,
            "description": "Date, year-month-day.",
        }
    ),
]
