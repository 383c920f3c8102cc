"""Is it meant for this gearbox: family, housing, stage, and is it a whole pair."""

from __future__ import annotations

from fitcheck.catalogue.reader import Entry
from fitcheck.diagnostics.suggest import or_list
from fitcheck.model.gear_set import FitClaim, GearSet
from fitcheck.rules.answers import Answer, Datum, Evidence, Verdict
from fitcheck.rules.setting import Setting


def claim_evidence(claim: FitClaim) -> Evidence:
    """How strong a claim is: the shop tried it, or the supplier says so."""
    return Evidence.MEASURED if claim.evidence == "measured" else Evidence.STATED


def by_statement(
    gear_set: Entry[GearSet],
    setting: Setting,
    rule: str,
    missing: str,
    data: tuple[Datum, ...] = (),
    *,
    measure: str,
    subject: str = "",
) -> Answer:
    """Where a datum is missing: a claim for this very family and housing settles it, or nothing.

    Args:
        gear_set: the set judged.
        setting: the gearbox.
        rule: id of the rule that asks.
        missing: which datum is missing, as a clause.
        data: the data that are there.
        measure: what to measure or ask if nothing settles it.
        subject: the stage or joint meant.
    """
    vouching = setting.vouching(gear_set.record)
    if not vouching:
        return Answer(rule, Verdict.UNPROVEN, Evidence.NONE, missing, data, measure, subject)
    index, claim = vouching[0]
    who = "trial in the shop" if claim.evidence == "measured" else "supplier's statement"
    return Answer(
        rule,
        Verdict.FITS,
        claim_evidence(claim),
        f"{missing}; settled by the {who} for this family and housing",
        (*data, Datum(gear_set, ("fits", index), f"evidence: {claim.evidence}")),
        subject=subject,
    )


def against(
    gear_set: Entry[GearSet],
    setting: Setting,
    rule: str,
    reason: str,
    data: tuple[Datum, ...],
    *,
    measure: str,
    subject: str = "",
    trial_counts: bool = True,
) -> Answer:
    """Where data speak against a fit: ruled out, unless the shop has tried the set in just this.

    A trial in this family and housing is stronger than a figure or a code, but does not explain
    it: one of the two is wrong, so the answer stays open.
    """
    vouching = setting.vouching(gear_set.record)
    if not trial_counts or not vouching or vouching[0][1].evidence != "measured":
        return Answer(rule, Verdict.RULED_OUT, Evidence.NONE, reason, data, subject=subject)
    tried = Datum(gear_set, ("fits", vouching[0][0]), "evidence: measured")
    return Answer(
        rule,
        Verdict.UNPROVEN,
        Evidence.NONE,
        f"{reason}; yet it was tried in the shop, so one of the two is wrong",
        (*data, tried),
        measure,
        subject,
    )


def _pairs_evidence(gear_set: Entry[GearSet]) -> Evidence:
    """Tooth counts are the supplier's word until the shop has counted them."""
    return Evidence.MEASURED if "pairs" in gear_set.record.measured else Evidence.STATED


def family(gear_set: Entry[GearSet], setting: Setting) -> Answer:
    """Somebody vouches for the set in this engine family; a list's model words never do."""
    record, family_entry = gear_set.record, setting.family
    found = setting.claim(record)
    if found is not None:
        index, claim = found
        who = "tried in the shop" if claim.evidence == "measured" else "stated by the supplier"
        return Answer(
            "family",
            Verdict.FITS,
            claim_evidence(claim),
            f"for {family_entry.record.name}, {who}",
            (Datum(gear_set, ("fits", index, "family"), f"family: {claim.family}"),),
        )
    # As with housings: a supplier's list is complete, a trial speaks of one gearbox alone.
    stated = [i for i, claim in enumerate(record.fits) if claim.evidence == "stated"]
    if stated:
        named = list(dict.fromkeys(record.fits[i].family for i in stated))
        return Answer(
            "family",
            Verdict.RULED_OUT,
            Evidence.NONE,
            f"for {or_list(named)}, not for {family_entry.id}",
            (Datum(gear_set, ("fits", stated[0], "family"), f"family: {named[0]}"),),
        )
    models = record.listed_for.models
    stands_for = [setting.words.families(word, record.supplier) for word in models]
    listed = sorted({id_ for families in stands_for for id_ in families or ()})
    words = ", ".join(models)
    data = (Datum(gear_set, ("listed_for",), f"models: {words or 'none'}"),)
    if models and None not in stands_for and family_entry.id not in listed:
        return Answer(
            "family",
            Verdict.RULED_OUT,
            Evidence.NONE,
            f"listed for {words}, which is {or_list(listed) if listed else 'no family on file'}; "
            f"nobody vouches for {family_entry.id}",
            data,
        )
    if words:
        reason = f"listed for {words}, but nobody vouches for the family"
    elif record.fits:
        tried = or_list(dict.fromkeys(claim.family for claim in record.fits))
        reason = f"tried in {tried}; nobody says whether it goes into {family_entry.id}"
        data = (Datum(gear_set, ("fits", 0, "family"), f"family: {record.fits[0].family}"),)
    else:
        reason = "nothing says which family it is for"
    return Answer(
        "family",
        Verdict.UNPROVEN,
        Evidence.NONE,
        reason,
        data,
        measure=f"ask the supplier whether it fits {family_entry.record.name}, and in which "
        "housings, or try it on an open gearbox",
    )


def housing(gear_set: Entry[GearSet], setting: Setting) -> Answer:
    """Somebody vouches for the set in this housing of the family."""
    family_entry, wanted = setting.family, setting.housing
    names = family_entry.record.housings
    found = setting.claim(gear_set.record)
    if found is None:
        return _open_housing(
            gear_set,
            "nothing says which housings it is for",
            Datum(gear_set, (), "no housing given"),
        )
    vouching = setting.vouching(gear_set.record)
    if vouching:
        reason = f"for every housing of {family_entry.id}, so it need not be known"
        if wanted is not None:
            reason = f"for the {names[wanted].name if wanted in names else wanted}"
        return Answer(
            "housing",
            Verdict.FITS,
            claim_evidence(vouching[0][1]),
            reason,
            tuple(_housings_datum(gear_set, index, claim) for index, claim in vouching),
        )
    claims = [
        (index, claim)
        for index, claim in enumerate(gear_set.record.fits)
        if claim.family == family_entry.id and claim.housings
    ]
    if not claims:
        return _open_housing(
            gear_set,
            f"for {family_entry.id}, but its housings are not stated",
            Datum(gear_set, ("fits", found[0]), "no housings given"),
        )
    # A supplier's list of housings is complete, a trial speaks of one gearbox alone.
    stated = [each for each in claims if each[1].evidence == "stated"]
    said = stated or claims
    named = or_list(dict.fromkeys(name for _, claim in said for name in claim.housings))
    data = tuple(_housings_datum(gear_set, index, claim) for index, claim in said)
    if wanted is None:
        return Answer(
            "housing",
            Verdict.UNPROVEN,
            Evidence.NONE,
            f"for {named}; the machine's housing is not known",
            data,
            measure=f"look which housing the machine has: {or_list(names)}",
        )
    if stated:
        return Answer(
            "housing",
            Verdict.RULED_OUT,
            Evidence.NONE,
            f"for {named}, not for {wanted}",
            data,
        )
    return _open_housing(
        gear_set,
        f"tried in {named}; nobody says whether it goes into {wanted}",
        *data,
    )


def _open_housing(gear_set: Entry[GearSet], reason: str, *data: Datum) -> Answer:
    return Answer(
        "housing",
        Verdict.UNPROVEN,
        Evidence.NONE,
        reason,
        data,
        measure=f"ask the supplier which housings {gear_set.id} fits",
    )


def _housings_datum(gear_set: Entry[GearSet], index: int, claim: FitClaim) -> Datum:
    return Datum(gear_set, ("fits", index, "housings"), f"housings: {', '.join(claim.housings)}")


def stage(gear_set: Entry[GearSet], setting: Setting) -> Answer:
    """The set holds one stage of this train, or the whole train."""
    stages = gear_set.record.stages
    datum = (Datum(gear_set, ("pairs",), f"pairs: {', '.join(stages)}"),)
    if stages == setting.stages:
        what = "the whole train" if len(stages) > 1 else f"the {stages[0]} stage"
        return Answer("stage", Verdict.FITS, _pairs_evidence(gear_set), f"holds {what}", datum)
    if len(stages) == 1 and stages[0] in setting.stages:
        return Answer(
            "stage",
            Verdict.FITS,
            _pairs_evidence(gear_set),
            f"holds the {stages[0]} stage",
            datum,
        )
    return Answer(
        "stage",
        Verdict.RULED_OUT,
        Evidence.NONE,
        f"holds {' and '.join(stages)}; this train has {' and '.join(setting.stages)}",
        datum,
    )


def matched_pair(gear_set: Entry[GearSet], setting: Setting) -> Answer:
    """Both gears of every pair come under this number: a pair is never split."""
    record = gear_set.record
    for stage_name, members in record.members.items():
        missing = [member for member in ("driver", "driven") if member not in members]
        if missing:
            gear = "pinion" if missing == ["driver"] else "wheel"
            gear = gear if len(missing) == 1 else "pair"
            return Answer(
                "matched-pair",
                Verdict.RULED_OUT,
                Evidence.NONE,
                f"the {stage_name} {gear} is not in the parcel, and a pair is never split",
                (Datum(gear_set, ("members", stage_name), f"members: {', '.join(members)}"),),
            )
    return Answer(
        "matched-pair",
        Verdict.FITS,
        _pairs_evidence(gear_set),
        "both gears of each pair come under this number",
        (Datum(gear_set, ("members" if record.members else "pairs",), "complete"),),
    )
