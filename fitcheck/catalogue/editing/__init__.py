"""Editing catalogue files kept by hand: only what is meant changes, and it is proved."""

from __future__ import annotations

from fitcheck.catalogue.editing.draft import Draft
from fitcheck.catalogue.editing.saving import draft_from_bytes, locked, new_file, open_draft, save
from fitcheck.errors import EditError

__all__ = ["Draft", "EditError", "draft_from_bytes", "locked", "new_file", "open_draft", "save"]
