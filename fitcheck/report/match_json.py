"""The answer of `match` as JSON; schemas/match.output.schema.json describes it."""

from __future__ import annotations

from fitcheck.report.json_parts import Data, gear_sets_data, header, machine_data, result_data
from fitcheck.services.matching import Match

__all__ = ["match_data"]


def match_data(result: Match) -> Data:
    """One answer of `match` as plain data for `json.dumps`."""
    subject = result.subject
    return {
        **header("match", subject.catalogue),
        "machine": machine_data(subject, None if result.road is None else result.road.lawful_now),
        **result_data(result),
        "gear_sets": gear_sets_data(subject.catalogue, [*result.combinations, *result.shorter]),
    }
