"""Engine and belt variator: what a machine, or a family from the factory, is known to have."""

from __future__ import annotations

from decimal import Decimal
from itertools import pairwise
from typing import Annotated, Any

from pydantic import ConfigDict, Field, model_validator

from fitcheck.model.fields import Positive, Record, both_or_none, holds

Kilowatts = Annotated[Positive, Field(le=200)]
Rpm = Annotated[Positive, Field(le=30000)]
VariatorRatio = Annotated[Positive, Field(le=10)]
FixedRatio = Annotated[Positive, Field(ge=0.1, le=20)]
Efficiency = Annotated[Positive, Field(ge=0.5, le=1)]
RunningOrder = Annotated[Positive, Field(ge=20, le=1000)]


ONE_DRIVE: dict[str, Any] = {"not": {"allOf": [holds("fixed_ratio"), holds("variator", "object")]}}
"""JSON Schema for: a variator or a fixed ratio, not both."""


def check_one_drive(fixed_ratio: object, variator: object) -> None:
    """Refuse a record that has both a fixed ratio and a variator.

    Raises:
        ValueError: both are given.
    """
    if fixed_ratio is not None and variator is not None:
        raise ValueError(
            "fixed_ratio and variator exclude each other; a machine with a belt variator has no "
            "fixed ratio before the gearbox"
        )


def check_ratios(low_ratio: Decimal, high_ratio: Decimal) -> None:
    """Refuse a starting ratio that is not larger than the top ratio.

    Raises:
        ValueError: it is not.
    """
    if low_ratio <= high_ratio:
        raise ValueError(
            f"low_ratio ({low_ratio}) is the starting ratio and has to be larger than "
            f"high_ratio ({high_ratio}); are they swapped?"
        )


class TorquePoint(Record):
    """One full-throttle point of the engine: its power or its torque at one speed."""

    model_config = ConfigDict(json_schema_extra={"oneOf": [holds("power_kw"), holds("torque_nm")]})

    rpm: Rpm = Field(description="Engine speed, 1/min.", examples=[7500])
    power_kw: Kilowatts | None = Field(
        None, description="Power at the crankshaft, kW; this or torque.", examples=[3.2]
    )
    torque_nm: Annotated[Positive, Field(le=500)] | None = Field(
        None, description="Torque at the crankshaft, Nm; this or power.", examples=[4.1]
    )

    @model_validator(mode="after")
    def _power_or_torque(self) -> TorquePoint:
        if self.power_kw is None and self.torque_nm is None:
            raise ValueError("this point has neither power_kw nor torque_nm; give one of them")
        if self.power_kw is not None and self.torque_nm is not None:
            raise ValueError("a point has power_kw or torque_nm, not both; take one of them out")
        return self


class Engine(Record):
    """What is known of the engine as it stands, in its present tune.

    Peak power and its speed belong together; where points are given, they are the curve.
    """

    model_config = ConfigDict(
        json_schema_extra={"allOf": both_or_none("peak_power_kw", "peak_power_rpm")}
    )

    peak_power_kw: Kilowatts | None = Field(
        None, description="Peak power at the crankshaft, kW.", examples=[3.4]
    )
    peak_power_rpm: Rpm | None = Field(
        None, description="Engine speed of peak power, 1/min.", examples=[7250]
    )
    rev_limit_rpm: Rpm | None = Field(
        None,
        description="Rev limit, 1/min: of the ignition's limiter, or the most the engine stands.",
        examples=[9500],
    )
    points: list[TorquePoint] = Field(
        default=[],
        description="Full-throttle points, rising rpm, two or more; they override peak power.",
        examples=[[{"rpm": 6000, "power_kw": 2.6}, {"rpm": 7250, "torque_nm": 4.5}]],
        json_schema_extra={"not": {"minItems": 1, "maxItems": 1}},
    )

    @model_validator(mode="after")
    def _power_has_its_rpm(self) -> Engine:
        if (self.peak_power_kw is None) != (self.peak_power_rpm is None):
            raise ValueError("peak_power_kw and peak_power_rpm belong together; give both or none")
        return self

    @model_validator(mode="after")
    def _points_make_a_curve(self) -> Engine:
        if len(self.points) == 1:
            raise ValueError(
                "points holds a single point, which is no curve; give two or more, or peak power "
                "and its speed instead"
            )
        for number, (before, after) in enumerate(pairwise(self.points), start=2):
            if after.rpm <= before.rpm:
                raise ValueError(
                    f"points do not rise, since item {number} has {after.rpm} 1/min after "
                    f"{before.rpm}; put them in order of engine speed, each speed once"
                )
        return self


class Variator(Record):
    """Stepless belt variator; ratios as driven over driver, no unit."""

    low_ratio: VariatorRatio = Field(
        description="Starting ratio, the largest; no unit.", examples=[2.6]
    )
    high_ratio: VariatorRatio = Field(
        description="Top ratio, the smallest; no unit.", examples=[0.8]
    )
    shift_rpm: Rpm | None = Field(
        None, description="Engine speed held while shifting, 1/min.", examples=[7000]
    )
    engage_rpm: Rpm | None = Field(
        None, description="Engine speed at which the clutch engages, 1/min.", examples=[3500]
    )
    efficiency: Efficiency | None = Field(
        None,
        description="Power that leaves belt and clutch over power that enters, a fraction from "
        "0.5 to 1; no unit.",
        examples=[0.83],
    )

    @model_validator(mode="after")
    def _low_is_larger(self) -> Variator:
        check_ratios(self.low_ratio, self.high_ratio)
        return self

    @model_validator(mode="after")
    def _engages_before_it_shifts(self) -> Variator:
        if (
            self.engage_rpm is not None
            and self.shift_rpm is not None
            and self.engage_rpm > self.shift_rpm
        ):
            raise ValueError(
                f"engage_rpm ({self.engage_rpm}) is over shift_rpm ({self.shift_rpm}); are they "
                "swapped?"
            )
        return self
