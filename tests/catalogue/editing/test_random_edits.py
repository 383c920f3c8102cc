"""Random edits of random files in random styles: only what is meant changes.

The files come from a writer of the test's own, which knows to which record and field each of its
lines belongs. Second reader: PyYAML (YAML 1.1), which has to agree on everything written.
"""

from __future__ import annotations

import datetime as dt
import re
from collections import Counter
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

import yaml
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from fitcheck.catalogue.editing import EditError, draft_from_bytes
from fitcheck.kernel.teeth import Pair
from fitcheck.model.gear_set import GearSet

FIELDS = list(GearSet.model_fields)

NASTY = [
    *("yes", "No", "on", "y", "~", "null", "True", "1E5", "1e3", "007", "1544", "12:30", "15:38"),
    *("2026-03-02", "2026-3-2", "0x1F", "0o17", "0b11", "1_000", ".5", "5.", "-", "---", "- a"),
    *("# no", "a #b", "a# b", "a: b", "a:", ":a", "a:b", "[x]", "{x}", "a, b", "*a", "&a", "!t"),
    *("%x", "@x", "`x", "'q'", '"q"', "it's", 'say "hi"', "back\\slash", "a\tb", "=", "<<", "?x"),
    *("? x", "|", ">", "x|", "+1", "-1.5", "1,5", "12e03", "NaN", ".inf", "-.INF", "1.5.2", "...x"),
    *(
        "ünï çödé",
        "漢字",
        "\U0001f6f5 x",
        "e\u0301",
        "x\u200by",
        "\u00a0x",
        "soft\u00adhyphen",
        "~x",
    ),
    *(
        "multi\nline",
        "multi\nline\n",
        "a\n\nb",
        "a\n b",
        " a\nb",
        "a \nb",
        "x\n\n",
        "\nx",
        "a\n# b",
    ),
    *("trailing ", " leading", "a  b", "15/44", "80/90-10", "MA-1", "null-1", "x" * 300),
    *("=1+1", "@SUM(A1)", "a]", "a}", "a,", "key: [", "2001-12-14t21:59:43.10-05:00", "190:20:30"),
]
ALPHABET = "aZ09 .,:;#-_/'\"\\[]{}&*!|>%@`?=~+\tüé漢\n"
TEXTS = st.one_of(
    st.sampled_from(NASTY),
    st.text(ALPHABET, min_size=1, max_size=12).filter(str.strip),
)
LINES = TEXTS.filter(lambda text: "\n" not in text)
PRICES = st.decimals(min_value=0, max_value=999, places=2, allow_nan=False)
PAIRS = st.builds(lambda low, more: f"{low}/{low + more}", st.integers(10, 20), st.integers(1, 40))
STAGE = st.sampled_from(["primary", "secondary", "single", "tertiary"])
ID = st.from_regex(r"[A-Za-z][A-Za-z0-9._-]{0,6}", fullmatch=True)

FITS = st.lists(
    st.builds(
        lambda family, housings, turned: dict(
            ([("housings", housings)] if housings and turned else [])
            + [("family", family)]
            + ([("housings", housings)] if housings and not turned else [])
        ),
        ID,
        st.lists(ID, max_size=2),
        st.booleans(),
    ),
    min_size=1,
    max_size=3,
)
LISTED = st.fixed_dictionaries(
    {"models": st.lists(TEXTS, min_size=1, max_size=2)},
    optional={"wheel_size_in": st.integers(8, 16)},
)
VALUES: dict[str, st.SearchStrategy[Any]] = {
    "part_number": TEXTS,
    "aliases": st.lists(TEXTS, min_size=1, max_size=3),
    "name": TEXTS,
    "pairs": st.dictionaries(STAGE, PAIRS, min_size=1, max_size=2),
    "fits": FITS,
    "listed_for": LISTED,
    "also_needs": st.lists(LINES, min_size=1, max_size=2),
    "price": PRICES,
    "currency": st.sampled_from(["EUR", "USD"]),
    "availability": st.sampled_from(["in-stock", "unknown"]),
    "notes": TEXTS,
}
REQUIRED = ("part_number", "pairs")
OPTIONAL = [name for name in VALUES if name not in REQUIRED]


@st.composite
def records(draw: st.DrawFn) -> dict[str, Any]:
    names = [*REQUIRED, *draw(st.lists(st.sampled_from(OPTIONAL), unique=True, max_size=4))]
    if draw(st.booleans()):
        names.sort(key=FIELDS.index)
    else:
        names = draw(st.permutations(names))
    return {name: draw(VALUES[name]) for name in names}


# -- a writer of the test's own ------------------------------------------------------------------

BARE = re.compile(r"[A-Za-z][A-Za-z0-9 ._/-]*(?<! )")
WORDS = {"yes", "no", "on", "off", "y", "n", "true", "false", "null"}


@dataclass
class Writer:
    draw: st.DrawFn
    lines: list[tuple[str, tuple[str, ...]]] = field(default_factory=list)

    def maybe(self, *choices: Any) -> Any:
        return self.draw(st.sampled_from(choices))

    def comment(self) -> str:
        if self.maybe(True, False, False):
            return self.maybe("  # note", " # 'x", "\t# {", "   #")
        return ""

    def between(self, tag: tuple[str, ...]) -> None:
        """Blank lines and comments of the file's own; nobody's.

        A comment further in, right below a field, would be the field's; see docs/editing.md.
        """
        for at in range(self.maybe(0, 0, 0, 1, 2)):
            deep = ["      # deep"] if at else []
            self.lines.append((self.maybe("", "  # between", "# at the left", *deep), tag))

    def anchor(self) -> str:
        """Often nothing, else the name of a value, which no alias uses."""
        return self.maybe("", "", "", "", "", "", "&a ", "&b-1  ", "&\u00fc ")

    def scalar(self, value: Any, *, flow: bool, key: bool = False) -> str:
        text = self.bare_or_quoted(value)
        return text if key else self.anchor() + text

    def bare_or_quoted(self, value: Any) -> str:
        if isinstance(value, Decimal | int):
            return f"{value}"
        if re.fullmatch(r"[0-9]+/[0-9]+", value) and self.maybe(True, False):
            return value
        if BARE.fullmatch(value) and value.lower() not in WORDS and self.maybe(True, True, False):
            return value
        single = value.isprintable() and self.maybe(True, False)
        if single:
            return "'" + value.replace("'", "''") + "'"
        return (
            '"'
            + (
                value.replace("\\", "\\\\")
                .replace('"', '\\"')
                .replace("\n", "\\n")
                .replace("\t", "\\t")
            )
            + '"'
        )

    def flow(self, value: Any) -> str:
        pad = self.maybe("", "", " ")
        if isinstance(value, dict):
            inner = ", ".join(
                f"{self.scalar(key, flow=True, key=True)}: {self.flow(item)}"
                for key, item in value.items()
            )
            return self.anchor() + "{" + pad + inner + pad + "}"
        if isinstance(value, list):
            return self.anchor() + "[" + pad + ", ".join(map(self.flow, value)) + pad + "]"
        return self.scalar(value, flow=True)

    def spread(self, value: Any, indent: int, tag: tuple[str, ...], head: str) -> None:
        """Brackets over several lines, with comments inside."""
        opener, closer = "{}" if isinstance(value, dict) else "[]"
        items = (
            [f"{self.scalar(k, flow=True, key=True)}: {self.flow(v)}" for k, v in value.items()]
            if isinstance(value, dict)
            else [self.flow(item) for item in value]
        )
        self.lines.append((head + self.anchor() + opener + self.comment(), tag))
        for at, item in enumerate(items):
            last = at == len(items) - 1
            comma = "," if not last or self.maybe(True, False) else ""
            self.lines.append((" " * (indent + 2) + item + comma + self.comment(), tag))
        self.lines.append((" " * (indent + self.maybe(0, 2)) + closer + self.comment(), tag))

    def value(self, value: Any, indent: int, tag: tuple[str, ...], head: str) -> None:
        if isinstance(value, dict | list):
            how = self.maybe("flow", "lines", "spread")
            if how == "flow":
                self.lines.append((f"{head} {self.flow(value)}{self.comment()}", tag))
            elif how == "spread":
                self.spread(value, indent + 1, tag, head + " ")
            else:
                self.lines.append(((f"{head} {self.anchor()}").rstrip() + self.comment(), tag))
                if isinstance(value, dict):
                    self.mapping(value, indent + self.maybe(1, 2, 4), tag)
                else:
                    self.list(value, indent + self.maybe(0, 2, 3), tag)
            return
        block = (
            isinstance(value, str)
            and len(value) > 3
            and all(line == line.strip() and line.isprintable() for line in value.split("\n"))
            and value.split("\n")[0]
            and not value.endswith("\n\n")
            and self.maybe(True, False)
        )
        if block:
            keep = "+" if value.endswith("\n") and self.maybe(True, False) else ""
            sign = "|" + ("" if value.endswith("\n") else "-") + keep
            if "\n" not in value and self.maybe(True, False):
                sign = ">-"
            inner = " " * (indent + self.maybe(1, 2, 3))
            self.lines.append((f"{head} {self.anchor()}{sign}{self.comment()}", tag))
            self.lines += [
                (inner + line if line else "", tag) for line in value.removesuffix("\n").split("\n")
            ]
            return
        self.lines.append((f"{head} {self.scalar(value, flow=False)}{self.comment()}", tag))

    def mapping(self, value: dict[str, Any], indent: int, tag: tuple[str, ...]) -> None:
        for key, item in value.items():
            self.value(
                item, indent, tag, " " * indent + self.scalar(key, flow=True, key=True) + ":"
            )

    def list(self, value: list[Any], indent: int, tag: tuple[str, ...]) -> None:
        for item in value:
            if isinstance(item, dict) and self.maybe(True, False):
                at = len(self.lines)
                self.mapping(item, indent + 2, tag)
                first, _ = self.lines[at]
                self.lines[at] = (" " * indent + "- " + first[indent + 2 :], tag)
            else:
                text = self.flow(item) if isinstance(item, dict) else self.scalar(item, flow=False)
                self.lines.append((f"{' ' * indent}- {text}{self.comment()}", tag))


@dataclass
class File:
    data: bytes
    lines: list[tuple[str, tuple[str, ...]]]
    records: dict[str, dict[str, Any]]


@st.composite
def files(draw: st.DrawFn) -> File:
    writer = Writer(draw)
    ids = draw(st.lists(ID, min_size=1, max_size=4, unique_by=str.lower))
    assume(not {name.lower() for name in ids} & WORDS)
    held = {record_id: draw(records()) for record_id in ids}
    out = writer.lines
    out += [("# a file", ()), ("kind: gear-set", ()), ("defaults: {supplier: marram}", ())]
    writer.between(())
    out.append(("records:" + writer.comment(), ()))
    indent = writer.maybe(1, 2, 4)
    inner = indent + writer.maybe(1, 2, 3)
    all_flow = writer.maybe(True, False, False, False)
    for record_id, data in held.items():
        writer.between(())
        key = writer.scalar(record_id, flow=True, key=True)
        if all_flow:
            writer.value_flow = True  # type: ignore[attr-defined]
            out.append(
                (f"{' ' * indent}{key}: {writer.flow(data)}{writer.comment()}", (record_id,))
            )
            continue
        out.append((f"{' ' * indent}{key}:{writer.comment()}", (record_id,)))
        for name, value in data.items():
            shown = writer.scalar(name, flow=True, key=True)
            writer.value(value, inner, (record_id, name), f"{' ' * inner}{shown}:")
            if writer.maybe(True, False, False, False):
                out.append((writer.maybe("", " " * inner + "# inside"), (record_id, "#")))
    writer.between(())
    breaks = writer.maybe(["\n"], ["\n"], ["\r\n"], ["\r"], ["\n", "\r\n"])
    text = "".join(line + draw(st.sampled_from(breaks)) for line, _ in out)
    if writer.maybe(True, False, False):
        text = text.rstrip("\r\n")
    mark = b"\xef\xbb\xbf" if writer.maybe(True, False, False) else b""
    return File(mark + text.encode(), out, held)


# -- what has to hold ----------------------------------------------------------------------------


def agrees(ours: Any, theirs: Any) -> bool:
    """Whether PyYAML reads what the catalogue's reader does."""
    if isinstance(ours, dict):
        return list(ours) == list(theirs) and all(agrees(ours[key], theirs[key]) for key in ours)
    if isinstance(ours, list):
        return len(ours) == len(theirs) and all(map(agrees, ours, theirs))
    if isinstance(theirs, dt.date):
        return bool(ours == theirs.isoformat())
    if isinstance(ours, Decimal | int) and not isinstance(ours, bool):
        return not isinstance(theirs, str) and Decimal(str(theirs)) == ours
    return type(ours) is type(theirs) and bool(ours == theirs)


def split(data: bytes) -> list[str]:
    text = data.decode("utf-8-sig")
    return re.findall(r"[^\r\n]*(?:\r\n|\r|\n)|[^\r\n]+", text)


def is_part_of(part: list[str], whole: list[str]) -> bool:
    """Whether the lines of `part` stand in `whole` in their order."""
    rest = iter(whole)
    return all(line in rest for line in part)


def held_by(draft: Any) -> dict[str, Any]:
    return {record_id: draft.record(record_id) for record_id in draft.ids}


@st.composite
def edits(draw: st.DrawFn, held: dict[str, dict[str, Any]]) -> tuple[Any, ...]:
    record_id = draw(st.sampled_from(sorted(held)))
    kind = draw(
        st.sampled_from(["field", "field", "value", "nested", "deep", "deep", "remove", "add"])
    )
    record = held[record_id]
    if kind == "add":
        new_id = draw(ID)
        assume(new_id.lower() not in {name.lower() for name in held})
        return ("add", new_id, draw(records()), draw(st.sampled_from([None, record_id])))
    if kind == "remove":
        there = [name for name in record if name in OPTIONAL]
        assume(there)
        return ("remove", record_id, draw(st.sampled_from(there)))
    if kind == "value":
        there = [name for name in record if not isinstance(record[name], dict | list)]
        name = draw(st.sampled_from(there))
        return ("value", record_id, name, draw(VALUES[name]))
    edit: tuple[Any, ...]
    if kind == "nested" and "listed_for" in record:
        edit = ("listed_for", "wheel_size_in", draw(st.integers(8, 16)))
    elif kind == "deep" and "fits" in record:
        at = draw(st.integers(0, len(record["fits"]) - 1))
        name = draw(st.sampled_from(["evidence", "housings"]))
        value = None if name in record["fits"][at] else "stated" if name == "evidence" else ["q"]
        edit = ("fits", at, name, value)
    else:
        kind = "field"
        name = draw(st.sampled_from(list(VALUES)))
        edit = (name, draw(VALUES[name]))
    return (kind, record_id, *edit)


def carry_out(draft: Any, edit: tuple[Any, ...]) -> None:
    what, record_id, *rest = edit
    path = ("records", record_id)
    if what == "add":
        draft.add_record(record_id, rest[0], after=rest[1])
    elif what == "remove":
        draft.remove_field(path, rest[0])
    elif what == "value":
        draft.set_value((*path, rest[0]), rest[1])
    elif what == "deep" and rest[3] is None:
        draft.remove_field((*path, *rest[:2]), rest[2])
    elif what == "deep":
        draft.set_field((*path, *rest[:2]), rest[2], rest[3])
    elif what == "nested":
        draft.set_field((*path, rest[0]), rest[1], rest[2])
    else:
        draft.set_field(path, rest[0], rest[1])


def expected(held: dict[str, dict[str, Any]], edit: tuple[Any, ...]) -> dict[str, Any]:
    what, record_id, *rest = edit
    if what == "add":
        ids = list(held)
        at = len(ids) if rest[1] is None else ids.index(rest[1]) + 1
        ids.insert(at, record_id)
        return {each: rest[0] if each == record_id else held[each] for each in ids}
    record = dict(held[record_id])
    if what == "remove":
        del record[rest[0]]
    elif what == "deep":
        items = [dict(item) for item in record[rest[0]]]
        if rest[3] is None:
            del items[rest[1]][rest[2]]
        else:
            items[rest[1]][rest[2]] = rest[3]
        record[rest[0]] = items
    elif what == "nested":
        record[rest[0]] = {**record[rest[0]], rest[1]: rest[2]}
    else:
        record[rest[0]] = rest[1]
    return {**held, record_id: record}


def in_any_order(held: dict[str, Any]) -> list[tuple[str, Any]]:
    return list(held.items())


SETTINGS = settings(
    max_examples=settings().max_examples,
    deadline=None,
    suppress_health_check=[
        HealthCheck.too_slow,
        HealthCheck.filter_too_much,
        HealthCheck.data_too_large,
    ],
)


@SETTINGS
@given(st.data())
def test_only_what_is_meant_changes(data: st.DataObject) -> None:
    file = data.draw(files())
    try:
        draft = draft_from_bytes("a.yaml", file.data)
    except EditError:
        assume(False)
    assume(held_by(draft) == file.records)
    edit = data.draw(edits(file.records))

    carry_out(draft, edit)

    what, record_id = edit[:2]
    wanted = expected(file.records, edit)
    assert in_any_order(held_by(draft)) == in_any_order(wanted)
    new = draft.data
    old_lines, new_lines = split(file.data), split(new)
    # The marks of the file: byte order mark, kinds of line break, the break at its end.
    assert new.startswith(b"\xef\xbb\xbf") == file.data.startswith(b"\xef\xbb\xbf")
    breaks = {re.sub(r"[^\r\n]", "", line) for line in old_lines} or {"\n"}
    assert {re.sub(r"[^\r\n]", "", line) for line in new_lines} <= breaks | {""}
    # Where the last line goes, the one before it keeps its break.
    if what != "remove" and len(new_lines) >= len(old_lines):
        assert new_lines[-1].endswith(("\r", "\n")) == old_lines[-1].endswith(("\r", "\n"))
    # Every line that is not of the field meant.
    own_flow = (record_id,) in {tag for _, tag in file.lines} and not any(
        tag[:1] == (record_id,) and len(tag) > 1 for _, tag in file.lines
    )
    if what == "add":
        kept = [line for line, _ in file.lines]
    elif own_flow:
        kept = [line for line, tag in file.lines if tag != (record_id,)]
    else:
        kept = [line for line, tag in file.lines if tag != (record_id, edit[2])]
    while kept and not kept[-1]:
        kept.pop()
    assert is_part_of(kept, [line.rstrip("\r\n") for line in new_lines])
    # PyYAML reads the new text as meant.
    try:
        theirs = yaml.safe_load(file.data)["records"]
    except yaml.YAMLError:
        theirs = None
    if theirs is not None and agrees(file.records, theirs):
        assert agrees(held_by(draft), yaml.safe_load(new)["records"])
    # A second time nothing changes.
    if what in ("field", "value", "nested"):
        carry_out(draft, edit)
        assert draft.data == new


@SETTINGS
@given(st.data())
def test_a_batch_of_edits_is_as_good_as_one_after_the_other(data: st.DataObject) -> None:
    file = data.draw(files())
    try:
        draft = draft_from_bytes("a.yaml", file.data)
    except EditError:
        assume(False)
    assume(held_by(draft) == file.records)
    held = file.records
    single = file.data
    for _ in range(data.draw(st.integers(2, 5))):
        edit = data.draw(edits(held))
        carry_out(draft, edit)
        alone = draft_from_bytes("a.yaml", single)
        carry_out(alone, edit)
        single = alone.data
        held = expected(held, edit)

    assert held_by(draft) == held
    assert draft.data == single
    assert held_by(draft_from_bytes("a.yaml", draft.data)) == held


def test_the_random_files_are_read_as_they_were_meant() -> None:
    """Most of what the writer writes must be good, or the tests above would test nothing."""
    good = total = 0

    @settings(
        max_examples=2 * settings().max_examples,
        deadline=None,
        database=None,
        suppress_health_check=list(HealthCheck),
    )
    @given(files())
    def count(file: File) -> None:
        nonlocal good, total
        total += 1
        try:
            good += held_by(draft_from_bytes("a.yaml", file.data)) == file.records
        except EditError as error:
            print(error)

    count()
    assert good > 0.9 * total


def test_a_pair_and_a_date_stand_bare() -> None:
    draft = draft_from_bytes(
        "a.yaml",
        b"kind: gear-set\nrecords:\n"
        b"  A:\n    supplier: m\n    part_number: b\n    pairs: {single: 15/40}\n",
    )

    draft.set_field(("records", "A", "pairs"), "single", Pair(15, 44))
    draft.set_field(("records", "A"), "source", {"date": dt.date(2026, 3, 2), "row": 4})

    assert draft.text.endswith(
        "    pairs: {single: 15/44}\n    source: {row: 4, date: 2026-03-02}\n"
    )


GAPS = st.sampled_from(
    [", ", ",", " , ", ",\n  ", ", # c\n  ", " # c\n  , ", "\n  , ", ",\n\n  # d\n  "]
)
ENDS = st.sampled_from(["", " ", ",", "\n", " # e\n", ",\n  ", ", # e\n", "\n  # f\n  "])
STARTS = st.sampled_from(["", " ", "\n  ", " # s\n  "])


@SETTINGS
@given(
    STARTS,
    st.lists(
        st.tuples(
            st.sampled_from(["{quantity: 1}", '{"quantity":1}', "{quantity: 1, # i\n  place: x}"]),
            GAPS,
        ),
        min_size=1,
        max_size=4,
    ),
    ENDS,
    st.booleans(),
    st.data(),
)
def test_records_in_brackets_of_their_own(
    start: str, held: list[tuple[str, str]], end: str, rooted: bool, data: st.DataObject
) -> None:
    entries = [f"R{at}: {record}" for at, (record, _) in enumerate(held)]
    inside = "".join(
        entry + (gap if at < len(held) - 1 else "")
        for at, (entry, (_, gap)) in enumerate(zip(entries, held, strict=True))
    )
    records_text = "{" + start + inside + end + "}"
    text = (
        "{kind: shelf, records: " + records_text + "}\n"
        if rooted
        else f"kind: shelf\nrecords: {records_text}\n"
    )
    draft = draft_from_bytes("a.yaml", text.encode())
    ids = [f"R{at}" for at in range(len(held))]
    assert list(draft.ids) == ids

    for number in range(data.draw(st.integers(1, 3))):
        after = data.draw(st.sampled_from([None, *ids]))
        draft.add_record(f"NEW{number}", {"quantity": 7}, after)
        ids.insert(len(ids) if after is None else ids.index(after) + 1, f"NEW{number}")
        changed = data.draw(st.sampled_from(ids))
        draft.set_field(("records", changed), "place", f"p{number}")

    assert list(draft.ids) == ids
    again = draft_from_bytes("a.yaml", draft.data)
    assert held_by(again) == held_by(draft)
    assert again.ids == draft.ids
    assert Counter(re.findall(r"# \w", draft.text)) == Counter(re.findall(r"# \w", text))
    assert list(yaml.safe_load(draft.text)["records"]) == ids
