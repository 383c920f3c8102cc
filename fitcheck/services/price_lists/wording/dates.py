"""Dates and times that a spreadsheet made of tooth counts, and how far that can be undone.

Typed into a spreadsheet, `12/45` turns into December 1945, `10/12` into a day of this year and
`14:45` into a time. Common practice, no source; the two-digit years 30 to 99 mean the last
century, 00 to 29 this one.
"""

from __future__ import annotations

import datetime as dt
import re
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from fitcheck.kernel.teeth import Pair, TeethError, read_pair
from fitcheck.services.price_lists.reading.cells import Cell, Native, plain_text
from fitcheck.services.price_lists.wording.cues import WORDS
from fitcheck.services.price_lists.wording.readings import fold

_FIRST_YEAR, _LAST_YEAR = 1930, 2029
"""The years that two digits mean."""

_MONTH = {word: int(number) for number, words in WORDS["month"].items() for word in words}
_NAMED = re.compile(
    r"(?:(?P<day>[0-9]{1,2})[. \-/]{0,2})?(?P<month>[a-z]{3,10})\.?"
    r"(?:[ \-/]{0,2}'?(?P<year>[0-9]{4}|[0-9]{2}))?"
)
_WRITTEN = re.compile(
    r"(?P<y>(?:19|20)[0-9]{2})-(?P<m>[0-9]{1,2})-(?P<d>[0-9]{1,2})(?:[t ]00:00(?::00(?:\.0+)?)?)?"
    r"|(?P<d2>[0-9]{1,2})(?P<sign>[./])(?P<m2>[0-9]{1,2})(?P=sign)(?P<y2>(?:19|20)?[0-9]{2})"
    r"(?: 00:00(?::00)?)?"
)
_CLOCK = re.compile(
    r"(?P<h>[0-9]{1,3}):(?P<m>[0-9]{2}):(?P<s>[0-9]{2})(?: ?(?P<half>[ap])\.?m\.?)?"
)


@dataclass(frozen=True, slots=True)
class Undone:
    """What tooth counts a date or time was.

    Attributes:
        certain: whether only one reading is possible.
        pairs: the readings possible; may be none.
        reason: one sentence.
    """

    certain: bool
    pairs: tuple[Pair, ...]
    reason: str


def undo(cell: Cell) -> Undone | None:
    """The tooth counts behind a date or a time, or None where the cell is neither."""
    value = cell.value
    if isinstance(value, dt.datetime):
        if value.time() == dt.time():
            return _of_date(value.day, value.month, value.year, cell.number_format)
        return Undone(False, (), f"{cell.text.strip()} is a date and a time, not tooth counts")
    if isinstance(value, dt.date):
        return _of_date(value.day, value.month, value.year, cell.number_format)
    if isinstance(value, dt.time):
        return _of_time(value.hour, value.minute, value.second)
    if isinstance(value, dt.timedelta):
        minutes, seconds = divmod(round(value.total_seconds()), 60)
        return _of_time(*divmod(minutes, 60), seconds)
    return _of_text(fold(cell.text).strip())


_DAY_AND_MONTH = re.compile(r"0?([0-9]{1,2})[/.-]0?([0-9]{1,2})")
_LEAST_TIMES = 3


def doubtful_values(column: Iterable[Native]) -> frozenset[Native]:
    """What stands in a column of tooth counts and may be a date or a time, and no counts.

    Dates always may, unless all that stands there are times of day: `14:45` typed turns into one,
    and a column of them is of counts. A text such as `12/15` may where there are dates, unless most
    cells of the column are counts that can be no day and month.

    Args:
        column: its values.
    """
    held = Counter(value for value in column if value is not None and value != "")
    dates: set[Native] = set()
    like_dates: set[Native] = set()
    times = counts = 0
    for value, number in held.items():
        text = plain_text(value)
        if undo(Cell("", text, value)) is not None:
            dates.add(value)
            times += number * _is_time(value)
        elif (found := _DAY_AND_MONTH.fullmatch(text.strip())) and _is_day(*found.groups()):
            like_dates.add(value)
        else:
            counts += number * any(map(str.isdigit, text))
    if not dates or (times == held.total() and times >= _LEAST_TIMES):
        return frozenset()
    return frozenset(dates if counts * 2 > held.total() else dates | like_dates)


def _is_time(value: Native) -> bool:
    if isinstance(value, str):
        return _CLOCK.fullmatch(fold(value).strip()) is not None
    return isinstance(value, (dt.time, dt.timedelta))


def _is_day(first: str, second: str) -> bool:
    """Whether two numbers may be a day and a month, in either order."""
    less, more = sorted((int(first), int(second)))
    return less <= 12 and more <= 31


def _of_text(text: str) -> Undone | None:
    clock = _CLOCK.fullmatch(text)
    if clock:
        hours = int(clock["h"])
        if clock["half"]:
            hours = hours % 12 + (12 if clock["half"] == "p" else 0)
        return _of_time(hours, int(clock["m"]), int(clock["s"]))
    written = _WRITTEN.fullmatch(text)
    if written:
        return _of_written(written)
    named = _NAMED.fullmatch(text)
    return _of_named(named) if named and named["month"] in _MONTH else None


def _of_named(found: re.Match[str]) -> Undone | None:
    """A date whose month is a word: `10-Dec`, `Dez 45`, `1. Dezember 1945`."""
    day, year = int(found["day"] or 0), _full_year(found["year"] or "")
    month = _MONTH[found["month"]]
    if day > 31:
        return None
    if day and year:
        return _of_date(day, month, year, "")
    if day:
        return _pairs([(day, month)], "day and month", certain=True)
    if not year:
        return None
    if not _FIRST_YEAR <= year <= _LAST_YEAR:
        return Undone(False, (), "a month and a year, not tooth counts")
    # `Oct-12` is also how some programs show the twelfth of October: the same two counts.
    return _pairs([(month, year % 100)], "month and year", certain=True)


def _of_written(found: re.Match[str]) -> Undone | None:
    """A whole date in figures; day and month may have changed places."""
    first, second = (int(found[name] or found[f"{name}2"]) for name in ("d", "m"))
    year = _full_year(found["y"] or found["y2"])
    orders = [(first, second)]
    if found["sign"]:
        orders.append((second, first))
    undone = [
        _of_date(day, month, year, "")
        for day, month in dict.fromkeys(orders)
        if 1 <= month <= 12 and 1 <= day <= 31
    ]
    if not undone:
        return None
    pairs = tuple(dict.fromkeys(pair for each in undone for pair in each.pairs))
    certain = next((each for each in undone if each.certain), None)
    if certain is not None and len(pairs) == 1:
        return certain
    return Undone(
        False, pairs, next((each.reason for each in undone if each.pairs), undone[0].reason)
    )


def _full_year(digits: str) -> int:
    """The year meant by four digits or two; 0 for none."""
    if len(digits) != 2:
        return int(digits or 0)
    return int(digits) + (1900 if int(digits) >= _FIRST_YEAR % 100 else 2000)


def _of_date(day: int, month: int, year: int, code: str) -> Undone:
    parts = _parts(code)
    if parts == "dm":
        return _pairs([(day, month)], "day and month", certain=True)
    short_year = year % 100 if _FIRST_YEAR <= year <= _LAST_YEAR else 0
    if parts == "my" and day == 1:
        return _pairs([(month, short_year)], "month and year", certain=True)
    possible = [(day, month)]
    if day == 1:
        possible.append((month, short_year))
    # A day of the last century is no date that a list of today would hold.
    old = day == 1 and _FIRST_YEAR <= year <= 1999 and parts != "dm"
    return _pairs(possible, "the parts of a date", certain=old)


def _parts(code: str) -> str:
    """Which of day, month and year a number format shows."""
    bare = re.sub(r'"[^"]*"|\\.|\[[^\]]*\]|_.', "", code.lower()).partition(";")[0]
    if "h" in bare or "s" in bare:
        return "time"
    return "".join(
        name
        for name, letters in (("d", "dtg"), ("m", "m"), ("y", "yja"))
        if set(letters) & set(bare)
    )


def _of_time(hours: int, minutes: int, seconds: int) -> Undone:
    if seconds:
        return Undone(False, (), "a time with seconds, not tooth counts")
    undone = _pairs([(hours, minutes)], "hours and minutes", certain=True)
    # Typed minutes over 59 are carried into the hours: 15:68 turns into 16:08.
    carried = _valid(hours - 1, minutes + 60)
    if carried and minutes + 60 <= 90 and carried.reduction <= 6:
        pairs = tuple(dict.fromkeys((*undone.pairs, carried)))
        return Undone(
            False, pairs, "the spreadsheet made a time of the counts, which can be read two ways"
        )
    return undone


def _valid(first: int, second: int) -> Pair | None:
    try:
        return read_pair((first, second))
    except TeethError:
        return None


def _pairs(possible: list[tuple[int, int]], what: str, *, certain: bool) -> Undone:
    pairs = tuple(
        dict.fromkeys(pair for first, second in possible if (pair := _valid(first, second)))
    )
    if not pairs:
        return Undone(False, (), f"a spreadsheet made a date or time of it; {what} are no counts")
    if certain and len(pairs) == 1:
        return Undone(True, pairs, f"a spreadsheet seems to have made {what} of {pairs[0]}")
    return Undone(
        False, pairs, "a spreadsheet may have made a date of the counts; look at the list"
    )
