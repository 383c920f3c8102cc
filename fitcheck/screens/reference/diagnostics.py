"""The reference of diagnostics, docs/diagnostics.md, made from the codes and their examples.

`python -m fitcheck.screens.reference.diagnostics --write` writes it; without `--write` it only says
whether the committed file is in step. What each finding looks like is not kept anywhere: the
example is laid out as a catalogue, checked, and its finding rendered.
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from fitcheck.answers.reference import write_or_compare
from fitcheck.catalogue.reader import Catalogue, load
from fitcheck.diagnostics.codes import Code
from fitcheck.diagnostics.examples import BASE, Explanation, explanations, lay_out
from fitcheck.diagnostics.finding import Finding, Span, shown_path
from fitcheck.screens.findings.text import render_text
from fitcheck.screens.findings.wording import in_order, readable
from fitcheck.services.upkeep.checking import check_catalogue

_MODULE = "fitcheck.screens.reference.diagnostics"
DOCUMENT = Path(__file__).parents[3] / "docs" / "diagnostics.md"
WIDTH = 88
MAX_LINES, MAX_COLUMNS = 40, 120

_GROUPS = {
    "FC0": ("Reading a file", "The file itself, before any record is looked at."),
    "FC1": ("One record", "One record by itself, whatever the other files say."),
    "FC2": ("The whole catalogue", "Records side by side: what contradicts or leads nowhere."),
    "FC3": ("The ledger of the shelf", "Its lines, their chain, and the shelf file beside it."),
}
_SEVERITIES = {
    "error": "certainly wrong; what cannot be read for it, a file, a record or a value, is left "
    "out of every answer until it is fixed",
    "warning": "probably wrong, but used as it is: look at it",
    "advice": "worth knowing",
}


def reference() -> str:
    """The whole document, in Markdown, ending in a line break.

    Raises:
        ValueError: the faulty example of a code does not give its finding.
    """
    parts = [_opening()]
    for prefix, (title, sentence) in _GROUPS.items():
        group = [told for code, told in explanations().items() if code.startswith(prefix)]
        parts += [f"## {title}", sentence, *map(_entry, group)]
    return "\n\n".join(parts) + "\n"


def example_findings(files: Mapping[str, str]) -> tuple[list[Finding], Mapping[str, list[str]]]:
    """Check an example, laid over the faultless base.

    Args:
        files: file name inside the catalogue to its text.

    Returns:
        All findings, their paths inside the catalogue folder, and the lines of each file.
    """
    with tempfile.TemporaryDirectory(prefix="fitcheck-") as folder:
        lay_out(Path(folder), BASE, files)
        catalogue = load(folder)
        found = check_catalogue(catalogue)
        prefix = shown_path(folder).rstrip("/") + "/"
        lines = {path.removeprefix(prefix): _lines(catalogue, path) for path in catalogue.sources}
        # A ledger is no file of records, but findings point into it.
        lines |= {name: text.split("\n") for name, text in files.items() if name not in lines}
    return in_order(_inside(finding, prefix) for finding in found), lines


def _lines(catalogue: Catalogue, path: str) -> list[str]:
    source = catalogue.sources[path]
    return [source.line(n) for n in range(1, source.text.count("\n") + 2)]


def _inside(finding: Finding, prefix: str) -> Finding:
    """The same finding with paths from the catalogue's folder on."""

    def moved(span: Span) -> Span:
        return replace(span, path=span.path.removeprefix(prefix))

    return replace(
        finding,
        message=finding.message.replace(prefix, ""),
        help=finding.help and finding.help.replace(prefix, ""),
        span=moved(finding.span),
        related=tuple(
            replace(r, span=moved(r.span), label=r.label.replace(prefix, ""))
            for r in finding.related
        ),
    )


def _opening() -> str:
    rows = [
        f"| [{code.code}](#{_anchor(code)}) | {code.name} | {code.severity} | {told.title} |"
        for told in explanations().values()
        for code in [told.code]
    ]
    severities = "\n".join(f"- **{name}**: {words}." for name, words in _SEVERITIES.items())
    return f"""# Diagnostics

Every kind of finding that `fitcheck check` can report; `fitcheck explain FC212` prints
one of them. A code is never used again for another fault.
`python -m fitcheck.screens.reference.diagnostics --write` makes this page from the code;
each example below is checked when the page is made, over a small catalogue without a fault.

{severities}

| code | name | severity | what was found |
|---|---|---|---|
""" + "\n".join(rows)


def _anchor(code: Code) -> str:
    return f"{code.code.lower()}-{code.name}"


def _entry(told: Explanation) -> str:
    code = told.code
    return "\n\n".join(
        [
            f"### {code.code} {code.name}",
            f"**{code.severity}**. {told.title}",
            told.why,
            "Wrong:",
            *_listings(told.bad),
            "What it looks like:",
            _fenced(_as_found(told), "text"),
            "Right:",
            *_listings(told.good),
        ]
    )


def _as_found(told: Explanation) -> str:
    findings, lines = example_findings(told.bad)
    code = told.code
    own = [finding for finding in findings if finding.code == code.code]
    if not own:
        others = sorted({finding.code for finding in findings})
        raise ValueError(f"the example of {code.code} gives {others or 'nothing'} instead")

    def line_of(path: str, number: int) -> str:
        held = lines.get(path, [])
        return held[number - 1] if number <= len(held) else ""

    page = render_text(own[:2], line_of, width=WIDTH)
    return page.rsplit("\n\n", 1)[0]


def _listings(files: Mapping[str, str]) -> list[str]:
    return [f"`{name}`\n\n{_fenced(_shown(text), _language(name))}" for name, text in files.items()]


def _language(name: str) -> str:
    return "yaml" if name.endswith((".yaml", ".yml")) else "json"


def _shown(text: str) -> str:
    """An example's text for the page: bytes that are no text escaped, very long ones cut."""
    lines = readable(text).removesuffix("\n").split("\n")
    cut = [line if len(line) <= MAX_COLUMNS else line[: MAX_COLUMNS - 1] + "…" for line in lines]
    if len(lines) > MAX_LINES:
        cut = [*cut[: MAX_LINES - 1], "…"]
    note = f"\n# {len(text):,} characters in all" if cut != lines else ""
    return "\n".join(cut) + note


def _fenced(text: str, language: str) -> str:
    fence = "```"
    while fence in text:
        fence += "`"
    return f"{fence}{language}\n{text}\n{fence}"


def main(arguments: Sequence[str] | None = None) -> int:
    """Write the document with `--write`, else say whether it is in step; 0 where it is."""
    return write_or_compare(
        "fitcheck.screens.reference.diagnostics", DOCUMENT, reference, arguments
    )


if __name__ == "__main__":
    sys.exit(main())
