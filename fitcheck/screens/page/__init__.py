"""The page the customer takes home: one HTML file that needs nothing beside it."""

from __future__ import annotations
