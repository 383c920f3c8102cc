"""JSON answers: each holds to its schema, and its figures to each other.

Judges from outside: the validator of `jsonschema` (draft 2020-12); reductions and percentages are
worked out again from the tooth counts in the answer with Python's own fractions, by the
definitions of `docs/json.md`, and trains by hand with Python's decimals, cut towards zero.
"""

from __future__ import annotations

import json
from dataclasses import replace
from decimal import ROUND_DOWN, Decimal
from fractions import Fraction
from functools import cache
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from fitcheck.answers.identify import identify_answer
from fitcheck.answers.match import match_answer, options_answer
from fitcheck.answers.why import why_answer
from fitcheck.catalogue.reader import Catalogue
from fitcheck.kernel.teeth import read_train
from fitcheck.services.counter.identify import Slip, identify
from fitcheck.services.counter.lookup import find_set, find_tune
from fitcheck.services.counter.match import match
from fitcheck.services.counter.options import options
from fitcheck.services.counter.request import Request
from fitcheck.services.counter.subject import Subject, subject_from_counts, subject_of
from fitcheck.services.counter.why import explain
from fitcheck.services.upkeep.typed_values import read_window
from tests.conftest import EXPLORE, answer_schemas, some

ALL = answer_schemas()
HUNDREDTH = Decimal("0.01")
EVERYTHING = Request(band="any", exclusions=True)


@cache
def judge(answer: str) -> Draft202012Validator:
    return Draft202012Validator(ALL[f"{answer}.output.schema.json"])


def valid(answer: str, data: dict[str, Any]) -> Any:
    """What another program reads of it, once it holds to its schema."""
    read = json.loads(json.dumps(data, allow_nan=False))
    assert [f"{e.json_path}: {e.message}" for e in judge(answer).iter_errors(read)] == []
    assert read == data
    return read


def reduction(pairs: dict[str, str]) -> Fraction:
    found = Fraction(1)
    for pair in pairs.values():
        driver, driven = pair.split("/")
        found *= Fraction(int(driven), int(driver))
    return found


def same(figure: dict[str, Any], value: Fraction) -> None:
    assert figure["exact"] == f"{value.numerator}/{value.denominator}"
    near(figure["decimal"], value)


def near(decimal: float, value: Fraction) -> None:
    """Rounded to six decimals: at most half a unit of the sixth away."""
    assert abs(Fraction(repr(decimal)) - value) <= Fraction(1, 2_000_000)


def band_word(band: dict[str, Any] | None, change: Fraction) -> str:
    if band is None:
        return "none"
    low, high, stretch = (Fraction(band[edge]["exact"]) for edge in ("low", "high", "stretch"))
    if low <= change <= high:
        return "in"
    if change < 0:
        return "shorter"
    if change < low:
        return "below"
    return "stretch" if change <= stretch else "over"


def check_row(row: dict[str, Any], machine: dict[str, Any], data: dict[str, Any]) -> None:
    now = reduction(machine["pairs"])
    then = reduction(row["pairs"])
    same(row["reduction"], then)
    speed = 100 * (now / then * Fraction(machine["roll_out_ratio"]["exact"]) - 1)
    turns = 100 * (then / now - 1)
    assert Fraction(row["road_speed_change_exact"]) == speed
    assert Fraction(row["reduction_change_exact"]) == turns
    near(row["road_speed_change_percent"], speed)
    near(row["reduction_change_percent"], turns)
    assert row["band"] == band_word(data["band"], speed)
    assert (row["evidence"] == "none") == (row["fit"] != "fits")
    assert row["weakest_rules"]

    sets = [data["gear_sets"][set_id] for set_id in row["sets"]]
    assert row["part_numbers"] == [each["part_number"] for each in sets]
    assert row["suppliers"] == [each["supplier"] for each in sets]
    brought = {stage: pair for each in sets for stage, pair in each["pairs"].items()}
    assert set(row["changed"]) == set(brought) & set(machine["pairs"])
    assert row["pairs"] == {
        stage: brought.get(stage, pair) for stage, pair in machine["pairs"].items()
    }
    check_price(row)
    if row["price_exact"] is not None:
        whole = sum(Decimal(each["shelf_price_exact"] or each["price_exact"]) for each in sets)
        assert Decimal(row["price_exact"]) == whole
        assert {each["currency"] for each in sets} == {row["currency"]}
        own = {"supplier" if each["shelf_price"] is None else "shelf" for each in sets}
        assert row["price_from"] == ("both" if len(own) > 1 else own.pop())
    else:
        assert row["price_from"] is None
    assert row["on_shelf"] == min(each["on_shelf"] or 0 for each in sets)
    assert (row["availability"] == "on-shelf") == (row["on_shelf"] > 0)
    gone = [each for each in sets if each["availability"] == "discontinued"]
    assert row["orderable"] == all(each["on_shelf"] for each in gone)
    if not row["on_shelf"]:
        short = {each["availability"] for each in sets if not each["on_shelf"]}
        assert row["availability"] in short
        assert "discontinued" not in short or row["availability"] == "discontinued"
    if "margin" in row:
        check_margin(row)


def check_margin(row: dict[str, Any]) -> None:
    margin = row["margin"]
    assert (margin["cost"] is None) >= bool(margin["cost_unknown"])
    for name in ("cost", "amount"):
        assert (margin[name] is None) == (margin[f"{name}_exact"] is None)
    if margin["amount_exact"] is not None:
        amount = Decimal(row["price_exact"]) - Decimal(margin["cost_exact"])
        assert Decimal(margin["amount_exact"]) == amount
        near(margin["percent"], 100 * Fraction(amount) / Fraction(row["price_exact"]))


def check_price(holder: dict[str, Any]) -> None:
    given = [holder[name] for name in ("price", "price_exact", "currency")]
    if holder.get("shelf_price") is not None:  # of which the currency is too
        assert given.pop() is not None
    assert given in ([None] * len(given), [each for each in given if each is not None])
    if holder["price_exact"] is not None:
        assert Decimal(repr(holder["price"])) == Decimal(holder["price_exact"])


def check_result(
    data: dict[str, Any], machine: dict[str, Any], gear_sets: dict[str, Any], *, top: bool = False
) -> None:
    counts = data["counts"]
    assert counts["fits"] + counts["unproven"] + counts["ruled_out"] == counts["all_choices"]
    if data["band"] is not None:
        parts = ("shorter", "below", "in_band", "stretch", "over")
        assert sum(counts[part] for part in parts) == counts["fits"] + counts["unproven"]
    if not top:
        assert len(data["combinations"]) == counts["listed"]
    if data["ruled_out"] is not None:
        assert sum(each["combinations"] for each in data["ruled_out"]) == counts["ruled_out"]
    for row in (*data["combinations"], *data["shorter"]):
        check_row(row, machine, {**data, "gear_sets": gear_sets})
    low, high = (
        None if data["window"][edge] is None else Fraction(data["window"][edge]["exact"])
        for edge in ("low", "high")
    )
    changes = [Fraction(row["road_speed_change_exact"]) for row in data["combinations"]]
    assert changes == sorted(changes, reverse=True)
    assert all(low is None or change >= low for change in changes)
    assert all(high is None or change <= high for change in changes)
    assert [row["rank"] for row in data["combinations"]] == [
        1 + changes.index(change) for change in changes
    ]
    assert all(Fraction(row["road_speed_change_exact"]) < 0 for row in data["shorter"])


def check_match(subject: Subject, request: Request) -> Any:
    data = valid("match", match_answer(match(subject, request)))
    same(data["machine"]["reduction"], reduction(data["machine"]["pairs"]))
    check_result(data, data["machine"], data["gear_sets"], top=request.top is not None)
    for each in data["gear_sets"].values():
        check_price(each)
    rows = (*data["combinations"], *data["shorter"])
    assert all(("margin" in row) == request.margins for row in rows)
    named = {s for row in (*data["combinations"], *data["shorter"]) for s in row["sets"]}
    assert set(data["gear_sets"]) == named
    return data


def test_every_demo_machine_in_its_band(demo: Catalogue) -> None:
    shorter = 0
    for machine in some(list(demo.machines), 5):
        data = check_match(subject_of(demo, machine), Request())
        assert data["window"]["from"] == "band"
        assert data["ruled_out"] is None
        shorter += len(data["shorter"])
    assert shorter > 2


def test_one_demo_machine_of_each_family_with_everything(demo: Catalogue) -> None:
    stages = set()
    # With FITCHECK_EXPLORE=1, of each housing of each family.
    machines = {
        (entry.record.family, entry.record.housing if EXPLORE else None): machine
        for machine, entry in demo.machines.items()
    }
    for machine in machines.values() if EXPLORE else ("redshank-slip", "dunlin-ten", "godwit-bar"):
        data = check_match(subject_of(demo, machine), EVERYTHING)
        assert data["window"] == {"from": "any", "low": None, "high": None}
        for each in data["ruled_out"]:
            assert each["places"], each
        stages.add(len(data["machine"]["stages"]))
    assert stages == {1, 2, 3}


def test_the_places_are_where_the_values_stand(demo: Catalogue) -> None:
    subject = subject_of(demo, "dunlin-ten")
    data = match_answer(match(subject, EVERYTHING))
    lines = {path.replace("\\", "/"): source for path, source in demo.sources.items()}

    def text(place: dict[str, Any]) -> str:
        return lines[place["file"]].line(place["line"])[place["column"] - 1 :]

    assert text(data["machine"]["place"]).startswith("dunlin-ten:")
    assert text(data["machine"]["factory_trains"][0]["place"]).lstrip("{").startswith("housing:")
    for set_id, each in data["gear_sets"].items():
        assert text(each["place"]).startswith(f"{set_id}:")
    ends = [each for each in data["ruled_out"] if each["rule"] == "input-shaft-end"]
    assert ends
    for each in ends:
        for place in each["places"]:
            assert "shaft_end" in lines[place["file"]].line(place["line"])


def test_a_percent_window_filters_and_top_are_told(demo: Catalogue) -> None:
    request = Request(
        percent=read_window("-12.5..7"),
        top=1,
        suppliers=frozenset({"marram", "glasswort"}),
        max_price=Decimal("99.90"),
        max_sets=1,
    )
    data = check_match(subject_of(demo, "dunlin-twelve"), request)
    assert data["window"] == {
        "from": "percent",
        "low": {"exact": "-25/2", "decimal": -12.5},
        "high": {"exact": "7/1", "decimal": 7.0},
    }
    assert data["filters"] == {
        "top": 1,
        "suppliers": ["glasswort", "marram"],
        "max_price": 99.9,
        "max_sets": 1,
        "in_stock": False,
        "orderable": False,
        "taller_only": False,
        "proven_only": False,
    }
    assert len(data["combinations"]) == 1 < data["counts"]["listed"]
    assert {s for row in data["combinations"] for s in row["suppliers"]} <= {"glasswort", "marram"}


def test_margins_stand_only_where_they_are_asked(demo: Catalogue) -> None:
    subject = subject_of(demo, "dunlin-ten")
    rows = check_match(subject, Request(margins=True))["combinations"]
    (one,) = (row for row in rows if row["sets"] == ["MA-1540"])
    # 69.90 and 46.13 are in catalog/shelf.yaml; 69.90 - 46.13 = 23.77, 34.0057 % of 69.90 by hand.
    assert one["margin"] == {
        "cost": 46.13,
        "cost_exact": "46.13",
        "amount": 23.77,
        "amount_exact": "23.77",
        "percent": 34.005722,
        "cost_unknown": [],
    }
    (other,) = (row for row in rows if row["sets"] == ["SA-108"])
    assert other["margin"]["cost_unknown"] == ["SA-108"]
    assert other["margin"]["amount"] is None
    told = explain(subject, ["MA-1540"])
    assert valid("why", why_answer(told, margins=True))["combination"]["margin"] == one["margin"]
    assert "margin" not in why_answer(told)["combination"]


def test_the_stretch_is_told_as_the_window(demo: Catalogue) -> None:
    data = check_match(subject_of(demo, "dunlin-ten"), Request(band="stretch"))
    assert data["window"]["from"] == "stretch"
    assert data["window"]["high"] == data["band"]["stretch"]


def test_a_change_of_tyre_enters_road_speed_and_not_the_reduction(demo: Catalogue) -> None:
    subject = replace(subject_of(demo, "dunlin-ten"), roll_out_ratio=Fraction(21, 20))
    data = check_match(subject, Request(band="any", top=5))
    assert data["machine"]["roll_out_ratio"] == {"exact": "21/20", "decimal": 1.05}
    for row in data["combinations"]:
        kept = Fraction(row["reduction_change_exact"]) / 100 + 1
        speed = Fraction(row["road_speed_change_exact"]) / 100 + 1
        assert kept * speed == Fraction(21, 20)


def test_counts_without_a_record_a_tune_a_wheel_or_a_factory_train(demo: Catalogue) -> None:
    subject = subject_from_counts(demo, "dunlin-50", read_train("15/47, 14/55"))
    data = check_match(subject, Request())
    machine = data["machine"]
    for name in ("id", "housing", "housing_name", "wheel_size_in", "tune", "roll_out_mm", "place"):
        assert machine[name] is None, name
    assert machine["factory_trains"] == []
    assert machine["remarks"]
    assert data["band"] is None
    assert {row["band"] for row in data["combinations"]} == {"none"}
    assert data["counts"]["in_band"] is None


def test_nothing_fits(demo: Catalogue) -> None:
    data = check_match(subject_of(demo, "dunlin-ten"), Request(percent=read_window("400..500")))
    assert data["combinations"] == []
    assert data["counts"]["listed"] == 0


def test_unknown_prices_two_currencies_and_parts_of_a_cent(awkward: Catalogue) -> None:
    data = check_match(subject_of(awkward, "bare"), Request())
    rows = {tuple(row["sets"]): row for row in data["combinations"]}
    assert data["currency"] == "EUR"
    assert rows["EQ", "TAB"]["price_exact"] == "65.06"
    assert rows["EQ", "TAB"]["price"] == 65.06
    assert rows["EQ", "MINUS"]["price"] is None
    assert rows["PLUS",]["price"] is None
    assert data["gear_sets"]["MINUS"]["currency"] == "SEK"
    assert data["gear_sets"]["PLUS"]["currency"] is None
    assert data["gear_sets"]["EQ"]["on_shelf"] == 3
    assert data["gear_sets"]["PLUS"]["on_shelf"] is None
    assert rows["EQ",]["listed_elsewhere"] == [
        {"set": "EQ", "as": "@SUM(1)|<b>*bold*</b>"},
    ]
    assert rows["EQ", "TAB"]["also_needs"] == ['gasket, "thick"', "oil"]


def test_a_band_under_zero(awkward: Catalogue) -> None:
    tune = find_tune(awkward, "slower")
    data = check_match(replace(subject_of(awkward, "knot"), tune=tune), Request())
    assert data["shorter"] == []
    check_match(replace(subject_of(awkward, "bare"), tune=tune), Request(band="any"))


def test_one_stage_and_decimal_edges(awkward: Catalogue) -> None:
    data = check_match(subject_of(awkward, "knot"), EVERYTHING)
    assert data["band"]["low"] == {"exact": "17/2", "decimal": 8.5}
    assert data["machine"]["roll_out_mm"] == 1300.5
    assert data["machine"]["factory_trains"][0]["models"] == []


# ---------------------------------------------------------------- why


def check_why(subject: Subject, *names: str) -> Any:
    told = explain(subject, [find_set(subject.catalogue, name) for name in names])
    data = valid("why", why_answer(told))
    check_row(data["combination"], data["machine"], data)
    for when, pairs in (("now", data["machine"]["pairs"]), ("then", data["combination"]["pairs"])):
        train = data["calculation"][when]
        same(train["reduction"], reduction(pairs))
        product = None
        for stage, (name, pair) in zip(train["stages"], pairs.items(), strict=True):
            assert (stage["stage"], stage["pair"]) == (name, pair)
            same(stage["reduction"], reduction({name: pair}))
            cut = Decimal(stage["cut"])
            product = cut if product is None else (product * cut).quantize(HUNDREDTH, ROUND_DOWN)
        assert train["by_hand"]["product"] == str(product)
        assert train["by_hand"]["agrees"] == (
            train["by_hand"]["product"] == train["by_hand"]["exact_cut"]
        )
    assert {rule["set"] for rule in data["rules"]} - {None} == set(data["combination"]["sets"])
    worst = {rule["fit"] for rule in data["rules"]}
    fit = data["combination"]["fit"]
    assert fit == next(word for word in ("ruled out", "unproven", "fits") if word in worst)
    return data


def test_why_two_sets_with_an_open_seat(demo: Catalogue) -> None:
    data = check_why(subject_of(demo, "dunlin-ten"), "MA-1545", "SA-107")
    assert data["combination"]["fit"] == "unproven"
    assert "rank" not in data["combination"]
    seats = [rule for rule in data["rules"] if rule["rule"] == "idler-seat"]
    assert [rule["set"] for rule in seats] == [None]
    assert data["questions"] == [seats[0]["measure"]]
    # By hand: 46/15 = 3.06|6, 55/14 = 3.92|8, 3.06 x 3.92 = 11.99|52; exactly 253/21 = 12.04|7.
    assert data["calculation"]["now"]["by_hand"] == {
        "product": "11.99",
        "exact_cut": "12.04",
        "agrees": False,
    }


def test_why_every_set_of_the_demo_on_machines_of_one_two_and_three_stages(
    demo: Catalogue,
) -> None:
    fits = set()
    for machine in ("redshank-slip", "dunlin-ten", "godwit-bar"):
        subject = subject_of(demo, machine)
        for set_id in list(demo.gear_sets)[:: 4 if EXPLORE else 7]:
            fits.add(check_why(subject, set_id)["combination"]["fit"])
    assert fits == {"fits", "unproven", "ruled out"}


def test_why_with_awkward_text(awkward: Catalogue) -> None:
    data = check_why(subject_of(awkward, "bare"), "EQ", "TAB")
    assert data["machine"]["name"] == "=bare | <i>"
    assert data["band"] is None


# ---------------------------------------------------------------- identify and options


def test_identify_every_factory_train_and_its_slips(demo: Catalogue) -> None:
    found: set[str] = set()
    for family in demo.families.values():
        for train in family.record.factory_trains:
            pairs = [train.pairs[stage] for stage in family.record.train_stages]
            slipped = [replace(pairs[0], driven=pairs[0].driven + 1), *pairs[1:]]
            for counted in (pairs, slipped, pairs[::-1], pairs[:1]):
                for wheel in (None, 30):
                    told = identify(demo, counted, wheel)
                    data = valid("identify", identify_answer(demo, counted, wheel, told))
                    same(
                        data["counted"]["reduction"],
                        reduction(dict(enumerate(data["counted"]["pairs"]))),  # type: ignore[arg-type]
                    )
                    for one in data["candidates"]:
                        same(one["reduction"], reduction(one["pairs"]))
                        if one["slip"] == "exact":
                            assert list(one["pairs"].values()) == data["counted"]["pairs"]
                        found.add(one["slip"])
            assert identify_answer(demo, pairs, None, identify(demo, pairs))["candidates"][0][
                "slip"
            ] in {"exact", "other-wheel"}
    words = {slip.name.lower().replace("_", "-") for slip in Slip}
    assert found <= words
    assert {"exact", "other-wheel", "miscount", "stages-swapped", "part-counted"} <= found


def test_identify_nothing(demo: Catalogue) -> None:
    data = valid("identify", identify_answer(demo, read_train("5/200"), None, []))
    assert data["candidates"] == []


@pytest.mark.parametrize("family", some(["redshank-50", "godwit-200", "dunlin-50"], 2))
def test_options_of_a_family(demo: Catalogue, family: str) -> None:
    entry = demo.families[family]
    groups = list(options(demo, entry, Request()))
    data = valid("options", options_answer(entry, groups))
    assert len(data["groups"]) == len(entry.record.factory_trains) * len(demo.tunes)
    named = set()
    for group in data["groups"]:
        train = group["factory_train"]
        machine = {"pairs": train["pairs"], "roll_out_ratio": {"exact": "1/1"}}
        same(train["reduction"], reduction(train["pairs"]))
        check_result(group, machine, data["gear_sets"])
        assert group["band"]["tune"] == group["tune"]
        named |= {s for row in (*group["combinations"], *group["shorter"]) for s in row["sets"]}
    assert set(data["gear_sets"]) == named


def test_options_without_a_tune_on_file(demo: Catalogue) -> None:
    data = valid("options", options_answer(demo.families["dunlin-50"], []))
    assert data["groups"] == []
    assert data["catalogue"] is None
