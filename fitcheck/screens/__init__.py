"""Answers as people and programs read them: text, JSON, CSV, Markdown."""
