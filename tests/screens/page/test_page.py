"""The sheet as a page: all of its content, nothing from outside, the same every time."""

from __future__ import annotations

import base64
import datetime as dt
import hashlib
import re
from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fitcheck.screens.page.locale import named_local
from fitcheck.screens.page.quote_view import Quote
from fitcheck.services.counter.audience import for_customer, with_hint
from fitcheck.services.counter.combination import combine
from fitcheck.services.counter.subject import subject_of
from fitcheck.services.counter.why import explain
from fitcheck.services.road.figures import LawfulAnswer
from fitcheck.services.sheet.quotation import Terms, quotations
from fitcheck.services.sheet.sheet import Sheet, sheet_of
from tests.conftest import some

CHECKLIST = [  # what a workshop ticks off when it changes final-drive gears; common practice
    "Count the delivered gears",
    "thrust washer",
    "Mesh by hand",
    "new gasket",
    "gear oil",
    "workshop manual's torque",
    "First ride",
    "Change the gear oil again",
]


@pytest.fixture(scope="module")
def page(sheet_with, render, read_page):
    return read_page(
        render(
            sheet_with(chosen="Chosen by rule: so."),
            shop="Tideline",
            customer="Rosa",
            remark="Up the long hill every day.",
        )
    )


def test_it_is_made_the_same_every_time(sheet_with, render) -> None:
    first, second = (render(sheet_with(), customer="Rosa") for _ in range(2))

    assert first == second
    assert first.startswith("<!DOCTYPE html>\n")
    assert first.endswith("</html>\n")


def test_nothing_comes_from_outside(sheet_with, render, read_page) -> None:
    text = render(sheet_with())
    page = read_page(text)

    assert not re.search(r"https?:|//[a-z]|url\(|@import|src=|srcset=|href=", text, re.IGNORECASE)
    assert {name for name, _ in page.elements} & {"script", "link", "img", "iframe", "a"} == set()
    for _, given_attributes in page.elements:
        assert not [name for name in given_attributes if name.startswith("on")]
        assert "style" not in given_attributes  # the policy would refuse it


def test_its_policy_allows_its_own_style_and_nothing_else(sheet_with, render, read_page) -> None:
    text = render(sheet_with())
    (policy,) = (
        each["content"]
        for each in read_page(text).all("meta")
        if each.get("http-equiv") == "Content-Security-Policy"
    )
    (style,) = re.findall(r"<style>(.*?)</style>", text, re.DOTALL)
    digest = base64.b64encode(hashlib.sha256(style.encode()).digest()).decode()

    # CSP level 3, 6.6.2.3: the hash of the text between the tags, byte for byte.
    assert policy == (
        f"default-src 'none'; style-src 'sha256-{digest}'; base-uri 'none'; form-action 'none'"
    )
    assert text.index("Content-Security-Policy") < text.index("<style>")


def test_it_is_well_built(page) -> None:
    assert page.all("html") == [{"lang": "en"}]
    assert {"name": "viewport", "content": "width=device-width, initial-scale=1"} in page.all(
        "meta"
    )
    assert len(page.ids) == len(set(page.ids))
    names = [name for name, _ in page.elements]
    assert names.count("h1") == names.count("main") == 1
    assert not [name for name in names if name in ("h4", "h5", "h6")]
    for name in ("aria-labelledby", "aria-describedby", "for"):
        for _, given_attributes in page.elements:
            for target in given_attributes.get(name, "").split():
                assert target in page.ids
    for cell in page.all("th"):
        assert cell.get("scope") in ("col", "row", "rowgroup")


def test_who_and_when_stand_over_it(page) -> None:
    assert "Tideline · Gearing sheet" in page.words
    assert "For Rosa" in page.words
    assert "Up the long hill every day." in page.words
    assert page.all("time")[0] == {"datetime": "2026-11-25"}
    assert "demonstration: families, suppliers and parts are invented" in page.words


def test_the_machine_stands_as_counted(page) -> None:
    said = page.section("machine")

    for words in (
        "Dunlin 50",
        "short case",
        "primary 15/46, secondary 14/55",
        "12.0476 (exactly 253/21)",  # 46 x 55 / (15 x 14), by hand
        "10 in",
        "standard engine: +10 to +15 % road speed, a careful build up to +17 %",
        "at most 45 km/h by design",
    ):
        assert words.replace(" %", "\xa0%") in said.replace(" %", "\xa0%"), words


def test_the_options_stand_side_by_side(page, sheet_with) -> None:
    said = page.section("compared").replace("\xa0", " ")

    assert "Chosen by rule: so." in said
    for entry in (e for told in sheet_with().options for e in told.combination.sets):
        assert entry.id in said
        assert entry.record.part_number in said
    # By hand: 12.0476 / 10.4762 is 1.15; 10.4762 / 12.0476 is 0.8696.
    for words in ("Road-speed change", "+15.00 % in band", "Reduction change", "−13.04 %"):
        assert words in said
    for words in ("fits, stated", "unproven idler seat", "Price of the gears", "€63.50"):
        assert words in said


def test_the_road_stands_beside_with_ranges_and_verdicts(page) -> None:
    said = page.section("compared").replace("\xa0", " ")

    for words in (
        "Engine pulls it pulls it only with a tailwind at worst not will not pull it",
        "Real top speed flat, still air 52 km/h 49 to 55 55 km/h 52 to 58 50 km/h 47 to 53",
        "Top speed against now – +3.0 km/h −2.0 km/h",
        "Held back by gearing at 7,400 rpm power",
        "Into the wind 20 km/h headwind 42 km/h 39 to 45",
        "Uphill 5 % hill 32 km/h 28 to 36",
        "On paper at the rpm of peak power 43 km/h 42 to 44",
        "Start-off pull at the wheel 400 N 370 to 430",
        "Steepest start 21 % 19 to 23",
        "0–30 km/h 4.2 s 3.8 to 4.6",
        "0–200 m 19.4 s 18.5 to 20.3",
        "Starting ratio for the old pull variator – 3.10",
        "Fuel roughly, at a steady 40 km/h – −3 % −6 to 0",
        "Vehicle class up to 45 km/h",
    ):
        assert words in said, words
    assert "0–60 km/h" not in said  # no gearing reaches it


def test_the_engine_speed_is_told_where_it_is_asked_for(sheet_with, render, read_page) -> None:
    said = read_page(render(sheet_with(speeds_km_h=(45.0, 47.5)))).section("compared")

    # The examples hold 6,850 rpm at 45 km/h as it stands, and so much less the taller it is.
    assert "Engine at 45 km/h 6,850 rpm 5,957 rpm" in said.replace("\xa0", " ")
    assert "Engine at 47.5 km/h not reached" in said


def test_alarms_stand_before_all_figures(page, sheet_with) -> None:
    said = page.section("alarms")
    warning = sheet_with().road.after[1].tyre_warning

    assert f"B: {warning}" in said
    assert (
        "Now, A: The top speed, over its whole range, is above the 45 km/h by design of its class, "
        "two-wheel moped (L1e-B), European Union." in said
    )
    assert "C: Engine: it will not pull this gearing" in said
    assert page.words.index("Before anything else") < page.words.index("Side by side")


def test_the_charts_have_a_name_a_description_and_a_table(page, sheet_with) -> None:
    pictures = [each for each in page.all("svg") if each.get("role") == "img"]

    assert [each["aria-labelledby"] for each in pictures] == [
        "thrust-title thrust-desc",
        "speed-title speed-desc",
    ]
    assert "Option A: 348 N as the clutch engages, top speed on the flat 55 km/h." in (
        page.words.replace("\xa0", " ")
    )
    # The load of the example is A + C v²: 5 + 0.024 x 60² = 91.4 N on the flat at 60 km/h.
    table = page.words.split("Thrust and road load: force at the wheel, N")[1].replace("\xa0", " ")
    assert table.startswith(" km/h Now A B C flat road 20 km/h wind 5 % uphill 0 400 348")
    assert re.search(r" 60 100 100 100 100 91 122 168 ", table)


def test_the_arithmetic_is_that_of_paper(page) -> None:
    said = page.section("paper").replace("\xa0", " ")

    for words in (
        "46 / 15 = 3.0667 cut 3.06",
        "253/21 = 12.0476",
        "3.06 × 3.92 = 11.99",  # and not 12.04: 3.06 x 3.92 is 11.9952
        "12.0476 / 10.4762 = 1.1500 +15.00 % (15 %)",
        "10.4762 / 12.0476 = 0.8696 −13.04 % (−300/23 %)",
        "now 11.99 for 12.04",
    ):
        assert words in said, words


def test_the_starting_ratio_is_said_in_the_table_alone(page) -> None:
    assert "Starting ratio for the old pull" in page.words
    assert "Lighter rollers" in page.section("helps")
    assert "A starting ratio of" not in page.words


def test_what_is_open_is_to_be_measured(page, sheet_with) -> None:
    said = page.section("fit")

    assert "Idler seat stated open open" in said
    for letter, told in zip("ABC", sheet_with().options, strict=True):
        for question in told.questions:
            assert f"{letter}: {question}" in said
    # Every rule's answer is there in full.
    for told in sheet_with().options:
        for answer in told.combination.answers:
            assert answer.reason in said


def test_answers_of_several_sets_stand_under_the_set_that_gives_them(page, sheet_with) -> None:
    named = [f"Option B, {about}" for about in ("MA-1545", "SA-107", "between the gears")]
    places = [page.words.index(each) for each in ("Option A ", *named)]
    assert places == sorted(places)
    for told in sheet_with().options:
        kept = [each for group in told.combination.answers_by_set.values() for each in group]
        assert sorted(map(id, kept)) == sorted(map(id, told.combination.answers))


def test_a_machine_changed_before_is_compared_with_its_factory_gears(
    demo, render, read_page
) -> None:
    """15/40 in place of 15/46 is 15 % taller; 15/53 in place of 14/55 makes it 27.86 %."""
    subject = subject_of(demo, "dunlin-ten-opened")
    chosen = sheet_of(subject, [])
    assert chosen is not None
    page = read_page(render(chosen))
    compared = page.section("compared")
    assert "each of them is over it" in compared
    assert "Against factory road speed, all changes +15.00 % in band +27.86 % over" in (
        compared.replace("\N{NO-BREAK SPACE}", " ").replace("\N{HEAVY CHECK MARK} ", "")
    )
    assert "from the" not in page.section("parcel")
    assert "Before ordering B: SB-0018 filed under Dunlin Tour" in page.section("parcel")

    mild = [combine(subject, [demo.gear_sets["MA-1643"]])]
    assert "+14.11 % in band" in read_page(render(sheet_of(subject, mild))).section(
        "compared"
    ).replace("\N{NO-BREAK SPACE}", " ")
    untouched = sheet_of(subject_of(demo, "dunlin-ten"), mild)
    assert "factory" not in read_page(render(untouched)).section("compared")


def test_prices_parcel_and_lists_stand(page, demo, sheet_with) -> None:
    said = page.section("price")
    options = sheet_with().options

    for entry in {e.id: e for told in options for e in told.combination.sets}.values():
        assert f"{entry.id} (no. {entry.record.part_number})" in said
        own = demo.shelf[entry.id].record.price if entry.id in demo.shelf else None
        assert f"€{entry.record.price if own is None else own:.2f}" in said
        assert f"{entry.id}: {entry.record.source.list}" in page.words
    parcel = page.section("parcel")
    for need in {need for told in options for need in told.parcel}:
        assert need in parcel


def test_a_quotation_in_two_currencies_with_a_nasty_extra(sheet_with, render, read_page) -> None:
    sheet = sheet_with()
    terms = Terms({"<b>kit\u202e": Decimal("4.005")}, currency="GBP")
    quoted = quotations(sheet.options, [0], terms)
    page = read_page(render(sheet, None, Quote(quoted, terms, dt.date(2026, 12, 9))))
    said = page.section("quote")

    assert "<b>kit\N{REPLACEMENT CHARACTER} £4.01" in said
    assert "Total, EUR €63.50 Total, GBP £4.01" in said
    assert "Amounts in different currencies are not added." in said
    assert "Not in the total, price on request: cover gasket." in said
    assert "Tax is not shown separately." in said
    assert page.section("price")  # B and C are not quoted
    assert "cover gasket" in page.section("parcel")


def test_a_quotation_of_all_stands_for_the_price_list(sheet_with, render, read_page) -> None:
    sheet = sheet_with()
    quoted = quotations(sheet.options, None, Terms(tax_percent=Decimal(20)))
    page = read_page(render(sheet, None, Quote(quoted, Terms(), dt.date(2026, 12, 9))))

    assert "price" not in page.ids
    for entry in (e for told in sheet.options for e in told.combination.sets):
        assert entry.id in page.section("quote")


def test_what_is_quoted_unproven_says_so_under_its_total(sheet_with, render, read_page) -> None:
    # A is proved; B and C leave the idler seat open, as the fit table says.
    sheet = sheet_with()
    terms = Terms()
    for wanted, letters in (([0, 1, 2], "B, C: "), ([0, 2], "C: "), ([0], None)):
        quoted = quotations(sheet.options, wanted, terms)
        said = read_page(render(sheet, None, Quote(quoted, terms, dt.date(2026, 12, 9)))).section(
            "quote"
        )
        warning = "Not proved to fit; subject to measuring or asking before ordering: idler seat."
        assert (warning in said) == (letters is not None)
        assert letters is None or f"{letters}{warning}" in said


@pytest.mark.parametrize(
    ("terms", "words"),
    [
        (Terms(tax_percent=Decimal(19), prices_exclude_tax=True), "without tax"),
        (Terms(tax_percent=Decimal(19)), "tax included"),
    ],
)
def test_prices_beside_a_quotation_say_how_they_stand_to_tax(
    terms, words, sheet_with, render, read_page
) -> None:
    sheet = sheet_with()
    quoted = quotations(sheet.options, [0], terms)
    page = read_page(render(sheet, None, Quote(quoted, terms, dt.date(2026, 12, 9))))

    assert f"Price of the gears {words} – €63.50" in page.section("compared")
    assert f"as in the shop's catalogue today, {words};" in page.section("price")


def test_the_checklist_is_whole_and_can_be_ticked(page) -> None:
    said = page.section("fitting")

    for words in CHECKLIST:
        assert words in said, words
    assert "A primary 15/40; B primary 15/45, secondary 15/54; C primary 15/40" in said
    boxes = [each for each in page.all("input") if each == {"type": "checkbox"}]
    assert len(boxes) == len(page.all("input")) >= len(CHECKLIST) + 1


def test_cautions_and_law_stand(page) -> None:
    said = page.section("law")

    assert "Local law and a licensed mechanic decide." in said
    assert "Regulation (EU) No 168/2013, Article 20" in said
    assert "may need approval" in said
    assert "B: The top speed may be above or below the ceiling: measure it by GPS first." in said
    assert "as of 2026-08-02" in said


def test_every_input_has_its_kind_spread_and_source(page, roads) -> None:
    said = page.section("sources").replace("\xa0", " ")

    for given_input in roads.INPUTS:
        assert given_input.name in said
        assert f"{given_input.kind}, {for_customer(given_input.source)}" in said
    assert "roll-out 1,307 mm ± 40 mm: standard, the shop's catalogue" in said
    assert "peak power 2.40 kW ± 0.10 kW" in said
    assert "rider and load 75 kg: given, said at the counter" in said


def test_figures_follow_the_country_and_words_stay(sheet_with, render, read_page) -> None:
    page = read_page(render(sheet_with(), named_local("de_DE")))
    words = page.words.replace("\xa0", " ")

    for said in (
        "Road-speed change",
        "12,0476 (exactly 253/21)",
        "+15,00 % in band",
        "63,50 €",
        "at 7.400 rpm",
        "Date 25.11.2026",
        "1.307 mm ± 40 mm",
    ):
        assert said in words, said
    assert page.all("time")[0] == {"datetime": "2026-11-25", "lang": "de-DE"}


def test_the_foot_bears_the_date_as_the_head_does(sheet_with, render, read_page) -> None:
    words = read_page(render(sheet_with(), named_local("de_DE"))).words

    assert words.count("25.11.2026") == 2
    assert "2026-11-25" not in words


def test_without_the_road_the_sheet_still_comes(sheet_with, render, read_page) -> None:
    reason = with_hint("the engine power is not known", "give --power KW@RPM")
    page = read_page(render(sheet_with(road=None, without_road=reason)))

    said = "What it does on the road is not worked out: the engine power is not known."
    assert said in page.words
    unsorted = read_page(render(sheet_with(road=None, without_road=str(reason))))
    assert "not worked out: what is on file is not enough for it." in unsorted.words
    assert "--power" not in page.words  # that is for the shop
    assert not [each for each in page.all("svg") if each.get("role") == "img"]
    for id_ in ("compared", "paper", "fit", "price", "parcel", "fitting", "law", "sources"):
        assert page.section(id_)
    assert "Real top speed" not in page.words


@pytest.mark.parametrize("count", [1, 2, 4])
def test_one_to_four_options(count: int, demo, *, sheet_with, roads, render, read_page) -> None:
    named = [("GW-20-108",), ("SA-108",), ("MA-1545", "SA-107"), ("GW-20-108", "SA-108")][:count]
    report = roads.road_report(demo, named)
    if count == 4:  # the examples hold three
        last = roads.outcome(demo, explain(report.subject, named[3]).combination)
        report = replace(report, after=(*report.after, last))
    page = read_page(render(sheet_with(named, road=report)))

    side = page.section("compared")
    assert side.startswith(f"Option Now {' '.join('ABCD'[:count])} ")
    keys = {each["class"] for each in page.all("polyline")}
    assert keys >= {f"line line-{letter}" for letter in "abcd"[:count]}
    rows = [each for name, each in page.elements if name == "td" and "data-of" in each]
    assert {each["data-of"] for each in rows} >= {"Now", *"ABCD"[:count]}


def test_sets_that_do_not_fit_or_are_retired_are_said_loud(
    demo, load_files, render, read_page
) -> None:
    subject = subject_of(demo, "dunlin-ten")
    foreign = next(
        entry.id
        for entry in demo.gear_sets.values()
        if entry.record.fits and entry.record.fits[0].family == "godwit-200"
        and "primary" in entry.record.pairs
    )  # fmt: skip
    told = explain(subject, [foreign])
    page = read_page(render(Sheet(subject, (told,), None, None, "no")))

    assert "A: Does not fit, do not order: family." in page.section("alarms")
    assert "does not fit, do not order" in page.words
    assert "before the gearbox is opened." in page.section("fitting")  # nothing of it is to come
    assert "family, ruled out:" in page.section("fit")
    assert not told.parcel or told.parcel[0] not in page.words.split("Also in the parcel")[-1]


def test_a_machine_counted_at_the_counter_without_band_or_housing(
    awkward, render, read_page
) -> None:
    subject = subject_of(awkward, "bare")
    page = read_page(render(Sheet(subject, (explain(subject, ["EQ"]),), None, None, "no")))

    assert page.section("machine").count("not looked at yet") == 1
    assert "State of tune" not in page.words
    assert "demonstration" not in page.words
    assert "no band" in page.section("compared")


# Hostile text.

BREAK_OUT = [
    "</script><img src=x onerror=alert(1)>",
    "</style><script>alert(1)</script>",
    '"><svg onload=alert(1)>',
    "' onmouseover='alert(1)",
    "{{ view.date }}{% raw %}",
    "]]><!--<b>",
    "</title></bdi></p><h1>Free</h1>",
    "red;} * {display:none} a{background:url(//bad.example)",
    "\\3c/style\\3e",
    "a\x00b\x1b[31m\x07\x9b",
    "\u202egnirts\u202c\u2066\u2069\u2069",
    "\ud83d half",
    "&lt;b&gt;&amp;&#60;",
    "Z" + "\u0301" * 400,
    "n" * 2000,
    "long name " * 200,
    "\u2028\u2029\n\r\t",
]


def _skeleton(page) -> list[tuple[str, tuple[str, ...]]]:
    """What a page is made of, whatever it says; how large its type is on paper may differ."""
    (body,) = page.all("body")
    assert body.get("class", "") in ("", "dense", "airy")
    return [
        (name, tuple(f"{key}={value}" for key, value in sorted(given.items()) if key != "content"))
        for name, given in page.elements
        if name != "body"
    ]


@pytest.mark.parametrize("text", some(BREAK_OUT, 6), ids=lambda text: ascii(text[:24]))
def test_hostile_names_stay_text(text: str, sheet_with, render, read_page) -> None:
    sheet = sheet_with()
    plain = read_page(render(sheet, shop="x", customer="x", remark="x"))
    subject = replace(sheet.subject, name=text)
    hostile = render(replace(sheet, subject=subject), shop=text, customer=text, remark=text)
    page = read_page(hostile)

    if text.strip():
        assert _skeleton(page) == _skeleton(plain)
    assert hostile.isascii() or not re.search(
        r"[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e]", hostile
    )
    assert hostile.encode("utf-8")
    assert len(hostile) < len(render(sheet)) + 3000
    assert not re.search(r"\u0301{5}", hostile)


names = st.text(
    st.one_of(st.characters(), st.sampled_from("<>\"'&{}%;:/\\\x00\u202e\u2069")),
    min_size=1,
    max_size=80,
)


@settings(deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(machine=names, customer=names, remark=names)
def test_no_text_changes_what_the_page_is_made_of(
    machine: str, customer: str, remark: str, *, sheet_with, render, read_page
) -> None:
    sheet = sheet_with(road=None, without_road="no")
    plain = read_page(render(sheet, customer="x", remark="x"))
    dressed = replace(sheet, subject=replace(sheet.subject, name=f"m{machine}"))
    page = read_page(render(dressed, customer=f"c{customer}", remark=f"r{remark}"))

    assert _skeleton(page) == _skeleton(plain)


def test_a_hostile_catalogue_stays_text(load_records, render, read_page) -> None:
    evil = "</style><script>x</script>\u202e\"'&{{ 7*7 }}"
    catalogue = load_records(
        {
            "family": {
                "stint-50": {
                    "name": evil,
                    "housings": {"a": {"name": evil}},
                    "stages": {"single": {}},
                    "factory_trains": [
                        {"housing": "a", "wheel_size_in": 10, "pairs": {"single": "13/60"}}
                    ],
                }
            },
            "gear-set": {
                "ST-1": {
                    "supplier": "eelgrass",
                    "part_number": evil,
                    "name": evil,
                    "pairs": {"single": "14/58"},
                    "fits": [{"family": "stint-50", "housings": ["a"]}],
                    "listed_for": {"models": [evil], "wheel_size_in": 12},
                    "also_needs": [evil],
                    "notes": evil,
                    "price": Decimal("64.955"),
                    "source": {"list": evil, "row": 1},
                }
            },
            "supplier": {"eelgrass": {"name": evil}},
            "tune": {"calm": {"name": evil, "low": 5, "high": 12}},
            "machine": {
                "knot": {
                    "name": evil,
                    "family": "stint-50",
                    "housing": "a",
                    "pairs": {"single": "13/60"},
                    "wheel_size_in": 10,
                    "tune": "calm",
                }
            },
            "shelf": {"ST-1": {"quantity": 1, "place": evil}},
        }
    )
    subject = subject_of(catalogue, "knot")
    text = render(Sheet(subject, (explain(subject, ["ST-1"]),), evil, None, evil))
    page = read_page(text)

    assert "<script" not in text
    assert text.count("<style>") == text.count("</style>") == 1
    assert "\u202e" not in text
    assert "49" not in page.section("machine")
    assert page.words.count("</style><script>x</script>") >= 8
    assert "€64.96" in page.words


def test_the_class_over_its_ceiling_is_loud_and_within_it_is_not(
    sheet_with, roads, demo, render, read_page
) -> None:
    report = roads.road_report(demo)
    within = roads.outcome(demo, pairs=report.before.pairs, lawful=LawfulAnswer.WITHIN)
    calm = [replace(one, lawful=within.lawful) for one in report.after]
    page = read_page(render(sheet_with(road=replace(report, before=within, after=tuple(calm)))))

    assert "over its whole range" not in page.words
    assert page.section("compared").count("within") == 4 + 3  # four of the class, three of the tyre


def test_a_class_left_by_its_least_reduction_is_not_said_to_be_left_by_speed(
    sheet_with, roads, demo, render, read_page
) -> None:
    report = roads.road_report(demo)
    over = report.before.lawful
    why = "An overall reduction of 9.50 in the top ratio is under the 10 asked for."
    slow = replace(over, top=replace(over.top, value=40.0, low=38.0, high=42.0), sentence=why)
    page = read_page(
        render(sheet_with(road=replace(report, before=replace(report.before, lawful=slow))))
    )
    assert f"Now: {why}" in page.section("alarms")
    assert "Now, A: The top speed" not in page.section("alarms")


def test_a_tyre_without_a_speed_symbol_is_not_within_it(
    sheet_with, roads, demo, render, read_page
) -> None:
    report = roads.road_report(demo)
    unknown = replace(report.subject.roll_out, speed_symbol=None, max_speed_km_h=None)
    subject = replace(report.subject, new_roll_out=unknown)
    assert subject.roll_out_after.max_speed_km_h is None
    before = replace(report.before, tyre_warning=report.after[1].tyre_warning)
    after = tuple(replace(one, tyre_warning=None) for one in report.after)
    page = read_page(
        render(sheet_with(road=replace(report, subject=subject, before=before, after=after)))
    )
    row = page.section("compared").partition("Tyre's speed symbol")[2]
    assert row.split("Held back by")[0].split() == [
        *["over", "it:", "see", "above"],
        *(["not", "known", "read", "the", "sidewall"] * 3),
    ]


def test_an_engine_that_does_not_pull_is_called_slower_only_where_it_is(
    sheet_with, roads, demo, render, read_page
) -> None:
    report = roads.road_report(demo)
    *first, last = report.after
    last = replace(last, top_change=replace(last.top_change, value=0.4, low=-0.5, high=1.0))
    page = read_page(render(sheet_with(road=replace(report, after=(*first, last)))))
    alarms = page.section("alarms")
    assert "will not pull this gearing; little or nothing of it becomes speed" in alarms
    assert "slower" not in alarms
    assert "slower" in read_page(render(sheet_with())).section("alarms")


def test_fuel_is_told_at_its_own_speed_or_not_at_all(
    sheet_with, roads, demo, render, read_page
) -> None:
    report = roads.road_report(demo)
    one, two, three = report.after
    after = (
        one,
        replace(two, fuel_speed_km_h=45.0),
        replace(three, fuel_speed_km_h=None, fuel_change=None),  # it does not hold such a speed
    )
    page = read_page(render(sheet_with(road=replace(report, after=after))))
    said = page.section("compared").replace("\xa0", " ")
    assert (
        "Fuel roughly, at the steady speed named \u2013 \u22123 % \u22126 to 0, at 40 km/h "
        "\u22123 % \u22126 to 0, at 45 km/h \u2013"
    ) in said
    alike = read_page(render(sheet_with())).section("compared").replace("\xa0", " ")
    assert "Fuel roughly, at a steady 40 km/h \u2013 \u22123 % \u22126 to 0 \u22123 %" in alike
