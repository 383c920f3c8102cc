"""What of a row's words nobody claims: a row is taken only where every word of it is explained.

A reader claims the words it understands: teeth, stage, housing, family, wheel, stock, the part
number. Words known to be harmless, or taught to be, explain the rest; what is left over is asked
about. So a word that no list of ours holds can raise a question, but never slip in.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping, Sequence
from functools import lru_cache
from itertools import chain
from typing import NamedTuple

from fitcheck.kernel.teeth import Pair
from fitcheck.model.fields import Stage
from fitcheck.services.price_lists.articles import MARKS, Article
from fitcheck.services.price_lists.headings.columns import (
    DENYING,
    DEVIATING,
    EXTRA_CHARGES,
    NO_FIELD,
    is_silent,
)
from fitcheck.services.price_lists.headings.layout import Layout
from fitcheck.services.price_lists.name_book import NameBook
from fitcheck.services.price_lists.name_words import key_of
from fitcheck.services.price_lists.questions import ALWAYS_HARMLESS, HARMLESS, LEFT_OUT, clean_text
from fitcheck.services.price_lists.wording import cues
from fitcheck.services.price_lists.wording.amounts import DISPLACEMENT, amounts_said
from fitcheck.services.price_lists.wording.availability import stock_spans, words_of_stock
from fitcheck.services.price_lists.wording.harmless import (
    ELIDED,
    NEVER,
    VARIANTS,
    Span,
    accessory_spans,
    figure_spans,
    goods_spans,
    is_harmless,
    is_idle_letter,
    line_spans,
    never_in,
    says_nothing,
)
from fitcheck.services.price_lists.wording.pairs import find_pairs, ratio_spans
from fitcheck.services.price_lists.wording.prices import pack_in, pack_spans
from fitcheck.services.price_lists.wording.readings import fold, phrases, words_of
from fitcheck.services.price_lists.wording.reservations import NUMBER_OF, limiting_spans
from fitcheck.services.price_lists.wording.sizes import housing_spans, wheel_spans
from fitcheck.services.price_lists.wording.stages import find_stages, stage_spans
from fitcheck.services.price_lists.wording.tokens import chains_of, clean, mark_spans, tokens_of

_TOKEN = re.compile(rf"(?:{ELIDED})'(?=[^\W\d_])|[^\W\d_]+|[0-9]+(?:[.,][0-9]+)*|[^\w\s]|_")
_NAME_TOKEN = re.compile(rf"(?:{ELIDED})'(?=[^\W\d_])|[^\W\d_]+|[0-9]+")
_LETTERS = re.compile(r"[a-z]+")
_ONLY = "|".join(sorted(cues.ONLY_WORDS))
_ONLY_BEFORE = re.compile(rf"(?<![a-z])(?:{_ONLY})(?:\s(?:for|fur|fuer|per|pour|para))?\s$")
_ONLY_BEHIND = re.compile(rf"\s(?:{_ONLY})(?![a-z])")
_JOINED = re.compile(
    rf"(?<![0-9.,/])([0-9]+) ?(?:{'|'.join(map(re.escape, sorted(cues.JOINED_WORDS)))}) ?([0-9]+)"
    r"(?![0-9.,/])"
)
_SPEAK_OF_GEARS = cues.GEAR_WORDS | cues.TEETH_WORDS | cues.PINION_WORDS | cues.WHEEL_GEAR_WORDS
# A pair in a column that is not read, unless it has the old teeth or the maker's. Common practice.
_BESIDE_PAIR = re.compile(r"(?<![0-9.,/:x-])[0-9]{1,2} ?[/:x] ?[0-9]{2}(?![0-9]|[.,/:x-] ?[0-9])")
# Nothing is charged on top: common practice, no source.
_NOTHING = re.compile(
    r"[0.,€$%+ -]*(?:eur|nein|nessuno|aucun|ninguno|none|no|keine?)?\.?", re.IGNORECASE
)
_MOST_KEPT = 50_000
_CODE = 3
"""A word of no more letters in a column of codes says nothing."""


class Left(NamedTuple):
    """Words that nothing explains.

    Attributes:
        said: from the first to the last of them, as written.
        text: the text they stand in.
        column: number of its column; 0 for another place.
        is_left_out: whether one of them is a word whose rows the shop leaves out.
    """

    said: str
    text: str
    column: int = 0
    is_left_out: bool = False

    @property
    def is_taught(self) -> bool:
        """Whether an answer holds in all texts: not for a number, a sign, a denial or a limit."""
        words = _LETTERS.findall(fold(self.said))
        return any(len(word) > 1 for word in words) and "?" not in self.said and not never_in(words)


class _Beside(NamedTuple):
    """A column that none of our fields is read from: its number, heading, and what it may hold."""

    column: int
    heading: str
    words: str
    is_code: bool


class Claims:
    """Finds the words of rows that nothing explains.

    Args:
        book: the names of the families.
        stage_words: the supplier's words for stages.
        words: other words of the supplier, each to what it says.
        supplier: its name and id, which say nothing in a heading.
        currency: the supplier's.
        families_of: the families that a row names for certain.
    """

    def __init__(
        self,
        book: NameBook,
        stage_words: Mapping[str, Stage],
        words: Mapping[str, str] | None = None,
        supplier: Sequence[str] = (),
        *,
        currency: str = "",
        families_of: Callable[[Article], Iterable[str]] = lambda _: (),
    ) -> None:
        self._book = book
        self._currency = currency
        self._families_of = families_of
        self._first_words = {parts[0] for parts in book.tokens.values()}
        self._stage_words = stage_words
        self._own_stages = {fold(word).strip() for word in stage_words}
        taught = {fold(word).strip(): meant for word, meant in (words or {}).items()}
        said = (HARMLESS, ALWAYS_HARMLESS, LEFT_OUT)
        self._meant = {word: meant for word, meant in taught.items() if meant not in said}
        harmless = (word for word, meant in taught.items() if meant in said[:2])
        self._explained = {w for w in harmless if not never_in(words_of(w).split())}
        self._harmless = phrases(self._explained)
        self._supplier = phrases(_words_of_name(supplier))
        self._left_out = phrases(word for word, meant in taught.items() if meant == LEFT_OUT)
        self._left = lru_cache(maxsize=1 << 14)(self._find_left)
        self._beside: dict[int, tuple[_Beside, ...]] = {}
        self._explained_rows: dict[Hashable, tuple[str, tuple[object, ...]]] = {}

    def unclaimed(self, article: Article, name: str | None) -> list[Left]:
        """What is left over of a row, as written: a phrase for each of its texts.

        Args:
            article: the row.
            name: the name its entry has; the same words were taken before.
        """
        layout, row = article.layout, article.row
        values = layout.sheet.values[row - 1]
        lines, stated = layout.beside.get(row, ()), layout.stated.get(row, ())
        beside = [
            values[each.column - 1]
            for each in (self._columns_beside(layout) if layout.others else ())
            if each.column <= len(values)
        ]
        readings = article.teeth, article.named_teeth, article.stage, article.availability
        is_new = article.name != name
        again = tuple(self._said_again(article)) if article.words.may_repeat else ()
        doubted = _doubted_cells(layout, values)
        # All that decides what is left over. What is kept holds its readings, so ids stay theirs.
        key = (
            *map(id, readings),
            article.words,
            article.housing,
            article.price.certain,
            is_new,
            lines,
            stated,
            article.unsure,
            again,
            doubted,
            *map(repr, beside),
        )
        number = fold(article.number.text).strip()
        kept = self._explained_rows.get(key)
        if kept is not None and number not in kept[0]:
            return []
        found = [*doubted, *self._unclaimed(article, name, number, again)]
        if not found and kept is None and len(self._explained_rows) < _MOST_KEPT:
            cells = article.teeth.text, article.stage_cell, article.availability.text
            section = layout.sections.get(row, "")
            texts = article.words.text, section, article.housing, *cells, *lines, *stated
            text = fold(" | ".join((*texts, *map(str, beside))))
            if number not in text:
                self._explained_rows[key] = text, readings
        return found

    def _unclaimed(
        self, article: Article, name: str | None, number: str, again: Sequence[str]
    ) -> list[Left]:
        own = frozenset(article.pairs)
        # Where the housing's own words stand in another text they are explained as well.
        known = (number, fold(article.housing).strip(), *again)
        stages = frozenset(article.stage.value or ()) if article.stage.certain else frozenset()
        stated = article.layout.stated.get(article.row, ())
        marks = tuple(each.partition(" ")[0] for each in stated)
        found = [Left(each, each) for each in (*stated, *article.unsure)]
        for text, (kind, column) in self._texts(article, name).items():
            said = self.left_over(_unmarked(text, marks), own, known, kind=kind)
            if not said and not kind:
                said = self._other_stage(text, stages)
            if said:
                found.append(Left(said, text, column))
        if article.layout.others:
            found += self._left_beside(article, own, known, stages)
        found = [each for each in found if fold(each.said).strip() not in self._explained]
        if self._left_out is not None:
            pattern = self._left_out
            found = [e._replace(is_left_out=bool(pattern.search(fold(e.said)))) for e in found]
        return list(dict.fromkeys(found))

    def _said_again(self, article: Article) -> Iterator[str]:
        """Where texts of a row say its price again, or the displacement of its machines, folded.

        Another price than its own has been asked about.
        """
        folded = fold(article.text)
        prices = (article.price.value, *article.price.candidates)
        if (price := next(filter(None, prices), None)) is not None:
            yield from amounts_said(folded, price.currency or self._currency)
        for found in DISPLACEMENT.finditer(folded):
            nominal = [self._book.nominal.get(id_, ()) for id_ in self._families_of(article)]
            if nominal and all(found["number"] in each for each in nominal):
                yield found.group()

    def _texts(self, article: Article, name: str | None) -> dict[str, tuple[str, int]]:
        """The texts of a row that must be explained, each with its kind and its column."""
        layout = article.layout
        texts = {"" if article.name == name else article.name: ("name", layout.column_of("name"))}
        # Nothing is read from a line that may head the row or go on from it.
        for line in (layout.sections.get(article.row, ""), *layout.beside.get(article.row, ())):
            texts.setdefault(line, ("heading", 0))
        for line in layout.titles:
            is_own = self._supplier is not None and self._supplier.search(fold(line))
            words = _LETTERS.findall(NUMBER_OF.sub(" ", fold(line)))
            if not is_own or never_in(words):
                texts.setdefault(line, ("heading", 0))
        if article.teeth_apart and article.teeth.certain and not article.teeth.reason:
            texts.setdefault(article.teeth.text, ("teeth", layout.column_of("teeth")))
        # What is noted on a title or a header speaks of the list, as the lines outside do.
        of_list = layout.notes_on_lines
        for remark in article.remark.split(" | "):
            if remark not in of_list or not says_nothing(remark, of_list=True):
                texts.setdefault(remark, ("", layout.column_of("notes")))
        # A word that is no stage is asked about as a stage.
        if article.stage.certain and fold(article.stage_cell).strip() not in self._own_stages:
            texts.setdefault(article.stage_cell, ("", layout.column_of("stage")))
        texts.setdefault(article.availability.text, ("stock", layout.column_of("availability")))
        texts.pop("", None)
        return texts

    def means(self, said: str) -> str | None:
        """The stage, housing or family that some words mean; None for others."""
        return self._meant.get(fold(said).strip())

    def left_over(
        self, text: str, own: frozenset[Pair], known: Iterable[str] = (), *, kind: str = ""
    ) -> str:
        """From the first to the last word of a text that nothing explains; or empty.

        Args:
            text: the text.
            own: the row's pairs.
            known: its part number and its housing, folded; they explain themselves.
            kind: `name` of what names the article, `heading` of a group's, `teeth` and `stock` of
                such a cell, `beside` of a column that is not read, `code` of one of codes; else
                empty.
        """
        folded = fold(text)
        for each in known:
            if each and each in folded:
                folded = _without(folded, each)
        left = self._left(folded, own, kind)
        if left is None:
            return ""
        places = [at for at, char in enumerate(text) for _ in fold(char)]
        return text[places[left[0]] : places[left[1] - 1] + 1]

    # -- the words of a text ---------------------------------------------------------------------

    def _find_left(self, folded: str, own: frozenset[Pair], kind: str) -> Span | None:
        """From the first to the last word of a folded text that nothing explains."""
        tokens = list(_TOKEN.finditer(folded))
        words = {each.group() for each in tokens}
        limiting = limiting_spans(folded, is_name=kind == "name")
        goods = goods_spans(folded) if kind == "heading" else []
        alone = "" if kind == "teeth" or goods else _gear_alone([e.group() for e in tokens])
        if alone.startswith("wheel") and wheel_spans(folded):
            alone = ""
        if not (alone or limiting) and all(map(is_harmless, words)) and words.isdisjoint(VARIANTS):
            return None
        named = tuple(self._name_spans(folded))
        ends = {end for _, end in named}
        told = {at for start, end in limiting for at in range(start, end)}
        left = []
        for each in tokens:
            at, word = each.start(), each.group()
            known = is_harmless(word) or (len(word) == 1 and is_idle_letter(folded, at, ends))
            if at in told or word == alone or (word in VARIANTS and at - 1 in ends):
                known = False
            known = known or (kind == "heading" and word in self._first_words)
            if not known and not _says_nothing(word, kind, own):
                left.append(each)
        # The readers are asked one by one, until nothing is left over.
        for start, end in chain(named, goods, _pair_spans(folded, own), self._claim(folded, kind)):
            left = [each for each in left if not start <= each.start() < end]
            if not left:
                return None
        return (left[0].start(), left[-1].end()) if left else None

    def _claim(self, folded: str, kind: str) -> Iterator[Span]:
        """What the readers understand of a folded text, names and counts apart."""
        yield from stage_spans(folded, self._stage_words)
        if kind not in ("beside", "geared", "code"):
            yield from _only_beside(folded, housing_spans(folded))
        yield from wheel_spans(folded)
        yield from ratio_spans(folded)
        yield from figure_spans(folded)
        yield from mark_spans(folded)
        yield from accessory_spans(folded, is_name=kind in ("name", "heading"))
        if kind == "heading":
            yield from line_spans(folded)
            if self._supplier is not None:
                yield from (each.span() for each in self._supplier.finditer(folded))
        if kind in ("name", ""):
            yield from pack_spans(folded)
        if self._harmless is not None:
            yield from (each.span() for each in self._harmless.finditer(folded))
        for start, end in stock_spans(folded, stock_column=kind == "stock"):
            # What says that none is left must be read, and a column that is not read says it.
            is_read = kind != "beside" or words_of_stock(folded[start:end]) is None
            if kind == "stock" or (is_read and folded[start:end] not in NEVER):
                yield start, end

    def _name_spans(self, folded: str) -> Iterator[Span]:
        """Where names of families and models stand; `Dunlin Ten & Twelve` names two."""
        tokens = list(_NAME_TOKEN.finditer(folded))
        words = [each.group() for each in tokens]
        names = {start: end for start, end, _ in self._book.scan(words)}
        at, before = 0, list[str]()
        while at < len(tokens):
            end = names.get(at, at)
            if end > at:
                before = words[at:end]
            elif self._goes_on(before, words[at]):
                end = at + 1
            if end > at:
                yield tokens[at].start(), tokens[end - 1].end()
            elif words[at] not in cues.JOINING_WORDS:
                before = []
            at = max(end, at + 1)

    def _goes_on(self, before: Sequence[str], word: str) -> bool:
        """Whether a word behind a name makes another with the words that one begins with."""
        kept = range(len(before) - 1, 0, -1)
        return any(key_of([*before[:n], word]) in self._book.families for n in kept)

    # -- the cells beside ------------------------------------------------------------------------

    def _left_beside(
        self,
        article: Article,
        own: frozenset[Pair],
        known: Iterable[str],
        stages: frozenset[Stage],
    ) -> Iterator[Left]:
        """What columns that are none of our fields hold and nothing explains."""
        layout = article.layout
        values = layout.sheet.values[article.row - 1]
        priced = article.price.certain
        for column, heading, words, is_code in self._columns_beside(layout):
            value = values[column - 1] if column <= len(values) else None
            if value is None:
                continue
            text = clean_text(str(value))
            if words in EXTRA_CHARGES:
                # Once for the column, whatever the amount.
                if priced and not _NOTHING.fullmatch(fold(text)):
                    yield Left(heading, f"{heading}: {text}", column)
                continue
            if words in DENYING:
                if any(map(str.isalnum, text)):
                    yield Left(text, f"{heading}: {text}", column)
                continue
            if not isinstance(value, str) or not text:
                continue
            elif fold(text) in MARKS:
                said = text if self._other_stage(heading, stages) else ""
            else:
                geared = not _SPEAK_OF_GEARS.isdisjoint(_LETTERS.findall(fold(text)))
                kind = "code" if is_code else "geared" if geared else "beside"
                said = self.left_over(text, own, known, kind=kind)
                said = said or self._other_stage(text, stages) or pack_in(text)
                said = said or (_other_pair(text, own) if not is_code else "")
            if said:
                yield Left(said, text, column)

    def _columns_beside(self, layout: Layout) -> tuple[_Beside, ...]:
        """The columns of a table that are none of our fields and may say something of the row."""
        found = self._beside.get(id(layout))
        if found is None:
            read = {layout.successor_column, layout.ratio_column, layout.terms.currency_column}
            read |= {each.second for each in layout.columns.values()}
            told = [(column, text, words_of(text)) for column, text in layout.others]
            found = tuple(
                _Beside(
                    column,
                    text,
                    words,
                    words in NO_FIELD or not DEVIATING.isdisjoint(words.split()),
                )
                for column, text, words in told
                if column not in read and not is_silent(words)
            )
            self._beside[id(layout)] = found
        return found

    def _other_stage(self, text: str, own: frozenset[Stage]) -> str:
        """A word for a stage in a text that is none of the row's, as written; or empty."""
        for each in find_stages(fold(text), self._stage_words):
            if own and each.stage not in own:
                return text
        return ""


def _doubted_cells(layout: Layout, values: Sequence[object]) -> tuple[Left, ...]:
    """Cells with a question mark of which nothing is asked where they are read: rim and ratio."""
    columns = layout.column_of("wheel_size"), layout.ratio_column
    cells = [(str(values[each - 1]), each) for each in columns if 0 < each <= len(values)]
    return tuple(Left(text, text, column) for text, column in cells if "?" in text)


def _words_of_name(supplier: Sequence[str]) -> list[str]:
    """A supplier's names, whole and by their longer words, as far as those say nothing else."""
    names = [" ".join(re.findall(r"[a-z0-9]+", fold(name))) for name in supplier]
    words = [word for name in names for word in name.split() if len(word) > _CODE]
    telling = NEVER | cues.OTHER_PARTS | cues.ONE_GEAR | VARIANTS
    return [
        each
        for each in (*names, *words)
        if telling.isdisjoint(each.split()) and not (stage_spans(each) or housing_spans(each))
    ]


def _says_nothing(word: str, kind: str, own: frozenset[Pair]) -> bool:
    """Whether a word, number or sign says nothing of the gears in a cell of its kind."""
    if kind == "teeth":
        counts = {str(count) for pair in own for count in (pair.driver, pair.driven)}
        return word in counts or word in cues.JOINED_WORDS
    if kind not in ("code", "beside") or word in NEVER or word == "?":
        return False
    if not word.isalpha():
        return True
    return word in cues.UNITS or (kind == "code" and len(word) <= _CODE)


def _gear_alone(words: Sequence[str]) -> str:
    """The word by which a text is of one gear of a pair: no other gear, no set stands beside it."""
    at = next((at for at, word in enumerate(words) if word in cues.ONE_GEAR), -1)
    if at < 0 or not cues.BOTH_GEARS.isdisjoint(words[: at + 2]):
        return ""
    pinions = not cues.PINION_WORDS.isdisjoint(words)
    wheels = not cues.WHEEL_GEAR_WORDS.isdisjoint(set(words) - {"gear"})
    # `pinion 15T, gear 38T`: what has a count of its own is a gear by itself.
    wheels |= any(
        word == "gear" and any(map(str.isdigit, "".join(words[max(0, place - 2) : place + 2])))
        for place, word in enumerate(words)
    )
    return "" if pinions and wheels else words[at]


def _other_pair(text: str, own: frozenset[Pair]) -> str:
    """What looks like a pair in a cell beside, and is none of the row's; or empty."""
    counts = {frozenset((pair.driver, pair.driven)) for pair in own}
    for found in _BESIDE_PAIR.finditer(fold(text)):
        if own and frozenset(map(int, re.findall("[0-9]+", found.group()))) not in counts:
            return found.group()
    return ""


def _unmarked(text: str, marks: Sequence[str]) -> str:
    """A text without the mark of a footnote that is told of its row."""
    return next((text.removesuffix(mark) for mark in marks if text.endswith(mark)), text)


def _only_beside(folded: str, spans: Iterable[Span]) -> Iterator[Span]:
    """Spans, with a word for `only` that stands right beside one: `nur langes Gehäuse`."""
    for start, end in spans:
        before = _ONLY_BEFORE.search(folded[:start])
        behind = _ONLY_BEHIND.match(folded, end)
        yield (before.start() if before else start), (behind.end() if behind else end)


def _without(folded: str, number: str) -> str:
    """A folded text, a part number blanked out wherever it stands whole: `15` is not in `2015`."""
    at = folded.find(number)
    while at >= 0:
        end = at + len(number)
        if not (folded[at - 1 : at].isalnum() or folded[end : end + 1].isalnum()):
            folded = f"{folded[:at]}{' ' * len(number)}{folded[end:]}"
        at = folded.find(number, end)
    return folded


def _pair_spans(folded: str, own: frozenset[Pair]) -> Iterator[Span]:
    """The counts of the row's own pairs."""
    if not own:
        return
    text = clean(folded)
    tokens = tokens_of(text)
    counts = {(str(pair.driver), str(pair.driven)) for pair in own}
    yield from (each.span() for each in _JOINED.finditer(folded) if each.groups() in counts)
    for each in find_pairs(chains_of(tokens), tokens, text).pairs:
        if each.pair in own:
            for number in re.finditer(r"[0-9]+", text[each.start : each.end]):
                yield each.start + number.start(), each.start + number.end()
