"""Ids that one record gives for another: each must lead somewhere."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from functools import cached_property
from typing import Any

from fitcheck.catalogue.reader import Catalogue, Entry
from fitcheck.diagnostics.finding import DocumentPath, Finding
from fitcheck.diagnostics.suggest import digits_of, nearest, or_list
from fitcheck.model.family import Family
from fitcheck.rules.checks.walks import at, beside
from fitcheck.rules.setting import model_words, plain_word

_MOST_SEARCHES = 500
"""So many unknown names are searched for near ones; where more are wrong, it is no slip."""

_LEFT_UNSEEN = ("FC001", "FC002", "FC003")
"""Codes of files of which nothing, or not all, was seen: what is missed may stand there."""

_KEY = re.compile(r"^\s*[\"']?([A-Za-z][A-Za-z0-9._-]*)[\"']?\s*:", re.MULTILINE)


_FIELDS: Mapping[str, Mapping[str, str]] = {
    "family": {"vehicle_class": "vehicle-class"},
    "gear-set": {"supplier": "supplier", "successor": "gear-set"},
    "variator": {"supplier": "supplier"},
    "machine": {
        "family": "family",
        "tyre": "tyre",
        "tune": "tune",
        "vehicle_class": "vehicle-class",
    },
}
"""Fields of a kind of record that hold the id of another, and of which kind that is."""


def references(catalogue: Catalogue) -> Iterator[Finding]:
    """Every id given for a record of another kind, and every housing of a family."""
    known = _Known(catalogue)
    for kind, fields in _FIELDS.items():
        for entry in catalogue.entries(kind).values():
            for field, other in fields.items():
                yield from known.judge(entry, other, getattr(entry.record, field), (field,))
    for family in catalogue.families.values():
        yield from _of_family(known, family)
    for gear_set in catalogue.gear_sets.values():
        for index, claim in enumerate(gear_set.record.fits):
            yield from known.judge(gear_set, "family", claim.family, ("fits", index, "family"))
            for position, housing in enumerate(claim.housings):
                place = ("fits", index, "housings", position)
                yield from known.judge_housing(gear_set, claim.family, housing, place)
    for kit in catalogue.variators.values():
        for index, family_id in enumerate(kit.record.fits):
            yield from known.judge(kit, "family", family_id, ("fits", index))
    for machine in catalogue.machines.values():
        built = machine.record
        yield from known.judge_housing(machine, built.family, built.housing, ("housing",))
    for shelf_entry in catalogue.shelf.values():
        yield from known.judge(shelf_entry, "gear-set", shelf_entry.id, (), key=True)


def _of_family(known: _Known, family: Entry[Family]) -> Iterator[Finding]:
    for index, train in enumerate(family.record.factory_trains):
        steps = ("factory_trains", index)
        yield from known.judge_housing(family, family.id, train.housing, (*steps, "housing"))
        yield from known.judge(family, "tyre", train.tyre, (*steps, "tyre"))
    for tune in family.record.bands:
        yield from known.judge(family, "tune", tune, ("bands", tune), key=True)


_OF_A_SHOP = ("family", "gear-set", "machine", "supplier")
"""Kinds of records that every shop has; a folder of one kind is part of a catalogue."""

_CODES = {
    "family": ("FC201", "engine family"),
    "supplier": ("FC203", "supplier"),
    "tune": ("FC204", "tune"),
    "vehicle-class": ("FC205", "vehicle class"),
    "tyre": ("FC206", "tyre"),
    "gear-set": ("FC207", "gear set"),
}


class _Known:
    """What an id can lead to.

    A record that was refused still holds its id, and in a file that could not be read every key
    may be one: a reference to it is no fault of its own. Nothing is said of references either
    where part of a catalogue is checked by itself, a single file or a folder such as `sets/`:
    what they lead to may lie elsewhere.
    """

    def __init__(self, catalogue: Catalogue) -> None:
        self._catalogue = catalogue
        self._alone = catalogue.root.is_file() or any(
            finding.code in _LEFT_UNSEEN for finding in catalogue.findings
        )
        # A folder with records of several kinds of a shop is taken for a whole catalogue, even
        # where a kind that they name is gone.
        self._whole = sum(bool(catalogue.entries(kind)) for kind in _OF_A_SHOP) > 1
        self._records: Mapping[str, Mapping[str, Entry[Any]]] = {
            kind: catalogue.entries(kind) for kind in _CODES
        }
        self._near: dict[tuple[str, str], str | None] = {}
        self._by_digits: dict[str, dict[str, list[str]]] = {}

    @cached_property
    def _unread(self) -> frozenset[str]:
        sources = self._catalogue.sources
        return frozenset(
            key
            for path in self._catalogue.unread
            if path in sources
            for key in _KEY.findall(sources[path].text)
        )

    def judge(
        self,
        entry: Entry[Any],
        kind: str,
        given: str | None,
        steps: DocumentPath,
        *,
        key: bool = False,
    ) -> Iterator[Finding]:
        records = self._records[kind]
        if given is None or given in records or self._alone or not (records or self._whole):
            return
        if given in self._catalogue.failed.get(kind, ()) or given in self._unread:
            return
        code, word = _CODES[kind]
        near = self._nearest(kind, given)
        if near is not None:
            advice = f"did you mean {near}?"
        elif kind == "gear-set":
            advice = f"add the set {given}, or take this away"
        elif not records:
            advice = f"add a record {given}; the catalogue holds no {word} yet"
        else:
            advice = f"add a record {given}, or write one that is there: {or_list(records, 6)}"
        yield at(
            entry,
            code,
            steps,
            f"there is no {word} {given}",
            key=key,
            advice=advice,
            suggestion=near,
        )

    def judge_housing(
        self, entry: Entry[Any], family_id: str, given: str | None, steps: DocumentPath
    ) -> Iterator[Finding]:
        family = self._catalogue.families.get(family_id)
        if family is None or given is None or given in family.record.housings:
            return
        near = self._nearest_housing(family, given)
        advice = (
            f"did you mean {near}?"
            if near is not None
            else "it has " + or_list(family.record.housings)
        )
        yield at(
            entry,
            "FC202",
            steps,
            f"{family_id} has no housing {given}",
            advice=advice,
            related=(beside(family, "housings", label="the family's housings", key=True),),
            suggestion=near,
        )

    def _nearest_housing(self, family: Entry[Family], given: str) -> str | None:
        asked = (f"housing of {family.id}", given)
        if asked not in self._near:
            plain = plain_word(given)
            named = (
                id_
                for id_, housing in family.record.housings.items()
                if plain in map(plain_word, (id_, housing.name, *housing.aliases))
            )
            self._near[asked] = next(named, None) or nearest(given, family.record.housings)
        return self._near[asked]

    def _nearest(self, kind: str, given: str) -> str | None:
        asked = (kind, given)
        if asked not in self._near:
            near = None
            if kind == "family":
                families = self._words.get(plain_word(given), frozenset())
                near = next(iter(families)) if len(families) == 1 else None
            if near is None and len(self._near) < _MOST_SEARCHES:
                near = nearest(given, self._candidates(kind, given))
            self._near[asked] = near
        return self._near[asked]

    def _candidates(self, kind: str, given: str) -> Iterable[str]:
        # Only names with the same digits can be near, which leaves few of many thousand sets.
        digits = digits_of(given)
        if not digits:
            return self._records[kind]
        if kind not in self._by_digits:
            buckets = self._by_digits[kind] = {}
            for name in self._records[kind]:
                buckets.setdefault(digits_of(name), []).append(name)
        return self._by_digits[kind].get(digits, [])

    @cached_property
    def _words(self) -> dict[str, frozenset[str]]:
        return model_words(self._catalogue)
