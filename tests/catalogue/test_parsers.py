"""The C parser is truly in use, and the Python parser gives the same trees."""

from __future__ import annotations

import subprocess
import sys
from typing import Any

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from fitcheck.catalogue import text as text_module
from fitcheck.catalogue.nodes import ListNode, MapNode, Node, ScalarNode
from fitcheck.catalogue.source import Source, source_from_bytes
from fitcheck.diagnostics.examples import BASE, lay_out
from fitcheck.diagnostics.finding import Finding

needs_c = pytest.mark.skipif(
    not text_module.c_parser_available(), reason="the wheel with the C parser is not installed"
)


@needs_c
def test_the_c_parser_is_the_one_that_reads(monkeypatch):
    calls = []
    real = text_module._ruamel_yaml.CParser

    def counting(text: str) -> Any:
        calls.append(text)
        return real(text)

    monkeypatch.setattr(text_module._ruamel_yaml, "CParser", counting)
    monkeypatch.setattr(text_module, "YAML", None)  # any use of the Python parser would fail
    text = "kind: tune  # no other test reads this text, so none is kept\n"
    source, findings = source_from_bytes("x.yaml", text.encode())
    assert calls == [text]
    assert findings == []
    assert source.root is not None
    assert real.__module__.endswith("_ruamel_yaml")


@needs_c
def test_the_c_parser_is_compiled_code():
    import _ruamel_yaml

    assert _ruamel_yaml.__file__.endswith((".so", ".pyd"))


def test_another_yaml_library_is_never_imported(tmp_path):
    lay_out(tmp_path, BASE)
    code = (
        "import sys\n"
        "from fitcheck.catalogue.reader import load\n"
        "catalogue = load(sys.argv[1])\n"
        "print(len(catalogue.findings), 'yaml' in sys.modules, '_ruamel_yaml' in sys.modules)"
    )
    run = subprocess.run(
        [sys.executable, "-c", code, str(tmp_path)], capture_output=True, text=True, check=True
    )
    assert run.stdout.split() == ["0", "False", str(text_module.c_parser_available())]


def dump(node: Node | None) -> Any:
    if node is None:
        return None
    if isinstance(node, ScalarNode):
        return ("scalar", node.start, node.end, node.text, node.style, repr(node.value))
    if isinstance(node, ListNode):
        return ("list", node.start, node.end, node.flow, [dump(item) for item in node.items])
    entries = [(dump(key), dump(value)) for key, value in node.entries.values()]
    return ("map", node.start, node.end, node.flow, entries)


def both(text: str) -> tuple[tuple[Source, list[Finding]], tuple[Source, list[Finding]]]:
    data = text.encode()
    return (
        source_from_bytes("x.yaml", data, parser="c"),
        source_from_bytes("x.yaml", data, parser="python"),
    )


@needs_c
@pytest.mark.parametrize("text", BASE.values(), ids=BASE)
def test_both_parsers_give_one_tree_for_a_good_file(text):
    (ours, faults), (theirs, other_faults) = both(text)
    assert dump(ours.root) == dump(theirs.root) is not None
    assert faults == other_faults == []


PIECES = [
    *["a", "b: ", "kind: tune\n", "records:\n", "  ", "    ", "- ", "\n", "\n", ": ", ", "],
    *["[", "]", "{", "}", "'", '"', "# c\n", "|\n", ">\n", "|-\n", "x y", "15:38", "15/38", "007"],
    *["ü", "\U0001f6f5", "? ", "!t ", "&a ", "*a", "<<", "---\n", "...\n", "\t", "\r\n", "\r"],
    *["%", "@", "\\", "~", "null", "true", "1e5", "  a: 1\n", "  b: [1, 2]\n", "  - x\n", " #x"],
    *["''", '""', "\\n", "\\u00e4", "`", "=", "\ufeff", "\x00", "\x85"],
]


@needs_c
@settings(deadline=None, max_examples=4 * settings().max_examples)
@given(st.lists(st.sampled_from(PIECES), min_size=1, max_size=14).map("".join))
@example("a: [15:38, 13:49]\n")
@example("a:\t1\n")
@example("a: x\ty\n")
@example("a: |\n  x\n\n\n# c\nb:\n  -\n  - 1\n")
def test_both_parsers_give_one_tree_or_refuse(text):
    (ours, faults), (theirs, other_faults) = both(text)
    _, usual_faults = source_from_bytes("x.yaml", text.encode())
    for finding in (*faults, *other_faults, *usual_faults):
        assert finding.message.isprintable()
        span = finding.span
        assert (span.line, span.column) <= (span.end_line, span.end_column)
    if isinstance(ours.root, MapNode | ListNode) and isinstance(theirs.root, MapNode | ListNode):
        assert dump(ours.root) == dump(theirs.root)
        assert [each.code for each in faults] == [each.code for each in other_faults]


leaves = st.one_of(
    st.integers(-999, 999),
    st.booleans(),
    st.none(),
    st.text(st.characters(codec="utf-8", exclude_categories=["Cc", "Cs", "Zl", "Zp"]), max_size=8),
)
data = st.recursive(
    leaves,
    lambda inner: st.one_of(
        st.lists(inner, max_size=4),
        st.dictionaries(st.text("abc -:", min_size=1, max_size=4), inner, max_size=4),
    ),
    max_leaves=12,
)


@settings(deadline=None, max_examples=2 * settings().max_examples)
@given(st.dictionaries(st.text("abcd", min_size=1, max_size=3), data, min_size=1, max_size=4))
def test_what_ruamel_writes_is_read_back(value):
    """ruamel.yaml's own writer is the oracle: its text must give the value it was made from."""
    import io

    from ruamel.yaml import YAML

    writer = YAML(typ="safe", pure=True)
    writer.allow_unicode = True
    writer.default_flow_style = False
    out = io.StringIO()
    writer.dump(value, out)
    text = out.getvalue()
    if "\ufeff" in text or "&id" in text or "? " in text:
        return
    for parser in (None, "python"):
        source, findings = source_from_bytes("x.yaml", text.encode(), parser=parser)
        assert [each for each in findings if each.code not in ("FC012", "FC004")] == []
        if not findings:
            assert source.root is not None
            assert source.root.value == value
