"""What `.ci/run` and `.ci/night` ask of the kept versions: python .ci/versions.py TASK.

installed  refuses a package in this environment that known.txt does not hold in this version
lowest     prints what lowest.txt holds unlike known.txt; refuses other than the lower bounds
newest     prints what this environment holds unlike known.txt
"""

from __future__ import annotations

import re
import sys
import tomllib
from collections.abc import Iterable
from importlib.metadata import distributions
from pathlib import Path

HERE = Path(__file__).parent
NOT_KEPT = {"fitcheck", "pip", "setuptools"}
"""Ourselves, and what every new environment brings."""

Pin = tuple[str, str]


def pin(name: str, version: str) -> Pin:
    """A package's name and version, as spelt in one way only."""
    return re.sub(r"[-_.]+", "-", name).lower(), re.sub(r"(\.0)+$", "", version)


def pins(text: str, between: str = "==") -> dict[Pin, str]:
    """The pins of a list, each with its line."""
    found = (re.match(rf"([\w.-]+){between}([^\s;]+)", line) for line in text.splitlines())
    return {pin(*each.groups()): each[0] for each in found if each}


def unlike(found: Iterable[Pin], known: Iterable[Pin]) -> list[Pin]:
    """The pins that are not known, in order."""
    return sorted(each for each in set(found) - set(known) if each[0] not in NOT_KEPT)


def main(task: str) -> str | None:
    """Do a task; what is returned is what is wrong."""
    known = pins((HERE / "known.txt").read_text(encoding="utf-8"))
    strange = unlike((pin(each.name, each.version) for each in distributions()), known)
    if task == "installed":
        return f"not in .ci/known.txt, so run .ci/renew: {strange}" if strange else None
    if task == "lowest":
        lowest = pins((HERE / "lowest.txt").read_text(encoding="utf-8"))
        project = tomllib.loads((HERE.parent / "pyproject.toml").read_text("utf-8"))["project"]
        extras = project["optional-dependencies"]
        wanted = [*project["dependencies"], *extras["chart"], *extras["plan"]]
        bounds = pins("\n".join(wanted), ">=")
        if other := unlike(bounds, lowest):
            return f"not in .ci/lowest.txt, so run .ci/renew: {other}"
        print("".join(f"{lowest[each]}\n" for each in unlike(lowest, known)), end="")
    elif task == "newest":
        print("".join(f"{'=='.join(each)}\n" for each in strange), end="")
    return None


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
