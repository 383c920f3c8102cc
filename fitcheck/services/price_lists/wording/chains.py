"""Numbers joined into chains such as `15/38`, and what around them says they count no teeth."""

from __future__ import annotations

from dataclasses import dataclass, field

from fitcheck.services.price_lists.wording import cues
from fitcheck.services.price_lists.wording.tokens import (
    BLANKED,
    SEPARATORS,
    Token,
    Tokens,
    possible_count,
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
    chain = Chain([token.text], token.start, token.end, index, index)
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
        if behind.text in cues.UNITS:
            harmless = chain.marked and behind.text in _NO_UNITS
            measures = own or behind.text not in _PREFIXED
            return "measured in something else" if measures and not harmless else ""
        return _PART if touching and behind.text not in cues.TEETH_WORDS else ""
    if behind.text in ("-", "/", "_") and touching and tokens.touches_before(after + 1):
        return "" if after + 1 in tokens.marks else _PART
    return ""
