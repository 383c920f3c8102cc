"""Geometry made against good custom, and room in the casing, for the factory's wheel too.

The weakest sound bound on the factory wheel needs no module. Its tips reach beyond the circle on
which it rolls, 2 a z2 / (z1 + z2): by m_n (1 - x1 + y z1 / (z1 + z2)) with tips shortened (ISO
21771), which is over 0 as long as the pinion's shift x1 is under 1, beyond which small pinions run
to a point. Where no train is known, z2 > z1 makes that circle larger than a. Nor can a wheel in any
casing reach the other shaft's middle, 2 a.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from fitcheck.catalogue.reader import Catalogue, Entry
from fitcheck.diagnostics.finding import DocumentPath, Finding
from fitcheck.diagnostics.suggest import or_list
from fitcheck.kernel.tolerances import iso_54_series
from fitcheck.model.family import Family
from fitcheck.model.fields import Stage
from fitcheck.model.gear_set import GearSet, PairGeometry
from fitcheck.rules.answers import Answer, Evidence, Verdict
from fitcheck.rules.checks.distances import Doubted, centre_distances
from fitcheck.rules.checks.seats import LEAST_SETS
from fitcheck.rules.checks.walks import (
    Claimed,
    active_claims,
    active_sets,
    at,
    beside,
    first_item,
    without_claims,
)
from fitcheck.rules.fit.advice import short_contact, strong_shift, undercut
from fitcheck.rules.fit.gears import casing_clearance
from fitcheck.rules.setting import Setting


def set_geometry(catalogue: Catalogue) -> Iterator[Finding]:
    """Every active set against the families it is for, and against good custom."""
    in_doubt, off = yield from centre_distances(catalogue)
    yield from _casing_rooms(catalogue, in_doubt)
    for entry in active_sets(catalogue):
        for stage, given in entry.record.geometry.items():
            yield from _custom(entry, stage, given)
            # What cannot run is no borderline case.
            if (entry.id, stage) not in off:
                yield from _borderline(entry, stage, given)


def _custom(entry: Entry[GearSet], stage: Stage, given: PairGeometry) -> Iterator[Finding]:
    module = given.normal_module_mm
    if module >= 1 and iso_54_series(module) is None:
        yield at(
            entry,
            "FC258",
            ("geometry", stage, "normal_module_mm"),
            f"a normal module of {module:g} mm is in neither series of ISO 54",
            advice="measure again: over so many teeth, not over one; no fault if it stays, since "
            "ISO 54 leaves vehicle gears out",
        )
    weak = undercut(entry, stage)
    if weak is not None:
        yield at(
            entry,
            "FC259",
            ("geometry", stage, "driver_profile_shift"),
            weak,
            advice="check the sign and the split of the shift; if it is right, tell the customer",
        )


def _borderline(entry: Entry[GearSet], stage: Stage, given: PairGeometry) -> Iterator[Finding]:
    sum_ = given.profile_shift_sum
    if sum_ is None:
        return
    pair = entry.record.pairs[stage]
    given_notes = strong_shift(pair, given, stage, sum_), short_contact(pair, given, stage, sum_)
    notes = [note for note in given_notes if note is not None]
    if notes:
        yield at(
            entry,
            "FC250",
            ("geometry", stage, "profile_shift_sum"),
            "; ".join(notes),
            advice="measure the tip diameters again; if it is right, tell the customer",
        )


_Limit = tuple[str, DocumentPath]
"""A family's id and the path of a tip limit under it."""


@dataclass(frozen=True, slots=True, eq=False)
class _Room:
    """A driven gear beside one housing of a family it is for."""

    entry: Entry[GearSet]
    stage: Stage
    claim: int
    family: Entry[Family]
    housing: str
    limit: DocumentPath | None = None
    answer: Answer | None = None

    @property
    def fouls(self) -> bool:
        """Whether the gear is too large for it."""
        return self.answer is not None and self.answer.verdict is Verdict.RULED_OUT

    @property
    def reason(self) -> str:
        """Why, where it is."""
        return "" if self.answer is None else self.answer.reason


def _casing_rooms(catalogue: Catalogue, distances_in_doubt: Doubted) -> Iterator[Finding]:
    """Driven gears against the casings they are for, and tip limits against the gears."""
    by_pair: list[list[_Room]] = []
    by_limit: dict[_Limit, list[_Room]] = {}
    for entry, claims in active_claims(catalogue):
        for stage in entry.record.geometry:
            rooms = _rooms(entry, claims, stage)
            by_pair.append(rooms)
            for room in rooms:
                # A claim without housings does not say that this one is meant.
                if room.limit is not None and entry.record.fits[room.claim].housings:
                    by_limit.setdefault((room.family.id, room.limit), []).append(room)
    doubted: set[_Limit] = set()
    for limit, finding in _unlike_factory_wheel(catalogue, distances_in_doubt):
        doubted.add(limit)
        yield finding
    for limit, rooms in by_limit.items():
        if limit not in doubted and _outvoted(rooms):
            doubted.add(limit)
            yield _wrong_limit(limit[1], rooms)
    for rooms in by_pair:
        kept = [r for r in rooms if r.limit is None or (r.family.id, r.limit) not in doubted]
        yield from _too_large(kept)


def _rooms(entry: Entry[GearSet], claims: list[Claimed], stage: Stage) -> list[_Room]:
    found: dict[tuple[str, str], _Room] = {}
    answers: dict[_Limit, Answer] = {}
    bare = without_claims(entry)
    for index, claim, family in claims:
        for housing in claim.housings or family.record.housings:
            if housing not in family.record.housings or (claim.family, housing) in found:
                continue
            setting = Setting(family, housing, family.record.train_stages)
            (limit,) = setting.tip_limits(stage)
            # Whether a wheel fouls hangs on the limit alone, which housings share.
            key = None if limit is None else (claim.family, limit[0])
            if key is not None and key not in answers:
                answers[key] = casing_clearance(bare, setting, stage)
            found[claim.family, housing] = _Room(
                entry=entry,
                stage=stage,
                claim=index,
                family=family,
                housing=housing,
                limit=None if key is None else key[1],
                answer=None if key is None else answers[key],
            )
    return list(found.values())


def _unlike_factory_wheel(
    catalogue: Catalogue, distances_in_doubt: Doubted
) -> Iterator[tuple[_Limit, Finding]]:
    """Tip limits under the rolling circle of a factory wheel, or beyond any wheel's reach."""
    for family in catalogue.families.values():
        rolling: dict[DocumentPath, float] = {}
        for train in family.record.factory_trains:
            setting = Setting(family, train.housing, family.record.train_stages)
            for stage, pair in train.pairs.items():
                given = family.record.stages.get(stage)
                if given is None or given.centre_distance_mm is None:
                    continue
                (limit,) = setting.tip_limits(stage)
                circle = 2 * float(given.centre_distance_mm) * pair.driven
                circle /= pair.driver + pair.driven
                if limit is not None:
                    rolling[limit[0]] = max(circle, rolling.get(limit[0], 0.0))
        for stage, steps, value in _limits(family.record):
            casing = family.record.stages[stage].centre_distance_mm
            if (family.id, stage) in distances_in_doubt:
                continue
            if steps in rolling and float(value) <= rolling[steps]:
                what = (
                    f"the casing clears {value} mm, but the factory wheel rolls on a circle of "
                    f"{rolling[steps]:.2f} mm, and its tips reach beyond that"
                )
            elif casing is not None and value <= casing:
                what = (
                    f"the casing clears {value} mm, but at {casing} mm between the shafts any "
                    "driven gear rolls on a larger circle"
                )
            elif casing is not None and value >= 2 * casing:
                what = (
                    f"the casing clears {value} mm, but at {casing} mm between the shafts a wheel "
                    f"of {2 * casing} mm would reach the other shaft's middle"
                )
            else:
                continue
            there = ("stages", stage, "centre_distance_mm")
            finding = at(
                family,
                "FC227",
                steps,
                what,
                advice="measure the room in the casing, or the distance of the shafts, again",
                related=(beside(family, *there, label="the distance of the shafts"),),
            )
            yield (family.id, steps), finding


def _limits(family: Family) -> Iterator[tuple[Stage, DocumentPath, Decimal]]:
    """Every tip limit of a family for a stage that it has."""
    for stage, given in family.stages.items():
        if given.max_tip_diameter_mm is not None:
            yield stage, ("stages", stage, "max_tip_diameter_mm"), given.max_tip_diameter_mm
    for id_, housing in family.housings.items():
        for stage, value in housing.max_tip_diameter_mm.items():
            if stage in family.stages:
                yield stage, ("housings", id_, "max_tip_diameter_mm", stage), value


def _outvoted(rooms: list[_Room]) -> bool:
    """Whether more than half of the gears with known tips, and `LEAST_SETS`, do not go in."""
    fouling = {room.entry.id for room in rooms if room.fouls}
    known = {r.entry.id for r in rooms if _is_computed(r.answer)} | fouling
    return len(fouling) >= LEAST_SETS and 2 * len(fouling) > len(known)


def _is_computed(answer: Answer | None) -> bool:
    return (
        answer is not None and answer.verdict is Verdict.FITS and answer.evidence > Evidence.STATED
    )


def _wrong_limit(steps: DocumentPath, rooms: list[_Room]) -> Finding:
    fouling = {room.entry.id: room for room in rooms if room.fouls}
    sets = {room.entry.id for room in rooms}
    family = next(iter(fouling.values())).family
    return at(
        family,
        "FC227",
        steps,
        f"{len(fouling)} of the {len(sets)} sets that are said to go into this casing are larger "
        "over the tips of their wheels: as it stands, they are ruled out",
        advice="measure the room in the casing again; or the geometry of all these sets is wrong",
        related=(
            beside(room.entry, "geometry", room.stage, label=f"{id_}: {room.reason}")
            for id_, room in fouling.items()
        ),
    )


def _too_large(rooms: list[_Room]) -> Iterator[Finding]:
    asked = [room for room in rooms if room.fouls]
    fitting = len(asked) < len(rooms)
    for room in asked:
        entry, stage, family, housing = room.entry, room.stage, room.family, room.housing
        given, claim = entry.record.geometry[stage], entry.record.fits[room.claim]
        steps: DocumentPath = ("geometry", stage)
        if fitting:
            steps = first_item(("fits", room.claim, "housings"), claim.housings, housing)
            if not claim.housings:
                # Nothing says that this housing is meant, so nothing is contradicted.
                continue
        elif given.driven_tip_diameter_mm is not None:
            steps = (*steps, "driven_tip_diameter_mm")
        where = f"the {housing} housing of {family.id}"
        if not fitting and len(asked) > 1:
            where = f"any housing it is for ({or_list(each.housing for each in asked)})"
        assert room.limit is not None
        yield at(
            entry,
            "FC253",
            steps,
            f"too large for {where}: {room.reason}",
            key=steps == ("geometry", stage),
            advice="measure the wheel over its tips, or take the housing out",
            related=(beside(family, *room.limit, label="the room in the casing"),),
        )
        if not fitting:
            return
