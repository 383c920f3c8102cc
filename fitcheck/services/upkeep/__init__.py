"""Records added, changed or retired by command: judged before anything is written."""

from __future__ import annotations

from fitcheck.services.upkeep.add import NewSet, add_set
from fitcheck.services.upkeep.drafts import Edited
from fitcheck.services.upkeep.edit import change_set
from fitcheck.services.upkeep.retire import retire_set

__all__ = ["Edited", "NewSet", "add_set", "change_set", "retire_set"]
