"""Words that stand for two records of a kind."""

from __future__ import annotations

from fitcheck.diagnostics.examples import BASE


def test_words_shared_by_families_and_housings(marked) -> None:
    found = marked(
        {
            "families/more.yaml": """\
kind: family
records:
  knot-50:
    name: Knot 50
    aliases: [K50, <FC211>DUNLIN-TEN]
    housings:
      one: {name: Large case, aliases: [big]}
      two: {name: <FC211>large-case, aliases: [bigger]}
    stages: {single: {}}
    factory_trains:
      - {housing: one, wheel_size_in: 10, pairs: {single: 12/89}, models: [Knot, <FC211>Dunlin 50]}
      - {housing: two, wheel_size_in: 10, pairs: {single: 12/89}, models: [Knot]}
"""
        }
    )
    # Two families: the alias and the model word; one family may use its own words twice.
    assert "dunlin-50 and knot-50" in found[0].message
    assert found[0].related[0].span.path.endswith("families/dunlin.yaml")
    assert (found[0].related[0].span.line, found[0].related[0].span.column) == (5, 15)


def test_names_of_tunes_and_suppliers(marked) -> None:
    marked(
        {
            "tunes.yaml": BASE["tunes.yaml"]
            + "  new: {name: <FC211>Standard-Engine, low: 5, high: 12}\n",
            "suppliers/more.yaml": "kind: supplier\nrecords:\n  salt: {name: <FC211>Marram}\n",
        }
    )


def test_machines_may_share_a_name(marked) -> None:
    machine = BASE["machines/counter.yaml"].replace("blue-dunlin", "other")
    marked({"machines/more.yaml": machine})
