"""Before and after on the road on screen: verdicts, figures, a chart, what they rest on."""

from __future__ import annotations

from collections.abc import Sequence
from string import ascii_uppercase

from rich.text import Text

from fitcheck.answers.road_words import (
    CONDITIONS,
    LAWFUL_STYLES,
    PULL_STYLES,
    decimal_words,
    does_not_start_on_5,
    given_words,
    is_unsure,
    limit_words,
    pull_words,
    sentence,
    top_words,
)
from fitcheck.rules.answers import Verdict
from fitcheck.screens.counter.match import print_subject
from fitcheck.screens.curves import interpolated, ticks_over
from fitcheck.screens.road.plot import Curve, Plot, plot_lines
from fitcheck.screens.road.table import print_table
from fitcheck.screens.screen import Screen, padded, wrapped
from fitcheck.screens.words import CAUTION, VERDICT_STYLES
from fitcheck.services.road.figures import Given, PullVerdict
from fitcheck.services.road.lawful import APPROVAL
from fitcheck.services.road.results import Outcome, RoadReport

_MUCH_OF_A_HILL = 0.8
"""Less than this share of the present speed uphill is told in words too."""

_INDENT = "  "
_WIDE_ENOUGH = 60
"""Cells from which there is room for a chart, and for two columns of words."""

_CHART_WIDEST = 100
_CHART_ROWS = 16
_CHARTED = 6
"""Gearings in one chart at most, the present one among them."""

_LOAD_LETTERS = {"flat": "f", "headwind": "w", "uphill": "u"}
_COLOURS = ("", "cyan", "magenta", "green", "yellow", "blue")


def print_road(out: Screen, report: RoadReport, *, braille: bool = False) -> None:
    """Print one answer of `road`.

    Args:
        out: where.
        report: the answer.
        braille: whether the terminal can show braille signs.
    """
    print_subject(out, report.subject)
    letters = _letters(report)
    out.line()
    _print_before(out, report)
    for letter, one in zip(letters[1:], report.after, strict=True):
        out.line()
        _print_after(out, one, letter if len(report.after) > 1 else "", report.before)
    _print_hint(out, report)
    out.line()
    heads = names_of(report)
    print_table(out, report, heads)
    if out.width >= _WIDE_ENOUGH:
        _print_chart(out, report, heads, braille)
    _print_help(out, report)
    _print_law(out, report)
    _print_inputs(out, report)
    if not report.after:
        out.line()
        out.paragraph(
            "To see before and after, name gear sets after the machine, each a choice by itself; "
            "join those fitted together with +, as in MA-1545+MA-21553. fitcheck match lists them."
        )
    out.line()
    out.paragraph(CAUTION, style="dim")


def _letters(report: RoadReport) -> list[str]:
    """A sign for each gearing, the present one first."""
    return ["o", *(ascii_uppercase[i % 26] for i in range(len(report.after)))]


def names_of(report: RoadReport) -> list[str]:
    """What the gearings are called, each with its letter where several are compared."""
    named = zip(report.after, _letters(report)[1:], strict=True)
    several = len(report.after) > 1
    return ["now", *(f"{letter} {one.label}" if several else one.label for one, letter in named)]


def _print_before(out: Screen, report: RoadReport) -> None:
    one = report.before
    out.line("As it stands", "bold")
    _print_tyre(out, one)
    out.paragraph(f"Top speed {top_words(one)}. {limit_words(one)}", _INDENT)
    _print_class(out, one)


def _print_after(out: Screen, one: Outcome, letter: str, before: Outcome) -> None:
    out.paragraph(f"{letter} {one.label}".strip(), rest="  ", style="bold")
    _print_tyre(out, one)
    combination = one.combination
    if combination is not None and combination.judgement.verdict is Verdict.RULED_OUT:
        out.paragraph(
            f"DOES NOT FIT: {', '.join(combination.judgement.weakest)}; see fitcheck why. "
            "What it would do:",
            _INDENT,
            style="bold red",
        )
    words = pull_words(one)
    said = f"{sentence(words)}: top speed {top_words(one)}. {limit_words(one)}"
    line, *rest = wrapped(said, out.width, _INDENT)
    shown = Text(line)
    sure = one.cautious_verdict is one.verdict
    style = PULL_STYLES[one.verdict] if sure or one.verdict is not PullVerdict.PULLS else "yellow"
    shown.stylize(f"bold {style}", len(_INDENT), min(len(words) + 2, len(line)))
    out.lines([shown, *rest])
    out.paragraph(f"{_start_words(one, before)}{_hill_words(one, before)}", _INDENT)
    _print_class(out, one)
    if combination is not None and combination.judgement.verdict is Verdict.UNPROVEN:
        open_rules = ", ".join(combination.judgement.weakest)
        out.paragraph(
            f"Fit unproven: {open_rules}.", _INDENT, style=VERDICT_STYLES[Verdict.UNPROVEN]
        )


def _start_words(one: Outcome, before: Outcome) -> str:
    """Pull away from the lights against now, and the time to a speed both reach."""
    words = ""
    if one.start_change is not None:
        change = decimal_words(one.start_change.value, signed=True)
        words = "Start-off pull as now" if change == "0" else f"Start-off pull {change} %"
    for speed, then, now in ((45, one.time_45, before.time_45), (30, one.time_30, before.time_30)):
        if then is not None and now is not None:
            times = [decimal_words(each.value, 1 if each.value < 20 else 0) for each in (then, now)]
            return f"{words}; 0 to {speed} km/h in about {times[0]} s, now {times[1]} s."
    return f"{words}." if words else ""


def _hill_words(one: Outcome, before: Outcome) -> str:
    """A loss uphill that nobody would expect from the figure on the flat."""
    if does_not_start_on_5(one):
        still = " as now" if does_not_start_on_5(before) else ""
        return f" It does not start on a hill of 5 %{still}."
    then, now = one.uphill.speed.value, before.uphill.speed.value
    if then < _MUCH_OF_A_HILL * now:
        return f" Up 5 % it falls to {decimal_words(then)} km/h from {decimal_words(now)}."
    return ""


def _print_tyre(out: Screen, one: Outcome) -> None:
    if one.tyre_warning is not None:
        out.paragraph(one.tyre_warning, "! ", "  ", "bold red")


def _print_class(out: Screen, one: Outcome) -> None:
    if one.lawful is not None:
        style = LAWFUL_STYLES[one.lawful.answer]
        out.paragraph(
            sentence(one.lawful.sentence), _INDENT, style=style if style != "green" else ""
        )


def _print_hint(out: Screen, report: RoadReport) -> None:
    """What to write where sets that go together were named one by one."""
    alone = [one.combination for one in report.after if one.combination is not None]
    if len(alone) < 2 or any(len(one.sets) > 1 for one in alone):
        return
    first, second = alone[0], next((one for one in alone if one.changed != alone[0].changed), None)
    if second is None or set(first.changed) & set(second.changed):
        return
    out.line()
    joined = f"{first.sets[0].id}+{second.sets[0].id}"
    out.paragraph(f"Each set is a choice by itself here; to see both fitted, write {joined}.")


def chart_of(
    report: RoadReport, columns: int, rows: int, *, braille: bool
) -> tuple[Plot, list[int]]:
    """The terminal chart: thrust of each gearing and the road loads against speed.

    Returns:
        The plot, and which gearings are in it, 0 for the present one.
    """
    gearings = [report.before, *report.after][:_CHARTED]
    letters = _letters(report)
    fastest = max(max(one.curves.speed_km_h, default=0.0) for one in gearings)
    reached = max(one.flat.speed.high for one in gearings)
    x_max = ticks_over(max(min(fastest, 1.25 * reached), reached, 1.0), 8)[-1]
    thrusts = [max(one.curves.thrust_n, default=0.0) for one in gearings]
    loads = [
        Curve(
            letter=_LOAD_LETTERS.get(name, name[:1]),
            xs=report.load_speed_km_h,
            ys=load,
            dashed=True,
            style="dim",
        )
        for name, load in report.loads_n.items()
    ]
    at_edge = [interpolated(load.xs, load.ys, x_max) or 0.0 for load in loads]
    y_max = ticks_over(max(*thrusts, min(at_edge, default=0.0), 1.0))[-1]
    curves = [
        Curve(
            letter=letters[number],
            xs=one.curves.speed_km_h,
            ys=one.curves.thrust_n,
            style=_COLOURS[number % len(_COLOURS)],
            ends=True,
        )
        for number, one in enumerate(gearings)
    ]
    plot = Plot(
        curves=[*loads, *curves],
        x_max=x_max,
        y_max=y_max,
        columns=columns,
        rows=rows,
        braille=braille,
    )
    return plot, list(range(len(gearings)))


def _print_chart(out: Screen, report: RoadReport, heads: Sequence[str], braille: bool) -> None:
    out.line()
    out.line("Thrust at the wheel, and what the road takes", "bold")
    columns = min(out.width, _CHART_WIDEST) - 10
    plot, shown = chart_of(report, columns, _CHART_ROWS, braille=braille)
    out.lines(plot_lines(plot, "km/h", "N"))
    letters = _letters(report)
    names = [
        heads[number] if len(report.after) > 1 and number else f"{letters[number]} {heads[number]}"
        for number in shown
    ]
    loads = [f"{_LOAD_LETTERS[name]} {CONDITIONS[name]}" for name in report.loads_n]
    out.paragraph(f"Thrust: {'; '.join(names)}.", _INDENT)
    out.paragraph(
        f"Load: {'; '.join(loads)}. It settles where thrust meets load, or at the rev limit.",
        _INDENT,
    )
    if len(shown) <= len(report.after):
        out.paragraph(f"Only the first {len(shown) - 1} choices are drawn.", _INDENT)


def _print_help(out: Screen, report: RoadReport) -> None:
    said: dict[str, list[str]] = {}
    for letter, one in zip(_letters(report)[1:], report.after, strict=True):
        for words in one.help.sentences if one.help is not None else ():
            said.setdefault(words, []).append(letter)
    if not said:
        return
    out.line()
    out.line("What helps", "bold")
    several = len(report.after) > 1
    # What helps one choice alone comes before what helps all.
    for words, letters in sorted(said.items(), key=lambda each: len(each[1]) == len(report.after)):
        whose = f"{', '.join(letters)}: " if several and len(letters) < len(report.after) else ""
        out.paragraph(f"{whose}{words}", "  - ", "    ")


def _print_law(out: Screen, report: RoadReport) -> None:
    lawful = [one.lawful for one in (report.before, *report.after) if one.lawful is not None]
    if not lawful:
        return
    record = lawful[0].vehicle_class.record
    out.line()
    out.line("The law", "bold")
    for other in dict.fromkeys(each for one in lawful for each in one.others):
        out.paragraph(f"Whatever the gears: {other}", "  - ", "    ")
    if report.after:
        out.paragraph(APPROVAL, "  - ", "    ")
    date = "" if str(record.date) in record.source else f", as of {record.date}"
    words = f"{sentence(record.name)}, {record.place}: {record.source}{date}."
    out.paragraph(f"{words} {record.notes or ''}", "  - ", "    ")


def _print_inputs(out: Screen, report: RoadReport) -> None:
    out.line()
    out.line("What it rests on", "bold")
    width = max((len(given.kind) for given in report.inputs), default=0)
    for given in report.inputs:
        _print_input(out, given, width)
    notes = list(report.notes)
    if report.calibrated is not None:
        notes.insert(0, f"Calibrated: {report.calibrated}")
    else:
        notes.insert(
            0,
            "Not calibrated. A top speed by GPS, --measured-top KM/H, moves all inputs as far as "
            "their spreads allow; it makes the present speed sure, and takes a tenth to a sixth "
            "off the error of other speeds.",
        )
    notes.insert(
        0,
        "Ranges are what the spread of these inputs leaves: about 19 times in 20 the true figure "
        "lies inside. What is standard, approximate or an estimate was not measured on this "
        "machine.",
    )
    for note in notes:
        out.paragraph(note, _INDENT)


def _print_input(out: Screen, given: Given, width: int) -> None:
    first = f"{_INDENT}{padded(given.kind, width)}  "
    words = f"{given.name} {given_words(given)}"
    if out.width >= _WIDE_ENOUGH:
        line, *rest = wrapped(f"{words}: {given.source}", out.width, first, " " * len(first))
    else:
        line, *rest = wrapped(f"{given.kind}: {words}", out.width, _INDENT, f"{_INDENT}  ")
        rest += wrapped(given.source, out.width, f"{_INDENT}  ")
    shown = Text(line)
    shown.stylize(
        "yellow" if is_unsure(given) else "", len(_INDENT), len(_INDENT) + len(given.kind)
    )
    out.lines([shown, *rest])
