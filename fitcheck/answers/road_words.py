"""The words and figures of the road model's answers, on screen, in rows and on paper.

A figure is shown with the range its inputs leave, such as `62 (58..66)`, rounded alike; where the
range is narrower than the rounding, the figure stands alone.
"""

from __future__ import annotations

from math import floor, isfinite, log10

from fitcheck.services.road.figures import (
    STARTS_ON,
    Figure,
    Given,
    LawfulAnswer,
    OtherTop,
    PullVerdict,
)
from fitcheck.services.road.results import Outcome

PULL_STYLES = {PullVerdict.PULLS: "green", PullVerdict.WIND: "yellow", PullVerdict.NOT: "red"}

LAWFUL_WORDS = {
    LawfulAnswer.WITHIN: "within",
    LawfulAnswer.STRADDLES: "may be over",
    LawfulAnswer.UNKNOWN: "not known",
    LawfulAnswer.OVER: "over",
}

LAWFUL_STYLES = {
    LawfulAnswer.WITHIN: "green",
    LawfulAnswer.STRADDLES: "yellow",
    LawfulAnswer.UNKNOWN: "yellow",
    LawfulAnswer.OVER: "red",
}

LIMIT_WORDS = {"revs": "revs", "ratio": "gearing", "power": "power", "start": "cannot start"}
"""What limits a speed, in a cell."""

_LIMIT_MEANING = {
    "revs": "limited by revs: the engine meets its rev limit with power left over",
    "ratio": "limited by the gearing: geared short, the engine runs past its power peak",
    "power": "limited by power: geared tall enough, drag takes all the engine gives",
    "start": "limited from the start: the pull as the clutch engages does not move it off",
}
"""The same in words."""

_TOO_TALL = "limited by power: geared too tall, the engine stays under its power peak"

NOT_REACHED = "not reached"

CONDITIONS = {"flat": "on the flat", "headwind": "into 20 km/h wind", "uphill": "up 5 %"}
"""The road loads by their key."""

_UNITS = {"1/min": "rpm"}
_UNSURE = {"approximate", "estimate"}


def decimal_words(value: float, places: int = 0, *, signed: bool = False) -> str:
    """A number with so many decimals and commas between thousands; zero has no sign."""
    text = f"{value:{'+' if signed else ''},.{places}f}"
    return text if text.strip("+-0.,") else text.lstrip("+-")


def range_words(figure: Figure, places: int = 0, *, signed: bool = False) -> str:
    """A figure with its range, such as `62 (58..66)`; a time without end is `never`."""
    value, low, high = (
        decimal_words(each, places, signed=signed) if isfinite(each) else "never"
        for each in (figure.value, figure.low, figure.high)
    )
    return value if low == high else f"{value} ({low}..{high})"


def seconds(figure: Figure | None) -> str:
    """A time with its range; tenths under ten seconds."""
    return "never" if figure is None else range_words(figure, int(figure.value < 9.95))


def tenths(time: float | None) -> str:
    """A time by itself, s; tenths under ten seconds."""
    return "never" if time is None else decimal_words(time, int(time < 9.95))


def pull_words(outcome: Outcome) -> str:
    """Whether the engine pulls a gearing, and what the low end of the range says."""
    verdict, cautious = outcome.verdict, outcome.cautious_verdict
    words = verdict.value
    if cautious is verdict:
        return words
    if cautious is PullVerdict.WIND:
        return f"{words}, at worst {cautious.value}"
    return f"{words}, at worst not at all"


def limit_words(outcome: Outcome) -> str:
    """What limits the speed on the flat, as a sentence."""
    words = _LIMIT_MEANING.get(outcome.flat.limit, outcome.flat.limit)
    if outcome.flat.limit == "power" and outcome.verdict is not PullVerdict.PULLS:
        words = _TOO_TALL
    return f"{sentence(words)}."


def sentence(words: str) -> str:
    """Words with a capital at their beginning."""
    return f"{words[:1].upper()}{words[1:]}"


def top_words(outcome: Outcome) -> str:
    """The top speed and what it is against now, such as `55 (52..58) km/h on the flat, as now`."""
    words = f"{range_words(outcome.flat.speed)} km/h on the flat{other_words(outcome.flat.other)}"
    if outcome.top_change is None:
        return words
    if abs(outcome.top_change.value) < 0.5:
        return f"{words}, as now"
    change = decimal_words(
        outcome.top_change.value, _change_places(outcome.top_change), signed=True
    )
    return f"{words}, {change[1:]} {'more' if change[0] == '+' else 'less'} than now"


def gain_words(change: Figure | None) -> str:
    """A change of top speed with its range; tenths under ten, so that rounding does not mislead."""
    return "" if change is None else range_words(change, _change_places(change), signed=True)


def _change_places(change: Figure) -> int:
    return int(abs(change.value) < 9.95)


def other_words(other: OtherTop | None) -> str:
    """A second top speed after the first: `, or about 47 if the variator does not come out`."""
    return "" if other is None else f", or about {decimal_words(other.km_h)} {other.words}"


CAPS = {"grip": "wheel slips", "front wheel": "front lifts"}
"""What holds the pull at the wheel rather than the engine, in words."""


def cap_words(figure: Figure, cap: str | None) -> str:
    """A figure with its range, and what holds it if that is not the engine."""
    return range_words(figure) if cap is None else f"{range_words(figure)}, {CAPS.get(cap, cap)}"


def hill(outcome: Outcome) -> str:
    """The steepest hill it starts on, with its range."""
    if outcome.start_gradient is None:
        return "does not start"
    return cap_words(outcome.start_gradient, outcome.gradient_cap)


def does_not_start_on_5(outcome: Outcome) -> bool:
    """Whether it does not start on a hill of 5 %, which alone is a gearing that is not pulled."""
    return outcome.start_gradient is None or outcome.start_gradient.value < STARTS_ON


def given_words(given: Given) -> str:
    """An input with its range and unit, such as `2.4 (2.3..2.5) kW`.

    The range is rounded to the first figure of the spread; the value has one figure more, four
    at most.
    """
    unit = _UNITS.get(given.unit, given.unit)
    places = max(0, 3 - _exponent(given.value))
    words = _trimmed(given.value, places)
    if given.spread:
        step = _exponent(given.spread)
        words = _trimmed(given.value, min(places, max(0, 1 - step)))
        low, high = (
            decimal_words(round(given.value + side * given.spread, -step), max(0, -step))
            for side in (-1, 1)
        )
        words += f" ({low}..{high})"
    return f"{words} {unit}" if unit else words


def _exponent(value: float) -> int:
    """The power of ten of a number's first figure."""
    return floor(log10(abs(value))) if value else 0


def _trimmed(value: float, places: int) -> str:
    text = decimal_words(value, places)
    return text.rstrip("0").rstrip(".") if "." in text else text


def is_unsure(given: Given) -> bool:
    """Whether an input is neither counted nor looked up, but worked out or guessed."""
    return given.kind in _UNSURE
