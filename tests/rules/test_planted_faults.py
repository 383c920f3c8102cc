"""`check` on the two catalogues made for it: the demo stays free of errors, the faulty one is not.

The table of planted faults is the faulty catalogue's own README; nothing outside the project judges
here, since what counts as a fault of the data is this project's rule.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from fitcheck.catalogue.reader import load
from fitcheck.diagnostics.finding import Finding
from fitcheck.rules.checks import check

ROOT = Path(__file__).parents[2]
FAULTY = ROOT / "tests" / "data" / "faulty-catalog"

PLANTED = {
    "MA-1601": ["FC201"],
    "MA-1602": ["FC202"],
    "MA-1545-B": ["FC212"],
    "GW-501-X": ["FC213"],
    "MA-1604": ["FC231"],
    "MA-1605": ["FC251"],
    "MA-1606": ["FC261"],
    "MA-1607": ["FC241"],
    "MA-1608": ["FC102"],
    "MA-1609": ["FC203"],
    "MA-1610": ["FC207"],
    "MA-1999": ["FC207"],
    "MA-1545": ["FC304"],
    "GW-501": ["FC305"],
    "MA-1700": ["FC306"],
    "MA-21553": ["FC303"],
    "": ["FC301", "FC302", "FC308"],
    "MA-7106": ["FC216"],
    "MA-7107": ["FC201"],
    "MA-7108": ["FC113"],
    "dunlin-lost": ["FC204", "FC206"],
    "m-120-700-12": ["FC291"],
    "m-130-70-13": ["FC292"],
    "m-120-70-10": ["FC293"],
    "m-80-90-10": ["FC294"],
}

KEPT_IN_THE_DEMO = {
    "SB-0012",
    "SB-0026",
    "SB-0028",
    "SA-107-N",
    "GW-20-103",
    "GW-21-107",
    "GW-31-103",
    "GW-40-103",
    "CG-40.03",
    "CG-40.04",
    "CG-40.27",
    "dunlin-ten-regeared",
    "dunlin-ten-opened",
    "sanderling-mixed",
}


@pytest.fixture(scope="module")
def faults() -> list[Finding]:
    return check(load(FAULTY))


def test_each_planted_fault_is_found_and_nothing_else(faults: list[Finding]) -> None:
    found: dict[str, list[str]] = {}
    for finding in faults:
        found.setdefault(finding.record or "", []).append(finding.code)
    assert {record: sorted(codes) for record, codes in found.items()} == PLANTED


def test_each_stands_below_its_comment(faults: list[Finding]) -> None:
    for finding in faults:
        path = Path(finding.span.path)
        if path.suffix == ".jsonl":  # a ledger holds no comments; its README tells the lines
            continue
        lines = (path if path.is_absolute() else Path.cwd() / path).read_text("utf-8").splitlines()
        above = lines[: finding.span.line - 1]
        last = max(i for i, line in enumerate(above) if line.lstrip().startswith("# planted:"))
        assert len([line for line in above[last:] if re.match(r"  \S", line)]) <= 2, finding.message


def test_near_names_are_offered(faults: list[Finding]) -> None:
    offered = {f.record: f.suggestion for f in faults if f.suggestion is not None}
    assert offered.get("MA-1601") == "dunlin-50"
    assert offered.get("MA-1602") == "short"
    assert offered.get("MA-1608") == "interfaces"
    assert offered.get("MA-1609") == "marram"


def test_readme_of_the_faulty_catalogue_lists_them() -> None:
    text = (FAULTY / "README.md").read_text(encoding="utf-8")
    assert set(PLANTED) - {""} <= set(re.findall(r"`([\w.-]+)`", text))


def test_demo_has_no_errors_and_only_the_known_findings() -> None:
    found = check(load(ROOT / "catalog"))
    assert {finding.record for finding in found} == KEPT_IN_THE_DEMO
    assert [f.message for f in found if f.severity == "error"] == []
    readme = (ROOT / "catalog" / "README.md").read_text(encoding="utf-8")
    for record in KEPT_IN_THE_DEMO:
        assert f"`{record}`" in readme
