"""Words that make a price one of several pieces, in five languages."""

from __future__ import annotations

import re

from fitcheck.services.price_lists.wording.folding import fold

# Common practice of the trade, no source. `2 pcs` alone are the two gears of a pair.
_SOME = r"(?:[2-9]|[1-9][0-9]{1,2})"
_PACK = re.compile(
    r"(?<![a-z0-9])(?:"
    r"[2-9]\s?er[- ]?(?:pack(?:ung)?|set)|"
    rf"(?:packs?|packung|package|box|bag)\s?(?:of|a|von|mit|zu)\s?{_SOME}|"
    rf"(?:confezion[ei]|conf|pacc(?:o|hi))\.?\s?(?:da|di)?\s?{_SOME}|"
    rf"(?:lot|boite|paquet)\s?de\s?{_SOME}|"
    rf"(?:pack|paquete|caja|lote)\s?de\s?{_SOME}|"
    rf"(?:vpe|ve)\s?[:=]?\s?{_SOME}|"
    r"(?:preis|price|prezzo|prix|precio)[a-z ]{0,12} "
    r"(?:fur|fuer|for|of|per|pour|para|je|pro|di|de|la|al) "
    r"(?:[2-9]|(?:rad|zahnrad|ritzel|wheel|gear|pinion|ruota|ingranaggio|pignone|roue|pignon|rueda|"
    r"pinon)(?![a-z]))"
    r")(?![0-9.,/:])"
)


_SET = r"(?:pair|set|paar|satz|paio|coppia|paire|jeu|par|juego)"
_CENTS = re.compile(r"[0-9][.,][0-9]{2}(?![0-9])")
_AMOUNT = r"(?:€ ?|eur ?)?[0-9]{1,5}[.,][0-9]{2}(?![0-9])"
_OF_SET = re.compile(
    rf"(?<![a-z])(?:(?:per|pro|je|a|al|alla|la|le|el|the) )?{_SET}:? {_AMOUNT}"
    rf"|{_AMOUNT} ?(?:€|eur)? ?(?:per|pro|je|/|al|alla|la|le|el) ?{_SET}(?![a-z])"
)


def pack_in(text: str) -> str:
    """The words of a line or a free text that speak of a pack of several, folded; else empty."""
    found = _PACK.search(fold(text))
    return found.group() if found else ""


def set_price_in(text: str) -> str:
    """The words of a free text that give a price of the set or pair, folded; else empty."""
    if not _CENTS.search(text):
        return ""
    found = _OF_SET.search(fold(text))
    return found.group() if found else ""
