"""The answer of `why`: the arithmetic before and after, and every rule's answer."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import Annotated, NamedTuple, TypedDict

from fitcheck.answers.combination import (
    Combination,
    EvidenceWord,
    Fit,
    GearSets,
    combination,
    gear_sets,
)
from fitcheck.answers.machine import Band, Header, Machine, band, header, machine
from fitcheck.answers.shapes import (
    ITSELF,
    At,
    By,
    Exact,
    More,
    Name,
    Place,
    StageName,
    fill,
    place,
    words,
)
from fitcheck.kernel.gearing import PaperCheck, overall_reduction
from fitcheck.kernel.rounding import decimal_text
from fitcheck.kernel.teeth import Pair
from fitcheck.model.fields import Stage
from fitcheck.model.kinds import KINDS
from fitcheck.rules.fit import rule_sentence
from fitcheck.services.counter.why import Explanation

_Cut = Annotated[str, More(pattern=r"^[0-9]+\.[0-9]{2}$"), By(lambda cut: decimal_text(cut, 2))]


class _Stage(TypedDict):
    """One stage."""

    stage: StageName
    """The stage."""
    pair: Annotated[str, By(str)]
    """Its tooth counts, driver/driven."""
    reduction: Annotated[Exact, At("pair.reduction")]
    """Driven over driver."""
    cut: _Cut
    """The same cut, not rounded, at two decimals."""


class _ByHand(TypedDict):
    """As with paper and a pocket calculator."""

    product: _Cut
    """Product of the cut figures, cut after each step."""
    exact_cut: _Cut
    """The exact overall reduction, cut once."""
    agrees: bool
    """Whether the two are the same."""


class _Train(TypedDict):
    """A train worked by hand."""

    stages: Annotated[list[_Stage], More(minItems=1, maxItems=3)]
    """From input shaft to wheel."""
    reduction: Exact
    """Overall reduction."""
    by_hand: Annotated[_ByHand, ITSELF]


class _Calculation(TypedDict):
    """The arithmetic, before and after."""

    now: _Train
    """The train as it is."""
    then: _Train
    """The train with the sets fitted."""


class _Datum(TypedDict):
    """A value in the catalogue that the rule looked at."""

    kind: Annotated[str, words(KINDS), At("entry.kind")]
    """Kind of the record."""
    id: Annotated[str, At("entry.id")]
    """Id of the record."""
    text: str
    """The value in words."""
    place: Annotated[Place, ITSELF, By(lambda datum: place(datum.entry.span(*datum.steps)))]
    """Where it stands."""


class _Rule(TypedDict):
    """The answer of one rule of fit."""

    rule: Name
    """Id of the rule; see docs/matching.md. An installed package may add rules of its own."""
    asks: Annotated[str, At("rule"), By(rule_sentence)]
    """What it asks, one sentence."""
    set: str | None
    """Id of the set it is about; null where it is about the gears of two parts."""
    subject: str | None
    """The stage or the two gears it is about."""
    fit: Annotated[Fit, At("verdict.value")]
    evidence: Annotated[EvidenceWord, At("evidence.word")]
    reason: str
    """One sentence."""
    measure: str | None
    """What to measure or ask to settle an unproven answer."""
    data: list[_Datum]
    """What it rests on."""


class WhyAnswer(Header):
    """One answer of `why`."""

    machine: Machine
    band: Band | None
    """Null where no tune is given."""
    combination: Combination
    calculation: _Calculation
    rules: list[_Rule]
    """Every rule's answer, set by set, then between the gears."""
    questions: list[str]
    """What would settle what is unproven."""
    advice: list[str]
    """What is worth knowing though it decides no fit."""
    retired: list[str]
    """Sets that are kept on file but no longer sold."""
    stock: list[str]
    """Where each set can be had: on the shelf, or from whom."""
    gear_sets: GearSets
    """Every gear set the combinations name, once, by id."""


def why_answer(told: Explanation, *, margins: bool = False) -> WhyAnswer:
    """One answer of `why` as plain data for `json.dumps`, with margins where they are asked."""
    subject, one = told.subject, told.combination
    return fill(
        WhyAnswer,
        told,
        **header("why", subject.catalogue),
        machine=machine(subject),
        band=band(subject),
        combination=combination(one, subject, margins=margins),
        calculation={
            "now": _train(subject.stages, subject.pairs, told.now),
            "then": _train(subject.stages, list(one.pairs.values()), told.then),
        },
        rules=[
            fill(_Rule, answer, set=set_id)
            for set_id, answers in one.answers_by_set.items()
            for answer in answers
        ],
        gear_sets=gear_sets(subject.catalogue, [one]),
    )


class _Worked(NamedTuple):
    stage: Stage
    pair: Pair
    cut: Fraction


def _train(stages: Sequence[Stage], pairs: Sequence[Pair], check: PaperCheck) -> _Train:
    worked = [_Worked(*one) for one in zip(stages, pairs, check.stages, strict=True)]
    return fill(_Train, check, stages=worked, reduction=overall_reduction(pairs))
