"""Articles of a list that are no gear sets: seals, belts, oil and the like, in five languages."""

from __future__ import annotations

import re

from fitcheck.services.intake.articles import Article
from fitcheck.services.intake.wording import fold
from fitcheck.services.intake.wording.cues import GEAR_WORDS, TEETH_WORDS

__all__ = ["is_other_article"]

# Articles that suppliers of gear sets also list. Common practice, no source.
_OTHER = re.compile(
    r"(?<![a-z])(?:gaskets?|(?:oil )?seals?|oil|grease|belts?|rollers?|weights?|bearings?|springs?|"
    r"clutch(?:es)?|bolts?|screws?|washers?|tools?|pullers?|filters?|cables?|pistons?|cylinders?|"
    r"exhausts?|carburett?ors?|variators?|brakes?|tyres?|tires?|spark plugs?|mirrors?|bulbs?|"
    r"lamps?|batter(?:y|ies)|helmets?|gloves|stickers?|catalogues?|postage|shipping|"
    r"guarnizion[ei]|paraoli[oi]?|olio|grasso|cinghi[ae]|rull[io]|cuscinett[oi]|moll[ae]|frizion[ei]|"
    r"vit[ei]|rondell[ae]|chiav[ei]|estrattor[ei]|filtr[oi]|marmitt[ae]|variator[ei]|fren[oi]|"
    r"pneumatic[oi]|candel[ae]|specch(?:io|i|ietti?|ietto)|lampadin[ae]|batteri[ae]|cas(?:co|chi)|"
    r"adesiv[oi]|catalog(?:o|hi)|trasporto|spedizione|"
    r"dichtung(?:en|ssatz)?|simmerringe?|wellendichtringe?|ol|oel|getriebeol|fett|keilriemen|"
    r"riemen|rollen|gewichte|lager|federn?|kupplung(?:en)?|schrauben?|scheiben?|werkzeug|abzieher|"
    r"auspuff|vergaser|variomatik|brems(?:en?|belage?|scheiben?)|reifen|zundkerzen?|spiegel|"
    r"gluhbirnen?|batterien?|helme?|aufkleber|katalog|versand(?:kosten)?|"
    r"joints?|huile|graisse|courroies?|galets?|roulements?|ressorts?|embrayages?|vis|rondelles?|"
    r"outils?|extracteurs?|pots?|variateurs?|freins?|pneus?|bougies?|retroviseurs?|ampoules?|"
    r"casques?|autocollants?|frais de port|"
    r"juntas?|reten(?:es)?|aceite|grasa|correas?|rodillos?|rodamientos?|muelles?|embragues?|"
    r"tornillos?|arandelas?|extractor(?:es)?|escapes?|frenos?|neumaticos?|bujias?|espejos?|"
    r"bombillas?|baterias?|cascos?|pegatinas?|gastos de envio)(?![a-z])"
)
# Gears inside longer words: Zahnradkit, Übersetzungssatz. Common practice, no source.
_GEARS_INSIDE = re.compile(r"zahnrad|ue?bersetz|ritzel|ingranagg|pignon|engrana|pinon")
_SPEAK_OF_TEETH = GEAR_WORDS | (TEETH_WORDS - {"t", "z"})


def is_other_article(article: Article) -> bool:
    """Whether a row without teeth is certainly none of ours.

    It must name another kind of article, and neither gears nor a stage; what names nothing at all
    may be a gear set whose teeth the list forgot.
    """
    text = fold(f"{article.name} {'' if article.models_column else article.models}")
    if article.stage.status != "empty":
        return False
    if _SPEAK_OF_TEETH & set(re.findall(r"[a-z]+", text)):
        return False
    if _GEARS_INSIDE.search(text):
        return False
    return _OTHER.search(text) is not None
