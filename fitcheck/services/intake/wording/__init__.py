"""What the words and figures in a list's cells mean: teeth, stages, sizes, prices, stock.

Every reading names its cell. What cannot be read is a value that says why; nothing is guessed.
"""

from __future__ import annotations

from fitcheck.services.intake.wording.folding import fold, words_of
from fitcheck.services.intake.wording.result import Reading, Status
from fitcheck.services.intake.wording.stages import find_stages, read_stage
from fitcheck.services.intake.wording.teeth import FoundPair, FoundPairs, read_teeth

__all__ = [
    "FoundPair",
    "FoundPairs",
    "Reading",
    "Status",
    "find_stages",
    "fold",
    "read_stage",
    "read_teeth",
    "words_of",
]
