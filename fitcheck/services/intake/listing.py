"""What a row is listed for: models, families, housings, and what of it somebody vouches for.

Model words are information and prove nothing. A claim under `fits` is made only where the list
itself names one family by its own name or alias and a housing that the family has, both beyond
doubt.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from fitcheck.catalogue.reader import Catalogue
from fitcheck.diagnostics.suggest import or_list
from fitcheck.model.family import Housing
from fitcheck.rules.setting import plain_word
from fitcheck.services.intake.articles import Article
from fitcheck.services.intake.asking import NONE, Asker
from fitcheck.services.intake.name_likeness import UNKNOWN
from fitcheck.services.intake.names import CellMatch, Match, Names
from fitcheck.services.intake.wording import said_against, words_of

__all__ = ["Listed", "Listings"]


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
    fits: list[dict[str, object]] = field(default_factory=list)
    asked: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)


class Listings:
    """Reads what rows are listed for.

    Args:
        catalogue: the families.
        names: their names, and the supplier's words that are answered.
        housing_words: the supplier's words for housings, each to an id or None.
        asker: where questions go.
    """

    def __init__(
        self,
        catalogue: Catalogue,
        names: Names,
        housing_words: Mapping[str, str | None],
        asker: Asker,
    ) -> None:
        self._families = {id_: entry.record for id_, entry in catalogue.families.items()}
        self._names = names
        self._housing_words = {_key(word): given for word, given in housing_words.items()}
        self._asker = asker
        self._cells: dict[str, CellMatch] = {}
        self._housings = {
            id_: _housing_names(family.housings) for id_, family in self._families.items()
        }

    def prepare(self, articles: Sequence[Article]) -> None:
        """Match the models of all rows in bulk."""
        texts = dict.fromkeys(article.models for article in articles if article.models)
        self._cells.update(self._names.match_cells(texts))

    def of(self, articles: Sequence[Article], known: Sequence[str] = ()) -> Listed:
        """What the rows of one part are listed for.

        Args:
            articles: one row, or several that agree in all but their models.
            known: model words its entry has; where the rows say the same, nothing is asked.
        """
        found = Listed()
        own: list[Match] = []
        for article in articles:
            cell = self._cell(article)
            against = _against(article)
            # What is denied or doubted is nobody's statement.
            own += [] if against else [part for part in cell.parts if part.own_name]
            if _same_words([part.word for part in cell.parts], known):
                found.models += [part.word for part in cell.parts]
                found.families += cell.families
                continue
            if against and cell.parts:
                self._take_denied(found, article, cell, against)
                continue
            self._take(found, article, cell)
        found.models = list(dict.fromkeys(found.models))
        found.families = list(dict.fromkeys(found.families))
        self._take_wheel(found, articles)
        if len(found.families) == 1 and own and not found.asked:
            self._take_housing(found, articles[0], own)
        elif not found.families and (articles[0].housing or articles[0].housing_word.value):
            text = " ".join(_housing_text(articles[0]).split())
            found.notes.append(f"housing {text!r} left out: the row names no family it is of")
        return found

    # -- inside ----------------------------------------------------------------------------------

    def _cell(self, article: Article) -> CellMatch:
        if article.models_column:
            return self._cells[article.models]
        for text in (article.models, article.text):
            inside = self._names.names_inside(text) if text else []
            if inside:
                families = list(dict.fromkeys(m.family for m in inside if m.family))
                # A family's own name says less than a model of it that stands beside.
                return CellMatch(text, tuple(inside), tuple(families), "accepted", "")
        section = self._cells.get(article.models)
        if section is not None and section.answer != "none":
            return section
        return CellMatch("", (), (), "none", "the list names no model")

    def _take(self, found: Listed, article: Article, cell: CellMatch) -> None:
        families = list(cell.families)
        models = [part.word for part in cell.parts]
        if cell.answer == "review" or len(families) > 1:
            for part in cell.parts:
                if part.answer == "review":
                    found.asked.append(self._ask_model(article, part))
            if len(families) > 1 and not found.asked:
                families = self._several(found, article, cell)
                models = [part.word for part in cell.parts if part.family in (None, *families)]
        for part in cell.parts:
            if part.answer == "none" and not part.reason.endswith("before"):
                why = "" if part.reason == UNKNOWN else f": {part.reason}"
                found.notes.append(f"{part.word!r} is of no family here{why}")
        found.models += models
        found.families += families

    def _take_denied(self, found: Listed, article: Article, cell: CellMatch, against: str) -> None:
        """Models beside a word that denies or doubts: a person says which are meant."""
        texts = dict.fromkeys(each for each in (article.models, article.text) if each)
        about = repr(" | ".join(" ".join(each.split()) for each in texts))
        given = self._asker.answer("families", about, article.address)
        if given is None:
            found.asked.append(
                self._asker.ask(
                    "families",
                    about,
                    f"{about} denies or doubts something ({against!r}). For which families is "
                    "the part?",
                    article.models_cell,
                    dict.fromkeys([*cell.families, NONE]),
                )
            )
            return
        if given != NONE:
            families = list(cell.families) if given == "all" else given.split(", ")
            found.models += [part.word for part in cell.parts if part.family in families]
            found.families += families

    def _ask_model(self, article: Article, part: Match) -> str:
        near = [each.family for each in part.near]
        return self._asker.ask(
            "model",
            part.word,
            f"Which engine family is {part.word!r}? It is {part.reason}.",
            article.models_cell,
            [*dict.fromkeys(near), NONE],
        )

    def _several(self, found: Listed, article: Article, cell: CellMatch) -> list[str]:
        about = repr(" ".join(cell.text.split()))
        given = self._asker.answer("families", about, article.address)
        if given is not None:
            if given == NONE:
                return []
            return list(cell.families) if given == "all" else given.split(", ")
        named = ", ".join(f"{part.word} is {part.family}" for part in cell.parts if part.family)
        found.asked.append(
            self._asker.ask(
                "families",
                about,
                f"One cell, several families: {named}. For which are these parts?",
                article.models_cell,
                ["all", *cell.families, NONE],
            )
        )
        return list(cell.families)

    def _take_wheel(self, found: Listed, articles: Sequence[Article]) -> None:
        sizes: dict[int, None] = {}
        for article in articles:
            reading = article.wheel
            if reading.certain and reading.value:
                sizes.update(dict.fromkeys(reading.value))
            elif reading.status in ("review", "unreadable"):
                found.notes.append(
                    f"wheel size {reading.text.strip()!r} left out: {reading.reason}"
                )
        if len(sizes) == 1:
            found.wheel = next(iter(sizes))
        elif sizes:
            found.notes.append(f"wheel sizes {or_list(map(str, sizes))}: left out, one is kept")

    def _take_housing(self, found: Listed, article: Article, own: Sequence[Match]) -> None:
        """A claim, where the list names family and housing; a question where it nearly does."""
        family = found.families[0]
        names = self._housings[family]
        housings: list[str] = []
        reading = article.housing_word
        if article.housing or reading.status == "review":
            named = self._named_housings(family, article)
            if named is None:
                why = f" {reading.reason.capitalize()}." if reading.status == "review" else ""
                found.asked.append(
                    self._asker.ask(
                        "housing-word",
                        f"{_housing_text(article)} ({family})",
                        f"Which housing of {family} is {_housing_text(article)!r}?{why}",
                        article.housing_cell,
                        [*self._families[family].housings, NONE],
                    )
                )
                return
            housings = named
        else:
            words = [*(article.housing_word.value or ()), *(m.housing for m in own if m.housing)]
            housings = [names[word] for word in dict.fromkeys(words) if word in names]
            if len(housings) < len(set(words)):
                found.notes.append(f"{family} has no {or_list(words)} housing; nothing claimed")
                return
        if housings:
            found.fits = [{"family": family, "housings": list(dict.fromkeys(housings))}]

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


def _against(article: Article) -> str:
    """The word by which the models or the text of a row deny or doubt something."""
    # A name with a question mark is asked as a name.
    models = article.models.replace("?", " ") if article.models_column else article.models
    return said_against(models) or said_against(article.text)


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


def _same_words(one: Sequence[str], other: Sequence[str]) -> bool:
    return bool(one) and {plain_word(w) for w in one} == {plain_word(w) for w in other}
