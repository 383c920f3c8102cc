"""Plans carried out: what is meant is written, and nothing else changes by a byte."""

from __future__ import annotations

import datetime as dt
import os
from collections.abc import Sequence
from decimal import Decimal
from multiprocessing import get_context

import pytest
import yaml

from fitcheck.catalogue.editing import EditError
from fitcheck.catalogue.reader import load
from fitcheck.errors import UsageError
from fitcheck.rules.setting import model_words, plain_word
from fitcheck.services.price_lists import writing
from tests.services.price_lists.conftest import DAY, HEAD, Shop

ONE = HEAD + "A-1;Pair;15/44;primary;Dunlin Ten;10;;50,10;yes\n"


def test_a_new_file_is_made_with_all_it_needs(shop: Shop) -> None:
    before = shop.files()
    written = shop.write(shop.plan(ONE))
    assert [name.rsplit("/", 1)[-1] for name in written] == ["arrowgrass.yaml"]
    after = shop.files()
    assert {name for name in after if after[name] != before.get(name)} == {"sets/arrowgrass.yaml"}
    text = after["sets/arrowgrass.yaml"].decode()
    assert text.startswith("# yaml-language-server: $schema=../../schemas/gear-set.schema.json\n")
    data = yaml.safe_load(text)
    assert data["defaults"] == {"supplier": "arrowgrass"}
    assert data["records"]["AR-A-1"]["source"] == {"list": "list.csv", "row": 2, "date": DAY}
    record = shop.catalogue.gear_sets["AR-A-1"].record
    assert record.price == Decimal("50.10")
    assert record.fits == []
    assert not shop.catalogue.findings


def test_running_it_twice_changes_nothing(shop: Shop) -> None:
    shop.write(shop.plan(ONE), mapping=True)
    before = shop.files()
    plan = shop.plan(ONE)
    assert [row.outcome for row in plan.rows] == ["ignored", "unchanged"]
    assert shop.write(plan, mapping=True) == []
    assert shop.files() == before


def test_only_what_changed_is_touched(shop: Shop) -> None:
    shop.supplier = "cordgrass"
    before = shop.files()["sets/cordgrass.yaml"].decode().splitlines()
    plan = shop.plan(
        HEAD
        + "CG40.03;primary;17/46;primary;Dunlin Ten;10;;45.77;to order\n"
        + "CG40.04;primary;13/48;primary;Dunlin Post;16;;52.75;to order\n",
        day=dt.date(2026, 11, 25),
    )
    assert [row.outcome for row in plan.rows] == ["ignored", "changed", "unchanged"]
    shop.write(plan)
    after = shop.files()["sets/cordgrass.yaml"].decode().splitlines()
    gone = [line for line in before if line not in after]
    come = [line for line in after if line not in before]
    assert gone == ["    price: 44.75"]
    assert come == [
        "    price: 45.77",
        "    source: {list: list.csv, row: 2, date: 2026-11-25}",
    ]
    assert len(after) == len(before) + 1


def test_line_endings_comments_and_a_byte_order_mark_are_kept(shop: Shop) -> None:
    path = shop.root / "sets" / "cordgrass.yaml"
    old = path.read_bytes().replace(b"\n", b"\r\n")
    path.write_bytes(b"\xef\xbb\xbf" + old)
    shop.supplier = "cordgrass"
    shop.write(shop.plan(HEAD + "CG40.03;;17/46;primary;;;;45.75;\nCG1;;17/46;primary;;;;5;\n"))
    new = path.read_bytes()
    assert new.startswith(b"\xef\xbb\xbf# yaml-language-server")
    assert new.count(b"\r\n") == new.count(b"\n")
    assert b"# demo: remainder lot, inspect before fitting" in new


def test_new_entries_stand_beside_their_family(shop: Shop) -> None:
    shop.supplier = "cordgrass"
    shop.write(shop.plan(HEAD + "CG77;;17/46;primary;Sanderling Dash;;;50;\n"))
    ids = [i for i, e in shop.catalogue.gear_sets.items() if e.record.supplier == "cordgrass"]
    at = ids.index("CG-77")
    families = {claim.family for claim in shop.catalogue.gear_sets[ids[at - 1]].record.fits}
    assert families == {"sanderling-50"}


def test_what_a_file_gives_for_all_is_no_word_of_the_list(shop: Shop) -> None:
    """Cordgrass' file says availability to-order for all; a list without stock says nothing."""
    shop.supplier = "cordgrass"
    shop.write(shop.plan(HEAD + "CG77;;17/46;primary;;;;50;\nCG78;;17/46;primary;;;;50;yes\n"))
    sets = shop.catalogue.gear_sets
    assert sets["CG-77"].record.availability == "unknown"
    assert sets["CG-78"].record.availability == "in-stock"


def test_the_diff_is_what_saving_does(shop: Shop) -> None:
    plan = shop.plan(ONE)
    edits = shop.edits(plan, mapping=True)
    diff = edits.diff()
    assert diff.count("\n+++ ") == 2
    edits.save()
    added = [line[1:] for line in diff.splitlines() if line[:1] == "+" and line[:3] != "+++"]
    texts = "".join(data.decode() for data in shop.files().values())
    assert all(line in texts for line in added)
    assert edits.changed == []


def test_a_mapping_is_saved_on_consent_only(shop: Shop) -> None:
    shop.write(shop.plan(ONE, name="Spring list"))
    assert shop.catalogue.suppliers["arrowgrass"].record.list_mapping is None
    shop.write(shop.plan(ONE, name="Spring list"), mapping=True)
    mapping = shop.catalogue.suppliers["arrowgrass"].record.list_mapping
    assert mapping is not None
    assert mapping.columns["part_number"] == "Art. no."
    assert (mapping.decimal_mark, mapping.list_name) == (",", "Spring list")
    assert shop.plan(ONE).list_name == "Spring list"


def test_the_supplier_currency_need_not_be_written_again(shop: Shop) -> None:
    path = shop.root / "suppliers" / "arrowgrass.yaml"
    path.write_text(path.read_text("utf-8") + "    currency: CHF\n", "utf-8")
    shop.write(shop.plan(ONE))
    text = shop.files()["sets/arrowgrass.yaml"].decode()
    assert "CHF" not in text
    assert shop.catalogue.gear_sets["AR-A-1"].record.currency == "CHF"
    assert shop.plan(ONE).rows[1].outcome == "unchanged"


def test_a_file_changed_meanwhile_is_not_written_over(shop: Shop) -> None:
    shop.write(shop.plan(ONE))
    catalogue = shop.catalogue
    plan = shop.plan(ONE.replace("50,10", "60"))
    path = shop.root / "sets" / "arrowgrass.yaml"
    path.write_text(path.read_text("utf-8") + "# by hand\n", "utf-8")
    with pytest.raises(EditError, match="has changed since it was read"):
        writing.edits_of(catalogue, plan)
    edits = shop.edits(plan)
    path.write_text(path.read_text("utf-8") + "# again\n", "utf-8")
    with pytest.raises(EditError, match="has changed since it was read"):
        edits.save()
    assert b"60" not in path.read_bytes()


def test_nothing_is_replaced_where_one_file_does_not_hold(
    shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = shop.files()
    plan = shop.plan(ONE, {"model of Q": "dunlin-50"})
    edits = shop.edits(plan, mapping=True)
    path = shop.root / "suppliers" / "arrowgrass.yaml"
    path.write_bytes(before["suppliers/arrowgrass.yaml"] + b"# by hand\n")
    with pytest.raises(EditError):
        edits.save()
    assert "sets/arrowgrass.yaml" not in shop.files()


def test_a_catalogue_of_one_file_has_no_place_for_a_new_supplier(shop: Shop) -> None:
    one = shop.put("one.yaml", "kind: supplier\nrecords: {arrowgrass: {name: A}}\n")
    alone = Shop(one)
    with pytest.raises(UsageError, match="is one file"):
        alone.edits(alone.plan(ONE))


def test_a_file_grown_too_large_is_followed_by_another(
    shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(writing, "_ROOM", 2500)
    rows = "".join(f"A-{n};Pair;15/44;primary;Dunlin Ten;10;;50;\n" for n in range(20))
    shop.write(shop.plan(HEAD + rows))
    files = [name for name in shop.files() if "arrowgrass" in name and name.startswith("sets")]
    assert files[:2] == ["sets/arrowgrass-2.yaml", "sets/arrowgrass-3.yaml"]
    assert files[-1] == "sets/arrowgrass.yaml"
    assert max(len(shop.files()[name]) for name in files) < 2500
    assert len([i for i in shop.catalogue.gear_sets if i.startswith("AR-")]) == 20
    assert {row.outcome for row in shop.plan(HEAD + rows).rows} == {"ignored", "unchanged"}


def test_answered_words_are_known_to_the_whole_catalogue(shop: Shop) -> None:
    line = HEAD + "A-1;;15/44;primary;Dunlinn Ten;;;50;\n"
    shop.write(shop.plan(line, {"model of Dunlinn Ten": "dunlin-50"}))
    words = model_words(shop.catalogue)
    assert words[plain_word("Dunlinn Ten")] == {"dunlin-50"}


def test_what_stays_open_is_not_written_and_the_rest_is(shop: Shop) -> None:
    plan = shop.plan(ONE + "A-2;;15/44;;Dunlin Ten;;;50;\nA-3;;x;;;;;;\n")
    shop.write(plan)
    assert [i for i in shop.catalogue.gear_sets if i.startswith("AR-")] == ["AR-A-1"]


def keep_some(told: tuple[str, Sequence[int]]) -> list[str | None]:
    entry = load(told[0]).suppliers["arrowgrass"]
    return [writing.keep_answer(entry, f"teeth of A-{each}", "15/44") for each in told[1]]


def test_answers_given_at_once_by_two_programs_are_all_kept(shop: Shop) -> None:
    told = [(str(shop.root), range(6)), (str(shop.root), range(6, 12))]
    with get_context("fork" if hasattr(os, "fork") else "spawn").Pool(2) as pool:
        assert pool.map(keep_some, told, chunksize=1) == [["15/44"] * 6] * 2
    mapping = shop.catalogue.suppliers["arrowgrass"].record.list_mapping
    assert mapping is not None
    assert set(mapping.settled) == {f"teeth of A-{number}" for number in range(12)}


def test_an_answer_is_taken_back_without_a_trace_and_none_overrules_another(shop: Shop) -> None:
    before, entry = shop.files(), shop.catalogue.suppliers["arrowgrass"]
    for key, answer in (
        ("model of Q", "none"),
        ("teeth of A", "none"),
        ("stage-word of I", "primary"),
    ):
        assert writing.keep_answer(entry, key, answer) == answer
        assert writing.keep_answer(entry, key, "other") == answer, "somebody was first"
        assert writing.keep_answer(entry, key, None) is None
    assert shop.files() == before
