"""Model words to families, against 550 labelled ones and against what must never be confused.

The labelled words (tests/data/model-names.csv) were made by hand and by rules that know nothing of
the matching: each says of which family it is, `several` or none. That digits tell engines apart,
and a short gearbox from a long one, is common practice, no source.
"""

from __future__ import annotations

import csv
from collections import Counter
from collections.abc import Iterator
from difflib import SequenceMatcher
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fitcheck.services.price_lists.name_book import Match, NameBook
from fitcheck.services.price_lists.name_words import key_of, tokens_of
from fitcheck.services.price_lists.names import CellMatch, Names, names_of
from tests.conftest import demo_catalogue

ROOT = Path(__file__).parents[3]
LABELLED = ROOT / "tests" / "data" / "model-names.csv"
CATALOGUE = demo_catalogue()
NAMES = names_of(CATALOGUE)
FAMILIES = {id_: entry.record for id_, entry in CATALOGUE.families.items()}
# Of names that are the same word by word the one written first.
KNOWN = list(
    {
        key_of(tokens_of(name)): name
        for id_, family in reversed(FAMILIES.items())
        for name in reversed(
            [family.name, id_, *family.aliases]
            + [model for train in family.factory_trains for model in train.models]
        )
    }.values()
)

# Kinds of label that a person must look at: a slip of a key is near, and near is not accepted.
FOR_REVIEW = {"slip of a key", "unknown suffix", "several families"}


def labelled() -> list[dict[str, str]]:
    with LABELLED.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


ROWS = labelled()
ANSWERS = {row["text"]: NAMES.match_cell(row["text"]) for row in ROWS}


def offered(found: CellMatch) -> Iterator[str]:
    for part in found.parts:
        yield from (near.family for near in part.near)
    yield from found.families


def one(text: str, names: Names = NAMES) -> Match:
    return names.match_word(text)


def cell(text: str, names: Names = NAMES) -> CellMatch:
    return names.match_cell(text)


# ------------------------------------------------------------------ the labelled list


def test_the_list_is_as_it_says() -> None:
    assert len(ROWS) == 550
    assert len({row["text"] for row in ROWS}) == 550
    assert {row["family"] for row in ROWS} <= {*FAMILIES, "several", ""}
    counts = Counter(row["kind"] for row in ROWS)
    assert len(counts) == 10
    assert min(counts.values()) >= 15
    # Not the names themselves in other clothes only: half of them share no spelling.
    plain = {name.casefold() for name in KNOWN}
    assert sum(row["text"].strip().casefold() in plain for row in ROWS) < 60


def test_no_word_is_accepted_for_a_wrong_family() -> None:
    """Precision of what is accepted without review: 100 %."""
    wrong = [
        (row["text"], row["family"], ANSWERS[row["text"]].families)
        for row in ROWS
        if ANSWERS[row["text"]].answer == "accepted"
        and ANSWERS[row["text"]].families != (row["family"],)
    ]
    assert wrong == []


def test_recall_of_what_is_accepted(record_property: pytest.RecordProperty) -> None:
    """The shares that docs/import.md names."""
    ours = [row for row in ROWS if row["family"] not in ("", "several")]
    clean = [row for row in ours if row["kind"] not in FOR_REVIEW]
    accepted = [row for row in clean if ANSWERS[row["text"]].answer == "accepted"]
    told = [row for row in ours if row["family"] in offered(ANSWERS[row["text"]])]
    first = [row for row in ours if next(iter(offered(ANSWERS[row["text"]])), "") == row["family"]]
    record_property("accepted", f"{len(accepted)} of {len(clean)}")
    record_property("accepted or offered", f"{len(told)} of {len(ours)}")
    print(
        f"accepted {len(accepted)} of {len(clean)} without slips, "
        f"accepted or offered {len(told)} of {len(ours)}, first {len(first)}"
    )
    page = (ROOT / "docs" / "import.md").read_text(encoding="utf-8")
    page = " ".join(page.split())
    assert f"{len(accepted)} of {len(clean)}" in page
    assert f"{len(told)} of {len(ours)}" in page
    assert len(accepted) / len(clean) >= 0.9
    assert len(told) == len(ours)
    assert len(first) == len(ours)


def test_slips_go_to_review_and_never_past_it() -> None:
    for row in ROWS:
        if row["kind"] in FOR_REVIEW:
            assert ANSWERS[row["text"]].answer == "review", row


def test_foreign_models_are_none_or_at_most_a_question() -> None:
    foreign = [row for row in ROWS if row["kind"] == "foreign"]
    answers = Counter(ANSWERS[row["text"]].answer for row in foreign)
    assert answers["accepted"] == 0
    assert answers["review"] <= len(foreign) // 20


# ------------------------------------------------------------------ digits, sizes, strokes


@pytest.mark.parametrize(
    "text",
    [
        "Dunlin 70",
        "Dunlin-70",
        "DUNLIN 70 Ten",
        "Dunlin Ten 70",
        "70 Dunlin",
        "Dunlin 500",
        "Dunlin 5",
        "DN70",
        "Turnstone 50",
        "Whimbrel 150",
        "Whimbrel Moor 150",
        "Sanderling 70cc",
        "Dunlin Mk II",
        "Dunlin 50 4T",
        "Whimbrel 125 2-Takt",
    ],
)
def test_other_digits_are_another_engine(text: str) -> None:
    found = one(text)
    assert found.family is None
    assert found.answer == "none"
    assert found.near == ()


@given(st.sampled_from(KNOWN), st.integers(0, 9), st.data())
def test_a_name_with_another_digit_is_never_taken(
    name: str, digit: int, data: st.DataObject
) -> None:
    """Nor offered for another of its own digits: 50 for 70, whatever the likeness."""
    places = [at for at, char in enumerate(name) if char.isdigit()]
    if not places:
        return
    at = data.draw(st.sampled_from(places))
    other = name[:at] + str(digit) + name[at + 1 :]
    if other in KNOWN or digit == int(name[at]):
        return
    found = one(other)
    assert found.family is None
    numbers = {"".join(c for c in each.name if c.isdigit()) for each in found.near}
    assert "".join(c for c in name if c.isdigit()) not in numbers


@given(st.text(alphabet="abcdefghiklmnoprstuvwz 0123456789-/", min_size=1, max_size=24))
def test_nothing_is_accepted_that_is_no_name(text: str) -> None:
    """Accepted words are equal to a name but for separators: the likeness has no say."""
    found = one(text)
    if found.answer != "accepted":
        return
    bare = "".join(filter(str.isalnum, text))
    best = max(
        SequenceMatcher(None, "".join(sorted(bare)), "".join(sorted(_bare(name)))).ratio()
        for name in KNOWN
    )
    assert best > 0.6  # noise words may stand beside


def _bare(name: str) -> str:
    return "".join(filter(str.isalnum, name.lower()))


LONG_AND_SHORT = Names(
    NameBook(
        [
            ("Plover Short", "plover-a", True),
            ("Plover Long", "plover-b", True),
            ("Stint Mk II", "stint-2", True),
            ("Stint Mk III", "stint-3", True),
            ("Stint R", "stint-r", True),
            ("Stint S", "stint-s", True),
            ("Knot", "knot-a", True),
            ("Knot", "knot-b", True),
        ],
        {},
    )
)


@pytest.mark.parametrize(
    ("text", "never"),
    [
        ("Plover Lang", "plover-a"),
        ("Plover kurz", "plover-b"),
        ("Plovr Long", "plover-a"),
        ("Plover Lonq", "plover-a"),
        ("Stint Mk 2", "stint-3"),
        ("Stint Mk IV", "stint-3"),
        ("Stint Mk IV", "stint-2"),
        ("Stint Mk three", "stint-2"),
        ("Stint T", "stint-r"),
        ("Stint T", "stint-s"),
    ],
)
def test_sizes_numerals_and_letters_count(text: str, never: str) -> None:
    found = one(text, LONG_AND_SHORT)
    assert found.family != never
    assert never not in [near.family for near in found.near]


@pytest.mark.parametrize(
    "text", ["Dunlin 50 mid-long", "Dunlin 50 carter largo", "Dunlin 50 largo"]
)
def test_a_doubtful_housing_behind_a_name_is_told_as_it_stands(text: str) -> None:
    housings = one(text).housings
    assert housings.words == ()
    assert housings.unsure in text.replace("-", " ")


@pytest.mark.parametrize("text", ["Dunlin Ten mid", "Dunlin Long", "Dunlin 50 longlife"])
def test_a_size_behind_a_model_may_be_another_model(text: str) -> None:
    assert one(text).answer == "review"


def test_a_name_of_two_families_is_a_question() -> None:
    found = one("knot", LONG_AND_SHORT)
    assert found.answer == "review"
    assert [near.family for near in found.near] == ["knot-a", "knot-b"]


# ------------------------------------------------------------------ spelling, noise, cells


@pytest.mark.parametrize(
    ("text", "family", "housing"),
    [
        ("ＤＵＮＬＩＮ　５０", "dunlin-50", ""),
        ("Dunlin 50 mid", "dunlin-50", "mid"),
        ("Dunlin 50 kurz/lang", "dunlin-50", "short long"),
        ("Dunlin 50, corto", "dunlin-50", "short"),
        ("Dunlin (kurz)", "dunlin-50", "short"),
        ("Dunlin 50 cárter largo", "dunlin-50", "long"),
        ("Dunlin 50 carter corto e medio", "dunlin-50", "short mid"),
        ("Dunlin 50 mittleres Gehäuse", "dunlin-50", "mid"),
        ("Dunlin 50 (tous les carters)", "dunlin-50", "all"),
        ("Dún\u00adlin_50", "dunlin-50", ""),
        ("für Dunlin 50 (kurzes Gehäuse)", "dunlin-50", "short"),
        ("Dunlin 50 carter lungo", "dunlin-50", "long"),
        ("Whimbrel 125 ccm 4-Takt ab Bj. 2012", "whimbrel-125", ""),
        ("50cc Dunlin", "dunlin-50", ""),
        ("DN50 Cargo", "dunlin-50", ""),
    ],
)
def test_what_names_nothing_does_not_count(text: str, family: str, housing: str) -> None:
    found = cell(text)
    assert (found.families, found.answer) == ((family,), "accepted")
    assert " ".join(word for part in found.parts for word in part.housings.words) == housing


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("Dunlin Ten, Dunlin Tour", ["Dunlin Ten", "Dunlin Tour"]),
        ("Dunlin Ten/Twelve", ["Dunlin Ten", "Dunlin Twelve"]),
        ("Dunlin Ten + Tour + Post", ["Dunlin Ten", "Dunlin Tour", "Dunlin Post"]),
        ("Dunlin Ten e Dunlin Tour", ["Dunlin Ten", "Dunlin Tour"]),
        ("Dunlin Ten und Dunlin Tour", ["Dunlin Ten", "Dunlin Tour"]),
        ("Dunlin Ten et Dunlin Tour", ["Dunlin Ten", "Dunlin Tour"]),
        ("Dunlin Ten y Dunlin Tour", ["Dunlin Ten", "Dunlin Tour"]),
        ("Dunlin Ten and Dunlin Tour", ["Dunlin Ten", "Dunlin Tour"]),
        ("Dunlin Ten (2008/2012), Dunlin Tour", ["Dunlin Ten (2008/2012)", "Dunlin Tour"]),
        ('Dunlin Ten 10"/12"', ['Dunlin Ten 10"']),
    ],
)
def test_several_models_in_one_cell(text: str, words: list[str]) -> None:
    found = cell(text)
    assert [part.word for part in found.parts] == words
    assert (found.answer, found.families) == ("accepted", ("dunlin-50",))


def test_parts_of_different_families_go_to_review_with_all_told() -> None:
    found = cell("Dunlin Ten, Sanderling Dash")
    assert found.answer == "review"
    assert found.families == ("dunlin-50", "sanderling-50")
    assert [part.family for part in found.parts] == ["dunlin-50", "sanderling-50"]


def test_one_doubtful_part_sends_the_cell_to_review() -> None:
    assert cell("Dunlin Ten, Dunlinn Twelve").answer == "review"
    assert cell("Dunlin Ten?").answer == "review"
    assert cell("70, Dunlin").answer == "review"


@pytest.mark.parametrize("text", ["Dunlin 10", "Dunlin dieci", "Dunlin zehn", "Dunlin 10 50cc"])
def test_a_number_written_another_way_is_offered(text: str) -> None:
    found = one(text)
    assert (found.answer, [near.name for near in found.near]) == ("review", ["Dunlin Ten"])


@pytest.mark.parametrize(
    "text", ["not Dunlin 50", "nicht für Dunlin Ten", "tutti tranne Dunlin Ten", "statt Dunlin Ten"]
)
def test_a_word_that_turns_the_sense_is_not_passed_over(text: str) -> None:
    assert one(text).answer == "review"


@pytest.mark.parametrize(
    "text", ["Dunlin Ten, Snipe Classic", "snipe / DUNLIN TEN", "Dunlin 50, S"]
)
def test_an_unknown_part_beside_one_of_ours_is_asked_until_it_is_answered(text: str) -> None:
    assert sorted(part.answer for part in cell(text).parts) == ["accepted", "review"]
    answered = names_of(CATALOGUE, {"Snipe Classic": None, "snipe": None, "S": None})
    found = cell(text, answered)
    assert (found.answer, found.families) == ("accepted", ("dunlin-50",))


@pytest.mark.parametrize("text", ["Snipe?", "Dunlin 50, ?", "?, Dunlin 50", "SN50/SN70?"])
def test_a_question_mark_is_asked_whatever_it_stands_beside(text: str) -> None:
    assert cell(text).answer == "review"


def test_an_answer_for_a_word_is_none_for_the_word_in_question() -> None:
    assert cell("SN70?", names_of(CATALOGUE, {"SN70": "dunlin-50"})).answer == "review"
    for answered, text in (("SN70?", "SN70?"), ("Dunlin 50, ?", "Dunlin 50, ?")):
        assert cell(text, names_of(CATALOGUE, {answered: "dunlin-50"})).answer == "accepted"


def test_answers_are_known_from_then_on() -> None:
    names = names_of(CATALOGUE, {"DN50 sport": "dunlin-50", "Dunlin Deluxe": None})
    assert one("dn50-SPORT", names).family == "dunlin-50"
    assert one("Dunlin Deluxe", names).answer == "none"
    assert one("Dunlin Deluxe").answer == "review"
    assert cell("Dunlin Deluxe, Dunlin Ten", names).families == ("dunlin-50",)


@given(st.sampled_from(KNOWN), st.sampled_from([str.upper, str.lower, str.title, str.swapcase]))
def test_every_name_is_accepted_whatever_its_case(name: str, change: object) -> None:
    assert callable(change)
    assert one(change(name)).answer == "accepted"


@given(st.text(max_size=300))
def test_any_text_has_an_answer(text: str) -> None:
    found = cell(text)
    assert found.answer in ("accepted", "review", "none")
    assert (found.answer == "accepted") == (len(found.families) == 1 and found.answer != "review")


@pytest.mark.parametrize(
    ("text", "families"),
    [
        ("Primary pair Z=15/44 Dunlin 50 short case", ["dunlin-50"]),
        ("Set for Dunlin 70", []),
        ("Pair for Dunlin Ten and Sanderling Dash", ["dunlin-50", "sanderling-50"]),
        ("Coppia primaria Dunlinn Ten", []),
        ("Zahnradpaar", []),
    ],
)
def test_names_inside_free_text_are_exact_ones_only(text: str, families: list[str]) -> None:
    assert [match.family for match in NAMES.names_inside(text)] == families


@pytest.mark.parametrize(
    ("models", "outcome"),
    [
        ("Dunlin Ten o similar", "review"),
        ("Dunlin Ten, others", "review"),
        ("Dunlin Ten, Squall Drift", "review"),
        ("dunlin ten, squall drift", "review"),
        ("Squall Drift", "new"),
    ],
)
def test_an_unknown_word_is_asked_only_beside_names_of_ours(shop, models, outcome):
    assert shop.row(f"A-1;pair;15/44;primary;{models};;;40.00;yes").outcome == outcome
