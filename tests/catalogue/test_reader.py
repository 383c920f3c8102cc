"""Folders and files to records: order, defaults, ids, places, and what is left out."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from fitcheck.catalogue import locate, reader
from fitcheck.catalogue.reader import load, read_records
from fitcheck.diagnostics.examples import BASE, SET, TUNE, lay_out
from fitcheck.diagnostics.finding import shown_path, sort_key
from fitcheck.errors import UnreadableError
from fitcheck.kernel.teeth import Pair
from fitcheck.model.fields import is_id


def codes(folder) -> list[str]:
    return [f"{each.span.path.rsplit('/')[-1]} {each.code}" for each in load(folder).findings]


def test_a_good_catalogue_gives_its_records(tmp_path):
    lay_out(tmp_path, BASE)
    catalogue = load(tmp_path)
    assert catalogue.root == tmp_path
    assert not catalogue.is_demo
    entry = catalogue.gear_sets["MA-1544"]
    assert entry.record.pairs == {"primary": Pair(15, 44)}
    assert entry.record.price == Decimal("64.90")
    assert str(entry.record.price) == "64.90"
    assert entry.record.supplier == "marram"
    assert catalogue.machines["blue-dunlin"].record.family == "dunlin-50"
    assert len(catalogue.sources) == len(BASE)
    assert catalogue.unread == ()


def test_an_entry_knows_where_each_value_stands(tmp_path):
    lay_out(tmp_path, BASE)
    entry = load(tmp_path).gear_sets["MA-1447"]
    path = entry.source.path
    assert entry.place() == f"{path}:12:3"
    assert entry.place("pairs", "secondary") == f"{path}:14:24"
    assert entry.place("fits", 0, "housings", 0) == f"{path}:16:40"
    assert str(entry.span("fits", 0, "family", key=True)) == f"{path}:16:10"
    # what came from defaults stands there
    assert entry.place("supplier") == f"{path}:3:13"
    assert entry.place("source", "date") == f"{path}:4:44"
    assert entry.document_path("source", "date") == ("defaults", "source", "date")
    # what is not given at all: the record's id
    assert entry.place("geometry", "secondary") == f"{path}:12:3"


def test_a_value_of_the_record_wins_over_defaults(tmp_path):
    text = SET.replace("marram}", "marram, currency: SEK, source: {row: 1, list: a}}")
    text += "    currency: EUR\n    source: {row: 7}\n"
    (tmp_path / "a.yaml").write_text(text)
    entry = load(tmp_path).gear_sets["MA-1"]
    assert entry.record.currency == "EUR"
    assert entry.record.source.row == 7
    assert entry.record.source.list is None  # the whole field is the record's own
    assert entry.place("currency").endswith(":7:15")


SUPPLIERS = "kind: supplier\nrecords:\n  marram: {name: Marram, currency: CHF}\n"
VARIATOR = """\
kind: variator
records:
  V-1: {supplier: marram, part_number: v1, fits: [dunlin-50], low_ratio: 2.9, high_ratio: 0.9}
"""


@pytest.mark.parametrize(
    ("suppliers", "defaults", "own", "settled"),
    [
        ("", "", "", "EUR"),
        (SUPPLIERS.replace("marram:", "cordgrass:"), "", "", "EUR"),
        (SUPPLIERS.replace(", currency: CHF", ""), "", "", "EUR"),
        (SUPPLIERS, "", "", "CHF"),
        (SUPPLIERS, ", currency: SEK", "", "SEK"),
        (SUPPLIERS, ", currency: SEK", "    currency: EUR\n", "EUR"),
        (SUPPLIERS, "", "    currency: EUR\n", "EUR"),
        (SUPPLIERS, ", currency: EUR", "", "EUR"),
    ],
)
def test_the_currency_is_the_sets_its_files_its_suppliers_or_the_euro(
    tmp_path, suppliers, defaults, own, settled
):
    (tmp_path / "a.yaml").write_text(SET.replace("marram}", f"marram{defaults}}}") + own)
    # Files are read by name: the suppliers come before the sets, or behind them.
    for name in ("0.yaml", "z.yaml"):
        if suppliers:
            (tmp_path / name).write_text(suppliers)
        catalogue = load(tmp_path)
        assert catalogue.gear_sets["MA-1"].record.currency == settled
        (tmp_path / name).unlink(missing_ok=True)


def test_the_currency_is_settled_again_where_a_catalogue_is_changed(tmp_path):
    for name, text in (("a.yaml", SET), ("b.yaml", SUPPLIERS), ("c.yaml", VARIATOR)):
        (tmp_path / name).write_text(text)
    catalogue = load(tmp_path)
    assert catalogue.variators["V-1"].record.currency == "CHF"
    entry = catalogue.suppliers["marram"]
    pounds = replace(entry, record=entry.record.model_copy(update={"currency": "GBP"}))
    changed = replace(catalogue, suppliers={"marram": pounds})
    assert changed.gear_sets["MA-1"].record.currency == "GBP"
    assert changed.gear_sets["MA-1"].record.model_fields_set == (
        catalogue.gear_sets["MA-1"].record.model_fields_set
    )


def test_a_fault_in_defaults_is_told_once(tmp_path):
    records = "".join(
        f'  MA-{n}: {{part_number: "{n}", pairs: {{primary: 15/44}}}}\n' for n in range(2, 9)
    )
    (tmp_path / "a.yaml").write_text(SET.replace("marram}", "marram, currency: x}") + records)
    catalogue = load(tmp_path)
    assert [(each.code, each.field, each.record) for each in catalogue.findings] == [
        ("FC111", ("defaults", "currency"), None)
    ]
    assert len(catalogue.gear_sets) == 0
    assert len(catalogue.failed["gear-set"]) == 8


def test_a_wrong_record_does_not_hide_the_others(tmp_path):
    (tmp_path / "a.yaml").write_text(TUNE + "  kit: {name: kit, low: x, high: 3}\n" + "  race: 3\n")
    catalogue = load(tmp_path)
    assert list(catalogue.tunes) == ["pipe"]
    assert list(catalogue.failed["tune"]) == ["kit", "race"]
    assert str(catalogue.failed["tune"]["kit"]).endswith("a.yaml:7:3")


def test_a_broken_file_does_not_hide_the_others(tmp_path):
    (tmp_path / "a.yaml").write_text(TUNE.replace("pipe", "a") + "    x: [\n")
    (tmp_path / "b.yaml").write_text(TUNE.replace("pipe", "b"))
    (tmp_path / "c.yaml").write_bytes(b"\xff\xfe")
    (tmp_path / "d.yaml").write_text(TUNE.replace("pipe", "d").replace("tune", "toon"))
    assert codes(tmp_path) == ["a.yaml FC005", "c.yaml FC003", "d.yaml FC018"]
    catalogue = load(tmp_path)
    assert list(catalogue.tunes) == ["b"]
    assert [each.rsplit("/")[-1] for each in catalogue.unread] == ["a.yaml", "c.yaml", "d.yaml"]


def test_ids_are_unique_over_all_files_ignoring_case(tmp_path):
    (tmp_path / "a.yaml").write_text(TUNE)
    (tmp_path / "b.yaml").write_text(TUNE.replace("  pipe:", "  Pipe:"))
    (tmp_path / "c.yaml").write_text(TUNE)
    catalogue = load(tmp_path)
    found = [(str(each.span), str(each.related[0].span)) for each in catalogue.findings]
    a, b, c = (shown_path(tmp_path / name) for name in ("a.yaml", "b.yaml", "c.yaml"))
    assert found == [(f"{b}:3:3", f"{a}:3:3"), (f"{c}:3:3", f"{a}:3:3")]
    assert {each.code for each in catalogue.findings} == {"FC110"}
    assert catalogue.tunes["pipe"].source.path == a


def test_one_id_may_serve_two_kinds(tmp_path):
    lay_out(tmp_path, BASE)
    catalogue = load(tmp_path)
    assert "MA-1544" in catalogue.gear_sets
    assert "MA-1544" in catalogue.shelf


def test_a_wrong_record_still_holds_its_id(tmp_path):
    (tmp_path / "a.yaml").write_text(TUNE.replace("low: 8", "low: x"))
    (tmp_path / "b.yaml").write_text(TUNE)
    assert codes(tmp_path) == ["a.yaml FC104", "b.yaml FC110"]


def test_files_are_read_in_an_order_that_ignores_case(tmp_path):
    for name in ("b.yaml", "A.yml", "C.YAML", "sub/a.yaml", "_draft.yaml", ".hidden.yaml"):
        (tmp_path / name).parent.mkdir(exist_ok=True)
        stem = name.lower().replace("/", "-").split(".")[0] or "hidden"
        (tmp_path / name).write_text(TUNE.replace("  pipe:", f"  x-{stem}:"))
    (tmp_path / "notes.txt").write_text("not ours")
    (tmp_path / "_old").mkdir()
    (tmp_path / "_old" / "x.yaml").write_text("{{{")
    catalogue = load(tmp_path)
    assert list(catalogue.tunes) == ["x-a", "x-b", "x-c", "x-sub-a"]
    assert catalogue.findings == ()


def test_findings_are_sorted_by_place(tmp_path):
    lay_out(tmp_path, BASE, {"tunes.yaml": "kind: tune\nrecords:\n  a: 3\n  b: 4\nfoo: 1\n"})
    findings = load(tmp_path).findings
    assert len(findings) == 3
    assert list(findings) == sorted(findings, key=sort_key)


@pytest.mark.parametrize("content", [{}, {"readme.md": "x"}, {"_a.yaml": TUNE}])
def test_a_folder_without_a_catalogue_file_cannot_be_read(tmp_path, content):
    lay_out(tmp_path, content)
    with pytest.raises(UnreadableError, match="no catalogue files here"):
        load(tmp_path)


def test_a_folder_named_like_a_file_is_named_and_not_entered(tmp_path):
    lay_out(tmp_path, {"a.yaml": TUNE, "x.yaml/b.yaml": "{{{"})
    assert codes(tmp_path) == ["x.yaml FC001"]


def test_links_that_lead_in_a_circle_end(tmp_path):
    lay_out(tmp_path, {"sub/a.yaml": TUNE})
    (tmp_path / "sub" / "up").symlink_to(tmp_path)
    (tmp_path / "sub" / "self.yaml").symlink_to("self.yaml")
    (tmp_path / "again").symlink_to(tmp_path / "sub")
    (tmp_path / "loop").symlink_to("loop")
    (tmp_path / "stick").symlink_to(tmp_path / "not plugged in")
    (tmp_path / "_old").symlink_to("_old")
    catalogue = load(tmp_path)
    found = ["loop FC001", "self.yaml FC001", "stick FC001", "sub FC001", "up FC001"]
    assert sorted(codes(tmp_path)) == found
    assert list(catalogue.tunes) == ["pipe"]


def test_folders_nested_without_end_are_left(tmp_path):
    kept = "d/" * locate.MAX_FOLDERS_DEEP
    lay_out(tmp_path, {f"{kept}a.yaml": TUNE, f"{kept}d/b.yaml": TUNE.replace("pipe", "kit")})
    catalogue = load(tmp_path)
    assert list(catalogue.tunes) == ["pipe"]
    (finding,) = catalogue.findings
    assert (finding.code, finding.span.path) == ("FC002", shown_path(tmp_path / f"{kept}d"))
    assert "nested more than 40 deep" in finding.message


def test_whether_a_folder_holds_a_catalogue_is_seen_at_its_first_file(tmp_path, monkeypatch):
    lay_out(tmp_path, {"a/x.txt": "", "b/y.yaml": TUNE, "c/z.yaml": TUNE})
    entered = []
    enter = locate._Walk.enter
    monkeypatch.setattr(
        locate._Walk,
        "enter",
        lambda walk, path, depth=0: (entered.append(path.name), enter(walk, path, depth)),
    )
    assert locate.holds_catalogue(tmp_path)
    assert entered == [tmp_path.name, "a", "b"]
    assert not locate.holds_catalogue(tmp_path / "a")
    assert not locate.holds_catalogue(tmp_path / "gone")


def test_a_link_to_a_folder_elsewhere_is_followed(tmp_path):
    lay_out(tmp_path, {"there/a.yaml": TUNE, "here/b.yaml": TUNE.replace("pipe", "kit")})
    (tmp_path / "here" / "more").symlink_to(tmp_path / "there")
    assert sorted(load(tmp_path / "here").tunes) == ["kit", "pipe"]


def test_a_file_that_may_not_be_read_is_named(tmp_path, monkeypatch):
    lay_out(tmp_path, {"a.yaml": TUNE, "b.yaml": TUNE.replace("pipe", "kit")})
    from pathlib import Path

    real = Path.open

    def refusing(self, *arguments, **options):
        if self.name == "b.yaml":
            raise PermissionError(13, "Permission denied")
        return real(self, *arguments, **options)

    monkeypatch.setattr(Path, "open", refusing)
    catalogue = load(tmp_path)
    assert [(each.code, each.message) for each in catalogue.findings] == [
        ("FC001", "the file cannot be read (permission denied)")
    ]
    with pytest.raises(UnreadableError, match=r"b\.yaml: the file cannot be read"):
        load(tmp_path / "b.yaml")


def test_too_many_files_are_refused(tmp_path, monkeypatch):
    monkeypatch.setattr(locate, "MAX_FILES", 3)
    lay_out(tmp_path, {f"t{n}.yaml": TUNE.replace("  pipe", f"  p{n}") for n in range(9)})
    catalogue = load(tmp_path)
    assert [each.code for each in catalogue.findings] == ["FC002"]
    assert len(catalogue.tunes) == 3


def test_too_many_records_are_refused(tmp_path, monkeypatch):
    monkeypatch.setattr(reader, "MAX_RECORDS", 3)
    lay_out(tmp_path, {f"t{n}.yaml": TUNE.replace("  pipe", f"  p{n}") for n in range(9)})
    catalogue = load(tmp_path)
    assert [each.code for each in catalogue.findings] == ["FC002"]
    assert len(catalogue.tunes) == 3


def test_one_file_is_loaded_alone(tmp_path):
    lay_out(tmp_path, BASE)
    path = tmp_path / "machines" / "counter.yaml"
    entries, findings = read_records(path)
    assert [(each.kind, each.id) for each in entries] == [("machine", "blue-dunlin")]
    assert findings == ()
    assert list(load(path).machines) == ["blue-dunlin"]


def test_a_missing_file_is_said_in_one_line(tmp_path):
    for read in (load, read_records):
        with pytest.raises(UnreadableError) as caught:
            read(tmp_path / "missing.yaml")
        assert "\n" not in str(caught.value)


def test_a_fingerprint_survives_a_moved_line(tmp_path):
    path = tmp_path / "a.yaml"
    path.write_text(TUNE.replace("low: 8", "low: x"))
    (before,) = load(path).findings
    path.write_text("# a comment\n\n" + TUNE.replace("low: 8", "low: x"))
    (after,) = load(path).findings
    assert before.span != after.span
    assert before.fingerprint == after.fingerprint


def test_the_form_of_an_id():
    assert is_id("MA-15.44_b")
    assert not is_id("MA 1")
    assert not is_id("MA-1\n")
    assert not is_id("a" * 61)


def test_a_flood_of_faults_is_cut_off(tmp_path, monkeypatch):
    monkeypatch.setattr(reader, "MAX_FINDINGS", 5)
    (tmp_path / "a.yaml").write_text(
        "kind: tune\nrecords:\n" + "".join(f"  t{n}: {{low: 1}}\n" for n in range(9))
    )
    catalogue = load(tmp_path)
    assert sorted(each.code for each in catalogue.findings) == ["FC002"] + ["FC103"] * 5
    assert len(catalogue.failed["tune"]) == 9


def test_a_flood_of_advice_is_cut_off(tmp_path, monkeypatch):
    monkeypatch.setattr(reader, "MAX_FINDINGS", 5)
    (tmp_path / "a.yaml").write_text(SET + "    aliases: [" + "no, " * 9 + "]\n")
    catalogue = load(tmp_path)
    assert [each.code for each in catalogue.findings] == ["FC114"] * 5
    assert len(catalogue.gear_sets["MA-1"].record.aliases) == 9
