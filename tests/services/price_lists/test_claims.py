"""Which words of a row nothing explains; the cases are common practice of the trade, no source."""

from __future__ import annotations

import pytest

from fitcheck.kernel.teeth import Pair
from fitcheck.services.price_lists.claims import Claims
from fitcheck.services.price_lists.names import names_of
from fitcheck.services.price_lists.wording.cues import WORDS
from tests.conftest import demo_catalogue, table
from tests.services.price_lists.conftest import Shop

CLAIMS = Claims(names_of(demo_catalogue()).book, {"Eingang": "primary"})
OWN = frozenset({Pair(15, 44)})


def left(text: str, number: str = "ma-1544", kind: str = "") -> str:
    return CLAIMS.left_over(text, OWN, (number,), kind=kind)


@table(
    "text",
    [
        "Primary gear set 15/44, hardened and ground, for Dunlin 50",
        "Gears 15/44 for Dunlin Ten & Twelve, fits 10 in wheels",
        "MA-1544 gear pair 15x44, module 1.5, helix 20°, 0.4 kg, 16MnCr5",
        "two-year warranty, fitting instructions enclosed",
        "Zahnradsatz primär 15/44 gehärtet, einsatzgehärtet und geschliffen",
        "Satz Eingang 15 auf 44 Zähne, nur kurzes Gehäuse",
        "Lieferzeit 2 Wochen, auf Lager",
        "Montageanleitung liegt bei, 2 Jahre Garantie",
        "Coppia primaria 15/44 in acciaio cementato, denti elicoidali",
        "ruota da 10 pollici, istruzioni allegate, garanzia 2 anni",
        "Couple primaire 15/44, acier cémenté, livré avec notice",
        "pour roue de 10 pouces, en stock",
        "Juego primario 15/44 templado, dientes helicoidales, silencioso",
        "carcasa larga, garantía 2 años",
        "Übersetzung 15/44, i=2,93",
        "",
    ],
)
def test_what_is_explained_leaves_nothing_over(text: str) -> None:
    assert left(text) == ""


@table(
    ("text", "over"),
    [
        ("grind the rib first", "grind the rib first"),
        ("Primary set 15/44 hardened, sample", "sample"),
        ("CAD file for 15/44", "CAD file"),
        ("Shim kit for 15/44", "Shim"),
        ("Gears 15/44 without circlips", "without circlips"),
        ("Gears 15/44, 16/44", "16/44"),
        ("Gears for Dunlin 50 up to 2015", "up to 2015"),
        ("not for the short case", "not"),
        ("Dunlin 50 Sport 15/44", "Sport"),
        ("Primärsatz, ungehärtet", "ungehärtet"),
        ("nur mit Achse 17 mm", "nur mit Achse 17 mm"),
        ("Gehäuse muss nachgearbeitet werden", "Gehäuse muss nachgearbeitet werden"),
        ("bis Nr. 12345", "bis Nr. 12345"),
        ("solo pignone 15/44", "solo pignone"),
        ("foro da controllare", "foro da controllare"),
        ("retour client, à contrôler", "retour client, à contrôler"),
        ("devuelto por un cliente", "devuelto por un cliente"),
        ("15/44 **", "**"),
        ("15/44?", "?"),
    ],
)
def test_what_is_not_explained_is_said_as_it_is_written(text: str, over: str) -> None:
    assert left(text) == over


def test_pieces_and_times_are_of_stock_only_in_its_column() -> None:
    assert left("12", kind="stock") == ""
    assert left("3-5 Tage", kind="stock") == ""
    assert left("12") == "12"
    assert left("in stock, damaged", kind="stock") == "damaged"


@pytest.mark.parametrize("kind", ["denials", "doubts", "mistakes"])
def test_a_denial_is_never_harmless(kind: str) -> None:
    for word in WORDS["row"][kind]:
        assert left(f"gears {word} hardened") != "", word


def test_a_part_number_explains_itself_and_no_figure_that_holds_it() -> None:
    assert left("set 15 of 2015", number="15") == "2015"
    assert left("set S/108 15/44", number="s/108") == ""


def test_a_question_about_something_else_explains_nothing(shop: Shop) -> None:
    """`2` stands in the question about the stage of A-12, too, but that is not about it."""
    line = "A-12;steel gears 2;15/44;;;;;50;"
    row = shop.row(line)
    assert set(row.questions) == {"stage of A-12, '15/44'", "row of 'steel gears 2'"}
    row = shop.row(line, answers={"stage of A-12, '15/44'": "primary"})
    assert (row.outcome, row.questions) == ("review", ("row of 'steel gears 2'",))


def test_stock_and_remark_of_the_same_text_are_read_each_as_what_it_is(shop: Shop) -> None:
    row = shop.row("A-1;12;15/44;primary;Dunlin Ten;;;50;12")
    assert row.questions == ("row of '12'",)


@pytest.mark.parametrize(
    ("models", "wheel", "case", "outcome"),
    [
        ("Dunlin Ten", "10 ?", "", "review"),
        ("Dunlin Ten", "?", "", "review"),
        ("Snipe", "10", "short?", "review"),
        ("Snipe", "10", "only with the late lid", "review"),
        ("Snipe", "10", "short", "new"),
        ("Dunlin Ten", "10", "", "new"),
    ],
)
def test_a_doubt_in_any_cell_is_asked_though_nothing_is_claimed_by_it(
    shop: Shop, models: str, wheel: str, case: str, outcome: str
) -> None:
    row = shop.row(f"A-1;pair;15/44;primary;{models};{wheel};{case};40.00;yes")
    assert row.outcome == outcome


def test_a_ratio_in_question_is_asked_and_a_housing_answered_once_is_not(shop: Shop) -> None:
    text = "Nr;Teeth;Ratio;Stage;Models;Case;Price\nA-1;15/44;2,93{};primary;{};{};50,00\n"
    assert shop.plan(text.format("", "Dunlin Ten", "")).of("new")
    assert shop.plan(text.format(" ?", "Dunlin Ten", "")).of("review")
    asked = shop.plan(text.format("", "Snipe", "type 3"))
    (key,) = asked.questions
    shop.write(shop.plan(text.format("", "Snipe", "type 3"), {key: "none"}), mapping=True)
    assert shop.plan(text.format("", "Snipe", "type 3").replace("A-1", "A-2")).of("new")
