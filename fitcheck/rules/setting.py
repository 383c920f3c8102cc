"""The gearbox a set is judged against: a family, a housing if known, and its train's stages."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from functools import lru_cache

from fitcheck.catalogue.reader import Catalogue, Entry
from fitcheck.diagnostics.finding import DocumentPath
from fitcheck.model.family import Family
from fitcheck.model.fields import Stage
from fitcheck.model.gear_set import FitClaim, GearSet
from fitcheck.model.machine import Machine

_DASHES_AND_SPACES = re.compile(r"[\s_\-\u2010-\u2015\u2212]+")
_NO_CODE = frozenset(
    {"unknown", "notknown", "n/a", "n.a.", "n.a", "na", "none", "tba", "tbc", "tbd"}
)


@lru_cache(maxsize=1 << 16)
def plain_word(word: str) -> str:
    """A name without case, accents, spaces and marks, for comparing words of lists."""
    # An accent stands by itself after this and is no letter.
    return re.sub(r"[\W_]+", "", unicodedata.normalize("NFKD", word).casefold())


@lru_cache(maxsize=1 << 16)
def plain_code(code: str | None) -> str | None:
    """A seat or shaft-end code for comparing: case, spaces and dashes do not count, marks do.

    Returns:
        The plain code, or None for what is not given or says nothing, such as `?` or `unknown`:
        two of these are not the same seat.
    """
    if code is None:
        return None
    plain = _DASHES_AND_SPACES.sub("", unicodedata.normalize("NFKC", code).casefold())
    if plain in _NO_CODE or not any(character.isalnum() for character in plain):
        return None
    return plain


def model_words(catalogue: Catalogue) -> dict[str, frozenset[str]]:
    """Every plain name, alias and model word to the families it stands for.

    Words of suppliers' lists that somebody answered are known too, unless a family has them.
    """
    known = ListWords.of(catalogue)
    words = dict(known.of_families)
    for answers in known.answered.values():
        for plain, families in answers.items():
            words[plain] = words.get(plain, frozenset()) | families
    return {word: families for word, families in words.items() if families}


def _family_words(catalogue: Catalogue) -> dict[str, frozenset[str]]:
    """Plain names and aliases of families and models of their trains, to the families."""
    words: dict[str, set[str]] = {}
    for family_id, entry in catalogue.families.items():
        family = entry.record
        names = [family_id, family.name, *family.aliases]
        for train in family.factory_trains:
            names.extend(train.models)
        for name in names:
            words.setdefault(plain_word(name), set()).add(family_id)
    return {word: frozenset(families) for word, families in words.items()}


def _answered_words(
    catalogue: Catalogue, own: Mapping[str, frozenset[str]]
) -> dict[str, dict[str, frozenset[str]]]:
    """What was answered of the words of each supplier's list that no family has: by supplier."""
    found: dict[str, dict[str, frozenset[str]]] = {}
    for supplier_id, supplier in catalogue.suppliers.items():
        mapping = supplier.record.list_mapping
        for name, answered in mapping.model_words.items() if mapping is not None else ():
            plain = plain_word(name)
            if plain in own or (answered is not None and answered not in catalogue.families):
                continue
            answers = found.setdefault(supplier_id, {})
            families = frozenset() if answered is None else frozenset((answered,))
            answers[plain] = answers.get(plain, frozenset()) | families
    return found


@dataclass(frozen=True, slots=True)
class ListWords:
    """What the model words of suppliers' lists stand for.

    Attributes:
        of_families: plain names and aliases of families and models of their trains, to the
            families.
        answered: by supplier, what was answered of the words of its list that no family has; an
            empty set of families stands for the answer that it is none of those on file.
    """

    of_families: Mapping[str, frozenset[str]] = field(default_factory=dict)
    answered: Mapping[str, Mapping[str, frozenset[str]]] = field(default_factory=dict)

    @classmethod
    def of(cls, catalogue: Catalogue) -> ListWords:
        """The words of a catalogue."""
        own = _family_words(catalogue)
        return cls(own, _answered_words(catalogue, own))

    def families(self, word: str, supplier: str) -> frozenset[str] | None:
        """Families that a model word of a supplier's list stands for; None where nobody knows.

        One supplier's word is not another's, so only what was answered for its own list counts.
        """
        plain = plain_word(word)
        return self.of_families.get(plain, self.answered.get(supplier, {}).get(plain))

    def listed(self, record: GearSet) -> list[str]:
        """Families that the model words of a set's listing stand for, in their order, once each."""
        found = (self.families(word, record.supplier) for word in record.listed_for.models)
        return list(dict.fromkeys(id_ for families in found for id_ in sorted(families or ())))


@dataclass(frozen=True, slots=True)
class Setting:
    """What a fit is judged against.

    Attributes:
        family: the engine family.
        housing: id of the housing, or None while nobody has looked.
        stages: stages of the train from input shaft to wheel.
        words: what the model words of suppliers' lists stand for.
        unknown_make: stages whose gears on the machine are not known to be the factory's.
        machine: the machine's record, where it gives seats measured on it.
        given_seats: idler seats measured on it as whoever asks gives them, by joint; they override
            those of the record.
    """

    family: Entry[Family]
    housing: str | None
    stages: tuple[Stage, ...]
    words: ListWords = ListWords()
    unknown_make: frozenset[Stage] = frozenset()
    machine: Entry[Machine] | None = None
    given_seats: tuple[str, ...] = ()

    def claim(self, gear_set: GearSet) -> tuple[int, FitClaim] | None:
        """The claim on which the set's family rests: what vouches here, else the strongest."""
        vouching = self.vouching(gear_set)
        if vouching:
            return vouching[0]
        claims = [(i, c) for i, c in enumerate(gear_set.fits) if c.family == self.family.id]
        return max(claims, key=lambda one: one[1].evidence == "measured", default=None)

    def vouching(self, gear_set: GearSet) -> tuple[tuple[int, FitClaim], ...]:
        """The claims that vouch for the set here: for this very family and housing.

        While the housing is not known, the strongest for each housing that it may be.

        Returns:
            Positions and claims, the weakest first; empty where some housing has none.
        """
        found: dict[int, FitClaim] = {}
        for housing in [self.housing] if self.housing is not None else self.family.record.housings:
            best: tuple[int, FitClaim] | None = None
            for index, claim in enumerate(gear_set.fits):
                if claim.family != self.family.id or housing not in claim.housings:
                    continue
                if best is None or (claim.evidence, best[1].evidence) == ("measured", "stated"):
                    best = (index, claim)
            if best is None:
                return ()
            found[best[0]] = best[1]
        return tuple(sorted(found.items(), key=lambda one: one[1].evidence == "measured"))

    def measured_seat(self, joint: int) -> str | None:
        """The idler seat measured on the machine at a joint, as written, or None."""
        if joint < len(self.given_seats) and plain_code(self.given_seats[joint]) is not None:
            return self.given_seats[joint]
        seats = [] if self.machine is None else self.machine.record.idler_seats
        seat = seats[joint] if joint < len(seats) else None
        return None if plain_code(seat) is None else seat

    def tip_limits(self, stage: Stage) -> list[tuple[DocumentPath, Decimal] | None]:
        """The casing's tip clearance for a stage and where it stands in the family's record.

        Of the known housing, or of each housing that it may be; None where none is on file.
        """
        family = self.family.record
        general = family.stages[stage].max_tip_diameter_mm if stage in family.stages else None
        limits: list[tuple[DocumentPath, Decimal] | None] = []
        for housing_id in [self.housing] if self.housing is not None else family.housings:
            housing = family.housings.get(housing_id)
            own = housing.max_tip_diameter_mm.get(stage) if housing is not None else None
            if own is not None:
                limits.append((("housings", housing_id, "max_tip_diameter_mm", stage), own))
            elif general is not None:
                limits.append((("stages", stage, "max_tip_diameter_mm"), general))
            else:
                limits.append(None)
        return limits
