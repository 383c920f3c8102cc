"""The code's layers, read from its imports, those inside functions included.

Imports run downward only; packages from outside are used only in the rooms they belong to; no
module imports itself over others.
"""

from __future__ import annotations

import ast
import sys
from collections.abc import Iterator
from graphlib import CycleError, TopologicalSorter
from importlib import import_module
from pathlib import Path

import pytest

from tests.conftest import table

ROOT = Path(__file__).parents[1]

# From the top down; the door `fitcheck` itself hands names on, and only __main__ stands above.
LAYERS = [
    "cli",
    "screens",
    "answers",
    "services",
    "rules",
    "catalogue",
    "diagnostics",
    "model",
    "kernel",
]
BOTTOM = "errors"

# Modules, or packages with all below them, that may use a package from outside.
ROOMS = {
    "babel": ["fitcheck.screens.page.locale", "fitcheck.model.money"],
    "click": ["fitcheck.cli"],
    "rich": ["fitcheck.cli", "fitcheck.screens"],
    "pandas": [
        "fitcheck.answers.frames",
        "fitcheck.answers.long_frame",
        "fitcheck.services.counter.match",  # named in a signature only
        "fitcheck.services.price_lists",
    ],
    "jinja2": ["fitcheck.screens.page.page"],
    "markupsafe": ["fitcheck.screens.page.page", "fitcheck.screens.page.view"],
    "filelock": ["fitcheck.catalogue.editing.saving"],
    "matplotlib": ["fitcheck.screens.road.chart"],
    "python_calamine": ["fitcheck.services.price_lists.reading.workbooks"],
    "rapidfuzz": ["fitcheck.diagnostics.suggest", "fitcheck.rules", "fitcheck.services"],
    "scipy": ["fitcheck.kernel.coverage.programme"],
    "ruamel": ["fitcheck.catalogue"],
    "_ruamel_yaml": ["fitcheck.catalogue"],
    "pydantic": ["fitcheck.model", "fitcheck.catalogue"],
    "numpy": [
        f"fitcheck.kernel.enumeration.{name}" for name in ("layout", "packing", "runs", "table")
    ]
    + [
        "fitcheck.kernel.road.many",
        "fitcheck.kernel.road.many_times",
        "fitcheck.services.road.calibration",
        "fitcheck.services.road.sweep",
    ],
}
# An answer's own `to_frame` and `to_json` lead out by the door and in again, on the top layer.
BY_THE_DOOR = {"fitcheck.services.counter.match"}
# The kernel computes and the records hold; neither reads or writes anything.
NO_FILES = {"io", "os", "pathlib", "shutil", "socket", "subprocess", "tempfile", "urllib"}


def imports_of(module: str, source: str, modules: set[str]) -> set[str]:
    """Dotted names of what a module imports, as far as they name modules."""
    found = set()
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            found.update(alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{module}: relative imports hide the layer"
            for alias in node.names:
                if (node.module, alias.name) == ("fitcheck", "__version__"):
                    continue  # a word of the door itself, there before anything else
                inner = f"{node.module}.{alias.name}"
                found.add(inner if inner in modules else str(node.module))
        elif isinstance(node, ast.Call) and (
            ast.unparse(node.func).rpartition(".")[2] in ("import_module", "late")
        ):
            found.update(
                argument.value.partition(":")[0]
                for argument in node.args
                if isinstance(argument, ast.Constant) and isinstance(argument.value, str)
            )
    return found


def find_modules() -> dict[str, Path]:
    paths = {}
    for path in sorted((ROOT / "fitcheck").rglob("*.py")):
        parts = path.relative_to(ROOT).with_suffix("").parts
        paths[".".join(parts[:-1] if parts[-1] == "__init__" else parts)] = path
    return paths


MODULES = find_modules()


@pytest.fixture(scope="module")
def imports() -> dict[str, set[str]]:
    """What each module imports."""
    return {
        module: imports_of(module, path.read_text(encoding="utf-8"), set(MODULES))
        for module, path in MODULES.items()
    }


def inside(module: str, rooms: list[str]) -> bool:
    return any(module == room or module.startswith(f"{room}.") for room in rooms)


def upward(module: str, imported: set[str]) -> list[str]:
    """Imports that do not run downward or stay in their layer."""
    here = module.split(".")[1] if "." in module else "door"
    if here in ("door", "__main__"):
        return []
    wrong = []
    for name in sorted(imported):
        top, _, rest = name.partition(".")
        if top != "fitcheck" or (name == top and module in BY_THE_DOOR):
            continue
        there = rest.partition(".")[0]
        if there == BOTTOM != here:
            continue
        # Faults of data know nothing of what the data are.
        below = ["diagnostics"] if here == "diagnostics" else LAYERS
        if here == BOTTOM or there not in below or LAYERS.index(there) < LAYERS.index(here):
            wrong.append(name)
    return wrong


def strangers(module: str, imported: set[str]) -> list[str]:
    """Packages from outside that do not belong in a module."""
    found = {name.partition(".")[0] for name in imported} - {"fitcheck"}
    return sorted(
        name
        for name in found - sys.stdlib_module_names
        if name not in ROOMS or not inside(module, ROOMS[name])
    )


def cycle(graph: dict[str, set[str]]) -> list[str]:
    try:
        TopologicalSorter(graph).prepare()
    except CycleError as error:
        return list(error.args[1])
    return []


def test_every_module_stands_in_a_layer():
    layers = {module.split(".")[1] for module in MODULES if "." in module}
    assert layers - {"__main__", BOTTOM} == set(LAYERS)


@table("module", sorted(MODULES))
def test_imports_run_downward_and_packages_stay_in_their_rooms(module, imports):
    assert upward(module, imports[module]) == []
    assert strangers(module, imports[module]) == []
    if inside(module, ["fitcheck.kernel", "fitcheck.model"]):
        assert {name.partition(".")[0] for name in imports[module]} & NO_FILES == set()


def test_no_module_imports_itself_over_others(imports):
    graph = {
        module: {name for name in found if name in MODULES}
        - ({"fitcheck"} if module in BY_THE_DOOR else set())
        for module, found in imports.items()
    }
    assert cycle(graph) == []


def late_names(module: str, source: str) -> Iterator[str]:
    """The names given to `late` in a module, `module:function`."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Call) and ast.unparse(node.func) == "late":
            name = compile(ast.Expression(node.args[0]), module, "eval")
            yield eval(name, vars(import_module(module)))


def test_what_is_imported_late_is_there():
    """No type checker sees these names, and a misspelt one would be met by a user."""
    found = [
        name
        for module, path in MODULES.items()
        if inside(module, ["fitcheck.cli"])
        for name in late_names(module, path.read_text(encoding="utf-8"))
    ]
    assert len(found) > 30
    for name in found:
        module, _, function = name.partition(":")
        assert callable(getattr(import_module(module), function)), name


def test_every_room_is_used_and_every_package_declared(imports):
    used = {name.partition(".")[0] for found in imports.values() for name in found}
    assert set(ROOMS) <= used
    declared = (ROOT / "pyproject.toml").read_text(encoding="utf-8")
    for package in set(ROOMS) - {"ruamel", "_ruamel_yaml", "numpy"}:  # numpy comes with pandas
        assert f'"{package.replace("_", "-")}>=' in declared
    assert '"ruamel.yaml' in declared


def test_small_catalogues_need_no_numpy(imports):
    """What `match` needs to enumerate reaches no module that imports numpy.

    The lists of the road and the enumeration by columns do; they are imported where they are
    asked for.
    """
    asked_for = {"fitcheck.services.counter.list_road"} | set(ROOMS["numpy"])
    reached, new = set(), {"fitcheck.services.counter.match"}
    while new:
        reached |= new
        new = {name for module in new for name in imports[module] if name in MODULES}
        new -= reached | asked_for
    assert "fitcheck.kernel.enumeration.plain" in reached
    assert [module for module in sorted(reached) if "numpy" in imports[module]] == []


@pytest.mark.parametrize(
    ("module", "source", "wrong"),
    [
        ("fitcheck.kernel.a", "from fitcheck.model.family import Family", True),
        ("fitcheck.kernel.a", "def f():\n    import fitcheck.cli.main", True),
        ("fitcheck.services.a", "if TYPE_CHECKING:\n    from fitcheck.screens import screen", True),
        ("fitcheck.model.a", "import_module('fitcheck.rules.fit')", True),
        ("fitcheck.model.a", "late('fitcheck.rules.fit:answer')", True),
        ("fitcheck.model.a", "from fitcheck import load", True),
        ("fitcheck.model.a", "import fitcheck", True),
        ("fitcheck.screens.a", "from fitcheck import __version__", False),
        ("fitcheck.kernel.a", "import fitcheck.unheard_of", True),
        ("fitcheck.diagnostics.a", "from fitcheck.kernel.teeth import Pair", True),
        ("fitcheck.errors", "from fitcheck.kernel.teeth import Pair", True),
        ("fitcheck.screens.a", "from fitcheck.services.counter.match import match", False),
        ("fitcheck.rules.a", "from fitcheck.rules.fit import gears", False),
        ("fitcheck.kernel.a", "from fitcheck.errors import UsageError", False),
    ],
)
def test_this_test_would_see_a_wrong_import(module, source, wrong):
    assert bool(upward(module, imports_of(module, source, set(MODULES)))) is wrong


@pytest.mark.parametrize(
    ("module", "source", "found"),
    [
        ("fitcheck.services.counter.why", "import pandas as pd", ["pandas"]),
        ("fitcheck.kernel.enumeration.plain", "import numpy.typing", ["numpy"]),
        ("fitcheck.screens.page", "def f():\n    from click import echo", ["click"]),
        ("fitcheck.cli.a", "import yaml", ["yaml"]),
        ("fitcheck.answers.frames", "import pandas, json", []),
        ("fitcheck.kernel.enumeration.table", "import numpy as np", []),
    ],
)
def test_this_test_would_see_a_stranger(module, source, found):
    assert strangers(module, imports_of(module, source, set(MODULES))) == found


def test_this_test_would_see_a_cycle():
    assert len(cycle({"a": {"b"}, "b": {"c"}, "c": {"a"}})) == 4
    assert cycle({"a": {"b", "c"}, "b": {"c"}, "c": set()}) == []
