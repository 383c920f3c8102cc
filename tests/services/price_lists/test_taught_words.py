"""What a shop says of a word holds in every row, and is kept short in the supplier's file.

Common practice, no source; the lists are invented.
"""

from __future__ import annotations

import pytest

from fitcheck import check
from fitcheck.errors import UsageError
from tests.conftest import table
from tests.services.price_lists.conftest import HEAD, Shop

PLAIN = "A-1;gear pair, {};15/44;primary;Dunlin Ten;;;50;"


@table(
    ("word", "meant", "again", "outcome"),
    [
        ("Losversand", "harmless", "Losversand, hardened", "new"),
        ("Losversand", "harmless", "Losversand, ungraded", "review"),
        ("B-Ware", "left out", "B-Ware, ungraded", "ignored"),
        ("Typ K", "short", "Typ K", "new"),
        ("Zwirbel", "primary", "Zwirbel", "new"),
        ("Typ K", "dunlin-50", "Typ K", "new"),
    ],
)
def test_a_word_that_is_taught_holds_in_other_texts(untouched: Shop, word, meant, again, outcome):
    line = PLAIN.format(word)
    (key,) = untouched.row(line).questions
    assert key == f"word of {word}"
    plan = untouched.plan(untouched_list(again), {key: meant})
    assert plan.rows[-1].outcome == outcome
    assert plan.remembered.words == {word: meant}
    assert not plan.unused


def untouched_list(text: str) -> str:
    return f"Art. no.;Text;Teeth;Stage;Models;Wheel;Case;Price;Stock\n{PLAIN.format(text)}\n"


def test_a_word_for_a_housing_states_it(shop: Shop) -> None:
    line = "A-1;gear pair, Typ K;15/44;primary;Dunlin 50;;;50;"
    (key,) = shop.row(line).questions
    row = shop.row(line, answers={key: "short"})
    assert row.fields["fits"] == [{"family": "dunlin-50", "housings": ["short"]}]
    other = shop.row(line.replace(";;;50", ";;long;50"), answers={key: "short"})
    assert other.outcome == "review", "the column says long"


def test_a_word_for_a_stage_gives_the_stage(shop: Shop) -> None:
    line = "A-1;gear pair, Zwirbel;15/44;;Dunlin 50;;;50;"
    row = shop.row(line, answers={"word of Zwirbel": "secondary"})
    assert list(row.fields["pairs"]) == ["secondary"]


def test_the_end_of_a_machines_name_is_asked_as_that_machine_once_for_all_rows(shop: Shop) -> None:
    rows = [f"A-{n};gear pair;15/4{n};primary;Ten;;;50;" for n in (4, 5)]
    rows += [f"A-{n};gear pair, Drift;15/4{n};primary;;;;50;" for n in (6, 7)]
    model, word = shop.plan(HEAD + "\n".join(rows)).questions.values()
    assert (model.key, model.choices[0], model.count) == ("model of Ten", "dunlin-50", 2)
    assert (word.key, word.choices[0], word.count) == ("word of Drift", "sanderling-50", 2)
    assert word.text.endswith("Perhaps Sanderling Drift (sanderling-50).")
    told = {model.key: "dunlin-50", word.key: "sanderling-50"}
    families = [row.families for row in shop.rows(*rows, answers=told)]
    assert families == [("dunlin-50",)] * 2 + [("sanderling-50",)] * 2


@pytest.mark.parametrize("text", ["not for racing", "nur auf Anfrage", "tested?", "12"])
def test_a_denial_a_limit_or_a_number_is_answered_for_its_text_only(shop: Shop, text: str) -> None:
    line = PLAIN.format(text)
    keys = shop.row(line).questions
    assert not any(key.startswith("word") for key in keys)


def test_a_denial_that_the_file_calls_harmless_is_refused(shop: Shop) -> None:
    path = shop.root / "suppliers" / "arrowgrass.yaml"
    text = path.read_text(encoding="utf-8")
    path.write_text(f"{text}    list_mapping: {{words: {{nicht lieferbar: harmless}}}}\n")
    with pytest.raises(UsageError, match=r"arrowgrass.yaml:5:\d+.*'nicht' denies"):
        shop.row(PLAIN.format("hardened"))


def test_a_word_that_is_always_harmless_holds_for_every_supplier(shop: Shop) -> None:
    line = PLAIN.format("Losversand")
    plan = shop.plan(HEAD + line, {"word of Losversand": "always harmless"})
    assert plan.counts["new"] == 1
    shop.write(plan)
    marram = "No.;Text;z1/z2;stage;for;wheel;case;net EUR;stock\n"
    other = marram + "Q-1;gear pair, Losversand;15/44;primary;Dunlin Ten;;short;50;"
    shop.supplier = "marram"
    assert shop.plan(other).rows[-1].outcome == "new"
    path = shop.root / "suppliers" / "marram.yaml"
    own = path.read_text("utf-8").replace(
        "stage_words:", "words: {Losversand: left out}\n      stage_words:"
    )
    path.write_text(own, "utf-8")
    assert shop.plan(other).rows[-1].outcome == "ignored", "its own word goes first"
    own = path.read_text("utf-8").replace("Losversand: left out", "nicht: always harmless")
    path.write_text(own, "utf-8")
    (found,) = [each for each in check(shop.catalogue) if each.code == "FC245"]
    assert str(found.span).endswith("marram.yaml:21:22")
    shop.supplier = "arrowgrass"
    assert shop.row(PLAIN.format("nicht hardened")).outcome == "review"


def test_one_remark_raises_one_question_for_all_its_rows(shop: Shop) -> None:
    rows = [f"A-{n};gear pair;15/4{n};primary;Dunlin Ten;;;50;on loan" for n in range(4, 8)]
    plan = shop.plan("Art. no.;Text;Teeth;Stage;Models;Wheel;Case;Price;Stock\n" + "\n".join(rows))
    (question,) = plan.questions.values()
    assert (question.count, question.where[0]) == (4, "2:9")


def test_rows_judged_in_another_order_end_alike(shop: Shop) -> None:
    rows = [
        "A-1;gear pair, used;15/44;primary;Dunlin Ten;;;50;",
        "A-2;gear pair, used, ground;15/45;primary;Dunlin Ten;;kurz;50;",
        "A-3;gear pair;15/46;;Dunlin Ten, Sanderling Dash;;;50;on loan",
        "A-4;gear pair;l5/47;primary;Dunlinn Ten;;;1.234;",
        "A-5;not for Dunlin;15/48;primary;Dunlin Ten;;;50;",
        "A-1;gear pair;15/44;primary;Dunlin Ten;;;50;",
    ]
    seen = []
    for order in (rows, rows[::-1], rows[3:] + rows[:3]):
        plan = shop.plan(
            "Art. no.;Text;Teeth;Stage;Models;Wheel;Case;Price;Stock\n" + "\n".join(order)
        )
        found = {
            (row.part_number, order[row.row - 2]): (row.outcome, sorted(row.questions))
            for row in plan.rows[1:]
        }
        seen.append((found, {key: (q.text, q.count) for key, q in plan.questions.items()}))
    assert seen[0][0] == seen[1][0] == seen[2][0]
    assert sorted(seen[0][1]) == sorted(seen[1][1]) == sorted(seen[2][1])


def test_a_footnote_that_was_answered_is_not_asked_again_and_stays_with_its_set(shop):
    text = (
        "Nr;Text;Teeth;Stage;Models;Price\nA-1†;set;15/44;primary;Dunlin 50;50,00\n"
        "A-2;set;15/45;primary;Dunlin 50;50,00\n† bore drawn 0.2 over, sleeve needed\n"
    )
    (question,) = shop.plan(text).questions.values()
    plan = shop.plan(text, {question.key: "harmless"})
    assert plan.unused == ()
    shop.write(plan)
    again = shop.plan(text)
    assert (len(again.questions), again.counts["unchanged"]) == (0, 2)
    notes = [entry.record.notes for entry in shop.catalogue.gear_sets.values()]
    assert [each for each in notes if each and "sleeve" in each] == [
        "† bore drawn 0.2 over, sleeve needed"
    ]


@pytest.mark.parametrize(
    ("remark", "asks"),
    [
        ("counted by eye, box had no label", ["row"]),
        ("passt nicht", ["row"]),
        ("not for the Dunlin Ten", ["families"]),
    ],
)
def test_what_denies_nothing_of_the_models_is_not_asked_about_them(shop, remark, asks):
    text = f"Nr;Teeth;Stage;Models;Price;Remarks\nA-1;15/44;primary;Dunlin 50;50,00;{remark}\n"
    assert [each.asks for each in shop.plan(text).questions.values()][:1] == asks
