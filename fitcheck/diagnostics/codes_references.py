"""Codes of a whole catalogue: ids that lead nowhere, and stages that a family lacks."""

from __future__ import annotations

import re

from fitcheck.diagnostics.code import Code
from fitcheck.diagnostics.example_files import (
    FAMILY,
    MACHINE,
    changed,
    gear_sets,
    machines,
    of_kind,
)

_SET_FOR = """
    MA-1:
      part_number: "1"
      pairs: {primary: 15/43}
      fits:
        - {family: dunlin-50, housings: [short, mid]}
"""

_MACHINE = """
    red-dunlin:
      name: the red Dunlin
      family: dunlin-50
      pairs: {primary: 14/45, secondary: 13/48}
"""

_SEATS = """
    MA-1:
      part_number: "1"
      pairs: {primary: 15/43}
      fits: [{family: dunlin-50, housings: [short]}]
      interfaces: {wheel_seat: ST-14}
    MA-2:
      part_number: "2"
      pairs: {primary: 15/42}
      fits: [{family: dunlin-50, housings: [short]}]
      interfaces: {wheel_seat: ST-14}
    MA-3:
      part_number: "3"
      pairs: {secondary: 14/46}
      fits: [{family: dunlin-50, housings: [short]}]
      interfaces: {pinion_seat: ST-14}
"""

_CUT = """
    MA-1:
      part_number: "1"
      pairs: {primary: 14/45}
      fits: [{family: dunlin-50, housings: [short]}]
      geometry:
        primary: {normal_module_mm: 1.5, helix_angle_deg: 20, profile_shift_sum: 0.6436}
    MA-2:
      part_number: "2"
      pairs: {primary: 17/43}
      fits: [{family: dunlin-50, housings: [short]}]
      geometry:
        primary: {normal_module_mm: 1.5, helix_angle_deg: 20, profile_shift_sum: 0.0752}
    MA-3:
      part_number: "3"
      pairs: {primary: 15/43}
      fits: [{family: dunlin-50, housings: [short]}]
      geometry:
        primary: {normal_module_mm: 1.5, helix_angle_deg: 24, profile_shift_sum: 0.2619}
"""

_UNSHIFTED = re.sub(", profile_shift_sum: [0-9.]+", "", _CUT)

REFERENCE_CODES: tuple[Code, ...] = (
    Code(
        "FC201",
        "unknown-family",
        "error",
        "An engine family is named that is not in the catalogue.",
        "The set or machine belongs to no engine, so nothing is ever matched with it.",
        bad=gear_sets(_SET_FOR.replace("dunlin-50", "dunlim-50")),
        good=gear_sets(_SET_FOR),
    ),
    Code(
        "FC202",
        "unknown-housing",
        "error",
        "A housing is named that its family does not have.",
        "A statement for a housing that does not exist vouches for none, and the set stays "
        "unproven or is ruled out where it fits.",
        bad=gear_sets(_SET_FOR.replace("short", "shrot")),
        good=gear_sets(_SET_FOR),
    ),
    Code(
        "FC203",
        "unknown-supplier",
        "error",
        "A supplier is named that is not in the catalogue.",
        "A search by supplier passes the set over, and its list cannot be read.",
        bad=gear_sets(_SET_FOR, "{supplier: maram}"),
        good=gear_sets(_SET_FOR),
    ),
    Code(
        "FC204",
        "unknown-tune",
        "error",
        "A tune is named that is not in the catalogue.",
        "No band can be applied: the machine cannot be matched, or the family's own band is never "
        "used.",
        bad=machines(_MACHINE + "      tune: stok\n"),
        good=machines(_MACHINE + "      tune: stock\n"),
    ),
    Code(
        "FC205",
        "unknown-vehicle-class",
        "error",
        "A vehicle class is named that is not in the catalogue.",
        "The ceilings of the machine's class are not looked at.",
        bad=machines(_MACHINE + "      vehicle_class: l1eb\n"),
        good=machines(_MACHINE + "      vehicle_class: l1e-b\n"),
    ),
    Code(
        "FC206",
        "unknown-tyre",
        "error",
        "A tyre is named that is not in the catalogue.",
        "Without its roll-out no road speed can be given.",
        bad=machines(_MACHINE + "      tyre: t-3.50-12\n"),
        good=machines(_MACHINE + "      tyre: t-3.50-10\n"),
    ),
    Code(
        "FC207",
        "unknown-gear-set",
        "error",
        "A gear set is named, as successor or on the shelf, that is not in the catalogue.",
        "Stock of it is never offered, and a retired set leads nowhere.",
        bad=of_kind("shelf", "more-shelf.yaml", "MA-1448: {quantity: 1}"),
        good=of_kind("shelf", "more-shelf.yaml", "MA-1447: {quantity: 1}"),
    ),
    Code(
        "FC208",
        "stage-unlike-family",
        "error",
        "A factory train or a housing names a stage that its family does not have.",
        "What is said of that stage is never used.",
        bad=changed(
            FAMILY,
            "short: {name: short case}",
            "short: {name: short case, max_tip_diameter_mm: {tertiary: 80}}",
        ),
        good=changed(
            FAMILY,
            "short: {name: short case}",
            "short: {name: short case, max_tip_diameter_mm: {secondary: 105}}",
        ),
    ),
    Code(
        "FC209",
        "train-incomplete",
        "error",
        "A factory train lacks a stage of its family.",
        "Its overall reduction is not known, so it can neither be recognised nor compared with.",
        bad=changed(FAMILY, "{primary: 14/45, secondary: 12/49}", "{primary: 14/45}"),
        good=changed(
            FAMILY, "{primary: 14/45, secondary: 12/49}", "{primary: 14/45, secondary: 12/50}"
        ),
    ),
    Code(
        "FC211",
        "ambiguous-name",
        "warning",
        "One name or model word stands for two families, housings, tunes or suppliers.",
        "Nobody can tell which is meant, so the word finds neither.",
        bad=of_kind(
            "tune",
            "more-tunes.yaml",
            """
            as-new: {name: Standard Engine, low: 6, high: 11}
        """,
        ),
        good=of_kind(
            "tune",
            "more-tunes.yaml",
            """
            as-new: {name: new engine, low: 6, high: 11}
        """,
        ),
    ),
    Code(
        "FC215",
        "repeated-factory-train",
        "warning",
        "A family gives the same factory train twice for one housing and wheel size.",
        "It is listed twice wherever trains are shown; the models belong under one.",
        bad=changed(
            FAMILY,
            "        models: [Dunlin Ten]\n",
            """\
        models: [Dunlin Ten]
      - housing: short
        wheel_size_in: 10
        pairs: {primary: 14/45, secondary: 13/48}
        models: [Dunlin Ten S]
""",
        ),
        good=changed(
            FAMILY, "[Dunlin Ten]\n    displacement", "[Dunlin Ten, Dunlin Ten S]\n    displacement"
        ),
    ),
    Code(
        "FC221",
        "band-inverted",
        "error",
        "The edges of a family's band, together with those of the tune, stand the wrong way round.",
        "No change of gears lies inside such a band, so nothing is ever recommended.",
        bad=changed(
            FAMILY,
            "    factory_trains:",
            """\
    bands:
      stock: {high: 4}
    factory_trains:""",
        ),
        good=changed(
            FAMILY,
            "    factory_trains:",
            """\
    bands:
      stock: {low: 2, high: 4}
    factory_trains:""",
        ),
    ),
    Code(
        "FC222",
        "too-many-idler-seats",
        "error",
        "A family or a machine gives more idler seats than there are joints between its stages.",
        "Seats are told apart by their place in the list; one too many means another is misplaced.",
        bad=changed(FAMILY, "[ST-14]", "[ST-14, ST-16]"),
        good=changed(FAMILY, "[ST-14]", "[ST-16]"),
    ),
    Code(
        "FC223",
        "family-code-unlike-sets",
        "warning",
        "Most of the sets for a family contradict one of its shaft ends, seats, bearings or hands.",
        "One slip in the family rules all of them out without a word. Reported where more than "
        "half of the sets that state one contradict the family's and three at least state the same "
        "other; if all of these come from one supplier, only where no set states the family's.",
        bad=gear_sets(_SEATS.replace("ST-14", "ST-41")),
        good=gear_sets(_SEATS),
    ),
    Code(
        "FC224",
        "family-distance-unlike-sets",
        "error",
        "The geometry of most sets for a family contradicts one of its centre distances.",
        "One slip in the family rules all of them out. Reported where more than half of the sets "
        "with a known working distance, and three at least, agree on another distance (ISO 21771); "
        "if all of these come from one supplier, only where no set runs at the family's. Of sets "
        "without a shift sum, where as many would need one far beyond the usual on the same side.",
        bad=changed(FAMILY, "centre_distance_mm: 48.0", "centre_distance_mm: 49.0")
        | gear_sets(_CUT),
        good=changed(FAMILY, "centre_distance_mm: 48.0", "centre_distance_mm: 48")
        | gear_sets(_CUT),
    ),
    Code(
        "FC225",
        "family-distance-doubtful",
        "warning",
        "The geometry of most sets for a family is outside the tolerance of one of its centre "
        "distances, though not far.",
        "None of them is proved for it; the casing was measured roughly, or a digit is a slip.",
        bad=changed(FAMILY, "centre_distance_mm: 48.0", "centre_distance_mm: 48.03")
        | gear_sets(_CUT),
        good=changed(FAMILY, "centre_distance_mm: 48.0", "centre_distance_mm: 48.01")
        | gear_sets(_CUT),
    ),
    Code(
        "FC226",
        "family-distance-beyond-reason",
        "warning",
        "At a family's centre distance its factory pairs would have teeth of no usual size.",
        "A decimal mark in the wrong place rules every set out. The limits, a transverse module of "
        "0.6 to 4 mm, are a judgement.",
        bad=changed(FAMILY, "centre_distance_mm: 48.0", "centre_distance_mm: 480"),
        good=changed(FAMILY, "centre_distance_mm: 48.0", "centre_distance_mm: 48"),
    ),
    Code(
        "FC227",
        "tip-limit-beyond-reason",
        "warning",
        "The room that a casing is said to have does not take the factory's wheel, or most wheels "
        "sold for it, or is larger than any wheel there can be.",
        "Too small, it rules sets out that fit; too large, it lets a wheel pass that scrapes. The "
        "factory wheel's tips reach beyond the circle it rolls on, 2 a z2 / (z1 + z2); no wheel "
        "reaches the other shaft's middle, 2 a.",
        bad=changed(
            FAMILY,
            "short: {name: short case}",
            "short: {name: short case, max_tip_diameter_mm: {primary: 67}}",
        ),
        good=changed(
            FAMILY,
            "short: {name: short case}",
            "short: {name: short case, max_tip_diameter_mm: {primary: 76}}",
        ),
    ),
    Code(
        "FC228",
        "family-distance-odd-shift",
        "warning",
        "At a family's centre distance most of its sets would need an unusual shift sum.",
        "They give none, so none is ruled out, but so many would hardly be cut like that: a digit "
        "of the distance is a slip. Usual is −0.5 to +1.2 (a judgement).",
        bad=changed(FAMILY, "centre_distance_mm: 48.0", "centre_distance_mm: 49.8")
        | gear_sets(_UNSHIFTED),
        good=changed(FAMILY, "centre_distance_mm: 48.0", "centre_distance_mm: 48")
        | gear_sets(_UNSHIFTED),
    ),
    Code(
        "FC281",
        "machine-stages-unlike-family",
        "error",
        "The stages counted on a machine are not those of its family's trains.",
        "Its overall reduction is not known, so it cannot be matched.",
        bad=changed(MACHINE, "{primary: 14/45, secondary: 13/48}", "{primary: 14/45}"),
        good=changed(MACHINE, "the blue Dunlin", "the blue Dunlin Ten"),
    ),
    Code(
        "FC282",
        "machine-not-as-built",
        "advice",
        "The teeth counted on a machine are those of no factory train of its family.",
        "It has been geared already, or a tooth was miscounted; every percentage hangs on it.",
        bad=machines(_MACHINE.replace("14/45", "14/44")),
        good=machines(_MACHINE),
    ),
    Code(
        "FC283",
        "machine-unlike-its-train",
        "advice",
        "A machine has a factory train's teeth, but another housing or wheel size.",
        "Casing, wheel or gears were changed, or one of them was noted wrongly; fit hangs on the "
        "housing.",
        bad=machines(_MACHINE + "      housing: mid\n"),
        good=machines(_MACHINE + "      housing: short\n"),
    ),
    Code(
        "FC284",
        "tyre-unlike-rim",
        "warning",
        "The tyre of a machine or of a factory train does not go on its rim.",
        "Roll-out and with it every road speed are those of another wheel.",
        bad=machines(
            _MACHINE.replace("14/45, secondary: 13/48", "14/45, secondary: 12/49")
            + "      wheel_size_in: 12\n      tyre: t-3.50-10\n"
        ),
        good=machines(_MACHINE + "      wheel_size_in: 10\n      tyre: t-3.50-10\n"),
    ),
    Code(
        "FC285",
        "band-in-fractions",
        "warning",
        "A tune's band looks written as fractions instead of percent.",
        "0.1 to 0.15 is a tenth to a seventh of one percent: hardly any set lies in it.",
        bad={
            "tunes/dock.yaml": "kind: tune\nrecords:\n"
            "  dock: {name: dock build, low: 0.1, high: 0.15}\n"
        },
        good={
            "tunes/dock.yaml": "kind: tune\nrecords:\n"
            "  dock: {name: dock build, low: 10, high: 15}\n"
        },
    ),
    Code(
        "FC286",
        "date-in-future",
        "warning",
        "A date lies in the future.",
        "A mistyped year makes an old list look like the newest. No fault where a list is dated by "
        "the day it comes into force.",
        bad=gear_sets(_SET_FOR + "      source: {date: 2062-03-01}\n"),
        good=gear_sets(_SET_FOR + "      source: {date: 2026-03-01}\n"),
    ),
    Code(
        "FC287",
        "engine-figure-beyond-reason",
        "warning",
        "A peak power contradicts the points or the displacement, that the vehicle class, or a "
        "mass is no scooter's.",
        "Top speeds, pull and what the engine can pull are worked out from it. The limits find a "
        "lost decimal mark or another unit; they are a judgement.",
        bad=changed(
            FAMILY,
            "    factory_trains:",
            "    engine: {peak_power_kw: 34, peak_power_rpm: 7250}\n    factory_trains:",
        ),
        good=changed(
            FAMILY,
            "    factory_trains:",
            "    engine: {peak_power_kw: 3.4, peak_power_rpm: 7250}\n    factory_trains:",
        ),
    ),
    Code(
        "FC288",
        "stages-exchanged",
        "warning",
        "The pairs of a machine or a factory train are those of other stages.",
        "The overall reduction stays, but every set then changes another pair than it replaces: "
        "each percentage is wrong.",
        bad=changed(
            FAMILY,
            "pairs: {primary: 14/45, secondary: 12/49}",
            "pairs: {primary: 12/49, secondary: 14/45}",
        ),
        good=changed(
            FAMILY,
            "pairs: {primary: 14/45, secondary: 12/49}",
            "pairs: {primary: 14/45, secondary: 12/50}",
        ),
    ),
    Code(
        "FC289",
        "machine-seat-unknown",
        "warning",
        "No family and no set has the idler seat measured on a machine, and one has a code that is "
        "one slip away.",
        "Every pair of a known seat is ruled out for the machine, without a word.",
        bad=machines(_MACHINE + "      idler_seats: [ST-41]\n"),
        good=machines(_MACHINE + "      idler_seats: [ST-14]\n"),
    ),
)
"""Codes FC20x, FC21x, FC22x and FC28x that concern families, machines and references."""
