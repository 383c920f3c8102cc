"""`fitcheck check`: what is wrong with catalogue files, and where."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

import click

from fitcheck.cli.commands import EXIT_USAGE, command
from fitcheck.cli.common import (
    console,
    echo_data,
    echo_text,
    is_named,
    passed_over_words,
    tell,
    working,
)
from fitcheck.cli.main import EXIT_FINDINGS
from fitcheck.cli.parameters import catalog_option, flag, format_option, once
from fitcheck.errors import UsageError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fitcheck.diagnostics.finding import Finding
    from fitcheck.services.upkeep.checking import Checked


@command("check", "fitcheck check catalog --quiet")
@click.argument("paths", nargs=-1, metavar="[PATHS]...")
@flag("--strict", "Exit with 1 for warnings too.")
@flag("--quiet", "Show errors and warnings only, no advice.")
@once("--explain CODE", "Explain one code, such as FC212, by an example; check nothing.")
@flag("--no-demo", "Exit with 2 where no catalogue but the built-in demo is found.")
@format_option("text", "jsonl", "sarif", "annotations")
@catalog_option
def check_command(
    paths: tuple[str, ...],
    *,
    strict: bool,
    quiet: bool,
    explain: str | None,
    no_demo: bool,
    output_format: str,
    catalog: str | None,
) -> int:
    """Validate the catalogue, or the files and folders in PATHS.

    A single file is held against the catalogue it belongs to. Exit code 0: nothing wrong (or
    warnings only), 1: errors found, 2: a file, or part of one, cannot be read (FC0xx).
    """
    if explain is not None:
        return _explain(explain)

    from fitcheck.services.upkeep.checking import check_paths

    passed_over = None if paths else _passed_over(catalog, no_demo=no_demo)
    with working("checking") as progress:
        checked = check_paths(paths, catalog, progress.reading)
    if checked.is_demo and not paths and not is_named(catalog):
        tell("no catalogue given: checking the built-in demo, which is invented")
    if passed_over is not None:
        tell(f"{passed_over}; --catalog names another")
    if checked.alone:
        tell(
            "no catalogue here or above, so what a file refers to is not looked for; --catalog "
            "names one"
        )
    findings = [f for f in checked.findings if not quiet or f.severity != "advice"]
    if output_format == "text":
        _print_findings(findings, checked)
    else:
        echo_data(_machine_readable(output_format, findings))
    severities = {finding.severity for finding in findings}
    if checked.unreadable:
        return EXIT_USAGE
    if "error" in severities or (strict and "warning" in severities):
        return EXIT_FINDINGS
    return 0


def _explain(word: str) -> int:
    from fitcheck.diagnostics.examples import explanations
    from fitcheck.screens.findings.text import render_explanation

    told = explanations().get(word.strip().upper())
    if told is None:
        raise UsageError(f"there is no code {word}; `fitcheck check` prints codes such as FC212")
    echo_text(render_explanation(told))
    return 0


def _passed_over(catalog: str | None, *, no_demo: bool) -> str | None:
    """Which folder is passed over in looking for the catalogue, in words."""
    from fitcheck.catalogue.locate import find_catalogue

    location = find_catalogue(catalog)
    if no_demo and location.origin == "demo":
        raise UsageError("no catalogue here or above; name its folder, or let it hold a YAML file")
    return passed_over_words(location)


def _print_findings(findings: Sequence[Finding], checked: Checked) -> None:
    from fitcheck.screens.findings.text import render_text

    out = console()
    if findings:
        width = out.width if sys.stdout.isatty() else None
        echo_text(render_text(findings, checked.sources, width=width, colour=out.colour))
    files, records = checked.files, checked.records
    tell(f"{files:,} file{'s' * (files != 1)}, {records:,} record{'s' * (records != 1)} checked")
    if not findings:
        out.line("nothing wrong")


def _machine_readable(output_format: str, findings: Sequence[Finding]) -> str:
    if output_format == "jsonl":
        from fitcheck.answers.finding import render_json_lines

        return render_json_lines(findings)
    if output_format == "sarif":
        from fitcheck.screens.findings.programs import render_sarif

        return render_sarif(findings)
    from fitcheck.screens.findings.programs import render_annotations

    return render_annotations(findings)
