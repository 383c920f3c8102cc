"""What a fault says and what it offers: one sentence, the raw value, the way out."""

from __future__ import annotations

import pytest

from fitcheck.catalogue.reader import read_records
from fitcheck.diagnostics.examples import SET, TUNE

MACHINE = """\
kind: machine
records:
  m:
    name: m
    family: dunlin-50
    pairs: {single: 14/66}
"""

SAID = {
    "unknown field": (
        TUNE + "    strech: 16\n",
        "this kind of record has no field 'strech'",
        "did you mean stretch?",
        "stretch",
    ),
    "part number": (
        SET.replace('"1"', "007"),
        "part_number is a text, but 007 without quotes is the number 7",
        'put quotes round it: "007"',
        '"007"',
    ),
    "exponent": (
        SET.replace('"1"', "1E5"),
        "part_number is a text, but 1E5 without quotes is the number 100000",
        'put quotes round it: "1E5"',
        '"1E5"',
    ),
    "base 60": (
        SET.replace("15/44", "15:38"),
        "older readers take 15:38 without quotes for the number 938, read in base 60",
        "write 15/38",
        "15/38",
    ),
    "base 60 read elsewhere": (
        SET.replace("15/44", "938"),
        "938 is one number, perhaps 15:38 read in base 60",
        "write 15/38",
        None,
    ),
    "no": (
        SET + "    aliases: [NO]\n",
        "older readers take NO without quotes for false",
        'write "NO"',
        '"NO"',
    ),
    "comma": (
        TUNE.replace("high: 14", "high: 14,5"),
        "high must be a number, not the text '14,5'",
        "write 14.5, with a point",
        "14.5",
    ),
    "unit": (
        TUNE.replace("high: 14", "high: 14 %"),
        "high must be a number, not the text '14 %'",
        "write 14, without anything else",
        "14",
    ),
    "kind": (
        TUNE.replace("kind: tune", "kind: tunes"),
        "there is no kind 'tunes'",
        "did you mean tune?",
        "tune",
    ),
    "word": (
        SET + "    availability: in stock\n",
        "availability cannot be 'in stock'",
        "write in-stock, to-order, out-of-stock, discontinued or unknown",
        "in-stock",
    ),
    "id": (
        SET.replace("MA-1:", "MA 1:"),
        "'MA 1' is no id: a letter, then letters, digits, dots, dashes, underscores",
        "write MA-1",
        "MA-1",
    ),
    "list": (
        SET + "    also_needs: gasket\n",
        "also_needs must be a list, not the text 'gasket'",
        "write [gasket]",
        "[gasket]",
    ),
    "date": (
        SET + "    source: {date: 31.3.2026}\n",
        "date must be a date, not the text '31.3.2026'",
        "write 2026-03-31",
        "2026-03-31",
    ),
    "edges": (
        TUNE.replace("low: 8", "low: 18"),
        "low (18) is over high (14)",
        "are they swapped?",
        None,
    ),
    "item": (
        SET + "    aliases: [a, 12]\n",
        "item 2 of aliases is a text, but 12 without quotes is the number 12",
        'put quotes round it: "12"',
        '"12"',
    ),
    "missing": (
        SET.replace('    part_number: "1"\n', ""),
        "part_number is missing",
        "add it: the supplier's number, as text: quote it where it is all digits",
        None,
    ),
    "bound": (
        TUNE.replace("high: 14", "high: 1400"),
        "high is 1400; it must be at most 500",
        "check the digits, the decimal point and the unit",
        None,
    ),
    "power without its speed": (
        MACHINE + "    engine: {peak_power_kw: 3}\n",
        "peak_power_kw and peak_power_rpm belong together",
        "give both or none",
        None,
    ),
    "ratios swapped": (
        MACHINE + "    variator: {low_ratio: 0.8, high_ratio: 2.6}\n",
        "low_ratio (0.8) is the starting ratio and has to be larger than high_ratio (2.6)",
        "are they swapped?",
        None,
    ),
    "speeds swapped": (
        MACHINE
        + "    variator: {low_ratio: 2.6, high_ratio: 0.8, shift_rpm: 3500, engage_rpm: 7000}\n",
        "engage_rpm (7000) is over shift_rpm (3500)",
        "are they swapped?",
        None,
    ),
    "points out of order": (
        MACHINE + "    engine: {points: [{rpm: 7000, torque_nm: 4}, {rpm: 6000, power_kw: 3}]}\n",
        "points do not rise, since item 2 has 6000 1/min after 7000",
        "put them in order of engine speed, each speed once",
        None,
    ),
    "point without a figure": (
        MACHINE + "    engine: {points: [{rpm: 6000}, {rpm: 7000, power_kw: 3}]}\n",
        "this point has neither power_kw nor torque_nm",
        "give one of them",
        None,
    ),
    "hardly a mass": (
        MACHINE + "    masses: {running_order_kg: 8}\n",
        "running_order_kg is 8; it must be at least 20",
        "check the digits, the decimal point and the unit",
        None,
    ),
    "a mass in tonnes": (
        MACHINE + "    masses: {running_order_kg: 5000}\n",
        "running_order_kg is 5000; it must be at most 1000",
        "check the digits, the decimal point and the unit",
        None,
    ),
    "belt and fixed ratio": (
        MACHINE + "    fixed_ratio: 3\n    variator: {low_ratio: 2.6, high_ratio: 0.8}\n",
        "fixed_ratio and variator exclude each other",
        "a machine with a belt variator has no fixed ratio before the gearbox",
        None,
    ),
    "many lines": (
        TUNE.replace("high: 14", 'high: "a\n\n\n      b"'),
        "high must be a number, not the text 'a\\\\n\\\\nb'",
        "write a number",
        None,
    ),
}


@pytest.mark.parametrize("name", SAID)
def test_a_fault_is_said_in_plain_words(name, tmp_path):
    text, message, advice, suggestion = SAID[name]
    path = tmp_path / "a.yaml"
    path.write_text(text)
    _, findings = read_records(path)
    assert [(each.message, each.help, each.suggestion) for each in findings] == [
        (message, advice, suggestion)
    ]


def test_a_suggestion_put_in_place_mends_the_file(tmp_path):
    """Every suggestion above that stands for a whole value or key is tried in the file itself."""
    tried = 0
    for text, _, _, suggestion in SAID.values():
        if suggestion is None:
            continue
        path = tmp_path / "a.yaml"
        path.write_text(text)
        (finding,) = read_records(path)[1]
        lines = text.split("\n")
        row, first, last = (
            finding.span.line - 1,
            finding.span.column - 1,
            finding.span.end_column - 1,
        )
        lines[row] = lines[row][:first] + suggestion + lines[row][last:]
        path.write_text("\n".join(lines))
        assert read_records(path)[1] == (), suggestion
        tried += 1
    assert tried > 9


def test_two_fields_that_disagree_show_both_places(tmp_path):
    path = tmp_path / "a.yaml"
    path.write_text(TUNE.replace("low: 8", "low: 18"))
    (finding,) = read_records(path)[1]
    assert (finding.span.line, finding.span.column) == (6, 5)
    assert [(each.span.line, each.label) for each in finding.related] == [(5, "low stands here")]


def test_a_repeated_key_shows_the_first(tmp_path):
    path = tmp_path / "a.yaml"
    path.write_text(TUNE + "    high: 15\n")
    entries, (finding,) = read_records(path)
    assert (finding.span.line, finding.related[0].span.line) == (7, 6)
    assert entries[0].record.high == 14
