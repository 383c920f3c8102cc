"""What lists call their columns, in English, Italian, German, French and Spanish.

Folded: lower case, no accents, no punctuation. Common practice of the trade, no source.
"""

from __future__ import annotations

from typing import get_args

from fitcheck.model.trade import ListField

FIELDS: tuple[ListField, ...] = get_args(ListField)


def _phrases(text: str) -> frozenset[str]:
    return frozenset(" ".join(phrase.split()) for phrase in text.split("|"))


HEADINGS: dict[ListField, frozenset[str]] = {
    "part_number": _phrases(
        # English
        "part number|part no|part nr|part num|part|partno|partnumber|part code|part id|p n|pn|"
        "item number|item no|item nr|item code|item id|itemno|article|article no|article number|"
        "article code|art|art no|art nr|artno|artnr|art code|art id|number|no|nr|code|codes|ref|"
        "ref no|ref nr|reference|reference number|reference no|sku|sku code|order no|order number|"
        "id|order code|product code|product no|product number|product id|catalogue number|"
        "mpn|mfr part no|stock no|stock number|product ref|ident|ident no|"
        "catalogue no|catalog no|cat no|stock code|our ref|our code|supplier code|supplier ref|"
        # Italian
        "codice|cod|codice articolo|cod articolo|cod art|codice art|codice prodotto|cod prodotto|"
        "articolo|numero articolo|n articolo|n art|riferimento|rif|codice ricambio|cod ricambio|"
        "numero|n|codice fornitore|nostro codice|sigla|"
        # German
        "artikelnummer|artikelnr|artikel nr|artikel nummer|artikel no|artikel|art nummer|"
        "artikelcode|teilenummer|teilenr|teile nr|teile nummer|teil nr|bestellnummer|bestellnr|"
        "bestell nr|bestell nummer|best nr|bestnr|nummer|ersatzteilnummer|ersatzteil nr|et nr|"
        "produktnummer|produkt nr|sachnummer|sach nr|identnummer|ident nr|materialnummer|"
        "material nr|katalognummer|katalog nr|"
        "mat nr|kat nr|sach no|"
        # French
        "reference|ref article|reference article|reference piece|ref piece|ref produit|"
        "reference produit|code article|code produit|code piece|numero de piece|n de piece|"
        "no de piece|numero d article|n article|numero article|numero de reference|"
        "ref fournisseur|ref four|reference fournisseur|n piece|no piece|ref fabricant|"
        # Spanish
        "referencia|codigo|cod articulo|codigo articulo|codigo de articulo|codigo producto|"
        "codigo de producto|numero de pieza|n de pieza|no de pieza|numero de parte|no de parte|"
        "numero de articulo|n articulo|articulo|codigo recambio|ref proveedor|ref fabricante|"
        "referencia proveedor|cod int"
    ),
    "name": _phrases(
        "name|desc|description|article|item description|part description|designation|product|"
        "product name|"
        "product description|text|details|title|item|item name|article description|"
        "article name|part name|short description|long description|"
        "descrizione|articolo|denominazione|descrizione articolo|descrizione prodotto|nome|"
        "nome articolo|"
        "nome prodotto|prodotto|testo|designazione|descriz|descr|desc articolo|descr articolo|"
        "descr prodotto|desc prodotto|"
        "artikel|bez|beschr|bezeichnung|beschreibung|artikelbezeichnung|artikelbeschreibung|"
        "benennung|artikeltext|"
        "artikelname|produkt|produktname|produktbezeichnung|produktbeschreibung|titel|kurztext|"
        "langtext|teilebezeichnung|artikelbez|art bez|art bezeichnung|produkttext|"
        "warenbezeichnung|produktbez|"
        "libelle|designation article|nom|nom du produit|intitule|denomination|"
        "designation produit|descriptif|description article|produit|design|titre|"
        "descripcion|articulo|denominacion|descripcion articulo|descripcion del articulo|nombre|"
        "nombre del producto|producto|designacion|concepto|texto|detalle|titulo|desc"
    ),
    "teeth": _phrases(
        "teeth|z|tooth counts|tooth count|number of teeth|no of teeth|nr of teeth|n teeth|"
        "gear teeth|"
        "teeth count|teeth counts|toothing|ratio pair|gear pair|pair|teeth pair|z1 z2|z 1 z 2|z1z2|"
        "gearing|gear ratio teeth|tooth|pinion wheel|pinion gear|z pinion gear|"
        "z pinion wheel|driver driven|ratio teeth|"
        "denti|n denti|numero denti|nr denti|no denti|num denti|numero di denti|n di denti|"
        "dentatura|coppia denti|rapporto denti|dentature|pignone corona|z pignone corona|"
        "pignone ruota|"
        "zahne|zaehne|zahnezahl|zaehnezahl|zahnezahlen|zaehnezahlen|anzahl zahne|anzahl zaehne|"
        "zahnzahl|zahnzahlen|zahnepaar|zahnpaarung|zahnepaarung|verzahnung|zahnradpaarung|"
        "paarung|ritzel rad|z ritzel rad|zahne ritzel rad|ubersetzung zahne|"
        "dents|nombre de dents|nb dents|nb de dents|n dents|nbre dents|nbre de dents|denture|"
        "couple dents|nombre dents|pignon couronne|z pignon couronne|pignon roue|"
        "dientes|numero de dientes|n dientes|no dientes|no de dientes|n de dientes|num dientes|"
        "nro dientes|cantidad de dientes|dentado|pinon corona|z pinon corona"
    ),
    "stage": _phrases(
        "stage|gear stage|reduction stage|reduction|position|gear position|stages|step|"
        "primary secondary|prim sec|stage p s|"
        "stadio|stadio di riduzione|riduzione|posizione|stadi|primaria secondaria|tipo riduzione|"
        "stufe|getriebestufe|untersetzungsstufe|ubersetzungsstufe|stufen|einbaulage|einbauort|"
        "primar sekundar|prim sek|"
        "etage|etage de reduction|niveau|emplacement|"
        "etapa|etapa de reduccion|reduccion|posicion"
    ),
    "models": _phrases(
        "models|model|for|fits|fitment|vehicle|vehicles|vehicle model|machine|machines|application|"
        "applications|compatible with|compatibility|suitable for|suits|fits models|for models|"
        "for model|scooter|scooters|bike|engine|engine type|engines|use|used on|applies to|"
        "vehicle fitment|make model|vehicle type|compatible|engine family|"
        "modelli|modello|per|per modelli|per modello|veicolo|veicoli|applicazione|applicazioni|"
        "compatibile con|compatibilita|adatto a|adatto per|adattabile|adattabile a|motore|"
        "montaggio|impiego|mezzo|mod|moto|tipo veicolo|mod veicolo|marca modello|scooter modello|"
        "modelle|modell|fur|fuer|fur modelle|fur modell|fuer modelle|passend fur|passend fuer|"
        "passend zu|passend|fahrzeug|fahrzeuge|fahrzeugtyp|fahrzeugmodell|verwendung|typ|typen|"
        "motor|motortyp|einsatz|anwendung|roller|kompatibel mit|geeignet fur|geeignet fuer|"
        "kompatibel|fzg|fz|fzg typ|fahrzeugzuordnung|einsatzbereich|marke modell|motorfamilie|"
        "modeles|modele|pour|pour modeles|pour modele|vehicule|vehicules|adaptable|adaptable sur|"
        "affectation|compatibilite|moteur|convient a|convient pour|engin|montage|montage sur|"
        "marque modele|cyclomoteur|"
        "modelos|modelo|para|para modelos|para modelo|vehiculo|vehiculos|aplicacion|aplicaciones|"
        "compatible con|compatibilidad|adaptable a|valido para|maquina|ciclomotor|marca modelo|"
        "montaje"
    ),
    "wheel_size": _phrases(
        "wheel|wheel size|rim|rim size|wheel inch|wheels|wheel in|rims|wheel diameter|"
        "ruota|ruote|misura ruota|misura ruote|cerchio|cerchi|diametro ruota|diametro cerchio|"
        "dimensione ruota|pollici|"
        "rad|radgrosse|radgroesse|rad grosse|felge|felgen|felgengrosse|felgengroesse|"
        "raddurchmesser|"
        "rader|zoll|rad zoll|felge zoll|reifengrosse|reifengroesse|"
        "roue|roues|taille roue|taille de roue|diametre roue|diametre de roue|jante|jantes|pouces|"
        "taille jante|"
        "rueda|ruedas|tamano rueda|tamano de rueda|medida rueda|llanta|llantas|diametro rueda|"
        "medida llanta|pulgadas"
    ),
    "housing": _phrases(
        "housing|case|crankcase|casing|gearbox case|engine case|housing type|case type|gearcase|"
        "case length|housing length|short long|"
        "carter|tipo carter|basamento|scatola|carter motore|lunghezza carter|corto lungo|"
        "geh|gehause|gehaeuse|motorgehause|motorgehaeuse|getriebegehause|getriebegehaeuse|"
        "gehausetyp|"
        "gehausevariante|gehauselange|gehaeuselaenge|gehauseausf|gehauseausfuhrung|kurz lang|"
        "carter moteur|type de carter|boitier|type carter|longueur carter|court long|"
        "carcasa|carter motor|tipo de carter|tipo de carcasa|corto largo"
    ),
    "price": _phrases(
        "price|net price|price net|gross price|price gross|list price|trade price|dealer price|"
        "retail price|unit price|selling price|sale price|price each|price eur|price euro|"
        "price gbp|"
        "price chf|price usd|eur|euro|eur net|net eur|euro net|price incl|price excl|"
        "price incl vat|"
        "price excl vat|cost|rrp|amount|price pc|price per unit|price per piece|net|gross|trade|"
        "dealer|dealer net|"
        "prezzo|prezzi|prezzo netto|prezzo lordo|prezzo listino|prezzo di listino|listino|"
        "prezzo unitario|prezzo rivenditore|prezzo eur|prezzo euro|importo|prezzo iva esclusa|"
        "prezzo iva inclusa|prezzo al pubblico|prezzo vendita|pr unit|pr netto|pubblico|costo|"
        "lordo|"
        "preis|preise|nettopreis|netto preis|preis netto|bruttopreis|preis brutto|listenpreis|"
        "handler ek|haendler ek|handlerpreis|haendlerpreis|verkaufspreis|einzelpreis|"
        "stuckpreis|stueckpreis|vk|vk preis|"
        "ek|ek preis|uvp|preis eur|preis euro|preis in eur|preis je stuck|preis pro stuck|netto|"
        "einkaufspreis|vk netto|ek netto|uvp eur|hek|endpreis|handlernetto|haendlernetto|hnp|"
        "brutto|"
        "prix|prix net|prix ht|prix ttc|prix public|prix unitaire|prix de vente|tarif|tarif ht|"
        "montant|prix revendeur|pu|pu ht|prix eur|prix euro|prix net ht|prix public ttc|p u|p u ht|"
        "ht|ttc|"
        "precio|precios|precio neto|precio bruto|precio unitario|pvp|tarifa|precio venta|"
        "precio de venta|precio lista|precio sin iva|precio con iva|importe|precio eur|precio euro|"
        "precio unidad|p v p|coste|precio s iva"
    ),
    "availability": _phrases(
        "availability|available|avail|stock|in stock|stock level|stock status|delivery|"
        "delivery time|lead time|status|on hand|stock qty|stock quantity|qty in stock|"
        "disponibilita|disponibile|giacenza|magazzino|consegna|tempi di consegna|disp|stato|"
        "giacenze|quantita disponibile|"
        "verf|verfugb|verfugbarkeit|verfuegbarkeit|verfugbar|verfuegbar|lieferbar|"
        "lieferbarkeit|bestand|lz|lagerstand|"
        "lagerbestand|lager|lieferzeit|lieferstatus|vorrat|auf lager|lieferfrist|"
        "disponibilite|disponible|dispo|stock disponible|delai|delai de livraison|en stock|"
        "etat stock|"
        "disponibilidad|existencias|entrega|plazo|plazo de entrega|plazo entrega"
    ),
    "notes": _phrases(
        "notes|note|remarks|remark|comment|comments|notice|hint|hints|additional info|"
        "osservazioni|oss|annotazioni|nota|commenti|avvertenze|"
        "bemerkung|bemerkungen|bem|anm|anmerkung|anmerkungen|hinweis|hinweise|kommentar|zusatz|zusatzinfo|"
        "zusatztext|"
        "remarques|remarque|commentaire|commentaires|"
        "observaciones|observacion|obs|notas|comentario|comentarios"
    ),
}
"""Phrases that are a heading by themselves."""

NO_FIELD = _phrases(
    "ean|ean code|ean13|gtin|barcode|bar code|barcode ean|strichcode|codice a barre|code barre|"
    "codigo de barras|weight|gewicht|peso|poids|kg|g|quantity|qty|menge|quantita|qta|quantite|qte|"
    "cantidad|cant|packing unit|pack|ve|vpe|verpackungseinheit|confezione|conf|emballage|embalaje|"
    "unit|einheit|unita|unite|unidad|um|u m|me|discount|rabatt|sconto|remise|descuento|"
    "discount group|rabattgruppe|gruppo sconto|price group|preisgruppe|warengruppe|product group|"
    "artikelgruppe|gruppe|gruppo|groupe|grupo|category|kategorie|categoria|categorie|"
    "famiglia|famille|familia|family|vat|mwst|ust|iva|tva|tax|tax rate|steuersatz|aliquota|"
    "page|seite|pagina|image|bild|foto|photo|picture|immagine|imagen|link|url|web|"
    "brand|marke|marca|marque|manufacturer|hersteller|produttore|costruttore|fabricant|fabricante|"
    "supplier|lieferant|fornitore|fournisseur|proveedor|year|baujahr|anno|annee|ano|bj|jahr|years|"
    "module|modul|modulo|helix|helix angle|schragungswinkel|elica|angle|ratio|ubersetzung|"
    "ubersetzungsverhaltnis|rapporto|rapport|relacion|gear ratio|i|oem|oem no|oem number|oe nr|"
    "oem nr|oe number|original number|originalnummer|codice originale|codice oem|ref origine|"
    "reference origine|referencia original|old number|alte nummer|vecchio codice|replaces|ersetzt|"
    "sostituisce|remplace|sustituye|successor|nachfolger|customs code|zolltarifnummer|hs code|"
    "country of origin|ursprungsland|displacement|hubraum|cilindrata|cylindree|cilindrada|ccm|cc|"
    "old price|alter preis|vecchio prezzo|ancien prix|precio anterior|total|summe|totale|"
    "pos|position no|lfd nr|line|zeile|riga|ligne|linea|date|datum|data|fecha|tyre|tyres|reifen|"
    "pneumatico|pneu|neumatico|bore|hole|shaft|welle|albero|arbre|eje|min qty|mindestmenge"
)
"""Headings of columns that are none of our fields, though a word in them may look like one."""

DEVIATING = _phrases(
    "old|alt|alte|alter|altes|vecchio|vecchia|ancien|ancienne|anterior|previous|precedente|vorher|"
    "bisher|bisheriger|orig|original|originale|originaux|origine|oem|oe|oes|competitor|konkurrenz|"
    "vergleich|ersetzt|replaced|replaces|superseded|supersedes|sostituito|sostituita|sostituisce|"
    "remplace|remplacee|sustituye|sustituido|vorganger|nachfolger|date|datum|data|fecha|change|"
    "anderung|differenz|diff|variazione|valid|gultig|valido|valable|pack|conf|lot"
)
"""Words that make another thing of a heading: an old price, another maker's number, a date."""

PRICE_UNITS = _phrases(
    "price unit|price per|price basis|pricing unit|price qty|per|pe|preiseinheit|preis pro|"
    "preis je|preis per|pro|je|preisbasis|preismenge|unita di prezzo|unita prezzo|prezzo per|"
    "prix par|unite de prix|par|precio por|unidad de precio|por"
)
"""Headings of a column that says for how many pieces the price is, where it holds counts."""

PACKS = _phrases(
    "packing unit|pack|ve|vpe|verpackungseinheit|confezione|conf|emballage|embalaje|pack size|"
    "unit|einheit|unita|unite|unidad|um|u m|me|mengeneinheit|pack qty|"
    "menge pro vpe|menge je vpe|menge vpe|stuck pro vpe|inhalt|qty per pack|qty pack|"
    "pieces per box|"
    "pcs per pack|pcs pack|units per pack|pieces per pack|stk ve|stuck ve|stk vpe|"
    "stuck vpe|pz conf|pezzi confezione|pezzi per confezione|conditionnement|cond"
)
"""Headings of a column that says how many are in a pack; the price may be that of the pack."""

PACK_WORDS = _phrases(
    "cf|conf|confezione|confezioni|pack|packs|pk|pkg|bx|box|karton|kt|ktn|vpe|ve|kg|g|gr|c|ct|cto|"
    "cento|100er|dz|dozen|dutzend|dozzina|douzaine|docena|paquet|paquete|lot|lote|boite|caja|btl|"
    "beutel|blister|rolle|scatola|sc|m|mt|l"
)
"""Cells of such a column that name a pack, a hundred or a weight without counting its pieces."""

EXTRA_CHARGES = _phrases(
    "aufpreis|zuschlag|teuerungszuschlag|materialzuschlag|mtz|mzz|surcharge|core charge|deposit|"
    "pfand|altteilpfand|sovrapprezzo|supplemento|cauzione|supplement|consigne|suplemento|recargo|"
    "fianza|casco"
)
"""Headings of a column of what is paid on top of the price."""

DENYING = _phrases(
    "not for|does not fit|excludes|exclusions|except|nicht fur|nicht fuer|passt nicht|ausser|"
    "non per|non adatto a|escluso|esclusi|tranne|eccetto|pas pour|sauf|exclusions|ne convient pas|"
    "no para|no apto para|excepto|excluidos"
)
"""Headings of a column that takes back what the others say."""

SILENT = _phrases(
    "url|link|web|image|bild|foto|photo|picture|immagine|imagen|brand|marke|marca|marque|"
    "manufacturer|hersteller|produttore|costruttore|fabricant|fabricante|ean|gtin|barcode|"
    "supplier|lieferant|fornitore|fournisseur|proveedor"
)
"""Headings of columns whose words say nothing of the article itself."""

FAMILIES = _phrases("famiglia|famille|familia|family|familie|modellfamilie|motorenfamilie")
"""Headings of a column of machines where no other holds the models, else of kinds of articles."""

SUCCESSORS = _phrases(
    "successor|nachfolger|nachfolgeartikel|nachfolgenummer|nachfolge nr|ersetzt durch|"
    "ersatz durch|superseded by|replaced by|substituted by|sostituito da|sostituita da|"
    "sostituito con|remplace par|remplacee par|sustituido por|sustituida por|reemplazado por|"
    "neue nummer|neue nr|neue art nr|new number|new part no|new no|nuovo codice|"
    "nouvelle reference|nueva referencia"
)
"""Headings of a column that names what a part is superseded by, where it is."""

CURRENCIES = _phrases(
    "currency|curr|cur|ccy|wahrung|waehrung|whg|valuta|divisa|devise|monnaie|moneda"
)
"""Headings of a column that names the currency of each price."""

RATIOS = _phrases("ratio|gear ratio|ubersetzung|ubersetzungsverhaltnis|rapporto|rapport|relacion|i")
"""Headings of a column of ratios, which may hold the tooth counts themselves."""

PINION_HEADINGS = _phrases(
    "z1|z 1|z pinion|pinion|pinion teeth|teeth pinion|driver|teeth driver|teeth 1|teeth z1|"
    "pignone|denti pignone|z pignone|denti 1|denti z1|conduttore|"
    "ritzel|zahne ritzel|zaehne ritzel|z ritzel|ritzel z|zahnezahl ritzel|zahne z1|zahne 1|"
    "pignon|dents pignon|z pignon|dents 1|dents z1|"
    "pinon|dientes pinon|z pinon|dientes 1|dientes z1"
)
"""Headings of a column of the pinion's teeth, where the wheel's stand in another."""

WHEEL_HEADINGS = _phrases(
    "z2|z 2|z gear|z wheel|gear|wheel|wheel teeth|teeth wheel|teeth gear|gear teeth|driven|"
    "teeth driven|teeth 2|teeth z2|crown|crown wheel|"
    "corona|denti corona|z corona|ruota|denti ruota|denti 2|denti z2|condotto|"
    "rad|zahnrad|zahne rad|zaehne rad|z rad|rad z|zahnezahl rad|zahne zahnrad|zahne z2|zahne 2|"
    "couronne|dents couronne|z couronne|dents 2|dents z2|roue|dents roue|"
    "dientes corona|dientes 2|dientes z2|rueda|dientes rueda"
)
"""Headings of a column of the wheel's teeth, where the pinion's stand in another."""
