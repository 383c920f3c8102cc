"""What a row, or several of one part, is listed for."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any


@dataclass(slots=True)
class Listed:
    """What a row, or several of one part, is listed for.

    Attributes:
        models: model words as the list writes them.
        families: families they stand for.
        wheel: rim size, inches, where it is one.
        fits: the claim the list makes, as the record has it; empty where it makes none.
        asked: keys of questions that are open.
        notes: what was left out, and why.
    """

    models: list[str] = field(default_factory=list)
    families: list[str] = field(default_factory=list)
    wheel: int | None = None
    fits: list[dict[str, Any]] = field(default_factory=list)
    asked: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)

    def add(self, other: Listed) -> None:
        """Take in what another row of the same part is listed for."""
        self.models += other.models
        self.families += other.families
        self.asked += other.asked
        self.notes += [note for note in other.notes if note not in self.notes]
        for claim in other.fits:
            same = next((each for each in self.fits if each["family"] == claim["family"]), None)
            if same is None:
                self.fits.append(claim)
            else:
                both = [*same["housings"], *claim["housings"]]
                same["housings"] = list(dict.fromkeys(both))
