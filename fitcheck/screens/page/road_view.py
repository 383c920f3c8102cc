"""The side of the sheet that comes from the road model: outcomes, charts, law, inputs."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace

from fitcheck.answers.road_words import LAWFUL_WORDS, LIMIT_WORDS, does_not_start_on_5
from fitcheck.screens.page.gear_view import NAME, NONE
from fitcheck.screens.page.locale import Local
from fitcheck.screens.page.view import LETTERS, NOW, Cell, Group, Row, SourceRow, shorten
from fitcheck.services.counter.audience import for_customer
from fitcheck.services.counter.succession import ways_on
from fitcheck.services.road.figures import ClassAnswer, Figure, Given, LawfulAnswer, PullVerdict
from fitcheck.services.road.results import Outcome, RoadReport, TopFigure

_PULL_TONES = {PullVerdict.PULLS: "good", PullVerdict.WIND: "open", PullVerdict.NOT: "bad"}
_AT_WORST = {
    PullVerdict.PULLS: "at worst as well",
    PullVerdict.WIND: "at worst only with a tailwind",
    PullVerdict.NOT: "at worst not",
}
"""The verdict at the low end of the range, in few words."""

_LAW_TONES = {
    LawfulAnswer.WITHIN: "good",
    LawfulAnswer.STRADDLES: "open",
    LawfulAnswer.UNKNOWN: "open",
    LawfulAnswer.OVER: "bad",
}
_CAPS = {"grip": "the wheel slips first", "front wheel": "the front lifts first"}
_NOT = PullVerdict.NOT
_TOO_TALL = "Engine: it will not pull this gearing; {}."
_TO = "\N{EN DASH}"
_HELD = "\N{NO-BREAK SPACE}"

Tell = Callable[[Outcome], Cell]


def road_groups(
    report: RoadReport, local: Local, speeds: Sequence[float] = ()
) -> tuple[Group, ...]:
    """What each gearing does on the road, side by side, the machine as it stands first.

    Args:
        report: before and after.
        local: how to write it.
        speeds: km/h at which to tell the engine's speed.
    """
    table = _SideBySide(report, local)
    return (
        Group("Speed on the road", table.speed_rows(speeds)),
        Group("Pull and times", table.pull_rows()),
    )


class _SideBySide:
    """The rows of the comparison, a cell for each gearing."""

    def __init__(self, report: RoadReport, local: Local) -> None:
        self.report = report
        self.local = local
        self.outcomes = (report.before, *report.after)

    def speed_rows(self, speeds: Sequence[float]) -> tuple[Row, ...]:
        """How fast it goes, what holds it back, and the limits of law and tyre."""
        local = self.local
        return (
            self._row("Engine", _verdict, strong=True),
            self._row(
                "Real top speed",
                lambda one: speed_cell(one.flat, local),
                "flat, still air",
                strong=True,
            ),
            self._row(
                "Top speed against now", lambda one: _change(one.top_change, "km/h", local, 1)
            ),
            *self._limit_rows(),
            self._row("Held back by", lambda one: _limit(one.flat, local)),
            self._row(
                "Into the wind", lambda one: speed_cell(one.headwind, local), "20 km/h headwind"
            ),
            self._row("Uphill", lambda one: speed_cell(one.uphill, local), "5 % hill"),
            self._range_row(
                "On paper", lambda one: one.paper_top, "km/h", small="at the rpm of peak power"
            ),
            self._range_row(
                f"Speed per {local.rough(1000)} rpm",
                lambda one: one.per_1000_rpm,
                "km/h",
                1,
                small="top ratio",
            ),
            *(self._engine_row(speed) for speed in speeds),
        )

    def pull_rows(self) -> tuple[Row, ...]:
        """How it starts off and picks up, and what that costs."""
        local, after = self.local, self.report.after
        times: dict[str, Callable[[Outcome], Figure | None]] = {
            f"0{_TO}30 km/h": lambda one: one.time_30,
            f"0{_TO}45 km/h": lambda one: one.time_45,
            f"0{_TO}60 km/h": lambda one: one.time_60,
            f"0{_TO}200 m": lambda one: one.time_200_m,
            "To 95 % of top speed": lambda one: one.time_95,
        }
        rows = [
            self._row(
                "Start-off pull",
                lambda one: _add_cap(ranged_cell(one.start_force, "N", local), one.force_cap),
                "at the wheel",
                strong=True,
            ),
            self._row("Pull against now", lambda one: _change(one.start_change, "%", local)),
            self._row("Steepest start", lambda one: _hill(one, local)),
            # A speed that no gearing reaches tells the customer nothing.
            *(
                Row(label, tuple(time_cell(pick(one), local) for one in self.outcomes))
                for label, pick in times.items()
                if any(_reached(pick(one)) for one in self.outcomes)
            ),
        ]
        if any(one.help is not None and one.help.start_ratio is not None for one in after):
            rows.append(
                self._row(
                    "Starting ratio for the old pull", lambda one: _ratio(one, local), "variator"
                )
            )
        if any(one.fuel_change is not None for one in after):
            speeds = {one.fuel_speed_km_h for one in after if one.fuel_speed_km_h is not None}
            alike = len(speeds) == 1
            at = f"a steady {_speed(speeds.pop(), local)}" if alike else "the steady speed named"
            rows.append(
                self._row("Fuel", lambda one: _fuel(one, local, alike=alike), f"roughly, at {at}")
            )
        return tuple(rows)

    def _limit_rows(self) -> list[Row]:
        rows = []
        if any(one.lawful is not None for one in self.outcomes):
            words = _ceiling(self.report, self.local)
            rows.append(
                self._row(
                    "Vehicle class", lambda one: _law_cell(one, self.local), words, strong=True
                )
            )
        if any(one.tyre_warning for one in self.outcomes):
            rows.append(self._row("Tyre's speed symbol", self._tyre_cell, strong=True))
        return rows

    def _tyre_cell(self, one: Outcome) -> Cell:
        if one.tyre_warning:
            return Cell("over it: see above", tone="bad")
        subject = self.report.subject
        tyre = subject.roll_out if one is self.report.before else subject.roll_out_after
        if tyre is None or tyre.max_speed_km_h is None:
            return Cell("not known", "read the sidewall", "open")
        return Cell("within it")

    def _engine_row(self, speed: float) -> Row:
        def tell(one: Outcome) -> Cell:
            rpm = dict(one.rpm_at).get(speed)
            return Cell("not reached" if rpm is None else f"{self.local.rough(rpm)}{_HELD}rpm")

        return self._row(f"Engine at {_speed(speed, self.local)}", tell)

    def _row(self, label: str, tell: Tell, small: str = "", *, strong: bool = False) -> Row:
        return Row(label, tuple(tell(one) for one in self.outcomes), small, strong)

    def _range_row(
        self,
        label: str,
        pick: Callable[[Outcome], Figure],
        unit: str,
        places: int = 0,
        *,
        small: str = "",
        strong: bool = False,
    ) -> Row:
        def tell(one: Outcome) -> Cell:
            return ranged_cell(pick(one), unit, self.local, places)

        return self._row(label, tell, small, strong=strong)


def _finite(figure: Figure | None) -> bool:
    return figure is not None and all(map(math.isfinite, (figure.value, figure.low, figure.high)))


def ranged_cell(figure: Figure | None, unit: str, local: Local, places: int = 0) -> Cell:
    """A figure over its range; a dash where there is none."""
    if figure is None or not _finite(figure):
        return NONE
    low, high = local.rough(figure.low, places), local.rough(figure.high, places)
    text = f"{local.rough(figure.value, places)}{_HELD}{unit}"
    return Cell(text, "" if low == high else f"{low} to {high}")


def _add_cap(cell: Cell, cap: str | None) -> Cell:
    """A figure that grip or the front wheel holds, and not the engine."""
    if cap is None:
        return cell
    words = _CAPS.get(cap, cap)
    return replace(cell, small=f"{cell.small}; {words}" if cell.small else words)


def _hill(one: Outcome, local: Local) -> Cell:
    if one.start_gradient is None:
        return Cell("does not start", tone="bad")
    return _add_cap(ranged_cell(one.start_gradient, "%", local), one.gradient_cap)


def _verdict(one: Outcome) -> Cell:
    cautious = "" if one.cautious_verdict is one.verdict else _AT_WORST[one.cautious_verdict]
    return Cell(one.verdict.value, cautious, _PULL_TONES[one.verdict])


def _change(figure: Figure | None, unit: str, local: Local, places: int = 0) -> Cell:
    if figure is None or not _finite(figure):
        return NONE
    return Cell(f"{local.signed(figure.value, places)}{_HELD}{unit}")


def speed_cell(top: TopFigure, local: Local) -> Cell:
    """A speed reached, or that it cannot move off."""
    if top.limit == "start" or not top.speed.value:
        return Cell(LIMIT_WORDS["start"], tone="bad")
    cell = ranged_cell(top.speed, "km/h", local)
    if top.other is None:
        return cell
    words = f"or about {local.rough(top.other.km_h)} {top.other.words}"
    return replace(cell, small=f"{cell.small}; {words}" if cell.small else words)


def _limit(top: TopFigure, local: Local) -> Cell:
    word = LIMIT_WORDS.get(top.limit, top.limit)
    return Cell(word, f"at {local.rough(top.rpm)} rpm" if top.rpm else "")


def time_cell(figure: Figure | None, local: Local) -> Cell:
    """A time over its range; tenths as long as they mean something."""
    if figure is None or not _reached(figure):
        return Cell("not reached")
    coarse = figure.value >= 20 or figure.high - figure.low >= 10
    if not math.isfinite(figure.high):
        low = local.rough(figure.low, 0 if coarse else 1)
        return Cell(f"{local.rough(figure.value, 0 if coarse else 1)}{_HELD}s", f"{low} or more")
    return ranged_cell(figure, "s", local, 0 if coarse else 1)


def _reached(figure: Figure | None) -> bool:
    return figure is not None and math.isfinite(figure.value)


def _ratio(one: Outcome, local: Local) -> Cell:
    """The starting ratio that would give back the old pull, and a variator that has it."""
    if one.help is None or one.help.start_ratio is None:
        return NONE
    return Cell(local.rough(one.help.start_ratio, 2), ", ".join(one.help.variators[:2]))


def helps(outcome: Outcome) -> list[str]:
    """What would help a gearing, without the starting ratio, which the table tells."""
    told = outcome.help
    if told is None:
        return []
    beside = told.sentences if told.start_ratio is None else told.sentences[1:]
    return [shorten(for_customer(one), 500) for one in beside]


def _speed(km_h: float, local: Local) -> str:
    return f"{local.figure(f'{km_h:.10g}')}{_HELD}km/h"


def _fuel(one: Outcome, local: Local, *, alike: bool) -> Cell:
    """The change of fuel use; with the speed it is of, unless that is the same for all."""
    change, speed = one.fuel_change, one.fuel_speed_km_h
    if one.combination is None or speed is None:
        return NONE  # the machine as it stands, or one of the two does not hold such a speed
    at = "" if alike else f"at {_speed(speed, local)}"
    if change is None:
        return Cell("as now", at)
    low, high = sorted((change.low, change.high))
    span = f"{local.signed(low)} to {local.signed(high)}"
    return Cell(f"{local.signed(change.value)}{_HELD}%", ", ".join(filter(None, [span, at])))


def _ceiling(report: RoadReport, local: Local) -> str:
    ceilings = {one.lawful.ceiling_km_h for _, one in by_letter(report) if one.lawful is not None}
    ceiling = ceilings.pop() if len(ceilings) == 1 else None
    return "" if ceiling is None else f"up to {local.rough(ceiling)} km/h"


def _law_cell(one: Outcome, local: Local) -> Cell:
    answer = one.lawful
    if answer is None:
        return NONE
    words = LAWFUL_WORDS[answer.answer]
    tone = _LAW_TONES[answer.answer]
    if answer.others and tone == "good":
        tone = "open"
    known = ranged_cell(answer.top, "km/h", local)
    small = [] if known is NONE else [known.small or known.text]
    return Cell(words, "; ".join([*small, *(["see The law"] if answer.others else [])]), tone)


def _leaves(answer: ClassAnswer | None, local: Local) -> str | None:
    if answer is None or answer.answer is not LawfulAnswer.OVER:
        return None
    record = answer.vehicle_class.record
    ceiling, top = answer.ceiling_km_h, answer.top
    if ceiling is None or top is None or top.low <= ceiling:
        return for_customer(answer.sentence)  # it breaks something else: the least reduction
    return (
        f"The top speed, over its whole range, is above the {local.rough(ceiling)} km/h by design "
        f"of its class, {record.name}, {record.place}."
    )


def _not_pulled(one: Outcome) -> str:
    if does_not_start_on_5(one):
        return _TOO_TALL.format("it does not start on a hill of 5 %")
    slower = one.top_change is not None and round(one.top_change.value, 1) < 0
    said = "the machine gets slower" if slower else "little or nothing of it becomes speed"
    return _TOO_TALL.format(said)


def alarms(report: RoadReport, local: Local) -> list[tuple[str, str]]:
    """What nobody may miss, as (who, sentence): tyre, class, a gearing the engine cannot pull."""
    kinds: list[Callable[[str, Outcome], str | None]] = [
        lambda _, one: one.tyre_warning,
        lambda _, one: _leaves(one.lawful, local),
        lambda letter, one: _not_pulled(one) if letter != NOW and one.verdict is _NOT else None,
    ]
    said = ((letter, tell(letter, one)) for tell in kinds for letter, one in by_letter(report))
    return _say_once((letter, sentence) for letter, sentence in said if sentence is not None)


def law(report: RoadReport) -> list[tuple[str, str]]:
    """What the table cannot say of the class, as (who, sentence), each sentence once."""
    found = []
    for letter, one in by_letter(report):
        answer = one.lawful
        if answer is None:
            continue
        if answer.answer is LawfulAnswer.STRADDLES:
            measured = report.calibrated is not None
            advice = "once it is fitted" if measured else "by GPS first"
            words = f"The top speed may be above or below the ceiling: measure it {advice}."
            found.append((letter, words))
        elif answer.answer is LawfulAnswer.UNKNOWN or answer.ceiling_km_h is None:
            found.append((letter, for_customer(answer.sentence)))
        found += [(letter, sentence) for sentence in answer.others]
    return _say_once(found)


def _say_once(said: Iterable[tuple[str, str]]) -> list[tuple[str, str]]:
    """Each sentence once, with everybody it is said of."""
    found: dict[str, list[str]] = {}
    for letter, sentence in said:
        found.setdefault(shorten(sentence, 400), []).append(letter)
    return [(", ".join(who), sentence) for sentence, who in found.items()]


def law_sources(report: RoadReport, local: Local) -> tuple[str, ...]:
    """Where the class's ceilings come from."""
    answer: ClassAnswer | None = report.before.lawful
    if answer is None:
        return ()
    record = answer.vehicle_class.record
    parts = [shorten(f"{record.name}, {record.place}", 2 * NAME)]
    if record.source is not None:
        parts.append(shorten(record.source, 3 * NAME))
    if record.date is not None:
        parts.append(f"as of {local.day(record.date)}")
    return ("; ".join(parts),)


def by_letter(report: RoadReport) -> list[tuple[str, Outcome]]:
    """Every gearing with what it is called on the page: `Now`, A to D."""
    return [(NOW, report.before), *zip(LETTERS, report.after, strict=False)]


def limits_in_words(report: RoadReport) -> tuple[str, ...]:
    """Cautions of the model, the calibration first."""
    said = [] if report.calibrated is None else [report.calibrated]
    named = [each for one in report.after if one.combination for each in one.combination.sets]
    # Where a retired set leads is said with its choice, loud.
    told = set(ways_on(report.subject.catalogue, named))
    said += [for_customer(note) for note in report.notes if note not in told]
    return tuple(shorten(sentence, 400) for sentence in said)


def sources(report: RoadReport, local: Local) -> tuple[SourceRow, ...]:
    """Every input with its spread, kind and source; those of one source together."""
    found: dict[tuple[str, str], list[tuple[str, str]]] = {}
    for given in report.inputs:
        words = _input(given, given.value, local)
        if given.spread:
            words += f" \N{PLUS-MINUS SIGN} {_input(given, given.spread, local)}"
        source = shorten(for_customer(given.source), 2 * NAME)
        found.setdefault((given.kind, source), []).append((given.name, words))
    return tuple(SourceRow(tuple(each), *known) for known, each in found.items())


def _input(given: Given, value: float, local: Local) -> str:
    """An input's value or spread, with the decimals that two figures of its spread call for."""
    measure = abs(given.spread or given.value / 100) or 1.0
    places = max(0, min(4, 1 - math.floor(math.log10(measure)) - (measure >= 10)))
    while places and not given.spread and round(value, places - 1) == round(value, places):
        places -= 1
    unit = "rpm" if given.unit == "1/min" else given.unit.replace("m2", "m\N{SUPERSCRIPT TWO}")
    return f"{local.rough(value, places)}{_HELD}{unit}".rstrip(_HELD)
