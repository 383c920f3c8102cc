"""One gear set added, changed or retired by command: judged before anything is written."""

from __future__ import annotations

from fitcheck.services.editing.adding import NewSet, add_set
from fitcheck.services.editing.changing import change_set
from fitcheck.services.editing.edited import Edited
from fitcheck.services.editing.retiring import retire_set

__all__ = ["Edited", "NewSet", "add_set", "change_set", "retire_set"]
