"""What installed packages add to fitcheck by entry points: rules of fit, readers of lists."""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping
from contextlib import suppress
from functools import cache
from importlib import import_module
from pathlib import Path
from typing import Any, Literal

from fitcheck.errors import UsageError

Group = Literal["fitcheck.fit_rules", "fitcheck.list_readers"]


@cache
def extensions(group: Group) -> Mapping[str, Callable[..., Any]]:
    """The functions that installed packages offer, by the name of their entry point, in its order.

    Raises:
        UsageError: one of them cannot be imported; the line names the package.
    """
    if not _some_package_offers(group):
        return {}
    metadata = import_module("importlib.metadata")  # takes 30 ms
    found: dict[str, Callable[..., Any]] = {}
    for point in sorted(metadata.entry_points(group=group), key=lambda point: point.name):
        try:
            found[point.name] = point.load()
        except Exception as error:
            package = point.dist.name if point.dist is not None else point.module
            raise UsageError(
                f"{group} {point.name!r} of the package {package} cannot be imported "
                f"({type(error).__name__}: {error}); correct or uninstall that package"
            ) from error
    return found


def _some_package_offers(group: Group) -> bool:
    """Whether any package here has entry points of a group."""
    heading = f"[{group}]"
    for folder in sys.path:
        with suppress(OSError):
            for package in Path(folder).iterdir():
                if package.name.endswith((".dist-info", ".egg-info")):
                    with suppress(OSError, UnicodeDecodeError):
                        if heading in (package / "entry_points.txt").read_text(encoding="utf-8"):
                            return True
    return False
