"""How an answer is declared.

It is a `TypedDict`: its docstring says what it is, a docstring under a member what that holds.
`Annotated` and `More` add what JSON Schema says beside the type. A member that is there only on
request is `NotRequired`. A public class becomes a definition of the schema, one whose name begins
with an underscore is written where it is used. `more` of a class is said beside its members.
`schemas` reads all this when a schema is written; to give an answer out costs no more than a dict.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any


class More:
    """What JSON Schema says of a member beside its type, for `Annotated`: More(minimum=0)."""

    def __init__(self, **said: Any) -> None:
        self.said = said


def words(values: Iterable[str]) -> More:
    """One of several words."""
    return More(enum=list(values))


def fixed(value: object) -> More:
    """Always the same value; the type is left out."""
    return More(const=value)
