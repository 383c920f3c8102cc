"""Near names for keys, kinds and ids; the limits live in one place."""

from __future__ import annotations

import re
from collections.abc import Iterable

_CUTOFF = 70.0
_AS_NEAR = 5.0
"""Names whose likeness differs by less, of 100, are equally likely (judgement)."""
_DIGIT = re.compile(r"\d")


def digits_of(word: str) -> str:
    """The digits of a word in order; two words with different ones are never near."""
    return "".join(filter(str.isdecimal, word))


def nearest(word: str, known: Iterable[str]) -> str | None:
    """The known name nearest to a mistyped one, or None where nothing is near.

    Digits count: where the word holds any, only a name with the same digits in the same order
    is offered, since 50 for 70 is another engine and 1544 for 1545 another part, no slips of the
    finger. A word without digits is not completed where two names differ in digits alone: nobody
    can tell whether `dunlin` means `dunlin-50` or `dunlin-70`.
    """
    from rapidfuzz import fuzz, process, utils  # noqa: PLC0415 - start-up goes without it

    digits = digits_of(word)
    names = [name for name in known if not digits or digits_of(name) == digits]
    if not word.strip() or not names:
        return None
    found = process.extract(
        word,
        names,
        scorer=fuzz.ratio,
        processor=utils.default_process,
        score_cutoff=_CUTOFF,
        limit=2,
    )
    if not found:
        return None
    best = str(found[0][0])
    if len(found) > 1 and not digits:
        second = str(found[1][0])
        if best != second and _DIGIT.sub("", best) == _DIGIT.sub("", second):
            return None
    return best


def near_names(word: str, known: Iterable[str], limit: int = 5) -> list[str]:
    """All known names that are about as near to a mistyped one as the nearest, nearest first.

    Digits count as for `nearest`.
    """
    from rapidfuzz import fuzz, process, utils  # noqa: PLC0415 - start-up goes without it

    digits = digits_of(word)
    names = [name for name in known if not digits or digits_of(name) == digits]
    found = process.extract(
        word,
        names,
        scorer=fuzz.ratio,
        processor=utils.default_process,
        score_cutoff=_CUTOFF,
        limit=limit,
    )
    return [str(name) for name, score, _ in found if score >= found[0][1] - _AS_NEAR]


def one_slip(word: str, known: Iterable[str]) -> list[str]:
    """The known words that one slip of the finger makes into this one, digits and all.

    One character put in, left out or hit in place of another, or two neighbours exchanged (the
    optimal string alignment distance).
    """
    from rapidfuzz.distance import OSA  # noqa: PLC0415 - start-up goes without it

    return [name for name in known if OSA.distance(word, name, score_cutoff=1) == 1]


def or_list(names: Iterable[str], limit: int = 8) -> str:
    """Names as `a, b or c`; past the limit the count of the rest."""
    all_names = list(names)
    shown = all_names[:limit]
    rest = len(all_names) - len(shown)
    if rest:
        return f"{', '.join(shown)} or {rest} more"
    if len(shown) < 2:
        return "".join(shown)
    return f"{', '.join(shown[:-1])} or {shown[-1]}"
