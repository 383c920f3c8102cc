"""The calculation as one would write it on paper, and every rule's answer with its datum."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from rich.console import Console
from rich.text import Text

from fitcheck.kernel.gearing import PaperCheck
from fitcheck.kernel.teeth import Pair
from fitcheck.report.figures import decimal_text, exact_text, money, percent, percent_window
from fitcheck.report.match_text import print_subject, sets_words
from fitcheck.report.screen import labelled, wrapped
from fitcheck.report.words import BAND_STYLES, BAND_WORDS, CAUTION, VERDICT_STYLES, fit_words
from fitcheck.rules.answers import Answer, Verdict
from fitcheck.services.bands import BandVerdict
from fitcheck.services.explain import Explanation

__all__ = ["print_why"]

_LABEL = 13


def print_why(out: Console, told: Explanation) -> None:
    """Print one explanation of `why`."""
    one = told.combination
    print_subject(out, told.subject)
    price = money(one.price, one.currency if one.price is not None else None)
    out.print(labelled("Change", f"{sets_words(one)}; {price}", out.width))
    for note in (*told.retired, *(n for n in one.notes if "filed under" in n)):
        out.print(labelled("Note", note, out.width))
    out.print()
    out.print(Text("On paper", style="bold"))
    _print_paper(out, told)
    out.print()
    _print_change(out, told)
    out.print()
    line = Text("Fit: ", style="bold")
    line.append(fit_words(one.judgement), style=VERDICT_STYLES[one.judgement.verdict])
    out.print(line)
    if one.judgement.verdict is Verdict.FITS:
        weakest = f"The weakest link: {', '.join(one.judgement.weakest)}."
        out.print(Text("\n".join(wrapped(weakest, out.width, "  "))))
    several = len(one.sets) > 1
    for entry_id, answers in _by_subject(told):
        if several:
            out.print(Text(f"  {entry_id}", style="bold"))
        for answer in answers:
            _print_answer(out, answer)
    _print_list(out, "To settle what is open", told.questions)
    _print_list(out, "Worth knowing", told.advice)
    _print_list(out, "Also in the parcel", told.parcel)
    out.print()
    out.print(Text("\n".join(wrapped(CAUTION, out.width, "")), style="dim"))


def _print_paper(out: Console, told: Explanation) -> None:
    stages = told.subject.stages
    new_pairs = tuple(told.combination.pairs.values())
    rows = [("", "now", "then")]
    for stage, old, new, cut_old, cut_new in zip(
        stages, told.subject.pairs, new_pairs, told.now.stages, told.then.stages, strict=True
    ):
        rows.append((stage, _stage(old, cut_old), _stage(new, cut_new)))
    rows.append(("overall", _overall(told.subject.reduction), _overall(told.combination.reduction)))
    if len(stages) > 1:
        rows.append(("by hand", _by_hand(told.now), _by_hand(told.then)))
    first = max(len(row[1]) for row in rows)
    for position, (label, now, then) in enumerate(rows):
        line = Text(f"  {label:<{_LABEL - 2}}{now:<{first}}  {then}")
        if position == 0:
            line.stylize("dim")
        out.print(line, no_wrap=True, overflow="ignore", crop=False)
    differs = [
        f"{when} {decimal_text(check.product, 2)} where the exact figure is "
        f"{decimal_text(check.exact_cut, 2)}"
        for when, check in (("now", told.now), ("then", told.then))
        if not check.agrees
    ]
    if differs:
        words = f"Cut at two decimals at every step, paper gives {'; '.join(differs)}."
        out.print(Text("\n".join(wrapped(words, out.width, "  "))))


def _stage(pair: Pair, cut: Fraction) -> str:
    return (
        f"{pair.driven} / {pair.driver} = {decimal_text(pair.reduction, 4)}"
        f" (cut {decimal_text(cut, 2)})"
    )


def _overall(reduction: Fraction) -> str:
    return f"{exact_text(reduction)} = {decimal_text(reduction, 4)}"


def _by_hand(check: PaperCheck) -> str:
    factors = " x ".join(decimal_text(stage, 2) for stage in check.stages)
    return f"{factors} = {decimal_text(check.product, 2)}"


def _print_change(out: Console, told: Explanation) -> None:
    subject, one = told.subject, told.combination
    band = subject.band
    edges = () if band is None else (band.low, band.high, band.stretch)
    old, new = decimal_text(subject.reduction, 4), decimal_text(one.reduction, 4)
    speed = f"{old} / {new}"
    if subject.roll_out_ratio != 1:
        speed += f" x {decimal_text(subject.roll_out_ratio, 4)} (tyre)"
    factor = 1 + one.road_speed_change / 100
    speed += f" = {decimal_text(factor, 4)}, so {percent(one.road_speed_change, edges)} road speed"
    speed += f" (exactly {_exact_percent(one.road_speed_change)})"
    out.print(labelled("Road speed", speed, out.width, _LABEL))
    turns = (
        f"{new} / {old} = {decimal_text(one.reduction / subject.reduction, 4)}, so "
        f"{percent(one.reduction_change)} reduction (exactly "
        f"{_exact_percent(one.reduction_change)}): another figure for the same change"
    )
    out.print(labelled("Reduction", turns, out.width, _LABEL))
    if band is None:
        out.print(labelled("Band", "no tune is given, so none is applied", out.width, _LABEL))
        return
    words = {
        BandVerdict.SHORTER: "shorter than now: the machine gets slower",
        BandVerdict.BELOW: "below the band: hardly worth the work",
        BandVerdict.IN: "in band",
        BandVerdict.STRETCH: "over the band, within the stretch of a careful build",
        BandVerdict.OVER: "over: this engine will not pull it",
    }[one.band]
    line = labelled(
        "Band",
        f"{words}; {band.name} tolerates {percent_window(band.low, band.high)}"
        + (f", stretch {percent_window(None, band.stretch)}" if band.stretch > band.high else ""),
        out.width,
        _LABEL,
    )
    line.stylize(BAND_STYLES[one.band] or "bold", _LABEL, _LABEL + len(BAND_WORDS[one.band]))
    out.print(line)


def _exact_percent(value: Fraction) -> str:
    return f"{value.numerator} %" if value.denominator == 1 else f"{exact_text(value)} %"


def _by_subject(told: Explanation) -> list[tuple[str, list[Answer]]]:
    groups: dict[str, list[Answer]] = {}
    sets = told.combination.sets
    position = -1
    for answer in told.combination.answers:
        if answer.rule == "family":
            position += 1
        key = sets[position].id
        if answer.rule == "idler-seat":
            key = "between the gears"
        groups.setdefault(key, []).append(answer)
    return list(groups.items())


def _print_answer(out: Console, answer: Answer) -> None:
    label = f"  {answer.rule:<18}"
    verdict = answer.verdict.value
    if answer.verdict is Verdict.FITS:
        verdict = f"fits, {answer.evidence.word}"
    subject = answer.subject if answer.rule == "idler-seat" else ""
    reason = f"{subject}: {answer.reason}" if subject else answer.reason
    indent = " " * (len(label) + 17)
    lines = wrapped(reason, out.width, f"{label}{verdict:<16} ", indent)
    shown = Text("\n".join(lines))
    start = len(label)
    shown.stylize(VERDICT_STYLES[answer.verdict], start, start + len(verdict))
    out.print(shown, no_wrap=True, overflow="ignore", crop=False)
    for datum in answer.data:
        text = f"{datum.place}  {datum.text}"
        out.print(Text(f"{indent}{text}", style="dim"), no_wrap=True, overflow="ignore", crop=False)


def _print_list(out: Console, title: str, items: Sequence[str]) -> None:
    if not items:
        return
    out.print()
    out.print(Text(title, style="bold"))
    for item in items:
        out.print(Text("\n".join(wrapped(item, out.width, "  - ", "    "))))
