"""JSON Schema of the answer of `road`, each member with its meaning and unit."""

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
    words,
    yes_no,
)
from fitcheck.services.request import RankBy
from fitcheck.services.road.figures import LawfulAnswer, PullVerdict

__all__ = [
    "INPUT_KINDS",
    "LIMITS",
    "RANKS",
    "ROAD_DEFINITIONS",
    "list_road_members",
    "road_members",
    "row_road_members",
]

INPUT_KINDS = (
    "counted",
    "given",
    "calibrated",
    "catalogue",
    "standard",
    "approximate",
    "estimate",
)
RANKS: tuple[str, ...] = get_args(RankBy)
LIMITS = ("revs", "ratio", "power", "start")

_EXACT = r"^-?[0-9]+/[1-9][0-9]*$"
_SENTENCES: Schema = {"type": "string", "minLength": 1}
_NUMBER: Schema = {"type": "number"}


def _figure(description: str) -> Schema:
    return ref("Range", description)


def _maybe(description: str) -> Schema:
    return nullable(ref("Range", description))


_VERDICT = words(
    "Whether the engine pulls the gearing.", [verdict.value for verdict in PullVerdict]
)

_TYRE_WARNING = nullable(
    text("A warning where it may go faster than the tyre's speed symbol allows.")
)

_CAPPED = "What holds"
_CAP = words(
    "grip: the driven wheel slips; front wheel: it lifts. On a dry road, by usual figures.",
    ("grip", "front wheel"),
)
_OTHER = nullable(
    ref("OtherTop", "A second speed, where runs for the range jump to it; null where none does.")
)

_OUTCOME: dict[str, Schema] = {
    "label": text("What to call it: now, or the ids of the sets joined by ` + `."),
    "combination": nullable(
        ref("Combination", "The sets and how they fit; null for the machine as it stands.")
    ),
    "pairs": ref("Pairs", "Tooth counts of every stage."),
    "reduction": ref("Exact", "Overall reduction."),
    "road_speed_change_percent": number(
        "Percent by which road speed rises on paper, a change of tyre counted in."
    ),
    "road_speed_change_exact": text("The same, exact, percent.", pattern=_EXACT),
    "reduction_change_percent": number(
        "Percent by which the overall reduction rises: another figure for the same change of "
        "gears, negative where the drive is taller."
    ),
    "reduction_change_exact": text("The same, exact, percent.", pattern=_EXACT),
    "verdict": _VERDICT,
    "cautious_verdict": _VERDICT | {"description": "The same at the low end of the range."},
    "km_h_per_1000_rpm": _figure("Road speed in the top ratio at 1,000 engine rpm, km/h."),
    "paper_top_km_h": _figure("Road speed in the top ratio at peak-power rpm, km/h."),
    "top": members(
        "The speed it really reaches.",
        {
            "flat": ref("Top", "On the flat in still air."),
            "headwind": ref("Top", "On the flat into a wind of 20 km/h."),
            "uphill": ref("Top", "Up 5 percent in still air."),
        },
    ),
    "top_change_km_h": _maybe("Change of top speed on the flat against now, km/h; null for now."),
    "start": members(
        "Moving off.",
        {
            "force_n": _figure("Pull at the wheel as the clutch grips, N."),
            "change_percent": _maybe("Its change against now, percent; null for now."),
            "gradient_percent": _maybe(
                "Steepest hill it starts on, percent; null where it does not start on the flat."
            ),
            "force_cap": nullable(_CAP | {"description": f"{_CAPPED} the pull; null: the engine."}),
            "gradient_cap": nullable(
                _CAP | {"description": f"{_CAPPED} the steepest hill; null: the engine."}
            ),
        },
    ),
    "times_s": members(
        "Seconds from standstill at full throttle on the flat; null where it never gets there.",
        {
            "to_30_km_h": _maybe("To 30 km/h."),
            "to_45_km_h": _maybe("To 45 km/h."),
            "to_60_km_h": _maybe("To 60 km/h."),
            "to_200_m": _maybe("For the first 200 m."),
            "to_95_percent_of_top": _maybe("To 95 percent of its top speed on the flat."),
        },
    ),
    "rpm_at": list_of(
        members(
            "One road speed.",
            {"km_h": number("Road speed, km/h."), "rpm": number("Engine speed there, 1/min.")},
        ),
        "Engine speed at round road speeds, those it reaches.",
    ),
    "fuel": nullable(
        members(
            "Use of fuel at a steady speed, roughly; null where it is not compared.",
            {
                "km_h": number("The steady speed, km/h."),
                "change_percent": _maybe(
                    "Change against now, percent; null for now, or where the variator takes the "
                    "change up."
                ),
            },
        )
    ),
    "lawful": nullable(ref("ClassAnswer", "Null where no vehicle class is known.")),
    "tyre_warning": _TYRE_WARNING,
    "help": nullable(
        members(
            "What would help; null for now.",
            {
                "start_ratio": nullable(
                    number("Starting variator ratio that gives the old start-off pull back.")
                ),
                "variators": list_of(
                    _SENTENCES, "Ids of variators in the catalogue that have such a ratio."
                ),
                "sentences": list_of(_SENTENCES, "All of it in words."),
            },
        )
    ),
    "curves": members(
        "Points to draw; lists of one pair are of equal length.",
        {
            "speed_km_h": list_of(_NUMBER, "Road speeds, rising, km/h."),
            "thrust_n": list_of(_NUMBER, "Full-throttle thrust at the wheel there, N."),
            "time_s": list_of(_NUMBER, "Times from standstill, rising, s."),
            "time_speed_km_h": list_of(_NUMBER, "Road speed at those times, km/h."),
        },
    ),
}

_ANSWER: dict[str, Schema] = {
    "answer": words(
        "Where the top speed lies against the ceiling; straddles: the range lies on both sides of "
        "it.",
        [answer.name.lower() for answer in LawfulAnswer],
    ),
    "top_km_h": _maybe("Predicted top speed on the flat with a rider of 75 kg, km/h."),
    "sentence": text("The answer in words."),
    "others": list_of(_SENTENCES, "What else speaks against the class."),
}

ROAD_DEFINITIONS: dict[str, Schema] = {
    "Range": members(
        "A predicted figure and the range that its uncertain inputs leave; about 19 times in 20 "
        "the true figure lies inside.",
        {
            "value": number("The figure, rounded to four decimals."),
            "low": number("Low end of the range."),
            "high": nullable(number("High end; null: without end, as a time never reached.")),
        },
    ),
    "Top": members(
        "The speed a gearing really reaches.",
        {
            "speed_km_h": ref("Range", "Road speed, km/h."),
            "other": _OTHER,
            "rpm": number("Engine speed there, 1/min."),
            "limit": words(
                "What limits it. revs: the rev limit; ratio: geared short, past the power peak; "
                "power: geared long enough, drag takes all; start: it cannot move off.",
                LIMITS,
            ),
        },
    ),
    "OtherTop": members(
        "A second top speed on the flat: the variator comes out or not, or torque dips.",
        {
            "km_h": number("Road speed, about, km/h."),
            "when": text("When.", examples=["if the variator does not come out"]),
        },
    ),
    "ClassAnswer": members(
        "A gearing against the ceilings of a vehicle class; local law decides.",
        {
            "class": text("Id of the class."),
            "name": text("Name of the class."),
            "where": text("Where it applies."),
            "ceiling_km_h": nullable(number("Its greatest design speed, km/h; null: none.")),
            **_ANSWER,
            "source": text("The rule the class is taken from."),
            "date": text("Date of the text read.", format="date"),
            "place": ref("Place", "Where its record stands."),
        },
    ),
    "RowRoad": members(
        "What a gearing of a list does on the road, in short.",
        {
            "verdict": _VERDICT,
            "top_km_h": _figure("The speed it really reaches on the flat in still air, km/h."),
            "other_top": _OTHER,
            "top_change_km_h": number("Its change against now, km/h."),
            "start_force_n": _figure("Pull at the wheel as the clutch grips, N."),
            "start_change_percent": number("Its change against now, percent."),
            "to_45_km_h_s": nullable(
                number("Seconds from standstill to 45 km/h; null where it never gets there.")
            ),
            "tyre_warning": _TYRE_WARNING,
        },
    ),
    "RowClassAnswer": members(
        "A gearing of a list against the class that `law` names; local law decides.", _ANSWER
    ),
    "Outcome": members("What the machine does on the road with one gearing.", _OUTCOME),
    "Input": members(
        "One input of the model.",
        {
            "key": text("What it is in the model; stable.", examples=["peak_power"]),
            "name": text("What it is called."),
            "value": number("Its value, rounded to six decimals."),
            "spread": number(
                "Half-width of the range it may lie in: two standard deviations.", minimum=0
            ),
            "unit": text("Unit of both; empty for a ratio.", examples=["kW"]),
            "kind": words(
                "How it is known; calibrated: moved by a measured top speed.",
                INPUT_KINDS,
            ),
            "before": nullable(
                number("Its value before a measured speed moved it; null where none did.")
            ),
            "source": text("Where it comes from: a place in a file, a rule, an option."),
        },
    ),
}
"""Definitions of what the road model answers."""


def list_road_members() -> dict[str, Schema]:
    """Members that a list has for the whole of it, where the road or the law is asked."""
    return {
        "road": members(
            "Only where the road is asked (--road, --rank): the present gearing, and the model.",
            {
                "rank": words(
                    "What comes first in `combinations` and `shorter`: most road-speed change; or "
                    "by the model most top speed, most start-off pull, least time to 45 km/h, or "
                    "what the engine pulls (then most top speed).",
                    RANKS,
                ),
                "now": ref("RowRoad", "The machine as it stands."),
                "calibrated": nullable(
                    text(
                        "Which inputs the measured top speed has moved most, and how far; null "
                        "where none was measured."
                    )
                ),
                "notes": list_of(_SENTENCES, "Cautions of the model."),
            },
        ),
        "law": nullable(
            members(
                "Only where the road or the law is asked (--road, --rank, --lawful); null where "
                "no vehicle class is known.",
                {
                    "only_lawful": yes_no("What takes the machine over its class was left out."),
                    "now": ref("ClassAnswer", "The class, and its answer to the present gearing."),
                    "approval": text("What is told with every answer about the law."),
                },
            )
        ),
    }


def row_road_members() -> dict[str, Schema]:
    """Members of a combination in a list, where the road or the law is asked."""
    return {
        "road": ref("RowRoad", "Only where the road is asked: what it does there."),
        "lawful": nullable(
            ref(
                "RowClassAnswer",
                "Only where the road or the law is asked: the class's answer; null where no "
                "vehicle class is known.",
            )
        ),
    }


def road_members() -> dict[str, Schema]:
    """The members of the answer, after those that every answer begins with."""
    return {
        "machine": ref("Machine"),
        "before": ref("Outcome", "The machine as it stands."),
        "after": list_of(ref("Outcome"), "With each choice asked for, in the order asked."),
        "loads": members(
            "What the road takes; lists of equal length.",
            {
                "speed_km_h": list_of(_NUMBER, "Road speeds, rising, km/h."),
                "flat_n": list_of(_NUMBER, "Load on the flat in still air, N."),
                "headwind_n": list_of(_NUMBER, "Load into a wind of 20 km/h, N."),
                "uphill_n": list_of(_NUMBER, "Load up 5 percent, N."),
            },
        ),
        "inputs": list_of(ref("Input"), "Every input of the model."),
        "calibrated": nullable(
            text(
                "Which inputs the measured top speed has moved most, and how far; null where none "
                "was measured."
            )
        ),
        "notes": list_of(_SENTENCES, "Extrapolations and other cautions, a sentence each."),
    }
