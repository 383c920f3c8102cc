"""Every combination of gear sets that fits a machine, ranked and filtered, with all counts."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from fractions import Fraction
from html import escape
from importlib import import_module
from typing import TYPE_CHECKING, Any

from fitcheck.kernel.enumeration import Row, count
from fitcheck.services.counter.choices import Choices, Exclusion, exclusions_of
from fitcheck.services.counter.combination import Combination, combination_of
from fitcheck.services.counter.gearings import select_gearings
from fitcheck.services.counter.request import (
    Question,
    Request,
    question,
    reductions,
    window_of,
    without_price,
)
from fitcheck.services.counter.subject import Band, Subject
from fitcheck.services.road.figures import RoadSide, Seen, Selection

if TYPE_CHECKING:
    import pandas as pd

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
        not_orderable: of those listed, how many cannot be had now; None where nobody asked for
            gearings.
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
    not_orderable: int | None = None


@dataclass(frozen=True)
class Match:
    """The answer to one question at the counter.

    Attributes:
        subject: the machine.
        request: what was asked for.
        band: the band of its tune, or None.
        window: road-speed change listed, percent, both edges inside, None for an open side.
        combinations: what is listed, in order; by gearing, one of each.
        counts: of all choices, whatever was asked for.
        currency: of the prices listed, or None where there is none.
        shorter: what one set makes shorter, within the filters, where the window starts at zero or
            above and nobody asked for taller ones only.
        all_shorter: how many combinations within the filters are shorter, those of several sets
            included; 0 where `shorter` is not listed.
        exclusions: what was ruled out, where it was asked for.
        road: what the road model says of the list as a whole, where the road or the law is asked.
        more: by gearing, whether more of them follow.
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
    more: bool = False

    def __repr__(self) -> str:
        listed = f"{len(self.combinations)} of {self.counts.all_choices} choices"
        return f"Match({self.subject.name}: {listed}, {len(self.shorter)} shorter)"

    def _repr_html_(self) -> str:
        """The combinations as a table, for notebooks."""
        head = ("rank", "sets", "teeth", "road speed", "fit", "price")
        rows = [_html_row("td", one.words) for one in self.combinations]
        return (
            f"<table><thead>{_html_row('th', head)}</thead><tbody>{''.join(rows)}</tbody></table>"
        )

    def to_frame(self, *, shorter: bool = False) -> pd.DataFrame:
        """The combinations as `fitcheck.combinations_frame` gives them."""
        frame: pd.DataFrame = _door().combinations_frame(self, shorter=shorter)
        return frame

    def to_json(self, *, indent: int | None = None) -> str:
        """The answer as `fitcheck match --format json` prints it; see docs/json.md."""
        return json.dumps(_door().match_answer(self), ensure_ascii=False, indent=indent)


def _door() -> Any:
    """The package as users see it: answers stand above services, and lead here by it alone."""
    return import_module("fitcheck")


def _html_row(tag: str, cells: Iterable[str]) -> str:
    return f"<tr>{''.join(f'<{tag}>{escape(cell)}</{tag}>' for cell in cells)}</tr>"


def match(subject: Subject, request: Request | None = None) -> Match:
    """List every combination that fits a machine, ranked by road-speed change or as asked.

    The order is road-speed change falling, then pairs, then price, then ids; a rank by a figure of
    the road goes before that. See docs/matching.md.

    Raises:
        UsageError: the road or the law is asked, and the model lacks an input or no class is known.
    """
    return match_choices(Choices.of(subject), Request() if request is None else request)


def match_choices(choices: Choices, request: Request) -> Match:
    """As `match`, of a machine whose sets are judged already.

    Raises:
        UsageError: as for `match`.
    """
    subject = choices.subject
    road = _road_list(subject, request)
    asked = question(choices, request)
    # Where the road ranks or the law drops rows, every row is looked at before the first is known.
    needs_all = road is not None and road.needs_all
    if request.by_gearing:
        listed = select_gearings(choices, asked.rows(asked.window), road, request)
    else:
        found = asked.rows(asked.window, top=None if needs_all else request.top)
        listed = _select(found, road, request.top)
    shorter, all_shorter = _shorter(choices, request, asked, road)
    return Match(
        subject=subject,
        request=request,
        band=subject.band,
        window=window_of(subject, request),
        combinations=_combinations(choices, listed),
        counts=_counts(choices, request, asked, listed if needs_all else None),
        currency=asked.currency,
        shorter=_combinations(choices, shorter),
        all_shorter=all_shorter,
        exclusions=exclusions_of(choices) if request.exclusions else [],
        road=None if road is None else road.side,
        more=listed.more,
    )


def _road_list(subject: Subject, request: Request) -> RoadList | None:
    if not request.on_road:
        return None
    from fitcheck.services.counter.list_road import RoadList  # noqa: PLC0415 - numpy, for the road alone

    return RoadList(subject, request)


def _select(found: Iterable[Row], road: RoadList | None, top: int | None) -> Selection:
    """The rows to list: all of them, or what the road and the law leave."""
    if road is not None:
        return road.select(found, top)
    seen = [Seen(row) for row in found]
    return Selection(seen, passed=len(seen))


def _shorter(
    choices: Choices, request: Request, asked: Question, road: RoadList | None
) -> tuple[Selection, int]:
    """What one set makes shorter, and how many combinations are shorter in all."""
    low, _ = window_of(choices.subject, request)
    if low is None or low < 0 or request.taller_only:
        return Selection([], passed=0), 0
    window = reductions(choices.subject, None, Fraction(0))
    unchanged = window[0]

    def slower(*, single_sets: bool = False) -> Iterable[Row]:
        found = asked.rows(window, single_sets=single_sets)
        return (row for row in found if row.reduction != unchanged)

    if request.lawful:
        all_shorter = _select(slower(), road, 0).passed
    else:
        all_shorter = asked.count(window) - asked.count((unchanged, unchanged))
    return _select(slower(single_sets=True), road, None), all_shorter


def _combinations(choices: Choices, listed: Selection) -> list[Combination]:
    combinations: list[Combination] = []
    before: object = None
    rank = 0
    for position, one in enumerate(listed.seen, start=1):
        key = one.key or one.row.reduction
        if one.rank is not None:
            rank = one.rank
        elif key != before:
            rank, before = position, key
        combinations.append(
            combination_of(
                choices.subject,
                choices.sets_of(one.row),
                choices.seats,
                rank=rank,
                road=one.road,
                lawful=one.lawful,
            )
        )
    return combinations


def _counts(
    choices: Choices, request: Request, asked: Question, listed: Selection | None
) -> Counts:
    """Of all choices, whatever was asked for; `listed` where every row was looked at."""
    subject, band = choices.subject, choices.subject.band
    problem = asked.problem if asked.keep is None else choices.problem()

    def alive(low: Fraction | None, high: Fraction | None) -> int:
        return count(problem, reductions(subject, low, high)).between(0)

    def under(edge: Fraction) -> int:
        return alive(None, edge) - alive(edge, edge)

    total = count(problem)
    fits, unproven = total.between(1), total.between(0, 0)
    zero = Fraction(0)
    shorter = under(zero)
    in_band = below = stretch = over = price_unknown = other_currency = not_orderable = None
    if band is not None:
        floor = max(band.low, zero)
        taller_in_band = alive(floor, band.high)
        in_band = alive(band.low, band.high)
        # A band may reach under zero; what lies in it is not counted as shorter.
        shorter -= in_band - taller_in_band
        below = under(floor) - under(zero)
        stretch = alive(floor, band.stretch) - taller_in_band
        over = fits + unproven - shorter - in_band - below - stretch
    if asked.max_price is not None:
        price_unknown, other_currency = without_price(choices, asked)
    passed = asked.count(asked.window) if listed is None else listed.passed
    if request.by_gearing:
        not_orderable = _not_orderable(choices, request, asked) if listed is None else listed.gone
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
        listed=passed,
        unlawful=listed.dropped if listed is not None and request.lawful else None,
        price_unknown=price_unknown,
        other_currency=other_currency,
        not_orderable=not_orderable,
    )


def _not_orderable(choices: Choices, request: Request, asked: Question) -> int:
    """How many of those listed cannot be had now."""
    if all(one.offer.orderable for one in choices.sets(asked.keep)):
        return 0
    had = question(choices, replace(request, orderable=True, currency=asked.currency))
    return asked.count(asked.window) - had.count(had.window)
