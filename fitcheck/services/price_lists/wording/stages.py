"""Words for a stage of the train in English, Italian, German, French and Spanish."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

from fitcheck.model.family import TRAIN_STAGES
from fitcheck.model.fields import STAGES, Stage
from fitcheck.services.price_lists.reading.cells import Cell
from fitcheck.services.price_lists.wording.readings import (
    Reading,
    as_cell,
    empty,
    fold,
    phrases,
    read,
    review,
    unreadable,
    words_of,
)
from fitcheck.services.price_lists.wording.reservations import said_against

Stages = tuple[Stage, ...]

_TRAINS: tuple[Stages, ...] = (TRAIN_STAGES[2], TRAIN_STAGES[3])
_FINALS: tuple[Stages, ...] = (("secondary",), ("tertiary",), ("single",))

# Word lists are common practice of the trade, no source.
_NOUN = (
    r"(?:(?:gear|reduction)[ -]?(?:pair|set|stage)s?|stages?|pairs?|reductions?|steps?"
    r"|stufen?|paare?|untersetzung(?:en)?|ubersetzung(?:en)?|zahnradpaare?|radpaare?|radsatz"
    r"|stadi?o?|riduzion[ei]|coppi[ae]|etages?|couples?|demultiplications?"
    r"|etapas?|reduccion(?:es)?|pareja|par)"
)
# A speed of a gearbox that is shifted is no stage: `Übersetzung 1. Gang`.
_SPEED = r"(?:gang|marcia|vitesse|velocidad|marcha|speed)(?![a-z])"
# How many are in a pack: `gear set 2 pcs`.
_PIECES = r"(?:x|st|stk|stuck|pcs?|pieces?|pz|pezzi|ud?s|unidades|mal|er)(?![a-z])"
_SEP = r"[ .\-]*"
_WORDS: dict[Stage, str] = {
    "primary": r"prim|primary|primar(?!y)[a-z]*|primaer[a-z]*|primaires?",
    "secondary": (
        r"sec|sek|secondary|secondari[aoe]?|sekund[a-z]*|secundari[ao]s?|secondaires?|secund"
    ),
    "tertiary": (
        r"tert|tertiary|terziari[aoe]?|tertiar(?!y)[a-z]*|tertiaer[a-z]*|terciari[ao]s?"
        r"|tertiaires?"
    ),
    "single": (
        r"single[ -](?:stage|reduction|step)|one[ -]stage|einstufig[a-z]*|einstufen[a-z]*"
        r"|monostadio|(?:stadio|riduzione) (?:singol[ao]|unic[ao])|singol[ao] (?:stadio|riduzione)"
        r"|monoetage|mono-etage|(?:a )?(?:un seul|un) etage|simple (?:etage|reduction)"
        r"|monoetapa|una (?:sola )?etapa|etapa unica|reduccion simple"
    ),
}
_ORDINALS: dict[Stage, str] = {
    "primary": (
        r"1st|first|1\.|1o|1a|1°|1º|1ª|i|erste[rsnm]?|prim[oa]|premiere?|1re|1ere?|1er|primer[ao]?"
    ),
    "secondary": (
        r"2nd|second|2\.|2o|2a|2°|2º|2ª|ii|zweite[rsnm]?|second[oa]|seconde|deuxieme|2e|2eme|2nde?"
        r"|segund[ao]"
    ),
    "tertiary": (
        r"3rd|third|3\.|3o|3a|3°|3º|3ª|iii|dritte[rsnm]?|terz[oa]|troisieme|3e|3eme|tercer[ao]?"
    ),
}
# Bare numerals count before a noun (`1 pair`, `2 Stufen`) and name only after it.
_NUMERALS: dict[Stage, str] = {"primary": "1|i", "secondary": "2|ii", "tertiary": "3|iii"}
_ALTERNATIVES = [
    *(
        rf"(?<![a-z0-9])(?<!pre-)(?P<w_{stage}>{words})(?![a-z0-9])"
        for stage, words in _WORDS.items()
    ),
    *(
        rf"(?<![a-z0-9/:.,\-])(?P<o_{stage}>(?:{words}){_SEP}{_NOUN})(?![a-z0-9])"
        for stage, words in _ORDINALS.items()
    ),
    *(
        rf"(?<![a-z0-9])(?P<n_{stage}>{_NOUN}{_SEP}(?:{numeral}))"
        rf"(?![a-z0-9/:°ºª]|[.,\-] ?[0-9]|\.?\s?{_SPEED}|\s?{_PIECES})"
        for stage, numeral in _NUMERALS.items()
    ),
]
_PATTERN = re.compile("|".join(_ALTERNATIVES))
# `1./2. Stufe`, `first and second stage`: both, if there are two pairs.
_TOGETHER = re.compile(
    rf"(?<![a-z0-9/:.,\-])(?:{_ORDINALS['primary']})\s*(?:[/+&,]|und|and|e|et|y)\s*"
    rf"(?:{_ORDINALS['secondary']}){_SEP}{_NOUN}(?![a-z0-9])"
)
_FINAL = re.compile(
    r"(?<![a-z])(?:final|finale[s]?|end(?:stufe|untersetzung|antrieb)|last|letzte[rs]?|ultim[oa]"
    r"|derniere?)(?![a-z])"
)
_WHOLE = re.compile(
    r"(?<![a-z])(?:(?:complete|full|whole|entire) (?:gear )?(?:train|set|kit|gearing|drive)"
    r"|(?:gear )?(?:set|kit|train) complete|both stages|all stages"
    r"|kompl(?:ett(?:e[rsn]?)?)?\.? ?(?:satz|getriebe|radsatz|zahnradsatz|kit|set|ubersetzung)"
    r"|(?:satz|getriebesatz|zahnradsatz|getriebe|set|kit) (?:komplett|kompl|kpl)|kpl"
    r"|beide stufen|alle stufen|komplettsatz|komplettset|komplettgetriebe"
    r"|(?:set|kit|serie|treno|gruppo|ingranaggi) (?:di ingranaggi )?complet[oaie]"
    r"|entrambi gli stadi"
    r"|(?:jeu|kit|train|ensemble) (?:de pignons )?complets?|deux etages"
    r"|(?:juego|kit|tren|conjunto) (?:de engranajes )?complet[oa]|ambas etapas)(?![a-z])"
)


# In a column of stages these alone say the same.
_ALL = re.compile(
    r"(?:complet[oaie]s?|complets?|completes?|komplett|kompl\.?|kpl\.?|whole|full|all|alle|tutti|"
    r"tutte|tous|toutes|todos|todas|both|beide|entramb[ie]|les deux|ambos|ambas)"
)


@dataclass(frozen=True, slots=True)
class StageWord:
    """A stage named in a text.

    Attributes:
        stage: our word.
        start: where it begins in the folded text.
        end: where it ends.
    """

    stage: Stage
    start: int
    end: int


@lru_cache(maxsize=64)
def _own_words(words: frozenset[str]) -> re.Pattern[str] | None:
    return phrases(word for word in words if len(word) > 2)


def find_stages(folded: str, words: Mapping[str, Stage] | None = None) -> list[StageWord]:
    """The stages a folded text names, in order.

    Args:
        folded: text from `fold`.
        words: a supplier's own words, which go before the general ones; those of one or two
            letters are used only for whole cells.

    Returns:
        Each stage word with its place.
    """
    by_word = {fold(word).strip(): stage for word, stage in (words or {}).items()}
    own = _own_words(frozenset(by_word)) if by_word else None
    found: list[StageWord] = []
    taken = folded
    if own is not None:
        for match in own.finditer(folded):
            found.append(StageWord(by_word[match.group()], match.start(), match.end()))
            taken = taken[: match.start()] + "\1" * len(match.group()) + taken[match.end() :]
    for match in _PATTERN.finditer(taken):
        assert match.lastgroup is not None
        stage: Stage = match.lastgroup[2:]  # type: ignore[assignment]
        found.append(StageWord(stage, match.start(), match.end()))
    return sorted(found, key=lambda word: word.start)


def stage_spans(folded: str, words: Mapping[str, Stage] | None = None) -> list[tuple[int, int]]:
    """Where a folded text speaks of stages, or of the whole train."""
    found = [(word.start, word.end) for word in find_stages(folded, words)]
    patterns = (_WHOLE, _TOGETHER)
    return found + [each.span() for pattern in patterns for each in pattern.finditer(folded)]


def names_whole_train(folded: str) -> bool:
    """Whether a folded text speaks of all the gears of a train."""
    return _WHOLE.search(folded) is not None


def read_stage(cell: Cell | str, words: Mapping[str, Stage] | None = None) -> Reading[Stages]:
    """The stage, or stages, a cell names.

    Args:
        cell: a cell of the column of stages, or of free text.
        words: the supplier's own words, each to ours; they go first.

    Returns:
        One stage or several, from input shaft to wheel. `final` alone, and a bare `1` or `II`
        that the supplier's words do not settle, are for review: which stage they mean depends on
        how many the train has.
    """
    cell = as_cell(cell)
    if cell.blank:
        return empty(cell)
    folded = fold(cell.text).strip()
    if words and (own := words_of(folded)):
        for word, stage in words.items():
            if words_of(word) == own:
                return read(cell, (stage,))
    found = list(dict.fromkeys(word.stage for word in find_stages(folded, words)))
    together = _TOGETHER.search(folded) is not None
    whole = names_whole_train(folded) or _ALL.fullmatch(folded)
    if together or (whole and len(found) < 2):
        trains = _TRAINS[:1] if together else _TRAINS
        trains = () if said_against(cell.text) else trains
        return review(cell, "it names a whole train, not its stages", *trains)
    denied = found and said_against(cell.text)
    if denied or ("single" in found and len(found) > 1):
        why = f"which stage it is not, or doubts it ({denied!r})" if denied else " and ".join(found)
        return review(cell, f"it says {why}", *[(each,) for each in found])
    if found:
        return read(cell, tuple(stage for stage in STAGES if stage in found))
    return _unsettled(cell, folded)


def stages_in(text: str, words: Mapping[str, Stage] | None = None) -> Stages:
    """The stages that a free text names for certain, as `read_stage` does; else none."""
    if not text or not find_stages(fold(text), words):
        return ()
    found = read_stage(text, words)
    return found.value or () if found.certain else ()


def _unsettled(cell: Cell, folded: str) -> Reading[Stages]:
    if _FINAL.search(folded):
        return review(cell, "the final stage is another in every train", *_FINALS)
    for stage, ordinals in _ORDINALS.items():
        if re.fullmatch(rf"(?:{ordinals}|{_NUMERALS[stage]})[.)]?", folded):
            reason = f"{cell.text.strip()!r} alone does not say what it counts"
            return review(cell, reason, (stage,))
    return unreadable(cell, "no word for a stage")
