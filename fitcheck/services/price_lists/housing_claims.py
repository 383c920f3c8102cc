"""Housings that a row names: the claim that its supplier makes with them, or the question.

A claim is made only where the list itself names one family by its own name or alias and a housing
that the family has, both beyond doubt; beside models alone a person says whether it is one.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from fitcheck.diagnostics.suggest import or_list
from fitcheck.model.family import Family, Housing
from fitcheck.model.gear_set import GearSet
from fitcheck.rules.setting import plain_word
from fitcheck.services.price_lists.articles import Article
from fitcheck.services.price_lists.name_book import Match
from fitcheck.services.price_lists.questions import NONE, Asker
from fitcheck.services.price_lists.wording.readings import words_of
from fitcheck.services.price_lists.wording.reservations import said_against


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
    """

    models: list[str] = field(default_factory=list)
    families: list[str] = field(default_factory=list)
    wheel: int | None = None
    fits: list[dict[str, Any]] = field(default_factory=list)
    asked: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)

    def add(self, other: Listed) -> None:
        """Take in what another row of the same part is listed for."""
        self.models += other.models
        self.families += other.families
        self.asked += other.asked
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


class HousingClaims:
    """Reads the housings that rows name.

    Args:
        families: by id.
        housing_words: the supplier's words for housings, each to an id or None.
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
        self._housings = {id_: _housing_names(each.housings) for id_, each in families.items()}

    def take(
        self, found: Listed, article: Article, own: Sequence[Match], record: GearSet | None
    ) -> None:
        """A claim, where the list names family and housing; a question where it nearly does.

        Args:
            found: what the row is listed for, its families known; the claim goes there.
            article: the row.
            own: names in it that are a family's own.
            record: the part's entry, where there is one.
        """
        if found.asked:
            return
        own = [match for match in own if match.family in found.families]
        said = bool(article.housing or article.housing_word.value)
        said = said or article.housing_word.status == "review"
        if len(found.families) == 1 and own:
            self._take_own(found, article, own)
        elif len(found.families) == 1 and said:
            self._take_beside_models(found, article, record)
        elif said:
            text = " ".join(_housing_text(article).split())
            why = (
                f"the row is of {or_list(found.families).replace(' or ', ' and ')}"
                if found.families
                else "the row names no family it is of"
            )
            found.notes.append(f"housing {text!r} left out: {why}")

    def _take_own(self, found: Listed, article: Article, own: Sequence[Match]) -> None:
        """The housings of a row that names its family by the family's own name."""
        family = found.families[0]
        names = self._housings[family]
        reading = article.housing_word
        if article.housing or reading.status == "review":
            housings = self._named_housings(family, article)
            if housings is None:
                why = f" {reading.reason.capitalize()}." if reading.status == "review" else ""
                text = f"Which housing of {family} is {_housing_text(article)!r}?{why}"
                self._ask_housing(found, article, family, "", text)
                return
        else:
            words = list(reading.value or (m.housing for m in own if m.housing))
            housings = [names[word] for word in dict.fromkeys(words) if word in names]
            if len(housings) < len(set(words)):
                found.notes.append(f"{family} has no {or_list(words)} housing; nothing claimed")
                return
        named = [*article.named_housing, *(m.housing for m in own if m.housing)]
        self._claim(found, article, family, housings, named)

    def _claim(
        self,
        found: Listed,
        article: Article,
        family: str,
        housings: Sequence[str],
        named: Sequence[str],
    ) -> None:
        """Claim housings, unless other words of the row name others.

        Args:
            found: the claim or the question goes there.
            article: the row.
            family: id of the family.
            housings: ids, as the column of housings says, or the first words that do.
            named: what other words of the row say: short, mid, long.
        """
        if not housings:
            return
        names = self._housings[family]
        others = [word for word in dict.fromkeys(named) if names.get(word) not in housings]
        if not others:
            found.fits = [{"family": family, "housings": list(dict.fromkeys(housings))}]
            return
        said = f"{_housing_text(article)} and {', '.join(others)}"
        given = self._housing_words.get(_key(f"{said} ({family})"), "")
        if given == "":
            text = f"The row says {said!r}. For which housing of {family} is the part?"
            self._ask(found, article, family, f"{said} ({family})", text)
        elif given in self._families[family].housings:
            found.fits = [{"family": family, "housings": [given]}]

    def _take_beside_models(self, found: Listed, article: Article, record: GearSet | None) -> None:
        """The housing of a row that names models only: a person says whether it is a statement."""
        family = found.families[0]
        word = _key(f"{_housing_text(article)}{BESIDE_MODELS} ({family})")
        if word in self._housing_words:
            given = self._housing_words[word]
            if given in self._families[family].housings:
                found.fits = [{"family": family, "housings": [given]}]
            return
        meant = self._named_housings(family, article)
        if record is not None and meant and _is_claimed(record, family, meant):
            return
        text = (
            f"{_housing_text(article)!r} stands beside models of {family} only. For which housing "
            f"of {family} does the list state the part?"
        )
        self._ask_housing(found, article, family, BESIDE_MODELS, text)

    def _ask_housing(
        self, found: Listed, article: Article, family: str, beside: str, text: str
    ) -> None:
        self._ask(found, article, family, f"{_housing_text(article)}{beside} ({family})", text)

    def _ask(self, found: Listed, article: Article, family: str, about: str, text: str) -> None:
        choices = [*self._families[family].housings, NONE]
        where = article.housing_cell if article.housing else article.address
        found.asked.append(self._asker.ask("housing-word", about, text, where, choices))

    def _named_housings(self, family: str, article: Article) -> list[str] | None:
        """Ids of the housings a cell names; none for a word that says nothing; None: ask."""
        names = self._housings[family]
        text = _housing_text(article)
        # An answer for this family goes before one for all.
        for word in (_key(f"{text} ({family})"), _key(text)):
            if word in self._housing_words:
                given = self._housing_words[word]
                if given is None:
                    return []
                if given in self._families[family].housings:
                    return [given]
        plain = plain_word(text)
        if plain in names and not said_against(text):
            return [names[plain]]
        if article.housing_word.certain and article.housing_word.value:
            found = [names.get(each) for each in article.housing_word.value]
            if all(found):
                return [each for each in found if each]
        return None


def _housing_text(article: Article) -> str:
    """What names the housing: the column's cell, else the text of the row."""
    return article.housing or article.housing_word.text.strip()


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


def _is_claimed(record: GearSet, family: str, housings: Sequence[str]) -> bool:
    """Whether an entry is stated for all of some housings already."""
    has = {each for claim in record.fits if claim.family == family for each in claim.housings}
    return set(housings) <= has
