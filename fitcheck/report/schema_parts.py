"""JSON Schema definitions that several answers share, each member with its meaning and unit."""

from __future__ import annotations

from typing import get_args

from fitcheck.model.fields import STAGE_DESCRIPTIONS, STAGES
from fitcheck.model.gear_set import GearSet
from fitcheck.report.json_parts import SCHEMA_VERSION
from fitcheck.report.road_schema import list_road_members, row_road_members
from fitcheck.report.schema_building import (
    Schema,
    list_of,
    members,
    nullable,
    number,
    ref,
    text,
    whole,
    words,
    yes_no,
)
from fitcheck.rules.answers import Evidence, Verdict
from fitcheck.services.bands import BandVerdict
from fitcheck.services.offer import AVAILABILITY, PriceFrom

__all__ = [
    "DEFINITIONS",
    "EVIDENCE",
    "IF_ASKED",
    "TRAIN",
    "VERDICT",
    "header_members",
    "result_members",
]

_PAIR = r"^[1-9][0-9]*/[1-9][0-9]*$"
_FRACTION = r"^-?[0-9]+/[1-9][0-9]*$"
_NAME = {"type": "string", "minLength": 1}
_STAGE: Schema = {"type": "string", "enum": list(STAGES)}


def _words_of(field: str) -> tuple[str, ...]:
    """The words a field of a gear set may hold."""
    found: tuple[str, ...] = get_args(GearSet.model_fields[field].annotation)
    return found


VERDICT = words(
    "fits: every rule is proved; unproven: nothing speaks against it, some datum is missing; "
    "ruled out: a rule speaks against it.",
    [verdict.value for verdict in Verdict],
)
EVIDENCE = words(
    "The weakest evidence behind a fit; none unless it fits.",
    [evidence.word for evidence in sorted(Evidence, reverse=True)],
)
_PRICE = {
    "price": nullable(
        number("What the shop asks, in the currency beside it; null: not known.", minimum=0)
    ),
    "price_exact": nullable(
        text(
            "The same as text, exact to the last decimal.",
            pattern=r"^[0-9]+\.[0-9]{2,}$",
            examples=["61.50"],
        )
    ),
    "currency": nullable(
        text("ISO 4217 code of the price; null where there is none.", pattern="^[A-Z]{3}$")
    ),
}

_LIST_PRICE = {
    **_PRICE,
    "price": nullable(number("The supplier's list price; null where it is not known.", minimum=0)),
}
_MARGIN = members(
    "Only where margins are asked (--margins): selling price less cost of all sets, both as they "
    "stand on the shelf, no tax taken off.",
    {
        "cost": nullable(number("What the shop paid; null where that of a set is not known.")),
        "cost_exact": nullable(
            text("The same as text, exact to the last decimal.", pattern=r"^[0-9]+\.[0-9]{2,}$")
        ),
        "amount": nullable(
            number("Price less cost, below zero where it sells under cost; null: not known.")
        ),
        "amount_exact": nullable(
            text("The same as text, exact to the last decimal.", pattern=r"^-?[0-9]+\.[0-9]{2,}$")
        ),
        "percent": nullable(number("Percent of the selling price; null: not known.")),
        "cost_unknown": list_of(_NAME, "Ids of the sets whose cost is not known."),
    },
)
_COMBINATION: dict[str, Schema] = {
    "sets": list_of(
        _NAME, "Ids of the gear sets to buy, from input shaft to wheel.", minItems=1, maxItems=3
    ),
    "part_numbers": list_of(_NAME, "Their part numbers, in the same order."),
    "suppliers": list_of(_NAME, "Ids of their suppliers, in the same order."),
    "pairs": ref("Pairs", "Tooth counts of every stage with these sets fitted."),
    "changed": list_of(_STAGE, "Stages whose pair comes from a set; the others stay."),
    "reduction": ref("Exact", "Overall reduction: turns of the input shaft for one of the wheel."),
    "road_speed_change_percent": number(
        "Percent by which road speed rises at the same engine and variator speed, a change of "
        "tyre counted in. Bands are judged on the exact one."
    ),
    "road_speed_change_exact": text("The same, exact, percent.", pattern=_FRACTION),
    "reduction_change_percent": number(
        "Percent by which the overall reduction rises: another figure for the same change of "
        "gears, negative where the drive is taller."
    ),
    "reduction_change_exact": text("The same, exact, percent.", pattern=_FRACTION),
    "band": words(
        "Where the road-speed change lies against the tune's band, edges inside; none: no tune "
        "is given.",
        [verdict.value for verdict in BandVerdict],
    ),
    "fit": VERDICT,
    "evidence": EVIDENCE,
    "weakest_rules": list_of(
        _NAME,
        "Ids of the rules the verdict hangs on: those on the weakest evidence, unproven, or "
        "ruling out.",
    ),
    **_PRICE,
    "price_from": nullable(
        words(
            "Whose price it is: the shelf's own selling price, the supplier's list price, or some "
            "sets of one and some of the other; null where there is no price.",
            get_args(PriceFrom),
        )
    ),
    "availability": words(
        "Where all sets together are to be had, the least sure of their answers: all on the shelf, "
        "or what their suppliers say.",
        AVAILABILITY,
    ),
    "on_shelf": whole("How many times the shelf holds all sets together."),
    "margin": _MARGIN,
    "also_needs": list_of(_NAME, "What else the job needs, as the sets' entries say."),
    "listed_elsewhere": list_of(
        members(
            "One set that is filed under something else.",
            {
                "set": text("Id of the set."),
                "as": text("The model words or the wheel size its supplier files it under."),
            },
        ),
        "Sets that their supplier files under another model or wheel size: information, no proof.",
    ),
    "notes": list_of(_NAME, "What else to know, short."),
}

_ROW_ROAD = row_road_members()

TRAIN: dict[str, Schema] = {
    "housing": text("Id of the housing."),
    "housing_name": nullable(text("Name of the housing.")),
    "wheel_size_in": whole("Rim size of the driven wheel, inches.", 1),
    "models": list_of(_NAME, "Models sold with this train."),
    "pairs": ref("Pairs", "Tooth counts of every stage."),
    "reduction": ref("Exact", "Overall reduction."),
    "place": ref("Place", "Where it stands in the family's record."),
}
"""Members of a factory train."""

DEFINITIONS: dict[str, Schema] = {
    "Exact": members(
        "An exact figure and its decimal.",
        {
            "exact": text(
                "The figure as a fraction in lowest terms.", pattern=_FRACTION, examples=["253/21"]
            ),
            "decimal": number("The same rounded once to six decimals, half away from zero."),
        },
    ),
    "Place": members(
        "Where a value stands in a file.",
        {
            "file": text("The file, with forward slashes."),
            "line": whole("Line, from 1.", 1),
            "column": whole("Column, from 1, in code points.", 1),
        },
    ),
    "Pairs": {
        "description": "Tooth counts by stage, driver/driven; only the stages there are.",
        "type": "object",
        "properties": {
            stage: text(STAGE_DESCRIPTIONS[stage], pattern=_PAIR, examples=["15/38"])
            for stage in STAGES
        },
        "minProperties": 1,
        "additionalProperties": False,
    },
    "FactoryTrain": members("The gears a model leaves the works with.", TRAIN),
    "Machine": members(
        "The machine asked about.",
        {
            "id": nullable(text("Id of its record; null where it was given by its counts alone.")),
            "name": text("What to call it."),
            "family": text("Id of its engine family."),
            "family_name": text("Name of that family."),
            "housing": nullable(text("Id of its housing; null while nobody has looked.")),
            "housing_name": nullable(text("Name of that housing.")),
            "wheel_size_in": nullable(whole("Rim size of the driven wheel, inches.", 1)),
            "tune": nullable(text("Id of its state of tune; null where none is given.")),
            "stages": list_of(
                _STAGE, "Stages of its train, from input shaft to wheel.", minItems=1, maxItems=3
            ),
            "pairs": ref("Pairs", "Tooth counts as they are now."),
            "reduction": ref("Exact", "Overall reduction now."),
            "factory_trains": list_of(
                ref("FactoryTrain"),
                "The family's factory trains with exactly these counts; empty where the counts "
                "are no known factory train.",
            ),
            "roll_out_mm": nullable(
                number("Distance per turn of the driven wheel now, mm.", exclusiveMinimum=0)
            ),
            "roll_out_ratio": ref(
                "Exact", "Distance per wheel turn after over before; 1/1 where the tyre stays."
            ),
            "remarks": list_of(_NAME, "What to know before reading on, a sentence each."),
            "place": nullable(ref("Place", "Where its record stands.")),
        },
    ),
    "Band": members(
        "The band of the machine's tune, in percent of road-speed change; edges are inside.",
        {
            "tune": text("Id of the tune."),
            "name": text("Name of the tune."),
            "low": ref("Exact", "Least change worth the work."),
            "high": ref("Exact", "Greatest change the engine pulls."),
            "stretch": ref(
                "Exact", "Up to here a careful build may go; equal to high where it may not."
            ),
            "family_band": yes_no("Whether the engine family sets an edge of its own."),
        },
    ),
    "Combination": members(
        "One choice for each stage, at least one of them a gear set.",
        _COMBINATION,
        if_asked=("margin",),
    ),
    "RankedCombination": members(
        "One choice for each stage, at least one of them a gear set, in its place in the list.",
        {
            "rank": whole(
                "1 for the most road speed, or for the first by `road.rank`; equal reductions, or "
                "equal figures, share a rank.",
                1,
            ),
            **_COMBINATION,
            **_ROW_ROAD,
        },
        if_asked=("margin", *_ROW_ROAD),
    ),
    "GearSet": members(
        "One gear set a combination names.",
        {
            "supplier": text("Id of its supplier."),
            "part_number": text("The supplier's number."),
            "name": nullable(text("The supplier's words for it.")),
            "pairs": ref("Pairs", "Tooth counts of the stages it holds."),
            **_LIST_PRICE,
            "availability": words(
                "What the supplier says of its own stock.", _words_of("availability")
            ),
            "status": words("retired: kept on file, no longer matched.", _words_of("status")),
            "shelf_price": nullable(
                number(
                    "The shop's own selling price, in the set's currency; null where the shelf "
                    "has none. It overrides the list price.",
                    minimum=0,
                )
            ),
            "shelf_price_exact": nullable(
                text(
                    "The same as text, exact to the last decimal.",
                    pattern=r"^[0-9]+\.[0-9]{2,}$",
                )
            ),
            "on_shelf": nullable(whole("Pieces on the shop's shelf; null where it has no entry.")),
            "shelf_place": nullable(text("Where they lie.")),
            "place": ref("Place", "Where its record stands."),
        },
    ),
    "Exclusion": members(
        "Choices that one reason rules out, kept at the smallest part that died of it.",
        {
            "rule": text("Id of the rule."),
            "reason": text("Why, in one sentence."),
            "sets": list_of(
                list_of(_NAME, "Ids of sets; factory stands for the gear that is there."),
                "One side: sets ruled out by themselves. Two sides: any of the first with any of "
                "the second.",
                minItems=1,
                maxItems=2,
            ),
            "places": list_of(ref("Place"), "Where the data stand that speak against it."),
            "combinations": whole("Choices that died here and not before."),
        },
    ),
}


def header_members(answer: str) -> dict[str, Schema]:
    """The members every answer begins with."""
    return {
        "schema_version": {
            "description": "Rises only when a member changes its meaning or goes away.",
            "const": SCHEMA_VERSION,
        },
        "answer": {"description": "The command that answers.", "const": answer},
        "tool": members(
            "What wrote it.",
            {
                "name": {"description": "Always fitcheck.", "const": "fitcheck"},
                "version": text("Its version.", examples=["0.1.0"]),
            },
        ),
        "catalogue": nullable(
            members(
                "The catalogue it was asked against.",
                {
                    "path": text("Folder or file, from the working folder where that is shorter."),
                    "demo": yes_no("Whether it is the built-in demo, whose parts are invented."),
                },
            )
        ),
    }


IF_ASKED = tuple(list_road_members())
"""Members of one matching that stand there only where they are asked for."""


def result_members() -> dict[str, Schema]:
    """The members that one matching gives, in `match` and in every group of `options`."""
    edge = "percent of road-speed change; null: open."
    count_or_null = "; null where no tune is given."
    return {
        "band": nullable(ref("Band", "Null where no tune is given.")),
        "window": members(
            "The road-speed changes listed; edges are inside.",
            {
                "from": words(
                    "What sets it: a percent window asked for, the band, the band up to its "
                    "stretch, or any change.",
                    ["percent", "band", "stretch", "any"],
                ),
                "low": nullable(
                    ref("Exact", f"Lower edge, {edge} At least 0 where taller_only is asked.")
                ),
                "high": nullable(ref("Exact", f"Upper edge, {edge}")),
            },
        ),
        "filters": members(
            "What else was asked for.",
            {
                "top": nullable(whole("Combinations listed at most; null: all.", 1)),
                "suppliers": list_of(_NAME, "Only sets of these suppliers; empty: of all."),
                "max_price": nullable(
                    number("Greatest price of a combination, in `currency`.", minimum=0)
                ),
                "max_sets": nullable(whole("Greatest number of sets bought.", 1)),
                "in_stock": yes_no("Only sets on the shop's shelf."),
                "taller_only": yes_no("What makes the machine shorter was left out."),
                "proven_only": yes_no("What is unproven was left out."),
            },
        ),
        "currency": nullable(
            text(
                "The currency in which prices are ordered and compared with max_price: the one "
                "given with it, else the shop's usual one; null where no price is known."
            )
        ),
        **list_road_members(),
        "combinations": list_of(
            ref("RankedCombination"),
            "What fits or may fit, by road-speed change falling, then pairs, price and ids; "
            "before that by `road.rank`, where the road is asked.",
        ),
        "shorter": list_of(
            ref("RankedCombination"),
            "Single sets that fit or may fit but make the machine shorter, ranked among "
            "themselves; empty where taller_only is asked, and where the window has no lower edge "
            "or one under zero: they are then among the combinations.",
        ),
        "ruled_out": nullable(
            list_of(ref("Exclusion"), "What was ruled out, and why; null where nobody asked.")
        ),
        "counts": members(
            "How many choices there are: fits + unproven + ruled_out = all_choices, and shorter + "
            "below + in_band + stretch + over = fits + unproven where a tune is given.",
            {
                "all_choices": whole("Every combination the catalogue can make for this train."),
                "fits": whole("Proved at stated or better."),
                "unproven": whole("Nothing speaks against them, some datum is missing."),
                "ruled_out": whole("A rule speaks against them."),
                "shorter": whole("Fits or unproven, but shorter than now."),
                "below": nullable(whole(f"Taller than now, under the band{count_or_null}")),
                "in_band": nullable(whole(f"In the band{count_or_null}")),
                "stretch": nullable(whole(f"Over the band, in its stretch{count_or_null}")),
                "over": nullable(whole(f"Beyond that{count_or_null}")),
                "listed": whole("Those that pass window and filters, before top cuts them."),
                "unlawful": whole(
                    "Only where lawful ones are asked (--lawful): those that pass window and other "
                    "filters, but are over the class's speed or, with proven_only, may be."
                ),
                "price_unknown": whole(
                    "Only where a greatest price is asked (--max-price): those that pass window "
                    "and other filters, before the law, but hold a set of unknown price; left out."
                ),
                "other_currency": whole(
                    "Likewise: those of known prices that hold a set priced in another currency "
                    "than `currency`; left out."
                ),
            },
            if_asked=("unlawful", "price_unknown", "other_currency"),
        ),
    }
