"""Parser events of a YAML text: from the C parser where it is installed, else from Python.

`ruamel.yaml` uses its C parser only when the module `_ruamel_yaml` can be imported, and says
nothing when it cannot; so the module is asked for here by name, and a test looks at it.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Literal

from ruamel.yaml import YAML
from ruamel.yaml.error import MarkedYAMLError, YAMLError

try:
    import _ruamel_yaml
except ImportError:  # pragma: no cover - the wheel with the C parser is not made everywhere
    _ruamel_yaml = None

__all__ = ["NotYamlError", "Parser", "c_parser_available", "parse_events"]

Parser = Literal["c", "python"]


class NotYamlError(Exception):
    """The text is not YAML; offsets in code points, None where the parser gives none.

    Attributes:
        problem: what the parser met.
        context: what it was doing.
        offset: where it stopped.
        context_offset: where the thing it was reading began.
    """

    def __init__(
        self, problem: str, context: str, offset: int | None, context_offset: int | None
    ) -> None:
        super().__init__(problem)
        self.problem = problem
        self.context = context
        self.offset = offset
        self.context_offset = context_offset


def c_parser_available() -> bool:
    """Whether the C parser of ruamel.yaml is there to be used."""
    return hasattr(_ruamel_yaml, "CParser")


def parse_events(text: str, parser: Parser) -> Iterator[Any]:
    """The events of a text.

    Args:
        text: the file's text without a byte order mark.
        parser: `c` or `python`.

    Yields:
        Events as ruamel.yaml names them, with marks in code points.

    Raises:
        NotYamlError: the text is not YAML.
    """
    try:
        yield from _c_events(text) if parser == "c" else _python_events(text)
    except MarkedYAMLError as error:
        raise NotYamlError(
            str(error.problem or ""),
            str(error.context or ""),
            _offset(error.problem_mark),
            _offset(error.context_mark),
        ) from None
    except YAMLError as error:
        raise NotYamlError(str(error).partition("\n")[0], "", None, None) from None
    except (ValueError, IndexError, OverflowError, RecursionError, AttributeError) as error:
        # The Python parser lets such errors through on some broken escapes and directives.
        raise NotYamlError(str(error).partition("\n")[0], "", None, None) from None


def _offset(mark: Any) -> int | None:
    return None if mark is None else int(mark.index)


def _c_events(text: str) -> Iterator[Any]:
    source = _ruamel_yaml.CParser(text)
    while True:
        event = source.get_event()
        if event is None:
            return
        yield event


def _python_events(text: str) -> Iterator[Any]:
    yield from YAML(typ="safe", pure=True).parse(text)
