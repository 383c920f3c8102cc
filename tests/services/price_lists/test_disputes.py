"""A part that the catalogue has: what a list may not change of it unasked, and what is told."""

from __future__ import annotations

import datetime as dt

import pytest

from tests.services.price_lists.conftest import DAY, HEAD, Shop

LINE = "A-1;;15/44;primary;{};;{};50;"


def known(shop: Shop, *more: str) -> None:
    """A part stated for the short case of one family, and lines put into its record."""
    shop.write(shop.plan(HEAD + LINE.format("Dunlin 50", "short") + "\n", name="L"))
    path = shop.root / "sets" / "arrowgrass.yaml"
    text = path.read_text("utf-8")
    path.write_text(text.replace("    pairs:", "".join(more) + "    pairs:"), "utf-8")


def add(shop: Shop, record: str) -> None:
    path = shop.root / "sets" / "arrowgrass.yaml"
    path.write_text(path.read_text("utf-8") + record, "utf-8")


# ------------------------------------------------------------------ claims


@pytest.mark.parametrize(("models", "case"), [("Dunlin 50", "long"), ("Sanderling 50", "long")])
def test_a_housing_or_family_stated_otherwise_is_asked(shop: Shop, models: str, case: str) -> None:
    """The claims on file were left as they are, and the row was called unchanged."""
    known(shop)
    line = LINE.format(models, case)
    plan = shop.plan(HEAD + line + "\n")
    (question,) = plan.questions.values()
    assert (question.asks, question.choices) == ("counted", ("catalogue", "list"))
    left = shop.row(line, {question.key: "catalogue"})
    assert not any(change.field == "fits" for change in left.changes)
    assert any("left as it is, as answered" in note for note in left.notes)
    taken = shop.plan(HEAD + line + "\n", {question.key: "list"}, name="L")
    shop.write(taken)
    claims = {
        claim.family: claim.housings for claim in shop.catalogue.gear_sets["AR-A-1"].record.fits
    }
    assert claims[models.lower().replace(" ", "-")] == ["long"]
    assert (models == "Dunlin 50") is (len(claims) == 1)
    assert shop.row(line).outcome == "unchanged"


def test_a_claim_on_file_that_holds_the_housing_is_not_asked(shop: Shop) -> None:
    known(shop)
    assert shop.row(LINE.format("Dunlin 50", "short")).outcome == "unchanged"
    assert shop.row(LINE.format("Dunlin 50", "")).outcome == "unchanged"


def test_models_of_another_family_than_stated_are_told(shop: Shop) -> None:
    known(shop)
    row = shop.row(LINE.format("Sanderling Dash", ""))
    assert "!! listed for sanderling-50, and stated here for dunlin-50" in row.notes


# ------------------------------------------------------------------ teeth and age


def test_counted_teeth_taken_from_a_list_are_no_longer_measured(shop: Shop) -> None:
    known(shop, "    measured: [pairs]\n")
    line = "A-1;;15/45;primary;;;;50;"
    (key,) = shop.plan(HEAD + line + "\n").questions
    plan = shop.plan(HEAD + line + "\n", {key: "list"}, name="L")
    assert plan.rows[1].changes_teeth
    assert "measured pairs -> none" in map(str, plan.rows[1].changes)
    shop.write(plan)
    record = shop.catalogue.gear_sets["AR-A-1"].record
    assert (str(record.pairs["primary"]), record.measured) == ("15/45", [])


def test_an_answer_for_the_list_is_spent_with_the_writing(shop: Shop) -> None:
    """Kept, it would overrule whoever counts again later."""
    known(shop, "    measured: [pairs]\n")
    text = HEAD + "A-1;;15/45;primary;;;;50;\n"
    (key,) = shop.plan(text).questions
    shop.write(shop.plan(text, {key: "list"}, name="L"))
    path = shop.root / "sets" / "arrowgrass.yaml"
    again = path.read_text("utf-8").replace("15/45", "15/44")
    path.write_text(again.replace("measured: []", "measured: [pairs]"), "utf-8")
    assert list(shop.plan(text).questions) == [key]


def test_an_older_list_is_asked_of_what_nobody_answered(shop: Shop) -> None:
    known(shop, "    measured: [pairs]\n")
    text = HEAD + "A-1;;15/45;primary;;;;60;\n"
    day = DAY - dt.timedelta(days=30)
    (teeth,) = shop.plan(text, day=day).questions
    plan = shop.plan(text, {teeth: "catalogue"}, day=day)
    (older,) = plan.questions
    assert "it would change price 50.00 EUR -> 60.00 EUR" in plan.questions[older].text
    done = shop.plan(text, {teeth: "list", older: "catalogue"}, day=day)
    assert [change.field for change in done.rows[1].changes] == ["pairs", "measured"]
    # The older date on the entry would let the price through the next time.
    shop.write(done)
    assert shop.catalogue.gear_sets["AR-A-1"].record.source.date == DAY
    assert shop.plan(text, day=day).counts["unchanged"] == 1


def test_prices_are_loud(shop: Shop) -> None:
    known(shop)
    row = shop.row(LINE.format("Dunlin 50", "short").replace(";50;", ";51;"))
    assert [(change.field, change.loud) for change in row.changes] == [("price", True)]
    assert row.changes_price
    assert not row.changes_teeth


# ------------------------------------------------------------------ numbers of entries


def test_an_active_entry_goes_before_a_retired_one_of_its_number(shop: Shop) -> None:
    """The last of the two in the file was taken, and its teeth changed."""
    known(shop)
    add(
        shop,
        "  AR-OLD: {part_number: A-1, pairs: {primary: 15/43}, status: retired, "
        "successor: AR-A-1}\n",
    )
    assert shop.row(LINE.format("Dunlin 50", "short")).set_id == "AR-A-1"
    assert shop.row(LINE.format("Dunlin 50", "short")).outcome == "unchanged"


def test_a_number_of_two_active_entries_is_settled_by_nobody(shop: Shop) -> None:
    known(shop)
    add(shop, "  AR-TWO: {part_number: A-1, pairs: {primary: 15/43}}\n")
    row = shop.row(LINE.format("Dunlin 50", "short"))
    assert (row.outcome, row.cell) == ("unreadable", "2:1")
    assert row.reason == "AR-A-1 and AR-TWO both have this number; fitcheck check says where"


def test_a_retired_part_names_its_successor(shop: Shop) -> None:
    known(shop, "    status: retired\n", "    successor: AR-NEW\n")
    add(shop, "  AR-NEW: {part_number: A-9, pairs: {primary: 15/44}}\n")
    row = shop.row("A-1;;15/44;primary;;;;51;")
    assert row.outcome == "changed"
    assert row.notes == ("AR-A-1 is retired; its successor is AR-NEW; the list has it still",)


def test_a_superseded_number_names_its_successor(shop: Shop) -> None:
    known(shop, "    successor: AR-NEW\n")
    add(shop, "  AR-NEW: {part_number: A-9, aliases: [A-8], pairs: {primary: 15/44}}\n")
    row = shop.row("A-1;;15/44;primary;;;;50;")
    assert (row.outcome, row.notes) == (
        "unchanged",
        ("AR-A-1 is superseded; its successor is AR-NEW",),
    )
    old = shop.row("A-8;;15/44;primary;;;;50;")
    assert (old.set_id, old.notes) == ("AR-NEW", ("A-8 is another number of AR-NEW (A-9)",))


def test_two_numbers_of_one_part_with_different_data_are_asked_as_such(shop: Shop) -> None:
    known(shop, "    aliases: [A-8]\n")
    plan = shop.plan(HEAD + "A-1;;15/44;primary;;;;50;\nA-8;;15/44;primary;;;;51;\n")
    (question,) = plan.questions.values()
    assert question.text.startswith("A-1 and A-8 are one part, listed 2 times")
    assert plan.gone == ()


def test_a_refused_record_is_known_by_its_number_too(shop: Shop) -> None:
    """Under an id of its own it was taken for unknown, and a second entry was made."""
    known(shop)
    path = shop.root / "sets" / "arrowgrass.yaml"
    text = path.read_text("utf-8").replace("AR-A-1:", "MINE:").replace("15/44", "15/15")
    path.write_text(text, "utf-8")
    row = shop.row(LINE.format("Dunlin 50", "short"))
    assert row.outcome == "unreadable"
    assert "was refused; fitcheck check says why" in row.reason


# ------------------------------------------------------------------ what check would refuse


def test_a_row_that_would_be_an_error_is_asked_and_the_rest_is_written(shop: Shop) -> None:
    """One such row kept the whole list from being written, and named a line of no file."""
    text = HEAD + "A-1;;15/44;tertiary;Dunlin 50;;short;50;\nA-2;;15/44;primary;;;;50;\n"
    plan = shop.plan(text)
    assert [row.outcome for row in plan.rows[1:]] == ["review", "new"]
    assert plan.rows[1].reason.startswith("A-1 is tertiary by the list, and what it is listed for")
    shop.write(plan)
    assert "AR-A-2" in shop.catalogue.gear_sets
    assert not shop.catalogue.findings


def test_an_answer_that_makes_an_error_is_asked_again(shop: Shop) -> None:
    text = HEAD + "A-1;;15/44;;Dunlin 50;;short;50;\n"
    (key,) = shop.plan(text).questions
    plan = shop.plan(text, {key: "tertiary"})
    assert plan.counts["unreadable"] == 1
    shop.write(plan)
    assert list(shop.plan(text).questions) == [key]


def test_a_stage_that_the_list_contradicts_is_remembered(shop: Shop) -> None:
    """The entry does not settle it; the answer was forgotten, and asked for each month."""
    text = HEAD + "A-1;secondary pair Z=15/44;;primary;Dunlin Ten;;;50;\n"
    (key,) = shop.plan(text).questions
    shop.write(shop.plan(text, {key: "primary"}))
    again = shop.plan(text)
    assert (again.counts["unchanged"], len(again.questions)) == (1, 0)


def test_a_stage_of_teeth_that_the_entry_does_not_take_is_remembered(shop: Shop) -> None:
    shop.write(shop.plan(HEAD + "A-1;;15/44 + 14/53;primary + secondary;;;;50;\n", name="L"))
    text = HEAD + "A-1;;16/46;;;;;50;\n"
    answers: dict[str, str] = {}
    for answer in ("secondary", "catalogue"):
        answers |= dict.fromkeys(shop.plan(text, answers).questions, answer)
    shop.write(shop.plan(text, answers))
    again = shop.plan(text)
    assert (again.counts["unchanged"], len(again.questions)) == (1, 0)


def test_a_number_that_was_left_out_stays_so(shop: Shop) -> None:
    text = HEAD + "A-1;;15/44;primary;;;;50;\nA 1;;15/45;primary;;;;50;\n"
    text = text.replace("A 1", "A-1 ").replace("A-1 ;", "A- 1;")
    answers = {"part-number of A-1": "A- 1", "part-number of A- 1": "none"}
    assert list(shop.plan(text).questions) == list(answers)
    shop.write(shop.plan(text, answers))
    again = shop.plan(text)
    assert [row.kind or row.outcome for row in again.rows[1:]] == ["unchanged", "left-out"]
