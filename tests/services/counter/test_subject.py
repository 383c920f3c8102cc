"""The machine asked about: found by many names, refused in one line, with its remarks."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

import pytest

from fitcheck.errors import UnreadableError, UsageError
from fitcheck.kernel.teeth import Pair, read_train
from fitcheck.services.counter.lookup import (
    find_family,
    find_housing,
    find_machine,
    find_set,
    find_tune,
    find_tyre,
)
from fitcheck.services.counter.match import match
from fitcheck.services.counter.remarks import remarks_on
from fitcheck.services.counter.request import Request
from fitcheck.services.counter.subject import (
    Subject,
    subject_from_counts,
    subject_of,
    with_idler_seats,
)
from tests.conftest import demo_catalogue

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
    assert (subject.known_trains, subject.unknown_make) == ((0,), frozenset())
    assert remarks_on(subject) == ()
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
    ("fields", "told"),
    [
        ({"tyre_size": "a fat one"}, ["'a fat one' on file cannot be read"]),
        ({"tyre_size": "a fat one", "roll_out_mm": 1297}, []),
        ({"tyre_size": "120/70-12"}, []),
        ({}, []),
    ],
)
def test_a_tyre_size_that_cannot_be_read_is_told_where_nothing_was_measured(shop, fields, told):
    found = subject_of(shop(it={**IT, **fields}), "it").told
    assert len(found) == len(told)
    assert all(words in line for words, line in zip(told, found, strict=True))


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
        (FILE.replace("pairs:", "pears:"), "did you mean pairs?"),
        ("kind: machine\nrecords: {}\n", "holds no machine"),
        ("kind: supplier\nrecords: {marram: {name: Marram}}\n", "holds no machine"),
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


@pytest.mark.parametrize("reference", ["it.yaml", "IT.YML", "./it", "folder/it"])
def test_a_file_is_told_from_a_machine_by_its_ending_or_a_slash(shop, reference):
    with pytest.raises(UnreadableError):
        subject_of(shop(), reference)
    assert subject_of(shop(), "it").name == "Rosa's"


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
    ("counted", "where", "trains", "unknown"),
    [
        # Housing and wheel settle which train it was.
        ("14/46,13/49", {"housing_name": "short"}, (0,), ""),
        ("14/46,13/49", {"wheel_size_in": 10}, (0,), ""),
        ("14/46,13/49", {"housing_name": "short", "wheel_size_in": 10}, (0,), ""),
        ("15/38,13/49", {"housing_name": "short"}, (), "primary"),
        ("14/46,14/47", {"housing_name": "short"}, (), "secondary"),
        ("15/38,14/47", {"housing_name": "short"}, (), "primary secondary"),
        # The pair of another housing's train is no factory pair here.
        ("14/49,13/49", {"housing_name": "short"}, (), "primary"),
        ("14/46,13/49", {"housing_name": "long"}, (), "primary"),
        # Several trains are possible: what all of them have is the factory's.
        ("14/46,13/49", {}, (0,), "primary"),
        ("14/49,14/47", {}, (), "primary secondary"),
        # None is possible.
        ("14/46,13/49", {"housing_name": "short", "wheel_size_in": 13}, (), "primary secondary"),
    ],
)
def test_stages_not_known_to_be_the_factory_s(shop, counted, where, trains, unknown):
    subject = subject_from_counts(shop(), "knot-50", read_train(counted), **where)
    assert (subject.known_trains, subject.unknown_make) == (trains, set(unknown.split()))
    told = " ".join(remarks_on(subject))
    settled = len(subject.possible_trains) == 1
    for stage in ("primary", "secondary"):
        named = re.search(r"The ([a-z ]+) pairs? (?:is|are) not known to be the factory's", told)
        assert (named is not None and stage in named[1]) is (settled and stage in unknown.split())
    assert ("2 factory trains are possible" in told) is (not where)
    assert ("No factory train is on file for this housing and wheel" in told) is (
        len(where) == 2 and not settled
    )


def test_only_what_tells_the_possible_trains_apart_is_asked_for(load_records):
    first, second = KNOT["factory_trains"]
    wheels = {first["wheel_size_in"], second["wheel_size_in"]}
    assert len(wheels) == 2
    alike = [first, {**second, "wheel_size_in": first["wheel_size_in"]}]
    bare = {key: value for key, value in IT.items() if key not in ("housing", "wheel_size_in")}
    for trains, asked in (
        (KNOT["factory_trains"], "give the housing and the wheel size."),
        (alike, "give the housing."),
    ):
        catalogue = load_records(
            {
                "family": {"knot-50": {**KNOT, "factory_trains": trains}},
                "machine": {"it": bare},
                "tune": {"stock": {"name": "standard engine", "low": 10, "high": 15}},
            }
        )
        assert asked in " ".join(remarks_on(subject_of(catalogue, "it")))


def test_a_machine_asked_about_as_it_left_the_works_has_that_train_alone(shop):
    counted = subject_from_counts(shop(), "knot-50", COUNTS)
    assert counted.possible_trains == (0, 1)
    works = replace(counted, factory_train=1)
    assert works.possible_trains == (1,)
    assert works.factory_pairs == tuple(read_train("14/49,13/49"))
    # Else housing and wheel must both be known before it is certain.
    for known in ({"housing_name": "short"}, {"wheel_size_in": 10}):
        assert subject_from_counts(shop(), "knot-50", COUNTS, **known).factory_pairs is None


def test_two_trains_of_one_housing_and_wheel_leave_the_make_open(load_records):
    """Counts equal to one of two may be the other, changed; equal in both: the factory's."""
    first, _ = KNOT["factory_trains"]
    second = {**first, "pairs": {"primary": "14/46", "secondary": "13/52"}}
    catalogue = load_records(
        {
            "family": {"knot-50": {**KNOT, "factory_trains": [first, second]}},
            "machine": {"it": {**IT, "idler_seats": ["SG-99"]}, "bare": IT},
            "tune": {"stock": {"name": "standard engine", "low": 10, "high": 15}},
        }
    )
    subject = subject_of(catalogue, "bare")
    assert (subject.known_trains, subject.unknown_make) == ((0,), {"secondary"})
    assert subject.factory_pairs is None
    assert "the secondary gears may be the factory's or not" in remarks_on(subject)[0]
    # Once the seat is measured, nothing is open about it.
    assert remarks_on(subject_of(catalogue, "it")) == ()


def test_a_machine_changed_before_to_the_pair_of_another_housing(load_records):
    """A factory pair elsewhere, but sold with another seat too: nobody knows which it is."""
    family = {**KNOT, "interfaces": {"idler_seats": ["ST-14"]}}
    claim = [{"family": "knot-50", "housings": ["short"]}]
    sets = {
        "A": {"pairs": {"primary": "14/49"}, "interfaces": {"wheel_seat": "SG-99"}},
        "B": {"pairs": {"secondary": "14/47"}, "interfaces": {"pinion_seat": "ST-14"}},
    }
    shared = {"supplier": "marram", "part_number": "1", "fits": claim}
    machine = {k: v for k, v in IT.items() if k != "tune"}
    changed = {**machine, "pairs": {"primary": "14/49", "secondary": "13/49"}}
    catalogue = load_records(
        {
            "family": {"knot-50": family},
            "machine": {
                "it": machine,
                "changed": changed,
                "measured": {**changed, "idler_seats": ["st-14"]},
                "other": {**changed, "idler_seats": ["SG-99"]},
            },
            "gear-set": {id_: {**shared, **fields} for id_, fields in sets.items()},
        }
    )
    said = {
        id_: [
            one.judgement.verdict
            for one in match(subject_of(catalogue, id_), Request(band="any")).combinations
            if [entry.id for entry in one.sets] == ["B"]
        ]
        for id_ in catalogue.machines
    }
    assert said == {"it": ["fits"], "changed": ["unproven"], "measured": ["fits"], "other": []}


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
    assert (subject.known_trains, subject.unknown_make) == ((), {"single"})
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


def _opened(seats: Sequence[str] | None) -> Subject:
    """The demo's machine with the gearbox open, asked by its counts."""
    counted = subject_from_counts(
        demo_catalogue(),
        "dunlin-50",
        read_train("15/40,14/55"),
        housing_name="short",
        tune_name="stock",
        wheel_size_in=10,
    )
    return counted if seats is None else with_idler_seats(counted, seats)


def test_a_seat_given_with_the_counts_counts_as_one_on_record() -> None:
    def listed(subject: Subject) -> list[tuple[object, ...]]:
        return [
            (*(entry.id for entry in one.sets), one.judgement)
            for one in match(subject, Request(band="any")).combinations
        ]

    by_counts = _opened([" st 14 "])
    assert listed(by_counts) == listed(subject_of(by_counts.catalogue, "dunlin-ten-opened"))
    assert listed(by_counts) != listed(_opened(None))
    assert listed(_opened(["?"])) == listed(_opened(None))
    recorded = with_idler_seats(subject_of(by_counts.catalogue, "dunlin-ten-opened"), ["ST-99"])
    assert listed(recorded) == listed(_opened(["ST-99"]))  # it overrides the record


def test_a_seat_that_nothing_on_file_has_is_said() -> None:
    assert not any("code is right" in said for said in _opened(["ST-14"]).told)
    (said,) = [said for said in _opened(["ST-41"]).told if "code is right" in said]
    assert "idler seat ST-41" in said


def test_a_seat_that_nobody_measured_is_not_said_to_be_measured() -> None:
    assert any("as measured" in said for said in _opened(["ST-14"]).told)
    assert _opened(["?"]).told == _opened(None).told


@pytest.mark.parametrize("seats", [["ST-14", "ST-15"], [""], [" "]])
def test_seats_that_the_train_has_not_are_refused(seats: list[str]) -> None:
    with pytest.raises(UsageError, match="dunlin-50 has 1 seat between its stages; give a code"):
        _opened(seats)
