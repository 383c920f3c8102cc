"""Every choice for one engine family on screen: by housing, wheel and tune."""

from __future__ import annotations

from collections.abc import Iterable

from rich.console import Console
from rich.text import Text

from fitcheck.model.family import Family
from fitcheck.report.figures import decimal_text, percent_window
from fitcheck.report.match_text import print_combinations
from fitcheck.report.screen import labelled, wrapped
from fitcheck.report.words import CAUTION
from fitcheck.services.options import OptionGroup

__all__ = ["print_options"]


def print_options(
    out: Console, family_id: str, family: Family, groups: Iterable[OptionGroup]
) -> bool:
    """Print the overview of `options`; returns whether anything was listed."""
    size = f", {family.displacement_cm3} cm3" if family.displacement_cm3 is not None else ""
    out.print(Text(f"{family.name} ({family_id}){size}", style="bold"))
    listed = False
    train_before: int | None = None
    for group in groups:
        if group.train != train_before:
            train_before = group.train
            _print_train(out, group)
        listed |= _print_group(out, group)
    out.print()
    out.print(Text("\n".join(wrapped(CAUTION, out.width, "")), style="dim"))
    return listed


def _print_train(out: Console, group: OptionGroup) -> None:
    train, subject = group.factory_train, group.result.subject
    housing = group.family.record.housings.get(train.housing)
    name = housing.name if housing is not None else train.housing
    pairs = ", ".join(f"{stage} {pair}" for stage, pair in train.pairs.items())
    out.print()
    out.rule(Text(f"{name}, {train.wheel_size_in} in wheel", style="bold"), align="left")
    words = f"{pairs}; overall reduction {decimal_text(subject.reduction, 4)}"
    if train.models:
        words += f"; {', '.join(train.models)}"
    out.print(labelled("Factory", words, out.width))


def _print_group(out: Console, group: OptionGroup) -> bool:
    result = group.result
    out.print()
    title = Text(f"{group.tune.record.name} ({group.tune.id})", style="bold")
    title.append(f", road speed {percent_window(*result.window)}", style="not bold")
    out.print(title)
    if not result.combinations:
        out.print("     nothing fits in this window")
        return False
    print_combinations(out, result.subject, result.combinations)
    rest = result.counts.listed - len(result.combinations)
    if rest > 0:
        out.print(f"     and {rest:,} more: --top 0 shows all")
    return True
