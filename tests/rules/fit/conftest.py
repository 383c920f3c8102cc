"""One gear set against one family: ask a rule, and hold verdict, evidence and places to a table.

Marks `<1>`, `<2>` ... in the YAML stand before the values an answer must rest on, in that order;
`<0>` stands before the set's id. They are taken out before the files are written.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

import pytest

from fitcheck.catalogue.reader import Catalogue
from fitcheck.rules.answers import Answer, Evidence, Verdict
from fitcheck.rules.setting import ListWords, Setting

MARK = re.compile(r"<(\d)>")

FAMILY = {
    "housings": "{short: {name: short case}, long: {name: long case}}",
    "stages": "{primary: {centre_distance_mm: 48.0, driver_hand: left, max_tip_diameter_mm: 78}, "
    "secondary: {centre_distance_mm: 50.0, driver_hand: right, max_tip_diameter_mm: 82}}",
    "interfaces": "{input_shaft_end: D13, idler_seats: [ST-14], output_shaft_end: H17, "
    'bearings: ["6202", "6203"]}',
    "factory_trains": "[{housing: short, wheel_size_in: 10, "
    "pairs: {primary: 13/47, secondary: 13/49}, models: [Knot Ten]}]",
}


@dataclass(frozen=True)
class Case:
    """A situation, and what a rule must say of it.

    Attributes:
        gear_set: fields of the set, in YAML, with marks.
        verdict: wanted.
        evidence: wanted, NONE unless it fits.
        says: words of the reason.
        measure: words of what to measure; None: nothing is to be measured.
        family: fields of the family that differ from `FAMILY`, with marks.
        housing: of the machine.
        at: marks of the data, in order; left out: all but `<0>`.
        unknown_make: stages whose kept pair is not known to be the factory's.
        machine: fields of the machine, with marks; None: it has no record.
        pairs: of the set; None: they stand among its fields.
        other: fields of a second set, where the rule takes two.
        other_pairs: its pairs.
    """

    gear_set: str
    verdict: Verdict
    evidence: Evidence = Evidence.NONE
    pairs: str | None = "{primary: 13/47}"
    other_pairs: str | None = "{secondary: 13/49}"
    says: str = ""
    measure: str | None = None
    family: Mapping[str, str] = field(default_factory=dict)
    housing: str | None = "short"
    at: tuple[int, ...] | None = None
    unknown_make: frozenset[str] = frozenset()
    machine: str | None = None
    other: str | None = None


@dataclass(frozen=True)
class Situation:
    """A loaded case."""

    catalogue: Catalogue
    setting: Setting
    marks: Mapping[int, str]
    case: Case

    def holds(self, answer: Answer | None) -> Answer:
        """Assert that an answer is the one the case asks for."""
        case = self.case
        assert answer is not None
        assert (answer.verdict, answer.evidence) == (case.verdict, case.evidence), answer.reason
        assert case.says in answer.reason
        assert (answer.measure is None) == (case.measure is None)
        assert (case.measure or "") in (answer.measure or "")
        wanted = case.at if case.at is not None else tuple(sorted(set(self.marks) - {0}))
        assert [datum.place for datum in answer.data] == [self.marks[mark] for mark in wanted]
        # What proves a fit, or speaks against one, always names a place.
        assert answer.data or answer.verdict is Verdict.UNPROVEN
        return answer


def set_text(set_id: str, fields: str, pairs: str | None) -> str:
    lines = [f"<0>{set_id}:", "  supplier: marram", '  part_number: "1"']
    if pairs is not None:
        lines.append(f"  pairs: {pairs}")
    lines += [f"  {line}" for line in fields.splitlines() if line.strip()]
    return "".join(f"  {line}\n" for line in lines)


def family_text(changed: Mapping[str, str]) -> str:
    fields: dict[str, Any] = {**FAMILY, **changed}
    return "kind: family\nrecords:\n  knot-50:\n    name: Knot 50\n" + "".join(
        f"    {name}: {value}\n" for name, value in fields.items() if value
    )


@pytest.fixture
def situate(load_files) -> Callable[..., Situation]:
    def run(fields: Mapping[str, Any]) -> Situation:
        case = Case(**{name: value for name, value in fields.items() if name != "name"})
        texts = {
            "set.yaml": "kind: gear-set\nrecords:\n" + set_text("S", case.gear_set, case.pairs),
            "family.yaml": family_text(case.family),
            "bystander.yaml": family_text({})
            .replace("knot-50", "stint-50")
            .replace("Knot", "Stint"),
        }
        if case.other is not None:
            texts["other.yaml"] = "kind: gear-set\nrecords:\n" + set_text(
                "T", case.other, case.other_pairs
            ).replace("<0>", "")
        if case.machine is not None:
            texts["machine.yaml"] = (
                "kind: machine\nrecords:\n  it:\n    name: it\n    family: knot-50\n"
                f"    {case.machine}\n"
            )
        marks: dict[int, tuple[str, int, int]] = {}
        plain: dict[str, str] = {}
        for name, text in texts.items():
            lines = []
            for number, line in enumerate(text.splitlines(), start=1):
                rest = line
                while (mark := MARK.search(rest)) is not None:
                    assert int(mark[1]) not in marks, "a mark stands once"
                    marks[int(mark[1])] = (name, number, mark.start() + 1)
                    rest = rest[: mark.start()] + rest[mark.end() :]
                lines.append(rest)
            plain[name] = "\n".join(lines) + "\n"
        catalogue = load_files(plain)
        assert not catalogue.findings, catalogue.findings
        paths = {path.rpartition("/")[2]: path for path in catalogue.sources}
        family = catalogue.families["knot-50"]
        setting = Setting(
            family,
            case.housing,
            family.record.train_stages,
            ListWords.of(catalogue),
            frozenset(case.unknown_make),
            catalogue.machines.get("it"),
        )
        places = {
            mark: f"{paths[name]}:{line}:{column}" for mark, (name, line, column) in marks.items()
        }
        return Situation(catalogue, setting, places, case)

    return run
