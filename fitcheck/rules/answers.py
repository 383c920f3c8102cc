"""The three-valued answer of a fit rule, and how strong the evidence behind it is.

A missing datum never proves a fit: `fits` needs every rule answered at `stated` or better.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import IntEnum, StrEnum
from typing import Any

from fitcheck.catalogue.reader import Entry
from fitcheck.diagnostics.finding import DocumentPath


class Verdict(StrEnum):
    """Whether a set or a combination fits."""

    FITS = "fits"
    UNPROVEN = "unproven"
    RULED_OUT = "ruled out"


class Evidence(IntEnum):
    """How a rule is known to hold, weakest first."""

    NONE = 0
    STATED = 1
    COMPUTED = 2
    MEASURED = 3

    @property
    def word(self) -> str:
        """The word shown to people and written to JSON."""
        return self.name.lower()


@dataclass(frozen=True, slots=True)
class Datum:
    """A value in the catalogue that a rule looked at."""

    entry: Entry[Any]
    steps: DocumentPath
    text: str

    @property
    def place(self) -> str:
        """file:line:column of the value."""
        return self.entry.place(*self.steps)


@dataclass(frozen=True, slots=True)
class Answer:
    """What one rule says of one set, joint or pair.

    Attributes:
        rule: id of the rule, such as `centre-distance`.
        verdict: fits, unproven or ruled out.
        evidence: how it is known; NONE unless it fits.
        reason: one sentence.
        data: the values it rests on, with their places.
        measure: what to measure or ask to settle an unproven answer.
        subject: which set, or which joint, in words.
    """

    rule: str
    verdict: Verdict
    evidence: Evidence
    reason: str
    data: tuple[Datum, ...] = ()
    measure: str | None = None
    subject: str = ""


@dataclass(frozen=True, slots=True)
class Judgement:
    """All answers taken together.

    Attributes:
        verdict: the worst of the answers.
        evidence: the weakest evidence among them; NONE unless it fits.
        weakest: ids of the rules that rest on that evidence, or that are unproven or rule out.
    """

    verdict: Verdict
    evidence: Evidence
    weakest: tuple[str, ...]


def judge(answers: Iterable[Answer]) -> Judgement:
    """Fold the answers of every rule into one verdict, naming the weakest rules."""
    given: Sequence[Answer] = list(answers)
    for verdict in (Verdict.RULED_OUT, Verdict.UNPROVEN):
        rules = tuple(dict.fromkeys(a.rule for a in given if a.verdict is verdict))
        if rules:
            return Judgement(verdict, Evidence.NONE, rules)
    if not given:
        raise ValueError("a judgement needs at least one answer")
    weakest = min(a.evidence for a in given)
    rules = tuple(dict.fromkeys(a.rule for a in given if a.evidence == weakest))
    return Judgement(Verdict.FITS, weakest, rules)
