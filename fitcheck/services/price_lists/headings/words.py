"""What lists call their columns: the lists of headings in wording/words.toml, by name."""

from __future__ import annotations

from typing import get_args

from fitcheck.model.trade import ListField
from fitcheck.services.price_lists.wording.cues import WORDS

FIELDS: tuple[ListField, ...] = get_args(ListField)
HEADINGS: dict[ListField, frozenset[str]] = {name: WORDS["heading"][name] for name in FIELDS}
"""Phrases that are a heading by themselves."""
NO_FIELD = WORDS["column"]["no_field"]
DEVIATING = WORDS["column"]["deviating"]
PRICE_UNITS = WORDS["column"]["price_units"]
PACKS = WORDS["column"]["packs"]
PACK_WORDS = WORDS["column"]["pack"]
EXTRA_CHARGES = WORDS["column"]["extra_charges"]
DENYING = WORDS["column"]["denying"]
SILENT = WORDS["column"]["silent"]
FAMILIES = WORDS["column"]["families"]
SUCCESSORS = WORDS["column"]["successors"]
CURRENCIES = WORDS["column"]["currencies"]
RATIOS = WORDS["column"]["ratios"]
PINION_HEADINGS = WORDS["column"]["pinion"]
WHEEL_HEADINGS = WORDS["column"]["wheel"]
