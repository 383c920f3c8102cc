"""The calculation as one would write it on paper, and every rule's answer with its datum."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import chain

from rich.cells import cell_len
from rich.text import Text

from fitcheck.answers.figures import (
    exact_text,
    margin_words,
    percent_window,
    price_sum,
    price_words,
)
from fitcheck.kernel.gearing import PaperCheck
from fitcheck.kernel.rounding import decimal_text, percent
from fitcheck.kernel.teeth import Pair
from fitcheck.rules.answers import Answer, Verdict
from fitcheck.screens.counter.combinations import sets_words
from fitcheck.screens.counter.glance import USUAL, foot_lines, machine_lines
from fitcheck.screens.counter.match import print_subject
from fitcheck.screens.findings.wording import one_line
from fitcheck.screens.screen import LINES, Screen, labelled, wrapped
from fitcheck.screens.words import (
    BAND_STYLES,
    BETWEEN,
    CAUTION,
    VERDICT_STYLES,
    edges_of,
    fit_words,
)
from fitcheck.services.counter.combination import Combination
from fitcheck.services.counter.remarks import class_limit, first_sentences
from fitcheck.services.counter.subject import BAND_WORDS, BandVerdict
from fitcheck.services.counter.why import Explanation

_LABEL = 13
_VERDICT = 17
_REASON = 37
_NARROW = 64


def print_why(out: Screen, told: Explanation, *, margins: bool = False) -> None:
    """Print one explanation of `why`, with what the shop earns where that is asked."""
    one = told.combination
    print_subject(out, told.subject)
    out.labelled("Change", f"{sets_words(one)}; {price_sum(one)}")
    line, *others = labelled("Verdict", _verdict_words(told), out.width)
    style = VERDICT_STYLES[one.judgement.verdict]
    line.stylize(style, 12, 12 + len(fit_words(one.judgement)))
    out.lines([line, *others])
    for words in price_words(one.offers):
        out.labelled("Price", words)
    if margins:
        out.labelled("Margin", margin_words(one.margin, one.currency))
    for words in told.stock:
        out.labelled("Stock", words)
    for note in (*told.retired, *_plain_notes(one)):
        out.labelled("Note", note)
    out.line()
    out.line("On paper", "bold")
    _print_paper(out, told)
    out.line()
    _print_change(out, told)
    out.line()
    out.line("Every rule of fit", "bold")
    if one.judgement.verdict is Verdict.FITS:
        out.paragraph(_weakest_words(one), "  ")
    _print_answers(out, told)
    _print_list(out, "To settle what is open", told.questions)
    _print_list(out, "Worth knowing", told.advice)
    if one.judgement.verdict is not Verdict.RULED_OUT:
        _print_list(out, "Also in the parcel", told.parcel)
    out.line()
    out.paragraph(CAUTION, style="dim")


def print_verdict(out: Screen, told: Explanation, *, margins: bool = False) -> None:
    """Print the verdict of `why` and what it hangs on, on one screen."""
    one = told.combination
    words = f"{sets_words(one)}; {price_sum(one)}"
    head = [*machine_lines(told.subject, out.width), *labelled("Change", words, out.width)]
    line, *others = labelled("Verdict", _verdict_words(told), out.width)
    line.stylize(VERDICT_STYLES[one.judgement.verdict], 12, 12 + len(fit_words(one.judgement)))
    head += [line, *others, *labelled("Reduction", _gear_words(told), out.width)]
    reasons = [labelled(*reason, out.width) for reason in _reasons(told, margins=margins)]
    kept = len(reasons)
    foot = _foot(told, 0, out.width)
    while kept > 1 and out.width >= USUAL and _length(head, *reasons[:kept], foot) > LINES:
        kept -= 1
        foot = _foot(told, len(reasons) - kept, out.width)
    out.lines([*head, *chain.from_iterable(reasons[:kept]), *foot])


def _length(*parts: Sequence[Text]) -> int:
    return sum(map(len, parts))


def _foot(told: Explanation, left: int, width: int) -> list[Text]:
    """The law, where there is more to read, and the caution."""
    limit = class_limit(told.subject)
    law = [] if limit is None else [("Law", limit, "yellow")]
    more = f"{left} more to know, " * bool(left)
    words = f"{more}every rule with its datum, the sum on paper: --long"
    return foot_lines([*law, ("More", words, "")], width)


def _gear_words(told: Explanation) -> str:
    """The overall reduction now and then, as one would work it out."""
    sides = [
        " x ".join(f"{pair.driven}/{pair.driver}" for pair in pairs)
        + f" = {decimal_text(reduction, 4)}"
        for pairs, reduction in (
            (told.subject.pairs, told.subject.reduction),
            (told.combination.pairs.values(), told.combination.reduction),
        )
    ]
    return f"{sides[0]}, then {sides[1]}: {percent(told.combination.reduction_change)}"


def _reasons(told: Explanation, *, margins: bool) -> Iterator[tuple[str, str]]:
    """What the verdict hangs on, then what else to know, what matters most first."""
    one = told.combination
    for answer in one.answers:
        if answer.verdict is Verdict.RULED_OUT:
            place = f" ({answer.data[0].place})" if answer.data else ""
            yield "Against", f"{answer.rule}: {answer.reason}{place}"
    for words in told.retired:
        yield "Retired", words
    for words in told.questions if one.judgement.verdict is Verdict.UNPROVEN else ():
        yield "Open", words
    if one.judgement.verdict is Verdict.FITS:
        yield "Rests on", _weakest_words(one)
    for words in told.stock:
        yield "Stock", words
    if margins:
        yield "Margin", margin_words(one.margin, one.currency)
    for words in first_sentences(told.subject):
        yield "Note", words
    for note in _plain_notes(one):
        yield "Note", note
    for words in told.advice:
        yield "Advice", words
    if told.parcel and one.judgement.verdict is not Verdict.RULED_OUT:
        yield "Parcel", "; ".join(told.parcel)


def _verdict_words(told: Explanation) -> str:
    one = told.combination
    words = fit_words(one.judgement)
    if one.judgement.verdict is not Verdict.FITS:
        words += f": {', '.join(one.judgement.weakest)}"
    if told.retired:
        words += "; retired, do not order"
    band = BAND_WORDS[one.band]
    return f"{words}; road speed {percent(one.road_speed_change)}, {band}"


def _plain_notes(one: Combination) -> list[str]:
    """Notes that the verdict does not tell already."""
    return [note for note in one.notes if not note.startswith(("open: ", "ruled out: "))]


def _weakest_words(one: Combination) -> str:
    rules = {answer.rule for answer in one.answers}
    evidence = one.judgement.evidence.word
    if rules == set(one.judgement.weakest):
        return f"Every rule rests on what is {evidence}."
    return f"The weakest link, {evidence}: {', '.join(one.judgement.weakest)}."


def _print_paper(out: Screen, told: Explanation) -> None:
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
    first, second = (max(len(row[column]) for row in rows) for column in (1, 2))
    if _LABEL + first + 2 + second > out.width:
        for label, now, then in rows[1:]:
            out.paragraph(f"now {now}; then {then}", f"  {label}: ", "    ")
    else:
        for label, now, then in rows:
            out.line(f"  {label:<{_LABEL - 2}}{now:<{first}}  {then}", "" if label else "dim")
    differs = [
        f"{when} {decimal_text(check.product, 2)} where the exact figure is "
        f"{decimal_text(check.exact_cut, 2)}"
        for when, check in (("now", told.now), ("then", told.then))
        if not check.agrees
    ]
    if differs:
        words = f"Cut at two decimals at every step, paper gives {'; '.join(differs)}."
        out.paragraph(words, "  ")


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


def _print_change(out: Screen, told: Explanation) -> None:
    subject, one = told.subject, told.combination
    band = subject.band
    edges = edges_of(subject)
    old, new = decimal_text(subject.reduction, 4), decimal_text(one.reduction, 4)
    speed = f"{old} / {new}"
    if subject.roll_out_ratio != 1:
        speed += f" x {decimal_text(subject.roll_out_ratio, 4)} (tyre)"
    factor = 1 + one.road_speed_change / 100
    speed += f" = {decimal_text(factor, 4)}, so {percent(one.road_speed_change, edges)} road speed"
    speed += f" (exactly {_exact_percent(one.road_speed_change)})"
    out.labelled("Road speed", speed, _LABEL)
    turns = (
        f"{new} / {old} = {decimal_text(one.reduction / subject.reduction, 4)}, so "
        f"{percent(one.reduction_change)} reduction (exactly "
        f"{_exact_percent(one.reduction_change)}): another figure for the same change"
    )
    out.labelled("Reduction", turns, _LABEL)
    if band is None:
        out.labelled("Band", "no tune is given, so none is applied", _LABEL)
        return
    words = {
        BandVerdict.SHORTER: "shorter than now: the machine gets slower",
        BandVerdict.BELOW: "below the band: hardly worth the work",
        BandVerdict.IN: "in band",
        BandVerdict.STRETCH: "over the band, within the stretch of a careful build",
        BandVerdict.OVER: "over: more than this tune tolerates",
    }[one.band]
    line, *others = labelled(
        "Band",
        f"{words}; {band.name} tolerates {percent_window(band.low, band.high)}"
        + (f", stretch {percent_window(None, band.stretch)}" if band.stretch > band.high else ""),
        out.width,
        _LABEL,
    )
    line.stylize(BAND_STYLES[one.band] or "bold", _LABEL, _LABEL + len(BAND_WORDS[one.band]))
    out.lines([line, *others])


def _exact_percent(value: Fraction) -> str:
    return f"{value.numerator} %" if value.denominator == 1 else f"{exact_text(value)} %"


def _by_subject(told: Explanation) -> list[tuple[str, list[Answer]]]:
    worst = {Verdict.RULED_OUT: 0, Verdict.UNPROVEN: 1, Verdict.FITS: 2}
    return [
        (set_id or BETWEEN, sorted(answers, key=lambda answer: worst[answer.verdict]))
        for set_id, answers in told.combination.answers_by_set.items()
    ]


def _print_answers(out: Screen, told: Explanation) -> None:
    sets = told.combination.sets
    stages = {entry.id: len(entry.record.stages) for entry in sets}
    places = [
        f"{datum.place}  {datum.text}"
        for answer in told.combination.answers
        for datum in answer.data
    ]
    deep = " " * _REASON
    if any(len(deep) + cell_len(place) > out.width for place in places):
        deep = " " * (_REASON - _VERDICT if out.width >= _NARROW else 4)
    for entry_id, answers in _by_subject(told):
        if len(sets) > 1:
            out.line(f"  {entry_id}", "bold")
        for answer in answers:
            several = stages.get(entry_id, 2) > 1
            subject = f"{answer.subject}: " if answer.subject and several else ""
            _print_answer(out, answer, subject, deep)


def _print_answer(out: Screen, answer: Answer, subject: str, deep: str) -> None:
    label = f"  {answer.rule:<{_REASON - _VERDICT - 2}}"
    verdict = answer.verdict.value
    if answer.verdict is Verdict.FITS:
        verdict = f"fits, {answer.evidence.word}"
    reason = f"{subject}{answer.reason}"
    if out.width >= _NARROW:
        lines = wrapped(reason, out.width, f"{label}{verdict:<{_VERDICT}}", " " * _REASON)
    else:
        lines = [f"{label.rstrip()} {verdict}", *wrapped(reason, out.width, "    ")]
    shown = Text(lines[0])
    start = lines[0].index(verdict, len(answer.rule))
    shown.stylize(VERDICT_STYLES[answer.verdict], start, start + len(verdict))
    out.lines([shown, *lines[1:]])
    for datum in answer.data:
        # Two blanks part the place from its value as long as they share a line.
        place = f"{deep}{datum.place}"
        if cell_len(f"{place}  {one_line(datum.text)}") <= out.width:
            out.line(f"{place}  {one_line(datum.text)}", "dim")
        else:
            out.line(place, "dim")
            out.paragraph(datum.text, f"{deep}  ", style="dim")


def _print_list(out: Screen, title: str, items: Sequence[str]) -> None:
    if not items:
        return
    out.line()
    out.line(title, "bold")
    for item in items:
        out.paragraph(item, "  - ", "    ")
