"""Findings as text with the source line, SARIF 2.1.0 and CI annotations."""
