"""The rules of fit: each a small function with an id, a sentence and a three-valued answer."""

from __future__ import annotations

from collections.abc import Callable
from types import MappingProxyType

from fitcheck.catalogue.extensions import extensions
from fitcheck.catalogue.reader import Entry
from fitcheck.errors import UsageError
from fitcheck.model.gear_set import GearSet
from fitcheck.rules.answers import Answer, Verdict
from fitcheck.rules.fit.gears import casing_clearance, centre_distance, helix_hand
from fitcheck.rules.fit.identity import family, housing, matched_pair, stage
from fitcheck.rules.fit.seats import (
    bearings,
    idler_seat,
    input_shaft_end,
    output_shaft_end,
    own_seat,
)
from fitcheck.rules.setting import Setting

__all__ = ["RULES", "added_rules", "idler_seat", "rule_sentence", "set_answers"]

RULES: MappingProxyType[str, str] = MappingProxyType(
    {
        "family": "A supplier or a trial confirms the set for this engine family.",
        "housing": "A supplier or a trial confirms the set for this housing.",
        "stage": "The set holds one stage of this train, or the whole train.",
        "matched-pair": "Both gears of each pair come under this number.",
        "input-shaft-end": "The input pinion fits the input shaft end.",
        "idler-seat": "Each wheel sits on the next pinion's shaft, whoever made it.",
        "output-shaft-end": "The final wheel fits the output shaft end.",
        "bearings": "The shafts of the set run in the family's bearings.",
        "centre-distance": "The pair runs at the distance of the shafts (ISO 21771).",
        "helix-hand": "The helix has the factory's hand, so that thrust goes the same way.",
        "casing-clearance": "The casing clears the tips of the driven gear.",
    }
)
"""Rule ids to the sentence each one tests, in the order they are asked."""


def added_rules() -> dict[str, str]:
    """The rules that installed packages add, id to sentence; asked after all others."""
    return {
        name: (rule.__doc__ or name).strip().partition("\n")[0]
        for name, rule in extensions("fitcheck.fit_rules").items()
    }


def rule_sentence(rule: str) -> str:
    """The sentence that a rule tests."""
    return RULES[rule] if rule in RULES else added_rules()[rule]


_WHOLE_SET = (matched_pair, input_shaft_end, own_seat, output_shaft_end, bearings)
_EACH_PAIR = (centre_distance, helix_hand, casing_clearance)


def set_answers(gear_set: Entry[GearSet], setting: Setting) -> list[Answer]:
    """Every rule that one set answers by itself; the seat beside another needs that neighbour.

    A set whose stages are not of this train, or made for another family, answers no more than
    that: what its gears would do there means nothing.
    """
    of_family, of_stage = family(gear_set, setting), stage(gear_set, setting)
    given = [of_family, housing(gear_set, setting), of_stage]
    if any(answer.verdict is Verdict.RULED_OUT for answer in (of_family, of_stage)):
        return given
    found = (rule(gear_set, setting) for rule in _WHOLE_SET)
    given.extend(answer for answer in found if answer is not None)
    for stage_name in gear_set.record.stages:
        given.extend(rule(gear_set, setting, stage_name) for rule in _EACH_PAIR)
    for name, added in extensions("fitcheck.fit_rules").items():
        given.extend(_added_answer(name, added, gear_set, setting))
    return given


def _added_answer(
    name: str,
    rule: Callable[[Entry[GearSet], Setting], Answer | None],
    gear_set: Entry[GearSet],
    setting: Setting,
) -> list[Answer]:
    """The answer of a rule that a package adds; it may not speak for another rule."""
    answer = rule(gear_set, setting)
    if answer is None:
        return []
    if not isinstance(answer, Answer) or answer.rule != name or name in RULES:
        raise UsageError(
            f"the added rule of fit {name!r} must answer None, or an Answer with rule={name!r}, "
            "and no rule of fitcheck's own may have that id; correct the package that adds it"
        )
    return [answer]
