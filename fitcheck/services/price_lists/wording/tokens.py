"""A text as numbers, words and signs, and numbers joined into chains such as `15/38`.

Each word for teeth is tied to the number it belongs to; words around a chain may say that it counts
no teeth.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field

from fitcheck.kernel.teeth import MAX_TEETH, MIN_TEETH
from fitcheck.services.price_lists.wording import cues

BLANKED = "¤"
"""Stands where something was blanked out that is no pair of counts."""

SEPARATORS = frozenset("/:x*-÷\\")
"""Signs that join two counts."""

_TOKEN = re.compile(
    r"(?P<number>[0-9]+(?:[.,][0-9]+)*)"
    r"|(?P<word>[^\W\d_]+[³²]?)"
    r"|(?P<sign>[^\w\s]|_|[³²°])"
)
# What looks like two counts and never is; whole expressions, on folded text.
_DAY = r"(?:0?[1-9]|[12][0-9]|3[01])"
_MONTH = r"(?:0?[1-9]|1[0-2])"
_NOISE = re.compile(
    rf"""
      (?<![0-9/])(?:[5-9][0-9]|[12][0-9]{{2}})\s?/\s?(?:[4-9][05]|100)
      \s?(?:-|r|zr|x|b)\s?[0-9]{{1,2}}(?![0-9])                         # 100/90-10
    | (?<![0-9.,])[0-9][.,][0-9]{{1,2}}\s?(?:-|x|r)\s?[0-9]{{1,2}}(?![0-9])  # 3.50-10
    | (?<![0-9])[0-9]{{1,2}}\s?x\s?[0-9][.,][0-9]{{1,2}}(?![0-9])       # 10x2.15
    | (?<![a-z0-9])m\s?[0-9]{{1,2}}\s?x\s?[0-9.,]+                     # M6x20
    | (?<![0-9])(?:19|20)[0-9]{{2}}\s?(?:[-/.]|bis|to|a)\s?
      (?:19|20)?[0-9]{{2}}(?![0-9])                                      # 2010-2014
    | (?<![0-9])(?:{_DAY}(?P<d>[./-]){_MONTH}|{_MONTH}(?P<m>[./-]){_DAY})
      (?(d)(?P=d)|(?P=m))(?:19|20)?[0-9]{{2}}(?![0-9])                   # 12.10.2026
    | (?<![0-9])(?:19|20)[0-9]{{2}}[./-][0-9]{{1,2}}[./-][0-9]{{1,2}}(?![0-9])  # 2026-10-12
    | (?<![0-9])[0-9]{{1,2}}:[0-9]{{2}}:[0-9]{{2}}(?![0-9])              # 14:45:00
    | (?<![0-9])[0-9]{{1,2}}w\s?-?\s?[0-9]{{2}}(?![0-9])               # 80W90
    | (?<![a-z0-9/:.,x-])(?:2|4)\s?-?
      (?:t|takt|stroke|tempi|temps|tiempos)(?![a-z])                     # 2T, 4-Takt
    | (?<![a-z0-9])m(?:od(?:ul[eo]?)?)?\.?\s?=?\s?[0-9][.,][0-9]{{1,2}}(?![0-9])  # m1,25
    | β\s?=?\s?[0-9]{{1,2}}(?:[.,][0-9]+)?\s?°                          # β18°
    | (?<![0-9])(?:\+|00)[0-9]{{2}}[ /-]?[0-9]{{2,}}(?:[ /-][0-9]+)*     # +39 0541
    """,
    re.VERBOSE,
)
_INDEXED = re.compile(r"(?<![a-z0-9])z\s?_?[1-6]\s*(?:=|:|\s)\s*(?=[0-9]{1,3}(?![0-9]|[.,][0-9]))")
_LABEL = re.compile(r"(?<![a-z0-9])z\s?_?[1-6](?:\s?[/:x-]\s?z\s?_?[1-6])+\s*[=:]?")
_QUANTITY = re.compile(
    r"(?<![0-9a-z/:.,-])[1-4]\s?x\s(?=[a-z0-9])|(?<![0-9a-z/:.,-])[1-4]\s?x(?=[a-y])"
)
_NTH = re.compile(r"(?<=[0-9])-?er(?![a-z])")  # 15er Ritzel
_CROSS = re.compile(r"(?:(?<=[0-9])|(?<=[0-9][tz]))x(?=z?\s?[0-9])")  # z15xz38, 15tx38t
_RIMS = cues.words_in("rim rims tyre tyres tire tires")
_AFTER_MARK = frozenset({"=", ":", ".", "-", "(", "n", "nr"})
# `t` marks only what it touches; `dent` is French for one tooth, and for a dent.
_ONLY_BEHIND = frozenset({"t", "th", "dent"})


@dataclass(slots=True)
class Token:
    """A number, a word or a sign: its kind, text and place in the folded text."""

    kind: str
    text: str
    start: int
    end: int


class Tokens:
    """All tokens of a text, and which number each word for teeth belongs to.

    Attributes:
        items: in order.
        count: how many.
        marks: index of a word for teeth to the index of its number.
        marked: indices of the numbers marked so.
    """

    def __init__(self, items: Sequence[Token]) -> None:
        self.items = items
        self.count = len(items)
        self.marks: dict[int, int] = {}
        self.marked: set[int] = set()
        self._tie_marks()

    def get(self, index: int) -> Token | None:
        """The token at an index, or None beyond the text."""
        return self.items[index] if 0 <= index < self.count else None

    def is_number(self, index: int) -> bool:
        """Whether there is a number at an index."""
        return 0 <= index < self.count and self.items[index].kind == "number"

    def is_word(self, index: int) -> bool:
        """Whether there is a word at an index, other than one for a wheel or a tyre."""
        wheels = cues.WHEEL_GEAR_WORDS | _RIMS
        token = self.get(index)
        return token is not None and token.kind == "word" and token.text not in wheels

    def text(self, index: int) -> str:
        """The text of the token at an index; empty beyond the text."""
        return self.items[index].text if 0 <= index < self.count else ""

    def touches_before(self, index: int) -> bool:
        """Whether nothing stands between a token and the one before it."""
        return 0 < index < len(self.items) and (
            self.items[index - 1].end == self.items[index].start
        )

    def words(self) -> set[str]:
        """All words."""
        return {token.text for token in self.items if token.kind == "word"}

    def _tie_marks(self) -> None:
        # Left to right: a word behind a number not yet marked belongs to that, else to the next.
        for index, token in enumerate(self.items):
            if token.kind != "word" or token.text not in cues.TEETH_WORDS:
                continue
            number = None if self._heads_next(index) else self._number_before(index)
            if number is None and token.text not in _ONLY_BEHIND:
                number = self._number_behind(index)
            if number is not None:
                self.marks[index] = number
                self.marked.add(number)

    def _number_before(self, index: int) -> int | None:
        before = index - 1
        if self.text(before) == "-" and self.touches_before(before):
            before -= 1  # 15-zähnig
        if not self.is_number(before) or before in self.marked:
            return None
        apart = self.items[index].start - self.items[before].end
        return None if self.text(index) in ("t", "th") and apart > 1 else before

    def _number_behind(self, index: int) -> int | None:
        after = index + 1
        while self.text(after) in _AFTER_MARK:
            after += 1
        return after if self.is_number(after) else None

    def _heads_next(self, index: int) -> bool:
        """Whether a mark belongs to what is behind it, though a number stands before it.

        So it is in `50 Z=15`, `50 Z15`, `MA-1544 Z 15/38` and `50 Z 15/38`.
        """
        if index == 0 or self.text(index) in ("t", "th") or self.touches_before(index):
            return False
        if self.text(index + 1) == "=":
            return True
        if not self.is_number(index + 1):
            return False
        if self.touches_before(index + 1):
            return True
        if self.is_number(index - 1) and possible_count(self.text(index - 1)) is None:
            return True
        joined = self.text(index - 2) in SEPARATORS
        return not joined and self.text(index + 2) in SEPARATORS and self.is_number(index + 3)


def possible_count(number: str) -> int | None:
    """The count of teeth a number may be, or None."""
    if not number.isdecimal() or len(number) > 3 or not MIN_TEETH <= int(number) <= MAX_TEETH:
        return None
    return int(number)


def clean(folded: str) -> str:
    """The folded text with sizes, dates, oils, quantities and the like blanked out.

    Everything keeps its place.
    """
    text = folded
    if "z" in text:
        text = _LABEL.sub(lambda found: "z=".ljust(len(found.group())), text)
        text = _INDEXED.sub(lambda found: "z=".ljust(len(found.group())), text)
    text = _NOISE.sub(lambda found: BLANKED * len(found.group()), text)
    if "er" in text:
        text = _NTH.sub(lambda found: " " * len(found.group()), text)
    if "x" in text:
        text = _CROSS.sub("*", text)
        text = _QUANTITY.sub(lambda found: " " * len(found.group()), text)
    return text


def mark_spans(folded: str) -> list[tuple[int, int]]:
    """Where a folded text numbers its counts, or makes words of them: `z1=`, `15er`."""
    return [e.span() for pattern in (_LABEL, _INDEXED, _NTH) for e in pattern.finditer(folded)]


def tokens_of(text: str) -> Tokens:
    """The tokens of a cleaned text."""
    return Tokens(
        [
            Token(found.lastgroup or "", found.group(), found.start(), found.end())
            for found in _TOKEN.finditer(text)
        ]
    )


_PART = "part of a number or a name"
_SIZE_SIGNS = ('"', "'", "°", "%", "€", "$", "£", BLANKED)
_PREFIXED = ("eur", "euro", "usd", "gbp", "chf", "sfr", "fr")
# Letters that abbreviate a unit and something harmless too; they do not speak against `Z=15/38`.
_NO_UNITS = ("h", "x", "a", "m", "l", "v", "in", "st")


@dataclass(slots=True)
class Chain:
    """Numbers joined by one separator each.

    Attributes:
        numbers: as written.
        start: where it begins in the folded text.
        end: where it ends, marks such as `z` or `denti` included.
        first: index of its first token.
        last: index of its last token, a mark behind it included.
        separators: between the numbers.
        marked: whether a word for teeth belongs to one of the numbers.
        role: pinion or wheel, where a single count stands beside such a word.
        blocked: why it counts no teeth, or empty.
        doubtful: whether it may count teeth all the same.
    """

    numbers: list[str]
    start: int
    end: int
    first: int
    last: int
    separators: list[str] = field(default_factory=list)
    marked: bool = False
    role: str = ""
    blocked: str = ""
    doubtful: bool = False

    @property
    def counts(self) -> list[int] | None:
        """The numbers as counts of teeth, or None where one cannot be."""
        found = []
        for number in self.numbers:
            count = possible_count(number)
            if count is None or (number[0] == "0" and not self.marked):
                return None
            found.append(count)
        return found

    def __str__(self) -> str:
        text = self.numbers[0]
        for separator, number in zip(self.separators, self.numbers[1:], strict=True):
            text += separator + number
        return text if len(text) <= 40 else text[:37] + "..."


def chains_of(tokens: Tokens) -> list[Chain]:
    """All numbers of a text, as chains in order."""
    chains = []
    index = 0
    while index < tokens.count:
        if not tokens.is_number(index):
            index += 1
            continue
        chain = _chain(tokens, index)
        chain.blocked = _before(chain, tokens) or _behind(chain, tokens)
        chains.append(chain)
        index = chain.last + 1
    return chains


def _chain(tokens: Tokens, index: int) -> Chain:
    token = tokens.items[index]
    chain = Chain([token.text], token.start, token.end, index, last=index)
    chain.marked = index in tokens.marked
    number = index
    while (separator := _separator(tokens, number)) is not None:
        following = _number_after(tokens, separator)
        chain.numbers.append(tokens.text(following))
        chain.separators.append(tokens.text(separator))
        chain.marked = chain.marked or following in tokens.marked
        number = following
    chain.last = number
    if tokens.marks.get(number + 1) == number:
        chain.last += 1
    chain.end = tokens.items[chain.last].end
    return chain


def _separator(tokens: Tokens, number: int) -> int | None:
    """The separator that joins a number to the next, marks between them allowed: `15T/38T`."""
    after = number + 1
    if tokens.marks.get(after) == number:
        after += 1
        if tokens.text(after) == ".":
            after += 1  # an abbreviation's point
    following = _number_after(tokens, after)
    if tokens.text(after) not in SEPARATORS or not tokens.is_number(following):
        return None
    if tokens.text(after) == "-":
        # A dash with a space on one side only is punctuation.
        apart = tokens.items[after].start - tokens.items[after - 1].end
        behind = tokens.items[following].start - tokens.items[after].end
        if (apart == 0) != (behind == 0):
            return None
    return after


def _number_after(tokens: Tokens, separator: int) -> int:
    """Where the number behind a separator is, a mark before it passed over: `15/z38`."""
    following = separator + 1
    return max(tokens.marks.get(following, following), following)


def _before(chain: Chain, tokens: Tokens) -> str:
    """What right before a chain says it counts no teeth."""
    before = tokens.get(chain.first - 1)
    if before is None:
        return ""
    abbreviated = before.text == "." and (chain.first - 2) in tokens.marks  # Z.15/38
    if (chain.first - 1) not in tokens.marks and not abbreviated:
        why = _touching_before(chain, tokens, before)
        if why:
            return why
    return _opening(chain, tokens)


def _opening(chain: Chain, tokens: Tokens) -> str:
    """What the word that leads to a chain says it is: `Art.-Nr. 15/38`."""
    position = chain.first - 1
    while tokens.text(position) in (":", ".", "=", "-", "(", "#", "n"):
        if tokens.text(position) == "#":
            return "a number"
        position -= 1
    word = tokens.text(position)
    if chain.marked:
        return ""
    if word in cues.NOT_TEETH_BEFORE:
        return "a number, a date or a size"
    if word in cues.FROM_WORDS:
        chain.doubtful = True
        return "a date, or what is taken out"
    return ""


def _touching_before(chain: Chain, tokens: Tokens, before: Token) -> str:
    touching = before.end == chain.start
    if before.kind == "word" and touching:
        return _PART
    if before.text in ("-", "/", "_", ".", BLANKED, "\\") and touching:
        glued = chain.first > 1 and tokens.touches_before(chain.first - 1)
        return _PART if before.text in (BLANKED, "-") or glued else ""
    if before.text in ("€", "$", "£", "eur", "chf"):
        return "a price"
    return ""


def _behind(chain: Chain, tokens: Tokens) -> str:
    """What right behind a chain says it counts no teeth."""
    after = chain.last + 1
    behind = tokens.get(after)
    if behind is None:
        return ""
    touching = behind.start == chain.end
    # What stands before the next number may belong to that: 15/38 € 64,90.
    own = touching or not tokens.is_number(after + 1)
    if behind.text in _SIZE_SIGNS:
        quoted = behind.text in ('"', "'") and tokens.text(chain.first - 1) == behind.text
        sized = own and not quoted and (touching or behind.text != BLANKED)
        return "a size, a price or a share" if sized else ""
    if behind.kind == "word":
        # `15/44 in acciaio` gives no inches.
        if behind.text in cues.UNITS and not (behind.text == "in" and tokens.is_word(after + 1)):
            harmless = chain.marked and behind.text in _NO_UNITS
            measures = own or behind.text not in _PREFIXED
            return "measured in something else" if measures and not harmless else ""
        return _PART if touching and behind.text not in cues.TEETH_WORDS else ""
    if behind.text in ("-", "/", "_") and touching and tokens.touches_before(after + 1):
        return "" if after + 1 in tokens.marks else _PART
    return ""
