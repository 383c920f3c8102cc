"""Words that deny or doubt what stands beside them, or take back, put off or change it.

What a list denies or doubts proves nothing, whether it is of a housing, a model or a stage. A row
with a reservation is read as it is, and asked about before it is taken.
"""

from __future__ import annotations

import re
from functools import lru_cache

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
    rf"(?<![a-z]){cues.any_of(_WITHOUT)}\s+(?:(?:the|die|das|den|le|la|les|il|el)\s+)?"
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


_PART_PHRASES = re.compile(rf"(?<![a-z]){cues.any_of(cues.WORDS['row']['part_phrases'])}(?![a-z])")
_REFERENCE = re.compile(  # see K-12; not: see page 12
    r"(?<![a-z])(?:see|siehe|vedi|voir|vease|ver) (?!bild|page|pag|seite|fig|foto|photo|abb|image|"
    r"katalog|catalog|listin|preis)(?:[a-z.]{1,8} ?)?[a-z]{0,4}[-. ]?[0-9]"
)
_MONEY = re.compile(rf"(?<![a-z])(?:{OF_PRICES})(?![a-z])")
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
_USED_ON = re.compile(r"(?<![a-z])used (?:on|in|for|with|by|to)(?![a-z])")
_LETTERS = re.compile(r"[a-z]+")


@lru_cache(maxsize=4096)
def is_reserved(text: str) -> bool:
    """Whether a title or a footer calls all parts used, raw, samples or the like."""
    folded = fold(text).strip()
    words = set(_LETTERS.findall(_USED_ON.sub(" ", folded)))
    patterns = (_PART_PHRASES.search, _REFERENCE.search, _LABOUR.match)
    return bool(words & cues.WORDS["row"]["part"]) or any(find(folded) for find in patterns)


def is_price_of_quantity(text: str) -> bool:
    """Whether a line says that prices are those of a quantity: `Preise ab 10 Stück`."""
    folded = fold(text)
    return "%" not in folded and bool(_MONEY.search(folded) and _QUANTITY.search(folded))


# ------------------------------------------------------------------ harmless words together


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
_PLACES = rf"{cues.any_of(frozenset().union(*cues.HARMLESS['places'].values()))}[a-z]{{0,2}}"
_STRONG = r"(?:reinforced|strengthened|strong|heavy|verstarkte[snrm]?|starke[snrm]?|schwere[snrm]?)"
_STRONG_ROMANCE = r"(?:rinforzat[oaie]|renforcee?s?|reforzad[oa]s?)"
_TOOTH = r"(?:teeth|tooth|zahne?n?|dent[ei]|dents?|dientes?)"
_MORE = r"(?:more|less|fewer|mehr|weniger|piu|meno|plus|moins|mas|menos)"
_NEW = (
    r"(?:new|newer|latest|neu|neue[rsnm]?|neueste[rsnm]?|nuov[oaie]|ultim[oaie]|nouve[a-z]+|neufs?|"
    r"derni[a-z]+|nuev[oa]s?)"
)
_WORK = cues.any_of(
    word
    for word in frozenset().union(*cues.HARMLESS["making"].values())
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
    | (?:for|zum|zur|da|per|pour|para|to\sbe|needs?)\s{_WORK}               # for grinding
    | (?:in|en|under)\s(?:production|produktion|fertigung|herstellung|produzione|lavorazione|
      fabrication|produccion|fabricacion|development|entwicklung|sviluppo|corso|cours|curso)
    )(?![a-z])""",
    re.VERBOSE,
)
# Work that is paid by itself: `Montage Zahnradsatz`.
_LABOUR = re.compile(
    r"\s*(?:fitting|installation|einbau|montage|montaggio|montaje|posa|pose|instalacion|labour|"
    r"installazione|service|servizio|reparatur[a-z]*|arbeit[a-z]*)(?![a-z])(?! (?:kit|set))"
)
_GEARS = cues.any_of(cues.PINION_WORDS | cues.WHEEL_GEAR_WORDS)
# One gear of a pair. Common practice, no source.
_DRIVEN = re.compile(
    r"(?<![a-z])(?:driven (?:gear|wheel)|(?:ingranaggio|ruota|corona) condott[oa]|roue menee|"
    r"(?:rueda|engranaje|corona) conducid[oa]|abtriebsrad|zwischenrad|getriebenes? (?:zahn)?rad)"
    r"(?![a-z])"
)
_MATES = re.compile(
    r"(?<![a-z])(?:(?:mates?|mating|goes|paired|runs|works) (?:with|to)"
    r"|(?:passend|passt|gehort) zu[mr]?|da abbinare (?:a|al|alla|con)|accoppiare (?:a|con)"
    rf"|a monter avec|s.accouple avec|combinar con) *(?:(?:z ?=? ?)?[0-9]|{_GEARS}(?![a-z]))"
)


def limiting_spans(folded: str, *, is_name: bool) -> list[tuple[int, int]]:
    """Where harmless words together limit what is sold, or say that it is one gear of a pair.

    Args:
        folded: the text.
        is_name: whether it names the article.
    """
    has_pinion = not cues.PINION_WORDS.isdisjoint(_LETTERS.findall(folded))
    patterns = (_TOGETHER, _MATES) if has_pinion else (_TOGETHER, _MATES, _DRIVEN)
    spans = [each.span() for pattern in patterns for each in pattern.finditer(folded)]
    if is_name and (labour := _LABOUR.match(folded)):
        spans.append(labour.span())
    return spans


# ------------------------------------------------------------------ other articles

_OTHER_GOODS = cues.any_of(
    cues.WORDS["count"]["other_goods"] | (cues.OTHER_PARTS - {"ring"})  # a ring gear is ours
)
_OTHER_WORD = re.compile(rf"(?<![a-z]){_OTHER_GOODS}(?![a-z])")
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
_SPEAK_OF_TEETH = cues.GEAR_WORDS | (cues.TEETH_WORDS - {"t", "z"})


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
