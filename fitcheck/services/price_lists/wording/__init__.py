"""What the words and figures in a list's cells mean: teeth, stages, sizes, prices, stock.

Every reading names its cell. What cannot be read is a value that says why; nothing is guessed.
"""

from __future__ import annotations

from fitcheck.services.price_lists.wording.amounts import NumberStyle
from fitcheck.services.price_lists.wording.availability import Availability, read_availability
from fitcheck.services.price_lists.wording.prices import Price, find_number_style, read_price
from fitcheck.services.price_lists.wording.readings import Reading, Status, fold, words_of
from fitcheck.services.price_lists.wording.reservations import said_against
from fitcheck.services.price_lists.wording.sizes import (
    HousingWord,
    Sizes,
    read_housing,
    read_wheel_size,
)
from fitcheck.services.price_lists.wording.stages import find_stages, read_stage, stages_in
from fitcheck.services.price_lists.wording.teeth import FoundPair, FoundPairs, read_teeth

__all__ = [
    "Availability",
    "FoundPair",
    "FoundPairs",
    "HousingWord",
    "NumberStyle",
    "Price",
    "Reading",
    "Sizes",
    "Status",
    "find_number_style",
    "find_stages",
    "fold",
    "read_availability",
    "read_housing",
    "read_price",
    "read_stage",
    "read_teeth",
    "read_wheel_size",
    "said_against",
    "stages_in",
    "words_of",
]
