"""Headers, columns and rows of lists, in five languages and in every mess."""

from __future__ import annotations

import openpyxl
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fitcheck.errors import UsageError
from fitcheck.model.trade import ListMapping
from fitcheck.services.price_lists.headings.columns import (
    FIELDS,
    HEADINGS,
    NO_FIELD,
    PACKS,
    gear_named,
    is_silent,
    score_heading,
)
from fitcheck.services.price_lists.reading import Sheet, SupplierList, read_list
from fitcheck.services.price_lists.tables import find_layouts, find_tables
from fitcheck.services.price_lists.wording.readings import words_of
from fitcheck.services.price_lists.wording.teeth import read_teeth
from tests.conftest import demo_catalogue, table

SUPPLIERS = demo_catalogue().suppliers
ARTICLE = {
    "part_number": "MA-1544",
    "name": "Gear set",
    "teeth": "15/38",
    "stage": "primary",
    "models": "Dunlin Ten",
    "wheel_size": "10",
    "housing": "short",
    "price": "64,90",
    "availability": "in stock",
    "notes": "ground",
}


def sheet_of(*rows: list[str]) -> Sheet:
    return Sheet("", [list(row) for row in rows])


def list_of(*rows: list[str]) -> SupplierList:
    return SupplierList("list.csv", "csv", (sheet_of(*rows),))


def found_columns(layout) -> dict[str, str]:
    return {name: column.heading for name, column in layout.columns.items()}


@pytest.mark.parametrize(
    "supplier", [name for name in SUPPLIERS if SUPPLIERS[name].record.list_mapping]
)
def test_the_demo_suppliers_headings_are_recognised_as_their_mappings_say(supplier):
    """The mappings were written by hand for the demo, before this code."""
    mapping = SUPPLIERS[supplier].record.list_mapping
    header = list(mapping.columns.values())
    articles = [
        [f"MA-{n}" if name == "part_number" else ARTICLE[name] for name in mapping.columns]
        for n in range(8)
    ]
    read = list_of(["Price list"], [], header, *articles)
    (told,) = find_tables(read, mapping)
    assert found_columns(told) == mapping.columns
    assert {column.sureness for column in told.columns.values()} == {"given"}
    (guessed,) = find_tables(read)
    assert found_columns(guessed) == mapping.columns
    assert guessed.headings == mapping.columns
    assert guessed.data_rows == list(range(4, 12))


# Headers as lists of the five languages have them; common practice, no source.
HEADERS = {
    "en": "Part No.|Description|Teeth|Stage|Fits|Wheel size|Crankcase|Net price|Availability|"
    "Remarks",
    "it": "Codice articolo|Descrizione|N. denti|Stadio|Modelli|Ruota|Carter|Prezzo netto|"
    "Disponibilità|Osservazioni",
    "de": "Artikel-Nr.|Bezeichnung|Zähnezahl|Stufe|Passend für|Radgröße|Gehäuse|Nettopreis|"
    "Verfügbarkeit|Bemerkung",
    "de without umlauts": "Artikelnr.|Artikelbezeichnung|Zaehne|Getriebestufe|Fahrzeug|Felge|"
    "Motorgehaeuse|VK netto|Lieferbar|Hinweis",
    "fr": "Référence|Désignation|Nombre de dents|Étage|Véhicule|Jante|Carter moteur|Prix HT|"
    "Disponibilité|Remarques",
    "es": "Referencia|Descripción|Nº dientes|Etapa|Vehículo|Llanta|Cárter|Precio|Existencias|"
    "Observaciones",
    "in capitals": "CODE|TEXT|TEETH|STAGE|MODEL|WHEEL|HOUSING|PRICE|STOCK|NOTES",
    "with units": "Art.-No.|Item description|Z1/Z2|Reduction stage|For models|Wheel [in]|Case|"
    "Price (EUR)|Delivery time|Remark",
    "misspelt": "Artikelnumer|Bezeichung|Zähnezahlen|Getribestufe|Fahrzeugtyppe|Radgrösse|"
    "Getriebegehaüse|Nettpreis|Verfügbarkeitt|Bemerkumg",
    "with signs": "Item #|Item|Teeth Z1/Z2|Reduction|Fits model(s)|Wheel Ø|Case|£ each|In stock?|"
    "Notes:",
    "abbreviated": "Best.-Nr.|Bez.|Z|Stufe|Modelle|Zoll|Geh.|VK|Verf.|Bem.",
    "article twice": "Art.Nr|Artikel|Zähne|Stufe|Für|Rad (Zoll)|Gehäuse|Händler-EK|Lager|Hinweise",
    "as a program names them": "PartNumber|ProductName|GearTeeth|Stage|FitsModels|WheelSize|"
    "HousingType|NetPrice|StockLevel|Notes",
    "as the fields are named": "part_number|name|teeth|stage|models|wheel_size|housing|price|"
    "availability|notes",
    "with line breaks": "Art.\nno.|Description|Teeth|Stage|Fits|Wheel\nsize|Housing|Net\nprice|"
    "Stock|Remarks",
}


@pytest.mark.parametrize("language", HEADERS)
def test_headers_of_five_languages(language):
    header = HEADERS[language].split("|")
    articles = [[f"MA-{n}", *list(ARTICLE.values())[1:]] for n in range(8)]
    (layout,) = find_tables(list_of(header, *articles))
    assert {name: column.column for name, column in layout.columns.items()} == {
        name: number for number, name in enumerate(FIELDS, 1)
    }
    doubtful = ("misspelt", "with signs", "as a program names them")
    wanted = {"sure", "likely"} if language in doubtful else {"sure"}
    assert {column.sureness for column in layout.columns.values()} <= wanted
    assert layout.data_rows == list(range(2, 10))


@table(
    "heading",
    [
        "Preisgruppe", "Rabattgruppe", "Modul", "EAN", "EAN-Code", "Gewicht", "Menge", "VPE",
        "MwSt", "IVA", "Weight kg", "Barcode", "Alte Nummer", "OEM No.", "Übersetzung", "Ratio",
        "Old price", "Baujahr", "Hersteller", "Bild", "Pos", "Hubraum",
        "Discount %", "Reifen", "Ersetzt", "Warengruppe", "Price group", "Sconto", "Peso (kg)",
        "", "   ", "15/38", "64,90", "123", "---", "x" * 500,
    ],
)  # fmt: skip
def test_headings_of_other_things(heading):
    assert score_heading(heading) == ()


# Headings as lists of the trade have them; common practice, no source.
TRADE_HEADINGS = {
    "part_number": "Referencia|Pieza|Cód. pieza|Nº de ref.|Réf. commande|N° de référence|Pièce|"
    "Bestell-Nr.|Art.-Nr. Lieferant|Materialnr.|Codice ricambio|Cod. ordine|Ns. codice|Order ref.|"
    "Código interno|P/N|Part#|Sachnummer|Artículo nº|Our code|Recambio",
    "name": "Libellé|Goods description|Descr. articolo|Descripción artículo|Artikelbezeichnung",
    "teeth": "Z1/Z2|Z mot./cond.|Denti conduttore/condotto|Dents menant/mené|Z motriz/conducida|"
    "Zähne Ritzel/Rad|Nº de dientes|Nb. de dents|Anz. Zähne|Teeth (pinion/wheel)|Driver/driven",
    "stage": "Étage|Stufe|Stadio|Etapa|Type de réduction|Reduction type|Tipo di riduzione",
    "models": "Anwendung|Aplicación|Für Motor|Pour moteur|Per motori|Para motores|Vehicle / engine|"
    "Utilisation|Verwendbar für|Modello/Motore",
    "housing": "Boîtier|Kurbelgehäuse|Tipo carter|Longueur carter|Blocco motore|Carcasa",
    "wheel_size": "Jante|Rueda trasera|Ruota posteriore|Diamètre roue|Tamaño rueda|Rim [inch]",
    "price": "PVD|P.V.P. s/IVA|PVP rec. (EUR)|HEK|H.E.K.|UVP inkl. MwSt.|BLP|NNP|PPC|PUHT|PA HT|"
    "Prix net HT/jeu|Tarif revendeur|Prezzo netto al pezzo|Listino EUR|Netto riv.|RRP inc. VAT|"
    "€/Paar|Preis je Satz|Precio neto taller|Dealer nett|Unser Preis|MSRP|Trade EUR",
    "availability": "Plazo de entrega|Lieferzeit Tage|Lead time (days)|Giacenza|Dispo.",
    "notes": "Obs.|Remarques|Infos complémentaires|Hinweis",
}


@pytest.mark.parametrize("name", TRADE_HEADINGS)
def test_headings_of_the_trade_are_known_by_their_words(name):
    found = {each: score_heading(each)[:1] for each in TRADE_HEADINGS[name].split("|")}
    unknown = [
        each
        for each, best in found.items()
        if not best or (best[0].field, best[0].score) != (name, 100)
    ]
    assert unknown == []


@table(
    ("headings", "gear"),
    [
        ("Z1|Ritzel|Denti pignone|Z motriz|Menant|Conduttore|Zähne treibend|Motrice", "pinion"),
        ("Z2|Rad|Denti corona|Conducida|Mené|Condotto|Zähne getrieben|Wheel teeth", "wheel"),
        ("Z motriz/conducida|Pignone + corona|Menant/mené", "both"),
        ("Z|Motor|Preis|Denti", ""),
    ],
)
def test_a_heading_of_teeth_names_the_gear(headings, gear):
    assert {gear_named(words_of(each)) for each in headings.split("|")} == {gear}


OTHER_THINGS = (
    "EAN-13|GTIN|Código de barras|Zolltarifnr.|Zolltarif-Nr.|Cód. arancel|NC|HS code|Cod. TARIC|"
    "Code douanier|Ursprungsland|Pays d'origine|Paese|Seite|Pág.|Photo|Bild-Nr.|MwSt.-Satz|"
    "Aliquota IVA|Taux TVA|Tipo IVA|Rabattgruppe|RG|Gruppo sconto|Code remise|Grupo dto.|Katalog|"
    "Fecha de alta|Aufnahmedatum|Lfd. Nr."
)
UNITS = "ME|VE|UM|U.M.|UdM|Ud.|U.|Colisage|Conditionnement|Confezione|Packing unit|Envase|Pz/conf."


@pytest.mark.parametrize("heading", OTHER_THINGS.split("|"))
def test_a_column_of_no_interest_is_no_field_and_asks_nothing(heading):
    assert score_heading(heading) == ()
    assert is_silent(words_of(heading))


@table("heading", UNITS.split("|"))
def test_a_column_of_units_is_known(heading):
    assert (score_heading(heading), words_of(heading) in PACKS) == ((), True)


@table(
    ("header", "number"),
    [
        ("Referencia|Cód. arancel|Z|PVD", "Referencia"),
        ("Referencia|Ref. Kelvin|Z|PVD", "Referencia"),
        ("Referencia|Pieza|Z|PVD", "Referencia"),
        ("Nr|Artikel|Z|HEK", "Artikel"),
        ("Code|Article|Z|Net", "Code"),
        ("Code|Art.-Nr.|Z|EK", "Art.-Nr."),
        ("Nº|Pieza|Z|PVD", "Pieza"),
        ("Ref. fabricante|Referencia|Z|PVD", "Referencia"),
    ],
)
def test_a_known_heading_of_the_part_number_has_no_rival(header, number):
    first = header[0] == "N"  # it numbers the lines
    rows = [[f"{n}" if first else f"A{n}", f"87{n}", "15/38", f"{n}5,00"] for n in range(1, 8)]
    (layout,) = find_tables(list_of(header.split("|"), *rows))
    column = layout.columns["part_number"]
    assert (column.heading, column.is_asked_for) == (number, False)


@table(
    "header",
    [
        "Nr|Kelvin-Artikelnummer|Z|EK", "Code|Foo part number|Z|Net",
        "Ref. A|Ref. B|Z|PVD",
    ],
)  # fmt: skip
def test_two_columns_that_may_be_the_part_number_are_asked_for(header):
    rows = [[f"A{n}", f"87{n}", "15/38", f"{n}5,00"] for n in range(1, 8)]
    (layout,) = find_tables(list_of(header.split("|"), *rows))
    assert layout.columns["part_number"].is_asked_for


def test_two_texts_are_read_together():
    header = ["Ref", "Bezeichnung", "Beschreibung", "Z", "EK"]
    (layout,) = find_tables(list_of(header, ["A1", "Satz", "primär", "15/38", "1,00"]))
    assert (layout.columns["name"].column, layout.columns["name"].second) == (2, 3)


STAGE_LINES = [
    "Étage primaire",
    "Stufe: primär",
    "Stadio primario",
    "Etapa primaria",
    "Primary stage",
]
TWO_LINES = (
    ["Article", "", "Denture", "", "Montage", "Prix EUR", "", "Divers", ""],
    ["N°", "Pour", "Z1/Z2", "i", "Boîtier", "Public", "Net", "Colisage", "Photo"],
)


@pytest.mark.parametrize("place", [1, 2])
@pytest.mark.parametrize("line", STAGE_LINES)
@pytest.mark.parametrize("kind", ["csv", "xlsx", "merged line"])
def test_a_line_of_groups_and_one_of_columns_and_a_stage_below_them(kind, line, place, tmp_path):
    rows = [
        [f"A-{n}", "Dunlin 50", f"15/{n}", "", "court", "80,00", "50,00", "1", "x"]
        for n in (44, 45)
    ]
    stage = [*[""] * (place - 1), line, *[""] * (9 - place)]
    read = list_of(*TWO_LINES, stage, *rows)
    if kind != "csv":
        book = openpyxl.Workbook()
        for row in (*TWO_LINES, stage, *rows):
            book.active.append([each or None for each in row])
        merged = ["A1:B1", "C1:D1", "F1:G1", "H1:I1"] + ["A3:I3"] * (place == 1)
        for cells in merged[: None if kind == "merged line" else 4]:
            book.active.merge_cells(cells)
        book.save(tmp_path / "list.xlsx")
        read = read_list(tmp_path / "list.xlsx")
    (layout,) = find_tables(read)
    assert layout.header_rows == (2,)
    assert layout.sections == {4: line, 5: line}
    assert found_columns(layout) == {
        "part_number": "N°",
        "teeth": "Z1/Z2",
        "models": "Pour",
        "housing": "Boîtier",
        "price": "Public",
    }
    assert layout.columns["price"].rivals == ("Net",)


def test_word_lists_hold_folded_phrases_and_no_phrase_is_both_a_field_and_none():
    for name in FIELDS:
        for phrase in HEADINGS[name]:
            assert words_of(phrase) == phrase
            assert phrase not in NO_FIELD
            assert score_heading(phrase)[0].score == 100
    for phrase in NO_FIELD:
        assert words_of(phrase) == phrase


def test_title_rows_blank_lines_and_a_header_far_down():
    titles = [["Marsh parts GmbH"], ["Price list 2026, valid from 01.01.2026"], [], ["Page 1"]]
    rows = [*titles, *[[] for _ in range(20)], ["Ref", "Teeth", "Price"], ["A1", "15/38", "1,00"]]
    (layout,) = find_tables(list_of(*rows))
    assert layout.header_rows == (25,)
    assert layout.data_rows == [26]
    assert {layout.ignored[row].kind for row in (1, 2, 4)} == {"title"}
    assert layout.ignored[3].kind == "blank"


def test_a_header_of_two_and_three_lines():
    (two,) = find_tables(
        list_of(
            ["Part", "Gear", "Price", ""],
            ["number", "teeth", "EUR net", "Stock"],
            ["A1", "15/38", "1,00", "5"],
        )
    )
    assert two.header_rows == (1, 2)
    assert found_columns(two) == {
        "part_number": "Part number",
        "teeth": "Gear teeth",
        "price": "Price EUR net",
        "availability": "Stock",
    }
    assert two.data_rows == [3]
    told = ListMapping(columns={"part_number": "Part number", "teeth": "Gear teeth"})
    assert find_tables(list_of(*[["Part", "Gear"], ["number", "teeth"], ["A", "15/38"]]), told)[
        0
    ].header_rows == (1, 2)


def test_articles_of_words_only_are_not_joined_to_the_header():
    (layout,) = find_tables(
        list_of(["Ref", "Description", "Stock"], ["MAX", "primary gear", "yes"])
    )
    assert layout.header_rows == (1,)
    assert layout.data_rows == [2]


def test_a_merged_title_and_merged_group_headings(tmp_path):
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "P"
    sheet["A1"] = "Price list"
    sheet.merge_cells("A1:D1")
    sheet.append([])
    sheet.append(["Art. no.", "Z", "Stage", "EUR"])
    sheet["A4"] = "Dunlin 50"
    sheet.merge_cells("A4:D4")
    sheet.append(["MA-1", "15/38", "primary", 64.9])
    sheet["A6"] = "Sanderling 50, short case"
    sheet.merge_cells("A6:D6")
    sheet.append(["MA-2", "14/45", "primary", 64.9])
    book.save(tmp_path / "list.xlsx")
    (layout,) = find_tables(read_list(tmp_path / "list.xlsx"))
    assert layout.header_rows == (3,)
    assert layout.data_rows == [5, 7]
    assert layout.sections == {5: "Dunlin 50", 7: "Sanderling 50, short case"}
    cell = layout.cell(7, "teeth")
    assert cell is not None
    assert (cell.address, cell.text) == ("P!B7", "14/45")
    assert layout.cell(7, "models") is None


FOOTERS = [
    (["Total", "", "", "129,80"], "footer"),
    (["Summe:", "", "", "129,80"], "footer"),
    (["Zwischensumme"], "footer"),
    (["Totale generale", "", "", "1"], "footer"),
    (["Übertrag", "", "", "12,00"], "footer"),
    (["Seite 2 von 5"], "footer"),
    (["", "", "Page 2/5"], "footer"),
    (["pag. 3"], "footer"),
    (["- 3 -"], "footer"),
    (["Alle Preise zzgl. MwSt."], "note"),
    (["Prices are subject to change"], "note"),
    (["Tutti i prezzi IVA esclusa"], "note"),
    (["Sous réserve d'erreurs"], "note"),
    (["Precios sin IVA"], "note"),
    (["Tel. 0123 456", "www.example.org"], "note"),
    (["* on request only"], "note"),
    (["Order before noon and it leaves the same day"], "note"),
    (["------"], "note"),
    (["Dunlin 50"], "section"),
    (["Whimbrel 125 / Turnstone 70"], "section"),
    (["", "Zahnradsätze"], "section"),
    ([], "blank"),
    (["", "  ", "\n"], "blank"),
    (["Ref", "Description", "Teeth", "Price"], "header"),
    (["REF.", "description", "Teeth", "Price"], "header"),
]
ARTICLES = [
    ["MA-1544", "Gear set", "15/38", "64,90"],
    ["1544", "Total loss kit", "15/38", "64,90"],
    ["Total", "Gear set named total", "15/38", "64,90"],
    ["MA-1545", "", "14/45", ""],
    ["MA-1546", "", "", "64,90"],
    ["", "", "14/45", "64,90"],
    ["", "Page gear", "14/45", "64,90"],
    ["MA-1547"],
    ["1548"],
    ["", "", "15/38"],
    ["", "", "", "64,90"],
    ["MA-1549", "Alle Preise"],
    ["MA-1550", "Prices on request only, see www.example.org"],
    ["Ref", "Description", "15/38", "64,90"],
    ["MA-1551", "Gear", "n/a", "auf Anfrage"],
]


@pytest.mark.parametrize(("row", "kind"), FOOTERS)
def test_rows_without_an_article(row, kind):
    (layout,) = find_tables(
        list_of(["Ref", "Description", "Teeth", "Price"], ARTICLES[0], [], row, ARTICLES[3])
    )
    assert layout.ignored[4].kind == kind
    assert layout.ignored[4].reason
    assert layout.data_rows == [2, 5]


@settings(suppress_health_check=[HealthCheck.too_slow], deadline=None)
@given(
    rows=st.lists(
        st.one_of(st.sampled_from(ARTICLES).map(lambda row: (row, None)), st.sampled_from(FOOTERS)),
        max_size=25,
    ),
    titles=st.integers(0, 4),
)
def test_every_row_is_one_thing_and_no_article_is_lost(rows, titles):
    header = ["Ref", "Description", "Teeth", "Price"]
    read = list_of(*[["Price list"] for _ in range(titles)], header, *[row for row, _ in rows])
    layouts = find_tables(read)
    counted = [row for each in layouts for row in [*each.ignored, *each.data_rows]]
    assert sorted(counted) == list(range(1, titles + len(rows) + 2))
    kept = {row for each in layouts for row in each.data_rows}
    expected = {number for number, (_, kind) in enumerate(rows, titles + 2) if kind is None}
    assert kept == expected


def test_a_second_table_in_another_order_is_read_in_its_own():
    layouts = find_tables(
        list_of(
            ["Ref", "Teeth", "Price"],
            ["A1", "15/38", "1,00"],
            [],
            ["Price", "Ref", "Description", "Teeth"],
            ["2,00", "A2", "Gear set", "14/45"],
        )
    )
    assert [layout.data_rows for layout in layouts] == [[2], [5]]
    assert [layout.columns["teeth"].column for layout in layouts] == [2, 4]
    cell = layouts[1].cell(5, "price")
    assert cell is not None
    assert cell.text == "2,00"


_TWO_TABLES = {
    "the second has far more columns": (
        [["Ref", "Teeth"], ["A1", "15/38"]],
        [
            ["Ref", "Teeth", "Price", "Stage", "Model", "Stock"],
            ["A2", "14/45", "2,00", "primary", "Dunlin 50", "yes"],
        ],
    ),
    "the second has two columns, turned round": (
        [["Ref", "Teeth", "Price"], ["A1", "15/38", "1,00"]],
        [["Teeth", "Ref"], ["14/45", "A2"]],
    ),
    "pinion and wheel in two columns, elsewhere in each": (
        [["Ref", "Pinion", "Wheel", "Price"], ["A1", "15", "38", "1,00"]],
        [["Price", "Ref", "Pinion", "Wheel"], ["2,00", "A2", "14", "45"]],
    ),
}


@pytest.mark.parametrize("gap", [0, 1])
@pytest.mark.parametrize("tables", _TWO_TABLES.values(), ids=list(_TWO_TABLES))
def test_of_two_tables_each_is_read_by_its_own_header(tables, gap):
    first, second = tables
    found = find_tables(list_of(*first, *[[]] * gap, *second))
    read = []
    for layout in found:
        (row,) = layout.data_rows
        teeth = layout.columns["teeth"]
        cells = [layout.sheet.cell(row, each).text for each in (teeth.column, teeth.second) if each]
        number = layout.cell(row, "part_number")
        assert number is not None
        read.append((number.text, "/".join(cells)))
    assert read == [("A1", "15/38"), ("A2", "14/45")]


def test_articles_above_the_only_header_are_told():
    rows = [["A1", "Gear", "15/38"], ["Ref", "Name", "Teeth", "Price"], ["A2", "", "14/45", "1"]]
    (layout,) = find_tables(list_of(*rows))
    assert layout.ignored[1].kind == "article"
    assert "looks like an article" in layout.ignored[1].reason


def test_two_columns_of_prices_are_told_apart_for_a_person():
    (layout,) = find_tables(
        list_of(["Ref", "Z", "Net price", "List price"], ["A1", "15/38", "50,00", "64,90"])
    )
    price = layout.columns["price"]
    assert (price.sureness, price.rivals) == ("weak", ("List price",))
    assert (4, "List price") in layout.others


@table(
    ("one", "other"),
    [
        ("PVP", "Neto"), ("UVP", "HEK"), ("List", "Net"), ("Retail", "Trade"), ("PA HT", "PV TTC"),
        ("Händler", "Endkunde"), ("Price", "Yours"), ("Prezzo", "Riservato a voi"),
        ("Ihr", "Unser"),
    ],
)  # fmt: skip
def test_of_two_columns_of_money_a_person_says_which(one, other):
    """Whatever their headings, nothing is guessed, and they hold no teeth."""
    rows = [[f"A{n}", "15/38", f"{n}5,00", f"{n}9,00"] for n in range(3, 7)]
    (layout,) = find_tables(list_of(["Ref", "Z", one, other], *rows))
    assert layout.columns["price"].is_asked_for
    assert {layout.columns["price"].heading, *layout.columns["price"].rivals} == {one, other}
    (layout,) = find_tables(list_of(["Ref", "Text", one, other], *[[*row] for row in rows]))
    assert "teeth" not in layout.columns or layout.columns["teeth"].column == 2


@table(
    "other",
    ["Weight g", "Old price", "ab 10 Stk", "Price ab 10", "MwSt", "Surcharge", "Stock", "Cat. p."],
)
def test_a_column_of_something_else_is_no_rival_of_the_price(other):
    rows = [[f"A{n}", "15/38", f"{n}5,00", f"{n}9"] for n in range(3, 7)]
    (layout,) = find_tables(list_of(["Ref", "Z", "Price", other], *rows))
    assert layout.columns["price"].sureness == "sure"


def test_a_missing_heading_of_prices_is_asked_for():
    rows = [[f"A{n}", "15/38", f"{n}5,00"] for n in range(3, 7)]
    (layout,) = find_tables(list_of(["Ref", "Z", ""], *rows))
    price = layout.columns["price"]
    assert (price.column, price.heading, price.is_asked_for) == (3, "", True)


def test_a_missing_heading_of_part_numbers_is_asked_for():
    rows = [[f"K{n}", "red", "15/38", "5,00"] for n in range(3, 7)]
    (layout,) = find_tables(list_of(["Sigle", "Tint", "Z", "Price"], *rows))
    number = layout.columns["part_number"]
    assert (number.heading, number.is_asked_for) == ("Sigle", True)


def test_of_a_hidden_and_a_visible_column_the_visible_one_is_taken():
    sheet = sheet_of(["Ref", "Z", "Price", "Price"], ["A1", "15/38", "50,00", "64,90"])
    sheet.hidden_columns = frozenset({3})
    (layout,) = find_layouts(sheet)
    price = layout.columns["price"]
    assert (price.column, price.sureness, price.rivals) == (4, "sure", ())
    sheet.hidden_columns = frozenset({3, 4})
    (layout,) = find_layouts(sheet)
    assert layout.columns["price"].sureness == "weak"
    sheet = sheet_of(["Ref", "Z", "Price"], ["A1", "15/38", "50,00"])
    sheet.hidden_columns = frozenset({3})
    (layout,) = find_layouts(sheet)
    assert layout.columns["price"].sureness == "likely"
    assert "hidden" in layout.columns["price"].reason


def test_cells_that_disagree_with_a_heading_make_it_weak():
    rows = [[f"A{n}", "yes", "64,90"] for n in range(10)]
    (layout,) = find_tables(list_of(["Ref", "Teeth", "Price"], *rows))
    assert layout.columns["teeth"].sureness == "weak"
    assert "0% of its cells" in layout.columns["teeth"].reason


def test_a_column_of_teeth_is_known_by_its_cells():
    rows = [[f"A{n}", f"{12 + n}/45", "64,90"] for n in range(10)]
    (layout,) = find_tables(list_of(["Ref", "Ratio", "Price"], *rows))
    assert layout.columns["teeth"].heading == "Ratio"
    assert layout.columns["teeth"].sureness == "likely"
    rows = [[f"A{n}", f"{n}", "64,90"] for n in range(5, 15)]
    (layout,) = find_tables(list_of(["Ref", "Shelf", "Price"], *rows))
    assert "teeth" not in layout.columns


@pytest.mark.parametrize(
    ("pinion", "wheel"),
    [("Z1", "Z2"), ("Ritzel", "Rad"), ("Pignone", "Corona"), ("Pignon", "Couronne"),
     ("Piñón", "Corona"), ("Pinion teeth", "Wheel teeth"), ("z 1", "z 2")],
)  # fmt: skip
def test_pinion_and_wheel_in_two_columns_are_read_together(pinion, wheel):
    rows = [[f"A{n}", str(12 + n), "64,90", f"{40 + n}", "10"] for n in range(6)]
    read = list_of(["Ref", pinion, "Price", wheel, "Rim"], *rows, ["A9", "13", "1,00", "", "10"])
    for mapping in (
        None,
        ListMapping(columns={"part_number": "Ref", "teeth": f"{pinion} + {wheel}"}),
    ):
        (layout,) = find_tables(read, mapping)
        teeth = layout.columns["teeth"]
        assert (teeth.column, teeth.second, teeth.heading) == (2, 4, f"{pinion} + {wheel}")
        cells = [layout.cell(row, "teeth") for row in layout.data_rows]
        assert (cells[0].address, cells[0].text) == ("2:2+2:4", "12/40")
        assert [read_teeth(cell, teeth_column=True).status for cell in cells[-2:]] == [
            "read",
            "unreadable",
        ]
    (layout,) = find_tables(read)
    assert layout.columns["wheel_size"].heading == "Rim"
    assert layout.headings["teeth"] == f"{pinion} + {wheel}"


def test_a_pinion_beside_a_wheel_size_is_no_pair():
    rows = [[f"A{n}", "15/38", str(12 + n), "10"] for n in range(6)]
    (layout,) = find_tables(list_of(["Ref", "Teeth", "Ritzel", "Rad"], *rows))
    assert layout.columns["teeth"].heading == "Teeth"
    assert layout.columns["wheel_size"].heading == "Rad"


def refusal(read: SupplierList, mapping: ListMapping | None = None) -> str:
    with pytest.raises(UsageError) as error:
        find_tables(read, mapping)
    assert "\n" not in str(error.value)
    return str(error.value)


def test_a_mapping_that_does_not_match_tells_what_is_missing_and_what_is_near():
    read = list_of(["Art. no.", "Zähne", "Preis EUR netto", "Info"], ["A1", "15/38", "1,00", ""])
    mapping = {"part_number": "Art. no.", "teeth": "Zahnezahl", "price": "Preis EUR", "stage": "X"}
    text = refusal(read, ListMapping(columns=mapping))
    assert "no column is headed 'Zahnezahl' (teeth); did you mean 'Zähne'?" in text
    assert "no column is headed 'Preis EUR' (price); did you mean 'Preis EUR netto'?" in text
    assert "no column is headed 'X' (stage); the header has 'Art. no.', 'Zähne'" in text
    assert "Art. no.' (" not in text


def test_a_mapping_matches_by_words_not_by_signs():
    read = list_of(["ART NO", "zähne", "Preis\nEUR"], ["A1", "15/38", "1,00"])
    mapping = {"part_number": "Art. no.", "teeth": "Zahne:", "price": "Preis (EUR)"}
    (layout,) = find_tables(read, ListMapping(columns=mapping))
    assert [column.column for column in layout.columns.values()] == [1, 2, 3]


def test_a_heading_that_stands_twice_is_told():
    read = list_of(["Ref", "Price", "Price"], ["A1", "1,00", "2,00"])
    text = refusal(read, ListMapping(columns={"part_number": "Ref", "price": "Price"}))
    assert "2 columns are headed 'Price' (price)" in text


def test_digits_in_headings_count():
    read = list_of(["Ref", "Price 2"], ["A1", "1,00"])
    text = refusal(read, ListMapping(columns={"part_number": "Ref", "price": "Price 1"}))
    assert "'Price 1'" in text


@table(
    ("saved", "heading"),
    [
        ("Tarif HT 02/2026", "Tarif HT 03/2026"),
        ("Preis ab 1.3.26", "Preis ab 1.4.26"),
        ("Preis gültig ab 01.03.2026", "Preis gültig ab 01.04.2026"),
        ("Price March 2026", "Price April 2026"),
        ("Prezzo dal 1/3/2026", "Prezzo"),
        ("Precio", "Precio desde abril 2026"),
        ("Price 2025", "Price 2026"),
    ],
)
def test_a_heading_that_bears_a_date_is_found_without_it(saved, heading):
    rows = [["Ref", "Z", heading], ["A1", "15/38", "1,00"]]
    (found,) = find_tables(list_of(*rows))
    assert (found.columns["price"].column, found.columns["price"].sureness) == (3, "sure")
    mapping = ListMapping(columns={"part_number": "Ref", "teeth": "Z", "price": saved})
    (layout,) = find_tables(list_of(*rows), mapping)
    assert (layout.columns["price"].column, layout.columns["price"].sureness) == (3, "given")


def test_of_two_dates_a_person_says_which():
    rows = [["Ref", "Z", "Price 02/2026", "Price 03/2026"], ["A1", "15/38", "1,00", "2,00"]]
    mapping = ListMapping(columns={"part_number": "Ref", "price": "Price 02/2026"})
    (layout,) = find_tables(list_of(*rows), mapping)
    assert layout.columns["price"].is_asked_for
    assert layout.columns["price"].rivals == ("Price 03/2026",)


# Rows above the articles: number of header rows, and the columns of teeth they make.
TOPS = {
    "a title above the header": (
        ["MARSH PRICE LIST 2026"], ["Ref", "Text", "Z", "Price"], 1, (3, 0),
    ),
    "two titles in a row": (
        ["MARSH", "", "", "valid 03/2026"], ["Ref", "Text", "Z", "Price"], 1, (3, 0),
    ),
    "one heading over pinion and wheel": (
        ["", "", "Zähne", "", ""], ["Nr", "Text", "Ritzel", "Rad", "Preis"], 2, (3, 4),
    ),
    "pinion and wheel below one heading": (
        ["Nr", "Text", "Zähne", "", "Preis"], ["", "", "Ritzel", "Rad", ""], 2, (3, 4),
    ),
    "net and gross below one heading": (
        ["Nr", "Text", "Zähne", "Preis", ""], ["", "", "", "netto", "brutto"], 2, (3, 0),
    ),
    "a row of units": (["Nr", "Text", "Zähne", "Preis"], ["", "", "z1/z2", "EUR"], 1, (3, 0)),
    "one heading over two columns": ([], ["Nr", "Text", "Zähne", "", "Preis"], 1, (3, 4)),
    "two cells that make one heading": (
        ["Artikel-", "Bezeich-", "Zähne", "Preis"], ["nummer", "nung", "", "EUR"], 2, (3, 0),
    ),
}  # fmt: skip


@pytest.mark.parametrize("top", TOPS)
def test_a_title_is_no_part_of_the_header_and_all_its_lines_are(top):
    first, second, lines, teeth = TOPS[top]
    if teeth[1]:
        rows = [[f"A{n}", "Set", f"{n}", "44", "50,00"] for n in (14, 15)]
    else:
        rows = [[f"A{n}", "Set", f"{n}/44", "50,00"] for n in (14, 15)]
    (layout,) = find_tables(list_of(*filter(None, (first, second)), *rows))
    assert len(layout.header_rows) == lines
    found = layout.columns["teeth"]
    assert (found.column, found.second) == teeth
    assert layout.columns["part_number"].column == 1
    assert [layout.cell(row, "teeth").text for row in layout.data_rows] == ["14/44", "15/44"]
    mapping = ListMapping(columns=layout.headings)
    (again,) = find_tables(list_of(*filter(None, (first, second)), *rows), mapping)
    assert [again.cell(row, "teeth").text for row in again.data_rows] == ["14/44", "15/44"]


def test_no_header_at_all_and_a_sheet_without_one_among_others():
    assert "no header row" in refusal(list_of(["A1", "15/38", "1,00"], ["A2", "14/45", "2,00"]))
    notes = Sheet("Notes", [["Order by mail."], [], ["Thank you"]])
    prices = Sheet("Prices", [["Ref", "Teeth"], ["A1", "15/38"]])
    layouts = find_tables(SupplierList("list.xlsx", "xlsx", (notes, prices)))
    assert [layout.found for layout in layouts] == [False, True]
    assert [entry.kind for entry in layouts[0].ignored.values()] == [
        "unrelated",
        "blank",
        "unrelated",
    ]


@settings(deadline=None)
@given(
    rows=st.lists(
        st.lists(st.one_of(st.none(), st.text(max_size=8), st.floats(), st.integers()), max_size=5),
        max_size=10,
    )
)
def test_any_sheet_is_answered(rows):
    sheet = Sheet("S", rows)
    layouts = find_layouts(sheet)
    counted = [row for each in layouts for row in [*each.ignored, *each.data_rows]]
    assert sorted(counted) == list(range(1, len(rows) + 1))


def test_a_header_with_its_columns_moved_is_another_and_no_repeat():
    header = ["Art. no.", "Text", "Teeth", "Stage", "Price"]
    first = ["A-1", "Set", "15/44", "primary", "50"]
    moved = ["Art. no.", "Price", "Teeth", "Stage"]
    one, two = find_tables(list_of(header, first, moved, ["A-2", "60", "15/45", "primary"]))
    assert (one.columns["price"].column, two.columns["price"].column) == (5, 2)
    (same,) = find_tables(list_of(header, first, header, ["A-2", "Set", "15/45", "primary", "60"]))
    assert same.ignored[3].kind == "header"
