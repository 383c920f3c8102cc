"""Every choice for one engine family at a glance: a train a heading, a tune a few lines."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import chain, groupby

from rich.text import Text

from fitcheck.answers.figures import percent_window
from fitcheck.answers.road_words import LAWFUL_WORDS
from fitcheck.model.family import Family
from fitcheck.screens.counter.gearing_rows import gearing_lines, lines_of
from fitcheck.screens.counter.glance import (
    LEAVING,
    Remark,
    choices_words,
    class_words,
    foot_lines,
    gone_words,
    leaves,
    price_words,
)
from fitcheck.screens.counter.list_road import rank_words
from fitcheck.screens.counter.match import none_words, unpriced_words
from fitcheck.screens.screen import Screen, labelled, shorten, wrapped
from fitcheck.services.counter.combination import Combination
from fitcheck.services.counter.options import OptionGroup
from fitcheck.services.road.figures import LawfulAnswer, PullVerdict

_MOST_ROWS = 10


def print_overview(
    out: Screen, family_id: str, family: Family, groups: Sequence[OptionGroup], *, whole: bool
) -> None:
    """Print the lists of `options`, asked by gearing.

    Args:
        out: where.
        family_id: of the family.
        family: the family.
        groups: every list.
        whole: show every row at hand; else as many as one screen holds.
    """
    lists = _without_repeats(groups)
    trains = len({group.train for group, _ in lists})
    size = f", {family.displacement_cm3} cm3" if family.displacement_cm3 is not None else ""
    title = f"{family.name} ({family_id}){size}{rank_words(groups[0].result.request)}"

    def page(rows: int, kept: int) -> list[Text]:
        return _page(title, lists, None if whole else rows, kept, out.width)

    out.lines(shorten(page, (_MOST_ROWS, trains), () if whole else ((0, 1), (1, 1))))


_List = tuple[OptionGroup, str]
"""One list, and the tunes that it is the same for."""


def _without_repeats(groups: Sequence[OptionGroup]) -> list[_List]:
    """The lists; tunes of one band give one, unless the road is asked: there engines differ."""
    found: dict[object, list[OptionGroup]] = {}
    for number, group in enumerate(groups):
        result = group.result
        band = result.band
        alike = (group.train, result.window, band and (band.low, band.high, band.stretch))
        found.setdefault(number if result.road is not None else alike, []).append(group)
    return [(same[0], ", ".join(each.tune.id for each in same)) for same in found.values()]


def _page(
    title: str, lists: Sequence[_List], rows: int | None, kept: int, width: int
) -> list[Text]:
    """All lines with so many rows a list, of so many trains."""
    request = lists[0][0].result.request
    lines = [Text(line, style="bold") for line in wrapped(title, width, "", "  ")]
    lines += labelled("Road speed", "; ".join(_windows(lists)), width)
    lines.append(Text())
    trains = [list(each) for _, each in groupby(lists, key=lambda one: one[0].train)]
    shown = list(chain.from_iterable(trains[:kept]))
    gearings = [line for group, tunes in shown for line in lines_of(group.result, rows, tunes)]
    heads: list[Text] = []
    found: Iterator[list[Text]] = iter(())
    if gearings:
        heads, listed = gearing_lines(gearings, request, width)
        found = iter(listed)
    lines += heads
    for train in trains[:kept]:
        lines += _train_lines(train[0][0], width)
        for group, tunes in train:
            for _ in group.result.combinations[:rows]:
                lines += next(found)
            if not group.result.combinations:
                lines += map(Text, wrapped(f"{tunes}: {_none_words(group)}", width))
    lines.append(Text())
    return [*lines, *foot_lines(_remarks(lists, shown, rows, len(trains) - kept), width)]


def _windows(lists: Sequence[_List]) -> list[str]:
    """Windows of road-speed change, each with its tunes."""
    told: dict[str, list[str]] = {}
    for group, tunes in lists:
        told.setdefault(percent_window(*group.result.window), []).extend(tunes.split(", "))
    return [f"{', '.join(dict.fromkeys(tunes))} {window}" for window, tunes in told.items()]


def _train_lines(group: OptionGroup, width: int) -> list[Text]:
    train = group.factory_train
    housing = group.family.record.housings.get(train.housing)
    name = housing.name if housing is not None else train.housing
    words = (
        f"{name}, {train.wheel_size_in} in wheel, {' '.join(map(str, group.result.subject.pairs))}"
    )
    if train.models:
        words += f": {', '.join(train.models)}"
    return [Text(line, style="bold") for line in wrapped(words, width, "", "  ")]


def _none_words(group: OptionGroup) -> str:
    counts = group.result.counts
    if counts.not_orderable:
        return f"nothing to be had now, {counts.not_orderable:,} discontinued: --long"
    if counts.unlawful:
        return f"nothing lawful, {counts.unlawful:,} left out"
    return none_words(group.result)


def _remarks(
    lists: Sequence[_List], shown: Sequence[_List], rows: int | None, trains_left: int
) -> Iterator[Remark]:
    """What stands below, a line each, and how to see all of it."""
    results = [group.result for group, _ in shown]
    all_rows = [one for result in results for one in result.combinations[:rows]]
    prices = [*price_words(all_rows), *(w for result in results for w in unpriced_words(result))]
    for words in dict.fromkeys(prices):
        yield "Prices", words, ""
    weak = [o for o in all_rows if o.road is not None and o.road.verdict is not PullVerdict.PULLS]
    if weak:
        yield "Engine", f"does not pull {len(weak)} of these without a tailwind: --long", "yellow"
    fast = sum(one.road is not None and one.road.tyre_warning is not None for one in all_rows)
    if fast:
        yield "Tyre", f"{fast} of these TOO FAST FOR THE TYRE: --long", "bold red"
    if any(one.road is not None for one in all_rows):
        yield "Estimated", "km/h: real top speed and its change; ? may be less", "dim"
    yield from _law(shown, all_rows)
    listed = sum(group.result.counts.listed for group, _ in lists)
    gone = sum(group.result.counts.not_orderable or 0 for group, _ in lists)
    told = [f"every set, with notes: --long ({choices_words(listed)})"]
    if any(result.more or len(result.combinations) > (rows or 0) for result in results) and rows:
        told.insert(0, "more gearings: --top 0")
    if gone and results[0].request.skips_gone:
        yield "Left out", f"{gone_words(gone)} (see --top 0)", ""
    if trains_left:
        noun = "train" if trains_left == 1 else "trains"
        told.insert(0, f"{trains_left} more factory {noun}: --housing, --wheel")
    yield "More", "; ".join(told), ""


def _law(shown: Sequence[_List], all_rows: Sequence[Combination]) -> Iterator[Remark]:
    """What leaves the class, and what the class says of the machines as they are."""
    sides = [(group.result.road, tunes) for group, tunes in shown]
    answers = [(side.lawful_now, tunes) for side, tunes in sides if side and side.lawful_now]
    against: dict[str, dict[str, None]] = {}
    now: dict[str, LawfulAnswer] = {}  # of several trains the worst
    for answer, tunes in answers:
        now[tunes] = max(now.get(tunes, answer.answer), answer.answer)
        for words in answer.others:
            against.setdefault(words, {})[tunes] = None
    for words, those in against.items():
        yield "Law", f"{', '.join(those)} AGAINST ITS CLASS: {words}", "bold red"
    told: list[str] = []
    for words, verdicts in LEAVING:
        number = sum(one.lawful is not None and one.lawful.answer in verdicts for one in all_rows)
        told += [f"{number} {leaves(words, number)}"] if number else []
    if answers:
        before = f"{', '.join(told)} THE CLASS: " if told else ""
        classes = ", ".join(dict.fromkeys(class_words(answer) for answer, _ in answers))
        present = "; ".join(f"{tunes} {LAWFUL_WORDS[worst]}" for tunes, worst in now.items())
        yield "Law", f"{before}{classes}; now: {present}", "bold red" if told else "yellow"
