"""Does a set belong into any train of its families, and at the stage it is given."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction
from itertools import permutations
from math import log, prod
from statistics import median
from typing import Any

from fitcheck.catalogue.reader import Catalogue, Entry
from fitcheck.diagnostics.finding import DocumentPath, Finding, Related
from fitcheck.kernel.teeth import Pair
from fitcheck.model.family import FactoryTrain, Family
from fitcheck.model.fields import Stage
from fitcheck.model.gear_set import FitClaim, GearSet
from fitcheck.rules.checks.walks import (
    Claimed,
    Pairs,
    active_claims,
    at,
    beside,
    claimed_families,
    fitting_claims,
    meant_trains,
    name_pairs,
    stages_fit,
)
from fitcheck.rules.fit.gears import teeth_ratio
from fitcheck.rules.setting import ListWords

LEAST_SPEED = Fraction(1, 2)
"""Road speed after over before: a set that less than halves it everywhere is a slip (judgement)."""

MOST_SPEED = Fraction(2)
"""The same for a set that more than doubles it everywhere (judgement)."""


def set_trains(catalogue: Catalogue) -> Iterator[Finding]:
    """Stages and reduction of a set go with at least one factory train it is for."""
    for entry in catalogue.gear_sets.values():
        claims = claimed_families(catalogue, entry.record)
        if not claims:
            continue
        fitting = [claimed for claimed in claims if stages_fit(entry.record, claimed[2].record)]
        if len(fitting) < len(claims):
            yield from _wrong_stages(entry, claims, fitting)
        if fitting and entry.record.status == "active":
            yield from _absurd(entry, fitting)


def _wrong_stages(
    entry: Entry[GearSet], claims: list[Claimed], fitting: list[Claimed]
) -> Iterator[Finding]:
    record = entry.record
    held = " and ".join(record.stages)
    for index, claim, family in claims:
        if stages_fit(record, family.record):
            continue
        train = family.record.train_stages
        there = beside(family, "stages", label=f"a train of {claim.family}", key=True)
        message = f"the set holds {held}, but a train of {claim.family} has {' and '.join(train)}"
        if fitting:
            yield at(
                entry,
                "FC231",
                ("fits", index, "family"),
                message,
                advice="take this family out, or correct the stage",
                related=(there,),
            )
            continue
        strange = next((stage for stage in record.stages if stage not in train), None)
        yield at(
            entry,
            "FC231",
            ("pairs",) if strange is None else ("pairs", strange),
            message,
            key=True,
            advice="correct the stage, or the family the set is for; a set holds one stage or the "
            "whole train",
            related=(there,),
        )
        return


def _absurd(entry: Entry[GearSet], fitting: list[Claimed]) -> Iterator[Finding]:
    record = entry.record
    nearest: tuple[Fraction, Entry[Family], int] | None = None
    for _, claim, family in fitting:
        meant = meant_trains(family.record, claim)
        for index, train in enumerate(family.record.factory_trains):
            if train not in meant or any(s not in train.pairs for s in record.pairs):
                continue
            # Stages left as they are cancel: only the pairs replaced count.
            before = prod(train.pairs[s].driven for s in record.pairs) * prod(
                record.pairs[s].driver for s in record.pairs
            )
            after = prod(train.pairs[s].driver for s in record.pairs) * prod(
                record.pairs[s].driven for s in record.pairs
            )
            speed = Fraction(before, after)
            if LEAST_SPEED <= speed <= MOST_SPEED:
                return
            if nearest is None or _distance(speed) < _distance(nearest[0]):
                nearest = (speed, family, index)
    if nearest is None:
        return
    speed, family, index = nearest
    stage = record.stages[0]
    what = "more than doubles" if speed > 1 else "more than halves"
    yield at(
        entry,
        "FC232",
        ("pairs", stage) if len(record.pairs) == 1 else ("pairs",),
        f"{name_pairs(record.pairs)} {what} the road speed of every train of "
        f"{' and '.join(dict.fromkeys(c.family for _, c, _ in fitting))} "
        f"({float(100 * (speed - 1)):+z.0f} % at the least)",
        advice="count the teeth again, and look whether the stage is right",
        related=(
            beside(family, "factory_trains", index, "pairs", label="the nearest factory train"),
        ),
    )


def _distance(speed: Fraction) -> Fraction:
    return max(speed, 1 / speed)


USELESS = (0.7, 1.4)
"""Road speed after over before, beyond which no tune takes a single pair (judgement).

Common practice, without a source: no build takes more than 25 to 30 %.
"""

USUAL = (0.8, 1.3)
"""The same within which most pairs lie that are sold for a stage (judgement)."""

NEARER = 0.35
"""So much less must a pair's misfit be at another stage, beside the factory pairs (judgement).

Of 187 pairs of the demo at their own stages none reaches 0.29.
"""

CLEARER = 0.5
"""So much less must the misfit of a train's pairs together be when they are exchanged, beside the
sets sold for the stages, or those of a set beside the factory pairs (judgement). Beside two sets a
stage, drawn 3,000 times, none of the demo reached 0.4; nor did 2,800 trains made of its sets, drawn
beside the factory pairs.
"""

LEAST_SOLD = 2
"""So many sets must be sold for each stage to say so (judgement)."""


def set_stages(catalogue: Catalogue) -> Iterator[Finding]:
    """Pairs are of use at their stages, and name no seat of a gear that they do not have.

    A set that nobody claims to fit is judged by the families that its list names.
    """
    unlike: dict[str, list[Finding]] = {}
    of: Counter[str] = Counter()
    words = ListWords.of(catalogue)
    for entry, claims in active_claims(catalogue):
        record = entry.record
        likely = claims
        if not record.fits:
            listed = [FitClaim(family=each) for each in words.listed(record)]
            likely = fitting_claims(catalogue, record.model_copy(update={"fits": listed}))
        if not likely:
            continue
        single = len(record.pairs) == 1
        if single and record.interfaces.model_fields_set and claims:
            yield from _strange_interfaces(entry, claims)
        if single:
            yield from _useful_elsewhere(entry, likely)
        family = likely[0][1].family
        of[family] += 1
        strange = _unlike_stage(entry, likely) if single else _exchanged_set(entry, likely)
        unlike.setdefault(family, []).extend(strange)
    for family, found in unlike.items():
        # What most sets contradict is wrong at the family, see `train_stages`.
        if len(found) < LEAST_SOLD or 2 * len(found) <= of[family]:
            yield from found


def _strange_interfaces(entry: Entry[GearSet], claims: list[Claimed]) -> Iterator[Finding]:
    record = entry.record
    stage = record.stages[0]
    trains = [family.record.train_stages for _, _, family in claims]
    first = all(train[0] == stage for train in trains)
    last = all(train[-1] == stage for train in trains)
    for name, strange, gear in (
        ("input_shaft_end", all(train[0] != stage for train in trains), "input pinion"),
        ("pinion_seat", first, "idler pinion"),
        ("wheel_seat", last, "idler wheel"),
        ("output_shaft_end", all(train[-1] != stage for train in trains), "final wheel"),
    ):
        if strange and getattr(record.interfaces, name) is not None:
            yield at(
                entry,
                "FC234",
                ("interfaces", name),
                f"a {stage} pair of {claims[0][1].family} has no {gear}: the stage is wrong, or "
                f"{name} is",
                advice="look at the part: which gear of which shaft is it?",
                related=(beside(entry, "pairs", stage, label="the stage given", key=True),),
            )


def _useful_elsewhere(entry: Entry[GearSet], claims: list[Claimed]) -> Iterator[Finding]:
    """A pair that helps no machine where it is, and is like others where it is not."""
    if not _is_useless(entry, claims):
        return
    record = entry.record
    stage = record.stages[0]
    given = [list(_speeds(record.pairs[stage], stage, claimed)) for claimed in claims]
    low, high = USUAL
    for claimed, here in zip(claims, given, strict=True):
        family = claimed[2]
        if not here:
            continue
        for other in family.record.train_stages:
            there = list(_speeds(record.pairs[stage], other, claimed))
            if other == stage or not any(low <= speed <= high for speed in there):
                continue
            nearest = min(here, key=lambda speed: abs(log(speed)))
            meant = min(there, key=lambda speed: abs(log(speed)))
            yield _at_wrong_stage(
                entry,
                family,
                other,
                f"as {stage} pair {record.pairs[stage]} changes the road speed of every "
                f"{family.id} by {100 * (nearest - 1):+z.0f} % at the least, as {other} pair by "
                f"{100 * (meant - 1):+z.0f} %",
            )
            return


def _at_wrong_stage(
    entry: Entry[GearSet], family: Entry[Family], other: Stage, what: str
) -> Finding:
    return at(
        entry,
        "FC233",
        ("pairs", entry.record.stages[0]),
        what,
        key=True,
        advice=f"is it the {other} pair? look at the list, or count again",
        related=(_trains_of(family),),
    )


def _trains_of(family: Entry[Family]) -> Related:
    return beside(family, "factory_trains", key=True, label=f"trains of {family.id}")


def _is_useless(entry: Entry[GearSet], claims: list[Claimed]) -> bool:
    """Whether a pair helps no machine at its stage."""
    pair, stage = entry.record.pairs[entry.record.stages[0]], entry.record.stages[0]
    low, high = USELESS
    speeds = (speed for claimed in claims for speed in _speeds(pair, stage, claimed))
    return not any(low <= speed <= high for speed in speeds)


def _unlike_stage(entry: Entry[GearSet], claims: list[Claimed]) -> Iterator[Finding]:
    """A pair unlike the factory pairs of its stage and like those of another, in every family.

    Where its module is known, the centre distance says more: finer teeth are more teeth.
    """
    record = entry.record
    stage = record.stages[0]
    pair = record.pairs[stage]
    casings = [family.record.stages[stage].centre_distance_mm for _, _, family in claims]
    if _is_useless(entry, claims) or (stage in record.geometry and any(casings)):
        return
    likelier: list[tuple[Stage, Entry[Family]]] = []
    for _, _, family in claims:
        misfits = {s: _misfit(pair, given) for s, given in factory_pairs(family.record).items()}
        other = min(misfits, key=lambda each: misfits[each], default=stage)
        if stage not in misfits or misfits[stage] - misfits[other] <= NEARER:
            return
        likelier.append((other, family))
    other, family = likelier[0]
    yield _at_wrong_stage(
        entry,
        family,
        other,
        f"{pair} is unlike the {stage} pairs of {family.id} in reduction and number of teeth, and "
        f"like its {other} pairs",
    )


def _exchanged_set(entry: Entry[GearSet], claims: list[Claimed]) -> Iterator[Finding]:
    """A whole train whose pairs go with the factory's when exchanged, in every family."""
    pairs, family = entry.record.pairs, claims[0][2]
    for _, _, each in claims:
        trains = each.record.factory_trains
        if any(train.pairs == pairs for train in trains):
            return
        clearer = _better_exchanged(pairs, factory_pairs(each.record)) > CLEARER and all(
            # A slip in one of the trains says nothing of the set.
            _better_exchanged(pairs, {s: [pair] for s, pair in train.pairs.items()}) > NEARER
            for train in trains
        )
        if not clearer and exchanged_train(pairs, trains) is None:
            return
    what = f"each is like the factory pairs of {family.id} at another stage, so they seem exchanged"
    yield at_exchanged(entry, ("pairs",), f"{name_pairs(pairs)}: {what}", _trains_of(family))


def at_exchanged(entry: Entry[Any], steps: DocumentPath, what: str, *related: Related) -> Finding:
    """Pairs of a set, a machine or a train that stand at each other's stages."""
    advice = "look which of the pairs is on the input shaft"
    return at(entry, "FC288", steps, what, key=True, advice=advice, related=related)


def factory_pairs(family: Family) -> dict[Stage, list[Pair]]:
    """The pairs of the factory trains of a family, by stage."""
    found: dict[Stage, list[Pair]] = {}
    for train in family.factory_trains:
        for stage, pair in train.pairs.items():
            found.setdefault(stage, []).append(pair)
    return found


def _speeds(pair: Pair, stage: Stage, claimed: Claimed) -> Iterator[float]:
    """Road speed after over before of a pair at a stage of each train that its claim means."""
    _, claim, family = claimed
    for train in meant_trains(family.record, claim):
        if stage in train.pairs:
            yield _reduction(train.pairs[stage]) / _reduction(pair)


def _reduction(pair: Pair) -> float:
    return pair.driven / pair.driver


def _misfit(pair: Pair, others: Sequence[Pair]) -> float:
    """How far a pair is from the usual of others, in logarithms.

    The sum of the teeth counts twice, since pairs for one centre distance hardly differ in it.
    """
    reduction = median(map(_reduction, others))
    teeth = median(each.driver + each.driven for each in others)
    return abs(log(_reduction(pair) / reduction)) + 2 * log(teeth_ratio(pair, teeth))


def exchanged_train(pairs: Pairs, trains: list[FactoryTrain]) -> int | None:
    """Which factory train has these pairs at other stages, by its place; None where none has."""
    turned = [dict(each) for each in _turned(pairs)]
    return next((i for i, train in enumerate(trains) if train.pairs in turned), None)


def train_stages(catalogue: Catalogue) -> Iterator[Finding]:
    """The pairs of a factory train go with those of other trains and sets when exchanged."""
    sold: dict[tuple[str, Stage], list[Pair]] = {}
    for entry in catalogue.gear_sets.values():
        for _, claim, _ in fitting_claims(catalogue, entry.record):
            for stage, pair in entry.record.pairs.items():
                sold.setdefault((claim.family, stage), []).append(pair)
    for family in catalogue.families.values():
        stages, trains = family.record.train_stages, family.record.factory_trains
        given = {stage: sold.get((family.id, stage), []) for stage in stages}
        usual = given if all(len(pairs) >= LEAST_SOLD for pairs in given.values()) else {}
        better = {i: _better_exchanged(train.pairs, usual) for i, train in enumerate(trains)}
        strange = [
            index
            for index, train in enumerate(trains)
            if like_other_stages([each.pairs for each in trains if each is not train], train.pairs)
        ]
        if len(strange) > 1:
            # Two trains contradict each other alone: the sets decide, else the later is shown.
            strange = [max(strange, key=lambda i: (better[i], i))]
        for index, train in enumerate(trains):
            if index in strange:
                why = "these pairs stand at other stages in another train, and none has them here"
            elif better[index] > CLEARER:
                why = "each is like the sets sold for the other stage"
            else:
                continue
            what = f"{name_pairs(train.pairs)}: {why}, so they seem exchanged"
            yield at_exchanged(family, ("factory_trains", index, "pairs"), what)


def like_other_stages(others: list[Pairs], pairs: Pairs) -> bool:
    """Whether other trains have one of these pairs at another stage, and none at its own."""
    if any(other.get(s) == pair for other in others for s, pair in pairs.items()):
        return False
    return any(
        other[elsewhere] == pair and elsewhere != s
        for other in others
        for elsewhere in other
        for s, pair in pairs.items()
    )


def _better_exchanged(pairs: Pairs, sold: Mapping[Stage, Sequence[Pair]]) -> float:
    """How much less the misfit of pairs is when they are exchanged; 0 where sets are lacking."""
    if pairs.keys() != sold.keys():
        return 0.0

    def misfit(pairs: Pairs) -> float:
        return sum(_misfit(pair, sold[s]) for s, pair in pairs.items())

    return misfit(pairs) - min(map(misfit, _turned(pairs)), default=misfit(pairs))


def _turned(pairs: Pairs) -> Iterator[Pairs]:
    """The same pairs at other stages, in every other order."""
    for order in permutations(pairs.values()):
        if list(order) != list(pairs.values()):
            yield dict(zip(pairs, order, strict=True))
