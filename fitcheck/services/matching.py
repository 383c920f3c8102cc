"""Every combination of gear sets that fits a machine, ranked and filtered, with all counts."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction

from fitcheck.catalogue.reader import Entry
from fitcheck.errors import UsageError
from fitcheck.kernel.enumeration import Problem, Row, Window, count, rows
from fitcheck.kernel.gearing import (
    overall_reduction,
    reduction_change,
    road_speed_change,
)
from fitcheck.kernel.teeth import Pair
from fitcheck.model.fields import STAGES, Stage
from fitcheck.model.gear_set import GearSet
from fitcheck.rules.answers import Answer, Judgement, judge
from fitcheck.rules.fit import idler_seat, set_answers
from fitcheck.services.bands import Band, BandVerdict
from fitcheck.services.choices import Choices, amount
from fitcheck.services.exclusions import Exclusion, exclusions_of
from fitcheck.services.notes import combination_notes
from fitcheck.services.request import Request, is_narrowed, question, reductions, window_of
from fitcheck.services.subject import Subject

__all__ = ["Combination", "Counts", "Match", "combine", "match"]


@dataclass(frozen=True, slots=True)
class Combination:
    """One choice per stage, at least one of them a gear set.

    Attributes:
        rank: 1 for the most road speed; equal reductions share a rank.
        sets: the gear sets to buy, from input shaft to wheel.
        pairs: the resulting pairs by stage.
        changed: stages whose pair comes from a set.
        reduction: overall reduction, exact.
        road_speed_change: percent, exact.
        reduction_change: percent, exact.
        band: where the road-speed change lies against the tune's band.
        judgement: verdict of fit, evidence, and the rules it rests on.
        answers: every rule's answer.
        price: sum of the sets' prices, or None where one is unknown or currencies differ.
        currency: of the price.
        notes: what else to know, short.
    """

    rank: int
    sets: tuple[Entry[GearSet], ...]
    pairs: dict[Stage, Pair]
    changed: tuple[Stage, ...]
    reduction: Fraction
    road_speed_change: Fraction
    reduction_change: Fraction
    band: BandVerdict
    judgement: Judgement
    answers: tuple[Answer, ...]
    price: Decimal | None
    currency: str | None
    notes: tuple[str, ...]


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


def match(subject: Subject, request: Request | None = None) -> Match:
    """List every combination that fits a machine, ranked by road-speed change.

    The order is road-speed change falling, then pairs, then price, then ids; see docs/matching.md.
    """
    request = request if request is not None else Request()
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

    def ranked(found: Iterable[Row]) -> list[Combination]:
        return _ranked(subject, found, choices.places, currency)

    def number(window: Window) -> int:
        if max_price is None:
            return count(problem, window, max_sets=request.max_sets).between(least_grade)
        return sum(1 for _ in ask(window, top=None, max_sets=request.max_sets))

    found = ranked(ask(wanted, top=request.top, max_sets=request.max_sets))
    counts = _counts(subject, choices, everything, number(wanted))
    shorter: list[Combination] = []
    all_shorter = 0
    if low is not None and low >= 0 and not request.taller_only:
        below_now = reductions(subject, None, Fraction(0))
        unchanged = below_now[0]
        slower = ask(below_now, top=None, max_sets=1)
        shorter = ranked(row for row in slower if row.reduction != unchanged)
        all_shorter = number(below_now) - number((unchanged, unchanged))
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
    )


def combine(subject: Subject, sets: Sequence[Entry[GearSet]]) -> Combination:
    """One combination of named sets, ruled out or not.

    Raises:
        UsageError: two sets hold the same stage, or none is given.
    """
    if not sets:
        raise UsageError("name at least one gear set")
    sets = sorted(sets, key=lambda entry: STAGES.index(entry.record.stages[0]))
    pairs = dict(zip(subject.stages, subject.pairs, strict=True))
    holder: dict[Stage, Entry[GearSet]] = {}
    for entry in sets:
        for stage, pair in entry.record.pairs.items():
            if stage in holder:
                raise UsageError(
                    f"{holder[stage].id} and {entry.id} both hold the {stage} stage; name one"
                )
            holder[stage] = entry
            if stage in pairs:
                pairs[stage] = pair
    return _combination(subject, tuple(sets), pairs, rank=1, price=_own_price(sets))


def _own_price(sets: Sequence[Entry[GearSet]]) -> tuple[Decimal | None, str | None]:
    """The sum of the sets' prices and its currency; no sum where one is unknown or they differ."""
    currencies = {entry.record.currency for entry in sets}
    if len(currencies) != 1:
        return None, None
    prices = [entry.record.price for entry in sets]
    known = [price for price in prices if price is not None]
    return (sum(known, Decimal(0)) if len(known) == len(prices) else None), currencies.pop()


def _combination(
    subject: Subject,
    sets: tuple[Entry[GearSet], ...],
    pairs: dict[Stage, Pair],
    *,
    rank: int,
    price: tuple[Decimal | None, str | None],
    known: dict[str, list[Answer]] | None = None,
) -> Combination:
    reduction = overall_reduction(list(pairs.values()))
    change = road_speed_change(subject.reduction, reduction, Fraction(1), subject.roll_out_ratio)
    answers = tuple(_answers(subject, sets, {} if known is None else known))
    judgement = judge(answers)
    band = BandVerdict.NONE if subject.band is None else subject.band.verdict(change)
    changed = tuple(
        stage for stage in subject.stages if any(stage in entry.record.pairs for entry in sets)
    )
    return Combination(
        rank,
        sets,
        pairs,
        changed,
        reduction,
        change,
        reduction_change(subject.reduction, reduction),
        band,
        judgement,
        answers,
        *price,
        combination_notes(subject, sets, judgement, reduction),
    )


def _answers(
    subject: Subject, sets: Sequence[Entry[GearSet]], known: dict[str, list[Answer]]
) -> Iterable[Answer]:
    """Every rule's answer; what the sets answer by themselves is kept in `known`."""
    for entry in sets:
        if entry.id not in known:
            known[entry.id] = set_answers(entry, subject.setting)
        yield from known[entry.id]
    holder = {stage: entry for entry in sets for stage in entry.record.pairs}
    for joint, (left, right) in enumerate(zip(subject.stages, subject.stages[1:], strict=False)):
        wheel, pinion = holder.get(left), holder.get(right)
        if wheel is not None and wheel is pinion:
            continue  # both gears come from one set, matched by its maker
        answer = idler_seat(wheel, pinion, joint, subject.setting)
        if answer is not None:
            yield answer


def _ranked(
    subject: Subject, found: Iterable[Row], places: int, currency: str | None
) -> list[Combination]:
    sets = subject.catalogue.gear_sets
    known: dict[str, list[Answer]] = {}
    combinations: list[Combination] = []
    before: tuple[int, int] | None = None
    rank = 0
    for position, row in enumerate(found, start=1):
        ratio = (row.numerator, row.denominator)
        if before is None or ratio[0] * before[1] != before[0] * ratio[1]:
            rank, before = position, ratio
        taken = tuple(sets[id_] for id_ in row.ids)
        # In another currency than the list's it is ranked as of unknown price, but still told.
        price = _own_price(taken) if row.price is None else (amount(row.price, places), currency)
        combinations.append(
            _combination(
                subject,
                taken,
                dict(zip(subject.stages, row.pairs, strict=True)),
                price=price,
                rank=rank,
                known=known,
            )
        )
    return combinations


def _counts(subject: Subject, choices: Choices, problem: Problem, listed: int) -> Counts:
    def alive(low: Fraction | None, high: Fraction | None) -> int:
        if low is not None and high is not None and low > high:
            return 0
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
