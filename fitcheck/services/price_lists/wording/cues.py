"""Words around numbers that say whether they count teeth; five languages, folded.

Common practice of the trade, no source.
"""

from __future__ import annotations


def words_in(text: str) -> frozenset[str]:
    """The words of a text, as a set."""
    return frozenset(text.split())


TEETH_WORDS = words_in(
    "z zz zn t th teeth tooth tooths cog cogs denti dente dent dti zahne zahnen zaehne zaehnen "
    "zahn zahnezahl zaehnezahl zahnezahlen zaehnezahlen zahnig zahner dents nbdents dientes "
    "diente dtes dte"
)
"""A count before or after one of these counts teeth."""

PINION_WORDS = words_in(
    "pinion pinions driver driving pignone pignoni motrice conduttore conduttrice pignon pignons "
    "menant menante menants ritzel antriebsritzel antriebsrad eingangsritzel primarritzel "
    "sekundarritzel pinon pinones conductor conductora motriz"
)
"""Words for the driver of a pair."""

WHEEL_GEAR_WORDS = words_in(
    "crown corona corone couronne couronnes ruota ruote roue roues rueda ruedas rad zahnrad "
    "grossrad abtriebsrad endrad wheel gearwheel driven condotta condotto conducida conducido "
    "mene menee getriebenes gear engranaje ingranaggio"
)
"""Words that name the driven gear where a pinion stands beside it."""

GEAR_WORDS = (
    words_in(
        "gear gears gearset gearsets geartrain gearing gearbox gearboxes reduction reductions "
        "ratio pair pairs drive helical spur ingranaggio ingranaggi ingr rapporto rapporti "
        "riduzione riduttore coppia coppie trasmissione elicoidale elicoidali zahnrad zahnrader "
        "zahnraeder zahnr zahnradsatz zahnradpaar radsatz getriebe getrieberad getriebesatz "
        "ubersetzung uebersetzung untersetzung endubersetzung stirnrad stirnrader schragverzahnt "
        "verzahnt verzahnung radpaar ubers engrenage engrenages demultiplication couple "
        "transmission reducteur taille helicoidal helicoidaux engranaje engranajes reduccion "
        "reductora relacion par transmision helicoidales"
    )
    | PINION_WORDS
    | (WHEEL_GEAR_WORDS - {"rad", "wheel", "ruota", "ruote", "roue", "roues", "rueda", "ruedas"})
)
"""Words that make a bare pair in a free text likely to count teeth."""

UNITS = words_in(
    "in inch inches zoll pollici pollice pouces pouce pulgadas pulgada pulg cc ccm cm3 cm³ cmc cm "
    "mm m km kmh km/h w kw ps cv hp ch v ah mah a kg g gr l lt ltr ml nm bar grad deg grados "
    "degres gradi eur euro euros usd gbp chf sfr fr uhr h hrs ore heures horas stk stuck stuecke "
    "stucke pcs pc pz pezzi pieces piece piezas uds ud st x rpm min giri umin tage days giorni "
    "jours dias woche wochen weeks settimane semaines semanas monate months mesi mois meses jahre "
    "years anni ans anos"
)
"""A number before one of these measures something else."""

NOT_TEETH_BEFORE = words_in(
    "art article artikel articolo articulo artnr nr no nr num numero number n° nº no. ref rif "
    "reference riferimento referenz referencia code cod codice codigo sku ean oem oe id item pos "
    "teil teile teilenr best bestell bestellnr bestnr part pn partno fig abb tav blatt tel "
    "telefon fax mobil seite page pag pagina kw cw week sett sem semaine semana date data datum "
    "fecha seit mod modello modelli model models modell modelle modele modeles modelo modelos typ "
    "type tipo anno year bj baujahr annee ano my tyre tyres tire tires reifen pneu pneus gomma "
    "gomme pneumatico pneumatici neumatico neumaticos cubierta cubiertas felge felgen cerchio "
    "cerchi jante jantes llanta llantas rim rims raddurchmesser radgrosse wheelsize sae din iso "
    "lager bearing bearings cuscinetto cuscinetti roulement roulements rodamiento rodamientos "
    "modul module modulo bore bohrung alesaggio price preis prezzo prix precio ve pack conf "
    "confezione qty menge qta pressure druck version ver rev ausgabe edition stand kurbelwelle "
    "welle shaft albero arbre eje gewinde thread m simmerring seal paraolio joint reten variator "
    "variatore"
)
"""A number right after one of these is a number, a date, a size or a model."""

FROM_WORDS = words_in("ab from dal dalla da depuis desde von bis until fino jusqu hasta")
"""A number after one of these is a date, or the pair that is taken out."""

INSTEAD_WORDS = words_in(
    "statt anstatt anstelle ersetzt ersatz instead replaces replacing replaced vs versus invece "
    "sostituisce sostituiscono lieu remplace remplacent lugar sustituye sustituyen reemplaza "
    "original originale originali originaux orig serie series standard stock werk werks fabbrica "
    "usine fabrica origine origen ersetzen bisher vorher old alt alte alter vecchio vecchia "
    "ancien ancienne antiguo viejo vieux previously formerly prima avant antes not nicht non no "
    "ohne without senza sans sin kein keine ausser except tranne sauf salvo "
    "ex ehemals ehem vormals vorm fruher frueher formerly anciennement antiguamente era fu war "
    "stays remains unchanged bleibt bleiben unverandert resta restano rimane rimangono invariato "
    "invariata reste restent inchange inchangee queda quedan"
)
"""Two pairs beside one of these: one of them may be what is taken out."""

COMPANION_WORDS = words_in(
    "for fur fuer per pour para with mit con avec only nur solo soltanto seulement uniquement "
    "solamente needs need requires required braucht benotigt benoetigt erfordert richiede "
    "necessita "
    "necessite requiert necesita requiere zu passend passt fits fit matches zum zur"
)
"""A second pair behind one of these may be that of another set, which this one goes with."""

ONLY_WORDS = words_in(
    "only nur solo soltanto seulement uniquement solamente single einzeln einzelnes singolo "
    "singola seul seule loose sciolto suelto"
)
"""Beside a word for one gear of a pair: that gear alone is sold."""

OTHER_PARTS = words_in(
    "dichtung dichtungen dichtsatz gasket gaskets guarnizione guarnizioni joint joints junta "
    "juntas "
    "seal seals simmerring simmerringe wellendichtring paraolio paraoli reten retenes oring "
    "oringe "
    "ring lager bearing bearings cuscinetto cuscinetti roulement roulements rodamiento rodamientos "
    "riemen keilriemen zahnriemen belt belts cinghia cinghie courroie courroies correa correas "
    "variator vario variatore variateur variador rollen rollers rulli galets rodillos "
    "kupplung clutch frizione embrayage embrague schraube schrauben bolt bolts screw screws vite "
    "viti vis tornillo tornillos deckel cover coperchio couvercle tapa "
    "getriebeol ol oil olio huile aceite kette chain catena chaine cadena kettensatz kettenkit "
    "kettenrad sprocket sprockets abzieher puller estrattore arrache extractor werkzeug tool"
)
"""A text that begins with one of these is of another part, whatever gears it goes with."""

USED_WITH = (
    "passend zu ",
    "passt zu ",
    "use with ",
    "only with ",
    "only for ",
    "nur mit ",
    "nur fur ",
    "nur fuer ",
    "solo con ",
    "solo per ",
    "solo para ",
    "usare con ",
    "utiliser avec ",
    "usar con ",
    "uniquement ",
    "seulement ",
)
"""Words before a pair that make it that of another set."""

ALTERNATIVE_WORDS = words_in("oder or oppure ou o u wahlweise alternativ alternatively bzw")
"""Two pairs beside one of these are a choice, not a train."""

JOINING_WORDS = words_in("und and e et y con with mit avec & +")
"""Two counts joined by one of these may be one pair."""

FILLER_WORDS = words_in(
    "for per fur fuer pour para the di de du des del der die das le la les el los las il gli i "
    "set kit satz jeu juego serie new neu nuovo nouveau nuevo mit with con avec set. taglio "
    "dritti diritti gerade straight droite recta schrag rechts links left right short long corta "
    "lunga corto lungo kurz lang court longue larga tall taller shorter n d input output idler "
    "first second third erste zweite stufe stage stadio etage etapa"
)
"""Words that may stand beside the counts in a column of teeth without meaning."""
