"""What tyre and balance let through: a driven wheel that slips, a front wheel that lifts."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf
from typing import Literal

from fitcheck.kernel.road.load import RoadLoad

Cap = Literal["grip", "front wheel"]


@dataclass(frozen=True, slots=True)
class Footing:
    """Grip of the driven wheel, and where the weight is; all shares.

    Attributes:
        friction: between driven tyre and road.
        driven_share: weight on the driven wheel at rest on the level over the whole weight.
        height_share: height of the centre of gravity over the wheelbase.
    """

    friction: float
    driven_share: float
    height_share: float

    def __post_init__(self) -> None:
        """Refuse what no machine has."""
        if not (0 < self.friction < inf and 0 < self.height_share < inf):
            raise ValueError("friction and height of the centre of gravity are over 0")
        if not 0 < self.driven_share < 1:
            raise ValueError(f"a share of the weight is over 0 and below 1: {self.driven_share}")

    def most_thrust(self, load: RoadLoad) -> tuple[float, Cap]:
        """The most thrust on the level, N, and what sets it.

        The thrust accelerates the machine, which takes weight off the front wheel: the driven
        wheel carries q m g + F k, and has friction times that.
        """
        weight = load.mass_kg * load.gravity
        slips = weight * self._gripped(self.friction * self.driven_share)
        lifts = weight * (1 - self.driven_share) / self.height_share
        return (slips, "grip") if slips < lifts else (lifts, "front wheel")

    def steepest(self, load: RoadLoad) -> tuple[float, Cap]:
        """The steepest gradient, rise over run, on which it can start, and what sets it.

        At a steady crawl: friction (q cos a + k sin a) = R cos a / (m g) + sin a.
        """
        rolling = load.constant_n / (load.mass_kg * load.gravity)
        slips = self._gripped(self.friction * self.driven_share - rolling)
        lifts = (1 - self.driven_share) / self.height_share
        return (slips, "grip") if slips < lifts else (lifts, "front wheel")

    def _gripped(self, share: float) -> float:
        """A share of the weight, raised by what the slope or the thrust puts on the wheel."""
        left = 1 - self.friction * self.height_share
        return share / left if left > 0 else inf
