"""Questions in a file, answered, fed back and remembered; wrong answers told by their place."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
import yaml

from fitcheck.errors import UsageError
from fitcheck.services.price_lists.outcomes import Plan
from fitcheck.services.price_lists.review import Answers, read_answers, review_text, write_review
from tests.services.price_lists.conftest import HEAD, Shop

LINES = (
    "A-1;;15/44;primary;Dunlinn Ten;;;50;",
    "A-2;;15/44;Gruppe 7;Dunlin Ten;;;50;",
    "A-3;;15/44;;Dunlin Ten;;;50;",
    "A-4;;15/44 or 15/45;primary;Dunlin Ten;;;50;",
    "A-5;;15/44;primary;Dunlin 50;;XL;50;",
    "A-6;;15/44;primary;Dunlin Ten;;;50 USD;",
    "1.2E+04;;15/44;primary;Dunlin Ten;;;50;",
    "A-7;;15/44;primary;Dunlin Ten, Sanderling Dash;;;50;",
    "A-8;;15/44;primary;Dunlin Ten;;;50;",
    "A-8;;15/45;primary;Dunlin Ten;;;50;",
)
LIST = HEAD + "\n".join(LINES) + "\n"
GOOD = {
    "model": "Dunlin 50",
    "stage-word": "Secondary",
    "stage": "primary",
    "teeth": "15/45",
    "housing-word": "long case",
    "price": "EUR",
    "part-number": '"12E3"',
    "families": "[dunlin-50]",
    "row": "b",
}


def answered(plan: Plan, answers: dict[str, str]) -> str:
    """The file of questions with answers behind them, by kind."""
    asks = [question.asks for question in plan.questions.values()]
    parts = review_text(plan).split("    answer:\n")
    assert len(parts) == len(asks) + 1
    return "".join(
        f"{part}    answer: {answers.get(kind, '')}\n"
        for part, kind in zip(parts, asks, strict=False)
    )


def read(shop: Shop, text: str) -> Answers:
    path = shop.put("questions.yaml", text)
    return read_answers(str(path), shop.catalogue, shop.supplier)


def test_the_file_is_yaml_for_others_too(shop: Shop) -> None:
    plan = shop.plan(LIST)
    data = yaml.safe_load(review_text(plan))
    assert data["kind"] == "import-review"
    assert data["supplier"] == "arrowgrass"
    questions = data["questions"]
    assert [each["asks"] for each in questions] == [q.asks for q in plan.questions.values()]
    assert [each["about"] for each in questions] == [q.about for q in plan.questions.values()]
    assert all(each["answer"] is None for each in questions)
    assert {each["asks"] for each in questions} == set(GOOD)
    assert max(map(len, review_text(plan).splitlines())) < 110


def test_each_question_shows_its_row_and_the_former_name_is_read(shop: Shop) -> None:
    plan = shop.plan(LIST)
    text = " ".join(review_text(plan).replace("  #", " ").split())
    assert "row 4: Art. no.: A-3 | Teeth: 15/44 | Models: Dunlin Ten | Price: 50" in text
    former = answered(plan, GOOD).replace("kind: import-review", "kind: intake-review")
    assert read(shop, former) == read(shop, answered(plan, GOOD))


def test_every_kind_says_how_to_answer(shop: Shop) -> None:
    text = review_text(shop.plan(LIST))
    head = text.split("kind: import-review")[0]
    for kind in GOOD:
        assert re.search(rf"^# {kind}: ", head, re.MULTILINE), kind


def test_answers_are_taken_and_settle_every_row(shop: Shop) -> None:
    plan = shop.plan(LIST)
    found = read(shop, answered(plan, GOOD))
    assert found.faults == []
    again = shop.plan(LIST, found.given)
    assert again.questions == {}
    assert again.unused == ()
    by_number = {row.part_number: row for row in again.rows if row.outcome == "new"}
    assert set(by_number) == {"A-1", "A-2", "A-3", "A-4", "A-5", "A-6", "A-7", "A-8", "12E3"}
    assert list(by_number["A-2"].fields["pairs"]) == ["secondary"]
    assert str(by_number["A-4"].fields["pairs"]["primary"]) == "15/45"
    assert by_number["A-5"].fields["fits"] == [{"family": "dunlin-50", "housings": ["long"]}]
    assert by_number["A-7"].fields["listed_for"] == {"models": ["Dunlin Ten"]}
    assert str(by_number["A-8"].fields["pairs"]["primary"]) == "15/45"


def test_answers_are_remembered_so_that_nothing_is_asked_twice(shop: Shop) -> None:
    plan = shop.plan(LIST)
    again = shop.plan(LIST, read(shop, answered(plan, GOOD)).given)
    shop.write(again)
    mapping = shop.catalogue.suppliers["arrowgrass"].record.list_mapping
    assert mapping is not None
    assert mapping.model_words == {"Dunlinn Ten": "dunlin-50"}
    assert mapping.stage_words == {"Gruppe 7": "secondary"}
    assert mapping.housing_words == {"XL (dunlin-50)": "long"}
    assert mapping.columns == {}
    third = shop.plan(LIST)
    assert third.questions == {}
    assert {row.outcome for row in third.rows} == {"unchanged", "ignored"}
    assert shop.edits(third).changed == []


def test_none_of_ours_is_remembered_as_null(shop: Shop) -> None:
    plan = shop.plan(HEAD + LINES[0] + "\n")
    found = read(shop, answered(plan, {"model": "none"}))
    again = shop.plan(HEAD + LINES[0] + "\n", found.given)
    assert again.rows[1].outcome == "new"
    shop.write(again)
    assert "model_words: {Dunlinn Ten: null}" in shop.files()["suppliers/arrowgrass.yaml"].decode()
    assert shop.plan(HEAD + LINES[0] + "\n").questions == {}


@pytest.mark.parametrize(("line", "kind"), [(LINES[3], "teeth"), (LINES[6], "part-number")])
def test_none_leaves_the_row_out(shop: Shop, line: str, kind: str) -> None:
    plan = shop.plan(HEAD + line + "\n")
    again = shop.plan(HEAD + line + "\n", read(shop, answered(plan, {kind: "NONE"})).given)
    assert (again.rows[1].outcome, again.rows[1].kind) == ("ignored", "left-out")
    shop.write(again)
    assert shop.plan(HEAD + line + "\n").rows[1].kind == "left-out"


def test_another_text_in_the_cell_is_another_question(shop: Shop) -> None:
    plan = shop.plan(HEAD + LINES[3] + "\n")
    shop.write(shop.plan(HEAD + LINES[3] + "\n", {next(iter(plan.questions)): "15/45"}))
    other = LINES[3].replace("15/45", "15/46")
    assert [q.asks for q in shop.plan(HEAD + other + "\n").questions.values()] == ["teeth"]


def test_what_is_left_empty_stays_open(shop: Shop) -> None:
    plan = shop.plan(LIST)
    found = read(shop, answered(plan, {"model": "dunlin-50"}))
    assert len(found.given) == 1
    assert len(shop.plan(LIST, found.given).questions) == len(plan.questions) - 1


def test_answers_to_what_is_not_asked_are_told(shop: Shop) -> None:
    plan = shop.plan(HEAD + "A-1;;15/44;primary;Dunlin Ten;;;50;\n", {"model of Xyz": "dunlin-50"})
    assert plan.unused == ("model of Xyz",)


@pytest.mark.parametrize(
    ("kind", "answer", "says"),
    [
        ("model", "dunlim-50", "did you mean dunlin-50?"),
        ("model", "Snipe", "Snipe"),
        ("families", "dunlin-50, snipe", "snipe"),
        ("stage-word", "primery", "did you mean primary?"),
        ("stage-word", "7", "'7' is not a stage; there is single, primary, secondary or tertiary"),
        ("stage", "primary, secondary", "name one stage"),
        ("teeth", "15", "write like 15/44"),
        ("teeth", "15/15", "15/15"),
        ("housing-word", "huge", "is not a housing of dunlin-50; short, mid or long"),
        ("price", "cheap", "say what to do with each amount"),
        ("price", "-4", "say what to do with each amount"),
        ("price", "1e999999", "a number beyond what is read"),
        ("row", "c", "write a letter, a to b"),
        ("model", "{a: b}", "a: b"),
    ],
)
def test_wrong_answers_are_told_by_line_and_column(
    shop: Shop, kind: str, answer: str, says: str
) -> None:
    text = answered(shop.plan(LIST), {kind: answer})
    found = read(shop, text)
    (fault,) = found.faults
    line = next(n for n, each in enumerate(text.splitlines(), 1) if each.endswith(f"r: {answer}"))
    assert re.match(rf"\S*questions\.yaml:{line}:13: ", fault), fault
    assert says in fault or answer == "{a: b}"
    assert found.given == {}


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("kind: gear-set\nrecords: {}\n", ":1:1: not a file of questions"),
        ("kind: import-review\nsupplier: marram\nquestions: []\n", ":2:11: the questions are of"),
        (
            "kind: import-review\nsupplier: arrowgrass\nquestions: no\n",
            ":3:12: questions must be a list",
        ),
        ("kind: import-review\nsupplier: arrowgrass\nquestions:\n  - 5\n", ":4:5: not a question"),
        (
            "kind: import-review\nsupplier: arrowgrass\nquestions:\n  - {anser: x}\n",
            ":4:6: a question has no 'anser'; did you mean answer?",
        ),
        (
            "kind: import-review\nsupplier: arrowgrass\nquestions:\n  - {asks: me, about: x}\n",
            ":4:5: asks must be model",
        ),
        ("kind: [unclosed\n", ":"),
        ("", ":1:1: not a file of questions"),
    ],
)
def test_a_file_that_is_no_such_file_is_refused(shop: Shop, text: str, says: str) -> None:
    found = read(shop, text)
    assert len(found.faults) == 1
    assert says in found.faults[0]
    assert found.given == {}


def test_two_answers_to_one_question_are_refused(shop: Shop) -> None:
    one = "  - {asks: model, about: Dunlinn Ten, answer: %s}\n"
    text = "kind: import-review\nsupplier: arrowgrass\nquestions:\n"
    found = read(shop, text + one % "dunlin-50" + one % "none")
    (fault,) = found.faults
    assert "answered another way at" in fault


def test_a_file_of_another_kind_is_not_written_over(shop: Shop) -> None:
    plan = shop.plan(LIST)
    path = shop.put("notes.yaml", "my: notes\n")
    with pytest.raises(UsageError, match="a file of another kind is there"):
        write_review(plan, str(path))
    assert path.read_text("utf-8") == "my: notes\n"
    path.unlink()
    assert write_review(plan, str(path))
    assert write_review(plan, str(path))
    assert list(path.parent.glob(".notes*")) == []


def test_answers_are_not_written_over(shop: Shop) -> None:
    plan = shop.plan(LIST)
    path = shop.put("questions.yaml", answered(plan, {"model": "dunlin-50"}))
    before = path.read_bytes()
    with pytest.raises(UsageError, match="answers are in it"):
        write_review(plan, str(path))
    assert path.read_bytes() == before
    assert write_review(plan, str(path), over_answers=True)
    assert write_review(plan, str(path))


def test_nothing_is_written_where_nothing_is_asked(shop: Shop, tmp_path: Path) -> None:
    plan = shop.plan(HEAD + "A-1;;15/44;primary;Dunlin Ten;;;50;\n")
    assert not write_review(plan, str(tmp_path / "q.yaml"))
    assert not (tmp_path / "q.yaml").exists()


def test_words_of_the_list_cannot_break_the_file(shop: Shop) -> None:
    nasty = 'A-1;;15/44;primary;"Dunlinn ""Ten"": {#} \\ [\u200b\u202e";;;50;\n'
    plan = shop.plan(HEAD + nasty)
    found = read(shop, answered(plan, {"model": "dunlin-50"}))
    assert found.faults == []
    assert shop.plan(HEAD + nasty, found.given).rows[1].outcome == "new"


def test_a_word_for_a_housing_is_settled_for_one_family_only(shop: Shop) -> None:
    """Type C may be the mid case of one engine and the long one of another."""
    rows = "".join(f"A-{f[:2]};;15/44;primary;{f};;tipo C;50;\n" for f in ("Dunlin 50", "Whimbrel"))
    plan = shop.plan(HEAD + rows)
    assert [q.about for q in plan.questions.values()] == [
        "tipo C (dunlin-50)",
        "tipo C (whimbrel-125)",
    ]
    first, second = plan.questions
    shop.write(shop.plan(HEAD + rows, {first: "mid"}))
    assert list(shop.plan(HEAD + rows).questions) == [second]
    shop.write(shop.plan(HEAD + rows, {second: "long"}))
    sets = shop.catalogue.gear_sets
    assert sets["AR-A-Du"].record.fits[0].housings == ["mid"]
    assert sets["AR-A-Wh"].record.fits[0].housings == ["long"]
    assert shop.plan(HEAD + rows).counts["unchanged"] == 2


@pytest.mark.parametrize(
    ("answer", "kept", "housings"),
    [
        ("[mid, L-case]", "mid, long", ["mid", "long"]),
        ("all", "all", ["short", "mid", "long"]),
        ("none", None, None),
    ],
)
def test_several_housings_are_an_answer_that_is_kept(
    shop: Shop, answer: str, kept: str | None, housings: list[str] | None
) -> None:
    """A cell such as `medio/largo` could not be answered at all."""
    rows = HEAD + "A-1;;15/44;primary;Dunlin 50;;medio/largo;50;\n"
    found = read(shop, answered(shop.plan(rows), {"housing-word": answer}))
    shop.write(shop.plan(rows, found.given))
    mapping = shop.catalogue.suppliers["arrowgrass"].record.list_mapping
    assert mapping is not None
    assert mapping.housing_words == {"medio/largo": kept}
    fits = shop.catalogue.gear_sets["AR-A-1"].record.fits
    assert [claim.housings for claim in fits] == ([housings] if housings else [])
    assert shop.plan(rows).counts["unchanged"] == 1


def test_stages_are_answered_in_the_order_of_the_pairs(shop):
    """The answer was put into the order of the train, whatever pair stood first."""
    line = "A-1;;13/53, 15/44;;Dunlin Ten;;;40.00;yes"
    (key,) = shop.row(line).questions
    row = shop.row(line, answers={key: "secondary, primary"})
    pairs = {stage: str(pair) for stage, pair in row.fields["pairs"].items()}
    assert pairs == {"primary": "15/44", "secondary": "13/53"}


def test_all_is_refused_where_the_row_names_no_family(shop: Shop) -> None:
    plan = shop.plan(HEAD + "A-1;pair;15/44;primary;Kelp except Weed;;;40.00;yes\n")
    wrong = read(shop, answered(plan, {"families": "all"}))
    assert not wrong.given
    assert "the row names no family" in wrong.faults[0]
    assert read(shop, answered(plan, {"families": "none"})).given


@pytest.mark.parametrize("asks", ["column", "row"])
def test_a_choice_without_choices_is_refused_in_plain_words(shop: Shop, asks: str) -> None:
    """The message named letters from a to one before a."""
    text = f"kind: intake-review\nsupplier: {shop.supplier}\nquestions:\n"
    faults = read(shop, f"{text}  - asks: {asks}\n    about: x\n    answer: a\n").faults
    assert [each.rpartition("yaml:")[2] for each in faults] == [
        "6:13: 'a': its choices are missing; write the questions anew: --review"
    ]
