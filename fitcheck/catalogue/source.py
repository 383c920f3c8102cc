"""One YAML file: its text, its tree of nodes, and the place of everything in it."""

from __future__ import annotations

import gc
import re
import stat
from bisect import bisect_right
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cached_property
from hashlib import blake2b
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fitcheck.catalogue.nodes import ListNode, MapNode, Node, ScalarNode, line_start
from fitcheck.catalogue.problems import Problem, StopReadingError
from fitcheck.catalogue.syntax import explain_syntax
from fitcheck.catalogue.text import NotYamlError, Parser, c_parser_available, decode, parse_events
from fitcheck.catalogue.tree import Tree, build_tree
from fitcheck.diagnostics.finding import DocumentPath, Finding, Related, Span, shown_path
from fitcheck.errors import UnreadableError, reason_of

MAX_FILE_BYTES = 8 * 1024 * 1024

# Past this size the slower parser is not tried again on a text that the C parser refuses.
RETRY_LENGTH = 256 * 1024

MAX_TABS = 100

_OF_TEXT = ("text", "marked", "root", "two_readings")
"""What a source knows from its text."""

_LINE_BREAK = re.compile(r"\r\n|\r|\n")


class Source:
    """One YAML file as it was read.

    Pickled, a file on disk leaves its text behind; it is read again once a place is asked for.

    Attributes:
        path: the file as shown to people, relative to the working folder where that is shorter.
        file: the file itself; what is shown may have escapes in the place of characters.
        text: the whole text, line breaks as in the file, without a byte order mark.
        marked: whether a byte order mark led the file.
        on_disk: whether the text was read from `file`, not from memory.
        root: the document's node; None where the text is empty or could not be read.
        two_readings: plain scalars that YAML 1.1 readers take for something else.
    """

    def __init__(self, path: str, text: str = "", *, marked: bool = False) -> None:
        self.path = path
        self.file = Path(path)
        self.text = text
        self.marked = marked
        self.on_disk = False
        self.root: Node | None = None
        self.two_readings: list[tuple[DocumentPath, ScalarNode]] = []

    def __getstate__(self) -> dict[str, Any]:
        """What travels: the text only where no file has it."""
        if not self.on_disk:
            return dict(self.__dict__)
        return {name: getattr(self, name) for name in ("path", "file", "on_disk", "_digest")}

    def __deepcopy__(self, memo: object) -> Source:
        """The same file: nothing changes what was read of it."""
        return self

    if not TYPE_CHECKING:

        def __getattr__(self, name: str) -> Any:
            """What was left behind when the source was pickled, read again."""
            if name not in _OF_TEXT or "_digest" not in self.__dict__:
                raise AttributeError(name)
            again, _ = read_source(self.file, named=True)
            if again._digest != self._digest:
                raise UnreadableError(
                    f"{self.path}: the file has changed since it was read; read the catalogue again"
                )
            self.__dict__.update({each: getattr(again, each) for each in _OF_TEXT})
            return self.__dict__[name]

    @cached_property
    def _digest(self) -> bytes:
        return blake2b(self.text.encode("utf-8", "surrogatepass"), digest_size=16).digest()

    @cached_property
    def _line_starts(self) -> list[int]:
        return [0, *(found.end() for found in _LINE_BREAK.finditer(self.text))]

    def position(self, offset: int) -> tuple[int, int]:
        """Line and column, both from 1, of an offset in code points."""
        starts = self._line_starts
        line = bisect_right(starts, min(max(offset, 0), len(self.text)))
        return line, min(max(offset, 0), len(self.text)) - starts[line - 1] + 1

    def line(self, number: int) -> str:
        """Text of one line, counted from 1, without its line break; empty beyond the file."""
        starts = self._line_starts
        if not 1 <= number <= len(starts):
            return ""
        end = starts[number] if number < len(starts) else len(self.text)
        return self.text[starts[number - 1] : end].rstrip("\r\n")

    def between(self, start: int, end: int) -> Span:
        """The span of a stretch of the text, offsets in code points, the end exclusive.

        A stretch that would only cover a line break is empty, and stays on its line.
        """
        if not self.text[start:end].strip("\r\n"):
            end = start
        return Span(self.path, *self.position(start), *self.position(end))

    def node(self, path: DocumentPath) -> Node | None:
        """The node at a path of keys and list positions, or None."""
        node = self.root
        for step in path:
            if isinstance(node, MapNode) and step in node.entries:
                node = node.entries[str(step)][1]
            elif (
                isinstance(node, ListNode) and isinstance(step, int) and 0 <= step < len(node.items)
            ):
                node = node.items[step]
            else:
                return None
        return node

    def key_node(self, path: DocumentPath) -> ScalarNode | None:
        """The node of the key at a path, or None where the path ends in a list position."""
        if not path:
            return None
        parent = self.node(path[:-1])
        if isinstance(parent, MapNode) and path[-1] in parent.entries:
            return parent.entries[str(path[-1])][0]
        return None

    def span(self, path: DocumentPath, key: bool = False) -> Span:
        """Where the value at a path stands.

        Args:
            path: keys and list positions from the top of the file.
            key: point at the key instead of the value.

        Returns:
            The span of the value (or key). Where the path leads nowhere: of the key of the
            nearest ancestor that exists, of its value if it has no key, at worst the first
            character of the file.
        """
        found = self.key_node(path) if key else self.node(path)
        if found is not None and found.end > found.start:
            return self.between(found.start, found.end)
        if found is not None and not key:
            # An empty value has no characters; its key shows the place.
            own = self.key_node(path)
            if own is not None:
                return self.between(own.start, own.end)
        if found is not None and path:
            return self.between(found.start, found.start + 1)
        for length in range(len(path) - (0 if key else 1), -1, -1):
            ancestor = path[:length]
            nearest = self.key_node(ancestor) or self.node(ancestor)
            if nearest is not None and ancestor:
                return self.between(nearest.start, nearest.end)
        return self.between(0, min(len(self.line(1)), len(self.text)))

    def finding(self, problem: Problem) -> Finding:
        """The finding that a problem of this text is."""
        record = None
        if len(problem.path) > 1 and problem.path[0] == "records":
            record = str(problem.path[1])
        return Finding(
            problem.code,
            problem.message,
            self.between(problem.start, problem.end),
            record=record,
            field=problem.path,
            related=tuple(
                Related(self.between(start, end), label) for start, end, label in problem.related
            ),
            help=problem.help,
            suggestion=problem.suggestion,
        )


@contextmanager
def gc_paused() -> Iterator[None]:
    """Keep the cyclic garbage collector still while many nodes are built; it frees none of them."""
    running = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if running:
            gc.enable()


def read_source(
    path: Path | str, *, named: bool = False, parser: Parser | None = None
) -> tuple[Source, list[Finding]]:
    """Read one file.

    Args:
        path: the file.
        named: whether the user named this very file; then a missing or unreadable file raises,
            and a pipe may be read.
        parser: `c` or `python`. Default: the C parser where it is installed.

    Returns:
        The file and what is wrong with it as YAML; the tree is there only where it can be trusted.

    Raises:
        UnreadableError: a file that the user named is missing or cannot be opened.
    """
    source = Source(shown_path(path))
    source.file = Path(path).absolute()  # also after somebody changes the working folder
    data, trouble = _read_bytes(Path(path), named)
    if data is None:
        if named:
            raise UnreadableError(f"{source.path}: {trouble}")
        problem = Problem(
            "FC001",
            trouble,
            0,
            0,
            help="make it a readable file, move it away, or begin its name with _ to leave it out",
        )
        return source, [source.finding(problem)]
    source.on_disk = Path(path).is_file()  # a pipe gives its text once
    return _read_data(source, data, parser)


def source_from_bytes(
    path: str, data: bytes, *, parser: Parser | None = None
) -> tuple[Source, list[Finding]]:
    """Read a file's bytes that are already in memory; `path` is only shown."""
    return _read_data(Source(path), data, parser)


def _read_bytes(path: Path, named: bool) -> tuple[bytes | None, str]:
    try:
        mode = path.stat().st_mode
        if stat.S_ISDIR(mode):
            return None, "this is a folder; a catalogue file was expected"
        if not stat.S_ISREG(mode) and not named:
            return None, "this is no ordinary file"
        with path.open("rb") as stream:
            return stream.read(MAX_FILE_BYTES + 1), ""
    except FileNotFoundError:
        return None, "there is no such file" if not path.is_symlink() else (
            "this link leads to a file that is not there"
        )
    except (OSError, ValueError) as error:
        return None, f"the file cannot be read ({reason_of(error)})"


def _read_data(source: Source, data: bytes, parser: Parser | None) -> tuple[Source, list[Finding]]:
    if len(data) > MAX_FILE_BYTES:
        problem = Problem(
            "FC002",
            f"the file is larger than {MAX_FILE_BYTES // 1024 // 1024} MiB",
            0,
            0,
            help="split it into several files, one for each supplier",
        )
        return source, [source.finding(problem)]
    try:
        source.text, source.marked = decode(data)
    except StopReadingError as stop:
        if stop.problem.end:
            source.text = data.decode("utf-8-sig", errors="replace")
        return source, [source.finding(stop.problem)]
    try:
        with gc_paused():
            tree = _tree(source.text, parser)
    except StopReadingError as stop:
        return source, [source.finding(stop.problem)]
    source.root = tree.root
    source.two_readings = list(tree.two_readings)
    return source, [source.finding(problem) for problem in tree.problems]


def _python_tree(text: str) -> Tree:
    # The Python parser refuses the tabs that YAML allows between a colon and its value; a space
    # in place of a tab at which it stopped leaves every offset as it is.
    parsed = text
    for _ in range(min(MAX_TABS, 1 + 4 * RETRY_LENGTH // (len(text) + 1))):
        try:
            return build_tree(text, parse_events(parsed, "python"), respaced=parsed != text)
        except NotYamlError as trouble:
            at = trouble.offset
            if at is None or parsed[at : at + 1] != "\t" or not _behind_something(parsed, at):
                raise
            run = re.compile(r"\t+").match(parsed, at)
            assert run is not None
            parsed = parsed[:at] + " " * (run.end() - at) + parsed[run.end() :]
    return build_tree(text, parse_events(parsed, "python"), respaced=True)


def _behind_something(text: str, at: int) -> bool:
    return bool(text[line_start(text, at) : at].strip(" \t-"))


def _tree(text: str, parser: Parser | None) -> Tree:
    first: Parser = parser or ("c" if c_parser_available() else "python")
    try:
        if first == "python":
            return _python_tree(text)
        return build_tree(text, parse_events(text, first))
    except NotYamlError as trouble:
        if parser is not None or first == "python" or len(text) > RETRY_LENGTH:
            raise StopReadingError(explain_syntax(text, trouble)) from None
    # The C parser refuses a colon in a plain scalar inside brackets, [15:38, 13:49], which
    # YAML 1.2 allows; the Python parser takes it, and its complaints do not depend on what is
    # installed.
    try:
        return _python_tree(text)
    except NotYamlError as trouble:
        raise StopReadingError(explain_syntax(text, trouble)) from None
