"""The ranked table on screen: a line of figures for equal pairs, then their sets by price."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction
from itertools import groupby

from rich.console import Console
from rich.text import Text

from fitcheck.report.figures import decimal_text, exact_text, money, percent, percent_window
from fitcheck.report.screen import WIDE, labelled, wrapped
from fitcheck.report.words import BAND_STYLES, BAND_WORDS, CAUTION, VERDICT_STYLES, fit_words
from fitcheck.services.bands import Band
from fitcheck.services.matching import Combination, Exclusion, Match
from fitcheck.services.subject import Subject

__all__ = ["print_combinations", "print_match", "print_subject", "sets_words"]

_SHORTER_SHOWN = 5
_INDENT = " " * 5


def print_match(out: Console, result: Match) -> None:
    """Print one answer of `match`."""
    subject = result.subject
    print_subject(out, subject)
    out.print()
    title = f"Road speed {percent_window(*result.window)}"
    if result.request.percent is None and result.band is not None:
        title += f", the band of {result.band.name}"
    if result.combinations:
        out.print(Text(title, style="bold"))
        print_combinations(out, subject, result.combinations)
        rest = result.counts.listed - len(result.combinations)
        if rest > 0:
            out.print(f"{_INDENT}and {rest:,} more: --top 0 shows all")
    else:
        out.print(Text(f"{title}: nothing fits", style="bold yellow"))
    _print_shorter(out, result)
    if result.exclusions:
        out.print()
        _print_exclusions(out, result.exclusions)
    out.print()
    _print_counts(out, result)
    out.print(Text("\n".join(wrapped(CAUTION, out.width, "")), style="dim"))


def print_subject(out: Console, subject: Subject) -> None:
    """Print what is known of the machine, and what to know before reading on."""
    family = subject.family.record
    housing = (
        family.housings[subject.housing].name if subject.housing is not None else "housing unknown"
    )
    wheel = f"{subject.wheel_size_in} in wheel" if subject.wheel_size_in is not None else ""
    parts = [family.name, housing, *([wheel] if wheel else [])]
    out.print(labelled("Machine", f"{subject.name}: {', '.join(parts)}", out.width))
    train = ", ".join(
        f"{stage} {pair}" for stage, pair in zip(subject.stages, subject.pairs, strict=True)
    )
    reduction = subject.reduction
    out.print(
        labelled(
            "Now",
            f"{train}; overall reduction {decimal_text(reduction, 4)} "
            f"(exactly {exact_text(reduction)})",
            out.width,
        )
    )
    if subject.tune is not None and subject.band is not None:
        out.print(labelled("Tune", _tune_words(subject.tune.record.name, subject.band), out.width))
    if subject.roll_out_ratio != 1:
        change = percent(100 * (subject.roll_out_ratio - 1))
        out.print(labelled("Tyre", f"roll-out changes by {change}, counted in", out.width))
    for remark in subject.remarks:
        out.print(labelled("Note", remark, out.width))


def _tune_words(name: str, band: Band) -> str:
    words = f"{name}; tolerates {percent_window(band.low, band.high)} road speed"
    if band.stretch > band.high:
        words += f", a careful build {percent_window(None, band.stretch)}"
    return words + (" (this family's own band)" if band.narrowed else "")


def print_combinations(out: Console, subject: Subject, combinations: Sequence[Combination]) -> None:
    """Print ranked combinations, those of equal pairs under one line of figures."""
    stages = subject.stages
    widths = [max(len(stage), 7) for stage in stages]
    heads = "  ".join(f"{stage:<{width}}" for stage, width in zip(stages, widths, strict=True))
    out.print(
        Text(
            f"{'#':>3}  {heads}  {'overall':>9}  {'road speed':>12}  {'reduction':>10}  band",
            style="dim",
        )
    )
    edges = _edges(subject.band)
    shared = {one.rank for one in combinations}
    several = {
        rank
        for rank in shared
        if len({tuple(one.pairs.values()) for one in combinations if one.rank == rank}) > 1
    }
    # One width for all lines, so that fits and prices stand under one another.
    sets_width = max(30, *(len(sets_words(one)) for one in combinations))
    sets_width = min(sets_width, max(30, out.width - 5 - 2 - 14 - 2 - 12))
    for (rank, pairs), group in groupby(
        combinations, key=lambda one: (one.rank, tuple(one.pairs.values()))
    ):
        members = list(group)
        first = members[0]
        # An equals sign marks different pairs of exactly equal reduction.
        line = Text(f"{rank:>3}{'=' if rank in several else ' '} ")
        for pair, width in zip(pairs, widths, strict=True):
            line.append(f"{pair!s:<{width}}  ")
        line.append(f"{decimal_text(first.reduction, 4):>9}  ")
        line.append(f"{percent(first.road_speed_change, edges):>12}  ", style="bold")
        line.append(f"{percent(first.reduction_change):>10}  ")
        line.append(BAND_WORDS[first.band], style=BAND_STYLES[first.band])
        out.print(line, no_wrap=True, overflow="ignore", crop=False)
        for one in members:
            _print_item(out, one, sets_width)


def _edges(band: Band | None) -> tuple[Fraction, ...]:
    return () if band is None else (band.low, band.high, band.stretch)


def sets_words(one: Combination) -> str:
    """The sets of a combination with their part numbers."""
    words = []
    for entry in one.sets:
        number = entry.record.part_number
        words.append(entry.id if number == entry.id else f"{entry.id} (no. {number})")
    return " + ".join(words)


def _print_item(out: Console, one: Combination, sets_width: int) -> None:
    fit = fit_words(one.judgement)
    price = money(one.price, one.currency if one.price is not None else None)
    sets = sets_words(one)
    line = Text(f"{_INDENT}{sets:<{sets_width}}  ")
    line.append(f"{fit:<14}", style=VERDICT_STYLES[one.judgement.verdict])
    line.append(f"  {price:>12}")
    note = "; ".join(one.notes)
    if note and out.width >= WIDE and line.cell_len + 2 + len(note) <= out.width:
        line.append(f"  {note}", style="italic")
        note = ""
    out.print(line, no_wrap=True, overflow="ignore", crop=False)
    if note:
        shown = "\n".join(wrapped(note, out.width, f"{_INDENT}  "))
        out.print(Text(shown, style="italic"))


def _print_shorter(out: Console, result: Match) -> None:
    if not result.shorter:
        return
    shown = result.shorter[:_SHORTER_SHOWN]
    out.print()
    out.print(Text("Fits, but makes this machine shorter (slower)", style="bold magenta"))
    print_combinations(out, result.subject, shown)
    rest = result.counts.shorter - len(shown)
    if rest > 0:
        out.print(f"{_INDENT}and {rest:,} more: --percent=..0 lists them")


def _print_exclusions(out: Console, exclusions: Iterable[Exclusion]) -> None:
    out.print(Text("Ruled out", style="bold red"))
    by_rule: dict[str, list[Exclusion]] = {}
    for exclusion in exclusions:
        by_rule.setdefault(exclusion.rule, []).append(exclusion)
    for rule, members in by_rule.items():
        died = sum(one.combinations for one in members)
        out.print(Text(f"  {rule}: {died:,} choices", style="bold"))
        by_reason: dict[str, list[Exclusion]] = {}
        for one in members:
            by_reason.setdefault(one.reason, []).append(one)
        for reason, same in by_reason.items():
            out.print(Text("\n".join(wrapped(reason, out.width, _INDENT))))
            if rule == "family":
                # Sets made for other engines are many and no news: their ids will do.
                shown = ", ".join(one.sets[0][0] for one in same)
                out.print(Text("\n".join(wrapped(shown, out.width, f"{_INDENT}  ")), style="dim"))
                continue
            for one in same:
                sides = " with ".join(_some(side) for side in one.sets)
                place = str(one.places[0]) if one.places else ""
                shown = "\n".join(wrapped(f"{sides}  {place}", out.width, f"{_INDENT}  "))
                out.print(Text(shown, style="dim"))


def _some(ids: Sequence[str], limit: int = 6) -> str:
    shown = ", ".join(ids[:limit])
    return shown if len(ids) <= limit else f"{shown} and {len(ids) - limit} more"


def _print_counts(out: Console, result: Match) -> None:
    counts = result.counts
    words = (
        f"{counts.all_choices:,} choices: {counts.fits:,} fit, {counts.unproven:,} unproven, "
        f"{counts.ruled_out:,} ruled out"
    )
    if not result.request.exclusions and counts.ruled_out:
        words += " (--all says why)"
    out.print(labelled("Choices", words, out.width, 14))
    if counts.in_band is not None:
        out.print(
            labelled(
                "Against band",
                f"{counts.in_band:,} in band, {counts.stretch:,} stretch, {counts.over:,} over, "
                f"{counts.below:,} below, {counts.shorter:,} shorter",
                out.width,
                14,
            )
        )
