"""One part under two records, and one number for two parts."""

from __future__ import annotations

HEAD = "kind: gear-set\ndefaults: {supplier: marram}\nrecords:\n"
SUPPLIER = {"suppliers/more.yaml": "kind: supplier\nrecords:\n  glasswort: {name: Glasswort}\n"}


def test_numbers_and_aliases_with_other_teeth_and_the_same(marked) -> None:
    found = marked(
        {
            "sets/more.yaml": HEAD
            + """\
  MA-1: {part_number: <FC213>"15 44", pairs: {primary: 15/43}}
  MA-2: {part_number: "2", aliases: ["2-A", <FC213>"1447"], pairs: {secondary: 15/47}}
  MA-3: {part_number: <FC214>"2-a", pairs: {secondary: 15/47}}
"""
        }
    )
    assert found[0].related[0].span.path.endswith("sets/marram.yaml")
    assert found[0].message == (
        "number 15 44 of marram is MA-1544 with primary 15/44, here with primary 15/43"
    )


def test_a_number_is_its_suppliers_own_and_retired_sets_keep_theirs(marked) -> None:
    marked(
        SUPPLIER
        | {
            "sets/more.yaml": HEAD
            + """\
  GW-1: {supplier: glasswort, part_number: "1544", pairs: {primary: 15/43}}
  MA-1: {part_number: "1544", pairs: {primary: 15/43}, status: retired, successor: MA-1544}
  MA-2: {part_number: "2", aliases: ["2"], pairs: {primary: 15/43}}
"""
        }
    )


def test_same_part_twice_needs_the_same_gearboxes_and_no_difference(marked) -> None:
    claim = "fits: [{family: dunlin-50, housings: [mid, short]}]"
    parcel = "{primary: [driver, driven]}"
    marked(
        SUPPLIER
        | {
            "sets/more.yaml": HEAD
            + f"""\
  MA-1: {{part_number: <FC212>"1", pairs: {{primary: 44/15}}, {claim}}}
  MA-2: {{part_number: "2", pairs: {{primary: 15/44}}, fits: [{{family: dunlin-50}}]}}
  MA-3: {{part_number: "3", pairs: {{primary: 15/44}}, {claim}, interfaces: {{wheel_seat: ST-14}}}}
  MA-4: {{part_number: "4", pairs: {{primary: 15/44}}, {claim}, members: {parcel}}}
  MA-5: {{part_number: "5", pairs: {{primary: 15/44, secondary: 14/47}}, {claim}}}
  MA-6: {{part_number: "6", pairs: {{primary: 15/44}}}}
  MA-7: {{part_number: "7", pairs: {{primary: 15/44}}}}
  MA-8: {{part_number: "8", pairs: {{primary: 15/41}}, listed_for: {{models: [Dunlin Ten]}}}}
  MA-9: {{part_number: <FC212>"9", pairs: {{primary: 15/41}}, listed_for: {{models: [dunlin-ten]}}}}
  GW-1: {{supplier: glasswort, part_number: "1", pairs: {{primary: 15/44}}, {claim}}}
"""
        }
    )
