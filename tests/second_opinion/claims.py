"""Who vouches for a set, from docs/matching.md: family, list and housing."""

from __future__ import annotations

from tests.second_opinion.cases import (
    FITS,
    RULED_OUT,
    STRENGTH,
    UNPROVEN,
    Case,
    fold,
    met,
    weaker,
)
from tests.second_opinion.reading import Record


def claim_evidence(claim: Record) -> str:
    """Stated where nobody says that it was tried."""
    return claim.get("evidence") or "stated"


def family_answer(case: Case, name: str, record: Record) -> tuple[str, str]:
    """Does somebody vouch for the set in this family?"""
    claims = record.get("fits") or []
    own = [claim for claim in claims if claim["family"] == case.family_id]
    if own:
        vouching = covered_evidence(case, own)
        met["family: claim, vouching" if vouching else "family: claim, not vouching"] += 1
        if len({claim_evidence(claim) for claim in own}) > 1:
            met["family: trial and statement"] += 1
        strongest = max(map(claim_evidence, own), key=STRENGTH.__getitem__)
        return FITS, vouching or strongest
    others = {claim_evidence(claim) for claim in claims}
    if "stated" in others:
        met["family: stated for others only"] += 1
        return RULED_OUT, "none"
    if others:
        met["family: tried in another only"] += 1
    return listing_answer(case, name, record)


def covers(case: Case, claim: Record) -> bool:
    """Whether one claim names every housing asked about."""
    return set(case.housings) <= set(claim.get("housings") or [])


def listing_answer(case: Case, name: str, record: Record) -> tuple[str, str]:
    """What the model words of the list say of a set nobody vouches for here."""
    words = (record.get("listed_for") or {}).get("models") or []
    if not words:
        met["listing: none"] += 1
        return UNPROVEN, "none"
    meant = [families_of(case, record, word) for word in words]
    if any(families and case.family_id in families for families in meant):
        met["listing: words of this family"] += 1
    elif None in meant:
        met["listing: words nobody knows"] += 1
    else:
        met["listing: other families only"] += 1
        return RULED_OUT, "none"
    return UNPROVEN, "none"


def families_of(case: Case, record: Record, word: str) -> set[str] | None:
    """The families a model word stands for; None where nobody knows it."""
    families = case.words.get(fold(word))
    if families:
        return families
    supplier = case.records["supplier"].get(record["supplier"], {})
    answered = (supplier.get("list_mapping") or {}).get("model_words") or {}
    for known, family in answered.items():
        if fold(known) == fold(word):
            none = family in ("null", "", "~")
            met[f"listing: answered word, {'none of ours' if none else 'a family'}"] += 1
            return set() if none else {family}
    return None


def housing_answer(case: Case, record: Record) -> tuple[str, str]:
    """Does somebody vouch for it in this housing?"""
    own = [claim for claim in record.get("fits") or [] if claim["family"] == case.family_id]
    evidence = covered_evidence(case, own)
    if evidence:
        met[f"housing: {'known' if case.housing else 'not known'}, covered, {evidence}"] += 1
        return FITS, evidence
    if not case.housing:
        met["housing: not known, some housing is not covered"] += 1
        return UNPROVEN, "none"
    if any(claim.get("housings") and claim_evidence(claim) == "stated" for claim in own):
        met["housing: stated for others"] += 1
        return RULED_OUT, "none"
    if any(claim.get("housings") for claim in own):
        met["housing: tried in others"] += 1
    elif own:
        met["housing: claims without housings"] += 1
    else:
        met["housing: no claim"] += 1
    return UNPROVEN, "none"


def covered_evidence(case: Case, own: list[Record]) -> str | None:
    """The weakest, over the housings asked about, of the strongest claim; None: not covered."""
    strongest = []
    for housing in case.housings:
        naming = [claim_evidence(c) for c in own if housing in (c.get("housings") or [])]
        if not naming:
            return None
        strongest.append(max(naming, key=STRENGTH.__getitem__))
    if not case.housing and own and not any(covers(case, claim) for claim in own):
        met["housing: claims cover all housings only together"] += 1
    return weaker(*strongest)
