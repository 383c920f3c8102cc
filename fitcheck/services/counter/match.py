"""Every combination of gear sets that fits a machine, ranked and filtered, with all counts."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import TYPE_CHECKING, NamedTuple

from fitcheck.kernel.enumeration import Problem, Row, Window, count, rows
from fitcheck.model.money import amount
from fitcheck.rules.answers import Answer
from fitcheck.services.counter.bands import Band
from fitcheck.services.counter.choices import Choices
from fitcheck.services.counter.combination import Combination, combination_of
from fitcheck.services.counter.exclusions import Exclusion, exclusions_of
from fitcheck.services.counter.request import (
    Request,
    is_narrowed,
    question,
    reductions,
    window_of,
    without_price,
)
from fitcheck.services.counter.subject import Subject
from fitcheck.services.road.figures import ClassAnswer, RoadRow, RoadSide

if TYPE_CHECKING:
    from fitcheck.services.counter.list_road import RoadList


@dataclass(frozen=True, slots=True)
class Counts:
    """How many choices there are; fits + unproven + ruled_out = all_choices.

    Attributes:
        all_choices: every combination the catalogue can make for this train.
        fits: proved at `stated` or better.
        unproven: nothing speaks against them, some datum is missing.
        ruled_out: a rule speaks against them.
        in_band: of fits and unproven, those in the band.
        shorter: of fits and unproven, those that make the machine shorter.
        below: taller than now, under the band.
        stretch: over the band, within its stretch.
        over: beyond that.
        listed: those that pass every filter asked for.
        unlawful: those that pass every other filter but are left out as unlawful; None where
            nobody asked for lawful ones only.
        price_unknown: those that pass window and other filters, before the law, but hold a set of
            unknown price; None where no greatest price was asked.
        other_currency: likewise those of known prices that hold a set priced in another currency
            than the list's.
    """

    all_choices: int
    fits: int
    unproven: int
    ruled_out: int
    in_band: int | None
    shorter: int
    below: int | None
    stretch: int | None
    over: int | None
    listed: int
    unlawful: int | None = None
    price_unknown: int | None = None
    other_currency: int | None = None


@dataclass(frozen=True)
class Match:
    """The answer to one question at the counter.

    Attributes:
        subject: the machine.
        request: what was asked for.
        band: the band of its tune, or None.
        window: road-speed change listed, percent, both edges inside, None for an open side.
        combinations: what is listed, in order.
        counts: of all choices, whatever was asked for.
        currency: of the prices listed, or None where there is none.
        shorter: what one set makes shorter, within the filters, where the window starts at zero or
            above and nobody asked for taller ones only.
        all_shorter: how many combinations within the filters are shorter, those of several sets
            included; 0 where `shorter` is not listed.
        exclusions: what was ruled out, where it was asked for.
        road: what the road model says of the list as a whole, where the road or the law is asked.
    """

    subject: Subject
    request: Request
    band: Band | None
    window: tuple[Fraction | None, Fraction | None]
    combinations: list[Combination]
    counts: Counts
    currency: str | None
    shorter: list[Combination] = field(default_factory=list)
    all_shorter: int = 0
    exclusions: list[Exclusion] = field(default_factory=list)
    road: RoadSide | None = None


def match(subject: Subject, request: Request | None = None) -> Match:
    """List every combination that fits a machine, ranked by road-speed change or as asked.

    The order is road-speed change falling, then pairs, then price, then ids; a rank by a figure of
    the road goes before that. See docs/matching.md.

    Raises:
        UsageError: the road or the law is asked, and the model lacks an input or no class is known.
    """
    request = request if request is not None else Request()
    road = _road_list(subject, request)
    choices = Choices.of(subject)
    asked = question(choices, request)
    problem, wanted, currency = asked.problem, asked.window, asked.currency
    max_price, least_grade = asked.max_price, asked.min_grade
    everything = choices.problem() if is_narrowed(request) else problem
    low, high = window_of(subject, request)

    def ask(window: Window, *, top: int | None, max_sets: int | None) -> Iterable[Row]:
        return rows(
            problem,
            window,
            top=top,
            max_price=max_price,
            max_sets=max_sets,
            min_grade=least_grade,
        )

    def number(window: Window) -> int:
        if max_price is None:
            return count(problem, window, max_sets=request.max_sets).between(least_grade)
        return sum(1 for _ in ask(window, top=None, max_sets=request.max_sets))

    def ranked(found: Iterable[Row], top: int | None) -> tuple[list[Combination], int, int]:
        """Combinations, and of all rows found those that pass and those dropped as unlawful."""
        if road is None:
            listed = [_Placed(row, row.reduction) for row in found]
            return _ranked(subject, listed, choices.places, currency), len(listed), 0
        seen, passed, dropped = road.select(found, top)
        listed = [
            _Placed(one.row, one.key or one.row.reduction, one.road, one.lawful) for one in seen
        ]
        return _ranked(subject, listed, choices.places, currency), passed, dropped

    needs_all = road is not None and road.needs_all
    most = None if needs_all else request.top
    found, passed, dropped = ranked(ask(wanted, top=most, max_sets=request.max_sets), request.top)
    counts = _counts(subject, choices, everything, passed if needs_all else number(wanted))
    if request.lawful:
        counts = replace(counts, unlawful=dropped)
    if max_price is not None:
        unknown, other = without_price(choices, asked, request.max_sets)
        counts = replace(counts, price_unknown=unknown, other_currency=other)
    shorter: list[Combination] = []
    all_shorter = 0
    if low is not None and low >= 0 and not request.taller_only:
        below_now = reductions(subject, None, Fraction(0))
        unchanged = below_now[0]

        def slower(max_sets: int | None) -> Iterable[Row]:
            found = ask(below_now, top=None, max_sets=max_sets)
            return (row for row in found if row.reduction != unchanged)

        if request.lawful:
            _, all_shorter, _ = ranked(slower(request.max_sets), 0)
        else:
            all_shorter = number(below_now) - number((unchanged, unchanged))
        shorter, _, _ = ranked(slower(1), None)
    return Match(
        subject,
        request,
        subject.band,
        (low, high),
        found,
        counts,
        currency,
        shorter,
        all_shorter,
        exclusions_of(choices) if request.exclusions else [],
        None if road is None else road.side,
    )


def _road_list(subject: Subject, request: Request) -> RoadList | None:
    if not request.on_road:
        return None
    from fitcheck.services.counter.list_road import RoadList  # noqa: PLC0415 - numpy, for the road alone

    return RoadList(subject, request)


class _Placed(NamedTuple):
    """A row, what equal rows of one rank share, and what is told of it."""

    row: Row
    key: object
    road: RoadRow | None = None
    lawful: ClassAnswer | None = None


def _ranked(
    subject: Subject, listed: Iterable[_Placed], places: int, currency: str | None
) -> list[Combination]:
    sets = subject.catalogue.gear_sets
    known: dict[str, list[Answer]] = {}
    combinations: list[Combination] = []
    before: object = None
    rank = 0
    for position, (row, key, road, lawful) in enumerate(listed, start=1):
        if key != before:
            rank, before = position, key
        taken = tuple(sets[id_] for id_ in row.ids)
        # In another currency than the list's it is ranked as of unknown price, but still told.
        price = None if row.price is None else (amount(row.price, places), currency)
        combinations.append(
            combination_of(
                subject,
                taken,
                dict(zip(subject.stages, row.pairs, strict=True)),
                price=price,
                rank=rank,
                known=known,
                road=road,
                lawful=lawful,
            )
        )
    return combinations


def _counts(subject: Subject, choices: Choices, problem: Problem, listed: int) -> Counts:
    def alive(low: Fraction | None, high: Fraction | None) -> int:
        return count(problem, reductions(subject, low, high)).between(0)

    def under(edge: Fraction) -> int:
        return alive(None, edge) - alive(edge, edge)

    total = count(problem)
    fits, unproven = total.between(1), total.between(0, 0)
    zero = Fraction(0)
    shorter = under(zero)
    in_band = below = stretch = over = None
    band = subject.band
    if band is not None:
        floor = max(band.low, zero)
        taller_in_band = alive(floor, band.high)
        in_band = alive(band.low, band.high)
        # A band may reach under zero; what lies in it is not counted as shorter.
        shorter -= in_band - taller_in_band
        below = under(floor) - under(zero)
        stretch = alive(floor, band.stretch) - taller_in_band
        over = fits + unproven - shorter - in_band - below - stretch
    return Counts(
        all_choices=choices.all_choices,
        fits=fits,
        unproven=unproven,
        ruled_out=choices.all_choices - fits - unproven,
        in_band=in_band,
        shorter=shorter,
        below=below,
        stretch=stretch,
        over=over,
        listed=listed,
    )
