"""What a list files a set under, beside the families somebody vouches for."""

from __future__ import annotations

import pytest

HEAD = "kind: gear-set\ndefaults: {supplier: marram}\nrecords:\n"
KNOT = {
    "families/more.yaml": """\
kind: family
records:
  knot-50:
    name: Knot 50
    housings: {one: {name: one case}}
    stages: {primary: {}, secondary: {}}
    factory_trains:
      - housing: one
        wheel_size_in: 16
        pairs: {primary: 14/45, secondary: 13/48}
        models: [Knot Grand]
"""
}


def test_wheel_sizes_of_the_claim_else_of_the_words(marked) -> None:
    found = marked(
        KNOT
        | {
            "sets/more.yaml": HEAD
            + """\
  MA-1:
    part_number: "1"
    pairs: {primary: 15/41}
    fits: [{family: dunlin-50}]
    listed_for:
      wheel_size_in: <FC241>16
  MA-2:
    part_number: "2"
    pairs: {primary: 15/41}
    fits: [{family: dunlin-50}, {family: knot-50}]
    listed_for: {wheel_size_in: 16}
  MA-3:
    part_number: "3"
    pairs: {primary: 15/41}
    listed_for: {models: [Knot Grand], wheel_size_in: <FC241>12}
  MA-4:
    part_number: "4"
    pairs: {primary: 15/41}
    listed_for: {models: [Some Other], wheel_size_in: 12}
"""
        }
    )
    assert "10 or 12 in" in found[0].message


def test_model_words_of_another_family(marked) -> None:
    marked(
        KNOT
        | {
            "sets/more.yaml": HEAD
            + """\
  MA-1:
    part_number: "1"
    pairs: {primary: 15/41}
    fits: [{family: dunlin-50}]
    listed_for: {models: [Some Other, <FC242>Knot Grand]}
  MA-2:
    part_number: "2"
    pairs: {primary: 15/40}
    fits: [{family: dunlin-50}]
    listed_for: {models: [knot-grand, dunlin ten]}
  MA-3:
    part_number: "3"
    pairs: {primary: 15/40}
    listed_for: {models: [Knot Grand]}
"""
        }
    )


def test_words_answered_for_another_suppliers_list_say_nothing(marked) -> None:
    supplier = """\
kind: supplier
records:
  {}:
    name: {}
    list_mapping: {{model_words: {{Zig: {}}}}}
"""
    marked(
        KNOT
        | {
            "suppliers/one.yaml": supplier.format("saltwort", "Saltwort", "knot-50"),
            "suppliers/two.yaml": supplier.format("thrift", "Thrift", "dunlin-50"),
            "sets/more.yaml": """\
kind: gear-set
records:
  S-1:
    supplier: saltwort
    part_number: "1"
    pairs: {primary: 15/41}
    fits: [{family: dunlin-50}]
    listed_for: {models: [<FC242>Zig], wheel_size_in: 12}
  T-1:
    supplier: thrift
    part_number: "2"
    pairs: {primary: 15/41}
    fits: [{family: dunlin-50}]
    listed_for: {models: [Zig], wheel_size_in: 12}
  M-1:
    supplier: marram
    part_number: "3"
    pairs: {primary: 15/40}
    fits: [{family: dunlin-50}]
    listed_for: {models: [Zig], wheel_size_in: 12}
""",
        }
    )


ANSWERED = """\
kind: supplier
records:
  marram:
    name: Marram
    list_mapping:
      model_words:
        <FC243>Snipe Sprot: dunlin-50
        Snipe 70: dunlin-50
        Dunlin Tem: dunlin-50
        Ruff Classic: null
        Godwit Gran: null
        Godwit Grand: null
        Stint: dunlin-50
        Kn4t: null
"""


def test_answered_words_beside_those_that_sets_are_listed_for(marked) -> None:
    """Of other digits, a family's, listed, answered otherwise or too short: no slip."""
    (found,) = marked(
        {
            "suppliers/marram.yaml": ANSWERED,
            "suppliers/reed.yaml": "kind: supplier\nrecords:\n  reed: {name: Reed}\n",
            "sets/more.yaml": HEAD
            + """\
  MA-1:
    part_number: "1"
    pairs: {primary: 15/43}
    listed_for: {models: [Snipe Sport, Snipe 50, Dunlin Ten, Stint, Knot, Godwit Grand]}
  RE-1:
    supplier: reed
    part_number: "1"
    pairs: {primary: 15/42}
    listed_for: {models: [Ruff Clasic]}
""",
        }
    )
    assert found.suggestion == "Snipe Sport"
    assert "nothing of marram is listed for “Snipe Sprot”, but MA-1 is" in found.message


@pytest.mark.parametrize(
    ("words", "told"),
    [
        # One word in two spellings, of two stages: no reader of a list tells them apart.
        ("{primär: primary, PRIMAR: <FC244>secondary}", "“primär” for primary: one word"),
        ("{oben: primary, Stufe-2: secondary, stufe 2: <FC244>tertiary}", "“Stufe-2” for second"),
        ("{Räder: primary, Raeder: <FC244>secondary}", "“Räder” for primary: one word"),
        # The name of a stage, in five languages and with a slip, for another.
        ("{primär: <FC244>secondary}", "is a word for primary"),
        ("{primery: <FC244>tertiary}", "is a word for primary"),
        ("{coppia: primary, secondaria: <FC244>primary}", "is a word for secondary"),
        ("{Sekundärübersetzung: <FC244>primary}", "is a word for secondary"),
        ("{terziario: <FC244>secondary}", "is a word for tertiary"),
        # Words that mean another stage in another list, and such as one letter tells apart.
        ("{primär: primary, Primar: primary, final: secondary, last: tertiary}", ""),
        ("{Antrieb: primary, Abtrieb: secondary}", ""),
        ("{pair a: primary, pair b: secondary, I: primary, II: secondary, single: single}", ""),
        ("{1st: primary, 2nd: secondary, first: primary, second: secondary}", ""),
        ("{after the primary: secondary}", ""),
        ("{'*': primary, '**': secondary}", ""),
    ],
)
def test_a_word_for_a_stage_that_names_another(marked, words: str, told: str) -> None:
    text = "kind: supplier\nrecords:\n  samphire:\n    name: Samphire\n"
    text += f"    list_mapping: {{stage_words: {words}}}\n"
    found = marked({"suppliers/samphire.yaml": text})
    assert all(told in finding.message for finding in found)
