"""Words around numbers that say whether they count teeth, and the reader of all lists of words.

What each list is for stands beside its words, in words.yaml.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from pathlib import Path

from fitcheck.catalogue.nodes import MapNode
from fitcheck.catalogue.source import read_source
from fitcheck.errors import UnreadableError


def words_in(text: str) -> frozenset[str]:
    """The words of a text, as a set."""
    return frozenset(text.split())


def read_words(file: str) -> dict[str, dict[str, frozenset[str]]]:
    """The lists of a file beside this one; one in several parts is joined.

    Args:
        file: its name.

    Returns:
        Kind and name of a list to its words or phrases, folded.
    """
    source, findings = read_source(Path(__file__).with_name(file), named=True)
    if findings or not isinstance(source.root, MapNode):
        told = "; ".join(f"{each.span}: {each.message}" for each in findings[:1])
        raise UnreadableError(told or f"{source.path}: holds no lists of words")
    return {
        kind: {name: _entries(given) for name, given in lists.items()}
        for kind, lists in source.root.value.items()
    }


def _entries(given: str | Mapping[str, str]) -> frozenset[str]:
    text = given if isinstance(given, str) else ",".join(given.values())
    return frozenset(" ".join(entry.split()) for entry in text.split(","))


WORDS = read_words("words.yaml")
"""Kind and name of a list to its words or phrases, folded."""

HARMLESS = read_words("harmless.yaml")
"""The same of words that say nothing that could matter, by kind and language."""


def any_of(entries: Iterable[str]) -> str:
    """A part of a pattern: any of some words or phrases, the longest first."""
    return rf"(?:{'|'.join(map(re.escape, sorted(entries, key=lambda each: (-len(each), each))))})"


TEETH_WORDS = WORDS["count"]["teeth"]
PINION_WORDS = WORDS["count"]["pinion"]
WHEEL_GEAR_WORDS = WORDS["count"]["wheel_gear"]

ONE_GEAR = WORDS["count"]["one_gear"]
BOTH_GEARS = WORDS["count"]["both_gears"]
GEAR_WORDS = (
    WORDS["count"]["gear"]
    | PINION_WORDS
    | (WHEEL_GEAR_WORDS - {"rad", "wheel", "ruota", "ruote", "roue", "roues", "rueda", "ruedas"})
)
UNITS = WORDS["count"]["units"]
NOT_TEETH_BEFORE = WORDS["count"]["not_teeth_before"]
FROM_WORDS = WORDS["count"]["from"]
COMPANION_WORDS = WORDS["count"]["companion"]
ONLY_WORDS = WORDS["count"]["only"]
OTHER_PARTS = WORDS["count"]["other_parts"]

USED_WITH = tuple(f"{each} " for each in sorted(WORDS["count"]["used_with"]))
"""Words before a pair that make it that of another set."""
ALTERNATIVE_WORDS = WORDS["count"]["alternative"]
JOINING_WORDS = WORDS["count"]["joining"]
JOINED_WORDS = JOINING_WORDS | words_in("auf zu su sur a sobre to into")
"""Words that join the two counts of a column of teeth."""

FILLER_WORDS = WORDS["count"]["filler"]
