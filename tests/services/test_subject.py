"""The machine asked about: found by many names, refused in one line, with its remarks."""

from __future__ import annotations

from fractions import Fraction

import pytest

from fitcheck.errors import UnreadableError, UsageError
from fitcheck.kernel.teeth import Pair, read_train
from fitcheck.services.lookup import (
    find_family,
    find_housing,
    find_machine,
    find_set,
    find_tune,
    find_tyre,
)
from fitcheck.services.matching import match
from fitcheck.services.remarks import remarks_on
from fitcheck.services.subject import subject_from_counts, subject_of

KNOT = {
    "name": "Knot 50",
    "aliases": ["K50", "Shore"],
    "housings": {
        "short": {"name": "short case", "aliases": ["S-case"]},
        "long": {"name": "long case"},
    },
    "stages": {"primary": {}, "secondary": {}},
    "factory_trains": [
        {
            "housing": "short",
            "wheel_size_in": 10,
            "pairs": {"primary": "14/46", "secondary": "13/49"},
            "models": ["Knot Ten"],
        },
        {
            "housing": "long",
            "wheel_size_in": 13,
            "pairs": {"primary": "14/49", "secondary": "13/49"},
            "models": ["Knot Tour"],
        },
    ],
}
STINT = {
    "name": "Stint 50",
    "aliases": ["Shore"],
    "housings": {"only": {"name": "only case"}},
    "stages": {"single": {}},
}
IT = {
    "name": "Rosa's",
    "family": "knot-50",
    "housing": "short",
    "wheel_size_in": 10,
    "tune": "stock",
    "pairs": {"secondary": "13/49", "primary": "14/46"},
}
COUNTS = read_train("14/46,13/49")


@pytest.fixture
def shop(load_records):
    def run(**machines):
        return load_records(
            {
                "family": {"knot-50": KNOT, "stint-50": STINT},
                "tune": {"stock": {"name": "standard engine", "low": 10, "high": 15}},
                "tyre": {
                    "t10": {
                        "size": "3.50-10",
                        "wheel_size_in": 10,
                        "roll_out_mm": 1310,
                        "basis": "estimate",
                    }
                },
                "machine": machines or {"it": IT},
            }
        )

    return run


def test_a_machine_of_the_catalogue(shop):
    subject = subject_of(shop(), "it")
    assert (subject.name, subject.family.id, subject.housing) == ("Rosa's", "knot-50", "short")
    assert subject.stages == ("primary", "secondary")
    assert subject.pairs == (Pair(14, 46), Pair(13, 49))
    assert subject.reduction == Fraction(2254, 182)
    assert (subject.band.low, subject.band.high, subject.band.stretch) == (10, 15, 15)
    assert (subject.known_trains, subject.replaced, remarks_on(subject)) == ((0,), frozenset(), ())
    assert subject.roll_out_ratio == 1
    assert subject_of(shop(), "rosas").entry is not None


@pytest.mark.parametrize(
    ("tyre", "measured", "roll_out"),
    [("t10", None, 1310), ("t10", 1297, 1297), (None, 1297, 1297), (None, None, None)],
)
def test_a_measured_roll_out_stands_before_the_tyre(shop, tyre, measured, roll_out):
    fields = {"tyre": tyre, "roll_out_mm": measured}
    machine = {**IT, **{name: value for name, value in fields.items() if value is not None}}
    assert subject_of(shop(it=machine), "it").roll_out_mm == roll_out


@pytest.mark.parametrize(
    "name", ["knot-50", "Knot 50", "KNOT50", "k50", "Knöt-50", "knot ten", "Knot Tour"]
)
def test_families_by_any_of_their_names(shop, name):
    assert find_family(shop(), name).id == "knot-50"


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("shore", "may be knot-50 or stint-50"),
        ("knott-50", "did you mean knot-50"),
        ("knot-60", "there is knot-50 or stint-50"),
        ("", "no engine family ''"),
        ("x" * 500, "no engine family 'xxx"),
    ],
)
def test_families_not_found_are_told_in_one_line(shop, name, words):
    with pytest.raises(UsageError) as refused:
        find_family(shop(), name)
    assert words in str(refused.value)
    assert len(str(refused.value)) < 160


def test_housings_by_any_of_their_names(shop):
    family = shop().families["knot-50"]
    for name in ("short", "Short", "short case", "s case", "S-CASE"):
        assert find_housing(family, name) == "short"
    for name in ("mid", "case", "?", ""):
        with pytest.raises(UsageError, match="it has short or long"):
            find_housing(family, name)


def test_records_by_id_or_name(shop):
    catalogue = shop()
    assert find_tune(catalogue, "Standard Engine").id == "stock"
    assert find_tyre(catalogue, "T10").id == "t10"
    for name in ("?", "", "turbo"):
        with pytest.raises(UsageError, match="there is stock"):
            find_tune(catalogue, name)
    with pytest.raises(UsageError, match="did you mean stock"):
        find_tune(catalogue, "stok")
    with pytest.raises(UsageError, match="the catalogue holds none"):
        find_set(catalogue, "stock")
    several = shop(a={**IT, "name": "Blue"}, b={**IT, "name": "blue"})
    with pytest.raises(UsageError, match="may be a or b"):
        find_machine(several, "BLUE")


def test_a_refused_record_is_not_called_absent(load_files):
    catalogue = load_files(
        {
            "tunes.yaml": "kind: tune\nrecords:\n  stock: {name: s, low: 20, high: 10}\n",
            "families.yaml": "kind: family\nrecords:\n  knot-50: {name: Knot 50}\n",
        }
    )
    with pytest.raises(UsageError, match=r"the tune stock at .*tunes.yaml:3:3 was refused"):
        find_tune(catalogue, "stock")
    with pytest.raises(UsageError, match=r"family knot-50 at .*families.yaml:3:3 was refused"):
        find_family(catalogue, "knot-50")


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"family": "knott-50"}, "no engine family 'knott-50'; did you mean knot-50?"),
        ({"housing": "mid"}, "knot-50 has no housing 'mid'; it has short or long"),
        (
            {"pairs": {"primary": "14/46"}},
            "counted primary, but a train of knot-50 has primary and",
        ),
        ({"pairs": {"single": "14/46"}}, "count every stage"),
        ({"tune": "stok"}, "no tune 'stok'; did you mean stock?"),
    ],
)
def test_a_machine_that_cannot_be_matched_says_where(shop, changed, words):
    catalogue = shop(it={**IT, **changed})
    entry = catalogue.machines["it"]
    with pytest.raises(UsageError) as refused:
        subject_of(catalogue, "it")
    assert str(refused.value).startswith(f"{entry.place(next(iter(changed)))}: ")
    assert words in str(refused.value)


FILE = """kind: machine
records:
  lent:
    name: lent machine
    family: knot-50
    pairs: {primary: 14/46, secondary: 13/49}
"""


def test_a_machine_in_a_file_of_its_own(shop, tmp_path):
    path = tmp_path / "lent.yaml"
    path.write_text(FILE, encoding="utf-8")
    subject = subject_of(shop(), str(path))
    assert (subject.name, subject.housing, subject.tune) == ("lent machine", None, None)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (FILE.replace("14/46", "14/14"), "lent.yaml:6:22: "),
        (FILE.replace("machine\nrec", "tune\nrec"), "lent.yaml:"),
        ("kind: machine\nrecords: {}\n", "holds no machine"),
        (FILE + FILE.split("records:\n")[1].replace("lent:", "other:"), "holds 2 machines"),
    ],
)
def test_a_file_that_holds_no_one_machine(shop, tmp_path, text, words):
    path = tmp_path / "lent.yaml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(UsageError) as refused:
        subject_of(shop(), str(path))
    assert words in str(refused.value)
    assert "\n" not in str(refused.value)


def test_a_file_that_is_not_there(shop, tmp_path):
    with pytest.raises(UnreadableError):
        subject_of(shop(), str(tmp_path / "gone.yaml"))


def test_counts_alone(shop):
    subject = subject_from_counts(
        shop(), "Knot Ten", COUNTS, housing_name="s-case", tune_name="stock", wheel_size_in=10
    )
    assert (subject.housing, subject.tune.id, subject.entry) == ("short", "stock", None)
    assert remarks_on(subject) == ()
    with pytest.raises(UsageError, match=r"has 2 stages \(primary, secondary\), counted 1"):
        subject_from_counts(shop(), "knot-50", COUNTS[:1])
    with pytest.raises(UsageError, match=r"has 1 stage \(single\), counted 2"):
        subject_from_counts(shop(), "stint-50", COUNTS)


@pytest.mark.parametrize(
    ("counted", "trains", "replaced"),
    [
        ("14/46,13/49", (0,), set()),
        ("14/49,13/49", (1,), set()),
        ("15/38,13/49", (), {"primary"}),
        ("14/46,14/47", (), {"secondary"}),
        ("15/38,14/47", (), {"primary", "secondary"}),
    ],
)
def test_stages_that_were_replaced_before(shop, counted, trains, replaced):
    subject = subject_from_counts(shop(), "knot-50", read_train(counted), housing_name="short")
    assert (subject.known_trains, subject.replaced) == (trains, replaced)
    told = " ".join(remarks_on(subject))
    assert ("no known factory train" in told) is not bool(trains)
    for stage in ("primary", "secondary"):
        assert (f"The {stage} pair is in no factory train" in told) is (stage in replaced)


def test_pairs_of_two_factory_trains_mixed_are_no_strangers(load_records):
    """Each pair is a factory pair, so its seat is known; together they are no train."""
    first, second = KNOT["factory_trains"]
    second = {**second, "pairs": {"primary": "14/49", "secondary": "13/52"}}
    mixed = {**IT, "pairs": {"primary": "14/46", "secondary": "13/52"}}
    del mixed["tune"]
    catalogue = load_records(
        {
            "family": {"knot-50": {**KNOT, "factory_trains": [first, second]}},
            "machine": {"it": mixed},
        }
    )
    subject = subject_of(catalogue, "it")
    assert (subject.known_trains, subject.replaced) == ((), frozenset())
    assert "no known factory train" in remarks_on(subject)[0]


@pytest.mark.parametrize(
    ("options", "words"),
    [
        ({"housing_name": "long", "wheel_size_in": 10}, "train of the short housing with a 10 in"),
        ({"housing_name": "short", "wheel_size_in": 13}, "not of this machine's"),
        ({"wheel_size_in": 10}, "The housing is not known (short or long)"),
        ({"housing_name": "short"}, "No tune is given"),
    ],
)
def test_remarks(shop, options, words):
    subject = subject_from_counts(shop(), "knot-50", COUNTS, **options)
    assert sum(words in remark for remark in remarks_on(subject)) == 1


def test_a_family_without_factory_trains(shop):
    subject = subject_from_counts(shop(), "stint-50", [Pair(13, 49)])
    assert (subject.known_trains, subject.replaced) == ((), {"single"})
    assert "No factory train of Stint 50 is on file to compare with." in remarks_on(subject)
    # One housing alone: there is nothing to look at.
    assert not any("housing" in remark for remark in remarks_on(subject))


@pytest.mark.parametrize(
    ("trains", "verdict"),
    [
        (KNOT["factory_trains"], "fits"),
        ([], "unproven"),
        ([{**KNOT["factory_trains"][0], "pairs": {"primary": "14/46"}}], "unproven"),
    ],
)
def test_only_a_train_on_file_shows_that_what_stays_is_factory_made(load_records, trains, verdict):
    """The set's seat is the family's; the rest hangs on whether the machine still has it."""
    family = {**KNOT, "interfaces": {"idler_seats": ["ST-14"]}, "factory_trains": trains}
    gear_set = {
        "supplier": "marram",
        "part_number": "1",
        "pairs": {"primary": "15/44"},
        "fits": [{"family": "knot-50", "housings": ["short"]}],
        "interfaces": {"wheel_seat": "ST-14"},
    }
    machine = {name: value for name, value in IT.items() if name != "tune"}
    catalogue = load_records(
        {"family": {"knot-50": family}, "machine": {"it": machine}, "gear-set": {"A": gear_set}}
    )
    (one,) = match(subject_of(catalogue, "it")).combinations
    assert one.judgement.verdict == verdict
