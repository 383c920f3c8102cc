"""Words and figures that say nothing that could matter beside a gear set.

The words are the lists `harmless` of words.yaml; another ending of one of them, or a German
compound of two, says as little. What denies, doubts or limits is never harmless, whatever list it
is in.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import lru_cache

from fitcheck.services.price_lists.wording import cues

Span = tuple[int, int]

_SIGNS = frozenset("ºªβ.,;:()[]{}/\\-+&|'\"=_·•–—!°x")
NEVER = (
    cues.WORDS["row"]["denials"]
    | cues.WORDS["row"]["doubts"]
    | cues.WORDS["row"]["mistakes"]
    | cues.ONLY_WORDS
    | cues.words_in("without w/o ohne senza sans sin")
)
"""Words that deny, doubt or limit."""

_LEADING = cues.WORDS["harmless"]["leading"]
_TRAILING = cues.WORDS["harmless"]["trailing"]
VARIANTS = cues.WORDS["harmless"]["variants"]
"""Behind the name of a model each of these is part of the name, and another machine."""

_WORDS = (
    frozenset().union(*(cues.WORDS["harmless"][name] for name in ("en", "de", "it", "fr", "es")))
    | cues.GEAR_WORDS
    | cues.TEETH_WORDS
    | cues.WHEEL_GEAR_WORDS
    | _LEADING
    | _TRAILING
    | _SIGNS
) - NEVER
# What may be in the box; with a clutch or a belt it is another article.
_ACCESSORIES = cues.WORDS["harmless"]["accessories"] | (
    cues.OTHER_PARTS - cues.WORDS["harmless"]["no_accessories"]
)
# `short` may be of the housing; a form of `shorter` it is not.
_SIZES = frozenset().union(*cues.WORDS["size"].values())
_COMPLETE_WITH = re.compile(r"complet[oaie]?s? (?:di|de|d)(?![a-z])")
_PARTS = re.compile(r"[,;(+]")
_LETTERS = re.compile(r"[a-z]+")
_ENDING = re.compile(r"(?<=[a-z]{4})(?:ees|ee|es|er|en|em|os|as|e|s|n|o|a|i)$")

_NUMBER = r"[0-9]+(?:[.,][0-9]+)?"
_TIME_UNIT = (
    r"(?:(?:working|business)\s|werk|arbeits)?(?:h|hours?|stunden|ore|heures|horas"
    r"|days?|tagen?|weeks?|wochen?|months?|monaten?|years?|jahren?"
    r"|giorni|settiman[ae]|mes[ei]|ann[oi]|jours?|semaines?|mois|ans?|dias?|semanas?|meses|anos?)"
)
_GUARANTEE = r"(?:warranty|guarantee|garantie|gewahrleistung|garanzia|garantia)"
_DELIVERY = (
    r"(?:delivery|lead\stime|lieferzeit|lieferung|lieferbar|versand|consegna|tempi\sdi\sconsegna"
    r"|delai|livraison|expedition|entrega|plazo(?:\sde\sentrega)?)"
)
_GEAR = rf"(?:{'|'.join(sorted(cues.PINION_WORDS | cues.WHEEL_GEAR_WORDS))})(?![a-z])"
# Figures that say what a gear is made of, weighs or is warranted for; common practice, no source.
_FIGURES = re.compile(
    rf"""(?<![a-z0-9])(?:
      m(?:od(?:ul[eo]?)?)?\.?\s?[=:]?\s?[0-9][.,][0-9]{{1,2}}                 # module 1.5
    | {_NUMBER}\s?(?:kg|g|gr|gramm?|grammes|gramos)\.?                        # 0.4 kg
    | [0-9]{{2}}(?:ni|cr|mo|mn|nd|v|s|b){{2,}}[0-9-]*                          # 16MnCr5
    | (?:(?:helix|angle|schragungswinkel|winkel|elica|angolo|helice|angulo)\s?[:=]?\s?)?
      {_NUMBER}\s?(?:°|(?:deg|grad|gradi|degres|grados)(?![a-z]))             # helix 20°
    | [12]\s?(?:st|stk|stuck|pcs?|pieces?|teilig|pz|pezz[oi]|uds?|unidad|piezas)\.?
      (?!\s?{_GEAR})                                                       # 2 pcs
    | {_GUARANTEE}\s?(?:of|von|di|de)?\s?[:=]?\s?{_NUMBER}\s?{_TIME_UNIT}
    | (?:{_NUMBER}|one|two|three|zwei|drei|due|tre|deux|trois|dos|tres)[ -]?{_TIME_UNIT}
      \s?(?:of|de|di|d')?\s?{_GUARANTEE}
    | {_DELIVERY}\s?(?:in|:|ca\.?|de|di|von)?\s?{_NUMBER}(?:\s?-\s?{_NUMBER})?\s?{_TIME_UNIT}
    )(?![a-z0-9])""",
    re.VERBOSE,
)


def figure_spans(folded: str) -> list[Span]:
    """Where a folded text gives a module, a weight, a steel, an angle, a warranty or a delivery."""
    return [each.span() for each in _FIGURES.finditer(folded)]


def _stem(word: str) -> str:
    """A word without its ending, where four letters are left: `geschliffenes`, `rettificata`."""
    return _ENDING.sub("", word)


_STEMS = {_stem(word) for word in _WORDS if len(word) > 4} - {_stem(word) for word in NEVER}
_LEAST_PART = 4


@lru_cache(maxsize=1 << 14)
def is_harmless(word: str) -> bool:
    """Whether a folded word, or a sign, says nothing that could matter."""
    if word in _WORDS:
        return True
    if word in NEVER or word in _ACCESSORIES or word in _SIZES or len(word) < _LEAST_PART:
        return False
    return _stem(word) in _STEMS or _is_compound(word)


def _is_compound(word: str) -> bool:
    """Whether a word is made of two harmless ones: `Getrieberadsatz`, `Bergübersetzung`."""
    for at in range(_LEAST_PART, len(word) - 2):
        head, tail = word[:at], word[at:]
        known = tail in _WORDS or (len(tail) > _LEAST_PART and _stem(tail) in _STEMS)
        if known and (head in _WORDS or head.rstrip("sn") in _WORDS or _is_compound(head)):
            return True
    return False


def accessory_spans(folded: str, *, is_name: bool) -> list[Span]:
    """Where a folded text says what is in the box beside the gears.

    Args:
        folded: the text.
        is_name: whether it names the article, which may then be itself what stands first.
    """
    words = list(_LETTERS.finditer(folded))
    complete = _COMPLETE_WITH.search(folded)
    starts = [complete.end()] if complete else []
    starts += [each.end() for each in words if each.group() in _LEADING]
    parted = _PARTS.search(folded) if is_name else None
    behind = parted.end() if parted else (len(folded) if is_name else 0)
    if any(each.group() in _TRAILING and each.start() >= behind for each in words):
        starts.append(behind)
    start = min(starts, default=len(folded))
    return [e.span() for e in words if e.start() >= start and e.group() in _ACCESSORIES]


def never_in(words: Sequence[str]) -> str:
    """The first of some folded words that denies, doubts or limits; or empty."""
    return next((word for word in words if word in NEVER), "")
