"""What goes onto the page a customer takes home: the machine, its options, what they do."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction

from fitcheck.errors import UsageError
from fitcheck.services.counter.combination import Combination, change_from_factory
from fitcheck.services.counter.match import Match, match
from fitcheck.services.counter.request import Request
from fitcheck.services.counter.subject import BandVerdict, Subject
from fitcheck.services.counter.why import Explanation, explain
from fitcheck.services.road.comparing import compare
from fitcheck.services.road.figures import LawfulAnswer, PullVerdict, RoadAsked, RoadRow
from fitcheck.services.road.results import RoadReport
from fitcheck.services.road.rows import RoadRows

MOST_OPTIONS = 4
"""Options that fit side by side on paper."""

_CHOSEN = 3

_NEAR = dt.timedelta(days=366)

_PULLED = {
    PullVerdict.PULLS: "pulled by the engine",
    PullVerdict.WIND: "pulled only with a tailwind (none without)",
    PullVerdict.NOT: "too tall for the engine (all are)",
}
"""What is said of those chosen, the best verdict first."""


@dataclass(frozen=True)
class Sheet:
    """The content of one sheet.

    Attributes:
        subject: the machine.
        options: each choice worked out, one to four.
        chosen: by which rule they were chosen; None where they were named.
        road: what they do on the road, `road.after` in the order of the options; None where the
            model lacks an input.
        without_road: why there is no road part; None where there is one.
        speeds_km_h: speeds at which to tell the engine's.
    """

    subject: Subject
    options: tuple[Explanation, ...]
    chosen: str | None
    road: RoadReport | None
    without_road: str | None
    speeds_km_h: tuple[float, ...] = ()


def doubt_day(day: dt.date, today: dt.date) -> str | None:
    """What to ask of the day on a page; None within a year of today, before or after."""
    if abs(day - today) <= _NEAR:
        return None
    return f"the page is dated {day}, and today is {today}; is --date right?"


def sheet_of(
    subject: Subject, named: Sequence[Combination], asked: RoadAsked | None = None
) -> Sheet | None:
    """Put a sheet together.

    Args:
        subject: the machine.
        named: the options wanted, at most four; none: the best few by a stated rule.
        asked: inputs of the road model given by hand; a model that cannot be worked out is then
            an error, since somebody asked for it.

    Returns:
        The sheet, or None where none was named and nothing in the band may fit.

    Raises:
        UsageError: more than four are named, none is named and no band says which are best, or
            the inputs given by hand do not make a model.
    """
    if len(named) > MOST_OPTIONS:
        raise UsageError(
            f"{len(named)} options are named and {MOST_OPTIONS} fit side by side; leave some out"
        )
    combinations, chosen = (list(named), None) if named else _choose(subject, asked)
    if not combinations:
        return None
    road, missing = _on_the_road(subject, combinations, asked)
    told = tuple(explain(subject, one.sets) for one in combinations)
    speeds = () if asked is None else asked.extra_speeds_km_h
    return Sheet(
        subject=subject,
        options=told,
        chosen=chosen,
        road=road,
        without_road=missing,
        speeds_km_h=speeds,
    )


def _on_the_road(
    subject: Subject, combinations: Sequence[Combination], asked: RoadAsked | None
) -> tuple[RoadReport | None, str | None]:
    try:
        return compare(subject, combinations, asked if asked is not None else RoadAsked()), None
    except UsageError as error:
        if asked is not None and asked != RoadAsked():
            raise
        return None, error.args[0]  # not as text, which would lose what the customer reads


def _choose(subject: Subject, asked: RoadAsked | None) -> tuple[list[Combination], str | None]:
    """The tallest, the middle and the mildest of what deserves a place, and that rule in words."""
    if subject.band is None:
        raise UsageError(
            "no tune is given, so no band says which options are best; give --tune, or name up to "
            f"{MOST_OPTIONS} options after the machine"
        )
    conditions = [f"in the band of the {subject.band.name}", "proven to fit"]
    found = match(subject, Request(proven_only=True))
    if not found.combinations:
        found = match(subject, Request())
        conditions[1] = "open in fit (none is proven)"
    each = _cheapest_of_each(found.combinations, found.currency)
    kept, on_the_road = _roadworthy(subject, each, asked)
    if not kept:
        return [], None
    *first, last = [*conditions, *on_the_road]
    counted = f"{len(kept)} gearings are" if len(kept) > 1 else "one gearing is"
    which = ""
    if len(kept) > _CHOSEN:
        which = " Shown are the tallest, the middle one and the mildest."
    shown = _spread(kept, _CHOSEN)
    return shown, (
        f"Chosen by rule: {counted} {', '.join(first)} and {last}.{which} Where several sets give "
        f"one gearing, {_which_stands(found)} stands for all.{_beyond_factory_band(subject, shown)}"
    )


def _beyond_factory_band(subject: Subject, shown: Sequence[Combination]) -> str:
    """Which of those chosen lie over the band if it is counted from the factory's gears."""
    assert subject.band is not None
    changes = [change_from_factory(subject, one.reduction) for one in shown]
    over = sum(
        change is not None and subject.band.verdict(change) is BandVerdict.OVER
        for change in changes
    )
    if not over:
        return ""
    which = "each of them is" if over == len(shown) else f"{over} of the {len(shown)} shown are"
    return (
        " The band is counted from the gears now in the machine; counted from its factory gears, "
        f"{which} over it."
    )


def _which_stands(found: Match) -> str:
    """Which of several sets stands for all; prices in two currencies are not compared."""
    priced = {one.currency for one in found.combinations if one.price is not None}
    return "the cheapest" if len(priced) < 2 else f"the cheapest priced in {found.currency}"


def _cheapest_of_each(
    combinations: Iterable[Combination], currency: str | None
) -> list[Combination]:
    """One combination for each reduction, in the order of the list.

    Args:
        combinations: the list.
        currency: the list's; what is priced in another stands for a gearing only where nothing is
            priced in it, and what has no price only where nothing has one.
    """
    best: dict[Fraction, Combination] = {}
    for one in combinations:
        other = best.get(one.reduction)
        if other is None or _is_cheaper(one, other, currency):
            best[one.reduction] = one
    return list(best.values())


def _is_cheaper(one: Combination, other: Combination, currency: str | None) -> bool:
    """Whether it costs less for certain, or has a price to compare where the other has none.

    Amounts in two currencies are not compared.
    """
    ranks = [2 if each.price is None else int(each.currency != currency) for each in (one, other)]
    if ranks[0] != ranks[1]:
        return ranks[0] < ranks[1]
    if one.price is None or other.price is None or one.currency != other.currency:
        return False
    return one.price < other.price


def _spread(combinations: Sequence[Combination], most: int) -> list[Combination]:
    """So many of them, first and last included, evenly apart."""
    last = len(combinations) - 1
    if last < most:
        return list(combinations)
    return [combinations[position * last // (most - 1)] for position in range(most)]


def _roadworthy(
    subject: Subject, combinations: list[Combination], asked: RoadAsked | None
) -> tuple[list[Combination], list[str]]:
    """Those that the engine pulls best and that stay in the class, as far as either is known.

    Where all leave the class, all stay: the sheet then warns of every one. Told in words too.
    """
    try:
        found = RoadRows(subject, asked).rows(one.reduction for one in combinations)
    except UsageError:
        return combinations, []
    reached = {row.verdict for row in found.values()}
    best = next((verdict for verdict in _PULLED if verdict in reached), PullVerdict.NOT)
    kept = [one for one in combinations if found[one.reduction].verdict is best]
    words = [_PULLED[best]]
    if any(row.lawful is not None for row in found.values()):
        lawful = [one for one in kept if not _is_over(found[one.reduction])]
        words.append(
            "not certain to leave the class" if lawful else "certain to leave the class (all are)"
        )
        kept = lawful or kept
    return kept, words


def _is_over(row: RoadRow) -> bool:
    return row.lawful is not None and row.lawful.answer is LawfulAnswer.OVER
