"""What each capability answers, declared once: JSON, its schema, CSV, Markdown and frames."""
