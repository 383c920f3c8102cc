"""One of the errors that a model raises, beside what the file holds at its place."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from fitcheck.catalogue.nodes import ListNode, MapNode, ScalarNode
from fitcheck.catalogue.places import RecordPlace
from fitcheck.catalogue.problems import shown
from fitcheck.diagnostics.finding import Finding

_KEY = "[key]"
"""The last step of pydantic's location where a key of a mapping was refused."""


class Fault:
    """One of pydantic's errors, with what the file holds at its place.

    Attributes:
        place: the record in its file.
        on_key: whether a key of a mapping was refused, not a value.
        loc: steps under the record that lead to the value or key.
        type: pydantic's name for the error.
        context: its details, such as the limit that was passed.
        input: the value refused.
        message: what pydantic says.
        name: the field as a sentence begins with it.
        node: what stands there, or None.
    """

    def __init__(self, place: RecordPlace, error: Mapping[str, Any]) -> None:
        loc: tuple[str | int, ...] = tuple(error["loc"])
        self.place = place
        self.on_key = bool(loc) and loc[-1] == _KEY
        self.loc = loc[:-1] if self.on_key else loc
        self.type: str = error["type"]
        self.context: Mapping[str, Any] = error.get("ctx", {})
        self.input: Any = error.get("input")
        self.message: str = error["msg"]
        self.name = place.name(self.loc)
        self.node = place.node(self.loc)

    @property
    def raw(self) -> str:
        """The value as it stands in the file, in a few characters."""
        if self.on_key:
            return shown(str(self.loc[-1]))
        if isinstance(self.node, ScalarNode):
            return shown(self.node.text)
        return {MapNode: "a mapping", ListNode: "a list"}.get(type(self.node), "nothing")

    @property
    def raw_kind(self) -> str:
        """What stands there, in words with an article."""
        if isinstance(self.node, MapNode | ListNode):
            return self.raw
        if isinstance(self.input, bool):
            return f"the truth value {self.raw}"
        if isinstance(self.input, int | Decimal):
            return f"the number {self.raw}"
        if self.input is None:
            return "nothing"
        return f"the text {self.raw!r}"

    def finding(
        self,
        code: str,
        message: str,
        advice: str | None = None,
        *,
        suggestion: str | None = None,
        loc: tuple[str | int, ...] | None = None,
    ) -> Finding:
        """A finding about the value, or the key, at this fault's place or at `loc`."""
        return self.place.finding(
            code,
            message,
            self.loc if loc is None else loc,
            key=self.on_key,
            advice=advice,
            suggestion=suggestion,
        )
