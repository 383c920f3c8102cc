"""The answer of `match` at a glance: a line a gearing, all of it on one screen."""

from __future__ import annotations

import shlex
from collections.abc import Iterable, Iterator, Sequence
from itertools import chain

from rich.text import Text

from fitcheck.answers.figures import percent_window
from fitcheck.answers.road_words import LAWFUL_STYLES, LAWFUL_WORDS, range_words
from fitcheck.kernel.rounding import percent
from fitcheck.rules.answers import Verdict
from fitcheck.screens.counter.combinations import speed_words
from fitcheck.screens.counter.gearing_rows import gearing_lines, lines_of
from fitcheck.screens.counter.list_road import rank_words
from fitcheck.screens.counter.match import (
    is_filtered,
    none_words,
    print_exclusions,
    subject_words,
    unlawful_words,
    unpriced_words,
)
from fitcheck.screens.screen import Screen, labelled, shorten, wrapped
from fitcheck.screens.words import SHORT_CAUTION
from fitcheck.services.counter.combination import Combination
from fitcheck.services.counter.lookup import factory_tune
from fitcheck.services.counter.match import Match
from fitcheck.services.counter.remarks import class_limit, first_sentences
from fitcheck.services.counter.subject import Subject
from fitcheck.services.road.figures import ClassAnswer, LawfulAnswer, PullVerdict
from fitcheck.services.road.lawful import ceiling_words

LEAVING = (
    ("LEAVE", (LawfulAnswer.OVER,)),
    ("MAY LEAVE", (LawfulAnswer.STRADDLES, LawfulAnswer.UNKNOWN)),
)
"""What gearings do to the class, and the answers that say so."""

Remark = tuple[str, str, str]
"""A label, one line of words, and a colour."""

USUAL = 80
"""Cells from which an answer keeps to one screen; narrower, it says more than that holds."""

_LEAST_NARROW = 5
"""Rows that a narrow screen shows, however long it gets."""


def print_glance(out: Screen, result: Match, *, whole: bool = False) -> None:
    """Print a match that was asked by gearing.

    Args:
        out: where.
        result: the match.
        whole: show every row at hand; else as many as one screen holds.
    """
    rows, notes = len(result.combinations), notes_on(result.subject)

    def page(rows: int, most: int) -> list[Text]:
        return _page(result, rows, notes[:most], out.width)

    least = 1 if out.width >= USUAL else min(rows, _LEAST_NARROW)
    # Notes but the first go before rows: what they leave open, the rows say.
    cuts = () if whole else ((1, 1), (0, least))
    out.lines(shorten(page, (rows, len(notes)), cuts))
    if result.exclusions:
        out.line()
        print_exclusions(out, result.exclusions)


def notes_on(subject: Subject) -> list[str]:
    """Remarks on the machine: those that ask to count again first, then what it is taken for."""
    firsts = ("Count again", "Taken for")
    return sorted(
        first_sentences(subject), key=lambda words: [not words.startswith(f) for f in firsts]
    )


def _page(result: Match, rows: int, notes: Sequence[str], width: int) -> list[Text]:
    """All lines with so many rows and notes."""
    subject, shown = result.subject, result.combinations[:rows]
    lines = [*machine_lines(subject, width), *title_lines(result, width)]
    lines += note_lines(subject, notes, width)
    lines.append(Text())
    lines += list_lines(result, shown, width)
    lines.append(Text())
    return [*lines, *foot_lines(_remarks(result, shown), width)]


def note_lines(subject: Subject, notes: Sequence[str], width: int) -> list[Text]:
    """The first notes on a machine, and how many more there are."""
    left = len(first_sentences(subject)) - len(notes)
    lines = []
    for note in notes:
        more = f" {left} more: --long." if left and note is notes[-1] else ""
        lines += labelled("Note", f"{note}{more}", width)
    return lines


def list_lines(result: Match, shown: Sequence[Combination], width: int) -> list[Text]:
    """A line a gearing, or why there is none."""
    if not shown:
        return [Text(line, style="bold yellow") for line in wrapped(_none_words(result), width)]
    heads, rows_of = gearing_lines(lines_of(result, len(shown)), result.request, width)
    return [*heads, *chain.from_iterable(rows_of)]


def foot_lines(remarks: Iterable[Remark], width: int) -> list[Text]:
    """Remarks in their colours, and the caution, which always stands."""
    lines = []
    for label, words, style in remarks:
        found = labelled(label, words, width)
        for line in found:
            line.stylize(style)
        lines += found
    return [*lines, *(Text(line, style="dim") for line in wrapped(SHORT_CAUTION, width))]


def machine_lines(subject: Subject, width: int) -> list[Text]:
    """The machine and what it has now, on a line where that fits."""
    words = f"{subject_words(subject)}, {' '.join(map(str, subject.pairs))}"
    first, *rest = wrapped(words, width, "", "  ")
    shown = Text(first)
    shown.stylize("bold", 0, len(subject.name))
    lines = [shown, *map(Text, rest)]
    if subject.roll_out_ratio != 1:
        change = percent(100 * (subject.roll_out_ratio - 1))
        lines += labelled("Tyre", f"roll-out changes by {change}, counted in", width)
    return lines


def title_lines(result: Match, width: int, more: str = "") -> list[Text]:
    """What is listed: the tune's band or the window asked for, what ranks it, and more words."""
    band, request = result.band, result.request
    words = speed_words(*result.window).capitalize()
    if band is not None:
        allowed = percent_window(band.low, band.high)
        whose = "this family's" if band.narrowed else "the"
        if request.percent is None and request.band != "any":
            words += f", {whose} band of {band.name}"
        else:
            words += f"; {whose} band of {band.name} is {allowed}"
        if band.stretch > band.high:
            words += f", {percent_window(None, band.stretch).removeprefix('up ')} with care"
    words += f"{more}{rank_words(request)}"
    return [Text(line, style="bold") for line in wrapped(words, width, "", "  ")]


def _none_words(result: Match) -> str:
    gone = result.counts.not_orderable
    if not gone:
        return f"{none_words(result)[:1].upper()}{none_words(result)[1:]}."
    return f"{gone_words(gone)} (see --top 0)."


def choices_words(number: int) -> str:
    """A number of choices, such as `20 choices`."""
    return f"{number:,} choice{'s' * (number != 1)}"


def gone_words(gone: int) -> str:
    """How many choices cannot be had now, and why."""
    return f"{gone:,} not to be had now: a set is discontinued, none here"


def _remarks(result: Match, shown: Sequence[Combination]) -> Iterator[Remark]:
    """What stands below the rows, a line each, and how to see all of it."""
    counts = result.counts
    yield from warnings(result, shown)
    open_ones = [one for one in shown if one.judgement.verdict is Verdict.UNPROVEN]
    if open_ones:
        sets = " ".join(entry.id for entry in open_ones[0].sets)
        command = f"fitcheck why {_machine_words(result.subject)} {sets}"
        yield "Unproven", f"{_ranks(open_ones, shown)}: see {command}", ""
    if result.shorter:
        least = result.shorter[0]
        ids = " + ".join(each.id for each in least.sets)
        change = percent(least.road_speed_change)
        makes = "makes" if result.all_shorter == 1 else "make"
        words = f"{result.all_shorter:,} {makes} it slower, as {ids} by {change}: --percent=..0"
        yield "Shorter", words, "magenta"
    passes = f"{counts.listed:,} pass{'es' * (counts.listed == 1)}; of "
    passing = passes if is_filtered(result) else ""
    words = f"{passing}{counts.all_choices:,}: {counts.fits:,} fit, {counts.unproven:,} unproven, "
    words += f"{counts.ruled_out:,} ruled out ({'' if passing else 'why: '}--all)"
    yield "Choices", words, ""
    if not result.combinations and counts.in_band is not None:
        words = f"{counts.in_band:,} in band, {counts.stretch:,} stretch, {counts.over:,} over, "
        words += f"{counts.below:,} below, {counts.shorter:,} shorter: --band any"
        yield "Band", words, ""
    hidden = [f"every set, with notes: --long ({choices_words(counts.listed)})"] if shown else []
    hidden = [*more_words(result, shown), *hidden]
    if hidden:
        yield "More", "; ".join(hidden), ""


def more_words(result: Match, shown: Sequence[Combination]) -> list[str]:
    """How to see gearings that are not shown, where there are any."""
    has_more = result.more or len(shown) < len(result.combinations)
    return ["more gearings: --top 0"] if has_more else []


def warnings(result: Match, shown: Sequence[Combination]) -> Iterator[Remark]:
    """What the road and the law say of gearings, and what is to know of the list, a line each."""
    counts = result.counts
    yield from _on_the_road(result, shown)
    yield from _law(result, shown)
    for words in (*price_words(shown), *unpriced_words(result)):
        yield "Prices", words, ""
    if counts.unlawful and shown:
        yield "Lawful", unlawful_words(result), ""
    if counts.not_orderable and shown and result.request.skips_gone:
        yield "Left out", f"{gone_words(counts.not_orderable)} (see --top 0)", ""


def _machine_words(subject: Subject) -> str:
    """What a command calls the machine, with what was said of it in place of its record."""
    entry, tune = subject.entry, subject.tune
    now = (subject.housing, subject.wheel_size_in, None if tune is None else tune.id)
    own: tuple[object, ...]
    if entry is None:
        factory = factory_tune(subject.catalogue)  # taken where none is given
        own = (None, None, None if factory is None else factory.id)
        words = [*map(str, subject.pairs), f"-f {subject.family.id}"]
    else:
        record = entry.record
        on_file = entry.id in subject.catalogue.machines
        words = [entry.id if on_file else shlex.quote(entry.source.path)]
        if subject.pairs != tuple(record.pairs[stage] for stage in subject.stages):
            words.append(f"-t {','.join(map(str, subject.pairs))}")
        own = (record.housing, record.wheel_size_in, record.tune)
    given = zip(("-H", "-w", "-T"), now, own, strict=True)
    words += [f"{letter} {value}" for letter, value, before in given if value != before]
    seats = f"--idler-seats {','.join(subject.idler_seats)}" if subject.idler_seats else ""
    return " ".join(filter(None, [*words, seats]))


def _on_the_road(result: Match, shown: Sequence[Combination]) -> Iterator[Remark]:
    """What the engine does not pull, what is too fast for the tyre, and what the columns mean."""
    side = result.road
    if side is None or side.now is None or not shown:
        return
    weak = [
        f"{_ranks(those, shown)} {verdict.value}"
        for verdict in (PullVerdict.WIND, PullVerdict.NOT)
        if (those := [o for o in shown if o.road is not None and o.road.verdict is verdict])
    ]
    if weak:
        yield "Engine", "; ".join(weak), "yellow"
    fast = [one for one in shown if one.road is not None and one.road.tyre_warning is not None]
    if fast:
        yield "Tyre", f"{_ranks(fast, shown)} TOO FAST FOR THE TYRE: --long --road", "bold red"
    now = range_words(side.now.top)
    doubt = "; ? may be less" if any(o.road and o.road.other_top for o in shown) else ""
    yield "Estimated", f"km/h: real top speed, now {now}, and its change{doubt}", "dim"


def _law(result: Match, shown: Sequence[Combination]) -> Iterator[Remark]:
    """Which gearings leave the class, or what its limit is where no speed was worked out."""
    now = None if result.road is None else result.road.lawful_now
    if now is None:
        limit = class_limit(result.subject)
        if limit is not None:
            yield "Law", limit, "yellow"
        return
    for words in now.others:
        yield "Law", f"AGAINST ITS CLASS: {words}", "bold red"
    if now.ceiling_km_h is None and now.answer is LawfulAnswer.WITHIN:
        return
    told = []
    for words, answers in LEAVING:
        those = [one for one in shown if one.lawful is not None and one.lawful.answer in answers]
        told += [f"{_ranks(those, shown)} {leaves(words, len(those))}"] if those else []
    name = class_words(now)
    told = [f"{', '.join(told)} THE CLASS: {name}"] if told else [name]
    worst = max((one.lawful.answer for one in shown if one.lawful is not None), default=now.answer)
    yield "Law", f"{told[0]}; now: {LAWFUL_WORDS[now.answer]}", f"bold {LAWFUL_STYLES[worst]}"


def class_words(answer: ClassAnswer) -> str:
    """A class and its speed, such as `L1e-B of 45 km/h`."""
    limit = answer.ceiling_km_h
    return answer.vehicle_class.id + ("" if limit is None else f" of {ceiling_words(limit)}")


def price_words(shown: Sequence[Combination]) -> Iterator[str]:
    """What to know of the prices of rows."""
    if len({offer.currency for one in shown for offer in one.offers if offer.price}) > 1:
        yield "in different currencies are not compared"


def leaves(words: str, number: int) -> str:
    """One of `LEAVING`, of so many."""
    return f"{words}S" if number == 1 and words == "LEAVE" else words


def _ranks(those: Sequence[Combination], shown: Sequence[Combination]) -> str:
    """Gearings by their ranks, such as `1, 3 and 6`."""
    if len(those) == len(shown):
        return "all of these"
    return ", ".join(dict.fromkeys(str(one.rank) for one in those))
