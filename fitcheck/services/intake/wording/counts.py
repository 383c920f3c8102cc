"""Numbers in a text: joined into chains such as `15/38`, each with what stands around it."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from fitcheck.kernel.teeth import MAX_TEETH, MIN_TEETH
from fitcheck.services.intake.wording import cues

__all__ = ["Chain", "chains_of", "clean"]

_TOKEN = re.compile(
    r"(?P<number>[0-9]+(?:[.,][0-9]+)*)"
    r"|(?P<word>[^\W\d_]+[³²]?)"
    r"|(?P<sign>[^\w\s]|_|[³²°])"
)
# What looks like two counts and never is; whole expressions, on folded text.
_NOISE = re.compile(
    r"""
      (?<![0-9/])[0-9]{2,3}\s?/\s?[0-9]{2,3}\s?(?:-|r|zr|x|b)\s?[0-9]{1,2}(?![0-9])  # 100/90-10
    | (?<![0-9.,])[0-9][.,][0-9]{1,2}\s?(?:-|x|r)\s?[0-9]{1,2}(?![0-9])              # 3.50-10
    | (?<![0-9])[0-9]{1,2}\s?x\s?[0-9][.,][0-9]{1,2}(?![0-9])                        # 10x2.15
    | (?<![a-z0-9])m\s?[0-9]{1,2}\s?x\s?[0-9.,]+                                     # M6x20
    | (?<![0-9])(?:19|20)[0-9]{2}\s?(?:[-/.]|bis|to|a)\s?(?:19|20)?[0-9]{2}(?![0-9]) # 2010-2014
    | (?<![0-9])[0-9]{1,2}[./-][0-9]{1,2}[./-](?:19|20)?[0-9]{2}(?![0-9])            # 12.10.2026
    | (?<![0-9])(?:19|20)[0-9]{2}[./-][0-9]{1,2}[./-][0-9]{1,2}(?![0-9])             # 2026-10-12
    | (?<![0-9])[0-9]{1,2}:[0-9]{2}:[0-9]{2}(?![0-9])                                # 14:45:00
    | (?<![0-9])[0-9]{1,2}w\s?-?\s?[0-9]{2}(?![0-9])                                 # 80W90
    | (?<![a-z0-9/:.,x-])(?:2|4)\s?-?(?:t|takt|stroke|tempi|temps|tiempos)(?![a-z])           # 2T, 4-Takt
    | (?:\+|00)[0-9]{2}[ /-]?[0-9]{2,}(?:[ /-][0-9]+)*                               # +39 0541
    """,
    re.VERBOSE,
)
_INDEXED = re.compile(r"(?<![a-z0-9])z\s?_?[1-6]\s*(?:=|:|\s)\s*(?=[0-9]{1,3}(?![0-9]|[.,][0-9]))")
_LABEL = re.compile(r"(?<![a-z0-9])z\s?_?[1-6](?:\s?[/:x-]\s?z\s?_?[1-6])+\s*[=:]?")
_QUANTITY = re.compile(
    r"(?<![0-9a-z/:.,-])[1-4]\s?x\s(?=[a-z0-9])|(?<![0-9a-z/:.,-])[1-4]\s?x(?=[a-y])"
)
_SEPARATORS = frozenset("/:x*-÷\\")
_CROSS = re.compile(r"(?:(?<=[0-9])|(?<=[0-9][tz]))x(?=z?\s?[0-9])")  # z15xz38, 15tx38t
_SIZE_SIGNS = ('"', "'", "°", "%", "€", "$", "£", "¤")
_PREFIXED = ("eur", "euro", "usd", "gbp", "chf", "sfr", "fr")
# Letters that abbreviate a unit and something harmless too; they do not speak against `Z=15/38`.
_NO_UNITS = ("h", "x", "a", "m", "l", "in", "st")
_WORD_SEPARATORS = frozenset(
    "to auf zu su sur a by per on contre contro und and e et y con".split()
)


def clean(folded: str) -> str:
    """The folded text with sizes, dates, oils, quantities and the like blanked out.

    Everything keeps its place.
    """
    text = _LABEL.sub(lambda found: "z=".ljust(len(found.group())), folded)
    text = _INDEXED.sub(lambda found: "z=".ljust(len(found.group())), text)
    text = _NOISE.sub(lambda found: "¤".ljust(len(found.group()), "¤"), text)
    text = _CROSS.sub("*", text)
    return _QUANTITY.sub(lambda found: " " * len(found.group()), text)


@dataclass(slots=True)
class _Token:
    kind: str
    text: str
    start: int
    end: int


@dataclass(slots=True)
class Chain:
    """Numbers joined by one separator each.

    Attributes:
        numbers: as written.
        start: where it begins in the folded text.
        end: where it ends, marks such as `z` or `denti` included.
        separators: between the numbers.
        marked: whether a word for teeth stands right before or behind.
        role: pinion or wheel, where a single count stands beside such a word.
        blocked: why it counts no teeth, or empty.
        doubtful: whether it may count teeth all the same.
        first_token: for neighbourhood.
        last_token: for neighbourhood.
    """

    numbers: list[str]
    start: int
    end: int
    separators: list[str] = field(default_factory=list)
    marked: bool = False
    role: str = ""
    blocked: str = ""
    doubtful: bool = False
    first_token: int = 0
    last_token: int = 0

    @property
    def counts(self) -> list[int] | None:
        """The numbers as counts of teeth, or None where one cannot be."""
        found = []
        for number in self.numbers:
            count = _possible(number)
            if count is None or (number[0] == "0" and not self.marked):
                return None
            found.append(count)
        return found


def chains_of(text: str) -> tuple[list[Chain], list[_Token]]:
    """All numbers of a cleaned text, as chains in order, and the text's tokens."""
    tokens = [
        _Token(found.lastgroup or "", found.group(), found.start(), found.end())
        for found in _TOKEN.finditer(text)
    ]
    marks = _marks(tokens)
    chains = []
    index = 0
    while index < len(tokens):
        if tokens[index].kind != "number":
            index += 1
            continue
        chain, index = _chain(tokens, index, marks)
        _look_around(chain, tokens, text, marks)
        chains.append(chain)
    return chains, tokens


def _marks(tokens: list[_Token]) -> dict[int, int]:
    """Which number each word for teeth belongs to: token of the word to token of the number.

    Left to right: a word that follows a number not yet marked belongs to that, else to the next.
    """
    marks: dict[int, int] = {}
    marked: set[int] = set()
    for index, token in enumerate(tokens):
        if token.kind != "word" or token.text not in cues.TEETH_WORDS:
            continue
        before = index - 1
        if before >= 0 and tokens[before].text == "-" and _glued(tokens, before):
            before -= 1  # 15-T
        heads = _heads_next(tokens, index)
        if not heads and before >= 0 and tokens[before].kind == "number" and before not in marked:
            if token.text in ("t", "th") and token.start - tokens[before].end > 1:
                continue
            marks[index] = before
            marked.add(before)
            continue
        after = index + 1
        while after < len(tokens) and tokens[after].text in ("=", ":", ".", "-", "(", "n", "nr"):
            after += 1
        if token.text in ("t", "th", "dent"):
            continue
        if after < len(tokens) and tokens[after].kind == "number":
            marks[index] = after
            marked.add(after)
    return marks


def _heads_next(tokens: list[_Token], index: int) -> bool:
    """Whether a mark belongs to what is behind it, though a number stands before it.

    So it is in `50 Z=15`, `50 Z15`, `MA-1544 Z 15/38` and `50 Z 15/38`.
    """
    if index + 1 >= len(tokens) or index == 0 or tokens[index].text in ("t", "th"):
        return False
    before, behind = tokens[index - 1], tokens[index + 1]
    if _glued(tokens, index):
        return False
    if behind.text == "=" or (behind.kind == "number" and behind.start == tokens[index].end):
        return True
    if before.kind == "number" and _possible(before.text) is None and behind.kind == "number":
        return True
    joined = index >= 2 and tokens[index - 2].text in _SEPARATORS
    return not joined and behind.kind == "number" and _joins(tokens, index + 2)


def _joins(tokens: list[_Token], index: int) -> bool:
    return (
        index + 1 < len(tokens)
        and tokens[index].text in _SEPARATORS
        and tokens[index + 1].kind == "number"
    )


def _possible(number: str) -> int | None:
    """The count a number may be, or None."""
    if not number.isdecimal() or len(number) > 3 or not MIN_TEETH <= int(number) <= MAX_TEETH:
        return None
    return int(number)


def _glued(tokens: list[_Token], index: int) -> bool:
    return index > 0 and tokens[index - 1].end == tokens[index].start


def _chain(tokens: list[_Token], index: int, marks: dict[int, int]) -> tuple[Chain, int]:
    belongs = {number for number in marks.values()}
    first = index
    chain = Chain([tokens[index].text], tokens[index].start, tokens[index].end, first_token=first)
    chain.marked = index in belongs
    last = index
    while True:
        after = last + 1
        if after < len(tokens) and marks.get(after) == last:
            after += 1
            if after < len(tokens) and tokens[after].text == "." and after + 1 < len(tokens):
                after += 1  # an abbreviation's point
        separator = tokens[after].text if after < len(tokens) else ""
        following = after + 1
        # z15/z38: the mark before the second count
        if following < len(tokens) and following in marks and marks[following] > following:
            following = marks[following]
        if separator not in _SEPARATORS or following >= len(tokens):
            break
        if tokens[following].kind != "number":
            break
        if separator == "-" and _loose_dash(tokens, after, following):
            break
        chain.numbers.append(tokens[following].text)
        chain.separators.append(separator)
        chain.marked = chain.marked or following in belongs
        chain.end = tokens[following].end
        last = following
    after = last + 1
    while after < len(tokens) and marks.get(after) == last:
        chain.end = tokens[after].end
        last_mark = after
        after += 1
        last = last_mark
        break
    chain.last_token = last
    return chain, last + 1


def _loose_dash(tokens: list[_Token], dash: int, following: int) -> bool:
    """A dash with a space on one side only is punctuation."""
    before = tokens[dash].start - tokens[dash - 1].end
    behind = tokens[following].start - tokens[dash].end
    return (before == 0) != (behind == 0)


def _look_around(chain: Chain, tokens: list[_Token], text: str, marks: dict[int, int]) -> None:
    """Block what letters, units, numbers' words or symbols at either side speak against."""
    before = tokens[chain.first_token - 1] if chain.first_token else None
    behind = tokens[chain.last_token + 1] if chain.last_token + 1 < len(tokens) else None
    opening = before
    position = chain.first_token - 1
    while opening is not None and opening.text in (":", ".", "=", "-", "(", "#", "n"):
        if opening.text == "#":
            chain.blocked = "a number"
            return
        position -= 1
        opening = tokens[position] if position >= 0 else None
    own_mark = before is not None and (chain.first_token - 1) in marks
    if before is not None and not own_mark:
        touching = before.end == chain.start
        if before.kind == "word" and touching:
            chain.blocked = "part of a number or a name"
        elif before.text in ("-", "/", "_", ".", "+", "¤", "\\") and touching:
            earlier = tokens[chain.first_token - 2] if chain.first_token > 1 else None
            if before.text in "¤-" or (earlier is not None and earlier.end == before.start):
                chain.blocked = "part of a number or a name"
        elif before.text in "€$£" or (before.kind == "word" and before.text in ("eur", "chf")):
            chain.blocked = "a price"
    if not chain.blocked and opening is not None and opening.kind == "word" and not chain.marked:
        if opening.text in cues.NOT_TEETH_BEFORE:
            chain.blocked = "a number, a date or a size"
        elif opening.text in cues.FROM_WORDS:
            chain.blocked = "a date, or what is taken out"
            chain.doubtful = True
    if chain.blocked or behind is None:
        return
    after = chain.last_token + 1
    later = tokens[after + 1] if after + 1 < len(tokens) else None
    touching = behind.start == chain.end
    if behind.text in _SIZE_SIGNS:
        # A sign before the next number belongs to that: 15/38 € 64,90.
        own = touching or later is None or later.kind != "number"
        if own and (touching or behind.text != "¤"):
            chain.blocked = "a size, a price or a share"
    elif behind.kind == "word" and behind.text in cues.UNITS:
        own = touching or later is None or later.kind != "number" or behind.text not in _PREFIXED
        if own and not (chain.marked and behind.text in _NO_UNITS):
            chain.blocked = "measured in something else"
    elif behind.kind == "word" and touching and behind.text not in cues.TEETH_WORDS:
        chain.blocked = "part of a number or a name"
    elif behind.text in ("-", "/", "_") and touching and after not in marks:
        glued = later is not None and later.start == behind.end
        if glued and (after + 1) not in marks:
            chain.blocked = "part of a number or a name"
