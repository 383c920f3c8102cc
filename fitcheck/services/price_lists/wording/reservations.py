"""Words that deny or doubt what stands beside them, or take back, put off or change it.

What a list denies or doubts proves nothing, whether it is of a housing, a model or a stage. A row
with a reservation is read as it is, and asked about before it is taken.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from fitcheck.services.price_lists.wording import cues
from fitcheck.services.price_lists.wording.amounts import OF_PRICES
from fitcheck.services.price_lists.wording.readings import fold

# Word lists are common practice of the trade, no source.
_WITHOUT: frozenset[str] = cues.words_in("without w/o ohne senza sans sin")
DENIALS = _WITHOUT | cues.WORDS["row"]["denials"]
"""Folded words that turn what is said into its contrary, or take something out of it."""

_DOUBTS = cues.WORDS["row"]["doubts"]
_OF_TWO = re.compile(r"peut[- ]etre|tal vez|a lo mejor|bis auf|all but|a part(?=[ ,])")
_WORD = re.compile(r"w/o|[a-z]+")
NUMBER_OF = re.compile(r"(?<![a-z])(?:no|nos|art\.? ?no)[.:]? ?(?=[0-9#])|(?<![a-z])no\.")
"""`No. 12`, `no 12`: a number, no denial."""

_WITHOUT_PART = re.compile(
    rf"(?<![a-z])(?:{'|'.join(sorted(_WITHOUT))})\s+(?:(?:the|die|das|den|le|la|les|il|el)\s+)?"
    r"(?P<part>[a-z]+)(?![a-z])"
)


@lru_cache(maxsize=1 << 14)
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
    words: list[str] = _WORD.findall(NUMBER_OF.sub(" ", folded))
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


def without_parts_out(folded: str) -> str:
    """A folded text without such words as `ohne Dichtung`, which deny nothing of the gears."""
    return _WITHOUT_PART.sub(
        lambda found: " " if found["part"] in cues.OTHER_PARTS else found.group(), folded
    )


@dataclass(frozen=True, slots=True)
class Reservation:
    """What a text holds against a row.

    Attributes:
        of: the price, which a row without one does not mind; or the part.
        said: the words, folded.
    """

    of: Literal["price", "part"]
    said: str


# Word lists are common practice of the trade, no source.
_PART_WORDS = cues.WORDS["row"]["part"]
_PART_PHRASES = re.compile(
    r"(?<![a-z])(?:second[- ]hand|seconda mano|segunda mano|[b2][-. ]{1,2}(?:stock|ware|wahl)|"
    r"mock-up|core (?:charge|exchange)|replaced by|ersetzt durch|wird ersetzt|"
    r"sostituit[oa] (?:da|con)|"
    r"remplacee? par|(?:sustituid|reemplazad)[oa] por|use instead|"
    r"(?:do not|don't) (?:use|order|sell|fit|mount)|"
    r"nicht (?:verkaufen|verwenden|bestellen|verbauen|einbauen|mehr verwenden|gepruft|bestatigt)|"
    r"non (?:vendere|ordinare|montare|usare|verificat[oaie]|confermat[oaie])|"
    r"ne pas (?:vendre|commander|monter|utiliser)|no (?:vender|pedir|montar|usar)|"
    r"to be (?:confirmed|verified|checked)|zu (?:bestatigen|klaren|prufen)|"
    r"da (?:confermare|verificare|definire)|a (?:confirmer|verifier|definir|preciser)|"
    r"(?:por|sin) (?:confirmar|verificar|definir)|in (?:preparation|vorbereitung|preparazione)|"
    r"en (?:preparation|preparacion|location)|cut to order|made to measure|su misura|sur mesure|"
    r"a medida|nach wunsch|reverse rotation|rotazione inversa|sens inverse|"
    r"giro inverso|linksdrehend|customers? (?:wish|request|spec)[a-z]*|"
    r"(?:only|nur|solo|seulement) (?:pinions|wheels|ritzel|rader|pignoni|ruote|pignons|roues|"
    r"pinones)|"
    r"(?:pignoni|ruote|pignons|roues|pinones|ruedas) (?:sciolt[ie]|singol[ie]|seule?s|suelt[oa]s)|"
    r"(?:see|siehe|vedi|voir|vease|ver) (?!bild|page|pag|seite|fig|foto|photo|abb|image|katalog|"
    r"catalog|listin|preis)(?:[a-z.]{1,8} ?)?[a-z]{0,4}[-. ]?[0-9])"
    r"|^(?:montaje|montaggio|einbau|fitting|installation|labour|posa|instalacion|service|servizio|"
    r"reparatur\w*|arbeit\w*)(?![a-z])(?! (?:set|kit))"
)
_PRICE_WORDS = cues.WORDS["row"]["price"]
_MONEY = rf"(?:{OF_PRICES})"
_OPEN = (
    r"(?:anfr[a-z]*|(?:on|upon|by) (?:request|application)|enquire|ask|richiesta|richiedere|"
    r"chiedere|demander?|consult[a-z]*|preguntar|erfragen|unverbindlich|provisional|"
    r"indicati[a-z]*|orientativ[oa]|estimat[a-z]*|stimat[oa]|ca|circa|approx|environ|aprox|"
    r"gultig|valid[oia]?|valable|steig[a-z]*|falsch|alt|old|vecchio|ancien|antiguo|pruf[a-z]*|check|"
    r"a verifier|verificare|confirm[a-z]*|confermare|folgt|follows|offen|open|"
    r"(?:ab|from|dal|depuis|desde|a partir)[a-z ]{0,8} [0-9])"
)
_PRICE_PHRASES = re.compile(
    rf"(?<![a-z]){_MONEY}[a-z :,.(-]{{0,25}}(?<![a-z]){_OPEN}(?![a-z])"
    rf"|(?<![a-z])(?:ask|call|phone|anfragen?|chiedere|richiedere|consulter|"
    rf"consultar|preguntar|old|alte[rn]?|vecchi[oa]|ancienn?e?|antigu[oa]|last year.?s?)"
    rf"(?![a-z])[a-z :,.-]{{0,16}}(?<![a-z]){_MONEY}(?![a-z])"
    r"|(?<![a-z])(?:nous consulter|(?:a )?consultar$|gultig (?:bis|ab)|"
    r"valid (?:until|from|to|till)|"
    r"valid[oa] (?:fino|dal|hasta|desde|al)|valable (?:jusqu|a partir|du|au))"
    r"|(?<![a-z])(?:vendus?|vendue?s?|sold|verkauf|venduti?|vendit[ao]|vendidos?|se vende|abgabe)"
    r" (?:nur |only |solo )?(?:par|in|per|a|zu|por|en|im|je|da) "
    r"(?:[a-z]+ (?:de |of |da |von )?)?[2-9]"
    r"(?![0-9.,/:])"
)
_PIECES = (
    r"(?:stk|stuck|st|pcs|pc|pieces?|pz|pezzi|sets?|satze?n?|paar|pairs?|coppie|paires?|jeux|ex|"
    r"piezas?|juegos|pares|uds?|unidades)"
)
_QUANTITY = re.compile(
    r"(?<![a-z])(?:(?:min|minimum|minimo|mindestens|mindest[a-z]*menge|mindestabnahme|moq)"
    r"[ .:=]{0,3}(?:(?:order|qty|quantity|ordine|ordini|commande|pedido|abnahme|quantita) )?"
    r"[2-9][0-9]{0,3}(?![0-9.,/:]| ?(?:km|rpm|mm|nm|ml|g)(?![a-z]))"
    rf"|(?:ab|da|from|des|desde|abnahme von|a partir de) [1-9][0-9]{{0,3}} ?{_PIECES}(?![a-z]))"
)
_QUANTITY_WORDS = cues.words_in(
    "min minimum minimo mindestens mindestmenge mindestbestellmenge mindestabnahmemenge "
    "mindestabnahme moq ab da from des desde abnahme partir"
)
_ANY_MONEY = re.compile(rf"(?<![a-z]){_MONEY}(?![a-z])")
_SETS_OF = re.compile(
    r"(?<![a-z])(?:satz|set|paar|pair|coppia|paire|jeu|juego|par) ?= ?[2-9](?![0-9])"
)
_TELLING = _PART_WORDS | _PRICE_WORDS | cues.WORDS["row"]["telling"]
_USED_ON = re.compile(r"(?<![a-z])used (?:on|in|for|with|by|to)(?![a-z])")
_LETTERS = re.compile(r"[a-z]+")


@lru_cache(maxsize=32_768)
def reservation_in(text: str) -> Reservation | None:
    """What a text holds against the row it stands in or above; None for nothing."""
    folded = fold(text).strip()
    words = _LETTERS.findall(folded)
    if "=" in folded and (said := _found(_SETS_OF, folded)):
        return Reservation("price", said)
    if not _QUANTITY_WORDS.isdisjoint(words) and (said := _found(_QUANTITY, folded)):
        return Reservation("price", said)
    if _TELLING.isdisjoint(words):
        return None
    part = next((word for word in words if word in _PART_WORDS), "")
    if part == "used" and _USED_ON.search(folded):
        part = ""
    if said := part or _found(_PART_PHRASES, folded):
        return Reservation("part", said)
    price = next((word for word in words if word in _PRICE_WORDS), "")
    if said := price or _found(_PRICE_PHRASES, folded):
        return Reservation("price", said)
    return None


def is_price_of_quantity(text: str) -> bool:
    """Whether a line says that prices are those of a quantity: `Preise ab 10 Stück`."""
    folded = fold(text)
    return (
        "%" not in folded
        and _ANY_MONEY.search(folded) is not None
        and _QUANTITY.search(folded) is not None
    )


def _found(pattern: re.Pattern[str], text: str) -> str:
    found = pattern.search(text)
    return found.group().strip() if found else ""


# ------------------------------------------------------------------ harmless words together


def _words_of(kind: str) -> list[str]:
    """The harmless words of a kind in all languages, longest first."""
    words = frozenset().union(*cues.HARMLESS[kind].values())
    return sorted(words, key=lambda word: (-len(word), word))


SET = (
    r"(?:sets?|pairs?|kits?|gear\s?sets?|satz|paar|zahnradsatz|zahnradpaar|coppia|paio|serie|jeu|paire|"
    r"couple|juego|par|pareja)"
)
"""One set, in a word: the two gears of a pair."""

_ONE_GEAR = (
    r"(?:gear|pinion|cog|piece|wheel|ritzel|zahnrad|rad|stuck|pignone|ingranaggio|ruota|pezzo|pignon|"
    r"engrenage|roue|piece|pinon|engranaje|rueda|pieza)"
)
_HALF = (
    r"(?:pinion|crown|ritzel|rad|pignone|corona|ruota|pignon|couronne|roue|pinon|rueda)(?![a-z])"
)
_EACH = (
    r"(?:per|je|pro|par|por|for\seach|for\sone|fur\sjedes|chaque|cada|ogni|jedes|each|every|a\sl)"
)
_ONE = r"(?:1|one|ein|un|una|une|uno)"
_VEHICLE = (
    r"(?:engines?|motors?|models?|scooters?|gearbox(?:es)?|machines?|motore?n?|modelle?n?|roller|"
    r"getriebe|fahrzeuge?|maschinen?|motor[ei]|modell[oi]|cambi?o?|moteurs?|modeles?|boites?|"
    r"motores|modelos?|serie|versione?|version|ausfuhrung|spec)"
)
_PLACES = rf"(?:{'|'.join(_words_of('places'))})[a-z]{{0,2}}"
_STRONG = r"(?:reinforced|strengthened|strong|heavy|verstarkte[snrm]?|starke[snrm]?|schwere[snrm]?)"
_STRONG_ROMANCE = r"(?:rinforzat[oaie]|renforcee?s?|reforzad[oa]s?)"
_TOOTH = r"(?:teeth|tooth|zahne?n?|dent[ei]|dents?|dientes?)"
_MORE = r"(?:more|less|fewer|mehr|weniger|piu|meno|plus|moins|mas|menos)"
_NEW = (
    r"(?:new|newer|latest|neu|neue[rsnm]?|neueste[rsnm]?|nuov[oaie]|ultim[oaie]|nouve[a-z]+|neufs?|"
    r"derni[a-z]+|nuev[oa]s?)"
)
_WORK = "|".join(
    word
    for word in _words_of("making")
    if re.search(r"(?:ing|ung|zione|cion|age|tion|ura|ica)$", word)
)
# Harmless words that together limit what is sold, or say that it is not made yet. Common practice.
_TOGETHER = re.compile(
    rf"""(?<![a-z])(?:
      {_EACH}\s{_ONE_GEAR}(?=\s*(?:$|[,;.)|]))                               # per gear
    | {_ONE}\s?(?:x\s)?{_ONE_GEAR}(?=\s*(?:$|[,;.)|]))                        # 1 pinion
    | (?:prices?|preise?|prezz[oi]|prix|precios?)\s(?:per|je|pro|par|por|a|al)\s(?!(?:la\s)?{SET})
      [a-z0-9]+
    | {_NEW}\s{_VEHICLE} | {_VEHICLE}\s{_NEW}                                 # for new engines
    | (?:for|fur|per|pour|para)\s(?:the\s|la\s|l'|el\s)?{_PLACES}
    | {_NEW}\s{_HALF}(?!\s?{SET}) | {_HALF}\s{_NEW}                           # pinion new
    | {_PLACES}\s{_VEHICLE} | {_VEHICLE}\s(?:for\s)?{_PLACES}
    | (?:for|fur|with|mit)\s{_STRONG}\s(?:{_VEHICLE}|shafts?|cases?|welle|achse|gehause)
    | (?:cambio|boite|caja|moteur|motore?)\s{_STRONG_ROMANCE}
    | {_MORE}\s(?:de\s)?{_TOOTH} | {_TOOTH}\s(?:in\s|de\s)?{_MORE}            # one tooth more
    | zu\s(?:leicht|schwer|hart|hoch|fest|kurz|lang) | helice\s(?:a\s)?droite
    | zum\s(?!fahren|einbauen|verbauen|anfahren|touren|reisen|rennen)[a-z]+en
    | aus\s(?:dem\s|einem\s)?(?:roller|fahrzeug|motor|maschine|scooter|modell|moped)
    | ^(?:the|das|die|la|le|el|il|al?|alla)\s{_ONE_GEAR}$
    | (?:as|wie|come|comme|como)\s(?:good\sas\s)?(?:new|neu|nuov[oaie]|neufs?|nuev[oa]s?)
    | (?:for|zum|zur|da|per|pour|para|to\sbe|needs?)\s(?:{_WORK})               # for grinding
    | (?:in|en|under)\s(?:production|produktion|fertigung|herstellung|produzione|lavorazione|
      fabrication|produccion|fabricacion|development|entwicklung|sviluppo|corso|cours|curso)
    )(?![a-z])""",
    re.VERBOSE,
)
# Work that is paid by itself: `Montage Zahnradsatz`.
_LABOUR = re.compile(
    r"\s*(?:fitting|installation|einbau|montage|montaggio|montaje|pose|instalacion|installazione|"
    r"service|servizio)(?![a-z])(?! (?:kit|set))"
)


def limiting_spans(folded: str, *, is_name: bool) -> list[tuple[int, int]]:
    """Where harmless words together limit what is sold.

    Args:
        folded: the text.
        is_name: whether it names the article.
    """
    spans = [each.span() for each in _TOGETHER.finditer(folded)]
    if is_name and (labour := _LABOUR.match(folded)):
        spans.append(labour.span())
    return spans
