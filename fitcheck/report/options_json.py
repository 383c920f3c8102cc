"""The answer of `options` as JSON; schemas/options.output.schema.json describes it."""

from __future__ import annotations

from collections.abc import Sequence

from fitcheck.catalogue.reader import Entry
from fitcheck.model.family import Family
from fitcheck.report.json_parts import (
    Data,
    gear_sets_data,
    header,
    place_data,
    result_data,
    train_data,
)
from fitcheck.services.options import OptionGroup

__all__ = ["options_data"]


def options_data(family: Entry[Family], groups: Sequence[OptionGroup]) -> Data:
    """One answer of `options` as plain data for `json.dumps`."""
    catalogue = groups[0].result.subject.catalogue if groups else None
    size = family.record.displacement_cm3
    named = [one for group in groups for one in (*group.result.combinations, *group.result.shorter)]
    return {
        **header("options", catalogue),
        "family": {
            "id": family.id,
            "name": family.record.name,
            "displacement_cm3": None if size is None else float(size),
            "place": place_data(family.span()),
        },
        "groups": [
            {
                "factory_train": train_data(group.family, group.train),
                "tune": group.tune.id,
                "tune_name": group.tune.record.name,
                **result_data(group.result),
            }
            for group in groups
        ],
        "gear_sets": {} if catalogue is None else gear_sets_data(catalogue, named),
    }
