"""Gear sets named on the command line where each word is one choice, several sets joined by +."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from fitcheck.errors import UsageError

if TYPE_CHECKING:
    from fitcheck.catalogue.reader import Catalogue, Entry
    from fitcheck.model.gear_set import GearSet
    from fitcheck.services.counter.combination import Combination
    from fitcheck.services.counter.subject import Subject


def read_options(catalogue: Catalogue, subject: Subject, words: Sequence[str]) -> list[Combination]:
    """One combination a word, in the order given.

    A word is the id or part number of a set, or several joined by `+`, as in `MA-1545+MA-21553`.

    Raises:
        UsageError: a set is not known, two of one word hold the same stage, or two words name the
            same choice.
    """
    from fitcheck.services.counter.combination import combine

    found: list[Combination] = []
    for word in words:
        one = combine(subject, _sets(catalogue, word))
        if any(one.sets == other.sets for other in found):
            shown = "+".join(entry.id for entry in one.sets)
            raise UsageError(f"{shown} is named twice; name each choice once")
        found.append(one)
    return found


def _sets(catalogue: Catalogue, word: str) -> list[Entry[GearSet]]:
    from fitcheck.services.counter.lookup import find_set

    if "+" not in word or _is_written(catalogue, word):
        return [find_set(catalogue, word)]
    parts = [part.strip() for part in word.split("+")]
    if not all(parts):
        shown = word if len(word) <= 60 else f"{word[:57]}..."
        raise UsageError(
            f"{shown!r} has a + with no set beside it; join sets without spaces, like "
            "MA-1545+MA-21553, or name one"
        )
    return [find_set(catalogue, part) for part in parts]


def _is_written(catalogue: Catalogue, word: str) -> bool:
    """Whether a set is written just so: a part number may hold a plus itself."""
    return any(
        word in (entry.id, entry.record.part_number, *entry.record.aliases)
        for entry in catalogue.gear_sets.values()
    )
