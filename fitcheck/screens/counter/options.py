"""Every choice for one engine family on screen: by housing, wheel and tune."""

from __future__ import annotations

from collections.abc import Iterable

from rich.cells import cell_len

from fitcheck.kernel.rounding import decimal_text
from fitcheck.model.family import Family
from fitcheck.screens.counter.combinations import INDENT, speed_words
from fitcheck.screens.counter.list_road import print_law, print_model, rank_words, sentence
from fitcheck.screens.counter.match import (
    none_words,
    print_list,
    print_price_note,
    unlawful_words,
    unpriced_words,
)
from fitcheck.screens.findings.wording import one_line
from fitcheck.screens.screen import WIDE, Screen
from fitcheck.screens.words import CAUTION
from fitcheck.services.counter.combination import Combination
from fitcheck.services.counter.match import Match
from fitcheck.services.counter.options import OptionGroup
from fitcheck.services.road.figures import RoadSide


def print_options(
    out: Screen, family_id: str, family: Family, groups: Iterable[OptionGroup]
) -> bool:
    """Print the overview of `options`; returns whether anything was listed."""
    size = f", {family.displacement_cm3} cm3" if family.displacement_cm3 is not None else ""
    out.paragraph(f"{family.name} ({family_id}){size}", style="bold")
    listed = False
    sides: list[RoadSide] = []
    shown: list[Combination] = []
    train_before: int | None = None
    for group in groups:
        if group.train != train_before:
            train_before = group.train
            _print_train(out, group)
        listed |= _print_group(out, group)
        shown += group.result.combinations
        if group.result.road is not None:
            sides.append(group.result.road)
    print_law(out, sides)
    out.line()
    print_price_note(out, shown)
    print_model(out, sides)
    out.paragraph(CAUTION, style="dim")
    return listed


def _print_train(out: Screen, group: OptionGroup) -> None:
    train, subject = group.factory_train, group.result.subject
    housing = group.family.record.housings.get(train.housing)
    name = housing.name if housing is not None else train.housing
    pairs = ", ".join(f"{stage} {pair}" for stage, pair in train.pairs.items())
    title = one_line(f"{name} ({train.housing}), {train.wheel_size_in} in wheel")
    out.line()
    out.line(f"{title} {'-' * (min(out.width, WIDE) - cell_len(title) - 1)}", "bold")
    words = f"{pairs}; overall reduction {decimal_text(subject.reduction, 4)}"
    if train.models:
        words += f"; {', '.join(train.models)}"
    out.labelled("Factory", words)


def _print_group(out: Screen, group: OptionGroup) -> bool:
    result = group.result
    out.line()
    name = f"{group.tune.record.name} ({group.tune.id})"
    words = f", {speed_words(*result.window)}{rank_words(result.request)}"
    out.headed(name, words, "", "  ")
    _print_road_now(out, result)
    if not result.combinations:
        out.line(f"{INDENT}{none_words(result)}")
        _print_unpriced(out, result)
        return False
    print_list(out, result, result.combinations)
    rest = result.counts.listed - len(result.combinations)
    if rest > 0:
        out.line(f"{INDENT}and {rest:,} more: --top 0 shows all")
    if result.counts.unlawful:
        out.paragraph(unlawful_words(result), INDENT)
    _print_unpriced(out, result)
    return True


def _print_unpriced(out: Screen, result: Match) -> None:
    for words in unpriced_words(result):
        out.paragraph(words, INDENT)


def _print_road_now(out: Screen, result: Match) -> None:
    """What the works' machine does, and what its class says of that."""
    side = result.road
    if side is None:
        return
    told = []
    if side.now is not None:
        told.append(f"{sentence(side.now, now=True)}.")
    if side.lawful_now is not None:
        told += [side.lawful_now.sentence, *side.lawful_now.others]
    if told:
        out.paragraph(f"As it stands: {' '.join(told)}", INDENT)
