"""Before and after on the road on one screen: the figures that decide, and the verdicts."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import partial

from fitcheck.answers.road_words import CAPS, LAWFUL_STYLES, does_not_start_on_5, pull_words
from fitcheck.rules.answers import Verdict
from fitcheck.screens.counter.glance import (
    LEAVING,
    Remark,
    class_words,
    foot_lines,
    leaves,
    machine_lines,
)
from fitcheck.screens.road.table import PULL, deciding, print_table
from fitcheck.screens.road.text import names_of
from fitcheck.screens.screen import LINES, Screen, count_lines
from fitcheck.services.road.figures import LawfulAnswer, PullVerdict
from fitcheck.services.road.results import Outcome, RoadReport

_LEAST = 8
"""Lines of the table that stay, however many they make: all to the price."""


def print_road_glance(out: Screen, report: RoadReport, *, whole: bool = False) -> None:
    """Print one answer of `road` at a glance.

    Args:
        out: where.
        report: the answer.
        whole: print every line of the table.
    """
    heads = names_of(report)

    def show(screen: Screen, lines: Sequence[str] | None) -> None:
        screen.lines(machine_lines(report.subject, screen.width))
        print_table(screen, report, heads, lines)
        screen.line()
        held = lines is not None and PULL not in lines
        screen.lines(foot_lines(_remarks(report, heads[1:], held=held), screen.width))

    if whole:
        show(out, None)
        return
    lines = deciding(report)
    # What is left out first is least missed where the lines are many.
    while len(lines) > _LEAST and count_lines(partial(show, lines=lines), out.width) > LINES:
        # A heading goes with what stands under it.
        lines = lines[:-1] if len(lines) > _LEAST + 3 else lines[:_LEAST]
    show(out, lines)


def _remarks(report: RoadReport, names: Sequence[str], *, held: bool) -> Iterator[Remark]:
    """Verdicts and what no one may miss, a line each for all gearings.

    Args:
        report: the answer.
        names: what the gearings are called.
        held: say which wheel slips or lifts, which the table does not.
    """
    several = len(names) > 1
    marks = [name.split()[0] if several else "then" for name in names]
    gearings = list(zip(marks, report.after, strict=True))
    if gearings:
        told = [f"{mark} {_engine_words(one)}" for mark, one in gearings]
        sure = all(one.cautious_verdict is PullVerdict.PULLS for one in report.after)
        yield "Engine", "; ".join(told), "" if sure else "yellow"
    now = ("now", report.before)
    caps = [f"{mark} {CAPS[one.force_cap]}" for mark, one in (now, *gearings) if one.force_cap]
    if held and caps:
        yield "Pull", f"{'; '.join(caps)} as it starts off", "yellow"
    fast = [mark for mark, one in (now, *gearings) if one.tyre_warning is not None]
    if fast:
        words = f"{', '.join(fast)} TOO FAST FOR THE TYRE: it needs a higher speed symbol"
        yield "Tyre", words, "bold red"
    dead = [(mark, one.combination) for mark, one in gearings if one.combination is not None]
    for mark, combination in dead:
        if combination.judgement.verdict is Verdict.RULED_OUT:
            rules = ", ".join(combination.judgement.weakest)
            yield "Fit", f"{mark} DOES NOT FIT: {rules}; see fitcheck why", "bold red"
    yield from _law(report, [now, *gearings])
    more = "estimates; a speed by GPS narrows them (--measured-top)"
    if report.calibrated is not None:
        more = "calibrated by the speed given"
    compare = "" if report.after else "; sets named after it are compared"
    yield "More", f"{more}{compare}; all: --long", ""


def _engine_words(one: Outcome) -> str:
    hill = ", does not start on a hill of 5 %" if does_not_start_on_5(one) else ""
    return f"{pull_words(one)}{hill}"


def _law(report: RoadReport, gearings: Sequence[tuple[str, Outcome]]) -> Iterator[Remark]:
    """What leaves the class."""
    for words in dict.fromkeys(
        other for _, one in gearings if one.lawful is not None for other in one.lawful.others
    ):
        yield "Law", f"AGAINST ITS CLASS: {words}", "bold red"
    told = []
    worst = LawfulAnswer.WITHIN
    for words, answers in LEAVING:
        marks = [
            m for m, one in gearings if one.lawful is not None and one.lawful.answer in answers
        ]
        if marks:
            told.append(f"{', '.join(marks)} {leaves(words, len(marks))}")
            worst = max(worst, *answers)
    lawful = report.before.lawful
    if told and lawful is not None:
        words = f"{', '.join(told)} THE CLASS: {class_words(lawful)}"
        yield "Law", words, f"bold {LAWFUL_STYLES[worst]}"
