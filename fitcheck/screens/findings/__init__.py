"""Findings as text with the source line, SARIF 2.1.0 and CI annotations."""

from __future__ import annotations

from fitcheck.screens.findings.annotations import render_annotations
from fitcheck.screens.findings.sarif import render_sarif
from fitcheck.screens.findings.text import render_text

__all__ = ["render_annotations", "render_sarif", "render_text"]
