"""The answer of `match` on screen: the machine, the ranked list, what is shorter, the counts."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from fitcheck.answers.figures import exact_text, percent_window, price_note, source_mark
from fitcheck.kernel.rounding import decimal_text, percent
from fitcheck.screens.counter.combinations import INDENT, print_combinations, speed_words
from fitcheck.screens.counter.list_road import print_law, print_model, print_now, rank_words
from fitcheck.screens.screen import WIDE, Screen
from fitcheck.screens.words import CAUTION
from fitcheck.services.counter.choices import Exclusion
from fitcheck.services.counter.combination import Combination
from fitcheck.services.counter.match import Match
from fitcheck.services.counter.remarks import remarks_on
from fitcheck.services.counter.subject import Band, Subject
from fitcheck.services.road.figures import ClassAnswer
from fitcheck.services.road.lawful import ceiling_words

_SHORTER_SHOWN = 5


def print_match(out: Screen, result: Match) -> None:
    """Print one answer of `match`."""
    subject, side = result.subject, result.road
    print_subject(out, subject, None if side is None else side.lawful_now)
    print_now(out, side)
    out.line()
    title = speed_words(*result.window).capitalize()
    if result.request.percent is None and result.request.band != "any" and result.band is not None:
        title += f", the band of {result.band.name}"
    title += rank_words(result.request)
    if result.combinations:
        out.paragraph(title, style="bold")
        print_list(out, result, result.combinations)
        rest = result.counts.listed - len(result.combinations)
        if rest > 0:
            out.line(f"{INDENT}and {rest:,} more: --top 0 shows all")
    else:
        out.paragraph(f"{title}: {none_words(result)}", style="bold yellow")
    _print_shorter(out, result)
    if result.exclusions:
        out.line()
        print_exclusions(out, result.exclusions)
    out.line()
    _print_counts(out, result)
    print_price_note(out, [*result.combinations, *result.shorter])
    sides = [] if side is None else [side]
    print_law(out, sides)
    print_model(out, sides)
    out.paragraph(CAUTION, style="dim")


def none_words(result: Match) -> str:
    """Why a list is empty."""
    if not result.subject.catalogue.gear_sets:
        return "no gear set is on file yet: fitcheck import LIST or fitcheck add set"
    if not result.counts.fits and not result.counts.unproven:
        return "nothing fits"
    if result.counts.unlawful:
        return f"nothing lawful; {unlawful_words(result)}"
    if result.request.needs is not None and not result.request.needs:
        return "nothing of this list fits for certain"
    nothing = "nothing" if result.request.needs is None else "nothing of this list"
    return f"{nothing} in this window{' under these filters' if is_filtered(result) else ''}"


def is_filtered(result: Match) -> bool:
    """Whether more than the window of road speed narrows the list."""
    request = result.request
    return bool(
        request.suppliers
        or request.max_price is not None
        or request.max_sets is not None
        or request.in_stock
        or request.orderable
        or request.proven_only
        or request.lawful
    )


def print_subject(out: Screen, subject: Subject, lawful: ClassAnswer | None = None) -> None:
    """Print what is known of the machine, and what to know before reading on.

    Args:
        out: where.
        subject: the machine.
        lawful: its class's answer as it stands, where that was worked out.
    """
    out.labelled("Machine", subject_words(subject))
    train = ", ".join(
        f"{stage} {pair}" for stage, pair in zip(subject.stages, subject.pairs, strict=True)
    )
    reduction = subject.reduction
    out.labelled(
        "Now",
        f"{train}; overall reduction {decimal_text(reduction, 4)} "
        f"(exactly {exact_text(reduction)})",
    )
    if subject.tune is not None and subject.band is not None:
        out.labelled("Tune", _tune_words(subject.tune.record.name, subject.band))
    if subject.roll_out_ratio != 1:
        change = percent(100 * (subject.roll_out_ratio - 1))
        out.labelled("Tyre", f"roll-out changes by {change}, counted in")
    for remark in remarks_on(subject, lawful):
        out.labelled("Note", remark)


def subject_words(subject: Subject) -> str:
    """A machine with its family, housing and wheel, as far as they are known."""
    family, wheel = subject.family.record, subject.wheel_size_in
    housing = "housing unknown"
    if subject.housing is not None:
        housing = family.housings[subject.housing].name
    parts = [family.name, housing, *([] if wheel is None else [f"{wheel} in wheel"])]
    return f"{subject.name}: {', '.join(parts)}"


def print_price_note(out: Screen, combinations: Sequence[Combination]) -> None:
    """Print what the mark behind a price means, and that currencies are not compared."""
    wide = out.width >= WIDE
    if any(source_mark(one, wide=wide) for one in combinations):
        out.labelled("Prices", price_note(wide=wide), 14)
    if len({offer.currency for one in combinations for offer in one.offers if offer.price}) > 1:
        words = "in different currencies are not compared: where equals are ordered by price, one "
        out.labelled("Prices", f"{words}currency comes first", 14)


def _tune_words(name: str, band: Band) -> str:
    words = f"{name}; tolerates {percent_window(band.low, band.high)} road speed"
    if band.stretch > band.high:
        words += f", a careful build {percent_window(None, band.stretch)}"
    return words + (" (this family's own band)" if band.narrowed else "")


def print_list(out: Screen, result: Match, shown: Sequence[Combination]) -> None:
    """Print combinations of a result as it was asked."""
    request = result.request
    print_combinations(
        out,
        result.subject,
        shown,
        result.road,
        margins=request.margins,
        shelf=request.in_stock,
    )


def _print_shorter(out: Screen, result: Match) -> None:
    if not result.shorter:
        return
    shown = result.shorter[:_SHORTER_SHOWN]
    out.line()
    out.line("Shorter: these make the machine slower", "bold magenta")
    print_list(out, result, shown)
    rest = result.all_shorter - len(shown)
    if rest > 0:
        out.line(f"{INDENT}and {rest:,} more: --percent=..0 lists them")


def print_exclusions(out: Screen, exclusions: Iterable[Exclusion]) -> None:
    """Print what was ruled out, by rule and by reason."""
    out.line("Ruled out", "bold red")
    by_rule: dict[str, list[Exclusion]] = {}
    for exclusion in exclusions:
        by_rule.setdefault(exclusion.rule, []).append(exclusion)
    for rule, members in by_rule.items():
        died = sum(one.combinations for one in members)
        out.line(f"  {rule}: {died:,} choices", "bold")
        by_reason: dict[str, list[Exclusion]] = {}
        for one in members:
            by_reason.setdefault(one.reason, []).append(one)
        for reason, same in by_reason.items():
            out.paragraph(reason, INDENT)
            if rule == "family":
                # Sets made for other engines are many and no news: their ids will do.
                shown = ", ".join(one.sets[0][0] for one in same)
                out.paragraph(shown, f"{INDENT}  ", style="dim")
                continue
            for one in same:
                sides = " with ".join(_some(side) for side in one.sets)
                place = str(one.places[0]) if one.places else ""
                out.paragraph(f"{sides}; {place}" if place else sides, f"{INDENT}  ", style="dim")


def _some(ids: Sequence[str], limit: int = 6) -> str:
    shown = ", ".join(ids[:limit])
    return shown if len(ids) <= limit else f"{shown} and {len(ids) - limit} more"


def _print_counts(out: Screen, result: Match) -> None:
    counts = result.counts
    if is_filtered(result):
        passing = "1 choice passes" if counts.listed == 1 else f"{counts.listed:,} choices pass"
        out.labelled("Filters", f"{passing}; the counts below are of all", 14)
    if counts.unlawful:
        out.labelled("Lawful", f"{unlawful_words(result)}", 14)
    for told in unpriced_words(result):
        out.labelled("Prices", told, 14)
    words = (
        f"{counts.all_choices:,} choices: {counts.fits:,} fit, {counts.unproven:,} unproven, "
        f"{counts.ruled_out:,} ruled out"
    )
    if not result.request.exclusions and counts.ruled_out:
        words += " (why: --all)"
    out.labelled("Choices", words, 14)
    if counts.in_band is not None:
        out.labelled(
            "Against band",
            f"{counts.in_band:,} in band, {counts.stretch:,} stretch, {counts.over:,} over, "
            f"{counts.below:,} below, {counts.shorter:,} shorter",
            14,
        )


def unpriced_words(result: Match) -> list[str]:
    """What a greatest price leaves out though it may be cheaper, a sentence each."""
    counts, currency = result.counts, result.currency
    told = []
    for number, why in (
        (counts.other_currency, f"with a price in another currency than {currency}"),
        (counts.price_unknown, "of unknown price"),
    ):
        if number:
            one = number == 1
            told.append(
                f"{number:,} choice{'' if one else 's'} {why} {'is' if one else 'are'} left out by "
                f"--max-price{f' (in {currency})' if currency else ''}"
            )
    return told


def unlawful_words(result: Match) -> str:
    """How many were left out as unlawful, such as `3 choices are over 45 km/h and left out`."""
    number = result.counts.unlawful or 0
    answer = None if result.road is None else result.road.lawful_now
    limit = "limits"
    if answer is not None and answer.ceiling_km_h is not None:
        limit = ceiling_words(answer.ceiling_km_h)
    over = f"over the {limit} of its class"
    if result.request.proven_only:
        over = f"not proved to stay within the {limit} of its class"
    return f"{number:,} {'choices are' if number != 1 else 'choice is'} {over}, left out"
