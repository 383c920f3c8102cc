"""What a list says of its stock: in stock, to order, discontinued, or nothing for certain."""

from __future__ import annotations

import datetime as dt
import re
from typing import Literal

from fitcheck.services.intake.reading.cells import Cell
from fitcheck.services.intake.wording.folding import fold
from fitcheck.services.intake.wording.result import Reading, as_cell, empty, read, review

__all__ = ["Availability", "read_availability"]

Availability = Literal["in-stock", "to-order", "discontinued", "unknown"]

# Looked for in this order: what says no goes before what says yes. Common practice, no source.
_WORDS: tuple[tuple[Availability, str], ...] = (
    (
        "discontinued",
        r"discontinued|end of life|no longer (?:available|made|supplied|in production)|obsolete|deleted"
        r"|out of production|nla"
        r"|fuori produzione|fuori catalogo|non piu (?:disponibile|in produzione)|cessat[oa]|esaurito definitiv\w*"
        r"|ausgelaufen|auslaufartikel|eingestellt|nicht mehr (?:lieferbar|verfugbar|erhaltlich)"
        r"|entfallt|entfallen|produktion eingestellt"
        r"|supprime|arrete|fin de serie|plus (?:disponible|fabrique|produit|suivi)|abandonne"
        r"|descatalogad[oa]|fuera de (?:produccion|catalogo)|ya no (?:disponible|se fabrica)",
    ),
    (
        "unknown",
        r"not (?:available|in stock|deliverable)|unavailable|out of stock|sold out|no stock"
        r"|non disponibile|non in magazzino|esaurit[oa]|terminat[oa]|manca"
        r"|nicht (?:lieferbar|verfugbar|auf lager|vorratig|am lager|vorhanden)|ausverkauft|vergriffen"
        r"|non disponible|indisponible|epuise|rupture(?: de stock)?|pas en stock|hors stock"
        r"|no disponible|agotad[oa]|sin (?:stock|existencias)|no hay"
        r"|unknown|sconosciuto|unbekannt|inconnu|desconocido",
    ),
    (
        "to-order",
        r"to order|on order|special order|back ?order(?:ed)?|made to order|on request|lead time"
        r"|su ordinazione|da ordinare|in ordine|su richiesta|in arrivo|ordinabile"
        r"|auf bestellung|bestellbar|auf anfrage|bestellt|wird bestellt|zulauf|im zulauf|nachlieferung"
        r"|beschaffbar|bestellartikel"
        r"|sur commande|sur demande|a commander|en commande|en reappro\w*"
        r"|bajo pedido|por encargo|a pedido|sobre pedido|en pedido|pedido",
    ),
    (
        "in-stock",
        r"in stock|on stock|ex stock|on hand|available(?: now)?|ready|immediately"
        r"|disponibil[ei]|in magazzino|pronta consegna|a magazzino|giacenza|in giacenza|si"
        r"|lieferbar|sofort(?: lieferbar| verfugbar)?|verfugbar|auf lager|ab lager|am lager|lagernd|vorratig"
        r"|lagerware|vorhanden|ja"
        r"|en stock|disponible(?: immediatement)?|dispo|oui"
        r"|en existencias?|hay stock|entrega inmediata|en almacen|yes|ok|y|✓|✔|●",
    ),
)
_PATTERNS = [(answer, re.compile(rf"(?<![a-z])(?:{words})(?![a-z])")) for answer, words in _WORDS]
_COUNT = re.compile(
    r"(?:ca\.?|circa|env\.?|aprox\.?|approx\.?|>|<|>=|uber|oltre|plus de|mas de|\+)?\s?(?P<count>[0-9]{1,6})"
    r"(?:[.,]0+)?\s?\+?\s?(?:stk|stuck|st|pcs|pc|pieces?|pz|pezzi|piezas?|uds?|unidades|unites?|ex)?\.?"
)
_TIME = re.compile(
    r"[0-9]{1,3}\s?(?:-|/|bis|to|a)?\s?(?:[0-9]{1,3})?\s?"
    r"(?:working |business |arbeits|werk)?(?:tag(?:en?)?|days?|d|giorni|gg|jours?|j|dias?|wochen?|weeks?|wk|settiman[ae]|sett"
    r"|semaines?|sem|semanas?|monate?n?|months?|mes[ei]|mois|meses|h|std|stunden|hours?|ore)\.?"
)
_NO = re.compile(r"no|nein|non|n|-+|○|nee")


def read_availability(cell: Cell | str) -> Reading[Availability]:
    """What a cell says of the supplier's stock.

    A number is taken for pieces on the supplier's shelf; none there, or sold out, is `unknown`:
    nothing says whether more will come. A time or a date of delivery is `to-order`.
    """
    cell = as_cell(cell)
    if cell.blank:
        return empty(cell)
    value = cell.value
    if isinstance(value, bool):
        return read(cell, "in-stock" if value else "unknown")
    if isinstance(value, (dt.datetime, dt.date)):
        return read(cell, "to-order", "a date of delivery")
    text = " ".join(fold(cell.text).strip(" .!").split())
    counted = _COUNT.fullmatch(text)
    if counted:
        pieces = int(counted["count"])
        if text.startswith("<"):
            return (
                read(cell, "in-stock", f"fewer than {pieces} pieces")
                if pieces > 1
                else (read(cell, "unknown", "none in stock"))
            )
        return read(cell, "in-stock" if pieces else "unknown", f"{pieces} pieces in stock")
    if _NO.fullmatch(text):
        return read(cell, "unknown", "not in stock")
    if _TIME.fullmatch(text):
        return read(cell, "to-order", "a time of delivery")
    said: list[Availability] = []
    rest = text
    for answer, pattern in _PATTERNS:
        if pattern.search(rest):
            said.append(answer)
            rest = pattern.sub(" ", rest)
    if not said:
        if _TIME.search(text):
            return read(cell, "to-order", "a time of delivery")
        return review(cell, "no word for stock or delivery")
    if said == ["in-stock"] and _TIME.search(text):
        return review(cell, "in stock, and a time of delivery", "in-stock", "to-order")
    if len(said) == 1:
        return read(cell, said[0])
    if set(said) == {"unknown", "to-order"}:
        return read(cell, "to-order", "none in stock, to order")
    return review(cell, f"it says {' and '.join(said)}", *said)
