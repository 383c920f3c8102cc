"""Words beside the teeth of a pair which say that only one gear of it is sold."""

from __future__ import annotations

import re

from fitcheck.kernel.teeth import Pair
from fitcheck.services.price_lists.wording import cues
from fitcheck.services.price_lists.wording.folding import fold

_GEARS = cues.PINION_WORDS | cues.WHEEL_GEAR_WORDS
_GEAR = rf"(?:{'|'.join(sorted(_GEARS))})"
_ONLY = rf"(?:{'|'.join(sorted(cues.ONLY_WORDS))})"
# `only 12" wheel` is of the machine; `single gear set` is a set. Common practice, no source.
_ALONE = re.compile(
    rf"(?<![a-z]){_ONLY} +{_GEAR}(?![a-z])(?! *[-0-9]| +(?:set|pair|kit|satz|paar|coppia|jeu|par))"
    rf"|(?<![a-z]){_GEAR} +{_ONLY}(?![a-z])"
    r"(?! +(?:for|fur|fuer|per|pour|para|with|mit|con|avec)[ .])"
)
_ORDERED_APART = re.compile(
    rf"(?<![a-z]){_GEAR} (?:bitte |sold )?(?:separat|getrennt|extra|separately|"
    r"a parte|separement|por separado)(?![a-z])"
)
_ONE = re.compile(
    rf"(?<![a-z0-9])1 ?(?:x|st|stk|stuck|pcs?|piece|pz|pezzo|ud)\.? {_GEAR}(?![a-z])"
    r"(?! +(?:set|pair|kit|satz|paar|coppia|jeu|par))"
)
_DRIVEN = re.compile(
    r"(?<![a-z])(?:driven (?:gear|wheel)|(?:ingranaggio|ruota|corona) condott[oa]|roue menee|"
    r"(?:rueda|engranaje|corona) conducid[oa]|abtriebsrad|zwischenrad|getriebenes? (?:zahn)?rad)"
    r"(?![a-z])"
)
_MATES = re.compile(
    r"(?<![a-z])(?:(?:mates?|mating|goes|paired|runs|works) (?:with|to)"
    r"|(?:passend|passt|gehort) zu[mr]?|da abbinare (?:a|al|alla|con)|accoppiare (?:a|con)"
    rf"|a monter avec|s.accouple avec|combinar con) *(?:(?:z ?=? ?)?[0-9]|{_GEAR}(?![a-z]))"
)
_COUNT = re.compile(
    r"(?<![0-9/:x.,+-])(?P<before>[0-9]{1,3}) ?-?"
    r"(?:t|z|th|teeth|tooth|zahne?n?|zaehne?n?|denti|dents|dientes)(?![a-z])(?! ?[/:x+-] ?[0-9z])"
    r"|(?<![a-z0-9])z ?= ?(?P<behind>[0-9]{1,3})(?![0-9/:x.,+-])(?! ?[/:x+-])"
)
_JOINED = re.compile(r"[0-9a-z] ?[/:x+] ?$|[0-9tz]-$")
_LETTERS = re.compile(r"[a-z]+")
_TELLING = _GEARS | cues.words_in(
    "abtriebsrad zwischenrad mate mates mating goes paired runs works passend passt gehort "
    "abbinare accoppiare monter accouple combinar"
)
"""Without any of these no rule here has something to say."""

_HEAD = 3
"""So many words of a text say what it is."""


def single_gear_in(text: str, pair: Pair) -> str:
    """The words that say that one gear alone is sold, folded; empty where none do.

    Args:
        text: what the list calls the part.
        pair: the pair that stands beside it.
    """
    folded = fold(text)
    words = set(_LETTERS.findall(folded))
    if words.isdisjoint(_TELLING):
        return ""
    for pattern in (_ALONE, _MATES, _ORDERED_APART, _ONE):
        if found := pattern.search(folded):
            return found.group().strip()
    driven = _DRIVEN.search(folded)
    if driven and cues.PINION_WORDS.isdisjoint(words):
        return driven.group()
    counts = [
        found["before"] or found["behind"]
        for found in _COUNT.finditer(folded)
        if not _JOINED.search(folded[: found.start()])
    ]
    if len(counts) != 1 or int(counts[0]) not in (pair.driver, pair.driven):
        return ""
    head = _LETTERS.findall(folded)[:_HEAD]
    gear = next((word for word in head if word in _GEARS), "")
    return f"{gear}, {counts[0]} teeth" if gear else ""
