"""Lines around articles: headings that limit, lines that go on, footnotes and their marks, units.

Common practice, no source; all names are invented.
"""

from __future__ import annotations

from itertools import product

import openpyxl
import pytest

from tests.conftest import some, table

TOP = "Nr;Text;Teeth;Models;Price\n"


def outcomes(shop, text):
    """Outcome of each article by its number: new, or review."""
    return {row.part_number: row.outcome for row in shop.plan(text).rows if row.part_number}


HEADINGS = [
    "Not for short cases", "Nur langes Gehäuse", "Non adatti ai carter corti", "Solo cárter largo",
    "Prototypen", "Returned goods", "Unhardened", "Échantillons",
    "Senza trattamento", "Devueltos",
    "Price per gear", "2nd quality",
]  # fmt: skip


CLOSINGS = ["", "Kind regards\n", "Mit freundlichen Grüßen, Ihr Team\n"]


@pytest.mark.parametrize(("heading", "closing"), some(list(product(HEADINGS, CLOSINGS)), 13))
def test_a_heading_that_limits_holds_for_the_rows_below_it(shop, heading, closing):
    """Where a line closed the list, none between articles was a heading."""
    text = (
        f"{TOP}Dunlin 50\nA-1;primary set;15/44;Dunlin 50;50,00\n"
        f"{heading}\nA-2;primary set;15/45;Dunlin 50;50,00\nA-3;primary set;15/46;Dunlin 50;50,00\n"
        f"Dunlin 50 primary\nA-4;primary set;15/47;Dunlin 50;50,00\n{closing}"
    )
    plan = shop.plan(text)
    found = {row.part_number: row.outcome for row in plan.rows if row.part_number}
    assert found == {"A-1": "new", "A-2": "review", "A-3": "review", "A-4": "new"}
    asked = [each for each in plan.questions.values() if each.asks == "row"]
    assert len(asked) <= 1, "asked once for all rows below it"


ROWS = "A-1;primary set;15/44;Dunlin 50;50,00\nA-2;primary set;15/45;Dunlin 50;50,00\n"


@table(
    ("outcome", "title"),
    [("review", each) for each in (
        "nur mit Zulassung", "for race only", "zu vremka torlo", "solo per gara",
        "ask before ordering", "sur commande uniquement", "Muster", "Arrowgrass, not for racing",
    )] + [("new", each) for each in (
        "Brookside Gears", "Brookside Gears, continued", "Mill Lane 4, 1234 Otterford", "Dunlin 50",
        "Primary sets", "Fortsetzung", "Arrowgrass pièces détachées, liste pro no. 7",
        "Tel. 0555 123", "Prices valid until further notice", "Tarif confidentiel n° 7",
        "Listino in vigore dal 1 maggio",
    )],
)  # fmt: skip
def test_a_title_that_may_limit_is_asked_once_for_all_rows_and_a_plain_one_is_not(
    outcome, title, shop
):
    plan = shop.plan(f"{title}\n{TOP}{ROWS}")
    assert [row.outcome for row in plan.rows if row.part_number] == [outcome] * 2
    assert [each.count for each in plan.questions.values()] == [2] * (outcome == "review")
    if plan.questions:
        (question,) = plan.questions.values()
        answer = "harmless" if question.asks == "word" else "as read"
        settled = shop.plan(f"{title}\n{TOP}{ROWS}", {question.key: answer})
        assert (settled.questions, settled.counts["new"]) == ({}, 2)


@table(
    ("outcome", "note"),
    [("review", each) for each in (
        "Tel. 0555 123 zulka", "Stand Mai, nur Rennteile", "Lines we no longer stand behind",
    )] + [("new", each) for each in (
        "All prices without VAT", "Preise gültig ab Mai", "Stand Mai", "Dunlin 50, continued",
    )],
)  # fmt: skip
def test_a_note_between_rows_is_explained_word_for_word_as_a_cell_is(outcome, note, shop):
    plan = shop.plan(f"{TOP}A-0;primary set;15/43;Dunlin 50;50,00\n{note}\n{ROWS}")
    found = [row.outcome for row in plan.rows if row.part_number]
    assert found == ["new", outcome, outcome]


@pytest.mark.parametrize("title", ["for race only", "zu vremka torlo", "Muster"])
def test_a_title_of_a_second_table_holds_for_that_table(title, shop):
    first = f"{TOP}A-0;primary set;15/43;Dunlin 50;50,00\n"
    second = "Nr;Teeth;Text;Models;Price\nA-1;15/44;primary set;Dunlin 50;50,00\n"
    assert outcomes(shop, f"{first}\n{second}") == {"A-0": "new", "A-1": "new"}
    assert outcomes(shop, f"{first}\n{title}\n{second}") == {"A-0": "new", "A-1": "review"}


def test_a_charge_between_rows_is_asked_of_those_below(shop):
    first = f"{TOP}A-0;primary set;15/43;Dunlin 50;50,00\n"
    found = outcomes(shop, f"{first};Teuerungszuschlag 4 %;;;\n{ROWS}")
    assert (found["A-1"], found["A-2"]) == ("review", "review")


@pytest.mark.parametrize("line", ["Prices in dollars", "Precios en dólares", "USD"])
def test_a_currency_between_articles_holds_for_those_below(shop, line):
    text = (
        f"{TOP}Dunlin 50\nA-1;primary set;15/44;Dunlin 50;50,00\n{line}\n"
        "A-2;primary set;15/45;Dunlin 50;50,00\nKind regards\n"
    )
    assert outcomes(shop, text) == {"A-1": "new", "A-2": "review"}


def test_a_heading_of_what_is_no_longer_made_is_taken_below_a_closing_line(shop):
    text = (
        f"{TOP}Dunlin 50\nA-1;primary set;15/44;Dunlin 50;50,00\n"
        "Discontinued\nA-2;primary set;15/45;Dunlin 50;50,00\nKind regards\n"
    )
    first, second = shop.plan(text).of("new")
    assert "availability" not in first.fields
    assert second.fields["availability"] == "discontinued"


def test_a_text_that_names_another_stage_than_its_heading_is_asked(shop):
    text = f"{TOP}Secondary\nA-1;primary set;15/44;Dunlin 50;50,00\nA-2;set;13/52;Dunlin 50;50,00\n"
    plan = shop.plan(text)
    assert outcomes(shop, text) == {"A-1": "review", "A-2": "new"}
    texts = [question.text for question in plan.questions.values()]
    assert "A-1: its text says primary, the heading of its group secondary." in texts


def test_a_line_that_may_go_on_or_head_is_asked_of_both_sides(shop):
    text = (
        f"{TOP}A-1;primary set;15/44;Dunlin 50;50,00\n;only with a thin gasket\n"
        "A-2;primary set;15/45;Dunlin 50;50,00\n;ground, quiet\n"
        "A-3;primary set;15/46;Dunlin 50;50,00\n"
    )
    assert outcomes(shop, text) == {"A-1": "review", "A-2": "review", "A-3": "new"}


def test_a_closing_line_that_limits_gears_holds_for_all_and_greetings_for_none(shop):
    row = "A-1;primary set;15/44;Dunlin 50;50,00\n"
    for line in ("Kind regards", "Prices without VAT", "Thank you for your trust", "www.used.org"):
        assert outcomes(shop, f"{TOP}{row}{line}\n") == {"A-1": "new"}
    for line in (
        "All gears only for short cases", "Prices are for 2 pieces", "Prices per 10 pieces",
        "Not for Dunlin Ten", "Zähnezahlen ohne Gewähr",
    ):  # fmt: skip
        assert outcomes(shop, f"{TOP}{row}{line}\n") == {"A-1": "review"}


MARKED = {
    "the number": "A-2{};primary set;15/45;Dunlin 50;50,00",
    "the number, apart": "A-2 {};primary set;15/45;Dunlin 50;50,00",
    "the text": "A-2;primary set {};15/45;Dunlin 50;50,00",
    "the teeth": "A-2;primary set;15/45 {};Dunlin 50;50,00",
    "the models": "A-2;primary set;15/45;Dunlin 50 {};50,00",
    "the price": "A-2;primary set;15/45;Dunlin 50;50,00 {}",
}


MARKS = ["*", "**", "†", "¹", "1)", "(1)", "(a)", "B)"]


@pytest.mark.parametrize(
    ("column", "mark", "place"), some(list(product(MARKED, MARKS, ["above", "below"])), 17)
)
def test_a_mark_is_tied_to_its_note_in_whatever_column_it_stands(shop, column, mark, place):
    """`Q-511 **` was another part number, and its note was not read."""
    rows = "A-1;primary set;15/44;Dunlin 50;50,00\n" + MARKED[column].format(mark) + "\n"
    for note, outcome in (("samples only", "review"), ("hardened steel", "new")):
        line = f"{mark} {note}\n"
        text = f"{line}{TOP}{rows}" if place == "above" else f"{TOP}{rows}{line}"
        plan = shop.plan(text)
        found = {row.part_number: row.outcome for row in plan.rows if row.part_number}
        assert found == {"A-1": "new", "A-2": outcome}
        assert [each.about for each in plan.questions.values()] == (
            [repr(f"{mark} {note}")] if outcome == "review" else []
        )


def test_a_mark_without_a_note_is_asked_once(shop):
    text = (
        f"{TOP}A-1*;primary set;15/44;Dunlin 50;50,00\nA-2;primary set;15/45*;Dunlin 50;50,00\n"
        "A-3;primary set;15/46;Dunlin 50;50,00 *\n"
    )
    plan = shop.plan(text)
    (question,) = plan.questions.values()
    assert (question.count, question.choices) == (3, ("as read", "left out"))
    taken = shop.plan(text, {question.key: "as read"})
    assert [row.part_number for row in taken.of("new")] == ["A-1", "A-2", "A-3"]


def test_what_only_looks_like_a_mark_is_none(shop):
    text = f"{TOP}A-1;primary set (stage 1);15/44;Dunlin 50 cm³;50,00\n1) samples only\n"
    assert not any("mark" in key or "samples" in key for key in shop.plan(text).questions)


@table(
    ("heading", "unit", "outcome"),
    [
        ("Unit", "set", "new"), ("Per", "pair", "new"), ("Einheit", "Satz", "new"),
        ("ME", "Stück", "new"), ("U.M.", "pz", "new"), ("Unité", "jeu", "new"), ("Ud", "ud", "new"),
        ("Unit", "1 pc.", "new"), ("Einheit", "je Paar", "new"),
        ("Unit", "gear", "review"), ("Per", "pinion", "review"),
        ("Unit", "piece of a pair", "review"),
        ("Einheit", "Zahnrad", "review"), ("U.M.", "ingranaggio", "review"),
        ("Unit", "10", "review"),
        ("Unité", "pignon", "review"), ("Unidad", "piñón", "review"), ("ME", "VPE 5", "review"),
    ],
)  # fmt: skip
def test_a_price_is_of_the_unit_beside_it(heading, unit, outcome, shop):
    text = (
        f"Nr;Text;Teeth;Models;{heading};Price\nA-1;primary set;15/44;Dunlin 50;{unit};50,00\n"
        "A-2;primary set;15/45;Dunlin 50;;50,00\n"
    )
    assert outcomes(shop, text) == {"A-1": outcome, "A-2": "new"}


@table(
    ("name", "outcome"),
    [
        ("Prototypes", "review"), ("Returned goods", "review"), ("Nur kurzes Gehäuse", "review"),
        ("Tabelle2", "new"), ("Preise 03-2026", "new"), ("Dunlin 50", "new"), ("Getriebe", "new"),
    ],
)  # fmt: skip
def test_the_name_of_a_sheet_heads_its_rows_whichever_way_it_is_read(name, outcome, shop, tmp_path):
    shop.write(shop.plan(f"{TOP}B-1;primary set;15/44;Dunlin 50;50,00\n"), mapping=True)
    book = openpyxl.Workbook()
    book.active.title = "Gears"
    book.active.append(["Nr", "Text", "Teeth", "Models", "Price"])
    book.active.append(["A-1", "primary set", "15/44", "Dunlin 50", 50])
    for head in (["Nr", "Text", "Teeth", "Models", "Price"], ["No", "Item", "Z", "For", "EUR"]):
        sheet = book.create_sheet(name)
        sheet.append(head)
        sheet.append(["A-2", "primary set", "15/45", "Dunlin 50", 50])
        book.save(tmp_path / "list.xlsx")
        assert outcomes(shop, tmp_path / "list.xlsx") == {"A-1": "new", "A-2": outcome}
        book.remove(sheet)


@table(
    ("heading", "units", "asked"),
    [
        ("ME", "Satz Satz Stück Satz", [3]), ("U.M.", "coppia pz coppia coppia", [2]),
        ("Unité", "jeu pièce jeu pièce jeu", [2, 4]), ("Ud.", "juego ud juego", [2]),
        ("Unit", "set pc. kit pair", [2]), ("UoM", "piece piece piece", []),
        ("ME", "Stück Stück Satz Stück", []), ("Ud.", "ud ud ud", []), ("U.M.", "pz pz", []),
    ],
)  # fmt: skip
def test_a_piece_among_sets_may_be_one_gear_and_is_asked_once(heading, units, asked, shop):
    rows = [
        f"A-{n};primary set;15/4{n};Dunlin 50;{unit};50,00"
        for n, unit in enumerate(units.split(), 1)
    ]
    plan = shop.plan("\n".join((f"Nr;Text;Teeth;Models;{heading};Price", *rows)) + "\n")
    assert [row.part_number for row in plan.of("review")] == [f"A-{n}" for n in asked]
    (key,) = plan.questions or ("",)
    assert len(plan.questions) == bool(asked)
    if key:
        assert plan.questions[key].choices[:2] == ("x 2", "as it stands")


@table(
    ("line", "outcome"),
    [
        ("Arrowgrass", "new"), ("ARROWGRASS - coppie primarie", "new"),
        ("Arrowgrass Getriebe", "new"),
        ("Ejes primarios y juegos primarios", "new"), ("Zahnradsätze und Ritzel", "new"),
        ("Gears, shafts and bearings", "new"), ("Couples primaires et arbres", "new"),
        ("Alberi e ingranaggi", "new"),
        ("Kelvin - coppie primarie", "review"), ("Ejes con juegos primarios", "review"),
        ("Bearings", "review"), ("Pinions", "review"), ("Alberi senza ingranaggi", "review"),
        ("Zahnradsätze für Wellen", "review"), ("Arrowgrass prototypes", "review"),
    ],
)  # fmt: skip
def test_a_heading_of_the_supplier_and_of_goods_beside_sets_is_harmless(
    line, outcome, shop, tmp_path
):
    row = "A-1;primary set;15/44;Dunlin 50;50,00\n"
    assert outcomes(shop, f"{TOP}{line}\n{row}") == {"A-1": outcome}
    book = openpyxl.Workbook()
    book.active.append(["Notes"])
    for name in ("Gears", line[:30]):
        sheet = book.create_sheet(name)
        sheet.append(["Nr", "Text", "Teeth", "Models", "Price"])
        sheet.append([f"{name[0]}-1", "primary set", "15/44", "Dunlin 50", 50])
    book.save(tmp_path / "list.xlsx")
    if line != "Pinions" and line[0] != "G":
        found = outcomes(shop, tmp_path / "list.xlsx")
        assert found == {"G-1": "new", f"{line[0]}-1": outcome}


@pytest.mark.parametrize(
    ("line", "outcome"),
    [("Novità", "new"), ("page 2", "review"), ("Seite 2 von 3", "review"), ("Also here", "review")],
)
def test_a_line_that_limits_holds_to_the_next_that_is_not_of_the_list(shop, line, outcome):
    text = (
        f"{TOP}A-1;primary set;15/44;Dunlin 50;50,00\nNot for short cases\n"
        f"A-2;primary set;15/45;Dunlin 50;50,00\n{line}\nA-3;primary set;15/46;Dunlin 50;50,00\n"
    )
    assert outcomes(shop, text)["A-3"] == outcome


def test_a_discount_on_what_follows_is_not_said_of_what_stands_above(shop):
    text = (
        f"{TOP}A-1;primary set;15/44;Dunlin 50;50,00\nA-2;primary set;15/45;Dunlin 50;50,00\n"
        "Remise de 8 % sur les références suivantes\nA-3;primary set;15/46;Dunlin 50;50,00\n"
    )
    assert outcomes(shop, text) == {"A-1": "new", "A-2": "review", "A-3": "review"}


@pytest.mark.parametrize("line", ["Marram Gear Works - trade list no. 7", "DUNLIN AND SANDERLING"])
def test_a_title_with_a_number_or_a_heading_of_names_is_no_denial(shop, line):
    text = (
        f"{line}\n\n{TOP}{line}\nA-1;primary set;15/44;Dunlin 50;50,00\n"
        if "AND" in line
        else f"{line}\n\n{TOP}A-1;primary set;15/44;Dunlin 50;50,00\n"
    )
    assert outcomes(shop, text) == {"A-1": "new"}


def test_what_is_noted_on_a_title_about_the_list_changes_no_row(shop, tmp_path):
    book = openpyxl.Workbook()
    for row in (["Price list"], ["Nr", "Teeth", "Stage", "Models", "Price"]):
        book.active.append(row)
    book.active.append(["A-1", "15/44", "primary", "Dunlin 50", 50])
    for note, outcome in (("printed 12 February", "new"), ("samples only", "review")):
        book.active["A1"].comment = openpyxl.comments.Comment(note, "shop")
        book.save(tmp_path / "list.xlsx")
        plan = shop.plan(tmp_path / "list.xlsx")
        assert [each.outcome for each in plan.rows if each.part_number] == [outcome]


@pytest.mark.parametrize("heading", ["1 à 4", "1-4 pcs", "1 bis 4 Stück"])
def test_a_price_for_one_to_four_pieces_is_that_of_one(shop, heading):
    rows = "".join(f"A-{n};set;15/4{n};primary;Dunlin 50;4{n},00;3{n},00\n" for n in range(3, 7))
    text = f"Nr;Text;Teeth;Stage;Models;Prix {heading};Prix 5 et plus\n{rows}"
    plan = shop.plan(text)
    assert not any("per 4" in each.text for each in plan.questions.values())


@pytest.mark.parametrize("stock", ["low", "wenige", "pochi pezzi", "últimas unidades"])
def test_few_left_are_in_stock_in_a_column_about_stock(shop, stock):
    text = f"Nr;Teeth;Stage;Models;Price;Stock\nA-1;15/44;primary;Dunlin 50;50,00;{stock}\n"
    (row,) = shop.plan(text).of("new")
    assert row.fields["availability"] == "in-stock"
