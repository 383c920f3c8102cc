"""Parser events of a YAML text: from the C parser where it is installed, else from Python.

`ruamel.yaml` uses its C parser only when the module `_ruamel_yaml` can be imported, and says
nothing when it cannot; so the module is asked for here by name, and a test looks at it.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, Literal

from ruamel.yaml import YAML
from ruamel.yaml.error import MarkedYAMLError, YAMLError

try:
    import _ruamel_yaml
except ImportError:  # pragma: no cover - the wheel with the C parser is not made everywhere
    _ruamel_yaml = None

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
    """The events of a text, as ruamel.yaml names them, with marks in code points.

    Args:
        text: the file's text without a byte order mark.
        parser: `c` or `python`.

    Returns:
        An iterator; what it raises on a text that is not YAML, `yaml_faults` translates.
    """
    if parser == "c":
        assert _ruamel_yaml is not None
        # No generator in between: this loop runs once for every key and value of a catalogue.
        return iter(_ruamel_yaml.CParser(text).get_event, None)
    return iter(YAML(typ="safe", pure=True).parse(text))


@contextmanager
def yaml_faults() -> Iterator[None]:
    """Turn what the parsers raise on a text that is not YAML into `NotYamlError`."""
    try:
        yield
    except MarkedYAMLError as error:
        raise NotYamlError(
            str(error.problem or ""),
            str(error.context or ""),
            _offset(error.problem_mark),
            _offset(error.context_mark),
        ) from None
    except (YAMLError, ValueError, OverflowError) as error:
        # The Python parser lets the latter two through on escapes beyond Unicode.
        raise NotYamlError(str(error).partition("\n")[0], "", None, None) from None


def _offset(mark: Any) -> int | None:
    return None if mark is None else int(mark.index)
