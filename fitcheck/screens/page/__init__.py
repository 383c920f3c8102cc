"""The page the customer takes home: one self-contained HTML file."""

from __future__ import annotations
