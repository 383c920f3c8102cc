"""Housings that a row names: the claim that its supplier makes with them, or the question.

A claim is made only where the list itself names one family by its own name or alias and a housing
that the family has, both beyond doubt. Beside models alone it is one where each of them has that
housing from the factory; else a person says whether it is one.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from fitcheck.diagnostics.suggest import or_list
from fitcheck.model.family import Family, Housing
from fitcheck.model.gear_set import GearSet
from fitcheck.rules.setting import plain_word
from fitcheck.services.price_lists.articles import Article
from fitcheck.services.price_lists.name_book import Match
from fitcheck.services.price_lists.name_words import NO_HOUSING, housings_of
from fitcheck.services.price_lists.questions import NONE, Asker
from fitcheck.services.price_lists.wording.readings import fold, words_of
from fitcheck.services.price_lists.wording.reservations import said_against
from fitcheck.services.price_lists.wording.sizes import (
    HousingWord,
    doubt_about_sizes,
    find_housings,
    find_odd_sign,
    sizes_in,
)


@dataclass(slots=True)
class Listed:
    """What a row, or several of one part, is listed for.

    Attributes:
        models: model words as the list writes them.
        families: families they stand for.
        wheel: rim size, inches, where it is one.
        fits: the claim the list makes, as the record has it; empty where it makes none.
        asked: keys of questions that are open.
        notes: what was left out, and why.
        words: the list's own words, where an answer says what they stand for.
    """

    models: list[str] = field(default_factory=list)
    families: list[str] = field(default_factory=list)
    wheel: int | None = None
    fits: list[dict[str, Any]] = field(default_factory=list)
    asked: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    words: list[str] = field(default_factory=list)

    def add(self, other: Listed) -> None:
        """Take in what another row of the same part is listed for."""
        self.models += other.models
        self.families += other.families
        self.asked += other.asked
        self.words += [words for words in other.words if words not in self.words]
        self.notes += [note for note in other.notes if note not in self.notes]
        for claim in other.fits:
            same = next((each for each in self.fits if each["family"] == claim["family"]), None)
            if same is None:
                self.fits.append(claim)
            else:
                both = [*same["housings"], *claim["housings"]]
                same["housings"] = list(dict.fromkeys(both))


BESIDE_MODELS = " beside models"
"""Marks what is asked about a housing that stands beside models and no family by name."""


@dataclass(frozen=True, slots=True)
class Said:
    """What one text of a row says of housings.

    Attributes:
        text: the words.
        sizes: what they mean, or may mean.
        doubt: why they may not be meant as they stand, or empty.
    """

    text: str
    sizes: tuple[HousingWord, ...]
    doubt: str = ""


class HousingClaims:
    """Reads the housings that rows name.

    Args:
        families: by id.
        housing_words: the supplier's words for housings, each to ids with commas between, to
            `all`, or to None.
        asker: where questions go.
    """

    def __init__(
        self,
        families: Mapping[str, Family],
        housing_words: Mapping[str, str | None],
        asker: Asker,
    ) -> None:
        self._families = families
        self._housing_words = {_key(word): given for word, given in housing_words.items()}
        self._asker = asker
        self._names = {id_: _housing_names(each.housings) for id_, each in families.items()}
        self._factory = {id_: _factory_housings(each) for id_, each in families.items()}

    def take(
        self, found: Listed, article: Article, names: Sequence[Match], record: GearSet | None
    ) -> None:
        """A claim, where the list names family and housing; a question where it nearly does.

        Args:
            found: what the row is listed for, its families known; the claim goes there.
            article: the row.
            names: the names in it.
            record: the part's entry, where there is one.
        """
        if found.asked:
            return
        said = _said_by_row(article)
        if not said and not any(each.own_name and each.housings != NO_HOUSING for each in names):
            return
        left_out = not found.families
        known = all(match.family for match in names)
        for family in found.families:
            named = [match for match in names if match.family == family]
            own = [match for match in named if match.own_name]
            if own and (all_said := [*said, *_said_by_names(own)]):
                self._take_own(found, article, family, all_said)
            elif said and not own:
                models = named if known else []
                self._take_beside_models(found, article, (family, models), said, record)
            left_out = left_out or not (own or any(e["family"] == family for e in found.fits))
        if said and left_out and len(found.families) != 1:
            of = or_list(found.families).replace(" or ", " and ")
            why = f"the row is of {of}" if of else "the row names no family it is of"
            found.notes.append(f"housing {said[0].text!r} left out: {why}")
        if not found.families and article.housing:
            self._ask_of_no_family(found, article, said[0])

    def _take_own(self, found: Listed, article: Article, family: str, said: Sequence[Said]) -> None:
        """Claim the housings of a row that names its family by the family's own name.

        Args:
            found: the claim or the question goes there.
            article: the row.
            family: id of the family.
            said: what the texts of the row say, the first before the others.
        """
        first, *others = said
        housings = self._meant(family, first)
        if housings is None and not (article.housing or first.doubt):
            sizes = or_list(first.sizes)
            found.notes.append(f"{family} has no {sizes} housing; nothing claimed")
        elif housings is None:
            lacks = f"{family} has no {or_list(first.sizes)} housing" if first.sizes else ""
            why = first.doubt or lacks
            why = f" {why[:1].upper()}{why[1:]}." if first.sizes else ""
            text = f"Which housing of {family} is {first.text!r}?{why}"
            self._ask(found, article, family, first, text)
        elif housings:
            against = [
                each for each in others if not {*(self._meant(family, each) or [""])} <= {*housings}
            ]
            if against:
                told = f"{first.text} and {', '.join(each.text for each in against)}"
                both = Said(told, (), "the row says both")
                housings = self._meant(family, both)
                if housings is None:
                    text = f"The row says {told!r}. For which housing of {family} is the part?"
                    self._ask(found, article, family, both, text)
            if housings:
                found.fits.append({"family": family, "housings": housings})

    def _take_beside_models(
        self,
        found: Listed,
        article: Article,
        of: tuple[str, Sequence[Match]],
        said: Sequence[Said],
        record: GearSet | None,
    ) -> None:
        """The housing of a row that names models of a family only.

        It is a claim where the models have it from the factory; else a person says whether it is.
        """
        family, models = of
        first = said[0]
        beside = replace(first, text=f"{first.text}{BESIDE_MODELS}", doubt=first.doubt or "models")
        housings = self._meant(family, beside)
        if housings is None:
            housings = self._of_models(family, models, said)
        if housings:
            found.fits.append({"family": family, "housings": housings})
        if housings is not None or len(found.families) != 1:
            return
        meant = self._meant(family, first)
        if record is not None and meant and _is_claimed(record, family, meant):
            return
        text = (
            f"{first.text!r} stands beside models of {family} only. For which housing "
            f"of {family} does the list state the part?"
        )
        self._ask(found, article, family, beside, text)

    def _of_models(
        self, family: str, models: Sequence[Match], said: Sequence[Said]
    ) -> list[str] | None:
        """The housings said, where each model has one of them from the factory and none is left."""
        meant = [self._meant(family, each) or [] for each in said]
        first = {*meant[0]}
        if not models or any({*each} != first for each in meant):
            return None
        has = [self._factory[family].get(plain_word(each.name), set()) for each in models]
        agree = all(first & each for each in has) and first <= set().union(*has)
        return meant[0] if agree else None

    def _ask_of_no_family(self, found: Listed, article: Article, said: Said) -> None:
        """Ask about a housing cell that leaves a doubt, though the row claims nothing by it."""
        if not said.doubt or _key(said.text) in self._housing_words:
            return
        text = f"The row names no family. What does {said.text!r} say of its housing?"
        where = article.where(article.housing_field)
        found.asked.append(self._asker.ask("housing-word", said.text, text, where, [NONE]))

    def _ask(self, found: Listed, article: Article, family: str, said: Said, text: str) -> None:
        """Ask what words for a housing mean.

        Words for a size once for all families; other words, what is denied and a size that the
        family does not have may be another housing in each. So may words whose answer for others
        does not hold for this one.
        """
        is_answered = _key(said.text) in self._housing_words or self._answers(said)
        likely = self._sized(family, said.sizes) or []
        apart = is_answered or not (likely and _is_of_all(said))
        about = f"{said.text} ({family})" if apart else said.text
        text += "" if apart else " The answer holds for all families that have it."
        has = self._families[family].housings
        choices = [*filter(None, [", ".join(likely)]), *has, *["all"][: len(has) - 1], NONE]
        where = article.where(article.housing_field) if article.housing else article.address
        found.asked.append(
            self._asker.ask("housing-word", about, text, where, dict.fromkeys(choices))
        )

    def _meant(self, family: str, said: Said) -> list[str] | None:
        """Ids of the housings that words mean; none where they say nothing; None: ask."""
        abouts = (f"{said.text} ({family})", said.text) if self._housing_words else ()
        answers = [self._housing_words.get(_key(about), "") for about in abouts]
        for given in (*answers, *self._answers(said)):
            housings = None if given is None else self._ids(family, given)
            if given is None or housings:
                return housings or []
        known = self._names[family].get(plain_word(said.text))
        if known and not said_against(said.text) and not find_odd_sign(fold(said.text)):
            return [known]
        return None if said.doubt else self._sized(family, said.sizes)

    def _answers(self, said: Said) -> list[str | None]:
        """The answer given for words for a size beside other families, where it is the same."""
        words = self._housing_words
        if not (words and _is_of_all(said)):
            return []
        keys = (_key(f"{said.text} ({family})") for family in self._families)
        given = list(dict.fromkeys(words[key] for key in keys if key in words))
        return given if len(given) == 1 else []

    def _ids(self, family: str, given: str) -> list[str] | None:
        """The housings of an answer; None where it names one that the family does not have."""
        has = self._families[family].housings
        ids = list(has) if given == "all" else given.split(", ")
        return ids if {*ids} <= has.keys() else None

    def _sized(self, family: str, sizes: Iterable[HousingWord]) -> list[str] | None:
        """The housings of some sizes; None where the family has not all of them."""
        has = self._families[family].housings
        found: list[str] = []
        for size in sizes:
            if size == "all" or (size == "both" and len(has) == 2):
                found += has
            elif (id_ := self._names[family].get(size)) is not None:
                found.append(id_)
            else:
                return None
        return list(dict.fromkeys(found)) or None


def _is_of_all(said: Said) -> bool:
    """Whether words for a housing that leave a doubt mean the same in every family."""
    return bool(said.sizes and said.doubt) and not said_against(said.text)


def _said_by_row(article: Article) -> list[Said]:
    """What the column of housings, or free text, says; and what free text says beside it."""
    reading, named = article.housing_word, article.named_housing
    said = []
    if article.housing or reading.status in ("read", "review"):
        text = article.housing or _doubtful_words(reading.text)
        sizes = reading.value or next(iter(reading.candidates), ())
        said.append(Said(text, sizes, "" if reading.certain else reading.reason))
    return [*said, Said(", ".join(named), named)] if named else said


def _doubtful_words(text: str) -> str:
    """The words for a housing in a free text that leave a doubt; the text where they leave none."""
    folded = fold(text)
    return housings_of(folded, find_housings(folded)).unsure or text.strip()


def _said_by_names(own: Iterable[Match]) -> list[Said]:
    """What the names of a family say of its housings."""
    sizes = dict.fromkeys(size for match in own for size in match.housings.words)
    doubtful = dict.fromkeys(match.housings.unsure for match in own if match.housings.unsure)
    said = [Said(each, sizes_in(each), doubt_about_sizes(each) or "unsure") for each in doubtful]
    return [*said, Said(", ".join(sizes), tuple(sizes))] if sizes else said


def _key(text: str) -> str:
    """A word to look up answers by; one in question is another than the plain one."""
    return words_of(text) + (" ?" if "?" in text else "")


def _housing_names(housings: Mapping[str, Housing]) -> dict[str, str]:
    """Plain names and aliases of housings to their ids; what two share is left out."""
    names: dict[str, set[str]] = {}
    for id_, housing in housings.items():
        known = [id_, housing.name, *housing.aliases]
        # `short case` is what a list means by `short`.
        known += [name.lower().removesuffix(" case") for name in known]
        for name in known:
            names.setdefault(plain_word(name), set()).add(id_)
    return {name: next(iter(ids)) for name, ids in names.items() if len(ids) == 1 and name}


def _factory_housings(family: Family) -> dict[str, set[str]]:
    """Plain names of models to the housings they have from the factory."""
    found: dict[str, set[str]] = {}
    for train in family.factory_trains:
        for model in train.models:
            found.setdefault(plain_word(model), set()).add(train.housing)
    return found


def _is_claimed(record: GearSet, family: str, housings: Sequence[str]) -> bool:
    """Whether an entry is stated for all of some housings already."""
    has = {each for claim in record.fits if claim.family == family for each in claim.housings}
    return set(housings) <= has
