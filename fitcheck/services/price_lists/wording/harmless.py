"""Words, phrases and figures that say nothing that could matter beside a gear set.

They are the lists of harmless.yaml; another ending of a word, or a German compound of known parts,
says as little. What denies, doubts or limits is never harmless, whatever list it is in, nor are
harmless words that together limit what is sold: `per gear`, `for new engines`.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache
from itertools import product

from fitcheck.services.price_lists.wording import cues
from fitcheck.services.price_lists.wording.readings import fold
from fitcheck.services.price_lists.wording.reservations import DENIALS, SET, limiting_spans
from fitcheck.services.price_lists.wording.stages import stage_spans

Span = tuple[int, int]

_LISTS = cues.HARMLESS
_LANGUAGES = ("en", "de", "it", "fr", "es")
_KINDS = ("goods", "making", "places", "merits", "use", "coming")
_SIGNS = frozenset("ºªβ.,;:()[]{}/\\-+&|'\"=_·•–—!°x¡®™★☆►▶✓✔")
NEVER = DENIALS | cues.WORDS["row"]["doubts"] | cues.WORDS["row"]["mistakes"] | cues.ONLY_WORDS
"""Words that deny, doubt or limit."""

_LEADING = _LISTS["beside"]["leading"]
_TRAILING = _LISTS["beside"]["trailing"]
# What may be in the box; with a clutch or a belt it is another article.
_ACCESSORIES = _LISTS["beside"]["accessories"] | (
    cues.OTHER_PARTS - _LISTS["beside"]["no_accessories"]
)
VARIANTS = _LISTS["beside"]["variants"]
"""Behind the name of a model each of these is part of the name, and another machine."""

ELIDED = "|".join(sorted(_LISTS["small"]["elided"], key=len, reverse=True))
"""What stands before an apostrophe and a word; a pattern: `d'acier`, `all'usura`."""

# The endings of a language that leave what a word says. An infinitive says what is still to do.
_ENDINGS = {
    "en": r"(?:'s|es|s)$",
    "de": r"(?:e[rsnm]?|s|n)$",
    "it": r"(?:issim[oaie]|[hi]?[oaie])$",
    "fr": r"(?:ees?|es?|s|x)$",
    "es": r"(?:isim[oa]s?|[oa]s?|es|s)$",
}
_ENDING = {name: re.compile(rf"(?<=[a-z]{{4}}){said}") for name, said in _ENDINGS.items()}
_SHORT = 4
"""A word of no more letters is known in each of its forms only."""


def _stem(word: str, language: str) -> str:
    """A word without its ending, where four letters are left: `geschliffenes`, `rettificata`."""
    return _ENDING[language].sub("", word)


def _of(language: str, kinds: Iterable[str]) -> frozenset[str]:
    return frozenset().union(*(_LISTS[kind][language] for kind in kinds))


_HARMFUL = NEVER | cues.OTHER_PARTS | cues.WORDS["row"]["price"] | cues.WORDS["row"]["part"]
# `short` may be of the housing; a form of `shorter` it is not.
_SIZES = frozenset().union(*cues.WORDS["size"].values())
_SMALL = frozenset().union(*(_LISTS["small"][name] for name in _LANGUAGES))
_LETTERS_ALONE = {word for word in _SMALL if len(word) == 1}
_WORDS = (
    _SMALL.union(*(_of(name, _KINDS) for name in _LANGUAGES))
    | {f"{each}'" for each in _LISTS["small"]["elided"]}
    | {word for word in cues.GEAR_WORDS | cues.TEETH_WORDS if len(word) > 1}
    | cues.WHEEL_GEAR_WORDS
    | _LEADING
    | _TRAILING
    | _SIGNS
) - (NEVER | _LETTERS_ALONE)
_STEMS = {
    name: {each for word in _of(name, _KINDS) for each in (word, _stem(word, name))}
    - {_stem(word, name) for word in _HARMFUL}
    for name in _LANGUAGES
}
_PARTS = {
    word
    for word in _of("de", ("goods", "making", "merits", "use"))
    if len(word) >= _SHORT or word in ("rad", "end", "set", "kit")
    if not word.startswith("neu")  # a Neumodell is another machine
} - _HARMFUL
_HEADS = (_LISTS["compounds"]["heads"] | _PARTS) - {"teil"}  # teilgehartet: in part
_TAILS = _LISTS["compounds"]["tails"] | _PARTS
_TAIL_STEMS = {each for word in _TAILS for each in (word, _stem(word, "de"))}
_LINKS = ("", "s", "n", "en", "es", "er", "e")


@lru_cache(maxsize=1 << 14)
def is_harmless(word: str) -> bool:
    """Whether a folded word, or a sign, says nothing that could matter."""
    if word in _WORDS:
        return True
    if word in _HARMFUL or word in _ACCESSORIES or word in _SIZES or len(word) < _SHORT:
        return False
    if word[-1] == "s" and word[:-1] in _WORDS:  # sets, kits
        return True
    if any(_stem(word, name) in _STEMS[name] for name in _LANGUAGES) or _is_compound(word):
        return True
    # Umlauts that are written out: `gehaertet`.
    plain = re.sub(r"([aou])e", r"\1", word)
    return plain != word and len(plain) > _SHORT and is_harmless(plain)


def _is_compound(word: str) -> bool:
    """Whether a word is made of known German parts: `Getrieberadsatz`, `hochfest`."""
    for at in range(2, len(word) - 2):
        tail = word[at:]
        known = tail in _TAILS or (len(tail) > _SHORT and _stem(tail, "de") in _TAIL_STEMS)
        if known and _is_head(word[:at]):
            return True
    return False


def _is_head(word: str) -> bool:
    """Whether the beginning of a compound is a known part, or is made of such."""
    bare = (word.removesuffix(link) for link in _LINKS if word.endswith(link))
    return any(
        each in _HEADS or f"{each}e" in _HEADS or (len(each) > 5 and _is_compound(each))
        for each in bare
    )


def is_idle_letter(folded: str, at: int, ends: Iterable[int]) -> bool:
    """Whether a letter that stands alone is a small word: `a set`, `i denti`.

    Behind the name of a model, or with no word behind it, it may be one of its variants.

    Args:
        folded: the text.
        at: where the letter stands.
        ends: where names of models end.
    """
    if folded[at + 1 : at + 2].isalpha() or folded[at - 1 : at].isalpha():
        return False
    named = at - 1 in ends
    if folded[at] in cues.TEETH_WORDS:
        return not named
    if folded[at] not in _LETTERS_ALONE:
        return False
    return (
        re.match(r"\.? ?[a-z]{2}" if named else r"[.)]?[ /]?[a-z0-9(]", folded[at + 1 :])
        is not None
    )


# ------------------------------------------------------------------ phrases


_LETTERS = re.compile(r"[a-z]+")
_GAP = re.compile(r"[\s'.\-]{1,3}")
_PLACE = re.compile(r" *\| *")


_ANY_ENDING = re.compile(r"(?<=[a-z]{4})(?:ees?|e[rsnm]?|[oaie]s?|s)$")


@lru_cache(maxsize=1 << 14)
def _bare(word: str) -> str:
    """A word without any ending of the five languages; for comparing phrases."""
    return _ANY_ENDING.sub("", word)


def _phrases(texts: Iterable[str]) -> dict[str, set[tuple[str, ...]]]:
    """First word of phrases to all their words, endings left out; strokes part words to choose."""
    found: dict[str, set[tuple[str, ...]]] = {}
    for text in texts:
        for words in product(*(place.split("|") for place in _PLACE.sub("|", text).split())):
            bare = tuple(map(_bare, words))
            found.setdefault(bare[0], set()).add(bare)
    return found


_IN_ROWS = _phrases(text for name in _LANGUAGES for text in _LISTS["phrases"][name])
_IN_LINES = _phrases(_LISTS["lines"]["phrases"])


def _find_phrases(folded: str, known: dict[str, set[tuple[str, ...]]]) -> Iterator[Span]:
    """Where phrases stand in a folded text, with spaces, hyphens or an apostrophe in them only."""
    words = list(_LETTERS.finditer(folded))
    bare = [_bare(each.group()) for each in words]
    for at, first in enumerate(bare):
        for phrase in known.get(first, ()):
            end = at + len(phrase)
            if tuple(bare[at:end]) == phrase and all(
                _GAP.fullmatch(folded, words[n].end(), words[n + 1].start())
                for n in range(at, end - 1)
            ):
                yield words[at].start(), words[end - 1].end()


# ------------------------------------------------------------------ figures


_NUMBER = r"[0-9]+(?:[.,][0-9]+)?"
_FEW = r"(?:one|two|three|ein|zwei|drei|un|due|tre|deux|trois|dos|tres)"
_ABOUT = (
    r"(?:ca\.?|circa|approx\.?|approximately|about|usually|normally|etwa|rund|meist|environ|unas|"
    r"unos|aprox\.?|aproximadamente|max\.?|within|binnen|innerhalb(?:\svon)?|sous|entro|dentro\sde)"
)
_HOURS = r"(?:h|hrs?|hours?|std|stunden|ore|heures|horas)"
_DAYS = (
    r"(?:(?:working|business|werk|arbeits)\s?)?(?:days?|tage?n?|wochen?|weeks?|wks?|gg|giorni|"
    r"settiman[ae]|jours?|semaines?|dias?|semanas?)"
    r"(?:\s(?:lavorativi|ouvres|ouvrables|laborables|habiles))?"
)
_LONGER = r"(?:months?|monaten?|mes[ei]|mois|meses|years?|jahren?|ann[oi]|ans?|anos?)"
_SPAN = rf"{_NUMBER}(?:\s?(?:-|/|bis|to|a|or|oder)\s?{_NUMBER})?"
_GUARANTEE = (
    r"(?:(?:manufacturer'?s?|full)\s)?[a-z]{0,12}(?:warranty|guaranteed?|garantie|gewahrleistung|"
    r"garanzia|garantia|garantit[oaie]|garantie?s?|garantizad[oa]s?|garantiert)(?:\s(?:del|du|of)?\s?(?:costruttore|constructeur|fabricante|fabricant|"
    r"produttore|the\smanufacturer))?"
)
_DELIVERY = (
    r"(?:delivery|lead\stime|lieferzeit|lieferung|lieferbar|liefertermin|versand|consegna|"
    r"tempi\sdi\sconsegna|delai|livraison|livrable|expedition|entrega|plazo(?:\sde\sentrega)?|"
    r"available|disponibil[ei]|disponible|dispo|arrival|arrivo|arrivage|llegada)"
)
_MONTH = cues.any_of(frozenset().union(*cues.WORDS["month"].values()))
_DATE = (
    r"(?:(?:[0-9]{1,2}[./-]){1,2}20[0-9]{2}|[0-9]{1,2}\.[0-9]{1,2}\.[0-9]{2}|"
    rf"(?:[0-9]{{1,2}}\.?\s)?(?:de\s)?{_MONTH}(?![a-z])\.?(?:\s?(?:de\s|del\s)?'?20[0-9]{{2}})?)"
)
_GEAR = rf"{cues.any_of(cues.PINION_WORDS | cues.WHEEL_GEAR_WORDS)}(?![a-z])"
# Figures that say what a gear is made of, weighs or is warranted for, how many make a set, and when
# it comes; common practice, no source.
_FIGURES = re.compile(
    rf"""(?<![a-z0-9])(?:
      m(?:od(?:ul[eo]?)?)?\.?\s?[=:]?\s?[0-9][.,][0-9]{{1,2}}                 # module 1.5
    | modul[eo]?\s?[=:]?\s?[0-9]
    | (?:no|n|nr|num|anz)(?:\.|º|°)?\s?(?:of\s|di\s|de\s)?
      (?:teeth|zahne|denti|dents|dientes)                                    # n. denti
    | (?:ca\.?\s?)?{_NUMBER}\s?(?:kg|g|gr|gramm?|grammes|gramos)\.?           # 0.4 kg
    | [0-9]{{2}}(?:ni|cr|mo|mn|nd|v|s|b){{2,}}[0-9-]*                          # 16MnCr5
    | scm\s?4[0-9]{{2}} | (?:sae|aisi)\s?[0-9]{{4}} | 1\.[67][0-9]{{3}}
    | (?:hrc\s?{_SPAN}|{_SPAN}\s?hrc)
    | (?:din|iso)\s(?:3961|3962|1328|6336|9001|[4-9](?![0-9])) | class\s[4-9]
    | \+\s?{_NUMBER}\s?(?:km/h|kmh|mph)                                       # +5 km/h
    | (?:\+|ca\.?)?\s?[0-9]{{1,2}}\s?(?:%|percent|prozent|per\scento|pour\scent|por\sciento)\s?
      (?:longer|taller|shorter|higher|langer|kurzer|hoher|mehr\s(?:tempo|geschwindigkeit|anzug)|
      piu\s(?:lung|cort)[oai]|plus\s(?:longue?|courte?)s?|mas\s(?:larg|cort)[oa])s?
    | (?:(?:helix|angle|schragungswinkel|winkel|elica|angolo|helice|angulo)\s?[:=]?\s?)?
      {_NUMBER}\s?(?:°|(?:deg|grad|gradi|degres|grados)(?![a-z]))             # helix 20°
    | 1\s?(?:x\s?)?(?:complete\s|kompletter\s)?{SET}                         # 1 set
    | (?:ve|vpe|[a-z]*einheit|mindest[a-z]+|conf(?:ezion[ei])?\.?(?:\sda)?|pack(?:\sof)?|qty\.?|
      menge|
      moq|min(?:imum|imo|\.)?(?:\s(?:order|qty))?|(?:order|packing)\s(?:unit|qty)|ordine\sminimo|
      commande\smini(?:mum|male)?|pedido\sminimo|conditionnement|embalaje)\s?[:=]?\s?1(?:\s?{SET})?
    | {SET}\s(?:of|aus|von|di|da|de)\s(?:2|two|zwei|due|deux|dos)
    | [12][\s-]{{0,2}}(?:st|stk|stuck|pcs?|pieces?|teilig|tlg|teile|pz|pezz[oi]|uds?|unidad|
      pzas?|piezas|gears|zahnrader|ingranaggi|pignons|engrenages|engranajes)\.?
      (?!\s?{_GEAR})                                                       # 2 pcs
    | {_GUARANTEE}\s?(?:of|for|von|fur|di|per|de|por)?\s?[:=]?\s?
      (?:{_NUMBER}|{_FEW})\s?{_LONGER}
    | (?:{_NUMBER}|{_FEW})[ -]?{_LONGER}\s?(?:of|de|di|d')?\s?{_GUARANTEE}
    | {_DELIVERY}\s?(?:in|en|:|ca\.?|de|di|von|within|sous|entro)?\s?(?:{_ABOUT}\s)?
      (?:{_SPAN}|{_FEW})\s?(?:{_DAYS}|{_HOURS}|{_LONGER})(?:\s{_ABOUT})?
    | {_DELIVERY}\s(?:again\s|wieder\s)?(?:from|ab|in|im|dal|da|des|depuis|desde|en|a\spartir\sde)?
      \s?(?:(?:kw|week|cw|sem|sett)\.?\s?[0-9]{{1,2}}(?:/[0-9]{{2,4}})?|{_DATE})
    | (?:{_ABOUT}\s)*(?:{_SPAN}|{_FEW})\s?{_DAYS}(?:\s{_ABOUT})?              # in 2-3 weeks
    | (?:in|en|{_ABOUT})\s{_SPAN}\s?{_HOURS} | (?:24|48|72)(?:\s?[-/]\s?(?:48|72))?\s?{_HOURS}
    )(?![a-z0-9])""",
    re.VERBOSE,
)


def figure_spans(folded: str) -> list[Span]:
    """Where a folded text has figures, or phrases, that say nothing of gears or fit."""
    return [*(each.span() for each in _FIGURES.finditer(folded)), *_find_phrases(folded, _IN_ROWS)]


# ------------------------------------------------------------------ lines of the whole list


_LINE_WORDS = _LISTS["lines"]["words"] - NEVER
_LINE_FIGURES = re.compile(
    rf"""(?<![a-z0-9])(?:
      {_DATE}(?:\s?-\s?{_DATE})? | 20[0-9]{{2}}(?:\s?[/-]\s?(?:20)?[0-9]{{2}})?
    | (?:page|seite|pag(?:ina)?|blatt|sheet|foglio|feuille|hoja|p)\.?\s?[0-9]{{1,3}}
      (?:\s?(?:/|of|von|di|de|sur)\s?[0-9]{{1,3}})?
    | (?:tel[a-z]*|phone|fax|mobil[a-z]*|handy|cell[a-z]*|movil)
      [\s.:]*[+0-9()/ .-]{{5,}}[0-9]
    | (?:https?://|www\.)[^\s,;]+ | [a-z0-9._-]+@[a-z0-9.-]+
    | (?:€|eur|euro)\s?{_NUMBER} | {_NUMBER}\s?(?:€|euro?)
    | [0-9]{{1,2}}(?:[.,][0-9])?\s?%(?=\s?(?:vat|mwst|ust|iva|tva))
    | [0-9]{{1,2}}(?:[.:h][0-9]{{2}}|h)?\s?(?:-|bis|to|a|alle)
      \s?[0-9]{{1,2}}(?:[.:h][0-9]{{2}}|h|\suhr)
    | (?:others?|altr[oi]|autres?|otr[oa]s?|andere[rs]?)(?=\s*(?:$|[/|]))
    | [€©]|eur|euro
    )(?![a-z0-9])""",
    re.VERBOSE,
)


def line_spans(folded: str) -> list[Span]:
    """Where a line between rows speaks of the whole list: its date, tax, delivery, address."""
    spans = list(_find_phrases(folded, _IN_LINES))
    spans += [each.span() for each in _LETTERS.finditer(folded) if each.group() in _LINE_WORDS]
    return [*spans, *(each.span() for each in _LINE_FIGURES.finditer(folded))] if spans else []


# ------------------------------------------------------------------ what is in the box


_COMPLETE_WITH = re.compile(r"complet[oaie]?s? (?:di|de|d)(?![a-z])")
_IN_BOX = _phrases(text for text in _ACCESSORIES if " " in text)
_COUNTED = re.compile(rf"(?<![a-z0-9])(?:[1-9]|{_FEW})\s?x?\s?$")
_BOX_PARTS = re.compile(r"[,;(+]")


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
    parted = _BOX_PARTS.search(folded) if is_name else None
    behind = parted.end() if parted else (len(folded) if is_name else 0)
    if any(each.group() in _TRAILING and each.start() >= behind for each in words):
        starts.append(behind)
    start = min(starts, default=len(folded))
    spans = [
        (counted.start() if counted else each.start(), each.end())
        for each in words
        if _is_accessory(each.group())
        for counted in [_COUNTED.search(folded, 0, each.start())]
    ]
    return [each for each in (*spans, *_find_phrases(folded, _IN_BOX)) if each[0] >= start]


def _is_accessory(word: str) -> bool:
    """Whether a word is what may be in the box, or a compound of it: `Papierdichtung`."""
    return word in _ACCESSORIES or any(
        word[at:] in _ACCESSORIES and _is_head(word[:at]) for at in range(4, len(word) - 4)
    )


# ------------------------------------------------------------------ goods in a heading


_GOODS = cues.OTHER_PARTS | cues.ONE_GEAR | cues.WORDS["count"]["shafts"]
_SETS = re.compile(
    r"(?:sets?|kits?|pairs?|gears?|gearsets?|[a-z]*(?:satze?|saetze|paare?|rader|raeder)|coppi[ae]|"
    r"serie|ingranaggi[o]?|jeux?|couples?|paires?|engrenages?|juegos?|pares|parejas?|engranajes?|"
    r"conjuntos?)"
)


def goods_spans(folded: str) -> list[Span]:
    """Where a heading names other goods beside sets of gears: `shafts and primary sets`.

    None where anything but goods and what is harmless stands in it, or one goes with another.
    """
    words = list(_LETTERS.finditer(folded))
    goods = [each.span() for each in words if _is_goods(each.group())]
    read = [*goods, *stage_spans(folded)]
    others = {
        each.group()
        for each in words
        if not any(start <= each.start() < end for start, end in read)
    }
    known = all(is_harmless(each) or each in cues.JOINING_WORDS for each in others)
    known = known and others.isdisjoint(cues.COMPANION_WORDS)
    return goods if known and any(map(_SETS.fullmatch, others)) else []


def _is_goods(word: str) -> bool:
    return word in _GOODS or word.removesuffix("s") in _GOODS or word.removesuffix("es") in _GOODS


# ------------------------------------------------------------------ what is never harmless


def never_in(words: Sequence[str]) -> str:
    """The first of some folded words that denies, doubts or limits; or empty."""
    return next((word for word in words if word in NEVER), "")


_TOKEN = re.compile(rf"(?:{ELIDED})'(?=[^\W\d_])|[^\W\d_]+|[0-9]+|[^\w\s]|_")


def says_nothing(text: str, *, of_list: bool = False) -> bool:
    """Whether every word, number and sign of a text is harmless.

    Args:
        text: the text.
        of_list: whether it must speak of the whole list: its date, tax, delivery or address.
    """
    folded = rest = fold(text)
    lines = line_spans(folded) if of_list else []
    if (of_list and not lines) or limiting_spans(folded, is_name=False):
        return False
    for start, end in (*lines, *figure_spans(folded)):
        rest = f"{rest[:start]}{' ' * (end - start)}{rest[end:]}"
    return all(
        is_harmless(each.group()) or is_idle_letter(rest, each.start(), ())
        for each in _TOKEN.finditer(rest)
    )
