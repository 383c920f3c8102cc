"""The answer of `why`: the arithmetic before and after, and every rule's answer."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Annotated, TypedDict

from fitcheck.answers.combination import (
    Combination,
    EvidenceWord,
    Fit,
    GearSets,
    combination,
    gear_sets,
)
from fitcheck.answers.declared import More, words
from fitcheck.answers.machine import Band, Header, Machine, band, header, machine
from fitcheck.answers.values import Exact, Place, StageName, exact, place
from fitcheck.kernel.gearing import PaperCheck, overall_reduction
from fitcheck.kernel.rounding import decimal_text
from fitcheck.kernel.teeth import Pair
from fitcheck.model.fields import Stage
from fitcheck.model.kinds import KINDS
from fitcheck.rules.answers import Answer
from fitcheck.rules.fit import RULES
from fitcheck.services.counter.why import Explanation

_Cut = Annotated[str, More(pattern=r"^[0-9]+\.[0-9]{2}$")]


class _Stage(TypedDict):
    """One stage."""

    stage: StageName
    """The stage."""
    pair: str
    """Its tooth counts, driver/driven."""
    reduction: Exact
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
    by_hand: _ByHand


class _Calculation(TypedDict):
    """The arithmetic, before and after."""

    now: _Train
    """The train as it is."""
    then: _Train
    """The train with the sets fitted."""


class _Datum(TypedDict):
    """A value in the catalogue that the rule looked at."""

    kind: Annotated[str, words(KINDS)]
    """Kind of the record."""
    id: str
    """Id of the record."""
    text: str
    """The value in words."""
    place: Place
    """Where it stands."""


class _Rule(TypedDict):
    """The answer of one rule of fit."""

    rule: Annotated[str, words(RULES)]
    """Id of the rule."""
    asks: str
    """What it asks, one sentence."""
    set: str | None
    """Id of the set it is about; null where it is about the gears of two parts."""
    subject: str | None
    """The stage or the two gears it is about."""
    fit: Fit
    evidence: EvidenceWord
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
    return {
        **header("why", subject.catalogue),
        "machine": machine(subject),
        "band": band(subject),
        "combination": combination(one, subject, margins=margins),
        "calculation": {
            "now": _train(subject.stages, subject.pairs, told.now),
            "then": _train(subject.stages, list(one.pairs.values()), told.then),
        },
        "rules": list(_rules(told)),
        "questions": list(told.questions),
        "advice": list(told.advice),
        "retired": list(told.retired),
        "stock": list(told.stock),
        "gear_sets": gear_sets(subject.catalogue, [one]),
    }


def _train(stages: Sequence[Stage], pairs: Sequence[Pair], check: PaperCheck) -> _Train:
    return {
        "stages": [
            {
                "stage": stage,
                "pair": str(pair),
                "reduction": exact(pair.reduction),
                "cut": decimal_text(cut, 2),
            }
            for stage, pair, cut in zip(stages, pairs, check.stages, strict=True)
        ],
        "reduction": exact(overall_reduction(pairs)),
        "by_hand": {
            "product": decimal_text(check.product, 2),
            "exact_cut": decimal_text(check.exact_cut, 2),
            "agrees": check.agrees,
        },
    }


def _rules(told: Explanation) -> Iterator[_Rule]:
    """Every answer with the set it is about."""
    for set_id, answers in told.combination.answers_by_set.items():
        for answer in answers:
            yield _rule(answer, set_id)


def _rule(answer: Answer, set_id: str | None) -> _Rule:
    return {
        "rule": answer.rule,
        "asks": RULES[answer.rule],
        "set": set_id,
        "subject": answer.subject or None,
        "fit": answer.verdict.value,
        "evidence": answer.evidence.word,
        "reason": answer.reason,
        "measure": answer.measure,
        "data": [
            {
                "kind": datum.entry.kind,
                "id": datum.entry.id,
                "text": datum.text,
                "place": place(datum.entry.span(*datum.steps)),
            }
            for datum in answer.data
        ],
    }
