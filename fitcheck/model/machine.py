"""Machine: one customer's scooter as it stands in the shop."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field, model_validator

from fitcheck.model.fields import (
    STAGES,
    Id,
    Inches,
    Millimetres,
    Positive,
    Record,
    Stage,
    Teeth,
    Text,
)

__all__ = ["Engine", "Machine", "Masses", "TorquePoint", "Variator"]


class TorquePoint(Record):
    """One full-throttle point."""

    rpm: Annotated[Positive, Field(le=30000)] = Field(description="Engine speed, 1/min.")
    power_kw: Annotated[Positive, Field(le=200)] = Field(description="Power at the crankshaft, kW.")


class Engine(Record):
    """What is known of the engine."""

    peak_power_kw: Annotated[Positive, Field(le=200)] | None = Field(
        None, description="Peak power, kW."
    )
    peak_power_rpm: Annotated[Positive, Field(le=30000)] | None = Field(
        None, description="Engine speed of peak power, 1/min."
    )
    rev_limit_rpm: Annotated[Positive, Field(le=30000)] | None = Field(
        None, description="Highest engine speed, 1/min."
    )
    points: list[TorquePoint] = Field(default=[], description="Full-throttle points, rising rpm.")

    @model_validator(mode="after")
    def _power_has_its_rpm(self) -> Engine:
        if (self.peak_power_kw is None) != (self.peak_power_rpm is None):
            raise ValueError("peak_power_kw and peak_power_rpm belong together; give both or none")
        return self


class Variator(Record):
    """Stepless belt variator, ratios as driven over driver."""

    low_ratio: Annotated[Positive, Field(le=10)] = Field(
        description="Starting ratio, the largest.", examples=[2.6]
    )
    high_ratio: Annotated[Positive, Field(le=10)] = Field(
        description="Top ratio, the smallest.", examples=[0.8]
    )
    shift_rpm: Annotated[Positive, Field(le=30000)] | None = Field(
        None, description="Engine speed held while shifting, 1/min."
    )
    engage_rpm: Annotated[Positive, Field(le=30000)] | None = Field(
        None, description="Engine speed at which the clutch grips, 1/min."
    )

    @model_validator(mode="after")
    def _low_is_larger(self) -> Variator:
        if self.low_ratio <= self.high_ratio:
            raise ValueError(
                f"low_ratio ({self.low_ratio}) is the starting ratio and is larger than high_ratio "
                f"({self.high_ratio}); are they swapped?"
            )
        return self


class Masses(Record):
    """Masses, kg."""

    running_order_kg: Annotated[Positive, Field(ge=20, le=1000)] | None = Field(
        None, description="Machine with fuel and oil, without rider, kg."
    )
    rider_kg: Annotated[Positive, Field(ge=20, le=300)] | None = Field(
        None, description="Rider and load, kg."
    )


class Machine(Record):
    """One customer's scooter: family, housing and counted teeth are what matter."""

    name: Text = Field(description="What the counter calls it.", examples=["Rosa's Dunlin Ten"])
    family: Id = Field(description="Id of the engine family.")
    housing: Id | None = Field(None, description="Id of the housing; left out: not looked at yet.")
    pairs: Annotated[dict[Stage, Teeth], Field(min_length=1)] = Field(
        description="Teeth counted, by stage.",
        examples=[{"primary": "14/45", "secondary": "13/48"}],
    )
    wheel_size_in: Inches | None = Field(None, description="Rim size of the driven wheel, inches.")
    tyre: Id | None = Field(None, description="Id of the tyre on the driven wheel.")
    roll_out_mm: Millimetres | None = Field(
        None,
        description="Distance per wheel turn, measured with the rider on, mm.",
        examples=[1310],
    )
    tune: Id | None = Field(None, description="Id of the engine's state of tune.")
    vehicle_class: Id | None = Field(
        None, description="Id of the class the machine is registered in."
    )
    engine: Engine = Field(default=Engine(), description="Engine data, where known.")
    variator: Variator | None = Field(None, description="Belt variator, where known.")
    masses: Masses = Field(default=Masses(), description="Masses, where known.")
    notes: Text | None = Field(None, description="Anything worth knowing; shown, never judged.")

    @property
    def stages(self) -> tuple[Stage, ...]:
        """Stages of the counted train from input shaft to wheel."""
        return tuple(stage for stage in STAGES if stage in self.pairs)
