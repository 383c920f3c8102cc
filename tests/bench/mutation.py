"""How many small faults, set into the code on purpose, the tests notice.

    python -m tests.bench.mutation [MODULE ...] [--sample 400] [--seed 1] [--jobs 2]
        [--seconds 10] [--list]

One place of one module is changed at a time: a comparison, a sign, a number, a condition, a result.
The tests of that module are collected once. For each change a process parts from there, puts the
changed function in the place of the right one, and runs the tests that call it, quickest first, up
to the first failure. Outside functions the whole module is loaded with the change in it, which
takes half a second. A change that no test notices is shown with its place: either a test is
missing, or nothing that anybody could see is changed, and then it belongs to `EQUIVALENT`, with the
reason.
"""

from __future__ import annotations

import argparse
import ast
import builtins
import copy
import gc
import importlib.util
import os
import pickle
import random
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from importlib.machinery import ModuleSpec, SourceFileLoader
from itertools import accumulate
from math import inf
from pathlib import Path
from types import CodeType, FunctionType
from typing import IO, Any

import hypothesis
import pytest

ROOT = Path(__file__).parents[2]

FIT = ("tests/rules/fit",)
COUNTER = (
    *(*FIT, "tests/services/counter/test_subject.py", "tests/services/counter/test_tyres.py"),
    "tests/services/counter/test_remarks.py",
    *("tests/services/counter/test_choices.py", "tests/services/counter/test_why.py"),
)
LISTS = (
    *(*COUNTER, "tests/services/counter/test_offer.py"),
    *("tests/services/counter/test_match.py", "tests/second_opinion/test_second_opinion.py"),
    "tests/services/road/test_lists.py",
)
ROWS = (
    *("tests/kernel/test_enumeration_edges.py", "tests/kernel/test_enumeration.py"),
    "tests/kernel/test_enumeration_duckdb.py",
)
TESTS: dict[str, tuple[str, ...]] = {
    "kernel/gearing.py": ("tests/kernel/test_gearing.py",),
    "kernel/enumeration/layout.py": ROWS,
    "kernel/enumeration/packing.py": ROWS,
    "kernel/enumeration/plain.py": ROWS[:2],
    "kernel/enumeration/problem.py": ROWS[:2],
    "kernel/enumeration/runs.py": ROWS,
    "kernel/enumeration/table.py": ROWS,
    "kernel/enumeration/ties.py": ROWS[:2],
    "rules/answers.py": COUNTER,
    "rules/setting.py": COUNTER,
    "rules/fit/__init__.py": COUNTER,
    "rules/fit/advice.py": (*FIT, "tests/services/counter/test_why.py"),
    "rules/fit/gears.py": FIT,
    "rules/fit/identity.py": FIT,
    "rules/fit/seats.py": FIT,
    "services/counter/choices.py": LISTS,
    "services/counter/combination.py": LISTS,
    "services/counter/why.py": COUNTER,
    "services/counter/identify.py": ("tests/services/counter/test_identify.py",),
    "services/counter/match.py": LISTS,
    "services/counter/options.py": (
        "tests/services/counter/test_options.py",
        "tests/services/road/test_options_road.py",
    ),
    "services/counter/request.py": LISTS,
    "services/counter/subject.py": (*COUNTER, "tests/services/counter/test_bands.py"),
}
"""Modules under fitcheck/ to the tests that are to notice a fault in them."""

_NEVER_EQUAL = "figures worked out through angles are never equal to the last bit"
_FIRST_PREFIX = (
    "_NO_STAGE = _Prefix(value=1, code=0, chain=(), grade=_PERFECT, needs=0, factory=False, "
    "bought=0)"
)
_FIRST_STATE = (
    "found: Counter[tuple[_State, int, int | None]] = Counter({((0, False, 0), 1, sys.maxsize): 1})"
)
_NO_JOINT = "before the first stage there is no joint"
_ITEMS_BEGIN_WITH_IDS = "an item begins with its id, and ids differ"
_AT_A_TIME = "how many runs are looked up at a time"
_LABELS = "labels only lie further apart"
_TWO_WAYS = "which of two ways gives the same rows"
EQUIVALENT: dict[tuple[str, str, str], str] = {
    (
        "services/counter/subject.py",
        "if change < self.low:",
        "Lt to LtE",
    ): "the low edge was in the band",
    (
        "rules/fit/gears.py",
        'tight = "tight, without backlash" if difference > 0 else "with too much backlash"',
        "Gt to GtE",
    ): "no difference is within any tolerance",
    ("rules/fit/gears.py", "if abs(difference) <= GREY_MM:", "LtE to Lt"): _NEVER_EQUAL,
    (
        "rules/fit/gears.py",
        "if found.shift_sum is None or abs(found.shift_sum) > SHIFT_SUM_LIMIT:",
        "Gt to GtE",
    ): _NEVER_EQUAL,
    (
        "rules/fit/gears.py",
        "if float(self.greatest) - float(self.least) < 0.005:",
        "Lt to LtE",
    ): _NEVER_EQUAL,
    (
        "kernel/enumeration/plain.py",
        "found.append((value, code(whole.pairs), (-1, index), whole.grade))",
        "1 to 2",
    ): "any number under zero marks a set of the whole train",
    (
        "kernel/enumeration/plain.py",
        "return []",
        "return of None",
    ): "the caller only asks whether there are any",
    ("kernel/enumeration/plain.py", _FIRST_PREFIX, "0 to 1"): _NO_JOINT,
    ("kernel/enumeration/plain.py", _FIRST_PREFIX, "False to True"): _NO_JOINT,
    ("kernel/enumeration/plain.py", _FIRST_STATE, "0 to 1"): _NO_JOINT,
    ("kernel/enumeration/plain.py", _FIRST_STATE, "False to True"): _NO_JOINT,
    (
        "kernel/enumeration/plain.py",
        "list(accumulate((number for _, number in sorted(entries)), initial=0)),",
        "0 to 1",
    ): "only differences of the sums are read",
    (
        "kernel/enumeration/table.py",
        "first, chunk = last, min(4 * chunk, _CHUNK_RUNS)",
        "min to max",
    ): _AT_A_TIME,
    (
        "kernel/enumeration/table.py",
        "elif len(keys) < _ALONE * runs and runs <= 1 << spare_bits:",
        "LtE to Lt",
    ): _TWO_WAYS,
    (
        "kernel/enumeration/packing.py",
        "seats = int(lines.seat.max(initial=0)) + 1",
        "1 to 2",
    ): _LABELS,
    (
        "kernel/enumeration/packing.py",
        "seats = int(lines.seat.max(initial=0)) + 1",
        "0 to 1",
    ): _LABELS,
    (
        "kernel/enumeration/runs.py",
        "number = np.maximum(end - begin, 0)",
        "0 to 1",
    ): "what is outside the window is left out afterwards",
    (
        "kernel/enumeration/runs.py",
        "for edge, at, sign in ((window[0], low, 1), (window[1], high, -1)):",
        "1 to 2",
    ): "only the sign is read",
    (
        "kernel/enumeration/runs.py",
        "return max(-1, min((edge.numerator << bits) // edge.denominator, 1 << (bits + 16)))",
        "without USub",
    ): "every key is over one",
    ("kernel/enumeration/table.py", "_CHUNK_RUNS = 1 << 12", "1 to 2"): _AT_A_TIME,
    (
        "kernel/enumeration/problem.py",
        "0 if least is None else -(-least.numerator * self.unit // least.denominator),",
        "0 to 1",
    ): "every scaled reduction is over one",
    (
        "kernel/enumeration/ties.py",
        "by_id.sort(key=lambda part: part[2])",
        "2 to 3",
    ): _ITEMS_BEGIN_WITH_IDS,
    (
        "kernel/enumeration/ties.py",
        "known = sorted((part for part in by_id if not part[0]), key=lambda part: part[:3])",
        "3 to 4",
    ): _ITEMS_BEGIN_WITH_IDS,
    ("kernel/enumeration/ties.py", "_SORT_AT_ONCE = 512", "512 to 513"): _TWO_WAYS,
    ("kernel/enumeration/ties.py", "number = 0", "0 to 1"): _TWO_WAYS,
    ("kernel/enumeration/ties.py", "ways = 1", "1 to 2"): _TWO_WAYS,
    ("kernel/enumeration/ties.py", "if number <= _SORT_AT_ONCE:", "LtE to Lt"): _TWO_WAYS,
    (
        "kernel/enumeration/ties.py",
        "return unknown, 0 if unknown else price, ids, items",
        "0 to 1",
    ): "all rows of unknown price have the one figure",
    (
        "services/counter/choices.py",
        "return int(Evidence.MEASURED)",
        "return of None",
    ): "said of two gears that stay, and then no joint is asked about",
    (
        "services/counter/request.py",
        "if request.taller_only and (low is None or low < 0):",
        "Lt to LtE",
    ): "zero takes the place of zero",
    (
        "services/counter/request.py",
        "return False",
        "return of None",
    ): "callers only ask whether to keep it",
    ("rules/answers.py", "MEASURED = 3", "3 to 4"): "still the strongest",
    ("services/counter/identify.py", "TWO_SLIPS = 9", "9 to 10"): "still the last",
    ("rules/setting.py", "return ()", "return of None"): "callers only ask whether there is one",
    (
        "rules/fit/advice.py",
        "if given.driver_profile_shift >= least:",
        "GtE to Gt",
    ): _NEVER_EQUAL,
}
"""Module, line and change of what nobody could notice, to the reason."""

COMPARISONS: dict[type[ast.cmpop], type[ast.cmpop]] = {
    ast.Lt: ast.LtE,
    ast.LtE: ast.Lt,
    ast.Gt: ast.GtE,
    ast.GtE: ast.Gt,
    ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq,
    ast.Is: ast.IsNot,
    ast.IsNot: ast.Is,
    ast.In: ast.NotIn,
    ast.NotIn: ast.In,
}
OPERATORS: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Add,
    ast.Div: ast.Mult,
    ast.FloorDiv: ast.Mult,
}
CALLS = {"min": "max", "max": "min", "any": "all", "all": "any", "sorted": "list"}


@dataclass(frozen=True)
class Change:
    """One small fault: where it is, in which function or method, and the code with the fault."""

    module: str
    function: str | None
    line: int
    text: str
    what: str
    code: CodeType

    def __str__(self) -> str:
        return f"fitcheck/{self.module}:{self.line}: {self.what} in: {self.text}"


def _skipped(tree: ast.Module) -> set[ast.AST]:
    """Nodes of no use to change: annotations, messages, decorators, assertions."""
    skipped: set[ast.AST] = set()
    for node in ast.walk(tree):
        inside: list[ast.AST | None] = []
        if isinstance(node, ast.AnnAssign):
            inside = [node.annotation]
        elif isinstance(node, ast.FunctionDef | ast.ClassDef):
            inside = list(node.decorator_list)
            if isinstance(node, ast.FunctionDef):
                arguments = [*node.args.args, *node.args.kwonlyargs]
                inside += [node.returns, *(argument.annotation for argument in arguments)]
        elif (
            isinstance(node, ast.Raise | ast.Assert | ast.JoinedStr)
            or (isinstance(node, ast.keyword) and node.arg == "strict")  # of zip
            or (isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING")
            or (isinstance(node, ast.Assign) and ast.unparse(node.targets[0]) == "__all__")
        ):
            inside = [node]
        for part in inside:
            if part is not None:
                skipped.update(ast.walk(part))
    return skipped


def _changed(node: ast.AST) -> Iterator[tuple[str, ast.AST]]:
    """Each way to change a node: what is changed, and the new node."""
    new = copy.deepcopy(node)
    match new:
        case ast.Compare():
            for i, operator in enumerate(new.ops):
                one = copy.deepcopy(new)
                one.ops[i] = COMPARISONS[type(operator)]()
                yield f"{type(operator).__name__} to {type(one.ops[i]).__name__}", one
        case ast.BinOp() if type(new.op) in OPERATORS:
            before, new.op = new.op, OPERATORS[type(new.op)]()
            yield f"{type(before).__name__} to {type(new.op).__name__}", new
        case ast.BoolOp():
            before, new.op = new.op, ast.Or() if isinstance(new.op, ast.And) else ast.And()
            yield f"{type(before).__name__} to {type(new.op).__name__}", new
        case ast.UnaryOp(op=ast.Not() | ast.USub()):
            yield f"without {type(new.op).__name__}", new.operand
        case ast.Constant(value=bool()):
            new.value = not new.value
            yield f"{not new.value} to {new.value}", new
        case ast.Constant(value=int() | float()):
            new.value += 1
            yield f"{new.value - 1} to {new.value}", new
        case ast.Return() if new.value is not None and ast.unparse(new.value) != "None":
            new.value = ast.Constant(None)
            yield "return of None", new
        case ast.Call(func=ast.Name(id=name)) if name in CALLS:
            new.func = ast.Name(CALLS[name], ast.Load())
            yield f"{name} to {CALLS[name]}", new
        case ast.If() | ast.IfExp() if isinstance(new.test, ast.Name | ast.Attribute | ast.Call):
            new.test = ast.UnaryOp(ast.Not(), new.test)
            yield "condition turned", new
        case ast.comprehension(ifs=[_, *_]):
            for i in range(len(new.ifs)):
                one = copy.deepcopy(new)
                del one.ifs[i]
                yield "condition dropped", one
        case ast.Continue():
            yield "continue to break", ast.Break()


class _Put(ast.NodeTransformer):
    """Puts a new node of a tree in the place of an old one."""

    def __init__(self, old: ast.AST, new: ast.AST) -> None:
        self._old, self._new = old, new

    def visit(self, node: ast.AST) -> ast.AST:
        if node is self._old:
            return ast.copy_location(self._new, node)
        return self.generic_visit(node)


def changes_of(module: str) -> list[Change]:
    """Every small fault of a module, in the order of its lines."""
    path = ROOT / "fitcheck" / module
    source = path.read_text(encoding="utf-8")
    lines = source.splitlines()
    tree = ast.parse(source)
    skipped = _skipped(tree)
    functions = {
        inner: name
        for function, name in _functions(tree).items()
        for statement in function.body
        for inner in ast.walk(statement)
    }
    found = []
    for node in [node for node in ast.walk(tree) if node not in skipped]:
        for what, new in _changed(node):
            faulty = ast.fix_missing_locations(_Put(node, new).visit(tree))
            line = (node.target if isinstance(node, ast.comprehension) else node).lineno
            text, code = lines[line - 1].strip(), compile(faulty, str(path), "exec")
            found.append(Change(module, functions.get(node), line, text, what, code))
            _Put(new, node).visit(tree)
    return sorted(found, key=lambda one: one.line)


def _functions(tree: ast.AST, inside: str = "") -> dict[ast.FunctionDef, str]:
    """The outermost functions and the methods, to their qualified names."""
    found: dict[ast.FunctionDef, str] = {}
    for node in ast.iter_child_nodes(tree):
        if isinstance(node, ast.FunctionDef):
            found[node] = f"{inside}{node.name}"
        elif isinstance(node, ast.ClassDef):
            found |= _functions(node, f"{inside}{node.name}.")
    return found


class _Loader(SourceFileLoader):
    """Gives a module's faulty code for its own."""

    def __init__(self, name: str, path: str, code: CodeType) -> None:
        super().__init__(name, path)
        self._code = code

    def get_code(self, fullname: str) -> CodeType:
        return self._code


def _dotted(module: str) -> str:
    return f"fitcheck/{module}".removesuffix(".py").removesuffix("/__init__").replace("/", ".")


class _Finder:
    """Finds modules of fitcheck with other code than their file has."""

    def __init__(self, codes: dict[str, CodeType]) -> None:
        self._codes = {_dotted(module): (module, code) for module, code in codes.items()}

    def find_spec(self, name: str, path: object, target: object = None) -> ModuleSpec | None:
        if name not in self._codes:
            return None
        module, code = self._codes[name]
        file = str(ROOT / "fitcheck" / module)
        folder = [str(Path(file).parent)] if file.endswith("__init__.py") else None
        return importlib.util.spec_from_file_location(
            name, file, loader=_Loader(name, file, code), submodule_search_locations=folder
        )


def _replace(change: Change) -> None:
    """Give a loaded function the changed code; whoever imported it has it too."""
    found: Any = sys.modules[_dotted(change.module)]
    for name in (change.function or "").split("."):
        found = vars(found)[name]
    while not isinstance(found, FunctionType):  # under a property, a cache, a class method
        inner = (getattr(found, name, None) for name in ("__func__", "fget", "func", "__wrapped__"))
        found = next(one for one in inner if one is not None)
    codes = [change.code]
    while codes[0].co_qualname != change.function:
        codes += [one for one in codes.pop(0).co_consts if isinstance(one, CodeType)]
    found.__code__ = codes[0]


@dataclass
class Calls:
    """Which test calls which function: seconds of each test, and the tests of each function.

    What a fixture calls counts for every test of the file, since fixtures are shared.
    """

    seconds: dict[str, float] = field(default_factory=dict)
    tests: dict[tuple[str, str], set[str]] = field(default_factory=dict)

    def of(self, change: Change, most: float) -> list[str]:
        """Tests to run against a change, quickest first, up to so many seconds of them.

        All tests count where nothing is known of the function.
        """
        found = self.tests.get((change.module, change.function or ""))
        chosen = [
            test for test in self.seconds if found is None or found & {test, test.split("::")[0]}
        ]
        chosen.sort(key=self.seconds.__getitem__)
        total = accumulate(self.seconds[test] for test in chosen)
        return [test for test, seconds in zip(chosen, total, strict=True) if seconds <= most]


class _Bench:
    """A plugin of pytest that runs the collected tests against changes, not once and for all."""

    def __init__(self, changes: list[Change], asked: argparse.Namespace, file: IO[bytes]) -> None:
        self._changes, self._asked, self._file = changes, asked, file
        self._calls, self._now = Calls(), ""
        self._out = os.fdopen(os.dup(1), "w")
        vars(builtins)["__called__"] = self._called
        codes = {module: self._reporting(module) for module in {one.module for one in changes}}
        sys.meta_path.insert(0, _Finder(codes))  # type: ignore[arg-type]

    @staticmethod
    def _reporting(module: str) -> CodeType:
        """The code of a module in which every function first reports that it is called."""
        path = ROOT / "fitcheck" / module
        tree = ast.parse(path.read_text(encoding="utf-8"))
        for node, name in _functions(tree).items():
            node.body.insert(0, ast.parse(f"__called__({module!r}, {name!r})").body[0])
        return compile(ast.fix_missing_locations(tree), str(path), "exec")

    def _called(self, module: str, function: str) -> None:
        self._calls.tests.setdefault((module, function), set()).add(self._now)

    def pytest_runtest_setup(self, item: Any) -> None:
        self._now = item.nodeid.split("::")[0]

    def pytest_runtest_call(self, item: Any) -> None:
        self._now = item.nodeid

    def pytest_runtest_logreport(self, report: Any) -> None:
        if report.failed:
            os._exit(1)
        if report.when == "call":
            self._calls.seconds[report.nodeid] = report.duration

    def pytest_runtestloop(self, session: Any) -> None:
        gc.freeze()
        items = {item.nodeid: item for item in session.items}

        def run(tests: Iterable[str]) -> None:
            asked = [items[test] for test in tests]
            for item, following in zip(asked, [*asked[1:], None], strict=True):
                item.config.hook.pytest_runtest_protocol(item=item, nextitem=following)

        def record() -> None:
            run(items)
            pickle.dump(self._calls, self._file)
            self._file.flush()

        if os.waitstatus_to_exitcode(os.waitpid(_fork(record), 0)[1]) != 0:
            os._exit(1)
        self._file.seek(0)
        calls: Calls = pickle.load(self._file)

        def begin(change: Change, tests: list[str]) -> int:
            def test() -> None:
                _replace(change)
                run(tests)

            return _fork(test)

        inside = [change for change in self._changes if change.function is not None]
        left = survivors(inside, calls, self._asked, begin, self._out)
        pickle.dump((calls, [self._changes.index(change) for change in left]), self._file)
        self._file.flush()
        os._exit(0)


def _fork(work: Callable[[], None]) -> int:
    child = os.fork()
    if child == 0:
        code = 70
        try:
            work()
            code = 0
        finally:
            os._exit(code)
    return child


class _Chooser:
    """A plugin of pytest that runs only some tests, in a given order, up to the first failure."""

    def __init__(self, tests: list[str]) -> None:
        self._places = {test: place for place, test in enumerate(tests)}

    @pytest.hookimpl(tryfirst=True)
    def pytest_collection_modifyitems(self, items: list[Any]) -> None:
        items[:] = [item for item in items if item.nodeid in self._places]
        items.sort(key=lambda item: self._places[item.nodeid])

    def pytest_runtest_logreport(self, report: Any) -> None:
        if report.failed:
            os._exit(1)  # without taking the fixtures down, which takes longer than most tests

    def pytest_sessionfinish(self, exitstatus: int) -> None:
        os._exit(exitstatus)


def _run(paths: list[str], plugin: object) -> None:
    """Run pytest in this process without a word; both plugins end the process."""
    quiet = os.open(os.devnull, os.O_WRONLY)
    os.dup2(quiet, 1)
    os.dup2(quiet, 2)
    options = ["-q", "--assert=plain", "--capture=sys", "--hypothesis-profile=mutation"]
    os._exit(int(pytest.main([*options, "-p", "no:cacheprovider", *paths], [plugin])) or 71)


def _load_with(change: Change, tests: list[str]) -> int:
    """Begin tests in a process in which a whole module is loaded with a change in it."""

    def test() -> None:
        sys.meta_path.insert(0, _Finder({change.module: change.code}))  # type: ignore[arg-type]
        _run(list(dict.fromkeys(test.split("::")[0] for test in tests)), _Chooser(tests))

    return _fork(test)


def survivors(
    changes: list[Change],
    calls: Calls,
    asked: argparse.Namespace,
    begin: Callable[[Change, list[str]], int],
    out: IO[str],
) -> list[Change]:
    """The changes that no test notices; one that makes the tests hang counts as noticed."""
    waiting, running, left = list(reversed(changes)), dict[int, tuple[Change, float]](), []
    done = 0
    while waiting or running:
        while waiting and len(running) < asked.jobs:
            change = waiting.pop()
            tests = calls.of(change, asked.seconds)
            end = time.monotonic() + 30 + 10 * sum(calls.seconds[test] for test in tests)
            running[begin(change, tests)] = (change, end)
        for child, (change, end) in list(running.items()):
            ended, status = os.waitpid(child, os.WNOHANG)
            if not ended and time.monotonic() > end:
                os.kill(child, 9)
                ended, status = os.waitpid(child, 0)
            if ended:
                del running[child]
                done += 1
                if os.waitstatus_to_exitcode(status) == 0:
                    left.append(change)
                    known = EQUIVALENT.get((change.module, change.text, change.what))
                    word = f"equivalent ({known})" if known else "unnoticed"
                    print(f"{done:5} of {len(changes)}  {word}  {change}", file=out, flush=True)
        time.sleep(0.01)
    return left


def try_out(changes: list[Change], asked: argparse.Namespace) -> list[Change]:
    """The changes of modules that have the same tests which none of them notices."""
    paths = [test for test in TESTS[changes[0].module] if (ROOT / test).exists()]
    with tempfile.TemporaryFile() as file:
        child = _fork(lambda: _run(paths, _Bench(changes, asked, file)))
        if os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) != 0:
            sys.exit(f"the tests fail without any fault: {' '.join(paths)}")
        file.seek(0)
        pickle.load(file)  # the calls, as they stood before the changes
        calls, left = pickle.load(file)
    outside = [change for change in changes if change.function is None]
    return [changes[at] for at in left] + survivors(outside, calls, asked, _load_with, sys.stdout)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("modules", nargs="*", help="below fitcheck/; left out: all of them")
    parser.add_argument("--sample", type=int, help="so many changes at random; left out: all")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument(
        "--seconds", type=float, default=inf, help="of tests a change, the quickest first"
    )
    parser.add_argument("--list", action="store_true", help="only count the changes")
    asked = parser.parse_args()
    modules = asked.modules or list(TESTS)
    changes = [change for module in modules for change in changes_of(module)]
    if asked.sample is not None and asked.sample < len(changes):
        drawn = random.Random(asked.seed).sample(changes, asked.sample)
        changes = sorted(drawn, key=lambda one: (one.module, one.line))
    if asked.list:
        for module, number in Counter(change.module for change in changes).items():
            print(f"{number:6}  {module}")
        print(f"{len(changes):6}  in all")
        return
    # Once, before the processes part; nothing of this imports a module under test.
    for heavy in ("numpy", "pandas", "pydantic", "duckdb", "tests.conftest"):
        __import__(heavy)
    phases = (hypothesis.Phase.explicit, hypothesis.Phase.generate)  # no shrinking
    gate = hypothesis.settings.get_profile("gate")
    hypothesis.settings.register_profile("mutation", gate, phases=phases)
    gc.freeze()
    os.chdir(ROOT)
    began = time.monotonic()
    left: list[Change] = []
    with tempfile.TemporaryDirectory() as folder:
        os.environ["PYTEST_DEBUG_TEMPROOT"] = folder
        for tests in dict.fromkeys(TESTS[change.module] for change in changes):
            left += try_out([one for one in changes if TESTS[one.module] == tests], asked)
    known = [one for one in left if (one.module, one.text, one.what) in EQUIVALENT]
    print(f"\n{'module':34} faults  noticed  equivalent  unnoticed")
    for module in modules:
        of = [sum(c.module == module for c in part) for part in (changes, left, known)]
        if of[0]:
            print(f"{module:34} {of[0]:6} {of[0] - of[1]:8} {of[2]:11} {of[1] - of[2]:10}")
    counted = len(changes) - len(known)
    share = 100 * (len(changes) - len(left)) / counted if counted else 100.0
    print(f"\n{share:.1f} % of {counted} noticed, {time.monotonic() - began:.0f} s")


if __name__ == "__main__":
    main()
