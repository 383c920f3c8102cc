"""Why choices are ruled out: each reason at the smallest part that died of it, with its count."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import prod

from fitcheck.diagnostics.finding import Span
from fitcheck.rules.answers import Answer
from fitcheck.services.counter.choices import Choices


@dataclass(frozen=True, slots=True)
class Exclusion:
    """Choices ruled out by one reason, kept at the smallest part that died.

    Attributes:
        rule: id of the rule.
        reason: one sentence.
        sets: ids of the sets, a tuple for each side: one side for a set by itself, two for a
            joint between any of the first and any of the second.
        places: where the data stand that speak against it.
        combinations: full choices that died here and not before.
    """

    rule: str
    reason: str
    sets: tuple[tuple[str, ...], ...]
    places: tuple[Span, ...]
    combinations: int


def exclusions_of(choices: Choices) -> list[Exclusion]:
    """Every reason for which choices of a machine are ruled out, none counted twice."""
    found: list[Exclusion] = []
    all_sizes = [
        1 + len(alive) + len(dead) for alive, dead in zip(choices.alive, choices.dead, strict=True)
    ]
    alive_sizes = [1 + len(alive) for alive in choices.alive]
    for position, dead in enumerate(choices.dead):
        # Counted at the first dead set from the input shaft, so that none is counted twice.
        died = prod(alive_sizes[:position]) * prod(all_sizes[position + 1 :])
        found.extend(_exclusion(one.answer, ((one.gear_set.id,),), died) for one in dead)
    found.extend(_exclusion(one.answer, ((one.gear_set.id,),), 1) for one in choices.outside)
    found.extend(_seat_exclusions(choices, alive_sizes))
    return found


def _exclusion(answer: Answer, sets: tuple[tuple[str, ...], ...], died: int) -> Exclusion:
    places = tuple(datum.entry.span(*datum.steps) for datum in answer.data)
    return Exclusion(answer.rule, answer.reason, sets, places, combinations=died)


def _seat_exclusions(choices: Choices, alive_sizes: Sequence[int]) -> Iterable[Exclusion]:
    # Sets of the first stage that each set of the second already died with, by id; "" keeps.
    dead_before: dict[str, int] = {}
    for joint, left, right, answer in choices.seat_conflicts():
        lefts, rights = [entry.id for entry in left] or [""], [entry.id for entry in right] or [""]
        if joint == 0:
            for id_ in rights:
                dead_before[id_] = dead_before.get(id_, 0) + len(lefts)
            died = len(lefts) * len(rights) * prod(alive_sizes[2:])
        else:
            died = len(rights) * sum(alive_sizes[0] - dead_before.get(id_, 0) for id_ in lefts)
        sides = tuple(tuple(id_ or "factory" for id_ in side) for side in (lefts, rights))
        yield _exclusion(answer, sides, died)
