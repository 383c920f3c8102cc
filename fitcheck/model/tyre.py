"""Tyre: a tyre on the driven wheel, and how far one turn takes it."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import ConfigDict, Field, model_validator

from fitcheck.kernel.tyres import LOAD_INDICES, RollOutKind, TyreError, TyreSize, read_size
from fitcheck.model.fields import Inches, Positive, Record, RollOut, Text, both_or_none, holds

SpeedSymbol = Literal[
    "A1", "A2", "A3", "A4", "A5", "A6", "A7", "A8", "B", "C", "D", "E", "F", "G", "J", "K", "L",
    "M", "N", "P", "Q", "R", "S", "T", "U", "H", "V", "Z", "W", "Y",
]  # fmt: skip
"""A speed symbol as on a sidewall; `Z` is that of `ZR` sizes."""


ONE_TYRE: dict[str, Any] = {
    "not": {"allOf": [holds("tyre", "string"), holds("tyre_size", "string")]}
}
"""JSON Schema for: a tyre of the catalogue or a size, not both."""


def size_or_none(text: str | None) -> TyreSize | None:
    """The size a text stands for, or None where it is not given or cannot be read."""
    try:
        return None if text is None else read_size(text)
    except TyreError:
        return None


class Tyre(Record):
    """A tyre on the driven wheel; its size alone gives a roll-out by rule."""

    model_config = ConfigDict(
        json_schema_extra={"allOf": both_or_none("roll_out_mm", "basis", "string")}
    )

    size: Text = Field(
        description="Size as written on the sidewall, load index and speed symbol too if you like.",
        examples=["3.50-10", "120/70-12 51L"],
    )
    wheel_size_in: Inches = Field(description="Rim size, whole inches.", examples=[10])
    roll_out_mm: RollOut | None = Field(
        None,
        description="Distance per turn of the wheel, mm. Default: by rule from the size.",
        examples=[1310],
    )
    basis: RollOutKind | None = Field(
        None,
        description="Where roll_out_mm comes from: counted on the floor, a maker's catalogue, a "
        "standard's rule (metric sizes), an approximation (inch sizes), or an estimate.",
    )
    spread_percent: Annotated[Positive, Field(le=20)] | None = Field(
        None,
        description="How far off the roll-out may be, percent. Default: as usual for its basis.",
        examples=[1.5],
    )
    load_index: Annotated[int, Field(ge=LOAD_INDICES[0], le=LOAD_INDICES[1])] | None = Field(
        None,
        description="Load index on the sidewall. Default: as in the size, where it is there.",
        examples=[51],
    )
    speed_symbol: SpeedSymbol | None = Field(
        None,
        description="Speed symbol on the sidewall. Default: as in the size, where it is there.",
    )
    source: Text | None = Field(
        None,
        description="Rule, table or hand it comes from.",
        examples=["three turns on the shop floor, rider on"],
    )

    @model_validator(mode="after")
    def _has_a_roll_out(self) -> Tyre:
        if (self.roll_out_mm is None) != (self.basis is None):
            raise ValueError("roll_out_mm and basis belong together; give both or none")
        if self.roll_out_mm is None:
            try:
                read_size(self.size)
            except TyreError as error:
                said, _, _ = str(error).partition("; ")
                raise ValueError(
                    f"size gives no roll-out, since {said}; correct it or add roll_out_mm"
                ) from None
        return self

    @property
    def read(self) -> TyreSize | None:
        """Its size, or None where it cannot be read."""
        return size_or_none(self.size)

    @property
    def symbol(self) -> str | None:
        """Its speed symbol: as given, else as in the size."""
        if self.speed_symbol is not None:
            return self.speed_symbol
        size = self.read
        return None if size is None else size.speed_symbol
