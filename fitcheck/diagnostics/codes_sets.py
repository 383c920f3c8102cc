"""Codes of a whole catalogue: gear sets that repeat, contradict or cannot be."""

from __future__ import annotations

from fitcheck.diagnostics.code import Code
from fitcheck.diagnostics.example_files import changed, gear_sets, of_kind

_SET = """
    MA-1:
      part_number: "1"
      pairs: {primary: 15/43}
      fits:
        - {family: dunlin-50, housings: [short, mid]}
"""

_ANSWERED = """name: Marram
    list_mapping:
      model_words: {Snipe Sport: dunlin-50}
"""

_OTHER_STAGE = """
    MA-2:
      part_number: "2"
      pairs: {secondary: 13/48}
      fits:
        - {family: dunlin-50, housings: [short, mid]}
"""

_KIT = """
    MA-7106:
      part_number: "7106"
      fits: [dunlin-50]
      low_ratio: 3.05
      high_ratio: 0.95
"""

_CUT = """
    MA-1:
      part_number: "1"
      pairs: {primary: 15/44}
      fits:
        - {family: dunlin-50, housings: [short]}
      geometry:
        primary:
          normal_module_mm: 1.5
          helix_angle_deg: 20
          driver_hand: left
          profile_shift_sum: 0.644
          driver_profile_shift: 0.3
"""

_SPUR_FAMILY = of_kind(
    "family",
    "families/knot.yaml",
    """
    knot-50:
      name: Knot 50
      housings:
        only: {name: only case, max_tip_diameter_mm: {primary: 74}}
      stages:
        primary: {driver_hand: right}
        secondary: {}
      interfaces: {input_shaft_end: D12, idler_seats: [KW-13], output_shaft_end: H17}
""",
)

_FOR_KNOT = """
    MA-1:
      part_number: "1"
      pairs: {primary: 15/44}
      fits:
        - {family: knot-50, housings: [only]}
"""

_PRICES = """
    MA-1: {part_number: "1", pairs: {primary: 15/40}, price: 61.90}
    MA-2: {part_number: "2", pairs: {primary: 15/41}, price: 58.50}
    MA-3: {part_number: "3", pairs: {primary: 15/42}, price: 66.90}
    MA-4: {part_number: "4", pairs: {primary: 16/41}, price: 719.00}
"""

SET_CODES: tuple[Code, ...] = (
    Code(
        "FC212",
        "same-part-twice",
        "warning",
        "Two numbers of one supplier have the same teeth for the same gearboxes, and nothing "
        "tells them apart.",
        "The customer is shown one part twice, with two prices and two stocks.",
        bad=gear_sets("""
            MA-1544-B:
              part_number: 1544-B
              pairs: {primary: 15/44}
              fits:
                - {family: dunlin-50, housings: [mid, short]}
        """),
        good=gear_sets("""
            MA-1544-B:
              part_number: 1544-B
              pairs: {primary: 15/44}
              fits:
                - {family: dunlin-50, housings: [mid, short]}
              interfaces: {wheel_seat: ST-14}
        """),
    ),
    Code(
        "FC213",
        "number-with-other-teeth",
        "error",
        "One number of a supplier stands on two active sets with different teeth.",
        "One of the two is wrong, and whoever orders by number may get the other.",
        bad=gear_sets('MA-1:\n  part_number: "1544"\n  pairs: {primary: 15/43}\n'),
        good=gear_sets('MA-1:\n  part_number: "1543"\n  pairs: {primary: 15/43}\n'),
    ),
    Code(
        "FC214",
        "repeated-number",
        "warning",
        "One number of a supplier stands on two active sets with the same teeth.",
        "One part is shown twice, and a change of price or stock reaches only one of the two.",
        bad=gear_sets('MA-1:\n  part_number: "1544"\n  pairs: {primary: 15/44}\n'),
        good=gear_sets('MA-1:\n  part_number: "1543"\n  pairs: {primary: 15/43}\n'),
    ),
    Code(
        "FC216",
        "repeated-kit-number",
        "error",
        "One number of a supplier stands on two variator kits, or on a kit and a gear set.",
        "Whoever orders by number may get the other, and the start-off pull is worked out with the "
        "wrong ratios.",
        bad=of_kind(
            "variator",
            "more-variators.yaml",
            _KIT.replace('"7106"', '"7105"'),
            "{supplier: marram}",
        ),
        good=of_kind("variator", "more-variators.yaml", _KIT, "{supplier: marram}"),
    ),
    Code(
        "FC217",
        "empty-list",
        "warning",
        "A list or mapping is there but holds nothing.",
        "An empty list of housings looks like `none` and counts like `not known`; the set stays "
        "unproven everywhere.",
        bad=gear_sets(_SET.replace("[short, mid]", "[]")),
        good=gear_sets(_SET),
    ),
    Code(
        "FC218",
        "date-long-past",
        "warning",
        "A date lies before 1950.",
        "A mistyped century makes the newest list look like the oldest. The year is a judgement.",
        bad=gear_sets(_SET + "      source: {date: 1926-03-01}\n"),
        good=gear_sets(_SET + "      source: {date: 2026-03-01}\n"),
    ),
    Code(
        "FC231",
        "set-fits-no-train",
        "error",
        "A set holds other stages than the trains of a family it is said to fit.",
        "It can go into no gearbox of that family: stage or family is wrong.",
        bad=gear_sets(_SET.replace("primary", "tertiary")),
        good=gear_sets(_SET),
    ),
    Code(
        "FC232",
        "change-beyond-reason",
        "warning",
        "A set more than doubles, or more than halves, the road speed of every factory train it "
        "is for.",
        "No gear set does that on purpose; a tooth count or the stage is a slip. The limits are a "
        "judgement, no rule of the trade.",
        bad=gear_sets(_SET.replace("15/43", "34/43")),
        good=gear_sets(_SET),
    ),
    Code(
        "FC233",
        "stage-in-doubt",
        "warning",
        "At its stage a pair is of no use to any machine it is for, or unlike those of the "
        "factory; at another it is not.",
        "A primary pair entered as secondary is offered where it does not go. Limits: beyond -30 "
        "or +40 % at its own stage, within -20 to +30 % at another; or far from the factory's "
        "reductions and numbers of teeth there, and near those of another. A judgement.",
        bad=gear_sets(_SET.replace("primary: 15/43", "secondary: 16/41")),
        good=gear_sets(_SET.replace("primary: 15/43", "primary: 16/41")),
    ),
    Code(
        "FC234",
        "interface-without-gear",
        "warning",
        "A set gives the shaft end or seat of a gear that a pair of its stage does not have.",
        "The stage is wrong, or the code; what is given there is never used.",
        bad=gear_sets(_SET + "      interfaces: {output_shaft_end: H17}\n"),
        good=gear_sets(_SET + "      interfaces: {input_shaft_end: D13}\n"),
    ),
    Code(
        "FC241",
        "listing-wheel-size",
        "warning",
        "A set is listed for a wheel size on which none of its families left the works.",
        "Lists file sets under the wrong model; the wheel size is how one sees it.",
        bad=gear_sets(_SET + "      listed_for: {wheel_size_in: 16}\n"),
        good=gear_sets(_SET + "      listed_for: {wheel_size_in: 12}\n"),
    ),
    Code(
        "FC242",
        "listing-names-other-family",
        "advice",
        "A list files a set under models of one family, but it is vouched for in another.",
        "Often right and worth money; sometimes a claim copied to the wrong set.",
        bad=_SPUR_FAMILY | gear_sets(_SET + "      listed_for: {models: [Knot 50]}\n"),
        good=_SPUR_FAMILY | gear_sets(_SET + "      listed_for: {models: [Dunlin Ten]}\n"),
    ),
    Code(
        "FC243",
        "answered-word-not-listed",
        "warning",
        "A model word answered for a supplier's list is one slip from a word that its sets are "
        "listed for and nobody answered.",
        "The word is misspelt, so the answer is never used. A word with other digits is another "
        "model, and no slip.",
        bad=gear_sets(_SET + "      listed_for: {models: [Snipe Sport]}\n")
        | changed("suppliers/marram.yaml", "name: Marram\n", _ANSWERED.replace("Sport", "Sprot")),
        good=gear_sets(_SET + "      listed_for: {models: [Snipe Sport]}\n")
        | changed("suppliers/marram.yaml", "name: Marram\n", _ANSWERED),
    ),
    Code(
        "FC250",
        "borderline-mesh",
        "advice",
        "A pair has very much or very little profile shift, or hardly more than one tooth in "
        "contact.",
        "It may run, but loudly, and its teeth are weaker; or a digit or a sign is a slip. Limits: "
        "shifts of -0.5 to +1.2 in all (a judgement), transverse contact ratio 1.2 (handbooks, for "
        "spur gears).",
        bad=gear_sets(_CUT.replace("15/44", "14/44").replace("0.644", "1.265")),
        good=gear_sets(_CUT),
    ),
    Code(
        "FC251",
        "centre-distance-impossible",
        "error",
        "A pair's geometry cannot give the centre distance of a family it is said to fit.",
        "The gears would jam or knock (ISO 21771): geometry, teeth or claim is wrong.",
        bad=gear_sets(_CUT.replace("0.644", "0.444")),
        good=gear_sets(_CUT),
    ),
    Code(
        "FC252",
        "centre-distance-doubtful",
        "warning",
        "A pair's centre distance is outside the family's tolerance, though not far.",
        "It may run tight or loose; backlash has to be measured before anyone promises it.",
        bad=gear_sets(_CUT.replace("0.644", "0.664")),
        good=gear_sets(_CUT),
    ),
    Code(
        "FC253",
        "tip-over-casing",
        "warning",
        "A driven gear is larger over its tips than a casing it is said to fit clears.",
        "The wheel would scrape; a clearance, a geometry or a housing is wrong.",
        bad=_SPUR_FAMILY
        | gear_sets(
            _FOR_KNOT
            + """\
      geometry:
        primary: {normal_module_mm: 1.5, helix_angle_deg: 0, driven_tip_diameter_mm: 74.2}
"""
        ),
        good=_SPUR_FAMILY
        | gear_sets(
            _FOR_KNOT
            + """\
      geometry:
        primary: {normal_module_mm: 1.5, helix_angle_deg: 0, driven_tip_diameter_mm: 73.9}
"""
        ),
    ),
    Code(
        "FC254",
        "hand-unlike-family",
        "warning",
        "A driver's helix has another hand than the family's, though the set is said to fit.",
        "Thrust would go the other way, so the set is ruled out there.",
        bad=_SPUR_FAMILY
        | gear_sets(
            _FOR_KNOT
            + """\
      geometry:
        primary: {normal_module_mm: 1.5, helix_angle_deg: 20, driver_hand: left}
"""
        ),
        good=_SPUR_FAMILY
        | gear_sets(
            _FOR_KNOT
            + """\
      geometry:
        primary: {normal_module_mm: 1.5, helix_angle_deg: 20, driver_hand: right}
"""
        ),
    ),
    Code(
        "FC255",
        "interface-unlike-family",
        "warning",
        "A set needs another shaft end or other bearings than a family it is said to fit has.",
        "It is ruled out there: a code or the claim is wrong.",
        bad=gear_sets(_SET + "      interfaces: {input_shaft_end: D12}\n"),
        good=gear_sets(_SET + "      interfaces: {input_shaft_end: D13}\n"),
    ),
    Code(
        "FC256",
        "seat-without-mate",
        "warning",
        "A set has an idler seat that neither the factory gears nor any other set of its supplier "
        "for that family has.",
        "It goes together with nothing, or by chance with another supplier's.",
        bad=gear_sets(_SET + "      interfaces: {wheel_seat: ST-15}\n"),
        good=gear_sets(_SET + "      interfaces: {wheel_seat: ST-14}\n"),
    ),
    Code(
        "FC257",
        "split-pair",
        "advice",
        "A parcel does not hold both gears of a pair.",
        "Pairs run in together and are never split, so the set is never matched.",
        bad=gear_sets(_SET + "      members: {primary: [driven]}\n"),
        good=gear_sets(_SET + "      members: {primary: [driver, driven]}\n"),
    ),
    Code(
        "FC258",
        "uncommon-module",
        "warning",
        "A normal module of 1 mm or more is in neither series of ISO 54.",
        "Most often a module worked out from one tooth. It may be right: the standard leaves "
        "vehicle gears out.",
        bad=gear_sets(_CUT.replace("module_mm: 1.5", "module_mm: 1.55").replace("0.644", "-0.405")),
        good=gear_sets(_CUT),
    ),
    Code(
        "FC259",
        "undercut-pinion",
        "advice",
        "A pinion has too little profile shift for its teeth to escape undercut.",
        "Its teeth are weaker at the root (ISO 21771); or a sign is lost.",
        bad=gear_sets(_CUT.replace("driver_profile_shift: 0.3", "driver_profile_shift: -0.3")),
        good=gear_sets(_CUT),
    ),
    Code(
        "FC260",
        "own-idler-seat",
        "advice",
        "A supplier's sets for a family have an idler seat of their own, not the factory's.",
        "Often right: they go only with each other, and none of them goes beside a factory gear. "
        "Reported once for each supplier, family and seat.",
        bad=gear_sets(
            _SET
            + "      interfaces: {wheel_seat: SG-15}\n"
            + _OTHER_STAGE
            + "      interfaces: {pinion_seat: SG-15}\n"
        ),
        good=gear_sets(
            _SET
            + "      interfaces: {wheel_seat: ST-14}\n"
            + _OTHER_STAGE
            + "      interfaces: {pinion_seat: ST-14}\n"
        ),
    ),
    Code(
        "FC261",
        "price-off-by-ten",
        "warning",
        "A price is six times or more over or under what such sets usually cost.",
        "A decimal mark in the wrong place is quoted to a customer sooner or later. Limit and "
        "number of prices needed are a judgement.",
        bad=gear_sets(_PRICES),
        good=gear_sets(_PRICES.replace("719.00", "71.90")),
    ),
    Code(
        "FC263",
        "cost-unlike-price",
        "warning",
        "A piece cost more than it sells for, or a sixth of that or less.",
        "It is sold at a loss, or the margin shown is wrong by a lost decimal mark. The sixth is a "
        "judgement.",
        bad=of_kind("shelf", "more-shelf.yaml", "MA-1447: {quantity: 1, cost: 72.40}"),
        good=of_kind("shelf", "more-shelf.yaml", "MA-1447: {quantity: 1, cost: 42.70}"),
    ),
    Code(
        "FC264",
        "price-finer-than-coin",
        "warning",
        "A price to sell at has more decimals than its currency.",
        "It is rounded half up to the least unit wherever it is asked; most often a digit slipped "
        "in. Costs may be finer.",
        bad=gear_sets(_SET + "      price: 64.905\n"),
        good=gear_sets(_SET + "      price: 64.90\n"),
    ),
    Code(
        "FC265",
        "unknown-currency",
        "warning",
        "A currency is not in ISO 4217.",
        "Its prices are neither compared nor added up with others, and customers are quoted in a "
        "currency that there is not.",
        bad=gear_sets(_SET + "      price: 54.00\n      currency: GPB\n"),
        good=gear_sets(_SET + "      price: 54.00\n      currency: GBP\n"),
    ),
    Code(
        "FC266",
        "price-of-nothing",
        "warning",
        "A price is 0.",
        "It is quoted as it stands. A price that nobody knows is left out.",
        bad=gear_sets(_SET + "      price: 0\n"),
        good=gear_sets(_SET + "      price: 54.00\n"),
    ),
    Code(
        "FC267",
        "shop-price-unlike-list",
        "warning",
        "The shop's price of a set is six times its list price or more, or a sixth of it or less.",
        "A decimal mark slipped in one of the two. Where the cost goes with the list price, the "
        "shop's is shown, else the list price. The limit is a judgement.",
        bad=gear_sets(_SET + "      price: 649.00\n")
        | of_kind("shelf", "more-shelf.yaml", "MA-1: {quantity: 1, price: 69.00}"),
        good=gear_sets(_SET + "      price: 64.90\n")
        | of_kind("shelf", "more-shelf.yaml", "MA-1: {quantity: 1, price: 69.00}"),
    ),
    Code(
        "FC271",
        "retired-without-successor",
        "advice",
        "A retired set names no successor.",
        "Whoever asks for the old number is sent away; the counter may know what replaced it.",
        bad=gear_sets(_SET + "      status: retired\n"),
        good=gear_sets(_SET + "      status: retired\n      successor: MA-1544\n"),
    ),
    Code(
        "FC272",
        "successor-circle",
        "error",
        "Successors lead back to the set they began with.",
        "The set sold now is never reached.",
        bad=gear_sets(_SET + "      status: retired\n      successor: MA-1\n"),
        good=gear_sets(_SET + "      status: retired\n      successor: MA-1544\n"),
    ),
    Code(
        "FC273",
        "stock-of-retired-set",
        "advice",
        "The shelf holds pieces of a set that is retired.",
        "Retired sets are never matched, so this stock is never offered.",
        bad=gear_sets(_SET + "      status: retired\n      successor: MA-1544\n")
        | of_kind("shelf", "more-shelf.yaml", "MA-1: {quantity: 3}"),
        good=gear_sets(_SET + "      status: retired\n      successor: MA-1544\n")
        | of_kind("shelf", "more-shelf.yaml", "MA-1: {quantity: 0}"),
    ),
    Code(
        "FC274",
        "successor-unlike",
        "warning",
        "A set's successor is for another stage, or for none of its families.",
        "Whoever asks for the old number is led to a part that cannot take its place.",
        bad=gear_sets(_SET + "      status: retired\n      successor: MA-2\n" + _OTHER_STAGE),
        good=gear_sets(_SET + "      status: retired\n      successor: MA-1544\n"),
    ),
)
"""Codes FC21x to FC27x that concern gear sets."""
