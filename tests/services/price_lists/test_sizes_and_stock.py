"""Wheel sizes, words for housings and for stock; common practice, no source."""

from __future__ import annotations

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fitcheck.services.price_lists.reading.cells import Cell
from fitcheck.services.price_lists.wording.availability import read_availability
from fitcheck.services.price_lists.wording.sizes import read_housing, read_wheel_size
from tests.conftest import table


def native(value) -> Cell:
    return Cell("P!A1", str(value), value)


@table(
    ("text", "free", "column"),
    [
        ('10"', (10,), (10,)),
        ("10''", (10,), (10,)),
        ("10”", (10,), (10,)),
        ("10″", (10,), (10,)),
        ("10 Zoll", (10,), (10,)),
        ("10-Zoll", (10,), (10,)),
        ("10 inch wheel", (10,), (10,)),
        ("10in", (10,), (10,)),
        ("ruote da 10 pollici", (10,), (10,)),
        ("ruota da 10", (10,), (10,)),
        ("roue 10 pouces", (10,), (10,)),
        ("rueda de 12", (12,), (12,)),
        ("llanta 12 pulgadas", (12,), (12,)),
        ("Felge 12", (12,), (12,)),
        ('10"/12"', (10, 12), (10, 12)),
        ("10/12 Zoll", (10, 12), (10, 12)),
        ("10 und 12 Zoll", (10, 12), (10, 12)),
        ("100/90-10", (10,), (10,)),
        ("3.50-10", (10,), (10,)),
        ("3,50 x 10", (10,), (10,)),
        ("120/70 R12", (12,), (12,)),
        ('gear Z=15/38 for 10" wheel', (10,), (10,)),
        ("10", None, (10,)),
        ("10/12", None, (10, 12)),
        ("10, 12", None, (10, 12)),
        ("R10", None, (10,)),
        ("10.0", None, (10,)),
        ("10-12", None, None),
        ("15/38 Z", None, None),
        ("10.5", None, None),
        ("1544", None, None),
        ("short", None, None),
        ("50 cc", None, None),
        ("64,90", None, None),
        ("12.10.2026", None, None),
        ('2"', None, None),
        ('40"', None, None),
        ("", None, None),
    ],
)
def test_wheel_sizes(text, free, column):
    assert read_wheel_size(text).value == free
    assert read_wheel_size(text, size_column=True).value == column


def test_wheel_sizes_of_a_spreadsheet():
    assert read_wheel_size(Cell("", "10", 10.0), size_column=True).value == (10,)
    assert read_wheel_size(Cell("", "10", 10.0)).status == "empty"
    dated = read_wheel_size(native(dt.date(2026, 12, 10)), size_column=True)
    assert (dated.status, dated.candidates) == ("review", ((10, 12),))
    assert read_wheel_size(native(True), size_column=True).status == "unreadable"


@pytest.mark.parametrize(
    ("text", "free", "column"),
    [
        ("short case", ("short",), ("short",)),
        ("short", None, ("short",)),
        ("Kurzgehäuse", ("short",), ("short",)),
        ("kurzes Gehäuse", ("short",), ("short",)),
        ("kurz", None, ("short",)),
        ("carter corto", ("short",), ("short",)),
        ("carter court", ("short",), ("short",)),
        ("cárter corto", ("short",), ("short",)),
        ("long crankcase", ("long",), ("long",)),
        ("Langes Motorgehäuse", ("long",), ("long",)),
        ("Gehäuse: lang", ("long",), ("long",)),
        ("carter lungo", ("long",), ("long",)),
        ("carter long", ("long",), ("long",)),
        ("mid case", ("mid",), ("mid",)),
        ("mittleres Gehäuse", ("mid",), ("mid",)),
        ("carter medio", ("mid",), ("mid",)),
        ("carter moyen", ("mid",), ("mid",)),
        ("short/long case", ("short", "long"), ("short", "long")),
        ("carter largo", None, None),
        ("cárter largo", ("long",), ("long",)),
        ("carter largo para Dunlin", ("long",), None),
        ("Gear set, long ratio", None, None),
        ("Zahnradsatz lang", None, None),
        ("ten-inch case", None, None),
        ("shortage", None, None),
        ("", None, None),
    ],
)
def test_housings(text, free, column):
    assert read_housing(text).value == free
    assert read_housing(text, housing_column=True).value == column


@table(
    ("text", "value"),
    [
        *[
            (text, "in-stock")
            for text in (
                "in stock", "Auf Lager", "sofort lieferbar", "lieferbar", "verfügbar", "vorrätig",
                "disponibile", "pronta consegna", "in magazzino", "en stock", "disponible",
                "dispo.",
                "en existencias", "yes", "ja", "sì", "oui", "✓", "5", "12 Stk", ">10", "10+",
                "ca. 20", "3 pz", "available now", "ab Lager",
            )
        ],
        *[
            (text, "to-order")
            for text in (
                "to order", "on request", "auf Bestellung", "auf Anfrage", "su ordinazione",
                "in arrivo", "sur commande", "bajo pedido", "por encargo", "2-3 Wochen", "10 days",
                "7 gg", "3 semaines", "15 días", "2 mesi", "ca. 14 Tage", "back order",
                "nicht auf Lager, auf Bestellung",
            )
        ],
        *[
            (text, "discontinued")
            for text in (
                "discontinued", "ausgelaufen", "nicht mehr lieferbar", "fuori produzione",
                "non più disponibile", "plus disponible", "descatalogado", "ya no disponible",
                "no longer available", "supprimé",
            )
        ],
        *[
            (text, "out-of-stock")
            for text in (
                "0", "no", "nein", "out of stock", "sold out", "nicht lieferbar", "ausverkauft",
                "esaurito", "non disponibile", "épuisé", "rupture de stock", "agotado",
                "no disponible", "sin stock", "<1",
            )
        ],
        *[(text, "unknown") for text in ("-", "unbekannt", "unknown")],
        *[
            (text, None)
            for text in (
                "lieferbar in 3 Tagen", "in stock or to order", "green", "see shop", "MA-1544",
                "15/38", "64,90", "",
            )
        ],
    ],
)  # fmt: skip
def test_availability(text, value):
    found = read_availability(text)
    assert found.value == value, found


def test_availability_of_a_spreadsheet():
    assert read_availability(native(True)).value == "in-stock"
    assert read_availability(native(False)).value == "out-of-stock"
    assert read_availability(native(dt.date(2026, 12, 10))).value == "to-order"
    assert read_availability(Cell("", "5", 5.0)).value == "in-stock"


@given(text=st.text(max_size=40))
def test_any_text_is_answered(text):
    for found in (
        read_availability(text),
        read_wheel_size(text),
        read_wheel_size(text, size_column=True),
        read_housing(text),
        read_housing(text, housing_column=True),
    ):
        assert (found.value is not None) == (found.status == "read")


SAID = {
    "DISCONTINUED Primary set": "discontinued",
    "Primary set, discontinued": "discontinued",
    "Primary set (discontinued) Dunlin 50": "discontinued",
    "Primärsatz Dunlin 50 ausgelaufen": "discontinued",
    "Primary set - sold out": "out-of-stock",
    "Primary set": None,
}


@pytest.mark.parametrize("text", SAID)
@pytest.mark.parametrize("as_remark", [False, True])
def test_what_a_text_says_of_stock_is_the_stock_of_its_row(shop, text, as_remark):
    name, remark = ("primary set", text) if as_remark else (text, "")
    head = "Art. no.;Text;Teeth;Stage;Models;Price;Remarks\n"
    _, row = shop.plan(f"{head}1;{name};15/44;primary;Dunlin 50;40,00;{remark}\n").rows
    assert row.outcome == "new"
    assert row.fields.get("availability") == SAID[text]


def test_words_of_stock_that_may_be_said_of_something_else_are_asked(shop):
    row = shop.row("1;Primary set for discontinued Dunlin 50;15/44;primary;Dunlin 50;;;40,00;")
    assert row.outcome == "review"


def test_what_an_unread_column_says_of_stock_is_asked(shop):
    text = "Art. no.;Text;Teeth;Stage;Models;Price;Info\n1;set;15/44;primary;Dunlin 50;40,00;{}\n"
    outcomes = [shop.plan(text.format(said)).rows[1].outcome for said in ("", "discontinued")]
    assert outcomes == ["new", "review"]
