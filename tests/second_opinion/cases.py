"""One machine against a catalogue, and the words of an answer, for the second matcher.

Nothing in this folder is taken from fitcheck: each rule is written from its paragraph of
docs/matching.md, and its branches are counted by name, so that a run says which it has tried.
"""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass, field
from functools import cached_property
from typing import NamedTuple

from tests.second_opinion.reading import Record, Records, stages_of, train_of

FITS, UNPROVEN, RULED_OUT = "fits", "unproven", "ruled out"
STRENGTH = {"none": 0, "stated": 1, "computed": 2, "measured": 3}
NOT_KNOWN = {"unknown", "notknown", "none", "n/a", "n.a.", "na", "tba", "tbc", "tbd"}

met: Counter[str] = Counter()
"""How often each branch was met."""


class Answer(NamedTuple):
    """What one rule says; `of` is the set, None for the joint between two gears."""

    rule: str
    verdict: str
    evidence: str
    of: str | None
    stage: str | None = None


class Vouched(NamedTuple):
    """Whether a claim, or claims, vouch for a set here, and by what."""

    evidence: str | None

    @property
    def by_trial(self) -> bool:
        """Whether a trial vouches."""
        return self.evidence == "measured"


@dataclass
class Case:
    """One machine, or one factory train, against the catalogue."""

    records: Records
    family_id: str
    housing: str | None
    wheel: int | None
    pairs: tuple[tuple[int, int], ...]
    seats: list[str] = field(default_factory=list)
    """Idler seats measured on the machine, one a joint."""
    as_built: bool = False
    """Whether it is a factory train as it left the works."""

    def __post_init__(self) -> None:
        self.family: Record = self.records["family"][self.family_id]
        self.stages = stages_of(self.family)
        self.interfaces: Record = self.family.get("interfaces") or {}
        self.words = model_words(self.records)

    @property
    def housings(self) -> list[str]:
        """The housings asked about."""
        return [self.housing] if self.housing else list(self.family["housings"])

    def possible_trains(self) -> list[tuple[tuple[int, int], ...]]:
        """Factory trains on file for its housing and wheel size."""
        return [
            train_of(train["pairs"], self.stages)
            for train in self.family.get("factory_trains") or []
            if self.housing in (None, train["housing"])
            and self.wheel in (None, int(train["wheel_size_in"]))
        ]

    @cached_property
    def works(self) -> tuple[tuple[int, int], ...] | None:
        """The only factory train possible for a machine known to be changed from it."""
        trains = set(self.possible_trains()) - {self.pairs}
        if self.as_built or not (self.housing and self.wheel):
            return None
        if len(set(self.possible_trains())) == len(trains) == 1:
            met["from the factory"] += 1
            return trains.pop()
        return None

    @cached_property
    def factory(self) -> list[bool]:
        """Whether each stage is known to be the factory's."""
        if self.as_built:
            met["factory: a train as it left the works"] += 1
            return [True] * len(self.stages)
        trains = self.possible_trains()
        if not trains:
            met["factory: no train is possible"] += 1
        elif len(set(trains)) == 1:
            met["factory: one train is possible"] += 1
        else:
            met["factory: several trains are possible"] += 1
        known = []
        for number, pair in enumerate(self.pairs):
            equal = [train[number] == pair for train in trains]
            known.append(bool(equal) and all(equal))
            if any(equal) and not all(equal):
                met["factory: a stage equals some possible trains only"] += 1
            elif equal and not any(equal):
                met["factory: a stage was changed before"] += 1
        return known


def fold(word: str) -> str:
    """A model word without its capitals and outer spaces."""
    return " ".join(word.casefold().split())


def model_words(records: Records) -> dict[str, set[str]]:
    """Families by their names, aliases and models."""
    words: dict[str, set[str]] = {}
    for name, family in records["family"].items():
        own = [family["name"], *(family.get("aliases") or [])]
        for train in family.get("factory_trains") or []:
            own += train.get("models") or []
        for word in own:
            words.setdefault(fold(word), set()).add(name)
    return words


def code(text: str | None) -> str | None:
    """A seat or shaft end as it is compared; None where it is not known."""
    if text is None:
        return None
    folded = re.sub(r"[\s_-]", "", text.casefold())
    return None if folded in NOT_KNOWN or not re.search(r"\w", folded) else folded


def basic_number(text: str) -> str | None:
    """The basic number of a bearing; None where the text says nothing."""
    found = re.match(r"\d+(/\d+)?", text.strip())
    return found.group() if found else None


def weaker(*evidence: str) -> str:
    """The weakest evidence."""
    return min(evidence, key=STRENGTH.__getitem__)


def told(record: Record, *data: str) -> str:
    """Stated, or measured where the record says that all of DATA were."""
    return "measured" if set(data) <= set(record.get("measured") or []) else "stated"


def settled(vouched: Vouched, where: str) -> tuple[str, str]:
    """Nothing is known: a set vouched here fits with that evidence, else it is unproven."""
    met[f"{where}: not known, {'vouched ' + vouched.evidence if vouched.evidence else 'open'}"] += 1
    return (FITS, vouched.evidence) if vouched.evidence else (UNPROVEN, "none")


def against(vouched: Vouched, where: str) -> tuple[str, str]:
    """Data speak against it: ruled out, unless a trial vouches for it here."""
    met[f"{where}: against{' a trial' if vouched.by_trial else ''}"] += 1
    return (UNPROVEN if vouched.by_trial else RULED_OUT), "none"
