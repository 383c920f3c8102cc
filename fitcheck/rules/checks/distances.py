"""Centre distances: of every pair against its families, and of a family against its pairs.

Limits and formulae are those of the fit rules (ISO 21771), so that a check reports what matching
would find.
"""

from __future__ import annotations

from collections.abc import Generator, Iterator
from dataclasses import dataclass
from decimal import Decimal
from enum import IntEnum
from statistics import median_low

from fitcheck.catalogue.reader import Catalogue, Entry
from fitcheck.diagnostics.finding import DocumentPath, Finding
from fitcheck.model.fields import Stage
from fitcheck.model.gear_set import GearSet, PairGeometry
from fitcheck.rules.checks.seats import LEAST_SETS
from fitcheck.rules.checks.walks import Claimed, active_claims, at, beside
from fitcheck.rules.fit.advice import SHIFT_SUMS
from fitcheck.rules.fit.gears import (
    GREY_MM,
    SHIFT_SUM_LIMIT,
    CentreDistance,
    judge_centre_distance,
)

LEAST_MODULE = 0.6
"""Transverse module of a factory pair, mm, under which a centre distance is a slip (judgement)."""

MOST_MODULE = 4.0
"""The same above which it is one; final drives of small scooters have 1.25 to 2.5 (judgement)."""


class _Grade(IntEnum):
    GOOD = 0
    DOUBTFUL = 1
    OFF = 2


@dataclass(frozen=True, slots=True, eq=False)
class _Run:
    """One pair of a set, beside the centre distance of one family that the set is for."""

    entry: Entry[GearSet]
    stage: Stage
    given: PairGeometry
    claimed: Claimed
    found: CentreDistance
    grade: _Grade


Doubted = set[tuple[str, Stage]]
"""Family ids and stages whose centre distance is probably wrong."""


def centre_distances(
    catalogue: Catalogue,
) -> Generator[Finding, None, tuple[Doubted, set[tuple[str, Stage]]]]:
    """Pairs against the distance of the families they are for, and that against the pairs.

    Returns the families' distances that are in doubt, and the sets and stages that are off.
    """
    by_pair: list[list[_Run]] = []
    by_casing: dict[tuple[str, Stage], list[_Run]] = {}
    for entry, claims in active_claims(catalogue):
        for stage, given in entry.record.geometry.items():
            runs = _runs(entry, stage, given, claims)
            by_pair.append(runs)
            for run in runs:
                by_casing.setdefault((run.claimed[1].family, stage), []).append(run)
    explained: set[_Run] = set()
    doubted: Doubted = set()
    for casing, runs in by_casing.items():
        agreeing = _agreeing(runs)
        odd = [] if agreeing else _oddly_shifted(runs)
        if agreeing or odd:
            explained.update(agreeing, odd)
            doubted.add(casing)
            yield _odd_casing(odd, len(runs)) if odd else _wrong_casing(agreeing, len(runs))
    for family, stage, finding in _unlike_factory_pairs(catalogue):
        if (family, stage) not in doubted:
            doubted.add((family, stage))
            yield finding
    off: set[tuple[str, Stage]] = set()
    for runs in by_pair:
        for finding in _centre_distance(runs, explained):
            if finding.code == "FC251":
                off.add((runs[0].entry.id, runs[0].stage))
            yield finding
    return doubted, off


def _runs(
    entry: Entry[GearSet], stage: Stage, given: PairGeometry, claims: list[Claimed]
) -> list[_Run]:
    """A pair beside the distance of each family its set is for, once each."""
    found: dict[str, _Run] = {}
    for claimed in claims:
        _, claim, family = claimed
        casing = family.record.stages[stage]
        if casing.centre_distance_mm is None or claim.family in found:
            continue
        judged = judge_centre_distance(
            entry.record.pairs[stage], given, casing.centre_distance_mm, casing.tolerance_mm
        )
        grade = _grade(given, judged)
        found[claim.family] = _Run(
            entry=entry, stage=stage, given=given, claimed=claimed, found=judged, grade=grade
        )
    return list(found.values())


def _agreeing(runs: list[_Run]) -> list[_Run]:
    """The pairs that contradict a casing's distance and agree on another; none if they are few.

    More than half of the pairs beside that casing, and `LEAST_SETS` at least, must run at one other
    distance: the median of those that contradict it, within the family's tolerance. Where all of
    these come from one supplier, no pair at all may run at the family's.
    """
    against = [run for run in runs if run.grade is not _Grade.GOOD]
    working = [run.found.working_mm for run in against if run.found.working_mm is not None]
    if len(working) < LEAST_SETS:
        return []
    family, stage = runs[0].claimed[2].record, runs[0].stage
    meant = Decimal(f"{median_low(working):.4f}")
    agreeing = []
    for run in against:
        pair, tolerance = run.entry.record.pairs[stage], family.stages[stage].tolerance_mm
        judged = judge_centre_distance(pair, run.given, meant, tolerance)
        if _grade(run.given, judged) is _Grade.GOOD:
            agreeing.append(run)
    known = [run for run in runs if run.found.working_mm is not None]
    sure = [run for run in agreeing if run.found.working_mm is not None]
    if len(sure) < LEAST_SETS or 2 * len(sure) <= len(known):
        return []
    good = any(run.grade is _Grade.GOOD for run in known)
    return [] if good and len(_suppliers(sure)) == 1 else agreeing


def _suppliers(runs: list[_Run]) -> set[str]:
    return {run.entry.record.supplier for run in runs}


def _oddly_shifted(runs: list[_Run]) -> list[_Run]:
    """The pairs without a stated shift sum that would all need an unusual one on the same side.

    A pair of a stated sum that runs there confirms the casing. So does one without a stated sum
    that needs a usual one, where all the others come from one supplier. More than half of the pairs
    without a stated sum, and `LEAST_SETS` at least, must be odd, and none on the other side.
    """
    open_ = [run for run in runs if run.given.profile_shift_sum is None]
    odd = {run: side for run in open_ if (side := _odd_side(run))}
    few = len(odd) < LEAST_SETS or 2 * len(odd) <= len(open_)
    if few or len(set(odd.values())) > 1:
        return []
    if any(run.found.working_mm is not None and run.grade is _Grade.GOOD for run in runs):
        return []
    return [] if len(odd) < len(open_) and len(_suppliers(list(odd))) == 1 else list(odd)


def _odd_side(run: _Run) -> int:
    """Whether the shift sum that a pair needs is unusually small, -1, or large, +1; else 0."""
    needed, (least, most) = run.found.shift_sum, SHIFT_SUMS
    if needed is None:  # The casing is too tight for these teeth at any shift.
        return -1
    return (needed > most) - (needed < least)


def _odd_casing(odd: list[_Run], of: int) -> Finding:
    """A family's centre distance at which most of its sets would need an odd shift."""
    first = odd[0]
    family, stage = first.claimed[2], first.stage
    casing = family.record.stages[stage].centre_distance_mm
    ruled_out = any(run.grade is _Grade.OFF for run in odd)
    least, most = SHIFT_SUMS
    beyond = f"over {most:+g}" if _odd_side(first) > 0 else f"under {least:+g}".replace("-", "−")
    return at(
        family,
        "FC224" if ruled_out else "FC228",
        ("stages", stage, "centre_distance_mm"),
        f"at the {stage} centre distance of {family.id}, {casing} mm, {len(odd)} of {of} sets "
        f"would need a shift sum {beyond}"
        + (": as it stands, some are ruled out" if ruled_out else ""),
        advice="measure the casing and correct the distance here; or module and helix of all these "
        "sets are wrong",
        related=(
            beside(run.entry, "geometry", stage, label=_needed_words(run), key=True) for run in odd
        ),
    )


def _needed_words(run: _Run) -> str:
    pair = f"{run.entry.id}, {run.entry.record.pairs[run.stage]},"
    needed = run.found.shift_sum
    return f"{pair} cannot be cut for it" if needed is None else f"{pair} would need {needed:+.2f}"


def _wrong_casing(agreeing: list[_Run], of: int) -> Finding:
    """A family's centre distance that most of its sets contradict, at the family."""
    first = agreeing[0]
    family = first.claimed[2]
    casing = family.record.stages[first.stage].centre_distance_mm
    working = [run.found.working_mm for run in agreeing if run.found.working_mm is not None]
    meant = f"{median_low(working):.2f}"
    off = any(run.grade is _Grade.OFF for run in agreeing)
    follows = "as it stands, they are ruled out" if off else "as it stands, none of them is proved"
    return at(
        family,
        "FC224" if off else "FC225",
        ("stages", first.stage, "centre_distance_mm"),
        f"the {first.stage} centre distance of {family.id} is {casing} mm, but {len(agreeing)} of "
        f"{of} sets are cut for {meant} mm: {follows}",
        advice="measure the casing and correct the distance here; or the geometry of all these "
        "sets is wrong",
        related=(
            beside(run.entry, "geometry", first.stage, label=_runs_at(run)) for run in agreeing
        ),
        suggestion=f"{Decimal(meant).normalize():f}",
    )


def _unlike_factory_pairs(catalogue: Catalogue) -> Iterator[tuple[str, Stage, Finding]]:
    """A distance at which every factory pair would have teeth of no size that a scooter has.

    The transverse module of a pair is near twice the distance over the sum of its teeth.
    """
    for family in catalogue.families.values():
        for stage, given in family.record.stages.items():
            casing = given.centre_distance_mm
            sums = [
                pair.driver + pair.driven
                for train in family.record.factory_trains
                if (pair := train.pairs.get(stage)) is not None
            ]
            if casing is None or not sums:
                continue
            modules = [2 * float(casing) / teeth for teeth in sums]
            if any(LEAST_MODULE <= module <= MOST_MODULE for module in modules):
                continue
            finding = at(
                family,
                "FC226",
                ("stages", stage, "centre_distance_mm"),
                f"at {casing} mm the factory pair of the {stage} stage would have a module of "
                f"about {modules[0]:.2g} mm",
                advice="is the decimal mark in its place, and is it mm?",
                related=(
                    beside(family, "factory_trains", key=True, label="the teeth of the factory"),
                ),
            )
            yield family.id, stage, finding


def _runs_at(run: _Run) -> str:
    pair = f"{run.entry.id}, {run.entry.record.pairs[run.stage]},"
    if run.found.working_mm is None:
        return f"{pair} cannot be cut to run at that distance"
    return f"{pair} runs at {run.found.working_mm:.3f} mm"


def _centre_distance(judged: list[_Run], explained: set[_Run]) -> Iterator[Finding]:
    wrong = [run for run in judged if run.grade is not _Grade.GOOD and run not in explained]
    if not wrong:
        return
    # Wrong for every family it is for: the geometry is at fault, else the claim.
    everywhere = len(wrong) == len(judged)
    if everywhere:
        wrong = [min(wrong, key=_how_far)]
    for run in wrong:
        index, claim, family = run.claimed
        stage = run.stage
        steps: DocumentPath = ("fits", index, "family")
        if everywhere:
            steps = ("geometry", stage)
            if run.given.profile_shift_sum is not None:
                steps = (*steps, "profile_shift_sum")
        off = run.grade is _Grade.OFF
        yield at(
            run.entry,
            "FC251" if off else "FC252",
            steps,
            _words(run.entry, stage, run.given, run.found, claim.family),
            key=steps == ("geometry", stage),
            advice="measure module, helix and tip diameters again, or take the family out"
            if off
            else "mount the pair and measure its backlash before promising it",
            related=(
                beside(
                    family,
                    *("stages", stage, "centre_distance_mm"),
                    label=f"{stage} centre distance of {claim.family}",
                ),
            ),
        )


def _grade(given: PairGeometry, found: CentreDistance) -> _Grade:
    difference = found.difference_mm
    if difference is not None:
        if abs(difference) <= found.tolerance_mm:
            return _Grade.GOOD
        return _Grade.DOUBTFUL if abs(difference) <= GREY_MM else _Grade.OFF
    if given.profile_shift_sum is not None or found.shift_sum is None:
        return _Grade.OFF
    return _Grade.OFF if abs(found.shift_sum) > SHIFT_SUM_LIMIT else _Grade.GOOD


def _how_far(run: _Run) -> float:
    difference = run.found.difference_mm
    return float("inf") if difference is None else abs(difference)


def _words(
    entry: Entry[GearSet], stage: Stage, given: PairGeometry, found: CentreDistance, family: str
) -> str:
    pair = entry.record.pairs[stage]
    casing = f"the {found.casing_mm:.3f} mm of {family}"
    difference = found.difference_mm
    if difference is not None:
        side = "over" if difference > 0 else "under"
        return (
            f"{stage} {pair} runs at {found.working_mm:.3f} mm, "
            f"{abs(difference):.3f} mm {side} {casing} ({found.tolerance_mm:.3g} mm allowed)"
        )
    if given.profile_shift_sum is not None:
        return (
            f"{stage} {pair} has no working centre distance with a shift sum of "
            f"{given.profile_shift_sum:+g}, so none like {casing}"
        )
    module, helix = f"{given.normal_module_mm:g}", f"{given.helix_angle_deg:g}"
    return f"{stage} {pair} of module {module} and helix {helix}° cannot be cut to run at {casing}"
