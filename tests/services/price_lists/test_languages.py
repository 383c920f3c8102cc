"""The same articles in five languages and as many kinds of file end as the same entries."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from openpyxl import Workbook
from openpyxl.comments import Comment

from tests.services.price_lists.conftest import HEAD, LISTS, Shop, summary

WANTED: dict[str, dict[str, Any]] = {
    "AR-0101": {
        "pairs": {"primary": "15/44"},
        "models": ["Dunlin Ten", "Dunlin Tour"],
        "wheel": 10,
        "price": Decimal("1049.90"),
        "availability": "in-stock",
    },
    "AR-0102": {
        "pairs": {"secondary": "14/53"},
        "models": ["Sanderling Strand"],
        "wheel": 16,
        "price": Decimal("51.00"),
        "availability": "to-order",
    },
    "AR-0103": {
        "pairs": {"primary": "16/44", "secondary": "14/54"},
        "models": ["Whimbrel 125"],
        "wheel": None,
        "price": None,
        "availability": "discontinued",
    },
}

ENGLISH = """\
Arrowgrass price list 2026

Part no.,Description,Teeth,Stage,Fits models,Wheel,Price,Availability
0101,Primary pair,15/44,primary,"Dunlin Ten, Dunlin Tour",10 in,"£1,049.90",in stock
0102,Gear pair,14/53,2nd stage,SANDERLING STRAND,16,51.00 GBP,to order
0103,Complete gear set,16/44 + 14/54,,Whimbrel 125 (4-stroke),,on request,discontinued
All prices excl. VAT.
"""
ITALIAN = '''\
Listino prezzi Arrowgrass;;;;;;;
Codice articolo;Descrizione;N. denti;Stadio;Modelli;Ruota;Prezzo listino;Disponibilità
0101;Coppia primaria;15/44;primario;Dunlin Ten e Dunlin Tour;"10""";1.049,90 €;pronta consegna
0102;Coppia ingranaggi;14/53;2° stadio;Sanderling Strand;"16""";€ 51;su ordinazione
0103;Serie completa;16/44 + 14/54;;per Whimbrel 125;;su richiesta;fuori produzione
Totale;;;;;;1.100,90;
'''
GERMAN = """\
Artikelnr.\tBezeichnung\tZähnezahl\tStufe\tPassend für\tRad\tListenpreis\tLieferbarkeit
0101\tZahnradpaar\tZ=15/44\tPrimärstufe\tDunlin Ten und Dunlin Tour\t10 Zoll\t1.049,90\tauf Lager
0102\tZahnradpaar\tZ 14:53\tsekundär\tSanderling-Strand\t16 Zoll\t51,--\tLieferzeit 2 Wochen
0103\tZahnradsatz komplett\t16/44 und 14/54\t\tWhimbrel 125ccm\t\ta. A.\tausgelaufen
Seite 1 von 1
"""
FRENCH = """\
Tarif Arrowgrass;;;;;;;
Référence;Désignation;Nombre de dents;Étage;Modèles;Roue;Prix HT;Disponibilité
0101;Couple primaire;15x44;primaire;Dunlin Ten et Dunlin Tour;10 pouces;1 049,90 €;en stock
0102;Couple;14x53;secondaire;Sanderling Strand;16 pouces;51,00 €;sur commande
0103;Jeu complet;16/44 + 14/54;;pour Whimbrel 125;;nous consulter;fin de série
Tous les prix s'entendent hors TVA.;;;;;;;
"""
SPANISH = """\
Tarifa Arrowgrass|||||||
Referencia|Descripción|Nº de dientes|Etapa|Modelos|Rueda|Precio neto|Existencias
0101|Par primario|15/44|primaria|Dunlin Ten y Dunlin Tour|10 pulgadas|1.049,90|en almacén
0102|Par|14/53|secundaria|Sanderling Strand|16 pulgadas|51,00|bajo pedido
0103|Juego completo|16/44 + 14/54||para Whimbrel 125||consultar|descatalogado
Todos los precios sin IVA.|||||||
"""


def entries(shop: Shop) -> dict[str, dict[str, Any]]:
    return {
        id_: {
            "pairs": {stage: str(pair) for stage, pair in entry.record.pairs.items()},
            "models": entry.record.listed_for.models,
            "wheel": entry.record.listed_for.wheel_size_in,
            "price": entry.record.price,
            "availability": entry.record.availability,
        }
        for id_, entry in shop.catalogue.gear_sets.items()
        if entry.record.supplier == "arrowgrass"
    }


@pytest.mark.parametrize(
    ("text", "encoding", "currency"),
    [
        (ENGLISH, "utf-8", "GBP"),
        (ITALIAN, "cp1252", "EUR"),
        (GERMAN, "utf-16", "EUR"),
        (FRENCH, "utf-8-sig", "EUR"),
        (SPANISH, "cp1252", "EUR"),
    ],
    ids=["English", "Italian", "German", "French", "Spanish"],
)
def test_the_same_articles_in_five_languages(
    shop: Shop, text: str, encoding: str, currency: str
) -> None:
    supplier = shop.root / "suppliers" / "arrowgrass.yaml"
    supplier.write_text(supplier.read_text("utf-8") + f"    currency: {currency}\n", "utf-8")
    path = shop.put("prices.csv", text, encoding)
    plan = shop.plan(path)
    assert plan.questions == {}
    assert plan.counts["unreadable"] == 0
    shop.write(plan, mapping=True)
    found = entries(shop)
    for id_, wanted in WANTED.items():
        shown = [" ".join(model.upper().split("-")) for model in found[id_].pop("models")]
        models = wanted["models"]
        assert len(shown) == len(models)
        assert all(name.upper() in each for name, each in zip(models, shown, strict=True))
        assert found[id_] == {key: value for key, value in wanted.items() if key != "models"}
    assert shop.plan(path).counts["unchanged"] == 3


def test_a_workbook_with_all_that_people_do_to_one(shop: Shop, tmp_path: Path) -> None:
    """Title over merged cells, teeth made dates, numbers as text, blank rows, three sheets."""
    book = Workbook()
    sheet = book.active
    sheet.title = "Preise"
    sheet["A1"] = "Arrowgrass 2026"
    sheet.merge_cells("A1:E1")
    for at, heading in enumerate(["Art.-Nr.", "Zähne", "Stufe", "Modell", "Preis"], 1):
        sheet.cell(3, at, heading)
    rows: list[list[object]] = [
        [101, dt.date(1945, 12, 1), "primär", "Dunlin Ten", "49,90"],
        ["0102", dt.datetime(2026, 12, 10), "primär", "Dunlin Ten", 51],
        ["0103", "15/44", "primär", "Dunlin Ten", 52.5],
    ]
    for at, values in enumerate(rows, 5):
        for column, value in enumerate(values, 1):
            sheet.cell(at, column, value)
    sheet["A5"].number_format = "0000"
    sheet["B5"].number_format = "mm/yy"
    sheet["B6"].number_format = "dd/mm"
    book.create_sheet("AGB")["A1"] = "Es gelten unsere AGB."
    book.save(tmp_path / "list.xlsx")
    plan = shop.plan(tmp_path / "list.xlsx")
    assert summary([row for row in plan.rows if row.part_number]) == [
        ("0101", "review"),  # a date, which is always asked
        ("0102", "review"),  # 10/12, and no train of the family has a pair like it
        ("0103", "new"),
    ]
    pairs = [str(row.fields["pairs"]["primary"]) for row in plan.of("new")]
    assert pairs == ["15/44"]
    assert [row.address for row in plan.of("new")] == ["Preise!7"]
    assert {row.kind for row in plan.rows if row.sheet == "AGB"} == {"unrelated"}


def test_what_is_noted_on_a_cell_is_asked_like_a_remark(shop: Shop, tmp_path: Path) -> None:
    book = Workbook()
    sheet = book.active
    sheet.append(["Art.-Nr.", "Zähne", "Stufe", "Modell", "Preis"])
    sheet.append(["0101", "15/44", "primär", "Dunlin Ten", 51])
    sheet.append(["0102", "15/45", "primär", "Dunlin Ten", 51])
    sheet["B2"].comment = Comment("falsche Schräge", "x")
    book.save(tmp_path / "list.xlsx")
    plan = shop.plan(tmp_path / "list.xlsx")
    assert summary([row for row in plan.rows if row.part_number]) == [
        ("0101", "review"),
        ("0102", "new"),
    ]
    (question,) = plan.questions.values()
    assert "falsche Schräge" in question.text

    sheet["E1"].comment = Comment("je Zahnrad", "x")
    book.save(tmp_path / "list.xlsx")
    plan = shop.plan(tmp_path / "list.xlsx")
    assert plan.counts["review"] == 2
    assert [row.questions for row in plan.of("review")] == [
        ("price of 'je zahnrad'", "row of 'falsche Schräge'"),
        ("price of 'je zahnrad'",),
    ]


def test_the_demo_lists_one_after_the_other(shop: Shop) -> None:
    january = LISTS / "arrowgrass-2026-01.csv"
    plan = shop.plan(january, name="Arrowgrass list")
    assert plan.counts == {
        "new": 7,
        "changed": 0,
        "unchanged": 0,
        "review": 10,
        "unreadable": 1,
        "ignored": 15,
    }
    answers = {
        "row": "15/44 · 44,90 · sì · corto",
        "model": "dunlin-50",
        "stage": "primary",
        "housing-word": "mid",
        "families": "all",
        "price": "1118.00",
    }
    given = {k: answers[q.asks] for k, q in plan.questions.items() if q.asks in answers}
    given["housing-word of carter L beside models (dunlin-50)"] = "none"
    shop.write(shop.plan(january, given, name="Arrowgrass list"), mapping=True)
    again = shop.plan(january)
    assert again.list_name == "Arrowgrass list"
    assert [question.asks for question in again.questions.values()] == ["teeth", "teeth"]
    february = shop.plan(LISTS / "arrowgrass-2026-02.xlsx")
    (key,) = february.questions  # a spreadsheet made a date of 12/45
    assert (key, february.counts["unreadable"]) == ("teeth of 00125, '1945-12-01'", 0)
    february = shop.plan(LISTS / "arrowgrass-2026-02.xlsx", {key: "12/45"})
    told = {row.part_number: [str(c) for c in row.changes] for row in february.of("changed")}
    assert told == {
        "00117": ["price 44.90 EUR -> 49.90 EUR"],
        "00118": ["price 52.50 EUR -> 54.50 EUR"],
        "00119": ["pairs secondary 14/52 -> secondary 14/53"],
        "00120": ["name Coppia secondaria Z=13/53 el. -> Coppia secondaria"],
    }
    assert [row.part_number for row in february.rows if row.changes_teeth] == ["00119"]
    assert [row.part_number for row in february.of("new")] == ["00125", "00304"]
    assert [gone.part_number for gone in february.gone] == ["00202"]
    shop.write(february)
    assert shop.plan(LISTS / "arrowgrass-2026-02.xlsx").counts["unchanged"] == 15
    assert not shop.catalogue.findings


def test_a_part_of_a_formula_is_data(shop: Shop) -> None:
    row = shop.row("=1+1;=Zahnrad(x);15/44;primary;+Dunlin Ten;;;50;")
    assert row.outcome == "new"
    assert row.part_number == "=1+1"
    shop.write(shop.plan(HEAD + "=1+1;;15/44;primary;;;;50;\n"))
    assert shop.plan(HEAD + "=1+1;;15/44;primary;;;;50;\n").rows[1].outcome == "unchanged"
