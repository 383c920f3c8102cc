"""One line of a ledger: one change of one part, chained to the line before by its check sum.

Its time is UTC in the file, and in the machine's own zone where a person reads it.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import json
import re
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass, field, replace
from decimal import Context, Decimal, InvalidOperation
from types import MappingProxyType
from typing import Any, Literal, cast, get_args

from fitcheck.model.fields import is_id

SLACK = dt.timedelta(minutes=10)
"""The clocks of two tills may differ by so much; it is not reported."""

_FORM = "%Y-%m-%dT%H:%M:%SZ"


def utc_now(ahead: dt.timedelta = dt.timedelta()) -> str:
    """The time as the ledger writes it, UTC with seconds; or that of a moment later."""
    return (dt.datetime.now(dt.UTC) + ahead).strftime(_FORM)


def is_behind(time: str, before: str) -> bool:
    """Whether a line's time is earlier than one before it, by more than clocks differ.

    Args:
        time: of the line, as the ledger writes it.
        before: of the line before.
    """
    return time < before and _moment(before) - _moment(time) > SLACK


def local_time(time: str) -> tuple[str, str]:
    """A time of a ledger for people, in this machine's zone, and the zone.

    Args:
        time: as the ledger writes it.

    Returns:
        Such as `2026-11-25 15:03:09` and `UTC+01:00`.
    """
    moment = _moment(time)
    # Some systems' tables do not have every year.
    with suppress(OSError, OverflowError, ValueError):
        moment = moment.astimezone()
    minutes = int((moment.utcoffset() or dt.timedelta()).total_seconds()) // 60
    hours, rest = divmod(abs(minutes), 60)
    zone = f"UTC{'-' if minutes < 0 else '+'}{hours:02}:{rest:02}" if minutes else "UTC"
    return moment.replace(tzinfo=None).isoformat(" "), zone


def local_words(time: str) -> str:
    """A time of a ledger for people: `2026-11-25 15:03:09 (UTC+01:00)`."""
    text, zone = local_time(time)
    return f"{text} ({zone})"


def _moment(time: str) -> dt.datetime:
    return dt.datetime.fromisoformat(time)


Action = Literal["open", "receive", "issue", "count", "price", "place", "close"]
ACTIONS: tuple[Action, ...] = get_args(Action)

Detail = str | Decimal | None
"""A place, cost or price that a line sets; None: it was taken away."""

DETAILS = ("place", "cost", "price")
"""The fields beside the quantity, in the order of a shelf entry."""

FIRST_SUM = ""
"""What stands for the check sum of the line before the first."""

MAX_LINE_BYTES = 16 * 1024
MAX_TEXT = 500
MAX_DECIMALS = 20
MOST = 1_000_000
"""The most pieces of one part, and the most money for one, as in a shelf entry."""

_NOTHING: Mapping[str, Detail] = MappingProxyType({})
_TIME = re.compile(r"[0-9]{4}-[01][0-9]-[0-3][0-9]T[0-2][0-9]:[0-5][0-9]:[0-5][0-9]Z")
_MONEY = re.compile(rf"[0-9]{{1,7}}(?:\.[0-9]{{1,{MAX_DECIMALS}}})?")
_PRECISE = Context(prec=60)
_SUM = re.compile(rb'^(?P<body>\{.*), "sum": "(?P<sum>[0-9a-f]{32})"\}$', re.DOTALL)
_NEEDED = ("seq", "time", "action", "part", "change", "quantity_after")
_NEEDED_SET = frozenset(_NEEDED)
_KNOWN = frozenset((*_NEEDED, *DETAILS, "reason", "by", "more", "sum"))


def _refuse(word: str) -> None:
    raise ValueError(f"{word} is no number")


_JSON = json.JSONDecoder(parse_float=Decimal, parse_constant=_refuse)


class LineError(ValueError):
    """A line that is not valid; the text says why, in a few words."""


@dataclass(frozen=True, slots=True)
class LedgerLine:
    """One change of one part.

    Attributes:
        seq: number of the line, from 1.
        time: when, UTC, such as `2026-11-25T14:03:09Z`.
        action: what was done.
        part: id of the gear set.
        change: pieces more, or less where below zero.
        quantity_after: pieces on the shelf after it.
        sets: place, cost and price as far as the line changes them; None takes one away.
        reason: why, in words.
        by: who did it.
        more: lines of the same move that follow this one; a move counts only as a whole.
        sum: check sum of this line and the sum before it; empty until it is written.
    """

    seq: int
    time: str
    action: Action
    part: str
    change: int
    quantity_after: int
    sets: Mapping[str, Detail] = field(default_factory=lambda: _NOTHING)
    reason: str | None = None
    by: str | None = None
    more: int = 0
    sum: str = ""

    def written(self, sum_before: str) -> tuple[str, LedgerLine]:
        """Its text, without a line break, behind a line of that sum; and the line with its sum."""
        data: dict[str, Any] = {name: getattr(self, name) for name in _NEEDED}
        for name in DETAILS:
            if name in self.sets:
                value = self.sets[name]
                data[name] = money_text(value) if isinstance(value, Decimal) else value
        for name in ("reason", "by", "more"):
            if getattr(self, name):
                data[name] = getattr(self, name)
        body = json.dumps(data, ensure_ascii=False)[:-1]
        own = _sum(sum_before, body.encode())
        return f'{body}, "sum": "{own}"}}', replace(self, sum=own)


def read_line(data: bytes, sum_before: str) -> tuple[LedgerLine, bool]:
    """Read one line.

    Args:
        data: its bytes, without the line break.
        sum_before: check sum of the line before.

    Returns:
        The line, and whether its check sum is that of this text behind that line.

    Raises:
        LineError: it is not a valid line of a ledger.
    """
    if len(data) > MAX_LINE_BYTES:
        raise LineError(f"the line is longer than {MAX_LINE_BYTES:,} bytes")
    found = _SUM.match(data)
    if found is None:
        raise LineError("the line does not end in its check sum")
    try:
        held = _JSON.decode(data.decode())
    except RecursionError:
        raise LineError("the line is no plain JSON object") from None
    except ValueError as error:
        raise LineError(f"the line is no JSON ({str(error).split(':')[0].lower()})") from None
    return _line(held), _sum(sum_before, found["body"]) == held["sum"]


def _sum(before: str, body: bytes) -> str:
    return hashlib.sha256(before.encode() + body).hexdigest()[:32]


def _line(held: Any) -> LedgerLine:
    if not isinstance(held, dict):
        raise LineError("the line is no JSON object")
    if not held.keys() >= _NEEDED_SET:
        missing = [name for name in _NEEDED if name not in held]
        raise LineError(f"the line lacks {missing[0]}")
    if not held.keys() <= _KNOWN:
        unknown = min(held.keys() - _KNOWN)
        raise LineError(f"the line has {unknown[:40]!r}, which no line has")
    action = held["action"]
    if action not in ACTIONS:
        raise LineError(f"there is no action {str(action)[:40]!r}")
    if not isinstance(held["part"], str) or not is_id(held["part"]):
        raise LineError("part is no id")
    if not isinstance(held["time"], str) or not _is_time(held["time"]):
        raise LineError("time is not written as 2026-11-25T14:03:09Z")
    return LedgerLine(
        seq=_whole(held, "seq", 1, 10**12),
        time=held["time"],
        action=cast("Action", action),
        part=held["part"],
        change=_whole(held, "change", -MOST, MOST),
        quantity_after=_whole(held, "quantity_after", 0, MOST),
        sets=_sets(held),
        reason=_words(held, "reason"),
        by=_words(held, "by"),
        more=_whole(held, "more", 1, 10**9) if "more" in held else 0,
        sum=held["sum"],
    )


def _is_time(text: str) -> bool:
    if not _TIME.fullmatch(text):
        return False
    try:
        dt.datetime.fromisoformat(text)
    except ValueError:  # a day that no month has
        return False
    return True


def _sets(held: dict[str, Any]) -> Mapping[str, Detail]:
    if held.keys().isdisjoint(DETAILS):
        return _NOTHING
    return MappingProxyType({name: _detail(held, name) for name in DETAILS if name in held})


def _whole(held: dict[str, Any], name: str, low: int, high: int) -> int:
    value = held[name]
    if type(value) is not int or not low <= value <= high:
        raise LineError(f"{name} is no whole number from {low:,} to {high:,}")
    return value


def _words(held: dict[str, Any], name: str) -> str | None:
    value = held.get(name)
    if name in held and (not isinstance(value, str) or not value.strip()):
        raise LineError(f"{name} is no text")
    return value


def _detail(held: dict[str, Any], name: str) -> Detail:
    value = held[name]
    if value is None:
        return None
    if name == "place":
        return _words(held, name)
    if not isinstance(value, str) or not _MONEY.fullmatch(value):
        raise LineError(
            f"{name} is no amount in quotes, like 69.90, of at most {MAX_DECIMALS} decimals"
        )
    try:
        return Decimal(value)
    except InvalidOperation:  # pragma: no cover - the pattern leaves nothing to refuse
        raise LineError(f"{name} is no amount") from None


def money_text(value: Decimal) -> str:
    """An amount as the ledger and the shelf file write it: no exponent, two decimals or more."""
    plain = value.normalize(_PRECISE)  # the usual precision would round a long one
    exponent = plain.as_tuple().exponent
    places = max(2, -exponent) if isinstance(exponent, int) else 2
    return f"{plain:.{places}f}"
