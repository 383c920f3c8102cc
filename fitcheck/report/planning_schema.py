"""JSON Schema members of the answers of `shelf gaps` and `shelf plan`."""

from __future__ import annotations

from typing import get_args

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
from fitcheck.services.planning.demands import Asked
from fitcheck.services.planning.gaps import State
from fitcheck.services.planning.plan import Why
from fitcheck.services.planning.prices import PriceFrom

__all__ = ["PLANNING_ANSWERS", "PLANNING_DEFINITIONS"]

_NAME: Schema = {"type": "string", "minLength": 1}
_CURRENCY = "^[A-Z]{3}$"

_ASKED: dict[str, Schema] = {
    "asked": words(
        "Who is served: machines on record, or the factory trains of families under every tune.",
        get_args(Asked),
    ),
    "lawful": yes_no("Whether only what the class is sure to allow serves a machine."),
}

_STATES = [state.name.lower() for state in State]

_DEMAND: dict[str, Schema] = {
    "machine": text("Its id; of a factory train family/number/tune, the number from 1."),
    "name": text("What the counter calls it."),
    "family": text("Id of its family."),
    "tune": text("Id of its tune."),
    "factory_train": nullable(ref("FactoryTrain", "Null for a machine on record.")),
    "visits": number("How often it comes; 1 where nobody said.", minimum=0),
}

_COUNTS = members(
    "How many machines are in each state.",
    {
        "nothing": whole("The shelf holds nothing of proved fit in band."),
        "unlawful": whole("Something, but nothing its class allows; 0 where the law is not asked."),
        "unclear": whole("Something, but nobody can say whether lawful; 0 likewise."),
        "one": whole("One choice serves it."),
        "served": whole("Two choices or more serve it."),
    },
)

PLANNING_DEFINITIONS: dict[str, Schema] = {
    "Kit": members(
        "Sets that serve a machine together, some of which are still to be bought.",
        {
            "sets": list_of(
                _NAME, "Ids of all of them, from input shaft to wheel.", minItems=1, maxItems=3
            ),
            "buy": list_of(
                _NAME, "Ids of those that do not lie on the shelf.", minItems=1, maxItems=3
            ),
            "price": nullable(
                ref("Money", "Of those to buy; null where a price is unknown or currencies differ.")
            ),
            "currency": nullable(text("ISO 4217 code of the price.", pattern=_CURRENCY)),
            "at_cost": list_of(
                _NAME,
                "Ids of those to buy that are at what the shop paid last; the others go by the "
                "suppliers' lists.",
                maxItems=3,
            ),
            "at_list": list_of(
                _NAME,
                "Ids of those to buy for which the list price stands in, since neither a cost nor "
                "a discount of the supplier is on record.",
                maxItems=3,
            ),
        },
    ),
    "Unjudged": members(
        "A machine of which nobody can say what serves it.",
        {
            "machine": text("Its id."),
            "name": text("What the counter calls it."),
            "family": text("The family its record names."),
            "reason": text("Why, one sentence."),
        },
    ),
    "Tally": members(
        "Machines, and their visits together.",
        {"machines": whole("How many."), "visits": number("Their visits.", minimum=0)},
    ),
}

_UNJUDGED = list_of(ref("Unjudged"), "Those left out, and why.")
_GEAR_SETS: Schema = {
    "description": "Every gear set the kits name, once, by id.",
    "type": "object",
    "additionalProperties": ref("GearSet"),
}


def _gaps() -> tuple[str, dict[str, Schema]]:
    law = members(
        "What its class says of the choices counted in `in_band`.",
        {
            "within": whole("Sure to stay within it: these serve."),
            "unclear": whole("Nobody can say."),
            "over": whole("Sure to leave it."),
            "problem": nullable(
                text("What keeps every choice from being sure; null where nothing does.")
            ),
        },
    )
    machine = members(
        "How well the shelf serves one machine.",
        {
            **_DEMAND,
            "state": words("How well; `counts` tells the words.", _STATES),
            "in_band": whole("Choices on the shelf of proved fit and in band."),
            "unproven": whole("Choices on the shelf in band, but of unproven fit: none serves."),
            "law": nullable(law),
            "closers": list_of(
                ref("Kit"),
                "What would close the gap, or add to the one choice, cheapest first; empty for a "
                "machine that is served.",
            ),
            "all_closers": whole("How many there are, whatever `top` cuts."),
            "unclear_closers": whole("Others, of which nobody can say whether lawful."),
            "over_closers": whole("Others, sure to leave the class."),
        },
    )
    family = members(
        "The machines of one family.",
        {
            "family": text("Its id."),
            "family_name": text("Its name."),
            "place": ref("Place", "Where its record stands."),
            "counts": _COUNTS,
            "machines": list_of(machine, "All of them, served or not.", minItems=1),
        },
    )
    return "Answer of `fitcheck shelf gaps --format json`", {
        **_ASKED,
        "top": nullable(whole("At most so many closers a machine; null for all.")),
        "counts": _COUNTS,
        "families": list_of(family, "Families that have a machine, as on file."),
        "unjudged": _UNJUDGED,
        "gear_sets": _GEAR_SETS,
    }


def _plan() -> tuple[str, dict[str, Schema]]:
    item = members(
        "One set to buy.",
        {
            "set": text("Its id."),
            "supplier": text("Id of its supplier."),
            "part_number": text("The supplier's number."),
            "pieces": whole("How many.", 1),
            "price": ref("Money", "What it costs."),
            "price_from": words(
                "Whether that is what the shop paid last, as the shelf says, the supplier's list "
                "price less its discount, or the list price itself.",
                get_args(PriceFrom),
            ),
            "serves": list_of(_NAME, "Ids of the machines whose kit holds it."),
        },
    )
    served = members("A machine newly served.", {**_DEMAND, "kit": ref("Kit", "By what.")})
    unserved = members(
        "A machine that stays without a choice.",
        {
            **_DEMAND,
            "why": words("Why.", [why.value for why in Why]),
            "kit": nullable(ref("Kit", "The cheapest that would; null where there is none.")),
        },
    )
    quality = members(
        "How good the purchase is.",
        {
            "method": words("What found it.", ["exact", "greedy"]),
            "solver": yes_no("Whether the solver was there to ask."),
            "ended": yes_no("Whether the search came to its end; else the time for it ran out."),
            "optimal": yes_no(
                "Whether it is proved that no purchase within the budget serves more."
            ),
            "cheapest": yes_no("Whether it is proved that none that serves as much costs less."),
            "most_visits": number(
                "No purchase within the budget newly serves more visits than these.", minimum=0
            ),
            "greedy_visits": number("Visits that the greedy purchase newly serves.", minimum=0),
            "singles_only": yes_no("Whether one set always suffices to serve a machine."),
        },
    )
    return "Answer of `fitcheck shelf plan --format json`", {
        **_ASKED,
        "weighted": yes_no("Whether visits were given."),
        "unweighted": whole("Machines that count once because the visits do not name them."),
        "currency": text("ISO 4217 code of all money of the plan.", pattern=_CURRENCY),
        "budget": ref("Money", "The money there is."),
        "spent": ref("Money", "The sum of what is bought."),
        "left": ref("Money", "What is left of the budget."),
        "before": ref("Tally", "Served from the shelf as it is."),
        "after": ref("Tally", "Served once all is bought."),
        "all": ref("Tally", "All that were judged."),
        "buy": list_of(item, "The shopping list, by supplier, then id."),
        "served": list_of(served, "Machines newly served."),
        "unserved": list_of(unserved, "Machines that stay without a choice."),
        "unjudged": _UNJUDGED,
        "left_out": members(
            "Sets that would help but are not planned with.",
            {
                "other_currencies": {
                    "description": "How many are priced in another currency, by its code.",
                    "type": "object",
                    "additionalProperties": {"type": "integer", "minimum": 1},
                },
                "unpriced": whole("How many have no price."),
            },
        ),
        "at_list": members(
            "For how many sets a list price stands in, for want of a cost or a discount.",
            {
                "sets": whole("How many."),
                "of": whole("Of so many priced in this currency that would help."),
            },
        ),
        "quality": quality,
        "gear_sets": _GEAR_SETS,
    }


PLANNING_ANSWERS = {"shelf-gaps": _gaps, "shelf-plan": _plan}
"""The answers, each with its title and the members behind those that every answer begins with."""
