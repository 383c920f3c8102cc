"""How code reads: functions within a page, long constructors by keyword."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

from tests.bench import mutation

PACKAGE = Path(__file__).parents[1] / "fitcheck"

MOST_LINES = 60
MOST_BY_POSITION = 4


def rooms() -> dict[str, list[Path]]:
    """The modules of each room: a package inside a layer, or the layer's own modules."""
    found: dict[str, list[Path]] = {}
    for path in sorted(PACKAGE.rglob("*.py")):
        parts = path.relative_to(PACKAGE).parts[:-1]
        found.setdefault("/".join(parts[:2]) or "door", []).append(path)
    return found


ROOMS = rooms()


def long_functions(tree: ast.AST) -> list[str]:
    """Functions over `MOST_LINES` lines, their docstrings counted."""
    return [
        f"{node.name} has {lines} lines"
        for node in ast.walk(tree)
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
        and (lines := node.end_lineno - node.lineno + 1) > MOST_LINES
    ]


def fed_by_position(tree: ast.AST) -> list[str]:
    """Constructors given more than `MOST_BY_POSITION` arguments by position."""
    found = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and len(node.args) > MOST_BY_POSITION:
            name = ast.unparse(node.func).rpartition(".")[2]
            if name == "cls" or name.lstrip("_")[:1].isupper():
                found.append(f"line {node.lineno}: {name} is fed {len(node.args)} by position")
    return found


def faults(room: str) -> list[str]:
    found = []
    for path in ROOMS[room]:
        tree = ast.parse(path.read_text(encoding="utf-8"))
        found += [f"{path.name}: {one}" for one in (*long_functions(tree), *fed_by_position(tree))]
    return found


@pytest.mark.parametrize("room", sorted(ROOMS))
def test_a_room_is_tidy(room):
    assert faults(room) == []


def test_this_test_would_see_a_long_function():
    body = "\n".join(["    pass"] * (MOST_LINES - 1))
    assert long_functions(ast.parse(f"def f():\n{body}")) == []
    assert long_functions(ast.parse(f"def f():\n{body}\n    pass")) == ["f has 61 lines"]
    assert long_functions(ast.parse(f"class A:\n  async def f():\n{body}\n    pass"))


@pytest.mark.parametrize(
    ("call", "seen"),
    [
        ("Match(a, b, c, d)", False),
        ("Match(a, b, c, d, e)", True),
        ("Match(a, b, c, d, e=e)", False),
        ("_Row(a, b, c, *d, e)", True),
        ("module.Match(a, b, c, d, e)", True),
        ("cls(a, b, c, d, e)", True),
        ("match(a, b, c, d, e)", False),
    ],
)
def test_this_test_would_see_a_constructor_fed_by_position(call, seen):
    assert bool(fed_by_position(ast.parse(call))) is seen


def test_the_bench_of_small_faults_names_what_there_is():
    """A module or a line that was renamed would go untried, and nobody would see it."""
    tests = {test for each in mutation.TESTS.values() for test in each}
    assert [test for test in sorted(tests) if not (PACKAGE.parent / test).exists()] == []
    code = {
        module: {line.strip() for line in (PACKAGE / module).read_text("utf-8").splitlines()}
        for module in mutation.TESTS
    }
    gone = [text for module, text, _ in mutation.EQUIVALENT if text not in code[module]]
    assert gone == []
