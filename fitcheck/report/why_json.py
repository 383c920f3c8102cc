"""The answer of `why` as JSON; schemas/why.output.schema.json describes it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from fitcheck.kernel.gearing import PaperCheck, overall_reduction
from fitcheck.kernel.teeth import Pair
from fitcheck.model.fields import Stage
from fitcheck.report.figures import decimal_text
from fitcheck.report.json_parts import (
    Data,
    band_data,
    combination_data,
    exact,
    gear_sets_data,
    header,
    machine_data,
    place_data,
)
from fitcheck.rules.answers import Answer
from fitcheck.rules.fit import RULES
from fitcheck.services.explain import Explanation

__all__ = ["why_data"]


def why_data(told: Explanation, *, margins: bool = False) -> Data:
    """One answer of `why` as plain data for `json.dumps`, with margins where they are asked."""
    subject, one = told.subject, told.combination
    return {
        **header("why", subject.catalogue),
        "machine": machine_data(subject),
        "band": band_data(subject),
        "combination": combination_data(one, subject, margins=margins),
        "calculation": {
            "now": _train(subject.stages, subject.pairs, told.now),
            "then": _train(subject.stages, list(one.pairs.values()), told.then),
        },
        "rules": list(_rules(told)),
        "questions": list(told.questions),
        "advice": list(told.advice),
        "retired": list(told.retired),
        "stock": list(told.stock),
        "gear_sets": gear_sets_data(subject.catalogue, [one]),
    }


def _train(stages: Sequence[Stage], pairs: Sequence[Pair], check: PaperCheck) -> Data:
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


def _rules(told: Explanation) -> Iterator[Data]:
    """Every answer with the set it is about."""
    for set_id, answers in told.combination.answers_by_set.items():
        for answer in answers:
            yield _rule(answer, set_id)


def _rule(answer: Answer, set_id: str | None) -> Data:
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
                "place": place_data(datum.entry.span(*datum.steps)),
            }
            for datum in answer.data
        ],
    }
