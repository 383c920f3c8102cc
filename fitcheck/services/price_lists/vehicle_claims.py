"""What a row is listed for: models, families, wheel sizes; model words prove nothing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from fitcheck.catalogue.reader import Catalogue
from fitcheck.diagnostics.suggest import or_list
from fitcheck.model.gear_set import GearSet
from fitcheck.rules.setting import plain_word
from fitcheck.services.price_lists.articles import Article
from fitcheck.services.price_lists.housing_claims import HousingClaims, Listed
from fitcheck.services.price_lists.name_book import Match, Near
from fitcheck.services.price_lists.name_words import is_limited
from fitcheck.services.price_lists.names import UNKNOWN, CellMatch, Names
from fitcheck.services.price_lists.questions import NONE, Asker
from fitcheck.services.price_lists.wording.availability import read_availability
from fitcheck.services.price_lists.wording.reservations import said_against

_MOST_KEPT = 50_000
"""So many different texts are kept read."""


class Listings:
    """Reads what rows are listed for.

    Args:
        catalogue: the families.
        names: their names, and the supplier's words that are answered.
        housing_words: the supplier's words for housings, each to an id or None.
        asker: where questions go.
        file_name: the list's, without its ending; it may name a family.
    """

    def __init__(
        self,
        catalogue: Catalogue,
        names: Names,
        housing_words: Mapping[str, str | None],
        asker: Asker,
        *,
        file_name: str = "",
    ) -> None:
        self._file_name = file_name
        self._families = {id_: entry.record for id_, entry in catalogue.families.items()}
        self._names = names
        self._housings = HousingClaims(self._families, housing_words, asker)
        self._asker = asker
        self._texts: dict[str, list[Match]] = {}

    def of(self, articles: Sequence[Article], record: GearSet | None = None) -> Listed:
        """What the rows of one part are listed for.

        Args:
            articles: one row, or several that agree in all but their models.
            record: its entry, where there is one; for the same model words nothing is asked.
        """
        found = Listed()
        for article in articles:
            one = Listed()
            known = () if record is None else record.listed_for.models
            names = self._take_names(one, article, known)
            self._housings.take(one, article, names, record)
            found.add(one)
        found.models = list(dict.fromkeys(found.models))
        found.families = list(dict.fromkeys(found.families))
        self._take_wheel(found, articles)
        return found

    def families_of(self, article: Article) -> tuple[str, ...]:
        """The families that a row names for certain."""
        cell = self._cell(article)
        return cell.families if cell.answer == "accepted" else ()

    def may_mean(self, words: str) -> list[Near]:
        """The machines that words of a free text may name by the end of their names."""
        return self._names.shortened(words)

    # -- inside ----------------------------------------------------------------------------------

    def _take_names(self, found: Listed, article: Article, known: Sequence[str]) -> Sequence[Match]:
        """Take the names of a row; all of them, unless it denies or doubts something."""
        cell = self._cell(article)
        parts: Sequence[Match] = cell.parts
        against, said = _against(article)
        texts = list(dict.fromkeys(filter(None, (" ".join(article.models.split()), said))))
        if _same_words([part.word for part in cell.parts], known):
            found.models += [part.word for part in cell.parts]
            found.families += cell.families
        elif otherwise := self._named_otherwise(article, cell):
            texts, others = otherwise
            parts = [*cell.parts, *(part for part in self._inside(texts[1]))]
            about = repr(" | ".join(texts))
            text = (
                f"{texts[0]!r} names {or_list(cell.families)}, {texts[1]!r} names "
                f"{or_list(others)}. For which families is the part?"
            )
            choices = ["all", *cell.families, *others]
            self._take_doubtful(found, article, parts, (about, text), choices)
        elif against and cell.parts and (not said or self._inside(said)):
            about = repr(" | ".join(texts))
            text = (
                f"{about} denies or doubts something ({against!r}). For which families is the part?"
            )
            inside = [match for part in cell.parts for match in self._inside(part.word)]
            near = [each.family for part in cell.parts for each in part.near]
            named = [*cell.families, *(match.family for match in inside if match.family), *near]
            self._take_doubtful(found, article, cell.parts, (about, text), named)
            if len(texts) == 1 and not found.asked:
                found.words.append(texts[0])
        else:
            self._take(found, article, cell)
        # What is denied or doubted is nobody's statement, nor what is said of some years only.
        return () if against or any(is_limited(part.word) for part in parts) else parts

    def _named_otherwise(
        self, article: Article, cell: CellMatch
    ) -> tuple[list[str], list[str]] | None:
        """Two texts of a row that name different families, and those of the second.

        A column of models, or a heading, is held against all other texts of the row; what the text
        alone names, against the names of the file and the sheet.
        """
        if not cell.families:
            return None
        beside: Sequence[object] = (article.layout.sheet.name, self._file_name)
        if article.models:
            values = article.layout.sheet.values[article.row - 1]
            unread = (number for number, _ in article.layout.others if number <= len(values))
            beside = [article.text, *(values[number - 1] for number in unread)]
        for text in beside:
            named = [
                match.family
                for match in (self._inside(text) if isinstance(text, str) and text else ())
                if match.family is not None and (match.own_name or " " in match.word)
            ]
            others = [each for each in dict.fromkeys(named) if each not in cell.families]
            if others and (article.models or len(others) == len(set(named))):
                # Once for all rows of a file that name the same.
                first = article.models or ", ".join(part.word for part in cell.parts)
                return [" ".join(each.split()) for each in (first, str(text))], others
        return None

    def _inside(self, text: str) -> list[Match]:
        """Names inside a free text; texts that come again are not read again."""
        found = self._texts.get(text)
        if found is None:
            found = self._names.names_inside(text)
            if len(self._texts) < _MOST_KEPT:
                self._texts[text] = found
        return found

    def _cell(self, article: Article) -> CellMatch:
        if article.models_column:
            return self._names.match_cell(article.models)
        for text in (article.models, article.text):
            inside = self._inside(text) if text else []
            if inside:
                families = list(dict.fromkeys(m.family for m in inside if m.family))
                # A family's own name says less than a model of it that stands beside.
                return CellMatch(text, tuple(inside), tuple(families), "accepted")
        section = self._names.match_cell(article.models)
        if section.answer != "none":
            return section
        return CellMatch("", (), (), "none")

    def _take(self, found: Listed, article: Article, cell: CellMatch) -> None:
        for part in cell.parts:
            if part.answer == "review":
                found.asked.append(self._ask_model(article, part))
            elif part.answer == "none" and not part.reason.endswith("before"):
                why = "" if part.reason == UNKNOWN else f": {part.reason}"
                found.notes.append(f"{part.word!r} belongs to no family here{why}")
        if len(cell.families) > 1 and not found.asked:
            named = ", ".join(f"{part.word} is {part.family}" for part in cell.parts if part.family)
            text = f"One cell, several families: {named}. For which are these parts?"
            asks = repr(" ".join(cell.text.split())), text
            self._take_doubtful(found, article, cell.parts, asks, ["all", *cell.families])
        else:
            found.models += [part.word for part in cell.parts]
            found.families += cell.families

    def _take_doubtful(
        self,
        found: Listed,
        article: Article,
        parts: Sequence[Match],
        asks: tuple[str, str],
        choices: Sequence[str],
    ) -> None:
        """Models that a row doubts or contradicts: a person says which are meant.

        Args:
            found: what is taken.
            article: the row.
            parts: the names in it.
            asks: what the question is about, and its text.
            choices: families that it may be; `all` before them where nothing denies one, so that
                a name of no family here goes with any.
        """
        possible = [each for each in choices if each != "all"]
        families = self._read_answer(asks[0], article, possible)
        if families is None:
            options = dict.fromkeys([*choices, NONE])
            key = self._asker.ask("families", *asks, article.models_cell, options)
            found.asked.append(key)
            found.families += possible
            return
        named = {part.family for part in parts}
        kept = families if possible == [*choices] else [None, *families]
        found.models += [part.word for part in parts if part.family in kept]
        # A family that no word of the row stands for is written by its own name.
        found.models += [self._families[each].name for each in families if each not in named]
        found.families += families

    def _read_answer(
        self, about: str, article: Article, possible: Sequence[str]
    ) -> list[str] | None:
        """Families that were answered; None where nobody has, or by a name that is none."""
        given = self._asker.answer("families", about, article.address)
        if given is None or given == NONE:
            return None if given is None else []
        families = list(possible) if given == "all" else given.split(", ")
        return families if families and set(families) <= set(self._families) else None

    def _ask_model(self, article: Article, part: Match) -> str:
        near = [each.family for each in part.near]
        text = f"Which engine family is {part.word!r}? It is {part.reason}."
        choices = [*dict.fromkeys(near), NONE]
        return self._asker.ask("model", part.word, text, article.models_cell, choices)

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


def _against(article: Article) -> tuple[str, str]:
    """The word by which a row denies or doubts something, and the text beside the models it is in.

    A remark that nothing is in stock denies nothing of the part.
    """
    # A name with a question mark is asked as a name.
    models = article.models.replace("?", " ") if article.models_column else article.models
    if word := said_against(models):
        return word, ""
    if said_against(article.bare_name):
        return said_against(article.name), article.name
    if not article.remark or read_availability(article.remark).certain:
        return "", ""
    return said_against(article.remark), article.remark


def _same_words(one: Sequence[str], other: Sequence[str]) -> bool:
    return bool(one) and {plain_word(w) for w in one} == {plain_word(w) for w in other}
