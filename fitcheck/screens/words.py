"""The words and colours for verdicts and bands; every colour comes with its word."""

from __future__ import annotations

from fractions import Fraction

from fitcheck.rules.answers import Evidence, Judgement, Verdict
from fitcheck.services.counter.subject import BandVerdict, Subject

BAND_STYLES = {
    BandVerdict.SHORTER: "magenta",
    BandVerdict.BELOW: "",
    BandVerdict.IN: "green",
    BandVerdict.STRETCH: "yellow",
    BandVerdict.OVER: "red",
    BandVerdict.NONE: "",
}

VERDICT_STYLES = {
    Verdict.FITS: "green",
    Verdict.UNPROVEN: "yellow",
    Verdict.RULED_OUT: "red",
}

BETWEEN = "between the gears"
"""Over answers on a seat between two gears, which are about neither set alone."""

CAUTION = (
    "Gearing changes speed, braking distance, tyre load and perhaps what the law calls this "
    "machine. Local law and a licensed mechanic decide."
)

SHORT_CAUTION = "Speed, braking and tyre load change: a licensed mechanic and local law decide."
"""The same in one line."""


def fit_words(judgement: Judgement) -> str:
    """A verdict with its weakest evidence, such as `fits, stated`."""
    if judgement.verdict is Verdict.FITS and judgement.evidence is not Evidence.NONE:
        return f"fits, {judgement.evidence.word}"
    return judgement.verdict.value


def edges_of(subject: Subject) -> tuple[Fraction, ...]:
    """The edges of its band, which no rounded change may seem to lie on; none without a band."""
    band = subject.band
    return () if band is None else (band.low, band.high, band.stretch)
