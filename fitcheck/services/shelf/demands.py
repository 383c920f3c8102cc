"""Who is served, and how often: machines on record, or every factory train under every tune.

How often machines come is a list of ids and numbers, as CSV, a spreadsheet or YAML.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path
from typing import Literal

from fitcheck.catalogue.nodes import MapNode, ScalarNode
from fitcheck.catalogue.reader import Catalogue, Entry
from fitcheck.catalogue.source import read_source
from fitcheck.diagnostics.finding import shown_path
from fitcheck.diagnostics.suggest import nearest
from fitcheck.errors import UnreadableError, UsageError, clip
from fitcheck.model.family import Family
from fitcheck.model.trade import Tune
from fitcheck.services.counter.options import factory_subject
from fitcheck.services.counter.subject import Subject, subject_of
from fitcheck.services.shelf.shop_lists import Columns, read_shop_list
from fitcheck.services.upkeep.typed_values import doubtful_thousands

Asked = Literal["machines", "families"]

_NUMBER = re.compile(r"[0-9]{1,7}(?:[.,][0-9]{1,6})?")

_COLUMNS = Columns(
    headings={"machine": ("machine", "id"), "visits": ("visits", "weight", "times")},
    needed=("machine", "visits"),
    bare=("machine", "visits"),
    number=_NUMBER,
    bare_words="id and visits",
)


@dataclass(frozen=True, slots=True)
class Visits:
    """How often machines come.

    Attributes:
        counts: number of visits, zero or more, by id.
        places: file and row of each, where they come from a file.
        faults: what cannot be taken of that file, a line each; `demands_of` refuses them all.
    """

    counts: Mapping[str, Fraction]
    places: Mapping[str, str] = field(default_factory=dict)
    faults: tuple[str, ...] = ()


class VisitsError(UsageError):
    """Visits that cannot be taken.

    Attributes:
        faults: each of them, one line.
    """

    def __init__(self, faults: Sequence[str]) -> None:
        self.faults = tuple(faults)
        one = len(faults) == 1
        super().__init__(
            faults[0]
            if one
            else f"{len(faults)} of the visits cannot be taken, so nothing is planned; fix them "
            "and plan again"
        )


@dataclass(frozen=True, slots=True)
class Demand:
    """One machine to serve.

    Attributes:
        id: of its record; of a factory train `family/number/tune`, the number as in the family's
            record, from 1.
        subject: the machine.
        weight: how often it comes; 1 where nobody said.
        train: position of its factory train, from 0; None for a machine on record.
    """

    id: str
    subject: Subject
    weight: Fraction = Fraction(1)
    train: int | None = None

    @property
    def family(self) -> Entry[Family]:
        """Its engine family."""
        return self.subject.family


@dataclass(frozen=True, slots=True)
class Unjudged:
    """A machine of which nobody can say what serves it.

    Attributes:
        id: as of a demand.
        name: what the counter calls it.
        family: the family its record names.
        reason: why, one sentence.
    """

    id: str
    name: str
    family: str
    reason: str


@dataclass(frozen=True)
class Demands:
    """All who are to be served, by family, then as on file.

    Attributes:
        catalogue: where they are from.
        asked: `machines` on record, or factory trains of `families`.
        judged: those that can be judged.
        unjudged: those that cannot.
        weighted: whether somebody said how often they come.
        unweighted: how many count once because nobody said.
    """

    catalogue: Catalogue
    asked: Asked
    judged: tuple[Demand, ...]
    unjudged: tuple[Unjudged, ...]
    weighted: bool = False
    unweighted: int = 0


def demands_of(
    catalogue: Catalogue,
    asked: Asked = "machines",
    *,
    family: str | None = None,
    tune: str | None = None,
    visits: Visits | None = None,
) -> Demands:
    """Gather who is to be served.

    Args:
        catalogue: where to look.
        asked: machines on record, or every factory train of every family under every tune.
        family: id of the only family wanted.
        tune: id of the only tune wanted.
        visits: how often each comes; a machine not listed comes once.

    Raises:
        VisitsError: visits that could not be read, or of machines that are not on file.
    """
    found = list(_machines(catalogue) if asked == "machines" else _works(catalogue))
    if visits is not None:
        _check_known(visits, {one.id for one in found}, asked)
    judged: list[Demand] = []
    unjudged: list[Unjudged] = []
    unweighted = 0
    for one in found:
        if isinstance(one, Unjudged):
            if family in (None, one.family) and (tune is None or asked == "families"):
                unjudged.append(one)
            continue
        entry = one.subject.tune
        assert entry is not None
        if family not in (None, one.family.id) or tune not in (None, entry.id):
            continue
        if visits is not None and one.id not in visits.counts:
            unweighted += 1
        weight = Fraction(1) if visits is None else visits.counts.get(one.id, Fraction(1))
        judged.append(Demand(one.id, one.subject, weight, one.train))
    order = {id_: place for place, id_ in enumerate(catalogue.families)}
    judged.sort(key=lambda one: order[one.family.id])  # stable: as on file within a family
    return Demands(
        catalogue=catalogue,
        asked=asked,
        judged=tuple(judged),
        unjudged=tuple(unjudged),
        weighted=visits is not None,
        unweighted=unweighted,
    )


def _machines(catalogue: Catalogue) -> Iterator[Demand | Unjudged]:
    for id_, entry in catalogue.machines.items():
        record = entry.record
        try:
            subject = subject_of(catalogue, id_)
        except UsageError as error:
            yield Unjudged(id_, record.name, record.family, str(error))
            continue
        if subject.tune is None:
            reason = f"no tune is on file for it, so no band; add tune at {entry.place()}"
            yield Unjudged(id_, record.name, subject.family.id, reason)
            continue
        yield Demand(id_, subject)


def _works(catalogue: Catalogue) -> Iterator[Demand | Unjudged]:
    tunes: list[Entry[Tune]] = list(catalogue.tunes.values())
    for family in catalogue.families.values():
        if not family.record.factory_trains:
            reason = f"no factory train is on file, so no start; see {family.place()}"
            yield Unjudged(family.id, family.record.name, family.id, reason)
        for index, train in enumerate(family.record.factory_trains):
            if family.record.train_pairs(train) is None:
                where = family.place("factory_trains", index)
                reason = f"a stage of this factory train is not on file; see {where}"
                id_ = f"{family.id}/{index + 1}"
                yield Unjudged(id_, family.record.name, family.id, reason)
                continue
            for tune in tunes:
                subject = factory_subject(catalogue, family, index, tune)
                yield Demand(f"{family.id}/{index + 1}/{tune.id}", subject, train=index)


def _check_known(visits: Visits, known: Collection[str], asked: Asked) -> None:
    faults = list(visits.faults)
    what = "machine" if asked == "machines" else "factory train"
    names = sorted(known)
    for unknown in (id_ for id_ in visits.counts if id_ not in known):
        near = nearest(unknown, names)
        hint = f"did you mean {near}?" if near else "take it out of the list of visits"
        place = visits.places.get(unknown)
        prefix = f"{place}: " if place else ""
        faults.append(f"{prefix}visits of {unknown!r}: no such {what} is on file; {hint}")
    if faults:
        raise VisitsError(faults)


@dataclass(frozen=True, slots=True)
class _VisitRow:
    """One row, or one line of YAML.

    Attributes:
        id: the machine; empty where none is named.
        text: its visits; None where they are no single value.
        place: file and row.
        fault: why it cannot be read at all, or None.
        sure: whether it is a number in a workbook, so that no mark in it is in doubt.
    """

    id: str
    text: str | None
    place: str
    fault: str | None = None
    sure: bool = False


def read_visits(path: Path) -> Visits:
    """Read how often each machine comes.

    YAML is a mapping of id to number. A table has a column headed `machine` (or `id`) and one
    headed `visits` (or `weight`, or `times`), or no headings and these two columns first.

    Args:
        path: the file.

    Returns:
        The visits; rows that are not valid are reported in `faults`, with file and row.

    Raises:
        UnreadableError: the file cannot be read.
        UsageError: it is no list of visits at all.
    """
    is_yaml = path.suffix.lower() in (".yaml", ".yml")
    found: dict[str, Fraction] = {}
    places: dict[str, str] = {}
    faults: list[str] = []
    for row in _yaml_rows(path) if is_yaml else _table_rows(path):
        fault = _row_fault(row, twice=row.id in places)
        if fault:
            faults.append(f"{row.place}: {fault}")
        else:
            assert row.text is not None
            found[row.id] = Fraction(row.text.replace(",", "."))
        if row.id:
            places.setdefault(row.id, row.place)
    if not found and not faults:
        raise UsageError(f"{shown_path(path)}: it names no machine; write an id and its visits")
    return Visits(found, places, tuple(faults))


def _row_fault(row: _VisitRow, *, twice: bool) -> str | None:
    """What is wrong with a row."""
    if row.fault is not None:
        return row.fault
    if not row.id:
        return "no machine is named; write its id"
    if twice:
        return f"{row.id} is listed twice; add the two up"
    if row.text is None:
        return f"the visits of {row.id} are no number; write {row.id}: 12"
    if not _NUMBER.fullmatch(row.text):
        shown = clip(row.text, 30)
        return f"{shown!r} is no number of visits; write 0 or more, at most six decimals"
    return None if row.sure else doubtful_thousands(row.text)


def _yaml_rows(path: Path) -> Iterator[_VisitRow]:
    source, findings = read_source(path, named=True)
    if findings:
        raise UnreadableError(f"{findings[0].span}: {findings[0].message}")
    if not isinstance(source.root, MapNode):
        raise UsageError(f"{source.path}: it is no mapping of machines to visits; write id: number")
    for id_, (_, node) in source.root.entries.items():
        place = str(source.between(node.start, node.end))
        yield _VisitRow(id_, node.text.strip() if isinstance(node, ScalarNode) else None, place)


def _table_rows(path: Path) -> Iterator[_VisitRow]:
    read = read_shop_list(path, _COLUMNS)
    id_at, visits_at = read.columns.get("machine"), read.columns.get("visits")
    if read.notes:
        raise UsageError(f"{read.notes[0]}; take out or rename what is not meant")
    for row in read.rows:
        sure = visits_at in row.numbers
        yield _VisitRow(row.text(id_at), row.text(visits_at), row.where, row.fault, sure=sure)
