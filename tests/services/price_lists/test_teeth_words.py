"""Tooth counts in texts: written in every way and read back, and never taken from other figures."""

from __future__ import annotations

import datetime as dt

from hypothesis import assume, given
from hypothesis import strategies as st

from fitcheck.kernel.teeth import Pair, TeethError, read_pair
from fitcheck.services.price_lists.reading.cells import Cell
from fitcheck.services.price_lists.wording.cues import WORDS
from fitcheck.services.price_lists.wording.readings import fold
from fitcheck.services.price_lists.wording.stages import find_stages, read_stage
from fitcheck.services.price_lists.wording.teeth import read_teeth
from tests.conftest import table

pairs = st.tuples(st.integers(8, 30), st.integers(31, 80)).map(lambda two: Pair(*two))
SEPARATORS = ["/", ":", "x", "-", " / ", " x ", "×", "–", "∕"]
# How the five languages mark a pair as teeth; common practice, no source.
MARKED = [
    "Z={a}{s}{b}",
    "Z {a}{s}{b}",
    "z{a}{s}z{b}",
    "{a}{s}{b} Z",
    "{a}{s}{b} teeth",
    "{a}T{s}{b}T",
    "{a}{s}{b} denti",
    "N. denti: {a}{s}{b}",
    "{a}{s}{b} Zähne",
    "Zähnezahl {a}{s}{b}",
    "{a}{s}{b} dents",
    "{a}{s}{b} dientes",
    "pinion {a} teeth, gear {b} teeth",
    "pignone {a} denti corona {b} denti",
    "Ritzel {a} Z, Rad {b} Z",
    "pignon {a} dents couronne {b} dents",
    "piñón {a} dientes corona {b} dientes",
    "Z1={a} Z2={b}",
]
BEFORE = ["", "Gear set ", "Zahnradsatz ", "MA-1544 ", "Dunlin 50 ", "Art. 15/44, ", "prim. "]
BEHIND = ["", ' 10"', " 50 cc", " 64,90 €", " EUR 64.90", " 100/90-10", " (12.10.2026)", ", 12V"]


@given(
    pair=pairs,
    form=st.sampled_from(MARKED),
    sign=st.sampled_from(SEPARATORS),
    before=st.sampled_from(BEFORE),
    behind=st.sampled_from(BEHIND),
)
def test_a_marked_pair_is_read_back_from_any_text(pair, form, sign, before, behind):
    text = before + form.format(a=pair.driver, b=pair.driven, s=sign) + behind
    found = read_teeth(text)
    # A number right before a mark may be what it marks; then a person looks.
    if found.status == "review" and before.endswith(("50 ", "1544 ")):
        return
    assert found.status == "read", found
    assert [each.pair for each in found.value] == [pair]


@given(one=pairs, other=pairs, form=st.sampled_from(MARKED[:12]), sign=st.sampled_from(SEPARATORS))
def test_a_whole_train_is_read_back(one, other, form, sign):
    assume(one != other)
    first = form.format(a=one.driver, b=one.driven, s=sign)
    second = form.format(a=other.driver, b=other.driven, s=sign)
    found = read_teeth(f"primary {first}, secondary {second}")
    assert found.status == "read", found
    assert [(each.stage, each.pair) for each in found.value] == [
        ("primary", one),
        ("secondary", other),
    ]


@given(
    first=st.integers(0, 300),
    second=st.integers(0, 300),
    sign=st.sampled_from(SEPARATORS),
    frame=st.sampled_from(
        [
            "Zahnrad {} mm",
            "gear {} cc",
            "gearbox, {} km/h",
            'gear {}"',
            "gear EUR {}",
            "gear {} €",
            "gear Art. {}",
            "gear no. {}",
            "gear MA-{}",
            "gear {}-B",
            "tyre {} gear",
            "Getriebe KW {}",
            "bearing {} gear",
            "gear {} W",
            "gear #{}",
            "gear {}%",
            "Zahnrad {} Nm",
        ]
    ),
)
def test_two_numbers_of_something_else_are_never_teeth(first, second, sign, frame):
    assert read_teeth(frame.format(f"{first}{sign}{second}")).status != "read"


@given(
    first=st.sampled_from([25, 40, 45, 50, 60, 70, 80, 90, 100, 125, 150, 180]),
    second=st.sampled_from([25, 40, 45, 50, 60, 70, 80, 90, 100, 125, 150, 180]),
    sign=st.sampled_from(SEPARATORS),
)
def test_displacements_and_speeds_without_a_unit_are_never_teeth(first, second, sign):
    assert read_teeth(f"primary gear set Dunlin {first}{sign}{second}").status != "read"


@given(day=st.integers(1, 31), month=st.integers(1, 12), sign=st.sampled_from(["/", "-", "."]))
def test_days_and_months_without_a_mark_are_never_teeth(day, month, sign):
    assert read_teeth(f"primary gear set {day}{sign}{month}").status != "read"


@given(text=st.text(max_size=40))
def test_any_text_is_answered(text):
    for column in (False, True):
        found = read_teeth(text, teeth_column=column)
        assert (found.value is not None) == (found.status == "read")


@given(text=st.text(alphabet="0123456789/:x-zZ []=T", max_size=10))
def test_a_column_of_teeth_agrees_with_the_kernel_on_plain_pairs(text):
    """What `read_pair` reads is read; what it refuses is read only where counts are marked."""
    try:
        pair = read_pair(text)
    except TeethError:
        return
    found = read_teeth(text, teeth_column=True)
    assert found.status == "read"
    assert [each.pair for each in found.value] == [pair]


def native(value, code: str = "") -> Cell:
    return Cell("P!A1", str(value), value, code)


# What spreadsheets make of counts typed into them; common practice, no source.
@table(
    ("value", "code", "status", "shown"),
    [
        (dt.date(2026, 12, 10), "d-mmm", "read", "10/12"),
        (dt.date(2026, 10, 12), "d-mmm", "read", "10/12"),
        (dt.date(2026, 12, 10), "d\\-mmm", "read", "10/12"),
        (dt.date(2026, 12, 10), "dd/mm", "read", "10/12"),
        (dt.date(2026, 12, 10), "d. mmm", "read", "10/12"),
        (dt.date(2026, 12, 10), "[$-407]d/ mmm;@", "read", "10/12"),
        (dt.date(1945, 12, 1), "mmm-yy", "read", "12/45"),
        (dt.date(1945, 12, 1), "mmm\\-yy", "read", "12/45"),
        (dt.date(1945, 12, 1), "dd/mm/yyyy", "read", "12/45"),
        (dt.date(1938, 11, 1), "", "read", "11/38"),
        (dt.datetime(1945, 12, 1), "mmm-yy", "read", "12/45"),
        (dt.date(2026, 12, 1), "mmm-yy", "read", "12/26"),
        (dt.date(2026, 12, 1), "dd/mm/yyyy", "review", "12/26"),
        (dt.date(2026, 12, 10), "dd/mm/yyyy", "review", "10/12"),
        (dt.date(2026, 12, 10), "", "review", "10/12"),
        (dt.date(2026, 3, 10), "d-mmm", "unreadable", None),
        (dt.date(2026, 12, 12), "d-mmm", "unreadable", None),
        (dt.date(2045, 12, 1), "mmm-yy", "unreadable", None),
        (dt.datetime(2026, 12, 10, 14, 45), "", "unreadable", None),
        (dt.time(14, 45), "h:mm", "read", "14/45"),
        (dt.time(15, 38), "h:mm:ss", "read", "15/38"),
        (dt.timedelta(hours=26, minutes=45), "[h]:mm", "read", "26/45"),
        (dt.time(16, 8), "h:mm", "review", "8/16"),
        (dt.time(14, 45, 30), "h:mm:ss", "unreadable", None),
        (dt.time(3, 45), "h:mm", "unreadable", None),
        (15.38, "", "review", "15/38"),
        (15.4, "", "review", "15/40"),
        (15, "", "unreadable", None),
        (938, "", "unreadable", None),
        (0.3947368421, "# ??/??", "unreadable", None),
        (True, "", "unreadable", None),
    ],
)
def test_dates_and_times_made_of_counts(value, code, status, shown):
    found = read_teeth(native(value, code), teeth_column=True)
    assert found.status == status, found
    read = [found.value] if found.value else list(found.candidates)
    assert (str(read[0][0]) if read else None) == shown
    # In a text column such a value proves nothing.
    assert read_teeth(native(value, code)).status != "read"


@given(pair=st.tuples(st.integers(5, 12), st.integers(30, 99)).filter(lambda two: two[0] != two[1]))
def test_month_and_year_come_back_as_the_counts_typed(pair):
    """`12/45` typed turns into the first of December 1945, shown as month and year."""
    month, year = pair
    found = read_teeth(native(dt.date(1900 + year, month, 1), "mmm-yy"), teeth_column=True)
    assert [each.pair for each in found.value] == [Pair(month, year)]


@given(first=st.integers(5, 23), second=st.integers(0, 99))
def test_hours_and_minutes_never_come_back_as_other_counts(first, second):
    """`15:68` typed is carried into 16:08, which must not be read as 8/16."""
    moment = dt.timedelta(hours=first, minutes=second)
    found = read_teeth(native(moment, "[h]:mm"), teeth_column=True)
    typed = Pair(min(first, second), max(first, second)) if first != second and second > 4 else None
    if found.status == "read" and 1.4 < second / first <= 6 and second <= 90:
        assert [each.pair for each in found.value] == [typed]


def test_every_reading_names_its_cell_and_stage_words_of_the_supplier_count():
    cell = Cell("Prices!B12", "upper 14/45 Z, lower 13/48 Z", "upper 14/45 Z, lower 13/48 Z")
    words = {"upper": "primary", "lower": "secondary"}
    found = read_teeth(cell, stage_words=words)
    assert (found.cell, found.text) == ("Prices!B12", cell.text)
    assert [str(each) for each in found.value] == ["primary 14/45", "secondary 13/48"]
    assert read_stage("I", {"I": "primary"}).value == ("primary",)
    assert read_stage("final", {"final": "tertiary"}).value == ("tertiary",)
    assert read_stage("first", {"first": "primary"}).value == ("primary",)
    assert read_stage("wheel", {"input": "primary", "wheel": "secondary"}).value == ("secondary",)


def test_folding_keeps_digits_apart_from_what_looks_like_them():
    assert fold("Ｚ１５／３８ Zähne ″ – ×") == 'z15/38 zahne " - x'
    assert fold("cm³ ½ 15²") == "cm³ ½ 15²"
    assert [word.stage for word in find_stages(fold("Primär- und Sekundärzahnräder"))] == [
        "primary",
        "secondary",
    ]


def test_every_word_kept_for_lists_is_folded_and_none_is_empty():
    # An empty one would stand in every text, and one with an accent in none.
    kept = [
        word
        for kind, lists in WORDS.items()
        if kind != "currency"
        for each in lists.values()
        for word in each
    ]
    assert len(kept) > 2500
    assert [word for word in kept if not word or fold(word) != word] == []
