"""Is it meant for this gearbox: family, housing, stage, and is it a whole pair."""

from __future__ import annotations

from fitcheck.catalogue.reader import Entry
from fitcheck.diagnostics.suggest import or_list
from fitcheck.model.gear_set import FitClaim, GearSet
from fitcheck.rules.answers import Answer, Datum
from fitcheck.rules.fit.case import Case, claim_evidence, own_evidence
from fitcheck.rules.setting import Setting


def family(gear_set: Entry[GearSet], setting: Setting) -> Answer:
    """A supplier or a trial confirms the set for this family; a list's model words never do."""
    case = Case("family", gear_set, setting)
    record, here = gear_set.record, setting.family
    found = setting.claim(record)
    if found is not None:
        index, claim = found
        who = "tried in the shop" if claim.evidence == "measured" else "stated by the supplier"
        datum = Datum(gear_set, ("fits", index, "family"), f"family: {claim.family}")
        return case.fits(claim_evidence(claim), f"for {here.record.name}, {who}", datum)
    # As with housings: a supplier's list is complete, a trial speaks of one gearbox alone.
    stated = [i for i, claim in enumerate(record.fits) if claim.evidence == "stated"]
    if stated:
        named = list(dict.fromkeys(record.fits[i].family for i in stated))
        datum = Datum(gear_set, ("fits", stated[0], "family"), f"family: {named[0]}")
        return case.ruled_out(f"for {or_list(named)}, not for {here.id}", datum)
    models = record.listed_for.models
    stands_for = [setting.words.families(word, record.supplier) for word in models]
    listed = sorted({id_ for families in stands_for for id_ in families or ()})
    words = ", ".join(models)
    datum = Datum(gear_set, ("listed_for",), f"models: {words or 'none'}")
    if models and None not in stands_for and here.id not in listed:
        return case.ruled_out(
            f"listed for {words}, which is {or_list(listed) if listed else 'no family on file'}; "
            f"no supplier or trial confirms {here.id}",
            datum,
        )
    if words:
        reason = f"listed for {words}, but no supplier or trial confirms the family"
    elif record.fits:
        tried = or_list(dict.fromkeys(claim.family for claim in record.fits))
        reason = f"tried in {tried}; nobody says whether it goes into {here.id}"
        datum = Datum(gear_set, ("fits", 0, "family"), f"family: {record.fits[0].family}")
    else:
        reason = "nothing says which family it is for"
    return case.unproven(
        reason,
        datum,
        measure=f"ask the supplier whether it fits {here.record.name}, and in which "
        "housings, or try it on an open gearbox",
    )


def housing(gear_set: Entry[GearSet], setting: Setting) -> Answer:
    """A supplier or a trial confirms the set for this housing of the family."""
    case = Case("housing", gear_set, setting)
    ask = f"ask the supplier which housings {gear_set.id} fits"
    family_id, names = setting.family.id, setting.family.record.housings
    wanted = setting.housing
    vouching = setting.vouching(gear_set.record)
    if vouching:
        reason = f"for every housing of {family_id}, so it need not be known"
        if wanted is not None:
            reason = f"for the {names[wanted].name if wanted in names else wanted}"
        said = (_housings_datum(gear_set, index, claim) for index, claim in vouching)
        return case.fits(claim_evidence(vouching[0][1]), reason, *said)
    found = setting.claim(gear_set.record)
    if found is None:
        datum = Datum(gear_set, (), "no housing given")
        return case.unproven("nothing says which housings it is for", datum, measure=ask)
    claims = [
        (index, claim)
        for index, claim in enumerate(gear_set.record.fits)
        if claim.family == family_id and claim.housings
    ]
    if not claims:
        datum = Datum(gear_set, ("fits", found[0]), "no housings given")
        reason = f"for {family_id}, but its housings are not stated"
        return case.unproven(reason, datum, measure=ask)
    # A supplier's list of housings is complete, a trial speaks of one gearbox alone.
    stated = [each for each in claims if each[1].evidence == "stated"]
    counted = stated or claims
    named = or_list(dict.fromkeys(name for _, claim in counted for name in claim.housings))
    data = [_housings_datum(gear_set, index, claim) for index, claim in counted]
    if wanted is None:
        look = f"look which housing the machine has: {or_list(names)}"
        reason = f"for {named}; the machine's housing is not known"
        return case.unproven(reason, *data, measure=look)
    if stated:
        return case.ruled_out(f"for {named}, not for {wanted}", *data)
    reason = f"tried in {named}; nobody says whether it goes into {wanted}"
    return case.unproven(reason, *data, measure=ask)


def _housings_datum(gear_set: Entry[GearSet], index: int, claim: FitClaim) -> Datum:
    return Datum(gear_set, ("fits", index, "housings"), f"housings: {', '.join(claim.housings)}")


def stage(gear_set: Entry[GearSet], setting: Setting) -> Answer:
    """The set holds one stage of this train, or the whole train."""
    case = Case("stage", gear_set, setting)
    stages = gear_set.record.stages
    datum = Datum(gear_set, ("pairs",), f"pairs: {', '.join(stages)}")
    evidence = own_evidence(gear_set.record, "pairs")
    if len(stages) == 1 and stages[0] in setting.stages:
        return case.fits(evidence, f"holds the {stages[0]} stage", datum)
    if stages == setting.stages:
        return case.fits(evidence, "holds the whole train", datum)
    reason = f"holds {' and '.join(stages)}; this train has {' and '.join(setting.stages)}"
    return case.ruled_out(reason, datum)


def matched_pair(gear_set: Entry[GearSet], setting: Setting) -> Answer:
    """Both gears of every pair come under this number: a pair is never split."""
    case = Case("matched-pair", gear_set, setting)
    record = gear_set.record
    for stage_name, members in record.members.items():
        missing = [member for member in ("driver", "driven") if member not in members]
        if missing:
            gear = "pinion" if missing == ["driver"] else "wheel"
            gear = gear if len(missing) == 1 else "pair"
            return case.ruled_out(
                f"the {stage_name} {gear} is not in the parcel, and a pair is never split",
                Datum(gear_set, ("members", stage_name), f"members: {', '.join(members)}"),
            )
    return case.fits(
        own_evidence(record, "pairs"),
        "both gears of each pair come under this number",
        Datum(gear_set, ("members" if record.members else "pairs",), "complete"),
    )
