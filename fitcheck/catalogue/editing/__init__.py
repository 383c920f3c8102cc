"""Editing catalogue files kept by hand: only what is meant changes, and it is proved."""

from __future__ import annotations

from fitcheck.catalogue.editing.draft import Draft
from fitcheck.catalogue.editing.errors import EditError
from fitcheck.catalogue.editing.opening import draft_from_bytes, new_file, open_draft
from fitcheck.catalogue.editing.saving import locked, save

__all__ = ["Draft", "EditError", "draft_from_bytes", "locked", "new_file", "open_draft", "save"]
