"""Words which say that a row is of another article, or of one gear of a pair only."""

from __future__ import annotations

import re
from functools import lru_cache

from fitcheck.services.price_lists.wording import cues
from fitcheck.services.price_lists.wording.cues import GEAR_WORDS, TEETH_WORDS
from fitcheck.services.price_lists.wording.readings import fold
from fitcheck.services.price_lists.wording.reservations import without_parts_out

_GEAR = rf"(?:{'|'.join(sorted(cues.PINION_WORDS | cues.WHEEL_GEAR_WORDS))})"
# One gear of a pair, in words that are harmless each by itself. Common practice, no source.
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


@lru_cache(maxsize=4096)
def single_gear_in(text: str) -> str:
    """The words that say that one gear alone is sold, folded; empty where none do.

    Args:
        text: what the list calls the part, or says of it.
    """
    folded = fold(text)
    if found := _MATES.search(folded):
        return found.group().strip()
    driven = _DRIVEN.search(folded)
    if driven and cues.PINION_WORDS.isdisjoint(re.findall("[a-z]+", folded)):
        return driven.group()
    return ""


# Articles that suppliers of gear sets also list. Common practice, no source.
_OTHER = (
    r"(?:gaskets?|(?:oil )?seals?|oil|grease|belts?|rollers?|weights?|bearings?|springs?|"
    r"clutch(?:es)?|bolts?|screws?|washers?|tools?|pullers?|filters?|cables?|pistons?|cylinders?|"
    r"exhausts?|carburett?ors?|variators?|brakes?|tyres?|tires?|spark plugs?|mirrors?|bulbs?|"
    r"lamps?|batter(?:y|ies)|helmets?|gloves|stickers?|catalogues?|postage|shipping|"
    r"guarnizion[ei]|paraoli[oi]?|olio|grasso|cinghi[ae]|rull[io]|cuscinett[oi]|moll[ae]|frizion[ei]|"
    r"vit[ei]|rondell[ae]|chiav[ei]|estrattor[ei]|filtr[oi]|marmitt[ae]|variator[ei]|fren[oi]|"
    r"pneumatic[oi]|candel[ae]|specch(?:io|i|ietti?|ietto)|lampadin[ae]|batteri[ae]|cas(?:co|chi)|"
    r"adesiv[oi]|catalog(?:o|hi)|trasporto|spedizione|"
    r"dichtung(?:en|ssatz)?|simmerringe?|wellendichtringe?|ol|oel|getriebeol|fett|keilriemen|"
    r"riemen|rollen|gewichte|lager|(?:lager|rollen|simmerring|dicht|feder|kupplungs)satz|federn?|kupplung(?:en)?|schrauben?|scheiben?|werkzeug|abzieher|"
    r"auspuff|vergaser|variomatik|brems(?:en?|belage?|scheiben?)|reifen|zundkerzen?|spiegel|"
    r"gluhbirnen?|batterien?|helme?|aufkleber|katalog|versand(?:kosten)?|"
    r"joints?|huile|graisse|courroies?|galets?|roulements?|ressorts?|embrayages?|vis|rondelles?|"
    r"outils?|extracteurs?|pots?|variateurs?|freins?|pneus?|bougies?|retroviseurs?|ampoules?|"
    r"casques?|autocollants?|frais de port|"
    r"juntas?|reten(?:es)?|aceite|grasa|correas?|rodillos?|rodamientos?|muelles?|embragues?|"
    r"tornillos?|arandelas?|extractor(?:es)?|escapes?|frenos?|neumaticos?|bujias?|espejos?|"
    r"bombillas?|baterias?|cascos?|pegatinas?|gastos de envio)"
)
_OTHER_WORD = re.compile(rf"(?<![a-z]){_OTHER}(?![a-z])")
# A text is about what stands before a number, a mark or one of these: `Gear oil 80W90`, `Aceite de
# engranajes`; there the first word or the last one is what it is.
_HEAD_ENDS = re.compile(
    r"[^a-z \-]|(?<![a-z])(?:for|fur|fuer|f|per|pour|para|with|w|mit|m|con|avec|incl|inkl|compr|"
    r"ab|auf|im|in|on|from|and|und|u|et|e|y|zu|zum|zur|of|da|de|di|du|d|des|del|della|dei|vom|von)(?![a-z])"
)
# Compounds end in what they are: Getriebeol, Variorollen. Common practice, no source.
_COMPOUND = re.compile(
    r"[a-z]{3,}(?:ol|oel|fett|riemen|rollen|gewichte|dichtung(?:en|ssatz)?|simmerringe?|lager|"
    r"federn?|schrauben?|scheiben?|abzieher|werkzeug|deckel)"
)
# Gears inside longer words: Zahnradkit, Übersetzungssatz. Common practice, no source.
_GEARS_INSIDE = re.compile(r"zahnrad|ue?bersetz|ritzel|ingranagg|pignon|engrana|pinon")
_SPEAK_OF_TEETH = GEAR_WORDS | (TEETH_WORDS - {"t", "z"})


def is_other_article(text: str) -> bool:
    """Whether a row without teeth and stage is certainly none of ours.

    It must be called another kind of article, or name one and no gears; what names nothing at all
    may be a gear set whose teeth the list forgot.

    Args:
        text: what the row calls the part, and what stands above it for models.
    """
    folded = fold(text)
    if _is_headed_by_other(folded):
        return True
    if _SPEAK_OF_TEETH & set(re.findall(r"[a-z]+", folded)) or _GEARS_INSIDE.search(folded):
        return False
    return _OTHER_WORD.search(folded) is not None


@lru_cache(maxsize=4096)
def headed_by_other(name: str) -> str:
    """The words by which a name is that of another article, such as `gasket set`; or empty."""
    text = fold(name)
    if not _is_headed_by_other(text):
        return ""
    text = without_parts_out(text).lstrip(" ,;")
    return _HEAD_ENDS.split(text, maxsplit=1)[0].strip() if _is_headed_by_other(text) else ""


def _is_headed_by_other(text: str) -> bool:
    """Whether the words before any number or preposition say that it is another article."""
    head = _HEAD_ENDS.split(text.strip(), maxsplit=1)[0].replace("-", " ").split()
    return any(_is_other(word) for word in (*head[:1], *head[-1:]))


@lru_cache(maxsize=4096)
def _is_other(word: str) -> bool:
    return bool(_OTHER_WORD.fullmatch(word) or _COMPOUND.fullmatch(word))
