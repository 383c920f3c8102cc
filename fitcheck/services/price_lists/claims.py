"""What of a row's words nobody claims: a row is taken only where every word of it is explained.

A reader claims the words it understands: teeth, stage, housing, family, wheel, stock, the part
number. Words known to be harmless explain the rest; what is left over is asked about. So a word
that no list of ours holds can raise a question, but never slip in.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import lru_cache

from fitcheck.kernel.teeth import Pair
from fitcheck.model.fields import Stage
from fitcheck.services.price_lists.articles import Article
from fitcheck.services.price_lists.name_book import NameBook
from fitcheck.services.price_lists.name_words import key_of
from fitcheck.services.price_lists.wording import cues
from fitcheck.services.price_lists.wording.availability import stock_spans
from fitcheck.services.price_lists.wording.doubts import ratio_spans
from fitcheck.services.price_lists.wording.pairs import find_pairs
from fitcheck.services.price_lists.wording.readings import fold
from fitcheck.services.price_lists.wording.sizes import housing_spans, wheel_spans
from fitcheck.services.price_lists.wording.stages import stage_spans
from fitcheck.services.price_lists.wording.tokens import chains_of, clean, tokens_of

Span = tuple[int, int]

_TOKEN = re.compile(r"[^\W\d_]+|[0-9]+(?:[.,][0-9]+)*|[^\w\s]|_")
_NAME_TOKEN = re.compile(r"[^\W\d_]+|[0-9]+")
_SIGNS = frozenset(".,;:()[]{}/\\-+&|'\"=_·•–—!°x")
_NUMBER = r"[0-9]+(?:[.,][0-9]+)?"
_TIME_UNIT = (
    r"(?:working\s|werk|arbeits)?(?:days?|tagen?|weeks?|wochen?|months?|monaten?|years?|jahren?"
    r"|giorni|settiman[ae]|mes[ei]|ann[oi]|jours?|semaines?|mois|ans?|dias?|semanas?|meses|anos?)"
)
_GUARANTEE = r"(?:warranty|guarantee|garantie|gewahrleistung|garanzia|garantia)"
_DELIVERY = (
    r"(?:delivery|lead\stime|lieferzeit|lieferung|lieferbar|versand|consegna|tempi\sdi\sconsegna"
    r"|delai|livraison|expedition|entrega|plazo(?:\sde\sentrega)?)"
)
# Figures that say what a gear is made of, weighs or is warranted for; common practice, no source.
_FIGURES = re.compile(
    rf"""(?<![a-z0-9])(?:
      m(?:od(?:ul[eo]?)?)?\.?\s?[=:]?\s?[0-9][.,][0-9]{{1,2}}                 # module 1.5
    | {_NUMBER}\s?(?:kg|g|gr|gramm?|grammes|gramos)\.?                        # 0.4 kg
    | [0-9]{{2}}(?:ni|cr|mo|mn|nd|v|s|b){{2,}}[0-9-]*                          # 16MnCr5
    | (?:(?:helix|angle|schragungswinkel|winkel|elica|angolo|helice|angulo)\s?[:=]?\s?)?
      {_NUMBER}\s?(?:°|(?:deg|grad|gradi|degres|grados)(?![a-z]))             # helix 20°
    | 1\s?(?:st|stk|stuck|pcs?|piece|pz|pezzo|ud|unidad)\.?               # 1 pc
    | {_GUARANTEE}\s?(?:of|von|di|de)?\s?[:=]?\s?{_NUMBER}\s?{_TIME_UNIT}
    | (?:{_NUMBER}|one|two|three|zwei|drei|due|tre|deux|trois|dos|tres)[ -]?{_TIME_UNIT}
      \s?(?:of|de|di|d')?\s?{_GUARANTEE}
    | {_DELIVERY}\s?(?:in|:|ca\.?|de|di|von)?\s?{_NUMBER}(?:\s?-\s?{_NUMBER})?\s?{_TIME_UNIT}
    )(?![a-z0-9])""",
    re.VERBOSE,
)
_ONLY = "|".join(sorted(cues.ONLY_WORDS))
_ONLY_BEFORE = re.compile(rf"(?<![a-z])(?:{_ONLY})(?:\s(?:for|fur|fuer|per|pour|para))?\s$")
_ONLY_BEHIND = re.compile(rf"\s(?:{_ONLY})(?![a-z])")
# A word that denies, doubts or limits is never harmless, whatever list it is in.
_NEVER = (
    cues.WORDS["row"]["denials"]
    | cues.WORDS["row"]["doubts"]
    | cues.WORDS["row"]["mistakes"]
    | cues.ONLY_WORDS
)
_INCLUDED = cues.WORDS["harmless"]["included"]
_VARIANTS = cues.WORDS["harmless"]["variants"]
_HARMLESS = (
    frozenset().union(*(cues.WORDS["harmless"][name] for name in ("en", "de", "it", "fr", "es")))
    | cues.GEAR_WORDS
    | cues.TEETH_WORDS
    | cues.WHEEL_GEAR_WORDS
    | _INCLUDED
    | _SIGNS
) - _NEVER
_WITH_ACCESSORIES = _HARMLESS | cues.WORDS["harmless"]["accessories"] | cues.OTHER_PARTS


class Claims:
    """Finds the words of rows that nothing explains.

    Args:
        book: the names of the families.
        stage_words: the supplier's words for stages.
    """

    def __init__(self, book: NameBook, stage_words: Mapping[str, Stage]) -> None:
        self._book = book
        self._stage_words = stage_words
        self._own_stages = {fold(word).strip() for word in stage_words}
        self._left = lru_cache(maxsize=1 << 14)(self._find_left)

    def unclaimed(
        self, article: Article, pairs: Iterable[Pair], name: str | None
    ) -> list[tuple[str, str]]:
        """What is left over of a row, as written: a phrase for each of its texts, and the text.

        Args:
            article: the row.
            pairs: its tooth counts.
            name: the name its entry has; the same words were taken before.
        """
        section = article.layout.sections.get(article.row, "")
        named = "" if article.name == name else article.name
        # A word that is no stage is asked about as a stage.
        staged = article.stage_cell if article.stage.certain else ""
        staged = "" if fold(staged).strip() in self._own_stages else staged
        # What a cell about stock means that is not understood is told where it is left out.
        stock = article.availability.text if article.availability.certain else ""
        own = frozenset(pairs)
        number = fold(article.number.text).strip()
        texts = dict.fromkeys((named, article.remark, staged, section))
        found = [(self.left_over(text, own, number), text) for text in texts if text]
        # Nothing is read from a line that may head the row or go on from it.
        beside = article.layout.beside.get(article.row, ())
        found += [(self.left_over(line, frozenset(), number), line) for line in beside]
        if stock:
            found.append((self.left_over(stock, own, number, stock_column=True), stock))
        return [(said, text) for said, text in found if said]

    def left_over(
        self, text: str, own: frozenset[Pair], number: str, *, stock_column: bool = False
    ) -> str:
        """From the first to the last word of a text that nothing explains; or empty.

        Args:
            text: the text.
            own: the row's pairs.
            number: its part number, folded.
            stock_column: whether it is a cell about stock.
        """
        left = self._left(_without(fold(text), number), own, stock_column)
        if left is None:
            return ""
        places = [at for at, char in enumerate(text) for _ in fold(char)]
        return text[places[left[0]] : places[left[1] - 1] + 1]

    def _find_left(self, folded: str, own: frozenset[Pair], stock_column: bool) -> Span | None:
        """From the first to the last word of a folded text that nothing explains."""
        tokens = list(_TOKEN.finditer(folded))
        words = {each.group() for each in tokens}
        harmless = _HARMLESS if _INCLUDED.isdisjoint(words) else _WITH_ACCESSORIES
        if words <= harmless and words.isdisjoint(_VARIANTS):
            return None
        named = tuple(self._name_spans(folded))
        ends = {end for _, end in named}
        claimed = bytearray(len(folded))
        for start, end in (*named, *self._claim(folded, stock_column), *_pair_spans(folded, own)):
            claimed[start:end] = b"\1" * (end - start)
        left = [
            each
            for each in tokens
            if not claimed[each.start()]
            and (
                each.group() not in harmless
                or (each.group() in _VARIANTS and each.start() - 1 in ends)
            )
        ]
        return (left[0].start(), left[-1].end()) if left else None

    def _claim(self, folded: str, stock_column: bool) -> Iterator[Span]:
        """What the readers understand of a folded text, names and counts apart."""
        yield from stage_spans(folded, self._stage_words)
        yield from _only_beside(folded, housing_spans(folded))
        yield from wheel_spans(folded)
        yield from ratio_spans(folded)
        yield from (each.span() for each in _FIGURES.finditer(folded))
        for start, end in stock_spans(folded, stock_column=stock_column):
            if stock_column or folded[start:end] not in _NEVER:
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


def says_nothing(text: str) -> bool:
    """Whether every word of a text is harmless."""
    folded = _FIGURES.sub(" ", fold(text))
    return all(each.group() in _HARMLESS for each in _TOKEN.finditer(folded))


def _only_beside(folded: str, spans: Iterable[Span]) -> Iterator[Span]:
    """Spans, with a word for `only` that stands right beside one: `nur langes Gehäuse`."""
    for start, end in spans:
        before = _ONLY_BEFORE.search(folded[:start])
        behind = _ONLY_BEHIND.match(folded, end)
        yield (before.start() if before else start), (behind.end() if behind else end)


def _without(folded: str, number: str) -> str:
    """A folded text, a part number blanked out wherever it stands whole: `15` is not in `2015`."""
    at = folded.find(number) if number else -1
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
    for each in find_pairs(chains_of(tokens), tokens, text).pairs:
        if each.pair in own:
            for number in re.finditer(r"[0-9]+", text[each.start : each.end]):
                yield each.start + number.start(), each.start + number.end()
