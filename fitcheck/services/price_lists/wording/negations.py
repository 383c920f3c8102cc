"""Words that deny or doubt what stands beside them, in five languages.

What a list denies or doubts proves nothing, whether it is of a housing, a model or a stage.
"""

from __future__ import annotations

import re

from fitcheck.services.price_lists.wording import cues
from fitcheck.services.price_lists.wording.folding import fold

# Word lists are common practice of the trade, no source.
_WITHOUT: frozenset[str] = cues.words_in("without w/o ohne senza sans sin")
DENIALS = _WITHOUT | cues.words_in(
    "not no nor never none neither except excepting excluding excludes excluded excl but unless "
    "cannot isn doesn don won wont incompatible unsuitable "
    "nicht nie kein keine keinen keiner keinem nein ausser ausgenommen weder "
    "inkompatibel ungeeignet "
    "non nessun nessuno nessuna ne mai eccetto tranne escluso esclusa esclusi escluse fuorche "
    "incompatibile "
    "pas ni aucun aucune jamais sauf excepte hormis exclu exclus exclue "
    "ningun ninguno ninguna nunca tampoco excepto salvo menos excluido excluida"
)
"""Folded words that turn what is said into its contrary, or take something out of it."""

_DOUBTS = cues.words_in(
    "maybe perhaps possibly probably presumably likely unsure uncertain unknown unconfirmed tbc "
    "tbd unclear vielleicht evtl eventuell moglicherweise vermutlich wahrscheinlich unsicher "
    "unklar unbekannt forse probabilmente incerto sconosciuto dubbio peutetre probablement "
    "incertain inconnu quiza quizas probablemente dudoso desconocido"
)
_OF_TWO = re.compile(r"peut[- ]etre|tal vez|a lo mejor|bis auf|all but|a part(?=[ ,])")
_WORD = re.compile(r"w/o|[a-z]+")
# `No. 12`, `no 12`: a number, no denial.
_NUMBER_OF = re.compile(r"(?<![a-z])(?:no|nos|art\.? ?no)[.:]? ?(?=[0-9#])|(?<![a-z])no\.")
_FEW = 3
_WITHOUT_PART = re.compile(
    rf"(?<![a-z])(?:{'|'.join(sorted(_WITHOUT))})\s+(?:(?:the|die|das|den|le|la|les|il|el)\s+)?"
    r"(?P<part>[a-z]+)(?![a-z])"
)


def said_against(text: str) -> str:
    """The first word, or question mark, by which a text denies or doubts something.

    Args:
        text: as the list writes it.

    Returns:
        The word, folded; empty where the text plainly says what it says. `without seals` and the
        like speak of another part and are no denial.
    """
    folded = fold(text)
    if "?" in folded or "¿" in folded:
        return "?"
    if found := _OF_TWO.search(folded):
        return found.group()
    words: list[str] = _WORD.findall(_NUMBER_OF.sub(" ", folded))
    for at, word in enumerate(words):
        if word in _DOUBTS:
            return word
        if word not in DENIALS:
            continue
        behind = words[at + 1 : at + 3]
        if word in _WITHOUT and behind and any(each in cues.OTHER_PARTS for each in behind):
            continue
        return word
    return ""


def denies_behind(folded: str, end: int) -> str:
    """The denial among the few words before a place in a folded text, or empty."""
    near: list[str] = re.findall(r"[a-z]+|[,;.+/]", without_parts_out(folded[:end]))[-_FEW:]
    return next((word for word in near if word in DENIALS), "")


def without_parts_out(folded: str) -> str:
    """A folded text without such words as `ohne Dichtung`, which deny nothing of the gears."""
    return _WITHOUT_PART.sub(
        lambda found: " " if found["part"] in cues.OTHER_PARTS else found.group(), folded
    )
