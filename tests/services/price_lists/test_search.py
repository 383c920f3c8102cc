"""A list searched as it is answers as an import followed by a match would, row by row."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest

from fitcheck.catalogue.reader import Catalogue, load
from fitcheck.errors import UsageError
from fitcheck.rules.answers import Verdict
from fitcheck.services.counter.choices import Choices
from fitcheck.services.counter.combination import Combination
from fitcheck.services.counter.match import match, match_choices
from fitcheck.services.counter.request import Request
from fitcheck.services.counter.subject import Subject, subject_from_counts, subject_of
from fitcheck.services.price_lists.list_fit import ListFit, RowFit, best_of
from fitcheck.services.price_lists.plan import plan_list
from fitcheck.services.price_lists.reading import read_list
from fitcheck.services.price_lists.row_fits import fit_rows
from fitcheck.services.price_lists.search import OpenLists, open_lists
from fitcheck.services.price_lists.writing import edits_of
from tests.bench.unseen_lists import Shop as UnseenShop
from tests.bench.unseen_truth import Listed, read_lists
from tests.conftest import some
from tests.services.price_lists.conftest import HEAD, LISTS, Shop

ANY = Request(band="any")


def told(found: Iterable[Combination]) -> list[tuple[object, ...]]:
    """What must be the same of combinations, in their order."""
    return [
        (
            [entry.id for entry in one.sets],
            list(one.pairs.values()),
            one.road_speed_change,
            one.judgement,
            (one.price, one.currency, one.price_from, one.availability),
        )
        for one in found
    ]


def searched(lists: OpenLists, subject: Subject) -> tuple[list[Combination], list[ListFit]]:
    choices = Choices.of(subject)
    request = lists.limit(ANY, "shelf")
    return match_choices(choices, request).combinations, fit_rows(lists, choices, request)


def hold(lists: OpenLists, imported: Catalogue, subjects: Sequence[tuple[Subject, Subject]]) -> int:
    """Hold a search of one list against the catalogue after its import; combinations compared.

    Args:
        lists: the list, opened.
        imported: the catalogue with its certain rows written and read again.
        subjects: machines, each of the search's catalogue and of the imported one.
    """
    on_shelf = {id_ for id_, each in imported.shelf.items() if each.record.quantity > 0}
    number = 0
    for of_search, of_import in subjects:
        everything = match(of_import, ANY).combinations
        wanted = [
            one
            for one in everything
            if {entry.id for entry in one.sets} <= lists.articles | on_shelf
            and any(entry.id in lists.articles for entry in one.sets)
        ]
        found, (fit,) = searched(lists, of_search)
        assert told(found) == told(wanted)
        number += len(found)
        best: dict[str, set[Verdict]] = {}
        for one in wanted:
            for entry in one.sets:
                best.setdefault(entry.id, set()).add(one.judgement.verdict)
        for row in fit.rows:
            if fit.opened.is_certain(row.row):
                assert expected(best.get(row.row.set_id, set())) == reached(row), row
        assert sum(fit.counts.values()) == fit.opened.read.row_count
    return number


def expected(verdicts: set[Verdict]) -> str:
    if Verdict.FITS in verdicts:
        return "fits"
    return "may-fit" if Verdict.UNPROVEN in verdicts else "out"


def reached(row: RowFit) -> str:
    if row.fit == "unknown-engine":
        return "may-fit"
    return row.fit if row.fit in ("fits", "may-fit") else "out"


def trains(catalogue: Catalogue) -> list[Subject]:
    """A machine of each family, its first whole train as it left the factory."""
    found = []
    for id_, entry in catalogue.families.items():
        train = next((t for t in entry.record.factory_trains if entry.record.train_pairs(t)), None)
        pairs = None if train is None else entry.record.train_pairs(train)
        if train is not None and pairs is not None:
            found.append(subject_from_counts(catalogue, id_, pairs, housing_name=train.housing))
    return found


@pytest.mark.parametrize("name", ["arrowgrass-2026-01.csv", "arrowgrass-2026-02.xlsx"])
def test_a_list_of_the_demo_is_searched_as_imported(shop: Shop, name: str) -> None:
    machines = some(sorted(shop.catalogue.machines), 6)
    before = shop.files()
    lists = open_lists(shop.catalogue, [str(LISTS / name)], ["arrowgrass"])
    assert shop.files() == before, "a search writes nothing"
    shop.write(shop.plan(LISTS / name))
    imported = load(shop.root)
    pairs = [(subject_of(lists.catalogue, m), subject_of(imported, m)) for m in machines]
    assert hold(lists, imported, pairs) > 20


def hold_unseen(listed: Listed, folder: Path) -> int:
    """The same for a list that was not written for the readers; 0 where it is refused."""
    shop = UnseenShop(folder)
    try:
        lists = open_lists(shop.catalogue, [str(listed.path)], [listed.supplier])
    except UsageError:
        assert not shop.plan(listed).rows
        return 0
    (opened,) = lists.opened
    if opened.doubts:
        return 0
    read = read_list(listed.path)
    supplier = shop.catalogue.suppliers[listed.supplier]
    edits_of(shop.catalogue, plan_list(shop.catalogue, read, supplier)).save()
    imported = load(shop.root)
    return hold(lists, imported, list(zip(trains(lists.catalogue), trains(imported), strict=True)))


def test_ordinary_lists_are_searched_as_imported(tmp_path: Path) -> None:
    lists = read_lists("ordinary")[::2]
    number = sum(hold_unseen(each, tmp_path / str(at)) for at, each in enumerate(lists))
    assert number > 500


def test_lists_full_of_traps_are_searched_as_imported(tmp_path: Path) -> None:
    lists = some(read_lists("traps"), 7)
    number = sum(hold_unseen(each, tmp_path / str(at)) for at, each in enumerate(lists))
    assert number > 20


# ------------------------------------------------------------------ rows by themselves


def fit_of(shop: Shop, *lines: str, supplier: str = "arrowgrass") -> list[RowFit]:
    """The rows below a header of all fields, as they suit a machine of the demo."""
    path = shop.put("list.csv", HEAD + "\n".join(lines) + "\n")
    lists = open_lists(shop.catalogue, [str(path)], [supplier])
    _, (fit,) = searched(lists, subject_of(lists.catalogue, "dunlin-ten"))
    return list(fit.rows[1:])


ROWS = {
    "certain, but not for this family by its supplier": (
        "1;Set;15/44;primary;Dunlin Ten;10;;40,00;yes",
        ("may-fit", "listed for Dunlin Ten, but no supplier or trial confirms the family"),
    ),
    "for another housing": (
        "1;Set;15/44;primary;Dunlin 50;10;mid;40,00;yes",
        ("does-not-fit", "for mid, not for short"),
    ),
    "for another family": (
        "1;Set;15/44;primary;Whimbrel 125;10;;40,00;yes",
        ("other-family", "listed for Whimbrel 125, which is whimbrel-125"),
    ),
    "a word that may limit it": (
        "1;Set Xylofix;15/44;primary;Dunlin 50;10;short;40,00;yes",
        ("may-fit", "if 'Xylofix' does not limit it"),
    ),
    "a word, but of another family for certain": (
        "1;Set Xylofix;15/44;primary;Whimbrel 125;10;;40,00;yes",
        ("other-family", "for whimbrel-125"),
    ),
    "a model nobody has heard of in just this spelling": (
        "1;Set;15/44;primary;Dunlinn Tenn;10;;40,00;yes",
        ("may-fit", "if 'Dunlinn Tenn' is the Dunlin 50"),
    ),
    "no stage, and two that have such pairs": (
        "1;Set;15/48;;Dunlin 50;10;short;40,00;yes",
        ("may-fit", "if its stage is the right one"),
    ),
    "an amount that may be two": (
        "1;Set;15/44;primary;Dunlin 50;10;short;1.234;yes",
        ("may-fit", "once its price is settled"),
    ),
    "no number": (
        ";Set;15/44;primary;Dunlin 50;10;short;40,00;yes",
        ("may-fit", "if it is read rightly: no part number"),
    ),
    "no number, and another family": (
        ";Set;15/44;primary;Whimbrel 125;10;;40,00;yes",
        ("other-family", "for whimbrel-125"),
    ),
    "for an engine that is not on file": (
        "1;Set;15/44;primary;Kittiwake 80;;;40,00;yes",
        ("unknown-engine", "'Kittiwake 80' is no engine on file"),
    ),
    "the same, and its price in question": (
        "1;Set;15/44;primary;Kittiwake 80;;;1.234;yes",
        ("unknown-engine", "'Kittiwake 80' is no engine on file"),
    ),
    "no word for a family": (
        "1;Set;15/44;primary;;;;40,00;yes",
        ("may-fit", "nothing says which family it is for"),
    ),
    "a word that names no engine": (
        "1;Set;15/44;primary;50 cm3;;;40,00;yes",
        ("may-fit", "listed for 50 cm3"),
    ),
    "other goods": ("1;Gearbox oil;;;;;;4,00;yes", ("no-gear-set", "no gear set")),
}


@pytest.mark.parametrize("case", ROWS)
def test_a_row_is_one_of_six(shop: Shop, case: str) -> None:
    line, (fit, reason) = ROWS[case]
    (row,) = fit_of(shop, line)
    assert (row.fit, row.reason[: len(reason)]) == (fit, reason)


KNOWN = {
    "ruled out whatever the word means": (
        ("cordgrass", "CG40.04;Set Xylofix;13/48;primary;Dunlin 50;10;short;40,00;yes"),
        ("does-not-fit", "casing-clearance"),
    ),
    "ruled out whatever it costs": (
        ("cordgrass", "CG40.08;Set;15/44;primary;Dunlin 50;10;;1.234;yes"),
        ("does-not-fit", "housing"),
    ),
    "a housing that the word may turn": (
        ("cordgrass", "CG40.08;Set Xylofix;15/44;primary;Dunlin 50;10;;40,00;yes"),
        ("may-fit", ""),
    ),
}


@pytest.mark.parametrize("case", KNOWN)
def test_a_row_of_an_article_on_file(shop: Shop, case: str) -> None:
    (supplier, line), wanted = KNOWN[case]
    (row,) = fit_of(shop, line, supplier=supplier)
    assert (row.fit, row.rule) == wanted


NONE_LEFT = {
    "in the text, first": (
        "DISCONTINUED Primary set;{}",
        ("discontinued", "discontinued by the supplier"),
    ),
    "in the column of stock": (
        "Primary set;{}discontinued",
        ("discontinued", "discontinued by the supplier"),
    ),
    "in the text, last": (
        "Primary set, sold out;{}",
        ("out-of-stock", "out of stock at the supplier"),
    ),
    "in the column of stock, sold out": (
        "Primary set;{}sold out",
        ("out-of-stock", "out of stock at the supplier"),
    ),
    "nothing": ("Primary set;{}", ("to-order", "")),
}


@pytest.mark.parametrize("case", NONE_LEFT)
def test_what_a_list_says_of_stock_is_told(shop: Shop, case: str) -> None:
    line, wanted = NONE_LEFT[case]
    row = line.format("15/44;primary;Dunlin 50;;;40,00;")
    path = shop.put("list.csv", f"{HEAD}CG40.08;{row}\n")
    lists = open_lists(replace(shop.catalogue, shelf={}), [str(path)], ["cordgrass"])
    found, (fit,) = searched(lists, subject_of(lists.catalogue, "dunlin-twelve"))
    (alone,) = [one for one in found if len(one.sets) == 1]
    assert fit.rows[1].fit == "fits"
    assert (alone.availability, fit.rows[1].reason) == wanted


def test_a_retired_set_is_no_choice(shop: Shop) -> None:
    head = "No.;z1/z2;stage;for;wheel;case;net EUR;stock"
    path = shop.put("list.csv", f"{head}\n21452;14/52;secondary;Dunlin Twelve;12;;57,90;no\n")
    lists = open_lists(shop.catalogue, [str(path)], ["marram"])
    found, (fit,) = searched(lists, subject_of(lists.catalogue, "dunlin-twelve"))
    assert (found, fit.counts["does-not-fit"]) == ([], 1)
    assert fit.rows[1].reason == "it is retired in the catalogue"


def test_a_repeat_is_what_its_first_row_is(shop: Shop) -> None:
    line = "1;Set;15/44;primary;Dunlin 50;10;mid;40,00;yes"
    first, again = fit_of(shop, line, line)
    assert (first.fit, again.fit, again.reason) == ("does-not-fit", "does-not-fit", "same as row 2")


def test_places_of_a_new_article_are_its_row(shop: Shop) -> None:
    _, row = fit_of(shop, "", "1;Set;15/44;primary;Dunlin 50;10;mid;40,00;yes")
    assert [str(span).rpartition("/")[2] for span in row.places] == ["list.csv:3:1"]


def test_a_later_list_overrides_an_earlier_one(shop: Shop) -> None:
    line = "1;Set;15/44;primary;Dunlin 50;10;short;{};yes\n"
    paths = [str(shop.put(f"{p}.csv", HEAD + line.format(f"{p},00"))) for p in (40, 30)]
    lists = open_lists(shop.catalogue, paths, ["arrowgrass"] * 2)
    (id_,) = lists.articles
    assert lists.catalogue.gear_sets[id_].record.price == 30


def test_what_may_stand_beside_an_article(shop: Shop) -> None:
    line = "1;Set;15/43;primary;Dunlin 50;10;short;40,00;yes\n"
    path = str(shop.put("list.csv", HEAD + line))
    lists = open_lists(shop.catalogue, [path], ["arrowgrass"])
    subject = subject_of(lists.catalogue, "dunlin-ten")
    found = {
        beside: match(subject, lists.limit(ANY, beside)).combinations
        for beside in ("list", "shelf", "catalogue")
    }
    assert [len(each) for each in found.values()] == sorted(len(each) for each in found.values())
    assert len(found["list"]) == 1 < len(found["shelf"]) < len(found["catalogue"])
    assert all(lists.articles & {e.id for e in one.sets} for one in found["catalogue"])


def test_counts_hold_under_every_filter(shop: Shop) -> None:
    """What is listed is counted as it is listed, also where the shelf's own sets would pass."""
    lists = open_lists(shop.catalogue, [str(LISTS / "arrowgrass-2026-01.csv")], ["arrowgrass"])
    subject = subject_of(lists.catalogue, "dunlin-ten")
    for request in (ANY, replace(ANY, max_price=Decimal(100)), replace(ANY, max_sets=1)):
        result = match(subject, lists.limit(request, "catalogue"))
        assert result.counts.listed == len(result.combinations) > 0
        top = match(subject, lists.limit(replace(request, top=2), "catalogue"))
        assert told(top.combinations) == told(result.combinations[:2])


def test_the_best_of_several_trains(shop: Shop) -> None:
    path = str(shop.put("list.csv", HEAD + "1;Set;15/44;primary;Dunlin 50;10;mid;40,00;yes\n"))
    lists = open_lists(shop.catalogue, [path], ["arrowgrass"])
    family = lists.catalogue.families["dunlin-50"].record
    fits = [
        fit_rows(
            lists,
            Choices.of(subject_from_counts(lists.catalogue, "dunlin-50", pairs, housing_name=name)),
            lists.limit(ANY, "list"),
        )
        for name in ("short", "mid")
        if (pairs := family.train_pairs(family.factory_trains[0]))
    ]
    assert [each.rows[1].fit for (each,) in fits] == ["does-not-fit", "fits"]
    assert best_of(fits)[0].rows[1].fit == "fits"


def test_suppliers_are_given_for_all_lists_or_none(shop: Shop) -> None:
    path = str(shop.put("list.csv", HEAD))
    with pytest.raises(UsageError, match="2 lists and 1 suppliers: give --supplier once for each"):
        open_lists(shop.catalogue, [path, path], ["arrowgrass"])


def test_a_sender_nobody_knows_is_said(shop: Shop) -> None:
    line = "1;Set;15/44;primary;Dunlin 50;10;mid;40,00;yes\n"
    (opened,) = open_lists(shop.catalogue, [str(shop.put("foo.csv", HEAD + line))]).opened
    assert not opened.is_known
    assert opened.note.startswith("no supplier here is known to send this")
    assert opened.supplier.record.currency == "EUR"
