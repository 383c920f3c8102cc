"""One rule asked of one set in one gearbox, and the answers it may give."""

from __future__ import annotations

from typing import NamedTuple

from fitcheck.catalogue.reader import Entry
from fitcheck.model.gear_set import FitClaim, GearSet
from fitcheck.rules.answers import Answer, Datum, Evidence, Verdict
from fitcheck.rules.setting import Setting


def claim_evidence(claim: FitClaim) -> Evidence:
    """How strong a claim is: the shop tried it, or the supplier says so."""
    return Evidence.MEASURED if claim.evidence == "measured" else Evidence.STATED


def own_evidence(gear_set: GearSet, name: str) -> Evidence:
    """How a set's pairs, geometry or an interface are known: the shop's measure or a statement."""
    return Evidence.MEASURED if name in gear_set.measured else Evidence.STATED


class Case(NamedTuple):
    """One rule asked of one set in one gearbox.

    Attributes:
        rule: id of the rule.
        gear_set: the set judged.
        setting: the gearbox.
        subject: the stage or joint meant.
    """

    rule: str
    gear_set: Entry[GearSet]
    setting: Setting
    subject: str = ""

    @property
    def is_tried(self) -> bool:
        """Whether a trial in the shop vouches for the set in this family and housing."""
        vouching = self.setting.vouching(self.gear_set.record)
        return bool(vouching) and vouching[0][1].evidence == "measured"

    def fits(self, evidence: Evidence, reason: str, *data: Datum) -> Answer:
        """It fits, and how that is known."""
        return self._answer(Verdict.FITS, reason, data, evidence)

    def unproven(self, reason: str, *data: Datum, measure: str) -> Answer:
        """Nothing settles it; `measure` says what would."""
        return self._answer(Verdict.UNPROVEN, reason, data, measure=measure)

    def ruled_out(self, reason: str, *data: Datum) -> Answer:
        """It does not fit."""
        return self._answer(Verdict.RULED_OUT, reason, data)

    def _answer(
        self,
        verdict: Verdict,
        reason: str,
        data: tuple[Datum, ...],
        evidence: Evidence = Evidence.NONE,
        measure: str | None = None,
    ) -> Answer:
        return Answer(
            rule=self.rule,
            verdict=verdict,
            evidence=evidence,
            reason=reason,
            data=data,
            measure=measure,
            subject=self.subject,
        )

    def by_statement(self, missing: str, *data: Datum, measure: str) -> Answer:
        """Where a datum is missing: a claim for this family and housing settles it, or nothing.

        Args:
            missing: which datum is missing, as a clause.
            data: the data that are there.
            measure: what to measure or ask if nothing settles it.
        """
        vouching = self.setting.vouching(self.gear_set.record)
        if not vouching:
            return self.unproven(missing, *data, measure=measure)
        index, claim = vouching[0]
        who = "trial in the shop" if claim.evidence == "measured" else "supplier's statement"
        said = Datum(self.gear_set, ("fits", index), f"evidence: {claim.evidence}")
        reason = f"{missing}; settled by the {who} for this family and housing"
        return self.fits(claim_evidence(claim), reason, *data, said)

    def against(self, reason: str, *data: Datum, measure: str, trial_counts: bool = True) -> Answer:
        """Where data speak against a fit: ruled out, unless the shop has tried the set in this.

        A trial in this family and housing is stronger than a figure or a code, but does not
        explain it: one of the two is wrong, so the answer stays open.
        """
        if not (trial_counts and self.is_tried):
            return self.ruled_out(reason, *data)
        index, _ = self.setting.vouching(self.gear_set.record)[0]
        tried = Datum(self.gear_set, ("fits", index), "evidence: measured")
        reason = f"{reason}; yet it was tried in the shop, so one of the two is wrong"
        return self.unproven(reason, *data, tried, measure=measure)
