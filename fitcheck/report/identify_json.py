"""The answer of `identify` as JSON; schemas/identify.output.schema.json describes it."""

from __future__ import annotations

from collections.abc import Sequence

from fitcheck.catalogue.reader import Catalogue
from fitcheck.kernel.gearing import overall_reduction
from fitcheck.kernel.teeth import Pair
from fitcheck.report.json_parts import Data, exact, header, train_data
from fitcheck.services.identify import Candidate, Slip

__all__ = ["identify_data", "slip_word"]


def identify_data(
    catalogue: Catalogue,
    pairs: Sequence[Pair],
    wheel_size_in: int | None,
    candidates: Sequence[Candidate],
) -> Data:
    """One answer of `identify` as plain data for `json.dumps`."""
    return {
        **header("identify", catalogue),
        "counted": {
            "pairs": [str(pair) for pair in pairs],
            "reduction": exact(overall_reduction(pairs)),
            "wheel_size_in": wheel_size_in,
        },
        "candidates": [_candidate(one) for one in candidates],
    }


def slip_word(slip: Slip) -> str:
    """The word for a slip in JSON and CSV, such as `stages-swapped`."""
    return slip.name.lower().replace("_", "-")


def _candidate(one: Candidate) -> Data:
    return {
        "slip": slip_word(one.slip),
        "family": one.family.id,
        "family_name": one.family.record.name,
        **train_data(one.family, one.train),
        "reading": one.reading,
        "check": one.check or None,
        "sets": list(one.sets),
    }
