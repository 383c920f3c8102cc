"""How often machines come, read from tables and YAML; what is wrong is told with its row."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest
from openpyxl import Workbook

from fitcheck.catalogue.reader import Catalogue, load
from fitcheck.diagnostics.examples import lay_out
from fitcheck.diagnostics.finding import shown_path
from fitcheck.errors import FitcheckError
from fitcheck.services.shelf.demands import VisitsError, demands_of, read_visits

EXPECTED = {"dunlin-ten": Fraction(12), "avocet-lagoon": Fraction(7, 2), "teal": Fraction(0)}


@pytest.fixture
def no_machine(tmp_path: Path) -> Catalogue:
    """A catalogue that has no machine."""
    tune = "kind: tune\nrecords:\n  stock: {name: stock, low: 10, high: 15}\n"
    lay_out(tmp_path / "catalog", {"tunes.yaml": tune})
    return load(tmp_path / "catalog")


@pytest.mark.parametrize(
    ("name", "data"),
    [
        ("a.csv", b"machine,visits\ndunlin-ten,12\navocet-lagoon,3.5\nteal,0\n"),
        ("b.csv", b"machine;visits\r\ndunlin-ten;12\r\navocet-lagoon;3,5\r\nteal;0\r\n"),
        ("c.csv", b"dunlin-ten,12\navocet-lagoon,3.5\nteal,0\n"),
        ("d.csv", b"name,Visits,ID\nx,12,dunlin-ten\ny,3.5,avocet-lagoon\nz,0,teal\n"),
        ("e.csv", "\ufeffmachine\tvisits\ndunlin-ten\t12\navocet-lagoon\t3.5\nteal\t0\n".encode()),
        ("f.csv", "machine,visits\ndunlin-ten,12\navocet-lagoon,3.5\nteal,0".encode("utf-16")),
        ("g.yaml", b'# by till\ndunlin-ten: 12\navocet-lagoon: 3.5\n"teal": 0\n'),
        ("h.yml", b"{dunlin-ten: '12', avocet-lagoon: 3.50, teal: 0}\n"),
    ],
)
def test_tables_and_yaml_say_the_same(tmp_path: Path, name: str, data: bytes) -> None:
    path = tmp_path / name
    path.write_bytes(data)
    found = read_visits(path)
    assert found.counts == EXPECTED
    assert all(place.startswith(f"{shown_path(path)}:") for place in found.places.values())


def test_a_workbook_is_read_too(tmp_path: Path) -> None:
    book = Workbook()
    rows = [("machine", "visits"), ("dunlin-ten", 12), ("avocet-lagoon", 3.5), ("teal", 0)]
    for row in (*rows, ("smew", 2.125)):  # a number, so no mark between thousands
        book.active.append(row)
    book.save(tmp_path / "till.xlsx")
    found = read_visits(tmp_path / "till.xlsx")
    assert found.counts == {**EXPECTED, "smew": Fraction(17, 8)}
    assert found.places["teal"].endswith("!4")


@pytest.mark.parametrize(
    ("name", "text", "said"),
    [
        ("a.csv", "machine,visits\nteal,-3\n", "a.csv:2: '-3' is no number of visits"),
        ("a.csv", "machine,visits\nteal,often\n", "a.csv:2: 'often' is no number of visits"),
        ("a.csv", "machine,visits\nteal,\n", "a.csv:2: '' is no number of visits"),
        ("a.csv", "machine,visits\nteal,1e9\n", "a.csv:2: '1e9' is no number"),
        ("a.csv", "machine,visits\nteal,0.1234567\n", "at most six decimals"),
        ("a.csv", "machine,visits\n,3\n", "a.csv:2: no machine is named"),
        ("a.csv", "machine,visits\nteal,1\nteal,2\n", "a.csv:3: teal is listed twice"),
        ("a.csv", "machine,price\nteal,many\n", "a.csv:1: no column is headed machine"),
        ("a.csv", "machine\nteal\n", "a.csv:1: no column is headed machine"),
        ("a.csv", "teal,1.000\n", "a.csv:1: 1.000 may mean 1000 or 1.000; write 1000"),
        ("a.csv", "teal;2,125\n", "a.csv:1: 2,125 may mean 2125 or 2.125"),
        ("a.yaml", "teal: 1.000\n", "a.yaml:1:7: 1.000 may mean 1000"),
        ("a.csv", "machine,visits\nteal,2,5\n", "a.csv:2: '5' stands in column 3"),
        ("a.csv", "teal,2,5\n", "a.csv:1: '5' is one cell more than id and visits"),
        ("a.csv", "machine,visits,times\nteal,2,3\n", "a.csv:1: the column 'visits' is taken"),
        ("a.csv", 'machine;visits\nteal;"2\n', "a.csv:2: a quote is opened and not closed"),
        ("a.csv", "machine,visits\n", "it names no machine"),
        ("a.csv", "", "empty"),
        ("a.yaml", "teal: [1, 2]\n", "a.yaml:1:7: the visits of teal are no number"),
        ("a.yaml", "- teal\n", "no mapping of machines to visits"),
        ("a.yaml", "teal: 1\nteal: 2\n", "a.yaml:2:1"),
        ("a.yaml", "teal: 'x\n", "a.yaml:1"),
        ("a.yaml", "{}\n", "it names no machine"),
    ],
)
def test_what_is_wrong_is_told_in_one_line(
    monkeypatch: pytest.MonkeyPatch, no_machine: Catalogue, name: str, text: str, said: str
) -> None:
    monkeypatch.chdir(no_machine.root)
    Path(name).write_text(text, encoding="utf-8")
    with pytest.raises(FitcheckError) as refused:
        demands_of(no_machine, visits=read_visits(Path(name)))
    faults = getattr(refused.value, "faults", (str(refused.value),))
    assert said in faults[0]
    assert "\n" not in "".join(faults)


def test_all_faults_are_told_not_the_first_only(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, no_machine: Catalogue
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("a.csv").write_text(
        "machine,visits\nteal,-3\nteal,1\n,3\nteal-two,often\nsmew,2\n", encoding="utf-8"
    )
    with pytest.raises(VisitsError) as refused:
        demands_of(no_machine, visits=read_visits(Path("a.csv")))
    # Rows 2 to 5 are no visits; row 6 is of a machine that is not there.
    assert [fault.partition(": ")[0] for fault in refused.value.faults] == [
        f"a.csv:{row}" for row in (2, 3, 4, 5, 6)
    ]
    assert str(refused.value).startswith("5 of the visits cannot be taken")


@pytest.mark.parametrize("name", ["gone.csv", "gone.yaml"])
def test_a_missing_file_is_told(tmp_path: Path, name: str) -> None:
    with pytest.raises(FitcheckError, match="no such file"):
        read_visits(tmp_path / name)
