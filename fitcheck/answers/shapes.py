"""How an answer is declared, the values that every answer writes alike, and how it is filled.

An answer is a `TypedDict`: its docstring says what it is, a docstring under a member what that
holds. `Annotated` and `More` add what JSON Schema says beside the type. A member that is there only
on request is `NotRequired`. A public class becomes a definition of the schema, one whose name
begins with an underscore is written where it is used. `more` of a class is said beside its members.

`fill` reads each member from the attribute of the same name, or from where `At` says, and writes it
as its type asks: a fraction as `Exact`, a span as `Place`, a list of objects as a list of shapes.
What is not known is null, never an empty text.

Every exact figure stands twice: `exact` as `n/d` in lowest terms, `decimal` rounded once to six
places. Whatever is judged, sorted or grouped goes by the exact one. What the road model predicts
is a plain number rounded to four places.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from datetime import date
from decimal import Decimal
from fractions import Fraction
from functools import cache
from math import isfinite
from operator import attrgetter
from types import NoneType
from typing import (
    Annotated,
    Any,
    NamedTuple,
    NotRequired,
    TypedDict,
    TypeVar,
    get_args,
    get_origin,
    get_type_hints,
    is_typeddict,
)

from fitcheck.answers.figures import exact_text, money, number
from fitcheck.diagnostics.finding import Span, portable_path
from fitcheck.kernel.teeth import Pair
from fitcheck.model.fields import STAGE_DESCRIPTIONS, STAGES, Stage

Shape = TypeVar("Shape")
_Step = Callable[[Any], Any]


class More:
    """What JSON Schema says of a member beside its type, for `Annotated`: More(minimum=0)."""

    def __init__(self, **said: Any) -> None:
        self.said = said


class At(NamedTuple):
    """Where `fill` reads a member, for `Annotated`: At("family.record.name").

    Where the member may be null, so may each attribute on the way.
    """

    path: str


class By(NamedTuple):
    """What makes the member of the value read, for `Annotated`: By(str)."""

    make: Callable[[Any], Any]


ITSELF = At("")
"""The member is another shape of the same object."""


def words(values: Iterable[str]) -> More:
    """One of several words."""
    return More(enum=list(values))


def fixed(value: object) -> More:
    """Always the same value; the type is left out."""
    return More(const=value)


Whole = Annotated[int, More(minimum=0)]
Size = Annotated[int, More(minimum=1)]
AtLeast0 = Annotated[float, More(minimum=0)]
Name = Annotated[str, More(minLength=1)]
StageName = Annotated[str, words(STAGES)]
FractionText = Annotated[str, More(pattern=r"^-?[0-9]+/[1-9][0-9]*$"), By(exact_text)]
ExactMoney = Annotated[str, More(pattern=r"^[0-9]+\.[0-9]{2,}$"), By(money)]
SignedMoney = Annotated[str, More(pattern=r"^-?[0-9]+\.[0-9]{2,}$"), By(money)]
CurrencyCode = Annotated[str, More(pattern="^[A-Z]{3}$")]
Date = Annotated[str, More(format="date"), By(date.isoformat)]
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


RecordPlace = Annotated[Place, By(lambda entry: place(entry.span()))]
"""Where the record of an entry stands."""

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
    exact: Annotated[SignedMoney, More(examples=["61.50"])]
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


def money_of(value: Decimal) -> Money:
    """An amount of money."""
    return {"amount": float(value), "exact": money(value)}


def place(span: Span) -> Place:
    """Where a value stands: line and column from 1, in code points."""
    return {"file": portable_path(span.path), "line": span.line, "column": span.column}


def pairs_of(pairs: Mapping[Stage, Pair]) -> Pairs:
    """Tooth counts by stage."""
    return {stage: str(pair) for stage, pair in pairs.items()}  # type: ignore[return-value]


def plain_number(value: Fraction | Decimal | float) -> Any:
    """A number that JSON can hold: what has no end is null; no minus before zero.

    A fraction is rounded to six decimals, a figure of the road to four, an amount not at all.
    """
    if isinstance(value, Fraction):
        return number(value)
    if isinstance(value, Decimal):
        return float(value)
    return round(value, _ROAD_PLACES) + 0.0 if isfinite(value) else None


_WRITERS: dict[Any, _Step] = {
    float: plain_number,
    Exact: exact,
    Money: money_of,
    Place: place,
    Pairs: pairs_of,
}


def fill(shape: type[Shape], source: object, **own: Any) -> Shape:
    """A shape with its members read from an object.

    Args:
        shape: class of an answer or of a part of one.
        source: what a service returns.
        own: members that are given, not read; a dict among them stands as it is. Members on request
            are there only where they are given.

    Raises:
        AttributeError: the object lacks what a member names.
        TypeError: a member is given that the shape lacks.
    """
    filled: dict[str, Any] = {}
    for name, read, write in _members(shape):  # type: ignore[arg-type]
        if name in own:
            value = own[name]
            filled[name] = value if write is None or type(value) is dict else write(value)
        elif read is not None:
            value = read(source)
            filled[name] = value if write is None else write(value)
    if not own.keys() <= filled.keys():
        raise TypeError(f"{shape.__name__} lacks {sorted(own.keys() - filled.keys())}")
    return filled  # type: ignore[return-value]


@cache
def _members(shape: type) -> list[tuple[str, _Step | None, _Step | None]]:
    """Each member with what reads it, None on request, and what writes it, None: as it is."""
    found: list[tuple[str, _Step | None, _Step | None]] = []
    for name, hint in get_type_hints(shape, include_extras=True).items():
        if get_origin(hint) is NotRequired:
            found.append((name, None, _writer(get_args(hint)[0])))
            continue
        said = hint.__metadata__ if get_origin(hint) is Annotated else ()
        path = next((one.path for one in said if isinstance(one, At)), name)
        found.append((name, reader(path, to_null=_is_optional(hint)), _writer(hint)))
    return found


def reader(path: str, *, to_null: bool = True) -> _Step:
    """What reads a path of attributes.

    Args:
        path: names with dots between them; empty for the object itself.
        to_null: whether an attribute on the way that is None gives None, else it is an error.
    """
    if not path:
        return lambda source: source
    first, _, rest = path.partition(".")
    if not (rest and to_null):
        return attrgetter(path)
    begin, go_on = attrgetter(first), reader(rest)

    def read(source: Any) -> Any:
        found = begin(source)
        return None if found is None else go_on(found)

    return read


def _is_optional(hint: Any) -> bool:
    if get_origin(hint) is Annotated:
        return _is_optional(get_args(hint)[0])
    return NoneType in get_args(hint)


def _writer(hint: Any) -> _Step | None:
    """What writes a value as its type asks; None where it is written as it is."""
    origin, arguments = get_origin(hint), get_args(hint)
    if origin is Annotated:
        makers = [one.make for one in hint.__metadata__ if isinstance(one, By)]
        return makers[-1] if makers else _writer(arguments[0])
    if NoneType in arguments:
        (inner,) = [each for each in arguments if each is not NoneType]
        return _or_null(_writer(inner))
    if origin in (list, dict):
        return _writer_of_many(origin, _writer(arguments[-1]))
    if hint in _WRITERS:
        return _WRITERS[hint]
    if is_typeddict(hint):
        return lambda value: value if type(value) is dict else fill(hint, value)
    return None


def _writer_of_many(kind: type, write: _Step | None) -> _Step:
    """What writes a list, or an object of id to value."""
    if write is None:
        return kind
    if kind is list:
        return lambda values: [write(value) for value in values]
    return lambda values: {key: write(value) for key, value in values.items()}


def _or_null(write: _Step | None) -> _Step:
    if write is None:
        return lambda value: None if value == "" else value
    return lambda value: None if value is None else write(value)
