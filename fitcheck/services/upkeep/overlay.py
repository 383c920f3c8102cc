"""The catalogue as it would be with a draft in it, and what would be wrong with it then."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import replace
from types import MappingProxyType

from fitcheck.catalogue.editing import Draft
from fitcheck.catalogue.nodes import MapNode
from fitcheck.catalogue.reader import Catalogue, Entry
from fitcheck.catalogue.shape import shape_of
from fitcheck.diagnostics.finding import Finding
from fitcheck.errors import UsageError
from fitcheck.model.gear_set import GearSet
from fitcheck.rules.checks import check


def laid_over(catalogue: Catalogue, draft: Draft) -> Catalogue:
    """The catalogue with one file of gear sets as a draft has it.

    Records that were refused stay refused: an edit mends or breaks none but its own, which the
    draft has validated.
    """
    source = draft.source
    shape = shape_of(source)
    entries = dict(catalogue.gear_sets)
    folded = {record_id.lower(): record_id for record_id in entries}
    records = shape.records.entries if shape.records is not None else {}
    for record_id, (_, node) in records.items():
        before = catalogue.gear_sets.get(record_id)
        elsewhere = before is not None and before.source.path != source.path
        repeated = folded.get(record_id.lower(), record_id) != record_id
        refused = record_id in catalogue.failed["gear-set"] or not isinstance(node, MapNode)
        if elsewhere or repeated or refused:
            continue
        assert isinstance(node, MapNode)
        record = GearSet.model_validate({**shape.defaults, **node.value})
        entries[record_id] = Entry("gear-set", record_id, record, source, ("records", record_id))
    return replace(
        catalogue,
        gear_sets=MappingProxyType(entries),
        sources=MappingProxyType({**catalogue.sources, source.path: source}),
    )


def new_findings(catalogue: Catalogue, *drafts: Draft) -> list[Finding]:
    """What is wrong with the catalogue as drafts would make it, and is not wrong now.

    The ledgers of the shelf are left out: no edit of a gear set touches them.

    Raises:
        UsageError: a file holds no gear sets.
    """
    return _not_there_before(catalogue, check(_edited(catalogue, drafts), with_ledgers=False))


def new_errors(catalogue: Catalogue, *drafts: Draft) -> list[Finding]:
    """Errors that drafts would make in their own files, and that are not there now.

    The catalogue as it is is checked only where there is an error that it may have already.

    Raises:
        UsageError: a file holds no gear sets.
    """
    own = {draft.source.path for draft in drafts}
    found = check(_edited(catalogue, drafts), with_ledgers=False)
    errors = [each for each in found if each.severity == "error" and each.span.path in own]
    return _not_there_before(catalogue, errors) if errors else []


def _edited(catalogue: Catalogue, drafts: Iterable[Draft]) -> Catalogue:
    edited = catalogue
    for draft in drafts:
        if draft.kind != "gear-set":
            raise UsageError(f"{draft.shown}: a file of kind {draft.kind}; gear sets go elsewhere")
        edited = laid_over(edited, draft)
    return edited


def _not_there_before(catalogue: Catalogue, findings: Iterable[Finding]) -> list[Finding]:
    had = Counter(map(_mark, check(catalogue, with_ledgers=False)))
    fresh: list[Finding] = []
    for finding in findings:
        mark = _mark(finding)
        if had[mark]:
            had[mark] -= 1
        else:
            fresh.append(finding)
    return fresh


def _mark(finding: Finding) -> tuple[str, str]:
    # Lines move with an edit above them; the fingerprint does not.
    return (finding.fingerprint, finding.message)
