"""The catalogues that travel with the project, and all checks together."""

from __future__ import annotations

import random
import re
from pathlib import Path

from fitcheck.catalogue.reader import load
from fitcheck.diagnostics.examples import BASE, explanations, lay_out
from fitcheck.diagnostics.finding import sort_key
from fitcheck.rules.checks import check
from fitcheck.services.upkeep.checking import check_catalogue
from tests.conftest import EXPLORE, some

ROOT = Path(__file__).parents[3]
FAULTY = ROOT / "tests" / "data" / "faulty-catalog"

# Record of the faulty catalogue to the codes of the fault planted there.
PLANTED = {
    "MA-1601": ["unknown-family"],
    "MA-1602": ["unknown-housing"],
    "MA-1545-B": ["same-part-twice"],
    "GW-501-X": ["number-with-other-teeth"],
    "MA-1604": ["set-fits-no-train"],
    "MA-1605": ["centre-distance-impossible"],
    "MA-1606": ["price-off-by-ten"],
    "MA-1607": ["listing-wheel-size"],
    "MA-1608": ["unknown-field"],
    "MA-1609": ["unknown-supplier"],
    "MA-1610": ["unknown-gear-set"],
    "MA-7106": ["repeated-kit-number"],
    "MA-7107": ["unknown-family"],
    "MA-7108": ["fields-disagree"],
    "dunlin-lost": ["unknown-tyre", "unknown-tune"],
    "m-120-700-12": ["unreadable-tyre-size"],
    "m-130-70-13": ["tyre-size-unlike-rim"],
    "m-120-70-10": ["roll-out-far-from-rule"],
    "m-80-90-10": ["speed-symbol-unlike-size"],
    "MA-1999": ["unknown-gear-set"],
    "MA-1545": ["shelf-unlike-ledger"],
    "GW-501": ["shelf-details-unlike-ledger"],
    "MA-1700": ["unknown-part-in-ledger"],
    "MA-21553": ["ledger-chain-broken"],
    None: ["ledger-line-unreadable", "ledger-torn-line", "ledger-lines-missing"],
}


def test_the_demo_is_free_of_errors() -> None:
    findings = check(load(ROOT / "catalog"))
    assert [f"{f.span} {f.message}" for f in findings if f.severity == "error"] == []


def test_every_planted_fault_is_found_once_and_nothing_else() -> None:
    found: dict[str | None, list[str]] = {}
    for finding in check(load(FAULTY)):
        found.setdefault(finding.record, []).append(finding.name)
    assert found == PLANTED


def test_every_planted_fault_stands_below_its_mark() -> None:
    marks = {
        (path.relative_to(FAULTY).as_posix(), number)
        for path in FAULTY.rglob("*.yaml")
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), start=1)
        if re.match(r"\s*# planted: ", line)
    }
    hit = set()
    for finding in check(load(FAULTY)):
        path = Path(finding.span.path).resolve().relative_to(FAULTY).as_posix()
        if path.endswith(".jsonl"):  # a ledger holds no comments
            continue
        hit.add(max(m for m in marks if m[0] == path and m[1] < finding.span.line))
    assert hit == marks


def test_reading_and_catalogue_findings_come_in_one_order(tmp_path: Path) -> None:
    spoilt = {"tunes.yaml": BASE["tunes.yaml"] + "    colour: blue\n"}
    lay_out(tmp_path, BASE, explanations()["FC201"].bad, explanations()["FC282"].bad, spoilt)
    findings = check(load(tmp_path))
    assert [f.code for f in findings] == ["FC282", "FC201", "FC102"]
    assert findings == sorted(findings, key=sort_key)


def test_every_finding_names_field_and_place(tmp_path: Path) -> None:
    for code, told in explanations().items():
        if code < "FC2":
            continue
        folder = tmp_path / code
        lay_out(folder, BASE, told.bad)
        catalogue = load(folder)
        (finding,) = check_catalogue(catalogue)
        source = catalogue.sources.get(finding.span.path)
        if source is None:
            assert finding.span.path.endswith("shelf.ledger.jsonl")
        else:
            on_key = source.span(finding.field, key=True)
            assert finding.span in (source.span(finding.field), on_key)
        assert finding.help is not None
        assert not finding.message.endswith(".")
        assert "\n" not in finding.message + finding.help


def test_fingerprints_stay_when_lines_move(tmp_path: Path) -> None:
    for code, told in some(list(explanations().items()), 20):
        if code < "FC2":
            continue
        folder = tmp_path / code
        lay_out(folder, BASE, told.bad)
        (before,) = check(load(folder))
        for path in folder.rglob("*.yaml"):
            path.write_text("# moved\n" + path.read_text(encoding="utf-8"), encoding="utf-8")
        (after,) = check(load(folder))
        moved = 0 if after.span.path.endswith(".jsonl") else 1
        assert after.span.line == before.span.line + moved
        assert after.fingerprint == before.fingerprint


def test_no_spoilt_catalogue_stops_the_checks(tmp_path: Path) -> None:
    """Values swapped between records and lines lost at random: findings, never a crash."""
    files = {
        path.relative_to(ROOT / "catalog").as_posix(): path.read_text(encoding="utf-8")
        for path in (ROOT / "catalog").rglob("*.yaml")
    }
    chance = random.Random(20261125)
    values: dict[str, list[str]] = {}
    for text in files.values():
        for line in text.split("\n"):
            field, colon, value = line.partition(": ")
            if colon:
                values.setdefault(field.strip(), []).append(value)
    for turn in range(12 if EXPLORE else 2):
        folder = tmp_path / str(turn)
        lay_out(folder, {name: _spoilt(text, values, chance) for name, text in files.items()})
        found = {finding.code for finding in check(load(folder))}
        assert len({code for code in found if code >= "FC2"}) >= 10


def _spoilt(text: str, values: dict[str, list[str]], chance: random.Random) -> str:
    lines = []
    for line in text.split("\n"):
        field, colon, _ = line.partition(": ")
        dice = chance.random()
        if colon and dice < 0.08:
            lines.append(f"{field}: {chance.choice(values[field.strip()])}")
        elif dice > 0.001:
            lines.append(line)
    return "\n".join(lines)
