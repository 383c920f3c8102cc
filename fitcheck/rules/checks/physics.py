"""Geometry that contradicts a family, and gears that are made against good custom."""

from __future__ import annotations

from collections.abc import Iterator

from fitcheck.catalogue.reader import Catalogue, Entry
from fitcheck.diagnostics.finding import Finding
from fitcheck.kernel.tolerances import iso_54_series
from fitcheck.model.fields import Stage
from fitcheck.model.gear_set import GearSet, PairGeometry
from fitcheck.rules.checks.clearances import casing_rooms
from fitcheck.rules.checks.distances import centre_distances
from fitcheck.rules.checks.place import at
from fitcheck.rules.fit.advice import short_contact, strong_shift, undercut


def set_geometry(catalogue: Catalogue) -> Iterator[Finding]:
    """Every active set against the families it is for, and against good custom."""
    in_doubt, off = yield from centre_distances(catalogue)
    yield from casing_rooms(catalogue, in_doubt)
    for entry in catalogue.gear_sets.values():
        if entry.record.status == "active":
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
