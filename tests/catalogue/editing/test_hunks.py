"""The diff shown before saving: applied to the old text by a reader of its own it gives the new.

Source for the form: the unified format as POSIX `diff -u` defines it (IEEE Std 1003.1, diff).
"""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fitcheck.catalogue.editing.hunks import unified_diff

LINES = st.lists(st.sampled_from(["a", "b", "c", "", "  x: 1"]), max_size=25)


def text_of(lines: list[str], ended: bool) -> str:
    text = "\n".join(lines)
    return text + "\n" if ended and text else text


TEXTS = st.builds(text_of, LINES, st.booleans())


def applied(old: str, diff: str) -> str:
    before = re.findall(r"[^\n]*\n|[^\n]+", old)
    out: list[str] = []
    done = 0
    lines = diff.split("\n")[2:-1]
    for at, line in enumerate(lines):
        head = re.fullmatch(r"@@ -(\d+)(?:,(\d+))? \+(\d+)(?:,(\d+))? @@", line)
        ended = "" if lines[at + 1 : at + 2] == ["\\ No newline at end of file"] else "\n"
        if head is not None:
            start, length = int(head[1]), int(head[2] or 1)
            first = start - 1 if length else start
            out += before[done:first]
            done = first
            assert len(out) == (int(head[3]) - 1 if int(head[4] or 1) else int(head[3]))
        elif line.startswith(("-", " ")):
            assert before[done] == line[1:] + ended
            done += 1
            out += [line[1:] + ended] if line.startswith(" ") else []
        elif line.startswith("+"):
            out.append(line[1:] + ended)
        else:
            assert line.startswith("\\")
    return "".join(out + before[done:])


@settings(max_examples=4 * settings().max_examples, deadline=None)
@given(TEXTS, TEXTS)
def test_the_diff_leads_from_the_old_text_to_the_new(old: str, new: str) -> None:
    diff = unified_diff(old, new, "a.yaml")

    assert (diff == "") is (old == new)
    assert applied(old, diff) == new


@pytest.mark.skipif(shutil.which("patch") is None, reason="patch is not installed")
def test_patch_takes_it(tmp_path: Path) -> None:
    old = "".join(f"  A-{at}: {{quantity: {at % 3}}}\n" for at in range(200))
    new = old.replace("A-7: {quantity: 1}", "A-7: {quantity: 5}") + "  B: {quantity: 1}"
    path = tmp_path / "a.yaml"
    path.write_text(old, encoding="utf-8")

    subprocess.run(
        ["patch", "-s", str(path)], input=unified_diff(old, new, "a.yaml"), text=True, check=True
    )

    assert path.read_text(encoding="utf-8") == new


def test_lines_are_shown_with_three_round_them() -> None:
    old = "".join(f"{at}\n" for at in range(20))

    assert unified_diff(old, old.replace("9\n", "nine\n", 1), "a.yaml") == (
        "--- a.yaml\n+++ a.yaml\n@@ -7,7 +7,7 @@\n 6\n 7\n 8\n-9\n+nine\n 10\n 11\n 12\n"
    )
